//! The last step of a reading: the partials that were found, measured over all of the note that held still.
//!
//! Take a partial a·e^((iδ − α)·t), turned down to near zero frequency, and a window h that is nothing at both ends:
//! integration by parts gives ∫h′x = (α − iδ)·∫hx, so δ = −Im(∫h′x / ∫hx) and α = Re(∫h′x / ∫hx), whatever the length. Among
//! the windows tᵃ·(1 − t)ᵇ over t = 0 to 1 the one with a = b = 1 weighs as the best estimate of a steady partial's frequency
//! does, but lets in what lies beside. (2, 2) costs a fifth in deviation and (3, 3) nearly half; they shut neighbours out the
//! faster. A partial that dies away is weighed where it still sounds, by a larger b: where it falls by 60 dB over the window
//! (α·T = 6.9) (2, 5) costs two fifths, (2, 2) as much again as the whole (all by numerical integration).
//!
//! The windows are polynomials, so the sums over one follow from sums of tᵏ·x over blocks of 5 ms, kept as the note goes on:
//! no sample is gone over twice, however often the note is read.

use std::collections::VecDeque;
use std::f64::consts::{PI, TAU};

use realfft::num_complex::Complex64;

use super::onset::BLOCK_S;
use super::samples::{real, sample};
use super::series::{Match, Series};
use super::spectrum::Peak;

/// From this many periods of the string on, its partials lie so far apart that none lets much of the others in; below, what it
/// lets in of them is taken off. Chosen on the table of errors.
const FAR_APART: f64 = 40.0;
/// Below this many periods the window is (3, 3).
const NEAR: f64 = 7.0;
/// The most partials measured, …
const MOST_PARTIALS: usize = 16;
/// … and what share of all that the partials tell of the first is enough.
const ENOUGH: f64 = 0.99;
/// A partial is measured anew only if it stays within this many deviations of where it was found, …
const AGREEING: f64 = 5.0;
/// … or within this share of what the shorter window tells apart.
const AGREEING_SHARE: f64 = 0.1;
/// From how large an α·T on the window is (2, 3), (2, 4) and (2, 5).
const FALLS: [f64; 3] = [1.5, 3.2, 5.0];
/// Sums are made anew for a partial that has moved by this share of what the window tells apart.
const MOVED_SHARE: f64 = 0.35;
/// How many powers of time are summed: those of the longest window, t²·(1 − t)⁵, and the constant.
const POWERS: usize = 8;
/// The longest stretch measured, in blocks: a second.
const MOST_BLOCKS: usize = 200;
/// What the square of a bell's sum is over the sum of its squares, as a share of its length: six deviations long
/// ((√(2π)/6)² / (√π/6)), over four.
const BELL: f64 = 0.1477;

/// A window tᵃ·(1 − t)ᵇ.
#[derive(Clone, Copy, Debug)]
struct Window {
    /// The coefficients of its powers of t.
    powers: [f64; POWERS],
    /// ∫h² and ∫h′².
    squares: (f64, f64),
}

impl Window {
    fn new(a: usize, b: usize) -> Self {
        let mut powers = [0.0; POWERS];
        let mut binomial = 1.0;
        for k in 0..=b {
            powers[a + k] = if k % 2 == 0 { binomial } else { -binomial };
            binomial *= real(b - k) / real(k + 1);
        }
        let slope = slope_of(&powers);
        let product = |one: &[f64; POWERS], other: &[f64; POWERS]| -> f64 {
            let term =
                |(n, x): (usize, &f64)| -> f64 { other.iter().enumerate().map(|(m, y)| x * y / real(n + m + 1)).sum() };
            one.iter().enumerate().map(term).sum()
        };
        Self { powers, squares: (product(&powers, &powers), product(&slope, &slope)) }
    }
}

impl Window {
    /// Returns ∫h·e^(s·t) over t = 0 to 1.
    fn integral(&self, s: Complex64) -> Complex64 {
        if s.norm() < 6.0 {
            // Term by term of the exponential series.
            let mut term = Complex64::from(1.0);
            let mut sum = Complex64::from(0.0);
            for n in 0..40 {
                let powers: f64 = self.powers.iter().enumerate().map(|(k, p)| p / real(k + n + 1)).sum();
                sum += term * powers;
                term *= s / real(n + 1);
            }
            return sum;
        }
        // ∫tᵏ·e^(s·t) = (e^s − k·∫tᵏ⁻¹·e^(s·t)) / s.
        let end = s.exp();
        let mut last = (end - 1.0) / s;
        let mut sum = self.powers[0] * last;
        for (k, power) in self.powers.iter().enumerate().skip(1) {
            last = (end - real(k) * last) / s;
            sum += *power * last;
        }
        sum
    }
}

