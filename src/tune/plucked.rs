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
/// Notes keep to a step when the length of their mean direction around it is at least this much of the longest it can be:
/// a spread of about a tenth of the step (by the normal distribution wrapped around a circle, exp(−2π²s²) for a spread of s
/// steps).
const KEPT_SHARE: f64 = 0.8;

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
    /// How fast the phone clicked: 20 to 400 quarters a minute.
    pub tempo: Tempo,
    /// The part of a quarter that places are rounded to, above zero: 1/2 for eighths, 1/3 for triplets.
    pub part: Quarters,
    /// The metre.
    pub metre: Metre,
    /// The key, which spells the notes.
    pub key: TuneKey,
    /// The frequency of A4.
    pub a4: ReferencePitch,
}

/// A note in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlacedNote {
    /// Where it begins, in quarters from the first bar.
    pub at: Quarters,
    /// What sounds.
    pub pitch: Pitch,
    /// Pitch and place are sure; else they are to be looked at again.
    pub is_sure: bool,
}

/// A tune that was written down.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenDown {
    /// The tune.
    pub tune: Tune,
    /// Where notes begin whose pitch or place is not sure, in quarters from the first bar, to be looked at again.
    pub unsure: Vec<Quarters>,
}

impl Grid {
    /// The seconds of a part.
    fn part_s(&self) -> f64 {
        let part = if self.part > Quarters::ZERO { self.part } else { Quarters::ONE };
        part.to_f64() * 60.0 / self.tempo.quarters_per_minute().clamp(20.0, 400.0)
    }
}

/// Writes plucked notes down, as [`place_notes`] places them.
#[must_use]
pub fn write_down(plucked: &[PluckedNote], grid: &Grid) -> WrittenDown {
    let placed = place_notes(plucked, grid);
    let unsure = placed.iter().filter(|note| !note.is_sure).map(|note| note.at).collect();
    WrittenDown { tune: placed_tune(&placed, grid), unsure }
}

/// Places plucked notes. Notes before half a part ahead of the first bar belong to the count-in and are left out; of several
/// that fall on one place the first is kept, and is not sure.
#[must_use]
pub fn place_notes(plucked: &[PluckedNote], grid: &Grid) -> Vec<PlacedNote> {
    let mut places: Vec<PlacedNote> = Vec::new();
    let part = if grid.part > Quarters::ZERO { grid.part } else { Quarters::ONE };
    for note in plucked {
        let parts = (note.at_s - grid.start_s) / grid.part_s();
        let Some((at, off)) = rounded(parts).and_then(|(count, off)| Some((part.times(count, 1)?, off))) else {
            continue;
        };
        let Some((pitch, cents)) = nearest(note.frequency, grid.a4) else { continue };
        if let Some(last) = places.last_mut().filter(|last| last.at >= at) {
            last.is_sure = false;
            continue;
        }
        places.push(PlacedNote { at, pitch, is_sure: off.abs() <= SURE_SHARE && cents.abs() <= SURE_CENTS });
    }
    places
}

/// Makes a tune of notes in their places, in order: each until the next, the last to the end of its bar.
#[must_use]
pub fn placed_tune(placed: &[PlacedNote], grid: &Grid) -> Tune {
    Tune { tempo: Some(grid.tempo), bars: bars(placed, grid), ..Tune::default() }
}

/// Returns by how much plucked notes come late all together, in seconds: what a sound takes from the loudspeaker's click
/// to the player, and from the string to the recording. It is the circular mean of their distances from the beats, halves
/// of beats or parts, whichever are the longest that the notes keep to; a quarter of that may be early. 0 where they keep
/// to none.
#[must_use]
pub fn common_delay(plucked: &[PluckedNote], grid: &Grid) -> f64 {
    let part_s = grid.part_s();
    let beat_s = 60.0 / f64::from(grid.tempo.per_minute.max(1));
    let steps = [beat_s, beat_s / 2.0, part_s].into_iter().filter(|step| *step >= part_s - 1e-9);
    for step_s in steps {
        let turns = plucked.iter().map(|note| std::f64::consts::TAU * (note.at_s - grid.start_s) / step_s);
        let (sine, cosine) = turns.fold((0.0, 0.0), |(sine, cosine), turn| (sine + turn.sin(), cosine + turn.cos()));
        let kept = sine.hypot(cosine);
        if plucked.len() > 1 && kept >= KEPT_SHARE * plucked.iter().map(|_| 1.0).sum::<f64>() {
            let late = sine.atan2(cosine) / std::f64::consts::TAU;
            return if late < -0.25 { late + 1.0 } else { late } * step_s;
        }
    }
    0.0
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
fn bars(places: &[PlacedNote], grid: &Grid) -> Vec<Bar> {
    let spelled = |pitch: Pitch| {
        let in_key = grid.key.key.and_then(|key| SpelledPitch::of_pitch(pitch, key.note_of(pitch.class())));
        in_key.unwrap_or_else(|| SpelledPitch::by_choice(pitch, crate::theory::SpellingChoice::Customary))
    };
    let first = places.first().map(|place| (Quarters::ZERO, place.at, None));
    let lasting = places
        .iter()
        .enumerate()
        .map(|(index, place)| (place.at, end_of(places, index, grid.metre), Some(spelled(place.pitch))));
    let notes = first.into_iter().chain(lasting).map(|(at, end, pitch)| (end - at, pitch));
    in_bars(notes, grid.metre, grid.key)
}

/// Returns where a note of several in their places ends: where the next one begins, or with its bar.
#[must_use]
pub fn end_of(places: &[PlacedNote], index: usize, metre: Metre) -> Quarters {
    let whole = metre.bar_length().unwrap_or(Quarters::ONE.times(4, 1).unwrap_or(Quarters::ONE));
    let next = places.get(index + 1).map(|next| next.at);
    let at = places.get(index).map_or(Quarters::ZERO, |place| place.at);
    next.unwrap_or_else(|| whole.times(at.whole_steps(whole) + 1, 1).unwrap_or(at + whole))
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
