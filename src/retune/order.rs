//! The order of the steps, and what each leans on.

use std::cmp::Ordering;

use crate::theory::{Cents, Semitones};

use super::beats::BeatRate;
use super::comparison::{Match, MatchKind, Touch};
use super::plan::{PlanRequest, StandIn, Step, WithinCourse};
use super::reference::{Ear, Side};
use super::safety::NeckLoad;
use super::tree::{Links, Reach, leans_on, shortest_tree};

/// What a first string that has to be tightened is charged when others could be slackened instead, in cents². Large:
/// slackening first is a rule, not a preference.
const FIRST_STRING_TIGHTENS: f64 = 1000.0;
/// Chains whose costs differ by less, in cents², count as the same: the order of the steps decides between them.
const SAME_COST: f64 = 0.1;

/// Which way a course goes, in the order of the steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    Slacken,
    Unknown,
    Tighten,
}

/// The state while the steps are put in order.
pub(super) struct Work<'a> {
    request: &'a PlanRequest<'a>,
    ear: &'a Ear<'a>,
    sides: &'a [Side],
    links: &'a Links,
    load: &'a NeckLoad,
    is_right: Vec<bool>,
    reach: Vec<Reach>,
    cost: Vec<f64>,
    variance: Vec<f64>,
    /// The course set first from the phone's tone because nothing stays.
    first: Option<usize>,
}

impl<'a> Work<'a> {
    pub(super) fn new(
        request: &'a PlanRequest<'a>,
        ear: &'a Ear<'a>,
        sides: &'a [Side],
        links: &'a Links,
        stays: &[bool],
        load: &'a NeckLoad,
    ) -> Self {
        let count = sides.len();
        let mut work = Self {
            request,
            ear,
            sides,
            links,
            load,
            is_right: stays.to_vec(),
            reach: Vec::new(),
            cost: vec![0.0; count],
            variance: vec![0.0; count],
            first: None,
        };
        let tone: Vec<f64> = sides.iter().map(|&side| ear.tone(side, true).cost()).collect();
        if stays.contains(&true) {
            work.reach = shortest_tree(links, stays, &tone);
            return work;
        }
        let any_slackens = (0..count).any(|course| work.turn(course) == Turn::Slacken);
        let trees = work.by_thickness().into_iter().map(|root| {
            let sources: Vec<bool> = (0..count).map(|course| course == root).collect();
            let reach = shortest_tree(links, &sources, &tone);
            let fine = if any_slackens && work.turn(root) == Turn::Tighten { FIRST_STRING_TIGHTENS } else { 0.0 };
            (fine + reach.iter().map(|reach| reach.cost).sum::<f64>(), root, reach)
        });
        let best = trees.reduce(|best, next| if next.0 < best.0 { next } else { best });
        let (_, root, reach) = best.expect("a tuning has at least one course");
        work.first = Some(root);
        work.reach = reach;
        work
    }

    /// Returns the courses from the thickest, equal ones from the highest player number.
    fn by_thickness(&self) -> Vec<usize> {
        let mut courses: Vec<usize> = (0..self.sides.len()).collect();
        courses.sort_by(|&one, &other| self.load.thickness_mm(other).total_cmp(&self.load.thickness_mm(one)));
        courses
    }

    /// Returns how far the course has to go, positive up; `None` when where it is is not known.
    fn distance(&self, course: usize) -> Option<Cents> {
        let (now, to) = (self.request.now[course], self.sides[course]);
        now.is_right().then(|| Cents::from(to.pitch - now.pitch()) + to.offset - now.offset())
    }

    fn turn(&self, course: usize) -> Turn {
        match self.distance(course) {
            Some(by) if by < Cents::ZERO => Turn::Slacken,
            Some(_) => Turn::Tighten,
            None => Turn::Unknown,
        }
    }

    /// Puts the courses in order, each with its matches.
    pub(super) fn order(&mut self) -> Vec<Step> {
        let by_thickness = self.by_thickness();
        let mut steps = Vec::new();
        let mut newtons = self.load.before_all();
        let limit = self.load.limit();
        while self.is_right.contains(&false) {
            let waiting = || by_thickness.iter().copied().filter(|&course| !self.is_right[course]);
            let next = waiting()
                .filter(|&course| self.is_ready(course))
                .min_by(|&one, &other| self.by_turn_and_size(one, other));
            let next = next.expect("the course nearest a source in the tree leans on a right course or on the tone");
            let eases = |course: &usize| self.load.change(*course) < 0.0;
            let easing = waiting().filter(eases).min_by(|&one, &other| self.by_turn_and_size(one, other));
            let rises_too_far = self.load.change(next) > 0.0 && newtons + self.load.change(next) > limit;
            let (course, stand_in) = match easing {
                Some(other) if rises_too_far => (other, self.stand_in(other)),
                _ => (next, None),
            };
            newtons += self.load.change(course);
            steps.push(self.step(course, stand_in));
        }
        steps
    }

