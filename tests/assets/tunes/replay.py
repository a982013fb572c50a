#!/usr/bin/env python3
"""Replays arrangements from their JSON, and counts what a teacher checks. Shares no code with the program.

  replay.py PEGWISE FILE.abc [EVERY] [OPTIONS OF pegwise arrange …]

Of every tune of the file (every EVERY-th) and in each of five tunings the JSON of `pegwise arrange --json` is replayed:
pitch = open pitch + capo + fret, one note a course, a note that sounds on keeps its course, fret and finger, the reach of the
hand (the numbers of `Hand::default`, in millimetres on a scale of 650), the thumb's courses, the bass below the melody, no
gap. The melody is held against the tune as music21 (BSD) reads it, where that reads the tune's rhythm: what music21 does not
read (decorations between a note and its broken rhythm, spaces before ties, annotations) is taken out of the text first.
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import warnings
from fractions import Fraction

import music21

warnings.filterwarnings("ignore")
TUNINGS = {
    "E A D G B E": [40, 45, 50, 55, 59, 64],
    "D A D G A D": [38, 45, 50, 55, 57, 62],
    "D G D G B D": [38, 43, 50, 55, 59, 62],
    "D A D F# A D": [38, 45, 50, 54, 57, 62],
    "D A D G B E": [38, 45, 50, 55, 59, 64],
}
REACH = {(1, 2): 68, (1, 3): 98, (1, 4): 100, (2, 3): 68, (2, 4): 88, (3, 4): 68}
SCALE = 650.0


def midi(name):
    step = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[name[0]]
    sign = name.count("#") - name[1:].count("b")
    return 12 * (int(re.sub(r"^[A-G][#b]*", "", name)) + 1) + step + sign


def place(fret):
    return SCALE * (1 - 2 ** (-fret / 12))


def replay(answer, open_pitches):
    """Yields what is wrong; returns the melody as [onset, length, pitch]."""
    wrong, melody, at, before = [], [], Fraction(0), None
    capo = answer["capo"]
    sound = lambda note: open_pitches[6 - note["course"]] + capo + note["fret"]
    for slice_ in answer["slices"]:
        if Fraction(slice_["at"]) != at:
            wrong.append(f"gap at {at}")
        at += Fraction(slice_["length"])
        notes = [n for n in [slice_["melody"], slice_["bass"], *slice_["inner"]] if n]
        if len({n["course"] for n in notes}) != len(notes):
            wrong.append(f"two notes on a course at {slice_['at']}")
        for note in notes:
            if midi(note["pitch"]) != sound(note):
                wrong.append(f"pitch at {slice_['at']}: {note}")
            if (note["finger"] == 0) != (note["fret"] == 0):
                wrong.append(f"finger at {slice_['at']}: {note}")
        for one in notes:
            for two in notes:
                if one["finger"] in (1, 2, 3, 4) and two["finger"] in (1, 2, 3, 4) and one["finger"] < two["finger"]:
                    apart = abs(place(one["fret"] + capo) - place(two["fret"] + capo))
                    if apart > REACH[one["finger"], two["finger"]] + 1e-6 or one["fret"] > two["fret"]:
                        wrong.append(f"reach at {slice_['at']}: {one} {two}")
                if one is not two and one["finger"] == two["finger"] != 0 and one["fret"] != two["fret"]:
                    wrong.append(f"one finger, two frets at {slice_['at']}")
        bass, top = slice_["bass"], slice_["melody"]
        if bass and (bass["course"] < 4 or top and sound(bass) >= sound(top)):
            wrong.append(f"bass at {slice_['at']}: {bass}")
        for part in ("melody", "bass"):
            note = slice_[part]
            if note and not note["starts"]:
                last = before and before[part]
                if not last or any(last[key] != note[key] for key in ("course", "fret", "finger", "pitch")):
                    wrong.append(f"{part} does not sound on at {slice_['at']}")
        if top:
            if top["starts"]:
                melody.append([Fraction(slice_["at"]), Fraction(slice_["length"]), sound(top) - answer["transpose"]])
            elif melody:
                melody[-1][1] += Fraction(slice_["length"])
        before = slice_
    return wrong, melody


def plain(text):
    """Takes out of ABC what music21 does not read; no note of it changes."""
    lines = ["%%propagate-accidentals pitch"]
    for line in text.splitlines():
        if not re.match(r"^[A-Za-z]:", line):
            line = re.sub(r'"[^"]*"|![^!]*!|\{[^}]*\}', "", line.split("%")[0])
            line = re.sub(r"[.~H-WYh-wy](?=\S)", "", line)
            line = re.sub(r"\s*([<>]+)\s*", r"\1", line)
            line = re.sub(r"\((?!\d)", "", line).replace(")", "")
            line = re.sub(r"\s+-", "-", line)
        lines.append(line)
    return "\n".join(lines)


def as_written(text):
    """The notes as music21 plays them; None where it cannot."""
    try:
        score = music21.converter.parse(plain(text), format="abc")
        part = (score.parts[0] if score.parts else score).expandRepeats().stripTies()
    except Exception:
        return None
    notes = [n for n in part.flatten().notes if not n.duration.isGrace and not isinstance(n, music21.harmony.Harmony)]
    exact = lambda number: Fraction(number).limit_denominator(10_000)
    return [[exact(n.offset), exact(n.quarterLength), max(p.midi for p in n.pitches)] for n in notes]


def main():
    program, path = sys.argv[1:3]
    every = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    text = open(path, encoding="utf-8", errors="replace").read()
    tunes = [tune for tune in re.split(r"\n(?=X:)", text) if tune.startswith("X:")][::every]
    counts = {}
    add = lambda key, number=1: counts.__setitem__(key, counts.get(key, 0) + number)
    for tune in tunes:
        number = re.match(r"X:\s*(\d+)", tune).group(1)
        alone = tempfile.NamedTemporaryFile("w", suffix=".abc", delete=False)
        alone.write(tune)
        alone.close()
        written = as_written(tune)
        add("tunes")
        for name, open_pitches in TUNINGS.items():
            ask = [program, "arrange", alone.name, "--tuning", name, "--json", *sys.argv[4:]]
            done = subprocess.run(ask, capture_output=True, text=True)
            if done.returncode:
                add("refused")
                print(number, name, done.stderr.strip()[-160:])
                continue
            answer = json.loads(done.stdout)
            wrong, melody = replay(answer, open_pitches)
            add("arranged")
            add("wrong", len(wrong))
            for fault in wrong[:3]:
                print(number, name, fault)
            lost = [left for left in answer["left_out"] if left["what"] == "melody"]
            add("notes left out", len(lost))
            add("melodies compared", written is not None)
            add("melodies the same", written == melody)
            count(answer, add)
        os.remove(alone.name)
    print(counts)


def count(answer, add):
    """Counts bass notes that begin, and roots where a chord begins on a slice with one."""
    chord = None
    for slice_ in answer["slices"]:
        new = slice_["chord"] is not None and slice_["chord"] != chord
        chord = slice_["chord"] or chord
        bass = slice_["bass"]
        starts = bool(bass and bass["starts"])
        add("bass notes", starts)
        if new:
            add("chord changes")
            asked = slice_["chord"].split("/")[-1] if re.search(r"/[A-G][#b]*$", slice_["chord"]) else slice_["chord"]
            root = midi(re.match(r"[A-G][#b]*", asked).group(0) + "4") % 12
            add("chord changes with bass", starts)
            add("roots", starts and midi(bass["pitch"]) % 12 == root)
    add("bass left out", sum(left["what"] == "bass" for left in answer["left_out"]))
    add("roots left out", sum(left["what"] == "root" for left in answer["left_out"]))


if __name__ == "__main__":
    main()
