//! What the strings and the neck bear before, during and after a plan, and what to do instead where it is too much.

use crate::instrument::{CourseIndex, Fret, Gauge, Instrument, Level, Newtons, PlayedWith, Strung, Tuning};
use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::plan::{PlanError, PlanRequest, Step};

/// The furthest fret a capo is offered at: beyond it little neck is left to play on. Common practice.
const HIGHEST_CAPO: u8 = 7;

/// What one string bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StringLoad {
    /// Which course.
    pub course: CourseIndex,
    /// Which string of it, from 0, in the order of the course's offsets.
    pub string: usize,
    /// Its gauge.
    pub gauge: Gauge,
    /// The pull now; for a course of unknown pitch, at the pitch it was last known to have.
    pub before: Newtons,
    /// The pull at the target.
    pub after: Newtons,
    /// How it stands the pull now.
    pub level_before: Level,
    /// How it stands the target.
    pub level_after: Level,
    /// The pull at the target as a share of the least strength of a string of this kind; 1 is breaking.
    pub share_of_strength: f64,
    /// The pull at the target as a share of what the usual string in this place bears in the usual tuning; `None` when
    /// not known.
    pub share_of_usual: Option<f64>,
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

    /// Returns how the tightest string stands the target.
    #[must_use]
    pub fn worst(&self) -> Level {
        self.strings.iter().map(|string| string.level_after).max().unwrap_or(Level::Normal)
    }

    /// Returns what to do instead, when a string is too tight at the target; none when no string is, or nothing helps.
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
            let old = strung.strains(course, now.pitch(), now.offset(), request.a4);
            let new = strung.strains(course, request.to.pitches()[index], offsets[index], request.a4);
            for (string, ((gauge, old), new)) in strung.gauges(course).zip(old).zip(new).enumerate() {
                before[index] += old.pull.get();
                after[index] += new.pull.get();
                strings.push(StringLoad {
                    course,
                    string,
                    gauge,
                    before: old.pull,
                    after: new.pull,
                    level_before: old.level,
                    level_after: new.level,
                    share_of_strength: new.share_of_strength,
                    share_of_usual: new.share_of_usual,
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
        Safety {
            before: Newtons::new(self.before_all()),
            highest: Newtons::new(highest),
            after: Newtons::new(self.after.iter().sum()),
            remedies: find_remedies(request.instrument, &self.strung, request.to, request.a4),
            strings: self.strings,
        }
    }
}

/// Finds what helps where a string is too tight in a tuning: the capo first, since it costs no new string.
pub(super) fn find_remedies(
    instrument: &Instrument,
    strung: &Strung,
    tuning: &Tuning,
    a4: ReferencePitch,
) -> Vec<Remedy> {
    let too_tight = too_tight(strung, tuning, a4);
    if too_tight.is_empty() {
        return Vec::new();
    }
    let capo = (1..=HIGHEST_CAPO).map(Fret::new).find_map(|capo| {
        let lower = lowered(instrument, tuning, capo)?;
        too_tight_is_gone(strung, &lower, a4).then_some(Remedy::LowerWithCapo { tuning: lower, capo })
    });
    let lighter = too_tight.into_iter().filter_map(|(course, string, named)| {
        let gauge = strung.find_lighter(course, string, named, a4)?;
        Some(Remedy::LighterString { course, string, gauge })
    });
    capo.into_iter().chain(lighter).collect()
}

/// Returns the strings that are too tight: course, string, and the course's named pitch.
fn too_tight(strung: &Strung, tuning: &Tuning, a4: ReferencePitch) -> Vec<(CourseIndex, usize, Pitch)> {
    let mut found = Vec::new();
    for (index, &named) in tuning.pitches().iter().enumerate() {
        let course = CourseIndex::from_lowest(index);
        for (string, strain) in strung.strains(course, named, Cents::ZERO, a4).enumerate() {
            if strain.level == Level::TooTight {
                found.push((course, string, named));
            }
        }
    }
    found
}

fn too_tight_is_gone(strung: &Strung, tuning: &Tuning, a4: ReferencePitch) -> bool {
    too_tight(strung, tuning, a4).is_empty()
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
