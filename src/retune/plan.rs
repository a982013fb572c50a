//! The plan: which course in which order, against what, from what is on the guitar now to the target.

use std::fmt;

use crate::instrument::{Bridge, Catalog, CourseIndex, Fret, Instrument, StringSet, Tuning};
use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::check_list::{self, Check};
use super::progress::CourseState;
use super::reference::{Ear, Match, Side};
use super::safety::{NeckLoad, Safety};
use super::tree::{Links, Reach, find_links, leans_on, shortest_tree};

/// How many ways to compare a step offers at most, the phone's tone among them.
const MOST_MATCHES: usize = 3;
/// What a first string that has to be tightened is charged when others could be slackened instead, in cents². Large:
/// slackening first is a rule, not a preference.
const FIRST_STRING_TIGHTENS: f64 = 1000.0;

/// What a plan is made from.
#[derive(Clone, Copy, Debug)]
pub struct PlanRequest<'a> {
    /// The instrument.
    pub instrument: &'a Instrument,
    /// What it is strung with.
    pub strings: &'a StringSet,
    /// Where each course is now, from the highest player number to course 1.
    pub now: &'a [CourseState],
    /// Where they shall be.
    pub to: &'a Tuning,
    /// The frequency of A4.
    pub a4: ReferencePitch,
    /// Where a capo sits; 0 for none.
    pub capo: Fret,
    /// How the bridge carries the load.
    pub bridge: Bridge,
}

impl<'a> PlanRequest<'a> {
    /// Asks for a plan with the instrument's usual strings and bridge, A4 at 440 Hz and no capo.
    ///
    /// # Panics
    /// When the instrument is not of the bundled catalogue.
    #[must_use]
    pub fn new(instrument: &'a Instrument, now: &'a [CourseState], to: &'a Tuning) -> Self {
        Self {
            instrument,
            strings: Catalog::bundled().strings_of(instrument),
            now,
            to,
            a4: ReferencePitch::default(),
            capo: Fret::OPEN,
            bridge: instrument.bridge(),
        }
    }
}

/// Why a step does not lean on the course that would be the surest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StandIn {
    /// The surest reference has to be tightened first, and slackening this course before keeps the neck's load down.
    KeepsLoadDown {
        /// The course that would have been the reference.
        instead_of: CourseIndex,
    },
}

/// A further string of a course, matched to the course's lowest.
#[derive(Clone, Debug, PartialEq)]
pub struct WithinCourse {
    /// Which string of the course, from 0, in the order of the course's offsets.
    pub string: usize,
    /// How it is compared with the lowest string of the course, or with the phone's tone where no partial meets.
    pub how: Match,
}

/// One step: one course brought to its new pitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    course: CourseIndex,
    from: Option<Pitch>,
    to: Pitch,
    matches: Vec<Match>,
    within: Vec<WithinCourse>,
    chain_error: Cents,
    stand_in: Option<StandIn>,
}

impl Step {
    /// Returns the course.
    #[must_use]
    pub const fn course(&self) -> CourseIndex {
        self.course
    }

    /// Returns the pitch it is at; `None` when that is not known.
    #[must_use]
    pub const fn from(&self) -> Option<Pitch> {
        self.from
    }

    /// Returns the pitch it goes to.
    #[must_use]
    pub const fn to(&self) -> Pitch {
        self.to
    }

    /// Returns how far it moves, positive up; `None` when where it is is not known.
    #[must_use]
    pub fn semitones(&self) -> Option<Semitones> {
        self.from.map(|from| self.to - from)
    }

    /// Returns the ways to compare, best first: one to three, the last the phone's tone. All lean on courses that are
    /// right by the time of this step.
    #[must_use]
    pub fn matches(&self) -> &[Match] {
        &self.matches
    }

    /// Returns what remains for a pair after its lowest string is right: its other strings in turn.
    #[must_use]
    pub fn within(&self) -> &[WithinCourse] {
        &self.within
    }

    /// Returns how far off the course may be after its first match, the errors of the courses it leans on included: the
    /// root of the sum of variances along the chain. A course that stayed counts as exact.
    #[must_use]
    pub const fn chain_error(&self) -> Cents {
        self.chain_error
    }

    /// Tells whether to go below the pitch and come up to it: on every step that ends lower or whose start is unknown,
    /// so that the string does not stick at the nut and sink when played.
    #[must_use]
    pub fn comes_up_from_below(&self) -> bool {
        self.semitones().is_none_or(|by| by < Semitones::ZERO)
    }

