//! An instrument with strings on: what each bears at a pitch, and which string would stand it better.

use std::fmt;

use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::catalog::{Catalog, StringSet};
use super::course::{Course, CourseIndex};
use super::model::{Bridge, Instrument};
use super::strain::{Level, MountedString, Newtons};
use super::string::{Gauge, Material};
use super::stringing::{KnownString, Stringing};

/// How one string stands a pitch; one that is not known, at its worst.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strain {
    /// The pull.
    pub pull: Newtons,
    /// The pull as a share of the least strength of a string of this kind; 1 is breaking.
    pub share_of_strength: f64,
    /// The pull as a share of what the chosen set's string in this place bears in the tuning the set is made for; `None`
    /// when the string is not known.
    pub share_of_made_for: Option<f64>,
    /// Both in words.
    pub level: Level,
}

impl Strain {
    /// A string that pulls less than this share of what its place is made for was not tuned so: it hangs loose. From
    /// memory.
    const LOOSE_BELOW_MADE_FOR: f64 = 0.33;

    /// Tells whether a string could be at this pitch at all: it does not break, nor hang loose as one that was put on for
    /// another octave.
    #[must_use]
    pub fn is_believable(&self) -> bool {
        !self.breaks() && self.share_of_made_for.is_none_or(|share| share >= Self::LOOSE_BELOW_MADE_FOR)
    }

    /// Tells whether the string would break: it reaches the least strength of its kind.
    #[must_use]
    pub fn breaks(&self) -> bool {
        self.share_of_strength >= Level::BREAKS_FROM_STRENGTH
    }
}

/// One string of a course, mounted.
#[derive(Clone, Debug, PartialEq)]
struct Strand {
    /// The string, or all that it may be; never empty. The first is the likeliest.
    may_be: Vec<MountedString>,
    is_known: bool,
    offset: Semitones,
    /// What the chosen set's string in this place bears in the tuning the set is made for.
    made_for: Option<Newtons>,
}

/// An instrument with strings on.
#[derive(Clone, Debug, PartialEq)]
pub struct Strung {
    courses: Vec<Vec<Strand>>,
    set_pull: Option<Newtons>,
    bridge: Bridge,
}

impl Strung {
    /// From this share of the chosen set's pull on, all strings together pull hard on the neck: about what a set two sizes
    /// heavier does, or nearly a whole step up on every string. From memory.
    pub const HARD_ON_NECK: f64 = 1.2;

    /// Puts strings on an instrument: a set ([`StringSet`]) or what is really on ([`Stringing`]).
    ///
    /// A string that is not known may be any that a shop keeps, plain or wound, from a sixth thinner than the thinnest to a
    /// sixth thicker than the thickest string that a set of the catalogue puts in its place on this instrument; how it
    /// stands a pitch is told of the one that stands it worst.
    ///
    /// # Errors
    /// When there is not a string for each string of a course, or the scale is no string's length.
    pub fn new(instrument: &Instrument, strings: &(impl AsRef<Stringing> + ?Sized)) -> Result<Self, NotStrung> {
        let on = strings.as_ref();
        let catalog = Catalog::bundled();
        let mut courses = strands(instrument, on)?;
        let bridge = instrument.bridge();
        let set = on.set_id().and_then(|id| catalog.find_string_set(id));
        let usual = catalog.find_string_set(instrument.strings_id());
        let tuning = set.and_then(StringSet::tuning_id).or(Some(instrument.standard_id()));
        let tuning = tuning.and_then(|id| catalog.find_tuning(id)).map(super::CatalogTuning::tuning);
        let Some(tuning) = tuning.filter(|tuning| tuning.courses() == courses.len()) else {
            return Ok(Self { courses, set_pull: None, bridge });
        };
        let pull = |strand: &Strand, named: Pitch| {
            let hertz = ReferencePitch::default().frequency(named.transpose(strand.offset)?);
            strand.may_be.first().map(|string| string.tension(hertz))
        };
        // The set as it is sold is what the neck and each place are judged against; without one, the usual set.
        let over = |set: &StringSet| set.strings().clone().with_scale_mm(on.scale_mm());
        let as_sold = set.or(usual).and_then(|set| strands(instrument, &over(set)).ok());
        let as_sold = as_sold.unwrap_or_else(|| courses.clone());
        let mut all = Newtons::default();
        for ((course, as_sold), &named) in courses.iter_mut().zip(&as_sold).zip(tuning.pitches()) {
            for (strand, as_sold) in course.iter_mut().zip(as_sold) {
                let made_for = pull(as_sold, named);
                all = all + made_for.unwrap_or_default();
                strand.made_for = made_for;
            }
        }
        Ok(Self { courses, set_pull: Some(all), bridge })
    }