/// A partial as it was summed.
#[derive(Clone, Copy, Debug)]
struct Found {
    /// Which of the series' partials.
    at: usize,
    /// What it was turned down by, in hertz.
    hz: f64,
    /// ∫h·x and ∫h′·x, times the number of samples.
    sums: [Complex64; 2],
    which: usize,
}

/// The coefficients of a polynomial's slope.
fn slope_of(powers: &[f64; POWERS]) -> [f64; POWERS] {
    std::array::from_fn(|n| powers.get(n + 1).map_or(0.0, |next| real(n + 1) * next))
}

/// What a window of `count` blocks weighs the powers of time within its block `at` by: for the window and for its slope, over
/// the length.
fn weights(window: &Window, at: usize, count: usize) -> [[f64; POWERS]; 2] {
    let scale = real(count).recip();
    let place = real(at) * scale;
    [window.powers, slope_of(&window.powers)].map(|mut powers| {
        // Taylor's expansion about the block's beginning, by repeated division (Horner).
        for from in 0..POWERS {
            for n in (from..POWERS - 1).rev() {
                powers[n] += place * powers[n + 1];
            }
        }
        let mut step = 1.0;
        powers.map(|value| {
            let scaled = value * step;
            step *= scale;
            scaled
        })
    })
}

/// A partial's sums over the blocks of the note.
#[derive(Debug)]
struct Probe {
    number: f64,
    hz: f64,
    /// For each sample of a block: real and imaginary part of its turn, times each power of its place in the block.
    turns: Vec<[f32; 2 * POWERS]>,
    /// The number of the first block held.
    first: usize,
    sums: VecDeque<[Complex64; POWERS]>,
    /// The window that suited it last.
    which: usize,
}

impl Probe {
    fn new(number: f64, hz: f64, rate_hz: f64, block: usize, first: usize) -> Self {
        let turn = |n: usize| {
            let turned = Complex64::from_polar(1.0, -TAU * hz / rate_hz * (real(n) + 0.5));
            let place = (real(n) + 0.5) / real(block);
            let mut power = 1.0;
            let mut row = [0.0; 2 * POWERS];
            for k in 0..POWERS {
                row[k] = sample(turned.re * power);
                row[POWERS + k] = sample(turned.im * power);
                power *= place;
            }
            row
        };
        Self { number, hz, turns: (0..block).map(turn).collect(), first, sums: VecDeque::new(), which: 0 }
    }

    /// Sums over one block, the number `block` since the note's sums began.
    fn sum(&self, samples: &[f32], block: usize, rate_hz: f64) -> [Complex64; POWERS] {
        let mut sums = [0.0_f32; 2 * POWERS];
        for (value, turns) in samples.iter().zip(&self.turns) {
            for (sum, turn) in sums.iter_mut().zip(turns) {
                *sum += value * turn;
            }
        }
        let begun = -TAU * ((self.hz / rate_hz * real(block * samples.len())) % 1.0);
        let begun = Complex64::from_polar(1.0, begun);
        std::array::from_fn(|k| begun * Complex64::new(f64::from(sums[k]), f64::from(sums[POWERS + k])))
    }

    /// Holds the blocks from `from` up to `newest`, whose last sample is the last of `recent`.
    fn hold(&mut self, from: usize, newest: usize, recent: &[f32], rate_hz: f64) {
        let length = self.turns.len();
        let samples = |block: usize| {
            let end = recent.len() - (newest - block) * length;
            &recent[end - length..end]
        };
        if self.first + self.sums.len() < from || self.sums.is_empty() {
            self.sums.clear();
            self.first = from;
        }
        while self.first > from {
            self.first -= 1;
            let sum = self.sum(samples(self.first), self.first, rate_hz);
            self.sums.push_front(sum);
        }
        while self.first + self.sums.len() <= newest {
            let block = self.first + self.sums.len();
            let sum = self.sum(samples(block), block, rate_hz);
            self.sums.push_back(sum);
        }
        while self.sums.len() > MOST_BLOCKS {
            self.sums.pop_front();
            self.first += 1;
        }
    }
}

