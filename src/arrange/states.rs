//! Every way to play one moment: where the melody and the bass lie, which fingers are down, which shape is held.

use crate::instrument::{CourseIndex, Fret, Fretboard, PlayedWith, Position};
use crate::shapes::{RankedShape, thumb_courses};
use crate::theory::{Chord, Pitch, PitchClass};

use super::costs::ArrangeCosts;
use super::grips::{EMPTY, Grip, LAST_PLACE, NONE, Reach, Stop, finger_on, fret_on, grip_of, place_of};
use super::slices::Beat;

/// The highest fret the thumb's notes are looked for at, counted from the capo.
pub(super) const LAST_BASS_FRET: u8 = 9;

/// One way to play one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    pub(super) grip: Grip,
    /// The course of the melody and its fret; [`NONE`] in a rest.
    pub(super) melody: (u8, u8),
    /// The course of the bass and its fret; [`NONE`] without one.
    pub(super) bass: (u8, u8),
    /// The fingers on them, 5 for none.
    pub(super) melody_finger: u8,
    pub(super) bass_finger: u8,
    /// The fret under the index finger.
    pub(super) place: u8,
    /// Which shape is held, from 1; 0 for none.
    pub(super) shape: u16,
    /// What it costs by itself.
    pub(super) own: f64,
    /// The courses that ring open and foreign to no chord yet: bits by course.
    pub(super) open: u16,
}

/// What the ways to play a moment depend on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Moment {
    /// Index of the chord whose shapes are held.
    pub(super) chord: Option<usize>,
    /// Index of the chord whose tones the bass has.
    pub(super) bass_chord: Option<usize>,
    pub(super) melody: Option<Pitch>,
    pub(super) beat: Option<Beat>,
    /// A place the player has given the thumb, as course and fret.
    pub(super) pinned_bass: Option<(u8, u8)>,
}

/// A chord with its shapes.
#[derive(Debug)]
pub(super) struct Harmony {
    pub(super) chord: Chord,
    pub(super) shapes: Vec<RankedShape>,
    grips: Vec<Grip>,
    /// Numbers of the shapes, from 1, over all chords.
    first: u16,
}

impl Harmony {
    pub(super) fn new(chord: Chord, shapes: Vec<RankedShape>, first: u16) -> Self {
        let grips = shapes.iter().map(grip_of).collect();
        Self { chord, shapes, grips, first }
    }

    pub(super) fn shape_of(&self, number: u16) -> Option<&RankedShape> {
        self.shapes.get(usize::from(number.checked_sub(self.first)?))
    }
}

/// What a bass note is worth on a beat.
fn bass_cost(costs: &ArrangeCosts, chord: Chord, class: PitchClass, is_stopped: bool, beat: Beat) -> Option<f64> {
    let first = chord.bass().class();
    let number = chord.quality().degree_of(chord.root().class(), class).map(|degree| degree.number());
    let is_root = class == first;
    let part = if is_root {
        0.0
    } else if class == chord.root().class() || number == Some(5) {
        0.3
    } else if number == Some(3) {
        costs.bass_third
    } else {
        return None;
    };
    let by_beat = match beat {
        Beat::NewChord if is_root => 0.0,
        Beat::NewChord => costs.root_missing + part,
        Beat::Root => 2.0 * part,
        Beat::Other if is_root => 0.3,
        Beat::Other => part - f64::from(u8::from(part < costs.bass_third)) * 0.3,
        Beat::Any => part,
    };
    Some(by_beat.max(0.0) + if is_stopped { costs.bass_stopped } else { 0.0 })
}

/// Finds the ways to play moments on one neck.
#[derive(Debug)]
pub(super) struct States<'a> {
    pub(super) board: &'a Fretboard<'a>,
    pub(super) reach: Reach,
    pub(super) costs: ArrangeCosts,
    pub(super) harmonies: Vec<Harmony>,
    thumb: u8,
    is_bar: bool,
}

impl<'a> States<'a> {
    pub(super) fn new(board: &'a Fretboard<'a>, reach: Reach, costs: ArrangeCosts, harmonies: Vec<Harmony>) -> Self {
        let thumb = u8::try_from(thumb_courses(board.courses())).unwrap_or(NONE);
        let is_bar = board.instrument().played_with() == PlayedWith::Bar;
        Self { board, reach, costs, harmonies, thumb, is_bar }
    }

