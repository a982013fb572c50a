//! Files for other devices and people, each under a name that is free.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The folder beside the library that they lie in where the machine names no better one.
pub const EXPORTS: &str = "exports";
/// The longest name, without number and ending.
const LONGEST_NAME: usize = 60;
/// So many files of one name are told apart by a number.
const MOST_OF_ONE_NAME: u32 = 9_999;

/// Names that Windows keeps for devices, whatever their ending (Microsoft, "Naming Files, Paths, and Namespaces"); those of
/// `com0` to `com9` and `lpt0` to `lpt9` besides.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// Returns a file's name for a title: small letters and digits of ASCII with dashes between; `pegwise` where none is
/// left of the title, and before a name that Windows keeps for itself.
#[must_use]
pub fn file_name(title: &str) -> String {
    let plain = super::search::plain(title);
    let words: Vec<&str> =
        plain.split(|mark: char| !mark.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let name: String = words.join("-").chars().take(LONGEST_NAME).collect();
    let is_port = name.len() == 4
        && ["com", "lpt"]
            .iter()
            .any(|port| name.strip_prefix(port).is_some_and(|number| number.as_bytes()[0].is_ascii_digit()));
    if name.is_empty() {
        "pegwise".to_owned()
    } else if is_port || DEVICES.contains(&name.as_str()) {
        format!("pegwise-{name}")
    } else {
        name
    }
}

/// Writes `bytes` as [`write_out_with`] does.
///
/// # Errors
/// When the folder or the file cannot be written.
pub fn write_out(folder: &Path, name: &str, ending: &str, bytes: impl AsRef<[u8]>) -> io::Result<PathBuf> {
    write_out_with(folder, name, ending, |to| to.write_all(bytes.as_ref()))
}

/// Writes a file into `folder`, which is made where it is not there, flushed to disk, and returns where. No file that is
/// there is touched: a number is put behind the name. No half file is left.
///
/// # Errors
/// When the folder or the file cannot be written.
pub fn write_out_with(
    folder: &Path,
    name: &str,
    ending: &str,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<PathBuf> {
    let (file, path) = new_file(folder, name, ending)?;
    let mut to = BufWriter::new(file);
    let written = write(&mut to).and_then(|()| to.flush()).and_then(|()| to.get_ref().sync_all());
    if written.is_err() {
        // The fault that is told is the first one.
        let _ = fs::remove_file(&path);
    }
    written.map(|()| path)
}

/// Makes a file under the first free name.
fn new_file(folder: &Path, name: &str, ending: &str) -> io::Result<(File, PathBuf)> {
    fs::create_dir_all(folder)?;
    for number in 1..=MOST_OF_ONE_NAME {
        let name = if number == 1 { format!("{name}.{ending}") } else { format!("{name}-{number}.{ending}") };
        let path = folder.join(name);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => return Ok((file, path)),
            Err(fault) if fault.kind() == io::ErrorKind::AlreadyExists => {}
            Err(fault) => return Err(fault),
        }
    }
    Err(io::Error::from(io::ErrorKind::AlreadyExists))
}
