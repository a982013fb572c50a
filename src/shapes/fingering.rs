//! Which finger stops what.

use std::fmt;

use crate::instrument::{CourseIndex, Fret};

/// A finger of the fretting hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the fingers name themselves")]
pub enum Finger {
    Thumb,
    Index,
    Middle,
    Ring,
    Little,
}

impl Finger {
    /// The four fingers in front of the neck, from the index on.
    pub const FRONT: [Self; 4] = [Self::Index, Self::Middle, Self::Ring, Self::Little];

    /// Returns the number players write, 1 to 4; `T` for the thumb.
    #[must_use]
    pub const fn symbol(self) -> char {
        match self {
            Self::Thumb => 'T',
            Self::Index => '1',
            Self::Middle => '2',
            Self::Ring => '3',
            Self::Little => '4',
        }
    }
}

impl fmt::Display for Finger {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.symbol())
    }
}

/// One finger laid across neighbouring courses at one fret.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Barre {
    /// The finger that lies across.
    pub finger: Finger,
    /// Where.
    pub fret: Fret,
    /// The covered course with the highest player number.
    pub from: CourseIndex,
    /// The covered course with the lowest player number.
    pub to: CourseIndex,
}

impl Barre {
    /// Tells whether the finger lies on this course.
    #[must_use]
    pub fn covers(&self, course: CourseIndex) -> bool {
        (self.from.from_lowest_index()..=self.to.from_lowest_index()).contains(&course.from_lowest_index())
    }
}

/// How a shape is held: the finger on each course that sounds stopped, and the barres among them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Fingering {
    /// The finger for each course, from the highest player number to course 1; `None` for open and silent courses.
    pub fingers: Vec<Option<Finger>>,
    /// The fingers that stop more than one course, by finger.
    pub barres: Vec<Barre>,
}

impl Fingering {
    /// Returns how many fingers are down, a barre counting once.
    #[must_use]
    pub fn fingers_used(&self) -> usize {
        let mut used: Vec<Finger> = self.fingers.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        used.len()
    }

    /// Returns whether `finger` is free.
    #[must_use]
    pub fn is_free(&self, finger: Finger) -> bool {
        self.fingers.iter().flatten().all(|&used| used != finger)
    }
}
