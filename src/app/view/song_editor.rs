//! The song editor, and the choice of a tuning.

use crate::app::song::tuning_name;
use crate::app::song_tuning::{TuningFor, list};
use crate::app::songs::tuning_now;
use crate::app::{Field, MOST_OF_LINE, State, ui};
use crate::instrument::{Catalog, Fret};
use crate::songs::{ChosenTuning, Song, SongId};

use super::custom::Custom;
use super::song::fault_view;
use super::songs::capo_text;
use super::way::song_marks;
use super::{fitting, rows};

/// The highest fret offered for a song's capo.
const HIGHEST_CAPO: Fret = Fret::new(12);

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
    to.set_existing(song.id != SongId::default());
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
    to.set_tunings(rows(list(state).iter().map(|tuning| {
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