/// Measures the partials of a note that goes on.
#[derive(Debug)]
pub(super) struct Bank {
    rate_hz: f64,
    block: usize,
    windows: [Window; 5],
    probes: Vec<Probe>,
}

impl Bank {
    /// Makes one for sound at `rate_hz`, in blocks of so many samples.
    pub(super) fn new(rate_hz: f64, block: usize) -> Self {
        let windows = [(2, 2), (2, 3), (2, 4), (2, 5), (3, 3)].map(|(a, b)| Window::new(a, b));
        Self { rate_hz, block, windows, probes: Vec::new() }
    }

    /// Measures the partials of `series`, found in a window of `found_s` seconds, over the last `count` blocks of `recent`, of
    /// which the last has the number `newest`, and fits them again.
    pub(super) fn refine(
        &mut self,
        series: &Series,
        found_s: f64,
        recent: &[f32],
        newest: usize,
        count: usize,
    ) -> Option<Series> {
        let count = count.clamp(1, MOST_BLOCKS.min(newest).min(recent.len() / self.block));
        let length_s = real(count * self.block) / self.rate_hz;
        let from = newest + 1 - count;
        let least = least_telling(&series.matches);
        let periods = series.first_hz * length_s;
        let rate_hz = self.rate_hz;
        let begun_s = real(from * self.block) / rate_hz;
        let mut tables: [Option<Vec<[[f64; POWERS]; 2]>>; 5] = [const { None }; 5];
        let mut measured: Vec<Match> = series.matches.clone();
        let mut found: Vec<Found> = Vec::with_capacity(series.matches.len());
        for (at, &(n, peak)) in series.matches.iter().enumerate() {
            // What is reported is the first partial, which strays from itself by nothing.
            if n > 1.5 && telling(n, &peak) < least {
                continue;
            }
            let place = self.probe(n, peak.hz, length_s, from);
            self.probes[place].hold(from, newest, recent, rate_hz);
            let probe = &self.probes[place];
            let mut measure = |which: usize| {
                let table = tables[which].get_or_insert_with(|| {
                    (0..count).map(|block| weights(&self.windows[which], block, count)).collect()
                });
                let held = probe.sums.iter().skip(from - probe.first);
                let mut sums = [Complex64::from(0.0); 2];
                for (block, weights) in held.zip(table.iter()) {
                    for (sum, weights) in sums.iter_mut().zip(weights) {
                        for (value, weight) in block.iter().zip(weights) {
                            *sum += value * weight;
                        }
                    }
                }
                // As if the note began with the window.
                sums.map(|sum| sum * Complex64::from_polar(1.0, TAU * ((probe.hz * begun_s) % 1.0)))
            };
            let is_far_apart = periods >= FAR_APART;
            let mut which = if is_far_apart {
                probe.which
            } else if periods < NEAR {
                4
            } else {
                0
            };
            let mut sums = measure(which);
            let falls = (sums[1] / sums[0]).re;
            let suits = FALLS.iter().filter(|least| falls > **least).count();
            if is_far_apart && which != suits {
                which = suits;
                sums = measure(which);
            }
            found.push(Found { at, hz: probe.hz, sums, which });
            self.probes[place].which = if is_far_apart { which } else { 0 };
        }
        if periods < FAR_APART {
            self.take_apart(&mut found, length_s);
        }
        for Found { at, hz: probed_hz, sums: [sum, slope], which } in found {
            let (n, peak) = series.matches[at];
            let (ratio, squares) = (slope / sum, self.windows[which].squares);
            let hz = probed_hz - ratio.im / (TAU * length_s);
            let reach = AGREEING * peak.deviation_hz + AGREEING_SHARE / found_s.min(length_s);
            if (hz - peak.hz).abs() < reach {
                let noise = noise(&peak, found_s, rate_hz);
                let samples = real(count * self.block);
                // Noise of that power, weighed by h′ − α·h, against the partial as it is weighed.
                let weighed = 0.5 * noise * samples * (squares.1 + ratio.re * ratio.re * squares.0);
                let deviation_hz = weighed.sqrt() / sum.norm() / (TAU * length_s);
                measured[at] = (n, Peak { hz, deviation_hz, ..peak });
            }
        }
        series.measured_again(measured)
    }

