//! A shape: for each course muted, open, or stopped at a fret.

use std::fmt;

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::Pitch;

/// What each course does, from the highest player number to course 1: `None` is silent, fret 0 open.
///
/// Frets are counted from the capo, as in [`Fretboard`].
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Shape {
    frets: Vec<Option<Fret>>,
}

impl Shape {
    /// Makes a shape.
    #[must_use]
    pub const fn new(frets: Vec<Option<Fret>>) -> Self {
        Self { frets }
    }

    /// Reads a fret list such as `x 3 2 0 1 0` or, where every fret has one digit, `x32010`.
    ///
    /// # Errors
    /// When a part is neither `x` nor a fret from 0 to 36, or there are not `courses` of them.
    pub fn read(text: &str, courses: usize) -> Result<Self, ParseShapeError> {
        let words: Vec<&str> =
            text.split(|mark: char| mark.is_whitespace() || mark == ',').filter(|w| !w.is_empty()).collect();
        let single;
        let words = if words.len() == 1 && courses > 1 {
            single = words[0].char_indices().map(|(at, mark)| &words[0][at..at + mark.len_utf8()]).collect();
            single
        } else {
            words
        };
        if words.len() != courses {
            return Err(ParseShapeError::Courses { expected: courses, found: words.len() });
        }
        let frets = words.iter().enumerate().map(|(index, word)| match *word {
            "x" | "X" => Ok(None),
            number => number
                .parse::<u8>()
                .ok()
                .filter(|&fret| fret <= 36)
                .map(|fret| Some(Fret::new(fret)))
                .ok_or_else(|| ParseShapeError::Fret { place: index, found: number.to_owned() }),
        });
        frets.collect::<Result<_, _>>().map(Self::new)
    }

    /// Returns what each course does.
    #[must_use]
    pub fn frets(&self) -> &[Option<Fret>] {
        &self.frets
    }

    /// Returns the sounding courses with their frets, from the highest player number to course 1.
    pub fn sounding(&self) -> impl DoubleEndedIterator<Item = Position> + '_ {
        self.frets
            .iter()
            .enumerate()
            .filter_map(|(index, fret)| fret.map(|fret| Position { course: CourseIndex::from_lowest(index), fret }))
    }

    /// Returns the stopped courses with their frets, open ones left out.
    pub fn stopped(&self) -> impl DoubleEndedIterator<Item = Position> + '_ {
        self.sounding().filter(|position| position.fret != Fret::OPEN)
    }

    /// Returns what each course sounds on `board`: `None` for a silent course, or one that has no such fret.
    #[must_use]
    pub fn pitches(&self, board: &Fretboard<'_>) -> Vec<Option<Pitch>> {
        let pitch = |(index, fret): (usize, &Option<Fret>)| {
            fret.and_then(|fret| board.pitch_at(Position { course: CourseIndex::from_lowest(index), fret }))
        };
        self.frets.iter().enumerate().map(pitch).collect()
    }

    /// Returns the lowest and the highest stopped fret; `None` when nothing is stopped.
    #[must_use]
    pub fn fret_range(&self) -> Option<(Fret, Fret)> {
        let lowest = self.stopped().map(|position| position.fret).min()?;
        let highest = self.stopped().map(|position| position.fret).max()?;
        Some((lowest, highest))
    }

    /// Returns the distance between the lowest and the highest stopped fret in millimetres, 0 when fewer than two.
    #[must_use]
    pub fn span_mm(&self, board: &Fretboard<'_>) -> f64 {
        self.fret_range().map_or(0.0, |(lowest, highest)| board.between_mm(lowest, highest))
    }

    /// Returns whether every stopped fret can be moved along the neck together: nothing rings open.
    #[must_use]
    pub fn is_movable(&self) -> bool {
        self.fret_range().is_some() && self.sounding().all(|position| position.fret != Fret::OPEN)
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fret) in self.frets.iter().enumerate() {
            if index > 0 {
                f.write_str(" ")?;
            }
            match fret {
                Some(fret) => write!(f, "{}", fret.get())?,
                None => f.write_str("x")?,
            }
        }
        Ok(())
    }
}

/// A fret list that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseShapeError {
    /// A part is neither `x` nor a fret from 0 to 36.
    Fret {
        /// Which part, from 0.
        place: usize,
        /// What stood there.
        found: String,
    },
    /// The wrong number of parts.
    Courses {
        /// How many courses the instrument has.
        expected: usize,
        /// How many were given.
        found: usize,
    },
}

impl fmt::Display for ParseShapeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fret { place, found } => {
                write!(f, "expected x or a fret from 0 to 36 as part {}, found \"{found}\"", place + 1)
            }
            Self::Courses { expected, found } => write!(f, "expected {expected} frets, found {found}"),
        }
    }
}

impl std::error::Error for ParseShapeError {}
