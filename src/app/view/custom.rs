//! Note names by the player's custom, and numbers as they are written.

use crate::app::State;
use crate::theory::{Chord, Key, Naming, Note, Pitch, SpelledPitch, SpellingChoice};

/// How this player calls notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::app) struct Custom {
    naming: Naming,
    spelling: SpellingChoice,
}

impl Custom {
    pub(super) fn of(state: &State) -> Self {
        Self { naming: state.naming(), spelling: state.library.settings.spelling }
    }

    /// A name that theory chose: it stands, but where the player wants sharps only or flats only.
    pub(super) fn note(self, note: Note) -> String {
        let note = match self.spelling {
            SpellingChoice::Customary => note,
            choice => Note::of_class(note.class(), choice),
        };
        note.named(self.naming)
    }

    /// A pitch by itself.
    pub(super) fn pitch(self, pitch: Pitch) -> String {
        Note::of_class(pitch.class(), self.spelling).named(self.naming)
    }

    /// The notes of a tuning, each spelled to read well with the others.
    pub(super) fn tuning(self, spelled: &[SpelledPitch]) -> Vec<String> {
        spelled.iter().map(|pitch| self.note(pitch.note())).collect()
    }

    pub(super) fn chord(self, chord: Chord) -> String {
        match self.spelling {
            SpellingChoice::Customary => chord.named(self.naming),
            choice => {
                let plain = Chord::new(Note::of_class(chord.root().class(), choice), chord.quality());
                let bass = chord.slash_bass().map(|bass| Note::of_class(bass.class(), choice));
                bass.map_or(plain, |bass| plain.over(bass)).named(self.naming)
            }
        }
    }

    pub(super) fn key_note(self, key: Key) -> String {
        self.note(key.tonic())
    }
}

/// Writes a number with one decimal, without a trailing `.0`.
pub(super) fn decimal(number: f64) -> String {
    let text = format!("{number:.1}");
    text.strip_suffix(".0").map_or(text.clone(), ToOwned::to_owned)
}

/// Writes a whole number.
pub(super) fn whole(number: f64) -> String {
    format!("{number:.0}")
}
