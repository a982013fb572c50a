//! How notes, tunings and shapes are written in JSON and in text.

use serde::Serialize;

use crate::instrument::{Catalog, CatalogTuning, CourseIndex, Fret, Fretboard, Instrument, Tuning};
use crate::shapes::{Finger, RankedShape};
use crate::theory::{Key, SpelledPitch};

use super::told::{Told, ToldJson};

/// A tuning as JSON gives it.
#[derive(Debug, Serialize)]
pub(super) struct TuningJson {
    pub(super) id: Option<String>,
    pub(super) name: Option<String>,
    pub(super) instrument: String,
    /// With octaves, from the highest player number to course 1.
    pub(super) pitches: Vec<String>,
}

/// Names the pitches as the catalogue spells them, else so that they read well together.
pub(super) fn spelled(instrument: &Instrument, tuning: &Tuning) -> Vec<SpelledPitch> {
    let known = Catalog::bundled().name_of(instrument, tuning);
    known.map_or_else(|| tuning.spelled(), |known| known.spelled().to_vec())
}

pub(super) fn pitches_ascii(spelled: &[SpelledPitch]) -> Vec<String> {
    spelled.iter().map(|pitch| pitch.ascii()).collect()
}

/// Writes the notes without octaves.
pub(super) fn notes(spelled: &[SpelledPitch]) -> String {
    spelled.iter().map(|pitch| pitch.note().to_string()).collect::<Vec<_>>().join(" ")
}

impl TuningJson {
    pub(super) fn new(instrument: &Instrument, tuning: &Tuning) -> Self {
        let known = Catalog::bundled().name_of(instrument, tuning);
        Self {
            id: known.map(|known| known.id().to_owned()),
            name: known.map(|known| known.name().to_owned()),
            instrument: instrument.id().to_owned(),
            pitches: pitches_ascii(&spelled(instrument, tuning)),
        }
    }
}

/// A tuning of the catalogue as JSON gives it.
#[derive(Debug, Serialize)]
pub(super) struct CatalogTuningJson {
    #[serde(flatten)]
    tuning: TuningJson,
    other_names: Vec<String>,
    family: crate::instrument::TuningFamily,
    used_for: String,
    source: String,
}

impl CatalogTuningJson {
    pub(super) fn new(instrument: &Instrument, tuning: &CatalogTuning) -> Self {
        Self {
            tuning: TuningJson {
                id: Some(tuning.id().to_owned()),
                name: Some(tuning.name().to_owned()),
                instrument: instrument.id().to_owned(),
                pitches: pitches_ascii(tuning.spelled()),
            },
            other_names: tuning.also().to_vec(),
            family: tuning.family(),
            used_for: tuning.used_for().to_owned(),
            source: tuning.source().to_owned(),
        }
    }
}

/// A shape as JSON gives it; lists from the highest player number to course 1, null for what is silent.
#[derive(Debug, Serialize)]
pub(super) struct ShapeJson {
    /// What it is called when held so: `C/G` where another tone than the root is heard as the bass.
    name: String,
    frets: Vec<Option<u8>>,
    /// 1 to 4, `"T"` for the thumb; null for open and silent strings.
    fingers: Vec<serde_json::Value>,
    barres: Vec<BarreJson>,
    notes: Vec<Option<String>>,
    degrees: Vec<Option<String>>,
    bass: String,
    inversion: bool,
    omitted: Vec<String>,
    movable: bool,
    span_mm: f64,
    cost: f64,
    #[serde(flatten)]
    told: ToldJson,
}

#[derive(Debug, Serialize)]
struct BarreJson {
    finger: serde_json::Value,
    fret: u8,
    from_course: u8,
    to_course: u8,
}

pub(super) fn finger_json(finger: Finger) -> serde_json::Value {
    match finger {
        Finger::Thumb => "T".into(),
        Finger::Index => 1.into(),
        Finger::Middle => 2.into(),
        Finger::Ring => 3.into(),
        Finger::Little => 4.into(),
    }
}

/// Rounds for reading: `digits` after the point.
pub(super) fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10.0_f64.powi(digits);
    let rounded = (value * scale).round() / scale;
    // Not "-0".
    if rounded == 0.0 { 0.0 } else { rounded }
}

impl ShapeJson {
    /// Writes a shape held by a hand that stands at this fret while the strings ring open.
    pub(super) fn new(found: &RankedShape, board: &Fretboard<'_>, key: Key, stands_at: Fret) -> Self {
        let courses = found.shape().frets().len();
        let number = |course: CourseIndex| course.player_number(courses);
        let chord = found.chord();
        let fingers = &found.fingering().fingers;
        Self {
            name: found.called().ascii(),
            frets: found.shape().frets().iter().map(|fret| fret.map(crate::instrument::Fret::get)).collect(),
            fingers: fingers.iter().map(|finger| finger.map_or(serde_json::Value::Null, finger_json)).collect(),
            barres: found
                .fingering()
                .barres
                .iter()
                .map(|barre| BarreJson {
                    finger: finger_json(barre.finger),
                    fret: barre.fret.get(),
                    from_course: number(barre.from),
                    to_course: number(barre.to),
                })
                .collect(),
            notes: found.notes().iter().map(|note| note.map(|note| note.note().ascii())).collect(),
            degrees: found.degrees().iter().map(|degree| degree.map(|degree| ascii(&degree.to_string()))).collect(),
            bass: chord.note_of(found.bass().class()).map(crate::theory::Note::ascii).unwrap_or_default(),
            inversion: found.is_inversion(),
            omitted: found
                .omitted()
                .iter()
                .filter_map(|class| chord.note_of(class))
                .map(crate::theory::Note::ascii)
                .collect(),
            movable: found.shape().is_movable(),
            span_mm: rounded(found.span_mm(), 1),
            cost: rounded(found.cost(), 4),
            told: Told::of(found, board, key, stands_at).json(board),
        }
    }
}

/// Writes printed signs in plain ASCII.
pub(super) fn ascii(text: &str) -> String {
    text.replace('♭', "b").replace('♯', "#").replace('°', "dim").replace('ø', "m7b5")
}

/// Writes a shape as a line: frets by their names on the neck, fingers, notes.
pub(super) fn shape_line(found: &RankedShape, board: &Fretboard<'_>) -> String {
    let fingers: Vec<String> = found
        .fingering()
        .fingers
        .iter()
        .map(|finger| finger.map_or("-".to_owned(), |finger| finger.to_string()))
        .collect();
    let notes: Vec<String> =
        found.notes().iter().map(|note| note.map_or("-".to_owned(), |note| note.note().to_string())).collect();
    let mut line =
        format!("{:<20} fingers {:<14} {}", found.shape().written(board), fingers.join(" "), notes.join(" "));
    if !found.omitted().is_empty() {
        let chord = found.chord();
        let left_out: Vec<String> =
            found.omitted().iter().filter_map(|class| chord.note_of(class)).map(|note| note.to_string()).collect();
        line += &format!("   without {}", left_out.join(" "));
    }
    if found.called() != found.chord() {
        line += &format!("   {}", found.called());
    }
    line
}
