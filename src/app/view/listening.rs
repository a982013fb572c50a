//! What is heard and sounded: the line a string makes, the list of all strings, the sounds there are.

use slint::Model;

use crate::app::State;
use crate::app::ears::is_lesson_shown;
use crate::app::ears::{Ears, HeardString, Hearing, Mic, Ringing, Sound, Turning, WOBBLES_PER_S, Watch};
use crate::app::guitar::Stage;
use crate::app::ui;
use crate::instrument::CourseIndex;
use crate::platform::DeviceFault;
use crate::retune::{MatchKind, Step};
use crate::sound::Verdict;
use crate::theory::{Cents, Hertz, Pitch};

use super::custom::{Custom, decimal, whole};
use super::marks::{spelled, thickness};
use super::{fraction, rows};

/// Below this nothing is told to be off, in cents.
const SMALLEST_CENTS: f64 = 0.05;
/// From here on whole cents are shown.
const WHOLE_FROM_CENTS: f64 = 10.0;
/// Where the line reaches the edge of its picture, in cents, …
const EDGE_CENTS: f64 = 100.0;
/// … and how far off it is where the middle of the picture begins to be drawn out, in cents.
const FINE_CENTS: f64 = 2.0;
/// Into how many steps the way to the edge is divided where less movement is wanted.
const COARSE_STEPS: f64 = 8.0;

/// Fills what the phone hears and sounds.
pub(in crate::app) fn show_listening(state: &State, to: &ui::ListenState<'_>) {
    let ears = &state.ears;
    to.set_mic(mic(ears.mic));
    to.set_voice(ears.muted.map_or(ui::VoiceState::Fine, voice));
    to.set_tolerance(decimal(state.library.settings.listening_tolerance().get()).into());
    to.set_sounding(sounding(ears.sounding));
    to.set_has_sounded(ears.has_sounded);
    to.set_wobbles(rate(ears.wobbles_per_s()).into());
    to.set_wobbles_once((ears.wobbles_per_s() - 1.0).abs() < 1e-9);
    to.set_wobble_can_rise(ears.wobble + 1 < WOBBLES_PER_S.len());
    to.set_wobble_can_fall(ears.wobble > 0);
    to.set_lesson(is_lesson_shown(state));
    show_asked(state, to);
    let watch = ears.watch().map(|(_, watch)| watch);
    let view = |hearing: Option<Hearing>| watch.zip(hearing).map(|(watch, hearing)| heard(state, watch, &hearing));
    to.set_heard(view(ears.hearing).unwrap_or_default());
    to.set_spoken(view(ears.spoken).unwrap_or_default());
    to.set_beats(ears.beats.map(|(rate, _)| decimal(rate)).unwrap_or_default().into());
    to.set_turn(ears.beats.map_or(ui::BeatTurn::None, |(_, turning)| match turning {
        Turning::Same => ui::BeatTurn::Same,
        Turning::Slower => ui::BeatTurn::Slower,
        Turning::Faster => ui::BeatTurn::Faster,
        Turning::Gone => ui::BeatTurn::Gone,
    }));
    show_strings(state, watch, to);
}

/// The string of the step, and what it can be heard by.
fn show_asked(state: &State, to: &ui::ListenState<'_>) {
    let guitar = &state.guitar;
    let step = guitar.plan().filter(|_| guitar.stage() == Stage::Step).and_then(|plan| plan.steps().first());
    to.set_has_reference(
        step.and_then(|step| step.matches().get(guitar.chosen_match()))
            .is_some_and(|how| how.kind() != MatchKind::Tone),
    );
    // While all are checked, a string that sounds like another waits for its turn.
    let Some(course) = step.map(Step::course).or_else(|| state.ears.next_alike()) else {
        to.set_asked("".into());
        to.set_asked_note("".into());
        return;
    };
    let courses = state.instrument().courses();
    let index = course.from_lowest_index();
    to.set_asked(course.player_number(courses.len()).to_string().into());
    to.set_asked_pair(courses.get(index).is_some_and(|course| course.is_pair()));
    to.set_asked_drone(courses.get(index).is_some_and(|course| course.is_drone()));
    to.set_asked_half(state.ears.hearing.is_some_and(|hearing| hearing.strings_right > 0 && !hearing.is_done));
    to.set_asked_note(note(state, course, step.is_some()).into());
    to.set_asked_thickness(thickness(state.strings()).get(index).copied().unwrap_or(0.5));
}

