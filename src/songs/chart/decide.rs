//! One reader decides for a line by what most of it is.

use crate::theory::{Chord, Naming};

use super::bars::{self, Progress};
use super::fault::{ChartFault, Expected};
use super::heading;
use super::line::{ChartLine, Content, Placed};
use super::token::{self, Kind, MOST_CHORD_BYTES, Token};

/// Reads every line of a text.
pub(super) fn lines(text: &str, naming: Naming) -> Vec<ChartLine> {
    let split = split(text);
    let mut reader = Reader { naming, progress: Progress::default() };
    let mut found: Vec<ChartLine> = Vec::with_capacity(split.len());
    for (index, &(line, end)) in split.iter().enumerate() {
        let is_first = found.last().is_none_or(ChartLine::is_blank);
        let next = split.get(index + 1).map_or("", |&(next, _)| next);
        let mut read = reader.line(index, line, is_first, next);
        if read.heading.is_some()
            && let Some(fault) = reader.progress.close_section()
        {
            mark(&mut found, fault);
        }
        end.clone_into(&mut read.end);
        found.push(read);
    }
    if let Some(fault) = reader.progress.close_section() {
        mark(&mut found, fault);
    }
    found
}

fn mark(lines: &mut [ChartLine], fault: ChartFault) {
    if let Some(line) = lines.get_mut(fault.line) {
        line.faults.push(fault);
    }
}

/// Splits a text at line feeds, carriage returns and both together, keeping the ends.
fn split(text: &str) -> Vec<(&str, &str)> {
    let mut found = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let stop = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let end = if rest[stop..].starts_with("\r\n") { 2 } else { usize::from(stop < rest.len()) };
        found.push((&rest[..stop], &rest[stop..stop + end]));
        rest = &rest[stop + end..];
    }
    found
}

struct Reader {
    naming: Naming,
    progress: Progress,
}

/// A line as far as it is read: what it holds, its chords, how often it is played, what was not understood.
type Found = (Content, Vec<Placed>, u8, Vec<ChartFault>);

fn plain(content: Content) -> Found {
    (content, Vec::new(), 1, Vec::new())
}

impl Reader {
    fn line(&mut self, index: usize, line: &str, is_first: bool, next: &str) -> ChartLine {
        let make = |heading: Option<String>, (content, chords, times, faults): Found| ChartLine {
            text: line.to_owned(),
            end: String::new(),
            heading,
            content,
            chords,
            times,
            faults,
        };
        let text = line.trim();
        if text.is_empty() {
            return make(None, plain(Content::Nothing));
        }
        if let Some(words) = text.strip_prefix(['"', '“']) {
            return make(None, plain(Content::Words(words.trim().to_owned())));
        }
        if text.starts_with('=') && !text.ends_with('=') {
            let start = line.find('=').map_or(0, |at| at + 1);
            return make(None, self.chord_line(index, line, start, &self.tokens(line, start)));
        }
        if is_tab(text) {
            return make(None, plain(Content::Tab));
        }
        let heading = heading::read(line).filter(|heading| self.is_heading(heading, line, is_first, next));
        match heading {
            Some(heading) if line[heading.rest..].trim().is_empty() => {
                make(Some(heading.title), plain(Content::Nothing))
            }
            Some(heading) => {
                let found = self.content(index, line, heading.rest);
                make(Some(heading.title), found)
            }
            None => {
                let found = self.content(index, line, 0);
                make(None, found)
            }
        }
    }

    /// Decides on a heading that only a colon or brackets speak for.
    fn is_heading(&self, heading: &heading::Heading, line: &str, is_first: bool, next: &str) -> bool {
        let tokens = self.tokens(line, 0);
        let has_chords =
            tokens.iter().all(|token| matches!(token.kind, Kind::Chords(_) | Kind::Filler | Kind::Times(_)))
                && tokens.iter().any(|token| matches!(token.kind, Kind::Chords(_)));
        if line[heading.rest..].trim().is_empty() && has_chords {
            return false;
        }
        !heading.is_unsure || is_first || next.trim_start().starts_with(['|', '"']) || self.weighs_as_chords(next, 0)
    }

    fn tokens(&self, line: &str, from: usize) -> Vec<Token> {
        token::tokens(line, from, line[..from].chars().fold(0, token::after), self.naming)
    }

    /// Tells whether most of a line is chords, what is only written like one counted with them.
    fn weighs_as_chords(&self, line: &str, from: usize) -> bool {
        let tokens = self.tokens(line, from);
        let count = |wanted: fn(&Kind) -> bool| tokens.iter().filter(|token| wanted(&token.kind)).count();
        let chords = count(|kind| matches!(kind, Kind::Chords(_)));
        let (words, alike): (Vec<&Token>, Vec<&Token>) = tokens
            .iter()
            .filter(|token| token.kind == Kind::Word)
            .partition(|token| !token::is_like_a_chord(&line[token.bytes.clone()]));
        // A line of nothing else is meant as chords; among words such a one may be a name.
        chords + alike.len() > words.len() && (chords > 0 || words.is_empty())
    }

