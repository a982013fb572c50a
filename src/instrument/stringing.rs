//! Which strings are really on an instrument: course by course, as far as they are known.

use serde::{Deserialize, Serialize};

use super::course::CourseIndex;
use super::model::Instrument;
use super::string::{Gauge, Material};

/// A string whose thickness and make are known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "KnownRow", into = "KnownRow")]
pub struct KnownString {
    /// How thick it is, and whether it is wound.
    pub gauge: Gauge,
    /// What it is made of; a plain string of a bronze or nickel set is plain steel.
    pub material: Material,
}

/// The strings on an instrument and the length they sound over: a plain value, part of what is on the guitar.
///
/// It begins as a set ([`super::StringSet::strings`]), and is changed course by course: another string is put on
/// ([`Stringing::with_string`]), or another is on and nobody knows which ([`Stringing::with_unknown`]). A string that is
/// not known is taken at its worst, see [`super::Strung::new`]. It is kept as it is, gauges included, so that what is on
/// the guitar does not change when the catalogue does:
///
/// ```
/// use pegwise::instrument::{Catalog, CourseIndex, Gauge, KnownString, Material, Stringing, Strung};
///
/// let guitar = Catalog::bundled().guitar();
/// let third = CourseIndex::from_player_number(3, 6).unwrap();
/// let plain = KnownString { gauge: Gauge::read("18").unwrap(), material: Material::Bronze };
/// let on: Stringing = Catalog::bundled().strings_of(guitar).strings().clone().with_string(third, 0, plain);
///
/// let kept = serde_json::to_string(&on).unwrap();
/// let read: Stringing = serde_json::from_str(&kept).unwrap();
/// assert_eq!(read, on);
/// assert!(read.fits(guitar));
/// assert_eq!(Strung::new(guitar, &read).unwrap().gauges(third).next(), Some(Some(plain.gauge)));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StringingRow", into = "StringingRow")]
pub struct Stringing {
    set_id: Option<String>,
    scale_mm: Option<f64>,
    courses: Vec<Vec<Option<KnownString>>>,
}

impl Stringing {
    /// The scale lengths that can be entered, in millimetres: from under a sopranino ukulele's to over a bass guitar's.
    pub const SCALES_MM: std::ops::RangeInclusive<f64> = 200.0..=1300.0;

    /// Makes the strings of a set; the outer list has one entry a course, from the highest player number.
    pub(super) fn of_set(id: &str, material: Material, gauges: &[Vec<Gauge>]) -> Self {
        let known = |&gauge: &Gauge| Some(KnownString { gauge, material });
        let courses = gauges.iter().map(|course| course.iter().map(known).collect()).collect();
        Self { set_id: Some(id.to_owned()), scale_mm: None, courses }
    }

    /// Makes an instrument on which no string is known.
    #[must_use]
    pub fn unknown(instrument: &Instrument) -> Self {
        let courses = instrument.courses().iter().map(|course| vec![None; course.offsets().len()]).collect();
        Self { set_id: None, scale_mm: None, courses }
    }

    /// Returns the id of the set it began as, strings changed since or not; `None` when it began as no set.
    #[must_use]
    pub fn set_id(&self) -> Option<&str> {
        self.set_id.as_deref()
    }

    /// Returns the scale length in millimetres, where it is another than the instrument's usual one.
    #[must_use]
    pub const fn scale_mm(&self) -> Option<f64> {
        self.scale_mm
    }

    /// Returns the strings of each course, from the highest player number to course 1, those of a course in the order of
    /// its offsets; `None` for one that is not known.
    #[must_use]
    pub fn courses(&self) -> &[Vec<Option<KnownString>>] {
        &self.courses
    }

    /// Tells whether every string of a course is known; false when there is no such course.
    #[must_use]
    pub fn is_known(&self, course: CourseIndex) -> bool {
        self.courses.get(course.from_lowest_index()).is_some_and(|strings| strings.iter().all(Option::is_some))
    }

    /// Tells whether there is a string, known or not, for each string of each course of an instrument.
    #[must_use]
    pub fn fits(&self, instrument: &Instrument) -> bool {
        let strings = self.courses.iter().map(Vec::len);
        strings.eq(instrument.courses().iter().map(|course| course.offsets().len()))
    }

