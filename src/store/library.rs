//! The library: settings, own tunings, songs and set lists, and what is on the guitar.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};

use crate::instrument::Tuning;
use crate::songs::text;
use crate::songs::{SetEntry, SetList, SetListId, Song, SongId, UnknownFields};

use super::aside::SetAside;
use super::favourite::Favourite;
use super::guitar::GuitarNow;
use super::record;
use super::settings::Settings;
use super::shared::Shared;

/// A tuning the player entered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OwnTuning {
    /// Its id in the library, such as `own-3`; never that of a tuning of the catalogue.
    pub id: String,
    /// The instrument it is for.
    pub instrument_id: String,
    /// What the player calls it.
    pub name: String,
    /// The open pitches.
    #[serde(with = "text::pitches")]
    pub pitches: Tuning,
    /// Whatever the player wants to remember.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

/// A song taken out of the library with its places in set lists, so that it can be put back.
#[derive(Clone, Debug, PartialEq)]
pub struct RemovedSong {
    song: Shared<Song>,
    index: usize,
    places: Vec<(SetListId, usize, SetEntry)>,
}

impl RemovedSong {
    /// Returns the song.
    #[must_use]
    pub fn song(&self) -> &Song {
        &self.song
    }
}

/// An own tuning taken out of the library, so that it can be put back.
#[derive(Clone, Debug, PartialEq)]
pub struct RemovedTuning {
    tuning: OwnTuning,
    index: usize,
    /// Its place among the recent ones.
    recent: Option<usize>,
}

impl RemovedTuning {
    /// Returns the tuning.
    #[must_use]
    pub const fn tuning(&self) -> &OwnTuning {
        &self.tuning
    }
}

/// A set list under way: which, and at which of its places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OnStage {
    /// Which set list. One that is no longer there means that none is under way.
    pub set_list_id: SetListId,
    /// Which of its entries, from 0.
    pub place: usize,
}

/// All that the player keeps. The fields' JSON is described on the page of [`crate::store`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Library {
    pub(super) format: String,
    pub(super) version: u32,
    pub(super) next_number: u64,
    /// What the player chose once for all.
    #[serde(serialize_with = "record::one")]
    pub settings: Settings,
    #[serde(serialize_with = "record::list")]
    pub(super) own_tunings: Shared<Vec<OwnTuning>>,
    #[serde(serialize_with = "record::shared_list")]
    pub(super) songs: Shared<Vec<Shared<Song>>>,
    #[serde(serialize_with = "record::list")]
    pub(super) set_lists: Shared<Vec<SetList>>,
    #[serde(serialize_with = "record::list", skip_serializing_if = "Vec::is_empty")]
    pub(super) favourites: Vec<Favourite>,
    /// What is on the guitar; `None` before the player has said so.
    pub guitar_now: Option<GuitarNow>,
    /// The set list under way; `None` when none is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on_stage: Option<OnStage>,
    /// The player's other instruments, as they were put away.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) put_away: Vec<GuitarNow>,
    pub(super) recent_tuning_ids: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) recent_song_ids: Vec<SongId>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) set_aside: Vec<SetAside>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

impl Default for Library {
    fn default() -> Self {
        Self {
            format: Self::FORMAT.to_owned(),
            version: Self::VERSION,
            next_number: 1,
            settings: Settings::default(),
            own_tunings: Shared::default(),
            songs: Shared::default(),
            set_lists: Shared::default(),
            favourites: Vec::new(),
            guitar_now: None,
            on_stage: None,
            put_away: Vec::new(),
            recent_tuning_ids: Vec::new(),
            recent_song_ids: Vec::new(),
            set_aside: Vec::new(),
            unknown: UnknownFields::new(),
        }
    }
}

impl Library {
    /// The word every library file starts with.
    pub const FORMAT: &'static str = "pegwise-library";
    /// The version of the file this program writes.
    pub const VERSION: u32 = 1;
    /// The most bytes its file may have.
    pub const MOST_BYTES: usize = super::read::MOST_BYTES;
    /// How many recent tunings are kept.
    pub const MOST_RECENT: usize = 12;
    /// How many songs played last are kept.
    pub const MOST_RECENT_SONGS: usize = 200;
    /// Where numbers end: what every reader of JSON holds exactly (RFC 8259, section 6). No player gets there; a damaged
    /// file may.
    pub(super) const NUMBERS_END: u64 = 1 << 53;

    /// Returns the player's own tunings, oldest first.
    #[must_use]
    pub fn own_tunings(&self) -> &[OwnTuning] {
        &self.own_tunings
    }

    /// Finds one of the player's own tunings.
    #[must_use]
    pub fn find_own_tuning(&self, id: &str) -> Option<&OwnTuning> {
        self.own_tunings.iter().find(|tuning| tuning.id == id)
    }

    /// Keeps a tuning and returns its id. The name is the player's affair; two may share one.
    pub fn add_own_tuning(
        &mut self,
        instrument_id: impl Into<String>,
        name: impl Into<String>,
        pitches: Tuning,
    ) -> String {
        let id = format!("own-{}", self.take_number());
        self.own_tunings.push(OwnTuning {
            id: id.clone(),
            instrument_id: instrument_id.into(),
            name: name.into(),
            pitches,
            notes: String::new(),
            unknown: UnknownFields::new(),
        });
        id
    }

