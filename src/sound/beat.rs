//! How fast two strings beat, from the partial they share.
//!
//! The sound around the shared partial is brought down to zero frequency; what is left is the sum of two decaying
//! exponentials, one a string, whose swelling is the beat. Their frequencies come from the two-dimensional subspace
//! that shifts into itself by one sample (ESPRIT: Roy & Kailath 1989, from memory), so less than one whole beat is
//! enough, and the two strings may decay at different rates. The beat rate is the distance of the two frequencies; which string
//! is the higher cannot be told from it.

use std::f64::consts::TAU;

use realfft::num_complex::Complex64;

use crate::theory::Hertz;

use super::onset::{BLOCK_S, Onsets};
use super::samples::{SampleRate, nearest_count, real};

/// How often the partial is sampled, in hertz.
const STEPS_PER_S: f64 = 50.0;
/// The length of sound behind each step, in seconds: with a Blackman-Harris window nothing 27 Hz away is let in.
const WINDOW_S: f64 = 0.15;
/// The longest stretch looked at, in seconds.
const LONGEST_S: f64 = 5.0;
/// The shortest stretch looked at, in seconds.
const SHORTEST_S: f64 = 0.6;
/// A beat is believed once this much of it has been heard.
const LEAST_BEAT: f64 = 0.55;
/// Weaker than this share of the stronger, the second string is not there.
const LEAST_DEPTH: f64 = 0.03;
/// Quieter than this the partial is not there, in amplitude: −80 dB of full scale.
const LEAST_AMPLITUDE: f64 = 1e-4;

/// What the shared partial of two strings does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beating {
    /// Too little has been heard since the strings were plucked, or the partial is too weak.
    NotYet,
    /// Slower than one beat in five seconds, or only one string sounds.
    Fused,
    /// Beats.
    Beats {
        /// Beats a second, 0.2 to 12.
        rate_per_s: f64,
        /// The weaker string's share of the stronger over the time they were heard, 0 to 1; a deep beat is easy to hear.
        depth: f64,
    },
}

impl Beating {
    /// The slowest beat that is told from none, in beats a second.
    pub const SLOWEST_PER_S: f64 = 0.2;
    /// The fastest beat that is counted, in beats a second.
    pub const FASTEST_PER_S: f64 = 12.0;
}

/// Listens to one partial.
#[derive(Clone, Debug)]
pub struct BeatMeter {
    rate: SampleRate,
    window: Vec<f64>,
    turn: Complex64,
    phase: Complex64,
    shifted: Vec<Complex64>,
    step: usize,
    steps: Vec<Complex64>,
    onsets: Onsets,
    block: Vec<f32>,
    since_pluck: usize,
}

impl BeatMeter {
    /// Listens around `shared`, the partial that both strings have.
    #[must_use]
    pub fn new(rate: SampleRate, shared: Hertz) -> Self {
        let length = rate.samples_in(WINDOW_S);
        let raw: Vec<f64> = (0..length)
            .map(|n| {
                let t = TAU * real(n) / real(length);
                0.35875 - 0.48829 * t.cos() + 0.14128 * (2.0 * t).cos() - 0.01168 * (3.0 * t).cos()
            })
            .collect();
        let gain: f64 = 0.5 * raw.iter().sum::<f64>();
        Self {
            rate,
            window: raw.iter().map(|weight| weight / gain).collect(),
            turn: Complex64::from_polar(1.0, -TAU * shared.get() / rate.per_s()),
            phase: Complex64::from(1.0),
            shifted: Vec::new(),
            step: nearest_count(rate.per_s() / STEPS_PER_S),
            steps: Vec::new(),
            onsets: Onsets::default(),
            block: Vec::new(),
            since_pluck: 0,
        }
    }

    /// Takes the next samples, in portions of any size. A pluck begins the measurement anew.
    pub fn push(&mut self, samples: &[f32]) {
        let block = self.rate.samples_in(BLOCK_S);
        for &value in samples {
            let value = if value.is_finite() { value } else { 0.0 };
            self.shifted.push(self.phase * f64::from(value));
            self.phase *= self.turn;
            self.since_pluck = self.since_pluck.saturating_add(1);
            self.block.push(value);
            if self.block.len() == block {
                if self.onsets.is_pluck(&self.block) {
                    self.since_pluck = 0;
                    self.steps.clear();
                }
                self.block.clear();
                // Rounding must not make the turning vector grow.
                self.phase /= self.phase.norm();
            }
            if self.shifted.len() == self.window.len() {
                if self.since_pluck >= self.window.len() {
                    self.take_step();
                }
                self.shifted.drain(..self.step.min(self.window.len()));
            }
        }
    }

    fn take_step(&mut self) {
        let sum: Complex64 = self.shifted.iter().zip(&self.window).map(|(value, weight)| value * weight).sum();
        if self.steps.len() >= nearest_count(LONGEST_S * STEPS_PER_S) {
            self.steps.remove(0);
        }
        self.steps.push(sum);
    }

