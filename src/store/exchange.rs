//! Out and in: the whole library, or one set list with what belongs to it, as a file or through the clipboard.
//!
//! What goes out is a library file as described on the page of [`crate::store`]; that of a set list leaves out settings,
//! the guitar and recent tunings. What comes in is compared item by item, and a list of decisions says what becomes of
//! each. Nothing of the player's own is replaced unless a decision says so.

use std::collections::HashMap;
use std::io;

use crate::songs::{ParseSongError, ReadAs, ReadSong, SetList, SetListId, Song, SongId, parted};

use super::favourite::Favourite;
use super::library::{Library, OwnTuning};
use super::read::{ReadFault, Watch, read};
use super::search::plain;
use super::shared::Shared;

/// One thing that comes in, by its place in the incoming library.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Incoming {
    /// The settings.
    Settings,
    /// An own tuning.
    OwnTuning(usize),
    /// A song.
    Song(usize),
    /// A set list.
    SetList(usize),
    /// The shapes marked there, all of them.
    Favourites,
}

/// How a thing that comes in compares with what is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Likeness {
    /// There is none by that name.
    New,
    /// The very same is there.
    Same,
    /// There is one by that name, and it differs.
    Differs,
}

/// What becomes of a thing that comes in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// It is left out; set lists that name it use the one that is there, or do without.
    Leave,
    /// It is added; where there is one by that name, its own gets a number behind it.
    Add,
    /// It takes the place of the one by that name. Only ever by the player's word.
    Replace,
}

/// A thing that comes in, with what is proposed for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportItem {
    /// Which thing.
    pub what: Incoming,
    /// What it is called; empty for the settings, how many for the marked shapes.
    pub name: String,
    /// How it compares.
    pub likeness: Likeness,
    /// What becomes of it: at first [`Decision::Add`] for what is new or differs and [`Decision::Leave`] for what is
    /// there already, and for settings.
    pub decision: Decision,
}

/// What an import did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// How many things were added.
    pub added: usize,
    /// How many took the place of another.
    pub replaced: usize,
    /// How many places in set lists were lost because their song was left out and is not here.
    pub places_lost: usize,
}

impl Library {
    /// Writes everything for another device, to be read by people too, piece by piece: what is written is never held as a
    /// whole.
    ///
    /// # Errors
    /// When `to` takes no more.
    pub fn export_to(&self, mut to: impl io::Write) -> io::Result<()> {
        serde_json::to_writer_pretty(&mut to, self)?;
        to.write_all(b"\n")
    }

    /// Returns what [`Library::export_to`] writes.
    ///
    /// # Panics
    /// Never: a library holds nothing that JSON cannot, and memory takes all there is.
    #[must_use]
    pub fn export(&self) -> String {
        let mut bytes = Vec::new();
        self.export_to(&mut bytes).expect("memory takes all");
        String::from_utf8(bytes).expect("JSON is written in UTF-8")
    }

    /// Writes one set list with its songs and the own tunings they are in; `None` when there is no such set list.
    ///
    /// # Panics
    /// Never: a library holds nothing that JSON cannot.
    #[must_use]
    pub fn export_set_list(&self, id: SetListId) -> Option<String> {
        let list = self.find_set_list(id)?;
        let is_in_list = |song: &&Shared<Song>| list.entries.iter().any(|entry| entry.song_id == song.id);
        let songs: Vec<Shared<Song>> = self.songs.iter().filter(is_in_list).cloned().collect();
        let is_used = |tuning: &&OwnTuning| songs.iter().any(|song| song.tuning.id.as_ref() == Some(&tuning.id));
        let own_tunings = self.own_tunings.iter().filter(is_used).cloned().collect::<Vec<_>>();
        let part = Self {
            next_number: self.next_number,
            own_tunings: Shared::new(own_tunings),
            songs: Shared::new(songs),
            set_lists: Shared::new(vec![list.clone()]),
            ..Self::default()
        };
        let mut value = serde_json::to_value(&part).expect("text, numbers and lists with text keys are JSON");
        if let Some(fields) = value.as_object_mut() {
            for field in ["settings", "guitar_now", "on_stage", "put_away", "recent_tuning_ids", "recent_song_ids"] {
                fields.remove(field);
            }
        }
        Some(format!("{value:#}\n"))
    }

