//! The library file: opened without losing anything, saved so that it is whole at every moment.

use std::collections::hash_map::DefaultHasher;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::aside::Mended;
use super::disk::Storage;
use super::library::Library;
use super::read::{MOST_BYTES, ReadFault, check_head, count_songs, read, read_mending, read_newer, write};
use super::versions::{Kind, SPACING, Version, too_many};

const CURRENT: &str = "pegwise-library.json";
const PREVIOUS: &str = "pegwise-library.previous.json";
const NEW: &str = "pegwise-library.new.json";
const NEW_PREVIOUS: &str = "pegwise-library.previous.new.json";

/// What stood in the folder when it was opened.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// No library; the player starts with an empty one.
    Nothing,
    /// A whole library.
    Whole,
    /// A library, parts of which could not be read, or can be read again; see [`Library::set_aside`]. The file as it stood
    /// stays as a version of its own once something is saved.
    Mended(Mended),
    /// A library of a later version. It is left alone, and nothing is saved. What this version understands of it is
    /// shown.
    Newer {
        /// The version of the file.
        version: u64,
    },
    /// A file that is no library. The player starts with an empty one, or with the version before.
    Damaged {
        /// Under which name it is kept; `None` when it cannot be moved now, which each [`LibraryFile::save`] tries
        /// again before it writes.
        set_aside: Option<PathBuf>,
        /// What is wrong with it.
        fault: ReadFault,
        /// The version before, to be offered.
        previous: Option<Box<Library>>,
    },
    /// No library, but the version before: to be offered.
    OnlyPrevious {
        /// The version before.
        previous: Box<Library>,
    },
}

/// A library with the file it is kept in.
#[derive(Debug)]
pub struct Opened {
    /// The file.
    pub file: LibraryFile,
    /// What it holds, or an empty library.
    pub library: Library,
    /// What there was.
    pub found: Found,
}

/// What a save did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Saved {
    /// Files that lay in the way and are no longer known, under the names they are now kept by.
    pub set_aside: Vec<PathBuf>,
}

/// The library file of one folder.
#[derive(Debug)]
pub struct LibraryFile {
    storage: Box<dyn Storage>,
    folder: PathBuf,
    /// What the file held when it was last read or written here; `None` when that is no library of ours.
    known: Option<u64>,
    newer: Option<u64>,
    /// When the newest version of those kept was written; `None` when the next save keeps one.
    newest_version: Option<SystemTime>,
}

impl LibraryFile {
    /// Opens the library of a folder. The folder need not exist.
    ///
    /// A damaged file is moved to a name of its own; nothing else is written.
    ///
    /// # Errors
    /// When the disk does not let the file be read. It may be whole, so it is not touched.
    pub fn open(storage: Box<dyn Storage>, folder: &Path) -> Result<Opened, OpenError> {
        let mut file = Self { storage, folder: folder.to_owned(), known: None, newer: None, newest_version: None };
        let bytes = match file.storage.read(&file.path(CURRENT), MOST_BYTES) {
            Ok(bytes) => bytes,
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => {
                let found = match file.read_previous() {
                    Some(previous) => Found::OnlyPrevious { previous: Box::new(previous) },
                    None => Found::Nothing,
                };
                return Ok(Opened { file, library: Library::default(), found });
            }
            Err(fault) => return Err(OpenError { path: file.path(CURRENT), message: fault.to_string() }),
        };
        match read_mending(&bytes) {
            Ok((library, mended)) => {
                file.known = Some(fingerprint(&bytes));
                let found = if mended == Mended::default() { Found::Whole } else { Found::Mended(mended) };
                Ok(Opened { file, library, found })
            }
            Err(ReadFault::Newer { version }) => {
                file.newer = Some(version);
                let library = read_newer(&bytes).unwrap_or_default();
                Ok(Opened { file, library, found: Found::Newer { version } })
            }
            Err(fault) => {
                let previous = file.read_previous().map(Box::new);
                let set_aside = file.set_aside(CURRENT, Kind::Damaged).ok();
                let found = Found::Damaged { set_aside, fault, previous };
                Ok(Opened { file, library: Library::default(), found })
            }
        }
    }

    /// Returns whether the file is left alone because a later version wrote it.
    #[must_use]
    pub const fn is_read_only(&self) -> bool {
        self.newer.is_some()
    }

