//! Playing a song: chord by chord through its chart as it is played, repeats unfolded.

use crate::songs::{Chart, Content, PlayedBar, Song, SongId};
use crate::theory::Chord;

use super::action::Update;
use super::screen::Screen;
use super::state::State;

/// The song that is played and how far it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Playing {
    /// Which song.
    pub song: Option<SongId>,
    /// Which of its steps, from 0.
    pub at: usize,
}

/// A step: a bar begins, or the chord changes within one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlayStep {
    /// Which of the bars as played, from 0.
    pub bar: usize,
    /// Which even share of it, from 0.
    pub part: usize,
    /// What sounds; `None` is silence.
    pub chord: Option<Chord>,
}

/// Returns the steps of a chart as it is played.
#[must_use]
pub fn steps(played: &[PlayedBar]) -> Vec<PlayStep> {
    let mut found = Vec::new();
    for (bar, content) in played.iter().enumerate() {
        for (part, &chord) in content.chords.iter().enumerate() {
            if part == 0 || content.chords[part - 1] != chord {
                found.push(PlayStep { bar, part, chord });
            }
        }
    }
    found
}

/// Where in the chart the player is.
#[derive(Clone, Debug, PartialEq)]
pub struct PlayView {
    /// The chart.
    pub chart: Chart,
    /// Its bars as played.
    pub played: Vec<PlayedBar>,
    /// The step.
    pub step: PlayStep,
    /// The next chord that differs; `None` when there is none.
    pub next: Option<Chord>,
    /// The next line of music that is played; `None` at the last.
    pub next_line: Option<usize>,
    /// How many steps there are.
    pub count: usize,
}

impl PlayView {
    /// Returns the words below a line, or those its chords stand over.
    #[must_use]
    pub fn words_at(&self, line: usize) -> Vec<&str> {
        let lines = self.chart.lines();
        if let Some(Content::Sung(words)) = lines.get(line).map(|line| &line.content) {
            return vec![words.as_str()];
        }
        let words = lines.iter().skip(line + 1).map_while(|line| match &line.content {
            Content::Words(words) => Some(words.as_str()),
            _ => None,
        });
        words.collect()
    }
}

/// Returns where the player is; `None` when the chart holds nothing that is played.
#[must_use]
pub fn view(song: &Song, at: usize) -> Option<PlayView> {
    let chart = song.read_chart();
    let played = chart.played();
    let steps = steps(&played);
    let step = *steps.get(at.min(steps.len().checked_sub(1)?))?;
    let next = steps.iter().skip(at + 1).find(|next| next.chord.is_some() && next.chord != step.chord);
    let here = &played[step.bar];
    let mut before = here.bar;
    let mut after = played.iter().skip(step.bar + 1);
    let next_line = after.find_map(|bar| {
        let goes_on = bar.line == here.line && bar.bar > before;
        before = bar.bar;
        (!goes_on).then_some(bar.line)
    });
    Some(PlayView { next: next.and_then(|next| next.chord), next_line, count: steps.len(), step, played, chart })
}

/// Returns the song that is played.
#[must_use]
pub fn playing_song(state: &State) -> Option<&Song> {
    state.playing.song.and_then(|id| state.library.find_song(id))
}

/// What the screen of a song being played asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlayingAction {
    /// The next chord or bar.
    Next,
    /// The one before.
    Before,
    /// From the beginning.
    FromTheTop,
    /// The capo is where the song wants it.
    CapoIsThere,
}

/// Opens a song to be played, above its set list or itself.
pub(super) fn open(state: &mut State, id: SongId) -> Update {
    state.playing = Playing { song: Some(id), at: 0 };
    state.waiting_song = None;
    let is_on_stage = super::stage::under_way(state).is_some_and(|now| now.song.id == id);
    let below = if is_on_stage { Screen::SetList } else { Screen::Song };
    if below == Screen::Song {
        state.song = super::song::OpenSong { id: Some(id), ..super::song::OpenSong::default() };
    }
    super::songs::open_above(state, &[below, Screen::Playing])
}

pub(super) fn update(state: &mut State, action: PlayingAction) -> Update {
    let Some(song) = playing_song(state) else { return Update::Shown };
    match action {
        PlayingAction::Next => {
            let last = view(song, 0).map_or(0, |view| view.count - 1);
            state.playing.at = (state.playing.at + 1).min(last);
        }
        PlayingAction::Before => state.playing.at = state.playing.at.saturating_sub(1),
        PlayingAction::FromTheTop => state.playing.at = 0,
        PlayingAction::CapoIsThere => {
            let capo = song.capo;
            state.set_capo(capo);
            return Update::Kept;
        }
    }
    Update::Shown
}
