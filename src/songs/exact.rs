//! The best order exactly: dynamic programming over how many songs of each group are still to come.

use super::order::{CostTable, OrderProblem};

/// The places to be filled: what stands before each, and what may fill them.
#[derive(Clone, Debug)]
pub(super) struct Slots {
    /// The groups of the pinned songs between one slot and the next: before the first slot, …, after the last.
    between: Vec<Vec<usize>>,
    /// The groups that fill slots, by number, each with how many slots it fills.
    pub(super) fill: Vec<(usize, usize)>,
    /// Whether a slot stands for all songs of its group, to be played together.
    is_whole_groups: bool,
    /// Groups whose free songs need no slot: they follow the pinned song before the gap, or lead to the one after.
    leads: Option<usize>,
    trails: Option<usize>,
    start: Vec<u64>,
}

impl Slots {
    /// Lays out the slots of a problem. Where all free songs stand in one stretch, a slot is a whole group.
    pub(super) fn of(problem: &OrderProblem) -> Self {
        let places = problem.groups.len();
        let groups = problem.costs.groups();
        let start = (0..groups).map(|group| problem.start_cost(group)).collect();
        let mut counts = vec![0_usize; groups];
        let mut order = Vec::new();
        let mut between: Vec<Vec<usize>> = vec![Vec::new()];
        for place in 0..places {
            let group = problem.groups[place];
            if problem.is_pinned(place) {
                between.last_mut().expect("there is one before the first slot").push(group);
            } else {
                between.push(Vec::new());
                if counts[group] == 0 {
                    order.push(group);
                }
                counts[group] += 1;
            }
        }
        let slots = between.len() - 1;
        let is_whole_groups = slots <= 1 || between[1..slots].iter().all(Vec::is_empty);
        if !is_whole_groups {
            let fill = order.iter().map(|&group| (group, counts[group])).collect();
            return Self { between, fill, is_whole_groups, leads: None, trails: None, start };
        }
        let before = between.first().cloned().unwrap_or_default();
        let after = if slots == 0 { Vec::new() } else { between.last().cloned().unwrap_or_default() };
        let leads = before.last().copied().filter(|&group| counts[group] > 0);
        let trails = after.first().copied().filter(|&group| counts[group] > 0 && Some(group) != leads);
        let fill: Vec<(usize, usize)> =
            order.iter().filter(|&&group| Some(group) != leads && Some(group) != trails).map(|&g| (g, 1)).collect();
        let mut between = vec![Vec::new(); fill.len() + 1];
        if fill.is_empty() {
            between[0] = before.into_iter().chain(after).collect();
        } else {
            between[0] = before;
            between[fill.len()] = after;
        }
        Self { between, fill, is_whole_groups, leads, trails, start }
    }

    /// Returns how many slots there are.
    pub(super) fn count(&self) -> usize {
        self.between.len() - 1
    }

    /// Tells whether each slot stands for a whole group.
    pub(super) const fn is_whole_groups(&self) -> bool {
        self.is_whole_groups
    }

    /// Returns the groups passed between slot `slot - 1` and `slot`.
    pub(super) fn between(&self, slot: usize) -> &[usize] {
        &self.between[slot]
    }

    /// Returns the cost of the changes up to and into slot 0 when it holds `group`.
    pub(super) fn cost_in(&self, costs: &CostTable, group: usize) -> u64 {
        match self.between[0].first() {
            None => self.start[group],
            Some(&first) => self.start[first] + self.chain(costs, 0) + costs.get(self.last_before(0, first), group),
        }
    }

    /// Returns the cost of the changes from slot `slot - 1` holding `from` into `slot` holding `to`.
    pub(super) fn cost_between(&self, costs: &CostTable, slot: usize, from: usize, to: usize) -> u64 {
        match self.between[slot].first() {
            None => costs.get(from, to),
            Some(&first) => {
                costs.get(from, first) + self.chain(costs, slot) + costs.get(self.last_before(slot, first), to)
            }
        }
    }

    /// Returns the cost of the change from slot `slot - 1` holding `from` to the pinned song after it, 0 without one.
    pub(super) fn cost_to_pinned(&self, costs: &CostTable, slot: usize, from: usize) -> u64 {
        self.between[slot].first().map_or(0, |&first| costs.get(from, first))
    }

    /// Returns the cost of the changes out of the last slot holding `group`.
    pub(super) fn cost_out(&self, costs: &CostTable, group: usize) -> u64 {
        let slot = self.count();
        self.between[slot].first().map_or(0, |&first| costs.get(group, first) + self.chain(costs, slot))
    }

    /// Returns the cost of the changes from slot to slot when they hold these groups.
    pub(super) fn cost(&self, costs: &CostTable, filled: &[usize]) -> u64 {
        let Some((&first, &last)) = filled.first().zip(filled.last()) else { return 0 };
        let inner: u64 =
            (1..filled.len()).map(|slot| self.cost_between(costs, slot, filled[slot - 1], filled[slot])).sum();
        self.cost_in(costs, first) + inner + self.cost_out(costs, last)
    }