    /// Returns why this step does not lean on the surest course, if it does not.
    #[must_use]
    pub const fn stand_in(&self) -> Option<StandIn> {
        self.stand_in
    }
}

/// From what is on the guitar now to a tuning, step by step.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    steps: Vec<Step>,
    stays: Vec<CourseIndex>,
    checks: Vec<Check>,
    takes_capo_off: bool,
    safety: Safety,
}

impl Plan {
    /// Makes the plan.
    ///
    /// Courses that are right and stay are the references; the others follow by the cheapest chain of comparisons. When
    /// nothing stays, one course is set to the phone's tone and the others from it. A course comes only after its
    /// reference; slackening before tightening, courses of unknown pitch between; larger moves first; ties from the
    /// thickest. A tightening step that would raise the neck's load past the larger of start and end by more than the
    /// largest change of one course waits, and a course to be slackened takes another reference.
    ///
    /// The strings are tuned without a capo: it presses each string sharp by its own amount, and a string turned under
    /// it sticks and creeps later. All frets count from the real nut.
    ///
    /// # Errors
    /// When the target, the courses now or the string set have another number of courses or strings than the
    /// instrument, or a string of a course leaves the pitch range.
    pub fn new(request: &PlanRequest<'_>) -> Result<Self, PlanError> {
        check(request)?;
        let load = NeckLoad::new(request)?;
        let ear = Ear { instrument: request.instrument, a4: request.a4 };
        let sides: Vec<Side> = request
            .to
            .pitches()
            .iter()
            .enumerate()
            .map(|(index, &pitch)| Side { course: CourseIndex::from_lowest(index), pitch })
            .collect();
        let stays: Vec<bool> =
            request.now.iter().zip(&sides).map(|(now, to)| now.is_right() && now.pitch() == to.pitch).collect();
        let links = find_links(&ear, &sides);
        let mut work = Work::new(request, &ear, &sides, &links, &stays, &load);
        let steps = work.order();
        let moved: Vec<bool> = stays.iter().map(|stays| !stays).collect();
        let safety = load.report(&steps);
        let checks = check_list::pick(&links, &steps, &moved, &safety);
        Ok(Self {
            checks,
            takes_capo_off: request.capo != Fret::OPEN && !steps.is_empty(),
            stays: sides.iter().zip(&stays).filter(|(_, stays)| **stays).map(|(side, _)| side.course).collect(),
            steps,
            safety,
        })
    }

    /// Returns the steps in order; none when everything is right already.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Returns the courses that are right and stay, from the highest player number on.
    #[must_use]
    pub fn stays(&self) -> &[CourseIndex] {
        &self.stays
    }

    /// Returns what to compare after the last step, the pairs that show an error most first.
    #[must_use]
    pub fn checks(&self) -> &[Check] {
        &self.checks
    }

    /// Tells whether a capo has to come off before the first step; see [`Plan::new`].
    #[must_use]
    pub const fn takes_capo_off(&self) -> bool {
        self.takes_capo_off
    }

    /// Returns what the strings and the neck bear before, during and after.
    #[must_use]
    pub const fn safety(&self) -> &Safety {
        &self.safety
    }

    /// Returns how many semitones the courses move in all; a course of unknown pitch counts as one.
    #[must_use]
    pub fn semitones_moved(&self) -> u16 {
        self.steps.iter().map(|step| step.semitones().map_or(1, |by| by.get().unsigned_abs())).sum()
    }
}

/// Which way a course goes, in the order of the steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    Slacken,
    Unknown,
    Tighten,
}

