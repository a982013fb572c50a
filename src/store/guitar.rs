//! What is on one instrument: the one record of it, as it is kept.

use serde::{Deserialize, Serialize};

use crate::instrument::{Bridge, CourseIndex, Fret, Stringing, Tuning};
use crate::retune::{CourseState, OnGuitar, Progress};
use crate::songs::text;
use crate::songs::{ChosenTuning, SongId, UnknownFields};
use crate::theory::Key;

use super::settings::Temperament;

/// All that is known of one instrument, as far as the player has confirmed it: what it is, where each string is and
/// where it is going, the capo, the strings and the bridge.
///
/// It is kept as it is, one record an instrument; plans, warnings and shapes are made from it and never kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "GuitarRow", into = "GuitarRow")]
pub struct GuitarNow {
    /// The instrument, the pitch of each open string (without a capo) and whether it is certain, what the retuning
    /// started from, and its target. When nothing is to be done, it is done.
    pub progress: Progress,
    /// What is asked of the retuning; `None` when no tuning is wanted.
    pub wanted: Option<Wanted>,
    /// Where the capo sits, 0 for none.
    pub capo: Fret,
    /// Where the capo sat that was taken off for retuning, until it is put back or stays off.
    pub capo_off: Option<Fret>,
    /// The strings on it, course by course, and its scale length; its usual ones when `None`.
    pub strings: Option<Stringing>,
    /// The bridge it has; its usual one when `None`.
    pub bridge: Option<Bridge>,
    /// What the target's cents were worked out for; `None` when that is not known.
    pub temperament: Option<Temperament>,
    /// The key its shapes are looked at in; `None` before there was one.
    pub key: Option<Key>,
    /// Whether the player chose that key; else the tuning invited it.
    pub key_is_chosen: bool,
    /// What a later version wrote beside these.
    pub unknown: UnknownFields,
}

/// What is asked of a retuning, and how far its last questions are answered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// The wanted tuning's id in the catalogue or the library, if it has one.
    pub id: Option<String>,
    /// The song it is for.
    pub song: Option<SongId>,
    /// Where the capo goes when all is right; `None` where it was before.
    pub capo: Option<Fret>,
    /// Whether the player has said which strings are on, where the way asks for it.
    pub strings_are_told: bool,
    /// Whether the player goes on although a string would not stand it.
    pub risk_is_taken: bool,
    /// The pairs of the check list that were found right, in its order; what is missing was not.
    pub checked: Vec<bool>,
    /// Whether the check list was gone through.
    pub is_checked: bool,
}

impl GuitarNow {
    /// Makes an instrument that is wholly in `pitches`, without a capo, with its usual strings and bridge.
    ///
    /// # Panics
    /// Never: a tuning has as many courses as itself.
    #[must_use]
    pub fn in_tuning(instrument_id: impl Into<String>, pitches: &Tuning) -> Self {
        let courses = pitches.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
        let on = OnGuitar::new(instrument_id, courses).expect("a tuning has 1 to 12 courses");
        Self::of(Progress::start(on, pitches.clone()).expect("the courses are those of the tuning"))
    }

    fn of(progress: Progress) -> Self {
        Self {
            progress,
            wanted: None,
            capo: Fret::OPEN,
            capo_off: None,
            strings: None,
            bridge: None,
            temperament: None,
            key: None,
            key_is_chosen: false,
            unknown: UnknownFields::new(),
        }
    }

    /// Returns the record with one course in doubt.
    #[must_use]
    pub fn with_doubt(mut self, course: CourseIndex) -> Self {
        self.progress = self.progress.with_doubt(course);
        self
    }

    /// Returns the instrument's id in the catalogue.
    #[must_use]
    pub fn instrument_id(&self) -> &str {
        self.progress.on_guitar().instrument_id()
    }

    /// Returns the pitch of each open string, without the capo; for a course in doubt, what it was last known to be.
    #[must_use]
    pub fn pitches(&self) -> Tuning {
        self.progress.on_guitar().believed()
    }

    /// Returns whether the course's pitch is known.
    #[must_use]
    pub fn is_known(&self, course: CourseIndex) -> bool {
        let state = self.progress.on_guitar().courses().get(course.from_lowest_index());
        state.is_none_or(|state| state.is_right())
    }
}

/// How it stands in the file. Everything but instrument and pitches may be missing, as it is in files of version 0.1.0.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct GuitarRow {
    instrument_id: String,
    #[serde(with = "text::pitches")]
    pitches: Tuning,
    /// The courses in doubt, by player number.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    unknown_courses: Vec<u8>,
    #[serde(default, with = "text::fret")]
    capo: Fret,
    /// The wanted tuning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    target: Option<ChosenTuning>,
    /// What else is asked of the retuning; not in files of version 0.1.0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    way: Option<WayRow>,
    /// Where pitches and courses in doubt do not say it all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    retuning: Option<Progress>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    capo_off: Option<u8>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    strings: Option<Stringing>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bridge: Option<Bridge>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    temperament: Option<Temperament>,
    #[serde(default, skip_serializing_if = "Option::is_none", with = "text::key")]
    key: Option<Key>,
    #[serde(default, skip_serializing_if = "is_false")]
    key_is_chosen: bool,
    #[serde(flatten)]
    unknown: UnknownFields,
}

