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
//! | `songs` | see [`crate::songs::Song`]; `chart` is text as typed, `tune` see [`crate::songs::SongTune`] |
//! | `set_lists` | see [`crate::songs::SetList`]; entries name songs by number |
//! | `favourites` | shapes the player marked, see [`Favourite`]: `pitches`, `chord` (`Am7`, without a capo), `frets` (`x 0 2 0 1 0`); missing when there are none |
//! | `guitar_now` | what is on the guitar, see [`GuitarNow`]: `instrument_id`, `pitches`, `unknown_courses`, `capo`; where there is more to say, `target` and `way` (what is asked of the retuning), `retuning` (what was confirmed), `capo_off`, `strings`, `bridge`, `temperament`, `key`, `key_is_chosen` |
//! | `on_stage` | the set list under way: `set_list_id`, `place` from 0; missing when none is |
//! | `put_away` | the player's other instruments, likewise |
//! | `recent_tuning_ids` | newest first, at most [`Library::MOST_RECENT`] |
//! | `recent_song_ids` | songs played last, newest first, at most [`Library::MOST_RECENT_SONGS`] |
//! | `set_aside` | what could not be read of the file, each part as it stood: `field`, `at`, `name`, `why`, `text`, `has_stand_ins`, see [`SetAside`]; missing when nothing was |
//!
//! What goes out to another device is such a file too; that of one set list has no `settings`, `guitar_now`,
//! `on_stage`, `put_away` and `recent_tuning_ids`, and only the songs and own tunings the set list needs.
//!
//! # What is not understood
//! Fields this version does not know are kept and written back. A word it does not know in a field it does (a theme of a
//! later version, a key that is none) leaves the field as if it were missing, and is written back in its place until the
//! player puts something else there. An item that cannot be read even so (a song without a tuning) goes to `set_aside` alone,
//! to the byte (one that is not UTF-8 too), and is read again at each start: a later version, or a hand that mends it, gives it back. Numbers that are
//! used twice or have no end are given anew. Only a file that is no JSON at all, or no library, is set aside as a whole.
//!
//! # Beside the file
//! `pegwise-library.previous.json` is the version before the last save. `version-1` and so on are versions from before: one
//! of each run's beginning and one every ten minutes of change, at most twelve, closer together the newer they are.
//! `damaged-1` and so on could not be read; `other-1` were written by somebody else meanwhile, at most twelve; `kept-1` are
//! versions that were not wanted when the library was gone. Of damaged and kept ones the newest twenty stay, and of no kind
//! more than 64 MB, but two whatever they weigh. Nothing here writes them again. What is written out lies in the folder
//! `exports` beside it, each time under a new name.

mod aside;
mod demo;
mod disk;
mod exchange;
mod favourite;
mod file;
mod guitar;
mod held;
mod import;
mod letters;
mod library;
mod memory;
mod outgoing;
mod read;
mod record;
mod saver;
mod search;
mod settings;
mod shared;
mod versions;
mod whole;

pub use aside::{Mended, SetAside};
pub use demo::demo;
pub use disk::{Disk, Listed, Storage, read_file};
pub use exchange::{Decision, ImportItem, Imported, Incoming, IncomingFault, Likeness};
pub use favourite::Favourite;
pub use file::{Found, LibraryFile, OpenError, Opened, SaveError, Saved};
pub use guitar::{GuitarNow, Wanted};
pub use held::{Held, HeldAnswer, HeldChange, HeldKeep};
pub use import::TakenIn;
pub use library::{Library, OnStage, OwnTuning, RemovedSong, RemovedTuning};
pub use memory::{Memory, Mishap};
pub use outgoing::{EXPORTS, file_name, write_out, write_out_with};
pub use read::{ReadFault, Watch, read, read_mending, read_watched, write};
pub use saver::{Saver, Standing};
pub use settings::{DiagramSide, ExportReminder, Settings, StageLook, Temperament, Theme};
pub use shared::Shared;
pub use versions::{Kind as VersionKind, Version};
pub use whole::write_whole;