    /// Reads what another device wrote, or a song as plain text (see [`Song::to_text`]).
    ///
    /// # Errors
    /// When it is neither; the fault is that of the library file, unless the text does not begin as JSON does, when it
    /// is that of the song.
    pub fn read_incoming(text: &str) -> Result<Self, IncomingFault> {
        if text.trim_start().starts_with('{') {
            return read(text.as_bytes()).map_err(IncomingFault::Library);
        }
        let song = Song::read_text(text).map_err(IncomingFault::Song)?;
        let mut library = Self::default();
        library.add_song(song);
        Ok(library)
    }

    /// Reads what another device wrote, or songs from any text: the songs' readings come beside the library, in its order.
    ///
    /// # Errors
    /// When the text begins as JSON does and is no library, or when there is nothing in it.
    pub fn read_any(text: &str, with: &ReadAs<'_>) -> Result<(Self, Vec<ReadSong>), IncomingFault> {
        if text.trim_start().starts_with('{') {
            return Ok((Self::read_incoming(text)?, Vec::new()));
        }
        let songs: Vec<ReadSong> = parted(text).into_iter().filter_map(|song| ReadSong::read(song, with)).collect();
        if songs.is_empty() {
            return Err(IncomingFault::Song(ParseSongError::NoTitle));
        }
        let mut library = Self::default();
        for read in &songs {
            library.add_song(read.song.clone());
        }
        Ok((library, songs))
    }

    /// Compares an incoming library with this one, item by item: settings (where they are not the same), own tunings,
    /// songs, set lists, marked shapes.
    #[must_use]
    pub fn compare(&self, incoming: &Self) -> Vec<ImportItem> {
        self.compare_with(incoming, &mut |_, _| true)
    }

    /// The same for a library that may be large; `None` when it was told to stop.
    #[must_use]
    pub fn compare_watched(&self, incoming: &Self, watch: Watch<'_>) -> Option<Vec<ImportItem>> {
        let mut goes_on = true;
        let items = self.compare_with(incoming, &mut |done, of| {
            goes_on = goes_on && watch(done, of);
            goes_on
        });
        goes_on.then_some(items)
    }

    fn compare_with(&self, incoming: &Self, watch: Watch<'_>) -> Vec<ImportItem> {
        let item = |what, name: &str, likeness| ImportItem {
            what,
            name: name.to_owned(),
            likeness,
            decision: if likeness == Likeness::Same || what == Incoming::Settings {
                Decision::Leave
            } else {
                Decision::Add
            },
        };
        let mut items = Vec::new();
        let (theirs, ours) = (incoming.settings.of_the_player(), self.settings.of_the_player());
        if theirs != ours && theirs != super::Settings::default() {
            items.push(item(Incoming::Settings, "", Likeness::Differs));
        }
        let likeness = |here: Option<bool>| match here {
            None => Likeness::New,
            Some(true) => Likeness::Same,
            Some(false) => Likeness::Differs,
        };
        let tunings = TwinsOf::tunings(self, incoming);
        for (index, tuning) in incoming.own_tunings.iter().enumerate() {
            items.push(item(Incoming::OwnTuning(index), &tuning.name, likeness(tunings.is_same(index))));
        }
        let songs = TwinsOf::songs(self, incoming, &tunings, watch);
        for (index, song) in incoming.songs.iter().enumerate() {
            items.push(item(Incoming::Song(index), &song.title, likeness(songs.is_same(index))));
        }
        let lists = TwinsOf::set_lists(self, incoming, &songs);
        for (index, list) in incoming.set_lists.iter().enumerate() {
            items.push(item(Incoming::SetList(index), &list.title, likeness(lists.is_same(index))));
        }
        if !incoming.favourites.is_empty() {
            let is_here = |marked: &&Favourite| self.favourites.iter().any(|here| here.is_same(marked));
            let new = incoming.favourites.iter().filter(|marked| !is_here(marked)).count();
            let (count, likeness) =
                if new == 0 { (incoming.favourites.len(), Likeness::Same) } else { (new, Likeness::New) };
            items.push(item(Incoming::Favourites, &count.to_string(), likeness));
        }
        items
    }
}

/// Whoever watches is told at every so many.
const TOLD_EVERY: usize = 100;

