//! What to compare after the last step.

use super::plan::Step;
use super::reference::Match;
use super::safety::Safety;
use super::tree::{Links, leans_on};

/// How many pairs the list holds at most: more is a second tuning, not a check.
const MOST_CHECKS: usize = 4;

/// A pair to compare when all is done, and what it sounds like then.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    how: Match,
}

impl Check {
    /// Returns the comparison; both sides are right by then, and the tuned side is the one to correct if they are not.
    #[must_use]
    pub const fn how(&self) -> &Match {
        &self.how
    }
}

/// Picks, for each course that moved, the surest comparison with a course it was not tuned from, so that an error in the
/// chain shows; the surest first, each pair once.
pub(super) fn pick(links: &Links, steps: &[Step], moved: &[bool], _safety: &Safety) -> Vec<Check> {
    let mut picked: Vec<Match> = Vec::new();
    for step in steps {
        let course = step.course().from_lowest_index();
        let tuned_from = step.matches().first().and_then(leans_on);
        let best = links[course]
            .iter()
            .filter(|link| leans_on(link) != tuned_from && !is_listed(&picked, course, leans_on(link)))
            .min_by(|one, other| one.cost().total_cmp(&other.cost()));
        picked.extend(best.cloned());
    }
    debug_assert_eq!(moved.len(), links.len(), "one flag a course");
    picked.sort_by(|one, other| one.cost().total_cmp(&other.cost()));
    picked.truncate(MOST_CHECKS);
    picked.into_iter().map(|how| Check { how }).collect()
}

fn is_listed(picked: &[Match], course: usize, reference: Option<usize>) -> bool {
    picked.iter().any(|link| {
        let pair = (link.tuned().course.from_lowest_index(), leans_on(link));
        pair == (course, reference) || Some(pair.0) == reference && pair.1 == Some(course)
    })
}
