//! Which string's partials a set of peaks is: the search for the fundamental, and the fit of the stretch.
//!
//! A stiff string's partial n lies at n·f_1·√((1 + B·n²) / (1 + B)) (Fletcher 1964), so (f_n / n)² is a straight line
//! in n². Candidates are the strong peaks divided by small whole numbers; each collects the peaks that lie where its
//! partials belong and pays for the partials that are missing, so that neither the octave above (which leaves peaks
//! unexplained) nor the octave below (which misses every other partial) wins.

use super::samples::real;
use super::spectrum::{Partials, Peak};

/// The lowest first partial looked for, in hertz: a tone and a half under B0.
pub(super) const LOWEST_HZ: f64 = 26.0;
/// The highest first partial looked for, in hertz: a semitone and a half over E6.
pub(super) const HIGHEST_HZ: f64 = 1440.0;
/// The most partials counted.
const MOST_PARTIALS: u8 = 40;
/// From how many of the strongest peaks candidates are made.
const SEEDS: usize = 7;
/// The highest partial a seed is taken for.
const HIGHEST_SEED: u8 = 16;
/// Stretches tried where a seed is taken for a high partial.
const STRETCHES: [f64; 3] = [0.0, 2e-4, 8e-4];
/// The largest stretch believed.
const MOST_STRETCH: f64 = 2e-3;
/// What a peak is worth, as a power of its power: a fourth is the square root of its amplitude, so that a partial 20 dB
/// down still counts a third.
const WORTH: f64 = 0.25;
/// What a missing partial costs, as a share of what its neighbours are worth.
const MISSING: f64 = 0.75;
/// The low partials of a small speaker or a thin box may be missing: they count this much of their upper neighbour.
const LOW_ONES: f64 = 0.6;
/// How far a real string's partials stray from the law, as a share of their frequency: about 0.35 cent.
const STRAY: f64 = 2e-4;
/// From this many periods on, a window also shows the partials of strings an octave or a twelfth lower apart.
const TOLD_APART_FOR_SURE: f64 = 15.0;
/// In a shorter window this share of the power must be explained.
const NEARLY_ALL: f64 = 0.9;
/// A string an octave lower that is worth this share of the best may be the one that sounds, …
const MAY_BE_LOWER: f64 = 0.55;
/// … until the window holds so many of its periods: a string plucked in its middle can begin with little but its octave.
const LOWER_TOLD_PERIODS: f64 = 12.0;
/// What is known of B before looking: as a standard deviation.
const USUAL_STRETCH: f64 = 4e-4;
/// From so many partials on, how far they stray is told by themselves; fewer are taken to stray by [`STRAY`].
const TELLING_PARTIALS: usize = 3;
/// The most that partials are believed to stray, as a share of their frequency.
const MOST_STRAY: f64 = 4.0 * STRAY;
/// By how many deviations of Q the partials must stray beyond their errors to be taken to.
const SURE: f64 = 1.7;
/// The first partial is what is reported, so it strays from itself by nothing: this share of the others'.
const FIRST_STRAYS: f64 = 0.05;

/// A string's partials as found in a stretch of sound.
#[derive(Clone, Debug)]
pub(super) struct Series {
    /// The first partial, from the fit, in hertz.
    pub(super) first_hz: f64,
    /// B.
    pub(super) stretch: f64,
    /// How many partials the fit rests on.
    pub(super) partials: u8,
    /// The standard deviation of `first_hz` expected from noise and stray partials, in hertz.
    pub(super) deviation_hz: f64,
    /// The share of the power that these partials are, 0 to 1.
    pub(super) share: f64,
    /// The partials: number and peak.
    pub(super) matches: Vec<Match>,
}

impl Series {
    /// Returns the string as it follows from other measurements of its partials, each trusted as far as all keep to the law.
    pub(super) fn measured_again(&self, matches: Vec<Match>) -> Option<Self> {
        let stray = stray_of(&matches, self.first_hz, self.stretch);
        // By the law as it was found, in which the first partial counts most: where the others keep to another, they are left out.
        let kept: Vec<Match> =
            matches.iter().copied().filter(|(n, peak)| keeps_to(*n, peak, self.first_hz, self.stretch)).collect();
        let series = fit_straying(if kept.is_empty() { &matches } else { &kept }, stray)?;
        let deviation_hz = whole_deviation(&kept, &series, stray);
        Some(Self { share: self.share, matches, deviation_hz, ..series })
    }

    /// Tells whether one of the string's partials lies within `reach` hertz of `hz`.
    pub(super) fn has_partial_near(&self, hz: f64, reach: f64) -> bool {
        (1..=MOST_PARTIALS).map(f64::from).any(|n| {
            let partial = partial_hz(n, self.first_hz, self.stretch);
            (partial - hz).abs() < reach
        })
    }
}

