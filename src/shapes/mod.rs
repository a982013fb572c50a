//! Chord shapes: what the fretting hand can hold, and what a held shape is good for.
//!
//! [`ShapeSearch`] finds every [`Shape`] that sounds a chord and that a [`Hand`] holds, each with its best
//! [`Fingering`], ranked by the named costs of [`CostTerm`] with the [`Weights`] of `data/weights.toml`.
//!
//! Of a held shape, [`name_shape`] says what it is called, [`alternating_bass`] what the thumb does,
//! [`melody_in_reach`] what the other fingers can add, and [`known_forms`] which form it is that the player knows.
//! [`plan_neck`] takes one shape for each chord of a progression; [`key_on_neck`] shows the notes of the whole neck.

mod bass;
mod fingering;
mod fingering_cost;
mod forms;
mod half_walked;
mod hand;
mod hold;
mod melody;
mod name;
mod name_cost;
mod nearest;
mod neck;
mod neck_plan;
mod neck_plan_search;
mod places;
mod progression;
mod rank;
mod ranked;
mod search;
mod shape;
mod stops;
mod weights;

pub use bass::{
    AlternatingBass, BassNote, BassPair, BassPart, FingerChange, alternating_bass, bass_is_heard, thumb_courses,
};
pub use fingering::{Barre, Finger, Fingering};
pub use fingering_cost::FingeringAmounts;
pub use forms::{KnownForm, MovedShape, StandardForm, chords_along_neck, known_forms};
pub use hand::{Hand, Style};
pub use melody::{MelodyNote, Reached, SLIDE_FRETS, melody_in_reach, nearest_in_reach};
pub use name::{BassRole, ChordName, MOST_NAMES, Names, is_reentrant, name_on_root, name_pitches, name_shape};
pub use name_cost::NamePenalty;
pub use nearest::{GivenUp, Nearest};
pub use neck::{NeckNote, TappedShape, chord_on_neck, key_on_neck};
pub use neck_plan::{HandMove, NeckPlan, PlanCandidate, PlanCosts, plan_neck};
pub use progression::{PlannedShape, ProgressionFault, plan_progression, read_progression, read_progression_in};
pub use rank::CostTerm;
pub use ranked::{Found, RankedShape};
pub use search::{BassRule, ShapeSearch, Wants};
pub use shape::{ParseShapeError, Shape};
pub use weights::Weights;
