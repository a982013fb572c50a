//! What a line of a chart holds.

use std::ops::Range;

use crate::theory::Chord;

use super::fault::ChartFault;

/// What fills one even share of a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A chord is struck.
    Chord(Chord),
    /// What sounded before goes on.
    Hold,
    /// Nothing sounds.
    Silence,
}

/// One bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bar {
    /// What fills it; empty when the bar before is played again.
    pub(super) parts: Vec<Part>,
    pub(super) opens_repeat: bool,
    /// How often what it closes is played, 2 to 16.
    pub(super) closes_repeat: Option<u8>,
}

impl Bar {
    /// Returns what fills the bar in even shares; empty when the bar before is played again.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Tells whether what is played again begins here.
    #[must_use]
    pub const fn opens_repeat(&self) -> bool {
        self.opens_repeat
    }

    /// Returns how often what ends here is played, 2 to 16; `None` when no repeat ends here.
    #[must_use]
    pub const fn closes_repeat(&self) -> Option<u8> {
        self.closes_repeat
    }
}

/// What a line is, its heading aside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// Nothing, or nothing but the heading.
    Nothing,
    /// Words to read, without the mark that said so.
    Words(String),
    /// Fret numbers on string lines, as typed.
    Tab,
    /// Bars, at least one.
    Bars(Vec<Bar>),
    /// Chords, to be played in turn; [`ChartLine::chords`] says which, and over which column.
    Chords,
    /// Words with chords over them: the words without the brackets the chords stood in.
    Sung(String),
}

/// A chord where it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Over which letter of the words it stands, from 0; a tab stop lies at every eighth column.
    pub column: usize,
    /// The chord; `None` for silence.
    pub chord: Option<Chord>,
    /// The bytes of the line it is written in.
    pub(super) bytes: Range<usize>,
}

/// One line of a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartLine {
    /// The line as typed, without its end.
    pub(super) text: String,
    /// Its end as typed: a line feed, a carriage return, both, or nothing at the end of the text.
    pub(super) end: String,
    /// What it heads a section with.
    pub heading: Option<String>,
    /// What else it holds.
    pub content: Content,
    /// The chords written in it, from the left.
    pub chords: Vec<Placed>,
    /// How often a line of chords is played, 1 to 16.
    pub(super) times: u8,
    /// What was not understood.
    pub faults: Vec<ChartFault>,
}

impl ChartLine {
    /// Returns the line as typed, without its end.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Tells whether there is nothing in it.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.heading.is_none() && self.content == Content::Nothing
    }
}
