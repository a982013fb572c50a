//! Sound made by other means than the crate's own: sums of decaying partials, seeded noise, hum.

use std::f64::consts::{PI, TAU};

use pegwise::sound::{Heard, Listening, Reading, SampleRate, Tracker};

pub(super) const RATE_HZ: f64 = 48_000.0;

/// SplitMix64 (Steele, Lea, Flood 2014): small, seeded, good enough for noise.
pub(super) struct Random(pub(super) u64);

impl Random {
    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    pub(super) fn unit(&mut self) -> f64 {
        f64::from(u32::try_from(self.next() >> 32).unwrap()) / 4_294_967_296.0
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Box & Muller.
    pub(super) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (TAU * self.unit()).cos()
    }
}

/// One string, as a sum of decaying partials with known frequencies: f_n = n·f_1·√((1 + B·n²) / (1 + B)).
#[derive(Clone, Debug)]
pub(super) struct Plucked {
    pub(super) first_hz: f64,
    pub(super) stretch: f64,
    /// Time to fall by 60 dB of the first partial, in seconds; partial n takes this over n^`damping`.
    pub(super) decay_s: f64,
    pub(super) damping: f64,
    /// Amplitude of each partial, from the first.
    pub(super) strengths: Vec<f64>,
}

impl Plucked {
    /// 1/n partials up to 5 kHz, at most 20.
    pub(super) fn plain(first_hz: f64, stretch: f64, decay_s: f64) -> Self {
        let strengths = (1..=20_u8).map(|n| 1.0 / f64::from(n)).collect();
        Self { first_hz, stretch, decay_s, damping: 0.5, strengths }
    }

    pub(super) fn partial_hz(&self, n: f64) -> f64 {
        n * self.first_hz * ((1.0 + self.stretch * n * n) / (1.0 + self.stretch)).sqrt()
    }

    /// Adds the string to `out` from sample `from` on, phases drawn from `random`.
    pub(super) fn add_to(&self, out: &mut [f64], from: usize, level: f64, random: &mut Random) {
        for (n, strength) in (1..=40_u8).zip(&self.strengths) {
            let n = f64::from(n);
            let hz = self.partial_hz(n);
            let phase = random.unit() * TAU;
            if hz > 5000.0 || *strength <= 0.0 {
                continue;
            }
            let (turn, fall) = (TAU * hz / RATE_HZ, -3.0 * n.powf(self.damping) / (self.decay_s * RATE_HZ));
            let (mut re, mut im) = (level * strength * phase.cos(), level * strength * phase.sin());
            let scale = 10_f64.powf(fall);
            let (c, s) = (turn.cos() * scale, turn.sin() * scale);
            for value in &mut out[from..] {
                *value += im;
                (re, im) = (re * c - im * s, re * s + im * c);
            }
        }
    }
}

/// Brings the root mean square of `out` over `span` to one, and adds white noise so many dB below it.
pub(super) fn add_noise(out: &mut [f64], span: std::ops::Range<usize>, snr_db: f64, random: &mut Random) {
    let count = span.len();
    let power: f64 = out[span].iter().map(|x| x * x).sum::<f64>() / f64::from(u32::try_from(count).unwrap());
    let sigma = power.sqrt() * 10_f64.powf(-snr_db / 20.0);
    out.iter_mut().for_each(|value| *value += sigma * random.normal());
}

/// 32-bit samples with their largest at `peak`.
pub(super) fn samples(out: &[f64], peak: f64) -> Vec<f32> {
    let most = out.iter().fold(1e-12_f64, |most, value| most.max(value.abs()));
    #[expect(clippy::cast_possible_truncation, reason = "rounding to f32 is what is asked for")]
    out.iter().map(|value| (value * peak / most) as f32).collect()
}

pub(super) fn seconds(s: f64) -> usize {
    SampleRate::COMMON.samples_in(s)
}

pub(super) fn readings(samples: &[f32]) -> Vec<Reading> {
    let mut all = Vec::new();
    Tracker::new(SampleRate::COMMON, Listening::default()).push(samples, &mut all);
    all
}

/// The last string heard.
pub(super) fn last_heard(all: &[Reading]) -> Option<Heard> {
    all.iter().rev().find_map(|reading| reading.heard)
}

pub(super) fn cents(from: f64, to: f64) -> f64 {
    1200.0 * (to / from).log2()
}

/// The frequency of the strongest component within 3 % of `near`, by the largest value of a Blackman-Harris-windowed
/// Fourier sum, refined until the step is below a millionth of the frequency.
pub(super) fn strongest_near(samples: &[f64], rate_hz: f64, near: f64) -> f64 {
    let count = f64::from(u32::try_from(samples.len()).unwrap());
    let windowed: Vec<f64> = samples
        .iter()
        .zip(0_u32..)
        .map(|(x, n)| {
            let t = 2.0 * PI * f64::from(n) / count;
            x * (0.35875 - 0.48829 * t.cos() + 0.14128 * (2.0 * t).cos() - 0.01168 * (3.0 * t).cos())
        })
        .collect();
    let power = |hz: f64| {
        let (c, s) = ((TAU * hz / rate_hz).cos(), (TAU * hz / rate_hz).sin());
        let (mut re, mut im, mut sum_re, mut sum_im) = (1.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
        for x in &windowed {
            sum_re += x * re;
            sum_im += x * im;
            (re, im) = (re * c - im * s, re * s + im * c);
        }
        sum_re.hypot(sum_im)
    };
    let mut step = rate_hz / count;
    let span = near * 0.03;
    let mut best = near;
    let mut most = 0.0;
    let mut hz = near - span;
    while hz <= near + span {
        let here = power(hz);
        if here > most {
            (most, best) = (here, hz);
        }
        hz += step;
    }
    while step > 1e-6 * near {
        step *= 0.4;
        for hz in [best - step, best + step] {
            let here = power(hz);
            if here > most {
                (most, best) = (here, hz);
            }
        }
    }
    best
}
