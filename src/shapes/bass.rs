//! What the thumb alternates under a held shape.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::{Chord, Pitch, PitchClass, PitchClassSet};

use super::fingering::{Finger, Fingering};
use super::hand::Hand;
use super::shape::Shape;
use super::stops::{Stop, Stops};

/// What a bass note is to the chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BassPart {
    /// The root.
    Root,
    /// The bass asked for after the slash.
    Asked,
    /// The same note as the first, an octave or two away or on another course.
    Octave,
    /// The chord's fifth, perfect or altered.
    Fifth,
    /// The chord's third.
    Third,
}

/// One note of the thumb's pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BassNote {
    /// Where the thumb plucks, and where the course is stopped; fret 0 is open.
    pub position: Position,
    /// What sounds.
    pub pitch: Pitch,
    /// What it is to the chord.
    pub part: BassPart,
    /// Whether the shape sounds the course; if not, it is an open course the shape leaves out and the thumb may use.
    pub is_in_shape: bool,
}

/// Two bass notes in turn, the first on the beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BassPair {
    /// The root, or the bass asked for.
    pub first: BassNote,
    /// Fifth, octave or third.
    pub second: BassNote,
    /// What speaks against the pair, in points: a third instead of a fifth, a stopped course, a course far from the
    /// thumb's usual second one.
    pub points: u16,
}

/// One finger's change to a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FingerChange {
    /// The finger comes off and the course rings open.
    Lift {
        /// Which finger.
        finger: Finger,
        /// Where it was.
        from: Position,
    },
    /// A free finger is put down.
    Add {
        /// Which finger.
        finger: Finger,
        /// Where.
        at: Position,
    },
    /// A finger goes elsewhere.
    Move {
        /// Which finger.
        finger: Finger,
        /// Where it was.
        from: Position,
        /// Where it goes.
        to: Position,
    },
}

/// What the thumb can alternate under a shape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlternatingBass {
    /// The pairs, best first; empty where the shape leaves the thumb nothing.
    pub pairs: Vec<BassPair>,
    /// Where there is no pair: the smallest change that gives one, and the pair it gives. `None` when one finger is
    /// not enough.
    pub change: Option<(FingerChange, BassPair)>,
}

/// Returns how many courses from the ceiling are the thumb's: half of them, of an odd number the greater half.
///
/// Common practice: the thumb takes 6, 5 and 4 of six courses and leaves 3, 2 and 1 to the fingers.
#[must_use]
pub const fn thumb_courses(courses: usize) -> usize {
    courses.div_ceil(2)
}

/// Finds what the thumb can alternate with `shape` held as `fingering` says, as the bass of `chord`.
///
/// First the root or the bass asked for, then the fifth, the octave or the third. A course the shape leaves out counts
/// when it rings open in the chord and no finger lies on it: it is plucked only where the thumb wants it. Short drone
/// strings are no bass. Ties break from the thickest course.
#[must_use]
pub fn alternating_bass(
    board: &Fretboard<'_>,
    shape: &Shape,
    fingering: &Fingering,
    chord: Chord,
    hand: &Hand,
) -> AlternatingBass {
    let stops = Stops::of(shape, fingering);
    let pairs = pairs(board, shape, &stops, chord);
    let change = if pairs.is_empty() { smallest_change(board, shape, &stops, chord, hand) } else { None };
    AlternatingBass { pairs, change }
}

/// Returns what the thumb finds on each of its courses: a tone of the chord, stopped, open or left out by the shape.
fn available(board: &Fretboard<'_>, shape: &Shape, stops: &Stops) -> Vec<(Position, Pitch, bool)> {
    let courses = board.courses();
    (0..thumb_courses(courses))
        .filter(|&index| !board.instrument().courses()[index].is_drone())
        .filter_map(|index| {
            let course = CourseIndex::from_lowest(index);
            let held = shape.frets().get(index).copied().flatten();
            let is_touched = stops.on(course).is_some();
            let fret = held.or_else(|| (!is_touched).then_some(Fret::OPEN))?;
            let position = Position { course, fret };
            board.pitch_at(position).map(|pitch| (position, pitch, held.is_some()))
        })
        .collect()
}

