//! The player's library on disk: one versioned JSON file, written so that it is always whole.
//!
//! # The file
//! `pegwise-library.json` is one JSON object:
//!
//! | field | what it holds |
//! |---|---|
//! | `format` | always `"pegwise-library"` |
//! | `version` | 1; raised when a field changes its meaning, so that an older app leaves the file alone |
//! | `next_number` | the number the next song, set list or own tuning gets |
//! | `settings` | see [`Settings`]; every field may be missing. `has_seen_guide` says that the first run is done; a library that holds anything does not ask for it |
//! | `own_tunings` | `id` (`own-1`), `instrument_id`, `name`, `pitches` (`D2 G2 D3 G3 B3 E4`), `notes` |
//! | `songs` | see [`crate::songs::Song`]; `chart` is text as typed |
//! | `set_lists` | see [`crate::songs::SetList`]; entries name songs by number |
//! | `guitar_now` | what is on the guitar, see [`GuitarNow`] |
//! | `on_stage` | the set list under way: `set_list_id`, `place` from 0; missing when none is |
//! | `put_away` | the player's other instruments, likewise |
//! | `recent_tuning_ids` | newest first, at most [`Library::MOST_RECENT`] |
//!
//! What goes out to another device is such a file too; that of one set list has no `settings`, `guitar_now`,
//! `on_stage`, `put_away` and `recent_tuning_ids`, and only the songs and own tunings the set list needs.
//!
//! Fields this version does not know are kept and written back. Beside the file lie `pegwise-library.previous.json`,
//! the version before, and what was set aside: `pegwise-library.damaged-1.json` and so on, which nothing here writes
//! again. What is written out lies in the folder `exports` beside it, each time under a new name.

mod demo;
mod disk;
mod exchange;
mod file;
mod library;
mod memory;
mod outgoing;
mod read;
mod search;
mod settings;

pub use demo::demo;
pub use disk::{Disk, Storage};
pub use exchange::{Decision, ImportItem, Imported, Incoming, IncomingFault, Likeness};
pub use file::{Found, LibraryFile, OpenError, Opened, SaveError, Saved};
pub use library::{GuitarNow, Library, OnStage, OwnTuning, RemovedSong};
pub use memory::{Memory, Mishap};
pub use outgoing::{EXPORTS, file_name, write_out};
pub use read::{MeaningFault, ReadFault, read, write};
pub use settings::{DiagramSide, Settings, Temperament, Theme};
