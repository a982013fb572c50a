//! Songs and set lists: what is played, in which tuning, and in which order it costs least retuning.
//!
//! Values only: nothing here reads a file or knows a screen. What a retuning costs and how hard a chord is to hold
//! come in as functions, since `retune` and `shapes` know nothing of songs.

mod assignment;
mod bound;
mod capo;
mod chart;
mod exact;
mod improve;
mod order;
mod plain;
mod set_list;
mod slot_bound;
mod song;
pub(crate) mod text;
mod transpose;

pub use capo::{CapoSuggestion, suggest_capos};
pub use chart::{Bar, Chart, ChartFault, Expected, Line, Part, PlayedBar, Section};
pub use order::{CostTable, MoveSuggestion, Order, OrderProblem};
pub use plain::ParseSongError;
pub use set_list::{SetEntry, SetList, SetListId, Stand};
pub use song::{ChosenTuning, FindShape, Song, SongFault, SongId, ToHold, UnknownFields};
pub use transpose::{Transposition, key_of_chord};
