//! Chords for a tune that has none.
//!
//! Common practice, no source: a tune is carried by the triads of its key, one a bar, most by those of the first, fourth
//! and fifth degree; it ends on the first. Each bar's chord is the one whose tones last longest in it, the way through
//! the tune the cheapest by dynamic programming. It is a first thing to play over, and said to be found, not told.

use crate::theory::{Chord, Key, Mode, Note, PitchClass, SpellingChoice};
use crate::tune::{Played, PlayedChord, Tune};

/// What a bar costs for a quarter of notes outside its chord, for a change of chord, and for a degree that is rarer.
const PER_FOREIGN_QUARTER: f64 = 1.0;
const PER_CHANGE: f64 = 0.35;
const PER_RARE_DEGREE: f64 = 0.5;
/// What a tune costs that does not end on its first degree.
const OTHER_END: f64 = 2.0;

/// Adds chords where the tune has none; says whether it did.
pub(super) fn with_found_chords(tune: &Tune, mut played: Played) -> (Played, bool) {
    if played.chords.iter().any(|mark| mark.chord.is_some()) || played.notes.is_empty() {
        return (played, false);
    }
    let told = tune.bars.first().and_then(|bar| bar.key.key);
    let key = told.unwrap_or_else(|| likely_key(&played));
    let found = chords(&played, key);
    played.chords.clear();
    for (bar, chord) in played.bars.iter().zip(found) {
        if let Some(chord) = chord
            && played.chords.last().is_none_or(|last| last.chord != Some(chord))
        {
            played.chords.push(PlayedChord { at: bar.at, chord: Some(chord) });
        }
    }
    let is_found = !played.chords.is_empty();
    (played, is_found)
}

/// Takes the last note for the tonic, and the third that sounds longer for its mode.
fn likely_key(played: &Played) -> Key {
    let class =
        played.notes.last().map_or_else(|| PitchClass::from_semitones_above_c(0), |note| note.pitch.pitch().class());
    let length_at = |above: i16| -> f64 {
        let wanted = class.transpose(crate::theory::Semitones::new(above));
        let notes = played.notes.iter().filter(|note| note.pitch.pitch().class() == wanted);
        notes.map(|note| note.length.to_f64()).sum()
    };
    let mode = if length_at(3) > length_at(4) { Mode::Minor } else { Mode::Major };
    Key::new(Note::of_class(class, SpellingChoice::Customary), mode)
}

fn chords(played: &Played, key: Key) -> Vec<Option<Chord>> {
    let triads: Vec<Chord> = key.triads().into_iter().map(|found| found.chord).collect();
    let foreign = |bar: usize, chord: Chord| -> f64 {
        let bar = &played.bars[bar];
        let end = bar.at + bar.length;
        let from = played.notes.partition_point(|note| note.at + note.length <= bar.at);
        let notes = played.notes[from..].iter().take_while(|note| note.at < end);
        notes
            .filter(|note| !chord.allowed().contains(note.pitch.pitch().class()))
            .map(|note| ((note.at + note.length).min(end) - note.at.max(bar.at)).to_f64())
            .sum()
    };
    // A pickup has none: the first chord comes with the first whole bar.
    let first = usize::from(played.bars.first().is_some_and(|bar| bar.number == 0) && played.bars.len() > 1);
    let count = played.bars.len();
    let mut back: Vec<Vec<usize>> = Vec::new();
    let mut before: Vec<f64> = Vec::new();
    for bar in first..count {
        let mut costs = Vec::with_capacity(triads.len());
        let mut from = Vec::with_capacity(triads.len());
        for (degree, &chord) in triads.iter().enumerate() {
            let rare = match degree {
                0 | 3 | 4 => 0.0,
                1 | 5 => PER_RARE_DEGREE,
                _ => 2.0 * PER_RARE_DEGREE,
            };
            let end = if bar + 1 == count && degree != 0 { OTHER_END } else { 0.0 };
            let way = |(one, cost): (usize, &f64)| (one, cost + if one == degree { 0.0 } else { PER_CHANGE });
            let best = before.iter().enumerate().map(way).min_by(|one, other| one.1.total_cmp(&other.1));
            let (one, so_far) = best.unwrap_or((0, 0.0));
            costs.push(so_far + foreign(bar, chord) * PER_FOREIGN_QUARTER + rare + end);
            from.push(one);
        }
        back.push(from);
        before = costs;
    }
    let last = before.iter().enumerate().min_by(|one, other| one.1.total_cmp(other.1)).map(|(at, _)| at);
    let mut found = vec![None; count];
    let mut at = last.unwrap_or(0);
    for bar in (first..count).rev() {
        found[bar] = triads.get(at).copied();
        at = back[bar - first].get(at).copied().unwrap_or(0);
    }
    found
}
