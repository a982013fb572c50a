//! What could not be read of a library file: set aside alone, byte for byte, until it can be.

use serde::{Deserialize, Serialize};

use crate::songs::UnknownFields;

use super::letters;
use super::library::Library;

/// A part of a library file that could not be read. It is written back with the library, and read again each time: a
/// later version, or a hand that mends it, gives it back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetAside {
    /// Where it stood: the field of the file, such as `songs`; `entries` for a place in a set list.
    pub field: String,
    /// Which of the field's items it was, from 0.
    #[serde(default)]
    pub at: usize,
    /// The number of the set list whose place it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_list: Option<u64>,
    /// What it calls itself; empty where that cannot be read either.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Why it could not be read.
    #[serde(default)]
    pub why: String,
    /// The bytes as they stood.
    pub text: String,
    /// They were not UTF-8: each letter of `text` from U+10F780 to U+10F7FF stands for one byte, U+10F700 taken away.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub has_stand_ins: bool,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

/// What reading a library file item by item came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mended {
    /// How many parts were set aside now; those set aside before do not count.
    pub set_aside: usize,
    /// How many that were set aside before can be read now and are back.
    pub given_back: usize,
    /// In how many fields a word stood that this version does not know. Each is kept in its place.
    pub words: usize,
}

impl SetAside {
    pub(super) fn new(field: &str, at: usize, why: impl Into<String>, text: &str) -> Self {
        Self {
            field: field.to_owned(),
            at,
            set_list: None,
            name: called(text),
            why: why.into(),
            text: text.to_owned(),
            has_stand_ins: false,
            unknown: UnknownFields::new(),
        }
    }

    /// Returns a library file that holds nothing but this, to be mended by hand and taken in again.
    #[must_use]
    pub fn as_file(&self) -> Vec<u8> {
        let item = match self.field.as_str() {
            "songs" | "own_tunings" | "set_lists" | "favourites" => format!("[{}]", self.text),
            _ => self.text.clone(),
        };
        let (format, version) = (Library::FORMAT, Library::VERSION);
        let file = format!("{{\"format\":\"{format}\",\"version\":{version},\n\"{}\":{item}\n}}\n", self.field);
        if self.has_stand_ins { letters::to_bytes(&file) } else { file.into_bytes() }
    }
}

/// Returns what an item calls itself.
fn called(text: &str) -> String {
    #[derive(Deserialize)]
    struct Named {
        #[serde(alias = "title")]
        name: String,
    }
    serde_json::from_str::<Named>(text).map(|named| named.name).unwrap_or_default()
}
