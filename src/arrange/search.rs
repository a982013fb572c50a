//! The search: dynamic programming over the ways to play each moment.
//!
//! Sayegh (1989) finds a fingering as the cheapest path through a layered graph; Hori, Kameoka and Sagayama (2013) take
//! hand forms as the states; Hori and Sagayama (2016) ask for the least greatest step (from memory). Here a state holds
//! what sounds on, so a step looks at two neighbours only and the first-order recursion is exact: no look-ahead fault.

use std::collections::BTreeMap;

use super::costs::ArrangeCosts;
use super::grips::{NONE, Reach};
use super::slices::Slice;
use super::states::State;
use super::wishes::Goal;

/// How two neighbouring moments hang together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Link {
    /// Whether the melody note of the first sounds on in the second.
    pub(super) melody_goes_on: bool,
    /// Whether the thumb plays in the second.
    pub(super) is_beat: bool,
    /// Whether the thumb alternates there.
    pub(super) alternates: bool,
    /// Whether another chord sounds in the second.
    pub(super) is_new_chord: bool,
    /// The open courses that are foreign to the second's chord, as bits.
    pub(super) foreign: u16,
    /// Whether a melody note begins in the second less than half a quarter after one in the first.
    pub(super) is_quick: bool,
}

/// What a step costs, and whether it can be done.
#[derive(Clone, Copy, Debug)]
pub(super) struct Steps<'a> {
    pub(super) costs: &'a ArrangeCosts,
    pub(super) reach: &'a Reach,
}

impl Steps<'_> {
    /// Tells whether one state can follow another: what sounds on keeps its place and its finger.
    pub(super) fn can_follow(before: &State, after: &State, link: Link) -> bool {
        if link.melody_goes_on && (before.melody != after.melody || before.melody_finger != after.melody_finger) {
            return false;
        }
        let bass_goes_on = !link.is_beat && after.bass.0 != NONE;
        if bass_goes_on && (before.bass != after.bass || before.bass_finger != after.bass_finger) {
            return false;
        }
        // Where nothing is held the hand stays where it is.
        after.grip.iter().any(|stop| stop.is_down()) || before.place == after.place
    }

    /// Returns what the way of the hand costs: a part of [`Steps::cost`].
    fn way(&self, before: &State, after: &State) -> f64 {
        self.reach.between(before.place, after.place) * self.costs.move_per_mm
    }

    /// Returns what a step costs: the way of the hand and fingers, what happens to the bass, and the second state itself.
    pub(super) fn cost(&self, before: &State, after: &State, link: Link) -> f64 {
        let costs = self.costs;
        let mut cost = after.own + self.way(before, after);
        for (was, is) in before.grip.iter().zip(&after.grip) {
            cost += match (was.is_down(), is.is_down()) {
                (false, false) => 0.0,
                (true, false) => costs.lift,
                (false, true) => costs.place,
                (true, true) if was == is => 0.0,
                (true, true) if was.from == is.from && was.to == is.to => costs.slide,
                (true, true) if was.fret == is.fret => costs.slide,
                (true, true) => costs.place + costs.jump,
            };
        }
        if before.shape != after.shape && !link.is_new_chord {
            cost += costs.shape_left;
        }
        if before.bass.0 != NONE {
            if !link.is_beat && after.bass.0 == NONE {
                cost += costs.bass_cut_short;
            }
            if link.is_beat && link.alternates && before.bass == after.bass {
                cost += costs.bass_repeated;
            }
        }
        if link.is_new_chord && link.foreign != 0 {
            let silenced = [after.melody.0, after.bass.0].into_iter().filter(|course| *course < 16);
            let silenced = silenced.fold(0_u16, |bits, course| bits | 1 << course);
            let stopped = after.grip.iter().filter(|stop| stop.is_down()).flat_map(|stop| stop.from..=stop.to);
            let stopped = stopped.filter(|course| *course < 16).fold(0_u16, |bits, course| bits | 1 << course);
            let ringing = before.open & link.foreign & !silenced & !stopped;
            cost += f64::from(ringing.count_ones()) * costs.ring_on;
        }
        if link.is_quick && before.melody.0 == after.melody.0 && after.melody.0 != NONE {
            cost += costs.same_course;
        }
        cost
    }
}

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Path {
    /// For each moment which of its states is taken.
    pub(super) choices: Vec<usize>,
    /// What all steps cost together.
    pub(super) sum: f64,
    /// What the hardest costs.
    pub(super) hardest: f64,
}

/// How the costs of steps are put together.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Together {
    Sum {
        /// No step may cost more.
        most: f64,
    },
    Greatest,
}

/// Finds the best way through all moments. `layers` says for each moment which list of `lists` it takes, and `allowed`
/// which of its states the player's decisions leave; `None` where there is no way, or it was stopped.
pub(super) struct Search<'a> {
    pub(super) steps: Steps<'a>,
    pub(super) lists: &'a [Vec<State>],
    pub(super) layers: &'a [usize],
    pub(super) links: &'a [Link],
    pub(super) allowed: &'a dyn Fn(usize, &State) -> bool,
    pub(super) should_stop: &'a dyn Fn() -> bool,
}

/// A moment to which no way leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoWay {
    At(usize),
    Stopped,
}

