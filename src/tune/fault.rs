//! What cannot be read, and what is not kept.

use std::fmt;

/// The longest piece of the source quoted in a sentence, in characters.
const LONGEST_QUOTE: usize = 24;

/// Cuts a piece of the source to a length that fits a sentence, on one line.
pub(super) fn clipped(text: &str) -> String {
    let line = text.chars().map(|mark| if mark.is_control() { ' ' } else { mark });
    let mut short: String = line.take(LONGEST_QUOTE + 1).collect();
    if short.chars().count() > LONGEST_QUOTE {
        short.pop();
        short.push('…');
    }
    short
}

/// Why a tune, or the rest of it, cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TuneFault {
    /// Something else than expected stands somewhere.
    At {
        /// The line, from 1.
        line: usize,
        /// The character in the line, from 1.
        column: usize,
        /// What stands there; empty at the end of the line.
        found: String,
        /// What would be understood there.
        expected: &'static str,
    },
    /// There is no tune in it.
    NoTune,
    /// There is no tune of this number in it.
    NoSuchNumber(u32),
    /// It is larger than is read.
    TooLarge {
        /// What there is too much of.
        what: &'static str,
        /// How much is read.
        most: usize,
    },
    /// It is no text in UTF-8, UTF-16 or Latin-1.
    NotText,
    /// The XML is not well formed, or asks for what is not followed.
    Xml {
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// The packed file cannot be opened.
    Packed(String),
}

impl TuneFault {
    pub(super) fn at(line: usize, column: usize, found: impl AsRef<str>, expected: &'static str) -> Self {
        Self::At { line, column, found: clipped(found.as_ref()), expected }
    }
}

impl fmt::Display for TuneFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At { line, column, found, expected } => {
                write!(f, "line {line}, character {column}: expected {expected}, found ")?;
                if found.is_empty() { f.write_str("the end of the line") } else { write!(f, "\"{found}\"") }
            }
            Self::NoTune => f.write_str("there is no tune in it"),
            Self::NoSuchNumber(number) => write!(f, "there is no tune with the number {number} in it"),
            Self::TooLarge { what, most } => write!(f, "it has more than {most} {what}, which is more than is read"),
            Self::NotText => f.write_str("it is neither text nor a packed MusicXML file"),
            Self::Xml { line, why } => write!(f, "line {line}: {why}"),
            Self::Packed(why) => write!(f, "the packed file cannot be read: {why}"),
        }
    }
}

impl std::error::Error for TuneFault {}

/// What is left out when a tune is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SkippedKind {
    /// Grace notes.
    GraceNotes,
    /// Words to be sung.
    Words,
    /// Voices, staves and parts besides the first.
    Voices,
    /// Notes below the highest of several at once.
    LowerNotes,
    /// A chord symbol that is not understood.
    ChordSymbol,
    /// An order of parts, or a jump such as from the end to a sign.
    Jumps,
    /// A repeat that begins inside another one: it is played after it.
    NestedRepeat,
    /// A field or direction that changes nothing that is kept, and might be missed.
    Direction,
}

/// Something that stood in the source and is not in the tune.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// What.
    pub what: SkippedKind,
    /// How often.
    pub count: usize,
    /// The line where it stood first, from 1.
    pub line: usize,
    /// What stood there first; may be empty.
    pub found: String,
}

impl fmt::Display for Skipped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { count, line, found, .. } = self;
        match self.what {
            SkippedKind::GraceNotes => write!(f, "grace notes are left out: {count}, first in line {line}"),
            SkippedKind::Words => write!(f, "words are left out, first in line {line}"),
            SkippedKind::Voices => write!(f, "only the first voice is read; another begins in line {line}"),
            SkippedKind::LowerNotes => {
                write!(f, "of several notes at once the highest is read: {count} times, first in line {line}")
            }
            SkippedKind::ChordSymbol => {
                write!(f, "chord symbols not understood: {count}, first \"{found}\" in line {line}")
            }
            SkippedKind::Jumps => write!(f, "an order of parts or a jump is not followed: line {line}"),
            SkippedKind::NestedRepeat => {
                write!(f, "a repeat inside a repeat is played by itself: {count}, first in line {line}")
            }
            SkippedKind::Direction => write!(f, "not followed: \"{found}\" in line {line}"),
        }
    }
}
