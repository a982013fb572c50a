//! A disk that somebody else keeps: the files lie in memory, and every change goes to the keeper as one step.
//!
//! A browser has no files that can be written while the app waits; it takes several things at once and tells later whether
//! they are kept. So the changes since the last flush go out together when a folder is flushed, and whoever finds only some
//! of these steps kept finds the whole library of the last of them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

use super::disk::{Listed, Storage};

/// A change of one name: what it holds now and when that was written, or that it is gone.
pub type HeldChange = (String, Option<(Arc<[u8]>, SystemTime)>);
/// Hears whether a step was kept, on the thread that asked.
pub type HeldAnswer = Box<dyn FnOnce(io::Result<()>) + Send>;
/// Keeps several changes as one step: all of them or none. Steps are handed over one after the other, each once the one
/// before was answered. The answer comes later, never within the call.
pub type HeldKeep = Box<dyn Fn(Vec<HeldChange>, HeldAnswer) + Send>;

#[derive(Clone)]
struct HeldFile {
    bytes: Arc<[u8]>,
    written: SystemTime,
}

struct State {
    files: BTreeMap<PathBuf, HeldFile>,
    /// The names that have changed since they were last handed over and kept.
    changed: BTreeSet<PathBuf>,
    /// A step is with the keeper.
    is_out: bool,
    fault: Option<(io::ErrorKind, String)>,
    keep: HeldKeep,
    clock: fn() -> SystemTime,
    ring: Option<Arc<dyn Fn() + Send + Sync>>,
}

/// Files in memory that somebody else keeps. A clone is the same disk. Folders are nothing but the beginning of a name: what
/// is handed over are the names without it.
#[derive(Clone)]
pub struct Held {
    state: Arc<Mutex<State>>,
    folder: PathBuf,
}

impl fmt::Debug for Held {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Held").field("folder", &self.folder).finish_non_exhaustive()
    }
}

impl Held {
    /// Takes over what the keeper has: names, what each holds, and when it was written. `clock` tells the time.
    pub fn new(
        folder: &Path,
        files: impl IntoIterator<Item = (String, Vec<u8>, SystemTime)>,
        keep: HeldKeep,
        clock: fn() -> SystemTime,
    ) -> Self {
        let files = files
            .into_iter()
            .map(|(name, bytes, written)| (folder.join(name), HeldFile { bytes: bytes.into(), written }))
            .collect();
        let state = State { files, changed: BTreeSet::new(), is_out: false, fault: None, keep, clock, ring: None };
        Self { state: Arc::new(Mutex::new(state)), folder: folder.to_owned() }
    }

