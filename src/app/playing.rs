//! Playing a song: line by line through its chart as it is played, repeats unfolded; by taps, by keys or by the clock.

use std::sync::Arc;

use crate::songs::{Chart, PlayedLine, Song, SongId};
use crate::store::Library;
use crate::theory::Chord;

use super::desk::Desk;
use super::next::Next;
use super::screen::Screen;
use super::set_list::OpenSetList;
use super::song::OpenSong;
use super::stage_page::Room;
use super::state::State;

/// Beats a bar has. A song names no metre; four is what most have (common practice, no source).
pub const BEATS_A_BAR: u32 = 4;
/// The tempo of a song that names none, in beats a minute.
pub(super) const USUAL_TEMPO_BPM: u16 = 90;
/// Taps further apart than this begin to count a tempo anew, in milliseconds: below 30 beats a minute.
const TAPS_APART_MS: f64 = 2000.0;
/// The tempo is told from so many taps, the last ones.
const MOST_TAPS: usize = 8;
/// The most beats a click is foreseen for: over half an hour at 120 a minute.
const MOST_BEATS: i32 = 4000;
/// How far words and chords can be made smaller and larger, in steps of a tenth.
const LOOK_STEPS: std::ops::RangeInclusive<i8> = -4..=10;

/// The song that is played and how far it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Playing {
    /// Which song.
    pub song: Option<SongId>,
    /// Which of its lines as played, from 0.
    pub at: usize,
    /// Whether it goes on by itself.
    pub clock: Clock,
    /// The room the page has.
    pub room: Room,
    /// Whether what can be set on stage is open.
    pub shows_look: bool,
    /// When the tempo was tapped, in milliseconds.
    taps_ms: Vec<f64>,
    /// The time that was told last, in milliseconds.
    now_ms: f64,
}

/// Whether a song goes on by itself.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Clock {
    /// It waits for taps.
    #[default]
    Off,
    /// It goes on. The current line begins at this time, in milliseconds; before it, the count-in.
    Running {
        /// When the current line begins; `None` until the first time is told.
        line_begins_ms: Option<f64>,
        /// How many beats the count-in has left; 0 once it is over.
        count_in: u32,
    },
    /// A tap has stopped it; the next takes it up again.
    Stopped,
}

/// What the screen of a song being played asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlayingAction {
    /// A tap on the page: the next line, or the clock stops and goes on.
    Tap,
    /// The next line.
    Next,
    /// The next line; after the last, on stage, the next song.
    SwipeOn,
    /// The one before.
    Before,
    /// From the beginning.
    FromTheTop,
    /// To the first line that is played of a line of the chart or of those below it.
    Jump(usize),
    /// Let it go on by itself, or not any more.
    ToggleClock,
    /// It is this late, in milliseconds.
    Tick(f64),
    /// The tempo is tapped in, at this time in milliseconds.
    TempoTap(f64),
    /// Beats a minute more or fewer.
    TempoBy(i16),
    /// Open or close what can be set here.
    ShowLook,
    /// Words larger or smaller by a step.
    WordsBy(i8),
    /// Chords larger or smaller by a step.
    ChordsBy(i8),
    /// Show the shapes, or not.
    ShowShapes,
    /// Sound a quiet click, or not.
    Click,
    /// The page has this room.
    Room(Room),
    /// The capo is where the song wants it.
    CapoIsThere,
}

/// Where in the chart the player is.
#[derive(Clone, Debug, PartialEq)]
pub struct PlayView {
    /// The chart.
    pub chart: Arc<Chart>,
    /// Which of them is played.
    pub at: usize,
}

impl PlayView {
    /// Returns the chart's lines as played.
    #[must_use]
    pub fn lines(&self) -> &[PlayedLine] {
        self.chart.played_lines()
    }

    /// Returns the line that is played.
    #[must_use]
    pub fn line(&self) -> &PlayedLine {
        &self.lines()[self.at]
    }

    /// Returns the chords of the lines from the current one on, each once, until there are so many.
    #[must_use]
    pub fn chords_ahead(&self, most: usize) -> Vec<Chord> {
        let mut found = Vec::new();
        let bars = self.chart.played();
        for line in &self.lines()[self.at..] {
            for chord in bars[line.bars.clone()].iter().flat_map(|bar| &bar.chords).flatten() {
                if !found.contains(chord) {
                    found.push(*chord);
                }
                if found.len() == most {
                    return found;
                }
            }
        }
        found
    }
}

/// Returns where the player is; `None` when the chart holds neither music nor words.
#[must_use]
pub fn view(song: &Song, at: usize) -> Option<PlayView> {
    let chart = song.read_chart();
    let at = at.min(chart.played_lines().len().checked_sub(1)?);
    Some(PlayView { chart, at })
}

/// Returns the song that is played.
#[must_use]
pub fn playing_song(state: &State) -> Option<&Song> {
    state.playing.find(&state.library)
}

