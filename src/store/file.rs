//! The library file: opened without losing anything, saved so that it is whole at every moment.

use std::collections::hash_map::DefaultHasher;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::io;
use std::path::{Path, PathBuf};

use super::disk::Storage;
use super::library::Library;
use super::read::{MOST_BYTES, ReadFault, read, read_head, read_newer, write};

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
}

impl LibraryFile {
    /// Opens the library of a folder. The folder need not exist.
    ///
    /// A damaged file is moved to a name of its own; nothing else is written.
    ///
    /// # Errors
    /// When the disk does not let the file be read. It may be whole, so it is not touched.
    pub fn open(storage: Box<dyn Storage>, folder: &Path) -> Result<Opened, OpenError> {
        let mut file = Self { storage, folder: folder.to_owned(), known: None, newer: None };
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
        match read(&bytes) {
            Ok(library) => {
                file.known = Some(fingerprint(&bytes));
                Ok(Opened { file, library, found: Found::Whole })
            }
            Err(ReadFault::Newer { version }) => {
                file.newer = Some(version);
                let library = read_newer(&bytes).unwrap_or_default();
                Ok(Opened { file, library, found: Found::Newer { version } })
            }
            Err(fault) => {
                let previous = file.read_previous().map(Box::new);
                let set_aside = file.set_aside(CURRENT, "damaged").ok();
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
            Ok(bytes) => match read_head(&bytes) {
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
    fn make_room(&self, current: Option<&[u8]>) -> Result<Saved, SaveError> {
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
            }
            Some(_) => saved.set_aside.push(self.set_aside(CURRENT, "other").map_err(disk)?),
            // The previous version may be all that is left of a library: the player may not have wanted it, but it is
            // not ours to replace.
            None if self.storage.exists(&self.path(PREVIOUS)).map_err(disk)? => {
                saved.set_aside.push(self.set_aside(PREVIOUS, "kept").map_err(disk)?);
            }
            None => {}
        }
        Ok(saved)
    }

    fn read_previous(&self) -> Option<Library> {
        let bytes = self.storage.read(&self.path(PREVIOUS), MOST_BYTES).ok()?;
        read(&bytes).ok()
    }

    /// Moves a file to the first free name of its kind.
    fn set_aside(&self, name: &str, kind: &str) -> io::Result<PathBuf> {
        for number in 1..=9999 {
            let to = self.path(&format!("pegwise-library.{kind}-{number}.json"));
            if !self.storage.exists(&to)? {
                self.storage.rename(&self.path(name), &to)?;
                return Ok(to);
            }
        }
        Err(io::ErrorKind::AlreadyExists.into())
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
