//! What an order costs at least where pinned songs stand between free ones.

use super::exact::Slots;
use super::order::CostTable;

/// How often the prices are moved.
const ROUNDS: u32 = 150;
/// After so many moves without a better bound the step is halved.
const PATIENCE: u32 = 6;

/// Returns a lower bound of the cost of filling the slots.
///
/// Each slot is filled freely, but a song of a group costs its price. The cheapest filling, found slot by slot, less
/// what all songs' prices come to, is a bound whatever the prices (Lagrangian relaxation of the counts); prices of
/// groups that are used too often rise. `known` is the cost of a filling there is.
pub(super) fn slot_bound(slots: &Slots, costs: &CostTable, known: f64) -> f64 {
    let kinds = slots.fill.len();
    let count = slots.count();
    let number = |cost: u64| f64::from(u32::try_from(cost).unwrap_or(u32::MAX));
    let group = |kind: usize| slots.fill[kind].0;
    let step: Vec<f64> =
        (0..kinds * kinds).map(|pair| number(costs.get(group(pair / kinds), group(pair % kinds)))).collect();
    let wanted: Vec<f64> =
        slots.fill.iter().map(|&(_, songs)| number(u64::try_from(songs).unwrap_or(u64::MAX))).collect();
    let mut price = vec![0.0; kinds];
    let mut best = f64::NEG_INFINITY;
    let mut scale = 2.0;
    let mut patience = PATIENCE;
    let mut came_from = vec![0; count * kinds];
    for _ in 0..ROUNDS {
        let mut cost: Vec<f64> =
            (0..kinds).map(|kind| number(slots.cost_in(costs, group(kind))) + price[kind]).collect();
        for slot in 1..count {
            let back = &mut came_from[slot * kinds..(slot + 1) * kinds];
            let mut next = vec![f64::INFINITY; kinds];
            if slots.between(slot).is_empty() {
                for from in 0..kinds {
                    let so_far = cost[from];
                    for to in 0..kinds {
                        let reached = so_far + step[from * kinds + to];
                        if reached < next[to] {
                            next[to] = reached;
                            back[to] = from;
                        }
                    }
                }
            } else {
                // Behind a pinned song it does not matter which slot was left, but for the way to the pinned song.
                let leave = |kind: usize| cost[kind] + number(slots.cost_to_pinned(costs, slot, group(kind)));
                let from = (0..kinds).min_by(|&one, &other| leave(one).total_cmp(&leave(other))).unwrap_or(0);
                for to in 0..kinds {
                    next[to] = cost[from] + number(slots.cost_between(costs, slot, group(from), group(to)));
                    back[to] = from;
                }
            }
            for (next, price) in next.iter_mut().zip(&price) {
                *next += price;
            }
            cost = next;
        }
        let whole = |kind: usize| cost[kind] + number(slots.cost_out(costs, group(kind)));
        let Some(mut kind) = (0..kinds).min_by(|&one, &other| whole(one).total_cmp(&whole(other))) else { return 0.0 };
        let bound = whole(kind) - price.iter().zip(&wanted).map(|(price, wanted)| price * wanted).sum::<f64>();
        if bound > best {
            best = bound;
            patience = PATIENCE;
        } else if patience > 0 {
            patience -= 1;
        } else {
            scale /= 2.0;
            patience = PATIENCE;
        }
        let mut used = vec![0.0; kinds];
        for slot in (0..count).rev() {
            used[kind] += 1.0;
            kind = came_from[slot * kinds + kind];
        }
        let off: f64 = used.iter().zip(&wanted).map(|(used, wanted)| (used - wanted).powi(2)).sum();
        if off < 0.5 {
            break;
        }
        let stride = scale * (known - bound).max(0.5) / off;
        for kind in 0..kinds {
            price[kind] += stride * (used[kind] - wanted[kind]);
        }
    }
    best
}
