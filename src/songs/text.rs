//! How musical values stand in files: as the text a player would write.

use crate::instrument::Tuning;
use crate::theory::{NotANote, SpelledPitch, SpellingChoice};

/// Reads open pitches with octaves, from the highest player number to course 1: `D2 G2 D3 G3 B3 E4`.
pub(crate) fn read_pitches(text: &str) -> Result<Tuning, PitchesFault> {
    let pitches = text
        .split_whitespace()
        .map(|word| SpelledPitch::read(word).map(SpelledPitch::pitch).map_err(PitchesFault::Note))
        .collect::<Result<Vec<_>, _>>()?;
    let found = pitches.len();
    Tuning::new(pitches).ok_or(PitchesFault::Courses { found })
}

/// A list of open pitches that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum PitchesFault {
    /// A word is no pitch.
    Note(NotANote),
    /// None, or more than a tuning can have.
    Courses {
        /// How many.
        found: usize,
    },
}

impl std::fmt::Display for PitchesFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Note(fault) => write!(f, "open pitches: {fault}"),
            Self::Courses { found } => {
                write!(f, "expected 1 to {} open pitches, found {found}", Tuning::MOST_COURSES)
            }
        }
    }
}

/// Serde's view of a [`Tuning`]: its pitches with octaves.
pub(crate) mod pitches {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    use super::{SpellingChoice, Tuning};

    pub(crate) fn serialize<S: Serializer>(tuning: &Tuning, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&tuning.ascii_with_octaves(SpellingChoice::Customary))
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Tuning, D::Error> {
        let text = String::deserialize(from)?;
        super::read_pitches(&text).map_err(D::Error::custom)
    }
}

/// Serde's view of a [`crate::instrument::Fret`]: its number, at most the thirty-sixth.
pub(crate) mod fret {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    use crate::instrument::Fret;

    const HIGHEST: u8 = 36;

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it so")]
    pub(crate) fn serialize<S: Serializer>(fret: &Fret, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u8(fret.get())
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Fret, D::Error> {
        let number = u8::deserialize(from)?;
        if number > HIGHEST {
            return Err(D::Error::custom(format!("expected a fret from 0 to {HIGHEST}, found {number}")));
        }
        Ok(Fret::new(number))
    }
}

/// Serde's view of an optional [`crate::theory::Key`]: `G`, `Bbm`, `D dorian`.
pub(crate) mod key {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    use crate::theory::{Key, Mode};

    /// Writes a key so that [`Key::read`] gives it back.
    pub(crate) fn ascii(key: Key) -> String {
        match key.mode() {
            Mode::Major => key.tonic().ascii(),
            Mode::Minor => format!("{}m", key.tonic().ascii()),
            other => format!("{} {}", key.tonic().ascii(), other.word()),
        }
    }

    #[expect(clippy::ref_option, clippy::trivially_copy_pass_by_ref, reason = "serde calls it so")]
    pub(crate) fn serialize<S: Serializer>(key: &Option<Key>, to: S) -> Result<S::Ok, S::Error> {
        match key {
            Some(key) => to.serialize_some(&ascii(*key)),
            None => to.serialize_none(),
        }
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Key>, D::Error> {
        Option::<String>::deserialize(from)?.map(|text| Key::read(&text).map_err(D::Error::custom)).transpose()
    }
}
