//! The whole neck in one tuning: where the notes of a key or chord lie, and shapes built from places on it.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::{Chord, Interval, Key, Note, Pitch, PitchClass};

use super::shape::Shape;

/// A note on the neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NeckNote {
    /// Where it lies; fret 0 is open.
    pub position: Position,
    /// What sounds: the course's named string.
    pub pitch: Pitch,
    /// Its name in the key or chord.
    pub note: Note,
    /// Its degree above the key's tonic or the chord's root.
    pub degree: Interval,
    /// Whether it is the tonic or root.
    pub is_root: bool,
}

/// Returns every place of a key's notes up to fret `last`, course by course from the highest player number, each from
/// the open string up.
#[must_use]
pub fn key_on_neck(board: &Fretboard<'_>, key: Key, last: Fret) -> Vec<NeckNote> {
    let classes = key.classes();
    let tonic = key.tonic().class();
    let name = |class: PitchClass| classes.contains(class).then(|| (key.note_of(class), key.degree_of(class)));
    notes_on_neck(board, tonic, last, name)
}

/// Returns every place of a chord's tones up to fret `last`, a bass asked for included, in the order of
/// [`key_on_neck`]. Tones the chord only tolerates are left out.
#[must_use]
pub fn chord_on_neck(board: &Fretboard<'_>, chord: Chord, last: Fret) -> Vec<NeckNote> {
    let own: Vec<PitchClass> = chord.notes().into_iter().map(Note::class).chain([chord.bass().class()]).collect();
    let name = |class: PitchClass| {
        let is_own = own.contains(&class);
        is_own.then(|| chord.note_of(class).zip(chord.degree_of(class))).flatten()
    };
    notes_on_neck(board, chord.root().class(), last, name)
}

fn notes_on_neck(
    board: &Fretboard<'_>,
    root: PitchClass,
    last: Fret,
    name: impl Fn(PitchClass) -> Option<(Note, Interval)>,
) -> Vec<NeckNote> {
    let frets = last.min(board.last_fret()).get();
    let places = (0..board.courses()).flat_map(|index| {
        let course = CourseIndex::from_lowest(index);
        (0..=frets).map(move |fret| Position { course, fret: Fret::new(fret) })
    });
    places
        .filter_map(|position| {
            let pitch = board.pitch_at(position)?;
            let (note, degree) = name(pitch.class())?;
            Some(NeckNote { position, pitch, note, degree, is_root: pitch.class() == root })
        })
        .collect()
}

/// A shape in the making: the places tapped so far, one a course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TappedShape {
    frets: Vec<Option<Fret>>,
}

impl TappedShape {
    /// Starts with nothing: every course silent.
    #[must_use]
    pub fn new(board: &Fretboard<'_>) -> Self {
        Self { frets: vec![None; board.courses()] }
    }

    /// Starts from a shape, to change it.
    #[must_use]
    pub fn from_shape(board: &Fretboard<'_>, shape: &Shape) -> Self {
        let at = |index: usize| shape.frets().get(index).copied().flatten();
        Self { frets: (0..board.courses()).map(at).collect() }
    }

    /// Taps a place: it sounds, instead of what its course sounded; tapped again, the course is silent. A place where
    /// the neck has no such note changes nothing. Tells whether anything changed.
    pub fn tap(&mut self, board: &Fretboard<'_>, position: Position) -> bool {
        let is_there = board.has(position);
        let Some(slot) = self.frets.get_mut(position.course.from_lowest_index()).filter(|_| is_there) else {
            return false;
        };
        *slot = (*slot != Some(position.fret)).then_some(position.fret);
        true
    }

    /// Returns the shape.
    #[must_use]
    pub fn shape(&self) -> Shape {
        Shape::new(self.frets.clone())
    }

    /// Returns whether nothing sounds.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.frets.iter().all(Option::is_none)
    }
}
