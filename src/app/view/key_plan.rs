//! The plan of shapes for a key.

use crate::app::key_plan::PlanResult;
use crate::app::shapes::Labels;
use crate::app::{State, ui};
use crate::instrument::Fretboard;
use crate::shapes::{Hand, PlannedShape, Reached, alternating_bass, melody_in_reach, nearest_in_reach};
use crate::theory::ParseChordError;

use super::custom::Custom;
use super::diagram::{Drawing, diagram};
use super::{count, rows};

/// How many notes in reach are told of each shape.
const MOST_IN_REACH: usize = 3;

/// Names the notes of the key nearest to the hand where it stands in the plan.
fn in_reach(state: &State, board: &Fretboard<'_>, planned: &PlannedShape) -> String {
    let found = &planned.shape;
    let (shape, fingering, chord) = (found.shape(), found.fingering(), found.chord());
    let hand = Hand { stands_at: planned.stands_at, ..Hand::default() };
    let thumb = alternating_bass(board, shape, fingering, chord, &hand).pairs.first().copied();
    let mut reach = melody_in_reach(board, shape, fingering, chord, thumb, state.shapes.key, &hand);
    reach.retain(|note| note.how != Reached::Held);
    let mut names: Vec<String> = Vec::new();
    for note in nearest_in_reach(board, shape, &hand, reach, board.courses() * MOST_IN_REACH) {
        let name = Custom::of(state).note(note.note);
        if names.len() < MOST_IN_REACH && !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(" ")
}

/// Fills the plan.
pub(in crate::app) fn show_key_plan(state: &State, to: &ui::KeyPlanState<'_>) {
    let board = state.board();
    let custom = Custom::of(state);
    let plan = &state.key_plan;
    to.set_cells(rows(plan.cells.iter().map(|cell| {
        let shape = &cell.planned.shape;
        let drawing = Drawing {
            shape: shape.shape(),
            fingering: shape.fingering(),
            chord: shape.chord(),
            thumb: [None, None],
            reach: Vec::new(),
            labels: Labels::Finger,
            style: state.shapes.style,
        };
        ui::PlanCell {
            chord: custom.chord(shape.chord()).into(),
            numeral: cell.roman.as_str().into(),
            reach: in_reach(state, &board, &cell.planned).into(),
            fingers_kept: count(cell.planned.from_before.as_ref().map_or(0, |moved| moved.kept.len())),
            diagram: diagram(state, &board, &drawing),
        }
    })));
    if to.get_progression() != plan.typed.as_str() {
        to.set_progression(plan.typed.as_str().into());
    }
    let (result, found, place) = match &plan.result {
        PlanResult::OfKey => (ui::ProgressionResult::KeyChords, String::new(), 0),
        PlanResult::Understood => (ui::ProgressionResult::Understood, String::new(), 0),
        PlanResult::TooMany(chords) => (ui::ProgressionResult::TooMany, chords.to_string(), 0),
        PlanResult::NothingHeld => (ui::ProgressionResult::NothingHeld, String::new(), 0),
        PlanResult::NoShape(chord) => (ui::ProgressionResult::NoShape, custom.chord(*chord), 0),
        PlanResult::NotUnderstood(place, fault) => {
            let found = match fault {
                ParseChordError::Root(fault) | ParseChordError::Bass(fault) => fault.found.clone(),
                ParseChordError::Quality { found, .. } => found.clone(),
            };
            (ui::ProgressionResult::NotUnderstood, found, *place)
        }
    };
    to.set_result(result);
    to.set_found(found.into());
    to.set_place(place.to_string().into());
}
