//! A tune as it is played: repeats and endings unfolded, ties joined.

use crate::theory::{Chord, Pitch, SpelledPitch};

use super::fault::TuneFault;
use super::model::{Bar, Metre, Tune};
use super::quarters::Quarters;

/// The most bars that are played: an hour of most tunes.
pub const MOST_PLAYED_BARS: usize = 2_000;

/// A tune as it is played from its first note to its last.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Played {
    /// The bars in the order they are played.
    pub bars: Vec<PlayedBar>,
    /// The notes, tied ones joined, rests left out.
    pub notes: Vec<PlayedNote>,
    /// The chords, each until the next.
    pub chords: Vec<PlayedChord>,
    /// How long it lasts.
    pub length: Quarters,
}

/// A bar as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedBar {
    /// Which bar of the tune as written.
    pub written: usize,
    /// Its number as played: 0 for a pickup, 1 for the first whole bar.
    pub number: usize,
    /// Where it begins.
    pub at: Quarters,
    /// How long it lasts.
    pub length: Quarters,
    /// Where in the metre it begins: above zero for a pickup, or the second half of a bar that a repeat has parted.
    pub offset: Quarters,
    /// Its metre.
    pub metre: Metre,
}

/// A note as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedNote {
    /// Where it begins.
    pub at: Quarters,
    /// How long it sounds.
    pub length: Quarters,
    /// What sounds.
    pub pitch: SpelledPitch,
    /// Which of the bars as played it begins in.
    pub bar: usize,
}

/// A chord as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedChord {
    /// Where it begins.
    pub at: Quarters,
    /// Which; `None` for none.
    pub chord: Option<Chord>,
}

impl Played {
    /// Returns the bar that is played at a place: its index; the last one beyond the end.
    #[must_use]
    pub fn bar_at(&self, at: Quarters) -> usize {
        self.bars.partition_point(|bar| bar.at <= at).saturating_sub(1)
    }

    /// Returns the chord at a place.
    #[must_use]
    pub fn chord_at(&self, at: Quarters) -> Option<Chord> {
        let next = self.chords.partition_point(|mark| mark.at <= at);
        self.chords.get(next.checked_sub(1)?)?.chord
    }

    /// Returns bar and beat of a place as players count: the bar's number as played, and the beat from 1, exact.
    #[must_use]
    pub fn bar_and_beat(&self, at: Quarters) -> (usize, Quarters) {
        let Some(bar) = self.bars.get(self.bar_at(at)) else { return (0, Quarters::ONE) };
        let (numerator, denominator) = bar.metre.beat().fraction();
        let beats = (at - bar.at + bar.offset).times(denominator, numerator).unwrap_or_default();
        (bar.number, beats + Quarters::ONE)
    }

    /// Returns the lowest and the highest pitch.
    #[must_use]
    pub fn range(&self) -> Option<(Pitch, Pitch)> {
        let pitches = || self.notes.iter().map(|note| note.pitch.pitch());
        Some((pitches().min()?, pitches().max()?))
    }
}

impl Tune {
    /// Plays the tune out: repeats and endings unfolded, tied notes joined.
    ///
    /// A repeat without its beginning goes back to the start of the tune or of what follows the last repeat; an ending
    /// is played on the passes it names, and what stands after the last one once. A chord lasts until the next one.
    ///
    /// # Errors
    /// When it is longer than [`MOST_PLAYED_BARS`].
    pub fn played(&self) -> Result<Played, TuneFault> {
        let order = self.order()?;
        let mut played = Played::default();
        let mut number = 0;
        let mut open: Option<usize> = None;
        for &written in &order {
            let bar = &self.bars[written];
            let length = bar.length();
            let before = played.bars.last().copied();
            let offset = offset_of(bar, length, before.as_ref());
            // The second half of a parted bar keeps its number, and so does a pickup that stands alone.
            let goes_on = offset > Quarters::ZERO;
            if !goes_on {
                number += 1;
            }
            let at = played.length;
            played.bars.push(PlayedBar { written, number, at, length, offset, metre: bar.metre });
            let index = played.bars.len() - 1;
            for mark in &bar.chords {
                let next = PlayedChord { at: at + mark.at, chord: mark.chord };
                if played.chords.last().is_none_or(|last| last.chord != next.chord) {
                    played.chords.push(next);
                }
            }
            let mut place = at;
            for note in &bar.notes {
                match (note.pitch, open.and_then(|open| played.notes.get_mut(open))) {
                    (Some(pitch), Some(last))
                        if last.pitch.pitch() == pitch.pitch() && last.at + last.length == place =>
                    {
                        last.length = last.length + note.length;
                    }
                    (Some(pitch), _) => {
                        played.notes.push(PlayedNote { at: place, length: note.length, pitch, bar: index });
                    }
                    (None, _) => {}
                }
                open = (note.is_tied && note.pitch.is_some()).then(|| played.notes.len() - 1);
                place = place + note.length;
            }
            played.length = at + length;
        }
        Ok(played)
    }

