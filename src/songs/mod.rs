//! Songs and set lists: what is played, in which tuning, and in which order it costs least retuning.
//!
//! Values only: nothing here reads a file or knows a screen. What the order weighs and how hard a chord is to hold come
//! in as functions; [`Changeover`] says what is to be done between two songs and about how long that takes.

mod assignment;
mod bound;
mod capo;
mod changeover;
mod chart;
mod exact;
mod improve;
mod loose;
mod order;
mod plain;
mod set_list;
mod slot_bound;
mod song;
mod tab;
pub(crate) mod text;
mod transpose;
mod tune;

pub use capo::{CapoSuggestion, suggest_capos};
pub use changeover::Changeover;
pub use chart::{
    Bar, Chart, ChartFault, ChartLine, Content, Expected, LineTold, Part, Placed, PlayedBar, PlayedLine, Section,
};
pub use loose::{ReadAs, ReadSong, Understood, parted};
pub use order::{CostTable, Going, MoveSuggestion, NotWanted, Order, OrderProblem};
pub use plain::ParseSongError;
pub use set_list::{SetEntry, SetList, SetListId, Stand};
pub use song::{ChosenTuning, FindShape, Song, SongFault, SongId, ToHold, UnknownFields};
pub use tab::{Tab, TabLine, TabMark};
pub use transpose::{Transposition, key_of_chord};
pub use tune::SongTune;