/// Returns where partial `n` lies on a string whose first partial is `first_hz`: n·f_1·√((1 + B·n²) / (1 + B)).
fn partial_hz(n: f64, first_hz: f64, b: f64) -> f64 {
    n * first_hz * ((1.0 + b * n * n) / (1.0 + b)).sqrt()
}

/// A partial's number and its peak.
pub(super) type Match = (f64, Peak);

/// Finds the string that best explains the peaks, in a window of `seconds`; strings with fewer than `periods` periods in
/// it are not told apart and give nothing.
pub(super) fn find_series(found: &Partials, seconds: f64, periods: f64) -> Option<Series> {
    let peaks = &found.peaks;
    let strongest = peaks.iter().map(|peak| peak.power).fold(0.0, f64::max);
    if strongest <= 0.0 {
        return None;
    }
    let worth: Vec<f64> = peaks.iter().map(|peak| (peak.power / strongest).powf(WORTH)).collect();
    let mut by_power: Vec<&Peak> = peaks.iter().collect();
    by_power.sort_by(|a, b| b.power.total_cmp(&a.power));
    let mut best: Option<(f64, f64, Vec<Match>)> = None;
    for seed in by_power.iter().take(SEEDS) {
        for number in 1..=HIGHEST_SEED {
            let n = f64::from(number);
            let stretches = if number < 4 { &STRETCHES[..1] } else { &STRETCHES[..] };
            for b in stretches {
                let first = seed.hz / partial_hz(n, 1.0, *b);
                if !(LOWEST_HZ..=HIGHEST_HZ).contains(&first) {
                    continue;
                }
                let (score, matches) = collect(peaks, &worth, first, *b, seconds);
                // Of two equally good the higher: seeds come in order, numbers go up, so keep the first of equals.
                if best.as_ref().is_none_or(|(most, ..)| score > *most + 1e-9) {
                    best = Some((score, first, matches));
                }
            }
        }
    }
    let (worth_most, _, matches) = best?;
    let series = whole(found, matches)?;
    let held = series.first_hz * seconds;
    let is_told_apart = held >= periods && (held >= TOLD_APART_FOR_SURE || series.share >= NEARLY_ALL);
    let may_be_lower = || {
        let low_hz = 0.5 * series.first_hz;
        let is_open = low_hz >= LOWEST_HZ && low_hz * seconds < LOWER_TOLD_PERIODS;
        let (lower, matches) =
            if is_open { collect(peaks, &worth, low_hz, series.stretch, seconds) } else { (0.0, Vec::new()) };
        lower >= MAY_BE_LOWER * worth_most && matches.iter().any(|(n, _)| n % 2.0 > 0.5)
    };
    ((LOWEST_HZ..=HIGHEST_HZ).contains(&series.first_hz) && is_told_apart && !may_be_lower()).then_some(series)
}

/// Measures in another window the string that is known to sound.
pub(super) fn follow_series(found: &Partials, seconds: f64, known: &Series) -> Option<Series> {
    let strongest = found.peaks.iter().map(|peak| peak.power).fold(f64::MIN_POSITIVE, f64::max);
    let worth: Vec<f64> = found.peaks.iter().map(|peak| (peak.power / strongest).powf(WORTH)).collect();
    let (_, matches) = collect(&found.peaks, &worth, known.first_hz, known.stretch, seconds);
    whole(found, matches)
}

/// Fits the matches and tells what share of the power they are.
fn whole(found: &Partials, matches: Vec<Match>) -> Option<Series> {
    let series = fit(&matches)?;
    // A string without its first partials is believed by the law of its others; a chord's notes keep to none.
    let is_rootless = matches.first().is_some_and(|(n, _)| *n > 1.5);
    let counts = |n: f64, peak: &Peak| !is_rootless || keeps_to(n, peak, series.first_hz, series.stretch);
    let explained: f64 = matches.iter().filter(|(n, peak)| counts(*n, peak)).map(|(_, peak)| peak.power).sum();
    let share = (explained / found.total_power.max(1e-20)).min(1.0);
    Some(Series { share, matches, ..series })
}

/// Tells whether a peak lies where partial `n` of a string belongs, give or take its error and what real strings stray.
fn keeps_to(n: f64, peak: &Peak, first_hz: f64, b: f64) -> bool {
    let expected = partial_hz(n, first_hz, b);
    (peak.hz - expected).abs() < 4.0 * deviation(n, peak, STRAY) + 0.001 * expected
}

