//! Fewer samples a second: what lies above the strings' partials is filtered away.

use std::f64::consts::PI;

use super::samples::{SampleRate, real, sample};

/// The slowest rate that sound is brought down to, in samples a second; slower input is left as it is.
const SLOWEST_HZ: u32 = 11_000;
/// Filter taps for each step of the factor.
const TAPS_PER_STEP: u32 = 24;

/// Keeps one sample in `factor` after a linear-phase lowpass (a sinc under a Blackman window), and takes away what lies
/// below the lowest string.
#[derive(Clone, Debug)]
pub(super) struct Decimator {
    factor: usize,
    rate_hz: f64,
    taps: Vec<f32>,
    waiting: Vec<f32>,
    skip: usize,
    drift: f64,
    drift_step: f64,
}

impl Decimator {
    /// Makes the decimator that brings `rate` down to 11 000 to 22 000 samples a second.
    pub(super) fn new(rate: SampleRate) -> Self {
        let factor = (rate.get() / SLOWEST_HZ).max(1);
        let rate_hz = rate.per_s() / f64::from(factor);
        let taps = if factor == 1 { vec![1.0] } else { lowpass(factor) };
        let waiting = vec![0.0; taps.len() - 1];
        let factor = usize::try_from(factor).expect("at most 17");
        Self {
            factor,
            rate_hz,
            taps,
            waiting,
            skip: 0,
            drift: 0.0,
            drift_step: 1.0 - (-2.0 * PI * 8.0 / rate_hz).exp(),
        }
    }

    /// Returns the rate that comes out, in samples a second.
    pub(super) fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// Filters `samples` and appends what remains to `out`. What is not a finite number counts as silence.
    pub(super) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        self.waiting.extend(samples.iter().map(|value| if value.is_finite() { value.clamp(-8.0, 8.0) } else { 0.0 }));
        let mut at = self.skip;
        while let Some(stretch) = self.waiting.get(at..at + self.taps.len()) {
            let value = f64::from(dot(stretch, &self.taps));
            self.drift += self.drift_step * (value - self.drift);
            out.push(sample(value - self.drift));
            at += self.factor;
        }
        let used = at.min(self.waiting.len());
        self.skip = at - used;
        self.waiting.drain(..used);
    }
}

/// Returns the taps of a lowpass at half the rate that comes out, with unit gain at zero frequency.
fn lowpass(factor: u32) -> Vec<f32> {
    let count = TAPS_PER_STEP * factor;
    let middle = 0.5 * f64::from(count - 1);
    let raw: Vec<f64> = (0..count)
        .map(|tap| {
            let x = (f64::from(tap) - middle) / f64::from(factor);
            let sinc = (PI * x).sin() / (PI * x);
            let turn = 2.0 * PI * f64::from(tap) / f64::from(count - 1);
            sinc * (0.42 - 0.5 * turn.cos() + 0.08 * (2.0 * turn).cos())
        })
        .collect();
    let gain: f64 = raw.iter().sum();
    raw.iter().map(|tap| sample(tap / gain)).collect()
}

/// Multiplies and adds, eight sums side by side so that the compiler can use wide registers.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0_f32; 8];
    let (a_chunks, b_chunks) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f32 = a_chunks.remainder().iter().zip(b_chunks.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a_chunks.zip(b_chunks) {
        for ((sum, x), y) in sums.iter_mut().zip(x).zip(y) {
            *sum += x * y;
        }
    }
    sums.iter().sum::<f32>() + rest
}

/// Returns the mean square of `samples`, 0 for none.
pub(super) fn mean_square(samples: &[f32]) -> f64 {
    if samples.is_empty() { 0.0 } else { f64::from(dot(samples, samples)) / real(samples.len()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_comes_out_whatever_the_portions() {
        let input: Vec<f32> = (0..5000_u16).map(|n| (f32::from(n) * 0.37).sin()).collect();
        let (mut whole, mut parts) = (Vec::new(), Vec::new());
        Decimator::new(SampleRate::COMMON).push(&input, &mut whole);
        let mut decimator = Decimator::new(SampleRate::COMMON);
        for portion in input.chunks(7) {
            decimator.push(portion, &mut parts);
        }
        assert_eq!(whole, parts);
        assert_eq!(whole.len(), 1250);
    }

    #[test]
    fn strings_pass_and_what_would_fold_back_does_not() {
        for (hz, passes) in [(100.0, true), (4000.0, true), (8000.0, false), (11_000.0, false)] {
            let input: Vec<f32> =
                (0..48_000_u16).map(|n| sample((2.0 * PI * hz * f64::from(n) / 48_000.0).sin())).collect();
            let mut out = Vec::new();
            Decimator::new(SampleRate::COMMON).push(&input, &mut out);
            let db = super::super::samples::level_db(2.0 * mean_square(&out[6000..]));
            assert!(if passes { db.abs() < 0.1 } else { db < -60.0 }, "{hz} Hz: {db} dB");
        }
    }
}
