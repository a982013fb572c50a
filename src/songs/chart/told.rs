//! What a player says a line holds, whatever most of it looks like: a mark before it.

use super::Chart;
use super::line::ChartLine;

/// What a player says a line holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum LineTold {
    /// Nothing: it holds what most of it looks like.
    #[default]
    Itself,
    /// Words, by a quotation mark before them.
    Words,
    /// Chords, by an equals sign before them.
    Chords,
}

impl ChartLine {
    /// Returns what the player says it holds.
    #[must_use]
    pub fn told(&self) -> LineTold {
        let text = self.text.trim();
        if text.starts_with(['"', '“']) {
            LineTold::Words
        } else if text.starts_with('=') && !text.ends_with('=') {
            LineTold::Chords
        } else {
            LineTold::Itself
        }
    }
}

impl Chart {
    /// Returns the chart's text with a line told to be words, chords, or what it looks like. Nothing but the mark before
    /// the line changes. An empty line and one that is not there stay as they are.
    ///
    /// ```
    /// use pegwise::songs::{Chart, LineTold};
    /// let chart = Chart::read("A\nA lantern");
    /// assert_eq!(chart.with_told(0, LineTold::Words), "\"A\nA lantern");
    /// ```
    #[must_use]
    pub fn with_told(&self, line: usize, told: LineTold) -> String {
        let mark = match told {
            LineTold::Itself => "",
            LineTold::Words => "\"",
            LineTold::Chords => "=",
        };
        let mut text = String::new();
        for (index, part) in self.lines.iter().enumerate() {
            if index == line && !part.text.trim().is_empty() {
                text.push_str(mark);
                text.push_str(&without_mark(part));
            } else {
                text.push_str(&part.text);
            }
            text.push_str(&part.end);
        }
        text
    }
}

/// Returns a line without the mark that says what it holds; its other letters stay where they are.
fn without_mark(line: &ChartLine) -> String {
    if line.told() == LineTold::Itself {
        return line.text.clone();
    }
    let start = line.text.len() - line.text.trim_start().len();
    let (before, rest) = line.text.split_at(start);
    let mut marks = rest.chars();
    let _ = marks.next();
    format!("{before}{}", marks.as_str())
}