/// Returns how long a beat of a song lasts, in milliseconds.
#[must_use]
fn beat_ms(song: &Song) -> f64 {
    60_000.0 / f64::from(song.tempo_bpm.unwrap_or(USUAL_TEMPO_BPM).max(1))
}

/// Returns how long a song lasts as it is played by the clock, in seconds; `None` without a tempo or anything to play.
#[must_use]
pub fn lasts_s(song: &Song) -> Option<f64> {
    song.tempo_bpm?;
    let bars: usize = song.read_chart().played_lines().iter().map(|line| line.length_bars).sum();
    let bars = u32::try_from(bars).ok().filter(|&bars| bars > 0)?;
    Some(f64::from(bars * BEATS_A_BAR) * beat_ms(song) / 1000.0)
}

/// Tells whether a click is wanted now: asked for, and the clock runs.
#[must_use]
pub(super) fn clicks(state: &State) -> bool {
    let runs = matches!(state.playing.clock, Clock::Running { line_begins_ms: Some(_), .. });
    runs && state.library.settings.stage.clicks && state.screen() == Screen::Playing
}

/// Returns the beats that are left of the song from the time told last, count-in included: how many seconds from then,
/// and whether a bar begins. At most [`MOST_BEATS`].
#[must_use]
pub(super) fn clock_beats(state: &State) -> Vec<(f64, bool)> {
    let Clock::Running { line_begins_ms: Some(begins), .. } = state.playing.clock else { return Vec::new() };
    let Some((song, view)) = playing_song(state).and_then(|song| Some((song, view(song, state.playing.at)?))) else {
        return Vec::new();
    };
    let (beat, now) = (beat_ms(song), state.playing.now_ms);
    let bars: usize = view.lines()[view.at..].iter().map(|line| line.length_bars.max(1)).sum();
    let last = i32::try_from(bars).unwrap_or(MOST_BEATS).saturating_mul(4).min(MOST_BEATS);
    let bar = 4;
    // Counted from the beginning of the line; the count-in lies before it.
    #[expect(clippy::cast_possible_truncation, reason = "a bar of beats, or a line of them")]
    let first = ((now - begins) / beat).ceil() as i32;
    (first..last).map(|count| ((begins + f64::from(count) * beat - now) / 1000.0, count.rem_euclid(bar) == 0)).collect()
}

/// Opens a song to be played, above its set list or itself.
pub(super) fn open(playing: &mut Playing, open: &mut OpenSong, desk: &mut Desk, id: SongId) -> Next {
    *playing = Playing { song: Some(id), room: playing.room, ..Playing::default() };
    desk.library.remember_song(id);
    desk.guitar.forget_song();
    if super::stage::under_way(desk).is_some_and(|now| now.song.id == id) {
        return Next::AboveSongs(&[Screen::SetList, Screen::Playing]);
    }
    *open = OpenSong { id: Some(id), ..OpenSong::default() };
    Next::AboveSongs(&[Screen::Song, Screen::Playing])
}

pub(super) fn update(
    playing: &mut Playing,
    set_list: &mut OpenSetList,
    desk: &mut Desk,
    action: PlayingAction,
) -> Next {
    let Some(song) = playing.find(&desk.library).cloned() else { return Next::Shown };
    let last = |song: &Song| view(song, 0).map_or(0, |view| view.lines().len() - 1);
    if action == PlayingAction::SwipeOn && playing.at >= last(&song) && leads_on(desk, song.id) {
        return super::stage::update(set_list, desk, super::stage::StageAction::Next);
    }
    let look = &mut desk.library.settings.stage;
    match action {
        PlayingAction::Tap => match playing.clock {
            Clock::Off => step(playing, 1, last(&song)),
            Clock::Running { .. } => playing.clock = Clock::Stopped,
            Clock::Stopped => playing.clock = counted_in(),
        },
        PlayingAction::Next | PlayingAction::SwipeOn => step(playing, 1, last(&song)),
        PlayingAction::Before => step(playing, -1, last(&song)),
        PlayingAction::FromTheTop => {
            playing.at = 0;
            playing.restart_line();
        }
        PlayingAction::Jump(line) => {
            let found = view(&song, 0).and_then(|view| view.lines().iter().position(|played| played.line >= line));
            if let Some(at) = found {
                playing.at = at;
                playing.restart_line();
            }
        }
        PlayingAction::ToggleClock => {
            playing.clock = if playing.clock == Clock::Off { counted_in() } else { Clock::Off };
        }
        PlayingAction::Tick(now_ms) => tick(playing, &song, now_ms),
        PlayingAction::TempoTap(now_ms) => {
            if let Some(bpm) = playing.tapped(now_ms) {
                set_tempo(playing, &mut desk.library, song, i32::from(bpm));
            }
        }
        PlayingAction::TempoBy(by) => {
            let bpm = i32::from(song.tempo_bpm.unwrap_or(USUAL_TEMPO_BPM)) + i32::from(by);
            set_tempo(playing, &mut desk.library, song, bpm);
        }
        PlayingAction::ShowLook => playing.shows_look = !playing.shows_look,
        PlayingAction::WordsBy(by) => {
            look.words_steps = look.words_steps.saturating_add(by).clamp(*LOOK_STEPS.start(), *LOOK_STEPS.end());
        }
        PlayingAction::ChordsBy(by) => {
            look.chords_steps = look.chords_steps.saturating_add(by).clamp(*LOOK_STEPS.start(), *LOOK_STEPS.end());
        }
        PlayingAction::ShowShapes => look.hides_shapes = !look.hides_shapes,
        PlayingAction::Click => look.clicks = !look.clicks,
        PlayingAction::Room(room) => playing.room = room,
        PlayingAction::CapoIsThere => return desk.set_capo(song.capo),
    }
    Next::Shown
}

