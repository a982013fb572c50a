//! The song editor: everything typed is kept at once, a chart with a fault too.

use crate::instrument::Fret;
use crate::songs::{ChartFault, ChosenTuning, LineTold, Song, SongFault, SongId};
use crate::theory::{Key, Naming, ParseKeyError};

use super::action::Update;
use super::notice::Notice;
use super::screen::Screen;
use super::songs::tuning_now;
use super::state::State;
use super::undo::Undo;

/// The highest fret a song's capo may sit at.
const HIGHEST_CAPO: u8 = 12;

/// How many letters of its first words a song without a title is kept under.
const MOST_OF_STAND_IN: usize = 40;

/// A song being entered. What can be kept is in the library already; the rest stands here as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct SongEditing {
    /// The song as far as it is understood; without a number while it is in no library.
    pub song: Song,
    /// The title as typed.
    pub title: String,
    /// No title was ever typed: the song is kept under its first words.
    has_stand_in: bool,
    /// The tempo as typed.
    pub tempo: String,
    /// The key as typed.
    pub key: String,
    /// Whether it is shown how every line of the chart is read, not only those that hold something not understood.
    pub shows_lines: bool,
    /// The line of the chart that can be told what it holds.
    pub line: Option<usize>,
}

impl SongEditing {
    fn of(song: Song) -> Self {
        let tempo = song.tempo_bpm.map(|bpm| bpm.to_string()).unwrap_or_default();
        let key = song.key.map(written).unwrap_or_default();
        let title = song.title.clone();
        Self { has_stand_in: title.is_empty(), title, tempo, key, song, shows_lines: false, line: None }
    }

    /// Tells whether a title is missing.
    #[must_use]
    pub fn lacks_title(&self) -> bool {
        self.title.trim().is_empty()
    }

    /// Tells whether no title was ever typed, so that the song is kept under its first words.
    #[must_use]
    pub const fn has_stand_in(&self) -> bool {
        self.has_stand_in
    }

    /// Returns what the song is kept under while it has no title: its first words, or a question mark.
    fn stand_in(&self) -> String {
        let song = &self.song;
        let first = [&song.from, &song.chart, &song.notes].into_iter().flat_map(|text| text.lines());
        let words = first.map(str::trim).find(|line| !line.is_empty()).unwrap_or("?");
        words.chars().take(MOST_OF_STAND_IN).collect()
    }

    /// Tells whether what is typed as the tempo cannot be one.
    #[must_use]
    pub fn has_wrong_tempo(&self) -> bool {
        !self.tempo.trim().is_empty() && read_tempo(&self.song, &self.tempo).is_none()
    }

    /// Returns why what is typed is no key.
    #[must_use]
    pub fn key_fault(&self) -> Option<ParseKeyError> {
        if self.key.trim().is_empty() { None } else { Key::read(self.key.trim()).err() }
    }

    /// Returns what of the chart is not understood first; it stays there as words.
    #[must_use]
    pub fn chart_fault(&self) -> Option<ChartFault> {
        self.song.read_chart().faults().next().cloned()
    }

    fn is_empty(&self) -> bool {
        let song = &self.song;
        [&self.title, &song.from, &song.chart, &song.notes, &self.key, &self.tempo]
            .iter()
            .all(|text| text.trim().is_empty())
    }
}

/// Writes a key as it is typed.
#[must_use]
pub(super) fn written(key: Key) -> String {
    match key.mode() {
        crate::theory::Mode::Major => key.tonic().ascii(),
        crate::theory::Mode::Minor => format!("{}m", key.tonic().ascii()),
        other => format!("{} {}", key.tonic().ascii(), other.word()),
    }
}

fn read_tempo(song: &Song, text: &str) -> Option<u16> {
    let bpm = text.trim().parse().ok()?;
    let mut probe = song.clone();
    probe.tempo_bpm = Some(bpm);
    probe.title.push('?');
    (!matches!(probe.check(), Err(SongFault::Tempo { .. }))).then_some(bpm)
}

/// What the editor asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SongEditAction {
    /// The title was typed.
    Title(String),
    /// Who it is from.
    From(String),
    /// The key.
    Key(String),
    /// The tempo.
    Tempo(String),
    /// The chart.
    Chart(String),
    /// The notes.
    Notes(String),
    /// Show how every line of the chart is read, or only those with something not understood.
    ShowLines,
    /// Choose a line of the chart to tell what it holds, or put it away.
    Line(usize),
    /// The chosen line holds this, whatever it looks like.
    Tell(LineTold),
    /// The chart names its chords by this custom; its text stays.
    Naming(Naming),
    /// Move the capo by so many frets; chart and shapes stay.
    CapoBy(i16),
    /// Choose another tuning.
    Tuning,
    /// Delete the song.
    Delete,
    /// It is done.
    Done,
}

/// Begins a song in what is on the guitar now.
pub(super) fn begin(state: &mut State) -> Update {
    let mut song = Song::new("", state.instrument().id(), tuning_now(state));
    song.chart_naming = state.naming();
    state.editing_song = Some(SongEditing::of(song));
    state.show(Screen::SongEditor)
}

pub(super) fn edit(state: &mut State, song: Song) -> Update {
    state.editing_song = Some(SongEditing::of(song));
    state.show(Screen::SongEditor)
}

