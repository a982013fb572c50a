//! The neck in one tuning: which pitch lies where, and how many millimetres apart.

use crate::theory::{Pitch, Semitones};

use super::course::CourseIndex;
use super::model::Instrument;
use super::tuning::Tuning;

/// A place along a course in equal-tempered semitones from the nut: 0 is open, 12 the octave.
///
/// On a diatonic fretboard not every number has a fret; the number stays the distance in semitones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fret(u8);

impl Fret {
    /// Not stopped.
    pub const OPEN: Self = Self(0);

    /// Makes a fret `number` semitones above the nut.
    #[must_use]
    pub const fn new(number: u8) -> Self {
        Self(number)
    }

    /// Returns the distance from the nut in semitones.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }

    /// Returns the distance from the nut as an interval.
    #[must_use]
    pub fn semitones(self) -> Semitones {
        Semitones::new(i16::from(self.0))
    }

    /// Returns the distance from the nut in millimetres on a string `scale_mm` long: L(1 − 2^(−n/12)).
    #[must_use]
    pub fn distance_mm(self, scale_mm: f64) -> f64 {
        scale_mm * (1.0 - (-f64::from(self.0) / 12.0).exp2())
    }
}

/// A course and a fret on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Position {
    /// Which course.
    pub course: CourseIndex,
    /// Where on it.
    pub fret: Fret,
}

/// An instrument's neck in one tuning, with a capo or without.
///
/// With a capo, frets are counted from it, as players do; lengths stay those of the real neck. A full capo does not
/// reach short drone strings, which keep their pitch (common practice: they have hooks of their own).
#[derive(Clone, Debug)]
pub struct Fretboard<'a> {
    instrument: &'a Instrument,
    open: Vec<Pitch>,
    capo: Fret,
    scale_mm: f64,
}

impl<'a> Fretboard<'a> {
    /// Lays out the neck of `instrument` in `tuning` with a capo at `capo` (0 for none).
    ///
    /// # Errors
    /// When the tuning has another number of courses, the capo lies at or beyond the last fret, or a course would
    /// leave the pitch range.
    pub fn new(instrument: &'a Instrument, tuning: &Tuning, capo: Fret) -> Result<Self, NotOnNeck> {
        let expected = instrument.courses().len();
        let found = tuning.pitches().len();
        if found != expected {
            return Err(NotOnNeck::Courses { expected, found });
        }
        if capo >= instrument.last_fret() || (capo != Fret::OPEN && !instrument.has_fret(capo)) {
            return Err(NotOnNeck::Capo { fret: capo, last: instrument.last_fret() });
        }
        let open = tuning
            .pitches()
            .iter()
            .zip(instrument.courses())
            .map(|(&pitch, course)| {
                let raised = if course.is_drone() { Some(pitch) } else { pitch.transpose(capo.semitones()) };
                raised.ok_or(NotOnNeck::Capo { fret: capo, last: instrument.last_fret() })
            })
            .collect::<Result<_, _>>()?;
        Ok(Self { instrument, open, capo, scale_mm: instrument.scale_mm() })
    }

    /// Returns the neck over another scale length in millimetres, as what is on the guitar says
    /// ([`super::Stringing::scale_mm`]); unchanged for `None`.
    #[must_use]
    pub fn over_mm(self, scale_mm: Option<f64>) -> Self {
        Self { scale_mm: scale_mm.unwrap_or(self.scale_mm), ..self }
    }

    /// Returns the scale length in millimetres.
    #[must_use]
    pub const fn scale_mm(&self) -> f64 {
        self.scale_mm
    }

    /// Returns the instrument.
    #[must_use]
    pub const fn instrument(&self) -> &'a Instrument {
        self.instrument
    }

    /// Returns the capo's fret, 0 for none.
    #[must_use]
    pub const fn capo(&self) -> Fret {
        self.capo
    }

    /// Returns the number of courses.
    #[must_use]
    pub fn courses(&self) -> usize {
        self.open.len()
    }

    /// Returns what each course sounds open, capo included, from the highest player number to course 1.
    #[must_use]
    pub fn open_pitches(&self) -> &[Pitch] {
        &self.open
    }

    /// Returns the last fret that can be counted from the capo.
    #[must_use]
    pub fn last_fret(&self) -> Fret {
        Fret::new(self.instrument.last_fret().get() - self.capo.get())
    }

    /// Tells whether the course can be stopped at `fret`, counted from the capo; open always can.
    #[must_use]
    pub fn has(&self, position: Position) -> bool {
        self.pitch_at(position).is_some()
    }

    /// Returns the pitch at a position, its course's named string; `None` where there is no fret, or, on a short drone
    /// string, at or before its nut.
    #[must_use]
    pub fn pitch_at(&self, position: Position) -> Option<Pitch> {
        let index = position.course.from_lowest_index();
        let open = *self.open.get(index)?;
        if position.fret == Fret::OPEN {
            return Some(open);
        }
        let on_neck = Fret::new(position.fret.get().checked_add(self.capo.get())?);
        if !self.instrument.has_fret(on_neck) {
            return None;
        }
        let start = self.instrument.courses()[index].starts_at();
        if start == Fret::OPEN {
            return open.transpose(position.fret.semitones());
        }
        if on_neck <= start {
            return None;
        }
        open.transpose(on_neck.semitones() - start.semitones())
    }

    /// Returns the distance from the real nut to a fret counted from the capo, in millimetres.
    #[must_use]
    pub fn distance_mm(&self, fret: Fret) -> f64 {
        Fret::new(fret.get().saturating_add(self.capo.get())).distance_mm(self.scale_mm)
    }

    /// Returns the distance between two frets counted from the capo, in millimetres, never negative.
    #[must_use]
    pub fn between_mm(&self, one: Fret, other: Fret) -> f64 {
        (self.distance_mm(one) - self.distance_mm(other)).abs()
    }
}

/// Why a tuning or a capo does not go on a neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotOnNeck {
    /// The tuning names another number of courses than the instrument has.
    Courses {
        /// What the instrument has.
        expected: usize,
        /// What the tuning names.
        found: usize,
    },
    /// The capo lies beyond the last fret but one, where there is no fret, or lifts a course out of the pitch range.
    Capo {
        /// The fret asked for.
        fret: Fret,
        /// The neck's last fret.
        last: Fret,
    },
}

impl std::fmt::Display for NotOnNeck {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Courses { expected, found } => write!(f, "expected {expected} courses, found {found}"),
            Self::Capo { fret, last } => {
                write!(f, "a capo cannot sit at fret {}; the last fret is {}", fret.get(), last.get())
            }
        }
    }
}

impl std::error::Error for NotOnNeck {}
