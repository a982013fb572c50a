//! What is on the guitar now, and a retuning half done: plain values and pure functions.

use serde::{Deserialize, Serialize};

use crate::instrument::{CourseIndex, Instrument, Tuning};
use crate::theory::{Cents, Pitch};

use super::sweeten::Sweetening;

/// Where one course is: the pitch it was last known to have, and whether that still holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "CourseRow", into = "CourseRow")]
pub struct CourseState {
    pitch: Pitch,
    offset_hundredths: i16,
    is_right: bool,
}

impl CourseState {
    /// Makes a course that is at `pitch` as far as the player knows.
    #[must_use]
    pub const fn right(pitch: Pitch) -> Self {
        Self { pitch, offset_hundredths: 0, is_right: true }
    }

    /// Makes a course whose pitch is not known; it was last at `pitch`.
    #[must_use]
    pub const fn doubtful(pitch: Pitch) -> Self {
        Self { pitch, offset_hundredths: 0, is_right: false }
    }

    /// Returns the pitch it was last known to have.
    #[must_use]
    pub const fn pitch(self) -> Pitch {
        self.pitch
    }

    /// Returns the state with the pitch so far above equal temperament, to a hundredth of a cent; within ±100 cents.
    #[must_use]
    pub fn with_offset(self, offset: Cents) -> Self {
        Self { offset_hundredths: hundredths(offset), ..self }
    }

    /// Returns how far above equal temperament the pitch is meant to be: 0 unless sweetened.
    #[must_use]
    pub fn offset(self) -> Cents {
        Cents::new(f64::from(self.offset_hundredths) / 100.0)
    }

    /// Tells whether it is known to be at `pitch` and so far above equal temperament, to a tenth of a cent.
    #[must_use]
    pub fn is_at(self, pitch: Pitch, offset: Cents) -> bool {
        self.is_right && self.pitch == pitch && (self.offset() - offset).get().abs() < 0.1
    }

    /// Tells whether it is known to be there now.
    #[must_use]
    pub const fn is_right(self) -> bool {
        self.is_right
    }
}

/// Returns an offset in whole hundredths of a cent, kept within ±100 cents.
pub(super) fn hundredths(offset: Cents) -> i16 {
    #[expect(clippy::cast_possible_truncation, reason = "clamped to ±10 000 before")]
    let rounded = (offset.get().clamp(-100.0, 100.0) * 100.0).round() as i16;
    rounded
}

/// How a course is kept: the pitch's number, its sweetening in hundredths of a cent if any, and `right` when it is not.
#[derive(Serialize, Deserialize)]
struct CourseRow {
    pitch: u8,
    #[serde(default, skip_serializing_if = "is_zero")]
    offset: i16,
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    right: bool,
}