    /// Returns the bars in the order they are played.
    fn order(&self) -> Result<Vec<usize>, TuneFault> {
        let mut order = Vec::new();
        let mut part = Part::from(0, self);
        let mut index = 0;
        while let Some(bar) = self.bars.get(index) {
            if bar.starts_repeat && index != part.start {
                part = Part::from(index, self);
            }
            if !bar.endings.is_empty() {
                part.is_in_ending = true;
                part.is_left_out = !bar.endings.contains(&part.pass);
            }
            if !part.is_left_out {
                if order.len() >= MOST_PLAYED_BARS {
                    let what = "bars with its repeats played out";
                    return Err(TuneFault::TooLarge { what, most: MOST_PLAYED_BARS });
                }
                order.push(index);
            }
            let next_is_ending = self.bars.get(index + 1).is_some_and(|next| !next.endings.is_empty());
            let goes_back = bar.ends_repeat > 1 || part.is_in_ending && next_is_ending;
            if goes_back && !part.is_left_out && part.pass < part.by_endings.max(bar.ends_repeat) {
                part.pass += 1;
                (part.is_in_ending, part.is_left_out) = (false, false);
                index = part.start;
                continue;
            }
            // After the last pass what follows begins anew, unless another ending follows.
            let is_over = bar.ends_repeat > 1 || bar.ends_part && part.is_in_ending;
            if is_over && !next_is_ending {
                part = Part::from(index + 1, self);
            }
            index += 1;
        }
        Ok(order)
    }
}

/// A part that may be repeated, while it is played.
#[derive(Clone, Copy, Debug)]
struct Part {
    start: usize,
    /// From 1.
    pass: u8,
    /// The highest pass an ending names; 0 without endings.
    by_endings: u8,
    is_in_ending: bool,
    /// Whether the bars now belong to an ending of another pass.
    is_left_out: bool,
}

impl Part {
    fn from(start: usize, tune: &Tune) -> Self {
        let mut by_endings = 0;
        for (index, bar) in tune.bars.iter().enumerate().skip(start) {
            if bar.starts_repeat && index > start {
                break;
            }
            by_endings = bar.endings.iter().copied().fold(by_endings, u8::max);
            let next_is_ending = tune.bars.get(index + 1).is_some_and(|next| !next.endings.is_empty());
            if bar.ends_repeat > 1 && !next_is_ending {
                break;
            }
        }
        Self { start, pass: 1, by_endings, is_in_ending: false, is_left_out: false }
    }
}

/// Returns where in the metre a bar begins.
fn offset_of(bar: &Bar, length: Quarters, before: Option<&PlayedBar>) -> Quarters {
    let Some(whole) = bar.metre.bar_length().filter(|whole| length < *whole) else { return Quarters::ZERO };
    match before {
        // A pickup ends where the first whole bar begins.
        None => whole - length,
        Some(before) => {
            let end = before.offset + before.length;
            let is_rest_of_it = before.metre == bar.metre && end < whole && end + length <= whole;
            if is_rest_of_it { end } else { Quarters::ZERO }
        }
    }
}
