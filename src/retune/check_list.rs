//! What to compare after the last step.

use crate::instrument::CourseIndex;
use crate::theory::Cents;

use super::comparison::Match;
use super::drift::Drift;
use super::plan::Step;
use super::reference::{Ear, Side};
use super::tree::{Links, leans_on};

/// How many pairs the list holds at most: more is a second tuning, not a check.
const MOST_CHECKS: usize = 5;
/// A course that stayed is checked when it drifts by more than this, in cents.
const DRIFT_TO_CHECK: f64 = 2.0;

/// A pair to compare when all is done, and what it sounds like then.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    how: Match,
    expected_off: Cents,
}

impl Check {
    /// Returns the comparison. Both sides are meant to be right by then; where they are not, the tuned side is the one
    /// to correct.
    #[must_use]
    pub const fn how(&self) -> &Match {
        &self.how
    }

    /// Returns how far the two sides are foretold to have drifted apart; positive when the tuned side is sharp.
    #[must_use]
    pub const fn expected_off(&self) -> Cents {
        self.expected_off
    }

    /// Returns how many beats a second the expected error makes: how plainly the pair shows it.
    fn shows(&self, chain: &[f64]) -> f64 {
        let error = |course: usize| chain.get(course).copied().unwrap_or(0.0);
        let tuned = self.how.tuned().course.from_lowest_index();
        let chained = error(tuned).hypot(leans_on(&self.how).map_or(0.0, error));
        self.expected_off.get().hypot(chained) / self.how.cents_per_beat().get().max(1e-9)
    }
}

/// Picks, for each course that moved or drifts, the surest comparison with a course it was not tuned from, so that an
/// error in the chain shows; those where the error to expect beats fastest come first, each pair once.
pub(super) fn pick(links: &Links, steps: &[Step], drift: &Drift) -> Vec<Check> {
    if steps.is_empty() {
        return Vec::new();
    }
    let off = drift.after_first_pass();
    let mut chain = vec![0.0; links.len()];
    let mut tuned_from = vec![None; links.len()];
    for step in steps {
        let course = step.course().from_lowest_index();
        chain[course] = step.chain_error().get();
        tuned_from[course] = step.matches().first().and_then(leans_on);
    }
    let moved = steps.iter().map(|step| step.course().from_lowest_index());
    let stayed = drift.check_order().into_iter().map(|course| course.from_lowest_index());
    let drifted = stayed.filter(|&course| {
        off[course].abs().get() > DRIFT_TO_CHECK
            && !steps.iter().any(|step| step.course().from_lowest_index() == course)
    });
    let mut picked: Vec<Check> = Vec::new();
    for course in moved.chain(drifted) {
        let others = links[course].iter().filter(|link| {
            let other = leans_on(link);
            !link.leans_on_old_pitch() && other != tuned_from[course] && !is_listed(&picked, course, other)
        });
        // A string that is only checked is not told to beat: a pair that comes to rest is asked first.
        let key = |link: &Match| (link.counted().is_some(), link.cost());
        let best = others.min_by(|one, other| {
            let ((one_beats, one), (other_beats, other)) = (key(one), key(other));
            one_beats.cmp(&other_beats).then(one.total_cmp(&other))
        });
        picked.extend(best.map(|how| Check {
            how: how.clone(),
            expected_off: off[course] - leans_on(how).map_or(Cents::ZERO, |other| off[other]),
        }));
    }
    picked.sort_by(|one, other| other.shows(&chain).total_cmp(&one.shows(&chain)));
    picked.truncate(MOST_CHECKS);
    picked
}

/// Lists every course with the phone's tone, the one that has drifted furthest first: where the bridge floats, pairs of
/// strings drift together and show nothing.
pub(super) fn by_tone(ear: &Ear<'_>, sides: &[Side], steps: &[Step], drift: &Drift) -> Vec<Check> {
    if steps.is_empty() {
        return Vec::new();
    }
    let check = |course: CourseIndex| {
        let index = course.from_lowest_index();
        Check { how: ear.tone(sides[index], false), expected_off: drift.after_first_pass()[index] }
    };
    drift.check_order().into_iter().map(check).collect()
}

fn is_listed(picked: &[Check], course: usize, reference: Option<usize>) -> bool {
    picked.iter().any(|check| {
        let pair = (check.how.tuned().course.from_lowest_index(), leans_on(&check.how));
        pair == (course, reference) || Some(pair.0) == reference && pair.1 == Some(course)
    })
}
