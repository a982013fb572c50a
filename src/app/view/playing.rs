//! A song being played.

use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

use slint::{Model, VecModel};

use crate::app::song::{held, tuning_name};
use crate::app::{
    Clock, Page, PageRow, PlayView, Room, RowKind, State, fit, line as drawn_line, next_song, page_rows, play_view,
    playing_song, ui, under_way,
};
use crate::instrument::Fret;
use crate::shapes::{RankedShape, Style};
use crate::songs::{Chart, Content, PlayedLine, Song, Stand};
use crate::store::Favourite;
use crate::theory::Chord;

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

/// What is shown of a song from one turn of its page to the next. Only what the turn changes is made again.
#[derive(Default)]
pub(in crate::app) struct PlayedPage {
    laid: Option<Laid>,
    known: Option<KnownShapes>,
}

/// A page as it was laid out last, and its rows as they are drawn.
struct Laid {
    chart: Arc<Chart>,
    custom: Custom,
    room: Room,
    steps: (i8, i8),
    page: Page,
    columns: Vec<Column>,
    sections: Rc<VecModel<ui::PlaySection>>,
    /// Which section of the chart each of those is.
    titled: Vec<usize>,
}

/// The rows of a column that are drawn.
struct Column {
    shown: Range<usize>,
    rows: Rc<VecModel<ui::PlayRow>>,
}

/// The shapes that were looked up for a song, and all they depend on.
struct KnownShapes {
    song: Song,
    style: Style,
    favourites: Vec<Favourite>,
    scale_mm: Option<f64>,
    found: Vec<(String, Option<RankedShape>)>,
}

/// Fills the page of the song that is played.
pub(in crate::app) fn show_playing(state: &State, page: &mut PlayedPage, to: &ui::PlayState<'_>) {
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
    to.set_at_end(view.at + 1 >= view.lines().len());
    page.show(state, &view, to);
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
        let found = page.shape(state, song, chord);
        ui::PlayShape {
            chord: custom.chord(chord).into(),
            has_shape: found.is_some(),
            shape: drawn(state, board.as_ref(), found),
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

impl PlayedPage {
    fn show(&mut self, state: &State, view: &PlayView, to: &ui::PlayState<'_>) {
        let custom = Custom::of(state);
        let look = &state.library.settings.stage;
        let (room, steps) = (state.playing.room, (look.words_steps, look.chords_steps));
        let bars = |line: usize| line_of_bars(custom, &view.chart, line);
        let is_same = |laid: &Laid| {
            Arc::ptr_eq(&laid.chart, &view.chart) && (laid.custom, laid.room, laid.steps) == (custom, room, steps)
        };
        let laid = match self.laid.take().filter(is_same) {
            Some(laid) => self.laid.insert(laid),
            None => {
                let laid = Laid::new(&view.chart, custom, room, steps);
                to.set_words_size(laid.page.words);
                to.set_chords_size(laid.page.chords);
                self.laid.insert(laid)
            }
        };
        to.set_now(spoken(custom, view, &bars).into());
        laid.turn_to(view.line(), to);
    }

    /// Returns how a chord of the song is held.
    fn shape(&mut self, state: &State, song: &Song, chord: Chord) -> Option<&RankedShape> {
        let habits = state.habits();
        let scale_mm = habits.scale_mm_of(song);
        let favourites = state.library.favourites();
        let is_same = |known: &KnownShapes| {
            known.song == *song
                && known.style == habits.style
                && known.favourites == favourites
                && known.scale_mm == scale_mm
        };
        let known = self.known.take().filter(is_same).unwrap_or_else(|| KnownShapes {
            song: song.clone(),
            style: habits.style,
            favourites: favourites.to_vec(),
            scale_mm,
            found: Vec::new(),
        });
        let known = self.known.insert(known);
        let symbol = chord.ascii();
        let place = known.found.iter().position(|(known, _)| *known == symbol).unwrap_or_else(|| {
            known.found.push((symbol, held(habits, song, chord).found));
            known.found.len() - 1
        });
        known.found[place].1.as_ref()
    }
}

impl Laid {
    fn new(chart: &Arc<Chart>, custom: Custom, room: Room, steps: (i8, i8)) -> Self {
        let page = fit(page_rows(chart, &|line| line_of_bars(custom, chart, line)), room, steps);
        let all = chart.sections();
        let titled = || all.iter().enumerate().filter_map(|(index, section)| Some((index, section.title?)));
        let mut same: HashMap<&str, usize> = HashMap::new();
        let sections = titled().map(|(_, title)| {
            let same = same.entry(title).and_modify(|count| *count += 1).or_insert(1);
            let spoken = if *same == 1 { title.to_owned() } else { format!("{title} ({same})") };
            ui::PlaySection { title: title.into(), spoken: spoken.into(), current: false }
        });
        let sections = Rc::new(VecModel::from(sections.collect::<Vec<_>>()));
        let titled = titled().map(|(index, _)| index).collect();
        Self { chart: Arc::clone(chart), custom, room, steps, page, columns: Vec::new(), sections, titled }
    }

    /// Marks what is played now, and shows other rows where it is not among those shown.
    fn turn_to(&mut self, now: &PlayedLine, to: &ui::PlayState<'_>) {
        let is_new = self.columns.is_empty();
        let shown = self.page.columns(now);
        if !shown.iter().eq(self.columns.iter().map(|column| &column.shown)) {
            self.columns = shown.into_iter().map(|shown| self.column(shown, now)).collect();
            let columns = self.columns.iter().map(|column| ui::PlayColumn { rows: Rc::clone(&column.rows).into() });
            to.set_columns(rows(columns));
        } else {
            for column in &self.columns {
                for (index, row) in self.page.rows[column.shown.clone()].iter().enumerate() {
                    mark(&column.rows, index, row.is_played(now), |row| &mut row.current);
                }
            }
        }
        if is_new {
            to.set_scrolls(self.columns.len() == 1);
            to.set_sections(Rc::clone(&self.sections).into());
        }
        for (index, section) in self.titled.iter().enumerate() {
            mark(&self.sections, index, *section == now.section, |section| &mut section.current);
        }
    }

    fn column(&self, shown: Range<usize>, now: &PlayedLine) -> Column {
        let bars = |line: usize| line_of_bars(self.custom, &self.chart, line);
        let drawn = self.page.rows[shown.clone()].iter().map(|row| {
            let view = drawn_row(self.custom, &self.page, row, &bars);
            ui::PlayRow { current: row.is_played(now), ..view }
        });
        Column { rows: Rc::new(VecModel::from(drawn.collect::<Vec<_>>())), shown }
    }
}

/// Sets a mark of a row where it is another.
fn mark<T: Clone + 'static>(rows: &VecModel<T>, index: usize, is_set: bool, field: fn(&mut T) -> &mut bool) {
    let Some(mut row) = rows.row_data(index) else { return };
    let marked = field(&mut row);
    if *marked != is_set {
        *marked = is_set;
        rows.set_row_data(index, row);
    }
}

fn drawn_row(custom: Custom, page: &Page, row: &PageRow, bars: &dyn Fn(usize) -> String) -> ui::PlayRow {
    let mut view = ui::PlayRow { unread: row.has_fault, ..ui::PlayRow::default() };
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
