//! What an order costs at least: no order can be cheaper, whatever the search finds.

use super::assignment::cheapest_assignment;
use super::exact::Slots;
use super::order::{CostTable, OrderProblem};
use super::slot_bound::slot_bound;

/// How often the prices are moved; more improves the bound by less and less.
const ROUNDS: u32 = 600;
/// After so many moves without a better bound the step is halved.
const PATIENCE: u32 = 12;

/// Returns a lower bound of the cost of every order that keeps the pinned songs in place.
///
/// Every order is a path from the start through all groups to the end, and so a spanning tree in which the start and
/// the end have one neighbour and each group two. With a price on each group the dearest of the cheapest spanning
/// trees, less the prices, is a bound (Held and Karp, 1970 and 1971). Costs that differ by direction are first made
/// alike as far as a height given to each group can do it, which changes no path's sum, and of what is left the smaller
/// is taken. Where costs differ much by direction, a better bound is the cheapest way to give each group one that follows
/// it. Where pinned songs stand between free ones, groups may be visited more than once, so that costs with
/// detours are taken; then the path through the pinned songs
/// alone is a second bound, and [`slot_bound`] a third. `known` is the cost of an order
/// there is; the closer, the faster the prices settle.
pub(super) fn lower_bound(problem: &OrderProblem, slots: &Slots, known: u64) -> u64 {
    if slots.is_whole_groups() {
        let nodes: Vec<usize> = slots.fill.iter().map(|&(group, _)| group).collect();
        let start = |group: usize| Some(slots.cost_in(&problem.costs, group));
        let end = |group: usize| Some(slots.cost_out(&problem.costs, group));
        return path_bound(&problem.costs, &nodes, known, start, end);
    }
    let costs = problem.costs.with_detours();
    let mut nodes = problem.groups.clone();
    nodes.sort_unstable();
    nodes.dedup();
    let last = problem.groups.len() - 1;
    let at_end = |place: usize| problem.is_pinned(place).then(|| problem.groups[place]);
    let (first, last) = (at_end(0), at_end(last));
    let start = |group: usize| first.is_none_or(|first| first == group).then(|| problem.start_cost(group));
    let end = |group: usize| match (first, last) {
        // The way leads back to where it began.
        (Some(first), Some(last)) if first == last => (group != last).then(|| costs.get(group, last)),
        (_, Some(last)) => (group == last).then_some(0),
        (_, None) => Some(0),
    };
    let through_all = if nodes.len() < 2 { 0 } else { path_bound(&costs, &nodes, known, start, end) };
    let pinned: Vec<usize> = (0..=slots.count()).flat_map(|slot| slots.between(slot).iter().copied()).collect();
    let through_pinned: u64 = pinned.windows(2).map(|pair| costs.get(pair[0], pair[1])).sum();
    let by_slot = safely_rounded(slot_bound(slots, &problem.costs, number(known)));
    through_all.max(through_pinned).max(by_slot)
}

/// Returns a bound for a path from a start through all `nodes` to an end; `None` where there is no such edge.
fn path_bound(
    costs: &CostTable,
    nodes: &[usize],
    known: u64,
    start: impl Fn(usize) -> Option<u64>,
    end: impl Fn(usize) -> Option<u64>,
) -> u64 {
    let count = nodes.len();
    // Row `count` is the start, column `count` the end; what must not be costs more than any order.
    let never = i64::from(u32::MAX);
    let cost = |cost: Option<u64>| cost.and_then(|cost| i64::try_from(cost).ok()).unwrap_or(never);
    let next = cheapest_assignment(count + 1, |row, column| match (row < count, column < count) {
        (true, true) if row == column => never,
        (true, true) => cost(Some(costs.get(nodes[row], nodes[column]))),
        (false, true) => cost(start(nodes[column])),
        (true, false) => cost(end(nodes[row])),
        (false, false) => never,
    });
    let next = u64::try_from(next).ok().filter(|&bound| bound <= known).unwrap_or(0);
    next.max(tree_bound(costs, nodes, known, start, end))
}

