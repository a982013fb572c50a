//! The order that costs least retuning, against brute force, another algorithm, and other programs.

use std::collections::HashMap;

use pegwise::songs::{CostTable, Order, OrderProblem};
use serde::Deserialize;

/// A small generator of numbers (Marsaglia's xorshift, 2003), so that a failure can be repeated.
struct Seed(u64);

impl Seed {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(bound).unwrap()).unwrap()
    }

    fn cost(&mut self, bound: usize) -> u32 {
        u32::try_from(self.below(bound)).unwrap()
    }

    /// Tunings of six strings; the cost counts semitones and strings, and a string up costs more than one down.
    fn tunings(&mut self, groups: usize) -> CostTable {
        let tunings: Vec<Vec<i64>> =
            (0..groups).map(|_| (0..6).map(|_| i64::try_from(self.below(6)).unwrap()).collect()).collect();
        CostTable::new(groups, |from, to| {
            let string = |(one, other): (&i64, &i64)| {
                let up = other - one;
                u32::try_from(if up > 0 {
                    30 + 14 * up
                } else if up < 0 {
                    30 - 10 * up
                } else {
                    0
                })
                .unwrap()
            };
            tunings[from].iter().zip(&tunings[to]).map(string).sum()
        })
    }

    /// Costs without any sense, other back than there.
    fn senseless(&mut self, groups: usize) -> CostTable {
        CostTable::new(groups, |_, _| self.cost(1000))
    }
}

fn check_is_order(problem: &OrderProblem, order: &Order) {
    let mut sorted = order.songs.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, (0..problem.groups.len()).collect::<Vec<_>>(), "every song once");
    for (place, &is_pinned) in problem.pinned.iter().enumerate() {
        assert!(!is_pinned || order.songs[place] == place, "a pinned song keeps its place");
    }
    for group in 0..problem.costs.groups() {
        let free: Vec<usize> = order
            .songs
            .iter()
            .copied()
            .filter(|&song| problem.groups[song] == group && !problem.pinned[song])
            .collect();
        assert!(free.is_sorted(), "songs of a group keep their order");
    }
    assert_eq!(order.cost, problem.cost_of(&order.songs));
    assert!(order.lower_bound <= order.cost);
}

/// Tries every order of the free songs; of songs of one group only one order, since they are alike.
fn brute_force(problem: &OrderProblem) -> u64 {
    fn place(problem: &OrderProblem, so_far: &mut Vec<usize>, left: &mut Vec<usize>, cost: u64, best: &mut u64) {
        let at = so_far.len();
        if at == problem.groups.len() {
            *best = cost.min(*best);
            return;
        }
        let step = |so_far: &[usize], group: usize| match so_far.last() {
            Some(&last) => problem.costs.get(last, group),
            None => problem.from_now.as_ref().map_or(0, |now| u64::from(now[group])),
        };
        if problem.pinned[at] {
            let group = problem.groups[at];
            let cost = cost + step(so_far, group);
            so_far.push(group);
            place(problem, so_far, left, cost, best);
            so_far.pop();
            return;
        }
        for group in 0..left.len() {
            if left[group] > 0 {
                let cost = cost + step(so_far, group);
                left[group] -= 1;
                so_far.push(group);
                place(problem, so_far, left, cost, best);
                so_far.pop();
                left[group] += 1;
            }
        }
    }
    let mut left = vec![0; problem.costs.groups()];
    for (song, &group) in problem.groups.iter().enumerate() {
        left[group] += usize::from(!problem.pinned[song]);
    }
    let mut best = u64::MAX;
    place(problem, &mut Vec::new(), &mut left, 0, &mut best);
    best
}

#[test]
fn a_thousand_sets_up_to_nine_groups_equal_brute_force() {
    let mut seed = Seed(2026);
    for number in 0..1_000 {
        let groups = 1 + seed.below(if number % 20 == 0 { 9 } else { 8 });
        let costs = if number % 2 == 0 { seed.tunings(groups) } else { seed.senseless(groups) };
        let from_now = (number % 3 == 0).then(|| (0..groups).map(|_| seed.cost(300)).collect());
        let mut pinned = vec![false; groups];
        pinned[0] = seed.below(4) == 0;
        pinned[groups - 1] |= seed.below(4) == 0;
        let problem = OrderProblem { groups: (0..groups).collect(), pinned, costs, from_now };
        let order = problem.solve();
        check_is_order(&problem, &order);
        assert!(order.is_best());
        assert_eq!(order.cost, brute_force(&problem), "{problem:?}");
    }
}

