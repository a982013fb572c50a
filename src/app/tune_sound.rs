//! An arrangement as plucked strings, and plucked strings as the notes of a tune.

use crate::arrange::{Arrangement, Sounding};
use crate::instrument::{Catalog, CourseIndex, Instrument, Stringing};
use crate::sound::{Listening, SampleRate, Strike, Tone, Tracker, find_plucks};
use crate::theory::{Hertz, ReferencePitch};
use crate::tune::{PluckedNote, Quarters};

use super::string_make;

/// How an arrangement is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TuneHearing {
    /// How fast, in quarters a minute, 10 to 1000.
    pub quarters_per_minute: f64,
    /// Where it begins, as played.
    pub from: Quarters,
    /// Where it ends.
    pub to: Quarters,
    /// The peak of each melody note, 0 to 1; 0 leaves the melody out.
    pub melody: f64,
    /// The peak of each of the thumb's notes and the inner ones, 0 to 1; 0 leaves them out.
    pub thumb: f64,
}

impl TuneHearing {
    /// The whole arrangement at a speed, both voices, the melody the louder one.
    #[must_use]
    pub fn whole(arrangement: &Arrangement, quarters_per_minute: f64) -> Self {
        let to = arrangement.slices.last().map_or(Quarters::ZERO, |slice| slice.at + slice.length);
        Self { quarters_per_minute, from: Quarters::ZERO, to, melody: 0.3, thumb: 0.22 }
    }

    /// Returns how many seconds pass from the beginning to a place.
    #[must_use]
    pub fn seconds_to(&self, at: Quarters) -> f64 {
        (at - self.from).to_f64() * 60.0 / self.quarters_per_minute.clamp(10.0, 1000.0)
    }
}

/// Returns how a course sounds as it is strung: by its first string, as long as the player says it is. One that is not
/// known sounds as the usual one would; `None` where there is no such course.
#[must_use]
pub(super) fn string_tone(
    instrument: &Instrument,
    strings: &Stringing,
    course: CourseIndex,
    frequency: Hertz,
) -> Option<Tone> {
    let usual = Catalog::bundled().strings_of(instrument).strings();
    let first = |on: &Stringing| on.courses().get(course.from_lowest_index())?.first().copied().flatten();
    let on = first(strings).or_else(|| first(usual))?;
    let scale_mm = strings.scale_mm().unwrap_or_else(|| instrument.scale_mm());
    Some(Tone::of_string(string_make(on.gauge, on.material), on.gauge.diameter_mm(), frequency, scale_mm))
}

/// Returns the plucks of an arrangement, each held for as long as it sounds on; what lies outside the stretch that is
/// heard is left out, and what begins before it too.
#[must_use]
pub fn tune_strikes(
    arrangement: &Arrangement,
    instrument: &Instrument,
    strings: &Stringing,
    a4: ReferencePitch,
    hearing: &TuneHearing,
) -> Vec<Strike> {
    let slices = &arrangement.slices;
    let mut found = Vec::new();
    for (index, slice) in slices.iter().enumerate() {
        if slice.at < hearing.from || slice.at >= hearing.to {
            continue;
        }
        // A note ends where the next moment neither begins it anew nor lets it sound on.
        let end = |of: &dyn Fn(&crate::arrange::ArrangedSlice) -> Option<Sounding>| {
            let on = slices[index + 1..].iter().take_while(|next| of(next).is_some_and(|note| !note.starts));
            slice.at + slice.length + on.map(|next| next.length).sum()
        };
        let melody = slice.melody.map(|note| (note, hearing.melody, end(&|next| next.melody)));
        let bass = slice.bass.map(|note| (note, hearing.thumb, end(&|next| next.bass)));
        let inner = slice.inner.iter().map(|note| (*note, hearing.thumb, slice.at + slice.length));
        for (note, level, end) in melody.into_iter().chain(bass).chain(inner) {
            let course = note.position.course;
            if !note.starts || level <= 0.0 {
                continue;
            }
            let frequency = a4.frequency(note.pitch);
            let Some(tone) = string_tone(instrument, strings, course, frequency) else { continue };
            found.push(Strike {
                at_s: hearing.seconds_to(slice.at),
                level,
                stop_at_s: Some(hearing.seconds_to(end.min(hearing.to))),
                ..Strike::new(frequency, tone, course.player_number(instrument.courses().len()))
            });
        }
    }
    found
}

/// How soon after a pluck a pitch is believed, in seconds: before that the pluck itself sounds.
const BELIEVED_AFTER_S: f64 = 0.06;
/// A note is read by itself, after so much silence, so that what rang before is no part of it, in seconds.
const BEFORE_S: f64 = 0.1;
/// What of a note's end is left to the next pluck, and what of its beginning to its own, in seconds.
const SPARED_S: f64 = 0.01;
/// A note is read for no longer than this, in seconds.
const LONGEST_S: f64 = 1.0;

/// Returns the notes that were plucked in a recording, one after the other: each from its pluck on, with the middle of the
/// pitches read of it. A pluck of which no pitch is read is none.
#[must_use]
pub fn plucked_notes(samples: &[f32], rate: SampleRate) -> Vec<PluckedNote> {
    let plucks = find_plucks(samples, rate);
    let ends = plucks.iter().skip(1).copied().chain([f64::INFINITY]);
    plucks
        .iter()
        .zip(ends)
        .filter_map(|(&at_s, end_s)| {
            let end_s = (end_s - SPARED_S).min(at_s + LONGEST_S);
            let from = rate.samples_in((at_s - SPARED_S).max(0.0));
            let to = rate.samples_in(end_s).min(samples.len());
            let mut alone = vec![0.0; rate.samples_in(BEFORE_S)];
            alone.extend_from_slice(samples.get(from..to)?);
            let mut readings = Vec::new();
            Tracker::new(rate, Listening::default()).push(&alone, &mut readings);
            let heard = |least_s: f64| {
                let mut pitches: Vec<Hertz> = readings
                    .iter()
                    .filter(|reading| reading.at_s >= BEFORE_S + SPARED_S + least_s)
                    .filter_map(|reading| reading.heard.map(|heard| heard.frequency))
                    .collect();
                pitches.sort_by(|one, other| one.get().total_cmp(&other.get()));
                pitches.get(pitches.len() / 2).copied()
            };
            let frequency = heard(BELIEVED_AFTER_S).or_else(|| heard(0.0))?;
            Some(PluckedNote { at_s, frequency })
        })
        .collect()
}
