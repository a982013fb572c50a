//! Hertz, cents and the reference pitch; the only file that takes a logarithm of a frequency.

use super::pitch::{Pitch, Semitones};

/// A frequency in hertz: finite and above zero.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Hertz(f64);

impl Hertz {
    /// Makes a frequency; `None` unless `value` is finite and above zero.
    #[must_use]
    pub fn new(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self(value))
    }

    /// Returns the number of cycles a second.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Returns the frequency of partial `number` (1 is the note itself) of an ideal string at this frequency.
    #[must_use]
    pub fn partial(self, number: u8) -> Self {
        Self(self.0 * f64::from(number.max(1)))
    }

    /// Returns the frequency `by` cents away. Beyond ±12 000 cents the distance counts as ±12 000, so the result stays finite.
    #[must_use]
    pub fn shifted(self, by: Cents) -> Self {
        Self(self.0 * (by.0.clamp(-12_000.0, 12_000.0) / 1200.0).exp2())
    }
}

/// A distance between two pitches in cents: 1200 to the octave, 100 to the equal-tempered semitone. Positive means up.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Cents(f64);

impl Cents {
    /// No distance.
    pub const ZERO: Self = Self(0.0);

    /// Makes a distance; anything that is not a finite number counts as none.
    #[must_use]
    pub const fn new(cents: f64) -> Self {
        if cents.is_finite() { Self(cents) } else { Self::ZERO }
    }

    /// Returns the distance from `from` up to `to`: 1200 · log2(`to` / `from`).
    ///
    /// Never NaN: a [`Hertz`] is finite and above zero.
    #[must_use]
    pub fn between(from: Hertz, to: Hertz) -> Self {
        Self(1200.0 * (to.0 / from.0).log2())
    }

    /// Returns the size in cents, signed.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Returns the distance without its direction.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl From<Semitones> for Cents {
    fn from(distance: Semitones) -> Self {
        Self(100.0 * f64::from(distance.get()))
    }
}

impl std::ops::Add for Cents {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::ops::Sub for Cents {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl std::ops::Neg for Cents {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// The frequency of A4, 390 to 470 Hz; 440 Hz (ISO 16:1975) unless set.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct ReferencePitch(Hertz);

impl ReferencePitch {
    /// The lowest A4 accepted, in hertz: a little under baroque practice.
    pub const LOWEST_HZ: f64 = 390.0;
    /// The highest A4 accepted, in hertz: a little over the highest historical church pitch.
    pub const HIGHEST_HZ: f64 = 470.0;
    /// ISO 16:1975.
    pub const CONCERT_A_HZ: f64 = 440.0;

    /// Makes a reference pitch; `None` outside 390 to 470 Hz.
    #[must_use]
    pub fn new(a4_hz: f64) -> Option<Self> {
        if !(Self::LOWEST_HZ..=Self::HIGHEST_HZ).contains(&a4_hz) {
            return None;
        }
        Hertz::new(a4_hz).map(Self)
    }

    /// Returns the frequency of A4.
    #[must_use]
    pub const fn a4(self) -> Hertz {
        self.0
    }

    /// Returns the equal-tempered frequency of `pitch`: A4 · 2^((number − 69) / 12).
    #[must_use]
    pub fn frequency(self, pitch: Pitch) -> Hertz {
        let semitones = f64::from((pitch - Pitch::A4).get());
        Hertz(self.0.0 * (semitones / 12.0).exp2())
    }
}

impl Default for ReferencePitch {
    fn default() -> Self {
        Self(Hertz(Self::CONCERT_A_HZ))
    }
}

/// Returns how far the equal-tempered interval of `size` lies from the whole-number ratio `upper`:`lower`; positive
/// when the tempered interval is the wider.
///
/// 100 · `size` − 1200 · log2(`upper` / `lower`): −1.955 cents for a fifth against 3:2.
#[must_use]
pub fn equal_tempered_error(size: Semitones, upper: u8, lower: u8) -> Cents {
    let ratio = f64::from(upper.max(1)) / f64::from(lower.max(1));
    Cents(Cents::from(size).0 - 1200.0 * ratio.log2())
}