/// The state while the steps are put in order.
struct Work<'a> {
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
    fn new(
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

    fn semitones(&self, course: usize) -> Option<i16> {
        let now = self.request.now[course];
        now.is_right().then(|| (self.sides[course].pitch - now.pitch()).get())
    }

    fn turn(&self, course: usize) -> Turn {
        match self.semitones(course) {
            Some(by) if by < 0 => Turn::Slacken,
            Some(_) => Turn::Tighten,
            None => Turn::Unknown,
        }
    }

    /// Puts the courses in order, each with its matches.
    fn order(&mut self) -> Vec<Step> {
        let by_thickness = self.by_thickness();
        let mut steps = Vec::new();
        let mut newtons = self.load.before_all();
        let limit = self.load.limit();
        while self.is_right.contains(&false) {
            let waiting = || by_thickness.iter().copied().filter(|&course| !self.is_right[course]);
            let key = |course: &usize| {
                let by = self.semitones(*course).unwrap_or_default();
                (self.turn(*course), std::cmp::Reverse(by.unsigned_abs()))
            };
            let next = waiting().filter(|&course| self.is_ready(course)).min_by_key(key);
            let next = next.expect("the course nearest a source in the tree leans on a right course or on the tone");
            let slackens = waiting().filter(|&course| self.turn(course) == Turn::Slacken).min_by_key(key);
            let rises_too_far = newtons + self.load.change(next) > limit;
            let (course, stand_in) = match slackens {
                Some(other) if self.turn(next) == Turn::Tighten && rises_too_far => (other, self.stand_in(other)),
                _ => (next, None),
            };
            newtons += self.load.change(course);
            steps.push(self.step(course, stand_in));
        }
        steps
    }

    /// Tells whether the course's reference is right, or it is the one to be set from the phone's tone now.
    fn is_ready(&self, course: usize) -> bool {
        match (self.reach[course].parent, self.first) {
            (Some(parent), _) => self.is_right[parent],
            (None, Some(first)) => course == first || self.is_right[first],
            (None, None) => true,
        }
    }

    fn stand_in(&self, course: usize) -> Option<StandIn> {
        let parent = self.reach[course].parent?;
        Some(StandIn::KeepsLoadDown { instead_of: self.sides[parent].course })
    }

    /// Makes the step of a course from the courses that are right by now, and counts the course as right.
    fn step(&mut self, course: usize, stand_in: Option<StandIn>) -> Step {
        let total = |link: &Match| link.cost() + leans_on(link).map_or(0.0, |reference| self.cost[reference]);
        let mut matches: Vec<&Match> = self.links[course]
            .iter()
            .filter(|link| leans_on(link).is_some_and(|reference| self.is_right[reference]))
            .collect();
        matches.sort_by(|one, other| total(one).total_cmp(&total(other)));
        let others_are_right = self.is_right.contains(&true);
        let tone = self.ear.tone(self.sides[course], others_are_right);
        let place = matches.iter().take_while(|link| total(link) <= tone.cost()).count().min(MOST_MATCHES - 1);
        let mut matches: Vec<Match> = matches.into_iter().take(MOST_MATCHES - 1).cloned().collect();
        matches.insert(place, tone);
        let reference = leans_on(&matches[0]);
        self.cost[course] = matches[0].cost() + reference.map_or(0.0, |at| self.cost[at]);
        self.variance[course] = matches[0].variance() + reference.map_or(0.0, |at| self.variance[at]);
        self.is_right[course] = true;
        let now = self.request.now[course];
        Step {
            course: self.sides[course].course,
            from: now.is_right().then_some(now.pitch()),
            to: self.sides[course].pitch,
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

fn check(request: &PlanRequest<'_>) -> Result<(), PlanError> {
    let courses = request.instrument.courses();
    let expected = courses.len();
    for found in [request.to.courses(), request.now.len()] {
        if found != expected {
            return Err(PlanError::Courses { expected, found });
        }
    }
    let out_of_range = courses
        .iter()
        .zip(request.to.pitches())
        .position(|(course, &pitch)| course.offsets().iter().any(|&offset| pitch.transpose(offset).is_none()));
    match out_of_range {
        Some(index) => Err(PlanError::OutOfRange { course: CourseIndex::from_lowest(index) }),
        None => Ok(()),
    }
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanError {
    /// The tuning or the state names another number of courses than the instrument has.
    Courses {
        /// What the instrument has.
        expected: usize,
        /// What was given.
        found: usize,
    },
    /// A string of this course would leave the pitch range C-1 to G9.
    OutOfRange {
        /// Which course.
        course: CourseIndex,
    },
    /// The string set does not have a gauge for each string of this course.
    Strings {
        /// Which course.
        course: CourseIndex,
    },
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = |course: &CourseIndex| course.from_lowest_index() + 1;
        match self {
            Self::Courses { expected, found } => write!(f, "expected {expected} courses, found {found}"),
            Self::OutOfRange { course } => {
                write!(f, "a string of the course in place {} from the lowest leaves C-1 to G9", place(course))
            }
            Self::Strings { course } => {
                write!(f, "the string set does not fit the course in place {} from the lowest", place(course))
            }
        }
    }
}

impl std::error::Error for PlanError {}
