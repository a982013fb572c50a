//! From samples to the pitch a player means: the first partial of the string just plucked.
//!
//! Sound is brought down to about 12 000 samples a second and looked at through Gaussian windows that begin after the
//! pluck and grow with the note, from 40 ms to 0.9 s: short ones answer soon, long ones exactly. The pitch reported is
//! that of the first partial, from a fit of all partials with the stretch that stiffness gives them, so a weak or
//! missing fundamental is still read, and a stiff string is not read sharp.
//!
//! What sounded before the pluck (mains hum, another string) is remembered and left out. A pitch on the mains' own
//! series is believed only if a pluck was heard before it, and after that only while it dies away: hum is there without a
//! pluck, and stays. Two strings plucked together, and pitches outside B0 to E6, are not handled.

use realfft::RealFftPlanner;

use crate::theory::{Cents, Hertz};

use super::decimate::{Decimator, mean_square};
use super::onset::{BLOCK_S, Onsets};
use super::refine::{Bank, blocks_in};
use super::samples::{SampleRate, level_db, nearest_count, real};
use super::series::{Series, find_series, follow_series};
use super::spectrum::{Partials, Peak, Spectrum};
use super::wav::Recording;

/// Window lengths in seconds, each about √2 times the one before, and one between: the fifth is the shortest that holds five
/// periods of B0, the sixth tells its partials apart in noise.
const WINDOWS_S: [f64; 11] = [0.04, 0.0566, 0.08, 0.1131, 0.165, 0.175, 0.2263, 0.32, 0.4525, 0.64, 0.905];
/// The longest stretch that is measured, in seconds.
const LONGEST_S: f64 = 1.0;
/// The longest window that is used without the note having held still, in seconds.
const BASE_S: f64 = 0.23;
/// How often a pitch is read once the note is under way, in blocks: 20 ms.
const SETTLED_BLOCKS: usize = 4;
/// Within this time of a pluck every block is read, in seconds; …
const EARLY_S: f64 = 0.13;
/// … and within this time until a string is heard.
const UNHEARD_S: f64 = 0.25;
/// What is skipped of the pluck itself, in seconds.
const SKIPPED_S: f64 = 0.004;
/// The fewest periods in a window for which partials are told apart; twice as many while something older rings.
const PERIODS: f64 = 5.0;
/// Two readings in a row within this distance confirm each other, in cents.
const AGREEING_CENTS: f64 = 12.0;
/// A long window is believed within this distance of a short one, or four of its standard deviations, in cents.
const AGREEING_LONG_CENTS: f64 = 4.0;
/// A note that stayed within this distance is still enough for longer windows, in cents; or within four standard deviations.
/// The smaller, the shorter the windows of a slow turn, and the sooner they have left it behind when it ends.
const STILL_CENTS: f64 = 1.0;

/// From this window on, what is seen serves as the memory of what sounded before the next pluck.
const SNAPSHOT: usize = 6;
/// How many multiples of the mains' frequency hum is looked for at.
const MAINS_PARTIALS: f64 = 20.0;
/// A sound that begins within so many blocks of the start was there before: as many as plucks are compared over.
const FIRST_BLOCKS: usize = 12;
/// For how long after a pluck a pitch on the mains' series need not die away yet, in seconds: a string that rings for 20 s
/// has fallen by 15 % in its window of 0.23 s by then.
const NOT_YET_DYING_S: f64 = 0.6;
/// A string that rings does not leap by a whole number; it is believed to have after so many blocks, 0.5 s.
const LEAPT_BLOCKS: usize = 100;
/// For how long a string must have been read before a leap of it is doubted, in readings.
const KNOWN_READINGS: usize = 12;
/// What is known explains as much as the leap if its share of the power is this much of the leap's.
const AS_MUCH: f64 = 0.9;
/// A reading this near the last one, in cents, is the same string's.
const SAME_STRING_CENTS: f64 = 50.0;
/// A single partial is a string only if it is nearly all there is, as a share of the power.
const LONE_SHARE: f64 = 0.9;
/// Windows shorter than this, in seconds, must show more of the power on one string, by the next figure.
const SHORT_S: f64 = 0.15;
/// See [`SHORT_S`].
const SHORT_WINDOWS_MORE: f64 = 0.2;
/// The largest standard deviation of a reading, as a share of its frequency: 7 cents.
const WORST_DEVIATION: f64 = 0.004;
/// A string that is this much louder after something struck was plucked, in power.
const LOUDER: f64 = 1.5;
/// What is new since the pluck must be this much of all there is, in power, to be taken for the string.
const LEAST_NEW_SHARE: f64 = 0.05;

