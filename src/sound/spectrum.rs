//! The partials in a stretch of sound: peaks of its spectrum under a Gaussian window.
//!
//! Under a Gaussian window the logarithm of a steady or exponentially decaying partial's spectrum is a parabola
//! centred on the partial, so three bins give its frequency without bias (from memory; the window's cut ends add
//! side lobes 57 dB down).

use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};

use super::samples::{nearest_count, real, sample};

/// The window's length in standard deviations of its bell.
const WIDTH_IN_DEVIATIONS: f64 = 6.0;
/// Nothing below this is looked at, in hertz.
const LOWEST_HZ: f64 = 24.0;
/// Nothing above this is looked at, in hertz: the filter before lets no more through whole.
const HIGHEST_HZ: f64 = 4200.0;
/// How far a peak must stand over the mean of the noise around it, in power: 11.5 dB, which one bin of noise in a
/// million reaches.
const OVER_NOISE: f64 = 14.0;
/// The lower quartile of noise power as a share of its mean: −ln(0.75) for an exponential distribution.
const QUARTILE_OF_NOISE: f64 = 0.2877;
/// Peaks weaker than this share of the strongest are dropped, in power: −50 dB.
const WEAKEST: f32 = 1e-5;
/// The most peaks kept, the strongest.
const MOST_PEAKS: usize = 48;

/// One partial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Peak {
    /// Where, in hertz.
    pub(super) hz: f64,
    /// Half its amplitude squared: a sine at full scale has 0.5.
    pub(super) power: f64,
    /// The standard deviation of `hz` that the noise around it causes, in hertz (asymptotic, for this window).
    pub(super) deviation_hz: f64,
}

/// What a stretch of sound holds.
#[derive(Clone, Debug, Default)]
pub(super) struct Partials {
    /// The peaks, from the lowest up.
    pub(super) peaks: Vec<Peak>,
    /// The power between 24 and 4200 Hz, in the units of [`Peak::power`].
    pub(super) total_power: f64,
}

/// A window of one length and its transform.
pub(super) struct Spectrum {
    seconds: f64,
    bin_hz: f64,
    window: Vec<f32>,
    power_of_tone: f64,
    power_of_noise: f64,
    transform: Arc<dyn RealToComplex<f32>>,
    input: Vec<f32>,
    output: Vec<Complex32>,
    scratch: Vec<Complex32>,
    power: Vec<f32>,
    sorted: Vec<f32>,
}

impl fmt::Debug for Spectrum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Spectrum").field("seconds", &self.seconds).finish_non_exhaustive()
    }
}

impl Spectrum {
    /// Makes a window of about `seconds` at `rate_hz` samples a second.
    pub(super) fn new(planner: &mut RealFftPlanner<f32>, rate_hz: f64, seconds: f64) -> Self {
        let length = nearest_count(seconds * rate_hz).max(16);
        let size = if seconds < 0.4 { 2 * length } else { length + length / 3 }.next_power_of_two();
        let middle = 0.5 * real(length - 1);
        let deviation = real(length) / WIDTH_IN_DEVIATIONS;
        let bell: Vec<f64> = (0..length).map(|n| (-0.5 * ((real(n) - middle) / deviation).powi(2)).exp()).collect();
        let (sum, squares) = (bell.iter().sum::<f64>(), bell.iter().map(|w| w * w).sum::<f64>());
        let transform = planner.plan_fft_forward(size);
        let top = nearest_count(HIGHEST_HZ.min(0.47 * rate_hz) / rate_hz * real(size));
        Self {
            seconds: real(length) / rate_hz,
            bin_hz: rate_hz / real(size),
            window: bell.iter().map(|&w| sample(w)).collect(),
            power_of_tone: 2.0 / (sum * sum),
            power_of_noise: 2.0 / (squares * real(size)),
            input: transform.make_input_vec(),
            output: transform.make_output_vec(),
            scratch: transform.make_scratch_vec(),
            transform,
            power: vec![0.0; top + 2],
            sorted: Vec::with_capacity(top + 2),
        }
    }

