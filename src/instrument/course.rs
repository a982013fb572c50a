//! Courses: what a finger stops together, one string or several.

use crate::theory::{Pitch, Semitones};

use super::fretboard::Fret;

/// Which course of an instrument.
///
/// There is no order: "higher" means the other direction to a player than to a pitch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CourseIndex(u8);

impl CourseIndex {
    /// Counts from the course nearest the ceiling (usually the thickest), from 0.
    #[must_use]
    pub fn from_lowest(index: usize) -> Self {
        Self(u8::try_from(index).unwrap_or(u8::MAX))
    }

    /// Counts as players do: 1 is nearest the floor, `courses` nearest the ceiling. `None` outside 1 to `courses`.
    #[must_use]
    pub fn from_player_number(number: u8, courses: usize) -> Option<Self> {
        let number = usize::from(number);
        (1..=courses).contains(&number).then(|| Self::from_lowest(courses - number))
    }

    /// Returns the index from the course nearest the ceiling, from 0.
    #[must_use]
    pub fn from_lowest_index(self) -> usize {
        usize::from(self.0)
    }

    /// Returns the player's number on an instrument with so many courses.
    #[must_use]
    pub fn player_number(self, courses: usize) -> u8 {
        u8::try_from(courses.saturating_sub(usize::from(self.0))).unwrap_or(u8::MAX)
    }
}

/// One course: the strings that are stopped together, and where they start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    offsets: Vec<Semitones>,
    starts_at: Fret,
}

impl Course {
    /// Makes a course of strings tuned `offsets` above the course's named pitch (its lowest string, so the first is
    /// zero), with its nut at fret `starts_at` (0 for a full-length course). `None` without a string at the named pitch.
    #[must_use]
    pub fn new(offsets: Vec<Semitones>, starts_at: Fret) -> Option<Self> {
        let lowest = offsets.iter().min()?;
        (*lowest == Semitones::ZERO).then_some(Self { offsets, starts_at })
    }

    /// Reads the catalogue's notation: `0`, `0 0` for a unison pair, `0 12` for an octave pair, `0 from 5` for a short
    /// drone string.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let (strings, start) = match text.split_once(" from ") {
            Some((strings, start)) => (strings, Fret::new(start.parse().ok()?)),
            None => (text, Fret::OPEN),
        };
        let offsets: Option<Vec<Semitones>> =
            strings.split_whitespace().map(|offset| offset.parse().ok().map(Semitones::new)).collect();
        Self::new(offsets?, start)
    }

    /// Returns how far each string lies above the course's named pitch.
    #[must_use]
    pub fn offsets(&self) -> &[Semitones] {
        &self.offsets
    }

    /// Returns the fret at which the strings start: 0, or 5 for a banjo's short fifth string.
    #[must_use]
    pub const fn starts_at(&self) -> Fret {
        self.starts_at
    }

    /// Tells whether two or more strings are stopped together.
    #[must_use]
    pub fn is_pair(&self) -> bool {
        self.offsets.len() > 1
    }

    /// Tells whether the strings of the course differ by an octave.
    #[must_use]
    pub fn is_octave_pair(&self) -> bool {
        self.offsets.iter().any(|offset| *offset != Semitones::ZERO)
    }

    /// Tells whether it is a short string whose nut lies up the neck.
    #[must_use]
    pub fn is_drone(&self) -> bool {
        self.starts_at != Fret::OPEN
    }

    /// Returns the pitch of each string when the course is tuned to `named`; strings beyond the pitch range are left out.
    pub fn string_pitches(&self, named: Pitch) -> impl Iterator<Item = Pitch> + '_ {
        self.offsets.iter().filter_map(move |&offset| named.transpose(offset))
    }
}
