//! What is wrong with a tuning someone made up, string by string.

use std::fmt;

use crate::instrument::{CourseIndex, Fret, Instrument, Level, Strung, Tuning};
use crate::theory::{Cents, ReferencePitch};

/// Something wrong with a tuning on an instrument. Courses are numbered as players do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TuningFault {
    /// It names another number of courses than the instrument has.
    Courses {
        /// What the instrument has.
        expected: usize,
        /// What the tuning names.
        found: usize,
    },
    /// A string of the course leaves C-1 to G9.
    OutOfRange {
        /// The player's number.
        course: u8,
    },
    /// The string would break on the way or soon after: its pull reaches the least strength of its kind; for a string
    /// that is not known, of the worst it may be.
    Breaks {
        /// The player's number.
        course: u8,
        /// The pull as a share of the least strength, 1 or more.
        share_of_strength: f64,
    },
    /// The string would be too tight and may snap.
    TooTight {
        /// The player's number.
        course: u8,
        /// The pull as a share of the least strength, under 1.
        share_of_strength: f64,
    },
    /// The string goes slack and may buzz.
    Slack {
        /// The player's number.
        course: u8,
    },
    /// There is no fret for the capo, or none above it.
    Capo {
        /// The fret asked for.
        fret: Fret,
        /// The neck's last fret.
        last: Fret,
    },
}

impl TuningFault {}

impl fmt::Display for TuningFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |share: &f64| (share * 100.0).round();
        match self {
            Self::Courses { expected, found } => write!(f, "expected {expected} strings or pairs, found {found}"),
            Self::OutOfRange { course } => write!(f, "string {course} leaves the pitches from C-1 to G9"),
            Self::Breaks { course, share_of_strength } => {
                write!(f, "string {course} would break: {} % of what it stands", percent(share_of_strength))
            }
            Self::TooTight { course, share_of_strength } => {
                write!(f, "string {course} may snap: {} % of what it stands", percent(share_of_strength))
            }
            Self::Slack { course } => write!(f, "string {course} goes slack and may buzz"),
            Self::Capo { fret, last } => {
                write!(f, "a capo cannot sit at fret {}; the last fret is {}", fret.get(), last.get())
            }
        }
    }
}

impl std::error::Error for TuningFault {}

/// Finds everything wrong with a tuning and a capo on an instrument strung as given, from the highest player number to
/// course 1; one fault a course, its worst. None when all is well.
#[must_use]
pub fn find_faults(
    instrument: &Instrument,
    strung: &Strung,
    tuning: &Tuning,
    capo: Fret,
    a4: ReferencePitch,
) -> Vec<TuningFault> {
    let (expected, found) = (instrument.courses().len(), tuning.courses());
    if found != expected {
        return vec![TuningFault::Courses { expected, found }];
    }
    let on_course = |(index, (&pitch, course)): (usize, (_, &crate::instrument::Course))| {
        let index = CourseIndex::from_lowest(index);
        let number = index.player_number(expected);
        let strains: Vec<_> = strung.strains(index, pitch, Cents::ZERO, a4).collect();
        if strains.len() < course.offsets().len() {
            return Some(TuningFault::OutOfRange { course: number });
        }
        let worst = strains.iter().max_by(|one, other| one.share_of_strength.total_cmp(&other.share_of_strength))?;
        let share_of_strength = worst.share_of_strength;
        let has = |level: Level| strains.iter().any(|strain| strain.level == level);
        if worst.breaks() {
            Some(TuningFault::Breaks { course: number, share_of_strength })
        } else if has(Level::TooTight) {
            Some(TuningFault::TooTight { course: number, share_of_strength })
        } else {
            has(Level::Slack).then_some(TuningFault::Slack { course: number })
        }
    };
    let mut faults: Vec<TuningFault> =
        tuning.pitches().iter().zip(instrument.courses()).enumerate().filter_map(on_course).collect();
    let sits = capo == Fret::OPEN || instrument.has_fret(capo) && capo < instrument.last_fret();
    if !sits {
        faults.push(TuningFault::Capo { fret: capo, last: instrument.last_fret() });
    }
    faults
}
