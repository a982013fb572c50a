//! The fretting hand: how far it reaches, what it may do, and how it holds a shape.

use crate::instrument::{CourseIndex, Fret, Fretboard, PlayedWith};

use super::fingering::{Barre, Finger, Fingering};
use super::fingering_cost::FingeringAmounts;
use super::hold::{Frets, Grip, Holder};
use super::shape::Shape;
use super::weights::Weights;

/// How the strings are sounded, and with it what a silent course needs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Style {
    /// One stroke across the neck: a silent course inside must be damped by a finger on a neighbouring course; at
    /// either edge the stroke leaves it out.
    #[default]
    Strummed,
    /// Each course by itself: one that is not picked is silent.
    Picked,
}

/// What a hand can do. Distances are along the neck, in millimetres.
///
/// The reaches are calibrated on an open data set of 2012 guitar shapes on a 650 mm scale, whose widest shape, frets
/// 1 to 4, spans 97.6 mm and whose widest neighbours, fingers two frets apart at fret 1, span 66.9 mm: the defaults
/// hold all of them with little to spare. They are no medical limits: what hurts is too far.
#[derive(Clone, Debug, PartialEq)]
pub struct Hand {
    /// From the lowest stopped fret to the highest, 0 to 300. 100 is frets 1 to 4 on a guitar, and 5 to 9.
    pub span_mm: f64,
    /// Index to middle, 0 to 300. 68 is two frets at the nut of a guitar.
    pub index_to_middle_mm: f64,
    /// Index to ring, 0 to 300. 98 is three frets at the nut of a guitar.
    pub index_to_ring_mm: f64,
    /// Index to little, 0 to 300. No less than the span: these two fingers set it.
    pub index_to_little_mm: f64,
    /// Middle to ring, 0 to 300. 68, as index to middle.
    pub middle_to_ring_mm: f64,
    /// Middle to little, 0 to 300. 88: frets 3 to 6 of a guitar, the widest in the data set that needs it.
    pub middle_to_little_mm: f64,
    /// Ring to little, 0 to 300. 68, as index to middle.
    pub ring_to_little_mm: f64,
    /// From the thumb over the edge of the neck to any other finger, towards the bridge or the nut, 0 to 300. 70: the
    /// thumb lies behind the index and middle finger.
    pub thumb_to_finger_mm: f64,
    /// Whether the thumb may stop the course nearest the ceiling. Off: it asks for a slim neck and a large hand.
    pub may_use_thumb: bool,
    /// How many courses the index may lie across, 1 to 12. 12: all there are.
    pub index_barre_courses: usize,
    /// How many courses another finger may lie across, 1 to 12. 4: the ring finger over four courses is in the books.
    pub other_barre_courses: usize,
    /// How many of the four front fingers the player uses, 1 to 4 from the index on. 4.
    pub fingers: u8,
    /// The fret the index stands at while the strings ring open, 1 to the last. 1: at the nut; in a plan where the chord
    /// before left it.
    pub stands_at: Fret,
}

impl Default for Hand {
    fn default() -> Self {
        Self {
            span_mm: 100.0,
            index_to_middle_mm: 68.0,
            index_to_ring_mm: 98.0,
            index_to_little_mm: 100.0,
            middle_to_ring_mm: 68.0,
            middle_to_little_mm: 88.0,
            ring_to_little_mm: 68.0,
            thumb_to_finger_mm: 70.0,
            may_use_thumb: false,
            index_barre_courses: 12,
            other_barre_courses: 4,
            fingers: 4,
            stands_at: Fret::new(1),
        }
    }
}

