//! What the phone sounds, as plucks at given times.

use std::sync::Arc;

use crate::app::State;
use crate::app::desk::Desk;
use crate::app::guitar::Stage;
use crate::app::playing::clock_beats;
use crate::app::tune_sound::string_tone;
use crate::instrument::{CourseIndex, Gauge, Material};
use crate::retune::{MatchKind, Sounding, Step, Touch};
use crate::shapes::{Hand, alternating_bass};
use crate::sound::{Strike, StringMake, Tone, Turn, arpeggio, strum, thumb_pattern, wobbling_pair};
use crate::theory::{Cents, Hertz};

use super::watch::stopped_at;

/// How often a single note is plucked again, and how many times, in seconds.
const PLUCKED_EVERY_S: f64 = 2.5;
const PLUCKS: u8 = 4;
/// How long a pair is left ringing, in seconds.
const PAIR_S: f64 = 5.0;
/// From the first string of a strum to the last, between strings of an arpeggio, and a beat of the thumb, in seconds.
const STRUM_S: f64 = 0.12;
const ARPEGGIO_S: f64 = 0.35;
const BEAT_S: f64 = 0.55;
/// How many beats the thumb plays.
const BEATS: u8 = 8;
/// How long the strings of a shape are left ringing after the last is plucked, in seconds.
const RING_S: f64 = 3.0;
/// The pitch of a click in hertz, how loud it is, and how long it sounds, in seconds: quiet, and where a small
/// loudspeaker sounds well. Set by judgement.
const CLICK_HZ: f64 = 1200.0;
const CLICK_LEVEL: f64 = 0.12;
const CLICK_S: f64 = 0.09;
/// The courses of a pair that belong to no string of the instrument.
const FREE_COURSES: (u8, u8) = (200, 201);

/// Something to sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sound {
    /// The pitch that the step's string goes to.
    Target,
    /// What the step's string is compared with.
    Reference,
    /// Both together, as they sound when right.
    Both,
    /// Two notes that wobble as often a second as was chosen.
    Wobble,
    /// Two notes that wobble, slow down and stand still.
    Slowing,
    /// Two notes an octave apart, then the same two as one note: neither wobbles.
    OctaveOff,
    /// The shape shown, strummed.
    Strum,
    /// The shape shown, a string at a time.
    Arpeggio,
    /// The thumb's pattern under the shape shown.
    Thumb,
    /// Told briefly: the string is right.
    Right,
    /// A quiet click on every beat of the song that goes on by itself.
    Click,
    /// The tune that plays.
    Tune,
    /// The moment of a tune that is looked at.
    Moment,
}

/// Plucks to sound once, under a number that tells one score from the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    /// Counted up with every score.
    pub number: u64,
    /// The plucks, in any order.
    pub strikes: Arc<[Strike]>,
}

/// Returns what a string is made of, as far as its sound goes.
#[must_use]
pub const fn string_make(gauge: Gauge, material: Material) -> StringMake {
    match (material, gauge.is_wound()) {
        (Material::Bronze | Material::Nickel | Material::Steel, true) => StringMake::WoundSteel,
        (Material::Bronze | Material::Nickel | Material::Steel, false) => StringMake::PlainSteel,
        (_, true) => StringMake::WoundNylon,
        (_, false) => StringMake::PlainNylon,
    }
}

/// Returns the step under way.
pub(super) fn step(desk: &Desk) -> Option<&Step> {
    desk.guitar.plan().filter(|_| desk.guitar.stage() == Stage::Step)?.steps().first()
}

/// Returns the plucks of a sound; none where there is nothing to sound.
pub(in crate::app) fn strikes(state: &State, sound: Sound) -> Vec<Strike> {
    match sound {
        Sound::Target => repeated(target(state)),
        Sound::Reference => repeated(reference(state).map(|(_, side)| side)),
        Sound::Both => reference(state).map(|(tuned, side)| pair(side, tuned)).unwrap_or_default(),
        Sound::Wobble => wobbling(state.ears.wobbles_per_s()),
        Sound::Slowing => slowing(),
        Sound::OctaveOff => octave_off(),
        Sound::Strum => ringing(strum(&shape(state), 0.0, STRUM_S)),
        Sound::Arpeggio => ringing(arpeggio(&shape(state), 0.0, ARPEGGIO_S)),
        Sound::Thumb => ringing(thumb(state)),
        Sound::Right => told_right(state),
        Sound::Click => clicks(state),
        Sound::Tune | Sound::Moment => crate::app::tune::strikes(&state.tune, state, sound),
    }
}

