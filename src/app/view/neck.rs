//! The neck view.

use crate::app::State;
use crate::app::neck::NeckShows;
use crate::app::shapes::Labels;
use crate::app::ui;
use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{NeckNote, chord_on_neck, key_on_neck, name_shape};

use super::custom::Custom;
use super::marks::thickness;
use super::rows;
use super::shapes::{labels_view, name_view};

/// The frets that carry a dot on most necks (common practice, no source).
const DOTTED: [u8; 8] = [3, 5, 7, 9, 12, 15, 17, 19];
/// How many other names of what is held are shown.
const MOST_NAMES: usize = 4;

/// Fills the neck view.
pub(in crate::app) fn show_neck(state: &State, to: &ui::NeckState<'_>) {
    let board = state.board();
    let custom = Custom::of(state);
    let (key, chord) = (state.shapes.key, state.shapes.chord);
    let thickness = thickness(state.strings());
    let open = board.open_pitches();
    let order = order(state, board.courses());
    to.set_strings(rows(order.iter().map(|&index| (index, open[index])).map(|(index, pitch)| ui::NeckString {
        course: (board.courses() - index).to_string().into(),
        note: custom.note(key.note_of(pitch.class())).into(),
        thickness: thickness.get(index).copied().unwrap_or(0.5),
        pair: board.instrument().courses()[index].is_pair(),
    })));
    let last = board.last_fret().get();
    let marked = match state.neck.shows {
        NeckShows::Key => key_on_neck(&board, key, board.last_fret()),
        NeckShows::Chord => chord_on_neck(&board, chord, board.last_fret()),
        NeckShows::Nothing => Vec::new(),
    };
    let is_there = |fret: &u8| *fret == 0 || board.instrument().has_fret(Fret::new(*fret + board.capo().get()));
    to.set_frets(rows((0..=last).filter(is_there).map(|fret| ui::NeckFret {
        fret: board.instrument().fret_name(Fret::new(fret)).into(),
        dotted: DOTTED.contains(&(fret + board.capo().get())),
        capo: fret == 0 && board.capo() != Fret::OPEN,
        cells: rows(order.iter().map(|&course| cell(state, &board, &marked, fret, course))),
    })));
    to.set_shows(match state.neck.shows {
        NeckShows::Key => ui::NeckShows::Key,
        NeckShows::Chord => ui::NeckShows::Chord,
        NeckShows::Nothing => ui::NeckShows::Nothing,
    });
    to.set_shown_name(match state.neck.shows {
        NeckShows::Key => custom.key_note(key).into(),
        NeckShows::Chord => custom.chord(chord).into(),
        NeckShows::Nothing => "".into(),
    });
    to.set_labels(labels_view(state.neck.labels));
    let shape = state.neck.shape();
    to.set_held_frets(shape.as_ref().map(|shape| shape.written(&board)).unwrap_or_default().into());
    let names = shape.map(|shape| name_shape(&board, &shape, Some(key)).names).unwrap_or_default();
    to.set_names(rows(names.iter().take(MOST_NAMES).map(|name| name_view(state, name))));
}

/// Returns the courses from left to right: the mirror for a left-handed player.
pub(in crate::app) fn order(state: &State, courses: usize) -> Vec<usize> {
    if state.library.settings.is_left_handed { (0..courses).rev().collect() } else { (0..courses).collect() }
}

fn cell(state: &State, board: &Fretboard<'_>, marked: &[NeckNote], fret: u8, course: usize) -> ui::NeckCell {
    let position = Position { course: CourseIndex::from_lowest(course), fret: Fret::new(fret) };
    let Some(pitch) = board.pitch_at(position) else {
        return ui::NeckCell { absent: true, ..ui::NeckCell::default() };
    };
    let custom = Custom::of(state);
    let key = state.shapes.key;
    let found = marked.iter().find(|note| note.position == position);
    let note = custom.note(found.map_or_else(|| key.note_of(pitch.class()), |found| found.note));
    let degree = found.map_or_else(|| key.degree_of(pitch.class()), |found| found.degree);
    let held = state.neck.held.get(course).copied().flatten() == Some(position.fret);
    let text = if state.neck.labels == Labels::Degree { degree.simple().to_string() } else { note.clone() };
    ui::NeckCell {
        text: if found.is_some() || held { text } else { String::new() }.into(),
        mark: match found {
            None => ui::NeckMark::None,
            Some(found) if found.is_root => ui::NeckMark::Root,
            Some(_) => ui::NeckMark::Tone,
        },
        held,
        absent: false,
        note: note.into(),
    }
}
