//! A comparison of two courses by ear: what sounds on each side, and what it sounds like when right.

use crate::instrument::{CourseIndex, Fret};
use crate::theory::{Cents, Pitch};

use super::beats::{BeatRate, SLOWEST_BEAT};

/// How a string is sounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Touch {
    /// Nothing touches it.
    Open,
    /// Stopped at a fret.
    Stopped,
    /// Touched lightly over a fret and let ring: a natural harmonic.
    Harmonic,
}

/// One side of a comparison: what sounds, and which of its partials is listened to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sounding {
    /// Which course; of a pair, its lowest string.
    pub course: CourseIndex,
    /// Where it is stopped or touched, counted from the real nut without capo; open is 0.
    pub fret: Fret,
    /// Which partial to listen to: 1 for the note itself, 2 for its octave partial or the 12th-fret harmonic.
    pub partial: u8,
    /// How it is sounded.
    pub touch: Touch,
}

/// How two courses are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MatchKind {
    /// Both sound the same note.
    Unison,
    /// One sounds an octave or two above the other.
    Octave,
    /// A natural harmonic on at least one.
    Harmonic,
    /// The phone sounds the note.
    Tone,
}

/// A way to bring a course right by ear, with what it sounds like then.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    pub(super) kind: MatchKind,
    pub(super) reference: Option<Sounding>,
    pub(super) reference_open: Option<Pitch>,
    pub(super) leans_on_old: bool,
    pub(super) tuned: Sounding,
    pub(super) beats: BeatRate,
    pub(super) cents_per_beat: Cents,
    pub(super) lean: Cents,
    /// The error this comparison adds, in cents².
    pub(super) variance: f64,
    /// The work it is, in the same coin.
    pub(super) effort: f64,
}

impl Match {
    /// Returns how they are compared.
    #[must_use]
    pub const fn kind(&self) -> MatchKind {
        self.kind
    }

    /// Returns the side that is right already; `None` for the phone's tone, which sounds the note itself.
    #[must_use]
    pub const fn reference(&self) -> Option<Sounding> {
        self.reference
    }

    /// Returns the open pitch of the reference's course while it is leant on; `None` for the phone's tone.
    #[must_use]
    pub const fn reference_open(&self) -> Option<Pitch> {
        self.reference_open
    }

    /// Tells whether the reference still stands at its old pitch and is to move later.
    #[must_use]
    pub const fn leans_on_old_pitch(&self) -> bool {
        self.leans_on_old
    }

    /// Returns the side that is being tuned.
    #[must_use]
    pub const fn tuned(&self) -> Sounding {
        self.tuned
    }

    /// Returns the beats when the course is exactly right: none, or what equal temperament needs. Positive when the
    /// interval between the two courses is wider than pure. What the player is asked to hear is [`Match::counted`].
    #[must_use]
    pub const fn beats(&self) -> BeatRate {
        self.beats
    }

    /// Returns the beats to count; `None` where the two are brought to rest, be it because that is exactly right or
    /// because the beats would be too slow to be told from none.
    #[must_use]
    pub fn counted(&self) -> Option<BeatRate> {
        self.beats.is_countable().then_some(self.beats)
    }

    /// Returns how far the course ends off its mark when the player does as asked: what bringing it to rest leaves where
    /// the beats would be too slow to count, else 0. Positive is sharp.
    #[must_use]
    pub fn left_off(&self) -> Cents {
        if self.beats.is_countable() { Cents::ZERO } else { -self.lean }
    }

    /// Returns how far the course is off for each beat per second more or less than [`Match::beats`].
    #[must_use]
    pub const fn cents_per_beat(&self) -> Cents {
        self.cents_per_beat
    }

    /// Returns how far above beatless the tuned course lies when right: 0 but for harmonics of fifths and thirds.
    #[must_use]
    pub const fn lean(&self) -> Cents {
        self.lean
    }

    /// Returns the error this comparison adds, as a standard deviation; never negative.
    #[must_use]
    pub fn error(&self) -> Cents {
        Cents::new(self.variance.sqrt())
    }

    /// Returns the slowest beat to aim for around [`Match::beats`]: slower ones are not told from none.
    #[must_use]
    pub const fn slowest_beat(&self) -> BeatRate {
        SLOWEST_BEAT
    }

    /// Returns how far off the course still is at [`Match::slowest_beat`].
    #[must_use]
    pub fn slowest_beat_error(&self) -> Cents {
        Cents::new(self.cents_per_beat.get() * SLOWEST_BEAT.per_second())
    }

    /// Returns what the plan weighs: variance and work, in cents².
    pub(super) fn cost(&self) -> f64 {
        self.variance + self.effort
    }
}
