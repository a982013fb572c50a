//! The exact fingering solver, on plain arrays: it runs once for every candidate of a search.

use crate::instrument::{Fret, Fretboard, Tuning};

use super::fingering::Finger;
use super::hand::{Hand, Style};
use super::shape::Shape;
use super::weights::FingeringWeights;

/// As many courses as any instrument has.
pub(super) const MOST_COURSES: usize = Tuning::MOST_COURSES;

/// The mark of a silent course.
pub(super) const SILENT: u8 = u8::MAX;

/// A shape as an array: fret for each course from the lowest index, [`SILENT`] for none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Frets {
    /// How many of the places count.
    pub(super) count: usize,
    /// Frets from the capo; 0 is open.
    pub(super) at: [u8; MOST_COURSES],
}

impl Frets {
    /// A shape of `count` silent courses.
    pub(super) const fn silent(count: usize) -> Self {
        Self { count, at: [SILENT; MOST_COURSES] }
    }

    /// Reads a shape; `None` when it has more courses than any instrument.
    pub(super) fn from_shape(shape: &Shape) -> Option<Self> {
        let mut frets = Self::silent(shape.frets().len());
        if frets.count > MOST_COURSES {
            return None;
        }
        for (slot, fret) in frets.at.iter_mut().zip(shape.frets()) {
            *slot = fret.map_or(SILENT, Fret::get);
        }
        Some(frets)
    }

    /// Writes the shape out.
    pub(super) fn to_shape(self) -> Shape {
        Shape::new(self.used().iter().map(|&fret| (fret != SILENT).then(|| Fret::new(fret))).collect())
    }

    /// The places that count.
    pub(super) fn used(&self) -> &[u8] {
        &self.at[..self.count]
    }

    /// The lowest and the highest stopped fret.
    pub(super) fn range(&self) -> Option<(u8, u8)> {
        let stopped = || self.used().iter().copied().filter(|&fret| is_stopped(fret));
        Some((stopped().min()?, stopped().max()?))
    }

    /// The first and the last course that sounds.
    pub(super) fn edges(&self) -> Option<(usize, usize)> {
        let first = self.used().iter().position(|&fret| fret != SILENT)?;
        let last = self.used().iter().rposition(|&fret| fret != SILENT)?;
        Some((first, last))
    }

    /// Tells whether every silent course inside has a stopped neighbour whose finger can touch it.
    pub(super) fn mutes_can_be_damped(&self) -> bool {
        let Some((first, last)) = self.edges() else {
            return true;
        };
        (first + 1..last)
            .all(|index| self.at[index] != SILENT || is_stopped(self.at[index - 1]) || is_stopped(self.at[index + 1]))
    }

    /// Tells whether one straight bar stops it: all stopped courses at one fret, none ringing open between them; and
    /// strummed, nothing silent inside.
    pub(super) fn bar_can_stop(&self, style: Style) -> bool {
        let Some((first, last)) = self.edges() else {
            return true;
        };
        if style == Style::Strummed && self.at[first..=last].contains(&SILENT) {
            return false;
        }
        let Some((lowest, highest)) = self.range() else {
            return true;
        };
        let from = self.used().iter().position(|&fret| fret == lowest);
        let to = self.used().iter().rposition(|&fret| fret == lowest);
        let covered = from.zip(to).map(|(from, to)| &self.at[from..=to]);
        lowest == highest && covered.is_none_or(|courses| !courses.contains(&0))
    }
}

/// Tells whether a finger is needed.
pub(super) const fn is_stopped(fret: u8) -> bool {
    fret != 0 && fret != SILENT
}

/// Which finger stops which course, and what that costs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grip {
    /// 0 for none, 1 to 4 for the front fingers, 5 for the thumb.
    fingers: [u8; MOST_COURSES],
    /// The fingering cost, never negative.
    pub(super) cost: f64,
}

/// The number the thumb has in a grip.
const THUMB: u8 = 5;

impl Grip {
    /// Nothing held.
    pub(super) const EMPTY: Self = Self { fingers: [0; MOST_COURSES], cost: 0.0 };

    /// The finger on a course.
    pub(super) fn finger_at(&self, index: usize) -> Option<Finger> {
        match self.fingers[index] {
            0 => None,
            THUMB => Some(Finger::Thumb),
            front => Finger::FRONT.get(usize::from(front) - 1).copied(),
        }
    }

