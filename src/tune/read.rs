//! Tunes from a file of any of the notations.

use std::borrow::Cow;
use std::ops::ControlFlow;

use super::abc::{each_abc, read_abc};
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
    let tunes = match to_notation(bytes)? {
        Notation::Score(tune) => vec![*tune],
        Notation::Abc(text) => read_abc(&text),
    };
    if tunes.is_empty() { Err(TuneFault::NoTune) } else { Ok(tunes) }
}

/// Reads one tune of a file, as [`read_tunes`] reads all: the one of this number, else the first. The others are not kept.
///
/// # Errors
/// As [`read_tunes`], and when there is none of this number.
pub fn find_tune(bytes: &[u8], number: Option<u32>) -> Result<TuneRead, TuneFault> {
    let (mut found, mut has_any) = (None, false);
    let is_it = |read: &TuneRead| number.is_none_or(|number| read.tune.number == Some(number));
    let mut take = |read: TuneRead| {
        has_any = true;
        if !is_it(&read) {
            return ControlFlow::Continue(());
        }
        found = Some(read);
        ControlFlow::Break(())
    };
    match to_notation(bytes)? {
        Notation::Score(tune) => {
            let _ = take(*tune);
        }
        Notation::Abc(text) => each_abc(&text, &mut take),
    }
    let none = number.filter(|_| has_any).map_or(TuneFault::NoTune, TuneFault::NoSuchNumber);
    found.ok_or(none)
}

/// What a file is written in.
enum Notation<'a> {
    /// MusicXML, read already.
    Score(Box<TuneRead>),
    /// Text that is no XML.
    Abc(Cow<'a, str>),
}

fn to_notation(bytes: &[u8]) -> Result<Notation<'_>, TuneFault> {
    if bytes.len() > MOST_BYTES {
        return Err(TuneFault::TooLarge { what: "bytes", most: MOST_BYTES });
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return read_packed(bytes).map(|tune| Notation::Score(Box::new(tune)));
    }
    let text = to_text(bytes)?;
    if text.trim_start().starts_with('<') {
        return read_musicxml(&text).map(|tune| Notation::Score(Box::new(tune)));
    }
    Ok(Notation::Abc(text))
}

/// Reads bytes as text.
pub(super) fn to_text(bytes: &[u8]) -> Result<Cow<'_, str>, TuneFault> {
    let utf16 = |pair: fn([u8; 2]) -> u16| {
        let units = bytes[2..].chunks_exact(2).map(|two| pair([two[0], two[1]]));
        char::decode_utf16(units).collect::<Result<String, _>>().map_err(|_| TuneFault::NotText)
    };
    let text: Cow<'_, str> = match bytes {
        [0xFF, 0xFE, ..] => utf16(u16::from_le_bytes)?.into(),
        [0xFE, 0xFF, ..] => utf16(u16::from_be_bytes)?.into(),
        [0xEF, 0xBB, 0xBF, rest @ ..] => std::str::from_utf8(rest).map_err(|_| TuneFault::NotText)?.into(),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.into(),
            // Older files are in Latin-1, whose bytes are the first 256 characters.
            Err(_) => bytes.iter().copied().map(char::from).collect::<String>().into(),
        },
    };
    // No text has control characters besides line breaks, tabs and a form feed.
    let is_text = !text.bytes().any(|byte| byte < 0x20 && !matches!(byte, b'\n' | b'\r' | b'\t' | 0x0C | 0x1A));
    if is_text { Ok(text) } else { Err(TuneFault::NotText) }
}
