//! A tune written down from plucked notes: when they began, to the nearest part of the beat, and what they sounded.
//!
//! A note lasts until the next one begins, since a plucked string rings on; rests are not told apart from ringing.

use crate::theory::{Hertz, Pitch, ReferencePitch, SpelledPitch};

use super::model::{Bar, MOST_BARS, Metre, Tempo, Tune, TuneKey, TuneNote};
use super::quarters::Quarters;

/// A pitch is sure within this distance of a note, in cents: what is further off lies nearly as near to the next.
const SURE_CENTS: f64 = 35.0;
/// A place is sure within this share of the part that places are rounded to.
const SURE_SHARE: f64 = 0.35;

/// A note as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PluckedNote {
    /// When it began, in seconds.
    pub at_s: f64,
    /// What sounded.
    pub frequency: Hertz,
}

/// What plucked notes are written down by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// When the first bar begins, after the count-in, in seconds.
    pub start_s: f64,
    /// How fast the phone clicked, in quarters a minute, 20 to 400.
    pub per_minute: u16,
    /// The part of a quarter that places are rounded to, above zero: 1/2 for eighths, 1/3 for triplets.
    pub part: Quarters,
    /// The metre.
    pub metre: Metre,
    /// The key, which spells the notes.
    pub key: TuneKey,
    /// The frequency of A4.
    pub a4: ReferencePitch,
}

/// A tune that was written down.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenDown {
    /// The tune.
    pub tune: Tune,
    /// Where notes begin whose pitch or place is not sure, in quarters from the first bar, to be looked at again.
    pub unsure: Vec<Quarters>,
}

/// Writes plucked notes down. Notes before half a part ahead of the first bar belong to the count-in and are left out; of
/// several that fall on one place the first is kept, and the place is unsure.
#[must_use]
pub fn write_down(plucked: &[PluckedNote], grid: &Grid) -> WrittenDown {
    let (mut places, mut unsure): (Vec<(Quarters, Pitch)>, Vec<Quarters>) = (Vec::new(), Vec::new());
    let per_second = f64::from(grid.per_minute.clamp(20, 400)) / 60.0;
    let part = if grid.part > Quarters::ZERO { grid.part } else { Quarters::ONE };
    for note in plucked {
        let parts = (note.at_s - grid.start_s) * per_second / part.to_f64();
        let Some((at, off)) = rounded(parts).and_then(|(count, off)| Some((part.times(count, 1)?, off))) else {
            continue;
        };
        let Some((pitch, cents)) = nearest(note.frequency, grid.a4) else { continue };
        if places.last().is_some_and(|last| last.0 >= at) {
            unsure.extend(places.last().map(|last| last.0));
            continue;
        }
        if off.abs() > SURE_SHARE || cents.abs() > SURE_CENTS {
            unsure.push(at);
        }
        places.push((at, pitch));
    }
    unsure.dedup();
    let tempo = Tempo { beat: Quarters::ONE, per_minute: grid.per_minute };
    WrittenDown { tune: Tune { tempo: Some(tempo), bars: bars(&places, grid), ..Tune::default() }, unsure }
}

/// Rounds a number of parts to a whole one, with how far off it was; `None` before the first bar, or beyond all bounds.
fn rounded(parts: f64) -> Option<(i64, f64)> {
    let whole = parts.round();
    if !(0.0..=1_000_000.0).contains(&whole) {
        return None;
    }
    let count = (0..=20).rev().fold(0_i64, |found, bit| {
        let more = found + (1 << bit);
        if f64::from(i32::try_from(more).unwrap_or(i32::MAX)) <= whole { more } else { found }
    });
    Some((count, parts - whole))
}

/// Returns the note nearest to a frequency, and how many cents the frequency is above it.
fn nearest(frequency: Hertz, a4: ReferencePitch) -> Option<(Pitch, f64)> {
    let cents = |pitch: &Pitch| crate::theory::Cents::between(a4.frequency(*pitch), frequency).get();
    let all = (0..=Pitch::HIGHEST.number()).filter_map(Pitch::from_number);
    let best = all.min_by(|one, other| cents(one).abs().total_cmp(&cents(other).abs()))?;
    Some((best, cents(&best)))
}

/// Lays notes into bars: a rest before the first, each until the next, the last to the end of its bar; tied over bar lines.
fn bars(places: &[(Quarters, Pitch)], grid: &Grid) -> Vec<Bar> {
    let whole = grid.metre.bar_length().unwrap_or(Quarters::ONE.times(4, 1).unwrap_or(Quarters::ONE));
    let spelled = |pitch: Pitch| {
        let in_key = grid.key.key.and_then(|key| SpelledPitch::of_pitch(pitch, key.note_of(pitch.class())));
        in_key.unwrap_or_else(|| SpelledPitch::by_choice(pitch, crate::theory::SpellingChoice::Customary))
    };
    let first = places.first().map(|place| (Quarters::ZERO, place.0, None));
    let lasting = places.iter().enumerate().map(|(index, &(at, pitch))| {
        let end = places.get(index + 1).map_or_else(
            || {
                let bars = at.whole_steps(whole) + 1;
                whole.times(bars, 1).unwrap_or(at + whole)
            },
            |next| next.0,
        );
        (at, end, Some(spelled(pitch)))
    });
    let notes = first.into_iter().chain(lasting).map(|(at, end, pitch)| (end - at, pitch));
    in_bars(notes, grid.metre, grid.key)
}

/// Lays notes and rests into bars, one after the other: parted and tied over bar lines. What would need more than
/// [`MOST_BARS`] is left out.
#[must_use]
pub fn in_bars(
    notes: impl IntoIterator<Item = (Quarters, Option<SpelledPitch>)>,
    metre: Metre,
    key: TuneKey,
) -> Vec<Bar> {
    let whole = metre.bar_length().unwrap_or(Quarters::ONE.times(4, 1).unwrap_or(Quarters::ONE));
    let mut bars: Vec<Bar> = Vec::new();
    let mut bar = Bar::new(metre, key);
    let mut room = whole;
    for (length, pitch) in notes {
        let mut left = length;
        while left > Quarters::ZERO && bars.len() < MOST_BARS {
            let length = left.min(room);
            left = left - length;
            room = room - length;
            bar.notes.push(TuneNote { length, pitch, is_tied: pitch.is_some() && left > Quarters::ZERO });
            if room == Quarters::ZERO {
                bars.push(std::mem::replace(&mut bar, Bar::new(metre, key)));
                room = whole;
            }
        }
    }
    if !bar.notes.is_empty() {
        bars.push(bar);
    }
    bars
}
