//! A chord chart as plain text: sections, bars, chords.
//!
//! ```text
//! Verse:
//! | G | C G | D | G |
//! "Low water, and the lamps are lit
//! |: Em / / D | % :| x3
//! ```
//!
//! A line that ends with a colon heads a section. A line that starts with a bar line holds bars; the parts of a bar
//! share it evenly. A line that starts with a quotation mark holds words. Within a bar, `/` goes on with the chord
//! before, `%` alone plays the bar before again, and `N.C.` is silence. `|:` and `:|` enclose what is played twice, or
//! as often as `x3` says; without `|:` it starts with the section or after the last repeat. Bar lines and these signs are common notation.

use std::fmt;

use crate::theory::{Chord, ParseChordError};

use super::transpose::Transposition;

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
    parts: Vec<Part>,
    opens_repeat: bool,
    /// How often what it closes is played, 2 to 16.
    closes_repeat: Option<u8>,
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

/// One line of a section.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Bars, at least one.
    Bars(Vec<Bar>),
    /// Words to read.
    Words(String),
}

/// A part of a song.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Section {
    /// What it is called; `None` for what stands before the first heading.
    pub title: Option<String>,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// A bar as it is played: repeats unfolded, the chord that goes on from before filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlayedBar {
    /// The section it is in, from 0.
    pub section: usize,
    /// Its line in the section, from 0.
    pub line: usize,
    /// Its place in the line, from 0.
    pub bar: usize,
    /// The chord of each even share; `None` is silence.
    pub chords: Vec<Option<Chord>>,
}

/// A chord chart.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Chart {
    sections: Vec<Section>,
}

impl Chart {
    /// The most times a repeat is played.
    pub const MOST_TIMES: u8 = 16;

    /// Reads a chart. An empty text is an empty chart.
    ///
    /// # Errors
    /// At the first symbol that is not understood: which, where, and what was expected there.
    ///
    /// ```
    /// use pegwise::songs::Chart;
    /// let chart = Chart::read("Verse:\n| G | C G | D | G |").unwrap();
    /// assert_eq!(chart.sections()[0].title.as_deref(), Some("Verse"));
    /// assert_eq!(Chart::read("| G | Hm |").unwrap_err().to_string(),
    ///     "line 1: chord root: expected a note from A to G at character 7, found \"H\"");
    /// ```
    pub fn read(text: &str) -> Result<Self, ChartFault> {
        let mut reader = Reader::default();
        for (index, line) in text.lines().enumerate() {
            reader.line(index, line)?;
        }
        reader.close_section()?;
        Ok(Self { sections: reader.sections })
    }

    /// Writes the chart; [`Chart::read`] gives the same chart back.
    #[must_use]
    pub fn write(&self) -> String {
        let mut text = String::new();
        for section in &self.sections {
            if !text.is_empty() {
                text.push('\n');
            }
            if let Some(title) = &section.title {
                text.push_str(title);
                text.push_str(":\n");
            }
            for line in &section.lines {
                match line {
                    Line::Words(words) => text.push_str(&format!("\"{words}")),
                    Line::Bars(bars) => write_bars(bars, &mut text),
                }
                text.push('\n');
            }
        }
        text
    }

    /// Returns the sections.
    #[must_use]
    pub fn sections(&self) -> &[Section] {
        &self.sections
    }

    /// Returns the bars in the order they are played.
    #[must_use]
    pub fn played(&self) -> Vec<PlayedBar> {
        let mut played = Vec::new();
        let mut sounding = None;
        let mut before: &[Part] = &[];
        for (section, content) in self.sections.iter().enumerate() {
            let mut bars = Vec::new();
            for (line, bar, content) in numbered_bars(content) {
                if !content.parts.is_empty() {
                    before = &content.parts;
                }
                bars.push((line, bar, content, before));
            }
            let mut repeat_from = 0;
            let mut rounds_left: Option<u8> = None;
            let mut at = 0;
            while let Some(&(line, bar, content, parts)) = bars.get(at) {
                if content.opens_repeat {
                    repeat_from = at;
                }
                let chords = parts.iter().map(|part| part.sounds(&mut sounding)).collect();
                played.push(PlayedBar { section, line, bar, chords });
                at += 1;
                if let Some(times) = content.closes_repeat {
                    let left = rounds_left.unwrap_or(times) - 1;
                    rounds_left = (left > 0).then_some(left);
                    if left > 0 {
                        at = repeat_from;
                    } else {
                        repeat_from = at;
                    }
                }
            }
        }
        played
    }

    /// Returns the chords in the order they first appear, each with the number of times it is struck as written.
    #[must_use]
    pub fn chords(&self) -> Vec<(Chord, u32)> {
        let mut found: Vec<(Chord, u32)> = Vec::new();
        for bar in self.sections.iter().flat_map(numbered_bars).map(|(_, _, bar)| bar) {
            for part in &bar.parts {
                let Part::Chord(chord) = part else { continue };
                match found.iter_mut().find(|(known, _)| known == chord) {
                    Some((_, count)) => *count += 1,
                    None => found.push((*chord, 1)),
                }
            }
        }
        found
    }

