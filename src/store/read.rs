//! From bytes to a library and back: size, parse, version, meaning, in this order.

use std::collections::HashSet;
use std::fmt;

use serde::Deserialize;

use crate::songs::{SetListId, SongFault, SongId};

use super::library::Library;

/// The most bytes a library file may have: some fifteen thousand songs.
pub(super) const MOST_BYTES: usize = 32 * 1024 * 1024;

/// The part of a file that tells whether the rest is for us.
#[derive(Deserialize)]
struct Head {
    format: Option<String>,
    version: Option<u64>,
}

/// Reads a library.
///
/// # Errors
/// When the bytes are too many, no JSON, no library, of a newer version, or say what cannot be.
pub fn read(bytes: &[u8]) -> Result<Library, ReadFault> {
    read_head(bytes)?;
    let library: Library = serde_json::from_slice(bytes).map_err(|fault| ReadFault::of_json(&fault))?;
    check(&library).map_err(ReadFault::Meaning)?;
    Ok(library)
}

/// Reads size, format and version only.
pub(super) fn read_head(bytes: &[u8]) -> Result<(), ReadFault> {
    if bytes.len() > MOST_BYTES {
        return Err(ReadFault::TooLarge { bytes: bytes.len(), most: MOST_BYTES });
    }
    let head: Head = serde_json::from_slice(bytes).map_err(|fault| ReadFault::of_json(&fault))?;
    if head.format.as_deref() != Some(Library::FORMAT) {
        return Err(ReadFault::NotALibrary);
    }
    match head.version {
        Some(version) if version > u64::from(Library::VERSION) => Err(ReadFault::Newer { version }),
        Some(version) if version >= 1 => Ok(()),
        _ => Err(ReadFault::NotALibrary),
    }
}

/// Reads what this version understands of a newer file, to look at and never to write.
pub(super) fn read_newer(bytes: &[u8]) -> Option<Library> {
    serde_json::from_slice(bytes).ok().filter(|library| check(library).is_ok())
}

/// Writes a library as one line of JSON.
///
/// # Panics
/// Never: a library holds nothing that JSON cannot.
#[must_use]
pub fn write(library: &Library) -> Vec<u8> {
    let mut bytes = serde_json::to_vec(library).expect("text, numbers and lists with text keys are JSON");
    bytes.push(b'\n');
    bytes
}

/// Checks what serde cannot: numbers in range, ids unique, references resolved.
pub(super) fn check(library: &Library) -> Result<(), MeaningFault> {
    if let Some(field) = library.settings.find_fault() {
        return Err(MeaningFault::Setting { field });
    }
    let mut own_ids = HashSet::new();
    for tuning in &library.own_tunings {
        let number = tuning.id.strip_prefix("own-").and_then(|number| number.parse::<u64>().ok());
        let is_ours = number.is_some_and(|number| number < library.next_number);
        if !is_ours || !own_ids.insert(tuning.id.as_str()) {
            return Err(MeaningFault::OwnTuning { id: tuning.id.clone() });
        }
    }
    let mut song_ids = HashSet::new();
    for song in &library.songs {
        if song.id.0 == 0 || song.id.0 >= library.next_number || !song_ids.insert(song.id) {
            return Err(MeaningFault::SongNumber { id: song.id });
        }
        song.check().map_err(|fault| MeaningFault::Song { id: song.id, fault })?;
    }
    let mut list_ids = HashSet::new();
    for list in &library.set_lists {
        if list.id.0 == 0 || list.id.0 >= library.next_number || !list_ids.insert(list.id) {
            return Err(MeaningFault::SetListNumber { id: list.id });
        }
        if let Some(entry) = list.entries.iter().find(|entry| !song_ids.contains(&entry.song_id)) {
            return Err(MeaningFault::NoSuchSong { list: list.id, song: entry.song_id });
        }
    }
    Ok(())
}

/// Why bytes are no library.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadFault {
    /// More bytes than are read.
    TooLarge {
        /// How many; of a file, at least so many.
        bytes: usize,
        /// How many are read.
        most: usize,
    },
    /// No JSON, or JSON of another build.
    Json {
        /// Line, from 1.
        line: usize,
        /// Column in bytes, from 1; 0 at the start of a line.
        column: usize,
        /// What the parser says.
        message: String,
    },
    /// JSON, but of another kind.
    NotALibrary,
    /// Written by a later version of the app.
    Newer {
        /// Its version.
        version: u64,
    },
    /// A library that says what cannot be.
    Meaning(MeaningFault),
}

impl ReadFault {
    pub(super) fn of_json(fault: &serde_json::Error) -> Self {
        Self::Json { line: fault.line(), column: fault.column(), message: fault.to_string() }
    }
}

impl fmt::Display for ReadFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { bytes, most } => write!(f, "expected at most {most} bytes, found {bytes}"),
            Self::Json { message, .. } => f.write_str(message),
            Self::NotALibrary => write!(f, "expected a {} file", Library::FORMAT),
            Self::Newer { version } => {
                write!(f, "expected version {} at most, found version {version}", Library::VERSION)
            }
            Self::Meaning(fault) => write!(f, "{fault}"),
        }
    }
}

impl std::error::Error for ReadFault {}

/// What a library says that cannot be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MeaningFault {
    /// A setting is out of range.
    Setting {
        /// Its field.
        field: &'static str,
    },
    /// An own tuning's id is not of the form `own-1`, is used twice, or has a number not yet given out.
    OwnTuning {
        /// The id.
        id: String,
    },
    /// A song's number is used twice, or not yet given out.
    SongNumber {
        /// The number.
        id: SongId,
    },
    /// A song says what cannot be.
    Song {
        /// Which song.
        id: SongId,
        /// What.
        fault: SongFault,
    },
    /// A set list's number is used twice, or not yet given out.
    SetListNumber {
        /// The number.
        id: SetListId,
    },
    /// A set list names a song that is not there.
    NoSuchSong {
        /// The set list.
        list: SetListId,
        /// The song.
        song: SongId,
    },
}

impl fmt::Display for MeaningFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting { field } => write!(f, "setting \"{field}\" is out of range"),
            Self::OwnTuning { id } => write!(f, "own tuning \"{id}\" has no proper id of its own"),
            Self::SongNumber { id } => write!(f, "song number {} is not its own", id.0),
            Self::Song { id, fault } => write!(f, "song {}: {fault}", id.0),
            Self::SetListNumber { id } => write!(f, "set list number {} is not its own", id.0),
            Self::NoSuchSong { list, song } => {
                write!(f, "set list {} names song {}, which is not there", list.0, song.0)
            }
        }
    }
}

impl std::error::Error for MeaningFault {}
