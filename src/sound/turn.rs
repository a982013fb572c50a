//! A peg that is turned while its string rings: the string's sound, read at a speed that changes.

use crate::theory::Cents;

use super::pluck::Pluck;
use super::samples::{SampleRate, real};

/// How far a string's pitch stands from its own after the pluck, and when it comes there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// How far from its pitch it begins; positive means sharp. At most an octave is turned.
    pub from: Cents,
    /// For how long it stays there, in seconds; 0 or more.
    pub wait_s: f64,
    /// How long it then takes to its pitch, in seconds above zero: the frequency goes evenly.
    pub over_s: f64,
}

impl Turn {
    /// Returns the pitch `at_s` seconds after the pluck as a factor of its own.
    fn factor(&self, at_s: f64) -> f64 {
        let left = 1.0 - ((at_s - self.wait_s) / self.over_s.max(1e-3)).clamp(0.0, 1.0);
        1.0 + (2_f64.powf(self.from.get().clamp(-1200.0, 1200.0) / 1200.0) - 1.0) * left
    }
}

/// A string being turned.
///
/// Between the samples of the string the sound is a cubic through four of them (Catmull & Rom 1974).
#[derive(Clone, Debug)]
pub(super) struct Turning {
    turn: Turn,
    per_s: f64,
    sounded: usize,
    place: f64,
    around: [f64; 4],
}

impl Turning {
    pub(super) fn new(turn: Turn, rate: SampleRate) -> Self {
        Self { turn, per_s: rate.per_s(), sounded: 0, place: 3.0, around: [0.0; 4] }
    }

    /// Adds the next samples of `string` to `out`, turned.
    pub(super) fn add(&mut self, string: &mut Pluck, out: &mut [f64]) {
        for slot in out {
            while self.place >= 1.0 {
                let mut next = [0.0];
                string.add_to(&mut next);
                let [_, one, two, three] = self.around;
                self.around = [one, two, three, next[0]];
                self.place -= 1.0;
            }
            let ([before, here, next, after], t) = (self.around, self.place);
            let slope = 0.5 * (next - before);
            let curve = before - 2.5 * here + 2.0 * next - 0.5 * after;
            let twist = 1.5 * (here - next) + 0.5 * (after - before);
            *slot += here + t * (slope + t * (curve + t * twist));
            self.place += self.turn.factor(real(self.sounded) / self.per_s);
            self.sounded += 1;
        }
    }
}
