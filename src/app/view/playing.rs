//! A song being played.

use crate::app::song::{held, tuning_name};
use crate::app::{
    Clock, Page, PageRow, PlayView, RowKind, State, fit, line as drawn_line, next_song, page_rows, play_view,
    playing_song, ui, under_way,
};
use crate::instrument::Fret;
use crate::songs::{Content, Song, Stand};

use super::custom::Custom;
use super::rows;
use super::song::{drawn, line_of_bars, short, sung_pieces, tab_view};
use super::way::way_view;

/// How many shapes stand beside the page.
const SHAPES_BESIDE: usize = 2;
/// Below it stand so many at most, each so wide that its digits are 11 dp high: what `ui/parts/chord_diagram.slint` draws
/// small is as wide as its strings and 1.7 of their spaces more, and a digit 0.56 of such a space.
const SHAPES_BELOW: usize = 4;
const STRING_SPACE: f32 = 19.8;
const MARGINS: f32 = 32.0;
const GAP: f32 = 8.0;
/// Room that is lower than this, in letters, has one.
const ROOM_FOR_TWO: f32 = 22.0;
/// No row shows more letters: what is drawn must stay near the window.
const MOST_LETTERS: usize = 600;

/// Fills the page of the song that is played.
pub(in crate::app) fn show_playing(state: &State, to: &ui::PlayState<'_>) {
    let Some(song) = playing_song(state) else { return };
    let capo_text = |capo: Fret| if capo == Fret::OPEN { String::new() } else { capo.get().to_string() };
    to.set_title(drawn_line(&song.title).into());
    to.set_song_capo(capo_text(song.capo).into());
    let wrong_capo = state.guitar.capo() != song.capo;
    to.set_capo(if wrong_capo { song.capo.get().to_string() } else { String::new() }.into());
    let now = under_way(state).filter(|now| now.song.id == song.id);
    to.set_on_stage(now.is_some());
    to.set_number(now.map(|now| (now.place + 1).to_string()).unwrap_or_default().into());
    to.set_count(now.map(|now| now.list.entries.len().to_string()).unwrap_or_default().into());
    let next = now.and_then(|_| next_song(state));
    to.set_next_song(next.as_ref().map(|(next, _)| drawn_line(&next.title)).unwrap_or_default().into());
    to.set_next_tuning(next.as_ref().map(|(next, _)| tuning_name(state, next)).unwrap_or_default().into());
    to.set_next_capo(next.as_ref().map(|(next, _)| capo_text(next.capo)).unwrap_or_default().into());
    to.set_next_way(next.map(|(next, way)| way_view(&way, &Stand::of(next))).unwrap_or_default());
    show_clock(state, song, to);
    let view = play_view(song, state.playing.at);
    to.set_has_chart(view.is_some());
    let Some(view) = view else { return };
    to.set_at_start(view.at == 0);
    to.set_at_end(view.at + 1 >= view.lines.len());
    show_page(state, &view, to);
    let room = state.playing.room;
    let most = match room.has_shapes_beside {
        true if room.height < ROOM_FOR_TWO * room.letter => 1,
        true => SHAPES_BESIDE,
        false => {
            let needed = (count_of(song.tuning.pitches.courses()) + 0.7) * STRING_SPACE + GAP;
            let fit = |&count: &usize| count_of(count) * needed <= room.width - MARGINS + GAP;
            (1..=SHAPES_BELOW).rfind(fit).unwrap_or(1)
        }
    };
    let shapes = if state.library.settings.stage.hides_shapes { Vec::new() } else { view.chords_ahead(most) };
    let board = state.habits().board_of(song, &song.tuning, song.capo);
    let custom = Custom::of(state);
    to.set_shapes(rows(shapes.into_iter().map(|chord| {
        let found = held(state.habits(), song, chord).found;
        ui::PlayShape {
            chord: custom.chord(chord).into(),
            has_shape: found.is_some(),
            shape: drawn(state, board.as_ref(), found.as_ref()),
        }
    })));
}

fn count_of(count: usize) -> f32 {
    u8::try_from(count).map_or(0.0, f32::from)
}