/// A pluck of a course as it is strung.
fn strike(desk: &Desk, course: CourseIndex, frequency: Hertz) -> Option<Strike> {
    let tone = string_tone(desk.instrument(), desk.strings(), course, frequency)?;
    Some(Strike::new(frequency, tone, course.player_number(desk.instrument().courses().len())))
}

fn target(desk: &Desk) -> Option<Strike> {
    let step = step(desk)?;
    let hertz = desk.library.settings.reference().frequency(step.to()).shifted(step.offset());
    strike(desk, step.course(), hertz)
}

/// Both sides of the comparison that is shown, the string being set first; `None` where it is the phone's tone alone.
fn reference(desk: &Desk) -> Option<(Strike, Strike)> {
    let step = step(desk)?;
    let how = step.matches().get(desk.guitar.chosen_match()).filter(|how| how.kind() != MatchKind::Tone)?;
    let side = how.reference()?;
    let at = desk.guitar.progress().on_guitar().courses().get(side.course.from_lowest_index())?;
    let of = |sounding: Sounding, open, offset| {
        let first = stopped_at(desk, sounding, open, offset)?;
        let hertz = if sounding.touch == Touch::Harmonic { first.partial(sounding.partial) } else { first };
        strike(desk, sounding.course, hertz)
    };
    Some((of(how.tuned(), step.to(), step.offset())?, of(side, at.pitch(), at.offset())?))
}

/// A note plucked again and again, so that both hands stay free.
fn repeated(note: Option<Strike>) -> Vec<Strike> {
    let times = (0..PLUCKS).map(|pluck| f64::from(pluck) * PLUCKED_EVERY_S);
    let end = f64::from(PLUCKS) * PLUCKED_EVERY_S;
    note.into_iter()
        .flat_map(|note| times.clone().map(move |at| Strike { stop_at_s: Some(end), ..note.at(at) }))
        .collect()
}

fn pair(one: Strike, other: Strike) -> Vec<Strike> {
    let at = |note: Strike, at_s: f64| Strike { stop_at_s: Some(2.0 * PAIR_S), ..note.at(at_s) };
    vec![at(one, 0.0), at(other, 0.2), at(one, PAIR_S), at(other, PAIR_S + 0.2)]
}

/// Two notes as near to pure as a string's can be, so that nothing but the rate asked for is heard.
fn wobbling(per_s: f64) -> Vec<Strike> {
    let Some((low, high)) = wobbling_pair(per_s) else { return Vec::new() };
    let tone = Tone { decay_s: 12.0, brightness: 0.05, inharmonicity: 0.0, plucked_at: 1.0 / 3.0 };
    let note = |hertz, course| Strike { stop_at_s: Some(PAIR_S), ..Strike::new(hertz, tone, course) };
    vec![note(low, FREE_COURSES.0), note(high, FREE_COURSES.1)]
}

/// Two notes three wobbles a second apart, of which one is turned to the other: two wobbles as they are, six ever slower ones,
/// and then none, the two as they began.
fn slowing() -> Vec<Strike> {
    const PER_S: f64 = 3.0;
    const TURN_S: (f64, f64) = (2.0 / PER_S, 4.0);
    let Some((low, high)) = wobbling_pair(PER_S) else { return Vec::new() };
    let tone = Tone { decay_s: 20.0, brightness: 0.05, inharmonicity: 0.0, plucked_at: 1.0 / 3.0 };
    let note = |course| Strike { stop_at_s: Some(7.5), ..Strike::new(low, tone, course) };
    let turned = Some(Turn { from: Cents::between(low, high), wait_s: TURN_S.0, over_s: TURN_S.1 });
    vec![note(FREE_COURSES.0), Strike { turned, ..note(FREE_COURSES.1) }]
}

