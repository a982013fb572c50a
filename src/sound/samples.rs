//! Sample rates, and the few places where a number becomes a sample or a count.

/// A number of samples a second, 8000 to 192 000.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SampleRate(u32);

impl SampleRate {
    /// The slowest rate accepted, in samples a second.
    pub const LOWEST_HZ: u32 = 8_000;
    /// The fastest rate accepted, in samples a second.
    pub const HIGHEST_HZ: u32 = 192_000;
    /// 48 000 samples a second: what most telephones run at.
    pub const COMMON: Self = Self(48_000);

    /// Makes a rate; `None` outside 8000 to 192 000.
    #[must_use]
    pub fn new(samples_per_s: u32) -> Option<Self> {
        (Self::LOWEST_HZ..=Self::HIGHEST_HZ).contains(&samples_per_s).then_some(Self(samples_per_s))
    }

    /// Returns the number of samples a second.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Returns the number of samples a second as a real number.
    #[must_use]
    pub fn per_s(self) -> f64 {
        f64::from(self.0)
    }

    /// Returns the whole number of samples nearest to `seconds`; none for anything below zero, a day for anything
    /// longer.
    #[must_use]
    pub fn samples_in(self, seconds: f64) -> usize {
        nearest_count(seconds.clamp(0.0, 86_400.0) * self.per_s())
    }
}

/// Returns the whole number nearest to `value`; 0 for a negative or undefined one.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the cast saturates, as documented")]
pub(super) fn nearest_count(value: f64) -> usize {
    value.round() as usize
}

/// Returns `count` as a real number; exact up to 2^53, far beyond any recording.
#[expect(clippy::cast_precision_loss, reason = "counts of samples stay below 2^53")]
pub(super) fn real(count: usize) -> f64 {
    count as f64
}

/// Rounds to the nearest 32-bit sample value.
#[expect(clippy::cast_possible_truncation, reason = "rounding to f32 is what is asked for")]
pub(super) fn sample(value: f64) -> f32 {
    value as f32
}

/// Returns decibels below full scale of a mean square (1.0 is a square wave at full scale); −200 for silence.
pub(super) fn level_db(mean_square: f64) -> f64 {
    10.0 * mean_square.max(1e-20).log10()
}