/// How the tracker listens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Listening {
    /// Sound below this level is not looked at, in dB of a full-scale square wave: −100 to −20. The default, −65, lies
    /// above the noise of a quiet room at usual microphone gains (chosen by ear).
    pub quietest_db: f64,
    /// The least share of the sound's power that must lie on one string's partials, 0.3 to 0.95. The default, 0.6, was
    /// chosen so that ten minutes of noise give no reading.
    pub least_confidence: f64,
}

impl Default for Listening {
    fn default() -> Self {
        Self { quietest_db: -65.0, least_confidence: 0.6 }
    }
}

/// A string that is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Where its first partial sounds.
    pub frequency: Hertz,
    /// The share of the sound's power that lies on its partials, 0 to 1.
    pub confidence: f64,
    /// Its stiffness B in f_n = n·f_1·√((1 + B·n²) / (1 + B)), as fitted.
    pub inharmonicity: f64,
    /// How many partials the fit rests on.
    pub partials: u8,
    /// The length of sound that was looked at, in seconds.
    pub window_s: f64,
    /// The standard deviation to expect of `frequency`, from the noise beside the partials.
    pub deviation: Cents,
}

impl Heard {
    /// Returns how far the string stands from `target`; positive means sharp.
    #[must_use]
    pub fn off_target(&self, target: Hertz) -> Cents {
        Cents::between(target, self.frequency)
    }
}

/// What was heard at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// When, in seconds of sound since the tracker began.
    pub at_s: f64,
    /// The level of the last 50 ms, in dB of a full-scale square wave: 0 down to −200.
    pub level_db: f64,
    /// The string, if there is one.
    pub heard: Option<Heard>,
    /// The number of the note: plucks are counted from 1. A knock while a string rings begins no note.
    pub note: u32,
    /// How long ago it was plucked, in seconds.
    pub since_pluck_s: f64,
}

/// What rang when something struck: a note, should it turn out that it goes on.
#[derive(Debug)]
struct Struck {
    hz: f64,
    power: f64,
    plucked_at: usize,
    loudest: f64,
    is_dying: bool,
    before: Vec<Peak>,
    still: Vec<(usize, f64)>,
}

/// Follows the pitch of one plucked string at a time.
#[derive(Debug)]
pub struct Tracker {
    listening: Listening,
    decimator: Decimator,
    spectra: Vec<Spectrum>,
    rate_hz: f64,
    block: usize,
    recent: Vec<f32>,
    unread: usize,
    blocks: usize,
    onsets: Onsets,
    plucked_at: usize,
    loudest: f64,
    is_dying: bool,
    before: Vec<Peak>,
    latest: Vec<Peak>,
    latest_hz: Option<f64>,
    latest_power: f64,
    confirmed: usize,
    still: Vec<(usize, f64)>,
    note: u32,
    struck: Option<Struck>,
    /// The note began with a pluck that was heard.
    is_plucked: bool,
    /// What was read last, and since when something a whole number of times as high or low is found instead.
    known: Option<Series>,
    leapt_at: Option<usize>,
    bank: Bank,
}

impl Tracker {
    /// Makes a tracker for sound at `rate`.
    #[must_use]
    pub fn new(rate: SampleRate, listening: Listening) -> Self {
        let decimator = Decimator::new(rate);
        let rate_hz = decimator.rate_hz();
        let mut planner = RealFftPlanner::new();
        Self {
            listening,
            decimator,
            spectra: WINDOWS_S.iter().map(|&seconds| Spectrum::new(&mut planner, rate_hz, seconds)).collect(),
            rate_hz,
            block: nearest_count(BLOCK_S * rate_hz),
            recent: Vec::new(),
            unread: 0,
            blocks: 0,
            onsets: Onsets::default(),
            plucked_at: 0,
            loudest: 0.0,
            is_dying: false,
            before: Vec::new(),
            latest: Vec::new(),
            latest_hz: None,
            latest_power: 0.0,
            confirmed: 0,
            still: Vec::new(),
            note: 0,
            struck: None,
            is_plucked: false,
            known: None,
            leapt_at: None,
            bank: Bank::new(rate_hz, nearest_count(BLOCK_S * rate_hz)),
        }
    }

    /// Returns the number of the latest note; 0 before the first.
    #[must_use]
    pub const fn note(&self) -> u32 {
        self.note
    }

