//! A shape the player marked.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::instrument::{Fret, Tuning};
use crate::shapes::{ParseShapeError, Shape};
use crate::songs::UnknownFields;
use crate::songs::text;
use crate::theory::{Chord, Note, ParseChordError, Semitones, SpellingChoice};

/// A shape the player marked for a chord in a tuning.
///
/// The chord is named as it sounds without a capo: over one the same fingers are the favourite of the chord so many
/// semitones higher. The instrument is not part of it: in the same tuning the same shape is wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "FavouriteRow", into = "FavouriteRow")]
pub struct Favourite {
    /// The open pitches, without a capo.
    pub tuning: Tuning,
    /// The chord, without a capo.
    pub chord: Chord,
    /// The shape, counted from the capo; a fret for each course of the tuning.
    pub shape: Shape,
    /// What a later version wrote beside these.
    pub unknown: UnknownFields,
}

impl Favourite {
    /// Makes the favourite of a chord that sounds over a capo, 0 for none.
    #[must_use]
    pub fn new(tuning: &Tuning, sounding: Chord, capo: Fret, shape: &Shape) -> Self {
        let lower = |note: Note| match capo {
            Fret::OPEN => note,
            capo => {
                Note::of_class(note.class().transpose(Semitones::ZERO - capo.semitones()), SpellingChoice::Customary)
            }
        };
        let chord = Chord::new(lower(sounding.root()), sounding.quality());
        let chord = sounding.slash_bass().map_or(chord, |bass| chord.over(lower(bass)));
        Self { tuning: tuning.clone(), chord, shape: shape.clone(), unknown: UnknownFields::new() }
    }

    /// Tells whether it is one for a chord that sounds in a tuning over a capo, however the chord is spelled.
    #[must_use]
    pub fn is_for(&self, tuning: &Tuning, sounding: Chord, capo: Fret) -> bool {
        let is_raised = |own: Note, sounding: Note| own.class().transpose(capo.semitones()) == sounding.class();
        let has_bass = match (self.chord.slash_bass(), sounding.slash_bass()) {
            (Some(own), Some(bass)) => is_raised(own, bass),
            (own, bass) => own.is_none() && bass.is_none(),
        };
        self.tuning == *tuning
            && has_bass
            && self.chord.quality() == sounding.quality()
            && is_raised(self.chord.root(), sounding.root())
    }

    /// Tells whether both are the same shape of the same chord in the same tuning.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        self.shape == other.shape && self.is_for(&other.tuning, other.chord, Fret::OPEN)
    }
}

/// How it stands in the file.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct FavouriteRow {
    #[serde(with = "text::pitches")]
    pitches: Tuning,
    chord: String,
    frets: String,
    #[serde(flatten)]
    unknown: UnknownFields,
}

/// Why a row is no favourite.
#[derive(Clone, Debug, PartialEq, Eq)]
enum FavouriteFault {
    Chord(ParseChordError),
    Shape(ParseShapeError),
}

impl fmt::Display for FavouriteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Chord(fault) => write!(f, "chord: {fault}"),
            Self::Shape(fault) => write!(f, "frets: {fault}"),
        }
    }
}

impl TryFrom<FavouriteRow> for Favourite {
    type Error = FavouriteFault;

    fn try_from(row: FavouriteRow) -> Result<Self, FavouriteFault> {
        let chord = Chord::read(&row.chord).map_err(FavouriteFault::Chord)?;
        let shape = Shape::read(&row.frets, row.pitches.courses()).map_err(FavouriteFault::Shape)?;
        Ok(Self { tuning: row.pitches, chord, shape, unknown: row.unknown })
    }
}

impl From<Favourite> for FavouriteRow {
    fn from(favourite: Favourite) -> Self {
        Self {
            pitches: favourite.tuning,
            chord: favourite.chord.ascii(),
            frets: favourite.shape.to_string(),
            unknown: favourite.unknown,
        }
    }
}
