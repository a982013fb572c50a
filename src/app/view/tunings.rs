//! The list of tunings.

use crate::app::tunings::{GoesOn, Group, Listed, Row, TuningsView, goes_on, list};
use crate::app::ui;
use crate::app::{State, line};
use crate::instrument::{Language, Level, ParseTuningError, Tuning, TuningFamily};

use super::custom::Custom;
use super::marks::{marks, spelled};
use super::{count, rows};

/// Fills the Tunings screen.
pub(in crate::app) fn show_tunings(state: &State, to: &ui::TuningsState<'_>) {
    to.set_view(match state.tunings.view {
        TuningsView::Lately => ui::TuningsView::Lately,
        TuningsView::Nearest => ui::TuningsView::Nearest,
        TuningsView::Kinds => ui::TuningsView::Families,
        TuningsView::Own => ui::TuningsView::Own,
    });
    if to.get_search_text() != state.tunings.search.as_str() {
        to.set_search_text(state.tunings.search.as_str().into());
    }
    let (mut found, mut typed, mut place) = (String::new(), Vec::new(), String::new());
    let mut expected = state.instrument().courses().len().to_string();
    let is_searching = !state.tunings.search.trim().is_empty();
    let result = match list(state) {
        Listed::Rows(listed, as_typed) => {
            let mut under_way: Vec<ui::TuningRow> =
                goes_on(state).into_iter().map(|on| under_way_row(state, on)).collect();
            if let Some(first) = under_way.first_mut() {
                first.begins = ui::RowGroup::UnderWay;
            }
            to.set_rows(rows(under_way.into_iter().chain(listed.iter().map(|listed| row(state, listed)))));
            typed = as_typed;
            if is_searching { ui::TuningsResult::Found } else { ui::TuningsResult::List }
        }
        Listed::NoOwnYet => ui::TuningsResult::NoOwnYet,
        Listed::Nothing(fault) => {
            to.set_rows(rows([]));
            match fault {
                None => ui::TuningsResult::NothingFound,
                Some(ParseTuningError::Courses { found: notes, .. }) => {
                    found = notes.to_string();
                    ui::TuningsResult::WrongCount
                }
                Some(ParseTuningError::Note(fault)) => {
                    (found, place) = (fault.found, (fault.place + 1).to_string());
                    expected = notes_text(state, &state.standard());
                    ui::TuningsResult::NotANote
                }
                Some(ParseTuningError::OutOfRange { place: at, found: note }) => {
                    (found, place) = (note, (at + 1).to_string());
                    expected = notes_text(state, &state.standard());
                    ui::TuningsResult::NotANote
                }
            }
        }
    };
    to.set_result(result);
    to.set_typed_readings(rows(typed.iter().map(|tuning| notes_text(state, tuning).into())));
    to.set_found(found.into());
    to.set_place(place.into());
    to.set_expected(expected.into());
}

fn notes_text(state: &State, tuning: &Tuning) -> String {
    Custom::of(state).tuning(&spelled(state, tuning)).join(" ")
}

fn under_way_row(state: &State, on: GoesOn<'_>) -> ui::TuningRow {
    match on {
        GoesOn::Retuning(target) => ui::TuningRow {
            leads: ui::RowLeads::Retuning,
            name: line(&state.target_name().unwrap_or_else(|| notes_text(state, target))).into(),
            marks: rows(marks(state, &spelled(state, target))),
            ..ui::TuningRow::default()
        },
        GoesOn::SetList(now) => {
            let is_here = now.song.instrument_id == state.instrument().id();
            let tuning = Some(&now.song.tuning.pitches).filter(|_| is_here);
            let title = if now.list.title.trim().is_empty() { &now.song.title } else { &now.list.title };
            ui::TuningRow {
                leads: ui::RowLeads::SetList,
                name: line(title).into(),
                marks: rows(tuning.map(|tuning| marks(state, &spelled(state, tuning))).unwrap_or_default()),
                used_for: line(&now.song.title).into(),
                ..ui::TuningRow::default()
            }
        }
    }
}

fn row(state: &State, row: &Row) -> ui::TuningRow {
    let tuning = &row.tuning;
    let (warning, courses) = warning(row);
    let courses: Vec<String> = courses.iter().map(ToString::to_string).collect();
    let target = state.guitar.target();
    ui::TuningRow {
        leads: if row.capo.is_some() { ui::RowLeads::Capo } else { ui::RowLeads::Tuning },
        id: tuning.id().into(),
        capo_fret: row.capo.map_or(0, |fret| i32::from(fret.get())),
        capo: row.capo.map(|fret| state.instrument().fret_name(fret)).unwrap_or_default().into(),
        name: line(tuning.name()).into(),
        begins: row.begins.map_or(ui::RowGroup::None, group),
        marks: rows(marks(state, tuning.spelled())),
        notes: Custom::of(state).tuning(tuning.spelled()).join(" ").into(),
        moved: count(row.moved),
        used_for: if state.language() == Language::English { tuning.used_for() } else { "" }.into(),
        kind: group(Group::Kind(tuning.family())),
        warning,
        warning_count: count(courses.len()),
        warning_strings: courses.join(", ").into(),
        own: row.is_own,
        is_target: target == Some(tuning.tuning()),
    }
}

/// Returns the worst thing to say about the strings, and the courses it concerns.
fn warning(row: &Row) -> (ui::TuningWarning, Vec<u8>) {
    let kinds = [
        (Level::TooTight, ui::TuningWarning::TooTight),
        (Level::Tight, ui::TuningWarning::GoesTight),
        (Level::Slack, ui::TuningWarning::GoesSlack),
    ];
    let at = |level: Level| -> Vec<u8> {
        row.levels.iter().filter(|(_, found)| *found == level).map(|(course, _)| *course).collect()
    };
    let found = kinds.into_iter().map(|(level, warning)| (warning, at(level)));
    found.into_iter().find(|(_, courses)| !courses.is_empty()).unwrap_or((ui::TuningWarning::None, Vec::new()))
}

const fn group(group: Group) -> ui::RowGroup {
    match group {
        Group::Begin => ui::RowGroup::Begin,
        Group::Lately => ui::RowGroup::Lately,
        Group::Already => ui::RowGroup::Already,
        Group::Nearest => ui::RowGroup::Nearest,
        Group::Own => ui::RowGroup::Own,
        Group::Near => ui::RowGroup::Near,
        Group::All => ui::RowGroup::All,
        Group::Kind(kind) => match kind {
            TuningFamily::Standard | TuningFamily::Raised | TuningFamily::Other => ui::RowGroup::Other,
            TuningFamily::Dropped => ui::RowGroup::Dropped,
            TuningFamily::OpenMajor => ui::RowGroup::OpenMajor,
            TuningFamily::OpenMinor => ui::RowGroup::OpenMinor,
            TuningFamily::Modal => ui::RowGroup::Modal,
            TuningFamily::SlackKey => ui::RowGroup::SlackKey,
            TuningFamily::Regular => ui::RowGroup::Regular,
            TuningFamily::Lowered => ui::RowGroup::Lowered,
        },
    }
}
