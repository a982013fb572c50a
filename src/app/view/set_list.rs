//! An open set list.

use crate::app::song::tuning_name;
use crate::app::{
    Field, MOST_OF_LINE, MOST_PLACES, State, can_take_back, lasts_seconds, line, open_list, set_pages, set_rows,
    total_seconds, ui, under_way,
};
use crate::songs::{ChosenTuning, Song, Stand};

use super::custom::decimal;
use super::songs::capo_text;
use super::way::{duration, minutes, way_view};
use super::{count, fitting, rows};

/// Fills the page of a set list.
pub(in crate::app) fn show_set_list(state: &State, to: &ui::SetListState<'_>) {
    let Some(list) = open_list(state) else { return };
    let found = set_rows(state, list);
    let title = fitting(&list.title, Field::Line(MOST_OF_LINE));
    if to.get_title() != title.as_str() {
        to.set_title(title.into());
    }
    let on_stage = under_way(state).filter(|now| now.list.id == list.id).map(|now| now.place);
    let last = found.len().saturating_sub(1);
    let pages = set_pages(found.len());
    let page = state.set_list.page.min(pages - 1);
    to.set_page(count(page));
    to.set_pages(count(pages));
    let shown = found.iter().enumerate().skip(page * MOST_PLACES).take(MOST_PLACES);
    to.set_rows(rows(shown.map(|(index, row)| ui::SetRow {
        place: count(index),
        number: (index + 1).to_string().into(),
        title: line(&row.song.title).into(),
        tuning: tuning_name(state, row.song).into(),
        capo: capo_text(row.song.capo).into(),
        pinned: row.is_pinned,
        way: way_view(&row.way, &Stand::of(row.song)),
        on_stage: on_stage == Some(index),
        first: index == 0,
        last: index == last,
    })));
    to.set_editing(state.set_list.is_editing);
    to.set_can_take_back(can_take_back(state));
    let total = total_seconds(&found);
    to.set_total(if total == 0 { String::new() } else { duration(total) }.into());
    to.set_lasts(lasts_seconds(&found).map(minutes).unwrap_or_default().into());
    to.set_under_way(on_stage.is_some());
    let verdict = state.set_list.verdict;
    to.set_verdict(match verdict.map(|verdict| verdict.percent_above_best) {
        None => ui::OrderVerdict::None,
        Some(Some(percent)) if percent <= 0.0 => ui::OrderVerdict::Best,
        Some(Some(_)) => ui::OrderVerdict::Near,
        Some(None) => ui::OrderVerdict::Unknown,
    });
    to.set_percent(verdict.and_then(|verdict| verdict.percent_above_best).map(decimal).unwrap_or_default().into());
    let saved = verdict.map_or(0, |verdict| verdict.saved_seconds);
    to.set_saved(if saved == 0 { String::new() } else { duration(saved) }.into());
    let suggestion = state.set_list.suggestion.as_ref();
    let told = suggestion.and_then(|suggestion| {
        let song = state.library.find_song(suggestion.song)?;
        let tuning = ChosenTuning { id: None, pitches: suggestion.stand.pitches.clone() };
        let there = tuning_name(state, &Song::new("", suggestion.stand.instrument_id.as_str(), tuning));
        let capo = capo_text(suggestion.stand.capo);
        // The names of tunings are the same in every language, and so is this mark for a capo.
        let there = if capo.is_empty() { there } else { format!("{there} ({capo})") };
        Some((line(&song.title), there, duration(suggestion.saves_seconds)))
    });
    let (song, tuning, saving) = told.unwrap_or_default();
    to.set_suggested_song(song.into());
    to.set_suggested_tuning(tuning.into());
    to.set_suggested_saving(saving.into());
    show_ordering(state, to);
}

/// Fills how far the search for an order is.
pub(in crate::app) fn show_ordering(state: &State, to: &ui::SetListState<'_>) {
    let ordering = state.set_list.ordering.as_ref();
    to.set_ordering(ordering.is_some());
    #[expect(clippy::cast_possible_truncation, reason = "a share, drawn")]
    to.set_ordered_share(ordering.map_or(0.0, |ordering| ordering.done as f32));
}