const fn yes() -> bool {
    true
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands out a reference")]
const fn is_yes(right: &bool) -> bool {
    *right
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands out a reference")]
const fn is_zero(offset: &i16) -> bool {
    *offset == 0
}

impl From<CourseState> for CourseRow {
    fn from(state: CourseState) -> Self {
        Self { pitch: state.pitch.number(), offset: state.offset_hundredths, right: state.is_right }
    }
}

impl TryFrom<CourseRow> for CourseState {
    type Error = &'static str;

    fn try_from(row: CourseRow) -> Result<Self, Self::Error> {
        let pitch = Pitch::from_number(row.pitch).ok_or("a pitch number lies from 0 to 127")?;
        let fits = (-10_000..=10_000).contains(&row.offset);
        let state = Self { pitch, offset_hundredths: row.offset, is_right: row.right };
        fits.then_some(state).ok_or("a sweetening lies within 100 cents")
    }
}

/// What is on the guitar now: the instrument and where each course is, from the highest player number to course 1.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "OnGuitarRow", into = "OnGuitarRow")]
pub struct OnGuitar {
    instrument_id: String,
    courses: Vec<CourseState>,
}

impl OnGuitar {
    /// Makes an instrument whose courses are all right in `tuning`; `None` when it has another number of courses.
    #[must_use]
    pub fn in_tuning(instrument: &Instrument, tuning: &Tuning) -> Option<Self> {
        let fits = instrument.courses().len() == tuning.courses();
        let courses = tuning.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
        fits.then(|| Self { instrument_id: instrument.id().to_owned(), courses })
    }

    /// Makes an instrument with its courses where they are, from the highest player number; `None` unless there are 1 to
    /// 12 of them.
    #[must_use]
    pub fn new(instrument_id: impl Into<String>, courses: Vec<CourseState>) -> Option<Self> {
        let fits = (1..=Tuning::MOST_COURSES).contains(&courses.len());
        fits.then(|| Self { instrument_id: instrument_id.into(), courses })
    }

    /// Returns the instrument's id.
    #[must_use]
    pub fn instrument_id(&self) -> &str {
        &self.instrument_id
    }

    /// Returns where each course is.
    #[must_use]
    pub fn courses(&self) -> &[CourseState] {
        &self.courses
    }

    /// Returns the tuning when every course is right; `None` while one is doubtful.
    #[must_use]
    pub fn tuning(&self) -> Option<Tuning> {
        self.courses.iter().all(|course| course.is_right).then(|| self.believed())
    }

    /// Returns the pitch each course was last known to have.
    ///
    /// # Panics
    /// Never: the number of courses is checked when the value is made.
    #[must_use]
    pub fn believed(&self) -> Tuning {
        let pitches = self.courses.iter().map(|course| course.pitch).collect();
        Tuning::new(pitches).expect("a state holds 1 to 12 courses")
    }

    /// Returns the state with one course doubtful ("this one is off"); unchanged when there is no such course.
    #[must_use]
    pub fn with_doubt(mut self, course: CourseIndex) -> Self {
        if let Some(state) = self.courses.get_mut(course.from_lowest_index()) {
            state.is_right = false;
        }
        self
    }

    /// Returns the state with every course doubtful.
    #[must_use]
    pub fn with_all_in_doubt(mut self) -> Self {
        for state in &mut self.courses {
            state.is_right = false;
        }
        self
    }
}

#[derive(Serialize, Deserialize)]
struct OnGuitarRow {
    instrument: String,
    courses: Vec<CourseState>,
}

impl From<OnGuitar> for OnGuitarRow {
    fn from(on: OnGuitar) -> Self {
        Self { instrument: on.instrument_id, courses: on.courses }
    }
}

impl TryFrom<OnGuitarRow> for OnGuitar {
    type Error = &'static str;

    fn try_from(row: OnGuitarRow) -> Result<Self, Self::Error> {
        let fits = (1..=Tuning::MOST_COURSES).contains(&row.courses.len());
        let on = Self { instrument_id: row.instrument, courses: row.courses };
        fits.then_some(on).ok_or("a guitar has 1 to 12 courses")
    }
}

/// A retuning under way: what is on the guitar, where it is going, and what was confirmed so far.
///
/// The plan is not kept: it is made anew from [`Progress::on_guitar`] after every confirmation, so that what is right
/// stays right and the rest adapts to it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "ProgressRow", into = "ProgressRow")]
pub struct Progress {
    on_guitar: OnGuitar,
    target: Tuning,
    sweetening: Sweetening,
    confirmed: Vec<Confirmed>,
}

/// A confirmed step: which course, and what it was before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Confirmed {
    course: usize,
    before: CourseState,
}

impl Progress {
    /// Starts from what is on the guitar; `None` when the target has another number of courses.
    #[must_use]
    pub fn start(on_guitar: OnGuitar, target: Tuning) -> Option<Self> {
        let sweetening = Sweetening::none(target.courses());
        let fits = on_guitar.courses.len() == target.courses();
        fits.then_some(Self { on_guitar, target, sweetening, confirmed: Vec::new() })
    }

    /// Returns the state with the target sweetened to a hundredth of a cent, what was confirmed unchanged; `None` when
    /// the sweetening is for another number of courses.
    #[must_use]
    pub fn sweetened(self, by: &Sweetening) -> Option<Self> {
        (by.offsets().len() == self.target.courses()).then_some(Self { sweetening: by.rounded(), ..self })
    }

    /// Returns how far from equal temperament the target is.
    #[must_use]
    pub const fn sweetening(&self) -> &Sweetening {
        &self.sweetening
    }

    /// Returns what is on the guitar now, confirmed steps included.
    #[must_use]
    pub const fn on_guitar(&self) -> &OnGuitar {
        &self.on_guitar
    }

    /// Returns the tuning it is going to.
    #[must_use]
    pub const fn target(&self) -> &Tuning {
        &self.target
    }

    /// Returns where a course shall be; `None` when there is no such course.
    fn wanted(&self, course: usize) -> Option<CourseState> {
        let (&pitch, &offset) = self.target.pitches().get(course).zip(self.sweetening.offsets().get(course))?;
        Some(CourseState::right(pitch).with_offset(offset))
    }

    /// Returns how many steps were confirmed and can be undone.
    #[must_use]
    pub fn confirmed(&self) -> usize {
        self.confirmed.len()
    }

    /// Tells whether every course is right in the target.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.on_guitar.courses.iter().enumerate().all(|(course, state)| Some(*state) == self.wanted(course))
    }

    /// Returns the state after the player said that `course` is right; unchanged when there is no such course or it is
    /// right in the target already.
    #[must_use]
    pub fn confirm(mut self, course: CourseIndex) -> Self {
        let index = course.from_lowest_index();
        let wanted = self.wanted(index);
        let found = self.on_guitar.courses.get_mut(index).zip(wanted);
        if let Some((state, right)) = found.filter(|(state, right)| **state != *right) {
            self.confirmed.push(Confirmed { course: index, before: *state });
            *state = right;
        }
        self
    }

    /// Returns the state before the last confirmation; unchanged when there is none.
    #[must_use]
    pub fn undo(mut self) -> Self {
        if let Some(last) = self.confirmed.pop() {
            self.on_guitar.courses[last.course] = last.before;
        }
        self
    }

    /// Returns where each course was before the first of the confirmed steps.
    #[must_use]
    pub fn started_from(&self) -> Vec<CourseState> {
        let mut courses = self.on_guitar.courses.clone();
        for step in self.confirmed.iter().rev() {
            courses[step.course] = step.before;
        }
        courses
    }

    /// Returns the state with the way given up: every course is meant to be where it is, what is in doubt stays in doubt.
    #[must_use]
    pub fn given_up(self) -> Self {
        let offsets: Vec<i16> = self.on_guitar.courses.iter().map(|course| course.offset_hundredths).collect();
        let sweetening = Sweetening::from_hundredths(&offsets).unwrap_or_else(|| Sweetening::none(offsets.len()));
        Self { target: self.on_guitar.believed(), sweetening, on_guitar: self.on_guitar, confirmed: Vec::new() }
    }

    /// Returns the state with one course doubtful: it becomes a string to set, and no step leans on it until then.
    #[must_use]
    pub fn with_doubt(mut self, course: CourseIndex) -> Self {
        self.on_guitar = self.on_guitar.with_doubt(course);
        self.confirmed.retain(|step| step.course != course.from_lowest_index());
        self
    }

    /// Returns the state with every course doubtful: the first is set from the phone's tone, the others from it.
    #[must_use]
    pub fn with_all_in_doubt(mut self) -> Self {
        self.on_guitar = self.on_guitar.with_all_in_doubt();
        self.confirmed.clear();
        self
    }

    /// Starts over: what was confirmed is doubtful and has to be set again; the rest stands. The strings that were
    /// turned are near their new pitch, so they are not sent the whole way a second time.
    #[must_use]
    pub fn start_over(mut self) -> Self {
        for step in std::mem::take(&mut self.confirmed) {
            self.on_guitar.courses[step.course].is_right = false;
        }
        self
    }

    /// Turns to another target from wherever the guitar is now; `None` when it has another number of courses.
    #[must_use]
    pub fn turn_to(self, target: Tuning) -> Option<Self> {
        Self::start(self.on_guitar, target)
    }
}

