//! The Songs tab, and the same rows where a song is chosen.

use std::rc::{Rc, Weak};

use slint::{Model, ModelExt, ModelRc, VecModel};

use crate::app::song::{open_song, tuning_name};
use crate::app::songs::{ChoosingFor, SongsSort, SongsView, fits_neck, list_choices, sorted_songs, way_from_now};
use crate::app::window::App;
use crate::app::{ExportDue, State, export_due, line, open_list, seconds_of_all, ui, under_way};
use crate::instrument::Fret;
use crate::songs::{Song, SongId, Stand};

use super::custom::Custom;
use super::way::{duration, song_marks, way_view};
use super::{count, rows};

/// Makes the rows of songs when they come into view: a thousand songs cost no more than a screenful.
pub(in crate::app) fn song_rows(ids: &Rc<VecModel<SongId>>, app: Weak<App>) -> ModelRc<ui::SongRow> {
    let row = move |id: SongId| {
        let made = |state: &State| state.library.find_song(id).map(|song| song_row(state, song));
        app.upgrade().and_then(|app| app.with(made)).unwrap_or_default()
    };
    ModelRc::new(Rc::clone(ids).map(row))
}

/// Puts songs into a list. One with the same songs keeps its place, and what is in view is made anew.
fn fill(ids: &VecModel<SongId>, songs: &[&Song]) {
    let is_same = ids.row_count() == songs.len() && ids.iter().zip(songs).all(|(id, song)| id == song.id);
    if is_same {
        for (row, song) in songs.iter().enumerate() {
            ids.set_row_data(row, song.id);
        }
    } else {
        ids.set_vec(songs.iter().map(|song| song.id).collect::<Vec<_>>());
    }
}

/// Fills the Songs tab.
pub(in crate::app) fn show_songs(state: &State, ids: &VecModel<SongId>, to: &ui::SongsState<'_>) {
    let songs = sorted_songs(state);
    let lists = state.library.set_lists();
    to.set_view(match state.songs.view {
        SongsView::Songs => ui::SongsView::Songs,
        SongsView::SetLists => ui::SongsView::SetLists,
    });
    if to.get_search_text() != state.songs.search.as_str() {
        to.set_search_text(state.songs.search.as_str().into());
    }
    to.set_result(match state.songs.view {
        SongsView::Songs if state.library.songs().is_empty() => ui::SongsResult::NoneYet,
        SongsView::Songs if songs.is_empty() => ui::SongsResult::NothingFound,
        SongsView::SetLists if lists.is_empty() => ui::SongsResult::NoSetListsYet,
        _ => ui::SongsResult::List,
    });
    to.set_sort(match state.songs.sort {
        SongsSort::Title => ui::SongsSort::Title,
        SongsSort::Tuning => ui::SongsSort::Tuning,
        SongsSort::Lately => ui::SongsSort::Lately,
    });
    fill(ids, &songs);
    let due = export_due(state);
    to.set_export_due(due.is_some());
    to.set_export_days(days_ago(due));
    if state.songs.view == SongsView::SetLists {
        let on_stage = under_way(state).map(|now| now.list.id);
        to.set_lists(rows(lists.iter().zip(seconds_of_all(state)).map(|(list, seconds)| ui::SetListRow {
            id: list.id.0.to_string().into(),
            title: line(&list.title).into(),
            songs: count(list.entries.len()),
            duration: duration(seconds).into(),
            under_way: on_stage == Some(list.id),
        })));
    }
}

/// Writes how many days ago the last export was; below 0 where there was none.
pub(super) fn days_ago(due: Option<ExportDue>) -> i32 {
    due.and_then(|due| due.days_ago).and_then(|days| i32::try_from(days).ok()).unwrap_or(-1)
}

/// Fills the list in which a song is chosen.
pub(in crate::app) fn show_choices(state: &State, ids: &VecModel<SongId>, to: &ui::SongsState<'_>) {
    to.set_for_shape(state.songs.choosing == ChoosingFor::Shape);
    let chord = state.shapes.shape().map(|shown| Custom::of(state).chord(shown.chord()));
    to.set_shape_chord(chord.unwrap_or_default().into());
    if to.get_choosing_text() != state.songs.choosing_search.as_str() {
        to.set_choosing_text(state.songs.choosing_search.as_str().into());
    }
    fill(ids, &list_choices(state));
}

/// The title of the song opened last, where a shape shown now can be used in it.
pub(super) fn last_song(state: &State) -> String {
    open_song(state).filter(|song| fits_neck(state, song)).map(|song| line(&song.title)).unwrap_or_default()
}

fn song_row(state: &State, song: &Song) -> ui::SongRow {
    let stand = Stand::of(song);
    let in_list =
        open_list(state).map_or(0, |list| list.entries.iter().filter(|entry| entry.song_id == song.id).count());
    ui::SongRow {
        id: song.id.0.to_string().into(),
        title: line(&song.title).into(),
        from: line(&song.from).into(),
        marks: rows(song_marks(state, song)),
        tuning: tuning_name(state, song).into(),
        capo: capo_text(song.capo).into(),
        key: key_text(state, song).into(),
        way: way_view(&way_from_now(state, &stand), &stand),
        in_list: count(in_list),
    }
}

/// Writes a capo's fret; nothing without a capo.
pub(super) fn capo_text(capo: Fret) -> String {
    if capo == Fret::OPEN { String::new() } else { capo.get().to_string() }
}

/// Writes a song's key as players write it on a chart: the tonic, with m where it is minor.
pub(super) fn key_text(state: &State, song: &Song) -> String {
    let custom = Custom::of(state);
    song.key.map_or(String::new(), |key| match key.mode() {
        crate::theory::Mode::Major => custom.key_note(key),
        crate::theory::Mode::Minor => format!("{}m", custom.key_note(key)),
        mode => format!("{} {}", custom.key_note(key), mode.word()),
    })
}
