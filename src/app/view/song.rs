//! An open song, the shapes of one of its chords, and its chords in another tuning.

use std::ops::Range;

use crate::app::shapes::Labels;
use crate::app::song::{capos, chords, held, in_other_tuning, open_song, shapes_of, tuning_name};
use crate::app::songs::{is_in_tuning, way_from_now};
use slint::{Model, ModelRc};

use crate::app::{Over, PageRow, RowKind, State, line, lines, page_rows, ui};
use crate::instrument::Fretboard;
use crate::shapes::RankedShape;
use crate::songs::{Chart, ChartFault, ChartLine, Content, Expected, Part, Song, Stand, Tab};

use super::custom::Custom;
use super::diagram::{Drawing, diagram};
use super::songs::{capo_text, key_text};
use super::way::{song_marks, way_view};
use super::{count, rows};

/// A tab on the page of a song is broken into stretches of so many columns: what a small phone shows.
const TAB_COLUMNS: usize = 34;

/// Fills the page of a song.
pub(in crate::app) fn show_song(state: &State, to: &ui::SongState<'_>) {
    let Some(song) = open_song(state) else { return };
    let custom = Custom::of(state);
    let habits = state.habits();
    head(state, song, to);
    to.set_key(key_text(state, song).into());
    to.set_tempo(song.tempo_bpm.map(|bpm| bpm.to_string()).unwrap_or_default().into());
    to.set_notes(lines(&short(&song.notes, MOST_LETTERS)).into());
    to.set_from(line(&song.from).into());
    to.set_marks(rows(song_marks(state, song)));
    let stand = Stand::of(song);
    to.set_way(way_view(&way_from_now(state, &stand), &stand));
    let board = state.habits().board_of(song, &song.tuning, song.capo);
    to.set_chords(rows(chords(habits, song).iter().map(|held| ui::SongChordView {
        chord: custom.chord(held.chord).into(),
        chosen: held.is_chosen,
        has_shape: held.found.is_some(),
        diagram: drawn(state, board.as_ref(), held.found.as_ref()),
    })));
    to.set_chart(rows(chart_lines(custom, song)));
    to.set_shows_capos(state.song.shows_capos);
    if state.song.shows_capos {
        to.set_capos(rows(capos(habits, song).iter().map(|place| ui::CapoView {
            capo: capo_text(place.capo).into(),
            key: place.key.map(|key| custom.key_note(key)).unwrap_or_default().into(),
            chords: place.chords.iter().map(|&chord| custom.chord(chord)).collect::<Vec<_>>().join(" ").into(),
            here: place.capo == song.capo,
        })));
    }
}

fn head(state: &State, song: &Song, to: &ui::SongState<'_>) {
    to.set_title(line(&song.title).into());
    to.set_tuning(tuning_name(state, song).into());
    to.set_capo(capo_text(song.capo).into());
    to.set_in_tune(way_from_now(state, &Stand::of(song)).is_in_tune());
}

/// Fills the page of one chord's shapes.
pub(in crate::app) fn show_song_chord(state: &State, to: &ui::SongState<'_>) {
    let Some((song, (chord, index))) = open_song(state).zip(state.song.chord) else { return };
    head(state, song, to);
    to.set_in_tune(is_in_tuning(state, song) && state.guitar.progress().is_done());
    let (found, chosen) = shapes_of(state.habits(), song, chord);
    let board = state.habits().board_of(song, &song.tuning, song.capo);
    let shown = found.get(index);
    to.set_chord(Custom::of(state).chord(chord).into());
    to.set_chord_has_shape(shown.is_some());
    to.set_chord_chosen(shown.is_some() && chosen == Some(index));
    to.set_number((index + 1).to_string().into());
    to.set_count(found.len().to_string().into());
    to.set_has_next(index + 1 < found.len());
    to.set_has_previous(index > 0);
    to.set_diagram(drawn(state, board.as_ref(), shown));
}

/// Fills the page that compares two tunings.
pub(in crate::app) fn show_song_compare(state: &State, to: &ui::SongState<'_>) {
    let Some((song, there)) = open_song(state).zip(in_other_tuning(state)) else { return };
    let custom = Custom::of(state);
    let habits = state.habits();
    head(state, song, to);
    to.set_other_tuning(tuning_name(state, &there).into());
    let notes = there.tuning.pitches.spelled();
    to.set_other_notes(custom.tuning(&notes).join(" ").into());
    let boards = [song, &there].map(|song| state.habits().board_of(song, &song.tuning, song.capo));
    to.set_compared(rows(chords(habits, song).iter().map(|here| {
        let other = held(habits, &there, here.chord);
        ui::ComparedChord {
            chord: custom.chord(here.chord).into(),
            here_has_shape: here.found.is_some(),
            here: drawn(state, boards[0].as_ref(), here.found.as_ref()),
            there_has_shape: other.found.is_some(),
            there: drawn(state, boards[1].as_ref(), other.found.as_ref()),
        }
    })));
}

