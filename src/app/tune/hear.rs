//! A tune heard: at a tempo, from bar to bar, one voice louder; the place follows the clock.

use crate::app::desk::Desk;
use crate::app::ears::{Sound, click};
use crate::app::guitar::Guitar;
use crate::app::next::Next;
use crate::app::tune_sound::{TuneHearing, tune_strikes};
use crate::instrument::Catalog;
use crate::sound::Strike;
use crate::store::Library;
use crate::tune::{PlayedBar, Quarters, Tempo};

use super::open::OpenTune;
use super::work::Worked;

/// How fast a tune goes that says nothing, nor its song, in quarters a minute.
const USUAL_TEMPO: f64 = 100.0;
/// How slow and how fast it can be heard, in hundredths of its own tempo.
const PERCENT: std::ops::RangeInclusive<u16> = 30..=150;
/// A loop is handed over for so many seconds at once, so that nothing has to be in time for its end, …
const LOOPED_S: f64 = 1800.0;
/// … but for no more plucks than these.
const MOST_STRIKES: usize = 40_000;

/// Which voice is heard how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Voices {
    /// Both, the melody the louder one.
    #[default]
    Both,
    /// The thumb softly.
    MelodyLouder,
    /// The melody softly.
    ThumbLouder,
    /// No thumb.
    MelodyAlone,
    /// No melody.
    ThumbAlone,
}

impl Voices {
    /// All, as they are offered.
    pub const ALL: [Self; 5] = [Self::Both, Self::MelodyLouder, Self::ThumbLouder, Self::MelodyAlone, Self::ThumbAlone];

    /// The peaks of a melody note and of a thumb's, 0 to 1.
    const fn levels(self) -> (f64, f64) {
        match self {
            Self::Both => (0.3, 0.22),
            Self::MelodyLouder => (0.32, 0.08),
            Self::ThumbLouder => (0.1, 0.32),
            Self::MelodyAlone => (0.3, 0.0),
            Self::ThumbAlone => (0.0, 0.3),
        }
    }
}

/// How a tune is heard.
#[derive(Clone, Debug, PartialEq)]
pub struct HearTune {
    /// The tempo in hundredths of the tune's own, 30 to 150.
    pub percent: u16,
    /// Which voice.
    pub voices: Voices,
    /// Whether it begins anew at the loop's end.
    pub is_loop: bool,
    /// The loop's first and last bar, indices into the bars as played.
    pub bars: (usize, usize),
    /// Whether a bar is counted in.
    pub counts_in: bool,
    /// What plays.
    pub playing: Option<TunePlaying>,
}

impl Default for HearTune {
    fn default() -> Self {
        Self { percent: 100, voices: Voices::default(), is_loop: false, bars: (0, 3), counts_in: true, playing: None }
    }
}

/// A tune that plays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TunePlaying {
    /// When it began, count-in included, in milliseconds; `None` until the first time is told.
    began_ms: Option<f64>,
    /// Where it begins and where it ends, or begins anew.
    pub from: Quarters,
    /// Where it ends.
    pub to: Quarters,
    /// How many beats are counted in, and how long each is.
    pub count_in: (u32, Quarters),
    /// How fast, in quarters a minute.
    pub quarters_per_minute: f64,
    /// Beats of the count-in that are left; 0 once it is over.
    pub counted: u32,
    is_loop: bool,
}

impl TunePlaying {
    /// Returns where it is at a time, in quarters, and how many beats of the count-in are left; `None` after its end.
    fn at(&self, now_ms: f64) -> Option<(f64, u32)> {
        let began = self.began_ms.unwrap_or(now_ms);
        let passed = (now_ms - began).max(0.0) / 60_000.0 * self.quarters_per_minute;
        let (beats, beat) = self.count_in;
        let since = passed - f64::from(beats) * beat.to_f64();
        if since < 0.0 {
            let left = (-since / beat.to_f64()).ceil();
            let counted = (1..=beats).find(|count| f64::from(*count) >= left).unwrap_or(beats);
            return Some((self.from.to_f64(), counted));
        }
        let length = (self.to - self.from).to_f64();
        if self.is_loop && length > 0.0 {
            return Some((self.from.to_f64() + since % length, 0));
        }
        (since < length).then(|| (self.from.to_f64() + since, 0))
    }
}

