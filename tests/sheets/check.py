"""Asks independent tools about sheets: run by `./dev sheets-check`. Run: python check.py PROGRAM OUT

Each sheet is written by PROGRAM in every format and judged by tools that are not ours: `outloud` (PDF/UA-1, the Matterhorn
Protocol's checkpoints), `pikepdf` (qpdf's syntax check), `pymupdf` (text and picture of a PDF), `cairosvg` (picture of an
SVG), `xmlschema` with the XSD of MusicXML 4.0 from `musicxml`, `verovio` (draws the music), `music21` (reads string, fret
and pitch of every note). What they said goes to OUT/results.txt; the last line tells how many checks failed."""
import io, re, subprocess, sys
import xml.etree.ElementTree as ET
from pathlib import Path
import cairosvg, musicxml, numpy, pikepdf, pymupdf, verovio, xmlschema
from music21 import articulations, converter
from PIL import Image

program, out = sys.argv[1], Path(sys.argv[2])
out.mkdir(parents=True, exist_ok=True)
DPI = 100
# Share of pixels that may differ by more than a quarter of black, with edges that lie up to a pixel apart: renderers differ
# in how they spread an edge over pixels.
TOLERANCE = 0.002
songs = Path(__file__).parent
KINDS = {
    "tuning": ["tuning", "--tuning", "D G D G B D"],
    "tuning-up": ["tuning", "--tuning", "E A D G B E", "--from", "D A D G A D", "--capo", "2"],
    "tuning-pairs": ["tuning", "--instrument", "mandolin", "--tuning", "G D A D"],
    "tuning-drone": ["tuning", "--instrument", "five-string-banjo", "--tuning", "g C G C D"],
    "shape": ["shape", "--tuning", "D G D G B E", "--chord", "C"],
    "shape-barre": ["shape", "--chord", "G", "--frets", "1 3 3 2 1 1", "--capo", "2"],
    "shape-drone": ["shape", "--instrument", "five-string-banjo", "--chord", "D7"],
    "key": ["key", "--tuning", "D G D G B E", "--key", "G"],
    "key-more": ["key", "--tuning", "D A D G A D", "--key", "F# dorian", "--more", "--style", "picked"],
    "key-ukulele": ["key", "--instrument", "concert-ukulele", "--key", "Bb"],
    "song": ["song", str(songs / "ferry.txt")],
    "tune": ["tune", str(songs / "weir.abc"), "--tuning", "D G D G B D"],
    "set": ["set", str(songs / "ferry.txt"), str(songs / "mill.txt"), "--title", "An evening at the mill"],
}
LOOKS = {
    "a4": ["--paper", "a4"],
    "large-left": ["--paper", "letter", "--large", "--left-handed"],
    "de": ["--paper", "a4", "--language", "de", "--names", "german"],
    "es": ["--paper", "a4", "--language", "es", "--names", "solfege"],
    "fr": ["--paper", "letter", "--language", "fr", "--names", "solfege"],
    "pt": ["--paper", "letter", "--language", "pt"],
}
WITHOUT_MUSIC = {"set"}
lines, failed = [], 0


def say(ok, what, detail=""):
    global failed
    failed += not ok
    lines.append(f"{'ok    ' if ok else 'FAILED'} {what} {detail}".rstrip())


def write(kind, look, ending):
    path = out / f"{kind}-{look}.{ending}"
    done = subprocess.run([program, "sheet", *KINDS[kind], *LOOKS[look], "--dpi", str(DPI), "--to", str(path)],
                          capture_output=True, text=True)
    if done.returncode:
        say(False, f"{kind}-{look}.{ending}", done.stderr.strip())
        return []
    return [Path(line) for line in done.stdout.splitlines() if Path(line).exists()]


def grey(image):
    return numpy.asarray(image.convert("L"), dtype=numpy.int16)


def far_apart(one, other):
    """The share of pixels that differ by more than a quarter of black from all near the same place in the other picture."""
    if one.shape != other.shape:
        return 1.0
    def off(a, b):
        padded = numpy.pad(b, 1, mode="edge")
        near = numpy.stack([padded[y:y + a.shape[0], x:x + a.shape[1]] for y in range(3) for x in range(3)])
        low, high = near.min(axis=0) - 64, near.max(axis=0) + 64
        return ((a < low) | (a > high)).mean()
    return max(off(one, other), off(other, one))


def squeezed(text):
    return re.sub(r"\s+", "", text)


