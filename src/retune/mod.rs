//! From one tuning to the next by ear: which string against which, in what order, and what to hear.
//!
//! A plan is computed, never looked up: the courses are the nodes of a graph, the ways to compare two of them by ear
//! its edges, and each course that moves takes the cheapest chain from courses that are right. A step leans only on
//! courses that are right by then. What is on the guitar now is a plain value ([`OnGuitar`]), and a retuning half done
//! is another ([`Progress`]), so that a player can leave and come back.

mod beats;
mod check_list;
mod comparison;
mod drift;
mod faults;
mod nearest;
mod order;
mod plan;
mod progress;
mod reference;
mod refusal;
mod safety;
mod sweeten;
mod tree;

pub use beats::{BeatRate, FASTEST_BEAT, SLOWEST_BEAT, cents_per_beat};
pub use check_list::Check;
pub use comparison::{Match, MatchKind, Sounding, Touch};
pub use drift::Drift;
pub use faults::{TuningFault, find_faults};
pub use nearest::{Effort, WithoutRetuning, nearest, without_retuning};
pub use plan::{Plan, PlanError, PlanRequest, StandIn, Step, WithinCourse};
pub use progress::{CourseState, OnGuitar, Progress};

pub use refusal::{Breaking, Refusal};
pub use safety::{Remedy, Safety, StringLoad};
pub use sweeten::Sweetening;