    /// Returns the pull of all strings of the chosen set in the tuning it is made for: what the neck is known to bear.
    /// `None` for an instrument that is not of the catalogue.
    #[must_use]
    pub const fn set_pull(&self) -> Option<Newtons> {
        self.set_pull
    }

    /// Tells whether a pull of all strings together is hard on the neck: [`Strung::HARD_ON_NECK`] of
    /// [`Strung::set_pull`] or more.
    #[must_use]
    pub fn is_hard_on_neck(&self, all: Newtons) -> bool {
        self.set_pull.is_some_and(|set| all.get() >= Self::HARD_ON_NECK * set.get())
    }

    /// Returns the same with another bridge than the instrument usually has.
    #[must_use]
    pub fn with_bridge(self, bridge: Bridge) -> Self {
        Self { bridge, ..self }
    }

    /// Returns how the bridge carries the load.
    #[must_use]
    pub const fn bridge(&self) -> Bridge {
        self.bridge
    }

    /// Returns the number of courses.
    #[must_use]
    pub fn courses(&self) -> usize {
        self.courses.len()
    }

    /// Returns the gauges of a course's strings, in the order of its offsets, `None` for one that is not known; nothing
    /// when there is no such course.
    pub fn gauges(&self, course: CourseIndex) -> impl Iterator<Item = Option<Gauge>> {
        self.strands(course).iter().map(|strand| strand.is_known.then(|| strand.likeliest().gauge()))
    }

    /// Tells whether every string of a course is known.
    #[must_use]
    pub fn is_known(&self, course: CourseIndex) -> bool {
        self.strands(course).iter().all(|strand| strand.is_known)
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
        self.strands(course).iter().filter_map(move |strand| strand.strain(named, by, a4))
    }

    /// Returns the diameter of a course's lowest string in millimetres, 0 when there is no such course.
    #[must_use]
    pub fn thickness_mm(&self, course: CourseIndex) -> f64 {
        let lowest = self.strands(course).iter().find(|strand| strand.offset == Semitones::ZERO);
        lowest.map_or(0.0, |strand| strand.likeliest().gauge().diameter_mm())
    }

    /// Returns how much more a course pulls for each millimetre its strings are stretched, in N/mm.
    #[must_use]
    pub fn stiffness_n_per_mm(&self, course: CourseIndex) -> f64 {
        self.strands(course).iter().map(|strand| strand.likeliest().stiffness_n_per_mm()).sum()
    }

    /// Finds a string that stands a pitch, plain or wound, in whole thousandths of an inch, for one that does not: of those
    /// thinner and not too tight, first those not tight either, then the one that pulls nearest to what its place is made
    /// for. For a string that is not known, of any thickness. `None` when no string does.
    #[must_use]
    pub fn find_lighter(&self, course: CourseIndex, string: usize, named: Pitch, a4: ReferencePitch) -> Option<Gauge> {
        let strand = self.strands(course).get(string)?;
        let now = strand.likeliest();
        let hertz = a4.frequency(named.transpose(strand.offset)?);
        let candidates = gauges(now.material())
            .filter(|gauge| !strand.is_known || gauge.diameter_mm() < now.gauge().diameter_mm() - 1e-6);
        let strained = candidates.filter_map(|gauge| {
            let mounted = MountedString::new(gauge, now.material(), now.length_mm())?;
            Some((gauge, mounted.tension(hertz), Level::of(None, mounted.share_of_strength(hertz))))
        });
        let fits = strained.filter(|(_, _, level)| *level != Level::TooTight);
        let aim = strand.made_for.map(Newtons::get);
        let off = |pull: Newtons| aim.map_or(0.0, |aim| (pull.get() / aim - 1.0).abs());
        fits.min_by(|one, other| {
            let is_tight = |level: Level| level == Level::Tight;
            is_tight(one.2).cmp(&is_tight(other.2)).then(off(one.1).total_cmp(&off(other.1)))
        })
        .map(|(gauge, _, _)| gauge)
    }