impl Search<'_> {
    pub(super) fn find(&self, goal: Goal) -> Result<Path, NoWay> {
        let most = match goal {
            Goal::LeastSum => f64::INFINITY,
            // Rounding may not shut out the very way that gave the bound: both runs add the same numbers the same way.
            Goal::LeastHardest => self.run(Together::Greatest)?.hardest,
        };
        self.run(Together::Sum { most })
    }

    fn run(&self, together: Together) -> Result<Path, NoWay> {
        let mut back: Vec<Vec<u16>> = Vec::with_capacity(self.layers.len());
        let mut before: Vec<f64> = Vec::new();
        for (index, &layer) in self.layers.iter().enumerate() {
            if (self.should_stop)() {
                return Err(NoWay::Stopped);
            }
            let states = &self.lists[layer];
            let mut reached = vec![f64::INFINITY; states.len()];
            let mut from = vec![0_u16; states.len()];
            match index.checked_sub(1) {
                None => {
                    for (reached, state) in reached.iter_mut().zip(states) {
                        if (self.allowed)(0, state) && within(state.own, together) {
                            *reached = state.own;
                        }
                    }
                }
                Some(last) => self.step(last, &before, &mut reached, &mut from, together),
            }
            if reached.iter().all(|cost| cost.is_infinite()) {
                return Err(NoWay::At(index));
            }
            back.push(from);
            before = reached;
        }
        let end = before.iter().enumerate().min_by(|one, other| one.1.total_cmp(other.1));
        let Some((mut at, _)) = end else { return Ok(Path { choices: Vec::new(), sum: 0.0, hardest: 0.0 }) };
        let mut choices = vec![0; self.layers.len()];
        for index in (0..self.layers.len()).rev() {
            choices[index] = at;
            at = usize::from(back[index][at]);
        }
        let costs = self.step_costs(&choices);
        Ok(Path { sum: costs.iter().sum(), hardest: costs.iter().copied().fold(0.0, f64::max), choices })
    }

    /// Returns what each step of a path costs, the first state by itself.
    pub(super) fn step_costs(&self, choices: &[usize]) -> Vec<f64> {
        let state = |index: usize| &self.lists[self.layers[index]][choices[index]];
        (0..choices.len())
            .map(|index| match index.checked_sub(1) {
                None => state(0).own,
                Some(last) => self.steps.cost(state(last), state(index), self.links[last]),
            })
            .collect()
    }

    fn step(&self, last: usize, before: &[f64], reached: &mut [f64], from: &mut [u16], together: Together) {
        let (ones, others) = (&self.lists[self.layers[last]], &self.lists[self.layers[last + 1]]);
        let link = self.links[last];
        // Cheapest first, so that the rest need not be looked at once they cost more than what is found: no step costs
        // less than the state it leads to, and none less than nothing.
        let mut order: Vec<usize> = (0..ones.len()).filter(|&index| before[index].is_finite()).collect();
        order.sort_by(|&one, &other| before[one].total_cmp(&before[other]));
        let mut groups: BTreeMap<(u32, u32), Vec<usize>> = BTreeMap::new();
        for &index in &order {
            let melody = if link.melody_goes_on { melody_key(&ones[index]) } else { 0 };
            groups.entry((melody, 0)).or_default().push(index);
            if !link.is_beat {
                groups.entry((melody, 1 + bass_key(&ones[index]))).or_default().push(index);
            }
        }
        for (index, after) in others.iter().enumerate() {
            if !(self.allowed)(last + 1, after) || !within(after.own, together) {
                continue;
            }
            let melody = if link.melody_goes_on { melody_key(after) } else { 0 };
            let bass = if !link.is_beat && after.bass.0 != NONE { 1 + bass_key(after) } else { 0 };
            let Some(group) = groups.get(&(melody, bass)) else { continue };
            let mut best = f64::INFINITY;
            for &one in group {
                let so_far = before[one];
                let at_least = match together {
                    Together::Sum { .. } => so_far + after.own,
                    Together::Greatest => so_far.max(after.own),
                };
                if at_least >= best {
                    break;
                }
                // Most of what is left is too far away along the neck, which is known before the fingers are looked at.
                let way = self.steps.way(&ones[one], after);
                let with_way = match together {
                    Together::Sum { .. } => so_far + (after.own + way),
                    Together::Greatest => so_far.max(after.own + way),
                };
                if with_way >= best || !within(after.own + way, together) {
                    continue;
                }
                if !Steps::can_follow(&ones[one], after, link) {
                    continue;
                }
                let step = self.steps.cost(&ones[one], after, link);
                if !within(step, together) {
                    continue;
                }
                let cost = match together {
                    Together::Sum { .. } => so_far + step,
                    Together::Greatest => so_far.max(step),
                };
                if cost < best {
                    best = cost;
                    from[index] = u16::try_from(one).unwrap_or(u16::MAX);
                }
            }
            reached[index] = best;
        }
    }
}

fn within(step: f64, together: Together) -> bool {
    match together {
        Together::Sum { most } => step <= most,
        Together::Greatest => true,
    }
}

fn melody_key(state: &State) -> u32 {
    u32::from_le_bytes([state.melody.0, state.melody.1, state.melody_finger, 0])
}

fn bass_key(state: &State) -> u32 {
    u32::from_le_bytes([state.bass.0, state.bass.1, state.bass_finger, 0])
}

/// Says how each moment hangs together with the next.
pub(super) fn links(slices: &[Slice], alternates: bool, foreign: &dyn Fn(&Slice) -> u16) -> Vec<Link> {
    let half = crate::tune::Quarters::new(1, 2).unwrap_or_default();
    slices
        .windows(2)
        .map(|pair| Link {
            melody_goes_on: pair[1].note.is_some() && pair[0].note == pair[1].note,
            is_beat: pair[1].beat.is_some(),
            alternates,
            is_new_chord: pair[0].chord != pair[1].chord,
            foreign: foreign(&pair[1]),
            is_quick: pair[1].starts && pair[0].starts && pair[0].length < half,
        })
        .collect()
}
