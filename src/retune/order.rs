//! The order of the steps, and what each leans on.

use std::cmp::Ordering;

use crate::instrument::Bridge;
use crate::theory::{Cents, Semitones};

use super::beats::BeatRate;
use super::comparison::{Match, MatchKind, Touch};
use super::plan::{PlanRequest, StandIn, Step, WithinCourse};
use super::reference::{Ear, Side};
use super::safety::NeckLoad;
use super::tree::{Cheapest, Links, Reach, leans_on, shortest_tree};

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
    cheapest: Cheapest,
    tone: Vec<f64>,
    is_right: Vec<bool>,
    /// Which courses still stand at their old pitch and can be leant on there.
    is_old: Vec<bool>,
    reach: Vec<Reach>,
    cost: Vec<f64>,
    /// What scatters along the chain to each course, in cents², and what it is left off on purpose, in cents.
    variance: Vec<f64>,
    left_off: Vec<f64>,
    /// The course set first from the phone's tone because no pitch is known.
    first: Option<usize>,
    /// No course can be leant on: the bridge floats, and every turned peg shifts them all.
    floats: bool,
}

impl<'a> Work<'a> {
    pub(super) fn new(
        request: &'a PlanRequest<'a>,
        ear: &'a Ear<'a>,
        (sides, old): (&'a [Side], &[Side]),
        links: &'a Links,
        stays: &[bool],
        load: &'a NeckLoad,
    ) -> Self {
        let count = sides.len();
        let mut is_old = vec![false; count];
        for side in old {
            is_old[side.course.from_lowest_index()] = true;
        }
        let mut work = Self {
            request,
            ear,
            sides,
            links,
            load,
            cheapest: Cheapest::of(links),
            tone: sides.iter().map(|&side| ear.tone(side, true).cost()).collect(),
            is_right: stays.to_vec(),
            is_old,
            reach: Vec::new(),
            cost: vec![0.0; count],
            variance: vec![0.0; count],
            left_off: vec![0.0; count],
            first: None,
            floats: request.bridge == Bridge::Floating,
        };
        if work.floats || stays.contains(&true) || work.is_old.contains(&true) {
            return work;
        }
        let any_slackens = (0..count).any(|course| work.turn(course) == Turn::Slacken);
        let trees = work.by_thickness().into_iter().map(|root| {
            let start: Vec<f64> =
                (0..count).map(|course| if course == root { 0.0 } else { work.tone[course] }).collect();
            let is_right: Vec<bool> = (0..count).map(|course| course == root).collect();
            let reach = shortest_tree(&work.cheapest, &start, &is_right);
            let fine = if any_slackens && work.turn(root) == Turn::Tighten { FIRST_STRING_TIGHTENS } else { 0.0 };
            (fine + reach.iter().map(|reach| reach.cost).sum::<f64>(), root)
        });
        let best = trees.reduce(|best, next| if next.0 < best.0 { next } else { best });
        work.first = best.map(|(_, root)| root);
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
            self.reach = self.reach_now();
            let waiting = || by_thickness.iter().copied().filter(|&course| !self.is_right[course]);
            let next = waiting()
                .filter(|&course| self.is_ready(course))
                .min_by(|&one, &other| self.by_turn_and_size(one, other));
            let next = next.expect("the course nearest a source in the tree leans on a right course or on the tone");
            let next = self.before(next);
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

    /// Finds the cheapest chain to each course that is not right. An old pitch serves the course that is set by it, but no
    /// chain further on: it may have moved by then.
    fn reach_now(&self) -> Vec<Reach> {
        let source = |course: usize| if self.is_right[course] { self.cost[course] } else { self.tone[course] };
        let sources: Vec<f64> = (0..self.sides.len()).map(source).collect();
        if self.floats {
            return sources.into_iter().map(|cost| Reach { cost, parent: None }).collect();
        }
        let mut reach = shortest_tree(&self.cheapest, &sources, &self.is_right);
        for (course, reach) in reach.iter_mut().enumerate() {
            let cost = self.start(course);
            if cost < reach.cost {
                *reach = Reach { cost, parent: None };
            }
        }
        reach
    }

    /// Returns what it costs to reach a course without any that is still to be set: nothing more than before where it is
    /// right, else the cheaper of the phone's tone and the courses that stand at their old pitch.
    fn start(&self, course: usize) -> f64 {
        if self.is_right[course] {
            return self.cost[course];
        }
        self.old(course).map(|from| self.cheapest.old(course, from)).fold(self.tone[course], f64::min)
    }

    /// Returns the courses that stand at their old pitch, but for one.
    fn old(&self, but: usize) -> impl Iterator<Item = usize> {
        (0..self.sides.len()).filter(move |&from| self.is_old[from] && from != but)
    }

    /// Returns what the cheapest way costs that leans on courses right by now.
    fn by_right_courses(&self, course: usize) -> f64 {
        let right = (0..self.sides.len()).filter(|&from| self.is_right[from]);
        right.map(|from| self.cost[from] + self.cheapest.right(course, from)).fold(f64::INFINITY, f64::min)
    }

    /// Tells whether the course can be set as surely now as it ever will: from a right course, from an old pitch or the
    /// phone's tone where that is its place in the tree, or because it is the one to be set first.
    fn is_ready(&self, course: usize) -> bool {
        match self.first {
            Some(first) if !self.is_right[first] => course == first,
            _ => self.start(course).min(self.by_right_courses(course)) <= self.reach[course].cost + SAME_COST,
        }
    }

    /// Returns the course to set before `next`: one that is set by it as it still stands, and by nothing else as surely;
    /// else `next` itself. One that is tightened does not go before one that is slackened.
    fn before(&self, next: usize) -> usize {
        let (mut next, mut has_waited) = (next, vec![false; self.sides.len()]);
        loop {
            has_waited[next] = true;
            let leans_on_it = |&other: &usize| {
                let by_it = self.cheapest.old(other, next);
                let others = self.old(other).filter(|&from| from != next);
                let without = others.map(|from| self.cheapest.old(other, from)).fold(self.tone[other], f64::min);
                !self.is_right[other]
                    && !has_waited[other]
                    && self.turn(other) <= self.turn(next)
                    && by_it <= self.reach[other].cost
                    && without.min(self.by_right_courses(other)) > by_it + SAME_COST
            };
            let waiting = (0..self.sides.len()).filter(|_| self.is_old[next]).filter(leans_on_it);
            match waiting.min_by(|&one, &other| self.by_turn_and_size(one, other)) {
                Some(first) => next = first,
                None => return next,
            }
        }
    }

    /// Returns the comparisons of a course with courses that are right, or that stand at their old pitch.
    fn candidates(&self, course: usize) -> impl Iterator<Item = &'a Match> {
        let links: &'a Links = self.links;
        let can_be_leant_on = |link: &&Match| {
            let on = if link.leans_on_old_pitch() { &self.is_old } else { &self.is_right };
            !self.floats && leans_on(link).is_some_and(|reference| on[reference])
        };
        links[course].iter().filter(can_be_leant_on)
    }

    /// Returns what a comparison costs with the chain before it; an old pitch has none.
    fn total(&self, link: &Match) -> f64 {
        let before = leans_on(link).filter(|_| !link.leans_on_old_pitch());
        link.cost() + before.map_or(0.0, |reference| self.cost[reference])
    }

    fn stand_in(&self, course: usize) -> Option<StandIn> {
        let parent = self.reach[course].parent.filter(|_| !self.is_ready(course))?;
        Some(StandIn::KeepsLoadDown { instead_of: self.sides[parent].course })
    }

    /// Makes the step of a course from the courses that are right by now, and counts the course as right.
    fn step(&mut self, course: usize, stand_in: Option<StandIn>) -> Step {
        let mut matches: Vec<&Match> = self.candidates(course).collect();
        matches.sort_by(|one, other| self.total(one).total_cmp(&self.total(other)));
        let others_are_right = self.is_right.contains(&true) || self.is_old.contains(&true);
        let tone = self.ear.tone(self.sides[course], others_are_right);
        let offered = offered(&matches);
        let place = offered.iter().take_while(|link| self.total(link) <= tone.cost()).count();
        let mut matches: Vec<Match> = offered.into_iter().cloned().collect();
        matches.insert(place, tone);
        let best = &matches[0];
        let reference = leans_on(best).filter(|_| !best.leans_on_old_pitch());
        // The first course is the guitar's own pitch: what follows is measured from it.
        let is_first = self.first == Some(course);
        self.cost[course] = if is_first { 0.0 } else { self.total(best) };
        // What scatters adds up in squares; what is left off on purpose adds up as it is.
        let left_off = best.left_off().get();
        self.left_off[course] = left_off + reference.map_or(0.0, |at| self.left_off[at]);
        self.variance[course] = best.variance - left_off.powi(2) + reference.map_or(0.0, |at| self.variance[at]);
        self.is_right[course] = true;
        self.is_old[course] = false;
        let now = self.request.now[course];
        Step {
            course: self.sides[course].course,
            from: now.is_right().then_some(now.pitch()),
            to: self.sides[course].pitch,
            offset: self.sides[course].offset,
            distance: self.distance(course),
            matches,
            within: self.within(course),
            left_off: Cents::new(self.left_off[course]),
            chain_error: Cents::new(self.variance[course].sqrt().hypot(self.left_off[course])),
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
/// cheapest of another kind or touch. Where the best does not come to rest at the right place, the other does if any does.
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
