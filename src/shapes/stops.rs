//! The fingers as they lie on the neck, and whether a hand can lie so.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};

use super::fingering::{Finger, Fingering};
use super::hand::Hand;
use super::shape::Shape;

/// One finger: at which fret, on which courses (indexes from the ceiling, both ends included).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stop {
    pub(super) finger: Finger,
    pub(super) fret: Fret,
    pub(super) from: usize,
    pub(super) to: usize,
}

impl Stop {
    /// A fingertip on one course.
    pub(super) fn tip(finger: Finger, position: Position) -> Self {
        let index = position.course.from_lowest_index();
        Self { finger, fret: position.fret, from: index, to: index }
    }

    pub(super) const fn is_barre(&self) -> bool {
        self.from != self.to
    }

    fn covers(&self, index: usize) -> bool {
        (self.from..=self.to).contains(&index)
    }
}

/// All fingers that are down, from the thumb and the index on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stops {
    stops: Vec<Stop>,
}

impl Stops {
    /// Reads a fingering; fingers of courses the shape does not stop are not there.
    pub(super) fn of(shape: &Shape, fingering: &Fingering) -> Self {
        let mut stops: Vec<Stop> = Vec::with_capacity(5);
        for position in shape.stopped() {
            let index = position.course.from_lowest_index();
            let Some(finger) = fingering.fingers.get(index).copied().flatten() else { continue };
            match stops.iter_mut().find(|stop| stop.finger == finger) {
                Some(stop) => stop.to = index,
                None => stops.push(Stop::tip(finger, position)),
            }
        }
        // A barre may lie farther than the courses it is heard on.
        for barre in &fingering.barres {
            if let Some(stop) = stops.iter_mut().find(|stop| stop.finger == barre.finger) {
                stop.from = stop.from.min(barre.from.from_lowest_index());
                stop.to = stop.to.max(barre.to.from_lowest_index());
            }
        }
        stops.sort_unstable_by_key(|stop| stop.finger);
        Self { stops }
    }

    /// Returns the fingers that are down.
    pub(super) fn iter(&self) -> impl Iterator<Item = &Stop> {
        self.stops.iter()
    }

    /// Returns whether no finger is down.
    pub(super) const fn is_empty(&self) -> bool {
        self.stops.is_empty()
    }

    /// Returns the same hand without one finger.
    pub(super) fn without(&self, finger: Finger) -> Self {
        Self { stops: self.stops.iter().copied().filter(|stop| stop.finger != finger).collect() }
    }

    /// Returns the same hand with one finger put down or moved.
    pub(super) fn with(&self, stop: Stop) -> Self {
        let mut changed = self.without(stop.finger);
        changed.stops.push(stop);
        changed.stops.sort_unstable_by_key(|stop| stop.finger);
        changed
    }

    /// Returns the front fingers that are not down, of those the hand uses.
    pub(super) fn free<'a>(&'a self, hand: &Hand) -> impl Iterator<Item = Finger> + 'a {
        let uses = usize::from(hand.fingers);
        Finger::FRONT.into_iter().take(uses).filter(|&finger| self.stops.iter().all(|stop| stop.finger != finger))
    }

    /// Returns the finger that decides what a course sounds: of those on it the one nearest the bridge.
    pub(super) fn on(&self, course: CourseIndex) -> Option<&Stop> {
        let index = course.from_lowest_index();
        self.stops.iter().filter(|stop| stop.covers(index)).max_by_key(|stop| stop.fret)
    }

    /// Returns the fret a course sounds from: open where no finger lies.
    pub(super) fn fret_of(&self, course: CourseIndex) -> Fret {
        self.on(course).map_or(Fret::OPEN, |stop| stop.fret)
    }

    /// Tells whether a hand can lie so: fingers in order along the neck, at one fret in order from the ceiling to the
    /// floor, no two tips in one place, every pair within reach and all within the span.
    ///
    /// The thumb comes over the edge of the neck, so only its reach counts.
    pub(super) fn can_be_held(&self, board: &Fretboard<'_>, hand: &Hand) -> bool {
        let front: Vec<&Stop> = self.stops.iter().filter(|stop| stop.finger != Finger::Thumb).collect();
        let in_order = |one: &Stop, next: &Stop| one.fret < next.fret || (one.fret == next.fret && one.to < next.from);
        let is_in_reach = |one: &Stop, other: &Stop| {
            board.between_mm(one.fret, other.fret) <= hand.reach_mm(one.finger, other.finger)
        };
        let ordered = front.windows(2).all(|pair| in_order(pair[0], pair[1]));
        let span = front.first().zip(front.last()).map_or(0.0, |(low, high)| board.between_mm(low.fret, high.fret));
        let reached = self
            .stops
            .iter()
            .enumerate()
            .all(|(at, one)| self.stops[at + 1..].iter().all(|other| is_in_reach(one, other)));
        ordered && reached && span <= hand.span_mm
    }
}