/// Draws a shape; what sounds decides which of its marks is the root.
pub(super) fn drawn(state: &State, board: Option<&Fretboard<'_>>, found: Option<&RankedShape>) -> ui::DiagramView {
    let Some((board, found)) = board.zip(found) else { return ui::DiagramView::default() };
    let drawing = Drawing {
        shape: found.shape(),
        fingering: found.fingering(),
        chord: found.chord(),
        thumb: [None, None],
        reach: Vec::new(),
        labels: Labels::Finger,
        style: state.shapes.style,
    };
    diagram(state, board, &drawing)
}

/// How many letters and rows of a chart or of notes the page of a song shows: what is drawn must stay near the window, or
/// the renderer cannot place it. The stage shows all of it.
const MOST_LETTERS: usize = 2_000;
const MOST_ROWS: usize = 200;
/// So many faults of one line are told.
const MOST_FAULTS: usize = 3;

/// Returns the beginning of a text, with dots where there is more.
pub(super) fn short(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// Returns the rows of the chart, with what was not understood below its line, as far as they are shown.
fn chart_lines(custom: Custom, song: &Song) -> Vec<ui::ChartLineView> {
    let chart = song.read_chart();
    let bars = |line: usize| line_of_bars(custom, &chart, line);
    let mut found = Vec::new();
    let mut left = MOST_LETTERS;
    let is_read = |row: &PageRow| row.kind != RowKind::Gap;
    for row in page_rows(&chart, &bars).iter().filter(|row| is_read(row)) {
        if found.len() >= MOST_ROWS || left == 0 {
            found.push(ui::ChartLineView {
                kind: ui::ChartLineKind::Words,
                text: "…".into(),
                ..ui::ChartLineView::default()
            });
            break;
        }
        let view = chart_line(custom, row, &bars, left);
        left = left.saturating_sub(view.text.chars().count());
        left = left.saturating_sub(view.pieces.iter().map(|piece| piece.words.chars().count().max(2)).sum());
        found.push(view);
        if row.has_fault {
            found.extend(chart.lines()[row.line].faults.iter().take(MOST_FAULTS).map(|fault| ui::ChartLineView {
                kind: ui::ChartLineKind::Fault,
                fault: fault_view(Some(fault)),
                ..ui::ChartLineView::default()
            }));
        }
    }
    found
}

fn chart_line(custom: Custom, row: &PageRow, bars: &dyn Fn(usize) -> String, most: usize) -> ui::ChartLineView {
    let text = |kind, text: &str| ui::ChartLineView {
        kind,
        text: short(&lines(text), most).into(),
        ..ui::ChartLineView::default()
    };
    match &row.kind {
        RowKind::Heading(title) => text(ui::ChartLineKind::Section, title),
        RowKind::Bars => text(ui::ChartLineKind::Bars, &bars(row.line)),
        RowKind::Words(words) => text(ui::ChartLineKind::Words, words),
        RowKind::Tab(tab) => ui::ChartLineView {
            kind: ui::ChartLineKind::Tab,
            tab: tab_view(&tab.broken(TAB_COLUMNS)),
            ..ui::ChartLineView::default()
        },
        RowKind::Gap => ui::ChartLineView::default(),
        RowKind::Sung(pieces) => ui::ChartLineView {
            kind: ui::ChartLineKind::Sung,
            pieces: sung_pieces(custom, pieces, most),
            ..ui::ChartLineView::default()
        },
    }
}

/// Writes the stretches of a tab.
pub(super) fn tab_view(parts: &[Tab]) -> ui::TypedTabView {
    let mut lines = Vec::new();
    let mut text = Vec::new();
    for (part, stretch) in parts.iter().enumerate() {
        for line in stretch.lines() {
            let marks = rows(line.marks.iter().map(|mark| ui::TypedTabMark {
                at: count(mark.column),
                letters: count(mark.text.chars().count()),
                text: mark.text.as_str().into(),
            }));
            text.push(line.text().to_owned());
            let stretch =
                |columns: &Range<usize>| ui::TypedTabString { at: count(columns.start), columns: count(columns.len()) };
            lines.push(ui::TypedTabLine { marks, string: rows(line.string.iter().map(stretch)), part: count(part) });
        }
    }
    ui::TypedTabView {
        lines: rows(lines),
        parts: count(parts.len()),
        columns: count(parts.iter().map(Tab::columns).max().unwrap_or(1)),
        text: text.join("\n").into(),
    }
}

/// Writes what stands over words with the words, piece by piece, so many letters at most.
pub(super) fn sung_pieces(custom: Custom, pieces: &[(Over, String)], most: usize) -> ModelRc<ui::SungPiece> {
    // A space at a piece's end keeps its width.
    let words = |words: &str| words.strip_suffix(' ').map_or_else(|| words.to_owned(), |kept| format!("{kept}\u{a0}"));
    rows(pieces.iter().take(most / 8 + 1).map(|(over, text)| {
        ui::SungPiece {
            chord: match over {
                Over::Nothing => String::new(),
                Over::Chord(chord) => custom.chord(*chord),
                Over::Silence => "N.C.".to_owned(),
                Over::Unread(word) => format!("{}?", short(word, 40)),
            }
            .into(),
            unread: matches!(over, Over::Unread(_)),
            words: short(&words(text), most / 4 + 1).into(),
        }
    }))
}

/// Writes a line of bars; one with something not understood as it was typed, with that marked.
pub(super) fn line_of_bars(custom: Custom, chart: &Chart, line: usize) -> String {
    let Some(line) = chart.lines().get(line) else { return String::new() };
    match &line.content {
        Content::Bars(_) if !line.faults.is_empty() => marked(line),
        Content::Bars(bars) => bars_text(custom, bars),
        _ => String::new(),
    }
}

/// Returns a line as it was typed, a question mark behind each symbol that was not understood.
fn marked(line: &ChartLine) -> String {
    let mut ends: Vec<usize> = Vec::new();
    for fault in line.faults.iter().filter(|fault| !fault.found.is_empty()) {
        ends.push(fault.place + fault.found.chars().count());
    }
    let mut text = String::new();
    for (place, letter) in line.text().chars().chain([' ']).enumerate() {
        if ends.contains(&place) {
            text.push('?');
        }
        text.push(letter);
    }
    text.trim().to_owned()
}

/// Writes a line of bars with its bar lines and repeats.
fn bars_text(custom: Custom, bars: &[crate::songs::Bar]) -> String {
    let mut text = String::new();
    for bar in bars {
        text.push_str(if bar.opens_repeat() { "|: " } else { "| " });
        text.push_str(&bar_text(custom, bar));
        text.push(' ');
        match bar.closes_repeat() {
            None => {}
            Some(2) => text.push(':'),
            Some(times) => text.push_str(&format!(":| x{times} ")),
        }
    }
    text.push('|');
    text
}

/// Writes what fills a bar.
fn bar_text(custom: Custom, bar: &crate::songs::Bar) -> String {
    let part = |part: &Part| match part {
        Part::Chord(chord) => custom.chord(*chord),
        Part::Hold => "/".to_owned(),
        Part::Silence => "N.C.".to_owned(),
    };
    let parts: Vec<String> = bar.parts().iter().map(part).collect();
    if parts.is_empty() { "%".to_owned() } else { parts.join(" ") }
}

/// Says where a chart's fault lies.
pub(super) fn fault_view(fault: Option<&ChartFault>) -> ui::ChartFaultView {
    let Some(fault) = fault else { return ui::ChartFaultView::default() };
    ui::ChartFaultView {
        is_fault: true,
        line: (fault.line + 1).to_string().into(),
        place: (fault.place + 1).to_string().into(),
        found: short(&fault.found, 40).into(),
        expected: match fault.expected {
            Expected::Chord(_) => ui::ChartExpected::Chord,
            Expected::Bar => ui::ChartExpected::Bar,
            Expected::BarLine => ui::ChartExpected::BarLine,
            Expected::Alone => ui::ChartExpected::Alone,
            Expected::BarBefore => ui::ChartExpected::BarBefore,
            Expected::ChordBefore => ui::ChartExpected::ChordBefore,
            Expected::RepeatEnd => ui::ChartExpected::RepeatEnd,
            Expected::Times => ui::ChartExpected::Times,
        },
    }
}