/// For each incoming thing the place of the one by its name here, and whether that is the very same.
pub(super) struct TwinsOf(Vec<Option<(usize, bool)>>);

impl TwinsOf {
    pub(super) fn here(&self, index: usize) -> Option<usize> {
        self.0[index].map(|(here, _)| here)
    }

    fn is_same(&self, index: usize) -> Option<bool> {
        self.0[index].map(|(_, is_same)| is_same)
    }

    /// Finds the twin of each thing: the very same if there is one, else the first by its name.
    fn find<T>(
        incoming: &[T],
        here: &[T],
        name: impl Fn(&T) -> String,
        is_same: impl Fn(&T, &T) -> bool,
        watch: Watch<'_>,
    ) -> Self {
        let mut by_name: HashMap<String, Vec<usize>> = HashMap::new();
        for (index, thing) in here.iter().enumerate() {
            by_name.entry(name(thing)).or_default().push(index);
        }
        let twin = |thing: &T| {
            let named = by_name.get(&name(thing))?;
            let same = named.iter().find(|&&index| is_same(thing, &here[index]));
            Some((*same.unwrap_or(&named[0]), same.is_some()))
        };
        let mut twins = Vec::with_capacity(incoming.len());
        let mut goes_on = true;
        for (index, thing) in incoming.iter().enumerate() {
            if index.is_multiple_of(TOLD_EVERY) {
                goes_on = goes_on && watch(index, incoming.len());
            }
            twins.push(if goes_on { twin(thing) } else { None });
        }
        Self(twins)
    }

    pub(super) fn tunings(library: &Library, incoming: &Library) -> Self {
        let is_same = |one: &OwnTuning, other: &OwnTuning| *one == OwnTuning { id: one.id.clone(), ..other.clone() };
        let name = |tuning: &OwnTuning| format!("{}\n{}", tuning.instrument_id, plain(tuning.name.trim()));
        Self::find(&incoming.own_tunings, &library.own_tunings, name, is_same, &mut |_, _| true)
    }

    pub(super) fn songs(library: &Library, incoming: &Library, tunings: &Self, watch: Watch<'_>) -> Self {
        let places: HashMap<&str, usize> =
            incoming.own_tunings.iter().enumerate().map(|(index, tuning)| (tuning.id.as_str(), index)).collect();
        let is_same = |one: &Shared<Song>, other: &Shared<Song>| {
            let mut one = Song::clone(one);
            one.id = other.id;
            if let Some(id) = one.tuning.id.take_if(|id| id.starts_with("own-")) {
                let twin = places.get(id.as_str()).and_then(|&index| tunings.here(index));
                one.tuning.id = twin.map(|here| library.own_tunings[here].id.clone());
            }
            one == **other
        };
        let name = |song: &Shared<Song>| format!("{}\n{}", plain(song.title.trim()), plain(song.from.trim()));
        Self::find(&incoming.songs, &library.songs, name, is_same, watch)
    }

    pub(super) fn set_lists(library: &Library, incoming: &Library, songs: &Self) -> Self {
        let places: HashMap<SongId, usize> =
            incoming.songs.iter().enumerate().map(|(index, song)| (song.id, index)).collect();
        let is_same = |one: &SetList, other: &SetList| {
            let mut one = SetList { id: other.id, ..one.clone() };
            for entry in &mut one.entries {
                let twin = places.get(&entry.song_id).and_then(|&index| songs.0[index]);
                // A song that differs is another song.
                let Some((here, true)) = twin else { return false };
                entry.song_id = library.songs[here].id;
            }
            one == *other
        };
        let name = |list: &SetList| plain(list.title.trim());
        Self::find(&incoming.set_lists, &library.set_lists, name, is_same, &mut |_, _| true)
    }
}

/// Why a text is neither a library nor a song.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum IncomingFault {
    /// It begins as a library does.
    Library(ReadFault),
    /// It does not, and is no song.
    Song(ParseSongError),
    /// It is no text.
    NoText,
    /// The disk does not give the file out; says why.
    File(String),
}

impl std::fmt::Display for IncomingFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Library(fault) => write!(f, "{fault}"),
            Self::Song(fault) => write!(f, "{fault}"),
            Self::NoText => f.write_str("it is neither a library nor text"),
            Self::File(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for IncomingFault {}