    fn pitch(&self, course: u8, fret: u8) -> Option<Pitch> {
        let course = CourseIndex::from_lowest(course.into());
        self.board.pitch_at(Position { course, fret: Fret::new(fret) })
    }

    /// Returns the places a pitch lies at, as course and fret.
    pub(super) fn places(&self, pitch: Pitch) -> Vec<(u8, u8)> {
        let courses = u8::try_from(self.board.courses()).unwrap_or(0);
        let on = |course: u8| {
            (0..=self.board.last_fret().get())
                .filter(move |&fret| self.pitch(course, fret) == Some(pitch))
                .map(move |fret| (course, fret))
        };
        (0..courses).flat_map(on).collect()
    }

    /// Returns the thumb's notes for a chord on a beat, with what each costs there.
    fn bass_places(&self, moment: &Moment) -> Vec<((u8, u8), f64)> {
        let Some(harmony) = moment.bass_chord.and_then(|index| self.harmonies.get(index)) else { return Vec::new() };
        let mut found = Vec::new();
        for course in
            (0..self.thumb).filter(|&course| !self.board.instrument().courses()[usize::from(course)].is_drone())
        {
            for fret in 0..=LAST_BASS_FRET.min(self.board.last_fret().get()) {
                let Some(pitch) = self.pitch(course, fret) else { continue };
                if moment.melody.is_some_and(|melody| pitch >= melody) {
                    continue;
                }
                // What it is worth is asked on a beat only; after it the note rings on.
                let beat = moment.beat.unwrap_or(Beat::Any);
                let cost = bass_cost(&self.costs, harmony.chord, pitch.class(), fret > 0, beat);
                if let Some(cost) = cost {
                    found.push(((course, fret), if moment.beat.is_some() { cost } else { 0.0 }));
                }
            }
        }
        found
    }

    /// Finds every way to play a moment.
    pub(super) fn find(&self, moment: &Moment) -> Vec<State> {
        let melodies: Vec<(u8, u8)> = match moment.melody {
            Some(pitch) => self.places(pitch),
            None => vec![(NONE, 0)],
        };
        let mut basses = self.bass_places(moment);
        if let Some(pinned) = moment.pinned_bass {
            let is_below =
                self.pitch(pinned.0, pinned.1).is_some_and(|pitch| moment.melody.is_none_or(|melody| pitch < melody));
            basses = if is_below { vec![(pinned, 0.0)] } else { Vec::new() };
        }
        let without = if moment.beat.is_some() { self.costs.bass_left_out } else { 0.0 };
        basses.push(((NONE, 0), without));
        let mut found = Vec::new();
        for &melody in &melodies {
            for &(bass, bass_cost) in &basses {
                // The thumb plays on the ceiling's side of the fingers.
                if bass.0 != NONE && melody.0 != NONE && bass.0 >= melody.0 {
                    continue;
                }
                self.without_shape(melody, bass, bass_cost, &mut found);
                if let Some(harmony) = moment.chord.and_then(|index| self.harmonies.get(index)) {
                    self.with_shapes(harmony, melody, bass, bass_cost, &mut found);
                }
            }
        }
        found
    }

    /// Only the fingers that sound something are down.
    fn without_shape(&self, melody: (u8, u8), bass: (u8, u8), bass_cost: f64, found: &mut Vec<State>) {
        let mut grips: Vec<Grip> = Vec::new();
        let fingers = 1..=if self.is_bar { 1 } else { self.reach.fingers };
        match (melody.0 != NONE && melody.1 > 0, bass.0 != NONE && bass.1 > 0) {
            (false, false) => {
                for place in 1..=LAST_PLACE {
                    let own = bass_cost + self.own_cost(&EMPTY, melody, place) + self.costs.no_shape;
                    found.push(self.state(EMPTY, melody, bass, place, 0, own));
                }
                return;
            }
            (true, false) | (false, true) => {
                let (course, fret) = if melody.0 != NONE && melody.1 > 0 { melody } else { bass };
                for finger in fingers {
                    let mut grip = EMPTY;
                    grip[finger] = Stop::tip(course, fret);
                    grips.push(grip);
                }
            }
            (true, true) => {
                for low in fingers.clone() {
                    for high in fingers.clone() {
                        let mut grip = EMPTY;
                        grip[low] = Stop::tip(bass.0, bass.1);
                        if low == high {
                            if melody.1 != bass.1 {
                                continue;
                            }
                            grip[low].to = melody.0;
                        } else {
                            grip[high] = Stop::tip(melody.0, melody.1);
                        }
                        grips.push(grip);
                    }
                }
            }
        }
        for grip in grips {
            let sounds = |place: (u8, u8)| place.0 == NONE || fret_on(&grip, place.0) == place.1;
            if let (true, true, Some(place)) =
                (self.reach.can_hold(&grip), sounds(melody) && sounds(bass), place_of(&grip))
            {
                let own = bass_cost + self.own_cost(&grip, melody, place) + self.costs.no_shape;
                found.push(self.state(grip, melody, bass, place, 0, own));
            }
        }
    }

