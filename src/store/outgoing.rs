//! Files for other devices and people, each under a name that is free.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The folder beside the library that they lie in.
pub const EXPORTS: &str = "exports";
/// The longest name, without number and ending.
const LONGEST_NAME: usize = 60;
/// So many files of one name are told apart by a number.
const MOST_OF_ONE_NAME: u32 = 9_999;

/// Returns a file's name for a title: small letters and digits of ASCII with dashes between; `pegwise` where none is
/// left of the title.
#[must_use]
pub fn file_name(title: &str) -> String {
    let plain = super::search::plain(title);
    let words: Vec<&str> =
        plain.split(|mark: char| !mark.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let name: String = words.join("-").chars().take(LONGEST_NAME).collect();
    if name.is_empty() { "pegwise".to_owned() } else { name }
}

/// Writes `text` into the folder `exports` of `folder`, flushed to disk, and returns where. No file that is there is
/// touched: a number is put behind the name.
///
/// # Errors
/// When the folder or the file cannot be written.
pub fn write_out(folder: &Path, name: &str, ending: &str, text: &str) -> io::Result<PathBuf> {
    let exports = folder.join(EXPORTS);
    fs::create_dir_all(&exports)?;
    for number in 1..=MOST_OF_ONE_NAME {
        let name = if number == 1 { format!("{name}.{ending}") } else { format!("{name}-{number}.{ending}") };
        let path = exports.join(name);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(mut file) => {
                file.write_all(text.as_bytes())?;
                file.sync_all()?;
                return Ok(path);
            }
            Err(fault) if fault.kind() == io::ErrorKind::AlreadyExists => {}
            Err(fault) => return Err(fault),
        }
    }
    Err(io::Error::from(io::ErrorKind::AlreadyExists))
}
