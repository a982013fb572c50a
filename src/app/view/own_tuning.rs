//! The editor of own tunings.

use crate::app::own_tuning::{FARTHEST_SEMITONES, OwnTuningFault, written};
use crate::app::ui;
use crate::app::{Field, MOST_OF_LINE, State, line};
use crate::instrument::{CourseIndex, ParseTuningError};
use crate::retune::{CourseState, nearest};
use crate::theory::Cents;

use super::custom::{Custom, decimal};
use super::marks::thickness;
use super::retune::level;
use super::{count, fitting, rows};

/// How many tunings of the catalogue are named as near.
const NEAREST_SHOWN: usize = 3;

/// Fills the editor.
pub(in crate::app) fn show_own_tuning(state: &State, to: &ui::OwnTuningState<'_>) {
    let Some(editing) = &state.editing else { return };
    let name = fitting(&editing.name, Field::Line(MOST_OF_LINE));
    if to.get_name() != name.as_str() {
        to.set_name(name.into());
    }
    if to.get_notes() != editing.notes.as_str() {
        to.set_notes(editing.notes.as_str().into());
    }
    let strings = strings(state, editing.tuning.pitches());
    to.set_has_pair(strings.iter().any(|string| string.pair));
    to.set_has_drone(strings.iter().any(|string| string.drone));
    to.set_has_slack(strings.iter().any(|string| string.safety == ui::SafetyLevel::Slack));
    to.set_strings(rows(strings));
    let (problem, found, place, expected) = problem(state, editing.fault.as_ref());
    to.set_problem(problem);
    to.set_found(found.into());
    to.set_place(place.into());
    to.set_expected(expected.into());
    let other = editing.other.as_ref().map(|other| written(other, state.naming()));
    to.set_other(other.unwrap_or_default().into());
    let custom = Custom::of(state);
    let chord = state.open_chord(&editing.tuning);
    to.set_open_chord(chord.map(|chord| custom.chord(chord)).unwrap_or_default().into());
    let pitches = editing.tuning.pitches();
    let intervals: Vec<String> = pitches.windows(2).map(|pair| (pair[1] - pair[0]).get().to_string()).collect();
    to.set_intervals(intervals.join(" ").into());
    let now: Vec<CourseState> = pitches.iter().map(|&pitch| CourseState::right(pitch)).collect();
    let known = state.catalog().tunings_for(state.instrument());
    let near = nearest(state.strung(), &now, known, state.library.settings.reference());
    to.set_nearest(rows(near.into_iter().take(NEAREST_SHOWN).map(|(tuning, effort)| ui::NearTuning {
        id: tuning.id().into(),
        name: line(tuning.name()).into(),
        notes: custom.tuning(tuning.spelled()).join(" ").into(),
        moved: count(effort.courses),
    })));
    to.set_existing(editing.id.is_some());
    let is_blocked = matches!(editing.fault, Some(OwnTuningFault::Notes(_) | OwnTuningFault::TooFar(_)));
    to.set_can_save(!is_blocked);
}

fn strings(state: &State, pitches: &[crate::theory::Pitch]) -> Vec<ui::OwnString> {
    let custom = Custom::of(state);
    let courses = state.instrument().courses();
    let standard = state.standard();
    let thickness = thickness(state.strings());
    let Some(tuning) = crate::instrument::Tuning::new(pitches.to_vec()) else { return Vec::new() };
    tuning
        .spelled()
        .iter()
        .enumerate()
        .map(|(index, name)| {
            let a4 = state.library.settings.reference();
            let strains = state.strung().strains(CourseIndex::from_lowest(index), name.pitch(), Cents::ZERO, a4);
            let load = strains.max_by(|one, other| one.share_of_strength.total_cmp(&other.share_of_strength));
            let distance = standard.pitches().get(index).map_or(0, |&home| (name.pitch() - home).get());
            let from_standard = match distance {
                0 => String::new(),
                up if up > 0 => format!("+{up}"),
                down => format!("−{}", down.unsigned_abs()),
            };
            ui::OwnString {
                course: (courses.len() - index).to_string().into(),
                note: custom.note(name.note()).into(),
                octave: name.octave().to_string().into(),
                thickness: thickness.get(index).copied().unwrap_or(0.5),
                pair: courses.get(index).is_some_and(|course| course.is_pair()),
                drone: courses.get(index).is_some_and(|course| course.is_drone()),
                safety: load.map_or(ui::SafetyLevel::Unknown, |load| level(load.level)),
                newton: load.map(|load| decimal(load.pull.get())).unwrap_or_default().into(),
                pound: load.map(|load| decimal(load.pull.pounds())).unwrap_or_default().into(),
                from_standard: from_standard.into(),
                at_lowest: distance <= -FARTHEST_SEMITONES,
                at_highest: distance >= FARTHEST_SEMITONES,
            }
        })
        .collect()
}

/// What is wrong: which problem, what was found, where, and what was expected.
fn problem(state: &State, fault: Option<&OwnTuningFault>) -> (ui::OwnTuningProblem, String, String, String) {
    let none = String::new;
    match fault {
        None => (ui::OwnTuningProblem::None, none(), none(), none()),
        Some(OwnTuningFault::NoName) => (ui::OwnTuningProblem::NameMissing, none(), none(), none()),
        Some(OwnTuningFault::NameTaken) => {
            let name = state.editing.as_ref().map(|editing| editing.name.trim().to_owned());
            (ui::OwnTuningProblem::NameTaken, name.unwrap_or_default(), none(), none())
        }
        Some(OwnTuningFault::TooFar(course)) => {
            let range = format!("±{FARTHEST_SEMITONES}");
            (ui::OwnTuningProblem::OutOfRange, course.to_string(), none(), range)
        }
        Some(OwnTuningFault::Notes(fault)) => match fault {
            ParseTuningError::Note(fault) => {
                (ui::OwnTuningProblem::NotANote, fault.found.clone(), (fault.place + 1).to_string(), none())
            }
            ParseTuningError::OutOfRange { place, found } => {
                (ui::OwnTuningProblem::NotANote, found.clone(), (place + 1).to_string(), none())
            }
            ParseTuningError::Courses { found, .. } => {
                let courses = state.instrument().courses().len();
                (ui::OwnTuningProblem::WrongCount, found.to_string(), none(), courses.to_string())
            }
        },
    }
}