schema = xmlschema.XMLSchema(next(Path(musicxml.__file__).parent.rglob("musicxml_4_0.xsd")))
pdfs = []
for kind in KINDS:
    for look in LOOKS:
        name = f"{kind}-{look}"
        files = [write(kind, look, ending) for ending in ("pdf", "png", "svg", "txt")]
        if not all(files):
            continue
        (pdf,), pngs, svgs, (txt,) = files
        pdfs.append(pdf)
        with pikepdf.open(pdf) as read:
            found = read.check_pdf_syntax() if hasattr(read, "check_pdf_syntax") else read.check()
            say(not found, f"{name}.pdf syntax (pikepdf)", "; ".join(found))
            say("/StructTreeRoot" in read.Root and str(read.Root.Lang) in ("en", "de", "es", "fr", "pt"), f"{name}.pdf root")
        read = pymupdf.open(pdf)
        say(bool(read.metadata["title"]) and bool(read.get_toc()), f"{name}.pdf title and outline (pymupdf)")
        # Text that is set as text: every line of the plain text that is no list of words for a picture.
        held = squeezed("".join(page.get_text() for page in read))
        told = [squeezed(line) for line in txt.read_text().splitlines()]
        parts = [re.sub(r"^(\d+\.|•)", "", line) for line in told if line]
        missing = [part for part in parts if part not in held]
        pictures = [part for part in missing if ";" in part or "|" in part or "%" in part or ":" in part]
        say(len(missing) - len(pictures) <= len(parts) // 4, f"{name}.pdf text (pymupdf)",
            f"{len(parts) - len(missing)} of {len(parts)} lines found")
        say(len(read) == len(pngs) == len(svgs), f"{name} pages", f"{len(read)} {len(pngs)} {len(svgs)}")
        worst = {"pdf": 0.0, "svg": 0.0}
        for page, png, svg in zip(read, pngs, svgs):
            ours = grey(Image.open(png))
            drawn = page.get_pixmap(dpi=DPI, alpha=False)
            theirs = grey(Image.frombytes("RGB", (drawn.width, drawn.height), drawn.samples))
            high, wide = min(ours.shape[0], theirs.shape[0]), min(ours.shape[1], theirs.shape[1])
            worst["pdf"] = max(worst["pdf"], far_apart(ours[:high, :wide], theirs[:high, :wide]))
            ET.parse(svg)
            bitmap = cairosvg.svg2png(url=str(svg), output_width=ours.shape[1], output_height=ours.shape[0], background_color="white")
            worst["svg"] = max(worst["svg"], far_apart(ours, grey(Image.open(io.BytesIO(bitmap)))))
        for against, share in worst.items():
            say(share <= TOLERANCE, f"{name} png against {against} drawn by another", f"{share:.5f} of the pixels")
        if kind in WITHOUT_MUSIC:
            continue
        music = (write(kind, look, "musicxml") or [None])[0]
        if music is None:
            continue
        faults = [f"{fault.path}: {fault.reason}" for fault in schema.iter_errors(str(music))]
        say(not faults, f"{name}.musicxml schema (xmlschema, MusicXML 4.0)", "; ".join(faults[:2]))
        if look != "a4":
            continue
        kit = verovio.toolkit()
        drawn = kit.loadFile(str(music)) and "<svg" in kit.renderToSVG(1)
        say(drawn, f"{name}.musicxml drawn (verovio)")
        # music21 reads an open string's fret as None.
        root = ET.parse(music).getroot()
        known = []
        for note in root.iter("note"):
            if note.findtext("staff") == "2" and note.find("pitch") is not None:
                step, octave = note.findtext("pitch/step"), int(note.findtext("pitch/octave"))
                alter = int(note.findtext("pitch/alter") or 0)
                known.append((12 * (octave + 1) + {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[step] + alter,
                              int(note.findtext(".//string")), int(note.findtext(".//fret"))))
        got = []
        for part in converter.parse(str(music)).parts:
            for sound in part.recurse().notes:
                notes = sound.notes if sound.isChord and "Harmony" not in sound.classes and "ChordSymbol" not in sound.classes else [sound] if sound.isNote else []
                strings = [mark.number for mark in sound.articulations if isinstance(mark, articulations.StringIndication)]
                frets = [mark.number for mark in sound.articulations if isinstance(mark, articulations.FretIndication)]
                if len(strings) == len(notes) and notes:
                    got.extend((note.pitch.midi, string, fret or 0) for note, string, fret in zip(notes, strings, frets))
        # Of notes struck together music21 sorts the pitches but not the strings: on re-entrant tunings they part company.
        same = sorted(pitch for pitch, *_ in got) == sorted(pitch for pitch, *_ in known) and \
            sorted(place for _, *place in got) == sorted(place for _, *place in known)
        say(same and known, f"{name}.musicxml strings, frets, pitches (music21)", f"{len(got)} of {len(known)} notes")
said = subprocess.run([str(Path(sys.executable).parent / "outloud"), "--no-info", *map(str, pdfs)], capture_output=True, text=True).stdout
for line in said.splitlines():
    verdict = re.match(r"(PASS|REVIEW|FAIL|UNREADABLE)\s+(\S+?): (.*)", line)
    if verdict:
        # Warnings are for a person to judge, and are kept in the results.
        say(verdict[3].startswith("0 error"), f"{Path(verdict[2]).name} PDF/UA-1 (outloud)", verdict[3])
lines.append(f"{len(lines)} checks, {failed} failed")
(out / "results.txt").write_text("\n".join(lines) + "\n")
print("\n".join(line for line in lines if not line.startswith("ok")))
sys.exit(failed > 0)