    /// Reads a line, or what a heading leaves of it.
    fn content(&mut self, index: usize, line: &str, from: usize) -> Found {
        let rest = &line[from..];
        if rest.contains('|')
            && let Some(found) = bars::read(index, line, from, self.naming, &mut self.progress)
        {
            return found;
        }
        if let Some(found) = self.sung(rest, from) {
            return found;
        }
        let tokens = self.tokens(line, from);
        if self.weighs_as_chords(line, from) || self.is_small_minor_line(line, &tokens) {
            return self.chord_line(index, line, from, &tokens);
        }
        plain(Content::Words(rest.trim().to_owned()))
    }

    /// In German songbooks a line may mix capitals for major with small letters for minor.
    fn is_small_minor_line(&self, line: &str, tokens: &[Token]) -> bool {
        let has_major = tokens.iter().any(|token| matches!(token.kind, Kind::Chords(_)));
        has_major
            && tokens.iter().all(|token| {
                !matches!(token.kind, Kind::Word)
                    || token::small_minor(&line[token.bytes.clone()], self.naming).is_some()
            })
    }

    fn chord_line(&self, index: usize, line: &str, from: usize, tokens: &[Token]) -> Found {
        // A mark at the start of the line takes no column of its own.
        let shift = usize::from(from > 0 && line[..from].ends_with('='));
        let mut chords = Vec::new();
        let mut faults = Vec::new();
        let mut times = 1;
        let (mut place, mut counted) = (0, 0);
        for token in tokens {
            // Counted along, so that a long line takes no longer than its length.
            place += line[counted..token.bytes.start].chars().count();
            counted = token.bytes.start;
            match &token.kind {
                Kind::Chords(found) => chords.extend(found.iter().map(|(bytes, column, chord)| Placed {
                    column: column.saturating_sub(shift),
                    chord: *chord,
                    bytes: bytes.clone(),
                })),
                Kind::Times(said) => times = *said,
                Kind::Filler => {}
                Kind::Word => {
                    let word = &line[token.bytes.clone()];
                    if let Some(chord) = token::small_minor(word, self.naming) {
                        let (column, bytes) = (token.column.saturating_sub(shift), token.bytes.clone());
                        chords.push(Placed { column, chord: Some(chord), bytes });
                    } else if let Err(expected) = Chord::read_in(word, self.naming) {
                        faults.push(ChartFault {
                            line: index,
                            place,
                            found: word.to_owned(),
                            expected: Expected::Chord(expected),
                        });
                    }
                }
            }
        }
        (Content::Chords, chords, times, faults)
    }

    /// Reads words with chords in square brackets; `None` when no bracket holds a chord.
    fn sung(&self, rest: &str, from: usize) -> Option<Found> {
        if !rest.contains('[') {
            return None;
        }
        let mut words = String::new();
        let mut chords = Vec::new();
        let mut column = 0;
        let mut at = 0;
        while let Some(mark) = rest[at..].chars().next() {
            let inner = rest[at..].strip_prefix('[').and_then(bracket);
            let chord = inner.and_then(|inner| self.bracketed(inner));
            if let (Some(inner), Some(chord)) = (inner, chord) {
                let start = from + at + 1;
                chords.push(Placed { column, chord, bytes: start..start + inner.len() });
                at += inner.len() + 2;
                continue;
            }
            words.push(mark);
            column += 1;
            at += mark.len_utf8();
        }
        if chords.is_empty() {
            return None;
        }
        if words.trim().is_empty() {
            return Some((Content::Chords, chords, 1, Vec::new()));
        }
        Some((Content::Sung(words), chords, 1, Vec::new()))
    }

    fn bracketed(&self, inner: &str) -> Option<Option<Chord>> {
        if matches!(inner, "N.C." | "N.C" | "NC") {
            return Some(None);
        }
        if !inner.starts_with(char::is_uppercase) {
            return token::small_minor(inner, self.naming).map(Some);
        }
        Chord::read_in(inner, self.naming).ok().map(Some)
    }
}

/// Returns what stands before a closing bracket that is near enough for a chord.
fn bracket(inner: &str) -> Option<&str> {
    let end = inner.bytes().take(MOST_CHORD_BYTES + 1).position(|byte| byte == b']')?;
    Some(&inner[..end])
}

/// Tells whether a line draws fret numbers on a string: mostly dashes and digits.
fn is_tab(text: &str) -> bool {
    let dashes = text.chars().filter(|&mark| mark == '-').count();
    if dashes < 4 {
        return false;
    }
    let drawn = text.chars().filter(|mark| "-|0123456789hpbrxs/\\~^()<>* ".contains(*mark)).count();
    let whole = text.chars().count();
    let has_string = text.contains('|') || text.chars().any(|mark| mark.is_ascii_digit());
    has_string && drawn * 10 >= whole * 8
}
