//! The app: what is shown and what a tap does, then how it gets to the window.
//!
//! [`State`] and [`State::update`] know no window and are tested without one; a file holds each screen's choices.
//! `view` turns the state into what Slint shows, `window` fills the window and sends its taps back as [`Action`]s, and
//! `pictures` draws every screen without a display.

#[cfg(feature = "app")]
mod contact_sheet;
mod guitar;
mod instrument;
#[cfg(feature = "app")]
mod kept;
mod key_plan;
mod neck;
mod own_tuning;
mod pick;
#[cfg(feature = "app")]
mod pictures;
mod retune;
mod settings;
mod shapes;
mod state;
mod tunings;
#[cfg(feature = "app")]
mod view;
#[cfg(feature = "app")]
mod window;

#[cfg(feature = "app")]
pub use pegwise_ui as ui;

pub use guitar::Guitar;
pub use instrument::InstrumentAction;
pub use key_plan::{KeyPlan, KeyPlanAction};
pub use neck::{NeckAction, NeckLook, NeckShows};
pub use own_tuning::{Editing, OwnTuningAction, OwnTuningFault};
pub use pick::{PickAction, Picking, QUALITIES, ROOTS};
#[cfg(feature = "app")]
pub use pictures::{PictureError, Scene, draw_screens, scenes};
pub use retune::{RetuneAction, Retuning, Stage, Target};
pub use settings::SettingsAction;
pub use shapes::{ChordSet, Filters, Gap, Labels, Looking, MOST_SHAPES, ShapesAction};
pub use state::{Action, Notice, Screen, State, Tab, Update};
pub use tunings::{Group, Listed, Row, TuningsAction, TuningsList, TuningsView, list};
#[cfg(feature = "app")]
pub use window::App;
