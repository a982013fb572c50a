//! A line with its chords named anew, each kept over its column.

use crate::theory::{Chord, Naming, Note};

use super::line::{ChartLine, Content};
use super::token;

/// Returns the line's text with every note of its chords put through `note` and written by the custom `to`.
///
/// A chord that grows takes its room from the spaces after it, one space always staying; one that shrinks gives it back.
/// So a chord keeps its column wherever the chords before it leave room for it.
pub(super) fn text(line: &ChartLine, to: Naming, note: &mut dyn FnMut(Note) -> Note) -> String {
    let keeps_columns = !matches!(line.content, Content::Sung(_));
    let mut written = String::with_capacity(line.text.len() + 8);
    let mut at = 0;
    // How many columns what follows stands too far to the right.
    let mut owed: i64 = 0;
    for placed in &line.chords {
        let Some(chord) = placed.chord else { continue };
        let between = &line.text[at..placed.bytes.start];
        push_between(between, &mut owed, &mut written);
        let before = &line.text[placed.bytes.clone()];
        let after = symbol(before, chord, to, note);
        if keeps_columns {
            owed += signed(after.chars().count()) - signed(before.chars().count());
        }
        written.push_str(&after);
        at = placed.bytes.end;
    }
    push_between(&line.text[at..], &mut owed, &mut written);
    if at > 0 && line.text[at..].trim().is_empty() && line.text[at..].is_empty() {
        let kept = written.trim_end_matches(' ').len();
        written.truncate(kept);
    }
    written
}

fn signed(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// Writes what stands between two chords, with spaces taken out of or put into its first run of them.
fn push_between(between: &str, owed: &mut i64, written: &mut String) {
    let mut rest = between;
    while let Some(start) = rest.find(' ').filter(|_| *owed != 0) {
        let run = rest[start..].find(|mark| mark != ' ').unwrap_or(rest.len() - start);
        written.push_str(&rest[..start]);
        let wanted = (signed(run) - *owed).max(1);
        *owed -= signed(run) - wanted;
        written.extend(std::iter::repeat_n(' ', usize::try_from(wanted).unwrap_or(1)));
        rest = &rest[start + run..];
    }
    written.push_str(rest);
}

/// Writes a chord as it stood, with its notes named anew: the suffix stays as the player typed it.
fn symbol(before: &str, chord: Chord, to: Naming, note: &mut dyn FnMut(Note) -> Note) -> String {
    let root = note(chord.root()).typed(to);
    let whole = |suffix: &str, bass: Option<Note>| {
        let root = if to == Naming::Solfege { capital(&root) } else { root.clone() };
        bass.map_or_else(|| format!("{root}{suffix}"), |bass| format!("{root}{suffix}/{}", bass.typed(to)))
    };
    let bass = chord.slash_bass().map(&mut *note);
    // Which custom the symbol was written by is known by which of them reads it so.
    for from in [to, Naming::English, Naming::German, Naming::Solfege] {
        if before.starts_with(|mark: char| mark.is_lowercase()) {
            if token::small_minor(before, from) == Some(chord) {
                let taken = suffix_start(before, chord.root(), from).unwrap_or(before.len());
                let suffix = &before[taken..];
                return if to == Naming::German {
                    format!("{}{suffix}", root.to_lowercase())
                } else {
                    whole(&format!("m{suffix}"), None)
                };
            }
            continue;
        }
        if Chord::read_in(before, from) != Ok(chord) {
            continue;
        }
        let Some(taken) = suffix_start(before, chord.root(), from) else { continue };
        let suffix = &before[taken..];
        let suffix = if bass.is_some() { suffix.rsplit_once('/').map_or(suffix, |(suffix, _)| suffix) } else { suffix };
        return whole(suffix, bass);
    }
    let moved = Chord::new(note(chord.root()), chord.quality());
    bass.map_or(moved, |bass| moved.over(bass)).ascii()
}

fn capital(word: &str) -> String {
    let mut marks = word.chars();
    marks.next().map_or_else(String::new, |first| first.to_uppercase().chain(marks).collect())
}

/// Returns the byte at which the suffix begins when the symbol starts with `root`.
fn suffix_start(symbol: &str, root: Note, naming: Naming) -> Option<usize> {
    let mut readings = naming.readings(symbol);
    readings.retain(|reading| reading.note == root);
    readings
        .iter()
        .map(|reading| reading.bytes)
        .find(|&bytes| Chord::read_in(&format!("C{}", &symbol[bytes..]), naming).is_ok())
        .or_else(|| readings.first().map(|reading| reading.bytes))
}
