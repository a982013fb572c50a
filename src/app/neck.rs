//! The whole neck: where the notes of the key or chord lie, and what a shape built on it is called.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{Shape, name_shape};
use crate::theory::Chord;

use super::desk::Desk;
use super::next::Next;
use super::shapes::{Labels, Neck};

/// Which notes are marked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NeckShows {
    /// Those of the key.
    #[default]
    Key,
    /// Those of the chord.
    Chord,
    /// None.
    Nothing,
}

/// What the neck view looks at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NeckLook {
    /// Which notes are marked.
    pub shows: NeckShows,
    /// Notes or degrees.
    pub labels: Labels,
    /// What is held, from the highest player number to course 1; empty before the first tap.
    pub held: Vec<Option<Fret>>,
    /// The neck it is held on.
    on: Option<Neck>,
}

impl NeckLook {
    /// Holds nothing any more where the neck has changed.
    pub(super) fn settle(&mut self, board: &Fretboard<'static>) {
        let neck = Neck::of(board);
        if self.on.as_ref() != Some(&neck) {
            self.held.clear();
            self.on = Some(neck);
        }
    }

    /// Returns the shape that is held, `None` when nothing is.
    #[must_use]
    pub fn shape(&self) -> Option<Shape> {
        self.held.iter().any(Option::is_some).then(|| Shape::new(self.held.clone()))
    }

    /// Returns the best name of what is held.
    #[must_use]
    pub(super) fn chord(&self, desk: &Desk) -> Option<Chord> {
        name_shape(&desk.board(), &self.shape()?, Some(desk.shapes.key)).best().map(|name| name.chord)
    }
}

/// What the neck view asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeckAction {
    /// Hold this place, or let it go; the course counted from the highest player number.
    Cell {
        /// The fret, counted from the capo.
        fret: u8,
        /// The course, from 0.
        course: usize,
    },
    /// Mark these notes.
    Shows(NeckShows),
    /// Write this.
    Labels(Labels),
    /// Hold nothing.
    Clear,
    /// Look at shapes of the chord that is held.
    ToShapes,
}

pub(super) fn update(neck: &mut NeckLook, desk: &mut Desk, action: NeckAction) -> Next {
    match action {
        NeckAction::Cell { fret, course } => {
            let board = desk.board();
            let position = Position { course: CourseIndex::from_lowest(course), fret: Fret::new(fret) };
            neck.held.resize(board.courses(), None);
            if board.has(position)
                && let Some(place) = neck.held.get_mut(course)
            {
                *place = if *place == Some(position.fret) { None } else { Some(position.fret) };
            }
        }
        NeckAction::Shows(shows) => neck.shows = shows,
        NeckAction::Labels(labels) => neck.labels = labels,
        NeckAction::Clear => neck.held.clear(),
        NeckAction::ToShapes => {
            if let Some((chord, shape)) = neck.chord(desk).zip(neck.shape()) {
                return desk.open_shape(chord, &shape);
            }
        }
    }
    Next::Shown
}

/// Returns the fret that stands in a row of the neck view: on a diatonic neck rows are fewer than semitones.
#[cfg(feature = "app")]
pub(super) fn fret_in_row(desk: &Desk, row: u8) -> u8 {
    let board = desk.board();
    let is_there =
        |fret: &u8| *fret == 0 || board.instrument().has_fret(Fret::new(fret.saturating_add(board.capo().get())));
    (0..=board.last_fret().get()).filter(is_there).nth(usize::from(row)).unwrap_or(row)
}
