//! The order of songs that costs least retuning.
//!
//! Songs in one tuning with one capo form a group; between songs of a group nothing is to do, so they stand together.
//! Between groups the cost comes in as a table. Pinned songs keep their places.
//!
//! Where no pinned song stands between free ones, the question is the shortest path through the groups, answered
//! exactly up to fifteen groups by dynamic programming over sets (Held and Karp, 1962).
//! Where one does, groups may have to be split, and the sets become counts of songs left in each group: exact while
//! those are few enough. Beyond, a local search is made, and a lower bound tells how far off it can be at most.

use super::bound::lower_bound;
use super::exact::{Slots, is_small, solve};
use super::improve::improve;

/// What it costs to retune from one group to another, in any unit the caller likes, such as tenths of a second.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CostTable {
    groups: usize,
    costs: Vec<u32>,
}

impl CostTable {
    /// The highest cost of one change; sums over a thousand songs stay exact.
    pub const HIGHEST: u32 = 1_000_000;

    /// Makes the table of `groups` groups; costs above [`CostTable::HIGHEST`] are drawn down to it, and staying in a
    /// group is free.
    #[must_use]
    pub fn new(groups: usize, mut cost: impl FnMut(usize, usize) -> u32) -> Self {
        let mut costs = Vec::with_capacity(groups * groups);
        for from in 0..groups {
            for to in 0..groups {
                costs.push(if from == to { 0 } else { cost(from, to).min(Self::HIGHEST) });
            }
        }
        Self { groups, costs }
    }

    /// Returns the number of groups.
    #[must_use]
    pub const fn groups(&self) -> usize {
        self.groups
    }

    /// Returns the cost of retuning from one group to another.
    ///
    /// # Panics
    /// When there is no such group.
    #[must_use]
    pub fn get(&self, from: usize, to: usize) -> u64 {
        assert!(from < self.groups && to < self.groups, "no such group");
        u64::from(self.costs[from * self.groups + to])
    }

    /// Returns the table in which a change may pass through other groups without playing there: the shortest paths
    /// (Floyd, 1962). Never above this one.
    #[must_use]
    pub fn with_detours(&self) -> Self {
        let n = self.groups;
        let mut costs = self.costs.clone();
        for through in 0..n {
            for from in 0..n {
                for to in 0..n {
                    let detour = costs[from * n + through].saturating_add(costs[through * n + to]);
                    let direct = &mut costs[from * n + to];
                    *direct = detour.min(*direct);
                }
            }
        }
        Self { groups: n, costs }
    }
}

/// A set list to be put in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderProblem {
    /// The group of each song, in the order they stand now; numbers of the cost table.
    pub groups: Vec<usize>,
    /// Which songs keep their places; as long as `groups`, or missing ones count as free.
    pub pinned: Vec<bool>,
    /// What each change costs.
    pub costs: CostTable,
    /// What it costs to get from what is on the guitar now to each group; `None` when the first tuning is free.
    pub from_now: Option<Vec<u32>>,
}

/// An order found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The songs by their number in [`OrderProblem::groups`], in the new order.
    pub songs: Vec<usize>,
    /// What all retuning costs in this order.
    pub cost: u64,
    /// What it costs at least in any order; `cost` itself when that is proven best.
    pub lower_bound: u64,
}

impl Order {
    /// Tells whether no order costs less.
    #[must_use]
    pub const fn is_best(&self) -> bool {
        self.cost == self.lower_bound
    }

    /// Returns how many per cent above the best possible the order is at most, rounded up to tenths; `None` when the
    /// bound says nothing.
    #[must_use]
    pub fn percent_above_best(&self) -> Option<f64> {
        if self.is_best() {
            return Some(0.0);
        }
        let over = u32::try_from(self.cost.checked_sub(self.lower_bound)?).ok()?;
        let bound = u32::try_from(self.lower_bound).ok().filter(|&bound| bound > 0)?;
        Some((f64::from(over) / f64::from(bound) * 1000.0).ceil() / 10.0)
    }
}

/// Asked now and then during a long search, with the share of it that is done, 0 to 1: tells whether the answer is still
/// wanted. What is found does not depend on it.
pub type Going<'a> = &'a dyn Fn(f64) -> bool;

/// The answer was no longer wanted before it was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotWanted;

/// A song that alone calls for its tuning, and what moving it to another would save.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MoveSuggestion {
    /// The song's number in [`OrderProblem::groups`].
    pub song: usize,
    /// The group it would join.
    pub to_group: usize,
    /// What the whole set list would then cost less, never 0.
    pub saves: u64,
}

