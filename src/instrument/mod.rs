//! What lies under the hands: courses and strings, tunings, the fretboard and its capo, and the bundled catalogue.
//!
//! Inside, courses are counted from the lowest place (index 0 is the one nearest the ceiling, usually the thickest);
//! players count the other way, and [`CourseIndex`] converts. Lists everywhere run from the highest player number to
//! course 1.

mod asked;
mod bridge;
mod catalog;
mod course;
mod find;
mod fretboard;
mod model;
mod near;
mod strain;
mod string;
mod stringing;
mod strung;
mod tuning;
mod wire;
mod words;

pub use asked::{StringsAsked, restrung_between, strings_asked};
pub use catalog::{Catalog, CatalogTuning, StringSet, TuningFamily};
pub use course::{Course, CourseIndex};
pub use find::{
    NotesRead, TwoReadings, UnknownTuning, UnreadNotes, matching_tunings, matching_tunings_in, meant_tuning,
};
pub use fretboard::{Fret, Fretboard, NotOnNeck, Position};
pub use model::{Bridge, Instrument, InstrumentFamily, PlayedWith};
pub use near::edits;
pub use strain::{Level, MountedString, Newtons};
pub use string::{Gauge, Material};
pub use stringing::{KnownString, Stringing};
pub use strung::{NotStrung, Strain, Strung};
pub use tuning::{ParseTuningError, Tuning};
pub use words::Language;
