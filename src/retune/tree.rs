//! The cheapest chain of comparisons from the courses that are right to each that is not: Dijkstra over at most twelve
//! courses.

use super::comparison::Match;
use super::reference::{Ear, Side};

/// For each course, the ways to bring it right.
pub(super) type Links = Vec<Vec<Match>>;

/// Finds, for each course, every way to bring it right from each other course: the best of each kind a pair. `old` are the
/// courses that stand at a known pitch and are to move; ways against them as they are come after the others.
pub(super) fn find_links(ear: &Ear<'_>, sides: &[Side], old: &[Side]) -> Links {
    let to_one = |(to, tuned): (usize, &Side)| {
        let mut found = Vec::with_capacity(4 * sides.len());
        for reference in sides.iter().chain(old) {
            if reference.course.from_lowest_index() != to {
                ear.find_matches(*reference, *tuned, &mut found);
            }
        }
        found
    };
    sides.iter().enumerate().map(to_one).collect()
}

/// What the cheapest way from one course to another costs, course by course; infinite where there is none.
#[derive(Clone, Debug)]
pub(super) struct Cheapest {
    courses: usize,
    right: Vec<f64>,
    old: Vec<f64>,
}

impl Cheapest {
    pub(super) fn of(links: &Links) -> Self {
        let courses = links.len();
        let mut cheapest = Self {
            courses,
            right: vec![f64::INFINITY; courses * courses],
            old: vec![f64::INFINITY; courses * courses],
        };
        for (to, links) in links.iter().enumerate() {
            for link in links {
                let Some(from) = leans_on(link) else { continue };
                let table = if link.leans_on_old_pitch() { &mut cheapest.old } else { &mut cheapest.right };
                let cost = &mut table[to * courses + from];
                *cost = cost.min(link.cost());
            }
        }
        cheapest
    }

    /// Returns the cost from a course that is right.
    pub(super) fn right(&self, to: usize, from: usize) -> f64 {
        self.right[to * self.courses + from]
    }

    /// Returns the cost from a course that stands at its old pitch.
    pub(super) fn old(&self, to: usize, from: usize) -> f64 {
        self.old[to * self.courses + from]
    }
}

/// The chain to one course: what it costs in all, and where it begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reach {
    /// Summed cost from a source.
    pub(super) cost: f64,
    /// The course it leans on when that is right; `None` for a source, the phone's tone or an old pitch.
    pub(super) parent: Option<usize>,
}

/// Finds the cheapest chain to every course from where each can start: `start[course]` is 0 or more for a course that is
/// right, and what the phone's tone or an old pitch costs for another.
///
/// Ties go to the start, else to the lower index.
pub(super) fn shortest_tree(cheapest: &Cheapest, start: &[f64], is_right: &[bool]) -> Vec<Reach> {
    let count = start.len();
    let mut best: Vec<Reach> = start.iter().map(|&cost| Reach { cost, parent: None }).collect();
    let mut is_done = vec![false; count];
    while let Some(at) = (0..count)
        .filter(|&course| !is_done[course])
        .min_by(|&one, &other| best[one].cost.total_cmp(&best[other].cost).then(one.cmp(&other)))
    {
        is_done[at] = true;
        for course in (0..count).filter(|&course| !is_right[course] && !is_done[course]) {
            let cost = best[at].cost + cheapest.right(course, at);
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
