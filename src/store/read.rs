//! From bytes to a library and back: size, parse, version; then item by item, so that what cannot be read is set aside
//! alone.

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::fmt;

use serde_json::value::RawValue;

use crate::songs::{SetEntry, SetList, Song, SongId};

use super::aside::{Mended, SetAside};
use super::favourite::Favourite;
use super::guitar::GuitarNow;
use super::letters;
use super::library::{Library, OwnTuning};
use super::record::{Fields, Record, read_record};
use super::shared::Shared;

/// The most bytes a library file may have: some sixty thousand songs.
pub(super) const MOST_BYTES: usize = 128 * 1024 * 1024;

/// Reads a library. What cannot be read of it stands in [`Library::set_aside`].
///
/// # Errors
/// When the bytes are too many, no JSON at all, no library, or of a newer version.
pub fn read(bytes: &[u8]) -> Result<Library, ReadFault> {
    read_mending(bytes).map(|(library, _)| library)
}

/// Reads a library, and says what reading it item by item came to.
///
/// # Errors
/// As [`read`].
pub fn read_mending(bytes: &[u8]) -> Result<(Library, Mended), ReadFault> {
    let text = text_of(bytes)?;
    Ok(Reading::begun(matches!(text, Cow::Owned(_))).library(read_head(&text)?))
}

/// Is told how many songs of how many are done; reading ends when it answers false.
pub type Watch<'a> = &'a mut dyn FnMut(usize, usize) -> bool;

/// Reads a library that may be large; `None` when it was told to stop.
///
/// # Errors
/// As [`read`].
pub fn read_watched(bytes: &[u8], watch: Watch<'_>) -> Result<Option<Library>, ReadFault> {
    let text = text_of(bytes)?;
    let mut reading = Reading { watch: Some(watch), ..Reading::begun(matches!(text, Cow::Owned(_))) };
    reading.fields(read_head(&text)?);
    Ok(if reading.is_stopped { None } else { Some(reading.end().0) })
}

/// Reads size, format and version only, and returns what is wrong with them.
pub(super) fn check_head(bytes: &[u8]) -> Result<(), ReadFault> {
    read_head(&text_of(bytes)?).map(|_| ())
}

/// Returns what is to be read: letters stand for bytes that are none.
fn text_of(bytes: &[u8]) -> Result<Cow<'_, str>, ReadFault> {
    if bytes.len() > MOST_BYTES {
        return Err(ReadFault::TooLarge { bytes: bytes.len(), most: MOST_BYTES });
    }
    // Some editors begin a file with a mark of its encoding.
    Ok(letters::to_text(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)))
}

/// Reads format and version, and returns the fields.
fn read_head(text: &str) -> Result<Fields<'_>, ReadFault> {
    let (fields, version) = read_any_head(text)?;
    match version {
        version if version > u64::from(Library::VERSION) => Err(ReadFault::Newer { version }),
        _ => Ok(fields),
    }
}

/// The same for a file of any version.
fn read_any_head(text: &str) -> Result<(Fields<'_>, u64), ReadFault> {
    let fields: Fields<'_> = serde_json::from_str(text).map_err(|fault| ReadFault::of_json(&fault))?;
    let find = |name: &str| fields.0.iter().find(|(field, _)| field == name).map(|(_, raw)| raw.get());
    let format = find("format").and_then(|raw| serde_json::from_str::<String>(raw).ok());
    let version = find("version").and_then(|raw| serde_json::from_str::<u64>(raw).ok());
    match version {
        Some(version) if version >= 1 && format.as_deref() == Some(Library::FORMAT) => Ok((fields, version)),
        _ => Err(ReadFault::NotALibrary),
    }
}

/// Reads what this version understands of a newer file, to look at and never to write.
pub(super) fn read_newer(bytes: &[u8]) -> Option<Library> {
    let text = text_of(bytes).ok()?;
    read_any_head(&text).ok().map(|(fields, _)| Reading::begun(matches!(text, Cow::Owned(_))).library(fields).0)
}

/// Counts the songs of a library file of any version without reading them.
pub(super) fn count_songs(bytes: &[u8]) -> Result<usize, ReadFault> {
    let text = text_of(bytes)?;
    let (fields, _) = read_any_head(&text)?;
    let songs = fields.0.iter().find(|(field, _)| field == "songs");
    Ok(songs.and_then(|(_, raw)| serde_json::from_str::<Vec<&RawValue>>(raw.get()).ok()).map_or(0, |songs| songs.len()))
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

/// Lists that are read item by item.
const ITEM_BY_ITEM: [&str; 7] =
    ["own_tunings", "songs", "set_lists", "put_away", "recent_tuning_ids", "recent_song_ids", "set_aside"];
/// What has bytes that are no letters is set aside whole; of these what can be read is taken besides, since one name in them
/// costs nothing, and all of them much.
const READ_EVEN_SO: [&str; 2] = ["settings", "guitar_now"];

/// A library file on its way to a library.
#[derive(Default)]
struct Reading<'w> {
    library: Library,
    mended: Mended,
    /// Letters may stand for bytes.
    is_patched: bool,
    asked_number: u64,
    /// What was set aside before.
    earlier: Vec<SetAside>,
    watch: Option<Watch<'w>>,
    is_stopped: bool,
}