/// Tells whether the song is on stage and another comes after it.
fn leads_on(desk: &Desk, song: SongId) -> bool {
    let is_on_stage = super::stage::under_way(desk).is_some_and(|now| now.song.id == song);
    is_on_stage && super::stage::next_song(desk).is_some()
}

const fn counted_in() -> Clock {
    Clock::Running { line_begins_ms: None, count_in: BEATS_A_BAR }
}

fn step(playing: &mut Playing, by: isize, last: usize) {
    playing.at = playing.at.saturating_add_signed(by).min(last);
    playing.restart_line();
}

/// What is drawn of a song that goes on by itself: its line, the count-in, whether it runs and has begun.
#[cfg(feature = "app")]
pub(super) type Outline = (usize, u32, bool, bool);

impl Playing {
    /// Returns the song that is played.
    #[must_use]
    pub fn find<'a>(&self, library: &'a Library) -> Option<&'a Song> {
        self.song.and_then(|id| library.find_song(id))
    }

    /// Returns what is drawn of it.
    #[cfg(feature = "app")]
    #[must_use]
    pub(super) const fn outline(&self) -> Outline {
        match self.clock {
            Clock::Off => (self.at, 0, false, false),
            Clock::Stopped => (self.at, 0, false, true),
            Clock::Running { line_begins_ms, count_in } => (self.at, count_in, true, line_begins_ms.is_some()),
        }
    }

    /// A line chosen by hand begins now, without a count-in.
    fn restart_line(&mut self) {
        if matches!(self.clock, Clock::Running { .. }) {
            self.clock = Clock::Running { line_begins_ms: None, count_in: 0 };
        }
    }

    /// Notes a tap of the tempo; returns the tempo once there are three.
    fn tapped(&mut self, now_ms: f64) -> Option<u16> {
        if self.taps_ms.last().is_some_and(|last| !(0.0..=TAPS_APART_MS).contains(&(now_ms - last))) {
            self.taps_ms.clear();
        }
        self.taps_ms.push(now_ms);
        let extra = self.taps_ms.len().saturating_sub(MOST_TAPS);
        self.taps_ms.drain(..extra);
        let (first, last) = (self.taps_ms.first()?, self.taps_ms.last()?);
        let gaps = u32::try_from(self.taps_ms.len() - 1).ok().filter(|&gaps| gaps >= 2)?;
        let bpm = (f64::from(gaps) * 60_000.0 / (last - first)).round();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within 10 to 400")]
        (10.0..=400.0).contains(&bpm).then_some(bpm as u16)
    }
}

fn set_tempo(playing: &mut Playing, library: &mut Library, mut song: Song, bpm: i32) {
    song.tempo_bpm = u16::try_from(bpm.clamp(10, 400)).ok();
    library.replace_song(song);
    playing.restart_line();
}

/// Goes on to where the song is at this time.
fn tick(playing: &mut Playing, song: &Song, now_ms: f64) {
    let Clock::Running { line_begins_ms, count_in } = playing.clock else { return };
    playing.now_ms = now_ms;
    let beat = beat_ms(song);
    let mut begins = line_begins_ms.unwrap_or(now_ms + f64::from(count_in) * beat);
    let Some(view) = view(song, playing.at) else {
        playing.clock = Clock::Off;
        return;
    };
    while now_ms >= begins {
        let bars = u32::try_from(view.lines()[playing.at].length_bars).unwrap_or(u32::MAX).max(1);
        let ends = begins + f64::from(bars) * f64::from(BEATS_A_BAR) * beat;
        if now_ms < ends {
            break;
        }
        if playing.at + 1 >= view.lines().len() {
            playing.clock = Clock::Off;
            return;
        }
        playing.at += 1;
        begins = ends;
    }
    let left = ((begins - now_ms) / beat).ceil().clamp(0.0, f64::from(BEATS_A_BAR));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within a bar")]
    let count_in = left as u32;
    playing.clock = Clock::Running { line_begins_ms: Some(begins), count_in };
}
