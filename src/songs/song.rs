//! A song: what it is called, what the instrument must be tuned to, and its chord chart.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, Tuning};
use crate::shapes::Shape;
use crate::theory::{Chord, Key, Naming, Semitones};

use super::chart::Chart;
use super::text;
use super::transpose::{Transposition, key_of_chord};
use super::tune::SongTune;

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
    /// The chord chart as the player typed it: any text is one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub chart: String,
    /// How the chart's chords are named, whatever the settings say: the text means the same everywhere.
    #[serde(default, skip_serializing_if = "is_english")]
    pub chart_naming: Naming,
    /// What the chart was before it was moved, so that moving it back gives the same text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    moved_from: Option<MovedFrom>,
    /// The shape chosen for a chord: its symbol in plain ASCII, then frets counted from the capo.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    shapes: BTreeMap<String, String>,
    /// Whatever the player wants to remember.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Quarter notes a minute, 10 to 400.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tempo_bpm: Option<u16>,
    /// Its tune, where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tune: Option<SongTune>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it so")]
fn is_english(naming: &Naming) -> bool {
    *naming == Naming::English
}

/// A chart as it was typed, and how far it was moved since.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct MovedFrom {
    /// The text.
    chart: String,
    /// The key as played, where the song named one.
    #[serde(default, with = "text::key", skip_serializing_if = "Option::is_none")]
    key: Option<Key>,
    /// By how many semitones, up positive.
    semitones: i16,
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
            chart_naming: Naming::English,
            moved_from: None,
            shapes: BTreeMap::new(),
            notes: String::new(),
            tempo_bpm: None,
            tune: None,
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

    /// Reads the chart; what was read a moment ago is not read again.
    #[must_use]
    pub fn read_chart(&self) -> Arc<Chart> {
        Chart::read_lately(&self.chart, self.chart_naming)
    }

    /// Returns the key as played, or what the chart's first chord suggests; `None` without either.
    #[must_use]
    pub fn likely_key(&self) -> Option<Key> {
        self.key.or_else(|| self.read_chart().chords().first().map(|&(chord, _)| key_of_chord(chord)))
    }

    /// Returns what sounds when `chord` is played over this song's capo.
    #[must_use]
    pub fn to_hold(&self, chord: Chord) -> ToHold {
        ToHold { played: chord, sounding: raised(chord, self.likely_key(), self.capo.semitones()), capo: self.capo }
    }

    /// Returns the song moved by a number of semitones, capo and tuning as they are. Every chosen shape is found anew;
    /// a chord for which `find` has none is left without.
    ///
    /// A chart that was moved before is moved anew from what was typed, so that up and down again is the same text.
    #[must_use]
    pub fn transposed(&self, by: Semitones, find: FindShape<'_>) -> Self {
        let mut moved = self.clone();
        let Some(key) = self.likely_key() else { return moved };
        let from = self.typed_chart();
        let whole = from.semitones + by.get();
        let before = Self { chart: from.chart.clone(), key: from.key, moved_from: None, ..self.clone() };
        let by = match before.likely_key() {
            Some(first) if whole % 12 == 0 => Transposition::to_tonic(key, first.tonic()),
            Some(first) => Transposition::to_tonic(key, Transposition::by(first, Semitones::new(whole)).key().tonic()),
            None => Transposition::by(key, by),
        };
        (moved.key, moved.chart) = before.moved_by(whole);
        moved.moved_from = (whole % 12 != 0).then_some(MovedFrom { semitones: whole, ..from });
        let chords: Vec<Chord> = self.chosen_chords().map(|chord| by.chord(chord)).collect();
        moved.find_shapes(&chords, find);
        moved
    }

    /// Returns key and chart moved by a number of semitones from what they are.
    fn moved_by(&self, semitones: i16) -> (Option<Key>, String) {
        let Some(key) = self.likely_key().filter(|_| semitones % 12 != 0) else {
            return (self.key, self.chart.clone());
        };
        let by = Transposition::by(key, Semitones::new(semitones));
        (self.key.map(|_| by.key()), self.read_chart().transposed(&by).write())
    }

    /// Returns the chart as typed and how far it was moved; what was changed since counts as typed.
    fn typed_chart(&self) -> MovedFrom {
        let as_it_is = || MovedFrom { chart: self.chart.clone(), key: self.key, semitones: 0 };
        let Some(from) = &self.moved_from else { return as_it_is() };
        let before = Self { chart: from.chart.clone(), key: from.key, moved_from: None, ..self.clone() };
        if before.moved_by(from.semitones) == (self.key, self.chart.clone()) { from.clone() } else { as_it_is() }
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
    #[must_use]
    pub fn with_capo(&self, capo: Fret, find: FindShape<'_>) -> Self {
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
