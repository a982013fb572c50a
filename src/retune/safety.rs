//! What the strings and the neck bear before, during and after a plan, and what to do instead where it is too much.

use crate::instrument::{CourseIndex, Fret, Gauge, Instrument, Level, Newtons, PlayedWith, Strung, Tuning};
use crate::theory::{Cents, Pitch, Semitones};

use super::plan::{PlanError, PlanRequest, Step};

/// The furthest fret a capo is offered at: beyond it little neck is left to play on. Common practice.
const HIGHEST_CAPO: u8 = 7;
/// A rise of the whole pull that is none, in newtons: rounding.
const LEAST_RISE_N: f64 = 0.01;

/// What one string bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StringLoad {
    /// Which course.
    pub course: CourseIndex,
    /// Which string of it, from 0, in the order of the course's offsets.
    pub string: usize,
    /// Its gauge; `None` when it is not known which string is on.
    pub gauge: Option<Gauge>,
    /// Whether it is turned: one that stays where it is is never a risk.
    pub moves: bool,
    /// The pull now; for a course of unknown pitch, at the pitch it was last known to have.
    pub before: Newtons,
    /// The pull at the target.
    pub after: Newtons,
    /// How it stands the target; [`Level::Normal`] when it does not move.
    pub level_after: Level,
    /// The pull at the target as a share of the least strength of a string of this kind; 1 is breaking.
    pub share_of_strength: f64,
    /// The pull at the target as a share of what the chosen set's string in this place bears in the tuning the set is
    /// made for; `None` when the string is not known.
    pub share_of_made_for: Option<f64>,
}

impl StringLoad {
    /// Tells whether it moves and would break at the target.
    #[must_use]
    pub fn breaks(&self) -> bool {
        self.moves && self.share_of_strength >= Level::BREAKS_FROM_STRENGTH
    }
}

/// What to do instead of bringing a string up too tight.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Tune all courses lower by the capo's frets and put the capo on: the same notes with no string too tight.
    LowerWithCapo {
        /// What to tune to; short drone strings keep their pitch.
        tuning: Tuning,
        /// Where the capo goes.
        capo: Fret,
    },
    /// Put a thinner string there.
    LighterString {
        /// Which course.
        course: CourseIndex,
        /// Which string of it, from 0.
        string: usize,
        /// The gauge that stands it.
        gauge: Gauge,
    },
}

/// What the strings and the neck bear.
#[derive(Clone, Debug, PartialEq)]
pub struct Safety {
    strings: Vec<StringLoad>,
    before: Newtons,
    highest: Newtons,
    after: Newtons,
    pulls_hard: bool,
    remedies: Vec<Remedy>,
}

impl Safety {
    /// Returns what each string bears, course by course from the highest player number.
    #[must_use]
    pub fn strings(&self) -> &[StringLoad] {
        &self.strings
    }

    /// Returns the pull of all strings now.
    #[must_use]
    pub const fn before(&self) -> Newtons {
        self.before
    }

    /// Returns the largest pull of all strings between two steps, start and end included.
    #[must_use]
    pub const fn highest(&self) -> Newtons {
        self.highest
    }

    /// Returns the pull of all strings at the target.
    #[must_use]
    pub const fn after(&self) -> Newtons {
        self.after
    }

    /// Tells whether all strings together pull hard on the neck on the way or at the target, and harder than now: see
    /// [`Strung::HARD_ON_NECK`].
    #[must_use]
    pub const fn pulls_hard(&self) -> bool {
        self.pulls_hard
    }

    /// Returns how the tightest of the strings that move stands the target.
    #[must_use]
    pub fn worst(&self) -> Level {
        self.strings.iter().map(|string| string.level_after).max().unwrap_or(Level::Normal)
    }

    /// Returns what to do instead, when a string that moves is too tight at the target; none when no string is, or nothing
    /// helps.
    #[must_use]
    pub fn remedies(&self) -> &[Remedy] {
        &self.remedies
    }
}

/// The pull of each course now and at the target, for the order of the steps.
#[derive(Clone, Debug)]
pub(super) struct NeckLoad {
    strung: Strung,
    strings: Vec<StringLoad>,
    before: Vec<f64>,
    after: Vec<f64>,
}

impl NeckLoad {
    pub(super) fn new(request: &PlanRequest<'_>, offsets: &[Cents]) -> Result<Self, PlanError> {
        let courses = request.instrument.courses().len();
        let strung = Strung::new(request.instrument, request.strings)
            .map_err(|misfit| PlanError::Strings { course: misfit.course.player_number(courses) })?;
        let count = strung.courses();
        let mut strings = Vec::with_capacity(2 * count);
        let (mut before, mut after) = (vec![0.0; count], vec![0.0; count]);
        for index in 0..count {
            let course = CourseIndex::from_lowest(index);
            let now = request.now[index];
            let moves = !now.is_at(request.to.pitches()[index], offsets[index]);
            let old = strung.strains(course, now.pitch(), now.offset(), request.a4);
            let new = strung.strains(course, request.to.pitches()[index], offsets[index], request.a4);
            for (string, ((gauge, old), new)) in strung.gauges(course).zip(old).zip(new).enumerate() {
                before[index] += old.pull.get();
                after[index] += new.pull.get();
                strings.push(StringLoad {
                    course,
                    string,
                    gauge,
                    moves,
                    before: old.pull,
                    after: new.pull,
                    level_after: if moves { new.level } else { Level::Normal },
                    share_of_strength: new.share_of_strength,
                    share_of_made_for: new.share_of_made_for,
                });
            }
        }
        Ok(Self { strung, strings, before, after })
    }

