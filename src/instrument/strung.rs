//! An instrument with strings on: what each bears at a pitch, and which string would stand it better.

use std::fmt;

use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::catalog::{Catalog, StringSet};
use super::course::CourseIndex;
use super::model::Instrument;
use super::strain::{Level, MountedString, Newtons};
use super::string::{Gauge, Material};

/// How one string stands a pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strain {
    /// The pull.
    pub pull: Newtons,
    /// The pull as a share of the least strength of a string of this kind; 1 is breaking.
    pub share_of_strength: f64,
    /// The pull as a share of what the usual string in this place bears in the usual tuning; `None` when not known.
    pub share_of_usual: Option<f64>,
    /// Both in words.
    pub level: Level,
}

/// One string of a course, mounted.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Strand {
    mounted: MountedString,
    offset: Semitones,
    usual: Option<Newtons>,
}

/// An instrument strung with a set.
#[derive(Clone, Debug, PartialEq)]
pub struct Strung {
    courses: Vec<Vec<Strand>>,
}

impl Strung {
    /// Puts a set of strings on an instrument.
    ///
    /// # Errors
    /// When the set does not have a gauge for each string of a course, or the scale is no string's length.
    pub fn new(instrument: &Instrument, set: &StringSet) -> Result<Self, NotStrung> {
        let mut strung = Self { courses: strands(instrument, set)? };
        let catalog = Catalog::bundled();
        let usual_set = catalog.string_sets().iter().find(|set| set.id() == instrument.strings_id());
        let usual_tuning = catalog.find_tuning(instrument.standard_id());
        if let Some((set, tuning)) = usual_set.zip(usual_tuning) {
            let usual = strands(instrument, set)?;
            let pitches = tuning.tuning().pitches();
            for ((course, usual), &named) in strung.courses.iter_mut().zip(&usual).zip(pitches) {
                for (strand, usual) in course.iter_mut().zip(usual) {
                    let hertz = named.transpose(usual.offset).map(|pitch| ReferencePitch::default().frequency(pitch));
                    strand.usual = hertz.map(|hertz| usual.mounted.tension(hertz));
                }
            }
        }
        Ok(strung)
    }

    /// Returns the number of courses.
    #[must_use]
    pub fn courses(&self) -> usize {
        self.courses.len()
    }

    /// Returns the gauges of a course's strings, in the order of its offsets; none when there is no such course.
    pub fn gauges(&self, course: CourseIndex) -> impl Iterator<Item = Gauge> {
        self.strands(course).iter().map(|strand| strand.mounted.gauge())
    }

    /// Returns how each string of a course stands the course's `named` pitch, `by` cents over equal temperament; a string
    /// that would leave the pitch range is left out.
    pub fn strains(
        &self,
        course: CourseIndex,
        named: Pitch,
        by: Cents,
        a4: ReferencePitch,
    ) -> impl Iterator<Item = Strain> {
        self.strands(course).iter().filter_map(move |strand| strand.strain(strand.mounted, named, by, a4))
    }

    /// Returns the diameter of a course's lowest string in millimetres, 0 when there is no such course.
    #[must_use]
    pub fn thickness_mm(&self, course: CourseIndex) -> f64 {
        let lowest = self.strands(course).iter().find(|strand| strand.offset == Semitones::ZERO);
        lowest.map_or(0.0, |strand| strand.mounted.gauge().diameter_mm())
    }

    /// Returns how much more a course pulls for each millimetre its strings are stretched, in N/mm.
    #[must_use]
    pub fn stiffness_n_per_mm(&self, course: CourseIndex) -> f64 {
        self.strands(course).iter().map(|strand| strand.mounted.stiffness_n_per_mm()).sum()
    }