    /// Says whom to tell when [`Storage::late_fault`] has changed.
    pub fn ring_with(&self, ring: Arc<dyn Fn() + Send + Sync>) {
        self.state().ring = Some(ring);
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Hands over what has changed, unless a step is still with the keeper: then it follows that one.
    fn hand_over(&self) {
        let mut state = self.state();
        if state.is_out || state.changed.is_empty() {
            return;
        }
        state.is_out = true;
        let names = std::mem::take(&mut state.changed);
        let change = |path: &PathBuf| {
            let name = path.strip_prefix(&self.folder).unwrap_or(path).to_string_lossy().into_owned();
            (name, state.files.get(path).map(|file| (Arc::clone(&file.bytes), file.written)))
        };
        let changes: Vec<HeldChange> = names.iter().map(change).collect();
        let held = self.clone();
        (state.keep)(changes, Box::new(move |kept| held.hear(names, kept)));
    }

    /// Hears what became of a step. What was not kept goes out again, with what has changed since.
    fn hear(&self, names: BTreeSet<PathBuf>, kept: io::Result<()>) {
        let mut state = self.state();
        state.is_out = false;
        let fault = kept.err().map(|fault| (fault.kind(), fault.to_string()));
        if fault.is_some() {
            state.changed.extend(names);
        }
        let is_news = state.fault != fault;
        state.fault = fault;
        let ring = state.ring.clone().filter(|_| is_news);
        drop(state);
        if let Some(ring) = ring {
            ring();
        }
        self.hand_over();
    }

    fn change(
        &self,
        change: impl FnOnce(&mut BTreeMap<PathBuf, HeldFile>) -> io::Result<Vec<PathBuf>>,
    ) -> io::Result<()> {
        let mut state = self.state();
        let changed = change(&mut state.files)?;
        state.changed.extend(changed);
        Ok(())
    }
}

fn not_found() -> io::Error {
    io::ErrorKind::NotFound.into()
}

impl Storage for Held {
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>> {
        let state = self.state();
        let bytes = &state.files.get(path).ok_or_else(not_found)?.bytes;
        Ok(bytes[..bytes.len().min(most.saturating_add(1))].to_vec())
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        Ok(self.state().files.contains_key(path))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>> {
        let listed = |(path, file): (&PathBuf, &HeldFile)| {
            let name = path.strip_prefix(folder).ok()?.to_str()?.to_owned();
            Some(Listed { name, bytes: u64::try_from(file.bytes.len()).ok()?, written: Some(file.written) })
        };
        Ok(self.state().files.iter().filter_map(listed).collect())
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let written = (self.state().clock)();
        self.change(|files| {
            files.insert(path.to_owned(), HeldFile { bytes: bytes.into(), written });
            Ok(vec![path.to_owned()])
        })
    }

    fn link(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.change(|files| {
            let file = files.get(from).ok_or_else(not_found)?.clone();
            if files.contains_key(to) {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            files.insert(to.to_owned(), file);
            Ok(vec![to.to_owned()])
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.change(|files| {
            let file = files.remove(from).ok_or_else(not_found)?;
            files.insert(to.to_owned(), file);
            Ok(vec![from.to_owned(), to.to_owned()])
        })
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.change(|files| files.remove(path).map(|_| vec![path.to_owned()]).ok_or_else(not_found))
    }

    fn create_folder(&self, _folder: &Path) -> io::Result<()> {
        Ok(())
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        self.hand_over();
        Ok(())
    }

    fn late_fault(&self) -> Option<io::Error> {
        self.state().fault.clone().map(|(kind, message)| io::Error::new(kind, message))
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::store::{Found, Library, LibraryFile, SaveError, Saver};

    type Files = BTreeMap<String, Vec<u8>>;
    type Step = (Vec<HeldChange>, HeldAnswer);

    /// A keeper that a test plays.
    #[derive(Clone, Default)]
    struct Keeper {
        kept: Arc<Mutex<Files>>,
        /// What the keeper held after each step.
        after: Arc<Mutex<Vec<Files>>>,
        waiting: Arc<Mutex<Vec<Step>>>,
    }

    impl Keeper {
        fn disk(&self) -> Held {
            let waiting = Arc::clone(&self.waiting);
            let keep: HeldKeep = Box::new(move |changes, answer| waiting.lock().unwrap().push((changes, answer)));
            let clock = || SystemTime::UNIX_EPOCH + Duration::from_secs(1_000);
            Held::new(Path::new("here"), of(&self.kept.lock().unwrap()), keep, clock)
        }

        /// Answers the step that waits; returns whether there was one.
        fn answer(&self, with: io::Result<()>) -> bool {
            let Some((changes, answer)) = self.waiting.lock().unwrap().pop() else { return false };
            if with.is_ok() {
                let mut kept = self.kept.lock().unwrap();
                for (name, bytes) in changes {
                    match bytes {
                        Some((bytes, _)) => drop(kept.insert(name, bytes.to_vec())),
                        None => drop(kept.remove(&name)),
                    }
                }
                self.after.lock().unwrap().push(kept.clone());
            }
            answer(with);
            true
        }
    }

    fn of(files: &Files) -> Vec<(String, Vec<u8>, SystemTime)> {
        files.iter().map(|(name, bytes)| (name.clone(), bytes.clone(), SystemTime::UNIX_EPOCH)).collect()
    }

    fn library(songs: u64) -> Library {
        let mut library = Library::default();
        for number in 0..songs {
            let mut song = (*crate::store::demo().songs()[0]).clone();
            song.title = format!("Weir {number}");
            library.add_song(song);
        }
        library
    }

    #[test]
    fn after_each_step_that_is_kept_there_is_the_whole_library_and_the_one_before() {
        let keeper = Keeper::default();
        let mut file = LibraryFile::open(Box::new(keeper.disk()), Path::new("here")).unwrap().file;
        for songs in 1..=5 {
            file.save(&library(songs)).unwrap();
            assert!(keeper.answer(Ok(())), "a save hands over");
            assert!(!keeper.answer(Ok(())), "in one step");
        }
        let after = keeper.after.lock().unwrap().clone();
        for (songs, files) in (1..=5).zip(after) {
            let keeper = Keeper { kept: Arc::new(Mutex::new(files)), ..Keeper::default() };
            let opened = LibraryFile::open(Box::new(keeper.disk()), Path::new("here")).unwrap();
            assert_eq!(opened.found, Found::Whole);
            assert_eq!(opened.library.songs().len(), songs);
            let kept = keeper.kept.lock().unwrap();
            assert!(kept.keys().all(|name| !name.contains("new")), "{:?}", kept.keys());
            assert_eq!(kept.contains_key("pegwise-library.previous.json"), songs > 1);
        }
    }

    #[test]
    fn what_is_saved_while_a_step_is_out_follows_it_and_only_the_newest_does() {
        let keeper = Keeper::default();
        let mut file = LibraryFile::open(Box::new(keeper.disk()), Path::new("here")).unwrap().file;
        for songs in 1..=4 {
            file.save(&library(songs)).unwrap();
        }
        assert!(keeper.answer(Ok(())));
        assert!(keeper.answer(Ok(())));
        assert!(!keeper.answer(Ok(())));
        let after = keeper.after.lock().unwrap();
        let songs = |step: usize| crate::store::read(&after[step]["pegwise-library.json"]).unwrap().songs().len();
        assert_eq!((songs(0), songs(1)), (1, 4));
    }

    #[test]
    fn what_finds_no_room_is_told_and_tried_again_until_there_is() {
        let keeper = Keeper::default();
        let disk = keeper.disk();
        let rung = Arc::new(Mutex::new(0));
        let bell = Arc::clone(&rung);
        disk.ring_with(Arc::new(move || *bell.lock().unwrap() += 1));
        let file = LibraryFile::open(Box::new(disk), Path::new("here")).unwrap().file;
        let saver = Saver::without_thread(file);
        saver.keep(Arc::new(library(1)));
        assert!(saver.standing().fault.is_none());
        assert!(keeper.answer(Err(io::ErrorKind::QuotaExceeded.into())));
        assert_eq!(saver.standing().fault, Some(SaveError::DiskFull));
        assert!(!saver.standing().is_all_saved);
        assert!(keeper.answer(Ok(())), "it is tried again");
        assert_eq!(saver.standing().fault, None);
        assert!(saver.standing().is_all_saved);
        assert_eq!(*rung.lock().unwrap(), 2, "once when it failed, once when it came through");
        assert!(keeper.kept.lock().unwrap().contains_key("pegwise-library.json"));
    }
}
