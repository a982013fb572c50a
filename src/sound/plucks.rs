//! When strings are plucked in a recording that is there as a whole: one after the other, each ringing into the next.
//!
//! The tracker's own plucks are found within 5 ms of sound, by their loudness, so that the needle moves at once; a note that
//! is no louder than the one before escapes it in noise. Here the rise of each partial counts (spectral flux of logarithmic
//! magnitudes with a maximum filter over neighbouring bins; after Böck and Widmer, DAFx 2013, from memory).

use realfft::RealFftPlanner;

use super::samples::{SampleRate, nearest_count, real};

/// The window, and how far it moves, in seconds.
const WINDOW_S: f64 = 0.046;
const HOP_S: f64 = 0.01;
/// What rises is compared with the frame so many hops before: half the window is new by then.
const LAG: usize = 2;
/// Where partials are looked for, in hertz.
const BAND_HZ: std::ops::RangeInclusive<f64> = 60.0..=5000.0;
/// How much of the loudest partial's magnitude counts fully: a tenth of it.
const COMPRESSION: f64 = 20.0;
/// The loudest of the last so many frames is what magnitudes are measured by: 0.6 s.
const LOUDEST_FRAMES: usize = 60;
/// Two plucks are at least this far apart, in seconds.
const APART_S: f64 = 0.07;
/// The flux around a place is looked at for so many frames to each side: 0.4 s.
const AROUND: usize = 40;
/// A pluck stands over the middle of the flux around it by this share of the loudest rises in the recording.
const OVER_SHARE: f64 = 0.22;
/// Sound below this share of the recording's loudest frame is silence, in magnitude: −50 dB.
const SILENCE: f64 = 0.003;

/// Returns when strings are plucked, in seconds from the start, to about 15 ms.
#[must_use]
pub fn find_plucks(samples: &[f32], rate: SampleRate) -> Vec<f64> {
    let flux = flux(samples, rate);
    let mut sorted = flux.clone();
    sorted.sort_by(f64::total_cmp);
    let high = sorted.get(sorted.len() * 97 / 100).copied().unwrap_or(0.0);
    let half = nearest_count(0.5 * APART_S / HOP_S).max(1);
    let mut found: Vec<usize> = Vec::new();
    for (index, &value) in flux.iter().enumerate() {
        let near = &flux[index.saturating_sub(half)..(index + half + 1).min(flux.len())];
        let is_peak = value > 0.0 && near.iter().all(|other| *other <= value);
        let mut around = flux[index.saturating_sub(AROUND)..(index + AROUND + 1).min(flux.len())].to_vec();
        around.sort_by(f64::total_cmp);
        let middle = around.get(around.len() / 2).copied().unwrap_or(0.0);
        let is_new = found.last().is_none_or(|last| real(index - last) * HOP_S >= APART_S);
        if is_peak && is_new && value - middle > OVER_SHARE * (high - middle).max(0.0) {
            found.push(index);
        }
    }
    // The frame in which the rise is steepest is the one whose middle has just passed the pluck.
    found.into_iter().map(|index| real(index) * HOP_S + 0.5 * WINDOW_S - 0.5 * real(LAG) * HOP_S).collect()
}

/// How much rises in each frame.
fn flux(samples: &[f32], rate: SampleRate) -> Vec<f64> {
    let length = rate.samples_in(WINDOW_S).max(16);
    let transform = RealFftPlanner::<f32>::new().plan_fft_forward(length);
    let (mut input, mut output) = (transform.make_input_vec(), transform.make_output_vec());
    let bin_hz = rate.per_s() / real(length);
    let (first, last) = (nearest_count(BAND_HZ.start() / bin_hz), nearest_count(BAND_HZ.end() / bin_hz));
    let bell: Vec<f32> = (0..length).map(|index| hann(index, length)).collect();
    let mut frames: Vec<Vec<f64>> = Vec::new();
    let mut start = 0;
    while let Some(stretch) = samples.get(start..start + length) {
        for ((slot, value), weight) in input.iter_mut().zip(stretch).zip(&bell) {
            *slot = value * weight;
        }
        if transform.process(&mut input, &mut output).is_err() {
            return Vec::new();
        }
        let bins = output.iter().take(last + 1).skip(first);
        frames.push(bins.map(|bin| f64::from(bin.norm())).collect());
        start = rate.samples_in(real(frames.len()) * HOP_S);
    }
    let loudest: Vec<f64> = frames.iter().map(|frame| frame.iter().copied().fold(0.0, f64::max)).collect();
    let quietest = SILENCE * loudest.iter().copied().fold(0.0, f64::max);
    let by = |index: usize| {
        let recent = &loudest[index.saturating_sub(LOUDEST_FRAMES)..=index];
        recent.iter().copied().fold(quietest, f64::max)
    };
    (0..frames.len())
        .map(|index| {
            let unit = by(index).max(f64::MIN_POSITIVE);
            let level = |value: f64| (COMPRESSION * value / unit).ln_1p();
            let Some(before) = index.checked_sub(LAG).map(|before| &frames[before]) else { return 0.0 };
            let rises = frames[index].iter().enumerate().map(|(bin, now)| {
                let near = &before[bin.saturating_sub(1)..(bin + 2).min(before.len())];
                let was = near.iter().copied().fold(0.0, f64::max);
                (level(*now) - level(was)).max(0.0)
            });
            rises.sum()
        })
        .collect()
}

/// A raised cosine over the window.
fn hann(index: usize, length: usize) -> f32 {
    let turn = 2.0 * std::f64::consts::PI * real(index) / real(length);
    super::samples::sample(0.5 - 0.5 * turn.cos())
}
