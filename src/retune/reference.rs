//! Ways to compare two courses by ear: what each hand does, how exact it is, and how much work.

use crate::instrument::{CourseIndex, Fret, Instrument, Material, PlayedWith};
use crate::theory::{Cents, Hertz, Pitch, ReferencePitch};

use super::beats::{BeatRate, FASTEST_BEAT, SLOWEST_BEAT, cents_per_beat};
use super::comparison::{Match, MatchKind, Sounding, Touch};

/// The highest partial of a plucked string whose beats the ear still follows; two strings that share a partial share
/// its multiples too, and the highest of them beats fastest. From memory: above it plucked partials die in a second.
const HIGHEST_PARTIAL_HEARD: u8 = 6;
/// How far a note stopped at a fret lies from its place: the fret's own place, the string's stretch and the finger's
/// push. From memory; published intonation measurements of good guitars scatter by about this much.
const FRET_ERROR_CENTS: f64 = 3.0;
/// How far a stiff string's partial `n` lies above `n` times its first, over n²: 865.6 · B with B = 5e-5, the middle of
/// the plain guitar strings (B = π²Ed²/(64ρf²L⁴) gives 1.3e-5 to 1.1e-4).
const STIFFNESS_CENTS: f64 = 0.043;
/// How much less surely an octave is heard than a unison, and two octaves than one. From memory.
const OCTAVE_ERROR_CENTS: [f64; 3] = [0.0, 0.5, 1.5];
/// How far a string set to a steady tone sounded with it ends up: 2 cents are told apart when sounded together (Ellis).
const TONE_ERROR_CENTS: f64 = 2.0;
/// How far the guitar as a whole may lie from the phone's pitch without the player knowing: 5 cents, what is told
/// apart between tones heard in turn. A string set to the phone's tone is that much off the strings that stayed.
const STANDING_OFFSET_CENTS: f64 = 5.0;
/// Nearer than this, in cents, two partials count as coinciding: far below what any ear or peg resolves.
const PURE_WITHIN_CENTS: f64 = 1e-6;
/// The highest partial that rings long enough to be listened to while a peg is turned, in hertz: above it a plucked
/// string's partial has died in about a second, sooner on nylon and gut. From memory.
const HIGHEST_LASTING_HZ: [f64; 2] = [1200.0, 900.0];
/// How far a counted rate is off, as a share of it. From memory.
const COUNTING_SHARE: f64 = 0.25;

/// Work, in the same coin as cents²: what a player would give in exactness to be spared it. Set by judgement so that
/// open strings are preferred to harmonics, those to a stopped reference, and that to stopping the string being turned.
mod effort {
    /// A harmonic has to be touched and let go; it rings on while the peg is turned.
    pub(super) const HARMONIC: f64 = 1.0;
    /// The reference is held down with one hand, the other plucks and turns by turns.
    pub(super) const STOPPED_REFERENCE: f64 = 2.0;
    /// The string must be let go for every turn of its peg.
    pub(super) const STOPPED_TUNED: f64 = 6.0;
    /// For each fret up the neck.
    pub(super) const PER_FRET: f64 = 0.1;
    /// For each course between the two.
    pub(super) const PER_COURSE: f64 = 0.1;
    /// A beat has to be counted rather than brought to rest.
    pub(super) const COUNTING: f64 = 2.0;
    /// It is brought to rest though equal temperament wants a beat too slow to hear. What that leaves is no scatter:
    /// along a chain of such ways it adds up one for one, so a way that comes to rest at the right place is preferred
    /// unless the string would have to be let go for every turn of its peg.
    pub(super) const LEFT_STILL: f64 = 9.0;
    /// The phone has to be made to sound.
    pub(super) const TONE: f64 = 2.0;
}

/// Semitones of partials 1 to 5 above the first, to the nearest.
const PARTIAL_SEMITONES: [i16; 5] = [0, 12, 19, 24, 28];
/// The fret over which a string is touched to sound partials 1 to 5 (0: not touched; the fifth lies just below fret 4).
const NODE_FRETS: [u8; 5] = [0, 12, 7, 5, 4];

