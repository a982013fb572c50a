//! Notes of the chord between melody and bass.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::Chord;

use super::arrangement::{ArrangedSlice, Sounding};
use super::grips::{FINGERS, Grip, finger_on, fret_on};
use super::slices::Slice;
use super::wishes::Fullness;

/// Adds inner notes where the fullness asks for them: tones of the chord that the hand holds already or that ring open,
/// on a course that no other note has, between the bass and the melody. They sound for their own moment.
pub(super) fn fill_in(
    written: &mut [ArrangedSlice],
    grips: &[Grip],
    slices: &[Slice],
    board: &Fretboard<'_>,
    fullness: Fullness,
) {
    if fullness == Fullness::Plain {
        return;
    }
    for ((written, slice), grip) in written.iter_mut().zip(slices).zip(grips) {
        let is_pinch = slice.is_new_chord && slice.starts && slice.beat.is_some();
        let is_between = fullness == Fullness::Inner && slice.is_off_beat && !slice.starts && slice.beat.is_none();
        if let (true, Some(chord)) = (is_pinch || is_between, slice.chord) {
            written.inner.extend(inner_note(written, grip, board, chord));
        }
    }
}

/// Finds the note nearest below the melody's course.
fn inner_note(written: &ArrangedSlice, grip: &Grip, board: &Fretboard<'_>, chord: Chord) -> Option<Sounding> {
    let index = |note: &Option<Sounding>| note.map(|note| note.position.course.from_lowest_index());
    let lowest = index(&written.bass).map_or(0, |course| course + 1);
    let highest = index(&written.melody).unwrap_or(board.courses());
    let ceiling = written.melody.map(|note| note.pitch);
    let floor = written.bass.map(|note| note.pitch);
    (lowest..highest).rev().find_map(|index| {
        if board.instrument().courses().get(index)?.is_drone() {
            return None;
        }
        let course = u8::try_from(index).ok()?;
        let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret_on(grip, course)) };
        let pitch = board.pitch_at(position)?;
        let fits = chord.allowed().contains(pitch.class())
            && ceiling.is_none_or(|ceiling| pitch < ceiling)
            && floor.is_none_or(|floor| pitch > floor);
        let finger = finger_on(grip, course).and_then(|finger| FINGERS.get(finger).copied());
        fits.then_some(Sounding { position, finger, pitch, starts: true })
    })
}
