//! The search for the least plan: one choice for each place of a progression.

use crate::instrument::Fret;

use super::neck_plan::PlanCosts;

/// One of the shapes a chord may have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    /// What it costs by itself.
    pub(super) cost: f64,
    /// Where the hand is when it holds it; `None` where nothing is stopped, which leaves it at the nut.
    pub(super) hand: Option<Fret>,
}

/// For each choice at a place in the progression, what the change from each choice before it costs.
type WaysIn = Vec<Vec<f64>>;

/// How many shortest paths are looked for before a plan is handed back unproven: about a quarter of a second.
const MOST_TRIALS: usize = 20_000;

/// The search for the least plan.
pub(super) struct Search<'a> {
    order: &'a [usize],
    costs: &'a PlanCosts,
    chords: Vec<Vec<Choice>>,
    /// For each step of the progression, and where it is repeated the way back.
    ways_in: Vec<WaysIn>,
    best: Option<(f64, Vec<usize>)>,
    trials: usize,
}

impl<'a> Search<'a> {
    /// Makes a search; `fingers` is the cost of a change from one chord and choice to another, the way of the hand left
    /// out, and `way` the cost of the hand's way.
    pub(super) fn new(
        chords: Vec<Vec<Choice>>,
        order: &'a [usize],
        costs: &'a PlanCosts,
        fingers: impl Fn((usize, usize), (usize, usize)) -> f64,
        way: impl Fn(Fret, Fret) -> f64,
    ) -> Self {
        let step = |from: usize, to: usize| -> WaysIn {
            let (chord, next) = (order[from], order[to]);
            let change = |one: usize, other: usize| {
                let hand = chords[chord][one].hand.unwrap_or(Fret::OPEN);
                let way = chords[next][other].hand.map_or(0.0, |to| way(hand, to));
                fingers((chord, one), (next, other)) + way
            };
            let into = |other: usize| (0..chords[chord].len()).map(|one| change(one, other)).collect();
            (0..chords[next].len()).map(into).collect()
        };
        let mut ways_in: Vec<WaysIn> = (1..order.len()).map(|to| step(to - 1, to)).collect();
        if costs.is_repeated {
            ways_in.push(step(order.len() - 1, 0));
        }
        Self { order, costs, chords, ways_in, best: None, trials: 0 }
    }

    /// Returns the choices of the least plan, and whether it is proven that none is less.
    pub(super) fn least(mut self) -> Option<(Vec<usize>, bool)> {
        self.branch(&mut vec![None; self.chords.len()]);
        let is_proven = self.trials <= MOST_TRIALS;
        self.best.map(|(_, choices)| (choices, is_proven))
    }

    /// Looks for the least plan in which the chords of `fixed` have their choice; keeps it when it beats the best.
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
        for choice in 0..self.chords[torn].len() {
            fixed[torn] = Some(choice);
            branches.push((self.least_with(fixed).0, choice));
        }
        branches.sort_by(|one, other| one.0.total_cmp(&other.0));
        for (_, choice) in branches {
            if self.trials > MOST_TRIALS && self.best.is_some() {
                break;
            }
            fixed[torn] = Some(choice);
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
        let starts = (0..self.chords[first].len()).filter(|choice| fixed[first].is_none_or(|only| only == *choice));
        let plans = starts.map(|start| self.shortest(fixed, Some(start)));
        plans.min_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or((f64::INFINITY, vec![0; self.order.len()]))
    }

    /// The shortest path through the choices; with `start`, from that choice of the first chord back to it.
    fn shortest(&self, fixed: &[Option<usize>], start: Option<usize>) -> (f64, Vec<usize>) {
        let cost_of = |chord: usize, choice: usize| {
            let may = fixed[chord].is_none_or(|only| only == choice);
            may.then(|| self.chords[chord][choice].cost)
        };
        let begin = |choice: usize| {
            let may = start.is_none_or(|start| start == choice);
            cost_of(self.order[0], choice).filter(|_| may).unwrap_or(f64::INFINITY)
        };
        let mut least: Vec<f64> = (0..self.chords[self.order[0]].len()).map(begin).collect();
        let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(self.order.len());
        for (&chord, ways_in) in self.order.iter().skip(1).zip(&self.ways_in) {
            let best_before = |(choice, ways): (usize, &Vec<f64>)| {
                let Some(own) = cost_of(chord, choice) else { return (0, f64::INFINITY) };
                let (from, cost) = first_least(ways.iter().enumerate().map(|(from, cost)| (from, least[from] + cost)));
                (from, cost + own)
            };
            let (from, costs) = ways_in.iter().enumerate().map(best_before).unzip();
            least = costs;
            came_from.push(from);
        }
        let (mut at, cost) = match start {
            None => first_least(least.iter().copied().enumerate()),
            Some(start) => {
                let back = &self.ways_in[self.order.len() - 1][start];
                first_least(back.iter().enumerate().map(|(from, cost)| (from, least[from] + cost)))
            }
        };
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
fn first_least(values: impl Iterator<Item = (usize, f64)>) -> (usize, f64) {
    values.fold((0, f64::INFINITY), |least, next| if next.1 < least.1 { next } else { least })
}
