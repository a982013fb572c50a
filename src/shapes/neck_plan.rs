//! One shape for each chord of a progression, so that the hand moves least.

use crate::instrument::{CourseIndex, Fret, Fretboard};
use crate::theory::{Pitch, PitchClassSet};

use super::fingering::{Finger, Fingering};
use super::neck_plan_search::{Choice, Search};
use super::ranked::RankedShape;
use super::shape::Shape;
use super::stops::{Stop, Stops};

/// A shape that may be taken for a chord.
#[derive(Clone, Copy, Debug)]
pub struct PlanCandidate<'a> {
    /// The shape.
    pub shape: &'a Shape,
    /// How it is held.
    pub fingering: &'a Fingering,
    /// What it costs by itself, zero or more.
    pub cost: f64,
}

impl<'a> From<&'a RankedShape> for PlanCandidate<'a> {
    fn from(ranked: &'a RankedShape) -> Self {
        Self { shape: ranked.shape(), fingering: ranked.fingering(), cost: ranked.cost() }
    }
}

/// What a change from one shape to the next costs. All are zero or more; the unit is that of a shape's own cost, and
/// the defaults are set by hand beside it: a finger costs about one there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanCosts {
    /// For a shape's own cost, 0 to 10. 1: as it is.
    pub shape: f64,
    /// For each millimetre the hand moves along the neck, 0 to 1. 0.03: a fret near the nut of a guitar is a point.
    pub move_per_mm: f64,
    /// For each finger put down in a new place, 0 to 10. 0.5.
    pub place: f64,
    /// For each finger that comes off, 0 to 10. 0.2: coming off is easier than hitting a place.
    pub lift: f64,
    /// For each finger that keeps its courses and slides to another fret, a guide for the hand, 0 to 10. 0.15; the way
    /// is counted with the hand's.
    pub slide: f64,
    /// For each finger that stays at its fret and covers other courses around the same ones, 0 to 10. 0.3.
    pub roll: f64,
    /// For each course that was open, is foreign to the next chord and that nothing stops there, 0 to 10: it rings on
    /// unless it is damped. 0.5.
    pub ring_on: f64,
    /// Whether the progression starts again after its end, so that the way back counts. No.
    pub is_repeated: bool,
    /// Whether a chord that comes back has the same shape again. Yes: one shape a chord is what a player learns.
    pub is_one_shape_a_chord: bool,
}

impl Default for PlanCosts {
    fn default() -> Self {
        Self {
            shape: 1.0,
            move_per_mm: 0.03,
            place: 0.5,
            lift: 0.2,
            slide: 0.15,
            roll: 0.3,
            ring_on: 0.5,
            is_repeated: false,
            is_one_shape_a_chord: true,
        }
    }
}

/// What the hand does between two shapes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HandMove {
    /// How far the hand moves along the neck, in millimetres; towards the bridge is positive. Zero into open strings; out
    /// of them it counts from the nut, where they leave the hand.
    pub way_mm: f64,
    /// Fingers that stay where they are.
    pub kept: Vec<Finger>,
    /// Fingers that slide along their courses.
    pub slid: Vec<Finger>,
    /// Fingers that stay at their fret and cover other courses.
    pub rolled: Vec<Finger>,
    /// Fingers put down in a new place.
    pub placed: Vec<Finger>,
    /// Fingers that come off.
    pub lifted: Vec<Finger>,
    /// Courses that ring on into a chord they do not belong to unless they are damped.
    pub ringing: Vec<CourseIndex>,
    /// What it costs.
    pub cost: f64,
}

/// The way of least cost through a progression.
#[derive(Clone, Debug, PartialEq)]
pub struct NeckPlan {
    /// For each place of the progression, which of its chord's candidates is taken.
    pub choices: Vec<usize>,
    /// What the hand does from each chord to the next; where the progression is repeated, the way back to the first
    /// stands last.
    pub moves: Vec<HandMove>,
    /// The whole cost: shapes and moves.
    pub cost: f64,
    /// Whether it is proven that no other choice costs less.
    pub is_proven: bool,
}

