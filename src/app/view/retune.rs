//! The retuning: the step, the ways to hear it, the check list, the warning.

use crate::app::guitar::Stage;
use crate::app::ui;
use crate::app::{State, line};
use crate::instrument::{Bridge, CourseIndex, Fret, KnownString, Level, Newtons, Stringing, Tuning};
use crate::retune::{MatchKind, Plan, Refusal, Remedy, StandIn, Step};
use crate::theory::{Cents, Semitones};

use super::custom::{Custom, decimal, whole};
use super::instrument::of_course;
use super::marks::{marks, spelled};
use super::matching::match_view;
use super::{count, rows};

/// An offset below this is not told, in cents.
const SMALLEST_CENTS: f64 = 0.05;

/// Fills the Retune screen.
pub(in crate::app) fn show_retune(state: &State, to: &ui::RetuneState<'_>) {
    let guitar = &state.guitar;
    to.set_stage(match guitar.stage() {
        Stage::Idle => ui::RetuneStage::Idle,
        Stage::Strings => ui::RetuneStage::Strings,
        Stage::Risk => ui::RetuneStage::Risk,
        Stage::Step => ui::RetuneStage::Step,
        Stage::Check => ui::RetuneStage::Check,
        Stage::Capo => ui::RetuneStage::Capo,
        Stage::Done => ui::RetuneStage::Done,
    });
    to.set_can_undo(state.guitar.progress().confirmed() > 0);
    let capo = guitar.capo_after().map(|fret| state.instrument().fret_name(fret)).unwrap_or_default();
    to.set_capo_after(capo.into());
    let end = guitar.capo_in_the_end().filter(|&fret| fret != Fret::OPEN);
    to.set_capo_end(end.map(|fret| state.instrument().fret_name(fret)).unwrap_or_default().into());
    let Some((target, plan)) = guitar.target().zip(guitar.plan()) else { return };
    let names = spelled(state, target);
    let notes = Custom::of(state).tuning(&names).join(" ");
    to.set_target(state.target_name().map(|name| line(&name)).unwrap_or_default().into());
    let for_song = state.waiting_song();
    to.set_for_song(for_song.map(|song| line(&song.title)).unwrap_or_default().into());
    to.set_target_notes(notes.into());
    to.set_target_marks(rows(marks(state, &names)));
    let known = state.catalog().name_of(state.instrument(), target);
    to.set_used_for(known.map(|known| known.used_for()).unwrap_or_default().into());
    let done = state.guitar.progress().confirmed();
    to.set_step_number(count(done + 1));
    to.set_step_count(count(done + plan.steps().len()));
    if let Some(step) = plan.steps().first() {
        to.set_step(step_view(state, plan, step));
        to.set_ways(rows(step.matches().iter().map(|how| match_view(state, how, target))));
        to.set_way(count(guitar.chosen_match()));
    }
    show_whole(state, guitar.whole_plan().unwrap_or(plan), target, to);
    let risky = strings_at(state, plan, Level::TooTight);
    to.set_risk_count(count(risky.len()));
    to.set_risk_strings(risky.join(", ").into());
    show_strings(state, to);
    to.set_offers(rows(plan.safety().remedies().iter().map(|remedy| offer_view(state, remedy))));
}

