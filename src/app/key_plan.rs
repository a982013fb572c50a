//! One shape for each chord of a key or of a typed progression, so that the hand moves least.

use crate::theory::Chord;

use super::state::{State, Update};

/// The plan of shapes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeyPlan {
    /// The progression as typed; empty for the chords of the key.
    pub typed: String,
}

/// What the plan asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyPlanAction {
    /// Read the progression from what was typed.
    Typed(String),
    /// Look at shapes of this chord.
    Cell(usize),
}

pub(super) fn refresh(_state: &mut State) {}

pub(super) fn update(state: &mut State, action: KeyPlanAction) -> Update {
    match action {
        KeyPlanAction::Typed(text) => state.key_plan.typed = text,
        KeyPlanAction::Cell(_) => {}
    }
    let _: Option<Chord> = None;
    Update::Shown
}
