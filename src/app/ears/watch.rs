//! Which strings are listened for.

use crate::app::State;
use crate::app::retune::Stage;
use crate::instrument::CourseIndex;
use crate::retune::{Sounding, Touch};
use crate::theory::{Cents, Hertz, Pitch, Semitones};

/// A string and where it should sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WatchedString {
    /// Which course it belongs to.
    pub course: CourseIndex,
    /// Where it should sound: the string being set at its new pitch, the others where they stand.
    pub hertz: Hertz,
    /// Where it stood before it was turned, if that is known and it is the one being set.
    pub from: Option<Hertz>,
}

/// What to listen for.
#[derive(Clone, Debug, PartialEq)]
pub struct Watch {
    /// Every string, from the thickest course; of a pair each of its strings.
    pub strings: Vec<WatchedString>,
    /// The string being set, an index into `strings`; where absent all are checked alike.
    pub asked: Option<usize>,
    /// How far off counts as right.
    pub tolerance: Cents,
    /// The partial that the string being set and its reference share, where beats are heard.
    pub shared: Option<Hertz>,
}

impl Watch {
    /// Returns what the state wants listened for: the string of the step, or all strings where none is being set.
    #[must_use]
    pub fn of(state: &State) -> Self {
        let step = super::score::step(state);
        let board = state.board();
        let a4 = state.library.settings.reference();
        let mut strings = Vec::new();
        let mut asked = None;
        let on_guitar = state.guitar.progress().on_guitar().courses().iter();
        for ((index, at), course) in on_guitar.enumerate().zip(state.instrument().courses()) {
            let step = step.filter(|step| step.course().from_lowest_index() == index);
            // A string is turned without the capo; otherwise it sounds as the capo lets it.
            let stands = if state.retuning.stage == Stage::Step { Some(at.pitch()) } else { None };
            let stands = stands.or_else(|| board.open_pitches().get(index).copied()).unwrap_or(at.pitch());
            let (pitch, offset) = step.map_or((stands, at.offset()), |step| (step.to(), step.offset()));
            if step.is_some() {
                asked = Some(strings.len());
            }
            let from = step.and_then(|step| step.from()).map(|from| a4.frequency(from));
            for (place, sounding) in course.string_pitches(pitch).enumerate() {
                strings.push(WatchedString {
                    course: CourseIndex::from_lowest(index),
                    hertz: a4.frequency(sounding).shifted(offset),
                    from: from.filter(|_| place == 0),
                });
            }
        }
        Self { strings, asked, tolerance: state.library.settings.listening_tolerance(), shared: shared(state) }
    }

    /// Returns the courses that are listened for, each once, from the thickest.
    #[must_use]
    pub fn courses(&self) -> Vec<CourseIndex> {
        let mut courses: Vec<CourseIndex> = self.strings.iter().map(|string| string.course).collect();
        courses.dedup();
        courses
    }
}

/// The partial whose beats tell how far the step's string is off, by the way to hear it that is shown.
fn shared(state: &State) -> Option<Hertz> {
    let step = super::score::step(state)?;
    let how = step.matches().get(state.retuning.way)?;
    let tuned = how.tuned();
    Some(stopped_at(state, tuned, step.to(), step.offset())?.partial(tuned.partial))
}

/// Returns where the first partial of a course sounds as it is stopped, its open pitch being given.
pub(super) fn stopped_at(state: &State, sounding: Sounding, open: Pitch, offset: Cents) -> Option<Hertz> {
    let course = state.instrument().courses().get(sounding.course.from_lowest_index())?;
    let up = match sounding.touch {
        Touch::Open | Touch::Harmonic => 0,
        Touch::Stopped => i16::from(sounding.fret.get()) - i16::from(course.starts_at().get()),
    };
    let pitch = open.transpose(Semitones::new(up))?;
    Some(state.library.settings.reference().frequency(pitch).shifted(offset))
}