/// How it is kept: the target as pitch numbers, its sweetening in hundredths of a cent where there is one.
#[derive(Serialize, Deserialize)]
struct ProgressRow {
    on_guitar: OnGuitar,
    target: Vec<u8>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    sweetening: Vec<i16>,
    #[serde(default)]
    confirmed: Vec<Confirmed>,
}

impl From<Progress> for ProgressRow {
    fn from(progress: Progress) -> Self {
        let sweetening = progress.sweetening.hundredths();
        Self {
            target: progress.target.pitches().iter().map(|pitch| pitch.number()).collect(),
            sweetening: if sweetening.iter().all(|&by| by == 0) { Vec::new() } else { sweetening },
            on_guitar: progress.on_guitar,
            confirmed: progress.confirmed,
        }
    }
}

impl TryFrom<ProgressRow> for Progress {
    type Error = &'static str;

    fn try_from(row: ProgressRow) -> Result<Self, Self::Error> {
        let pitches: Option<Vec<Pitch>> = row.target.into_iter().map(Pitch::from_number).collect();
        let target = pitches.and_then(Tuning::new).ok_or("a target holds 1 to 12 pitches from 0 to 127")?;
        if row.confirmed.iter().any(|step| step.course >= target.courses()) {
            return Err("a confirmed step names a course the target does not have");
        }
        let started = Self::start(row.on_guitar, target).ok_or("state and target differ in courses")?;
        let started = Self { confirmed: row.confirmed, ..started };
        if row.sweetening.is_empty() {
            return Ok(started);
        }
        let by = Sweetening::from_hundredths(&row.sweetening).ok_or("a sweetening lies within 100 cents")?;
        started.sweetened(&by).ok_or("sweetening and target differ in courses")
    }
}
