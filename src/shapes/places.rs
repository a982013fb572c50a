//! What each course of a neck can sound of a chord, by fret.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::{Chord, PitchClass};

use super::bass::thumb_courses;
use super::rank::ThumbCourses;
use super::search::bits;

/// A place on a course that sounds nothing foreign to the chord.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    pub(super) fret: u8,
    /// The classes that sound, several where the strings of a course differ.
    pub(super) classes: u16,
    /// The lowest pitch's number.
    pub(super) pitch: u8,
}

/// Lists what the thumb finds on its courses.
pub(super) fn thumb(chord: Chord, board: &Fretboard<'_>, last_fret: u8, (third, fifth): (u16, u16)) -> ThumbCourses {
    let class_at = |index: usize, fret: u8| {
        let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret) };
        board.pitch_at(position).map_or(0, |pitch| 1 << pitch.class().semitones_above_c())
    };
    let classes = |index: usize| {
        if board.instrument().courses()[index].is_drone() {
            return Vec::new();
        }
        (0..=last_fret).map(|fret| class_at(index, fret)).collect()
    };
    let bit = |class: PitchClass| 1 << class.semitones_above_c();
    ThumbCourses {
        classes: (0..thumb_courses(board.courses())).map(classes).collect(),
        first: bit(chord.bass().class()),
        seconds: bit(chord.bass().class()) | bit(chord.root().class()) | fifth,
        third,
        fifth,
    }
}

/// Lists what a course can sound without leaving `allowed`.
pub(super) fn choices(board: &Fretboard<'_>, index: usize, last_fret: u8, allowed: u16) -> Vec<Choice> {
    let course = &board.instrument().courses()[index];
    let choice = |fret: u8| {
        let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret) };
        let named = board.pitch_at(position)?;
        let classes = bits(course.string_pitches(named).map(|pitch| pitch.class()).collect());
        (classes & !allowed == 0).then_some(Choice { fret, classes, pitch: named.number() })
    };
    (0..=last_fret).filter_map(choice).collect()
}
