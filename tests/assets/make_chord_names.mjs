// Chords as tonal builds them, and the names tonal finds for their notes; make_chord_names.py adds music21's answer.
//
// Prints one line a chord, tab-separated: built root, built type, inversion, notes from the bass up, tonal's first
// name as root, type and bass, and all its names. Needs npm `tonal` 6.4.2.

import { Chord } from "tonal";

// tonal's name for each quality that data/chords.toml has from tonal, and whether its inversions are asked as well:
// those both libraries list with the same tones.
const TYPES = [
  ["M", true], ["m", true], ["aug", true], ["dim", true], ["5", true], ["sus2", true], ["sus4", true],
  ["6", true], ["m6", true], ["7", true], ["maj7", true], ["m7", true], ["mM7", true], ["dim7", true],
  ["m7b5", true], ["oM7", false], ["7sus4", true], ["7b5", true], ["7#5", true], ["M7b5", false], ["maj7#5", true],
  ["9", true], ["maj9", true], ["m9", true], ["mM9", true], ["m9b5", true], ["9#5", true], ["maj9#5", true],
  ["Madd9", false], ["madd9", false], ["6add9", false], ["m69", false], ["7b9", false], ["7#9", false],
  ["7#11", false], ["7b13", false], ["alt7", false], ["maj#4", false], ["9sus4", false], ["9#11", false],
  ["maj9#11", false], ["11", false], ["m11", true], ["13", false], ["maj13", false], ["m13", false],
  ["13sus4", false],
];
const ROOTS = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

for (const [type, withInversions] of TYPES) {
  for (const root of ROOTS) {
    const built = Chord.getChord(type, root);
    if (built.empty) throw new Error(`tonal has no ${root}${type}`);
    const inversions = withInversions ? built.notes.length : 1;
    for (let inversion = 0; inversion < inversions; inversion++) {
      const notes = [...built.notes.slice(inversion), ...built.notes.slice(0, inversion)];
      const names = Chord.detect(notes);
      const [, first, suffix, bass] = (names[0] ?? "").match(/^([A-G][#b]*)(.*?)(?:\/([A-G][#b]*))?$/) ?? [];
      console.log([root, type, inversion, notes.join(" "), first ?? "", suffix ?? "", bass ?? "", names.join(" ")].join("\t"));
    }
  }
}