    /// Returns the strings on the instrument.
    pub(super) const fn strung(&self) -> &Strung {
        &self.strung
    }

    /// Returns the diameter of a course's lowest string.
    pub(super) fn thickness_mm(&self, course: usize) -> f64 {
        self.strung.thickness_mm(CourseIndex::from_lowest(course))
    }

    /// Returns the pull of a course now, in newtons.
    pub(super) fn before(&self, course: usize) -> f64 {
        self.before[course]
    }

    /// Returns the pull of a course at the target, in newtons.
    pub(super) fn after(&self, course: usize) -> f64 {
        self.after[course]
    }

    /// Returns the pull of all courses before the first step, in newtons.
    pub(super) fn before_all(&self) -> f64 {
        self.before.iter().sum()
    }

    /// Returns the pull of all courses at the target, in newtons.
    pub(super) fn after_all(&self) -> f64 {
        self.after.iter().sum()
    }

    /// Returns how much the pull changes when a course goes to its target, in newtons.
    pub(super) fn change(&self, course: usize) -> f64 {
        self.after[course] - self.before[course]
    }

    /// Returns the pull the neck may reach on the way, in newtons: the larger of start and end, and the largest change
    /// of one course on top.
    pub(super) fn limit(&self) -> f64 {
        let largest = (0..self.before.len()).map(|course| self.change(course).abs()).fold(0.0, f64::max);
        self.before_all().max(self.after.iter().sum()) + largest
    }

    /// Reports the whole plan.
    pub(super) fn report(self, request: &PlanRequest<'_>, steps: &[Step]) -> Safety {
        let mut newtons = self.before_all();
        let mut highest = newtons;
        for step in steps {
            newtons += self.change(step.course().from_lowest_index());
            highest = highest.max(newtons);
        }
        let before = self.before_all();
        Safety {
            before: Newtons::new(before),
            highest: Newtons::new(highest),
            after: Newtons::new(self.after.iter().sum()),
            pulls_hard: highest > before + LEAST_RISE_N && self.strung.is_hard_on_neck(Newtons::new(highest)),
            remedies: find_remedies(request, &self.strung, &self.strings),
            strings: self.strings,
        }
    }
}

/// Finds what helps where a string that moves is too tight: the capo first, since it costs no new string.
fn find_remedies(request: &PlanRequest<'_>, strung: &Strung, loads: &[StringLoad]) -> Vec<Remedy> {
    let is_risky = |load: &&StringLoad| load.level_after == Level::TooTight;
    if !loads.iter().any(|load| is_risky(&load)) {
        return Vec::new();
    }
    let capo = (1..=HIGHEST_CAPO).map(Fret::new).find_map(|capo| {
        let lower = lowered(request.instrument, request.to, capo)?;
        stands(request, strung, &lower).then_some(Remedy::LowerWithCapo { tuning: lower, capo })
    });
    let lighter = loads.iter().filter(is_risky).filter_map(|load| {
        let named = request.to.pitches()[load.course.from_lowest_index()];
        let gauge = strung.find_lighter(load.course, load.string, named, request.a4)?;
        Some(Remedy::LighterString { course: load.course, string: load.string, gauge })
    });
    capo.into_iter().chain(lighter).collect()
}

/// Tells whether no string that moves to a tuning is too tight there.
fn stands(request: &PlanRequest<'_>, strung: &Strung, tuning: &Tuning) -> bool {
    let moved = request.now.iter().zip(tuning.pitches()).enumerate();
    let mut moved = moved.filter(|(_, (now, pitch))| !now.is_at(**pitch, Cents::ZERO));
    moved.all(|(index, (_, &named))| {
        let mut strains = strung.strains(CourseIndex::from_lowest(index), named, Cents::ZERO, request.a4);
        strains.all(|strain| strain.level != Level::TooTight)
    })
}

/// Returns the tuning that sounds like `tuning` with a capo on; `None` where there is no such fret or no capo is used.
fn lowered(instrument: &Instrument, tuning: &Tuning, capo: Fret) -> Option<Tuning> {
    if instrument.played_with() != PlayedWith::Fingers || !instrument.has_fret(capo) {
        return None;
    }
    let lower = |(course, &pitch): (&crate::instrument::Course, &Pitch)| match course.is_drone() {
        true => Some(pitch),
        false => pitch.transpose(Semitones::ZERO - capo.semitones()),
    };
    instrument.courses().iter().zip(tuning.pitches()).map(lower).collect::<Option<_>>().and_then(Tuning::new)
}
