//! The plain full enumeration that the shape search is measured and checked against: every combination of silent, open
//! and every fret on every course, each judged by itself.

use pegwise::instrument::{CourseIndex, Fret, Fretboard, Position};
use pegwise::shapes::{Shape, ShapeSearch};
use pegwise::theory::{Chord, PitchClassSet};

/// What a course does: silent, or a fret with the lowest pitch and the classes it sounds.
type Sounded = Option<(u8, u8, PitchClassSet)>;

/// Returns every shape that sounds `chord` and can be held, by the search's own options, in no stated order.
pub(crate) fn enumerate(search: &ShapeSearch, chord: Chord, board: &Fretboard<'_>) -> Vec<Shape> {
    let count = board.courses();
    let last = search.last_fret.get().min(board.last_fret().get());
    let bass_is_binding = search.bass.is_binding(chord);
    let (required, allowed) = (chord.required(), chord.allowed());
    let courses = board.instrument().courses();
    let options: Vec<Vec<Sounded>> = (0..count)
        .map(|index| {
            let at = |fret| {
                let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret) };
                let pitch = board.pitch_at(position)?;
                let classes = courses[index].string_pitches(pitch).map(|pitch| pitch.class()).collect();
                Some((fret, pitch.number(), classes))
            };
            std::iter::once(None).chain((0..=last).filter_map(|fret| at(fret).map(Some))).collect()
        })
        .collect();
    let mut places = vec![0; count];
    let mut found = Vec::new();
    loop {
        let chosen = || places.iter().zip(&options).filter_map(|(&place, course)| course[place]);
        let mut classes = PitchClassSet::EMPTY;
        let mut lowest = (u8::MAX, PitchClassSet::EMPTY);
        let mut sounding = 0;
        for (_, pitch, own) in chosen() {
            classes = classes.union(own);
            sounding += 1;
            if pitch < lowest.0 {
                lowest = (pitch, own);
            }
        }
        let sounds_it = sounding >= search.fewest_courses.min(count)
            && classes.is_subset_of(allowed)
            && required.is_subset_of(classes)
            && (!bass_is_binding || lowest.1.contains(chord.bass().class()));
        if sounds_it {
            let fret = |(&place, course): (&usize, &Vec<Sounded>)| course[place].map(|(fret, ..)| Fret::new(fret));
            let shape = Shape::new(places.iter().zip(&options).map(fret).collect());
            if search.hand.find_fingering(&shape, board, search.style).is_some() {
                found.push(shape);
            }
        }
        let Some(turning) = (0..count).rev().find(|&index| places[index] + 1 < options[index].len()) else {
            return found;
        };
        places[turning] += 1;
        places[turning + 1..].fill(0);
    }
}
