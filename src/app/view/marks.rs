//! Strings as marks: the strip at the top and the rows of tunings.

use crate::app::ui;
use crate::app::{State, line};
use crate::instrument::{KnownString, Stringing, Tuning};
use crate::theory::SpelledPitch;

use super::custom::Custom;
use super::{count, fraction, rows};

/// Returns each course's thickness as a fraction of the thickest one's: lines are drawn in the strings' real proportion.
pub(in crate::app) fn thickness(strings: &Stringing) -> Vec<f32> {
    let thickest = |course: &Vec<Option<KnownString>>| {
        course.iter().flatten().map(|on| on.gauge.diameter_mm()).fold(0.0_f64, f64::max)
    };
    let mm: Vec<f64> = strings.courses().iter().map(thickest).collect();
    let most = mm.iter().copied().fold(0.0_f64, f64::max);
    // A string that is not known is drawn in the middle.
    mm.iter().map(|&mm| fraction(if mm > 0.0 { mm / most } else { 0.5 })).collect()
}

/// Marks the strings of `tuning` against what is on the guitar now.
pub(super) fn marks(state: &State, spelled: &[SpelledPitch]) -> Vec<ui::StringMark> {
    let custom = Custom::of(state);
    let thickness = thickness(state.strings());
    let courses = state.instrument().courses();
    let turned = state.guitar.course().map(|course| course.from_lowest_index());
    spelled
        .iter()
        .enumerate()
        .map(|(index, wanted)| {
            let now = state.guitar.pitch(index);
            let is_known = state.guitar.is_known(index);
            let moved = now.is_some_and(|now| now != wanted.pitch());
            ui::StringMark {
                course: (courses.len() - index).to_string().into(),
                note: custom.note(wanted.note()).into(),
                before: now.filter(|_| moved).map(|now| custom.pitch(now)).unwrap_or_default().into(),
                thickness: thickness.get(index).copied().unwrap_or(0.5),
                moved,
                up: now.is_some_and(|now| wanted.pitch() > now),
                unknown: !is_known,
                current: turned == Some(index),
                pair: courses.get(index).is_some_and(|course| course.is_pair()),
                drone: courses.get(index).is_some_and(|course| course.is_drone()),
            }
        })
        .collect()
}

/// Returns how a tuning is spelled: as the catalogue spells it, else so that it reads well.
pub(super) fn spelled(state: &State, tuning: &Tuning) -> Vec<SpelledPitch> {
    let known = state.catalog().name_of(state.instrument(), tuning);
    known.map_or_else(|| tuning.spelled(), |known| known.spelled().to_vec())
}

/// Fills the strip: what is on the guitar now.
pub(in crate::app) fn show_guitar(state: &State) -> ui::OnGuitar {
    let tuning = state.guitar.tuning();
    let spelled = spelled(state, &tuning);
    let notes = Custom::of(state).tuning(&spelled).join(" ");
    let capo = state.guitar.capo().get();
    let is_known = (0..tuning.courses()).all(|index| state.guitar.is_known(index));
    let name_of = |tuning: &Tuning| state.tuning_name(tuning).map(|(name, _)| name);
    let name = name_of(&tuning).filter(|_| is_known);
    let progress = state.guitar.progress();
    let began = Tuning::new(progress.started_from().iter().map(|course| course.pitch()).collect());
    let names = [name.clone(), began.as_ref().and_then(name_of), name_of(progress.target())];
    let longest = names.iter().flatten().map(|name| line(name).chars().count()).max();
    ui::OnGuitar {
        name_letters: count(longest.unwrap_or(0)),
        instrument: state.instrument().name_in(state.language()).into(),
        tuning: line(&name.unwrap_or_default()).into(),
        notes: notes.into(),
        marks: rows(marks(state, &spelled)),
        capo: if capo == 0 { String::new() } else { capo.to_string() }.into(),
        unfinished: !state.guitar.progress().is_done(),
    }
}

/// Fills what is looked at in place of the guitar's neck.
pub(in crate::app) fn show_looked(state: &State) -> ui::LookedAt {
    let Some(looked) = state.looked().filter(|_| state.shows_neck()) else { return ui::LookedAt::default() };
    let tuning = looked.tuning();
    let spelled = spelled(state, &tuning.pitches);
    let name = state.name_or_notes(state.instrument(), tuning.id.as_deref(), &tuning.pitches);
    ui::LookedAt {
        shown: true,
        tuning: line(&name).into(),
        notes: Custom::of(state).tuning(&spelled).join(" ").into(),
        marks: rows(marks(state, &spelled)),
    }
}
