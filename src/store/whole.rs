//! A file that is there whole or not at all.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// Writes a file: first beside it, flushed to disk, then renamed over it. What was there before stays until then, and no
/// half file is left behind.
///
/// # Errors
/// When the folder is not there or not open to be written, there is no space, or `write` fails.
pub fn write_whole(path: &Path, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let name = path.file_name().ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
    if path.is_dir() {
        return Err(io::Error::from(io::ErrorKind::IsADirectory));
    }
    let mut beside = OsString::from(".");
    beside.push(name);
    beside.push(".part");
    let beside = path.with_file_name(beside);
    let written = File::create(&beside).and_then(|file| {
        let mut to = BufWriter::new(file);
        write(&mut to)?;
        to.flush()?;
        to.get_ref().sync_all()
    });
    let renamed = written.and_then(|()| fs::rename(&beside, path));
    if renamed.is_err() {
        // The fault that is told is the first one.
        let _ = fs::remove_file(&beside);
    }
    renamed
}