/// Returns how far these partials stray from the law beyond what their errors explain, as a share of their frequency.
///
/// The moment estimate of the spread between measurements of unlike exactness (DerSimonian & Laird 1986), for a line in n²:
/// with weights W = 1/σ² the residuals' weighted squares Q have the mean (k − 2) + τ²·C, where
/// C = Σw − tr((XᵀWX)⁻¹·XᵀW²X) over the partials that can stray, all but the first.
fn stray_of(matches: &[Match], first_hz: f64, b: f64) -> f64 {
    let kept = || matches.iter().filter(|(n, peak)| keeps_to(*n, peak, first_hz, b));
    let count = kept().count();
    if count < TELLING_PARTIALS {
        return STRAY;
    }
    let mut line = Line::new(first_hz);
    kept().for_each(|(n, peak)| line.add(*n, peak, 0.0));
    let (Some((f1, b)), determinant) = (line.solve(), line.determinant()) else { return STRAY };
    let (mut squares, mut spread) = (0.0, 0.0);
    for (n, peak) in kept() {
        // In relative frequency a residual counts half of what it does in its square.
        let (x, weight) = (n * n, line.weight(*n, peak, 0.0));
        let y = (peak.hz / n).powi(2) / line.scale;
        let off = y - (partial_hz(*n, f1, b) / n).powi(2) / line.scale;
        squares += weight * off * off;
        if *n > 1.5 {
            let leverage = (line.sxx - 2.0 * x * line.sx + x * x * line.s) / determinant;
            spread += weight * (1.0 - weight * leverage) * 4.0 * y * y;
        }
    }
    let free = real(count) - 2.0;
    // What chance alone does in one of twenty is no straying.
    let beyond = if squares > free + SURE * (2.0 * free).sqrt() { squares - free } else { 0.0 };
    (beyond.max(0.0) / spread.max(f64::MIN_POSITIVE)).sqrt().min(MOST_STRAY)
}

/// Gathers the peaks that lie where the partials of a string belong, up to the partial at which the string is worth
/// most, and returns that worth with them.
fn collect(peaks: &[Peak], worth: &[f64], first: f64, stretch: f64, seconds: f64) -> (f64, Vec<Match>) {
    let mut matches: Vec<Match> = Vec::with_capacity(16);
    let (mut f1, mut b) = (first, stretch);
    let mut line = Line::new(first);
    let mut next = 0;
    let mut tally = Tally::default();
    let top = peaks.last().map_or(0.0, |peak| peak.hz);
    for n in 1..=MOST_PARTIALS {
        let number = f64::from(n);
        let expected = partial_hz(number, f1, b);
        let tolerance = (0.45 / seconds + 0.004 * expected).min(0.22 * f1);
        if expected - tolerance > top {
            break;
        }
        while next < peaks.len() && peaks[next].hz < expected - tolerance {
            next += 1;
        }
        // The strongest within reach, nearer ones preferred.
        let mut chosen: Option<(f64, usize)> = None;
        for (at, peak) in peaks.iter().enumerate().skip(next).take_while(|(_, peak)| peak.hz <= expected + tolerance) {
            let off = (peak.hz - expected) / tolerance;
            let value = worth[at] * (1.0 - 0.5 * off * off);
            if chosen.is_none_or(|(most, _)| value > most) {
                chosen = Some((value, at));
            }
        }
        if let Some((value, at)) = chosen {
            next = at + 1;
            matches.push((number, peaks[at]));
            line.add(number, &peaks[at], STRAY);
            tally.add(n, value, matches.len());
            if let Some(better) = (matches.len() >= 2).then(|| line.solve()).flatten() {
                (f1, b) = better;
            }
        }
    }
    matches.truncate(tally.best_length);
    (tally.best, matches)
}

/// What a string is worth, partial by partial.
#[derive(Debug, Default)]
struct Tally {
    score: f64,
    best: f64,
    best_length: usize,
    /// The latest two partials found: number and value.
    latest: [Option<(u8, f64)>; 2],
}

impl Tally {
    /// Adds partial `n`, the `length`th found: its value, less what the partials missing below it cost.
    fn add(&mut self, n: u8, value: f64, length: usize) {
        let [before, last] = self.latest;
        let (missing, expected) = match last {
            Some((number, found)) => (n - number - 1, found.min(value)),
            None => (n - 1, LOW_ONES * value),
        };
        // One found, but far weaker than its neighbours, is nearly missing.
        let shortfall = match (before, last) {
            (Some((_, earlier)), Some((_, found))) => (earlier.min(value) - found).max(0.0),
            (None, Some((_, found))) => (LOW_ONES * value - found).max(0.0),
            _ => 0.0,
        };
        self.score += value - MISSING * (f64::from(missing) * expected + shortfall);
        self.latest = [last, Some((n, value))];
        if self.score > self.best {
            (self.best, self.best_length) = (self.score, length);
        }
    }
}