    /// Puts `tuning` in the place of the one with its id; returns whether there is one.
    ///
    /// Songs keep the pitches they were made for.
    pub fn replace_own_tuning(&mut self, tuning: OwnTuning) -> bool {
        let place = self.own_tunings.iter_mut().find(|known| known.id == tuning.id);
        place.map(|known| *known = tuning).is_some()
    }

    /// Deletes one of the player's own tunings and returns it with its place, for [`Library::restore_own_tuning`].
    pub fn remove_own_tuning(&mut self, id: &str) -> Option<RemovedTuning> {
        let index = self.own_tunings.iter().position(|tuning| tuning.id == id)?;
        let recent = self.recent_tuning_ids.iter().position(|recent| recent == id);
        self.recent_tuning_ids.retain(|recent| recent != id);
        Some(RemovedTuning { tuning: self.own_tunings.remove(index), index, recent })
    }

    /// Puts a deleted tuning back where it was.
    pub fn restore_own_tuning(&mut self, removed: RemovedTuning) {
        let RemovedTuning { tuning, index, recent } = removed;
        if self.find_own_tuning(&tuning.id).is_some() {
            return;
        }
        if let Some(place) = recent {
            self.recent_tuning_ids.insert(place.min(self.recent_tuning_ids.len()), tuning.id.clone());
            self.recent_tuning_ids.truncate(Self::MOST_RECENT);
        }
        let place = index.min(self.own_tunings.len());
        self.own_tunings.insert(place, tuning);
    }

    /// Puts what was in hand away and takes the instrument with this id out, as it was put away; `None` when it never was.
    pub fn change_guitar(&mut self, in_hand: GuitarNow, instrument_id: &str) -> Option<GuitarNow> {
        self.put_away.retain(|known| known.instrument_id() != in_hand.instrument_id());
        self.put_away.push(in_hand);
        let place = self.put_away.iter().position(|known| known.instrument_id() == instrument_id);
        place.map(|place| self.put_away.remove(place))
    }

    /// Returns an instrument of the player's that is not in hand, as it was put away.
    #[must_use]
    pub fn find_put_away(&self, instrument_id: &str) -> Option<&GuitarNow> {
        self.put_away.iter().find(|known| known.instrument_id() == instrument_id)
    }

    /// Returns the ids of the tunings used last, newest first.
    #[must_use]
    pub fn recent_tuning_ids(&self) -> &[String] {
        &self.recent_tuning_ids
    }

    /// Notes that a tuning is used now.
    pub fn remember_tuning(&mut self, id: &str) {
        self.recent_tuning_ids.retain(|recent| recent != id);
        self.recent_tuning_ids.insert(0, id.to_owned());
        self.recent_tuning_ids.truncate(Self::MOST_RECENT);
    }

    /// Returns the songs played last, newest first.
    #[must_use]
    pub fn recent_song_ids(&self) -> &[SongId] {
        &self.recent_song_ids
    }

    /// Notes that a song is played now.
    pub fn remember_song(&mut self, id: SongId) {
        self.recent_song_ids.retain(|&recent| recent != id);
        self.recent_song_ids.insert(0, id);
        self.recent_song_ids.truncate(Self::MOST_RECENT_SONGS);
    }

    /// Returns the songs, oldest first.
    #[must_use]
    pub fn songs(&self) -> &[Shared<Song>] {
        &self.songs
    }

    /// Finds a song.
    #[must_use]
    pub fn find_song(&self, id: SongId) -> Option<&Song> {
        self.songs.iter().find(|song| song.id == id).map(|song| &**song)
    }

    /// Keeps a song under a new number, which is returned.
    pub fn add_song(&mut self, song: impl Into<Shared<Song>>) -> SongId {
        let mut song = song.into();
        song.id = SongId(self.take_number());
        let id = song.id;
        self.songs.push(song);
        id
    }

    /// Puts `song` in the place of the one with its number; returns whether there is one.
    pub fn replace_song(&mut self, song: impl Into<Shared<Song>>) -> bool {
        let song = song.into();
        let place = self.songs.iter().position(|known| known.id == song.id);
        place.map(|place| self.songs[place] = song).is_some()
    }

    /// Takes a song out of the library and of every set list.
    pub fn remove_song(&mut self, id: SongId) -> Option<RemovedSong> {
        let index = self.songs.iter().position(|song| song.id == id)?;
        let mut places = Vec::new();
        for list in self.set_lists.iter_mut() {
            let list_id = list.id;
            let found = list.entries.iter().enumerate().filter(|(_, entry)| entry.song_id == id);
            places.extend(found.map(|(place, entry)| (list_id, place, entry.clone())));
            list.entries.retain(|entry| entry.song_id != id);
        }
        Some(RemovedSong { song: self.songs.remove(index), index, places })
    }

