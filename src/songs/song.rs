//! A song: what it is called, what the instrument must be tuned to, and its chord chart.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, Tuning};
use crate::shapes::Shape;
use crate::theory::{Chord, Key, Semitones};

use super::chart::{Chart, ChartFault};
use super::text;
use super::transpose::{Transposition, key_of_chord};

/// Fields of a record that this version does not know; kept and written back as they were.
pub type UnknownFields = serde_json::Map<String, serde_json::Value>;

/// The number a song has in a library; 0 stands for a song that is in none yet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SongId(pub u64);

/// A tuning as a record keeps it. The pitches decide; the id says where the name is to be found.
///
/// So a song keeps its tuning when one of the player's own tunings is edited or deleted.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct ChosenTuning {
    /// The tuning of the catalogue or of the player it was chosen from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// The open pitches, without a capo.
    #[serde(with = "text::pitches")]
    pub pitches: Tuning,
}

/// A song.
///
/// Chords, key and shapes are named as played: with a capo at fret 2, a song of G shapes is written in G (common
/// practice, no source).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Song {
    /// Its number in the library.
    pub id: SongId,
    /// What it is called.
    pub title: String,
    /// Who it is from, free text.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub from: String,
    /// The instrument of the catalogue it is played on.
    pub instrument_id: String,
    /// What that is tuned to.
    pub tuning: ChosenTuning,
    /// Where the capo sits, 0 to 36; 0 for none.
    #[serde(default, with = "text::fret")]
    pub capo: Fret,
    /// The key as played, before the capo raises it.
    #[serde(default, with = "text::key", skip_serializing_if = "Option::is_none")]
    pub key: Option<Key>,
    /// The chord chart as the player typed it; it may hold faults, which cost nobody their text.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub chart: String,
    /// The shape chosen for a chord: its symbol in plain ASCII, then frets counted from the capo.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    shapes: BTreeMap<String, String>,
    /// Whatever the player wants to remember.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Quarter notes a minute, 10 to 400.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tempo_bpm: Option<u16>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

/// A chord to be held over a capo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ToHold {
    /// What the player calls it, counting from the capo.
    pub played: Chord,
    /// What sounds.
    pub sounding: Chord,
    /// Where the capo sits, 0 for none.
    pub capo: Fret,
}

/// Finds the shape of a chord for a song's instrument and tuning.
pub type FindShape<'a> = &'a mut dyn FnMut(&Song, ToHold) -> Option<Shape>;

/// Returns the chord raised, named by the key it stands in.
fn raised(chord: Chord, key: Option<Key>, by: Semitones) -> Chord {
    Transposition::by(key.unwrap_or_else(|| key_of_chord(chord)), by).chord(chord)
}

impl Song {
    /// Makes a song with nothing in it but a title and what it is played on.
    #[must_use]
    pub fn new(title: impl Into<String>, instrument_id: impl Into<String>, tuning: ChosenTuning) -> Self {
        Self {
            id: SongId::default(),
            title: title.into(),
            from: String::new(),
            instrument_id: instrument_id.into(),
            tuning,
            capo: Fret::OPEN,
            key: None,
            chart: String::new(),
            shapes: BTreeMap::new(),
            notes: String::new(),
            tempo_bpm: None,
            unknown: UnknownFields::new(),
        }
    }

    /// Returns the shape chosen for `chord`; `None` when none is, or it has not one fret for each course.
    #[must_use]
    pub fn shape_of(&self, chord: Chord) -> Option<Shape> {
        let frets = self.shapes.get(&chord.ascii())?;
        Shape::read(frets, self.tuning.pitches.courses()).ok()
    }

    /// Chooses the shape for `chord`, or none.
    pub fn choose_shape(&mut self, chord: Chord, shape: Option<&Shape>) {
        match shape {
            Some(shape) => self.shapes.insert(chord.ascii(), shape.to_string()),
            None => self.shapes.remove(&chord.ascii()),
        };
    }

