//! Spelled intervals: letter steps and size, so that spelling survives transposition.

use std::fmt;

use super::pitch::Semitones;

/// Semitones above the tonic of each degree of the major scale, 1 to 7.
const MAJOR_SCALE: [i16; 7] = [0, 2, 4, 5, 7, 9, 11];

/// Returns the semitones of the major scale's degree so many letter steps above the tonic, any number of octaves away.
pub(super) fn major_scale_semitones(steps: i16) -> i16 {
    MAJOR_SCALE[usize::from(steps.rem_euclid(7).unsigned_abs())] + 12 * steps.div_euclid(7)
}

/// An ascending interval of letter steps and semitones, also used for a chord's degrees: `♭7` is six steps and ten
/// semitones, `9` eight steps and fourteen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    steps: i16,
    semitones: i16,
}

impl Interval {
    /// The unison, degree 1.
    pub const UNISON: Self = Self { steps: 0, semitones: 0 };
    /// The perfect fifth, degree 5.
    pub const FIFTH: Self = Self { steps: 4, semitones: 7 };

    /// Makes the interval `steps` letters up whose size is the major scale's, altered by so many semitones.
    pub(super) fn of_steps(steps: i16, alteration: i16) -> Self {
        Self { steps, semitones: major_scale_semitones(steps) + alteration }
    }

    /// Makes the interval of degree `number` (1 to 15, against the major scale) raised by `alteration` semitones;
    /// `None` outside those degrees or beyond a double alteration.
    #[must_use]
    pub fn from_degree(number: u8, alteration: i8) -> Option<Self> {
        if !(1..=15).contains(&number) || !(-2..=2).contains(&alteration) {
            return None;
        }
        let steps = i16::from(number) - 1;
        Some(Self { steps, semitones: major_scale_semitones(steps) + i16::from(alteration) })
    }

    /// Reads a degree as players write it: `1`, `b3`, `♯11`, `bb7`.
    ///
    /// # Errors
    /// When the text is not up to two accidentals and a number from 1 to 15.
    ///
    /// ```
    /// use pegwise::theory::Interval;
    /// assert_eq!(Interval::read("b7").unwrap().semitones().get(), 10);
    /// assert!(Interval::read("b").is_err());
    /// ```
    pub fn read(text: &str) -> Result<Self, ParseIntervalError> {
        let error = || ParseIntervalError { found: text.to_owned() };
        let mut alteration = 0_i8;
        let mut rest = text;
        while let Some(mark) = rest.chars().next() {
            let by = match mark {
                'b' | '♭' => -1,
                '#' | '♯' => 1,
                _ => break,
            };
            alteration = alteration.checked_add(by).ok_or_else(error)?;
            rest = &rest[mark.len_utf8()..];
        }
        let number = rest.parse::<u8>().map_err(|_| error())?;
        Self::from_degree(number, alteration).ok_or_else(error)
    }

    /// Returns the number of letter steps: 0 for a unison or first degree.
    #[must_use]
    pub const fn steps(self) -> i16 {
        self.steps
    }

    /// Returns the size.
    #[must_use]
    pub const fn semitones(self) -> Semitones {
        Semitones::new(self.semitones)
    }

    /// Returns the degree number, 1 for a unison, 8 for an octave.
    #[must_use]
    pub const fn number(self) -> i16 {
        self.steps + 1
    }

    /// Returns how far the size lies from the major scale's degree of the same number, in semitones.
    #[must_use]
    pub fn alteration(self) -> i16 {
        self.semitones - major_scale_semitones(self.steps)
    }

    /// Returns the same interval folded into one octave: a ninth becomes a second.
    #[must_use]
    pub fn simple(self) -> Self {
        let octaves = self.steps.div_euclid(7);
        Self { steps: self.steps - 7 * octaves, semitones: self.semitones - 12 * octaves }
    }
}

impl fmt::Display for Interval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let alteration = self.alteration();
        let mark = if alteration < 0 { "♭" } else { "♯" };
        for _ in 0..alteration.unsigned_abs() {
            f.write_str(mark)?;
        }
        write!(f, "{}", self.number())
    }
}

/// A degree that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseIntervalError {
    /// What stood there.
    pub found: String,
}

impl fmt::Display for ParseIntervalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\" is not a degree such as 3, b7 or #11", self.found)
    }
}

impl std::error::Error for ParseIntervalError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_read_and_write() {
        // Degree, semitones: common practice, no source.
        for (text, semitones, shown) in [
            ("1", 0, "1"),
            ("b3", 3, "♭3"),
            ("#4", 6, "♯4"),
            ("bb7", 9, "♭♭7"),
            ("9", 14, "9"),
            ("#11", 18, "♯11"),
            ("13", 21, "13"),
        ] {
            let interval = Interval::read(text).unwrap();
            assert_eq!((interval.semitones().get(), interval.to_string().as_str()), (semitones, shown), "{text}");
        }
        for bad in ["", "b", "x", "0", "16", "###4", "3b"] {
            assert!(Interval::read(bad).is_err(), "{bad}");
        }
    }
}
