//! What the fretting hand holds at one moment, and whether it can.

use crate::instrument::{Fret, Fretboard};
use crate::shapes::{Finger, Hand, RankedShape};

/// No course.
pub(super) const NONE: u8 = u8::MAX;

/// A finger that is down: at which fret, on which courses, both ends included. Fret 0: it is not down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Stop {
    pub(super) fret: u8,
    pub(super) from: u8,
    pub(super) to: u8,
}

impl Stop {
    pub(super) const fn tip(course: u8, fret: u8) -> Self {
        Self { fret, from: course, to: course }
    }

    pub(super) const fn is_down(self) -> bool {
        self.fret > 0
    }

    pub(super) const fn covers(self, course: u8) -> bool {
        self.fret > 0 && self.from <= course && course <= self.to
    }
}

/// All fingers: the thumb first, then from the index on.
pub(super) type Grip = [Stop; 5];

/// The fingers of a [`Grip`] in its order.
pub(super) const FINGERS: [Finger; 5] = [Finger::Thumb, Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];

/// Nothing held.
pub(super) const EMPTY: Grip = [Stop { fret: 0, from: 0, to: 0 }; 5];

/// The finger that decides what a course sounds, as its place in the grip: of those on it the one nearest the bridge.
pub(super) fn finger_on(grip: &Grip, course: u8) -> Option<usize> {
    let on = grip.iter().enumerate().filter(|(_, stop)| stop.covers(course));
    on.max_by_key(|(_, stop)| stop.fret).map(|(finger, _)| finger)
}

/// The fret a course sounds from.
pub(super) fn fret_on(grip: &Grip, course: u8) -> u8 {
    finger_on(grip, course).map_or(0, |finger| grip[finger].fret)
}

/// How a shape is held.
pub(super) fn grip_of(shape: &RankedShape) -> Grip {
    let mut grip = EMPTY;
    let fingering = shape.fingering();
    for position in shape.shape().stopped() {
        let index = position.course.from_lowest_index();
        let Some(finger) = fingering.fingers.get(index).copied().flatten() else { continue };
        let (slot, course) = (slot_of(finger), u8::try_from(index).unwrap_or(NONE));
        let stop = &mut grip[slot];
        if stop.is_down() {
            stop.to = course;
        } else {
            *stop = Stop::tip(course, position.fret.get());
        }
    }
    for barre in &fingering.barres {
        let stop = &mut grip[slot_of(barre.finger)];
        let edge = |course: crate::instrument::CourseIndex| u8::try_from(course.from_lowest_index()).unwrap_or(NONE);
        stop.from = stop.from.min(edge(barre.from));
        stop.to = stop.to.max(edge(barre.to));
    }
    grip
}

const fn slot_of(finger: Finger) -> usize {
    match finger {
        Finger::Thumb => 0,
        Finger::Index => 1,
        Finger::Middle => 2,
        Finger::Ring => 3,
        Finger::Little => 4,
    }
}

/// A neck measured once for a hand.
#[derive(Debug)]
pub(super) struct Reach {
    /// From the real nut to each fret counted from the capo.
    mm: Vec<f64>,
    /// From each of the places told apart to each other.
    ways: [[f64; 16]; 16],
    /// How far apart two fingers can stand.
    pair: [[f64; 5]; 5],
    span: f64,
    pub(super) fingers: usize,
    index_barre: usize,
    other_barre: usize,
}

impl Reach {
    pub(super) fn new(board: &Fretboard<'_>, hand: &Hand) -> Self {
        let mm: Vec<f64> = (0..=board.last_fret().get()).map(|fret| board.distance_mm(Fret::new(fret))).collect();
        let at = |fret: usize| mm.get(fret).copied().unwrap_or(f64::INFINITY);
        let ways = std::array::from_fn(|one| std::array::from_fn(|other| (at(one) - at(other)).abs()));
        let pair = FINGERS.map(|one| FINGERS.map(|other| hand.reach_mm(one, other)));
        Self {
            mm,
            ways,
            pair,
            span: hand.span_mm,
            fingers: usize::from(hand.fingers.clamp(1, 4)),
            index_barre: hand.index_barre_courses,
            other_barre: hand.other_barre_courses,
        }
    }

    /// Millimetres between two frets.
    pub(super) fn between(&self, one: u8, other: u8) -> f64 {
        if let Some(way) = self.ways.get(usize::from(one)).and_then(|ways| ways.get(usize::from(other))) {
            return *way;
        }
        let at = |fret: u8| self.mm.get(usize::from(fret)).copied().unwrap_or(f64::INFINITY);
        (at(one) - at(other)).abs()
    }

    /// Millimetres from the lowest to the highest front finger.
    pub(super) fn span(&self, grip: &Grip) -> f64 {
        let down = || grip[1..].iter().filter(|stop| stop.is_down()).map(|stop| stop.fret);
        down().min().zip(down().max()).map_or(0.0, |(low, high)| self.between(low, high))
    }

    /// Tells whether a hand can lie so; the rules are those of [`Hand::find_fingering`]: front fingers in order along the
    /// neck, at one fret in order from the ceiling to the floor, every pair in reach, all within the span.
    pub(super) fn can_hold(&self, grip: &Grip) -> bool {
        let mut before: Option<(usize, Stop)> = None;
        for (finger, &stop) in grip.iter().enumerate().filter(|(_, stop)| stop.is_down()) {
            let courses = usize::from(stop.to - stop.from) + 1;
            let most = if finger == 1 { self.index_barre } else { self.other_barre };
            if courses > 1 && courses > most {
                return false;
            }
            for (other, &with) in grip.iter().enumerate().take(finger).filter(|(_, stop)| stop.is_down()) {
                if self.between(with.fret, stop.fret) > self.pair[other][finger] {
                    return false;
                }
            }
            if finger == 0 {
                continue;
            }
            if let Some((_, last)) = before
                && !(last.fret < stop.fret || (last.fret == stop.fret && last.to < stop.from))
            {
                return false;
            }
            before = Some((finger, stop));
        }
        self.span(grip) <= self.span
    }
}

/// The highest place of the hand that is told apart: beyond it the body is in the way, and a hand that gets there rests.
pub(super) const LAST_PLACE: u8 = 15;

/// Where the hand stands: the fret under the index finger, or where it would be; `None` where nothing is held.
pub(super) fn place_of(grip: &Grip) -> Option<u8> {
    let lowest = grip[1..].iter().enumerate().find(|(_, stop)| stop.is_down());
    let place = match lowest {
        Some((before, stop)) => Some(stop.fret.saturating_sub(u8::try_from(before).unwrap_or(0)).max(1)),
        None => grip[0].is_down().then_some(grip[0].fret),
    };
    place.map(|place| place.min(LAST_PLACE))
}