impl Hand {
    /// Returns how far apart two different fingers can stand, in millimetres; 0 for a finger and itself.
    #[must_use]
    pub fn reach_mm(&self, one: Finger, other: Finger) -> f64 {
        use Finger::{Index, Little, Middle, Ring, Thumb};
        match (one.min(other), one.max(other)) {
            (Index, Middle) => self.index_to_middle_mm,
            (Index, Ring) => self.index_to_ring_mm,
            (Index, Little) => self.index_to_little_mm,
            (Middle, Ring) => self.middle_to_ring_mm,
            (Middle, Little) => self.middle_to_little_mm,
            (Ring, Little) => self.ring_to_little_mm,
            (Thumb, front) if front != Thumb => self.thumb_to_finger_mm,
            _ => 0.0,
        }
    }

    /// Finds the best way to hold a shape, `None` when there is none.
    ///
    /// Exact under these rules: the front fingers stand in order along the neck, and at one fret in order from the
    /// ceiling to the floor; every pair is within reach; a finger stops neighbouring courses at one fret, and under it
    /// lies no course that rings open or is stopped nearer the nut; strummed, every silent course inside the shape is
    /// touched by a finger that stops a neighbouring course, and under a barre by another finger than the barre's.
    /// Among all such ways the one of least fingering cost by the bundled [`Weights`] is taken, of equal ones that
    /// with the lower fingers.
    ///
    /// An instrument played with a bar gives a fingering without fingers for what one straight bar can stop.
    #[must_use]
    pub fn find_fingering(&self, shape: &Shape, board: &Fretboard<'_>, style: Style) -> Option<Fingering> {
        self.find_fingering_by(shape, board, style, Weights::bundled())
    }

    /// Finds the best way to hold a shape by other weights; see [`Hand::find_fingering`].
    #[must_use]
    pub fn find_fingering_by(
        &self,
        shape: &Shape,
        board: &Fretboard<'_>,
        style: Style,
        weights: &Weights,
    ) -> Option<Fingering> {
        let frets = Frets::from_shape(shape)?;
        let is_on_neck = shape.frets().len() == board.courses() && shape.sounding().all(|position| board.has(position));
        if !is_on_neck {
            return None;
        }
        if board.instrument().played_with() == PlayedWith::Bar {
            return frets
                .bar_can_stop(style)
                .then(|| Fingering { fingers: vec![None; board.courses()], barres: Vec::new() });
        }
        Holder::new(self, weights.fingering(board.courses()), board, style)
            .hold(&frets)
            .map(|grip| fingering(&frets, &grip))
    }

    /// Returns every way to hold a shape with the amounts of its fingering costs, in the order of the weights; see
    /// [`Hand::find_fingering`] for the rules. Empty where a bar is played.
    #[must_use]
    pub fn fingerings(&self, shape: &Shape, board: &Fretboard<'_>, style: Style) -> Vec<(Fingering, FingeringAmounts)> {
        let mut all = Vec::new();
        let is_on_neck = shape.frets().len() == board.courses() && shape.sounding().all(|position| board.has(position));
        if let (Some(frets), true, PlayedWith::Fingers) =
            (Frets::from_shape(shape), is_on_neck, board.instrument().played_with())
        {
            let holder = Holder::new(self, Weights::bundled().fingering(board.courses()), board, style);
            holder.for_each_grip(&frets, |grip| {
                all.push((fingering(&frets, &grip), holder.amounts(&frets, &grip)));
                f64::INFINITY
            });
        }
        all
    }
}

/// Writes out which finger stops what.
pub(super) fn fingering(frets: &Frets, grip: &Grip) -> Fingering {
    let fingers: Vec<Option<Finger>> = (0..frets.count).map(|index| grip.finger_at(index)).collect();
    let barres = Finger::FRONT.iter().filter_map(|&finger| {
        let from = fingers.iter().position(|&at| at == Some(finger))?;
        let to = fingers.iter().rposition(|&at| at == Some(finger))?;
        (from < to).then(|| Barre {
            finger,
            fret: Fret::new(frets.at[from]),
            from: CourseIndex::from_lowest(from),
            to: CourseIndex::from_lowest(to),
        })
    });
    let barres = barres.collect();
    Fingering { fingers, barres }
}
