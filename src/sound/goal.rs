//! What is asked of one string, and what else may sound beside it.

use crate::theory::{Cents, Hertz};

/// How near another string must be to its pitch to be named, in cents.
const NAMED_CENTS: f64 = 100.0;
/// Nearer to the target than this, in cents, whatever else sounds there may be taken for the asked string: strings that
/// stayed drift, frets are off, a hard pluck begins sharp. Half a semitone and a little more.
const NEAR_CENTS: f64 = 60.0;

/// What is asked of one string.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// Where the string should sound.
    pub target: Hertz,
    /// Where it stands before it is tuned, if known: everything between there and the target is this string.
    pub from: Option<Hertz>,
    /// What else sounds while it is tuned: the other strings where they stand, and what it is compared with as that
    /// sounds, stopped or touched.
    pub others: Vec<Hertz>,
    /// What a player may sound besides: the references of other ways to compare it.
    pub possible: Vec<Hertz>,
    /// How far from the target counts as right, above zero. ±2 cents by default: the least that two tones sounded
    /// together can be told apart by (Ellis).
    pub tolerance: Cents,
    /// For how long it must have stood there, in seconds of its sound; 0.4 by default, so that with the time that a reading
    /// looks back a string is right 0.8 s after it stands still.
    pub hold_s: f64,
    /// For how long the last value stays in sight once the note is gone, in seconds; 1.5 by default.
    pub keep_s: f64,
    /// The level under which the tracker does not listen, in dB; as in [`Listening`](super::Listening).
    pub quietest_db: f64,
}

impl Goal {
    /// Asks for `target` with the usual tolerance and times.
    #[must_use]
    pub fn new(target: Hertz) -> Self {
        Self {
            target,
            from: None,
            others: Vec::new(),
            possible: Vec::new(),
            tolerance: Cents::new(2.0),
            hold_s: 0.4,
            keep_s: 1.5,
            quietest_db: super::Listening::default().quietest_db,
        }
    }

    /// Returns what must have been heard in this step before a pitch at the target is this string's.
    pub(super) fn wants(&self) -> Wanted {
        let near = NEAR_CENTS + self.tolerance.abs().get();
        let is_near = |other: &Hertz| Cents::between(self.target, *other).abs().get() <= near;
        if self.others.iter().any(is_near) {
            Wanted::Travel
        } else if self.possible.iter().any(is_near) {
            Wanted::OnTheWay
        } else {
            Wanted::Nothing
        }
    }
}

/// What it takes to know a string by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    /// Nothing else sounds near the target.
    Nothing,
    /// The string was heard away from the target in this step.
    OnTheWay,
    /// One note was heard to move to the target.
    Travel,
}

/// Returns which of `strings` is nearest to `frequency`, if one lies within 100 cents; the first of equals.
#[must_use]
pub fn nearest_string(strings: &[Hertz], frequency: Hertz) -> Option<usize> {
    let distances = strings.iter().map(|string| Cents::between(*string, frequency).abs().get()).enumerate();
    distances.filter(|(_, off)| *off <= NAMED_CENTS).min_by(|a, b| a.1.total_cmp(&b.1)).map(|(which, _)| which)
}