/// Finds one shape for each chord of a progression so that the whole cost is least.
///
/// `chords` are the different chords, each with its candidates; `order` is the progression, as indexes into them.
/// Shapes that stop nothing leave the hand at the nut. Exact: dynamic programming over the candidates gives the least cost
/// when every place chooses for itself; where a chord that comes back must keep its shape, its candidates are tried in turn, those given up whose least cost is no
/// better than what is found. Only after 20 000 such trials the best so far is handed back as not proven. Of equal
/// plans the first found in the order of the lists. `None` when the progression is empty, names a chord that is not
/// there, or one without candidates.
#[must_use]
pub fn plan_neck(
    board: &Fretboard<'_>,
    chords: &[Vec<PlanCandidate<'_>>],
    order: &[usize],
    costs: &PlanCosts,
) -> Option<NeckPlan> {
    if order.is_empty() || order.iter().any(|&chord| chords.get(chord).is_none_or(Vec::is_empty)) {
        return None;
    }
    let held: Vec<Vec<Held<'_>>> =
        chords.iter().map(|chord| chord.iter().map(|candidate| Held::new(board, candidate)).collect()).collect();
    let choice = |one: &Held<'_>| Choice { cost: one.candidate.cost * costs.shape, hand: one.hand };
    let choices = held.iter().map(|chord| chord.iter().map(choice).collect()).collect();
    let fingers =
        |from: (usize, usize), to: (usize, usize)| fingers_cost(&held[from.0][from.1], &held[to.0][to.1], costs);
    let way = |from: Fret, to: Fret| board.between_mm(from, to) * costs.move_per_mm;
    let (choices, is_proven) = Search::new(choices, order, costs, fingers, way).least()?;
    Some(describe(board, &held, order, choices, costs, is_proven))
}

/// A candidate made ready for comparing.
struct Held<'a> {
    candidate: &'a PlanCandidate<'a>,
    stops: Stops,
    /// Where the index finger stands or would stand; `None` for open strings only.
    hand: Option<Fret>,
    sounding: PitchClassSet,
    open: Vec<Option<Pitch>>,
}

impl<'a> Held<'a> {
    fn new(board: &Fretboard<'_>, candidate: &'a PlanCandidate<'a>) -> Self {
        let stops = Stops::of(candidate.shape, candidate.fingering);
        let pitches = candidate.shape.pitches(board);
        let is_open = |index: usize| candidate.shape.frets().get(index).copied().flatten() == Some(Fret::OPEN);
        Self {
            candidate,
            hand: hand_place(&stops, candidate.shape),
            sounding: pitches.iter().flatten().map(|pitch| pitch.class()).collect(),
            open: pitches.iter().enumerate().map(|(index, pitch)| pitch.filter(|_| is_open(index))).collect(),
            stops,
        }
    }
}

/// Returns the fret at which the index finger stands, or would with one finger a fret from the first that is down;
/// under a bar, the bar's fret.
fn hand_place(stops: &Stops, shape: &Shape) -> Option<Fret> {
    let first = stops.iter().find(|stop| stop.finger != Finger::Thumb).or_else(|| stops.iter().next());
    let Some(first) = first else { return shape.fret_range().map(|(lowest, _)| lowest) };
    let fingers_before = Finger::FRONT.iter().position(|&finger| finger == first.finger).unwrap_or(0);
    let before = u8::try_from(fingers_before).unwrap_or(0);
    Some(Fret::new(first.fret.get().saturating_sub(before).max(1)))
}

/// What happens to one finger.
#[derive(Clone, Copy, PartialEq, Eq)]
enum FingerMove {
    Kept,
    Slid,
    Rolled,
    Placed,
    Lifted,
}

