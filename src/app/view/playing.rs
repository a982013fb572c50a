//! A song being played.

use crate::app::song::{board_of, held};
use crate::app::{State, next_song, play_view, playing_song, ui, under_way};
use crate::songs::{ChartLine, Content, Stand};

use super::custom::Custom;
use super::rows;
use super::song::{bar_text, bars_text, drawn};
use super::way::way_view;

/// Fills the page of the song that is played.
pub(in crate::app) fn show_playing(state: &State, to: &ui::PlayState<'_>) {
    let Some(song) = playing_song(state) else { return };
    let custom = Custom::of(state);
    to.set_title(song.title.as_str().into());
    let wrong_capo = state.guitar.capo() != song.capo;
    to.set_capo(if wrong_capo { song.capo.get().to_string() } else { String::new() }.into());
    let now = under_way(state).filter(|now| now.song.id == song.id);
    to.set_on_stage(now.is_some());
    to.set_number(now.map(|now| (now.place + 1).to_string()).unwrap_or_default().into());
    to.set_count(now.map(|now| now.list.entries.len().to_string()).unwrap_or_default().into());
    let next = now.and_then(|_| next_song(state));
    to.set_next_song(next.as_ref().map(|(next, _)| next.title.as_str()).unwrap_or_default().into());
    to.set_next_way(next.map(|(next, way)| way_view(&way, &Stand::of(next))).unwrap_or_default());
    let view = play_view(song, state.playing.at);
    to.set_has_chart(view.is_some());
    let Some(view) = view else { return };
    let bar = &view.played[view.step.bar];
    let section = view.chart.sections().get(bar.section).and_then(|section| section.title.map(str::to_owned));
    to.set_section(section.unwrap_or_default().into());
    let cells = cells(custom, &view.chart.lines()[bar.line]);
    let current = |(index, text): (usize, String)| ui::PlayBar { text: text.into(), current: index == bar.bar };
    to.set_bars(rows(cells.into_iter().enumerate().map(current)));
    to.set_words(view.words_at(bar.line).join(" ").into());
    let next_line = view.next_line.map(|line| cells_text(custom, &view.chart.lines()[line]));
    to.set_next_line(next_line.unwrap_or_default().into());
    let name = |chord: Option<crate::theory::Chord>| chord.map(|chord| custom.chord(chord)).unwrap_or_default();
    to.set_chord(name(view.step.chord).into());
    to.set_next_chord(name(view.next).into());
    to.set_at_start(state.playing.at == 0);
    to.set_at_end(state.playing.at + 1 >= view.count);
    // A silence shows what comes next.
    let shape = view.step.chord.or(view.next).map(|chord| held(state.shapes.style, song, chord));
    let found = shape.and_then(|held| held.found);
    to.set_has_shape(found.is_some());
    let board = board_of(song, &song.tuning, song.capo);
    to.set_shape(drawn(state, board.as_ref(), found.as_ref()));
}

/// Writes what is played in a line, bar by bar.
fn cells(custom: Custom, line: &ChartLine) -> Vec<String> {
    match &line.content {
        Content::Bars(bars) => bars.iter().map(|bar| bar_text(custom, bar)).collect(),
        _ => line.chords.iter().map(|placed| chord_text(custom, placed.chord)).collect(),
    }
}

fn cells_text(custom: Custom, line: &ChartLine) -> String {
    match &line.content {
        Content::Bars(bars) => bars_text(custom, bars),
        _ => cells(custom, line).join("  "),
    }
}

fn chord_text(custom: Custom, chord: Option<crate::theory::Chord>) -> String {
    chord.map_or_else(|| "N.C.".to_owned(), |chord| custom.chord(chord))
}
