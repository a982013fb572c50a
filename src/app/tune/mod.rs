//! A song's tune: worked out and laid out as tab, heard, learnt step by step, changed, tried in other tunings, entered.
//!
//! [`OpenTune`] is the part of the state about it. The search runs beside the window: the state holds the question
//! ([`Asking`]), a thread answers it ([`TuneTold`]); a test takes the thread's place ([`TuneAction::WorkNow`]).

mod action;
mod enter;
mod hear;
mod moment;
mod open;
mod page;
mod pluck;
mod steps;
mod suits;
mod work;

pub use action::TuneAction;
pub(super) use action::update;
pub use enter::{EnterAction, Entered, FileFault, LENGTHS, METRES, NeckNote, TuneEntry, fret_name};
pub use hear::{HearTune, TunePlaying, Voices, now_at};
pub(super) use hear::{settle as settle_hearing, strikes};
pub use moment::{Decision, Moment, ShapeChoice, moment};
pub(super) use open::settle;
pub use open::{OpenTune, OtherTuning, TuneTrouble, is_tune_screen, tune_song};
pub use page::{DrawnPiece, Letters, Piece, System, TabLook, TabPage, TabRoom, TabWords};
pub use pluck::{PARTS, PluckAction, PluckPhase, PluckPlace, Plucking};
pub(super) use pluck::{plucked, settle as settle_plucking};
pub use steps::{FingerMove, StepView, finger_moves, step_view};
pub use suits::{Fitting, Trial};
pub use work::{Asking, TrialQuestion, TuneQuestion, TuneTold, Worked};