    /// Returns every chosen shape that can be read, by chord symbol.
    #[must_use]
    pub fn chosen_shapes(&self) -> Vec<(Chord, Shape)> {
        let courses = self.tuning.pitches.courses();
        let read =
            |(chord, frets): (&String, &String)| Some((Chord::read(chord).ok()?, Shape::read(frets, courses).ok()?));
        self.shapes.iter().filter_map(read).collect()
    }

    /// Reads the chart.
    ///
    /// # Errors
    /// When the text as typed holds a fault.
    pub fn read_chart(&self) -> Result<Chart, ChartFault> {
        Chart::read(&self.chart)
    }

    /// Returns the key as played, or what the chart's first chord suggests; `None` without either.
    #[must_use]
    pub fn likely_key(&self) -> Option<Key> {
        self.key.or_else(|| self.read_chart().ok()?.chords().first().map(|&(chord, _)| key_of_chord(chord)))
    }

    /// Returns what sounds when `chord` is played over this song's capo.
    #[must_use]
    pub fn to_hold(&self, chord: Chord) -> ToHold {
        ToHold { played: chord, sounding: raised(chord, self.likely_key(), self.capo.semitones()), capo: self.capo }
    }

    /// Returns the song moved by a number of semitones, capo and tuning as they are. Every chosen shape is found anew;
    /// a chord for which `find` has none is left without.
    ///
    /// # Errors
    /// When the chart holds a fault.
    pub fn transposed(&self, by: Semitones, find: FindShape<'_>) -> Result<Self, ChartFault> {
        let chart = self.read_chart()?;
        let mut moved = self.clone();
        let Some(key) = self.likely_key() else { return Ok(moved) };
        let by = Transposition::by(key, by);
        moved.key = self.key.map(|_| by.key());
        moved.chart = chart.transposed(&by).write();
        let chords: Vec<Chord> = self.chosen_chords().map(|chord| by.chord(chord)).collect();
        moved.find_shapes(&chords, find);
        Ok(moved)
    }

    /// Returns the song in another tuning: what is played is named as before, the shapes are found anew.
    #[must_use]
    pub fn in_tuning(&self, tuning: ChosenTuning, find: FindShape<'_>) -> Self {
        let mut moved = Self { tuning, ..self.clone() };
        let chords: Vec<Chord> = self.chosen_chords().collect();
        moved.find_shapes(&chords, find);
        moved
    }

    /// Returns the song with the capo elsewhere, sounding as before: chart and key are named by what is now played.
    ///
    /// # Errors
    /// When the chart holds a fault.
    pub fn with_capo(&self, capo: Fret, find: FindShape<'_>) -> Result<Self, ChartFault> {
        let lower = self.capo.semitones() - capo.semitones();
        Self { capo, ..self.clone() }.transposed(lower, find)
    }

    fn chosen_chords(&self) -> impl Iterator<Item = Chord> + '_ {
        self.shapes.keys().filter_map(|chord| Chord::read(chord).ok())
    }

    fn find_shapes(&mut self, chords: &[Chord], find: FindShape<'_>) {
        self.shapes.clear();
        for &chord in chords {
            let shape = find(self, self.to_hold(chord));
            self.choose_shape(chord, shape.as_ref());
        }
    }

    /// Checks what a text file can get wrong.
    ///
    /// # Errors
    /// When the title is empty or the tempo out of range.
    pub fn check(&self) -> Result<(), SongFault> {
        if self.title.trim().is_empty() {
            return Err(SongFault::NoTitle);
        }
        match self.tempo_bpm {
            Some(bpm) if !(10..=400).contains(&bpm) => Err(SongFault::Tempo { bpm }),
            _ => Ok(()),
        }
    }
}

/// What is wrong with a song.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SongFault {
    /// It is not called anything.
    NoTitle,
    /// The tempo is not within 10 to 400.
    Tempo {
        /// Quarter notes a minute.
        bpm: u16,
    },
}

impl fmt::Display for SongFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTitle => write!(f, "expected a title, found none"),
            Self::Tempo { bpm } => write!(f, "expected a tempo from 10 to 400, found {bpm}"),
        }
    }
}

impl std::error::Error for SongFault {}
