//! A plucked string: a delay loop whose first pole lies exactly where the asked pitch and decay put it.
//!
//! Karplus & Strong 1983, Jaffe & Smith 1983: a travelling wave goes round a delay line, through a filter that takes
//! the high partials first, an allpass for the fraction of a sample, and a chain of allpasses that delay the low
//! partials more than the high ones, as stiffness does. The loop's poles solve z^N = g·H(z)·F(z)·A(z)^M. Pitch and
//! decay of the first partial fix one pole, z₁ = 10^(−3 / (decay·rate))·e^(iω₁); F and g are solved from that equation
//! itself, so every filter's own delay is accounted for.

use std::f64::consts::{PI, TAU};

use realfft::num_complex::Complex64;

use crate::theory::Hertz;

use super::samples::{SampleRate, nearest_count, real};
use super::tone::Tone;

/// Lowest pitch that can be sounded, in hertz; a semitone and more under B0.
const LOWEST_HZ: f64 = 25.0;
/// Highest pitch that can be sounded, in hertz, where the rate is fast enough.
const HIGHEST_HZ: f64 = 2500.0;
/// How long a stopped string takes to fall silent, in seconds; long enough not to click.
const RELEASE_S: f64 = 0.03;
/// A string is over when its first partial has fallen by this many of its decays (of 60 dB each).
const DECAYS_KEPT: f64 = 1.3;
/// The most partials in the pluck.
const MOST_PARTIALS: usize = 64;
/// Partials above this frequency are not plucked, in hertz.
const HIGHEST_PARTIAL_HZ: f64 = 9000.0;
/// The most allpasses in the chain that makes the string stiff.
const MOST_STAGES: usize = 8;

/// The filters of the loop.
#[derive(Clone, Copy, Debug)]
struct Loop {
    delay: usize,
    fraction: f64,
    stiffness: f64,
    stages: u8,
    damping: f64,
    gain: f64,
}

/// (c + z⁻¹) / (1 + c·z⁻¹)
fn allpass(c: f64, z_inverse: Complex64) -> Complex64 {
    (z_inverse + c) / (z_inverse * c + 1.0)
}

/// (1 − p) / (1 − p·z⁻¹)
fn lowpass(p: f64, z_inverse: Complex64) -> Complex64 {
    Complex64::from(1.0 - p) / (Complex64::from(1.0) - z_inverse * p)
}

