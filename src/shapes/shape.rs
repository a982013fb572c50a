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

    /// Reads a fret list by the names the frets of `board` have, as [`Shape::written`] writes them: `0 6½ x`, or where
    /// every name is one digit `002`. A half fret may be typed `6+` (common practice, no source) or `6.5`. Where the
    /// frets have no names but their numbers, as [`Shape::read`].
    ///
    /// # Errors
    /// When a part is neither `x` nor the name of a fret beyond the capo, or there are not as many as courses.
    pub fn read_on(text: &str, board: &Fretboard<'_>) -> Result<Self, ParseShapeError> {
        let courses = board.courses();
        if !board.instrument().has_named_frets() {
            return Self::read(text, courses);
        }
        let mut words: Vec<String> =
            text.split(|mark: char| mark.is_whitespace() || mark == ',').filter(|w| !w.is_empty()).map(tidy).collect();
        if let ([only], true) = (words.as_slice(), courses > 1) {
            words = digits(only);
        }
        if words.len() != courses {
            return Err(ParseShapeError::Courses { expected: courses, found: words.len() });
        }
        let capo = board.capo().get();
        let frets = words.iter().enumerate().map(|(place, word)| match word.as_str() {
            "x" => Ok(None),
            "0" => Ok(Some(Fret::OPEN)),
            name => (1..=board.last_fret().get())
                .find(|fret| {
                    let on_neck = Fret::new(fret + capo);
                    board.instrument().has_fret(on_neck) && board.instrument().fret_name(on_neck) == *name
                })
                .map(|fret| Some(Fret::new(fret)))
                .ok_or_else(|| ParseShapeError::Name { place, found: name.to_owned() }),
        });
        frets.collect::<Result<_, _>>().map(Self::new)
    }

    /// Writes the shape by the names the frets of `board` have, silent courses as `x`: numbers counted from the capo,
    /// or on a diatonic fretboard its own names, such as `6½`. Those are the names of the real neck with a capo too,
    /// since a diatonic neck's steps do not begin again at it; what rings open is `0` all the same.
    #[must_use]
    pub fn written(&self, board: &Fretboard<'_>) -> String {
        let capo = if board.instrument().has_named_frets() { board.capo().get() } else { 0 };
        let name = |fret: Fret| match fret {
            Fret::OPEN => "0".to_owned(),
            fret => board.instrument().fret_name(Fret::new(fret.get().saturating_add(capo))),
        };
        let words = self.frets.iter().map(|fret| fret.map_or_else(|| "x".to_owned(), name));
        words.collect::<Vec<_>>().join(" ")
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

/// Writes a typed fret name as the frets are named: `6+` and `6.5` are `6½`.
fn tidy(word: &str) -> String {
    let half = word.strip_suffix('+').or_else(|| word.strip_suffix(".5"));
    half.map_or_else(|| word.to_lowercase(), |whole| format!("{whole}½"))
}

/// Parts a word into names of one digit, a half fret's sign with its digit.
fn digits(word: &str) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for mark in word.chars() {
        match names.last_mut() {
            Some(name) if matches!(mark, '½' | '+') => name.push('½'),
            _ => names.push(mark.to_string()),
        }
    }
    names
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
    /// A part is neither `x` nor the name of a fret here.
    Name {
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
            Self::Name { place, found } => {
                write!(f, "expected x or the name of a fret as part {}, found \"{found}\"", place + 1)
            }
            Self::Courses { expected, found } => write!(f, "expected {expected} frets, found {found}"),
        }
    }
}

impl std::error::Error for ParseShapeError {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::{Catalog, Tuning};

    fn board(instrument: &str, capo: u8) -> Fretboard<'static> {
        let catalog = Catalog::bundled();
        let instrument = catalog.find_instrument(instrument).unwrap();
        let tuning: &Tuning = catalog.standard_of(instrument).tuning();
        Fretboard::new(instrument, tuning, Fret::new(capo)).unwrap()
    }

    fn semitones(shape: &Shape) -> Vec<Option<u8>> {
        shape.frets().iter().map(|fret| fret.map(Fret::get)).collect()
    }

    #[test]
    fn a_diatonic_neck_is_read_and_written_by_the_names_of_its_frets() {
        // Common practice, no source: on D A D the D chord is 0 0 2, its F sharp four semitones above D at fret 2; the
        // half fret after 6 is the raised seventh, eleven semitones up.
        let dulcimer = board("appalachian-dulcimer", 0);
        for (text, frets, written) in [
            ("0 0 2", [Some(0), Some(0), Some(4)], "0 0 2"),
            ("002", [Some(0), Some(0), Some(4)], "0 0 2"),
            ("x,3,6½", [None, Some(5), Some(11)], "x 3 6½"),
            ("X 6+ 6.5", [None, Some(11), Some(11)], "x 6½ 6½"),
            ("06+1", [Some(0), Some(11), Some(2)], "0 6½ 1"),
            ("7 13½ 16", [Some(12), Some(23), Some(28)], "7 13½ 16"),
        ] {
            let shape = Shape::read_on(text, &dulcimer).unwrap();
            assert_eq!(
                (semitones(&shape).as_slice(), shape.written(&dulcimer).as_str()),
                (&frets[..], written),
                "{text}"
            );
        }
        for text in ["0 0 17", "0 0 5½", "0 0 -1", "0 0", "0 0 0 0", "", "½", "0 0 ♭"] {
            assert!(Shape::read_on(text, &dulcimer).is_err(), "{text}");
        }
    }

    #[test]
    fn a_capo_leaves_a_diatonic_neck_its_names_and_starts_the_count_of_others() {
        // A capo at the dulcimer's fret 3, five semitones up: fret 4 of the real neck is two semitones beyond it.
        let dulcimer = board("appalachian-dulcimer", 5);
        let shape = Shape::read_on("0 0 4", &dulcimer).unwrap();
        assert_eq!((semitones(&shape), shape.written(&dulcimer).as_str()), (vec![Some(0), Some(0), Some(2)], "0 0 4"));
        assert!(Shape::read_on("0 0 3", &dulcimer).is_err());
        let guitar = board("guitar", 2);
        let shape = Shape::read_on("x32010", &guitar).unwrap();
        assert_eq!(shape, Shape::read("x 3 2 0 1 0", 6).unwrap());
        assert_eq!(shape.written(&guitar), shape.to_string());
    }
}