/// Returns the bound by spanning trees.
fn tree_bound(
    costs: &CostTable,
    nodes: &[usize],
    known: u64,
    start: impl Fn(usize) -> Option<u64>,
    end: impl Fn(usize) -> Option<u64>,
) -> u64 {
    let count = nodes.len();
    if count == 0 {
        return 0;
    }
    let cost = |from: usize, to: usize| number(costs.get(nodes[from], nodes[to]));
    // Half the mean difference between leaving and reaching a group: exact where costs differ by a height only.
    let share = 2.0 * number(u64::try_from(count).unwrap_or(1));
    let height: Vec<f64> = (0..count)
        .map(|one| (0..count).map(|other| cost(one, other) - cost(other, one)).sum::<f64>() / share)
        .collect();
    let (from, to) = (count, count + 1);
    let size = count + 2;
    let mut edge = vec![f64::INFINITY; size * size];
    let mut set = |one: usize, other: usize, cost: f64| {
        edge[one * size + other] = cost;
        edge[other * size + one] = cost;
    };
    for one in 0..count {
        for other in 0..one {
            let there = cost(one, other) - height[one] + height[other];
            let back = cost(other, one) - height[other] + height[one];
            set(one, other, there.min(back));
        }
        if let Some(cost) = start(nodes[one]) {
            set(from, one, number(cost) + height[one]);
        }
        if let Some(cost) = end(nodes[one]) {
            set(to, one, number(cost) - height[one]);
        }
    }
    let wanted: Vec<f64> = (0..size).map(|node| if node < count { 2.0 } else { 1.0 }).collect();
    let mut price = vec![0.0; size];
    let mut best = f64::NEG_INFINITY;
    let mut scale = 2.0;
    let mut patience = PATIENCE;
    for _ in 0..ROUNDS {
        let (weight, degrees) = cheapest_tree(&edge, &price, size);
        let owed: f64 = price.iter().zip(&wanted).map(|(price, wanted)| price * wanted).sum();
        let bound = weight - owed;
        if bound > best {
            best = bound;
            patience = PATIENCE;
        } else if patience > 0 {
            patience -= 1;
        } else {
            scale /= 2.0;
            patience = PATIENCE;
        }
        // Polyak's step (1969): as far as the gap asks for, shared among what is out of place.
        let off: f64 = degrees.iter().zip(&wanted).map(|(has, wants)| (has - wants).powi(2)).sum();
        if off < 0.5 {
            break;
        }
        let stride = scale * (number(known) - bound).max(0.5) / off;
        for node in 0..size {
            price[node] += stride * (degrees[node] - wanted[node]);
        }
    }
    safely_rounded(best)
}

/// Returns the weight of the cheapest spanning tree and each node's neighbours in it (Prim, 1957).
fn cheapest_tree(edge: &[f64], price: &[f64], size: usize) -> (f64, Vec<f64>) {
    let mut degrees = vec![0.0; size];
    let mut nearest = vec![(f64::INFINITY, 0); size];
    let mut is_in = vec![false; size];
    let mut weight = 0.0;
    let mut joined = 0;
    is_in[joined] = true;
    for _ in 1..size {
        let mut next = None;
        for node in (0..size).filter(|&node| !is_in[node]) {
            let cost = edge[joined * size + node] + price[joined] + price[node];
            if cost < nearest[node].0 {
                nearest[node] = (cost, joined);
            }
            if next.is_none_or(|next: usize| nearest[node].0 < nearest[next].0) {
                next = Some(node);
            }
        }
        let Some(node) = next else { break };
        let (cost, neighbour) = nearest[node];
        weight += cost;
        degrees[node] += 1.0;
        degrees[neighbour] += 1.0;
        is_in[node] = true;
        joined = node;
    }
    (weight, degrees)
}

fn number(cost: u64) -> f64 {
    f64::from(u32::try_from(cost).unwrap_or(u32::MAX))
}

/// Rounds a bound up, since costs are whole; rounding in the sums is far below what is taken off before.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "rounded, not negative, far below 2^53")]
fn safely_rounded(bound: f64) -> u64 {
    (bound - 1e-6 * bound.abs().max(1.0)).ceil().max(0.0) as u64
}
