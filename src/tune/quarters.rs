//! Lengths and places in time, exact.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

/// How many parts a quarter note has: 2^10 · 3^3 · 5 · 7 · 11 · 13. Every note down to a 4096th, plain or in tuplets of
/// up to 15, nested twice in threes, is a whole number of them.
const PARTS: i64 = 1024 * 27 * 5 * 7 * 11 * 13;

/// A length or a place in a tune, in quarter notes, exact. It may be negative as a difference.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quarters {
    parts: i64,
}

impl Quarters {
    /// No length; the start.
    pub const ZERO: Self = Self { parts: 0 };
    /// One quarter note.
    pub const ONE: Self = Self { parts: PARTS };
    /// The longest single length that is read: 1024 quarters.
    pub const LONGEST: Self = Self { parts: 1024 * PARTS };

    /// Makes the fraction `numerator` / `denominator` of a quarter note. `None` when the denominator is not above zero,
    /// when the fraction is not a whole number of the smallest parts told in the module, or beyond ± 1,000,000 quarters.
    ///
    /// ```
    /// use pegwise::tune::Quarters;
    /// assert_eq!(Quarters::new(6, 4).unwrap().to_string(), "3/2");
    /// assert!(Quarters::new(1, 17).is_none());
    /// ```
    #[must_use]
    pub fn new(numerator: i64, denominator: i64) -> Option<Self> {
        Self::ONE.times(numerator, denominator)
    }

    /// Returns the length times `numerator` / `denominator`; `None` as in [`Quarters::new`].
    #[must_use]
    pub fn times(self, numerator: i64, denominator: i64) -> Option<Self> {
        if denominator <= 0 {
            return None;
        }
        let parts = match self.parts.checked_mul(numerator) {
            Some(parts) => (parts % denominator == 0).then(|| parts / denominator)?,
            // What is too long for 64 bits may fit them once it is divided.
            None => {
                let parts = i128::from(self.parts) * i128::from(numerator);
                let is_whole = parts % i128::from(denominator) == 0;
                i64::try_from(is_whole.then(|| parts / i128::from(denominator))?).ok()?
            }
        };
        (parts.unsigned_abs() <= 1_000_000 * PARTS.unsigned_abs()).then_some(Self { parts })
    }

    /// Returns the numerator and the denominator in lowest terms.
    #[must_use]
    pub fn fraction(self) -> (i64, i64) {
        let common = greatest_common(self.parts.unsigned_abs(), PARTS.unsigned_abs());
        let common = i64::try_from(common).unwrap_or(1).max(1);
        (self.parts / common, PARTS / common)
    }

    /// Returns the length as a decimal number, for drawing and sounding.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "a tune is far shorter than 2^53 parts times a rounding error heard"
    )]
    pub fn to_f64(self) -> f64 {
        self.parts as f64 / PARTS as f64
    }

    /// Returns how many whole `step`s fit, rounded down; 0 where `step` is not above zero.
    #[must_use]
    pub const fn whole_steps(self, step: Self) -> i64 {
        if step.parts <= 0 { 0 } else { self.parts.div_euclid(step.parts) }
    }

    /// Tells whether it is a whole number of `step`s.
    #[must_use]
    pub const fn is_multiple_of(self, step: Self) -> bool {
        step.parts > 0 && self.parts % step.parts == 0
    }
}

fn greatest_common(mut one: u64, mut other: u64) -> u64 {
    while other != 0 {
        (one, other) = (other, one % other);
    }
    one
}

impl Add for Quarters {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { parts: self.parts.saturating_add(other.parts) }
    }
}

impl Sub for Quarters {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { parts: self.parts.saturating_sub(other.parts) }
    }
}

impl Neg for Quarters {
    type Output = Self;
    fn neg(self) -> Self {
        Self { parts: self.parts.saturating_neg() }
    }
}

impl Sum for Quarters {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, Add::add)
    }
}

impl fmt::Display for Quarters {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.fraction() {
            (whole, 1) => write!(f, "{whole}"),
            (numerator, denominator) => write!(f, "{numerator}/{denominator}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_are_exact_and_written_in_lowest_terms() {
        let third = Quarters::new(1, 3).unwrap();
        assert_eq!(third + third + third, Quarters::ONE);
        assert_eq!(Quarters::new(-10, 4).unwrap().to_string(), "-5/2");
        assert_eq!(Quarters::new(0, 7).unwrap().to_string(), "0");
        assert_eq!(Quarters::new(7, 2).unwrap().times(2, 3).unwrap().fraction(), (7, 3));
        assert!(Quarters::new(1, 0).is_none() && Quarters::new(i64::MAX, 1).is_none());
    }
}