/// Fits (f_n / n)² = u + v·n² by weighted least squares; partials that stray far beyond their error are left out.
fn fit(matches: &[Match]) -> Option<Series> {
    fit_straying(matches, STRAY)
}

/// Does so where the partials stray by `stray`, as a share of their frequency.
fn fit_straying(matches: &[Match], stray: f64) -> Option<Series> {
    let (mut f1, mut b) = line(matches.iter(), stray)?;
    if matches.len() > 2 {
        let keep = |&&(n, peak): &&Match| keeps_to(n, &peak, f1, b);
        if let Some(better) = line(matches.iter().filter(keep), stray) {
            (f1, b) = better;
        }
    }
    let weight: f64 = matches.iter().map(|(n, peak)| (n / deviation(*n, peak, stray)).powi(2)).sum();
    let partials = u8::try_from(matches.len()).unwrap_or(u8::MAX);
    Some(Series {
        first_hz: f1,
        stretch: b,
        partials,
        deviation_hz: weight.sqrt().recip(),
        share: 0.0,
        matches: Vec::new(),
    })
}

/// The standard deviation of the first partial in hertz, the stretch being unknown too: half that of u + v, which is f_1².
fn whole_deviation(matches: &[Match], series: &Series, stray: f64) -> f64 {
    let mut line = Line::new(series.first_hz);
    let kept = |n: f64, peak: &Peak| keeps_to(n, peak, series.first_hz, series.stretch);
    matches.iter().filter(|(n, peak)| kept(*n, peak)).for_each(|(n, peak)| line.add(*n, peak, stray));
    let variance = (line.sxx - 2.0 * line.sx + line.s) / line.determinant();
    if variance > 0.0 { 0.5 * variance.sqrt() * series.first_hz } else { series.deviation_hz }
}

/// The error of a peak as a measure of partial `n`, in hertz, where partials stray by `stray`, as a share of their frequency.
fn deviation(n: f64, peak: &Peak, stray: f64) -> f64 {
    let stray = if n < 1.5 { FIRST_STRAYS * stray } else { stray } * peak.hz;
    (peak.deviation_hz * peak.deviation_hz + stray * stray).sqrt()
}

/// The line through (f_n / n)² over n², partial by partial, in units of the square of a first guess.
#[derive(Clone, Copy, Debug)]
struct Line {
    scale: f64,
    s: f64,
    sx: f64,
    sy: f64,
    sxx: f64,
    sxy: f64,
}

impl Line {
    /// Begins with what is known beforehand: the slope is 0 give or take the usual stretch.
    fn new(guess_hz: f64) -> Self {
        Self { scale: guess_hz * guess_hz, s: 0.0, sx: 0.0, sy: 0.0, sxx: USUAL_STRETCH.powi(-2), sxy: 0.0 }
    }

    /// What a partial weighs: one over the square of its error.
    fn weight(&self, n: f64, peak: &Peak, stray: f64) -> f64 {
        let y = (peak.hz / n).powi(2) / self.scale;
        (2.0 * y * deviation(n, peak, stray) / peak.hz).powi(-2)
    }

    fn determinant(&self) -> f64 {
        self.s * self.sxx - self.sx * self.sx
    }

    fn add(&mut self, n: f64, peak: &Peak, stray: f64) {
        let x = n * n;
        let y = (peak.hz / n).powi(2) / self.scale;
        let weight = self.weight(n, peak, stray);
        self.s += weight;
        self.sx += weight * x;
        self.sy += weight * y;
        self.sxx += weight * x * x;
        self.sxy += weight * x * y;
    }

    /// Returns the first partial in hertz, and B.
    fn solve(&self) -> Option<(f64, f64)> {
        let determinant = self.determinant();
        let mut v = if determinant > 0.0 { (self.s * self.sxy - self.sx * self.sy) / determinant } else { 0.0 };
        let mut u = (self.sy - v * self.sx) / self.s;
        let stretch = (v / u).clamp(0.0, MOST_STRETCH);
        // At an end of what is believed, the line keeps that slope and only its height is free.
        if (v / u - stretch).abs() > 1e-12 {
            u = self.sy / (self.s + stretch * self.sx);
            v = stretch * u;
        }
        let squared = (u + v) * self.scale;
        (squared > 0.0 && squared.is_finite()).then(|| (squared.sqrt(), stretch))
    }
}

/// Fits all of the partials given.
fn line<'a>(matches: impl Iterator<Item = &'a Match>, stray: f64) -> Option<(f64, f64)> {
    let mut matches = matches.peekable();
    let (n, first) = **matches.peek()?;
    let mut line = Line::new(first.hz / n);
    matches.for_each(|(n, peak)| line.add(*n, peak, stray));
    line.solve()
}
