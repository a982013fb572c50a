//! The cheapest chain of comparisons from the courses that are right to each that is not: Dijkstra over at most twelve
//! courses.

use super::comparison::Match;
use super::reference::{Ear, Side};

/// For each course, the ways to bring it right.
pub(super) type Links = Vec<Vec<Match>>;

/// Finds, for each course, every way to bring it right from each other course: the best of each kind a pair.
pub(super) fn find_links(ear: &Ear<'_>, sides: &[Side]) -> Links {
    let to_one = |(to, tuned): (usize, &Side)| {
        let mut found = Vec::with_capacity(3 * sides.len());
        for (_, reference) in sides.iter().enumerate().filter(|&(from, _)| from != to) {
            ear.find_matches(*reference, *tuned, &mut found);
        }
        found
    };
    sides.iter().enumerate().map(to_one).collect()
}

/// The chain to one course: what it costs in all, and the course before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reach {
    /// Summed cost from a source.
    pub(super) cost: f64,
    /// The course it leans on; `None` for a source and for the phone's tone.
    pub(super) parent: Option<usize>,
}

/// Finds the cheapest chain to every course from the `sources`, the phone's tone (at `tone_cost[course]`) being one more.
///
/// Ties go to the tone last, else to the lower index.
pub(super) fn shortest_tree(links: &Links, sources: &[bool], tone_cost: &[f64]) -> Vec<Reach> {
    let count = links.len();
    let mut best: Vec<Reach> = (0..count)
        .map(|course| Reach { cost: if sources[course] { 0.0 } else { tone_cost[course] }, parent: None })
        .collect();
    let mut is_done = vec![false; count];
    while let Some(at) = (0..count)
        .filter(|&course| !is_done[course])
        .min_by(|&one, &other| best[one].cost.total_cmp(&best[other].cost).then(one.cmp(&other)))
    {
        is_done[at] = true;
        let chain = best[at].cost;
        for course in (0..count).filter(|&course| !sources[course] && !is_done[course]) {
            let edges = links[course].iter().filter(|link| leans_on(link) == Some(at)).map(Match::cost);
            let cost = chain + edges.fold(f64::INFINITY, f64::min);
            if cost < best[course].cost {
                best[course] = Reach { cost, parent: Some(at) };
            }
        }
    }
    best
}

/// Returns the index of the course a comparison leans on; `None` for the phone's tone.
pub(super) fn leans_on(link: &Match) -> Option<usize> {
    link.reference().map(|side| side.course.from_lowest_index())
}