    /// The fret of each front finger and how many courses it stops, `None` where it is free.
    pub(super) fn front_fingers(&self, frets: &Frets) -> [Option<(u8, usize)>; 4] {
        let mut found = [None; 4];
        for (&finger, &fret) in self.fingers.iter().zip(frets.used()) {
            if (1..=4).contains(&finger) {
                let slot: &mut Option<(u8, usize)> = &mut found[usize::from(finger) - 1];
                *slot = Some((fret, slot.map_or(1, |(_, courses)| courses + 1)));
            }
        }
        found
    }

    /// Whether the thumb is used.
    pub(super) fn uses_thumb(&self) -> bool {
        self.fingers.contains(&THUMB)
    }
}

/// Solves fingerings for one hand on one neck.
#[derive(Debug)]
pub(super) struct Holder<'a> {
    weights: &'a FingeringWeights,
    style: Style,
    fingers: u8,
    span_mm: f64,
    thumb_reach_mm: f64,
    may_use_thumb: bool,
    barre_courses: [usize; 4],
    reach_mm: [[f64; 4]; 4],
    /// Distance of each fret from the nut.
    distance_mm: Vec<f64>,
}

/// One stopped course, and whether the finger on it can also stop the next one in the list.
#[derive(Clone, Copy, Default)]
struct Note {
    fret: u8,
    index: usize,
    joins_next: bool,
}

/// The stopped courses by fret, then from the ceiling to the floor.
struct Notes {
    count: usize,
    at: [Note; MOST_COURSES],
}

/// Where the search for the best grip stands.
struct Attempt {
    fingers: [u8; MOST_COURSES],
    /// The fret of each front finger that is down.
    frets: [Option<u8>; 4],
    best: Option<Grip>,
}

impl<'a> Holder<'a> {
    pub(super) fn new(hand: &Hand, weights: &'a FingeringWeights, board: &Fretboard<'_>, style: Style) -> Self {
        let front = Finger::FRONT;
        let reach_mm = front.map(|one| front.map(|other| hand.reach_mm(one, other)));
        let other = hand.other_barre_courses.max(1);
        Self {
            weights,
            style,
            fingers: hand.fingers.clamp(1, 4),
            span_mm: hand.span_mm,
            thumb_reach_mm: hand.thumb_to_finger_mm,
            may_use_thumb: hand.may_use_thumb,
            barre_courses: [hand.index_barre_courses.max(1), other, other, other],
            reach_mm,
            distance_mm: (0..=board.last_fret().get()).map(|fret| board.distance_mm(Fret::new(fret))).collect(),
        }
    }

    /// The distance between two frets.
    pub(super) fn between_mm(&self, one: u8, other: u8) -> f64 {
        (self.distance_mm[usize::from(one)] - self.distance_mm[usize::from(other)]).abs()
    }

    /// How far two front fingers, 1 to 4, can stand apart.
    pub(super) fn reach_mm(&self, one: u8, other: u8) -> f64 {
        self.reach_mm[usize::from(one) - 1][usize::from(other) - 1]
    }

    /// Finds the grip of least cost; see [`Hand::find_fingering`] for the rules.
    pub(super) fn hold(&self, frets: &Frets) -> Option<Grip> {
        if self.style == Style::Strummed && !frets.mutes_can_be_damped() {
            return None;
        }
        let Some((lowest, highest)) = frets.range() else {
            return Some(Grip::EMPTY);
        };
        let mut best =
            if self.between_mm(lowest, highest) <= self.span_mm { self.hold_in_front(frets, None) } else { None };
        if self.may_use_thumb && is_stopped(frets.at[0]) {
            let with_thumb = self.hold_in_front(frets, Some(frets.at[0]));
            if let Some(found) = with_thumb
                && best.is_none_or(|best| found.cost < best.cost)
            {
                best = Some(found);
            }
        }
        best
    }

    /// Holds all courses with the front fingers, or all but the first when the thumb stops that one.
    fn hold_in_front(&self, frets: &Frets, thumb: Option<u8>) -> Option<Grip> {
        let notes = self.notes(frets, usize::from(thumb.is_some()));
        let mut attempt = Attempt { fingers: [0; MOST_COURSES], frets: [None; 4], best: None };
        let mut start_cost = 0.0;
        if let Some(fret) = thumb {
            attempt.fingers[0] = THUMB;
            start_cost = self.weights.thumb;
            let all_near = notes.at[..notes.count]
                .iter()
                .all(|note| self.between_mm(fret, note.fret) <= self.thumb_reach_mm.min(self.span_mm));
            if !all_near {
                return None;
            }
        }
        self.place(frets, &notes, 0, 0, start_cost, &mut attempt);
        attempt.best
    }

