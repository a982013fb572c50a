//! What the player asks of an arrangement.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, NotOnNeck, Position};
use crate::shapes::{Finger, Hand, Shape};
use crate::theory::Semitones;
use crate::tune::{Quarters, TuneFault};

use super::costs::ArrangeCosts;

/// What the thumb does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ThumbStyle {
    /// A bass note on every beat, root and another in turn.
    #[default]
    Alternating,
    /// The root on every beat.
    Steady,
    /// A bass note where a chord begins, and it rings.
    OnChanges,
    /// None.
    MelodyAlone,
}

/// How much sounds besides melody and thumb.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fullness {
    /// Nothing.
    #[default]
    Plain,
    /// Another note of the chord together with the melody where a chord begins.
    Pinches,
    /// Pinches, and notes of the chord on the off-beats that the melody leaves free.
    Inner,
}

/// Which of two arrangements is the better.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Goal {
    /// The one whose costs add up to less: smooth as a whole.
    #[default]
    LeastSum,
    /// The one whose hardest step costs less, and of those the smoother: no single hard place.
    LeastHardest,
}

/// Something the player has decided, around which the rest is found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    /// Where, as played: the onset of the note or of the thumb's beat, or the beginning of the stretch.
    pub at: Quarters,
    /// What.
    pub what: Pinned,
}

/// What is decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pinned {
    /// The melody note that begins there is played here.
    Melody(Position),
    /// The thumb plays this.
    Bass(Position),
    /// The thumb plays nothing.
    NoBass,
    /// The melody note that begins there is stopped by this finger, where it does not ring open.
    MelodyFinger(Finger),
    /// The bass note that begins there is stopped by this finger, where it does not ring open.
    BassFinger(Finger),
    /// This shape is held until `to`.
    Shape {
        /// The shape.
        shape: Shape,
        /// Where it may be left.
        to: Quarters,
    },
}

/// What is asked of an arrangement.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wishes {
    /// What the thumb does.
    pub style: ThumbStyle,
    /// How much sounds besides.
    pub fullness: Fullness,
    /// Which arrangement is the better.
    pub goal: Goal,
    /// By how much the tune is moved, octaves included; `None` where it may be chosen.
    pub transpose: Option<Semitones>,
    /// Where the capo sits; `None` where it may be chosen.
    pub capo: Option<Fret>,
    /// What the player has decided.
    pub pins: Vec<Pin>,
    /// The hand.
    pub hand: Hand,
    /// How long the strings are, in millimetres; as is usual for the instrument where nothing is said.
    pub scale_mm: Option<f64>,
    /// What speaks against what.
    pub costs: ArrangeCosts,
}

/// Why there is no arrangement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ArrangeFault {
    /// The tune has no notes.
    NoNotes,
    /// The tune cannot be played out.
    Tune(TuneFault),
    /// It has more moments than are worked out.
    TooLong {
        /// How many are.
        most: usize,
    },
    /// The tuning or the capo does not fit the instrument.
    NotOnNeck(NotOnNeck),
    /// What the player has decided cannot be played, here or with what stands around it.
    Pin {
        /// The bar's number as played.
        bar: usize,
        /// The beat, from 1.
        beat: Quarters,
    },
    /// It was stopped before it was done.
    Stopped,
}

impl fmt::Display for ArrangeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNotes => f.write_str("the tune has no notes"),
            Self::Tune(fault) => write!(f, "{fault}"),
            Self::TooLong { most } => {
                write!(f, "the tune has more than {most} moments, which is more than is worked out")
            }
            Self::NotOnNeck(fault) => write!(f, "{fault}"),
            Self::Pin { bar, beat } => {
                write!(f, "what is decided for bar {bar}, beat {beat} cannot be played with what stands around it")
            }
            Self::Stopped => f.write_str("it was stopped before it was done"),
        }
    }
}

impl std::error::Error for ArrangeFault {}
