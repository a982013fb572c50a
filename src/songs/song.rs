//! A song: what it is called, what the instrument must be tuned to, and its chord chart.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, Tuning};
use crate::shapes::Shape;
use crate::theory::{Chord, Key};

use super::text;

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
