//! An instrument: its courses, its neck and how it is played.

use serde::{Deserialize, Serialize};

use super::course::Course;
use super::fretboard::Fret;

/// How the strings' load is carried.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bridge {
    /// The bridge does not move.
    #[default]
    Fixed,
    /// The bridge rests on springs or on a skin: each string's tension moves the others.
    Floating,
}

/// What stops the strings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlayedWith {
    /// The fingers of the fretting hand.
    #[default]
    Fingers,
    /// A straight bar across the strings.
    Bar,
}

/// How the catalogue groups instruments.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the families name themselves")]
pub enum InstrumentFamily {
    Guitar,
    Bass,
    Ukulele,
    Banjo,
    Mandolin,
    Bouzouki,
    Latin,
    Steel,
    Lute,
    Dulcimer,
    Balalaika,
    Other,
}

/// An instrument of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) family: InstrumentFamily,
    pub(super) scale_mm: f64,
    pub(super) last_fret: Fret,
    pub(super) fret_steps: Option<Vec<u8>>,
    pub(super) fret_names: Option<Vec<String>>,
    pub(super) courses: Vec<Course>,
    pub(super) standard_id: String,
    pub(super) strings_id: String,
    pub(super) bridge: Bridge,
    pub(super) played_with: PlayedWith,
    pub(super) source: String,
}

impl Instrument {
    /// Returns the stable id, such as `guitar`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the name in English; for other languages see [`Instrument::name_in`].
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the group it is listed in.
    #[must_use]
    pub const fn family(&self) -> InstrumentFamily {
        self.family
    }

    /// Returns the vibrating length of a full-length open string, in millimetres.
    #[must_use]
    pub const fn scale_mm(&self) -> f64 {
        self.scale_mm
    }

    /// Returns the neck's last fret, in semitones above the nut.
    #[must_use]
    pub const fn last_fret(&self) -> Fret {
        self.last_fret
    }

    /// Tells whether there is a fret so many semitones above the nut; the nut itself is none.
    #[must_use]
    pub fn has_fret(&self, fret: Fret) -> bool {
        let in_range = fret > Fret::OPEN && fret <= self.last_fret;
        in_range && self.fret_steps.as_ref().is_none_or(|steps| steps.binary_search(&fret.get()).is_ok())
    }

    /// Tells whether the frets have names of their own, as on a diatonic fretboard, and not just their numbers.
    #[must_use]
    pub const fn has_named_frets(&self) -> bool {
        self.fret_names.is_some()
    }

    /// Returns what players of this instrument call a fret: its number, or `6½` on a diatonic fretboard.
    #[must_use]
    pub fn fret_name(&self, fret: Fret) -> String {
        let named = self.fret_steps.as_ref().zip(self.fret_names.as_ref()).and_then(|(steps, names)| {
            let index = steps.iter().position(|&step| step == fret.get())?;
            names.get(index).cloned()
        });
        named.unwrap_or_else(|| fret.get().to_string())
    }

    /// Returns the courses, from the highest player number to course 1.
    #[must_use]
    pub fn courses(&self) -> &[Course] {
        &self.courses
    }

    /// Returns the id of the tuning it is usually in.
    #[must_use]
    pub fn standard_id(&self) -> &str {
        &self.standard_id
    }

    /// Returns the id of the string set it usually wears.
    #[must_use]
    pub fn strings_id(&self) -> &str {
        &self.strings_id
    }

    /// Returns the kind of bridge it usually has.
    #[must_use]
    pub const fn bridge(&self) -> Bridge {
        self.bridge
    }

    /// Returns what stops the strings.
    #[must_use]
    pub const fn played_with(&self) -> PlayedWith {
        self.played_with
    }

    /// Returns where the facts are from.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }
}