/// The list of all strings; a row is touched only where it has changed.
fn show_strings(state: &State, watch: Option<&Watch>, to: &ui::ListenState<'_>) {
    let now = watch.and_then(|watch| match state.ears.hearing?.ringing {
        Ringing::String { index, is_held: false, .. } => Some(watch.strings.get(index)?.course),
        _ => None,
    });
    let new: Vec<ui::HeardString> = watch
        .map(Watch::courses)
        .unwrap_or_default()
        .into_iter()
        .map(|course| string_row(state, &state.ears, course, now == Some(course)))
        .collect();
    let shown = to.get_strings();
    if shown.row_count() != new.len() {
        to.set_strings(rows(new));
        return;
    }
    for (row, string) in new.into_iter().enumerate() {
        if shown.row_data(row).as_ref() != Some(&string) {
            shown.set_row_data(row, string);
        }
    }
}

fn string_row(state: &State, ears: &Ears, course: CourseIndex, now: bool) -> ui::HeardString {
    let courses = state.instrument().courses();
    let index = course.from_lowest_index();
    let found: Option<HeardString> = ears.heard.get(index).copied().flatten();
    let off = found.map_or(0.0, |string| string.off.get());
    let is_within = off.abs() <= state.library.settings.listening_tolerance().get();
    ui::HeardString {
        course: course.player_number(courses.len()).to_string().into(),
        pair: courses.get(index).is_some_and(|course| course.is_pair()),
        drone: courses.get(index).is_some_and(|course| course.is_drone()),
        note: note(state, course, state.guitar.stage() == Stage::Step).into(),
        heard: found.is_some(),
        right: found.is_some_and(|string| string.is_right),
        cents: if is_within { String::new() } else { cents(off) }.into(),
        sharp: off > 0.0,
        place: place(state, off),
        thickness: thickness(state.strings()).get(index).copied().unwrap_or(0.5),
        now,
    }
}

/// What is heard at one moment.
fn heard(state: &State, watch: &Watch, hearing: &Hearing) -> ui::HeardView {
    let plain = |kind| ui::HeardView { kind, ..ui::HeardView::default() };
    match hearing.ringing {
        Ringing::Nothing => plain(ui::HeardKind::Nothing),
        Ringing::TooQuiet => plain(ui::HeardKind::TooQuiet),
        Ringing::PhoneSounds => plain(ui::HeardKind::PhoneSounds),
        Ringing::Stranger { frequency } => {
            let note = nearest(state, frequency).map(|pitch| Custom::of(state).pitch(pitch)).unwrap_or_default();
            ui::HeardView { note: note.into(), ..plain(ui::HeardKind::Stranger) }
        }
        Ringing::String { index, off, is_held, verdict } => {
            let Some(string) = watch.strings.get(index) else { return plain(ui::HeardKind::Nothing) };
            let is_asked = watch.asked.is_none_or(|asked| asked == index);
            let courses = state.instrument().courses();
            let of = string.course.from_lowest_index();
            let is_within = off.abs().get() <= watch.tolerance.get();
            ui::HeardView {
                course: string.course.player_number(courses.len()).to_string().into(),
                pair: courses.get(of).is_some_and(|course| course.is_pair()),
                drone: courses.get(of).is_some_and(|course| course.is_drone()),
                note: note(state, string.course, is_asked && watch.asked.is_some()).into(),
                cents: cents(off.get()).into(),
                sharp: off > Cents::ZERO,
                right: verdict == Verdict::Right,
                right_if_asked: verdict == Verdict::RightIfAsked,
                level: is_within,
                held: is_held,
                place: if verdict == Verdict::NotYet { place(state, off.get()) } else { 0.0 },
                thickness: thickness(state.strings()).get(of).copied().unwrap_or(0.5),
                ..plain(if is_asked { ui::HeardKind::Asked } else { ui::HeardKind::Other })
            }
        }
    }
}

/// The note a course should sound: that of the target where it is being set, else where it stands.
fn note(state: &State, course: CourseIndex, is_asked: bool) -> String {
    let now = state.guitar.tuning();
    let target = state.guitar.target().filter(|_| is_asked);
    let names = spelled(state, target.unwrap_or(&now));
    let name = names.get(course.from_lowest_index());
    name.map(|name| Custom::of(state).note(name.note())).unwrap_or_default()
}

