//! Songs and set lists: what is played, in which tuning, and in which order it costs least retuning.
//!
//! Values only: nothing here reads a file or knows a screen. What a retuning costs and how hard a chord is to hold
//! come in as functions, since `retune` and `shapes` know nothing of songs.

mod set_list;
mod song;
pub(crate) mod text;

pub use set_list::{SetEntry, SetList, SetListId};
pub use song::{ChosenTuning, Song, SongFault, SongId, UnknownFields};