    /// Saves a library: after an error as before it, the file holds one whole version.
    ///
    /// The new bytes go to a file of their own and are flushed; the old file gets the name of the previous version
    /// beside its own; then the new file takes the old one's name, and the folder is flushed.
    ///
    /// # Errors
    /// When the file is of a later version, the library too large, or the disk full, read-only or broken.
    pub fn save(&mut self, library: &Library) -> Result<Saved, SaveError> {
        if let Some(version) = self.newer {
            return Err(SaveError::Newer { version });
        }
        let bytes = write(library);
        if bytes.len() > MOST_BYTES {
            return Err(SaveError::TooLarge { bytes: bytes.len(), most: MOST_BYTES });
        }
        let current = self.read_current()?;
        if current.as_ref() == Some(&bytes) {
            self.known = Some(fingerprint(&bytes));
            return Ok(Saved::default());
        }
        let written = self.write_new(&bytes);
        if written.is_err() {
            // Only our own half-written file; what cannot be removed is overwritten next time.
            let _ = self.storage.remove(&self.path(NEW));
        }
        written?;
        let saved = self.make_room(current.as_deref())?;
        self.rename(NEW, CURRENT)?;
        self.storage.sync_folder(&self.folder).map_err(|fault| SaveError::of_disk(&fault))?;
        self.known = Some(fingerprint(&bytes));
        Ok(saved)
    }

    /// Reads what is in the file now; `None` when there is none.
    fn read_current(&self) -> Result<Option<Vec<u8>>, SaveError> {
        match self.storage.read(&self.path(CURRENT), MOST_BYTES) {
            // What was written here is of this version.
            Ok(bytes) if self.known == Some(fingerprint(&bytes)) => Ok(Some(bytes)),
            Ok(bytes) => match check_head(&bytes) {
                Err(ReadFault::Newer { version }) => Err(SaveError::Newer { version }),
                _ => Ok(Some(bytes)),
            },
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(fault) => Err(SaveError::of_disk(&fault)),
        }
    }

    fn write_new(&self, bytes: &[u8]) -> Result<(), SaveError> {
        let disk = |fault: io::Error| SaveError::of_disk(&fault);
        self.storage.create_folder(&self.folder).map_err(disk)?;
        self.storage.write(&self.path(NEW), bytes).map_err(disk)
    }

    /// Keeps what the new file would replace: the version we know as the previous one, anything else under a name of
    /// its own.
    fn make_room(&mut self, current: Option<&[u8]>) -> Result<Saved, SaveError> {
        let disk = |fault: io::Error| SaveError::of_disk(&fault);
        let mut saved = Saved::default();
        match current {
            Some(bytes) if self.known == Some(fingerprint(bytes)) => {
                let spare = self.path(NEW_PREVIOUS);
                if self.storage.exists(&spare).map_err(disk)? {
                    self.storage.remove(&spare).map_err(disk)?;
                }
                if self.storage.link(&self.path(CURRENT), &spare).is_err() {
                    self.storage.write(&spare, bytes).map_err(disk)?;
                }
                self.rename(NEW_PREVIOUS, PREVIOUS)?;
                self.keep_version(bytes);
            }
            Some(_) => saved.set_aside.push(self.set_aside(CURRENT, Kind::Other).map_err(disk)?),
            // The previous version may be all that is left of a library: the player may not have wanted it, but it is
            // not ours to replace.
            None if self.storage.exists(&self.path(PREVIOUS)).map_err(disk)? => {
                saved.set_aside.push(self.set_aside(PREVIOUS, Kind::Kept).map_err(disk)?);
            }
            None => {}
        }
        Ok(saved)
    }

    fn read_previous(&self) -> Option<Library> {
        let bytes = self.storage.read(&self.path(PREVIOUS), MOST_BYTES).ok()?;
        read(&bytes).ok()
    }

    /// Returns why a save that went well is not on the disk after all; see [`Storage::late_fault`].
    #[must_use]
    pub fn late_fault(&self) -> Option<SaveError> {
        self.storage.late_fault().map(|fault| SaveError::of_disk(&fault))
    }

    /// Lets the next save keep what stands in the file now as a version of its own.
    pub fn keep_next(&mut self) {
        self.newest_version = None;
    }

    /// Keeps what stands in the file as a version, where that is due, and lets go of those that are too many. A version that
    /// cannot be kept stops no save.
    fn keep_version(&mut self, current: &[u8]) {
        let files = self.storage.list(&self.folder).unwrap_or_default();
        let now = files.iter().find(|file| file.name == CURRENT).and_then(|file| file.written);
        let now = now.unwrap_or(SystemTime::UNIX_EPOCH);
        let newest = self.newest_version.filter(|&newest| newest <= now);
        if newest.is_some_and(|newest| now.duration_since(newest).unwrap_or_default() < SPACING) {
            return;
        }
        self.newest_version = Some(now);
        // What stood in the file when the app was opened may be kept already.
        let is_version = |name: &str| Kind::of_name(name).is_some_and(|(kind, _)| kind == Kind::Version);
        let bytes = u64::try_from(current.len()).ok();
        if files.iter().any(|file| is_version(&file.name) && file.written == Some(now) && Some(file.bytes) == bytes) {
            return;
        }
        let Ok(to) = self.free_name(Kind::Version) else { return };
        if self.storage.link(&self.path(CURRENT), &to).is_err() && self.storage.write(&to, current).is_err() {
            let _ = self.storage.remove(&to);
        }
        self.thin_out();
    }

