//! What makes one way of holding a shape less natural than another: named groups of costs, each linear in its weight.
//!
//! The groups follow what a teacher looks at: which finger begins, which are used, how far neighbours stand apart,
//! what stands above a barre, which barre, and on which side of the neck a finger works.

use super::hold::{Frets, SILENT, is_stopped};
use super::weights::Weights;

/// The groups in the order of the weights, each with how many weights it has.
pub(super) const GROUPS: [(&str, usize); 19] = [
    // The first finger used, from the index on.
    ("first", 4),
    // Each finger used, from the index on.
    ("finger", 4),
    // Neighbouring used fingers, no finger between them, by frets apart: 0 to 4 and more.
    ("one-apart", 5),
    // One finger between them.
    ("two-apart", 5),
    // Two fingers between them.
    ("three-apart", 5),
    // Above an index barre, by frets above it: 0 to 4 and more.
    ("middle-over-barre", 5),
    ("ring-over-barre", 5),
    ("little-over-barre", 5),
    // The index across two neighbouring courses, across two others, and stopping three or more.
    ("index-barre", 3),
    // Another finger across two neighbouring courses, across two others, stopping three, and stopping more.
    ("other-barre", 4),
    // Which finger that is: middle, ring, little.
    ("barre-finger", 3),
    // A barre under which no course is stopped higher: the index's, another finger's.
    ("flat-barre", 2),
    // A barre that must arch over a thinner course that rings open.
    ("arched-barre", 1),
    // A barre of another finger that must spare a thinner course stopped no nearer the bridge: two courses, more.
    ("sparing-barre", 2),
    // For each course between a finger and the floor: middle, ring, little; the same over an index barre.
    ("from-floor", 6),
    // For each course between a finger and the ceiling, likewise.
    ("from-ceiling", 6),
    // The thumb over the edge of the neck.
    ("thumb", 1),
    // On a narrow neck, all within the four fingers' own frets: how many frets the first finger is off its own, the index's
    // the first and the little finger's the fourth; on short strings in fifths each has two.
    ("first-off-fret", 1),
    // On a narrow neck, a finger across several courses while one rings open.
    ("barre-beside-open", 1),
];

/// How many weights there are.
pub(super) const COUNT: usize = 68;

/// One number for each fingering weight.
pub type FingeringAmounts = [f64; COUNT];

const FIRST: usize = 0;
const FINGER: usize = 4;
const APART: usize = 8;
const OVER_BARRE: usize = 23;
const INDEX_BARRE: usize = 38;
const OTHER_BARRE: usize = 41;
const BARRE_FINGER: usize = 45;
const FLAT: usize = 48;
const ARCHED: usize = 50;
const SPARING: usize = 51;
const FROM_FLOOR: usize = 53;
const FROM_CEILING: usize = 59;
const THUMB: usize = 65;
const FIRST_OFF_FRET: usize = 66;
const BARRE_BESIDE_OPEN: usize = 67;

/// Where the fit begins, and where a weight stays that the data set says nothing about: one finger a fret.
///
/// Each finger counts 1 and each begun later 0.5 more, each fret off from one finger a fret 1, each barre 1, the thumb
/// as much as two fingers that begin; chosen by hand.
pub(super) const START: FingeringAmounts = {
    let mut start = [0.0; COUNT];
    let mut finger = 0;
    while finger < 4 {
        start[FINGER + finger] = 1.0;
        start[FIRST + finger] = [0.0, 0.5, 1.0, 1.5][finger];
        finger += 1;
    }
    let off = [[1.0, 0.0, 1.0, 2.0, 3.0], [2.0, 1.0, 0.0, 1.0, 2.0], [3.0, 2.0, 1.0, 0.0, 1.0]];
    let mut place = 0;
    while place < 15 {
        start[APART + place] = off[place / 5][place % 5];
        place += 1;
    }
    let mut kind = 0;
    while kind < 7 {
        start[INDEX_BARRE + kind] = 1.0;
        kind += 1;
    }
    start[ARCHED] = 1.0;
    start[SPARING] = 1.0;
    start[SPARING + 1] = 2.0;
    start[THUMB] = 5.0;
    start[FIRST_OFF_FRET] = 1.0;
    start[BARRE_BESIDE_OPEN] = 1.0;
    start
};

/// One finger put down: which, where, on which stopped courses, and what came before it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    /// 1 for the index to 4 for the little finger.
    pub(super) finger: u8,
    pub(super) fret: u8,
    pub(super) from: usize,
    pub(super) to: usize,
    /// How many courses it stops.
    pub(super) stops: usize,
    /// The finger before it and its fret.
    pub(super) before: Option<(u8, u8)>,
    /// The fret of the index where that lies across several courses.
    pub(super) index_barre: Option<u8>,
    /// How many frets belong to each finger, 1 or 2.
    pub(super) frets_a_finger: u8,
}