    /// Returns the chart with every chord moved.
    #[must_use]
    pub fn transposed(mut self, by: &Transposition) -> Self {
        let lines = self.sections.iter_mut().flat_map(|section| &mut section.lines);
        let bars = lines.filter_map(|line| if let Line::Bars(bars) = line { Some(bars) } else { None }).flatten();
        for part in bars.flat_map(|bar| &mut bar.parts) {
            if let Part::Chord(chord) = part {
                *chord = by.chord(*chord);
            }
        }
        self
    }
}

impl Part {
    /// Returns what sounds in this share, and notes it for the next.
    fn sounds(self, sounding: &mut Option<Chord>) -> Option<Chord> {
        match self {
            Self::Chord(chord) => *sounding = Some(chord),
            Self::Hold => {}
            Self::Silence => *sounding = None,
        }
        *sounding
    }
}

/// Returns every bar of a section with its line and its place in that.
fn numbered_bars(section: &Section) -> impl Iterator<Item = (usize, usize, &Bar)> {
    section.lines.iter().enumerate().flat_map(|(line, content)| {
        let bars: &[Bar] = if let Line::Bars(bars) = content { bars } else { &[] };
        bars.iter().enumerate().map(move |(place, bar)| (line, place, bar))
    })
}

fn write_bars(bars: &[Bar], text: &mut String) {
    let mut after = String::new();
    for bar in bars {
        if after.is_empty() || bar.opens_repeat {
            text.push('|');
        }
        if bar.opens_repeat {
            text.push(':');
        }
        if bar.parts.is_empty() {
            text.push_str(" %");
        }
        for part in &bar.parts {
            text.push(' ');
            match part {
                Part::Chord(chord) => text.push_str(&chord.ascii()),
                Part::Hold => text.push('/'),
                Part::Silence => text.push_str("N.C."),
            }
        }
        after = match bar.closes_repeat {
            Some(2) => " :|".to_owned(),
            Some(times) => format!(" :| x{times} |"),
            None => " |".to_owned(),
        };
        text.push_str(&after);
    }
}

/// One symbol of a line of bars, with its place in characters.
#[derive(Debug, PartialEq, Eq)]
enum Symbol {
    BarLine,
    OpenRepeat,
    CloseRepeat,
    Word(String),
}

impl Symbol {
    fn text(&self) -> &str {
        match self {
            Self::BarLine => "|",
            Self::OpenRepeat => "|:",
            Self::CloseRepeat => ":|",
            Self::Word(word) => word,
        }
    }
}

/// Splits a line into bar lines and words.
fn symbols(line: &str) -> Vec<(usize, Symbol)> {
    let marks: Vec<char> = line.chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < marks.len() {
        let next = marks.get(at + 1);
        let (symbol, taken) = match marks[at] {
            mark if mark.is_whitespace() => {
                at += 1;
                continue;
            }
            ':' if next == Some(&'|') => (Symbol::CloseRepeat, 2),
            '|' if next == Some(&':') && marks.get(at + 2) != Some(&'|') => (Symbol::OpenRepeat, 2),
            '|' => (Symbol::BarLine, 1),
            // `:|:` closes and opens: what is left of it after `:|`.
            ':' if matches!(found.last(), Some((place, Symbol::CloseRepeat)) if place + 2 == at) => {
                (Symbol::OpenRepeat, 1)
            }
            _ => {
                let is_part = |offset: usize| {
                    let mark = marks[at + offset];
                    !mark.is_whitespace() && mark != '|' && !(mark == ':' && marks.get(at + offset + 1) == Some(&'|'))
                };
                let length = (0..marks.len() - at).find(|&offset| !is_part(offset)).unwrap_or(marks.len() - at);
                (Symbol::Word(marks[at..at + length].iter().collect()), length)
            }
        };
        found.push((at, symbol));
        at += taken;
    }
    found
}

/// The chart as far as it is read.
#[derive(Debug, Default)]
struct Reader {
    sections: Vec<Section>,
    has_bar: bool,
    has_chord: bool,
    /// Line and place of a repeat that is open.
    open_repeat: Option<(usize, usize)>,
}

/// A line of bars as far as it is read.
#[derive(Debug, Default)]
struct BarLine {
    bars: Vec<Bar>,
    parts: Vec<Part>,
    /// The bar being read plays the one before again.
    is_same: bool,
    opens_repeat: bool,
}

impl BarLine {
    fn is_empty(&self) -> bool {
        self.parts.is_empty() && !self.is_same
    }
}

