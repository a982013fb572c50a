//! The words of a line: which of them are chords.

use std::ops::Range;

use crate::theory::{Chord, Naming};

/// How far apart tab stops lie, in columns.
const TAB_STOP: usize = 8;

/// How long a chord symbol may be, in bytes.
pub(super) const MOST_CHORD_BYTES: usize = 24;

/// A word of a line and what it was understood to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Token {
    /// Where it stands in the line, in bytes.
    pub(super) bytes: Range<usize>,
    /// The column it begins at.
    pub(super) column: usize,
    /// What it is.
    pub(super) kind: Kind,
}

/// What a word is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Chords, each with its bytes and column; more than one where they are joined by dashes.
    Chords(Vec<(Range<usize>, usize, Option<Chord>)>),
    /// Nothing that is read: dashes, dots, `/` and the like between chords.
    Filler,
    /// How often the line is played.
    Times(u8),
    /// A word.
    Word,
}

/// Returns the column after `mark`, which begins at `column`.
pub(super) const fn after(column: usize, mark: char) -> usize {
    if mark == '\t' { (column / TAB_STOP + 1) * TAB_STOP } else { column + 1 }
}

/// Splits a line into words. `from` is the byte to begin at, `column` its column.
pub(super) fn tokens(line: &str, from: usize, column: usize, naming: Naming) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = column;
    let mut begun: Option<(usize, usize)> = None;
    for (byte, mark) in line[from..].char_indices().map(|(byte, mark)| (from + byte, mark)) {
        match (mark.is_whitespace(), begun) {
            (true, Some((start, column))) => {
                found.push(token(line, start..byte, column, naming));
                begun = None;
            }
            (false, None) => begun = Some((byte, at)),
            _ => {}
        }
        at = after(at, mark);
    }
    if let Some((start, column)) = begun {
        found.push(token(line, start..line.len(), column, naming));
    }
    found
}

fn token(line: &str, bytes: Range<usize>, column: usize, naming: Naming) -> Token {
    let word = &line[bytes.clone()];
    let kind = match (chords(word, bytes.start, column, naming), times(word)) {
        (Some(chords), _) => Kind::Chords(chords),
        (None, Some(times)) => Kind::Times(times),
        (None, None) if is_filler(word) => Kind::Filler,
        (None, None) => Kind::Word,
    };
    Token { bytes, column, kind }
}

/// Tells whether a word says nothing by itself: strokes, dashes, dots, arrows.
fn is_filler(word: &str) -> bool {
    word.chars().all(|mark| "/\\-–—―.…·,;:*~%|>→()".contains(mark))
}

/// Reads how often something is played: `x2`, `2x`, `(x3)`, `×2`, from 2 to 16.
pub(super) fn times(word: &str) -> Option<u8> {
    let bare = word.trim_matches(|mark| "()[]:,.".contains(mark));
    let digits = bare.strip_prefix(['x', 'X', '×']).or_else(|| bare.strip_suffix(['x', 'X', '×']))?;
    let times = digits.parse().ok()?;
    (2..=super::Chart::MOST_TIMES).contains(&times).then_some(times)
}

type PlacedChord = (Range<usize>, usize, Option<Chord>);

/// Reads a word as chords: one, several joined by dashes, or silence; with brackets, commas and the like around it.
fn chords(word: &str, from: usize, column: usize, naming: Naming) -> Option<Vec<PlacedChord>> {
    if let Some(found) = one_chord(word, naming) {
        return Some(vec![(from..from + word.len(), column, found)]);
    }
    let bare = word.trim_start_matches(['(', '[', '{', '|']);
    let before = word.len() - bare.len();
    // A closing bracket may be part of a suffix, as in 7(b9).
    let bare = [")]}|,;:.*", ",;:.*|"].map(|ends| bare.trim_end_matches(|mark| ends.contains(mark)));
    for bare in bare {
        if let Some(found) = one_chord(bare, naming) {
            let start = from + before;
            return Some(vec![(start..start + bare.len(), column + before, found)]);
        }
    }
    joined(bare[0], from + before, column + before, naming)
}

/// Reads chords joined by dashes, commas or arrows.
fn joined(word: &str, from: usize, column: usize, naming: Naming) -> Option<Vec<PlacedChord>> {
    let mut found = Vec::new();
    let mut start = 0;
    let mut at = column;
    for (byte, mark) in word.char_indices().chain([(word.len(), ' ')]) {
        if byte == word.len() || "-–—>→,".contains(mark) {
            let part = &word[start..byte];
            if !part.is_empty() {
                found.push((from + start..from + byte, at, one_chord(part, naming)?));
            }
            at += part.chars().count() + 1;
            start = byte + mark.len_utf8();
        }
    }
    (found.len() > 1).then_some(found)
}

/// Reads a word as one chord or as silence. A chord begins with a capital letter, so that words are not taken for it.
fn one_chord(word: &str, naming: Naming) -> Option<Option<Chord>> {
    if matches!(word, "N.C." | "N.C" | "NC" | "n.c.") {
        return Some(None);
    }
    if !word.starts_with(char::is_uppercase) || word.len() > MOST_CHORD_BYTES {
        return None;
    }
    Chord::read_in(word, naming).ok().map(Some)
}

/// Tells whether a word that is no chord is written like one: a letter that names a note in some custom, and signs with a
/// digit or an accidental among them, such as `H7` read in English.
pub(super) fn is_like_a_chord(word: &str) -> bool {
    let mut marks = word.chars();
    let is_root = marks.next().is_some_and(|mark| ('A'..='H').contains(&mark));
    let mut rest = marks.peekable();
    is_root
        && word.len() <= MOST_CHORD_BYTES
        && rest.peek().is_some_and(|&mark| "0123456789#♯♭bmsad".contains(mark))
        && word.contains(|mark: char| mark.is_ascii_digit() || "#♯♭".contains(mark))
        && rest.all(|mark| "0123456789#♯♭+°øΔ()/,".contains(mark) || mark.is_ascii_lowercase())
}

/// Reads a German minor chord as songbooks print it: a small letter, `a`, `fis`, `h7`. Common practice, no source.
pub(super) fn small_minor(word: &str, naming: Naming) -> Option<Chord> {
    if naming != Naming::German || !word.starts_with(|mark: char| mark.is_ascii_lowercase()) || word.len() > 12 {
        return None;
    }
    let reading = naming.readings(word).into_iter().find(|reading| {
        let rest = &word[reading.bytes..];
        rest.is_empty() || rest == "7" || rest == "6" || rest == "9"
    })?;
    let (root, rest) = word.split_at(reading.bytes);
    let mut capital = root.to_owned();
    capital[..1].make_ascii_uppercase();
    Chord::read_in(&format!("{capital}m{rest}"), naming).ok()
}
