//! The few things a store asks of a disk, and the real one.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, SystemTime};

/// A file of a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its name in the folder.
    pub name: String,
    /// How many bytes it holds.
    pub bytes: u64,
    /// When it was written; `None` where the disk does not say.
    pub written: Option<SystemTime>,
}

/// A place where files are kept.
///
/// Each call may fail or be the last before the power goes; the order of calls in [`super::LibraryFile`] leaves a
/// whole library after each.
pub trait Storage: std::fmt::Debug + Send {
    /// Returns the whole of a file, but at most `most` bytes and one more, which tells that there are more.
    ///
    /// # Errors
    /// [`io::ErrorKind::NotFound`] when there is none, [`io::ErrorKind::InvalidInput`] when it is no regular file,
    /// [`io::ErrorKind::TimedOut`] when the disk does not answer; else whatever the disk says.
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>>;

    /// Returns whether something has this name.
    ///
    /// # Errors
    /// When the disk does not say.
    fn exists(&self, path: &Path) -> io::Result<bool>;

    /// Returns the regular files of a folder, in no order; none where there is no such folder.
    ///
    /// # Errors
    /// When the disk does not say.
    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>>;

    /// Makes or overwrites a file and returns once its bytes are on the disk.
    ///
    /// # Errors
    /// When the disk is full, read-only or broken; the file may then hold anything.
    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Gives a file a second name that does not exist yet.
    ///
    /// # Errors
    /// When the disk knows no second names; nothing has changed then.
    fn link(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Moves a file to another name in one step, replacing what had it.
    ///
    /// # Errors
    /// When the disk refuses; nothing has changed then.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file.
    ///
    /// # Errors
    /// When there is none, or the disk refuses.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Makes a folder and those above it; nothing happens when it exists.
    ///
    /// # Errors
    /// When the disk refuses.
    fn create_folder(&self, folder: &Path) -> io::Result<()>;

    /// Returns once the names in a folder are on the disk.
    ///
    /// # Errors
    /// When the disk is broken.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// Returns why what was written is not on the disk after all, where the disk tells that only later; `None` while it does
    /// not, and once it is.
    fn late_fault(&self) -> Option<io::Error> {
        None
    }
}

/// The disk of this device.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

/// The longest a file is waited for. A disk of today needs a tenth of a second for the largest that is read; one in a
/// network may be slow, and one that is gone may never answer.
const LONGEST_READ: Duration = Duration::from_secs(20);

/// Reads a regular file; anything else might never end.
fn read_regular(path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    if !fs::metadata(path)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is not a regular file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(limit).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads the whole of a file that a player chose: a regular one, as large as a library may be, from a disk that answers.
///
/// # Errors
/// As [`Storage::read`] says.
pub fn read_file(path: &Path) -> io::Result<Vec<u8>> {
    Disk.read(path, super::read::MOST_BYTES)
}

impl Storage for Disk {
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>> {
        let limit = u64::try_from(most).unwrap_or(u64::MAX).saturating_add(1);
        let (sender, answer) = mpsc::channel();
        let asked: PathBuf = path.to_owned();
        let read = move || drop(sender.send(read_regular(&asked, limit)));
        if thread::Builder::new().name("pegwise-read".to_owned()).spawn(read).is_err() {
            return read_regular(path, limit);
        }
        // A thread that is never answered is left behind: there is no other way out of a read.
        answer.recv_timeout(LONGEST_READ).unwrap_or_else(|_| {
            let seconds = LONGEST_READ.as_secs();
            Err(io::Error::new(io::ErrorKind::TimedOut, format!("no answer within {seconds} seconds")))
        })
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>> {
        let entries = match fs::read_dir(folder) {
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            entries => entries?,
        };
        let mut listed = Vec::new();
        for entry in entries {
            let entry = entry?;
            // A file that has gone meanwhile is none.
            let Ok(about) = entry.metadata() else { continue };
            if let Some(name) = entry.file_name().to_str().filter(|_| about.is_file()) {
                listed.push(Listed { name: name.to_owned(), bytes: about.len(), written: about.modified().ok() });
            }
        }
        Ok(listed)
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        path.try_exists()
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        // Writing to a pipe would wait for a reader.
        if fs::symlink_metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir()) {
            fs::remove_file(path)?;
        }
        let mut file = File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn link(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::hard_link(from, to)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        // Not every system opens a folder as a file or flushes one; where it does not, the rename alone must do.
        match File::open(folder).and_then(|folder| folder.sync_all()) {
            Err(fault)
                if matches!(
                    fault.kind(),
                    io::ErrorKind::PermissionDenied | io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported
                ) =>
            {
                Ok(())
            }
            other => other,
        }
    }
}
