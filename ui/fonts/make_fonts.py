"""Builds Pegwise Sans (three weights) from the two packages named in README.md. Run: python make_fonts.py LETTERS SIGNS OUT
LETTERS: folder with the letter files (woff2), SIGNS: the file with the music signs (woff2), OUT: where the TTFs go."""
import sys
from pathlib import Path
import pathops
from fontTools import merge, subset
from fontTools.misc.transform import Transform
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

letters, signs_file, out = Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
FAMILY = "Pegwise Sans"
NAMES = {400: "Regular", 700: "Bold", 800: "ExtraBold"}
# Added outline so that a sign's stem is as heavy as the letter's, in units of 1/1000 em.
GROWTH = {400: 28, 700: 52, 800: 64}
# Sign: height after growth, and the height of its middle above the baseline (the capital's middle is 334).
SIGNS = {0x266D: (800, 352), 0x266E: (820, 334), 0x266F: (800, 334), 0x1D12A: (430, 320), 0x1D12B: (800, 352)}
# How much wider a sign is drawn before it grows, so that its counters stay open in the heavier weights.
WIDER = {400: 1.2, 700: 1.5, 800: 1.62}


def sign(source, code, weight):
    height, middle = SIGNS[code]
    growth = GROWTH[weight]
    glyphs = source.getGlyphSet()
    name = source.getBestCmap()[code]
    pen = BoundsPen(glyphs)
    glyphs[name].draw(pen)
    left, bottom, right, top = pen.bounds
    scale = (height - growth) / (top - bottom)
    wider = WIDER[weight] if code != 0x1D12A else 1.0
    move = Transform().translate(0, middle).scale(scale * wider, scale).translate(-left, -(top + bottom) / 2)
    plain = pathops.Path()
    glyphs[name].draw(TransformPen(plain.getPen(glyphSet=glyphs), move))
    edge = pathops.Path(plain)
    edge.stroke(growth, pathops.LineCap.ROUND_CAP, pathops.LineJoin.MITER_JOIN, 4)
    grown = pathops.op(plain, edge, pathops.PathOp.UNION)
    bounds = grown.bounds
    bearing = 24 if code in (0x266D, 0x1D12B) else 34
    return grown, Transform().translate(bearing - bounds[0], 0), round(bounds[2] - bounds[0] + bearing + 44)


def triangle(weight):
    """Greek capital delta, which neither package has: two triangles, its sides as thick as the letters' stems."""
    stem = {400: 78, 700: 128, 800: 150}[weight]
    width, height = 640, 668
    slope = (height**2 + (width / 2) ** 2) ** 0.5
    apex = stem * slope / (width / 2)
    inner_height = height - apex - stem
    half = inner_height * (width / 2) / height
    path = pathops.Path()
    pen = path.getPen()
    pen.moveTo((0, 0)); pen.lineTo((width / 2, height)); pen.lineTo((width, 0)); pen.closePath()
    pen.moveTo((width / 2 - half, stem)); pen.lineTo((width / 2 + half, stem)); pen.lineTo((width / 2, stem + inner_height)); pen.closePath()
    return path, Transform().translate(30, 0), width + 60


def add(font, code, path, move, advance):
    pen = TTGlyphPen(None)
    path.draw(TransformPen(Cu2QuPen(pen, 0.8, reverse_direction=True), move))
    glyph = pen.glyph()
    name = f"u{code:04X}"
    font.setGlyphOrder(font.getGlyphOrder() + [name])
    font["glyf"][name] = glyph
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (advance, getattr(glyph, "xMin", 0))
    for table in font["cmap"].tables:
        if code <= 0xFFFF or table.format == 12:
            table.cmap[code] = name


source = TTFont(signs_file)
for weight, style in NAMES.items():
    parts = []
    for part in ("latin", "latin-ext"):
        font = TTFont(letters / f"atkinson-hyperlegible-next-{part}-{weight}-normal.woff2")
        font.flavor = None
        parts.append(f"part-{part}-{weight}.ttf")
        font.save(parts[-1])
    font = merge.Merger().merge(parts)
    wide = [t for t in font["cmap"].tables if t.format == 12]
    if not wide:
        from fontTools.ttLib.tables._c_m_a_p import CmapSubtable
        full = CmapSubtable.newSubtable(12)
        full.platformID, full.platEncID, full.language = 3, 10, 0
        full.cmap = dict(font.getBestCmap())
        font["cmap"].tables.append(full)
    for code in SIGNS:
        add(font, code, *sign(source, code, weight))
    add(font, 0x394, *triangle(weight))
    full_name = f"{FAMILY} {style}"
    for record in list(font["name"].names):
        if record.nameID not in (0, 13, 14):
            font["name"].removeNames(nameID=record.nameID)
    name = font["name"]
    shared = "Copyright 2020-2024 The Atkinson Hyperlegible Next Project Authors; music signs copyright 2022 The Noto Project Authors"
    for ident, text in {0: shared, 1: FAMILY, 2: style, 3: f"{full_name} 1", 4: full_name, 5: "Version 1.0", 6: full_name.replace(" ", ""),
                        13: "SIL Open Font License, Version 1.1", 14: "https://openfontlicense.org", 16: FAMILY, 17: style}.items():
        name.setName(text, ident, 3, 1, 0x409)
    font["OS/2"].usWeightClass = weight
    if "STAT" in font:
        del font["STAT"]
    options = subset.Options()
    options.hinting, options.layout_features, options.name_IDs = False, ["kern", "mark", "mkmk", "ccmp", "locl"], ["*"]
    options.glyph_names = False
    options.notdef_outline = True
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[c for c in font.getBestCmap()])
    cutter.subset(font)
    target = out / f"pegwise_sans_{style.lower()}.ttf"
    font.save(target)
    print(target.name, target.stat().st_size, len(font.getBestCmap()), "signs")
