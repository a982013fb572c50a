//! One shape for each chord of a progression, so that the hand moves least.

use crate::instrument::{CourseIndex, Fret, Fretboard};
use crate::theory::{Pitch, PitchClassSet};

use super::fingering::{Finger, Fingering};
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
    /// How far the hand moves along the neck, in millimetres; towards the bridge is positive.
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
/// Exact: dynamic programming over the candidates gives the least cost when every place chooses for itself; where a
/// chord that comes back must keep its shape, its candidates are tried in turn, those given up whose least cost is no
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
    let mut search = Search::new(&held, order, costs);
    search.branch(&mut vec![None; chords.len()]);
    let choices = search.best.map(|(_, choices)| choices)?;
    Some(describe(&held, order, choices, costs, search.trials <= MOST_TRIALS))
}

/// A candidate made ready for comparing.
struct Held<'a> {
    candidate: &'a PlanCandidate<'a>,
    stops: Stops,
    /// Where the index finger stands or would stand, in millimetres from the nut; `None` for open strings only.
    place_mm: Option<f64>,
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
            place_mm: hand_place(&stops, candidate.shape).map(|fret| board.distance_mm(fret)),
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

/// How far the hand goes, in millimetres, towards the bridge positive; open strings leave it where it is.
fn way_mm(before: &Held<'_>, after: &Held<'_>) -> f64 {
    before.place_mm.zip(after.place_mm).map_or(0.0, |(from, to)| to - from)
}

fn change_cost(before: &Held<'_>, after: &Held<'_>, costs: &PlanCosts) -> f64 {
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
    way_mm(before, after).abs() * costs.move_per_mm + fingers + rings
}

/// The cost of every change from one chord's candidates to another's.
type ChangeTable = Vec<Vec<f64>>;

/// How many shortest paths are looked for before a plan is handed back unproven: about a quarter of a second.
const MOST_TRIALS: usize = 20_000;

/// The search for the least plan.
struct Search<'a> {
    order: &'a [usize],
    costs: &'a PlanCosts,
    /// For each chord, what its candidates cost by themselves.
    own: Vec<Vec<f64>>,
    /// For each step of the progression, and where it is repeated the way back.
    tables: Vec<ChangeTable>,
    best: Option<(f64, Vec<usize>)>,
    trials: usize,
}

