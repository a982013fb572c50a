//! A tune as it is played on a tuned neck.

use crate::instrument::{CourseIndex, Fret, Position};
use crate::shapes::{Finger, Shape};
use crate::theory::{Chord, Pitch, Semitones};
use crate::tune::Quarters;

/// A tune worked out for one tuning.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrangement {
    /// By how much the tune is moved, octaves included; positive is up.
    pub transpose: Semitones,
    /// Where the capo sits; 0 for none.
    pub capo: Fret,
    /// The moments, one after the other without a gap.
    pub slices: Vec<ArrangedSlice>,
    /// What could not be kept.
    pub left_out: Vec<LeftOut>,
    /// Whether the tune has no chords of its own, so that those under it were found by its key and its notes.
    pub are_chords_found: bool,
    /// What all steps cost together.
    pub cost: f64,
    /// What the hardest step costs.
    pub hardest: f64,
    /// What a teacher counts.
    pub figures: Figures,
}

/// A stretch in which nothing begins but at its start.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrangedSlice {
    /// Where it begins, as played.
    pub at: Quarters,
    /// How long it lasts, above zero.
    pub length: Quarters,
    /// Which of the bars as played.
    pub bar: usize,
    /// The bar's number as played; 0 for a pickup.
    pub bar_number: usize,
    /// The chord that sounds, moved with the tune.
    pub chord: Option<Chord>,
    /// The melody's note.
    pub melody: Option<Sounding>,
    /// The thumb's note.
    pub bass: Option<Sounding>,
    /// Notes between them, from the ceiling to the floor.
    pub inner: Vec<Sounding>,
    /// The chord's shape that is held; `None` where only single fingers are down.
    pub shape: Option<Shape>,
    /// The fingers that are down, the thumb first, then from the index on, whether what they stop sounds or not.
    pub held: Vec<Held>,
    /// What the step to it costs.
    pub cost: f64,
}

/// A finger that is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// Which.
    pub finger: Finger,
    /// Where, counted from the capo; 1 or more.
    pub fret: Fret,
    /// The course it lies on with the highest player number, …
    pub from: CourseIndex,
    /// … and the one with the lowest: the same where it lies across none.
    pub to: CourseIndex,
}

/// A note that sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounding {
    /// Where it is played; frets are counted from the capo.
    pub position: Position,
    /// The finger on it; `None` where it rings open.
    pub finger: Option<Finger>,
    /// What sounds: the course's named string.
    pub pitch: Pitch,
    /// Whether it begins here; if not, it sounds on.
    pub starts: bool,
}

/// Something that could not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// Where, as played.
    pub at: Quarters,
    /// The bar's number as played.
    pub bar: usize,
    /// The beat, from 1, exact.
    pub beat: Quarters,
    /// What.
    pub what: LeftOutKind,
    /// Why.
    pub why: Why,
}

/// What could not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LeftOutKind {
    /// A note of the melody.
    Melody(Pitch),
    /// The thumb's note on a beat.
    Bass,
    /// The root, or the bass asked for, where a chord begins; another of its tones is there.
    Root,
}

/// Why something could not be kept, and what would help.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// It lies beyond the neck: this would help.
    BeyondNeck(Remedy),
    /// No such tone lies on the thumb's courses below the melody.
    NothingBelow,
    /// It would keep the hand from what it has to hold.
    OutOfReach,
    /// The player wants it so.
    Wanted,
}

/// What brings a note back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Remedy {
    /// So many octaves up (down where negative).
    Octaves(i16),
    /// So many semitones up (down where negative): another key.
    Key(i16),
    /// Without the capo.
    NoCapo,
    /// Another tuning: the tune is wider than the neck.
    OtherTuning,
}

/// What a teacher counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Figures {
    /// The thumb's beats.
    pub beats: usize,
    /// Those with a bass note.
    pub beats_with_bass: usize,
    /// Beats on which a new chord is played first.
    pub chord_changes: usize,
    /// Those whose bass is the root, or the one asked for.
    pub roots: usize,
    /// Those for which a root lies on the thumb's courses below the melody.
    pub roots_in_reach: usize,
    /// Notes plucked.
    pub notes: usize,
    /// Those that ring open.
    pub open_notes: usize,
    /// How often the hand changes its place.
    pub moves: usize,
    /// How far it goes in all, in millimetres.
    pub way_mm: f64,
    /// The farthest single way, in millimetres.
    pub farthest_mm: f64,
    /// Bars as played.
    pub bars: usize,
}