    fn strands(&self, course: CourseIndex) -> &[Strand] {
        self.courses.get(course.from_lowest_index()).map_or(&[], Vec::as_slice)
    }
}

impl Strand {
    fn likeliest(&self) -> &MountedString {
        self.may_be.first().expect("a strand is made with a string")
    }

    /// Returns how the string stands the course's named pitch; the worst of all that it may be.
    fn strain(&self, named: Pitch, by: Cents, a4: ReferencePitch) -> Option<Strain> {
        let hertz = a4.frequency(named.transpose(self.offset)?).shifted(by);
        let share_of_strength = self.may_be.iter().map(|string| string.share_of_strength(hertz)).fold(0.0, f64::max);
        let pull = self.may_be.iter().map(|string| string.tension(hertz).get()).fold(0.0, f64::max);
        let made_for = self.made_for.filter(|_| self.is_known);
        let share_of_made_for = made_for.map(|made_for| pull / made_for.get());
        let level = Level::of(share_of_made_for, share_of_strength);
        Some(Strain { pull: Newtons::new(pull), share_of_strength, share_of_made_for, level })
    }
}

/// Mounts each string; a short drone string vibrates from its own nut.
fn strands(instrument: &Instrument, on: &Stringing) -> Result<Vec<Vec<Strand>>, NotStrung> {
    let scale_mm = on.scale_mm().unwrap_or_else(|| instrument.scale_mm());
    let mount = |(index, course): (usize, &Course)| {
        let misfit = NotStrung { course: CourseIndex::from_lowest(index) };
        let strings = on.courses().get(index).ok_or(misfit)?;
        if strings.len() != course.offsets().len() {
            return Err(misfit);
        }
        let length_mm = scale_mm - course.starts_at().distance_mm(scale_mm);
        let strand = |(string, (known, &offset)): (usize, (&Option<KnownString>, &Semitones))| {
            let candidates = known.map_or_else(|| may_be(instrument, index, string), |known| vec![known]);
            let mount = |on: KnownString| MountedString::new(on.gauge, on.material, length_mm);
            let may_be: Vec<MountedString> = candidates.into_iter().filter_map(mount).collect();
            let strand = Strand { may_be, is_known: known.is_some(), offset, made_for: None };
            if strand.may_be.is_empty() { Err(misfit) } else { Ok(strand) }
        };
        strings.iter().zip(course.offsets()).enumerate().map(strand).collect()
    };
    instrument.courses().iter().enumerate().map(mount).collect()
}

/// How much thinner or thicker than the sets' strings one that is not known may be.
const UNKNOWN_WITHIN: f64 = 1.0 / 6.0;

/// Returns what a string that is not known may be, the usual set's string first; see [`Strung::new`].
fn may_be(instrument: &Instrument, course: usize, string: usize) -> Vec<KnownString> {
    let catalog = Catalog::bundled();
    let in_place = |set: &StringSet| set.strings().courses().get(course)?.get(string).copied().flatten();
    let sold: Vec<KnownString> = catalog.string_sets_of(instrument).filter_map(in_place).collect();
    let usual = catalog.find_string_set(instrument.strings_id()).and_then(in_place);
    let diameters = || sold.iter().map(|on| on.gauge.diameter_mm());
    let thin = diameters().fold(f64::INFINITY, f64::min) * (1.0 - UNKNOWN_WITHIN);
    let thick = diameters().fold(0.0, f64::max) * (1.0 + UNKNOWN_WITHIN);
    let mut materials: Vec<Material> = Vec::new();
    for on in &sold {
        if !materials.contains(&on.material) {
            materials.push(on.material);
        }
    }
    let in_shop = materials.into_iter().flat_map(|material| {
        let fits = gauges(material).filter(move |gauge| (thin..=thick).contains(&gauge.diameter_mm()));
        fits.map(move |gauge| KnownString { gauge, material })
    });
    usual.into_iter().chain(sold.iter().copied()).chain(in_shop).collect()
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
