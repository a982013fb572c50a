"""Builds Pegwise Staff from the file with the music signs named in README.md: the clef, rests and flags that staves need.
Run: python make_staff.py SIGNS OUT (SIGNS: noto-music's woff2, OUT: the folder the TTF goes to)."""
import sys
from pathlib import Path
from fontTools import subset
from fontTools.ttLib import TTFont

signs, out = Path(sys.argv[1]), Path(sys.argv[2])
# G clef, G clef an octave down, rests from the whole to the sixteenth, one and two flags.
CODES = [0x20, 0x1D11E, 0x1D120, 0x1D13B, 0x1D13C, 0x1D13D, 0x1D13E, 0x1D13F, 0x1D16E, 0x1D16F]
font = TTFont(signs)
font.flavor = None
options = subset.Options()
options.hinting, options.layout_features, options.name_IDs, options.glyph_names = False, [], ["*"], False
options.notdef_outline = True
cutter = subset.Subsetter(options)
cutter.populate(unicodes=CODES)
cutter.subset(font)
name = font["name"]
for record in list(name.names):
    if record.nameID not in (0, 13, 14):
        name.removeNames(nameID=record.nameID)
for ident, text in {1: "Pegwise Staff", 2: "Regular", 3: "Pegwise Staff 1", 4: "Pegwise Staff", 5: "Version 1.0", 6: "PegwiseStaff"}.items():
    name.setName(text, ident, 3, 1, 0x409)
for table in ("GDEF", "GPOS", "GSUB"):
    if table in font:
        del font[table]
target = out / "pegwise_staff.ttf"
font.save(target)
print(target.name, target.stat().st_size, len(font.getBestCmap()), "signs")