#[test]
fn sets_with_several_songs_a_group_equal_brute_force() {
    let mut seed = Seed(77);
    for number in 0..600 {
        let groups = 1 + seed.below(4);
        // With detours, staying together is never dearer; the order is then the best of all.
        let costs = if number % 2 == 0 { seed.tunings(groups) } else { seed.senseless(groups).with_detours() };
        let songs = 1 + seed.below(8);
        let problem = OrderProblem {
            groups: (0..songs).map(|_| seed.below(groups)).collect(),
            pinned: (0..songs).map(|_| seed.below(3) == 0).collect(),
            costs,
            from_now: None,
        };
        let order = problem.solve();
        check_is_order(&problem, &order);
        assert_eq!(order.cost, brute_force(&problem), "{problem:?}");
        assert!(order.is_best());
    }
}

/// Held and Karp's recursion written forwards from the end, with a map instead of a table: C(last, left) is the least
/// cost of playing all that is left after `last`.
fn held_karp(problem: &OrderProblem) -> u64 {
    fn rest(problem: &OrderProblem, last: usize, left: u32, known: &mut HashMap<(usize, u32), u64>) -> u64 {
        if left == 0 {
            return 0;
        }
        if let Some(&cost) = known.get(&(last, left)) {
            return cost;
        }
        let next = (0..problem.groups.len()).filter(|group| left & 1 << group != 0);
        let cost = next.map(|group| problem.costs.get(last, group) + rest(problem, group, left & !(1 << group), known));
        let cost = cost.min().unwrap();
        known.insert((last, left), cost);
        cost
    }
    let mut known = HashMap::new();
    let all = (1 << problem.groups.len()) - 1_u32;
    let firsts = 0..problem.groups.len();
    firsts.map(|first| rest(problem, first, all & !(1 << first), &mut known)).min().unwrap()
}

#[test]
fn sets_up_to_fifteen_groups_equal_held_and_karp() {
    let mut seed = Seed(15);
    for groups in [10, 10, 11, 11, 12, 12, 13, 13, 14, 15] {
        let costs = if groups % 2 == 0 { seed.tunings(groups) } else { seed.senseless(groups) };
        let problem =
            OrderProblem { groups: (0..groups).collect(), pinned: vec![false; groups], costs, from_now: None };
        let order = problem.solve();
        check_is_order(&problem, &order);
        assert!(order.is_best());
        assert_eq!(order.cost, held_karp(&problem));
    }
}

/// `order_sets.json`: what OR-Tools and networkx find; made by `order_sets.py`, versions in the file.
#[derive(Deserialize)]
struct SecondOpinions {
    sets: Vec<SecondOpinion>,
}

#[derive(Deserialize)]
struct SecondOpinion {
    name: String,
    costs: Vec<Vec<u32>>,
    ortools_cost: u64,
    ortools_bound: u64,
    networkx_cost: u64,
}

#[test]
fn twenty_larger_sets_agree_with_other_programs() {
    let text = std::fs::read_to_string("tests/assets/order_sets.json").unwrap();
    let opinions: SecondOpinions = serde_json::from_str(&text).unwrap();
    assert_eq!(opinions.sets.len(), 20);
    let mut proven = 0;
    for set in opinions.sets {
        let groups = set.costs.len();
        let problem = OrderProblem {
            groups: (0..groups).collect(),
            pinned: vec![false; groups],
            costs: CostTable::new(groups, |from, to| set.costs[from][to]),
            from_now: None,
        };
        let order = problem.solve();
        check_is_order(&problem, &order);
        eprintln!(
            "{}: ours {} (bound {}, at most {:?} % above), OR-Tools {} (bound {}), networkx {}",
            set.name,
            order.cost,
            order.lower_bound,
            order.percent_above_best(),
            set.ortools_cost,
            set.ortools_bound,
            set.networkx_cost
        );
        assert!(order.cost >= set.ortools_bound, "{}: cheaper than what is proven possible", set.name);
        assert!(order.lower_bound <= set.ortools_cost, "{}: the bound is above an order there is", set.name);
        assert!(order.cost <= set.networkx_cost, "{}: networkx finds a better order", set.name);
        proven += usize::from(set.ortools_cost == set.ortools_bound);
        if set.ortools_cost == set.ortools_bound {
            assert!(order.cost * 100 <= set.ortools_cost * 102, "{}: over 2 % above the best", set.name);
        }
    }
    assert!(proven >= 15, "OR-Tools proved {proven}");
}