    /// Takes off each partial's sums what its window lets in of the others, and of its own and their mirror images below zero,
    /// as they were measured.
    fn take_apart(&self, found: &mut [Found], length_s: f64) {
        let sounding: Vec<(f64, Complex64, Complex64)> = found
            .iter()
            .map(|found| {
                let ratio = found.sums[1] / found.sums[0];
                let hz = found.hz - ratio.im / (TAU * length_s);
                let left = Complex64::new(-ratio.re, -ratio.im);
                let whole = self.windows[found.which].integral(left);
                (hz, Complex64::new(-ratio.re, 0.0), found.sums[0] / whole)
            })
            .collect();
        for (at, found) in found.iter_mut().enumerate() {
            let window = &self.windows[found.which];
            for (other, (hz, falls, strength)) in sounding.iter().enumerate() {
                let mut take = |hz: f64, strength: Complex64| {
                    let left = falls + Complex64::new(0.0, TAU * (hz - found.hz) * length_s);
                    let let_in = strength * window.integral(left);
                    found.sums[0] -= let_in;
                    // h is nothing at both ends.
                    found.sums[1] += left * let_in;
                };
                if other != at {
                    take(*hz, *strength);
                }
                take(-hz, strength.conj());
            }
        }
    }

    /// Lets go of the note.
    pub(super) fn clear(&mut self) {
        self.probes.clear();
    }

    /// Returns the place of the sums for partial `number` near `hz`.
    fn probe(&mut self, number: f64, hz: f64, length_s: f64, from: usize) -> usize {
        let place = self.probes.iter().position(|probe| (probe.number - number).abs() < 0.5);
        match place {
            Some(at) if (self.probes[at].hz - hz).abs() < MOVED_SHARE / length_s => at,
            Some(at) => {
                self.probes[at] = Probe::new(number, hz, self.rate_hz, self.block, from);
                at
            }
            None => {
                self.probes.push(Probe::new(number, hz, self.rate_hz, self.block, from));
                self.probes.len() - 1
            }
        }
    }
}

/// The mean square of the noise around a peak, from its deviation under the bell of
/// [`Spectrum`](super::spectrum::Spectrum).
fn noise(peak: &Peak, found_s: f64, rate_hz: f64) -> f64 {
    let over = peak.deviation_hz * 4.0 * PI * found_s / 6.0;
    2.0 * peak.power * BELL * found_s * rate_hz * over * over
}

/// What partial `n` tells of the first, as it was found and if it keeps to the law.
fn telling(n: f64, peak: &Peak) -> f64 {
    (n / peak.deviation_hz).powi(2)
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

/// How many whole blocks lie in so many seconds.
pub(super) fn blocks_in(seconds: f64) -> usize {
    super::samples::nearest_count(seconds / BLOCK_S - 0.49)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decaying_partial_is_measured_exactly_from_beside_it() {
        // The law at the head of this file; found 0.3 Hz beside. What is left is the mirror image at −hz: below a hundredth of
        // a cent.
        let rate_hz = 12_000.0;
        for (hz, decay_per_s, blocks) in [(82.4, 0.0, 100), (82.4, 5.0, 101), (329.63, 20.0, 50), (1318.51, 2.0, 200)] {
            let sound: Vec<f32> = (0..blocks * 60)
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
            let refined = Bank::new(rate_hz, 60).refine(&found, 0.2, &sound, blocks, blocks).unwrap();
            let off = 1200.0 * (refined.first_hz / hz).log2();
            assert!(off.abs() < 1e-2, "{hz} Hz, {decay_per_s} a second: {off:+.5} cents");
        }
    }

    #[test]
    fn the_sums_of_a_note_that_goes_on_are_those_of_one_heard_at_once() {
        let rate_hz = 12_000.0;
        let sound: Vec<f32> = (0..300 * 60).map(|n| sample(0.2 * (TAU * 146.8 / rate_hz * real(n)).sin())).collect();
        let peak = Peak { hz: 146.9, power: 0.02, deviation_hz: 0.1 };
        let matches = vec![(1.0, peak)];
        let found = Series { first_hz: 146.9, stretch: 0.0, partials: 1, deviation_hz: 0.1, share: 1.0, matches };
        let mut bank = Bank::new(rate_hz, 60);
        for newest in [60, 64, 120, 121, 300] {
            let count = newest.min(200) - 10;
            let heard = &sound[..newest * 60];
            let on = bank.refine(&found, 0.2, heard, newest, count).unwrap().first_hz;
            let at_once = Bank::new(rate_hz, 60).refine(&found, 0.2, heard, newest, count).unwrap().first_hz;
            assert!((on - at_once).abs() < 1e-6 && (on - 146.8).abs() < 1e-3, "{newest}: {on} and {at_once}");
        }
    }
}
