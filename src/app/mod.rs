//! The app: what is shown and what a tap does, then how it gets to the window.
//!
//! [`State`] and [`State::update`] know no window and are tested without one; a file holds each screen's choices.
//! `view` turns the state into what Slint shows, `window` fills the window and sends its taps back as [`Action`]s, and
//! `pictures` draws every screen without a display.

mod effort;
mod guitar;
mod instrument;
mod key_plan;
mod neck;
mod own_tuning;
mod pick;
mod retune;
mod settings;
mod shapes;
mod state;
mod tunings;

pub use effort::Effort;
pub use guitar::Guitar;
pub use instrument::InstrumentAction;
pub use key_plan::{KeyPlan, KeyPlanAction};
pub use neck::{NeckAction, NeckLook, NeckShows};
pub use own_tuning::{Editing, OwnTuningAction, OwnTuningFault};
pub use pick::{PickAction, Picking};
pub use retune::{RetuneAction, Retuning, Stage, Target};
pub use settings::SettingsAction;
pub use shapes::{ChordSet, Filters, Gap, Labels, Looking, ShapesAction};
pub use state::{Action, Notice, Screen, State, Tab, Update};
pub use tunings::{Group, Listed, Row, TuningsAction, TuningsList, TuningsView, list};