impl Placed {
    /// How many frets the finger is off its own: the first of the neck, or the first two, are the index's.
    fn off_own_fret(&self) -> u8 {
        let last = self.finger * self.frets_a_finger;
        let first = last + 1 - self.frets_a_finger;
        first.saturating_sub(self.fret).max(self.fret.saturating_sub(last))
    }
}

/// Hands every cost of putting this finger down to `add`: the place of its weight and its amount.
pub(super) fn costs(placed: &Placed, frets: &Frets, mut add: impl FnMut(usize, f64)) {
    let finger = usize::from(placed.finger);
    let steps = |from: u8| usize::from(placed.fret.saturating_sub(from).div_ceil(placed.frets_a_finger)).min(4);
    add(FINGER + finger - 1, 1.0);
    match placed.before {
        None => add(FIRST + finger - 1, 1.0),
        Some((before, fret)) => add(APART + 5 * (finger - usize::from(before) - 1) + steps(fret), 1.0),
    }
    if finger > 1 {
        let barred = placed.index_barre.map_or(0, |fret| {
            add(OVER_BARRE + 5 * (finger - 2) + steps(fret), 1.0);
            3
        });
        let courses = |count: usize| f64::from(u8::try_from(count).unwrap_or(u8::MAX));
        add(FROM_FLOOR + barred + finger - 2, courses(frets.count - 1 - placed.to));
        add(FROM_CEILING + barred + finger - 2, courses(placed.from));
    }
    let is_narrow = frets.count <= Weights::NARROW_COURSES;
    if is_narrow
        && placed.before.is_none()
        && frets.range().is_some_and(|(_, highest)| highest <= 4 * placed.frets_a_finger)
    {
        add(FIRST_OFF_FRET, f64::from(placed.off_own_fret()));
    }
    if is_narrow && placed.stops > 1 && frets.used().contains(&0) {
        add(BARRE_BESIDE_OPEN, 1.0);
    }
    if placed.stops > 1 {
        let is_pair = placed.to - placed.from == 1;
        let kind = match placed.stops {
            2 if is_pair => 0,
            2 => 1,
            3 => 2,
            _ => 3,
        };
        if finger == 1 {
            add(INDEX_BARRE + kind.min(2), 1.0);
        } else {
            add(OTHER_BARRE + kind, 1.0);
            add(BARRE_FINGER + finger - 2, 1.0);
        }
        let is_higher = |&fret: &u8| fret != SILENT && fret > placed.fret;
        if !frets.at[placed.from..placed.to].iter().any(is_higher) {
            add(FLAT + usize::from(finger > 1), 1.0);
        }
        let beyond = &frets.at[placed.to + 1..frets.count];
        if beyond.contains(&0) {
            add(ARCHED, 1.0);
        }
        if beyond.iter().any(|&fret| is_stopped(fret) && fret <= placed.fret) {
            add(SPARING + usize::from(placed.stops > 2), 1.0);
        }
    }
}

/// Hands the cost of the thumb to `add`.
pub(super) fn thumb_cost(mut add: impl FnMut(usize, f64)) {
    add(THUMB, 1.0);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_groups_lie_where_the_places_say() {
        let places: Vec<usize> = GROUPS
            .iter()
            .scan(0, |place, (_, length)| {
                let start = *place;
                *place += length;
                Some(start)
            })
            .collect();
        let place_of = |id: &str| places[GROUPS.iter().position(|(group, _)| *group == id).unwrap()];
        assert_eq!(GROUPS.iter().map(|(_, length)| length).sum::<usize>(), COUNT);
        assert_eq!([FIRST, FINGER, APART], [place_of("first"), place_of("finger"), place_of("one-apart")]);
        assert_eq!([OVER_BARRE, INDEX_BARRE], [place_of("middle-over-barre"), place_of("index-barre")]);
        assert_eq!([OTHER_BARRE, BARRE_FINGER], [place_of("other-barre"), place_of("barre-finger")]);
        assert_eq!([FLAT, ARCHED], [place_of("flat-barre"), place_of("arched-barre")]);
        assert_eq!(SPARING, place_of("sparing-barre"));
        assert_eq!([FROM_FLOOR, FROM_CEILING], [place_of("from-floor"), place_of("from-ceiling")]);
        assert_eq!(THUMB, place_of("thumb"));
        assert_eq!([FIRST_OFF_FRET, BARRE_BESIDE_OPEN], [place_of("first-off-fret"), place_of("barre-beside-open")]);
    }
}