    /// Orders slackening before tightening, courses of unknown pitch between, and larger moves first.
    fn by_turn_and_size(&self, one: usize, other: usize) -> Ordering {
        let size = |course| self.distance(course).unwrap_or_default().get().abs();
        self.turn(one).cmp(&self.turn(other)).then(size(other).total_cmp(&size(one)))
    }

    /// Tells whether the course can be set as surely now as it ever will: from a right course, from the phone's tone where
    /// that is its place in the tree, or because it is the one to be set first.
    fn is_ready(&self, course: usize) -> bool {
        match self.first {
            Some(first) if !self.is_right[first] => course == first,
            _ => {
                let best = self.candidates(course).map(|link| self.total(link)).fold(f64::INFINITY, f64::min);
                let reach = self.reach[course];
                reach.parent.is_none_or(|parent| self.is_right[parent]) || best <= reach.cost + SAME_COST
            }
        }
    }

    /// Returns the comparisons of a course with courses that are right.
    fn candidates(&self, course: usize) -> impl Iterator<Item = &'a Match> {
        let links: &'a Links = self.links;
        links[course].iter().filter(|link| leans_on(link).is_some_and(|reference| self.is_right[reference]))
    }

    /// Returns what a comparison costs with the chain before it.
    fn total(&self, link: &Match) -> f64 {
        link.cost() + leans_on(link).map_or(0.0, |reference| self.cost[reference])
    }

    fn stand_in(&self, course: usize) -> Option<StandIn> {
        let parent = self.reach[course].parent.filter(|_| !self.is_ready(course))?;
        Some(StandIn::KeepsLoadDown { instead_of: self.sides[parent].course })
    }

    /// Makes the step of a course from the courses that are right by now, and counts the course as right.
    fn step(&mut self, course: usize, stand_in: Option<StandIn>) -> Step {
        let mut matches: Vec<&Match> = self.candidates(course).collect();
        matches.sort_by(|one, other| self.total(one).total_cmp(&self.total(other)));
        let others_are_right = self.is_right.contains(&true);
        let tone = self.ear.tone(self.sides[course], others_are_right);
        let offered = offered(&matches);
        let place = offered.iter().take_while(|link| self.total(link) <= tone.cost()).count();
        let mut matches: Vec<Match> = offered.into_iter().cloned().collect();
        matches.insert(place, tone);
        let reference = leans_on(&matches[0]);
        // The first course is the guitar's own pitch: what follows is measured from it.
        let is_first = self.first == Some(course);
        self.cost[course] = if is_first { 0.0 } else { self.total(&matches[0]) };
        self.variance[course] = matches[0].variance + reference.map_or(0.0, |at| self.variance[at]);
        self.is_right[course] = true;
        let now = self.request.now[course];
        Step {
            course: self.sides[course].course,
            from: now.is_right().then_some(now.pitch()),
            to: self.sides[course].pitch,
            offset: self.sides[course].offset,
            distance: self.distance(course),
            matches,
            within: self.within(course),
            chain_error: Cents::new(self.variance[course].sqrt()),
            stand_in,
        }
    }

    /// Matches the further strings of a course to its lowest.
    fn within(&self, course: usize) -> Vec<WithinCourse> {
        let offsets = self.request.instrument.courses()[course].offsets();
        let lowest = offsets.iter().position(|&offset| offset == Semitones::ZERO);
        let others = offsets.iter().enumerate().filter(|&(string, _)| Some(string) != lowest);
        others
            .filter_map(|(string, &offset)| {
                let pitch = self.sides[course].pitch.transpose(offset)?;
                Some(WithinCourse { string, how: self.ear.within_course(self.sides[course], pitch) })
            })
            .collect()
    }
}

/// Picks the best of the ways against other courses, cheapest first, and one beside it that is another thing to do: the
/// cheapest of another kind or touch. Where the best has to be left beating, the other is beatless if any is.
fn offered<'a>(by_cost: &[&'a Match]) -> Vec<&'a Match> {
    let Some((&best, rest)) = by_cost.split_first() else { return Vec::new() };
    let differs = |link: &&&Match| way(link) != way(best);
    let is_still = |link: &&&Match| link.beats == BeatRate::NONE;
    let needs_still = !is_still(&&best);
    let still = rest.iter().filter(is_still).find(differs).or_else(|| rest.iter().find(is_still));
    let other = still.filter(|_| needs_still).or_else(|| rest.iter().find(differs)).or_else(|| rest.first());
    std::iter::once(best).chain(other.copied()).collect()
}

/// Returns what the hands do in a comparison, whichever the courses and frets.
fn way(link: &Match) -> (MatchKind, Option<Touch>, Touch) {
    (link.kind, link.reference.map(|side| side.touch), link.tuned.touch)
}
