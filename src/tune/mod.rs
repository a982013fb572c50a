//! Tunes: a melody with its chords, as it is written and as it is played; reading and writing its notations.
//!
//! A [`Tune`] keeps bars, repeats and endings as they are written; [`Tune::played`] plays them out. All lengths are exact
//! fractions of a quarter note ([`Quarters`]). Read are ABC 2.1 in the part of it that tunes use, and MusicXML 4.0, plain
//! or packed; written is ABC. [`write_down`] makes a tune of plucked notes. One voice is kept: what else stands in a
//! source is left out and said ([`Skipped`]); what cannot be understood is a [`TuneFault`] with its line and place, and
//! everything before it is kept.

mod abc;
mod fault;
mod model;
mod musicxml;
mod plucked;
mod quarters;
mod read;
mod unfold;

pub use abc::{each_abc, read_abc, write_abc};
pub use fault::{Skipped, SkippedKind, TuneFault};
pub use model::{Bar, ChordMark, MOST_BARS, Metre, Tempo, Tune, TuneKey, TuneNote};
pub use musicxml::read_musicxml;
pub use plucked::{
    Grid, PlacedNote, PluckedNote, WrittenDown, common_delay, end_of, in_bars, place_notes, placed_tune, write_down,
};
pub use quarters::Quarters;
pub use read::{MOST_BYTES, TuneRead, find_tune, read_tunes};
pub use unfold::{MOST_PLAYED_BARS, Played, PlayedBar, PlayedChord, PlayedNote};
