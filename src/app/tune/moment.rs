//! One moment of a tune, and what else could be played there.

use crate::app::state::State;
use crate::arrange::{Pin, Pinned, Sounding};
use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{Finger, Shape, ShapeSearch, Style, thumb_courses};
use crate::store::Library;
use crate::theory::{Chord, Pitch};
use crate::tune::Quarters;

use super::open::OpenTune;

/// The highest fret the thumb's notes are offered at, as the search has them.
const LAST_BASS_FRET: u8 = 9;
/// How many shapes of the chord are offered.
const MOST_SHAPES: usize = 6;

/// A shape that can be held.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapeChoice {
    /// Which.
    pub shape: Shape,
    /// It is held now.
    pub is_held: bool,
}

/// A moment and its choices.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// The bar's number as played, and the beat from 1.
    pub place: (usize, Quarters),
    /// The chord.
    pub chord: Option<Chord>,
    /// Where the melody note that sounds begins, and what it is; `None` in a rest.
    pub melody: Option<(Quarters, Sounding)>,
    /// The places of that note on the neck.
    pub melody_places: Vec<Position>,
    /// Where the thumb has its beat last, and what it plays there; the first `None` without a beat.
    pub bass_at: Option<Quarters>,
    /// What it plays there.
    pub bass: Option<Sounding>,
    /// What else it could: the chord's tones below the melody.
    pub bass_places: Vec<(Position, Pitch)>,
    /// Shapes of the chord.
    pub shapes: Vec<ShapeChoice>,
    /// What the player has decided here.
    pub decided: Vec<Pin>,
}

/// Returns the moment that is looked at; `None` before anything is worked out.
#[must_use]
pub fn moment(state: &State) -> Option<Moment> {
    moment_of(&state.tune, &state.library)
}

fn moment_of(open: &OpenTune, library: &Library) -> Option<Moment> {
    let worked = open.worked.as_ref()?;
    let (index, slices) = open.selected()?;
    let question = &worked.question;
    let board = Fretboard::new(question.instrument, &question.tuning, worked.arrangement.capo).ok()?;
    let board = board.over_mm(question.wishes.scale_mm);
    let slice = &slices[index];
    let onset = |begins: &dyn Fn(usize) -> bool| (0..=index).rev().find(|&at| begins(at));
    let melody = slice.melody.and_then(|_| {
        let at = onset(&|at| slices[at].melody.is_some_and(|note| note.starts))?;
        Some((slices[at].at, slices[at].melody?))
    });
    let melody_places = melody.map_or_else(Vec::new, |(_, note)| places(&board, note.pitch));
    // A beat of the thumb's is where a bass note begins, or where one is left out.
    let left_out = |at: Quarters| {
        let bass = |left: &&crate::arrange::LeftOut| left.what == crate::arrange::LeftOutKind::Bass;
        worked.arrangement.left_out.iter().filter(bass).any(|left| left.at == at)
    };
    let bass_index = onset(&|at| slices[at].bass.is_some_and(|note| note.starts) || left_out(slices[at].at));
    let bass = bass_index.and_then(|at| slices[at].bass.filter(|note| note.starts));
    let bass_places = bass_index.and_then(|at| Some((at, slices[at].chord?))).map_or_else(Vec::new, |(at, chord)| {
        let melody = slices[at].melody;
        bass_places(&board, chord, melody)
    });
    let shapes = slice.chord.map_or_else(Vec::new, |chord| {
        let search =
            ShapeSearch { style: Style::Picked, hand: question.wishes.hand.clone(), ..ShapeSearch::best(MOST_SHAPES) };
        let found = search.find(chord, &board).shapes.into_iter().map(|ranked| ranked.shape().clone());
        found.map(|shape| ShapeChoice { is_held: slice.shape.as_ref() == Some(&shape), shape }).collect()
    });
    let onsets = [melody.map(|(at, _)| at), bass_index.map(|at| slices[at].at)];
    let is_here = |pin: &&Pin| match &pin.what {
        Pinned::Melody(_) | Pinned::MelodyFinger(_) => Some(pin.at) == onsets[0],
        Pinned::Bass(_) | Pinned::NoBass | Pinned::BassFinger(_) => Some(pin.at) == onsets[1],
        Pinned::Shape { to, .. } => pin.at <= slice.at && slice.at < *to,
    };
    let courses = board.courses();
    let pins = if open.other.is_some() {
        Vec::new()
    } else {
        open.find(library)?.tune.as_ref().map(|tune| tune.pins(courses)).unwrap_or_default()
    };
    Some(Moment {
        place: question.played.bar_and_beat(slice.at),
        chord: slice.chord,
        melody,
        melody_places,
        bass_at: onsets[1],
        bass,
        bass_places,
        shapes,
        decided: pins.iter().filter(is_here).cloned().collect(),
    })
}