#[test]
fn beyond_fifteen_groups_the_bound_holds_and_the_order_is_the_same_every_time() {
    let mut seed = Seed(60);
    for groups in [17, 30, 60] {
        let songs = 3 * groups;
        let problem = OrderProblem {
            groups: (0..songs).map(|song| if song < groups { song } else { seed.below(groups) }).collect(),
            pinned: (0..songs).map(|song| groups == 30 && song % 31 == 7).collect(),
            costs: seed.tunings(groups),
            from_now: None,
        };
        let order = problem.solve();
        check_is_order(&problem, &order);
        assert_eq!(order, problem.solve());
        let percent = order.percent_above_best().unwrap();
        eprintln!("{groups} groups, {songs} songs: at most {percent} % above the best");
        let as_it_stood: Vec<usize> = (0..songs).collect();
        assert!(order.cost < problem.cost_of(&as_it_stood));
        assert!(percent < 100.0);
    }
}

#[test]
fn no_order_tried_is_below_the_bound_with_pinned_songs() {
    // Too many groups to be solved exactly, so that the bound is asked for.
    let mut seed = Seed(5);
    for _ in 0..10 {
        let groups = 24;
        let costs = seed.tunings(groups);
        let mut pinned = vec![false; groups];
        pinned[seed.below(groups)] = true;
        pinned[seed.below(groups)] = true;
        let problem = OrderProblem { groups: (0..groups).collect(), pinned, costs, from_now: None };
        let order = problem.solve();
        check_is_order(&problem, &order);
        // Every order there is costs at least the bound: try many.
        let mut free: Vec<usize> = (0..groups).filter(|&song| !problem.pinned[song]).collect();
        for _ in 0..2_000 {
            let (one, other) = (seed.below(free.len()), seed.below(free.len()));
            free.swap(one, other);
            let mut next = free.iter().copied();
            let songs: Vec<usize> =
                (0..groups).map(|place| if problem.pinned[place] { place } else { next.next().unwrap() }).collect();
            assert!(problem.cost_of(&songs) >= order.lower_bound);
        }
    }
}

#[test]
fn edges_of_a_set_list() {
    let problem = |groups: &[usize], pinned: &[bool]| OrderProblem {
        groups: groups.to_vec(),
        pinned: pinned.to_vec(),
        costs: CostTable::new(3, |from, to| if from + to == 2 { 50 } else { 10 }),
        from_now: None,
    };
    assert_eq!(problem(&[], &[]).solve().songs, Vec::<usize>::new());
    assert_eq!(problem(&[2], &[]).solve().songs, [0]);
    assert_eq!(problem(&[1, 1, 1], &[]).solve().songs, [0, 1, 2]);
    assert_eq!(problem(&[0, 1, 0, 1], &[]).solve().songs, [0, 2, 1, 3]);
    assert_eq!(problem(&[0, 1, 0, 1], &[true; 4]).solve().songs, [0, 1, 2, 3]);
    // First pinned in group 0, last pinned in group 0: the free song of group 0 follows the first.
    let both = problem(&[0, 1, 0, 2, 0], &[true, false, false, false, true]).solve();
    assert_eq!((both.songs, both.cost), (vec![0, 2, 1, 3, 4], 70));
    // 0 → 1 → 2 costs 20, 0 → 2 costs 50.
    let order = problem(&[0, 2, 1], &[]).solve();
    assert_eq!((&order.songs[..], order.cost, order.percent_above_best()), (&[0, 2, 1][..], 20, Some(0.0)));
}

#[test]
fn what_is_on_the_guitar_now_decides_where_to_begin() {
    let mut problem = OrderProblem {
        groups: vec![0, 1, 2],
        pinned: vec![false; 3],
        costs: CostTable::new(3, |from, to| u32::try_from(from.abs_diff(to)).unwrap() * 10),
        from_now: Some(vec![20, 10, 0]),
    };
    assert_eq!(problem.solve().songs, [2, 1, 0]);
    problem.from_now = Some(vec![0, 10, 20]);
    assert_eq!(problem.solve().songs, [0, 1, 2]);
}

#[test]
fn the_song_whose_move_saves_most_is_named() {
    // Groups on a line at 0, 10, 11 and 100; the song at 100 alone costs 89.
    let at = [0_u32, 10, 11, 100];
    let problem = OrderProblem {
        groups: vec![0, 0, 1, 2, 3],
        pinned: vec![false; 5],
        costs: CostTable::new(4, |from, to| at[from].abs_diff(at[to])),
        from_now: None,
    };
    let order = problem.solve();
    let found = problem.suggest_move_while(&order, &|_| true).unwrap().unwrap();
    assert_eq!((found.song, found.to_group, found.saves), (4, 2, 89));
    let all_alike = OrderProblem { groups: vec![1; 5], ..problem };
    assert_eq!(all_alike.suggest_move_while(&all_alike.solve(), &|_| true), Ok(None));
}
