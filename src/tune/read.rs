//! Tunes from a file of any of the notations.

use super::abc::read_abc;
use super::fault::TuneFault;
use super::model::Tune;
use super::musicxml::{read_musicxml, read_packed};

/// The largest file that is read, in bytes.
pub const MOST_BYTES: usize = 16 * 1024 * 1024;

/// A tune with what was wrong after it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TuneRead {
    /// The tune as far as it could be read.
    pub tune: Tune,
    /// Why the rest of it could not.
    pub fault: Option<TuneFault>,
}

/// Reads the tunes of a file: ABC or MusicXML, plain or packed, whichever it is. Text may be UTF-8, UTF-16 with its
/// mark, or Latin-1.
///
/// # Errors
/// When it is too large, no text, or holds no tune; a tune that breaks off in the middle is handed back with its fault.
pub fn read_tunes(bytes: &[u8]) -> Result<Vec<TuneRead>, TuneFault> {
    if bytes.len() > MOST_BYTES {
        return Err(TuneFault::TooLarge { what: "bytes", most: MOST_BYTES });
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return read_packed(bytes).map(|tune| vec![tune]);
    }
    let text = to_text(bytes)?;
    let start = text.trim_start();
    if start.starts_with('<') {
        return read_musicxml(&text).map(|tune| vec![tune]);
    }
    let tunes = read_abc(&text);
    if tunes.is_empty() { Err(TuneFault::NoTune) } else { Ok(tunes) }
}

/// Reads bytes as text.
pub(super) fn to_text(bytes: &[u8]) -> Result<String, TuneFault> {
    let utf16 = |pair: fn([u8; 2]) -> u16| {
        let units = bytes[2..].chunks_exact(2).map(|two| pair([two[0], two[1]]));
        char::decode_utf16(units).collect::<Result<String, _>>().map_err(|_| TuneFault::NotText)
    };
    let text = match bytes {
        [0xFF, 0xFE, ..] => utf16(u16::from_le_bytes)?,
        [0xFE, 0xFF, ..] => utf16(u16::from_be_bytes)?,
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8(rest.to_vec()).map_err(|_| TuneFault::NotText)?,
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            // Older files are in Latin-1, whose bytes are the first 256 characters.
            Err(_) => bytes.iter().copied().map(char::from).collect(),
        },
    };
    // No text has control characters besides line breaks, tabs and a form feed.
    let is_text = !text.bytes().any(|byte| byte < 0x20 && !matches!(byte, b'\n' | b'\r' | b'\t' | 0x0C | 0x1A));
    if is_text { Ok(text) } else { Err(TuneFault::NotText) }
}
