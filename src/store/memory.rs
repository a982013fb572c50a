//! A disk that is not there, for tests and for screens without a disk: it can be full, read-only, or lose its power.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::{Duration, SystemTime};

use super::disk::{Listed, Storage};

/// What goes wrong on a [`Memory`] disk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mishap {
    /// Nothing.
    #[default]
    None,
    /// There is room for so many more bytes; a write beyond leaves what fits.
    Full {
        /// The room left, in bytes.
        room: usize,
    },
    /// Nothing can be changed.
    ReadOnly,
    /// Files can be read and written, but have no second names.
    NoLinks,
    /// After so many more changing calls the power goes; the call it goes in is half done.
    PowerCut {
        /// The calls that still come through.
        calls: usize,
    },
}

/// Names of files, each with the number of its content.
type Names = BTreeMap<PathBuf, usize>;

#[derive(Debug, Default)]
struct State {
    contents: Vec<Vec<u8>>,
    /// When each content was written, after the beginning of time.
    written: Vec<Duration>,
    clock: Duration,
    names: Names,
    /// The names as they were after each change since they were last flushed, the flushed ones first.
    unflushed: Vec<Names>,
    mishap: Mishap,
    is_off: bool,
    changes: usize,
}

/// A disk in memory. A clone is the same disk.
///
/// The bytes of a file are safe once written, as [`Storage::write`] promises; names are safe only once their folder is
/// flushed, and of those changed since, the last ones may be lost with the power, in order.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    state: Arc<Mutex<State>>,
}

impl Memory {
    /// Makes an empty disk.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Lets something go wrong from now on.
    pub fn set_mishap(&self, mishap: Mishap) {
        self.state().mishap = mishap;
    }

    /// Lets time go on.
    pub fn pass(&self, time: Duration) {
        self.state().clock += time;
    }

    /// Returns how many changing calls were made.
    #[must_use]
    pub fn changes(&self) -> usize {
        self.state().changes
    }

    /// Returns every file by name.
    #[must_use]
    pub fn files(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let state = self.state();
        state.names.iter().map(|(path, &content)| (path.clone(), state.contents[content].clone())).collect()
    }

    /// Puts a file there, whatever the mishap.
    pub fn put(&self, path: &Path, bytes: &[u8]) {
        let mut state = self.state();
        state.contents.push(bytes.to_vec());
        let clock = state.clock;
        state.written.push(clock);
        let content = state.contents.len() - 1;
        state.names.insert(path.to_owned(), content);
        state.unflushed.clear();
    }

    /// Returns every disk that may be found when the power comes back: each with fewer of the unflushed names.
    #[must_use]
    pub fn after_power_cut(&self) -> Vec<Self> {
        let state = self.state();
        let found = |names: &Names| Self {
            state: Arc::new(Mutex::new(State {
                contents: state.contents.clone(),
                written: state.written.clone(),
                clock: state.clock,
                names: names.clone(),
                ..State::default()
            })),
        };
        state.unflushed.iter().chain([&state.names]).map(found).collect()
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// Starts a changing call; tells whether it is the one the power goes in.
    fn start(&self) -> io::Result<(MutexGuard<'_, State>, bool)> {
        let mut state = self.state();
        let off = || io::Error::other("the power is off");
        if state.is_off {
            return Err(off());
        }
        state.changes += 1;
        match state.mishap {
            Mishap::ReadOnly => Err(io::ErrorKind::ReadOnlyFilesystem.into()),
            Mishap::PowerCut { calls: 0 } => {
                state.is_off = true;
                Ok((state, true))
            }
            Mishap::PowerCut { calls } => {
                state.mishap = Mishap::PowerCut { calls: calls - 1 };
                Ok((state, false))
            }
            _ => Ok((state, false)),
        }
    }

    /// Changes names; when the power goes in it, nothing changes.
    fn change_names(&self, change: impl FnOnce(&mut Names) -> io::Result<()>) -> io::Result<()> {
        let (mut state, is_last) = self.start()?;
        if is_last {
            return Err(io::Error::other("the power goes"));
        }
        let before = state.names.clone();
        change(&mut state.names)?;
        state.unflushed.push(before);
        Ok(())
    }
}

fn not_found() -> io::Error {
    io::ErrorKind::NotFound.into()
}

impl Storage for Memory {
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>> {
        let state = self.state();
        let content = *state.names.get(path).ok_or_else(not_found)?;
        let bytes = &state.contents[content];
        Ok(bytes[..bytes.len().min(most.saturating_add(1))].to_vec())
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        Ok(self.state().names.contains_key(path))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>> {
        let state = self.state();
        let listed = |(path, &content): (&PathBuf, &usize)| {
            let name = path.strip_prefix(folder).ok()?.to_str()?.to_owned();
            let bytes = u64::try_from(state.contents[content].len()).ok()?;
            Some(Listed { name, bytes, written: SystemTime::UNIX_EPOCH.checked_add(state.written[content]) })
        };
        Ok(state.names.iter().filter_map(listed).collect())
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let (mut state, is_last) = self.start()?;
        let written = match state.mishap {
            Mishap::Full { room } => bytes.len().min(room),
            _ if is_last => bytes.len() / 2,
            _ => bytes.len(),
        };
        if let Mishap::Full { room } = state.mishap {
            state.mishap = Mishap::Full { room: room - written };
        }
        let before = state.names.clone();
        let content = state.names.get(path).copied().unwrap_or(state.contents.len());
        if content == state.contents.len() {
            state.contents.push(Vec::new());
            state.written.push(Duration::ZERO);
        }
        state.written[content] = state.clock;
        state.contents[content] = bytes[..written].to_vec();
        state.names.insert(path.to_owned(), content);
        state.unflushed.push(before);
        if written < bytes.len() {
            return Err(io::ErrorKind::StorageFull.into());
        }
        if is_last { Err(io::Error::other("the power goes")) } else { Ok(()) }
    }

    fn link(&self, from: &Path, to: &Path) -> io::Result<()> {
        if self.state().mishap == Mishap::NoLinks {
            return Err(io::ErrorKind::Unsupported.into());
        }
        self.change_names(|names| {
            let content = *names.get(from).ok_or_else(not_found)?;
            if names.contains_key(to) {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            names.insert(to.to_owned(), content);
            Ok(())
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.change_names(|names| {
            let content = names.get(from).copied().ok_or_else(not_found)?;
            // POSIX: two names of one file stay as they are.
            if names.get(to) != Some(&content) {
                names.remove(from);
                names.insert(to.to_owned(), content);
            }
            Ok(())
        })
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.change_names(|names| names.remove(path).map(|_| ()).ok_or_else(not_found))
    }

    fn create_folder(&self, _folder: &Path) -> io::Result<()> {
        self.start().map(|_| ())
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        let (mut state, is_last) = self.start()?;
        if is_last {
            return Err(io::Error::other("the power goes"));
        }
        state.unflushed.clear();
        Ok(())
    }
}
