//! The plan of shapes for a key.

use crate::app::key_plan::PlanResult;
use crate::app::shapes::Labels;
use crate::app::{State, ui};
use crate::theory::ParseChordError;

use super::custom::Custom;
use super::diagram::{Drawing, diagram};
use super::{count, rows};

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
