//! What was not understood in a chart, and what was expected there.

use std::fmt;

use crate::theory::ParseChordError;

/// What a chart needs at the place of a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expected {
    /// A chord symbol; the inner fault counts from the symbol's start.
    Chord(ParseChordError),
    /// Something in the bar.
    Bar,
    /// The end of a bar that plays the one before again.
    BarLine,
    /// `%` with nothing else in its bar.
    Alone,
    /// A bar before this one, to be played again.
    BarBefore,
    /// A chord before, to go on with.
    ChordBefore,
    /// The end of a repeat.
    RepeatEnd,
    /// How often a repeat is played, or a bar line.
    Times,
}

/// A place of a chart that was not understood; it stays there as words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartFault {
    /// Which line, from 0.
    pub line: usize,
    /// Where the symbol starts, in characters from 0.
    pub place: usize,
    /// The symbol; empty at the end of a line.
    pub found: String,
    /// What was expected.
    pub expected: Expected,
}

impl ChartFault {
    /// Returns the chord fault with places counted from the start of the line.
    fn chord_in_line(&self, inner: &ParseChordError) -> ParseChordError {
        let mut inner = inner.clone();
        match &mut inner {
            ParseChordError::Root(fault) | ParseChordError::Bass(fault) => fault.place += self.place,
            ParseChordError::Quality { place, .. } => *place += self.place,
        }
        inner
    }
}

impl fmt::Display for ChartFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: ", self.line + 1)?;
        let expected = match &self.expected {
            Expected::Chord(inner) => return write!(f, "{}", self.chord_in_line(inner)),
            Expected::Bar => "a chord, / or % in the bar",
            Expected::BarLine => "a bar line after %",
            Expected::Alone => "% alone in its bar",
            Expected::BarBefore => "a bar before the % that repeats it",
            Expected::ChordBefore => "a chord before the / that holds it",
            Expected::RepeatEnd => "the repeat to end with :| before another starts or the section ends",
            Expected::Times => "a bar line, or x2 to x16 after the repeat",
        };
        write!(f, "expected {expected} at character {}, found ", self.place + 1)?;
        if self.found.is_empty() { f.write_str("the end") } else { write!(f, "\"{}\"", self.found) }
    }
}

impl std::error::Error for ChartFault {}
