//! What it takes to go from what is on the guitar to a tuning: strings, semitones, and what they would bear.

use crate::instrument::{Instrument, Level, StringSet, Tuning};
use crate::retune::{CourseState, Plan, PlanRequest};
use crate::theory::ReferencePitch;

/// The effort of a retuning.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effort {
    strings: usize,
    semitones: u16,
    levels: Vec<(u8, Level)>,
}

impl Effort {
    /// Measures the way from `now` to `to`.
    #[must_use]
    pub fn between(
        instrument: &Instrument,
        strings: &StringSet,
        now: &[CourseState],
        to: &Tuning,
        a4: ReferencePitch,
    ) -> Self {
        let Ok(plan) = Plan::new(&PlanRequest { strings, a4, ..PlanRequest::new(instrument, now, to) }) else {
            return Self::default();
        };
        let courses = instrument.courses().len();
        let levels = plan.safety().strings().iter();
        let levels = levels.map(|load| (load.course.player_number(courses), load.level_after)).collect();
        Self { strings: plan.steps().len(), semitones: plan.semitones_moved(), levels }
    }

    /// Returns how many courses move.
    #[must_use]
    pub const fn strings(&self) -> usize {
        self.strings
    }

    /// Returns how each string stands the tuning: the course by player number, and the level.
    #[must_use]
    pub fn levels(&self) -> &[(u8, Level)] {
        &self.levels
    }

    /// Returns what tunings are ordered by: a string to turn weighs as much as two semitones, a string that goes tight
    /// as four, one that would not stand it as twenty (chosen by hand).
    #[must_use]
    pub fn weight(&self) -> f64 {
        let risk = |level: Level| match level {
            Level::TooTight => 20.0,
            Level::Tight => 4.0,
            Level::Slack => 2.0,
            Level::Normal => 0.0,
        };
        let strings = u32::try_from(self.strings).unwrap_or(u32::MAX);
        let risks: f64 = self.levels.iter().map(|(_, level)| risk(*level)).sum();
        2.0 * f64::from(strings) + f64::from(self.semitones) + risks
    }
}
