//! Lines of bars.

use crate::theory::{Chord, Naming};

use super::fault::{ChartFault, Expected};
use super::line::{Bar, Content, Part, Placed};
use super::token;

/// What earlier lines leave to the next: a bar that `%` may repeat, a chord that `/` may hold, an open repeat.
#[derive(Debug, Default)]
pub(super) struct Progress {
    has_bar: bool,
    has_chord: bool,
    /// Line and place of a repeat that is open.
    open_repeat: Option<(usize, usize)>,
}

impl Progress {
    /// Ends a section; a repeat that is still open in it is a fault.
    pub(super) fn close_section(&mut self) -> Option<ChartFault> {
        let (line, place) = self.open_repeat.take()?;
        Some(ChartFault { line, place, found: "|:".to_owned(), expected: Expected::RepeatEnd })
    }
}

/// One symbol of a line of bars, with its place in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Symbol<'a> {
    BarLine,
    OpenRepeat,
    CloseRepeat,
    Word(&'a str),
}

impl Symbol<'_> {
    const fn text(&self) -> &str {
        match self {
            Self::BarLine => "|",
            Self::OpenRepeat => "|:",
            Self::CloseRepeat => ":|",
            Self::Word(word) => word,
        }
    }
}

/// Splits a line into bar lines and words, from a byte on.
fn symbols(line: &str, from: usize) -> Vec<(usize, Symbol<'_>)> {
    let mut found: Vec<(usize, Symbol<'_>)> = Vec::new();
    let mut at = from;
    while let Some(mark) = line[at..].chars().next() {
        let rest = &line[at..];
        let (symbol, taken) = match mark {
            mark if mark.is_whitespace() => {
                at += mark.len_utf8();
                continue;
            }
            ':' if rest.starts_with(":|") => (Symbol::CloseRepeat, 2),
            '|' if rest.starts_with("|:") && !rest.starts_with("|:|") => (Symbol::OpenRepeat, 2),
            '|' => (Symbol::BarLine, 1),
            // `:|:` closes and opens: what is left of it after `:|`.
            ':' if matches!(found.last(), Some((place, Symbol::CloseRepeat)) if place + 2 == at) => {
                (Symbol::OpenRepeat, 1)
            }
            _ => {
                let stop = rest
                    .char_indices()
                    .find(|&(byte, mark)| {
                        mark.is_whitespace() || mark == '|' || (mark == ':' && rest[byte..].starts_with(":|"))
                    })
                    .map_or(rest.len(), |(byte, _)| byte);
                (Symbol::Word(&rest[..stop]), stop)
            }
        };
        found.push((at, symbol));
        at += taken;
    }
    found
}

/// A line of bars as far as it is read.
#[derive(Debug, Default)]
struct Row {
    bars: Vec<Bar>,
    parts: Vec<Part>,
    /// The bar being read plays the one before again.
    is_same: bool,
    opens_repeat: bool,
}

impl Row {
    const fn is_empty(&self) -> bool {
        self.parts.is_empty() && !self.is_same
    }

    fn close_bar(&mut self, progress: &mut Progress, closes_repeat: bool) {
        self.bars.push(Bar {
            parts: std::mem::take(&mut self.parts),
            opens_repeat: std::mem::take(&mut self.opens_repeat),
            closes_repeat: closes_repeat.then_some(2),
        });
        self.is_same = false;
        progress.has_bar = true;
        if closes_repeat {
            progress.open_repeat = None;
        }
    }
}

/// Reads a line with a bar line in it; `None` when more of it is words than music. What is not understood is left out
/// and told.
pub(super) fn read(
    index: usize,
    line: &str,
    from: usize,
    naming: Naming,
    progress: &mut Progress,
) -> Option<(Content, Vec<Placed>, u8, Vec<ChartFault>)> {
    let symbols = symbols(line, from);
    if !is_mostly_music(&symbols, naming) {
        return None;
    }
    let mut row = Row::default();
    let mut chords = Vec::new();
    let mut faults = Vec::new();
    let mut before: Option<(usize, &Symbol<'_>)> = None;
    let mut opened: Option<usize> = None;
    // Counted along: to count from the line's start for each fault would take its square.
    let (mut place, mut counted) = (line[..from].chars().count(), from);
    for (byte, symbol) in &symbols {
        let byte = *byte;
        place += line[counted..byte].chars().count();
        counted = byte;
        let mut fault = |expected: Expected| {
            faults.push(ChartFault { line: index, place, found: symbol.text().to_owned(), expected })
        };
        match symbol {
            Symbol::Word(word) => {
                let follows_repeat = matches!(before, Some((_, Symbol::CloseRepeat)));
                let is_times = word.starts_with(['x', 'X', '×']);
                match row.bars.last_mut().filter(|_| follows_repeat && is_times) {
                    Some(bar) => match token::times(word) {
                        Some(times) => bar.closes_repeat = Some(times),
                        None => fault(Expected::Times),
                    },
                    None => match part(word, naming, &row, progress) {
                        Ok(Some(part)) => {
                            row.parts.push(part);
                            if part != Part::Hold {
                                let chord = if let Part::Chord(chord) = part { Some(chord) } else { None };
                                chords.push(Placed { column: place, chord, bytes: byte..byte + word.len() });
                            }
                        }
                        Ok(None) => row.is_same = true,
                        Err(expected) => fault(expected),
                    },
                }
            }
            _ if !row.is_empty() => row.close_bar(progress, *symbol == Symbol::CloseRepeat),
            // Two bar lines are one when they touch.
            Symbol::BarLine if row.opens_repeat => fault(Expected::Bar),
            Symbol::BarLine if matches!(before, Some((at, Symbol::BarLine)) if at + 1 < byte) => fault(Expected::Bar),
            Symbol::CloseRepeat => fault(Expected::Bar),
            Symbol::BarLine | Symbol::OpenRepeat => {}
        }
        if *symbol == Symbol::OpenRepeat {
            if progress.open_repeat.is_some() {
                faults.push(ChartFault {
                    line: index,
                    place,
                    found: symbol.text().to_owned(),
                    expected: Expected::RepeatEnd,
                });
            } else {
                progress.open_repeat = Some((index, place));
                opened = Some(place);
                row.opens_repeat = true;
            }
        }
        before = Some((byte, symbol));
    }
    if !row.is_empty() {
        row.close_bar(progress, false);
    }
    if row.opens_repeat || row.bars.is_empty() {
        let place = line.chars().count();
        faults.push(ChartFault { line: index, place, found: String::new(), expected: Expected::Bar });
        // A repeat of nothing is none.
        if row.opens_repeat && opened.is_some() {
            progress.open_repeat = None;
        }
    }
    let content =
        if row.bars.is_empty() { Content::Words(line[from..].trim().to_owned()) } else { Content::Bars(row.bars) };
    Some((content, chords, 1, faults))
}

/// A line with bar lines holds bars where at least as many words are music as are not.
fn is_mostly_music(symbols: &[(usize, Symbol<'_>)], naming: Naming) -> bool {
    let words =
        symbols.iter().filter_map(|(_, symbol)| if let Symbol::Word(word) = symbol { Some(*word) } else { None });
    let is_music = |word: &str| {
        matches!(word, "/" | "%" | "N.C." | "N.C" | "NC")
            || token::times(word).is_some()
            || (word.starts_with(char::is_uppercase) && Chord::read_in(word, naming).is_ok())
    };
    let (music, other) =
        words.fold(
            (0_usize, 0_usize),
            |(music, other), word| {
                if is_music(word) { (music + 1, other) } else { (music, other + 1) }
            },
        );
    let starts_with_bar = !matches!(symbols.first(), Some((_, Symbol::Word(_))) | None);
    music > other || (starts_with_bar && music >= other)
}

/// Reads one word of a bar; `None` plays the bar before again.
fn part(word: &str, naming: Naming, row: &Row, progress: &mut Progress) -> Result<Option<Part>, Expected> {
    match word {
        "%" if !row.is_empty() => Err(Expected::Alone),
        "%" if !progress.has_bar => Err(Expected::BarBefore),
        "%" => Ok(None),
        _ if row.is_same => Err(Expected::BarLine),
        "/" if !progress.has_chord => Err(Expected::ChordBefore),
        "/" => Ok(Some(Part::Hold)),
        "N.C." | "N.C" | "NC" => {
            progress.has_chord = true;
            Ok(Some(Part::Silence))
        }
        _ => {
            let chord = token::small_minor(word, naming).map_or_else(|| Chord::read_in(word, naming), Ok);
            let chord = chord.map_err(Expected::Chord)?;
            progress.has_chord = true;
            Ok(Some(Part::Chord(chord)))
        }
    }
}
