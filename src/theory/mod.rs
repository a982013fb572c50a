//! Music without an instrument: pitches, spelled notes, intervals, chords, keys, hertz and cents.
//!
//! Everything here is a plain value and a pure function; no files, no clock, no fretboard.
//! Sound ([`Pitch`]) and spelling ([`Note`]) are kept apart: an equal-tempered pitch has many names,
//! and arithmetic on names keeps the letter as well as the size.

mod chord;
mod interval;
mod key;
mod measure;
mod pitch;
mod quality;
mod spelling;
mod typed;

pub use chord::{Chord, ParseChordError};
pub use interval::{Interval, ParseIntervalError};
pub use key::{ChordSource, Key, KeyChord, Mode, ParseKeyError};
pub use measure::{Cents, Hertz, ReferencePitch, equal_tempered_error};
pub use pitch::{Pitch, PitchClass, PitchClassSet, Semitones};
pub use quality::ChordQuality;
pub use spelling::{Accidental, Letter, Naming, NotANote, Note, SpelledPitch, SpellingChoice};
pub use typed::NoteReading;
pub(crate) use typed::without_accent;