    /// Puts a removed song back where it was, in the library and in the set lists that still exist.
    pub fn restore_song(&mut self, removed: RemovedSong) {
        if self.find_song(removed.song.id).is_some() {
            return;
        }
        let place = removed.index.min(self.songs.len());
        self.songs.insert(place, removed.song);
        for (list_id, place, entry) in removed.places {
            if let Some(list) = self.set_lists.iter_mut().find(|list| list.id == list_id) {
                list.entries.insert(place.min(list.entries.len()), entry);
            }
        }
    }

    /// Returns the set lists, oldest first.
    #[must_use]
    pub fn set_lists(&self) -> &[SetList] {
        &self.set_lists
    }

    /// Finds a set list.
    #[must_use]
    pub fn find_set_list(&self, id: SetListId) -> Option<&SetList> {
        self.set_lists.iter().find(|list| list.id == id)
    }

    /// Keeps a set list under a new number, which is returned; entries whose song is not here are left out.
    pub fn add_set_list(&mut self, list: SetList) -> SetListId {
        let id = SetListId(self.take_number());
        let list = self.without_strangers(list);
        self.set_lists.push(SetList { id, ..list });
        id
    }

    /// Puts `list` in the place of the one with its number; returns whether there is one. Entries whose song is not
    /// here are left out.
    pub fn replace_set_list(&mut self, list: SetList) -> bool {
        let list = self.without_strangers(list);
        let place = self.set_lists.iter_mut().find(|known| known.id == list.id);
        place.map(|known| *known = list).is_some()
    }

    /// Deletes a set list, not its songs, and returns it with its place, for [`Library::restore_set_list`].
    pub fn remove_set_list(&mut self, id: SetListId) -> Option<(usize, SetList)> {
        let index = self.set_lists.iter().position(|list| list.id == id)?;
        Some((index, self.set_lists.remove(index)))
    }

    /// Puts a deleted set list back where it was.
    pub fn restore_set_list(&mut self, (index, list): (usize, SetList)) {
        if self.find_set_list(list.id).is_none() {
            let list = self.without_strangers(list);
            let place = index.min(self.set_lists.len());
            self.set_lists.insert(place, list);
        }
    }

    /// Returns the shapes the player marked, the first marked first.
    #[must_use]
    pub fn favourites(&self) -> &[Favourite] {
        &self.favourites
    }

    /// Keeps a marked shape, after those marked before; returns whether it was not marked yet.
    pub fn add_favourite(&mut self, favourite: Favourite) -> bool {
        let is_new = !self.favourites.iter().any(|known| known.is_same(&favourite));
        if is_new {
            self.favourites.push(favourite);
        }
        is_new
    }

    /// Takes the mark off a shape and returns it with its place, for [`Library::restore_favourite`].
    pub fn remove_favourite(&mut self, favourite: &Favourite) -> Option<(usize, Favourite)> {
        let index = self.favourites.iter().position(|known| known.is_same(favourite))?;
        Some((index, self.favourites.remove(index)))
    }

    /// Marks a shape again, in the place it had.
    pub fn restore_favourite(&mut self, (index, favourite): (usize, Favourite)) {
        if !self.favourites.iter().any(|known| known.is_same(&favourite)) {
            self.favourites.insert(index.min(self.favourites.len()), favourite);
        }
    }

    /// Puts what another library holds in the place of what is here. What is on the instruments stays, and so does what was
    /// set aside; no number is given twice.
    pub fn restore(&mut self, from: Self) {
        self.next_number = self.next_number.max(from.next_number);
        self.settings = from.settings;
        self.own_tunings = from.own_tunings;
        self.songs = from.songs;
        self.set_lists = from.set_lists;
        self.favourites = from.favourites;
        self.recent_tuning_ids = from.recent_tuning_ids;
        self.recent_song_ids = from.recent_song_ids;
        self.on_stage = None;
        let new = from.set_aside.into_iter().filter(|part| !self.set_aside.contains(part)).collect::<Vec<_>>();
        self.set_aside.extend(new);
    }

    /// Returns what could not be read of the file, oldest first.
    #[must_use]
    pub fn set_aside(&self) -> &[SetAside] {
        &self.set_aside
    }

    /// Lets go of what was set aside at this place of [`Library::set_aside`], and returns it.
    pub fn forget_set_aside(&mut self, index: usize) -> Option<SetAside> {
        (index < self.set_aside.len()).then(|| self.set_aside.remove(index))
    }

    pub(super) fn without_strangers(&self, mut list: SetList) -> SetList {
        let here: HashSet<SongId> = self.songs.iter().map(|song| song.id).collect();
        list.entries.retain(|entry| here.contains(&entry.song_id));
        list
    }

    /// Gives out the next number, or at the end of them the lowest that is free.
    pub(super) fn take_number(&mut self) -> u64 {
        let number = self.next_number.max(1);
        if number < Self::NUMBERS_END {
            self.next_number = number + 1;
            return number;
        }
        let is_taken = |number: u64| {
            self.songs.iter().any(|song| song.id.0 == number)
                || self.set_lists.iter().any(|list| list.id.0 == number)
                || self.find_own_tuning(&format!("own-{number}")).is_some()
        };
        (1..Self::NUMBERS_END).find(|&number| !is_taken(number)).unwrap_or(1)
    }
}
