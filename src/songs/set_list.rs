//! A set list: songs in the order they are played.

use serde::{Deserialize, Serialize};

use super::song::{SongId, UnknownFields};

/// The number a set list has in a library; 0 stands for one that is in none yet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SetListId(pub u64);

/// A song's place in a set list. The same song may stand in it more than once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetEntry {
    /// Which song.
    pub song_id: SongId,
    /// Whether it keeps its place when the rest is put in order.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub is_pinned: bool,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

impl SetEntry {
    /// Makes an entry that may be moved.
    #[must_use]
    pub fn new(song_id: SongId) -> Self {
        Self { song_id, is_pinned: false, unknown: UnknownFields::new() }
    }
}

/// A set list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetList {
    /// Its number in the library.
    pub id: SetListId,
    /// What it is called.
    pub title: String,
    /// Whatever the player wants to remember.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// The songs in order.
    #[serde(default)]
    pub entries: Vec<SetEntry>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

impl SetList {
    /// Makes an empty set list.
    #[must_use]
    pub fn new(title: impl Into<String>) -> Self {
        Self {
            id: SetListId::default(),
            title: title.into(),
            notes: String::new(),
            entries: Vec::new(),
            unknown: UnknownFields::new(),
        }
    }
}
