#!/usr/bin/env python3
"""Notes of two open collections as music21 (BSD) reads them, as numbers: no tune and no title is kept.

  music21_notes.py COLLECTION FILE.abc … > music21_notes.csv

Each tune, in the order of the files given: how many notes and rests it has as written, and the CRC-32 of them, each as
MIDI number (r for a rest) and length in quarters. What music21 10 does not read is taken out of the text first, or written
out: decorations and annotations, spaces before ties and around broken rhythm, grace notes; and a sign is repeated on each
note it holds for within its bar, since music21 lets it hold for its own note only (ABC 2.1, section 11.3: for the pitch).
"""
import re
import sys
import warnings
import zlib
from fractions import Fraction

import music21

warnings.filterwarnings("ignore")
TOKEN = re.compile(r"\[[A-Za-z]:[^\]]*\]|([_^=]*)([A-Ga-g])([,']*)(\d*/*\d*)(-?)|[|:\[\]]*\|[|:\]]*|::|.")


def explicit(line, state):
    """Repeats the signs of a bar."""
    out = []
    for found in TOKEN.finditer(line):
        text = found.group(0)
        if found.group(2):
            sign, letter, octave = found.group(1), found.group(2), found.group(3)
            pitch = (letter, octave)
            tied = state["tied"].get(pitch)
            if sign:
                state["bar"][letter.upper()] = sign
            else:
                sign = tied if tied is not None else state["bar"].get(letter.upper(), "")
            state["tied"] = {pitch: sign} if found.group(5) else {}
            out.append(sign + letter + octave + found.group(4) + found.group(5))
            continue
        if "|" in text or text == "::":
            state["bar"] = {}
        out.append(text)
    return "".join(out)


def plain(text):
    lines, state, is_body = [], {"bar": {}, "tied": {}}, False
    for line in text.splitlines():
        if re.match(r"^[A-Za-z]:", line):
            is_body |= line.startswith("K:")
            if not line.startswith(("W:", "w:", "P:", "N:", "Z:", "S:")):
                lines.append(line)
            continue
        if line.startswith("%") or not is_body:
            continue
        line = re.sub(r'"[^"]*"|![^!]*!|\{[^}]*\}', "", line.split("%")[0])
        line = re.sub(r"[.~H-WYh-wy]", "", line)
        line = re.sub(r"\s*([<>]+)\s*", r"\1", line)
        line = re.sub(r"\((?!\d)", "", line).replace(")", "")
        # music21 loses the note before a double repeat at a line's end.
        line = re.sub(r"\s+-", "-", line).replace("::", " :||: ")
        lines.append(explicit(line, state))
    return "\n".join(lines)


def numbers(text):
    score = music21.converter.parse(plain(text), format="abc")
    part = score.parts[0] if score.parts else score
    words = []
    for note in part.flatten().notesAndRests:
        if note.duration.isGrace or isinstance(note, music21.harmony.Harmony):
            continue
        length = Fraction(note.quarterLength).limit_denominator(10_000)
        words.append(f"{'r' if note.isRest else max(p.midi for p in note.pitches)}:{length}")
    return words


def main():
    collection = sys.argv[1]
    index = 0
    for path in sys.argv[2:]:
        text = open(path, encoding="latin-1").read().replace("\r", "")
        for tune in re.split(r"\n(?=X:)", "\n" + text):
            tune = tune.lstrip("\n")
            if not tune.startswith("X:"):
                continue
            tune = re.split(r"\n\s*\n", tune)[0]
            try:
                words = numbers(tune)
                print(f"{collection},{index},{len(words)},{zlib.crc32(' '.join(words).encode())}")
            except Exception:
                print(f"{collection},{index},,")
            index += 1


if __name__ == "__main__":
    main()