impl OrderProblem {
    /// Puts the songs in order. Of two orders alike, the one that plays earlier what stands earlier now; songs of a
    /// group keep their order among themselves.
    ///
    /// # Panics
    /// When a song names a group that is not in the cost table, or `from_now` is shorter than it.
    #[must_use]
    pub fn solve(&self) -> Order {
        self.solve_while(&|_| true).expect("it is wanted to the end")
    }

    /// Does the same as [`OrderProblem::solve`] for as long as the answer is wanted.
    ///
    /// # Errors
    /// When `going` says no.
    ///
    /// # Panics
    /// As [`OrderProblem::solve`].
    pub fn solve_while(&self, going: Going<'_>) -> Result<Order, NotWanted> {
        let slots = Slots::of(self);
        let (filled, best_cost) = match solve(&slots, &self.costs) {
            Some(exact) => (exact, true),
            None => (improve(&slots, &self.costs, going)?, false),
        };
        let songs = slots.songs(self, &filled);
        let cost = self.cost_of(&songs);
        let lower_bound = if best_cost { cost } else { lower_bound(self, &slots, cost).min(cost) };
        Ok(Order { songs, cost, lower_bound })
    }

    /// Returns what all retuning costs when the songs are played in this order.
    ///
    /// # Panics
    /// When a number is not that of a song.
    #[must_use]
    pub fn cost_of(&self, songs: &[usize]) -> u64 {
        let first = songs.first().map_or(0, |&song| self.start_cost(self.groups[song]));
        first + songs.windows(2).map(|pair| self.costs.get(self.groups[pair[0]], self.groups[pair[1]])).sum::<u64>()
    }

    /// Returns the change of one song's tuning that saves most, for as long as the answer is wanted; `None` when none saves
    /// anything.
    ///
    /// Only songs that are the last of their group are tried, each with the group nearest to its own. What is saved is
    /// counted with the list put in order anew where that is exact, else with the song next to its new group.
    ///
    /// # Errors
    /// When `going` says no.
    ///
    /// # Panics
    /// As [`OrderProblem::solve`].
    pub fn suggest_move_while(&self, order: &Order, going: Going<'_>) -> Result<Option<MoveSuggestion>, NotWanted> {
        let mut best: Option<MoveSuggestion> = None;
        let songs = u64::try_from(self.groups.len()).unwrap_or(u64::MAX);
        for ((song, &group), done) in self.groups.iter().enumerate().zip(0..) {
            if !going(share(done, songs)) {
                return Err(NotWanted);
            }
            if self.groups.iter().filter(|&&other| other == group).count() > 1 {
                continue;
            }
            let others = self.groups.iter().copied().filter(|&other| other != group);
            let near = |other: usize| self.costs.get(group, other) + self.costs.get(other, group);
            let Some(to_group) = others.min_by_key(|&other| (near(other), other)) else { continue };
            let mut moved = self.clone();
            moved.groups[song] = to_group;
            let cost = if is_small(&Slots::of(&moved)) {
                moved.solve().cost
            } else {
                moved.cost_of(&self.joined(&order.songs, song, to_group))
            };
            let saves = order.cost.saturating_sub(cost);
            if saves > best.map_or(0, |best| best.saves) {
                best = Some(MoveSuggestion { song, to_group, saves });
            }
        }
        Ok(best)
    }

    /// Returns the order with a song moved behind the last of a group; where any song is pinned, the order as it is.
    fn joined(&self, songs: &[usize], song: usize, group: usize) -> Vec<usize> {
        let mut songs = songs.to_vec();
        if self.pinned.iter().any(|&is_pinned| is_pinned) {
            return songs;
        }
        songs.retain(|&other| other != song);
        let behind =
            songs.iter().rposition(|&other| self.groups[other] == group).map_or(songs.len(), |place| place + 1);
        songs.insert(behind, song);
        songs
    }

    /// Returns what it costs to get to the first song's group.
    pub(super) fn start_cost(&self, group: usize) -> u64 {
        self.from_now.as_ref().map_or(0, |now| u64::from(now[group].min(CostTable::HIGHEST)))
    }

    /// Tells whether a song keeps its place.
    pub(super) fn is_pinned(&self, song: usize) -> bool {
        self.pinned.get(song).copied().unwrap_or(false)
    }
}

/// Returns which share of `all` is done, 0 to 1.
pub(super) fn share(done: u64, all: u64) -> f64 {
    let number = |count: u64| u32::try_from(count).map_or(f64::from(u32::MAX), f64::from);
    (number(done) / number(all.max(1))).min(1.0)
}