    /// Forgets what was heard, as after sound that was none of the player's: what sounds now is looked at afresh, without
    /// counting as plucked.
    pub fn forget(&mut self) {
        self.plucked_at = self.blocks;
        self.loudest = 0.0;
        self.is_dying = false;
        self.before.clear();
        self.latest.clear();
        self.latest_hz = None;
        self.confirmed = 0;
        self.still.clear();
        self.struck = None;
        self.is_plucked = false;
        self.known = None;
        self.leapt_at = None;
        self.bank.clear();
    }

    /// Takes the next samples, in portions of any size, and appends a reading to `readings` every 5 ms after a pluck
    /// and every 20 ms later on.
    pub fn push(&mut self, samples: &[f32], readings: &mut Vec<Reading>) {
        // In small portions, so that what is kept stays small whatever comes.
        for portion in samples.chunks(4096) {
            let had = self.recent.len();
            self.decimator.push(portion, &mut self.recent);
            self.unread += self.recent.len() - had;
            while self.unread >= self.block {
                self.unread -= self.block;
                let end = self.recent.len() - self.unread;
                readings.extend(self.next_block(end));
            }
            let longest = self.spectra.last().map_or(0, Spectrum::len) + self.block;
            let surplus = self.recent.len().saturating_sub(2 * longest);
            if surplus > longest {
                self.recent.drain(..surplus);
            }
        }
    }

    /// Reads the block that ends at `end` in `recent`.
    fn next_block(&mut self, end: usize) -> Option<Reading> {
        self.blocks += 1;
        let block = &self.recent[end - self.block..end];
        let is_pluck = self.onsets.is_pluck(block);
        let level = level_db(mean_square(&self.recent[end.saturating_sub(10 * self.block)..end]));
        let is_loud = level_db(mean_square(&self.recent[end - self.block..end])) >= self.listening.quietest_db;
        if is_pluck && is_loud {
            self.begin();
        }
        let since = real(self.blocks - self.plucked_at) * BLOCK_S;
        let is_early = since <= if self.confirmed == 0 { UNHEARD_S } else { EARLY_S };
        if !is_early && !self.blocks.is_multiple_of(SETTLED_BLOCKS) {
            return None;
        }
        let heard = if level < self.listening.quietest_db { None } else { self.read(end, since - SKIPPED_S) };
        if heard.is_none() && level < self.listening.quietest_db {
            self.latest_hz = None;
            self.still.clear();
            // What rang is gone: had it been plucked, it is a note of its own that nobody could read.
            self.note += u32::from(self.struck.take().is_some());
        }
        Some(Reading {
            at_s: real(self.blocks) * real(self.block) / self.rate_hz,
            level_db: level,
            heard,
            note: self.note,
            since_pluck_s: real(self.blocks - self.plucked_at) * BLOCK_S,
        })
    }

    /// Begins a new note with the block just read.
    fn begin(&mut self) {
        match (self.latest_hz.filter(|_| self.confirmed > 0), &self.struck) {
            // Whether it is a pluck or a knock shows when a string is read.
            (Some(hz), None) => {
                self.struck = Some(Struck {
                    hz,
                    power: self.latest_power,
                    plucked_at: self.plucked_at,
                    loudest: self.loudest,
                    is_dying: self.is_dying,
                    before: self.before.clone(),
                    still: std::mem::take(&mut self.still),
                });
            }
            (_, Some(_)) => {}
            (None, None) => self.note += 1,
        }
        // A pluck's attack may rise through several blocks; what sounded before it is what was known at its start.
        if self.blocks - self.plucked_at > 6 {
            self.before = std::mem::take(&mut self.latest);
        }
        self.plucked_at = self.blocks - 1;
        // What sounds when listening begins may be hum as well as a pluck.
        self.is_plucked = self.blocks > FIRST_BLOCKS;
        self.known = None;
        self.leapt_at = None;
        self.bank.clear();
        self.loudest = 0.0;
        self.is_dying = false;
        self.latest_hz = None;
        self.confirmed = 0;
        self.still.clear();
    }