/// Finds comparisons on one instrument at one reference pitch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ear<'a> {
    pub(super) instrument: &'a Instrument,
    pub(super) a4: ReferencePitch,
    /// The highest partial listened to, in hertz.
    pub(super) highest_lasting_hz: f64,
}

/// A course, the pitch of its lowest string when it is leant on or right, and how far from equal temperament that is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    pub(super) course: CourseIndex,
    pub(super) pitch: Pitch,
    pub(super) offset: Cents,
    /// It stands at its old pitch and will move.
    pub(super) is_old: bool,
}

/// What two sides sound like together when both are right.
struct Heard {
    beats: BeatRate,
    per_beat: Cents,
    lean: Cents,
    /// Listening, tempering that is not counted away, and stiffness, in cents².
    variance: f64,
}

impl<'a> Ear<'a> {
    pub(super) const fn new(instrument: &'a Instrument, material: Material, a4: ReferencePitch) -> Self {
        let [metal, soft] = HIGHEST_LASTING_HZ;
        let highest_lasting_hz = match material {
            Material::Bronze | Material::Nickel | Material::Steel => metal,
            Material::Nylon | Material::Fluorocarbon | Material::Gut => soft,
        };
        Self { instrument, a4, highest_lasting_hz }
    }

    /// Adds to `found` the best comparison of each kind that brings `tuned` right against `reference`; none when no
    /// string, fret or harmonic of one meets the other. Beats too fast to count and partials that die too soon are no
    /// comparison.
    pub(super) fn find_matches(&self, reference: Side, tuned: Side, found: &mut Vec<Match>) {
        let start = found.len();
        let up = (tuned.pitch - reference.pitch).get();
        if up % 12 == 0 && up.abs() <= 24 {
            self.keep(found, start, self.compare(reference, 0, tuned, 0));
        }
        for octave in [0, -12, 12] {
            if let Some(above) = stopped(up + octave).filter(|&above| self.has_stop(reference.course, above)) {
                self.keep(found, start, self.compare(reference, above, tuned, 0));
            }
            if let Some(above) = stopped(-(up + octave)).filter(|&above| self.has_stop(tuned.course, above)) {
                self.keep(found, start, self.compare(reference, 0, tuned, above));
            }
        }
        for n in 1..=5_u8 {
            for m in 1..=5_u8 {
                let meets = PARTIAL_SEMITONES[index(n)] == up + PARTIAL_SEMITONES[index(m)];
                if meets
                    && is_lowest_terms(n, m)
                    && self.has_node(reference.course, n)
                    && self.has_node(tuned.course, m)
                {
                    self.keep(found, start, self.compare_harmonics(reference, n, tuned, m));
                }
            }
        }
    }

    /// Returns the comparison with the phone's tone. When other strings are right already, the guitar as a whole may
    /// lie off the phone's pitch, and the error says so.
    pub(super) fn tone(&self, tuned: Side, others_are_right: bool) -> Match {
        let coinciding = self.frequency(tuned, 0);
        let standing = if others_are_right { STANDING_OFFSET_CENTS } else { 0.0 };
        let per_beat = cents_per_beat(coinciding);
        let listening = listening_cents(per_beat, 1);
        Match {
            kind: MatchKind::Tone,
            reference: None,
            reference_open: None,
            leans_on_old: false,
            tuned: open(tuned.course, 1),
            beats: BeatRate::NONE,
            cents_per_beat: per_beat,
            lean: Cents::ZERO,
            variance: TONE_ERROR_CENTS.powi(2) + standing.powi(2) + listening.powi(2),
            effort: effort::TONE,
        }
    }

    /// Returns how a further string of a course, at `pitch`, is compared with the course's lowest string.
    pub(super) fn within_course(&self, lowest: Side, pitch: Pitch) -> Match {
        let further = Side { pitch, ..lowest };
        let mut found = Vec::new();
        self.find_matches(lowest, further, &mut found);
        let is_free = |side: Sounding| side.touch != Touch::Stopped;
        found.retain(|way| is_free(way.tuned) && way.reference.is_some_and(is_free));
        let best = found.into_iter().min_by(|one, other| one.cost().total_cmp(&other.cost()));
        best.unwrap_or_else(|| self.tone(further, true))
    }