/// Which strings are asked for, which would break, and which would hold.
fn show_strings(state: &State, to: &ui::RetuneState<'_>) {
    let guitar = &state.guitar;
    let courses = guitar.strings().courses();
    let number = |course: CourseIndex| course.player_number(courses.len()).to_string();
    let strings = |course: CourseIndex| courses.get(course.from_lowest_index()).map_or(1, Vec::len);
    let breaking = guitar.refusal().map(Refusal::breaks).unwrap_or_default();
    to.set_breaking(rows(breaking.iter().map(|breaking| ui::AskedString {
        course: number(breaking.course).into(),
        place: count(breaking.string),
        of_course: of_course(breaking.string, strings(breaking.course)),
        gauge: breaking.gauge.map(|gauge| gauge.to_string()).unwrap_or_default().into(),
        percent: whole(100.0 * breaking.share_of_strength).into(),
    })));
    let safe = guitar.refusal().and_then(Refusal::set);
    to.set_safe_set(safe.map(|set| set.name()).unwrap_or_default().into());
    let asked = guitar.strings_asked();
    let in_question = asked.map(|asked| asked.courses.as_slice()).unwrap_or_default();
    let numbers: Vec<String> = in_question.iter().map(|&course| number(course)).collect();
    to.set_asked_courses(numbers.join(", ").into());
    to.set_asked_count(count(numbers.len()));
    let each = in_question.iter().flat_map(|&course| (0..strings(course)).map(move |place| (course, place)));
    to.set_asked(rows(each.map(|(course, place)| ui::AskedString {
        course: number(course).into(),
        place: count(place),
        of_course: of_course(place, strings(course)),
        ..ui::AskedString::default()
    })));
    let written = |on: &Stringing| {
        let gauges = |course: CourseIndex| -> Option<String> {
            let gauge = |on: &Option<KnownString>| on.map_or_else(|| "?".to_owned(), |on| on.gauge.to_string());
            let gauges: Vec<String> = on.courses().get(course.from_lowest_index())?.iter().map(gauge).collect();
            Some(format!("{}: {}", number(course), gauges.join("+")))
        };
        in_question.iter().filter_map(|&course| gauges(course)).collect::<Vec<_>>().join(", ")
    };
    to.set_noted(written(guitar.strings()).into());
    to.set_string_sets(rows(
        guitar
            .sets_asked()
            .into_iter()
            .map(|set| ui::StringsChoice { name: set.name().into(), strings: written(set.strings()).into() }),
    ));
    to.set_played_on(asked.and_then(|asked| asked.wanted).map(|set| set.name()).unwrap_or_default().into());
}

/// What the whole way asks: the check list, the load on the neck, how often to go through.
fn show_whole(state: &State, whole: &Plan, target: &Tuning, to: &ui::RetuneState<'_>) {
    let checks = whole.checks().iter().enumerate().map(|(index, check)| ui::CheckView {
        courses: "".into(),
        sounds: match_view(state, check.how(), target),
        done: state.guitar.is_checked(index),
    });
    let checks: Vec<ui::CheckView> = checks.collect();
    let any = |is: fn(&ui::MatchSide) -> bool| {
        checks.iter().any(|check| is(&check.sounds.turned) || is(&check.sounds.reference))
    };
    to.set_checks_harmonic(any(|side| side.at == ui::SoundedAt::Harmonic));
    to.set_checks_pair(any(|side| side.pair));
    to.set_checks_drone(any(|side| side.drone));
    to.set_checks(rows(checks));
    let safety = whole.safety();
    let turns = |is_such: fn(Semitones) -> bool| {
        count(whole.steps().iter().filter(|step| step.semitones().is_some_and(is_such)).count())
    };
    to.set_summary(ui::PlanSummary {
        down: turns(|by| by < Semitones::ZERO),
        up: turns(|by| by > Semitones::ZERO),
        newton_before: newtons(safety.before()),
        newton_highest: newtons(safety.highest()),
        newton_after: newtons(safety.after()),
        floating_bridge: state.bridge() == Bridge::Floating,
        passes: i32::from(whole.drift().passes()),
    });
}

fn newtons(force: Newtons) -> slint::SharedString {
    whole(force.get()).into()
}

fn strings_at(state: &State, plan: &Plan, level: Level) -> Vec<String> {
    let courses = state.instrument().courses().len();
    let at = plan.safety().strings().iter().filter(|string| string.level_after == level);
    let mut numbers: Vec<u8> = at.map(|string| string.course.player_number(courses)).collect();
    numbers.dedup();
    numbers.iter().map(ToString::to_string).collect()
}