/// Every place a pitch lies at, from the nut on.
fn places(board: &Fretboard<'_>, pitch: Pitch) -> Vec<Position> {
    let all = (0..=board.last_fret().get()).flat_map(|fret| {
        (0..board.courses())
            .map(move |course| Position { course: CourseIndex::from_lowest(course), fret: Fret::new(fret) })
    });
    all.filter(|position| board.pitch_at(*position) == Some(pitch)).collect()
}

/// The chord's tones on the thumb's courses, on the ceiling's side of the melody and below it, from the lowest.
fn bass_places(board: &Fretboard<'_>, chord: Chord, melody: Option<Sounding>) -> Vec<(Position, Pitch)> {
    let is_string = |course: &usize| !board.instrument().courses()[*course].is_drone();
    let thumb = (0..thumb_courses(board.courses())).filter(is_string);
    let free = thumb.filter(|course| melody.is_none_or(|note| *course < note.position.course.from_lowest_index()));
    let mut found: Vec<(Position, Pitch)> = free
        .flat_map(|course| (0..=LAST_BASS_FRET).map(move |fret| (CourseIndex::from_lowest(course), Fret::new(fret))))
        .filter_map(|(course, fret)| {
            let position = Position { course, fret };
            board.pitch_at(position).map(|pitch| (position, pitch))
        })
        .filter(|(_, pitch)| {
            let number = chord.quality().degree_of(chord.root().class(), pitch.class()).map(|degree| degree.number());
            let is_tone = pitch.class() == chord.bass().class() || matches!(number, Some(1 | 3 | 5));
            is_tone && melody.is_none_or(|note| *pitch < note.pitch)
        })
        .collect();
    found.sort_by_key(|(position, pitch)| (*pitch, position.fret));
    found
}

/// What is decided at the moment that is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// The melody note is played at this of its places.
    Melody(usize),
    /// It is stopped by this finger.
    MelodyFinger(Finger),
    /// The thumb plays this of what it could.
    Bass(usize),
    /// The thumb plays nothing.
    NoBass,
    /// The bass note is stopped by this finger.
    BassFinger(Finger),
    /// This shape is held to the end of the bar.
    Shape(usize),
    /// What was decided here is taken back.
    Free,
}

/// Returns the pins that a decision makes, and those it takes away.
pub(super) fn pins_of(open: &OpenTune, library: &Library, decision: Decision) -> Option<(Vec<Pin>, Vec<Pin>)> {
    let moment = moment_of(open, library)?;
    let here = |at: Quarters, what: Pinned| Some((vec![Pin { at, what }], Vec::new()));
    let melody_at = moment.melody.map(|(at, _)| at);
    match decision {
        Decision::Melody(index) => here(melody_at?, Pinned::Melody(*moment.melody_places.get(index)?)),
        Decision::MelodyFinger(finger) => here(melody_at?, Pinned::MelodyFinger(finger)),
        Decision::Bass(index) => here(moment.bass_at?, Pinned::Bass(moment.bass_places.get(index)?.0)),
        Decision::NoBass => here(moment.bass_at?, Pinned::NoBass),
        Decision::BassFinger(finger) => here(moment.bass_at?, Pinned::BassFinger(finger)),
        Decision::Shape(index) => {
            let shape = moment.shapes.get(index)?.shape.clone();
            let (at, slices) = open.selected()?;
            let (bar, chord) = (slices[at].bar, slices[at].chord);
            // As long as the chord lasts in its bar: a shape counts only for the chords it sounds.
            let is_of_it = |slice: &&crate::arrange::ArrangedSlice| slice.bar == bar && slice.chord == chord;
            let from = slices[..=at].iter().rev().take_while(is_of_it).last()?.at;
            let last = slices[at..].iter().take_while(is_of_it).last()?;
            let taken: Vec<Pin> =
                moment.decided.into_iter().filter(|pin| matches!(pin.what, Pinned::Shape { .. })).collect();
            Some((vec![Pin { at: from, what: Pinned::Shape { shape, to: last.at + last.length } }], taken))
        }
        Decision::Free => Some((Vec::new(), moment.decided)),
    }
}