    /// Puts the comparison in `found` from `start` on unless one of its kind there costs no more.
    #[expect(clippy::unused_self, reason = "reads as a step of the search")]
    fn keep(&self, found: &mut Vec<Match>, start: usize, new: Option<Match>) {
        let Some(new) = new else { return };
        match found[start..].iter_mut().find(|old| old.kind == new.kind) {
            Some(old) if new.cost() < old.cost() => *old = new,
            Some(_) => {}
            None => found.push(new),
        }
    }

    /// Tells whether the course can be stopped so many semitones above its open pitch.
    fn has_stop(&self, course: CourseIndex, above_open: u8) -> bool {
        self.instrument.played_with() == PlayedWith::Fingers
            && self.fret_above(course, above_open).is_some_and(|fret| self.instrument.has_fret(fret))
    }

    /// Tells whether partial `number` can be touched on the course: over a fret, so that the place can be named.
    fn has_node(&self, course: CourseIndex, number: u8) -> bool {
        number == 1
            || self.fret_above(course, NODE_FRETS[index(number)]).is_some_and(|fret| self.instrument.has_fret(fret))
    }

    /// Returns the neck's fret so many semitones above the course's own nut.
    fn fret_above(&self, course: CourseIndex, above_open: u8) -> Option<Fret> {
        let start = self.instrument.courses().get(course.from_lowest_index())?.starts_at();
        start.get().checked_add(above_open).map(Fret::new)
    }

    /// Compares a course, stopped or open, with another, stopped or open, a unison or whole octaves apart.
    fn compare(&self, reference: Side, reference_stop: u8, tuned: Side, tuned_stop: u8) -> Option<Match> {
        let sounding_up = (tuned.pitch - reference.pitch).get() + i16::from(tuned_stop) - i16::from(reference_stop);
        let octaves = usize::from(sounding_up.unsigned_abs() / 12).min(2);
        let doubled = [1, 2, 4][octaves];
        let (n, m) = if sounding_up >= 0 { (doubled, 1) } else { (1, doubled) };
        let stops = u8::from(reference_stop > 0) + u8::from(tuned_stop > 0);
        let work = f64::from(u8::from(reference_stop > 0)) * effort::STOPPED_REFERENCE
            + f64::from(u8::from(tuned_stop > 0)) * effort::STOPPED_TUNED;
        let heard = self.hear(self.frequency(reference, reference_stop), n, self.frequency(tuned, tuned_stop), m)?;
        let variance =
            heard.variance + f64::from(stops) * FRET_ERROR_CENTS.powi(2) + OCTAVE_ERROR_CENTS[octaves].powi(2);
        Some(Match {
            kind: if octaves == 0 { MatchKind::Unison } else { MatchKind::Octave },
            reference: Some(self.stop(reference.course, reference_stop, n)),
            reference_open: Some(reference.pitch),
            leans_on_old: reference.is_old,
            tuned: self.stop(tuned.course, tuned_stop, m),
            beats: heard.beats,
            cents_per_beat: heard.per_beat,
            lean: heard.lean,
            variance,
            effort: work + heard.work() + reach(reference.course, reference_stop, tuned.course, tuned_stop),
        })
    }

    /// Compares partial `n` of one open course with partial `m` of another, each touched at its node.
    fn compare_harmonics(&self, reference: Side, n: u8, tuned: Side, m: u8) -> Option<Match> {
        let heard = self.hear(self.frequency(reference, 0), n, self.frequency(tuned, 0), m)?;
        let touched = f64::from(u8::from(n > 1) + u8::from(m > 1));
        Some(Match {
            kind: MatchKind::Harmonic,
            reference: Some(self.harmonic(reference.course, n)),
            reference_open: Some(reference.pitch),
            leans_on_old: reference.is_old,
            tuned: self.harmonic(tuned.course, m),
            beats: heard.beats,
            cents_per_beat: heard.per_beat,
            lean: heard.lean,
            variance: heard.variance,
            effort: touched * effort::HARMONIC
                + heard.work()
                + reach(reference.course, NODE_FRETS[index(n)], tuned.course, NODE_FRETS[index(m)]),
        })
    }