    /// Finds a thinner string that is not too tight at a pitch, plain or wound, in whole thousandths of an inch: of those
    /// the one that pulls nearest to usual. `None` when no string does.
    #[must_use]
    pub fn find_lighter(&self, course: CourseIndex, string: usize, named: Pitch, a4: ReferencePitch) -> Option<Gauge> {
        let strand = self.strands(course).get(string)?;
        let (now, length_mm) = (strand.mounted.gauge(), strand.mounted.length_mm());
        let material = strand.mounted.material();
        let candidates = gauges(material).filter(|gauge| gauge.diameter_mm() < now.diameter_mm() - 1e-6);
        let strained = candidates.filter_map(|gauge| {
            let mounted = MountedString::new(gauge, material, length_mm)?;
            strand.strain(mounted, named, Cents::ZERO, a4).map(|strain| (gauge, strain))
        });
        let fits = strained.filter(|(_, strain)| strain.level != Level::TooTight);
        let from_usual = |strain: &Strain| (strain.share_of_usual.unwrap_or(strain.share_of_strength) - 1.0).abs();
        let better = |one: &(Gauge, Strain), other: &(Gauge, Strain)| {
            let is_tight = |strain: &Strain| strain.level == Level::Tight;
            is_tight(&one.1).cmp(&is_tight(&other.1)).then(from_usual(&one.1).total_cmp(&from_usual(&other.1)))
        };
        fits.min_by(better).map(|(gauge, _)| gauge)
    }

    fn strands(&self, course: CourseIndex) -> &[Strand] {
        self.courses.get(course.from_lowest_index()).map_or(&[], Vec::as_slice)
    }
}

impl Strand {
    /// Returns how `mounted` would stand the course's named pitch in this place.
    fn strain(&self, mounted: MountedString, named: Pitch, by: Cents, a4: ReferencePitch) -> Option<Strain> {
        let hertz = a4.frequency(named.transpose(self.offset)?).shifted(by);
        let pull = mounted.tension(hertz);
        let share_of_strength = mounted.share_of_strength(hertz);
        let share_of_usual = self.usual.map(|usual| pull.get() / usual.get());
        Some(Strain { pull, share_of_strength, share_of_usual, level: Level::of(share_of_usual, share_of_strength) })
    }
}

/// Mounts each string of the set; a short drone string vibrates from its own nut.
fn strands(instrument: &Instrument, set: &StringSet) -> Result<Vec<Vec<Strand>>, NotStrung> {
    let mount = |(index, course): (usize, &super::course::Course)| {
        let misfit = NotStrung { course: CourseIndex::from_lowest(index) };
        let gauges = set.gauges().get(index).ok_or(misfit)?;
        if gauges.len() != course.offsets().len() {
            return Err(misfit);
        }
        let length_mm = instrument.scale_mm() - course.starts_at().distance_mm(instrument.scale_mm());
        let strand = |(&gauge, &offset): (&Gauge, &Semitones)| {
            let mounted = MountedString::new(gauge, set.material(), length_mm).ok_or(misfit)?;
            Ok(Strand { mounted, offset, usual: None })
        };
        gauges.iter().zip(course.offsets()).map(strand).collect()
    };
    instrument.courses().iter().enumerate().map(mount).collect()
}

/// Returns the gauges a shop keeps, thin to thick; the ranges are from memory.
fn gauges(material: Material) -> impl Iterator<Item = Gauge> {
    let (plain, wound) = match material {
        Material::Bronze | Material::Nickel | Material::Steel => (7..=26, 17..=136),
        Material::Nylon | Material::Fluorocarbon | Material::Gut => (18..=45, 24..=70),
    };
    let make = |is_wound| move |thousandths: u8| Gauge::new(f64::from(thousandths) * 0.0254, is_wound);
    plain.filter_map(make(false)).chain(wound.filter_map(make(true)))
}

/// A set that does not fit an instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotStrung {
    /// The first course that does not get its strings.
    pub course: CourseIndex,
}

impl fmt::Display for NotStrung {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = self.course.from_lowest_index() + 1;
        write!(f, "the string set does not fit the course in place {place} from the lowest")
    }
}

impl std::error::Error for NotStrung {}
