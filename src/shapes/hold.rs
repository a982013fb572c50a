//! The exact fingering solver, on plain arrays: it runs once for every candidate of a search.

use crate::instrument::{Fret, Fretboard, Tuning};
use crate::theory::Pitch;

use super::fingering::Finger;
use super::fingering_cost::{self, FingeringAmounts, Placed};
use super::hand::{Hand, Style};
use super::shape::Shape;

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

    /// The first and the last course a front finger, 1 to 4, stops, and how many it stops between them.
    pub(super) fn lies(&self, finger: u8, count: usize) -> Option<(usize, usize, usize)> {
        let on = &self.fingers[..count];
        let from = on.iter().position(|&at| at == finger)?;
        let to = on.iter().rposition(|&at| at == finger)?;
        Some((from, to, on[from..=to].iter().filter(|&&at| at == finger).count()))
    }

    /// Whether a finger lies across this course, of so many.
    pub(super) fn lies_over(&self, index: usize, count: usize) -> bool {
        let lies = |finger: u8| self.lies(finger, count).is_some_and(|(from, to, _)| (from..=to).contains(&index));
        (1..=4).any(lies)
    }

    /// Whether the thumb is used.
    pub(super) fn uses_thumb(&self) -> bool {
        self.fingers.contains(&THUMB)
    }
}

/// Solves fingerings for one hand on one neck.
#[derive(Debug)]
pub(super) struct Holder<'a> {
    weights: &'a FingeringAmounts,
    style: Style,
    fingers: u8,
    span_mm: f64,
    thumb_reach_mm: f64,
    may_use_thumb: bool,
    barre_courses: [usize; 4],
    reach_mm: [[f64; 4]; 4],
    /// Distance of each fret from the nut.
    distance_mm: Vec<f64>,
    /// How many frets belong to each finger: two where short strings are tuned in fifths, else one.
    frets_a_finger: u8,
}

/// The most that two frets at the nut measure where a finger has both, in millimetres: the mandola's do, the tenor banjo's do
/// not.
const TWO_FRETS_MM: f64 = 48.0;

