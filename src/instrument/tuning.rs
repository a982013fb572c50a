//! Tunings: one open pitch for each course; reading and writing them.

use std::fmt;

use crate::theory::{Naming, NotANote, Note, NoteReading, Pitch, PitchClass, Semitones, SpelledPitch, SpellingChoice};

/// The open pitch of each course, from the highest player number to course 1. At least one course.
///
/// Where a course holds several strings, the pitch is that of its lowest.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Tuning {
    pitches: Vec<Pitch>,
}

impl Tuning {
    /// The most courses a tuning may have.
    pub const MOST_COURSES: usize = 12;

    /// Makes a tuning of 1 to 12 courses; `None` otherwise.
    #[must_use]
    pub fn new(pitches: Vec<Pitch>) -> Option<Self> {
        (1..=Self::MOST_COURSES).contains(&pitches.len()).then_some(Self { pitches })
    }

    /// Returns the open pitches, from the highest player number to course 1.
    #[must_use]
    pub fn pitches(&self) -> &[Pitch] {
        &self.pitches
    }

    /// Returns the number of courses.
    #[must_use]
    pub fn courses(&self) -> usize {
        self.pitches.len()
    }

    /// Returns the tuning with every course moved; `None` when one would leave the pitch range.
    #[must_use]
    pub fn transposed(&self, by: Semitones) -> Option<Self> {
        self.pitches.iter().map(|pitch| pitch.transpose(by)).collect::<Option<Vec<_>>>().map(|pitches| Self { pitches })
    }

    /// Reads notes with or without octaves: `D G D G B E`, `dgdgbe`, `Eb2 Ab2 Db3 Gb3 Bb3 Eb4`.
    ///
    /// A note without an octave takes the pitch nearest that of the same course of `standard`, but goes down by seven and
    /// not up by five: no string is meant to be tightened so far. Without spaces a `b` may be a flat or a string: of the
    /// readings with the right number of courses the one with the fewest signs is taken, of those the one nearest
    /// `standard`, of those the one with its flats latest.
    ///
    /// What the catalogue has is not known here: see [`super::Catalog::read_notes`].
    ///
    /// # Errors
    /// When a symbol is no note, or the number of notes is not that of `standard`.
    pub fn read(text: &str, standard: &Self) -> Result<Self, ParseTuningError> {
        Self::read_in(text, standard, Naming::English)
    }

    /// Reads notes as [`Tuning::read`] does, written by the player's custom; see [`Naming::readings`].
    ///
    /// Without spaces not only a `b` but every letter of a German name may be a sign or a string: `dgdghe`, `esasdesgesbes`.
    /// What is no tuning by this custom is read by another: `re sol re sol si mi` is understood everywhere.
    ///
    /// # Errors
    /// As [`Tuning::read`].
    pub fn read_in(text: &str, standard: &Self, naming: Naming) -> Result<Self, ParseTuningError> {
        let spelled = Readings::of(text, standard.courses(), naming)?.nearest(&standard.pitches)?.swap_remove(0);
        let pitches = spelled.iter().map(|spelled| spelled.pitch()).collect();
        Ok(Self { pitches })
    }

    /// Returns by how many semitones the courses lie apart in all; courses that only one has do not count.
    #[must_use]
    pub fn semitones_to(&self, other: &Self) -> u32 {
        let apart = |(one, other): (&Pitch, &Pitch)| u32::from((*one - *other).get().unsigned_abs());
        self.pitches.iter().zip(&other.pitches).map(apart).sum()
    }

    /// Names each pitch so that the open strings read well together: flats where only flat-side notes occur, sharps
    /// where only sharp-side ones do, else the customary mixture.
    #[must_use]
    pub fn spelled(&self) -> Vec<SpelledPitch> {
        let has = |semitones: i16| {
            let class = PitchClass::from_semitones_above_c(semitones);
            self.pitches.iter().any(|pitch| pitch.class() == class)
        };
        let (flat_side, sharp_side) = (has(3) || has(10) || has(8), has(6) || has(1));
        let choice = match (flat_side, sharp_side) {
            (true, false) => SpellingChoice::Flats,
            (false, true) => SpellingChoice::Sharps,
            _ => SpellingChoice::Customary,
        };
        self.pitches.iter().map(|&pitch| SpelledPitch::by_choice(pitch, choice)).collect()
    }

    /// Writes the notes without octaves in plain ASCII, each spelled by `choice`.
    #[must_use]
    pub fn ascii(&self, choice: SpellingChoice) -> String {
        let names: Vec<String> =
            self.pitches.iter().map(|pitch| Note::of_class(pitch.class(), choice).ascii()).collect();
        names.join(" ")
    }