    fn read(&mut self, end: usize, available_s: f64) -> Option<Heard> {
        let available_s = available_s.min(real(end) / self.rate_hz);
        let fitting = |limit: f64, spectra: &[Spectrum]| {
            spectra.iter().rposition(|window| window.seconds() <= limit.min(available_s) + 1e-9)
        };
        let base = fitting(BASE_S, &self.spectra)?;
        let mut found = self.look(base, end, None);
        let mut used = base;
        if found.is_none() && base > 2 {
            found = self.look(2, end, None);
            used = 2;
        }
        let found = found.map(|series| self.without_leap(series, used, end));
        let Some(series) = found else {
            self.latest_hz = None;
            self.still.clear();
            return None;
        };
        let agrees = |hz: f64| cents(hz, series.first_hz).abs() <= AGREEING_CENTS;
        self.confirmed = match self.latest_hz {
            Some(hz) if agrees(hz) => self.confirmed + 1,
            _ => 0,
        };
        self.known = Some(series.clone());
        self.latest_hz = Some(series.first_hz);
        self.latest_power = series.matches.iter().map(|(_, peak)| peak.power).sum();
        self.tell_knock_from_pluck(&series);
        self.still.push((self.blocks, series.first_hz));
        if self.still.len() > 128 {
            self.still.drain(..64);
        }
        if self.confirmed == 0 {
            return None;
        }
        let reach = 0.7 / self.spectra[used].seconds();
        // From now on these partials are the note's own, however far they fade.
        self.before.retain(|old| is_on_mains(old.hz, MAINS_PARTIALS) || !series.has_partial_near(old.hz, reach));
        let jitter = 4.0 * cents(series.first_hz, series.first_hz + series.deviation_hz);
        // How long the note has held still, looking back.
        let since = self
            .still
            .iter()
            .rev()
            .take_while(|(_, hz)| cents(*hz, series.first_hz).abs() <= jitter.max(STILL_CENTS))
            .last()
            .map_or(0, |(at, _)| self.blocks - at);
        let still_s = real(since) * BLOCK_S + self.spectra[used].seconds();
        let mut best = (series, used);
        if let Some(long) = fitting(still_s, &self.spectra).filter(|&long| long > used) {
            let longer = self.look(long, end, Some(&best.0));
            if let Some(longer) =
                longer.filter(|longer| cents(longer.first_hz, best.0.first_hz).abs() < jitter.max(AGREEING_LONG_CENTS))
            {
                best = (longer, long);
            }
        }
        let (series, used) = best;
        let whole_s = available_s.min(still_s).min(LONGEST_S).max(self.spectra[used].seconds());
        let count = blocks_in(whole_s);
        let found_s = self.spectra[used].seconds();
        let refined = self.bank.refine(&series, found_s, &self.recent[..end], self.blocks, count);
        let series = refined.unwrap_or(series);
        let frequency = Hertz::new(series.first_hz)?;
        let upper = Hertz::new(series.first_hz + series.deviation_hz)?;
        Some(Heard {
            frequency,
            confidence: series.share,
            inharmonicity: series.stretch,
            partials: series.partials,
            window_s: real(count) * BLOCK_S,
            deviation: Cents::between(frequency, upper),
        })
    }

    /// A string that has been read for a while does not leap to an octave, a twelfth or further multiples of itself: where
    /// what is known of it explains as much, it is read as before, until the leap has lasted.
    fn without_leap(&mut self, found: Series, used: usize, end: usize) -> Series {
        let known = self.known.take().filter(|known| self.confirmed >= KNOWN_READINGS && is_leap(known, &found));
        let Some(known) = known else {
            self.leapt_at = None;
            return found;
        };
        let since = *self.leapt_at.get_or_insert(self.blocks);
        if found.first_hz > known.first_hz && self.blocks - since > LEAPT_BLOCKS {
            self.leapt_at = None;
            return found;
        }
        let again = self.look(used, end, Some(&known));
        again.filter(|again| again.share >= AS_MUCH * found.share && !is_leap(&known, again)).unwrap_or(found)
    }

    /// After something struck while a note rang: the string that is read now goes on, no louder than before, or it was
    /// plucked.
    fn tell_knock_from_pluck(&mut self, series: &Series) {
        if self.confirmed == 0 {
            return;
        }
        let Some(struck) = self.struck.take() else { return };
        if cents(struck.hz, series.first_hz).abs() > AGREEING_CENTS || self.latest_power > LOUDER * struck.power {
            self.note += 1;
            return;
        }
        self.plucked_at = struck.plucked_at;
        self.loudest = struck.loudest;
        self.is_dying = struck.is_dying;
        self.before = struck.before;
        self.still = struck.still;
    }

