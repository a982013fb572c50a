//! Equal-tempered pitches and their distances, in whole semitones.

use std::fmt;
use std::ops::{Add, Neg, Sub};

/// A distance in equal-tempered semitones. Positive means up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Semitones(i16);

impl Semitones {
    /// No distance.
    pub const ZERO: Self = Self(0);
    /// One octave up.
    pub const OCTAVE: Self = Self(12);

    /// Makes a distance of `count` semitones.
    #[must_use]
    pub const fn new(count: i16) -> Self {
        Self(count)
    }

    /// Returns the signed number of semitones.
    #[must_use]
    pub const fn get(self) -> i16 {
        self.0
    }

    /// Returns the distance without its direction.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl Add for Semitones {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Semitones {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Semitones {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

/// An equal-tempered pitch from C-1 (number 0) to G9 (number 127); C4, middle C, is number 60.
///
/// The numbering is the one of the MIDI 1.0 specification. Order is by height.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pitch(u8);

impl Pitch {
    /// The lowest pitch, C-1.
    pub const LOWEST: Self = Self(0);
    /// The highest pitch, G9.
    pub const HIGHEST: Self = Self(127);
    /// A4, which sounds at the reference pitch.
    pub const A4: Self = Self(69);

    /// Makes the pitch with this number, 0 to 127; `None` above.
    #[must_use]
    pub const fn from_number(number: u8) -> Option<Self> {
        if number <= Self::HIGHEST.0 { Some(Self(number)) } else { None }
    }

    /// Returns the pitch's number, 0 to 127.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// Returns the pitch `by` semitones away, or `None` outside C-1 to G9.
    ///
    /// ```
    /// use pegwise::theory::{Pitch, Semitones};
    /// assert_eq!(Pitch::A4.transpose(Semitones::OCTAVE).map(Pitch::number), Some(81));
    /// assert_eq!(Pitch::HIGHEST.transpose(Semitones::new(1)), None);
    /// ```
    #[must_use]
    pub fn transpose(self, by: Semitones) -> Option<Self> {
        let number = i16::from(self.0).checked_add(by.get())?;
        u8::try_from(number).ok().and_then(Self::from_number)
    }

    /// Returns which of the twelve pitch classes this is.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass(self.0 % 12)
    }

    /// Returns the octave number of scientific pitch notation: 4 for middle C up to the B above it.
    #[must_use]
    pub const fn octave(self) -> i8 {
        (self.0 / 12).cast_signed() - 1
    }

    /// Returns the pitch of `class` nearest to this one; the lower of two equally near (a tritone either way).
    ///
    /// Stays inside C-1 to G9.
    #[must_use]
    pub fn nearest_of(self, class: PitchClass) -> Self {
        let up = i16::from(self.class().up_to(class));
        let by = if up < 6 { up } else { up - 12 };
        [by, by + 12, by - 12].into_iter().find_map(|by| self.transpose(Semitones::new(by))).unwrap_or(self)
    }
}

impl Sub for Pitch {
    type Output = Semitones;
    fn sub(self, from: Self) -> Semitones {
        Semitones(i16::from(self.0) - i16::from(from.0))
    }
}

/// One of the twelve pitch classes, 0 for C to 11 for B.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PitchClass(u8);

impl PitchClass {
    /// Makes the class of any number of semitones above C; negative numbers count down.
    #[must_use]
    pub fn from_semitones_above_c(semitones: i16) -> Self {
        Self(semitones.rem_euclid(12).to_le_bytes()[0])
    }

    /// Returns the class as semitones above C, 0 to 11.
    #[must_use]
    pub const fn semitones_above_c(self) -> u8 {
        self.0
    }

    /// Returns the class `by` semitones away.
    #[must_use]
    pub fn transpose(self, by: Semitones) -> Self {
        Self::from_semitones_above_c(i16::from(self.0) + by.get() % 12)
    }

    /// Returns how many semitones up it is from here to the next `other`, 0 to 11.
    #[must_use]
    pub const fn up_to(self, other: Self) -> u8 {
        (other.0 + 12 - self.0) % 12
    }

    /// Returns all twelve, from C up.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..12).map(Self)
    }
}

/// A set of pitch classes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct PitchClassSet(u16);

impl PitchClassSet {
    /// The set without members.
    pub const EMPTY: Self = Self(0);

    /// Tells whether `class` is a member.
    #[must_use]
    pub const fn contains(self, class: PitchClass) -> bool {
        self.0 & (1 << class.0) != 0
    }

    /// Returns the set with `class` added.
    #[must_use]
    pub const fn with(self, class: PitchClass) -> Self {
        Self(self.0 | (1 << class.0))
    }

    /// Returns the members of both sets.
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Returns the members of this set that are not in `other`.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Tells whether every member is in `other` too.
    #[must_use]
    pub const fn is_subset_of(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// Tells whether there is no member.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Returns the number of members, 0 to 12.
    #[must_use]
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// Returns the members from C up.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> {
        PitchClass::all().filter(move |&class| self.contains(class))
    }
}

impl FromIterator<PitchClass> for PitchClassSet {
    fn from_iter<I: IntoIterator<Item = PitchClass>>(classes: I) -> Self {
        classes.into_iter().fold(Self::EMPTY, Self::with)
    }
}

impl fmt::Display for Semitones {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:+}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_pitch_of_a_class_is_within_a_tritone() {
        for number in 6..=121 {
            let from = Pitch::from_number(number).unwrap();
            for class in PitchClass::all() {
                let found = from.nearest_of(class);
                assert_eq!(found.class(), class);
                assert!((-6..6).contains(&(found - from).get()), "{from:?} {class:?} {found:?}");
            }
        }
    }

    #[test]
    fn the_nearest_pitch_stays_in_range_at_both_ends() {
        for from in [Pitch::LOWEST, Pitch::HIGHEST] {
            for class in PitchClass::all() {
                assert_eq!(from.nearest_of(class).class(), class);
            }
        }
    }

    #[test]
    fn sets_hold_what_was_put_in() {
        let set: PitchClassSet = [0, 4, 7].into_iter().map(PitchClass::from_semitones_above_c).collect();
        assert_eq!(set.len(), 3);
        assert_eq!(set.iter().map(PitchClass::semitones_above_c).collect::<Vec<_>>(), [0, 4, 7]);
        assert!(!set.contains(PitchClass::from_semitones_above_c(1)));
    }
}
