//! What a search hands back: shapes with their fingering and their cost.

use crate::instrument::Fretboard;
use crate::theory::{Chord, Interval, Pitch, PitchClassSet, SpelledPitch};

use super::fingering::Fingering;
use super::hold::Frets;
use super::rank::{Amounts, CostTerm, Heard};
use super::shape::Shape;

/// A shape of a chord with the best way to hold it and what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct RankedShape {
    shape: Shape,
    fingering: Fingering,
    chord: Chord,
    pitches: Vec<Option<Pitch>>,
    bass: Pitch,
    is_inversion: bool,
    names_bass: bool,
    omitted: PitchClassSet,
    span_mm: f64,
    cost: f64,
    amounts: Amounts,
}

impl RankedShape {
    /// Works out what the shape sounds.
    pub(super) fn new(
        frets: &Frets,
        fingering: Fingering,
        cost: f64,
        amounts: Amounts,
        heard: &Heard,
        chord: Chord,
        board: &Fretboard<'_>,
    ) -> Self {
        let is_inversion = !heard.bass_is_asked_for;
        let names_bass = is_inversion && heard.bass_matters && chord.slash_bass().is_none();
        let shape = frets.to_shape();
        let pitches = shape.pitches(board);
        let strings = pitches.iter().zip(board.instrument().courses());
        let sounding = strings.flat_map(|(pitch, course)| pitch.iter().flat_map(|&pitch| course.string_pitches(pitch)));
        let classes: PitchClassSet = sounding.map(Pitch::class).collect();
        let root = chord.root().class();
        let omittable = chord.quality().omittable().iter().map(|degree| root.transpose(degree.semitones()));
        let omitted = omittable.collect::<PitchClassSet>().without(classes).without(chord.required());
        let bass = pitches.iter().flatten().copied().min().unwrap_or(Pitch::LOWEST);
        let span_mm = shape.span_mm(board);
        Self { amounts, shape, fingering, chord, pitches, bass, is_inversion, names_bass, omitted, span_mm, cost }
    }

    /// Returns the shape.
    #[must_use]
    pub const fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Returns the best way to hold it.
    #[must_use]
    pub const fn fingering(&self) -> &Fingering {
        &self.fingering
    }

    /// Returns the chord it was found for.
    #[must_use]
    pub const fn chord(&self) -> Chord {
        self.chord
    }

    /// Returns what each course sounds, from the highest player number to course 1; `None` is silent.
    #[must_use]
    pub fn pitches(&self) -> &[Option<Pitch>] {
        &self.pitches
    }

    /// Returns what each course sounds, spelled as the chord spells it.
    #[must_use]
    pub fn notes(&self) -> Vec<Option<SpelledPitch>> {
        let spell =
            |pitch: Pitch| self.chord.note_of(pitch.class()).and_then(|note| SpelledPitch::of_pitch(pitch, note));
        self.pitches.iter().map(|pitch| pitch.and_then(spell)).collect()
    }

    /// Returns the degree of the chord that each course sounds.
    #[must_use]
    pub fn degrees(&self) -> Vec<Option<Interval>> {
        self.pitches.iter().map(|pitch| pitch.and_then(|pitch| self.chord.degree_of(pitch.class()))).collect()
    }

    /// Returns the lowest pitch.
    #[must_use]
    pub const fn bass(&self) -> Pitch {
        self.bass
    }

    /// Returns the chord as it is called when held so: over the tone that is lowest, `C/G`, where players care which one is
    /// and none was asked for; else the chord it was found for.
    #[must_use]
    pub fn called(&self) -> Chord {
        let bass = self.chord.note_of(self.bass.class());
        bass.filter(|_| self.names_bass).map_or(self.chord, |bass| self.chord.over(bass))
    }

    /// Tells whether another tone than the bass asked for is lowest: the root, or the one after the slash.
    #[must_use]
    pub const fn is_inversion(&self) -> bool {
        self.is_inversion
    }

    /// Returns the tones of the chord that are left out.
    #[must_use]
    pub const fn omitted(&self) -> PitchClassSet {
        self.omitted
    }

    /// Returns the distance from the lowest to the highest stopped fret, in millimetres.
    #[must_use]
    pub const fn span_mm(&self) -> f64 {
        self.span_mm
    }

    /// Returns the cost, zero or more: less is better. It has no unit; it orders the shapes of one chord.
    #[must_use]
    pub const fn cost(&self) -> f64 {
        self.cost
    }

    /// Returns how much of a cost term there is, in the term's unit.
    #[must_use]
    pub fn amount(&self, term: CostTerm) -> f64 {
        self.amounts[term.index()]
    }
}

/// The shapes of a chord, best first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// The shapes; none when no hand can sound the chord.
    pub shapes: Vec<RankedShape>,
    /// Whether the search went through everything; it stops short when its effort is used up.
    pub is_complete: bool,
}
