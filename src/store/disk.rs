//! The few things a store asks of a disk, and the real one.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::Path;

/// A place where files are kept.
///
/// Each call may fail or be the last before the power goes; the order of calls in [`super::LibraryFile`] leaves a
/// whole library after each.
pub trait Storage: std::fmt::Debug + Send {
    /// Returns the whole of a file, but at most `most` bytes and one more, which tells that there are more.
    ///
    /// # Errors
    /// [`io::ErrorKind::NotFound`] when there is none; else whatever the disk says.
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>>;

    /// Returns whether something has this name.
    ///
    /// # Errors
    /// When the disk does not say.
    fn exists(&self, path: &Path) -> io::Result<bool>;

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
}

/// The disk of this device.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Storage for Disk {
    fn read(&self, path: &Path, most: usize) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        let limit = u64::try_from(most).unwrap_or(u64::MAX).saturating_add(1);
        File::open(path)?.take(limit).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        path.try_exists()
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn link(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::hard_link(from, to)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        std::fs::create_dir_all(folder)
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
