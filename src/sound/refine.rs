//! The last step of a reading: the partials that were found, measured over all of the note that held still.
//!
//! Take a partial a·e^((iδ − α)·t), turned down to near zero frequency, and a window h that is nothing at both ends:
//! integration by parts gives ∫h′x = (α − iδ)·∫hx, so δ = −Im(∫h′x / ∫hx) whatever the decay and the length. With
//! h = 1 − u² over u = −1 to 1, h′ is the straight line by which the best estimate of a steady partial's frequency weighs,
//! but it lets in what lies beside. (1 − u²)² costs a fifth in deviation and (1 − u²)³ nearly half (both by numerical
//! integration); they shut neighbours out the faster.

use std::f64::consts::TAU;

use realfft::num_complex::{Complex32, Complex64};

use super::samples::{real, sample};
use super::series::{Match, Series, deviation};
use super::spectrum::Peak;

/// From this many periods of the string on, its partials lie far enough apart for the square of 1 − u²; below, its third
/// power is taken. Chosen on the table of errors.
const FAR_APART: f64 = 24.0;
/// The deviation under the square and under the third power, as a share of that under the bell of
/// [`Spectrum`](super::spectrum::Spectrum) at one length.
const SHARPER: (f64, f64) = (1.20 / 1.60, 1.46 / 1.60);
/// The most partials measured, …
const MOST_PARTIALS: usize = 16;
/// … and what share of all that the partials tell of the first is enough. On a clear note few do: the first itself, and those
/// that real strings hold to the law.
const ENOUGH: f64 = 0.97;
/// A partial is measured anew only if it stays within this many deviations of where it was found, …
const AGREEING: f64 = 5.0;
/// … or within this share of what the shorter window tells apart.
const AGREEING_SHARE: f64 = 0.1;
/// How many sums run side by side, so that the compiler can use wide registers.
const LANES: usize = 16;
/// How many samples are turned before the turning vector is set afresh, against rounding.
const FRESH: usize = 1024;

/// Measures the partials of `series`, found in a window of `found_s` seconds, over the whole of `sound`, and fits them
/// again.
pub(super) fn refine(series: &Series, found_s: f64, sound: &[f32], rate_hz: f64) -> Option<Series> {
    let length_s = real(sound.len()) / rate_hz;
    let is_far_apart = series.first_hz * length_s >= FAR_APART;
    let (power, sharper) = if is_far_apart { (2, SHARPER.0) } else { (3, SHARPER.1) };
    let (plain, sloped) = windowed(sound, power);
    let scale = sharper * (found_s / length_s).powf(1.5);
    let least = least_telling(&series.matches);
    let measured = series.matches.iter().map(|&(n, peak)| {
        if telling(n, &peak) < least {
            return (n, peak);
        }
        let (sum, slope) = turned_sums(&plain, &sloped, TAU * peak.hz / rate_hz);
        let hz = peak.hz - (slope / sum).im / (TAU * length_s);
        let reach = AGREEING * peak.deviation_hz + AGREEING_SHARE / found_s.min(length_s);
        let agrees = (hz - peak.hz).abs() < reach;
        if agrees { (n, Peak { hz, deviation_hz: scale * peak.deviation_hz, ..peak }) } else { (n, peak) }
    });
    series.measured_again(measured.collect())
}

/// What partial `n` tells of the first, as it was found.
fn telling(n: f64, peak: &Peak) -> f64 {
    (n / deviation(n, peak)).powi(2)
}

/// Returns how much the least telling of the partials to measure tells.
fn least_telling(matches: &[Match]) -> f64 {
    let mut told: Vec<f64> = matches.iter().map(|(n, peak)| telling(*n, peak)).collect();
    told.sort_by(|a, b| b.total_cmp(a));
    let enough = ENOUGH * told.iter().sum::<f64>();
    let mut sum = 0.0;
    let taken = told.iter().take(MOST_PARTIALS).take_while(|value| {
        let is_wanted = sum < enough;
        sum += **value;
        is_wanted
    });
    taken.last().copied().unwrap_or(0.0)
}

