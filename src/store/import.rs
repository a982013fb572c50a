//! Taking in what came from elsewhere, and giving it back: just what was taken, whatever came after.

use std::collections::{HashMap, HashSet};

use serde_json::{Map, Value};

use crate::songs::{SetEntry, SetList, Song, SongId};

use super::exchange::{Decision, ImportItem, Imported, Incoming, TwinsOf};
use super::favourite::Favourite;
use super::library::{Library, OwnTuning};
use super::settings::Settings;
use super::shared::Shared;

/// Things of one kind that were taken in.
#[derive(Clone, Debug, PartialEq)]
struct Taken<T> {
    /// As they came.
    added: Vec<T>,
    /// What each took the place of, and as it came.
    replaced: Vec<(T, T)>,
}

impl<T> Default for Taken<T> {
    fn default() -> Self {
        Self { added: Vec::new(), replaced: Vec::new() }
    }
}

/// What was taken in, for [`Library::give_back`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TakenIn {
    settings: Option<Box<(Settings, Settings)>>,
    own_tunings: Taken<OwnTuning>,
    songs: Taken<Shared<Song>>,
    set_lists: Taken<SetList>,
    favourites: Vec<Favourite>,
}

/// Names that are taken, and up to which number a name was tried.
struct Names {
    taken: HashSet<String>,
    tried: HashMap<String, u32>,
}

impl Names {
    fn of<'a>(names: impl Iterator<Item = &'a String>) -> Self {
        Self { taken: names.cloned().collect(), tried: HashMap::new() }
    }

    /// Returns the name, with the first free number behind it when it is taken, and takes it.
    fn take(&mut self, name: &str) -> String {
        let mut free = name.to_owned();
        if self.taken.contains(name) {
            let number = self.tried.entry(name.to_owned()).or_insert(1);
            while self.taken.contains(&free) {
                *number += 1;
                free = format!("{name} ({number})");
            }
        }
        self.taken.insert(free.clone());
        free
    }
}

impl Library {
    /// Takes in what the decisions say; things no item names are left out. Returns what it did, and what is needed to give
    /// it back.
    pub fn import(&mut self, incoming: &Self, items: &[ImportItem]) -> (Imported, TakenIn) {
        let tunings = TwinsOf::tunings(self, incoming);
        let songs = TwinsOf::songs(self, incoming, &tunings, &mut |_, _| true);
        let lists = TwinsOf::set_lists(self, incoming, &songs);
        let decisions: HashMap<Incoming, Decision> = items.iter().map(|item| (item.what, item.decision)).collect();
        let decision = |what: Incoming| decisions.get(&what).copied().unwrap_or(Decision::Leave);
        let mut done = Imported::default();
        let mut taken = TakenIn::default();
        if decision(Incoming::Settings) != Decision::Leave {
            // When this device wrote its library out is nothing another one can tell.
            let came = Settings { export_reminder: self.settings.export_reminder.clone(), ..incoming.settings.clone() };
            let before = std::mem::replace(&mut self.settings, came.clone());
            taken.settings = Some(Box::new((before, came)));
            done.replaced += 1;
        }

        let mut tuning_ids: HashMap<&str, String> = HashMap::new();
        let mut names = Names::of(self.own_tunings.iter().map(|here| &here.name));
        for (index, tuning) in incoming.own_tunings.iter().enumerate() {
            let twin = tunings.here(index).map(|here| self.own_tunings[here].clone());
            let id = match (decision(Incoming::OwnTuning(index)), twin) {
                (Decision::Leave, Some(twin)) => twin.id,
                (Decision::Leave, None) => continue,
                (Decision::Replace, Some(twin)) => {
                    let tuning = OwnTuning { id: twin.id.clone(), ..tuning.clone() };
                    let id = twin.id.clone();
                    self.replace_own_tuning(tuning.clone());
                    taken.own_tunings.replaced.push((twin, tuning));
                    id
                }
                (Decision::Add | Decision::Replace, _) => {
                    let id = format!("own-{}", self.take_number());
                    let tuning = OwnTuning { id: id.clone(), name: names.take(&tuning.name), ..tuning.clone() };
                    self.own_tunings.push(tuning.clone());
                    taken.own_tunings.added.push(tuning);
                    id
                }
            };
            tuning_ids.insert(&tuning.id, id);
        }

        let mut song_ids: HashMap<SongId, SongId> = HashMap::new();
        let mut names = Names::of(self.songs.iter().map(|here| &here.title));
        for (index, song) in incoming.songs.iter().enumerate() {
            let twin = songs.here(index).map(|here| (here, self.songs[here].id));
            let mut song = song.clone();
            let id = song.id;
            if let Some(own) = song.tuning.id.as_mut().filter(|own| own.starts_with("own-")) {
                match tuning_ids.get(own.as_str()) {
                    Some(here) => own.clone_from(here),
                    None => song.tuning.id = None,
                }
            }
            let here = match (decision(Incoming::Song(index)), twin) {
                (Decision::Leave, Some((_, twin))) => twin,
                (Decision::Leave, None) => continue,
                (Decision::Replace, Some((here, twin))) => {
                    song.id = twin;
                    let before = std::mem::replace(&mut self.songs[here], song.clone());
                    taken.songs.replaced.push((before, song));
                    twin
                }
                (Decision::Add | Decision::Replace, _) => {
                    song.title = names.take(&song.title);
                    song.id = SongId(self.take_number());
                    let id = song.id;
                    self.songs.push(song.clone());
                    taken.songs.added.push(song);
                    id
                }
            };
            song_ids.insert(id, here);
        }

        let mut names = Names::of(self.set_lists.iter().map(|here| &here.title));
        for (index, list) in incoming.set_lists.iter().enumerate() {
            let twin = lists.here(index);
            let decision = decision(Incoming::SetList(index));
            if decision == Decision::Leave {
                continue;
            }
            let mut list = list.clone();
            let place = |entry: SetEntry| song_ids.get(&entry.song_id).map(|&song_id| SetEntry { song_id, ..entry });
            let before = list.entries.len();
            list.entries = list.entries.into_iter().filter_map(place).collect();
            done.places_lost += before - list.entries.len();
            match twin.filter(|_| decision == Decision::Replace) {
                Some(here) => {
                    list.id = self.set_lists[here].id;
                    let before = std::mem::replace(&mut self.set_lists[here], list.clone());
                    taken.set_lists.replaced.push((before, list));
                }
                None => {
                    list.title = names.take(&list.title);
                    list.id.0 = self.take_number();
                    self.set_lists.push(list.clone());
                    taken.set_lists.added.push(list);
                }
            }
        }
        if decision(Incoming::Favourites) != Decision::Leave {
            for favourite in &incoming.favourites {
                if self.add_favourite(favourite.clone()) {
                    taken.favourites.push(favourite.clone());
                }
            }
        }
        let TakenIn { own_tunings, songs, set_lists, favourites, .. } = &taken;
        done.added += own_tunings.added.len() + songs.added.len() + set_lists.added.len() + favourites.len();
        done.replaced += own_tunings.replaced.len() + songs.replaced.len() + set_lists.replaced.len();
        (done, taken)
    }