/// A note with its octave, then twice the note itself; where a small loudspeaker sounds them as they are.
fn octave_off() -> Vec<Strike> {
    const SOUND_S: f64 = 3.0;
    let tone = Tone { decay_s: 8.0, brightness: 0.2, inharmonicity: 0.0, plucked_at: 1.0 / 3.0 };
    let note = |hz: f64, at_s: f64, course| {
        let strike = Strike::new(Hertz::new(hz)?, tone, course).at(at_s);
        Some(Strike { stop_at_s: Some(at_s + SOUND_S), ..strike })
    };
    let (one, other) = FREE_COURSES;
    let again_s = SOUND_S + 0.6;
    let notes =
        [note(600.0, 0.0, one), note(1200.0, 0.0, other), note(600.0, again_s, one), note(600.0, again_s, other)];
    notes.into_iter().flatten().collect()
}

/// The strings of the shape that is shown, as it sounds, from the thickest.
fn shape(desk: &Desk) -> Vec<Strike> {
    let Some(found) = desk.shapes.shape() else { return Vec::new() };
    let a4 = desk.library.settings.reference();
    let pitches = found.shape().pitches(&desk.board()).into_iter().enumerate();
    pitches.filter_map(|(index, pitch)| strike(desk, CourseIndex::from_lowest(index), a4.frequency(pitch?))).collect()
}

/// The thumb on its two basses, the fingers on the thinnest strings that the thumb leaves them.
fn thumb(desk: &Desk) -> Vec<Strike> {
    let Some(found) = desk.shapes.shape() else { return Vec::new() };
    let hand = Hand { may_use_thumb: desk.shapes.filters.thumb_may_fret, ..Hand::default() };
    let bass = alternating_bass(&desk.board(), found.shape(), found.fingering(), found.chord(), &hand);
    let Some(pair) = bass.pairs.first() else { return Vec::new() };
    let a4 = desk.library.settings.reference();
    let basses = [pair.first, pair.second].map(|note| (note.position.course, a4.frequency(note.pitch)));
    let basses: Vec<Strike> = basses.into_iter().filter_map(|(course, hertz)| strike(desk, course, hertz)).collect();
    let mut fingers = shape(desk);
    fingers.retain(|string| basses.iter().all(|bass| bass.course != string.course));
    let fingers: Vec<Strike> = fingers.into_iter().rev().take(3).collect();
    thumb_pattern(&basses, &fingers, BEAT_S, BEATS)
}

/// Damps everything some time after the last pluck.
fn ringing(strikes: Vec<Strike>) -> Vec<Strike> {
    let last = strikes.iter().map(|strike| strike.at_s).fold(0.0, f64::max);
    let end = |strike: Strike| Strike { stop_at_s: strike.stop_at_s.or(Some(last + RING_S)), ..strike };
    strikes.into_iter().map(end).collect()
}

/// A click on every beat that is left of the song, the first of each bar a fourth higher.
fn clicks(state: &State) -> Vec<Strike> {
    clock_beats(state).into_iter().filter_map(|(at_s, is_first)| click(at_s, is_first)).collect()
}

/// One click, at a time in seconds; the first of a bar is higher.
pub(in crate::app) fn click(at_s: f64, is_first: bool) -> Option<Strike> {
    let tone = Tone { decay_s: 0.06, brightness: 0.4, inharmonicity: 0.0, plucked_at: 0.2 };
    let hertz = Hertz::new(if is_first { CLICK_HZ * 4.0 / 3.0 } else { CLICK_HZ })?;
    let stop_at_s = Some(at_s + CLICK_S);
    Some(Strike { at_s, stop_at_s, level: CLICK_LEVEL, ..Strike::new(hertz, tone, FREE_COURSES.0) })
}

/// Two quick notes, the one just set and its fifth, where a small loudspeaker sounds well.
fn told_right(desk: &Desk) -> Vec<Strike> {
    let mut hertz = target(desk).map_or(440.0, |note| note.frequency.get());
    while hertz < 500.0 {
        hertz *= 2.0;
    }
    let tone = Tone { decay_s: 0.6, brightness: 0.3, inharmonicity: 0.0, plucked_at: 0.2 };
    let note = |factor: f64, at_s: f64, course| {
        let hertz = Hertz::new(hertz * factor)?;
        Some(Strike { at_s, stop_at_s: Some(0.4), level: 0.25, ..Strike::new(hertz, tone, course) })
    };
    [note(1.0, 0.0, FREE_COURSES.0), note(1.5, 0.1, FREE_COURSES.1)].into_iter().flatten().collect()
}
