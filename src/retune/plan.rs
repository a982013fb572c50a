//! The plan: which course in which order, against what, from what is on the guitar now to the target.

use std::fmt;

use crate::instrument::{Bridge, Catalog, CourseIndex, Fret, Instrument, Stringing, Tuning};
use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::check_list::{self, Check};
use super::comparison::Match;
use super::drift::Drift;
use super::order::Work;
use super::progress::CourseState;
use super::reference::{Ear, Side};
use super::refusal::Refusal;
use super::safety::{NeckLoad, Safety};
use super::sweeten::Sweetening;
use super::tree::find_links;

/// What a plan is made from.
#[derive(Clone, Copy, Debug)]
pub struct PlanRequest<'a> {
    /// The instrument.
    pub instrument: &'a Instrument,
    /// Which strings are on, and over which length.
    pub strings: &'a Stringing,
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
            strings: Catalog::bundled().strings_of(instrument).strings(),
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
    pub(super) course: CourseIndex,
    pub(super) from: Option<Pitch>,
    pub(super) to: Pitch,
    pub(super) offset: Cents,
    pub(super) distance: Option<Cents>,
    pub(super) matches: Vec<Match>,
    pub(super) within: Vec<WithinCourse>,
    pub(super) left_off: Cents,
    pub(super) chain_error: Cents,
    pub(super) stand_in: Option<StandIn>,
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

    /// Returns how far above equal temperament it is meant to end: 0 unless sweetened.
    #[must_use]
    pub const fn offset(&self) -> Cents {
        self.offset
    }

    /// Returns how far it moves, sweetening included, positive up; `None` when where it is is not known.
    #[must_use]
    pub const fn distance(&self) -> Option<Cents> {
        self.distance
    }

    /// Returns how many semitones it moves, positive up; `None` when where it is is not known.
    #[must_use]
    pub fn semitones(&self) -> Option<Semitones> {
        self.from.map(|from| self.to - from)
    }

    /// Returns the ways to compare, best first: one to three, the phone's tone among them. All lean on courses that are
    /// right by the time of this step, or that still stand at their old, known pitch
    /// ([`Match::leans_on_old_pitch`]). Two against other courses differ in kind or touch where they can, and one of them
    /// is beatless where any is.
    #[must_use]
    pub fn matches(&self) -> &[Match] {
        &self.matches
    }

    /// Returns what remains for a pair after its lowest string is right: its other strings in turn.
    #[must_use]
    pub fn within(&self) -> &[WithinCourse] {
        &self.within
    }

    /// Returns how far the course ends off its mark when the first match is done as asked, the courses it leans on
    /// included: the sum of [`Match::left_off`] along the chain. Positive is sharp.
    #[must_use]
    pub const fn left_off(&self) -> Cents {
        self.left_off
    }

    /// Returns how far off the course may be after its first match, the errors of the courses it leans on included: the
    /// root of the sum of what scatters along the chain, in squares, and of [`Step::left_off`], squared. A course that
    /// stayed, or stands at its old pitch, counts as exact.
    #[must_use]
    pub const fn chain_error(&self) -> Cents {
        self.chain_error
    }

    /// Tells whether to go below the pitch and come up to it: on every step that ends lower or whose start is unknown,
    /// so that the string does not stick at the nut and sink when played.
    #[must_use]
    pub fn comes_up_from_below(&self) -> bool {
        self.distance.is_none_or(|by| by < Cents::ZERO)
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
    drift: Drift,
    is_led_by_tone: bool,
}

impl Plan {
    /// Makes the plan.
    ///
    /// Courses that are right and stay are the references, and so are those that move later, for as long as they stand at
    /// their old, known pitch (not on a floating bridge, where each turn shifts them); the others follow by the cheapest
    /// chain of comparisons. When no pitch is known, one course is set to the phone's tone and the others from it. On a
    /// floating bridge each course is set to the phone's tone. A course comes only after its reference; slackening before tightening, courses of unknown pitch between; larger moves first; ties from the
    /// thickest. A tightening step that would raise the neck's load past the larger of start and end by more than the
    /// largest change of one course waits, and a course to be slackened takes another reference.
    ///
    /// The strings are tuned without a capo: it presses each string sharp by its own amount, and a string turned under
    /// it sticks and creeps later. All frets count from the real nut.
    ///
    /// # Errors
    /// When the target, the courses now or the strings have another number of courses or strings than the instrument, or
    /// a string of a course leaves the pitch range; and when a string that moves would break
    /// ([`PlanError::Breaks`]), whatever the target's name: a row of the catalogue, typed, the player's own, taken in.
    pub fn new(request: &PlanRequest<'_>) -> Result<Self, PlanError> {
        Self::sweetened(request, &Sweetening::none(request.to.courses()))
    }

    /// Makes the plan to a target that lies off equal temperament: comparisons that become pure are preferred by
    /// themselves, and a course that keeps its pitch but not its cents is a step.
    ///
    /// # Errors
    /// As [`Plan::new`], and when the sweetening is for another number of courses.
    pub fn sweetened(request: &PlanRequest<'_>, by: &Sweetening) -> Result<Self, PlanError> {
        let plan = Self::unchecked(request, by)?;
        match plan.refusal(request) {
            Some(refusal) => Err(PlanError::Breaks(Box::new(refusal))),
            None => Ok(plan),
        }
    }

