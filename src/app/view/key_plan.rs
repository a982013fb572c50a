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
        let drawing = Drawing {
            shape: cell.shape.shape(),
            fingering: cell.shape.fingering(),
            chord: cell.shape.chord(),
            thumb: [None, None],
            reach: Vec::new(),
            labels: Labels::Finger,
            style: state.shapes.style,
        };
        ui::PlanCell {
            chord: custom.chord(cell.shape.chord()).into(),
            numeral: cell.roman.as_str().into(),
            fingers_kept: count(cell.fingers_kept),
            diagram: diagram(state, &board, &drawing),
        }
    })));
    if to.get_progression() != plan.typed.as_str() {
        to.set_progression(plan.typed.as_str().into());
    }
    let (result, found, place) = match &plan.result {
        PlanResult::OfKey => (ui::ProgressionResult::KeyChords, String::new(), 0),
        PlanResult::Understood => (ui::ProgressionResult::Understood, String::new(), 0),
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