/// Whoever watches is told at every so many songs.
const TOLD_EVERY: usize = 100;

impl Reading<'_> {
    fn begun(is_patched: bool) -> Self {
        Self { is_patched, ..Self::default() }
    }

    fn library(mut self, fields: Fields<'_>) -> (Library, Mended) {
        self.fields(fields);
        self.end()
    }

    fn fields(&mut self, fields: Fields<'_>) {
        let mut seen = HashSet::new();
        for (field, raw) in fields.0 {
            let text = raw.get();
            if self.is_stopped {
                return;
            }
            if !seen.insert(field.clone()) {
                self.set_aside(SetAside::new(&field, 0, "stands twice", text));
                continue;
            }
            if !ITEM_BY_ITEM.contains(&field.as_str())
                && self.has_no_letters(&field, 0, text)
                && !READ_EVEN_SO.contains(&field.as_str())
            {
                continue;
            }
            match field.as_str() {
                "format" | "version" => {}
                "next_number" => self.asked_number = serde_json::from_str(text).unwrap_or(0),
                "settings" => {
                    if let Some(settings) = self.record(&field, 0, text) {
                        self.library.settings = settings;
                    }
                }
                "own_tunings" => self.each(&field, text, |reading, at, text| {
                    let own = reading.record(&field, at, text);
                    reading.library.own_tunings.extend(own);
                }),
                "songs" => self.each(&field, text, |reading, at, text| {
                    let song = reading.record(&field, at, text);
                    reading.library.songs.extend(song.map(Shared::new));
                }),
                "set_lists" => self.each(&field, text, Self::set_list),
                "favourites" => self.each(&field, text, |reading, at, text| {
                    let favourite = reading.record::<Favourite>(&field, at, text);
                    reading.library.favourites.extend(favourite);
                }),
                "guitar_now" => self.library.guitar_now = self.guitar(&field, 0, text),
                "on_stage" => {
                    self.library.on_stage = serde_json::from_str(text).unwrap_or_else(|fault| {
                        self.set_aside(SetAside::new(&field, 0, fault.to_string(), text));
                        None
                    });
                }
                "put_away" => self.each(&field, text, |reading, at, text| {
                    let now = reading.guitar(&field, at, text);
                    reading.library.put_away.extend(now);
                }),
                "recent_tuning_ids" => self.each(&field, text, |reading, at, text| match serde_json::from_str(text) {
                    Ok(id) => reading.library.recent_tuning_ids.push(id),
                    Err(fault) => reading.set_aside(SetAside::new(&field, at, fault.to_string(), text)),
                }),
                "recent_song_ids" => self.each(&field, text, |reading, at, text| match serde_json::from_str(text) {
                    Ok(id) => reading.library.recent_song_ids.push(id),
                    Err(fault) => reading.set_aside(SetAside::new(&field, at, fault.to_string(), text)),
                }),
                "set_aside" => self.each(&field, text, |reading, at, text| match serde_json::from_str(text) {
                    Ok(aside) => reading.earlier.push(aside),
                    Err(fault) => reading.set_aside(SetAside::new(&field, at, fault.to_string(), text)),
                }),
                _ => match serde_json::from_str(text) {
                    Ok(value) => drop(self.library.unknown.insert(field, value)),
                    Err(fault) => self.set_aside(SetAside::new(&field, 0, fault.to_string(), text)),
                },
            }
        }
    }

    /// After all fields: numbers, what comes back, and places.
    fn end(mut self) -> (Library, Mended) {
        self.number(self.asked_number);
        // Places last: the songs they name may be among what comes back. What does not keeps its order, before what is new.
        let mut order: Vec<(usize, SetAside)> = std::mem::take(&mut self.earlier).into_iter().enumerate().collect();
        order.sort_by_key(|(_, aside)| aside.field == "entries");
        let mut left = Vec::new();
        for (index, aside) in order {
            left.extend(self.give_back(aside).map(|aside| (index, aside)));
        }
        left.sort_by_key(|(index, _)| *index);
        self.library.set_aside.splice(0..0, left.into_iter().map(|(_, aside)| aside));
        self.places();
        (self.library, self.mended)
    }

    fn set_aside(&mut self, aside: SetAside) {
        self.mended.set_aside += 1;
        self.library.set_aside.push(aside);
    }

    /// Reads the items of a list one by one; a field that is no list is set aside as a whole.
    fn each(&mut self, field: &str, text: &str, mut read: impl FnMut(&mut Self, usize, &str)) {
        match serde_json::from_str::<Vec<&RawValue>>(text) {
            Ok(items) => {
                let of = items.len();
                for (at, item) in items.into_iter().enumerate() {
                    if field == "songs" && at.is_multiple_of(TOLD_EVERY) {
                        self.is_stopped = self.watch.as_mut().is_some_and(|watch| !watch(at, of));
                    }
                    if self.is_stopped {
                        return;
                    }
                    if !self.has_no_letters(field, at, item.get()) {
                        read(self, at, item.get());
                    }
                }
            }
            Err(fault) => self.set_aside(SetAside::new(field, 0, fault.to_string(), text)),
        }
    }

    /// Sets aside what is not UTF-8, and returns whether it is not.
    fn has_no_letters(&mut self, field: &str, at: usize, text: &str) -> bool {
        let has_none = self.is_patched && (letters::has_stand_ins(text) || letters::has_stand_ins(field));
        if has_none {
            let aside = SetAside::new(field, at, "not UTF-8", text);
            self.set_aside(SetAside { has_stand_ins: true, name: letters::shown(&aside.name), ..aside });
        }
        has_none
    }

    fn record<R: Record>(&mut self, field: &str, at: usize, text: &str) -> Option<R> {
        match read_record::<R>(text) {
            Ok((record, held)) => {
                self.mended.words += held.len();
                Some(record)
            }
            Err(why) => {
                self.set_aside(SetAside::new(field, at, why, text));
                None
            }
        }
    }

    /// Reads what is on an instrument. What cannot be read of it is set aside with the rest of it, and not written back in
    /// its place: the next string that is turned makes it untrue.
    fn guitar(&mut self, field: &str, at: usize, text: &str) -> Option<GuitarNow> {
        if text == "null" {
            return None;
        }
        let words = self.mended.words;
        let mut now: GuitarNow = self.record(field, at, text)?;
        if self.mended.words > words {
            self.mended.words = words;
            let held = GuitarNow::OTHERS.iter().filter(|other| now.unknown.remove(**other).is_some());
            let why = format!("unknown words in {}", held.copied().collect::<Vec<_>>().join(", "));
            self.set_aside(SetAside::new(field, at, why, text));
        }
        Some(now)
    }

    fn set_list(&mut self, at: usize, text: &str) {
        const FIELD: &str = "set_lists";
        if let Ok((list, held)) = read_record::<SetList>(text)
            && !held.iter().any(|field| field == "entries")
        {
            self.mended.words += held.len();
            self.library.set_lists.push(list);
            return;
        }
        // Its places one by one.
        let Some(mut list) = self.record::<SetList>(FIELD, at, text) else { return };
        self.mended.words -= 1;
        list.unknown.remove("entries");
        let Ok(Fields(fields)) = serde_json::from_str::<Fields<'_>>(text) else { return };
        let Some((_, entries)) = fields.iter().find(|(field, _)| field == "entries") else { return };
        let number = list.id.0;
        let aside = |fault: String, at, text: &str| SetAside {
            set_list: Some(number),
            ..SetAside::new("entries", at, fault, text)
        };
        match serde_json::from_str::<Vec<&RawValue>>(entries.get()) {
            Ok(entries) => {
                for (at, entry) in entries.into_iter().enumerate() {
                    match read_record::<SetEntry>(entry.get()) {
                        Ok((entry, held)) => {
                            self.mended.words += held.len();
                            list.entries.push(entry);
                        }
                        Err(why) => self.set_aside(aside(why, at, entry.get())),
                    }
                }
            }
            Err(fault) => self.set_aside(aside(fault.to_string(), 0, entries.get())),
        }
        self.library.set_lists.push(list);
    }

    /// Sees to it that every song, set list and own tuning has a number of its own, and that none is given twice. Of two
    /// with one number, the first keeps it.
    fn number(&mut self, asked: u64) {
        let library = &mut self.library;
        let own =
            |tuning: &OwnTuning| tuning.id.strip_prefix("own-").and_then(|number| number.parse().ok()).unwrap_or(0);
        let used = library.songs.iter().map(|song| song.id.0);
        let used =
            used.chain(library.set_lists.iter().map(|list| list.id.0)).chain(library.own_tunings.iter().map(own));
        let highest = used.filter(|number| (1..Library::NUMBERS_END).contains(number)).max().unwrap_or(0);
        let asked = if asked < Library::NUMBERS_END { asked } else { 0 };
        library.next_number = asked.max(highest + 1);

        let mut taken = HashSet::new();
        let mut renumbered: HashMap<SongId, SongId> = HashMap::new();
        for index in 0..library.songs.len() {
            let old = library.songs[index].id;
            if old.0 == 0 || old.0 >= Library::NUMBERS_END || !taken.insert(old) {
                let new = SongId(library.take_number());
                library.songs[index].id = new;
                if !taken.contains(&old) {
                    renumbered.entry(old).or_insert(new);
                }
            }
        }
        let mut taken = HashSet::new();
        for index in 0..library.set_lists.len() {
            for entry in &mut library.set_lists[index].entries {
                entry.song_id = renumbered.get(&entry.song_id).copied().unwrap_or(entry.song_id);
            }
            let old = library.set_lists[index].id.0;
            if old == 0 || old >= Library::NUMBERS_END || !taken.insert(old) {
                library.set_lists[index].id.0 = library.take_number();
            }
        }
        let mut taken = HashSet::new();
        for index in 0..library.own_tunings.len() {
            let old = own(&library.own_tunings[index]);
            if old == 0 || old >= Library::NUMBERS_END || !taken.insert(library.own_tunings[index].id.clone()) {
                library.own_tunings[index].id = format!("own-{}", library.take_number());
            }
        }
    }

    /// Reads again what was set aside before: what can be read now is back in its place; the rest is returned.
    fn give_back(&mut self, aside: SetAside) -> Option<SetAside> {
        let library = &mut self.library;
        // What is not UTF-8 waits for a hand that mends it.
        let field = if aside.has_stand_ins { "" } else { aside.field.as_str() };
        let is_back = match field {
            "songs" => read_record::<Song>(&aside.text).is_ok_and(|(mut song, _)| {
                if song.id.0 == 0 || song.id.0 >= library.next_number || library.find_song(song.id).is_some() {
                    song.id = SongId(library.take_number());
                }
                let at = aside.at.min(library.songs.len());
                library.songs.insert(at, Shared::new(song));
                true
            }),
            "own_tunings" => read_record::<OwnTuning>(&aside.text).is_ok_and(|(mut own, _)| {
                if library.find_own_tuning(&own.id).is_some() {
                    own.id = format!("own-{}", library.take_number());
                }
                let at = aside.at.min(library.own_tunings.len());
                library.own_tunings.insert(at, own);
                true
            }),
            "favourites" => read_record::<Favourite>(&aside.text).is_ok_and(|(favourite, _)| {
                library.favourites.insert(aside.at.min(library.favourites.len()), favourite);
                true
            }),
            "set_lists" => read_record::<SetList>(&aside.text).is_ok_and(|(mut list, held)| {
                if list.id.0 == 0 || list.id.0 >= library.next_number || library.find_set_list(list.id).is_some() {
                    list.id.0 = library.take_number();
                }
                let is_whole = !held.iter().any(|field| field == "entries");
                if is_whole {
                    let at = aside.at.min(library.set_lists.len());
                    library.set_lists.insert(at, list);
                }
                is_whole
            }),
            "entries" => read_record::<SetEntry>(&aside.text).is_ok_and(|(entry, _)| {
                let is_here = library.find_song(entry.song_id).is_some();
                let list = library.set_lists.iter_mut().find(|list| Some(list.id.0) == aside.set_list);
                let list = list.filter(|_| is_here);
                list.map(|list| list.entries.insert(aside.at.min(list.entries.len()), entry)).is_some()
            }),
            _ => false,
        };
        self.mended.given_back += usize::from(is_back);
        (!is_back).then_some(aside)
    }

    /// Sets aside the places whose song is not here.
    fn places(&mut self) {
        let here: HashSet<SongId> = self.library.songs.iter().map(|song| song.id).collect();
        let mut strangers = Vec::new();
        for list in self.library.set_lists.iter_mut() {
            for (at, entry) in list.entries.iter().enumerate().filter(|(_, entry)| !here.contains(&entry.song_id)) {
                let text = serde_json::to_string(entry).unwrap_or_default();
                let why = format!("names song {}, which is not there", entry.song_id.0);
                let aside = SetAside::new("entries", at, why, &text);
                strangers.push(SetAside { set_list: Some(list.id.0), name: list.title.clone(), ..aside });
            }
            list.entries.retain(|entry| here.contains(&entry.song_id));
        }
        strangers.into_iter().for_each(|aside| self.set_aside(aside));
    }
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
        }
    }
}

impl std::error::Error for ReadFault {}
