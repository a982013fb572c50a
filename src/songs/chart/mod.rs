//! A chord chart as plain text, as players write one down. Any text is a chart, and nothing of it is lost.
//!
//! ```text
//! Verse:
//! | G | C G | D | G |
//! "Low water, and the lamps are lit
//!
//! Chorus
//!   G            C
//! Row over, row over
//! [D]Tie her up a[G]gain
//! |: Em / / D | % :| x3
//! ```
//!
//! Line by line, by what most of it is:
//!
//! - **Bars** stand between bar lines; the parts of a bar share it evenly. `/` goes on with the chord before, `%` alone
//!   plays the bar before again, `N.C.` is silence. `|:` and `:|` enclose what is played twice, or as often as `x3` says;
//!   without `|:` it starts with the section or after the last repeat. Common notation, no source.
//! - **Chords** over words keep their columns. Each of them lasts a bar, for want of anything better.
//! - **Words with chords in square brackets** are read as if the chords stood above.
//! - **A heading** ends with a colon, or is a word players head sections with (`data/section_words.toml`), or stands alone
//!   in square brackets. One with nothing below it plays the section of that name again.
//! - Everything else is **words**; a run of fret numbers on string lines is a **tab** and stays as it is.
//!
//! A quotation mark before a line says that it holds words, an equals sign that it holds chords. What is not understood
//! stays as words where it stands, with a [`ChartFault`] that says what was expected.

mod bars;
mod decide;
mod fault;
mod heading;
mod lately;
mod line;
mod moved;
mod played;
mod token;
mod told;

use std::sync::OnceLock;

use crate::theory::{Chord, Naming};

use super::transpose::Transposition;

pub use fault::{ChartFault, Expected};
pub use line::{Bar, ChartLine, Content, Part, Placed};
pub use played::{PlayedBar, PlayedLine, Section};
pub use told::LineTold;

/// A chord chart: the lines of a text and what they were understood to be.
#[derive(Clone, Debug, Default)]
pub struct Chart {
    lines: Vec<ChartLine>,
    naming: Naming,
    /// What is played of it, once it was asked for.
    unfolded: OnceLock<(Vec<PlayedBar>, Vec<PlayedLine>)>,
}

impl PartialEq for Chart {
    fn eq(&self, other: &Self) -> bool {
        self.naming == other.naming && self.lines == other.lines
    }
}

impl Eq for Chart {}

impl Chart {
    /// The most times a repeat is played.
    pub const MOST_TIMES: u8 = 16;

    /// Reads a chart whose chords are named in English.
    ///
    /// ```
    /// use pegwise::songs::{Chart, Content};
    /// let chart = Chart::read("Verse:\n  G      C\nLow water now");
    /// assert_eq!(chart.sections()[0].title, Some("Verse"));
    /// assert!(matches!(chart.lines()[1].content, Content::Chords));
    /// assert_eq!(chart.lines()[1].chords[1].column, 9);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Self {
        Self::read_in(text, Naming::English)
    }

    /// Reads a chart whose chords are named by a player's custom. Takes time in proportion to the text.
    #[must_use]
    pub fn read_in(text: &str, naming: Naming) -> Self {
        Self { lines: decide::lines(text, naming), naming, unfolded: OnceLock::new() }
    }

    /// Writes the chart: every line as it was typed, but for chords that were moved.
    #[must_use]
    pub fn write(&self) -> String {
        self.lines.iter().flat_map(|line| [line.text.as_str(), line.end.as_str()]).collect()
    }

    /// Returns the lines, one for each of the text.
    #[must_use]
    pub fn lines(&self) -> &[ChartLine] {
        &self.lines
    }

    /// Returns how its chords are named.
    #[must_use]
    pub const fn naming(&self) -> Naming {
        self.naming
    }

    /// Returns what was not understood, from the top.
    pub fn faults(&self) -> impl Iterator<Item = &ChartFault> {
        self.lines.iter().flat_map(|line| &line.faults)
    }

    /// Returns the chords in the order they first appear, each with the number of times it is struck as written.
    #[must_use]
    pub fn chords(&self) -> Vec<(Chord, u32)> {
        let mut found: Vec<(Chord, u32)> = Vec::new();
        for chord in self.lines.iter().flat_map(|line| &line.chords).filter_map(|placed| placed.chord) {
            match found.iter_mut().find(|(known, _)| *known == chord) {
                Some((_, count)) => *count += 1,
                None => found.push((chord, 1)),
            }
        }
        found
    }

    /// Returns the chart with every chord moved: over its syllable where there is room, else as near as can be.
    #[must_use]
    pub fn transposed(&self, by: &Transposition) -> Self {
        let moved = |line: &ChartLine| moved::text(line, self.naming, &mut |note| by.note(note));
        let text: String = self.lines.iter().flat_map(|line| [moved(line), line.end.clone()]).collect();
        Self::read_in(&text, self.naming)
    }

    /// Returns the chart with its chords named by another custom; nothing that sounds changes.
    #[must_use]
    pub fn renamed(&self, naming: Naming) -> Self {
        let moved = |line: &ChartLine| moved::text(line, naming, &mut |note| note);
        let text: String = self.lines.iter().flat_map(|line| [moved(line), line.end.clone()]).collect();
        Self::read_in(&text, naming)
    }
}
