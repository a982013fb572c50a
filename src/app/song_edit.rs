//! The song editor: everything typed is kept at once, a chart with a fault too.

use crate::instrument::Fret;
use crate::songs::{ChartFault, ChosenTuning, LineTold, Song, SongFault, SongId};
use crate::store::Library;
use crate::theory::{Key, Naming, ParseKeyError};

use super::desk::Desk;
use super::next::Next;
use super::notice::Notice;
use super::screen::Screen;
use super::song::{OpenSong, finder};
use super::song_tuning::TuningFor;
use super::songs::tuning_now;
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

/// Returns a song begun in what is on the guitar now.
#[must_use]
pub(super) fn begun(desk: &Desk) -> Song {
    let mut song = Song::new("", desk.instrument().id(), tuning_now(desk));
    song.chart_naming = desk.naming();
    song
}

pub(super) fn edit(editing: &mut Option<SongEditing>, song: Song) -> Next {
    *editing = Some(SongEditing::of(song));
    Next::Show(Screen::SongEditor)
}

pub(super) fn update(
    edited: &mut Option<SongEditing>,
    open: &mut OpenSong,
    desk: &mut Desk,
    action: SongEditAction,
) -> Next {
    let Some(editing) = edited else { return Next::Shown };
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
            return Next::Shown;
        }
        SongEditAction::Line(line) => {
            editing.line = Some(line).filter(|&line| editing.line != Some(line));
            return Next::Shown;
        }
        SongEditAction::Tell(told) => match editing.line {
            Some(line) => song.chart = song.read_chart().with_told(line, told),
            None => return Next::Shown,
        },
        SongEditAction::Naming(naming) => song.chart_naming = naming,
        SongEditAction::Tuning => return Next::ChooseTuning(TuningFor::Song),
        SongEditAction::Delete => return delete(edited, &mut desk.library),
        SongEditAction::Done => return done(edited),
    }
    keep(editing, open, &mut desk.library)
}

/// Takes another tuning; the shapes chosen for the old one are found anew.
pub(super) fn take_tuning(
    editing: &mut SongEditing,
    open: &mut OpenSong,
    desk: &mut Desk,
    instrument_id: &str,
    tuning: ChosenTuning,
) -> Next {
    let mut song = editing.song.clone();
    song.instrument_id = instrument_id.to_owned();
    song = song.in_tuning(tuning, &mut finder(desk.habits()));
    let before = std::mem::replace(&mut editing.song, song);
    let is_kept = before.id != SongId::default() && before.chosen_shapes() != editing.song.chosen_shapes();
    let kept = keep(editing, open, &mut desk.library);
    if is_kept {
        return kept.then(Next::done(Notice::SongChanged(before.title.clone()), Undo::Song(Box::new(before))));
    }
    kept
}

/// Puts what can be kept into the library.
fn keep(editing: &mut SongEditing, open: &mut OpenSong, library: &mut Library) -> Next {
    if editing.is_empty() && editing.song.id == SongId::default() {
        return Next::Changed;
    }
    if !editing.lacks_title() {
        editing.song.title = editing.title.trim().to_owned();
        editing.has_stand_in = false;
    } else if editing.has_stand_in {
        editing.song.title = editing.stand_in();
    }
    let song = editing.song.clone();
    if !library.replace_song(song.clone()) {
        let id = library.add_song(song);
        editing.song.id = id;
        *open = OpenSong { id: Some(id), ..OpenSong::default() };
    }
    Next::Changed.then(Next::Typed)
}

/// After something was taken back: what is typed next goes into the song as it is now.
pub(super) fn read_again(editing: &mut Option<SongEditing>, library: &Library) {
    let Some(editing) = editing else { return };
    let Some(song) = library.find_song(editing.song.id).filter(|song| **song != editing.song) else { return };
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

fn done(editing: &mut Option<SongEditing>) -> Next {
    let left = Next::Leave(Screen::SongEditor);
    match editing.take().map(|editing| editing.song.id).filter(|id| *id != SongId::default()) {
        Some(id) => left.then(Next::Song(id)),
        None => left,
    }
}

fn delete(editing: &mut Option<SongEditing>, library: &mut Library) -> Next {
    let Some(editing) = editing.take() else { return Next::Shown };
    Next::Leave(Screen::SongEditor).then(Next::Leave(Screen::Song)).then(delete_song(library, editing.song.id))
}

/// Deletes a song, which can be taken back.
pub(super) fn delete_song(library: &mut Library, id: SongId) -> Next {
    let Some(removed) = library.remove_song(id) else { return Next::Shown };
    Next::done(Notice::SongDeleted(removed.song().title.clone()), Undo::DeletedSong(Box::new(removed)))
}