    /// Writes the notes with octaves in plain ASCII; [`Tuning::read`] gives the same tuning back.
    #[must_use]
    pub fn ascii_with_octaves(&self, choice: SpellingChoice) -> String {
        let names: Vec<String> =
            self.pitches.iter().map(|&pitch| SpelledPitch::by_choice(pitch, choice).ascii()).collect();
        names.join(" ")
    }
}

/// One note of a written tuning, with the place where it starts in characters.
#[derive(Clone)]
struct Token {
    note: Note,
    /// As written; empty where none is.
    octave: String,
    place: usize,
    /// Name and octave as written.
    text: String,
    /// How many letters of the name are signs and might have been notes.
    letter_signs: usize,
}

impl Token {
    /// Tells whether a string at this pitch can be written so.
    fn can_mean(&self, pitch: Pitch) -> bool {
        let has_octave =
            || SpelledPitch::of_pitch(pitch, self.note).is_some_and(|name| name.octave().to_string() == self.octave);
        self.note.class() == pitch.class() && (self.octave.is_empty() || has_octave())
    }

    fn spelled_near(&self, near: Pitch) -> Result<SpelledPitch, ParseTuningError> {
        let out_of_range = || ParseTuningError::OutOfRange { place: self.place, found: self.text.clone() };
        if self.octave.is_empty() {
            let nearest = near.nearest_of(self.note.class());
            let is_too_far_up = (nearest - near).get() >= FEWEST_NOT_TIGHTENED;
            let lower = nearest.transpose(Semitones::new(-12)).filter(|_| is_too_far_up);
            return SpelledPitch::of_pitch(lower.unwrap_or(nearest), self.note).ok_or_else(out_of_range);
        }
        let octave = self.octave.parse::<i8>().ok();
        octave.and_then(|octave| SpelledPitch::new(self.note, octave)).ok_or_else(out_of_range)
    }
}

/// A note so many semitones up, written without an octave, is meant an octave lower: a string of the usual weight breaks on
/// the way up. Common practice.
const FEWEST_NOT_TIGHTENED: i16 = 5;
/// The longest text that is taken for a tuning, in bytes.
const LONGEST_TEXT: usize = 256;
/// Twelve notes with a doubtful sign each: as many readings at most are compared.
const MOST_READINGS: usize = 4096;

/// A text that is split into notes.
struct Written<'a> {
    text: &'a str,
    naming: Naming,
    readings: Vec<Vec<Token>>,
}

/// Every way to read a text as so many notes; at least one.
pub(super) struct Readings(Vec<Vec<Token>>);

impl Readings {
    /// Splits a text into notes, by the given custom; where that makes nothing of it, by the first other that does.
    ///
    /// # Errors
    /// By the given custom: when a symbol is no note, or there is no reading of so many notes.
    pub(super) fn of(text: &str, courses: usize, naming: Naming) -> Result<Self, ParseTuningError> {
        let others = Naming::ALL.into_iter().filter(|&other| other != naming);
        Self::by_custom(text, courses, naming)
            .or_else(|fault| others.filter_map(|other| Self::by_custom(text, courses, other).ok()).next().ok_or(fault))
    }

    fn by_custom(text: &str, courses: usize, naming: Naming) -> Result<Self, ParseTuningError> {
        let mut written = Written { text, naming, readings: Vec::new() };
        if text.len() <= LONGEST_TEXT {
            written.split(0, courses, &mut Vec::new());
        }
        let readings = std::mem::take(&mut written.readings);
        if !readings.is_empty() {
            return Ok(Self(readings));
        }
        let found = written.plain_tokens()?;
        if found.len() == courses {
            Ok(Self(vec![found]))
        } else {
            Err(ParseTuningError::Courses { expected: courses, found: found.len() })
        }
    }

    /// Tells whether a tuning can be written so: the notes of a reading, and the octaves where it has any.
    pub(super) fn can_mean(&self, tuning: &Tuning) -> bool {
        self.0.iter().any(|reading| {
            reading.len() == tuning.courses()
                && reading.iter().zip(tuning.pitches()).all(|(token, &pitch)| token.can_mean(pitch))
        })
    }

    /// Tells whether a reading names the notes just so.
    pub(super) fn can_spell(&self, names: &[SpelledPitch]) -> bool {
        let is_so = |reading: &Vec<Token>| {
            reading.len() == names.len() && reading.iter().zip(names).all(|(token, name)| token.note == name.note())
        };
        self.0.iter().any(is_so)
    }

