//! One shape for each chord of a key or of a typed progression, so that the hand moves least.

use crate::instrument::Fretboard;
use crate::shapes::{PlannedShape, ProgressionFault, ShapeSearch, Style, plan_progression, read_progression_in};
use crate::theory::{Chord, Key, Naming, ParseChordError};

use super::desk::Desk;
use super::next::Next;
use super::shapes::Neck;

/// A chord of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanCell {
    /// Its place in the key, where it has one.
    pub roman: String,
    /// The shape taken for it, and the move to it.
    pub planned: PlannedShape,
}

/// What became of the progression.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum PlanResult {
    /// Nothing is typed: the chords of the key.
    #[default]
    OfKey,
    /// What is typed is a progression.
    Understood,
    /// A chord cannot be read: which, counted from 1, and why. What was planned before stands.
    NotUnderstood(usize, ParseChordError),
    /// No hand can sound this chord. What was planned before stands.
    NoShape(Chord),
    /// More chords are typed than a plan takes: how many. What was planned before stands.
    TooMany(usize),
    /// No hand can sound any chord of the key here.
    NothingHeld,
}

/// The plan of shapes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeyPlan {
    /// The progression as typed; empty for the chords of the key.
    pub typed: String,
    /// One shape for each chord.
    pub cells: Vec<PlanCell>,
    /// What became of what is typed.
    pub result: PlanResult,
    /// What it was made for.
    made_for: Option<(Neck, Key, Style, String, Naming)>,
}

/// What the plan asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyPlanAction {
    /// Read the progression from what was typed.
    Typed(String),
    /// Look at shapes of this chord.
    Cell(usize),
}

impl KeyPlan {
    /// Plans again where the neck, the key or what is typed has changed.
    pub(super) fn settle(&mut self, desk: &Desk) {
        let board = desk.board();
        let (key, style, naming) = (desk.shapes.key, desk.shapes.style, desk.naming());
        let wanted = (Neck::of(&board), key, style, self.typed.clone(), naming);
        if self.made_for.as_ref() != Some(&wanted) {
            self.refresh(&board, key, style, naming);
            self.made_for = Some(wanted);
        }
    }

    fn refresh(&mut self, board: &Fretboard<'static>, key: Key, style: Style, naming: Naming) {
        let search = ShapeSearch { style, ..ShapeSearch::best(1) };
        let is_of_key = !self.typed.chars().any(char::is_alphanumeric);
        let of_key = || -> Vec<Chord> { key.triads().iter().map(|of_key| of_key.chord).collect() };
        let chords = if is_of_key { Ok(of_key()) } else { read_progression_in(&self.typed, naming) };
        // In some tunings one chord of a key cannot be held: the others are planned all the same.
        let planned = chords.and_then(|chords| {
            let can_be_held = |chord: &Chord| search.finds_any(*chord, board);
            let chords = if is_of_key { chords.into_iter().filter(can_be_held).collect() } else { chords };
            plan_progression(&chords, board, &search)
        });
        let known: Vec<_> = [key.triads(), key.sevenths(), key.neighbours()].concat();
        self.result = match planned {
            Ok(planned) => {
                let roman =
                    |chord: Chord| known.iter().find(|of_key| of_key.chord == chord).map(|of_key| of_key.roman.clone());
                let cell = |planned: PlannedShape| PlanCell {
                    roman: roman(planned.shape.chord()).unwrap_or_default(),
                    planned,
                };
                self.cells = planned.into_iter().map(cell).collect();
                if is_of_key { PlanResult::OfKey } else { PlanResult::Understood }
            }
            Err(ProgressionFault::Chord { place, fault }) => PlanResult::NotUnderstood(place + 1, fault),
            Err(ProgressionFault::NoShape(chord)) => PlanResult::NoShape(chord),
            Err(ProgressionFault::Length(_)) if is_of_key => {
                self.cells.clear();
                PlanResult::NothingHeld
            }
            Err(ProgressionFault::Length(found)) => PlanResult::TooMany(found),
        };
    }
}

pub(super) fn update(plan: &mut KeyPlan, desk: &mut Desk, action: KeyPlanAction) -> Next {
    match action {
        KeyPlanAction::Typed(text) => {
            plan.typed = text;
        }
        KeyPlanAction::Cell(index) => {
            if let Some(planned) = plan.cells.get(index).map(|cell| &cell.planned) {
                let next = desk.open_shape(planned.shape.chord(), planned.shape.shape());
                desk.shapes.come_from_plan(planned.shape.shape(), planned.stands_at);
                return next;
            }
        }
    }
    Next::Shown
}