/// Returns the tempo that a tune is heard at, in quarters a minute.
fn tempo(open: &OpenTune, library: &Library, worked: &Worked) -> f64 {
    let own = worked.question.tune.tempo.map(Tempo::quarters_per_minute);
    let song = || open.find(library)?.tempo_bpm.map(f64::from);
    let whole = own.or_else(song).unwrap_or(USUAL_TEMPO).clamp(20.0, 400.0);
    whole * f64::from(open.hearing.percent) / 100.0
}

/// Returns the slice that is played at a place in quarters.
#[must_use]
pub fn now_at(worked: &Worked, place: f64) -> Option<usize> {
    let slices = &worked.arrangement.slices;
    slices.partition_point(|slice| slice.at.to_f64() <= place + 1e-6).checked_sub(1)
}

/// The bar at a place.
fn bar_at(worked: &Worked, at: Quarters) -> Option<PlayedBar> {
    let played = &worked.question.played;
    played.bars.get(played.bar_at(at)).copied()
}

/// Begins to play, or stops.
pub(super) fn play_or_stop(open: &mut OpenTune, library: &Library) -> Next {
    if open.hearing.playing.take().is_some() {
        return Next::Hush;
    }
    let counts_in = open.hearing.counts_in;
    play(open, library, counts_in)
}

/// Plays from the moment that is looked at, or the loop.
fn play(open: &mut OpenTune, library: &Library, counts_in: bool) -> Next {
    let Some(worked) = open.worked.clone() else { return Next::Shown };
    let hearing = &open.hearing;
    let bars = &worked.question.played.bars;
    let end = worked.question.played.length;
    let (from, to) = if hearing.is_loop {
        let last = bars.len().saturating_sub(1);
        let (first, to) = (hearing.bars.0.min(last), hearing.bars.1.min(last).max(hearing.bars.0.min(last)));
        match (bars.get(first), bars.get(to)) {
            (Some(first), Some(last)) => (first.at, last.at + last.length),
            _ => (Quarters::ZERO, end),
        }
    } else {
        let last = worked.arrangement.slices.last().map_or(Quarters::ZERO, |slice| slice.at);
        (if open.selected >= last { Quarters::ZERO } else { open.selected }, end)
    };
    let count_in = bar_at(&worked, from).filter(|_| counts_in).map_or((0, Quarters::ONE), |bar| {
        let beat = bar.metre.beat();
        let beats = bar.metre.bar_length().map_or(4, |length| length.whole_steps(beat));
        // What a pickup leaves of its bar is counted besides, so that "one" falls on the first whole bar.
        let into = (bar.offset + (from - bar.at)).whole_steps(beat);
        let counted = beats + into.rem_euclid(beats.max(1));
        (u32::try_from(counted.clamp(1, 24)).unwrap_or(4), beat)
    });
    let is_loop = hearing.is_loop;
    let quarters_per_minute = tempo(open, library, &worked);
    open.selected = from;
    let counted = count_in.0;
    open.hearing.playing =
        Some(TunePlaying { began_ms: None, from, to, count_in, quarters_per_minute, counted, is_loop });
    Next::Hear(Sound::Tune)
}

/// Plays on from where it is, in another way; silent, it stays so.
pub(super) fn play_anew(open: &mut OpenTune, library: &Library) -> Next {
    if open.hearing.playing.take().is_none() {
        return Next::Shown;
    }
    play(open, library, false)
}

/// Follows the clock.
pub(super) fn tick(open: &mut OpenTune, now_ms: f64) -> Next {
    let Some(mut playing) = open.hearing.playing else { return Next::Shown };
    playing.began_ms.get_or_insert(now_ms);
    match (playing.at(now_ms), open.worked.as_deref()) {
        (Some((place, counted)), Some(worked)) => {
            playing.counted = counted;
            if let Some(slice) = now_at(worked, place).and_then(|index| worked.arrangement.slices.get(index)) {
                open.selected = slice.at;
            }
            open.hearing.playing = Some(playing);
        }
        _ => {
            open.hearing.playing = None;
            open.selected = playing.from;
        }
    }
    Next::Shown
}