    /// Returns the courses on which another instrument's worth of strings differs, a string that is not known from every
    /// other; from the highest player number on.
    #[must_use]
    pub fn differing(&self, other: &Self) -> Vec<CourseIndex> {
        let courses = self.courses.len().max(other.courses.len());
        let is_same = |course: usize| match (self.courses.get(course), other.courses.get(course)) {
            (Some(one), Some(two)) => one == two && one.iter().all(Option::is_some),
            _ => false,
        };
        (0..courses).filter(|&course| !is_same(course)).map(CourseIndex::from_lowest).collect()
    }

    /// Returns it with another string put on; `string` counts within the course, from 0. Unchanged when there is no such
    /// string.
    #[must_use]
    pub fn with_string(mut self, course: CourseIndex, string: usize, on: KnownString) -> Self {
        if let Some(place) = self.courses.get_mut(course.from_lowest_index()).and_then(|on| on.get_mut(string)) {
            *place = Some(on);
        }
        self
    }

    /// Returns it with the strings another one has on a course; unchanged when either has no such course.
    #[must_use]
    pub fn with_course_of(mut self, course: CourseIndex, other: &Self) -> Self {
        let index = course.from_lowest_index();
        if let Some((place, strings)) = self.courses.get_mut(index).zip(other.courses.get(index)) {
            place.clone_from(strings);
        }
        self
    }

    /// Returns it with the strings of a course no longer known; unchanged when there is no such course.
    #[must_use]
    pub fn with_unknown(mut self, course: CourseIndex) -> Self {
        if let Some(strings) = self.courses.get_mut(course.from_lowest_index()) {
            strings.fill(None);
        }
        self
    }

    /// Returns it over a scale length in millimetres; over the instrument's usual one for `None`, and when the length is
    /// outside [`Stringing::SCALES_MM`].
    #[must_use]
    pub fn with_scale_mm(self, scale_mm: Option<f64>) -> Self {
        Self { scale_mm: scale_mm.filter(|mm| Self::SCALES_MM.contains(mm)), ..self }
    }
}

impl AsRef<Self> for Stringing {
    fn as_ref(&self) -> &Self {
        self
    }
}

/// How a string is kept: the diameter in millimetres, wound or not, the material.
#[derive(Serialize, Deserialize)]
struct KnownRow {
    mm: f64,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    wound: bool,
    material: Material,
}

impl From<KnownString> for KnownRow {
    fn from(on: KnownString) -> Self {
        Self { mm: on.gauge.diameter_mm(), wound: on.gauge.is_wound(), material: on.material }
    }
}

impl TryFrom<KnownRow> for KnownString {
    type Error = &'static str;

    fn try_from(row: KnownRow) -> Result<Self, Self::Error> {
        let gauge = Gauge::new(row.mm, row.wound).ok_or("a string is 0.1 to 5 mm thick")?;
        Ok(Self { gauge, material: row.material })
    }
}

/// How it is kept; a string that is not known is null.
#[derive(Serialize, Deserialize)]
struct StringingRow {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    set: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    scale_mm: Option<f64>,
    courses: Vec<Vec<Option<KnownString>>>,
}

impl From<Stringing> for StringingRow {
    fn from(on: Stringing) -> Self {
        Self { set: on.set_id, scale_mm: on.scale_mm, courses: on.courses }
    }
}

impl TryFrom<StringingRow> for Stringing {
    type Error = &'static str;

    fn try_from(row: StringingRow) -> Result<Self, Self::Error> {
        let is_course = |strings: &Vec<Option<KnownString>>| (1..=4).contains(&strings.len());
        if !(1..=super::Tuning::MOST_COURSES).contains(&row.courses.len()) || !row.courses.iter().all(is_course) {
            return Err("a guitar has 1 to 12 courses of 1 to 4 strings");
        }
        if row.scale_mm.is_some_and(|mm| !Self::SCALES_MM.contains(&mm)) {
            return Err("a scale is 200 to 1300 mm long");
        }
        Ok(Self { set_id: row.set, scale_mm: row.scale_mm, courses: row.courses })
    }
}