    fn chain(&self, costs: &CostTable, slot: usize) -> u64 {
        self.between[slot].windows(2).map(|pair| costs.get(pair[0], pair[1])).sum()
    }

    fn last_before(&self, slot: usize, first: usize) -> usize {
        self.between[slot].last().copied().unwrap_or(first)
    }

    /// Puts songs into the slots: the free songs of each group in the order they stand now.
    pub(super) fn songs(&self, problem: &OrderProblem, filled: &[usize]) -> Vec<usize> {
        let places = problem.groups.len();
        let mut free: Vec<std::collections::VecDeque<usize>> = vec![Default::default(); problem.costs.groups()];
        for song in (0..places).filter(|&song| !problem.is_pinned(song)) {
            free[problem.groups[song]].push_back(song);
        }
        let mut queue = Vec::with_capacity(places);
        if self.is_whole_groups {
            for &group in self.leads.iter().chain(filled).chain(&self.trails) {
                queue.extend(free[group].drain(..));
            }
        } else {
            queue.extend(filled.iter().filter_map(|&group| free[group].pop_front()));
        }
        let mut queue = queue.into_iter();
        (0..places).filter_map(|place| if problem.is_pinned(place) { Some(place) } else { queue.next() }).collect()
    }
}

/// The most states that are gone through: fifteen groups of one song have 15 · 2^15.
const MOST_STATES: usize = 2_000_000;

/// Finds the best filling of the slots, of several the one that fills early slots with what appears early; `None` when
/// that would take too long.
///
/// f(counts, last) is the least cost still to come once so many songs of each group are placed, the last one from
/// `last`; the number of songs placed is the number of the slot.
pub(super) fn solve(slots: &Slots, costs: &CostTable) -> Option<Vec<usize>> {
    let kinds = slots.fill.len();
    if kinds == 0 {
        return Some(Vec::new());
    }
    let strides = strides(slots)?;
    let states = strides[kinds - 1] * (slots.fill[kinds - 1].1 + 1);
    // What each change costs, by slot: the slots differ only by the pinned songs before them.
    let step: Vec<Vec<u64>> = (0..slots.count())
        .map(|slot| {
            let pairs = slots.fill.iter().flat_map(|&(from, _)| slots.fill.iter().map(move |&(to, _)| (from, to)));
            pairs.map(|(from, to)| slots.cost_between(costs, slot, from, to)).collect()
        })
        .collect();
    let mut to_come = vec![u64::MAX; states * kinds];
    for (kind, &(group, _)) in slots.fill.iter().enumerate() {
        to_come[(states - 1) * kinds + kind] = slots.cost_out(costs, group);
    }
    let mut left = vec![0; kinds];
    for state in (1..states - 1).rev() {
        count_up(&mut left, &slots.fill);
        let slot = slots.count() - left.iter().sum::<usize>();
        for from in (0..kinds).filter(|&from| left[from] < slots.fill[from].1) {
            let next = (0..kinds).filter(|&to| left[to] > 0);
            let cost = next.map(|to| step[slot][from * kinds + to] + to_come[(state + strides[to]) * kinds + to]);
            to_come[state * kinds + from] = cost.min().unwrap_or(u64::MAX);
        }
    }
    let mut left: Vec<usize> = slots.fill.iter().map(|&(_, count)| count).collect();
    let mut filled = Vec::with_capacity(slots.count());
    let (mut state, mut last) = (0, None);
    while filled.len() < slots.count() {
        let slot = filled.len();
        let into = |to: usize| match last {
            None => slots.cost_in(costs, slots.fill[to].0),
            Some(from) => step[slot][from * kinds + to],
        };
        let open = (0..kinds).filter(|&to| left[to] > 0);
        let best = open.min_by_key(|&to| into(to) + to_come[(state + strides[to]) * kinds + to])?;
        filled.push(slots.fill[best].0);
        left[best] -= 1;
        state += strides[best];
        last = Some(best);
    }
    Some(filled)
}

/// Returns how far apart two states are that differ by one song of a group; `None` when there are too many states.
fn strides(slots: &Slots) -> Option<Vec<usize>> {
    let kinds = slots.fill.len();
    let mut states = 1_usize;
    let mut strides = Vec::with_capacity(kinds);
    for &(_, count) in &slots.fill {
        strides.push(states);
        states = states.checked_mul(count + 1).filter(|&states| states.saturating_mul(kinds) <= MOST_STATES)?;
    }
    Some(strides)
}

/// Tells whether [`solve`] answers.
pub(super) fn is_small(slots: &Slots) -> bool {
    strides(slots).is_some()
}

/// Counts one up in the digits of a state.
fn count_up(placed: &mut [usize], fill: &[(usize, usize)]) {
    for (digit, &(_, count)) in placed.iter_mut().zip(fill) {
        if *digit < count {
            *digit += 1;
            return;
        }
        *digit = 0;
    }
}
