//! Tunings: one open pitch for each course; reading and writing them.

use std::fmt;

use crate::theory::{NotANote, Note, Pitch, PitchClass, Semitones, SpelledPitch, SpellingChoice};

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
    /// A note without an octave takes the pitch nearest that of the same course of `standard`; a tritone either way
    /// goes down, since slackening is safe. Without spaces a `b` may be a flat or a string: the reading that gives the
    /// right number of courses is taken, and of several the one with the fewest flats, these as late as can be.
    ///
    /// # Errors
    /// When a symbol is no note, or the number of notes is not that of `standard`.
    pub fn read(text: &str, standard: &Self) -> Result<Self, ParseTuningError> {
        Self::read_spelled(text, standard).map(|(tuning, _)| tuning)
    }

    /// Reads notes as [`Tuning::read`] does, and returns how each was spelled.
    ///
    /// # Errors
    /// As [`Tuning::read`].
    pub fn read_spelled(text: &str, standard: &Self) -> Result<(Self, Vec<SpelledPitch>), ParseTuningError> {
        let tokens = tokens(text, standard.courses())?;
        if tokens.len() != standard.courses() {
            return Err(ParseTuningError::Courses { expected: standard.courses(), found: tokens.len() });
        }
        let spelled = tokens
            .into_iter()
            .zip(&standard.pitches)
            .map(|(token, &near)| token.spelled_near(near))
            .collect::<Result<Vec<_>, _>>()?;
        let pitches = spelled.iter().map(|spelled| spelled.pitch()).collect();
        Ok((Self { pitches }, spelled))
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
struct Token {
    note: Note,
    /// As written; empty where none is.
    octave: String,
    place: usize,
}

impl Token {
    fn spelled_near(self, near: Pitch) -> Result<SpelledPitch, ParseTuningError> {
        let out_of_range = || {
            let found = self.note.ascii() + &self.octave;
            ParseTuningError::OutOfRange { place: self.place, found }
        };
        if self.octave.is_empty() {
            let pitch = near.nearest_of(self.note.class());
            return SpelledPitch::of_pitch(pitch, self.note).ok_or_else(out_of_range);
        }
        let octave = self.octave.parse::<i8>().ok();
        octave.and_then(|octave| SpelledPitch::new(self.note, octave)).ok_or_else(out_of_range)
    }
}

/// Splits a text into notes; see [`Tuning::read`] for how a `b` is understood.
fn tokens(text: &str, expected: usize) -> Result<Vec<Token>, ParseTuningError> {
    let chars: Vec<char> = text.chars().collect();
    let mut readings = Vec::new();
    let mut so_far = Vec::new();
    split(&chars, 0, expected, &mut so_far, &mut readings);
    if let Some(best) = readings.into_iter().min_by_key(|reading: &Vec<(usize, usize)>| count_flats(&chars, reading)) {
        return Ok(best.into_iter().map(|(from, to)| token(&chars, from, to)).collect());
    }
    plain_tokens(&chars)
}

/// Tells whether the character separates notes.
fn is_separator(mark: char) -> bool {
    mark.is_whitespace() || matches!(mark, ',' | '-' | '–' | '.' | '|' | ';')
}

/// Finds every way to read `chars` from `at` as `missing` more notes; each note is a range of characters.
fn split(
    chars: &[char],
    at: usize,
    missing: usize,
    so_far: &mut Vec<(usize, usize)>,
    readings: &mut Vec<Vec<(usize, usize)>>,
) {
    // Twelve notes with a doubtful b each: 4096 readings at most, and a text that long is no tuning.
    if chars.len() > 128 || readings.len() >= 4096 {
        return;
    }
    let mut start = at;
    while chars.get(start).copied().is_some_and(is_separator) {
        start += 1;
    }
    if start == chars.len() {
        if missing == 0 {
            readings.push(so_far.clone());
        }
        return;
    }
    if missing == 0 || crate::theory::Letter::from_char(chars[start]).is_none() {
        return;
    }
    let longest = note_end(chars, start);
    for end in start + 1..=longest {
        let next_is_free = chars.get(end).is_none_or(|&mark| is_separator(mark) || mark.is_ascii_alphabetic());
        if next_is_free {
            so_far.push((start, end));
            split(chars, end, missing - 1, so_far, readings);
            so_far.pop();
        }
    }
}

/// Returns the end of the longest note starting at `start`: letter, accidentals, octave.
fn note_end(chars: &[char], start: usize) -> usize {
    let rest: String = chars[start..].iter().collect();
    let taken = Note::read_prefix(&rest).map_or(1, |(_, bytes)| rest[..bytes].chars().count());
    let mut end = start + taken;
    let has_sign = chars.get(end) == Some(&'-') && chars.get(end + 1).is_some_and(char::is_ascii_digit);
    if has_sign {
        end += 1;
    }
    while chars.get(end).is_some_and(char::is_ascii_digit) {
        end += 1;
    }
    end
}

fn token(chars: &[char], from: usize, to: usize) -> Token {
    let text: String = chars[from..to].iter().collect();
    let (note, taken) = Note::read_prefix(&text).expect("a reading starts every note with a letter");
    Token { note, octave: text[taken..].to_owned(), place: from }
}

fn count_flats(chars: &[char], reading: &[(usize, usize)]) -> usize {
    reading.iter().map(|&(from, to)| chars[from + 1..to].iter().filter(|&&mark| mark == 'b').count()).sum()
}

/// Reads note after note greedily, to tell what is wrong with a text that has no right reading.
fn plain_tokens(chars: &[char]) -> Result<Vec<Token>, ParseTuningError> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        if is_separator(chars[at]) {
            at += 1;
            continue;
        }
        if crate::theory::Letter::from_char(chars[at]).is_none() {
            return Err(ParseTuningError::Note(NotANote { place: at, found: chars[at].to_string() }));
        }
        let end = note_end(chars, at);
        tokens.push(token(chars, at, end));
        at = end;
    }
    if tokens.is_empty() {
        return Err(ParseTuningError::Note(NotANote { place: chars.len(), found: String::new() }));
    }
    Ok(tokens)
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
