//! The search for the least plan: one choice for each place of a progression, with the hand carried through.

use crate::instrument::Fret;

use super::neck_plan::PlanCosts;

/// One of the shapes a chord may have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    /// What it costs by itself.
    pub(super) cost: f64,
    /// Where the hand is when it holds it; `None` where nothing is stopped, so that the hand is where it was.
    pub(super) hand: Option<Fret>,
}

/// A choice together with where the hand is while it sounds. A choice that stops something has one state, one that
/// stops nothing as many as there are places the hand can come from.
#[derive(Clone, Copy)]
struct State {
    choice: usize,
    hand: Option<Fret>,
}

/// For each state of a place in the progression, the states before it that lead there, with what the change costs.
type WaysIn = Vec<Vec<(usize, f64)>>;

/// How many shortest paths are looked for before a plan is handed back unproven: about a quarter of a second.
const MOST_TRIALS: usize = 20_000;

/// The search for the least plan.
pub(super) struct Search<'a> {
    order: &'a [usize],
    costs: &'a PlanCosts,
    chords: Vec<Vec<Choice>>,
    /// For each place of the progression.
    states: Vec<Vec<State>>,
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
        let mut hands = vec![None];
        if costs.is_repeated {
            hands.extend(order.iter().flat_map(|&chord| &chords[chord]).map(|choice| choice.hand));
        }
        let mut states: Vec<Vec<State>> = Vec::with_capacity(order.len());
        for &chord in order {
            let here = states_of(&chords[chord], &hands);
            hands = here.iter().map(|state| state.hand).collect();
            states.push(here);
        }
        let step = |from: usize, to: usize| -> WaysIn {
            let (chord, next) = (order[from], order[to]);
            let table: Vec<Vec<f64>> = (0..chords[chord].len())
                .map(|one| (0..chords[next].len()).map(|other| fingers((chord, one), (next, other))).collect())
                .collect();
            let ways_into = |to: &State| {
                let leads = |(at, from): (usize, &State)| {
                    let cost = table[from.choice][to.choice];
                    match chords[next][to.choice].hand {
                        Some(hand) => Some((at, cost + from.hand.map_or(0.0, |from| way(from, hand)))),
                        None => (from.hand == to.hand).then_some((at, cost)),
                    }
                };
                states[from].iter().enumerate().filter_map(leads).collect()
            };
            states[to].iter().map(ways_into).collect()
        };
        let mut ways_in: Vec<WaysIn> = (1..order.len()).map(|to| step(to - 1, to)).collect();
        if costs.is_repeated {
            ways_in.push(step(order.len() - 1, 0));
        }
        Self { order, costs, chords, states, ways_in, best: None, trials: 0 }
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
        let may = |state: &State| fixed[self.order[0]].is_none_or(|only| only == state.choice);
        let starts = self.states[0].iter().enumerate().filter(|(_, state)| may(state));
        let plans = starts.map(|(start, _)| self.shortest(fixed, Some(start)));
        plans.min_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or((f64::INFINITY, vec![0; self.order.len()]))
    }

    /// The shortest path through the states; with `start`, from that state of the first chord back to it.
    fn shortest(&self, fixed: &[Option<usize>], start: Option<usize>) -> (f64, Vec<usize>) {
        let cost_of = |chord: usize, state: &State| {
            let may = fixed[chord].is_none_or(|only| only == state.choice);
            may.then(|| self.chords[chord][state.choice].cost)
        };
        let begin = |(at, state): (usize, &State)| {
            let may = start.is_none_or(|start| start == at);
            cost_of(self.order[0], state).filter(|_| may).unwrap_or(f64::INFINITY)
        };
        let mut least: Vec<f64> = self.states[0].iter().enumerate().map(begin).collect();
        let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(self.order.len());
        for ((&chord, states), ways_in) in self.order.iter().zip(&self.states).skip(1).zip(&self.ways_in) {
            let best_before = |(state, ways): (&State, &Vec<(usize, f64)>)| {
                let Some(own) = cost_of(chord, state) else { return (0, f64::INFINITY) };
                let (from, cost) = first_least(ways.iter().map(|&(from, cost)| (from, least[from] + cost)));
                (from, cost + own)
            };
            let (from, costs) = states.iter().zip(ways_in).map(best_before).unzip();
            least = costs;
            came_from.push(from);
        }
        let ends = least.iter().copied().enumerate();
        let (mut at, cost) = match start {
            None => first_least(ends),
            Some(start) => {
                let back = &self.ways_in[self.order.len() - 1][start];
                first_least(back.iter().map(|&(from, cost)| (from, least[from] + cost)))
            }
        };
        let mut path = vec![at];
        for from in came_from.iter().rev() {
            at = from[at];
            path.push(at);
        }
        path.reverse();
        let choices = path.iter().zip(&self.states).map(|(&at, states)| states[at].choice).collect();
        (cost, choices)
    }
}

/// The states of a chord's choices when the hand comes from one of `hands`, in the order of the choices.
fn states_of(choices: &[Choice], hands: &[Option<Fret>]) -> Vec<State> {
    let mut hands = hands.to_vec();
    hands.sort_unstable();
    hands.dedup();
    let states = |(choice, one): (usize, &Choice)| -> Vec<State> {
        match one.hand {
            Some(_) => vec![State { choice, hand: one.hand }],
            None => hands.iter().map(|&hand| State { choice, hand }).collect(),
        }
    };
    choices.iter().enumerate().flat_map(states).collect()
}

/// Returns the first place of the least value, and the value.
fn first_least(values: impl Iterator<Item = (usize, f64)>) -> (usize, f64) {
    values.fold((0, f64::INFINITY), |least, next| if next.1 < least.1 { next } else { least })
}