fn pairs(board: &Fretboard<'_>, shape: &Shape, stops: &Stops, chord: Chord) -> Vec<BassPair> {
    let notes = available(board, shape, stops);
    let innermost = thumb_courses(board.courses()) - 1;
    let wanted = chord.bass().class();
    let mut firsts: Vec<&(Position, Pitch, bool)> = notes.iter().filter(|note| note.1.class() == wanted).collect();
    firsts.sort_by_key(|note| note.1);
    let mut found = Vec::new();
    for (rank, &&(position, pitch, is_in_shape)) in firsts.iter().enumerate() {
        let part = if chord.slash_bass().is_some() { BassPart::Asked } else { BassPart::Root };
        let first = BassNote { position, pitch, part, is_in_shape };
        for &(other, other_pitch, other_in_shape) in &notes {
            let Some(part) = second_part(chord, wanted, other_pitch.class()) else { continue };
            if other.course == position.course {
                continue;
            }
            let second = BassNote { position: other, pitch: other_pitch, part, is_in_shape: other_in_shape };
            let away = u16::try_from(innermost - other.course.from_lowest_index()).unwrap_or(u16::MAX);
            let deeper_roots = u16::try_from(rank).unwrap_or(u16::MAX);
            let by_part = match part {
                BassPart::Root | BassPart::Asked | BassPart::Fifth => 0,
                BassPart::Octave => 2,
                // Behind any fifth or octave, wherever that lies.
                BassPart::Third => 40,
            };
            let stopped = u16::from(position.fret != Fret::OPEN) + u16::from(other.fret != Fret::OPEN);
            // By hand, so that the pairs of common practice come first: E 6 and 4, A 5 and 4, C 5 and 4.
            let points = by_part + 5 * away + 4 * deeper_roots + stopped;
            found.push(BassPair { first, second, points });
        }
    }
    found.sort_by_key(|pair| {
        let place = |note: &BassNote| note.position.course.from_lowest_index();
        (pair.points, place(&pair.first), place(&pair.second))
    });
    found
}

/// Returns what a note is as the second of a pair whose first has class `first`; `None` when it does not serve.
fn second_part(chord: Chord, first: PitchClass, class: PitchClass) -> Option<BassPart> {
    if class == first {
        return Some(BassPart::Octave);
    }
    if class == chord.root().class() {
        return Some(BassPart::Root);
    }
    match chord.quality().degree_of(chord.root().class(), class)?.number() {
        5 => Some(BassPart::Fifth),
        3 => Some(BassPart::Third),
        _ => None,
    }
}