impl Reader {
    fn line(&mut self, index: usize, line: &str) -> Result<(), ChartFault> {
        let text = line.trim();
        if text.is_empty() {
            return Ok(());
        }
        if let Some(words) = text.strip_prefix('"') {
            self.section().lines.push(Line::Words(words.trim().to_owned()));
            return Ok(());
        }
        if text.starts_with('|') {
            return self.bars(index, line);
        }
        match text.strip_suffix(':').map(str::trim) {
            Some(title) if !title.is_empty() && !title.contains('|') => {
                self.close_section()?;
                self.sections.push(Section { title: Some(title.to_owned()), lines: Vec::new() });
                Ok(())
            }
            _ => {
                let place = line.chars().take_while(|mark| mark.is_whitespace()).count();
                let found = text.split_whitespace().next().unwrap_or_default().to_owned();
                Err(ChartFault { line: index, place, found, expected: Expected::Line })
            }
        }
    }

    fn section(&mut self) -> &mut Section {
        if self.sections.is_empty() {
            self.sections.push(Section::default());
        }
        self.sections.last_mut().expect("one was pushed when there was none")
    }

    fn close_section(&mut self) -> Result<(), ChartFault> {
        match self.open_repeat.take() {
            Some((line, place)) => {
                Err(ChartFault { line, place, found: "|:".to_owned(), expected: Expected::RepeatEnd })
            }
            None => Ok(()),
        }
    }

    fn bars(&mut self, index: usize, line: &str) -> Result<(), ChartFault> {
        let mut row = BarLine::default();
        let mut before: Option<(usize, Symbol)> = None;
        for (place, symbol) in symbols(line) {
            let fault =
                |expected: Expected| Err(ChartFault { line: index, place, found: symbol.text().to_owned(), expected });
            match &symbol {
                Symbol::Word(word) => {
                    let follows_repeat = matches!(before, Some((_, Symbol::CloseRepeat)));
                    let digits = word.strip_prefix(['x', 'X', '×']).filter(|_| follows_repeat);
                    match (digits, row.bars.last_mut()) {
                        (Some(digits), Some(bar)) => {
                            let times = digits.parse::<u8>().ok();
                            let Some(times) = times.filter(|times| (2..=Chart::MOST_TIMES).contains(times)) else {
                                return fault(Expected::Times);
                            };
                            bar.closes_repeat = Some(times);
                        }
                        _ => self.word(word, &mut row).or_else(fault)?,
                    }
                }
                _ if !row.is_empty() => self.close_bar(&mut row, symbol == Symbol::CloseRepeat),
                // Two bar lines are one when they touch.
                Symbol::BarLine if row.opens_repeat => return fault(Expected::Bar),
                Symbol::BarLine if matches!(before, Some((at, Symbol::BarLine)) if at + 1 < place) => {
                    return fault(Expected::Bar);
                }
                Symbol::CloseRepeat => return fault(Expected::Bar),
                Symbol::BarLine | Symbol::OpenRepeat => {}
            }
            if symbol == Symbol::OpenRepeat {
                if self.open_repeat.is_some() {
                    return fault(Expected::RepeatEnd);
                }
                self.open_repeat = Some((index, place));
                row.opens_repeat = true;
            }
            before = Some((place, symbol));
        }
        if !row.is_empty() {
            self.close_bar(&mut row, false);
        }
        if row.opens_repeat || row.bars.is_empty() {
            let place = line.chars().count();
            return Err(ChartFault { line: index, place, found: String::new(), expected: Expected::Bar });
        }
        self.section().lines.push(Line::Bars(row.bars));
        Ok(())
    }

    /// Reads one word of a bar.
    fn word(&mut self, word: &str, row: &mut BarLine) -> Result<(), Expected> {
        match word {
            "%" if !row.is_empty() => return Err(Expected::Alone),
            "%" if !self.has_bar => return Err(Expected::BarBefore),
            "%" => row.is_same = true,
            _ if row.is_same => return Err(Expected::BarLine),
            "/" if !self.has_chord => return Err(Expected::ChordBefore),
            "/" => row.parts.push(Part::Hold),
            "N.C." | "N.C" | "NC" => {
                self.has_chord = true;
                row.parts.push(Part::Silence);
            }
            _ => {
                row.parts.push(Part::Chord(Chord::read(word).map_err(Expected::Chord)?));
                self.has_chord = true;
            }
        }
        Ok(())
    }

    fn close_bar(&mut self, row: &mut BarLine, closes_repeat: bool) {
        row.bars.push(Bar {
            parts: std::mem::take(&mut row.parts),
            opens_repeat: std::mem::take(&mut row.opens_repeat),
            closes_repeat: closes_repeat.then_some(2),
        });
        row.is_same = false;
        self.has_bar = true;
        if closes_repeat {
            self.open_repeat = None;
        }
    }
}

/// What a chart needs at the place of a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expected {
    /// A line of bars, a heading or words.
    Line,
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

/// A chart that could not be read.
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
            Expected::Line => "a bar line, a heading that ends with a colon, or words after a quotation mark",
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