    /// Looks through one window for a string that is believable: the one known, or any.
    fn look(&mut self, window: usize, end: usize, known: Option<&Series>) -> Option<Series> {
        let seconds = self.spectra[window].seconds();
        let mut all = self.spectra[window].partials(&self.recent[..end]);
        if window >= SNAPSHOT {
            self.latest.clone_from(&all.peaks);
        }
        if window == SNAPSHOT {
            self.loudest = self.loudest.max(all.total_power);
            self.is_dying = all.total_power < 0.85 * self.loudest;
        }
        let (is_dying, is_plucked) = (self.is_dying, self.is_plucked);
        let known_hz = self.latest_hz.filter(|_| self.confirmed > 0);
        let is_early = real(self.blocks - self.plucked_at) * BLOCK_S <= NOT_YET_DYING_S;
        let is_hum = |old: &Peak, peak: &Peak| is_on_mains(old.hz, MAINS_PARTIALS) && peak.power < 6.0 * old.power;
        leave_out(&mut all, &self.before, seconds, is_hum);
        blur(&mut all.peaks, &self.before, seconds);
        // A string that goes on ringing only dies away.
        let mut new = all.clone();
        leave_out(&mut new, &self.before, seconds, |old, peak| peak.power < 1.15 * old.power);
        let least = self.listening.least_confidence + if seconds < SHORT_S { SHORT_WINDOWS_MORE } else { 0.0 };
        let old: f64 = self.before.iter().map(|peak| peak.power).sum();
        let periods = if old > LEAST_NEW_SHARE * all.total_power { 2.0 * PERIODS } else { PERIODS };
        let believable = |series: &Series| {
            let is_firm = series.partials > 1 || series.share >= LONE_SHARE;
            let is_sharp = series.deviation_hz < WORST_DEVIATION * series.first_hz;
            // A string that is turned past the mains' multiples is the same string there.
            let is_known = known_hz.is_some_and(|hz| cents(hz, series.first_hz).abs() <= SAME_STRING_CENTS);
            let is_string =
                !is_on_mains(series.first_hz, 6.0) || is_plucked && (is_dying || is_early) || is_known && is_dying;
            is_firm && is_sharp && is_string && series.share >= least
        };
        if let Some(known) = known {
            let found = if new.total_power > LEAST_NEW_SHARE * all.total_power { &new } else { &all };
            return follow_series(found, seconds, known).filter(believable);
        }
        let is_new_sound = new.peaks.len() < all.peaks.len() && new.total_power > LEAST_NEW_SHARE * all.total_power;
        let fresh = is_new_sound.then(|| find_series(&new, seconds, 2.0 * PERIODS)).flatten().filter(believable);
        fresh.or_else(|| find_series(&all, seconds, periods).filter(believable))
    }
}

/// Drops the peaks that stand where one stood before the pluck, if `is_same` says they are no more than that one.
fn leave_out(found: &mut Partials, before: &[Peak], seconds: f64, is_same: impl Fn(&Peak, &Peak) -> bool) {
    let mut left = found.total_power;
    found.peaks.retain(|peak| {
        let is_old = before.iter().any(|old| (old.hz - peak.hz).abs() < 0.7 / seconds && is_same(old, peak));
        if is_old {
            left -= peak.power;
        }
        !is_old
    });
    found.total_power = left.max(found.peaks.iter().map(|peak| peak.power).sum());
}

/// Trusts a peak less when something sounded close by before the pluck: two components in one lobe pull the peak by
/// about the ratio of their amplitudes times their distance.
fn blur(peaks: &mut [Peak], before: &[Peak], seconds: f64) {
    for peak in peaks {
        for old in before.iter().filter(|old| (old.hz - peak.hz).abs() < 3.0 / seconds) {
            let pull = (old.power / peak.power).sqrt().min(1.0) * (old.hz - peak.hz).abs().min(1.0 / seconds);
            peak.deviation_hz = peak.deviation_hz.hypot(pull);
        }
    }
}

/// Tells whether one string lies about a whole number of times as high as the other, or a whole part, and not beside it.
fn is_leap(known: &Series, found: &Series) -> bool {
    let ratio = (found.first_hz / known.first_hz).max(known.first_hz / found.first_hz);
    ratio > 1.5 && (ratio / ratio.round() - 1.0).abs() < 0.02
}

/// Returns the distance in cents from `from` to `to`, both in hertz above zero.
fn cents(from: f64, to: f64) -> f64 {
    Hertz::new(from).zip(Hertz::new(to)).map_or(f64::INFINITY, |(from, to)| Cents::between(from, to).get())
}

/// Tells whether a frequency lies within 0.4 % of 50 or 60 Hz or of one of their first `most` multiples.
fn is_on_mains(hz: f64, most: f64) -> bool {
    [50.0, 60.0].iter().any(|mains| {
        let times = (hz / mains).round().clamp(1.0, most);
        (hz / (mains * times) - 1.0).abs() < 0.004
    })
}

/// Follows a whole recording.
#[must_use]
pub fn track(recording: &Recording, listening: Listening) -> Vec<Reading> {
    let mut readings = Vec::new();
    Tracker::new(recording.rate, listening).push(&recording.samples, &mut readings);
    readings
}
