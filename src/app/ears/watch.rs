//! Which strings are listened for.

use crate::app::desk::Desk;
use crate::app::guitar::Stage;
use crate::instrument::CourseIndex;
use crate::retune::{Sounding, Touch};
use crate::theory::{Cents, Hertz, Pitch, Semitones};

/// Strings that should sound within this of each other cannot be told apart, in cents.
pub(super) const ALIKE_CENTS: f64 = 20.0;

/// A string and where it should sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WatchedString {
    /// Which course it belongs to.
    pub course: CourseIndex,
    /// Where it should sound: the string being set at its new pitch, the others where they stand.
    pub hertz: Hertz,
    /// Where it stood before it was turned, if that is known and it belongs to the course being set.
    pub from: Option<Hertz>,
}

/// What a string being set is compared with, as it sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WatchedReference {
    /// Which of [`Watch::strings`] it sounds on.
    pub string: usize,
    /// Where it sounds: open, stopped or touched.
    pub hertz: Hertz,
    /// It belongs to the way that is shown, not to another.
    pub is_shown: bool,
}

/// What to listen for.
#[derive(Clone, Debug, PartialEq)]
pub struct Watch {
    /// Every string, from the thickest course; of a pair each of its strings.
    pub strings: Vec<WatchedString>,
    /// The string being set, an index into `strings`; where absent all are checked alike.
    pub asked: Option<usize>,
    /// What it is compared with, by every way of the step.
    pub references: Vec<WatchedReference>,
    /// How far off counts as right.
    pub tolerance: Cents,
    /// The partial that the string being set and its reference share, where beats are heard.
    pub shared: Option<Hertz>,
}

impl Watch {
    /// Returns what the state wants listened for: the string of the step, or all strings where none is being set.
    #[must_use]
    pub fn of(desk: &Desk) -> Self {
        let step = super::score::step(desk);
        let board = desk.guitar.board();
        let a4 = desk.library.settings.reference();
        let mut strings = Vec::new();
        let mut asked = None;
        let on_guitar = desk.guitar.progress().on_guitar().courses().iter();
        for ((index, at), course) in on_guitar.enumerate().zip(desk.instrument().courses()) {
            let step = step.filter(|step| step.course().from_lowest_index() == index);
            // A string is turned without the capo; otherwise it sounds as the capo lets it.
            let stands = if desk.guitar.stage() == Stage::Step { Some(at.pitch()) } else { None };
            let stands = stands.or_else(|| board.open_pitches().get(index).copied()).unwrap_or(at.pitch());
            let (pitch, offset) = step.map_or((stands, at.offset()), |step| (step.to(), step.offset()));
            if step.is_some() {
                asked = Some(strings.len());
            }
            let from: Vec<Pitch> =
                step.and_then(|step| step.from()).map(|from| course.string_pitches(from).collect()).unwrap_or_default();
            for (place, sounding) in course.string_pitches(pitch).enumerate() {
                strings.push(WatchedString {
                    course: CourseIndex::from_lowest(index),
                    hertz: a4.frequency(sounding).shifted(offset),
                    from: from.get(place).map(|from| a4.frequency(*from)),
                });
            }
        }
        let references = references(desk, &strings);
        let tolerance = desk.library.settings.listening_tolerance();
        Self { strings, asked, references, tolerance, shared: shared(desk) }
    }

    /// Tells whether two courses should sound alike, so that no ear can tell which is plucked: by their first strings.
    #[must_use]
    pub fn are_alike(&self, one: CourseIndex, other: CourseIndex) -> bool {
        let first = |course| self.strings.iter().find(|string| string.course == course).map(|string| string.hertz);
        let apart = first(one).zip(first(other)).map(|(one, other)| Cents::between(one, other).abs());
        apart.is_some_and(|apart| apart.get() < ALIKE_CENTS)
    }

    /// Returns the courses that are listened for, each once, from the thickest.
    #[must_use]
    pub fn courses(&self) -> Vec<CourseIndex> {
        let mut courses: Vec<CourseIndex> = self.strings.iter().map(|string| string.course).collect();
        courses.dedup();
        courses
    }
}

/// What the step's string is compared with: each string of the other course, as each way sounds it.
fn references(desk: &Desk, strings: &[WatchedString]) -> Vec<WatchedReference> {
    let Some(step) = super::score::step(desk) else { return Vec::new() };
    let courses = desk.instrument().courses();
    let mut found = Vec::new();
    for (index, how) in step.matches().iter().enumerate() {
        let Some(side) = how.reference() else { continue };
        let Some(course) = courses.get(side.course.from_lowest_index()) else { continue };
        let Some(at) = desk.guitar.progress().on_guitar().courses().get(side.course.from_lowest_index()) else {
            continue;
        };
        let Some(first) = strings.iter().position(|string| string.course == side.course) else { continue };
        for (place, open) in course.string_pitches(at.pitch()).enumerate() {
            let sounded = stopped_at(desk, side, open, at.offset());
            let touched =
                |hertz: Hertz| if side.touch == Touch::Harmonic { hertz.partial(side.partial) } else { hertz };
            let is_shown = index == desk.guitar.chosen_match();
            let reference = |hertz| WatchedReference { string: first + place, hertz: touched(hertz), is_shown };
            found.extend(sounded.map(reference));
        }
    }
    found
}

/// The partial whose beats tell how far the step's string is off, by the way to hear it that is shown.
fn shared(desk: &Desk) -> Option<Hertz> {
    let step = super::score::step(desk)?;
    let how = step.matches().get(desk.guitar.chosen_match())?;
    let tuned = how.tuned();
    Some(stopped_at(desk, tuned, step.to(), step.offset())?.partial(tuned.partial))
}

/// Returns where the first partial of a course sounds as it is stopped, its open pitch being given.
pub(super) fn stopped_at(desk: &Desk, sounding: Sounding, open: Pitch, offset: Cents) -> Option<Hertz> {
    let course = desk.instrument().courses().get(sounding.course.from_lowest_index())?;
    let up = match sounding.touch {
        Touch::Open | Touch::Harmonic => 0,
        Touch::Stopped => i16::from(sounding.fret.get()) - i16::from(course.starts_at().get()),
    };
    let pitch = open.transpose(Semitones::new(up))?;
    Some(desk.library.settings.reference().frequency(pitch).shifted(offset))
}
