//! Beats: how fast two tones pulse when nearly in tune, and what a pulse means in cents.

use crate::theory::{Cents, Hertz};

/// How fast two tones beat, in beats per second. Positive when their interval is wider than the whole-number ratio it
/// is heard against, negative when narrower; what is heard is [`BeatRate::abs`].
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct BeatRate(f64);

/// The slowest beat that is told from none while two plucked strings ring: one in two seconds. From memory.
pub const SLOWEST_BEAT: BeatRate = BeatRate(0.5);
/// The fastest beat a player can count; faster ones are taken for roughness. From memory.
pub const FASTEST_BEAT: BeatRate = BeatRate(4.0);

impl BeatRate {
    /// No beat: the tones fuse.
    pub const NONE: Self = Self(0.0);

    /// Makes a rate; anything that is not a finite number counts as none.
    #[must_use]
    pub const fn new(per_second: f64) -> Self {
        if per_second.is_finite() { Self(per_second) } else { Self::NONE }
    }

    /// Returns the rate of the interval from `low` up to `high` against the ratio `upper`:`lower`.
    ///
    /// The partials that nearly coincide are number `upper` of the low tone and number `lower` of the high one, so the
    /// rate is `lower` · `high` − `upper` · `low` (Helmholtz; the convention of piano tuners: positive is wide).
    ///
    /// ```
    /// use pegwise::{retune::BeatRate, theory::Hertz};
    /// let (low, high) = (Hertz::new(110.0).unwrap(), Hertz::new(166.0).unwrap());
    /// assert_eq!(BeatRate::between(low, high, 3, 2).per_second(), 2.0);
    /// ```
    #[must_use]
    pub fn between(low: Hertz, high: Hertz, upper: u8, lower: u8) -> Self {
        Self::new(f64::from(lower) * high.get() - f64::from(upper) * low.get())
    }

    /// Tells whether a player can count it: from [`SLOWEST_BEAT`] to [`FASTEST_BEAT`], both included.
    #[must_use]
    pub fn is_countable(self) -> bool {
        (SLOWEST_BEAT.0..=FASTEST_BEAT.0).contains(&self.0.abs())
    }

    /// Returns the signed number of beats per second.
    #[must_use]
    pub const fn per_second(self) -> f64 {
        self.0
    }

    /// Returns the rate as heard, without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// Returns how far one of two tones is off when their partials at `coinciding` beat once a second.
///
/// 1200 · log2((`coinciding` + 1) / `coinciding`), near 1731 / `coinciding`; never negative.
#[must_use]
pub fn cents_per_beat(coinciding: Hertz) -> Cents {
    Hertz::new(coinciding.get() + 1.0).map_or(Cents::ZERO, |faster| Cents::between(coinciding, faster))
}