impl<'a> Search<'a> {
    fn new(held: &[Vec<Held<'_>>], order: &'a [usize], costs: &'a PlanCosts) -> Self {
        let table = |from: usize, to: usize| -> ChangeTable {
            held[from].iter().map(|one| held[to].iter().map(|next| change_cost(one, next, costs)).collect()).collect()
        };
        let mut tables: Vec<ChangeTable> = order.windows(2).map(|pair| table(pair[0], pair[1])).collect();
        if costs.is_repeated {
            tables.push(table(order[order.len() - 1], order[0]));
        }
        let own_of = |chord: &Vec<Held<'_>>| chord.iter().map(|one| one.candidate.cost * costs.shape).collect();
        Self { order, costs, own: held.iter().map(own_of).collect(), tables, best: None, trials: 0 }
    }

    /// Looks for the least plan in which the chords of `fixed` have their candidate; keeps it when it beats the best.
    fn branch(&mut self, fixed: &mut Vec<Option<usize>>) {
        let (cost, choices) = self.least_with(fixed);
        if self.best.as_ref().is_some_and(|(best, _)| *best <= cost) {
            return;
        }
        let Some(torn) = self.chord_with_two_shapes(&choices) else {
            self.best = Some((cost, choices));
            return;
        };
        let mut branches: Vec<(f64, usize)> = Vec::new();
        for candidate in 0..self.own[torn].len() {
            fixed[torn] = Some(candidate);
            branches.push((self.least_with(fixed).0, candidate));
        }
        branches.sort_by(|one, other| one.0.total_cmp(&other.0));
        for (_, candidate) in branches {
            if self.trials > MOST_TRIALS && self.best.is_some() {
                break;
            }
            fixed[torn] = Some(candidate);
            self.branch(fixed);
        }
        fixed[torn] = None;
    }

    /// The first chord that comes back with another shape, where that is not wanted.
    fn chord_with_two_shapes(&self, choices: &[usize]) -> Option<usize> {
        let first_choice = |chord: usize| self.order.iter().position(|&other| other == chord).map(|at| choices[at]);
        let mut places = self.order.iter().zip(choices);
        let torn = places.find(|&(&chord, &choice)| first_choice(chord) != Some(choice)).map(|(&chord, _)| chord);
        torn.filter(|_| self.costs.is_one_shape_a_chord)
    }

    /// The least cost when every place chooses for itself among what is not fixed, and its choices.
    fn least_with(&mut self, fixed: &[Option<usize>]) -> (f64, Vec<usize>) {
        self.trials += 1;
        if !self.costs.is_repeated {
            return self.shortest(fixed, None);
        }
        let first = self.order[0];
        let starts = (0..self.own[first].len()).filter(|&start| fixed[first].is_none_or(|only| only == start));
        let plans = starts.map(|start| self.shortest(fixed, Some(start)));
        plans.min_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or((f64::INFINITY, vec![0; self.order.len()]))
    }

    /// The shortest path through the candidates; with `start`, from that candidate of the first chord back to it.
    fn shortest(&self, fixed: &[Option<usize>], start: Option<usize>) -> (f64, Vec<usize>) {
        let cost_of = |chord: usize, candidate: usize| {
            let may = fixed[chord].is_none_or(|only| only == candidate);
            if may { self.own[chord][candidate] } else { f64::INFINITY }
        };
        let count = |chord: usize| self.own[chord].len();
        let first = self.order[0];
        let mut least: Vec<f64> = (0..count(first))
            .map(|at| if start.is_none_or(|start| start == at) { cost_of(first, at) } else { f64::INFINITY })
            .collect();
        let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(self.order.len());
        for (&chord, table) in self.order[1..].iter().zip(&self.tables) {
            let best_before = |to: usize| first_least(least.iter().zip(table).map(|(&so_far, row)| so_far + row[to]));
            let steps: Vec<(usize, f64)> = (0..count(chord)).map(best_before).collect();
            least = steps.iter().enumerate().map(|(at, &(_, cost))| cost + cost_of(chord, at)).collect();
            came_from.push(steps.into_iter().map(|(from, _)| from).collect());
        }
        let back = |at: usize| start.map_or(0.0, |start| self.tables[self.order.len() - 1][at][start]);
        let (mut at, cost) = first_least(least.iter().enumerate().map(|(at, &cost)| cost + back(at)));
        let mut choices = vec![at];
        for from in came_from.iter().rev() {
            at = from[at];
            choices.push(at);
        }
        choices.reverse();
        (cost, choices)
    }
}

/// Returns the first place of the least value, and the value.
fn first_least(values: impl Iterator<Item = f64>) -> (usize, f64) {
    values.enumerate().fold((0, f64::INFINITY), |least, (at, value)| if value < least.1 { (at, value) } else { least })
}

fn describe(
    held: &[Vec<Held<'_>>],
    order: &[usize],
    choices: Vec<usize>,
    costs: &PlanCosts,
    is_proven: bool,
) -> NeckPlan {
    let taken: Vec<&Held<'_>> = order.iter().zip(&choices).map(|(&chord, &choice)| &held[chord][choice]).collect();
    let mut moves: Vec<HandMove> = taken.windows(2).map(|pair| describe_move(pair[0], pair[1], costs)).collect();
    if let (true, Some(last), Some(first)) = (costs.is_repeated, taken.last(), taken.first()) {
        moves.push(describe_move(last, first, costs));
    }
    let shapes: f64 = taken.iter().map(|one| one.candidate.cost * costs.shape).sum();
    let cost = shapes + moves.iter().map(|one| one.cost).sum::<f64>();
    NeckPlan { choices, moves, cost, is_proven }
}

fn describe_move(before: &Held<'_>, after: &Held<'_>, costs: &PlanCosts) -> HandMove {
    let mut moved = HandMove {
        way_mm: way_mm(before, after),
        ringing: ringing(before, after).collect(),
        cost: change_cost(before, after, costs),
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
