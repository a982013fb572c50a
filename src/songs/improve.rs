//! A good order by local search, where the best would take too long: nearest neighbours first, then moves that help.

use super::exact::Slots;
use super::order::{CostTable, Going, NotWanted, share};

/// How many moves are looked at in all, a long one counting for its length; bounds the time whatever the list.
const MOST_WORK: u64 = 12_000_000;

/// Fills the slots well. The same slots are always filled alike.
///
/// Starts from the order in which groups first appear and from the nearest neighbour of every group; takes the best,
/// and improves it by reversing a stretch (2-opt; Croes, 1958), moving one elsewhere, turned or not (or-opt; Or, 1976),
/// and, between pinned songs, swapping two slots. Then two neighbouring stretches change places and it is improved
/// again, while there is work left (iterated local search with the crosswise join of Martin, Otto and Felten, 1991).
pub(super) fn improve(slots: &Slots, costs: &CostTable, going: Going<'_>) -> Result<Vec<usize>, NotWanted> {
    let mut search = Search { slots, costs, work: 0 };
    let mut best = search.first();
    search.descend(&mut best);
    let mut best_cost = slots.cost(costs, &best);
    let mut seed = 1_u64;
    while search.work < MOST_WORK && best.len() > 7 {
        if !going(share(search.work, MOST_WORK)) {
            return Err(NotWanted);
        }
        let mut tried = crossed(&best, &mut seed);
        search.descend(&mut tried);
        let cost = slots.cost(costs, &tried);
        // An equal one is taken too: it may lead elsewhere.
        if cost <= best_cost {
            best = tried;
            best_cost = cost;
        }
    }
    Ok(best)
}

struct Search<'a> {
    slots: &'a Slots,
    costs: &'a CostTable,
    work: u64,
}

impl Search<'_> {
    /// Returns the best of the first orders.
    fn first(&mut self) -> Vec<usize> {
        let as_they_appear: Vec<usize> =
            self.slots.fill.iter().flat_map(|&(group, count)| std::iter::repeat_n(group, count)).collect();
        let mut best_cost = self.slots.cost(self.costs, &as_they_appear);
        let mut best = as_they_appear;
        for start in 0..self.slots.fill.len() {
            let order = self.nearest_from(start);
            let cost = self.slots.cost(self.costs, &order);
            if cost < best_cost {
                best_cost = cost;
                best = order;
            }
        }
        best
    }

    /// Fills slot after slot with the group that costs least there.
    fn nearest_from(&self, start: usize) -> Vec<usize> {
        let mut left: Vec<usize> = self.slots.fill.iter().map(|&(_, count)| count).collect();
        let mut kind = start;
        let mut order = Vec::with_capacity(self.slots.count());
        loop {
            left[kind] -= 1;
            let from = self.slots.fill[kind].0;
            order.push(from);
            let slot = order.len();
            let open = (0..left.len()).filter(|&next| left[next] > 0);
            let cost = |next: usize| self.slots.cost_between(self.costs, slot, from, self.slots.fill[next].0);
            match open.min_by_key(|&next| cost(next)) {
                Some(next) => kind = next,
                None => return order,
            }
        }
    }

    /// Takes every move that helps until none does.
    fn descend(&mut self, order: &mut [usize]) {
        if self.slots.is_whole_groups() {
            let mut path = Path::of(self.slots, self.costs, order);
            while self.work < 2 * MOST_WORK && path.improve_once(&mut self.work) {}
            order.copy_from_slice(&path.order);
            return;
        }
        let count = order.len();
        let mut has_helped = true;
        while has_helped && self.work < 2 * MOST_WORK {
            has_helped = false;
            for low in 0..count {
                for high in low + 1..count {
                    has_helped |= self.try_change(order, low, high, |piece| piece.reverse());
                    has_helped |= self.try_change(order, low, high, |piece| piece.swap(0, high - low));
                    for length in 1..=3.min(high - low) {
                        has_helped |= self.try_change(order, low, high, |piece| piece.rotate_left(length));
                        has_helped |= self.try_change(order, low, high, |piece| piece.rotate_right(length));
                    }
                }
            }
        }
    }

    /// Changes the slots from `low` to `high`, and back when that does not help.
    fn try_change(&mut self, order: &mut [usize], low: usize, high: usize, change: impl FnOnce(&mut [usize])) -> bool {
        if order[low] == order[high] {
            return false;
        }
        let before = self.cost_around(order, low, high);
        let kept: Vec<usize> = order[low..=high].to_vec();
        change(&mut order[low..=high]);
        if self.cost_around(order, low, high) < before {
            return true;
        }
        order[low..=high].copy_from_slice(&kept);
        false
    }

    /// Returns the cost of the changes into and out of the slots from `low` to `high`.
    fn cost_around(&mut self, order: &[usize], low: usize, high: usize) -> u64 {
        self.work += u64::try_from(high - low + 2).unwrap_or(u64::MAX);
        let first = if low == 0 { self.slots.cost_in(self.costs, order[0]) } else { 0 };
        let last = if high + 1 == order.len() { self.slots.cost_out(self.costs, order[high]) } else { 0 };
        let inner = (low.max(1)..=(high + 1).min(order.len() - 1))
            .map(|slot| self.slots.cost_between(self.costs, slot, order[slot - 1], order[slot]));
        first + inner.sum::<u64>() + last
    }
}