    /// Gives back what an import took, and nothing that came after: what was changed since stays as it is, and so does what
    /// something that came after makes use of. Of the settings those return that are still as they came.
    pub fn give_back(&mut self, taken: TakenIn) {
        if let Some(settings) = taken.settings {
            self.settings = settings_back(&self.settings, &settings.0, &settings.1);
        }
        self.favourites.retain(|here| !taken.favourites.contains(here));
        give_back(&mut self.set_lists, taken.set_lists, |list| list.id, &HashSet::new());
        let in_lists: HashSet<SongId> =
            self.set_lists.iter().flat_map(|list| &list.entries).map(|entry| entry.song_id).collect();
        give_back(&mut self.songs, taken.songs, |song| song.id, &in_lists);
        let in_songs: HashSet<String> = self.songs.iter().filter_map(|song| song.tuning.id.clone()).collect();
        give_back(&mut self.own_tunings, taken.own_tunings, |tuning| tuning.id.clone(), &in_songs);
        let ids: HashSet<&str> = self.own_tunings.iter().map(|tuning| tuning.id.as_str()).collect();
        self.recent_tuning_ids.retain(|id| !id.starts_with("own-") || ids.contains(id.as_str()));
        let lists = std::mem::take(&mut self.set_lists).take();
        self.set_lists = Shared::new(lists.into_iter().map(|list| self.without_strangers(list)).collect());
    }
}

/// Takes out what was added and puts back what was replaced, where it is still as it came.
fn give_back<T: PartialEq, K: Eq + std::hash::Hash>(
    here: &mut Vec<T>,
    taken: Taken<T>,
    key: impl Fn(&T) -> K,
    in_use: &HashSet<K>,
) {
    let added: HashMap<K, T> = taken.added.into_iter().map(|thing| (key(&thing), thing)).collect();
    here.retain(|thing| added.get(&key(thing)).is_none_or(|came| came != thing || in_use.contains(&key(thing))));
    let mut replaced: HashMap<K, (T, T)> = taken.replaced.into_iter().map(|pair| (key(&pair.0), pair)).collect();
    for thing in here {
        if let Some((before, _)) = replaced.remove(&key(thing)).filter(|(_, came)| came == thing) {
            *thing = before;
        }
    }
}

/// Returns the settings with those of `before` that are still as they came.
fn settings_back(now: &Settings, before: &Settings, came: &Settings) -> Settings {
    let fields = |settings: &Settings| match serde_json::to_value(settings) {
        Ok(Value::Object(fields)) => fields,
        _ => Map::new(),
    };
    let (mut back, before, came) = (fields(now), fields(before), fields(came));
    let names: HashSet<&String> = before.keys().chain(came.keys()).collect();
    for name in names {
        if back.get(name) == came.get(name) {
            match before.get(name) {
                Some(value) => drop(back.insert(name.clone(), value.clone())),
                None => drop(back.remove(name)),
            }
        }
    }
    serde_json::from_value(Value::Object(back)).unwrap_or_else(|_| now.clone())
}