    /// Listens to partial `n` of a string at `reference` and partial `m` of one at `tuned`, which nearly coincide; `None`
    /// where they beat too fast to count or die too soon.
    fn hear(&self, reference: Hertz, n: u8, tuned: Hertz, m: u8) -> Option<Heard> {
        let coinciding = tuned.partial(m);
        let lean = Cents::between(reference.partial(n), coinciding);
        let is_pure = lean.get().abs() < PURE_WITHIN_CENTS;
        let (lean, beats) = match is_pure {
            true => (Cents::ZERO, BeatRate::NONE),
            false if tuned >= reference => (lean, BeatRate::between(reference, tuned, n, m)),
            false => (lean, BeatRate::between(tuned, reference, m, n)),
        };
        if coinciding.get() > self.highest_lasting_hz || beats.abs() > FASTEST_BEAT {
            return None;
        }
        let per_beat = cents_per_beat(coinciding);
        let tempering = if beats.is_countable() { COUNTING_SHARE * lean.get() } else { lean.get() };
        let variance = listening_cents(per_beat, n.max(m)).powi(2)
            + tempering.powi(2)
            + stiffness_variance(n)
            + stiffness_variance(m);
        Some(Heard { beats, per_beat, lean, variance })
    }

    fn frequency(&self, side: Side, stop: u8) -> Hertz {
        self.a4.frequency(side.pitch).shifted(side.offset + Cents::new(100.0 * f64::from(stop)))
    }

    fn stop(&self, course: CourseIndex, above_open: u8, partial: u8) -> Sounding {
        if above_open == 0 {
            return open(course, partial);
        }
        let fret = self.fret_above(course, above_open).unwrap_or_default();
        Sounding { course, fret, partial, touch: Touch::Stopped }
    }

    fn harmonic(&self, course: CourseIndex, partial: u8) -> Sounding {
        if partial == 1 {
            return open(course, partial);
        }
        let fret = self.fret_above(course, NODE_FRETS[index(partial)]).unwrap_or_default();
        Sounding { course, fret, partial, touch: Touch::Harmonic }
    }
}

impl Heard {
    /// Returns what it costs to count the beats, or to leave the two still though they should beat.
    fn work(&self) -> f64 {
        match self.beats {
            BeatRate::NONE => 0.0,
            beats if beats.is_countable() => effort::COUNTING,
            _ => effort::LEFT_STILL,
        }
    }
}

const fn open(course: CourseIndex, partial: u8) -> Sounding {
    Sounding { course, fret: Fret::OPEN, partial, touch: Touch::Open }
}

/// Returns the semitones above open as a place to stop, 1 to 12.
fn stopped(above_open: i16) -> Option<u8> {
    u8::try_from(above_open).ok().filter(|above| (1..=12).contains(above))
}

fn index(partial: u8) -> usize {
    usize::from(partial) - 1
}

/// Tells whether two partials from 1 to 5 have no common divisor and are not both the first.
const fn is_lowest_terms(n: u8, m: u8) -> bool {
    n != m && !matches!((n, m), (2, 4) | (4, 2))
}

/// Returns how far off a course is left when the fastest of the shared partials up to
/// [`HIGHEST_PARTIAL_HEARD`] beats as slowly as can be heard.
fn listening_cents(per_beat: Cents, highest_of_pair: u8) -> f64 {
    let multiple = (HIGHEST_PARTIAL_HEARD / highest_of_pair.max(1)).max(1);
    per_beat.get() * SLOWEST_BEAT.per_second() / f64::from(multiple)
}

fn stiffness_variance(partial: u8) -> f64 {
    let above_first = f64::from(partial).powi(2) - 1.0;
    (STIFFNESS_CENTS * above_first).powi(2)
}

fn reach(one: CourseIndex, one_fret: u8, other: CourseIndex, other_fret: u8) -> f64 {
    let apart = one.from_lowest_index().abs_diff(other.from_lowest_index());
    let apart = f64::from(u8::try_from(apart).unwrap_or(u8::MAX));
    effort::PER_FRET * (f64::from(one_fret) + f64::from(other_fret)) + effort::PER_COURSE * apart
}