    /// Returns the window's length in seconds.
    pub(super) fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Returns the window's length in samples.
    pub(super) fn len(&self) -> usize {
        self.window.len()
    }

    /// Finds the partials in the last samples of `recent`, which must hold a window's length.
    pub(super) fn partials(&mut self, recent: &[f32]) -> Partials {
        let stretch = &recent[recent.len() - self.window.len()..];
        for ((slot, value), weight) in self.input.iter_mut().zip(stretch).zip(&self.window) {
            *slot = value * weight;
        }
        self.input[self.window.len()..].fill(0.0);
        self.transform
            .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch)
            .expect("the buffers were made for this transform");
        for (slot, value) in self.power.iter_mut().zip(&self.output) {
            *slot = value.norm_sqr();
        }
        let first = nearest_count((LOWEST_HZ / self.bin_hz).ceil()).max(1);
        let total: f64 = self.power[first..].iter().map(|&power| f64::from(power)).sum();
        Partials { peaks: self.peaks(first), total_power: total * self.power_of_noise }
    }

    fn peaks(&mut self, first: usize) -> Vec<Peak> {
        let end = self.power.len() - 1;
        let strongest = self.power[first..end].iter().fold(0.0_f32, |most, &power| most.max(power));
        let weakest = (strongest * WEAKEST).max(1e-16);
        let mut peaks = Vec::with_capacity(2 * MOST_PEAKS);
        // Noise is judged in bands that widen upwards as room noise does.
        let mut from = first;
        while from < end {
            let until = (from + nearest_count((200.0 / self.bin_hz).max(24.0).max(real(from) * 0.3))).min(end);
            let until = if end - until < 24 { end } else { until };
            self.sorted.clear();
            let step = (until - from) / 256 + 1;
            self.sorted.extend(self.power[from..until].iter().step_by(step));
            let middle = self.sorted.len() / 4;
            let quartile = *self.sorted.select_nth_unstable_by(middle, f32::total_cmp).1;
            let noise = f64::from(quartile).max(1e-20) / QUARTILE_OF_NOISE;
            let threshold = weakest.max(sample(noise * OVER_NOISE));
            for bin in from..until {
                let (left, here, right) = (self.power[bin - 1], self.power[bin], self.power[bin + 1]);
                if here > threshold && here > left && here >= right {
                    peaks.push(self.peak(bin, noise));
                }
            }
            from = until;
        }
        if peaks.len() > MOST_PEAKS {
            peaks.sort_by(|a: &Peak, b| b.power.total_cmp(&a.power));
            peaks.truncate(MOST_PEAKS);
            peaks.sort_by(|a, b| a.hz.total_cmp(&b.hz));
        }
        peaks
    }

    /// Measures the peak around `bin`.
    ///
    /// Deviation from noise of mean power N beside a peak of power P: √(N / P) · 6 / (4π·T), which follows from the
    /// first-order error of the spectrum's maximum, ½·√(N / P) / σ_t radians a second, with σ_t = T / 6.
    fn peak(&self, bin: usize, noise: f64) -> Peak {
        let log = |power: f32| f64::from(power.max(1e-30)).ln();
        let (left, here, right) = (log(self.power[bin - 1]), log(self.power[bin]), log(self.power[bin + 1]));
        let curve = (left - 2.0 * here + right).min(-1e-9);
        let offset = (0.5 * (left - right) / curve).clamp(-0.5, 0.5);
        let top = (here - 0.25 * (left - right) * offset).exp();
        Peak {
            hz: (real(bin) + offset) * self.bin_hz,
            power: top * self.power_of_tone,
            deviation_hz: (noise / top).sqrt() * WIDTH_IN_DEVIATIONS / (4.0 * PI * self.seconds),
        }
    }
}