    /// Returns the readings that stand, octaves placed near `near`: those with the fewest signs that might have been
    /// notes, and of those the ones that lie nearest in all. At least one; several where nothing decides between them,
    /// flats latest first.
    ///
    /// # Errors
    /// When every reading leaves the pitch range.
    pub(super) fn nearest(&self, near: &[Pitch]) -> Result<Vec<Vec<SpelledPitch>>, ParseTuningError> {
        let mut placed = Vec::new();
        let mut fault = None;
        for reading in &self.0 {
            let signs: usize = reading.iter().map(|token| token.letter_signs).sum();
            let spelled: Result<Vec<SpelledPitch>, _> =
                reading.iter().zip(near).map(|(token, &near)| token.spelled_near(near)).collect();
            match spelled {
                Ok(spelled) => {
                    let apart =
                        |(name, near): (&SpelledPitch, &Pitch)| u32::from((name.pitch() - *near).get().unsigned_abs());
                    let apart: u32 = spelled.iter().zip(near).map(apart).sum();
                    placed.push(((signs, apart), spelled));
                }
                Err(error) => fault = fault.or(Some(error)),
            }
        }
        let Some(best) = placed.iter().map(|(key, _)| *key).min() else {
            return Err(fault.unwrap_or(ParseTuningError::Courses { expected: near.len(), found: 0 }));
        };
        Ok(placed.into_iter().filter(|(key, _)| *key == best).map(|(_, spelled)| spelled).collect())
    }
}

/// Tells whether the character separates notes.
fn is_separator(mark: char) -> bool {
    mark.is_whitespace() || matches!(mark, ',' | '-' | '–' | '.' | '|' | ';')
}

impl Written<'_> {
    /// Finds every way to read the text from byte `at` as `missing` more notes.
    fn split(&mut self, at: usize, missing: usize, so_far: &mut Vec<Token>) {
        if self.readings.len() >= MOST_READINGS {
            return;
        }
        let start = self.text.len() - self.text[at..].trim_start_matches(is_separator).len();
        if start == self.text.len() {
            if missing == 0 {
                self.readings.push(so_far.clone());
            }
            return;
        }
        if missing == 0 {
            return;
        }
        let place = self.text[..start].chars().count();
        // The shortest first: of readings alike in flats the one that has them late is found first.
        for reading in self.naming.readings(&self.text[start..]).into_iter().rev() {
            let (token, end) = self.token(start, place, reading);
            let next = self.text[end..].chars().next();
            if next.is_none_or(|mark| is_separator(mark) || mark.is_alphabetic()) {
                so_far.push(token);
                self.split(end, missing - 1, so_far);
                so_far.pop();
            }
        }
    }

    /// Takes a note that starts at byte `start`, which is character `place`, with its octave, and returns it with the byte
    /// where it ends.
    fn token(&self, start: usize, place: usize, reading: NoteReading) -> (Token, usize) {
        let octave_at = start + reading.bytes;
        let rest = &self.text[octave_at..];
        let below_zero =
            usize::from(rest.starts_with('-') && rest[1..].starts_with(|mark: char| mark.is_ascii_digit()));
        let digits = rest[below_zero..].bytes().take_while(u8::is_ascii_digit).count();
        let end = octave_at + below_zero + digits;
        let token = Token {
            note: reading.note,
            octave: self.text[octave_at..end].to_owned(),
            place,
            text: self.text[start..end].to_owned(),
            letter_signs: reading.letter_signs,
        };
        (token, end)
    }

    /// Reads note after note greedily, to tell what is wrong with a text that has no right reading.
    fn plain_tokens(&self) -> Result<Vec<Token>, ParseTuningError> {
        let mut tokens = Vec::new();
        let (mut at, mut place) = (0, 0);
        loop {
            let rest = self.text[at..].trim_start_matches(is_separator);
            let start = self.text.len() - rest.len();
            place += self.text[at..start].chars().count();
            let fault = |found: String| ParseTuningError::Note(NotANote { place, found });
            let Some(first) = rest.chars().next() else {
                return if tokens.is_empty() { Err(fault(String::new())) } else { Ok(tokens) };
            };
            let longest = self.naming.readings(rest).into_iter().next();
            let (token, end) = self.token(start, place, longest.ok_or_else(|| fault(first.to_string()))?);
            place += self.text[start..end].chars().count();
            tokens.push(token);
            at = end;
        }
    }
}

/// A tuning that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseTuningError {
    /// A symbol is no note.
    Note(NotANote),
    /// A note lies outside C-1 to G9.
    OutOfRange {
        /// Characters from the start of the text, from 0.
        place: usize,
        /// The note as given.
        found: String,
    },
    /// The wrong number of notes.
    Courses {
        /// How many the instrument has.
        expected: usize,
        /// How many were given.
        found: usize,
    },
}

impl fmt::Display for ParseTuningError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Note(fault) => write!(f, "{fault}"),
            Self::OutOfRange { place, found } => {
                write!(f, "expected a pitch from C-1 to G9 at character {}, found \"{found}\"", place + 1)
            }
            Self::Courses { expected, found } => write!(f, "expected {expected} notes, found {found}"),
        }
    }
}

impl std::error::Error for ParseTuningError {}