#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct WayRow {
    #[serde(skip_serializing_if = "Option::is_none")]
    song: Option<SongId>,
    #[serde(skip_serializing_if = "Option::is_none")]
    capo: Option<u8>,
    #[serde(skip_serializing_if = "is_false")]
    strings_are_told: bool,
    #[serde(skip_serializing_if = "is_false")]
    risk_is_taken: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    checked: Vec<bool>,
    #[serde(skip_serializing_if = "is_false")]
    is_checked: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands out a reference")]
const fn is_false(flag: &bool) -> bool {
    !*flag
}

/// The courses as pitches and doubts alone tell them.
fn on_guitar(row: &GuitarRow) -> Option<OnGuitar> {
    let count = row.pitches.courses();
    let state = |(index, &pitch): (usize, &crate::theory::Pitch)| {
        let number = CourseIndex::from_lowest(index).player_number(count);
        if row.unknown_courses.contains(&number) { CourseState::doubtful(pitch) } else { CourseState::right(pitch) }
    };
    OnGuitar::new(row.instrument_id.clone(), row.pitches.pitches().iter().enumerate().map(state).collect())
}

impl From<GuitarNow> for GuitarRow {
    fn from(now: GuitarNow) -> Self {
        let pitches = now.pitches();
        let count = pitches.courses();
        let states = now.progress.on_guitar().courses().iter().enumerate();
        let unknown_courses = states
            .filter(|(_, state)| !state.is_right())
            .map(|(index, _)| CourseIndex::from_lowest(index).player_number(count))
            .collect();
        let (mut target, mut way) = (None, None);
        if let Some(Wanted { id, song, capo, strings_are_told, risk_is_taken, checked, is_checked }) = now.wanted {
            target = Some(ChosenTuning { id, pitches: now.progress.target().clone() });
            let capo = capo.map(Fret::get);
            way = Some(WayRow { song, capo, strings_are_told, risk_is_taken, checked, is_checked });
        }
        let mut row = Self {
            instrument_id: now.progress.on_guitar().instrument_id().to_owned(),
            pitches,
            unknown_courses,
            capo: now.capo,
            target,
            way,
            retuning: None,
            capo_off: now.capo_off.map(Fret::get),
            strings: now.strings,
            bridge: now.bridge,
            temperament: now.temperament,
            key: now.key,
            key_is_chosen: now.key_is_chosen,
            unknown: now.unknown,
        };
        let is_said = progress_of(&row).as_ref() == Ok(&now.progress);
        row.retuning = (!is_said).then_some(now.progress);
        row
    }
}

/// Where each course is and is going, as a row tells it.
fn progress_of(row: &GuitarRow) -> Result<Progress, &'static str> {
    let fits = |kept: &&Progress| {
        let on = kept.on_guitar();
        on.instrument_id() == row.instrument_id && on.courses().len() == row.pitches.courses()
    };
    if let Some(kept) = row.retuning.as_ref().filter(fits) {
        return Ok(kept.clone());
    }
    let on = on_guitar(row).ok_or("a guitar has 1 to 12 courses")?;
    let is_whole = |target: &&ChosenTuning| target.pitches.courses() == row.pitches.courses();
    let target = row.target.as_ref().filter(is_whole).map_or(&row.pitches, |target| &target.pitches);
    Progress::start(on, target.clone()).ok_or("state and target differ in courses")
}

impl TryFrom<GuitarRow> for GuitarNow {
    type Error = &'static str;

    fn try_from(row: GuitarRow) -> Result<Self, Self::Error> {
        let progress = progress_of(&row)?;
        let target = row.target.filter(|target| target.pitches == *progress.target());
        let is_old = row.way.is_none();
        let way = row.way.unwrap_or_default();
        let wanted = target.map(|target| Wanted {
            id: target.id,
            song: way.song,
            capo: way.capo.map(Fret::new),
            // Version 0.1.0 kept neither, and asked no more once a string was turned.
            strings_are_told: way.strings_are_told || (is_old && progress.confirmed() > 0),
            risk_is_taken: way.risk_is_taken || (is_old && progress.confirmed() > 0),
            checked: way.checked,
            is_checked: way.is_checked,
        });
        Ok(Self {
            wanted,
            capo: row.capo,
            capo_off: row.capo_off.map(Fret::new),
            strings: row.strings,
            bridge: row.bridge,
            temperament: row.temperament,
            key: row.key,
            key_is_chosen: row.key_is_chosen,
            unknown: row.unknown,
            ..Self::of(progress)
        })
    }
}