/// Finds the change of one finger that gives the thumb a pair and costs least: lifting before adding before moving,
/// then the shorter way along the neck, then the better pair. The chord keeps every tone it must have.
fn smallest_change(
    board: &Fretboard<'_>,
    shape: &Shape,
    stops: &Stops,
    chord: Chord,
    hand: &Hand,
) -> Option<(FingerChange, BassPair)> {
    let mut best: Option<(Effort, FingerChange, BassPair)> = None;
    let mut offer = |kind: u8, way_mm: f64, change: FingerChange, changed: &Stops, frets: Vec<Option<Fret>>| {
        let changed_shape = Shape::new(frets);
        if !changed.can_be_held(board, hand) || !keeps_chord(board, shape, &changed_shape, chord) {
            return;
        }
        if let Some(&pair) = pairs(board, &changed_shape, changed, chord).first() {
            let effort = Effort { kind, way_mm, points: pair.points };
            if best.as_ref().is_none_or(|(least, ..)| effort.is_less_than(least)) {
                best = Some((effort, change, pair));
            }
        }
    };
    let put = |at: Position| {
        let mut frets = shape.frets().to_vec();
        if let Some(slot) = frets.get_mut(at.course.from_lowest_index()) {
            *slot = Some(at.fret);
        }
        frets
    };
    let tips: Vec<Stop> = stops.iter().copied().filter(|stop| !stop.is_barre()).collect();
    for stop in &tips {
        let course = CourseIndex::from_lowest(stop.from);
        let from = Position { course, fret: stop.fret };
        let changed = stops.without(stop.finger);
        let under = Position { course, fret: changed.fret_of(course) };
        offer(0, 0.0, FingerChange::Lift { finger: stop.finger, from }, &changed, put(under));
    }
    for index in 0..thumb_courses(board.courses()) {
        let course = CourseIndex::from_lowest(index);
        for fret in (1..=board.last_fret().get()).map(Fret::new) {
            let at = Position { course, fret };
            if board.pitch_at(at).is_none_or(|pitch| second_part(chord, chord.bass().class(), pitch.class()).is_none())
            {
                continue;
            }
            if stops.on(course).is_some_and(|stop| stop.fret >= fret) {
                continue;
            }
            for finger in stops.free(hand) {
                let changed = stops.with(Stop::tip(finger, at));
                offer(1, 0.0, FingerChange::Add { finger, at }, &changed, put(at));
            }
            for stop in &tips {
                let old = Position { course: CourseIndex::from_lowest(stop.from), fret: stop.fret };
                let changed = stops.with(Stop::tip(stop.finger, at));
                let mut frets = put(at);
                if old.course != course
                    && let Some(slot) = frets.get_mut(stop.from)
                {
                    *slot = Some(changed.fret_of(old.course));
                }
                let way_mm = board.between_mm(old.fret, fret);
                let change = FingerChange::Move { finger: stop.finger, from: old, to: at };
                offer(2, way_mm, change, &changed, frets);
            }
        }
    }
    best.map(|(_, change, pair)| (change, pair))
}

/// How much a change asks of the hand.
#[derive(Clone, Copy, Debug)]
struct Effort {
    kind: u8,
    way_mm: f64,
    points: u16,
}

impl Effort {
    fn is_less_than(&self, other: &Self) -> bool {
        let by_way = self.way_mm.total_cmp(&other.way_mm);
        self.kind.cmp(&other.kind).then(by_way).then(self.points.cmp(&other.points)).is_lt()
    }
}

/// Tells whether a changed shape sounds only what the chord allows, and every tone it must have that sounded before.
fn keeps_chord(board: &Fretboard<'_>, before: &Shape, after: &Shape, chord: Chord) -> bool {
    let classes =
        |shape: &Shape| -> PitchClassSet { shape.pitches(board).into_iter().flatten().map(Pitch::class).collect() };
    let (had, has) = (classes(before), classes(after));
    let lost = had.without(has);
    let is_lost_required = chord.required().iter().any(|class| lost.contains(class));
    let is_new_foreign = !has.without(had).is_subset_of(chord.allowed());
    !is_lost_required && !is_new_foreign
}

/// Tells whether players care which tone is lowest: where a bass is asked for after the slash, and on instruments whose
/// bass is heard as one.
pub(super) fn bass_matters(chord: Chord, board: &Fretboard<'_>) -> bool {
    bass_is_heard(board) || chord.slash_bass().is_some()
}

/// Tells whether an instrument's bass is heard as one: of five full-length courses or more, the lowest of them nearest the
/// ceiling (common practice). On others nothing is called an inversion unless a bass is asked for.
#[must_use]
pub fn bass_is_heard(board: &Fretboard<'_>) -> bool {
    let courses = board.instrument().courses().iter().zip(board.open_pitches());
    let mut full = courses.filter(|(course, _)| !course.is_drone()).map(|(_, &pitch)| pitch);
    let first = full.next();
    full.clone().count() >= 4 && full.all(|pitch| first <= Some(pitch))
}
