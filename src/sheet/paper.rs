//! The paper, and what is asked of a sheet.

use crate::instrument::Language;
use crate::theory::{Chord, Naming, Note, SpellingChoice};

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

/// The regions where Letter is usual, ISO 3166-1. Source: the Unicode CLDR's `paperSize`, from memory.
const LETTER_REGIONS: [&str; 14] = ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"];

impl Paper {
    /// Returns width and height in points, 72 to the inch.
    #[must_use]
    pub const fn points(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }

    /// Returns the usual paper of a region, taken from a tag such as `es-MX` or `de_AT.UTF-8`; A4 where none is named.
    ///
    /// ```
    /// use pegwise::sheet::Paper;
    /// assert_eq!(Paper::of_region("es-MX"), Paper::Letter);
    /// assert_eq!(Paper::of_region("en_GB.UTF-8"), Paper::A4);
    /// ```
    #[must_use]
    pub fn of_region(tag: &str) -> Self {
        let parts = tag.split(|mark: char| !mark.is_ascii_alphanumeric()).skip(1);
        let mut regions = parts.filter(|part| part.len() == 2).map(str::to_ascii_uppercase);
        let is_letter = regions.next().is_some_and(|region| LETTER_REGIONS.contains(&region.as_str()));
        if is_letter { Self::Letter } else { Self::A4 }
    }
}

/// How a sheet is to look, whatever is on it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The paper.
    pub paper: Paper,
    /// Large print: text from 18 points, digits in shapes from 14.
    pub is_large: bool,
    /// Shapes and strings are mirrored for a left-handed player.
    pub is_left_handed: bool,
    /// The language of its words.
    pub language: Language,
    /// How notes are called.
    pub naming: Naming,
    /// Sharps or flats where the player wants one of them throughout.
    pub spelling: SpellingChoice,
}

impl SheetOptions {
    /// Names a note that theory has chosen: it stands, but where the player wants sharps only or flats only.
    pub(super) fn note(&self, note: Note) -> String {
        let note = match self.spelling {
            SpellingChoice::Customary => note,
            choice => Note::of_class(note.class(), choice),
        };
        note.named(self.naming)
    }

    /// Names a chord likewise.
    pub(super) fn chord(&self, chord: Chord) -> String {
        match self.spelling {
            SpellingChoice::Customary => chord.named(self.naming),
            choice => {
                let plain = Chord::new(Note::of_class(chord.root().class(), choice), chord.quality());
                let bass = chord.slash_bass().map(|bass| Note::of_class(bass.class(), choice));
                bass.map_or(plain, |bass| plain.over(bass)).named(self.naming)
            }
        }
    }
}