/// An order in which what a change costs does not depend on its place, so that a move is judged by its ends alone.
struct Path<'a> {
    slots: &'a Slots,
    costs: &'a CostTable,
    order: Vec<usize>,
    /// The cost of all changes up to each place, played forwards and backwards.
    forwards: Vec<i64>,
    backwards: Vec<i64>,
}

impl<'a> Path<'a> {
    fn of(slots: &'a Slots, costs: &'a CostTable, order: &[usize]) -> Self {
        let mut path = Self { slots, costs, order: order.to_vec(), forwards: Vec::new(), backwards: Vec::new() };
        path.sum_up();
        path
    }

    fn sum_up(&mut self) {
        let cost = |from: usize, to: usize| signed(self.costs.get(from, to));
        let sums = |step: &dyn Fn(usize, usize) -> i64| {
            let mut sum = 0;
            let steps = self.order.windows(2).map(|pair| {
                sum += step(pair[0], pair[1]);
                sum
            });
            std::iter::once(0).chain(steps).collect::<Vec<i64>>()
        };
        let (forwards, backwards) = (sums(&cost), sums(&|from, to| cost(to, from)));
        self.forwards = forwards;
        self.backwards = backwards;
    }

    /// Returns the cost of the change between two places; `None` is the start before the first, the end after the last.
    fn step(&self, from: Option<usize>, to: Option<usize>) -> i64 {
        signed(match (from, to) {
            (Some(from), Some(to)) => self.costs.get(self.order[from], self.order[to]),
            (None, Some(to)) => self.slots.cost_in(self.costs, self.order[to]),
            (Some(from), None) => self.slots.cost_out(self.costs, self.order[from]),
            (None, None) => 0,
        })
    }

    /// Makes every move that helps, once through; returns whether one did.
    fn improve_once(&mut self, work: &mut u64) -> bool {
        let count = self.order.len();
        let place = |place: usize| (place < count).then_some(place);
        let mut has_helped = false;
        for first in 0..count {
            for last in first..count {
                *work += u64::try_from(count).unwrap_or(u64::MAX);
                let (before, after) = (first.checked_sub(1), place(last + 1));
                let taken_out =
                    self.step(before, after) - self.step(before, Some(first)) - self.step(Some(last), after);
                let turning =
                    (self.backwards[last] - self.backwards[first]) - (self.forwards[last] - self.forwards[first]);
                // The gap the stretch leaves counts too: there it can only be turned.
                let gaps = (0..=first).chain(last + 1..=count);
                let found = gaps.clone().find_map(|gap| {
                    let (left, right, closed) = if gap == first || gap == last + 1 {
                        (before, after, self.step(before, after))
                    } else {
                        let (left, right) = (gap.checked_sub(1), place(gap));
                        (left, right, self.step(left, right))
                    };
                    let as_it_is = self.step(left, Some(first)) + self.step(Some(last), right) - closed;
                    let turned = self.step(left, Some(last)) + self.step(Some(first), right) - closed + turning;
                    if taken_out + as_it_is < 0 {
                        Some((gap, false))
                    } else {
                        (taken_out + turned < 0).then_some((gap, true))
                    }
                });
                if let Some((gap, is_turned)) = found {
                    self.shift(first, last, gap, is_turned);
                    has_helped = true;
                }
            }
        }
        has_helped
    }

    /// Moves the stretch from `first` to `last` into the gap before place `gap`.
    fn shift(&mut self, first: usize, last: usize, gap: usize, is_turned: bool) {
        if is_turned {
            self.order[first..=last].reverse();
        }
        if gap < first {
            self.order[gap..=last].rotate_right(last - first + 1);
        } else if gap > last + 1 {
            self.order[first..gap].rotate_left(last - first + 1);
        }
        self.sum_up();
    }
}

fn signed(cost: u64) -> i64 {
    i64::try_from(cost).unwrap_or(i64::MAX)
}

/// Lets two neighbouring stretches change places.
fn crossed(order: &[usize], seed: &mut u64) -> Vec<usize> {
    // Marsaglia's xorshift (2003): the same cuts every time.
    let mut below = |bound: usize| {
        *seed ^= *seed << 13;
        *seed ^= *seed >> 7;
        *seed ^= *seed << 17;
        usize::try_from(*seed % u64::try_from(bound.max(1)).unwrap_or(1)).unwrap_or(0)
    };
    // Two such joins near each other: one alone is a move that was tried already.
    let mut crossed = order.to_vec();
    for _ in 0..2 {
        let longest = (order.len() / 6).max(1);
        let (one, two) = (1 + below(longest), 1 + below(longest));
        let start = below(order.len() - one - two + 1);
        crossed[start..start + one + two].rotate_left(one);
    }
    crossed
}