/// The pitch nearest to a frequency.
fn nearest(state: &State, frequency: Hertz) -> Option<Pitch> {
    let a4 = state.library.settings.reference();
    let off = |pitch: &Pitch| Cents::between(a4.frequency(*pitch), frequency).abs().get();
    (0..=127).filter_map(Pitch::from_number).min_by(|one, other| off(one).total_cmp(&off(other)))
}

/// A rate as it is said: with a decimal only where it has one.
fn rate(per_s: f64) -> String {
    if per_s.fract().abs() < 1e-9 { whole(per_s) } else { decimal(per_s) }
}

/// Cents without their sign; empty for next to nothing.
fn cents(off: f64) -> String {
    let off = off.abs();
    if off < SMALLEST_CENTS {
        String::new()
    } else if off < WHOLE_FROM_CENTS {
        decimal(off)
    } else {
        whole(off)
    }
}

/// Where a string that is so far off lies between the edges of its picture, −1 to 1: fine in the middle, coarse beyond.
fn place(state: &State, off: f64) -> f32 {
    let far = (off.abs() / FINE_CENTS).ln_1p() / (EDGE_CENTS / FINE_CENTS).ln_1p();
    let coarse = |far: f64| (far * COARSE_STEPS).round() / COARSE_STEPS;
    let far = if state.has_less_motion() { coarse(far) } else { far };
    fraction(far.min(1.0).copysign(off))
}

pub(super) const fn mic(mic: Mic) -> ui::MicState {
    match mic {
        Mic::Off => ui::MicState::Off,
        Mic::Wanted | Mic::Asking => ui::MicState::Asking,
        Mic::On => ui::MicState::On,
        Mic::Refused => ui::MicState::Refused,
        Mic::FellSilent => ui::MicState::FellSilent,
        Mic::Fault(DeviceFault::Denied) => ui::MicState::Denied,
        Mic::Fault(DeviceFault::Busy) => ui::MicState::Busy,
        Mic::Fault(DeviceFault::Lost) => ui::MicState::Lost,
        Mic::Fault(DeviceFault::NoInput | DeviceFault::NoOutput) => ui::MicState::NoInput,
        Mic::Fault(DeviceFault::NotSupported) => ui::MicState::NotSupported,
    }
}

const fn voice(fault: DeviceFault) -> ui::VoiceState {
    match fault {
        DeviceFault::Denied => ui::VoiceState::Denied,
        DeviceFault::Busy => ui::VoiceState::Busy,
        DeviceFault::Lost => ui::VoiceState::Lost,
        DeviceFault::NoInput | DeviceFault::NoOutput => ui::VoiceState::NoOutput,
        DeviceFault::NotSupported => ui::VoiceState::NotSupported,
    }
}

const fn sounding(sound: Option<Sound>) -> ui::SoundKind {
    match sound {
        None | Some(Sound::Right | Sound::Click | Sound::Tune | Sound::Moment) => ui::SoundKind::None,
        Some(Sound::Target) => ui::SoundKind::Target,
        Some(Sound::Reference) => ui::SoundKind::Reference,
        Some(Sound::Both) => ui::SoundKind::Both,
        Some(Sound::Wobble) => ui::SoundKind::Wobble,
        Some(Sound::Slowing) => ui::SoundKind::Slowing,
        Some(Sound::OctaveOff) => ui::SoundKind::OctaveOff,
        Some(Sound::Strum) => ui::SoundKind::Strum,
        Some(Sound::Arpeggio) => ui::SoundKind::OneByOne,
        Some(Sound::Thumb) => ui::SoundKind::Thumb,
    }
}

/// What a tapped sound is; `None` for silence.
pub(in crate::app) const fn sound_of(sound: ui::SoundKind) -> Option<Sound> {
    match sound {
        ui::SoundKind::None => None,
        ui::SoundKind::Target => Some(Sound::Target),
        ui::SoundKind::Reference => Some(Sound::Reference),
        ui::SoundKind::Both => Some(Sound::Both),
        ui::SoundKind::Wobble => Some(Sound::Wobble),
        ui::SoundKind::Slowing => Some(Sound::Slowing),
        ui::SoundKind::OctaveOff => Some(Sound::OctaveOff),
        ui::SoundKind::Strum => Some(Sound::Strum),
        ui::SoundKind::OneByOne => Some(Sound::Arpeggio),
        ui::SoundKind::Thumb => Some(Sound::Thumb),
    }
}
