//! What the strings and the neck bear before, during and after a plan.

use crate::instrument::{CourseIndex, Gauge, Level, MountedString, Newtons};
use crate::theory::Semitones;

use super::plan::{PlanError, PlanRequest, Step};

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
}

/// What the strings and the neck bear.
#[derive(Clone, Debug, PartialEq)]
pub struct Safety {
    strings: Vec<StringLoad>,
    before: Newtons,
    highest: Newtons,
    after: Newtons,
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

    /// Returns how the worst string stands the target.
    #[must_use]
    pub fn worst(&self) -> Level {
        self.strings.iter().map(|string| string.level_after).max().unwrap_or(Level::Normal)
    }
}

/// The pull of each course now and at the target, for the order of the steps.
#[derive(Clone, Debug)]
pub(super) struct NeckLoad {
    strings: Vec<StringLoad>,
    before: Vec<f64>,
    after: Vec<f64>,
    thickness_mm: Vec<f64>,
}

impl NeckLoad {
    pub(super) fn new(request: &PlanRequest<'_>) -> Result<Self, PlanError> {
        let count = request.instrument.courses().len();
        let mut load = Self {
            strings: Vec::with_capacity(2 * count),
            before: vec![0.0; count],
            after: vec![0.0; count],
            thickness_mm: vec![0.0; count],
        };
        for (index, course) in request.instrument.courses().iter().enumerate() {
            let misfit = || PlanError::Strings { course: CourseIndex::from_lowest(index) };
            let gauges = request.strings.gauges().get(index).ok_or_else(misfit)?;
            if gauges.len() != course.offsets().len() {
                return Err(misfit());
            }
            let length_mm = request.instrument.scale_mm() * (-f64::from(course.starts_at().get()) / 12.0).exp2();
            for (string, (&gauge, &offset)) in gauges.iter().zip(course.offsets()).enumerate() {
                let mounted = MountedString::new(gauge, request.strings.material(), length_mm).ok_or_else(misfit)?;
                let at = |named: crate::theory::Pitch| named.transpose(offset).map(|pitch| request.a4.frequency(pitch));
                let (before, after) = (at(request.now[index].pitch()), at(request.to.pitches()[index]));
                let (before, after) = before.zip(after).ok_or_else(misfit)?;
                let level = |hertz| Level::of(None, mounted.share_of_strength(hertz));
                let new = StringLoad {
                    course: CourseIndex::from_lowest(index),
                    string,
                    gauge,
                    before: mounted.tension(before),
                    after: mounted.tension(after),
                    level_before: level(before),
                    level_after: level(after),
                    share_of_strength: mounted.share_of_strength(after),
                };
                load.before[index] += new.before.get();
                load.after[index] += new.after.get();
                if offset == Semitones::ZERO {
                    load.thickness_mm[index] = gauge.diameter_mm();
                }
                load.strings.push(new);
            }
        }
        Ok(load)
    }

    /// Returns the diameter of a course's lowest string.
    pub(super) fn thickness_mm(&self, course: usize) -> f64 {
        self.thickness_mm[course]
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
    pub(super) fn report(self, steps: &[Step]) -> Safety {
        let mut newtons = self.before_all();
        let mut highest = newtons;
        for step in steps {
            newtons += self.change(step.course().from_lowest_index());
            highest = highest.max(newtons);
        }
        Safety {
            before: Newtons::new(self.before_all()),
            highest: Newtons::new(highest),
            after: self.strings.iter().map(|string| string.after).sum(),
            strings: self.strings,
        }
    }
}
