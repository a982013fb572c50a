//! ABC 2.1 (abcnotation.com/wiki/abc:standard:v2.1, December 2011): the part of it that tunes use, read and written.
//!
//! A file holds tunes parted by empty lines: a header of fields, the last of them `K:`, then lines of music. Read are
//! notes, accidentals, octaves, lengths, rests, ties, tuplets, broken rhythm, bars, repeats, endings, key and metre
//! changes in lines and within them, chord symbols. Skipped and said: grace notes, words, voices but the first, notes
//! below the highest of several at once. Decorations, slurs and annotations change no note and go without a word.

mod body;
mod fields;
mod write;

use std::ops::ControlFlow;

use super::fault::TuneFault;
use super::model::{Bar, ChordMark, TuneNote};
use super::read::TuneRead;
use body::Body;
use fields::Header;

pub use write::write_abc;

/// The most memory that the tunes of one text are kept in, in bytes: some 15,000 tunes of eight bars.
const MOST_HELD: usize = 40 * 1024 * 1024;

/// Reads all tunes of a text. A tune that breaks off in the middle has its fault beside what could be read; a text
/// without any gives an empty list. Of more tunes than 40 MB of memory hold, the first are kept, and an empty one at the end
/// has the fault.
#[must_use]
pub fn read_abc(text: &str) -> Vec<TuneRead> {
    let (mut tunes, mut held) = (Vec::new(), 0);
    each_abc(text, &mut |read| {
        held += held_bytes(&read);
        if held > MOST_HELD {
            let fault = TuneFault::TooLarge { what: "bytes of notes in its tunes", most: MOST_HELD };
            tunes.push(TuneRead { fault: Some(fault), ..TuneRead::default() });
            return ControlFlow::Break(());
        }
        tunes.push(read);
        ControlFlow::Continue(())
    });
    tunes
}

/// Returns about how many bytes a tune takes in memory.
fn held_bytes(read: &TuneRead) -> usize {
    // What the allocator keeps beside each piece.
    const PIECE: usize = 16;
    let of_bar = |bar: &Bar| {
        let inner = bar.notes.capacity() * size_of::<TuneNote>() + bar.chords.capacity() * size_of::<ChordMark>();
        inner + bar.endings.capacity() + 3 * PIECE
    };
    let bars = read.tune.bars.capacity() * size_of::<Bar>() + read.tune.bars.iter().map(of_bar).sum::<usize>();
    // The list of tunes grows to twice what it holds.
    2 * size_of::<TuneRead>() + read.tune.title.len() + PIECE + bars
}

/// Reads the tunes of a text one by one, for as long as they are taken.
pub fn each_abc(text: &str, take: &mut dyn FnMut(TuneRead) -> ControlFlow<()>) {
    let mut current: Option<Reading> = None;
    let mut number = 0;
    for line in text.split('\n') {
        number += 1;
        // A lone carriage return ends a line too; several lines of it count as one place.
        for line in line.trim_end_matches('\r').split('\r') {
            let is_empty = line.trim().is_empty();
            let is_end = is_empty || starts_tune(line) && current.as_ref().is_some_and(Reading::has_begun);
            if let Some(read) = current.take_if(|_| is_end).and_then(Reading::finish)
                && take(read).is_break()
            {
                return;
            }
            if !is_empty {
                current.get_or_insert_with(Reading::default).line(line, number);
            }
        }
    }
    if let Some(read) = current.take().and_then(Reading::finish) {
        let _ = take(read);
    }
}

fn starts_tune(line: &str) -> bool {
    line.starts_with("X:")
}

/// A tune while its lines come in.
#[derive(Debug, Default)]
struct Reading {
    header: Header,
    body: Option<Body>,
    fault: Option<TuneFault>,
    /// Whether a field `X:`, `T:` or `K:` has been seen: without one the lines are no tune but free text.
    is_tune: bool,
}

impl Reading {
    const fn has_begun(&self) -> bool {
        self.is_tune || self.body.is_some()
    }

    fn line(&mut self, line: &str, number: usize) {
        if self.fault.is_some() {
            return;
        }
        if let Some(directive) = line.strip_prefix("%%") {
            match &mut self.body {
                Some(body) => body.directive(directive),
                None => self.header.directive(directive),
            }
            return;
        }
        let line = without_comment(line);
        if line.trim().is_empty() {
            return;
        }
        let field = as_field(line);
        let result = match (&mut self.body, field) {
            (Some(body), Some((name, value))) => body.field(name, value, number, 3),
            (Some(body), None) => body.music(line, number),
            (None, Some(('K', value))) => {
                self.is_tune = true;
                Body::new(&mut self.header, value, number).map(|body| self.body = Some(body))
            }
            (None, Some((name, value))) => {
                self.is_tune |= matches!(name, 'X' | 'T');
                self.header.field(name, value, number)
            }
            (None, None) if self.is_tune => {
                Err(TuneFault::at(number, 1, line, "a field such as K: that tells the key and ends the head"))
            }
            // Free text between the tunes of a file.
            (None, None) => Ok(()),
        };
        self.fault = result.err();
    }

    fn finish(mut self) -> Option<TuneRead> {
        if let Some(body) = self.body.take() {
            let tune = body.finish(std::mem::take(&mut self.header));
            return Some(TuneRead { tune, fault: self.fault });
        }
        let is_tune = self.is_tune;
        let tune = self.header.into_tune();
        is_tune.then_some(TuneRead { tune, fault: self.fault.or(Some(TuneFault::NoTune)) })
    }
}

/// Cuts a comment off: from a percent sign that no backslash precedes and that stands in no quotes.
fn without_comment(line: &str) -> &str {
    let mut is_quoted = false;
    let mut before = b' ';
    for (at, byte) in line.bytes().enumerate() {
        match byte {
            b'"' if before != b'\\' => is_quoted = !is_quoted,
            b'%' if before != b'\\' && !is_quoted => return &line[..at],
            _ => {}
        }
        before = byte;
    }
    // A quote that never closes may hold no comment; one in which the line ends may.
    line
}

/// Parts a line into a field's letter and its value, `None` for a line of music.
fn as_field(line: &str) -> Option<(char, &str)> {
    let bytes = line.as_bytes();
    let is_field = bytes.len() >= 2 && bytes[1] == b':' && (bytes[0].is_ascii_alphabetic() || bytes[0] == b'+');
    is_field.then(|| (char::from(bytes[0]), line[2..].trim()))
}
