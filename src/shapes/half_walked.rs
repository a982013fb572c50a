//! What a shape costs at least while only some of its courses are walked: what cannot come among the best is left early.

use super::hold::Holder;
use super::rank::{CostTerm, STRAIGHT_SAVES};
use super::weights::Weights;

/// The courses walked so far that sound open or not at all.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct LeftOut {
    /// Silent ones before the first that sounds.
    before: u8,
    /// Silent ones between two that sound.
    inside: u8,
    /// Silent ones after the last that sounds.
    after: u8,
    open: u8,
    has_sounding: bool,
    /// The first that sounds is stopped.
    begins_stopped: bool,
}

impl LeftOut {
    /// Goes on over a course that is left out.
    pub(super) const fn with_silent(mut self) -> Self {
        if self.has_sounding {
            self.after += 1;
        } else {
            self.before += 1;
        }
        self
    }

    /// Goes on over a course that sounds at a fret.
    pub(super) const fn with_sounding(mut self, fret: u8) -> Self {
        self.inside += self.after;
        self.after = 0;
        self.open += (fret == 0) as u8;
        self.begins_stopped |= !self.has_sounding && fret != 0;
        self.has_sounding = true;
        self
    }
}

/// Sums of the same amounts in another order differ in their last digits.
const ROUNDING: f64 = 1e-6;

/// What is known of a shape halfway.
#[derive(Clone, Copy, Debug)]
pub(super) struct Halfway {
    pub(super) left_out: LeftOut,
    /// The highest fret stopped so far; 0 for none.
    pub(super) highest: u8,
    /// Fingers without which no hand holds what is walked.
    pub(super) fingers: u8,
    pub(super) thirds: u32,
    /// Other tones than root, third and fifth beyond the first of each.
    pub(super) doubled_others: u32,
    /// Whether fewer courses than [`CostTerm::FewCourses`] asks for can sound in the end.
    pub(super) is_thin: bool,
    /// Whether another tone than the bass asked for will be lowest, where that matters.
    pub(super) has_other_bass: bool,
}

/// The weights of what is known halfway, at one place of the hand along the neck. Terms that may yet be zero are left out,
/// so that a whole shape costs no less (see [`super::rank::amounts_without_fingers`]).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Least {
    lowest: u8,
    place: f64,
    /// So much less where one finger lies straight across.
    straight: f64,
    open: f64,
    before: f64,
    inside: f64,
    after: f64,
    inner_bass: f64,
    span: f64,
    finger: f64,
    third: f64,
    other: f64,
    thin: f64,
    other_bass: f64,
}

impl Least {
    /// Returns them where `lowest` is the lowest fret stopped; 0: none is.
    pub(super) fn at(lowest: u8, holder: &Holder<'_>, weights: &Weights) -> Self {
        let weight = |term: CostTerm| weights.shape()[term.index()];
        let position = holder.between_mm(0, lowest) / 100.0;
        // What the thumb finds may halve it.
        let bass_share = if holder.is_picked() { 0.5 } else { 1.0 };
        Self {
            lowest,
            place: position * weight(CostTerm::Position) - ROUNDING,
            straight: position.min(STRAIGHT_SAVES) * weight(CostTerm::Position),
            open: (position - 0.75).max(0.0) * weight(CostTerm::FarFromOpen),
            before: weight(CostTerm::BassSideMutes),
            inside: weight(CostTerm::InnerMutes),
            after: weight(CostTerm::TrebleSideMutes),
            inner_bass: weight(CostTerm::InnerBass),
            span: weight(CostTerm::Span),
            finger: weight(CostTerm::Fingers),
            third: weight(CostTerm::DoubledThirds),
            other: weight(CostTerm::DoubledOthers),
            thin: weight(CostTerm::FewCourses),
            other_bass: bass_share * weight(CostTerm::OtherBass),
        }
    }

    /// Leaves out what costs nothing here: fingers where a bar stops the strings, the bass where nobody cares which tone is
    /// lowest, a straight finger's ease in the standard tuning.
    pub(super) const fn leave_out(&mut self, (is_bar, any_bass, is_standard): (bool, bool, bool)) {
        if is_bar {
            self.finger = 0.0;
        }
        if any_bass {
            self.inner_bass = 0.0;
        }
        if is_standard {
            self.straight = 0.0;
        }
    }

    /// Returns what a shape costs at least that begins so.
    pub(super) fn of(&self, halfway: &Halfway, holder: &Holder<'_>) -> f64 {
        let count = f64::from;
        let left_out = halfway.left_out;
        // Those after the last that sounds so far may come to lie inside.
        let after = count(left_out.after);
        let outside = (after.min(1.0) + (after - 1.0).max(0.0) / 2.0) * self.after;
        let span = holder.between_mm(self.lowest, halfway.highest.max(self.lowest)) / 50.0;
        let where_so = |is_so: bool, weight: f64| if is_so { weight } else { 0.0 };
        let may_be_straight = left_out.open == 0 && halfway.highest <= self.lowest;
        self.place - where_so(may_be_straight, self.straight)
            + span * span * self.span
            + count(left_out.open) * self.open
            + count(left_out.before) * self.before
            + count(left_out.inside) * self.inside
            + outside.min(after * self.inside)
            + where_so(left_out.begins_stopped && left_out.before >= 2, self.inner_bass)
            + count(halfway.fingers) * self.finger
            + f64::from(halfway.thirds.saturating_sub(1)) * self.third
            + f64::from(halfway.doubled_others) * self.other
            + where_so(halfway.is_thin, self.thin)
            + where_so(halfway.has_other_bass, self.other_bass)
    }
}