/// Tells whether the hand stands as on the fiddle, index over the first two frets, middle over the next two: on short strings
/// tuned in fifths (common practice, no source).
fn has_two_frets_a_finger(board: &Fretboard<'_>) -> bool {
    let open = board.open_pitches();
    let is_fifth = |pair: &[Pitch]| pair[1].number() == pair[0].number() + 7;
    open.len() > 2 && open.windows(2).all(is_fifth) && board.distance_mm(Fret::new(2)) <= TWO_FRETS_MM
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

/// Where the search for grips stands.
struct Attempt<V> {
    fingers: [u8; MOST_COURSES],
    /// The fret of each front finger that is down.
    frets: [Option<u8>; 4],
    index_barre: Option<u8>,
    /// Takes every grip; returns the cost from which on others are of no interest.
    visit: V,
    bound: f64,
}

impl<'a> Holder<'a> {
    pub(super) fn new(hand: &Hand, weights: &'a FingeringAmounts, board: &Fretboard<'_>, style: Style) -> Self {
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
            frets_a_finger: if has_two_frets_a_finger(board) { 2 } else { 1 },
        }
    }

    /// Tells whether the courses are picked one by one.
    pub(super) fn is_picked(&self) -> bool {
        self.style == Style::Picked
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
        let mut best: Option<Grip> = None;
        self.for_each_grip(frets, |grip| {
            if best.is_none_or(|best| grip.cost < best.cost) {
                best = Some(grip);
            }
            best.map_or(f64::INFINITY, |best| best.cost)
        });
        best
    }

    /// Hands every grip to `visit`, which returns the cost from which on it wants no more.
    pub(super) fn for_each_grip(&self, frets: &Frets, mut visit: impl FnMut(Grip) -> f64) {
        if self.style == Style::Strummed && !frets.mutes_can_be_damped() {
            return;
        }
        let Some((lowest, highest)) = frets.range() else {
            visit(Grip::EMPTY);
            return;
        };
        if self.between_mm(lowest, highest) > self.span_mm {
            return;
        }
        let mut bound = f64::INFINITY;
        self.hold_in_front(frets, None, &mut bound, &mut visit);
        if self.may_use_thumb && is_stopped(frets.at[0]) {
            self.hold_in_front(frets, Some(frets.at[0]), &mut bound, &mut visit);
        }
    }

    /// Holds all courses with the front fingers, or all but the first when the thumb stops that one.
    fn hold_in_front(&self, frets: &Frets, thumb: Option<u8>, bound: &mut f64, visit: &mut impl FnMut(Grip) -> f64) {
        let notes = self.notes(frets, usize::from(thumb.is_some()));
        let mut attempt =
            Attempt { fingers: [0; MOST_COURSES], frets: [None; 4], index_barre: None, visit, bound: *bound };
        let mut start_cost = 0.0;
        if let Some(fret) = thumb {
            attempt.fingers[0] = THUMB;
            fingering_cost::thumb_cost(|place, amount| start_cost += self.weights[place] * amount);
            let is_near = |note: &Note| self.between_mm(fret, note.fret) <= self.thumb_reach_mm;
            if !notes.at[..notes.count].iter().all(is_near) {
                return;
            }
        }
        self.place(frets, &notes, 0, 0, start_cost, &mut attempt);
        *bound = attempt.bound;
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
    fn place<V: FnMut(Grip) -> f64>(
        &self,
        frets: &Frets,
        notes: &Notes,
        from: usize,
        last: u8,
        cost: f64,
        attempt: &mut Attempt<&mut V>,
    ) {
        if cost >= attempt.bound {
            return;
        }
        if from == notes.count {
            attempt.bound = (attempt.visit)(Grip { fingers: attempt.fingers, cost });
            return;
        }
        let note = notes.at[from];
        let before = attempt.frets.get(usize::from(last).wrapping_sub(1)).copied().flatten().map(|fret| (last, fret));
        for finger in last + 1..=self.fingers {
            let slot = usize::from(finger) - 1;
            if !self.is_within_reach(finger, note.fret, &attempt.frets) {
                continue;
            }
            attempt.frets[slot] = Some(note.fret);
            // A barre that takes in all it can comes first, so that later attempts are cut off early.
            let mut to = from + 1;
            while notes.at[to - 1].joins_next && notes.at[to].index - note.index < self.barre_courses[slot] {
                to += 1;
            }
            for end in (from + 1..=to).rev() {
                for taken in &notes.at[from..end] {
                    attempt.fingers[taken.index] = finger;
                }
                let placed = Placed {
                    finger,
                    fret: note.fret,
                    from: note.index,
                    to: notes.at[end - 1].index,
                    stops: end - from,
                    before,
                    index_barre: attempt.index_barre,
                    frets_a_finger: self.frets_a_finger,
                };
                let mut cost = cost;
                fingering_cost::costs(&placed, frets, |place, amount| cost += self.weights[place] * amount);
                if finger == 1 {
                    attempt.index_barre = (end - from > 1).then_some(note.fret);
                }
                self.place(frets, notes, end, finger, cost, attempt);
                if finger == 1 {
                    attempt.index_barre = None;
                }
                for taken in &notes.at[from..end] {
                    attempt.fingers[taken.index] = 0;
                }
            }
            attempt.frets[slot] = None;
        }
    }

    /// Adds up what a grip costs, each cost by itself.
    pub(super) fn amounts(&self, frets: &Frets, grip: &Grip) -> FingeringAmounts {
        let mut amounts = [0.0; fingering_cost::COUNT];
        if grip.uses_thumb() {
            fingering_cost::thumb_cost(|place, amount| amounts[place] += amount);
        }
        let mut before = None;
        let mut index_barre = None;
        for finger in 1..=4 {
            let on = |index: &usize| grip.fingers[*index] == finger;
            let (Some(from), Some(to)) = ((0..frets.count).find(on), (0..frets.count).rfind(on)) else {
                continue;
            };
            let stops = (0..frets.count).filter(on).count();
            let fret = frets.at[from];
            let frets_a_finger = self.frets_a_finger;
            let placed = Placed { finger, fret, from, to, stops, before, index_barre, frets_a_finger };
            fingering_cost::costs(&placed, frets, |place, amount| amounts[place] += amount);
            before = Some((finger, fret));
            if finger == 1 && stops > 1 {
                index_barre = Some(fret);
            }
        }
        amounts
    }

    fn is_within_reach(&self, finger: u8, fret: u8, placed: &[Option<u8>; 4]) -> bool {
        (1..finger).all(|other| {
            placed[usize::from(other) - 1]
                .is_none_or(|other_fret| self.between_mm(other_fret, fret) <= self.reach_mm(other, finger))
        })
    }
}