/// Halves the interval `low..high` sixty times; `is_low` tells whether the answer lies above.
fn bisect(mut low: f64, mut high: f64, is_low: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if is_low(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

impl Loop {
    /// Solves the loop for a pitch of `omega` radians a sample and the first partial's `decay` in samples (60 dB).
    fn design(omega: f64, decay: f64, tone: Tone) -> Option<Self> {
        let damping = Self::damping(omega, decay, tone.brightness.clamp(0.05, 1.0));
        let stages = if omega < 0.016 { 8 } else { 4 };
        let b = tone.inharmonicity.clamp(0.0, 1e-3);
        let limp = Self::tuned(omega, decay, damping, 0, 0.0)?;
        if b < 1e-7 {
            return Some(limp);
        }
        let partial = (0.4 / omega).floor().clamp(3.0, 14.0);
        let stretched = omega * partial * ((1.0 + b * partial * partial) / (1.0 + b)).sqrt();
        let target = TAU * partial;
        // The more negative the coefficient, the less phase the stretched partial collects.
        let coefficient = bisect(-0.97, 0.0, |c| {
            Self::tuned(omega, decay, damping, stages, c).is_none_or(|made| made.phase_lag(stretched) < target)
        });
        Some(Self::tuned(omega, decay, damping, stages, coefficient).unwrap_or(limp))
    }

    /// Finds the lowpass that gives the tenth partial (or the highest under 0.45 of the rate) its share of the decay,
    /// as far as the loop stays stable: its gain at zero frequency, the largest anywhere, must stay below one.
    fn damping(omega: f64, decay: f64, brightness: f64) -> f64 {
        let high = (10.0 * omega).min(0.9 * PI);
        let gain_per_period = |samples: f64| 10_f64.powf(-3.0 * (TAU / omega) / samples);
        let (first, last) = (gain_per_period(decay), gain_per_period(decay * brightness));
        let at = |p: f64, w: f64| lowpass(p, Complex64::from_polar(1.0, -w)).norm();
        bisect(0.0, 0.99, |p| at(p, high) / at(p, omega) > last / first && first / at(p, omega) < 1.0 - 1e-7)
    }

    /// Puts the first pole where it belongs; `None` when the loop is shorter than its filters.
    fn tuned(omega: f64, decay: f64, damping: f64, stages: u8, stiffness: f64) -> Option<Self> {
        let pole = Complex64::from_polar(10_f64.powf(-3.0 / decay), omega);
        let inverse = pole.inv();
        let chain = allpass(stiffness, inverse);
        let lag = -lowpass(damping, inverse).arg() - f64::from(stages) * chain.arg();
        let left = (TAU - lag) / omega;
        if left < 1.6 {
            return None;
        }
        let whole = (left - 0.5).floor();
        let rest = (left - whole) * omega;
        // A smaller coefficient delays more.
        let fraction = bisect(-0.5, 0.5, |c| -allpass(c, inverse).arg() > rest);
        let around = lowpass(damping, inverse)
            * allpass(fraction, inverse)
            * chain.powi(i32::from(stages))
            * inverse.powf(whole);
        Some(Self { delay: nearest_count(whole), fraction, stiffness, stages, damping, gain: around.norm().recip() })
    }

    /// Returns the phase a wave of `omega` radians a sample loses on its way round the loop.
    fn phase_lag(&self, omega: f64) -> f64 {
        let inverse = Complex64::from_polar(1.0, -omega);
        omega * real(self.delay)
            - lowpass(self.damping, inverse).arg()
            - allpass(self.fraction, inverse).arg()
            - f64::from(self.stages) * allpass(self.stiffness, inverse).arg()
    }
}

/// A string that has been plucked and rings.
#[derive(Clone, Debug)]
pub struct Pluck {
    filters: Loop,
    line: Vec<f64>,
    place: usize,
    pluck: Vec<f64>,
    fraction_memory: f64,
    chain_memory: [f64; MOST_STAGES],
    damping_memory: f64,
    played: usize,
    last: usize,
    release: usize,
    released_at: Option<usize>,
}

impl Pluck {
    /// Plucks a string: `frequency` is where its first partial sounds, `level` its peak, 0 to 1.
    ///
    /// `None` when the pitch lies outside 25 to 2500 Hz or above a tenth of the rate, where the loop would be
    /// shorter than its filters.
    #[must_use]
    pub fn new(rate: SampleRate, frequency: Hertz, tone: Tone, level: f64) -> Option<Self> {
        let hz = frequency.get();
        if !(LOWEST_HZ..=HIGHEST_HZ).contains(&hz) || hz > 0.1 * rate.per_s() {
            return None;
        }
        let omega = TAU * hz / rate.per_s();
        let decay = tone.decay_s.clamp(0.1, 20.0) * rate.per_s();
        let filters = Loop::design(omega, decay, tone)?;
        Some(Self {
            filters,
            line: vec![0.0; filters.delay],
            place: 0,
            pluck: first_period(omega, rate, tone, level.clamp(0.0, 1.0)),
            fraction_memory: 0.0,
            chain_memory: [0.0; MOST_STAGES],
            damping_memory: 0.0,
            played: 0,
            last: nearest_count(DECAYS_KEPT * decay),
            release: rate.samples_in(RELEASE_S).max(1),
            released_at: None,
        })
    }

    /// Damps the string: it falls silent within 30 ms, without a click.
    pub fn stop(&mut self) {
        self.released_at.get_or_insert(self.played);
    }

    /// Tells whether the string has fallen silent for good.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.played >= self.last || self.released_at.is_some_and(|at| self.played >= at + self.release)
    }

    /// Adds the string's next samples to `out`.
    pub fn add_to(&mut self, out: &mut [f64]) {
        let Loop { fraction, stiffness, stages, damping, gain, .. } = self.filters;
        let fed_back = gain * (1.0 - damping);
        let tail = self.last.saturating_sub(self.release);
        for slot in out {
            if self.is_over() {
                return;
            }
            let delayed = self.line[self.place];
            let mut wave = fraction * delayed + self.fraction_memory;
            self.fraction_memory = delayed - fraction * wave;
            for memory in &mut self.chain_memory[..usize::from(stages)] {
                let entering = wave;
                wave = stiffness * entering + *memory;
                *memory = entering - stiffness * wave;
            }
            self.damping_memory = fed_back * wave + damping * self.damping_memory;
            let sounding = self.damping_memory + self.pluck.get(self.played).copied().unwrap_or(0.0);
            self.line[self.place] = sounding;
            self.place = if self.place + 1 == self.line.len() { 0 } else { self.place + 1 };
            let stopping = self.released_at.unwrap_or(tail).min(tail);
            *slot += if self.played < stopping {
                sounding
            } else {
                let gone = real(self.played - stopping) / real(self.release);
                sounding * 0.5 * (1.0 + (PI * gone.min(1.0)).cos())
            };
            self.played += 1;
        }
    }
}

/// Returns the first period of the string's motion at the bridge, with its largest value at `level`.
///
/// An ideal pluck at the share β of the length puts sin(n·π·β) / n into partial n (from memory: the Fourier series of
/// a corner in a string); a dull string is plucked with a softer finger, 1 / (1 + (n·f / f_soft)²).
fn first_period(omega: f64, rate: SampleRate, tone: Tone, level: f64) -> Vec<f64> {
    let hz = omega * rate.per_s() / TAU;
    let at = tone.plucked_at.clamp(0.02, 0.5);
    let soft_hz = 800.0 + 6000.0 * tone.brightness.clamp(0.05, 1.0) + hz;
    let top = HIGHEST_PARTIAL_HZ.min(0.4 * rate.per_s());
    let period = nearest_count(TAU / omega);
    let mut shape = vec![0.0; period];
    for n in (1..=MOST_PARTIALS).map(real).take_while(|n| n * hz <= top) {
        let strength = (n * PI * at).sin() / (n * (1.0 + (n * hz / soft_hz).powi(2)));
        let turn = Complex64::from_polar(1.0, TAU * n / real(period));
        let mut phase = Complex64::from(strength);
        for value in &mut shape {
            *value += phase.im;
            phase *= turn;
        }
    }
    let peak = shape.iter().fold(1e-12_f64, |peak, value| peak.max(value.abs()));
    shape.iter().map(|value| value * level / peak).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pitches_out_of_reach_are_refused() {
        let rate = SampleRate::new(8000).unwrap();
        for (hz, sounds) in [(24.0, false), (30.87, true), (800.0, true), (801.0, false), (1e6, false)] {
            let made = Pluck::new(rate, Hertz::new(hz).unwrap(), Tone::default(), 0.5);
            assert_eq!(made.is_some(), sounds, "{hz} Hz");
        }
    }

    #[test]
    fn every_loop_is_stable() {
        for (hz, decay_s, brightness) in
            [(25.0, 20.0, 1.0), (25.0, 0.1, 0.05), (1318.5, 0.1, 0.05), (1318.5, 20.0, 1.0), (2500.0, 0.3, 0.05)]
        {
            let tone = Tone { decay_s, brightness, inharmonicity: 1e-3, plucked_at: 0.1 };
            let mut string = Pluck::new(SampleRate::COMMON, Hertz::new(hz).unwrap(), tone, 1.0).unwrap();
            let mut out = vec![0.0; 48_000];
            string.add_to(&mut out);
            let early: f64 = out[..4_800].iter().map(|x| x * x).sum();
            let late: f64 = out[43_200..].iter().map(|x| x * x).sum();
            assert!(late < early && early.is_finite(), "{hz} {decay_s} {brightness}");
        }
    }
}