/// After every action: what was left or cannot be heard plays no more; a loop that has sounded to its end begins anew.
/// `is_here` says whether a screen of a tune is shown; then what sounds, and whether nothing can.
pub(in crate::app) fn settle(
    open: &mut OpenTune,
    library: &Library,
    is_here: bool,
    (sounding, is_mute): (Option<Sound>, bool),
) -> Next {
    let Some(playing) = open.hearing.playing else { return Next::Shown };
    if sounding == Some(Sound::Tune) && is_here {
        return Next::Shown;
    }
    open.hearing.playing = None;
    let is_over = !is_mute && sounding.is_none() && is_here;
    if is_over && playing.is_loop { play(open, library, false) } else { Next::Shown }
}

/// Returns the plucks of what is to be heard: the tune with its count-in, or one moment.
pub(in crate::app) fn strikes(open: &OpenTune, desk: &Desk, sound: Sound) -> Vec<Strike> {
    let Some(worked) = open.worked.as_deref() else { return Vec::new() };
    let a4 = desk.library.settings.reference();
    let instrument = worked.question.instrument;
    let guitar = desk.guitar_of(instrument.id());
    let usual = || Catalog::bundled().strings_of(instrument).strings();
    let strings = guitar.as_deref().map_or_else(usual, Guitar::strings);
    let (melody, thumb) = open.hearing.voices.levels();
    let plucks = |hearing: &TuneHearing| tune_strikes(&worked.arrangement, instrument, strings, a4, hearing);
    let Some(playing) = open.hearing.playing.filter(|_| sound == Sound::Tune) else {
        let Some((index, slices)) = open.selected() else { return Vec::new() };
        let (from, to) = (slices[index].at, slices[index].at + slices[index].length);
        // Long enough to be heard, however short it is in the tune.
        let (melody, thumb) = Voices::Both.levels();
        let one =
            TuneHearing { quarters_per_minute: tempo(open, &desk.library, worked).min(60.0), from, to, melody, thumb };
        return plucks(&one).into_iter().map(|strike| Strike { stop_at_s: Some(1.2), ..strike }).collect();
    };
    let (from, to, quarters_per_minute) = (playing.from, playing.to, playing.quarters_per_minute);
    let once = TuneHearing { quarters_per_minute, from, to, melody, thumb };
    let (beats, beat) = playing.count_in;
    let seconds = |length: Quarters| length.to_f64() * 60.0 / quarters_per_minute;
    let mut found: Vec<Strike> =
        (0..beats).filter_map(|count| click(f64::from(count) * seconds(beat), count == 0)).collect();
    let begins = f64::from(beats) * seconds(beat);
    let one = plucks(&once);
    let round_s = seconds(to - from).max(0.1);
    let mut round = 0_u32;
    loop {
        let later = begins + f64::from(round) * round_s;
        found.extend(one.iter().map(|strike| Strike {
            at_s: strike.at_s + later,
            stop_at_s: strike.stop_at_s.map(|stop| stop + later),
            ..*strike
        }));
        round += 1;
        let is_enough = later + round_s - begins > LOOPED_S || found.len() + one.len() > MOST_STRIKES;
        if !playing.is_loop || one.is_empty() || is_enough {
            return found;
        }
    }
}

/// Makes it slower or faster.
pub(super) fn percent_by(open: &mut OpenTune, library: &Library, by: i16) -> Next {
    let wanted = i32::from(open.hearing.percent) + i32::from(by);
    let wanted = wanted.clamp((*PERCENT.start()).into(), (*PERCENT.end()).into());
    open.hearing.percent = u16::try_from(wanted).unwrap_or(100);
    play_anew(open, library)
}

/// Moves an end of the loop by so many bars; its beginning never comes behind its end.
pub(super) fn loop_by(open: &mut OpenTune, library: &Library, is_end: bool, by: i16) -> Next {
    let bars = open.worked.as_ref().map_or(1, |worked| worked.question.played.bars.len());
    let moved = |bar: usize| bar.saturating_add_signed(by.into()).min(bars.saturating_sub(1));
    let (first, last) = open.hearing.bars;
    open.hearing.bars = if is_end {
        let last = moved(last);
        (first.min(last), last)
    } else {
        let first = moved(first);
        (first, last.max(first))
    };
    if open.hearing.is_loop { play_anew(open, library) } else { Next::Shown }
}
