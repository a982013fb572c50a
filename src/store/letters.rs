//! Bytes that are no UTF-8, carried through what takes only text, and back to the byte.
//!
//! Each such byte stands as one letter of a private range of Unicode. Where a text has such letters of its own, their bytes
//! stand as such letters too, so that the way back is exact.

use std::borrow::Cow;

/// The letter that stands for byte 0, if that ever needed one: in plane 16, where nobody has agreed on anything (Unicode,
/// section 23.5).
const FIRST: u32 = 0x10_F700;

fn stand_in(byte: u8) -> char {
    char::from_u32(FIRST + u32::from(byte)).unwrap_or(char::REPLACEMENT_CHARACTER)
}

fn byte_of(letter: char) -> Option<u8> {
    u8::try_from(u32::from(letter).checked_sub(FIRST)?).ok().filter(|byte| !byte.is_ascii())
}

/// Returns the bytes as text: themselves where they are UTF-8, else with a letter in the place of each byte that is not.
pub(super) fn to_text(bytes: &[u8]) -> Cow<'_, str> {
    if let Ok(text) = std::str::from_utf8(bytes) {
        return Cow::Borrowed(text);
    }
    let mut text = String::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        for letter in chunk.valid().chars() {
            match byte_of(letter) {
                Some(_) => text.extend(letter.encode_utf8(&mut [0; 4]).bytes().map(stand_in)),
                None => text.push(letter),
            }
        }
        text.extend(chunk.invalid().iter().copied().map(stand_in));
    }
    Cow::Owned(text)
}

/// Returns whether a letter stands for a byte.
pub(super) fn has_stand_ins(text: &str) -> bool {
    text.chars().any(|letter| byte_of(letter).is_some())
}

/// Returns the text as it can be shown.
pub(super) fn shown(text: &str) -> String {
    text.chars().map(|letter| byte_of(letter).map_or(letter, |_| char::REPLACEMENT_CHARACTER)).collect()
}

/// Returns the bytes that [`to_text`] made a text of that was not UTF-8.
pub(super) fn to_bytes(text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len());
    for letter in text.chars() {
        match byte_of(letter) {
            Some(byte) => bytes.push(byte),
            None => bytes.extend(letter.encode_utf8(&mut [0; 4]).bytes()),
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_comes_back() {
        let all: Vec<u8> = (0..=255).chain((0..=255).rev()).collect();
        let letters = "quay \u{10F780}\u{10F7FF} é".as_bytes();
        for bytes in [all.as_slice(), letters, b"plain", &[letters, b"\xff", letters].concat()] {
            let text = to_text(bytes);
            assert_eq!(matches!(text, Cow::Owned(_)), std::str::from_utf8(bytes).is_err());
            if let Cow::Owned(text) = text {
                assert_eq!(to_bytes(&text), bytes);
                assert!(has_stand_ins(&text));
            }
        }
    }
}