fn step_view(state: &State, plan: &Plan, step: &Step) -> ui::StepView {
    let courses = state.instrument().courses();
    let index = step.course().from_lowest_index();
    let custom = Custom::of(state);
    let target = state.guitar.target().map(|target| spelled(state, target));
    let after = target.as_ref().and_then(|names| names.get(index).map(|name| custom.note(name.note())));
    // By the target's key on the way to it: an open E that goes to standard has a G sharp to slacken.
    let on: Vec<_> = state.guitar.progress().on_guitar().courses().iter().map(|course| course.pitch()).collect();
    let stands = target.as_ref().map(|to| state.catalog().spelled_on_the_way(state.instrument(), &on, to));
    let stands = stands.and_then(|names| names.get(index).copied());
    let before = step.from().map(|from| match stands.filter(|name| name.pitch() == from) {
        Some(name) => custom.note(name.note()),
        None => custom.pitch(from),
    });
    let turn = match step.semitones() {
        None => ui::TurnKind::Set,
        Some(by) if by == Semitones::ZERO => ui::TurnKind::Set,
        Some(by) if by < Semitones::ZERO => ui::TurnKind::Loosen,
        Some(_) => ui::TurnKind::Tighten,
    };
    // Of a pair the string that bears most is told.
    let loads = plan.safety().strings().iter().filter(|load| load.course == step.course());
    let load = loads.max_by(|one, other| one.share_of_strength.total_cmp(&other.share_of_strength));
    let is_tone_first = step.matches().first().is_some_and(|how| how.kind() == MatchKind::Tone);
    let tone_reason = match step.stand_in() {
        _ if !is_tone_first => ui::ToneReason::None,
        Some(StandIn::KeepsLoadDown { .. }) => ui::ToneReason::Tension,
        None if plan.is_led_by_tone() && !plan.steps().is_empty() => ui::ToneReason::Springs,
        None if state.guitar.progress().confirmed() == 0 && !(0..courses.len()).any(|at| state.guitar.is_known(at)) => {
            ui::ToneReason::NothingKnown
        }
        None => ui::ToneReason::NoReference,
    };
    let surer = step
        .stand_in()
        .filter(|_| !is_tone_first)
        .map(|StandIn::KeepsLoadDown { instead_of }| instead_of.player_number(courses.len()).to_string());
    let off = step.offset();
    let is_from_known = step.from().is_some();
    let text = |value: Option<f64>| value.map(decimal).unwrap_or_default().into();
    ui::StepView {
        turn,
        course: step.course().player_number(courses.len()).to_string().into(),
        pair: courses.get(index).is_some_and(|course| course.is_pair()),
        drone: courses.get(index).is_some_and(|course| course.is_drone()),
        before: before.unwrap_or_default().into(),
        after: after.unwrap_or_default().into(),
        semitones: step.semitones().map_or(0, |by| i32::from(by.abs().get())),
        from_below: step.comes_up_from_below(),
        tone_reason,
        string_unknown: load.is_some_and(|load| load.gauge.is_none()),
        capo_off: plan.takes_capo_off(),
        surer: surer.unwrap_or_default().into(),
        within: count(step.within().len()),
        within_octave: courses.get(index).is_some_and(|course| course.is_octave_pair()),
        cents_off: if off.abs().get() < SMALLEST_CENTS { String::new() } else { decimal(off.abs().get()) }.into(),
        cents_up: off > Cents::ZERO,
        safety: load.map_or(ui::SafetyLevel::Unknown, |load| level(load.level_after)),
        newton_before: text(load.filter(|_| is_from_known).map(|load| load.before.get())),
        newton_after: text(load.map(|load| load.after.get())),
        pound_before: text(load.filter(|_| is_from_known).map(|load| load.before.pounds())),
        pound_after: text(load.map(|load| load.after.pounds())),
        strength: load.map(|load| whole(100.0 * load.share_of_strength)).unwrap_or_default().into(),
    }
}

/// The word for how a string stands a pitch.
pub(super) const fn level(level: Level) -> ui::SafetyLevel {
    match level {
        Level::Slack => ui::SafetyLevel::Slack,
        Level::Normal => ui::SafetyLevel::Normal,
        Level::Tight => ui::SafetyLevel::Tight,
        Level::TooTight => ui::SafetyLevel::TooTight,
    }
}

fn offer_view(state: &State, remedy: &Remedy) -> ui::SafetyOffer {
    let courses = state.instrument().courses().len();
    match remedy {
        Remedy::LowerWithCapo { tuning, capo } => ui::SafetyOffer {
            kind: ui::OfferKind::LowerWithCapo,
            notes: Custom::of(state).tuning(&spelled(state, tuning)).join(" ").into(),
            capo: state.instrument().fret_name(*capo).into(),
            ..ui::SafetyOffer::default()
        },
        Remedy::LighterString { course, gauge, .. } => ui::SafetyOffer {
            kind: ui::OfferKind::LighterString,
            course: course.player_number(courses).to_string().into(),
            gauge: gauge.to_string().into(),
            ..ui::SafetyOffer::default()
        },
    }
}