    /// Returns the beat as heard since the last pluck, at most five seconds back.
    #[must_use]
    pub fn beating(&self) -> Beating {
        let heard_s = real(self.steps.len()) / STEPS_PER_S;
        let loudest = self.steps.iter().map(|step| step.norm()).fold(0.0, f64::max);
        if heard_s < SHORTEST_S || loudest < LEAST_AMPLITUDE {
            return Beating::NotYet;
        }
        let found = two_exponentials(&self.steps);
        let Some((rate_per_s, depth)) = found.filter(|(_, depth)| *depth >= LEAST_DEPTH) else {
            return if heard_s >= 2.0 { Beating::Fused } else { Beating::NotYet };
        };
        if rate_per_s * heard_s < LEAST_BEAT {
            if heard_s >= 0.8 * LONGEST_S { Beating::Fused } else { Beating::NotYet }
        } else if rate_per_s < Beating::SLOWEST_PER_S {
            Beating::Fused
        } else if rate_per_s > Beating::FASTEST_PER_S {
            Beating::NotYet
        } else {
            Beating::Beats { rate_per_s, depth }
        }
    }
}

/// Splits steps into two decaying exponentials: the distance of their frequencies in hertz, and the weaker's amplitude
/// as a share of the stronger's.
fn two_exponentials(steps: &[Complex64]) -> Option<(f64, f64)> {
    let rows = steps.len() / 3;
    let columns = steps.len() - rows + 1;
    // The two strongest left singular vectors of the Hankel matrix, by subspace iteration.
    let zero = Complex64::from(0.0);
    let mut basis = [vec![zero; rows], vec![zero; rows]];
    for (row, value) in steps.iter().take(rows).enumerate() {
        basis[0][row] = *value;
        basis[1][row] = steps[row + columns - 1];
    }
    orthonormal(&mut basis)?;
    for _ in 0..24 {
        for vector in &mut basis {
            let across: Vec<Complex64> = (0..columns)
                .map(|column| vector.iter().zip(&steps[column..]).map(|(v, step)| step.conj() * v).sum())
                .collect();
            for (row, slot) in vector.iter_mut().enumerate() {
                *slot = across.iter().zip(&steps[row..]).map(|(y, step)| step * y).sum();
            }
        }
        orthonormal(&mut basis)?;
    }
    // Least squares for the 2 × 2 matrix that shifts the subspace by one row.
    let dot = |a: &[Complex64], b: &[Complex64]| -> Complex64 { a.iter().zip(b).map(|(x, y)| x.conj() * y).sum() };
    let upper = |i: usize| &basis[i][..rows - 1];
    let lower = |i: usize| &basis[i][1..];
    let gram = [[dot(upper(0), upper(0)), dot(upper(0), upper(1))], [dot(upper(1), upper(0)), dot(upper(1), upper(1))]];
    let cross =
        [[dot(upper(0), lower(0)), dot(upper(0), lower(1))], [dot(upper(1), lower(0)), dot(upper(1), lower(1))]];
    let determinant = gram[0][0] * gram[1][1] - gram[0][1] * gram[1][0];
    if determinant.norm() < 1e-12 {
        return None;
    }
    let solve = |column: usize| {
        let (top, bottom) = (cross[0][column], cross[1][column]);
        ((gram[1][1] * top - gram[0][1] * bottom) / determinant, (gram[0][0] * bottom - gram[1][0] * top) / determinant)
    };
    let ((a, c), (b, d)) = (solve(0), solve(1));
    let half = (a + d) * 0.5;
    let root = (half * half - (a * d - b * c)).sqrt();
    let (one, two) = (half + root, half - root);
    let rate = ((one / two).arg() / TAU * STEPS_PER_S).abs();
    Some((rate, depth(steps, one, two)?))
}

/// Orthogonalises and scales two vectors; `None` when they are one.
fn orthonormal(basis: &mut [Vec<Complex64>; 2]) -> Option<()> {
    let [first, second] = basis;
    let scale = |vector: &mut [Complex64]| {
        let norm = vector.iter().map(Complex64::norm_sqr).sum::<f64>().sqrt();
        vector.iter_mut().for_each(|value| *value /= norm.max(1e-300));
        norm
    };
    let first_norm = scale(first);
    let along: Complex64 = first.iter().zip(second.iter()).map(|(x, y)| x.conj() * y).sum();
    second.iter_mut().zip(first.iter()).for_each(|(y, x)| *y -= x * along);
    let second_norm = scale(second);
    (first_norm > 1e-250 && second_norm > 1e-250).then_some(())
}

/// Returns the amplitude of the weaker of two exponentials as a share of the stronger, root mean square over the steps: a
/// string that dies first has been heard all the same.
fn depth(steps: &[Complex64], one: Complex64, two: Complex64) -> Option<f64> {
    let mut power = (Complex64::from(1.0), Complex64::from(1.0));
    let (mut g11, mut g22, mut g12) = (0.0, 0.0, Complex64::from(0.0));
    let (mut r1, mut r2) = (Complex64::from(0.0), Complex64::from(0.0));
    for step in steps {
        g11 += power.0.norm_sqr();
        g22 += power.1.norm_sqr();
        g12 += power.0.conj() * power.1;
        r1 += power.0.conj() * step;
        r2 += power.1.conj() * step;
        power = (power.0 * one, power.1 * two);
    }
    let determinant = g11 * g22 - g12.norm_sqr();
    if !determinant.is_finite() || determinant < 1e-12 * g11 * g22 {
        return None;
    }
    let (a, b) = ((r1 * g22 - g12 * r2) / determinant, (r2 * g11 - g12.conj() * r1) / determinant);
    let (a, b) = (a.norm() * g11.sqrt(), b.norm() * g22.sqrt());
    let most = a.max(b);
    (most > 0.0).then(|| a.min(b) / most)
}
