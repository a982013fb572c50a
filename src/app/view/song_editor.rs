//! The song editor, and the choice of a tuning.

use crate::app::song::tuning_name;
use crate::app::song_tuning::{TuningFor, list};
use crate::app::songs::tuning_now;
use crate::app::{Field, MOST_OF_LINE, SongEditing, State, ui};
use crate::instrument::{Catalog, Fret};
use crate::songs::{ChartLine, ChosenTuning, Content, LineTold, Song, SongId};
use crate::theory::Naming;

use super::custom::Custom;
use super::song::{fault_view, short};
use super::songs::capo_text;
use super::way::song_marks;
use super::{fitting, rows};

/// The highest fret offered for a song's capo.
const HIGHEST_CAPO: Fret = Fret::new(12);
/// So many lines are shown as they are read, and so many of those with something not understood: what is drawn must stay
/// near the window.
const MOST_LINES_READ: usize = 150;
const MOST_FAULTY: usize = 12;
/// So many letters of each, and so many of its faults.
const MOST_OF_READ: usize = 120;
const MOST_FAULTS_OF_LINE: usize = 3;

/// Fills the editor. What is being typed is not touched.
pub(in crate::app) fn show_song_editor(state: &State, to: &ui::SongEditorState<'_>) {
    let Some(editing) = &state.editing_song else { return };
    let song = &editing.song;
    const ONE: Field = Field::Line(MOST_OF_LINE);
    macro_rules! fill {
        ($get:ident, $set:ident, $text:expr, $field:expr) => {
            let text = fitting(&$text, $field);
            if to.$get() != text.as_str() {
                to.$set(text.into());
            }
        };
    }
    fill!(get_title, set_title, editing.title, ONE);
    fill!(get_from, set_from, song.from, ONE);
    fill!(get_key, set_key, editing.key, ONE);
    fill!(get_tempo, set_tempo, editing.tempo, ONE);
    fill!(get_chart, set_chart, song.chart, Field::Lines);
    fill!(get_notes, set_notes, song.notes, Field::Lines);
    to.set_tuning(tuning_name(state, song).into());
    to.set_tuning_notes(Custom::of(state).tuning(&song.tuning.pitches.spelled()).join(" ").into());
    to.set_capo(capo_text(song.capo).into());
    to.set_can_raise(song.capo < HIGHEST_CAPO);
    to.set_can_lower(song.capo > Fret::OPEN);
    to.set_lacks_title(editing.lacks_title());
    to.set_stands_in(editing.has_stand_in());
    to.set_wrong_key(editing.key_fault().is_some());
    to.set_wrong_tempo(editing.has_wrong_tempo());
    to.set_fault(fault_view(editing.chart_fault().as_ref()));
    to.set_shows_lines(editing.shows_lines);
    to.set_naming(match song.chart_naming {
        Naming::English => ui::NoteNaming::English,
        Naming::German => ui::NoteNaming::German,
        Naming::Solfege => ui::NoteNaming::Solfege,
    });
    to.set_lines(rows(read_lines(editing)));
    to.set_existing(song.id != SongId::default());
}

/// Tells how the lines of the chart are read: those with something not understood and the one that is open, or all.
fn read_lines(editing: &SongEditing) -> Vec<ui::ReadLine> {
    let chart = editing.song.read_chart();
    let is_shown = |(at, line): &(usize, &ChartLine)| {
        !line.text().trim().is_empty() && (editing.shows_lines || !line.faults.is_empty() || editing.line == Some(*at))
    };
    let most = if editing.shows_lines { MOST_LINES_READ } else { MOST_FAULTY };
    let lines = chart.lines().iter().enumerate().filter(is_shown).take(most);
    lines.map(|(at, line)| read_line(at, line, editing.line == Some(at))).collect()
}

fn read_line(at: usize, line: &ChartLine, is_open: bool) -> ui::ReadLine {
    ui::ReadLine {
        at: i32::try_from(at).unwrap_or(i32::MAX),
        number: (at + 1).to_string().into(),
        text: short(line.text().trim(), MOST_OF_READ).into(),
        kind: match line.content {
            Content::Words(_) => ui::ReadKind::Words,
            Content::Chords => ui::ReadKind::Chords,
            Content::Sung(_) => ui::ReadKind::Sung,
            Content::Bars(_) => ui::ReadKind::Bars,
            Content::Tab => ui::ReadKind::Tab,
            Content::Nothing => ui::ReadKind::Heading,
        },
        told: match line.told() {
            LineTold::Itself => ui::ToldKind::Itself,
            LineTold::Words => ui::ToldKind::Words,
            LineTold::Chords => ui::ToldKind::Chords,
        },
        open: is_open,
        faults: rows(line.faults.iter().take(MOST_FAULTS_OF_LINE).map(|fault| fault_view(Some(fault)))),
    }
}

/// Fills the choice of a tuning.
pub(in crate::app) fn show_song_tuning(state: &State, to: &ui::SongEditorState<'_>) {
    let choice = &state.tuning_choice;
    if to.get_tuning_search() != choice.search.as_str() {
        to.set_tuning_search(choice.search.as_str().into());
    }
    to.set_compares(choice.purpose == TuningFor::Comparison);
    let now = tuning_now(state);
    let name = state.tuning_name(&now.pitches).map(|(name, _)| name);
    let notes = || Custom::of(state).tuning(&now.pitches.spelled()).join(" ");
    to.set_now_name(name.unwrap_or_else(notes).into());
    let custom = Custom::of(state);
    let choices = list(state);
    to.set_tunings_near(choices.are_near);
    to.set_tunings(rows(choices.tunings.iter().map(|tuning| {
        // Marked as a song in it would be.
        let pitches = tuning.tuning().clone();
        let of_it = Song::new("", tuning.instrument_id(), ChosenTuning { id: None, pitches });
        let known = Catalog::bundled().find_instrument(tuning.instrument_id()).is_some();
        ui::TuningChoiceRow {
            id: tuning.id().into(),
            name: tuning.name().into(),
            notes: custom.tuning(tuning.spelled()).join(" ").into(),
            marks: rows(if known { song_marks(state, &of_it) } else { Vec::new() }),
        }
    })));
}
