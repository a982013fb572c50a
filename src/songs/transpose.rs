//! Moving a song to another key, spelling kept: letters move by the same number of steps as the tonic does.

use crate::theory::{Chord, Interval, Key, Mode, Note, Semitones, SpellingChoice};

/// A move from one key to another of the same mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Transposition {
    from: Key,
    to: Key,
}

impl Transposition {
    /// Makes the move that brings `from`'s tonic to `tonic`.
    #[must_use]
    pub const fn to_tonic(from: Key, tonic: Note) -> Self {
        Self { from, to: Key::new(tonic, from.mode()) }
    }

    /// Makes the move by a number of semitones, up or down.
    ///
    /// Of the names the new tonic can have, the one whose key needs the fewest signs is taken; of two alike (F♯ and
    /// G♭ major), the one on the side the old key is on, and from a key without signs the one with sharps.
    #[must_use]
    pub fn by(from: Key, semitones: Semitones) -> Self {
        let class = from.tonic().class().transpose(semitones);
        if class == from.tonic().class() {
            return Self { from, to: from };
        }
        let was_flat = signs(from) < 0;
        let names = [SpellingChoice::Sharps, SpellingChoice::Flats].map(|choice| Note::of_class(class, choice));
        let key = |tonic: Note| Key::new(tonic, from.mode());
        let [sharp, flat] = names.map(key);
        let to = match signs(sharp).abs().cmp(&signs(flat).abs()) {
            std::cmp::Ordering::Less => sharp,
            std::cmp::Ordering::Greater => flat,
            std::cmp::Ordering::Equal if was_flat => flat,
            std::cmp::Ordering::Equal => sharp,
        };
        Self { from, to }
    }

    /// Returns the key moved to.
    #[must_use]
    pub const fn key(&self) -> Key {
        self.to
    }

    /// Returns the note moved. One that would need a double accidental is named by the side the new key is on.
    #[must_use]
    pub fn note(&self, note: Note) -> Note {
        if self.from == self.to {
            return note;
        }
        let moved = self.interval().and_then(|interval| note.up(interval));
        moved.filter(|moved| moved.accidental().semitones().abs() < 2).unwrap_or_else(|| {
            let up = i16::from(self.from.tonic().class().up_to(self.to.tonic().class()));
            let class = note.class().transpose(Semitones::new(up));
            let choice = if signs(self.to) < 0 { SpellingChoice::Flats } else { SpellingChoice::Sharps };
            Note::of_class(class, choice)
        })
    }

    /// Returns the chord moved.
    #[must_use]
    pub fn chord(&self, chord: Chord) -> Chord {
        let moved = Chord::new(self.note(chord.root()), chord.quality());
        chord.slash_bass().map_or(moved, |bass| moved.over(self.note(bass)))
    }

    /// Returns the interval up from the old tonic to the new; `None` when it is altered more than twice.
    fn interval(&self) -> Option<Interval> {
        let (from, to) = (self.from.tonic(), self.to.tonic());
        let steps = (to.letter().steps_above_c() - from.letter().steps_above_c()).rem_euclid(7);
        let number = u8::try_from(steps + 1).ok()?;
        let plain = Interval::from_degree(number, 0)?.semitones().get();
        let size = i16::from(from.class().up_to(to.class()));
        let alteration = (size - plain + 6).rem_euclid(12) - 6;
        Interval::from_degree(number, i8::try_from(alteration).ok()?)
    }
}

/// Returns the key's sharps, or its flats as a negative number.
fn signs(key: Key) -> i16 {
    key.notes().iter().map(|note| note.accidental().semitones()).sum()
}

/// Returns the key a chord alone suggests: minor where its third is, else major.
#[must_use]
pub fn key_of_chord(chord: Chord) -> Key {
    let is_minor = chord.quality().tones().iter().any(|tone| tone.number() == 3 && tone.alteration() < 0);
    Key::new(chord.root(), if is_minor { Mode::Minor } else { Mode::Major })
}