/// Weighs `sound` by a power of 1 − u², and by its slope over the length; both padded with silence to whole lanes.
fn windowed(sound: &[f32], power: u8) -> (Vec<f32>, Vec<f32>) {
    let step = sample(2.0 / real(sound.len()));
    let slope = -4.0 * f32::from(power);
    let weighed = sound.iter().zip(0_u16..).map(|(value, n)| {
        let u = (f32::from(n) + 0.5) * step - 1.0;
        let rest = 1.0 - u * u;
        let less = value * (2..power).fold(rest, |less, _| less * rest);
        (less * rest, slope * u * less)
    });
    let (mut plain, mut sloped): (Vec<f32>, Vec<f32>) = weighed.unzip();
    let padded = sound.len().next_multiple_of(LANES);
    plain.resize(padded, 0.0);
    sloped.resize(padded, 0.0);
    (plain, sloped)
}

/// Sums both, each sample turned back by `turn` radians more than the one before.
fn turned_sums(plain: &[f32], sloped: &[f32], turn: f64) -> (Complex64, Complex64) {
    let narrow = |value: Complex64| Complex32::new(sample(value.re), sample(value.im));
    let onward = narrow(Complex64::from_polar(1.0, -turn * real(LANES)));
    let mut sums = (Complex64::from(0.0), Complex64::from(0.0));
    for (part, (plain, sloped)) in plain.chunks(FRESH).zip(sloped.chunks(FRESH)).enumerate() {
        let (mut re, mut im) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let mut start = Complex64::from_polar(1.0, -turn * real(part * FRESH));
        let next = Complex64::from_polar(1.0, -turn);
        for lane in 0..LANES {
            (re[lane], im[lane]) = (sample(start.re), sample(start.im));
            start *= next;
        }
        let mut sum = [[0.0_f32; LANES]; 4];
        for (x, y) in plain.chunks_exact(LANES).zip(sloped.chunks_exact(LANES)) {
            for lane in 0..LANES {
                sum[0][lane] += x[lane] * re[lane];
                sum[1][lane] += x[lane] * im[lane];
                sum[2][lane] += y[lane] * re[lane];
                sum[3][lane] += y[lane] * im[lane];
                let turned = re[lane] * onward.re - im[lane] * onward.im;
                im[lane] = re[lane] * onward.im + im[lane] * onward.re;
                re[lane] = turned;
            }
        }
        let [a, b, c, d] = sum.map(|lanes| f64::from(lanes.iter().sum::<f32>()));
        sums.0 += Complex64::new(a, b);
        sums.1 += Complex64::new(c, d);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decaying_partial_is_measured_exactly_from_beside_it() {
        // The law at the head of this file; found 0.3 Hz beside. What is left is the mirror image at −hz.
        let rate_hz = 12_000.0;
        for (hz, decay_per_s, length) in
            [(82.4, 0.0, 6000), (82.4, 5.0, 6001), (329.63, 20.0, 3007), (1318.51, 2.0, 12_000)]
        {
            let sound: Vec<f32> = (0..length)
                .map(|n| real(n) / rate_hz)
                .map(|t| sample(0.3 * (-decay_per_s * t).exp() * (TAU * hz * t + 0.7).sin()))
                .collect();
            let peak = Peak { hz: hz + 0.3, power: 0.045, deviation_hz: 0.1 };
            let found = Series {
                first_hz: hz,
                stretch: 0.0,
                partials: 1,
                deviation_hz: 0.1,
                share: 1.0,
                matches: vec![(1.0, peak)],
            };
            let refined = refine(&found, 0.2, &sound, rate_hz).unwrap();
            let off = 1200.0 * (refined.first_hz / hz).log2();
            assert!(off.abs() < 6e-3, "{hz} Hz, {decay_per_s} a second: {off:+.5} cents");
        }
    }
}
