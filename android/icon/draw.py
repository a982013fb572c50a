#!/usr/bin/env python3
"""Draws every icon of the Android app and of the web page from icon.svg; needs rsvg-convert (Debian: librsvg2-bin).

Written: the layers of the adaptive icon as vector drawables, and the PNGs, square and round, for what does not know
adaptive icons. The PNGs are the middle 72 units of the grid, cut to a rounded square and to a circle.
"""

import pathlib
import re
import subprocess
import xml.etree.ElementTree as tree

HERE = pathlib.Path(__file__).parent
RES = HERE.parent / "res"
WEB = HERE.parent.parent / "ui" / "web"
SVG = "{http://www.w3.org/2000/svg}"
# Side of the launcher icon in pixels: 48 dp at each density.
SIDES = {"mdpi": 48, "hdpi": 72, "xhdpi": 96, "xxhdpi": 144, "xxxhdpi": 192}
NAMES = {
    "fill": "fillColor",
    "stroke": "strokeColor",
    "stroke-width": "strokeWidth",
    "stroke-linecap": "strokeLineCap",
    "stroke-linejoin": "strokeLineJoin",
    "d": "pathData",
}


def vector(paths, one_colour=None):
    """Returns a vector drawable of SVG paths, in their own colours or all in one."""
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        "<!-- Made by icon/draw.py from icon/icon.svg. -->",
        '<vector xmlns:android="http://schemas.android.com/apk/res/android"',
        '    android:width="108dp"',
        '    android:height="108dp"',
        '    android:viewportWidth="108"',
        '    android:viewportHeight="108">',
    ]
    for path in paths:
        lines.append("    <path")
        for attribute, value in path.attrib.items():
            if attribute != "id" and value != "none":
                value = one_colour if one_colour and attribute in ("fill", "stroke") else value
                lines.append(f'        android:{NAMES[attribute]}="{value}"')
        lines[-1] += " />"
    lines.append("</vector>")
    return "\n".join(lines) + "\n"


def png(source, side, target):
    """Draws an SVG into a square PNG."""
    target.parent.mkdir(parents=True, exist_ok=True)
    command = ["rsvg-convert", "--width", str(side), "--height", str(side), "--output", str(target)]
    subprocess.run(command, input=source.encode(), check=True)


def cut(source, corner):
    """Returns the SVG's middle 72 units, cut to a rounded square with corners of that radius."""
    inside = re.sub(r"^.*?<svg[^>]*>|</svg>\s*$", "", source, flags=re.DOTALL)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="18 18 72 72">'
        f'<clipPath id="edge"><rect x="19" y="19" width="70" height="70" rx="{corner}"/></clipPath>'
        f'<g clip-path="url(#edge)">{inside}</g></svg>'
    )


def middle(source):
    """Returns the SVG's middle 72 units, not cut."""
    return source.replace('viewBox="0 0 108 108" width="108" height="108"', 'viewBox="18 18 72 72"')


def main():
    source = (HERE / "icon.svg").read_text()
    paths = tree.fromstring(source).findall(f"{SVG}path")
    ground, front = paths[0], paths[1:]
    drawable = RES / "drawable"
    drawable.mkdir(parents=True, exist_ok=True)
    (drawable / "ic_launcher_background.xml").write_text(vector([ground]))
    (drawable / "ic_launcher_foreground.xml").write_text(vector(front))
    (drawable / "ic_launcher_monochrome.xml").write_text(vector(front, one_colour="#FFFFFFFF"))
    for density, side in SIDES.items():
        folder = RES / f"mipmap-{density}"
        png(cut(source, 14), side, folder / "ic_launcher.png")
        png(cut(source, 35), side, folder / "ic_launcher_round.png")
    for side in (192, 512):
        png(cut(source, 14), side, WEB / f"icon-{side}.png")
    # Systems that cut an icon to a shape of their own get it whole; one of them asks for the middle at 180.
    png(source, 512, WEB / "icon-whole-512.png")
    png(middle(source), 180, WEB / "icon-180.png")


if __name__ == "__main__":
    main()
