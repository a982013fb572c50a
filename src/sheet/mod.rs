//! Something to hand out: a page laid out once, written as PDF, SVG, PNG and plain text, and its music as MusicXML.
//!
//! [`tuning_sheet`], [`shape_sheet`], [`key_sheet`], [`song_sheet`] and [`set_list_sheet`] take what the other folders
//! found out and set it as a [`Document`]: glyphs and outlines on pages, and what they mean in reading order. The writers only write: nothing is
//! laid out twice. Black on white, no line thinner than a quarter point. Words stand in `data/sheet_words.toml`.

#[cfg(test)]
mod checks;
mod compose;
mod face;
mod held;
mod key;
mod lines;
mod music_xml;
mod names;
mod notation;
mod page;
mod paper;
mod pdf;
mod pdf_fonts;
mod picture;
mod plain;
mod png;
mod score;
mod set_list;
mod shape;
mod song;
mod strings;
mod svg;
mod tune;
mod tuning;
mod words;

pub use face::text_width;
pub use key::{KeySheet, key_sheet};
pub use page::Document;
pub use paper::{Paper, SheetOptions};
pub use png::PngError;
pub use score::Score;
pub use set_list::{SetListSheet, SetSong, set_list_sheet};
pub use shape::{ShapeSheet, shape_picture, shape_sheet};
pub use song::{SongSheet, song_chords_sheet, song_sheet};
pub use tune::{TuneSheet, tune_sheet};
pub use tuning::{FromTuning, TuningSheet, tuning_sheet};

/// A sheet with the music that is on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its pages.
    pub document: Document,
    /// Its music; `None` where there is none.
    pub score: Option<Score>,
}

/// A small count as a length's factor; more than 65,535 counts as that.
fn count(number: usize) -> f32 {
    f32::from(u16::try_from(number).unwrap_or(u16::MAX))
}

/// A measure from elsewhere as a length on the page.
#[expect(clippy::cast_possible_truncation, reason = "lengths on paper need no more than seven digits")]
const fn narrow(number: f64) -> f32 {
    number as f32
}

/// Writes text so that it can stand in XML, in quotation marks too. Letters XML 1.0 cannot hold are left out.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\t' | '\n' => safe.push(letter),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            _ => safe.push(letter),
        }
    }
    safe
}