    /// A shape of the chord is held, as it is or changed by one finger for the melody.
    fn with_shapes(&self, harmony: &Harmony, melody: (u8, u8), bass: (u8, u8), bass_cost: f64, found: &mut Vec<State>) {
        for (index, grip) in harmony.grips.iter().enumerate() {
            let Some(place) = place_of(grip) else { continue };
            if bass.0 != NONE && fret_on(grip, bass.0) != bass.1 {
                continue;
            }
            let number = harmony.first + u16::try_from(index).unwrap_or(0);
            let mut offer = |grip: Grip, changed: f64| {
                let sounds = |place: (u8, u8)| place.0 == NONE || fret_on(&grip, place.0) == place.1;
                if sounds(melody) && sounds(bass) && self.reach.can_hold(&grip) {
                    let own = bass_cost + changed + self.own_cost(&grip, melody, place);
                    found.push(self.state(grip, melody, bass, place, number, own));
                }
            };
            let under = fret_on(grip, melody.0);
            if melody.0 == NONE || under == melody.1 {
                offer(*grip, 0.0);
                continue;
            }
            if melody.1 > under {
                // A free finger is put down.
                for finger in (1..=self.reach.fingers).filter(|&finger| !grip[finger].is_down()) {
                    let mut with = *grip;
                    with[finger] = Stop::tip(melody.0, melody.1);
                    offer(with, 0.0);
                }
            }
            if let Some(finger) = finger_on(grip, melody.0).filter(|&finger| grip[finger].from == grip[finger].to) {
                // The finger comes off, or slides along its course.
                let mut with = *grip;
                with[finger] = Stop::default();
                offer(with, self.costs.shape_changed);
                if melody.1 > 0 && melody.1.abs_diff(under) <= crate::shapes::SLIDE_FRETS {
                    let mut with = *grip;
                    with[finger] = Stop::tip(melody.0, melody.1);
                    offer(with, self.costs.shape_changed);
                }
            }
        }
    }

    fn state(&self, grip: Grip, melody: (u8, u8), bass: (u8, u8), place: u8, shape: u16, own: f64) -> State {
        let finger = |place: (u8, u8)| match finger_on(&grip, place.0) {
            Some(finger) if place.0 != NONE && place.1 > 0 => u8::try_from(finger).unwrap_or(5),
            _ => 5,
        };
        let is_open = |place: (u8, u8)| place.0 != NONE && place.1 == 0;
        let bit = |place: (u8, u8)| if is_open(place) { 1_u16 << place.0.min(15) } else { 0 };
        State {
            grip,
            melody,
            bass,
            melody_finger: finger(melody),
            bass_finger: finger(bass),
            place,
            shape,
            own,
            open: bit(melody) | bit(bass),
        }
    }

    fn own_cost(&self, grip: &Grip, melody: (u8, u8), place: u8) -> f64 {
        let costs = &self.costs;
        let down = grip.iter().filter(|stop| stop.is_down());
        let fingers: f64 = down.map(|stop| costs.finger + if stop.from < stop.to { costs.barre } else { 0.0 }).sum();
        let little = if grip[4].is_down() { costs.little } else { 0.0 };
        let is_on_thumb = melody.0 != NONE && melody.0 < self.thumb;
        let on_thumb = if is_on_thumb { costs.melody_on_thumb } else { 0.0 };
        let high = if grip.iter().any(|stop| stop.is_down()) {
            f64::from(place.saturating_sub(1)) * costs.position
        } else {
            0.0
        };
        fingers + little + on_thumb + high + self.reach.span(grip) * costs.span_per_mm
    }
}