pub(super) fn update(state: &mut State, action: SongEditAction) -> Update {
    let Some(editing) = &mut state.editing_song else { return Update::Shown };
    let song = &mut editing.song;
    match action {
        SongEditAction::Title(text) => editing.title = text,
        SongEditAction::From(text) => song.from = text,
        SongEditAction::Chart(text) => song.chart = text,
        SongEditAction::Notes(text) => song.notes = text,
        SongEditAction::Key(text) => {
            match (text.trim().is_empty(), Key::read(text.trim())) {
                (true, _) => song.key = None,
                (false, Ok(key)) => song.key = Some(key),
                (false, Err(_)) => {}
            }
            editing.key = text;
        }
        SongEditAction::Tempo(text) => {
            if text.trim().is_empty() {
                song.tempo_bpm = None;
            } else if let Some(bpm) = read_tempo(song, &text) {
                song.tempo_bpm = Some(bpm);
            }
            editing.tempo = text;
        }
        SongEditAction::CapoBy(by) => {
            let fret = i16::from(song.capo.get()).saturating_add(by).clamp(0, i16::from(HIGHEST_CAPO));
            song.capo = Fret::new(u8::try_from(fret).unwrap_or(0));
        }
        SongEditAction::ShowLines => {
            editing.shows_lines = !editing.shows_lines;
            return Update::Shown;
        }
        SongEditAction::Line(line) => {
            editing.line = Some(line).filter(|&line| editing.line != Some(line));
            return Update::Shown;
        }
        SongEditAction::Tell(told) => match editing.line {
            Some(line) => song.chart = song.read_chart().with_told(line, told),
            None => return Update::Shown,
        },
        SongEditAction::Naming(naming) => song.chart_naming = naming,
        SongEditAction::Tuning => return super::song_tuning::open(state, super::song_tuning::TuningFor::Song),
        SongEditAction::Delete => return delete(state),
        SongEditAction::Done => return done(state),
    }
    keep(state)
}

/// Takes another tuning; the shapes chosen for the old one are found anew.
pub(super) fn take_tuning(state: &mut State, instrument_id: &str, tuning: ChosenTuning) -> Update {
    let Some(mut song) = state.editing_song.as_ref().map(|editing| editing.song.clone()) else { return Update::Shown };
    song.instrument_id = instrument_id.to_owned();
    let habits = state.habits();
    song = song.in_tuning(tuning, &mut |song, hold| {
        super::song::best_shape(habits, song, hold).map(|found| found.shape().clone())
    });
    let Some(editing) = &mut state.editing_song else { return Update::Shown };
    let before = std::mem::replace(&mut editing.song, song);
    let is_kept = before.id != SongId::default() && before.chosen_shapes() != editing.song.chosen_shapes();
    keep(state);
    if is_kept {
        state.tell_done(Notice::SongChanged(before.title.clone()), Undo::Song(Box::new(before)));
    }
    Update::Shown
}

/// Puts what can be kept into the library.
fn keep(state: &mut State) -> Update {
    state.forget_undo();
    let Some(editing) = &mut state.editing_song else { return Update::Shown };
    if editing.is_empty() && editing.song.id == SongId::default() {
        return Update::Shown;
    }
    if !editing.lacks_title() {
        editing.song.title = editing.title.trim().to_owned();
        editing.has_stand_in = false;
    } else if editing.has_stand_in {
        editing.song.title = editing.stand_in();
    }
    let song = editing.song.clone();
    if !state.library.replace_song(song.clone()) {
        let id = state.library.add_song(song);
        editing.song.id = id;
        state.song = super::song::OpenSong { id: Some(id), ..super::song::OpenSong::default() };
    }
    Update::Typed
}

/// After something was taken back: what is typed next goes into the song as it is now.
pub(super) fn read_again(state: &mut State) {
    let Some(editing) = &mut state.editing_song else { return };
    let Some(song) = state.library.find_song(editing.song.id).filter(|song| **song != editing.song) else { return };
    let now = SongEditing::of(song.clone());
    // What is typed and not understood yet is nobody's change: it stays as long as what it is about does.
    if now.song.title != editing.song.title {
        editing.title = now.title;
    }
    if now.song.key != editing.song.key {
        editing.key = now.key;
    }
    if now.song.tempo_bpm != editing.song.tempo_bpm {
        editing.tempo = now.tempo;
    }
    editing.song = now.song;
}

fn done(state: &mut State) -> Update {
    let Some(editing) = &state.editing_song else { return state.leave(Screen::SongEditor) };
    let id = editing.song.id;
    state.editing_song = None;
    state.leave(Screen::SongEditor);
    if id != SongId::default() {
        super::song::open(state, id);
    }
    Update::Shown
}

fn delete(state: &mut State) -> Update {
    let Some(editing) = state.editing_song.take() else { return Update::Shown };
    state.leave(Screen::SongEditor);
    state.leave(Screen::Song);
    delete_song(state, editing.song.id)
}

/// Deletes a song, which can be taken back.
pub(super) fn delete_song(state: &mut State, id: SongId) -> Update {
    if let Some(removed) = state.library.remove_song(id) {
        state.tell_done(Notice::SongDeleted(removed.song().title.clone()), Undo::DeletedSong(Box::new(removed)));
    }
    Update::Shown
}
