//! A good order by local search, where the best would take too long: nearest neighbours first, then moves that help.

use super::exact::Slots;
use super::order::CostTable;

/// How much is tried in all, in changes added up; bounds the time whatever the list.
const MOST_WORK: u64 = 60_000_000;

/// In orders up to this long, a stretch of any length is moved.
const MOST_FOR_ANY_LENGTH: usize = 70;

/// Fills the slots well. The same slots are always filled alike.
///
/// Starts from the order in which groups first appear and from the nearest neighbour of every group; takes the best,
/// and improves it by reversing a stretch (2-opt; Croes, 1958), moving one elsewhere, turned or not (or-opt; Or, 1976) and
/// swapping two slots. Then cuts it in four, joins the pieces crosswise and improves again, while there is work left
/// (iterated local search; the crosswise join is that of Martin, Otto and Felten, 1991).
pub(super) fn improve(slots: &Slots, costs: &CostTable) -> Vec<usize> {
    let mut search = Search { slots, costs, work: 0 };
    let mut best = search.first();
    search.descend(&mut best);
    let mut best_cost = slots.cost(costs, &best);
    let mut seed = 1_u64;
    while search.work < MOST_WORK && best.len() > 7 {
        let mut tried = crossed(&best, &mut seed);
        search.descend(&mut tried);
        let cost = slots.cost(costs, &tried);
        if cost < best_cost {
            best = tried;
            best_cost = cost;
        }
    }
    best
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
        let count = order.len();
        let longest = if count <= MOST_FOR_ANY_LENGTH { count } else { 3 };
        let mut has_helped = true;
        while has_helped && self.work < 2 * MOST_WORK {
            has_helped = false;
            for low in 0..count {
                for high in low + 1..count {
                    has_helped |= self.try_change(order, low, high, |piece| piece.reverse());
                    has_helped |= self.try_change(order, low, high, |piece| piece.swap(0, high - low));
                    for length in 1..=longest.min(high - low) {
                        has_helped |= self.try_change(order, low, high, |piece| piece.rotate_left(length));
                        has_helped |= self.try_change(order, low, high, |piece| piece.rotate_right(length));
                        if (2..=3).contains(&length) {
                            has_helped |= self.try_change(order, low, high, |piece| {
                                piece.rotate_left(length);
                                let end = piece.len();
                                piece[end - length..].reverse();
                            });
                            has_helped |= self.try_change(order, low, high, |piece| {
                                piece.rotate_right(length);
                                piece[..length].reverse();
                            });
                        }
                    }
                }
            }
        }
    }

    /// Changes the slots from `low` to `high`, and back when that does not help.
    fn try_change(&mut self, order: &mut [usize], low: usize, high: usize, change: impl FnOnce(&mut [usize])) -> bool {
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

/// Cuts the order in four and swaps the two inner pieces.
fn crossed(order: &[usize], seed: &mut u64) -> Vec<usize> {
    // Marsaglia's xorshift (2003): the same cuts every time.
    let mut below = |bound: usize| {
        *seed ^= *seed << 13;
        *seed ^= *seed >> 7;
        *seed ^= *seed << 17;
        usize::try_from(*seed % u64::try_from(bound.max(1)).unwrap_or(1)).unwrap_or(0)
    };
    // Pieces of up to a fourth of the order, anywhere in it: far pieces seldom fit each other.
    let longest = (order.len() / 4).max(1);
    let (one, two) = (1 + below(longest), 1 + below(longest));
    let start = below(order.len() - one - two + 1);
    let (middle, end) = (start + one, start + one + two);
    [&order[..start], &order[middle..end], &order[start..middle], &order[end..]].concat()
}
