//! Packed MusicXML (.mxl): a ZIP archive whose `META-INF/container.xml` names the score.
//!
//! Nothing is written anywhere: the score is unpacked into memory, up to a bound, whatever the archive claims.

use std::io::{Cursor, Read};

use roxmltree::Document;
use zip::ZipArchive;

use super::super::fault::TuneFault;
use super::super::read::{TuneRead, to_text};
use super::{MOST_TEXT, read_musicxml};

/// The most files an archive may hold.
const MOST_FILES: usize = 1_000;
/// The largest container file that is read, in bytes.
const MOST_CONTAINER: usize = 64 * 1024;

/// Reads a packed score.
pub(in super::super) fn read_packed(bytes: &[u8]) -> Result<TuneRead, TuneFault> {
    let packed = |why: &str| TuneFault::Packed(why.to_owned());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| packed("it is no whole ZIP archive"))?;
    if archive.len() > MOST_FILES {
        return Err(TuneFault::TooLarge { what: "files packed in it", most: MOST_FILES });
    }
    let name = match unpack(&mut archive, "META-INF/container.xml", MOST_CONTAINER) {
        Ok(container) => root_file(&to_text(&container)?)?,
        // Without a container the first score in it is meant.
        Err(_) => {
            let is_score = |name: &&str| {
                let lower = name.to_ascii_lowercase();
                (lower.ends_with(".musicxml") || lower.ends_with(".xml")) && !lower.starts_with("meta-inf/")
            };
            let found = archive.file_names().find(is_score);
            found.ok_or_else(|| packed("there is no score in it"))?.to_owned()
        }
    };
    let is_path_out =
        name.starts_with(['/', '\\']) || name.contains(':') || name.split(['/', '\\']).any(|part| part == "..");
    if is_path_out {
        return Err(packed("it names a file outside itself"));
    }
    read_musicxml(&to_text(&unpack(&mut archive, &name, MOST_TEXT)?)?)
}

/// Unpacks one file, no more of it than `most` bytes.
fn unpack(archive: &mut ZipArchive<Cursor<&[u8]>>, name: &str, most: usize) -> Result<Vec<u8>, TuneFault> {
    let file = archive.by_name(name);
    let file = file
        .map_err(|_| TuneFault::Packed(format!("there is no {} in it that can be unpacked", super::one_line(name))))?;
    let limit = u64::try_from(most).unwrap_or(u64::MAX);
    let mut unpacked = Vec::new();
    let read = file.take(limit.saturating_add(1)).read_to_end(&mut unpacked);
    if unpacked.len() > most {
        return Err(TuneFault::TooLarge { what: "bytes when unpacked", most });
    }
    read.map_err(|_| TuneFault::Packed("its data are damaged".to_owned()))?;
    Ok(unpacked)
}

/// Reads which file of the archive is the score.
fn root_file(container: &str) -> Result<String, TuneFault> {
    let why = || TuneFault::Packed("its container names no score".to_owned());
    if container.contains("<!ENTITY") {
        return Err(TuneFault::Packed("its container asks for entities, which are not followed".to_owned()));
    }
    let document = Document::parse(container).map_err(|_| why())?;
    let root = document.descendants().find(|node| node.has_tag_name("rootfile"));
    root.and_then(|root| root.attribute("full-path")).map(str::to_owned).ok_or_else(why)
}