    /// Makes the plan as [`Plan::sweetened`], but also where a string would break: to look at, never to follow.
    ///
    /// # Errors
    /// As [`Plan::sweetened`], a string that would break left out.
    pub fn unchecked(request: &PlanRequest<'_>, by: &Sweetening) -> Result<Self, PlanError> {
        check(request, by)?;
        let load = NeckLoad::new(request, by.offsets())?;
        let known = request.strings.courses().iter().flatten().flatten().next();
        let usual = || Catalog::bundled().strings_of(request.instrument).material();
        let ear = Ear::new(request.instrument, known.map_or_else(usual, |known| known.material), request.a4);
        let sides: Vec<Side> = request
            .to
            .pitches()
            .iter()
            .zip(by.offsets())
            .enumerate()
            .map(|(index, (&pitch, &offset))| Side {
                course: CourseIndex::from_lowest(index),
                pitch,
                offset,
                is_old: false,
            })
            .collect();
        let stays: Vec<bool> = request.now.iter().zip(&sides).map(|(now, to)| now.is_at(to.pitch, to.offset)).collect();
        let old = old_sides(request, &stays);
        let links = find_links(&ear, &sides, &old);
        let mut work = Work::new(request, &ear, (&sides, &old), &links, &stays, &load);
        let steps = work.order();
        let drift = Drift::foretell(&load, &steps, request.bridge);
        Ok(Self {
            checks: match request.bridge {
                Bridge::Fixed => check_list::pick(&links, &steps, &drift),
                Bridge::Floating => check_list::by_tone(&ear, &sides, &steps, &drift),
            },
            safety: load.report(request, &steps),
            drift,
            is_led_by_tone: request.bridge == Bridge::Floating,
            takes_capo_off: request.capo != Fret::OPEN && !steps.is_empty(),
            stays: sides.iter().zip(&stays).filter(|(_, stays)| **stays).map(|(side, _)| side.course).collect(),
            steps,
        })
    }

    /// Returns what stands against following the plan, where it was made unchecked: a string that moves would break. The
    /// request is the one it was made from.
    #[must_use]
    pub fn refusal(&self, request: &PlanRequest<'_>) -> Option<Refusal> {
        Refusal::find(request, self.safety.strings(), self.safety.remedies())
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

    /// Returns what to compare after the last step, the pairs that show an error most first; on a floating bridge every
    /// course with the phone's tone, the one that has drifted furthest first.
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

    /// Tells whether every step, as well as every later pass, is led by the phone's tone or the microphone and not by other
    /// strings: where the bridge floats. Where it is fixed the later passes alone are.
    #[must_use]
    pub const fn is_led_by_tone(&self) -> bool {
        self.is_led_by_tone
    }

    /// Returns how the strings set first drift, and how many passes to expect.
    #[must_use]
    pub const fn drift(&self) -> &Drift {
        &self.drift
    }
}

/// Returns the courses that are to move from a pitch that is known. On a floating bridge none can be leant on there: each
/// turn of another peg shifts them.
fn old_sides(request: &PlanRequest<'_>, stays: &[bool]) -> Vec<Side> {
    if request.bridge == Bridge::Floating {
        return Vec::new();
    }
    let moves = request.now.iter().enumerate().filter(|&(index, now)| now.is_right() && !stays[index]);
    let old = |(index, now): (usize, &CourseState)| Side {
        course: CourseIndex::from_lowest(index),
        pitch: now.pitch(),
        offset: now.offset(),
        is_old: true,
    };
    moves.map(old).collect()
}

fn check(request: &PlanRequest<'_>, by: &Sweetening) -> Result<(), PlanError> {
    let courses = request.instrument.courses();
    let expected = courses.len();
    for found in [request.to.courses(), request.now.len(), by.offsets().len()] {
        if found != expected {
            return Err(PlanError::Courses { expected, found });
        }
    }
    let out_of_range = courses
        .iter()
        .zip(request.to.pitches())
        .position(|(course, &pitch)| course.offsets().iter().any(|&offset| pitch.transpose(offset).is_none()));
    match out_of_range {
        Some(index) => Err(PlanError::OutOfRange { course: CourseIndex::from_lowest(index).player_number(expected) }),
        None => Ok(()),
    }
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq)]
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
        /// The player's number.
        course: u8,
    },
    /// There is not a string for each string of this course.
    Strings {
        /// The player's number.
        course: u8,
    },
    /// A string that moves would break: another has to be put on first.
    Breaks(Box<Refusal>),
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Courses { expected, found } => write!(f, "expected {expected} strings or pairs, found {found}"),
            Self::OutOfRange { course } => write!(f, "string {course} leaves the pitches from C-1 to G9"),
            Self::Strings { course } => write!(f, "the string set does not fit string {course}"),
            Self::Breaks(refusal) => refusal.fmt(f),
        }
    }
}

impl std::error::Error for PlanError {}