fn finger_move(before: Option<&Stop>, after: Option<&Stop>) -> Option<FingerMove> {
    Some(match (before, after) {
        (None, None) => return None,
        (None, Some(_)) => FingerMove::Placed,
        (Some(_), None) => FingerMove::Lifted,
        (Some(before), Some(after)) => {
            let is_same_course = (before.from, before.to) == (after.from, after.to);
            let overlaps = before.from <= after.to && after.from <= before.to;
            match (is_same_course, before.fret == after.fret) {
                (true, true) => FingerMove::Kept,
                (true, false) => FingerMove::Slid,
                (false, true) if overlaps => FingerMove::Rolled,
                _ => FingerMove::Placed,
            }
        }
    })
}

/// Every finger with what happens to it.
fn finger_moves<'a>(before: &'a Held<'_>, after: &'a Held<'_>) -> impl Iterator<Item = (Finger, FingerMove)> + 'a {
    const ALL: [Finger; 5] = [Finger::Thumb, Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];
    ALL.into_iter().filter_map(|finger| {
        let of = |held: &'a Held<'_>| held.stops.iter().find(|stop| stop.finger == finger);
        finger_move(of(before), of(after)).map(|what| (finger, what))
    })
}

/// The courses that ring on from one shape into the next where they are foreign.
fn ringing<'a>(before: &'a Held<'_>, after: &'a Held<'_>) -> impl Iterator<Item = CourseIndex> + 'a {
    before.open.iter().enumerate().filter_map(|(index, open)| {
        let course = CourseIndex::from_lowest(index);
        let is_left = after.candidate.shape.frets().get(index).copied().flatten().is_none();
        let rings = open.is_some_and(|pitch| !after.sounding.contains(pitch.class()));
        (rings && is_left && after.stops.on(course).is_none()).then_some(course)
    })
}

/// What the fingers do and what rings on, without the way of the hand.
fn fingers_cost(before: &Held<'_>, after: &Held<'_>, costs: &PlanCosts) -> f64 {
    let fingers: f64 = finger_moves(before, after)
        .map(|(_, what)| match what {
            FingerMove::Kept => 0.0,
            FingerMove::Slid => costs.slide,
            FingerMove::Rolled => costs.roll,
            FingerMove::Placed => costs.place,
            FingerMove::Lifted => costs.lift,
        })
        .sum();
    let rings: f64 = ringing(before, after).map(|_| costs.ring_on).sum();
    fingers + rings
}

fn describe(
    board: &Fretboard<'_>,
    held: &[Vec<Held<'_>>],
    order: &[usize],
    choices: Vec<usize>,
    costs: &PlanCosts,
    is_proven: bool,
) -> NeckPlan {
    let taken: Vec<&Held<'_>> = order.iter().zip(&choices).map(|(&chord, &choice)| &held[chord][choice]).collect();
    let after = taken.iter().skip(1).chain(taken.first().filter(|_| costs.is_repeated));
    let mut moves = Vec::with_capacity(taken.len());
    for (before, after) in taken.iter().zip(after) {
        let from_mm = before.hand.map_or(0.0, |fret| board.distance_mm(fret));
        let way_mm = after.hand.map_or(0.0, |to| board.distance_mm(to) - from_mm);
        moves.push(describe_move(before, after, way_mm, costs));
    }
    let shapes: f64 = taken.iter().map(|one| one.candidate.cost * costs.shape).sum();
    let cost = shapes + moves.iter().map(|one| one.cost).sum::<f64>();
    NeckPlan { choices, moves, cost, is_proven }
}

fn describe_move(before: &Held<'_>, after: &Held<'_>, way_mm: f64, costs: &PlanCosts) -> HandMove {
    let mut moved = HandMove {
        way_mm,
        ringing: ringing(before, after).collect(),
        cost: way_mm.abs() * costs.move_per_mm + fingers_cost(before, after, costs),
        ..HandMove::default()
    };
    for (finger, what) in finger_moves(before, after) {
        match what {
            FingerMove::Kept => moved.kept.push(finger),
            FingerMove::Slid => moved.slid.push(finger),
            FingerMove::Rolled => moved.rolled.push(finger),
            FingerMove::Placed => moved.placed.push(finger),
            FingerMove::Lifted => moved.lifted.push(finger),
        }
    }
    moved
}