    /// Lists the stopped courses from `first` on.
    fn notes(&self, frets: &Frets, first: usize) -> Notes {
        let mut notes = Notes { count: 0, at: [Note::default(); MOST_COURSES] };
        for index in first..frets.count {
            let fret = frets.at[index];
            if is_stopped(fret) {
                let mut place = notes.count;
                while place > 0 && notes.at[place - 1].fret > fret {
                    notes.at[place] = notes.at[place - 1];
                    place -= 1;
                }
                notes.at[place] = Note { fret, index, joins_next: false };
                notes.count += 1;
            }
        }
        for place in 1..notes.count {
            let (one, other) = (notes.at[place - 1], notes.at[place]);
            notes.at[place - 1].joins_next = one.fret == other.fret && self.can_lie(frets, one.index, other.index);
        }
        notes
    }

    /// Tells whether one finger can lie from one course to another at the same fret: nothing between them rings open
    /// or is stopped nearer the nut, and strummed, what is silent between them is touched by another finger.
    fn can_lie(&self, frets: &Frets, from: usize, to: usize) -> bool {
        let fret = frets.at[from];
        (from + 1..to).all(|index| {
            let between = frets.at[index];
            if between != SILENT {
                return between > fret;
            }
            let is_other = |neighbour: usize| neighbour > from && neighbour < to && is_stopped(frets.at[neighbour]);
            self.style == Style::Picked || is_other(index - 1) || is_other(index + 1)
        })
    }

    /// Places fingers above `last` on the notes from `from` on.
    fn place(&self, frets: &Frets, notes: &Notes, from: usize, last: u8, cost: f64, attempt: &mut Attempt) {
        if attempt.best.is_some_and(|best| cost >= best.cost) {
            return;
        }
        if from == notes.count {
            attempt.best = Some(Grip { fingers: attempt.fingers, cost });
            return;
        }
        let note = notes.at[from];
        for finger in last + 1..=self.fingers {
            let slot = usize::from(finger) - 1;
            if !self.is_within_reach(finger, note.fret, &attempt.frets) {
                continue;
            }
            attempt.frets[slot] = Some(note.fret);
            let placed = cost + self.finger_cost(finger, last, note.fret, &attempt.frets);
            // A barre that takes in all it can comes first, so that later attempts are cut off early.
            let mut to = from + 1;
            while notes.at[to - 1].joins_next && notes.at[to].index - note.index < self.barre_courses[slot] {
                to += 1;
            }
            for end in (from + 1..=to).rev() {
                for taken in &notes.at[from..end] {
                    attempt.fingers[taken.index] = finger;
                }
                let barre = self.barre_cost(finger, frets, note.index, notes.at[end - 1].index);
                self.place(frets, notes, end, finger, placed + barre, attempt);
                for taken in &notes.at[from..end] {
                    attempt.fingers[taken.index] = 0;
                }
            }
            attempt.frets[slot] = None;
        }
    }

    fn is_within_reach(&self, finger: u8, fret: u8, placed: &[Option<u8>; 4]) -> bool {
        (1..finger).all(|other| {
            placed[usize::from(other) - 1]
                .is_none_or(|other_fret| self.between_mm(other_fret, fret) <= self.reach_mm(other, finger))
        })
    }

    /// What it costs to put `finger` down at `fret` after `last` (0 for none).
    fn finger_cost(&self, finger: u8, last: u8, fret: u8, placed: &[Option<u8>; 4]) -> f64 {
        let weights = self.weights;
        let own = weights.finger[usize::from(finger) - 1];
        if last == 0 {
            return own + weights.late_start * f64::from(finger - 1);
        }
        let before = placed[usize::from(last) - 1].unwrap_or(fret);
        let (frets_apart, fingers_apart) = (f64::from(fret - before), f64::from(finger - last));
        let spread = if fret == before {
            weights.skipped * (fingers_apart - 1.0)
        } else if frets_apart >= fingers_apart {
            weights.wide * (frets_apart - fingers_apart)
        } else {
            weights.tight * (fingers_apart - frets_apart)
        };
        own + spread
    }

    /// What it costs that `finger` lies across courses, 0 when it stops one.
    fn barre_cost(&self, finger: u8, frets: &Frets, from: usize, to: usize) -> f64 {
        if from == to {
            return 0.0;
        }
        let weights = self.weights;
        let rings_below = frets.at[to + 1..frets.count].contains(&0);
        let arched = if rings_below { weights.arched_barre } else { 0.0 };
        if finger == 1 {
            return weights.index_barre + arched;
        }
        let beyond = u8::try_from(to - from - 1).unwrap_or(u8::MAX);
        weights.other_barre + weights.wide_other_barre * f64::from(beyond) + arched
    }
}