fn show_clock(state: &State, song: &Song, to: &ui::PlayState<'_>) {
    let look = &state.library.settings.stage;
    to.set_look_open(state.playing.shows_look);
    to.set_shapes_shown(!look.hides_shapes);
    to.set_clicks(look.clicks);
    to.set_words_steps(signed(look.words_steps).into());
    to.set_chords_steps(signed(look.chords_steps).into());
    to.set_tempo(song.tempo_bpm.map_or_else(|| "–".to_owned(), |bpm| bpm.to_string()).into());
    to.set_by_itself(state.playing.clock != Clock::Off);
    let count_in = match state.playing.clock {
        Clock::Running { count_in, .. } => Some(count_in),
        Clock::Off | Clock::Stopped => None,
    };
    to.set_running(count_in.is_some());
    to.set_count_in(count_in.filter(|&left| left > 0).map(|left| left.to_string()).unwrap_or_default().into());
}

fn signed(steps: i8) -> String {
    if steps > 0 { format!("+{steps}") } else { steps.to_string().replace('-', "−") }
}

fn show_page(state: &State, view: &PlayView, to: &ui::PlayState<'_>) {
    let custom = Custom::of(state);
    let bars = |line: usize| line_of_bars(custom, &view.chart, line);
    let look = &state.library.settings.stage;
    let whole = page_rows(&view.chart, Some(view.line()), &bars);
    let page = fit(whole, state.playing.room, (look.words_steps, look.chords_steps));
    let row = |row: &PageRow| shown(custom, &page, row, &bars);
    to.set_now(spoken(custom, view, &bars).into());
    to.set_words_size(page.words);
    to.set_chords_size(page.chords);
    to.set_scrolls(page.columns.len() == 1);
    to.set_columns(rows(page.columns.iter().map(|column| ui::PlayColumn { rows: rows(column.iter().map(row)) })));
    let sections = view.chart.sections();
    let here = view.line().section;
    let titled: Vec<(usize, &str)> =
        sections.iter().enumerate().filter_map(|(index, section)| Some((index, section.title?))).collect();
    to.set_sections(rows(titled.iter().enumerate().map(|(place, &(index, title))| {
        let same = titled[..place].iter().filter(|(_, other)| *other == title).count();
        let spoken = if same == 0 { title.to_owned() } else { format!("{title} ({})", same + 1) };
        ui::PlaySection { title: title.into(), spoken: spoken.into(), current: index == here }
    })));
}

fn shown(custom: Custom, page: &Page, row: &PageRow, bars: &dyn Fn(usize) -> String) -> ui::PlayRow {
    let mut view = ui::PlayRow { current: row.is_current, unread: row.has_fault, ..ui::PlayRow::default() };
    let bars = |line: usize| short(&bars(line), MOST_LETTERS);
    (view.kind, view.text) = match &row.kind {
        RowKind::Heading(title) => (ui::PlayRowKind::Heading, short(title, MOST_LETTERS).into()),
        RowKind::Bars => (ui::PlayRowKind::Bars, bars(row.line).into()),
        RowKind::Words(words) => (ui::PlayRowKind::Words, short(words, MOST_LETTERS).into()),
        RowKind::Tab(tab) => {
            let (size, parts) = page.tab(tab);
            view.tab_size = size;
            view.tab = tab_view(&parts);
            (ui::PlayRowKind::Tab, "".into())
        }
        RowKind::Gap => (ui::PlayRowKind::Gap, "".into()),
        RowKind::Sung(pieces) => {
            view.pieces = sung_pieces(custom, pieces, MOST_LETTERS);
            (ui::PlayRowKind::Sung, "".into())
        }
    };
    view
}

/// Says what is played now: the chords of the line, else its words.
fn spoken(custom: Custom, view: &PlayView, bars: &dyn Fn(usize) -> String) -> String {
    let line = &view.chart.lines()[view.line().line];
    match &line.content {
        Content::Bars(_) => bars(view.line().line),
        Content::Words(words) => words.clone(),
        _ => {
            let chords = line.chords.iter().filter_map(|placed| placed.chord);
            chords.map(|chord| custom.chord(chord)).collect::<Vec<_>>().join(" ")
        }
    }
}