    fn thin_out(&self) {
        for name in too_many(&self.list().unwrap_or_default()) {
            // What cannot be removed now is asked again next time.
            let _ = self.storage.remove(&self.path(&name));
        }
    }

    fn list(&self) -> io::Result<Vec<Version>> {
        let version = |file: super::disk::Listed| {
            let (kind, _) = Kind::of_name(&file.name)?;
            Some(Version { name: file.name, kind, written: file.written, bytes: file.bytes, songs: None })
        };
        Ok(self.storage.list(&self.folder)?.into_iter().filter_map(version).collect())
    }

    /// Returns what lies beside the library, newest first, with how many songs each holds.
    ///
    /// # Errors
    /// When the disk does not list the folder.
    pub fn versions(&self) -> io::Result<Vec<Version>> {
        let mut versions = self.list()?;
        versions.sort_by_key(|version| std::cmp::Reverse((version.written, version.name.clone())));
        for version in &mut versions {
            let bytes = self.storage.read(&self.path(&version.name), MOST_BYTES).ok();
            version.songs = bytes.and_then(|bytes| count_songs(&bytes).ok());
        }
        Ok(versions)
    }

    /// Returns the bytes of a file that [`LibraryFile::versions`] listed.
    ///
    /// # Errors
    /// When it is none of them, or the disk does not let it be read.
    pub fn read_version(&self, name: &str) -> io::Result<Vec<u8>> {
        if Kind::of_name(name).is_none() {
            return Err(io::ErrorKind::NotFound.into());
        }
        self.storage.read(&self.path(name), MOST_BYTES)
    }

    /// Moves a file to the first free name of its kind, and lets go of those of this kind that are too many.
    fn set_aside(&self, name: &str, kind: Kind) -> io::Result<PathBuf> {
        let to = self.free_name(kind)?;
        self.storage.rename(&self.path(name), &to)?;
        self.thin_out();
        Ok(to)
    }

    /// Returns a name whose number is higher than that of all files of its kind.
    fn free_name(&self, kind: Kind) -> io::Result<PathBuf> {
        let names = self.storage.list(&self.folder)?;
        let numbers = names.iter().filter_map(|file| Kind::of_name(&file.name)).filter(|(known, _)| *known == kind);
        let mut number = numbers.map(|(_, number)| number).max().unwrap_or(0);
        loop {
            number = number.checked_add(1).ok_or(io::ErrorKind::AlreadyExists)?;
            let to = self.path(&format!("pegwise-library.{}-{number}.json", kind.word()));
            if !self.storage.exists(&to)? {
                return Ok(to);
            }
        }
    }

    fn rename(&self, from: &str, to: &str) -> Result<(), SaveError> {
        self.storage.rename(&self.path(from), &self.path(to)).map_err(|fault| SaveError::of_disk(&fault))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

/// Tells two contents of the file apart, within one run of the program.
fn fingerprint(bytes: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    bytes.hash(&mut hasher);
    hasher.finish()
}

/// A file that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenError {
    /// The file.
    pub path: PathBuf,
    /// What the disk says.
    pub message: String,
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path.display(), self.message)
    }
}

impl std::error::Error for OpenError {}

/// A library that could not be saved, by what can be done about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SaveError {
    /// The file is of a later version, which alone may write it.
    Newer {
        /// The version of the file.
        version: u64,
    },
    /// The library is larger than what would be read again.
    TooLarge {
        /// Its size.
        bytes: usize,
        /// The largest that is read.
        most: usize,
    },
    /// There is no room; some must be made.
    DiskFull,
    /// The folder may not be written to.
    NotAllowed {
        /// What the disk says.
        message: String,
    },
    /// Something else; trying again may help.
    Disk {
        /// What the disk says.
        message: String,
    },
}

impl SaveError {
    fn of_disk(fault: &io::Error) -> Self {
        match fault.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull,
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                Self::NotAllowed { message: fault.to_string() }
            }
            _ => Self::Disk { message: fault.to_string() },
        }
    }
}

impl fmt::Display for SaveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Newer { version } => write!(f, "the library is of version {version}, which a later app wrote"),
            Self::TooLarge { bytes, most } => write!(f, "the library has {bytes} bytes, more than {most}"),
            Self::DiskFull => write!(f, "the disk is full"),
            Self::NotAllowed { message } => write!(f, "the folder cannot be written to: {message}"),
            Self::Disk { message } => write!(f, "the disk failed: {message}"),
        }
    }
}

impl std::error::Error for SaveError {}
