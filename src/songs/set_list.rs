//! A set list: songs in the order they are played.

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, Tuning};

use super::order::{CostTable, Order, OrderProblem};
use super::song::{Song, SongId, UnknownFields};

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

/// How an instrument stands ready for a song. Songs with the same need no retuning between them.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Stand {
    /// The instrument of the catalogue.
    pub instrument_id: String,
    /// The open pitches, without the capo.
    pub pitches: Tuning,
    /// Where the capo sits, 0 for none.
    pub capo: Fret,
}

impl Stand {
    /// Returns what the song needs.
    #[must_use]
    pub fn of(song: &Song) -> Self {
        Self { instrument_id: song.instrument_id.clone(), pitches: song.tuning.pitches.clone(), capo: song.capo }
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

    /// Returns what the songs need, each once in the order it first appears, and the number of that for every entry.
    /// An entry whose song is not found needs what the one before it does.
    #[must_use]
    pub fn stands<'a>(&self, find_song: impl Fn(SongId) -> Option<&'a Song>) -> (Vec<Stand>, Vec<usize>) {
        let mut stands: Vec<Stand> = Vec::new();
        let mut numbers = Vec::with_capacity(self.entries.len());
        for entry in &self.entries {
            let Some(stand) = find_song(entry.song_id).map(Stand::of) else {
                numbers.push(numbers.last().copied().unwrap_or(0));
                continue;
            };
            let known = stands.iter().position(|known| *known == stand);
            numbers.push(known.unwrap_or(stands.len()));
            if known.is_none() {
                stands.push(stand);
            }
        }
        (stands, numbers)
    }

    /// Returns the question in which order the songs cost least, from [`SetList::stands`] and what each stand costs from
    /// what is on the guitar; without that, anything may be on it.
    pub fn order_problem(
        &self,
        (stands, groups): (&[Stand], &[usize]),
        from_now: Option<Vec<u32>>,
        mut cost: impl FnMut(&Stand, &Stand) -> u32,
    ) -> OrderProblem {
        // Songs that are all unknown are one group that nothing is known of.
        let count = stands.len().max(usize::from(!groups.is_empty()));
        let costs = CostTable::new(count, |from, to| cost(&stands[from], &stands[to]));
        let from_now = from_now.map(|mut now| {
            now.resize(count, 0);
            now
        });
        let pinned = self.entries.iter().map(|entry| entry.is_pinned).collect();
        OrderProblem { groups: groups.to_vec(), pinned, costs, from_now }
    }

    /// Returns the set list in the order found for it; entries the order does not name stay at the end.
    #[must_use]
    pub fn in_order(&self, order: &Order) -> Self {
        let mut entries: Vec<SetEntry> =
            order.songs.iter().filter_map(|&entry| self.entries.get(entry).cloned()).collect();
        entries.extend(self.entries.iter().skip(entries.len()).cloned());
        Self { entries, ..self.clone() }
    }
}
