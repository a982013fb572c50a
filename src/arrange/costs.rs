//! What speaks against a way of playing, each with its name.

/// What each thing that an arrangement may do costs. All are zero or more; the unit is a finger put down anew, half a
/// point, as in [`crate::shapes::PlanCosts`]. Set by hand so that what a teacher checks comes first: the thumb on its
/// beats, the root on a new chord, then a quiet hand. No guitarist has judged them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArrangeCosts {
    /// A beat of the thumb's without a bass note, 0 to 100. 12: more than any one move of the hand.
    pub bass_left_out: f64,
    /// A new chord whose first bass note is not its root, or the one after its slash, 0 to 100. 8.
    pub root_missing: f64,
    /// A bass note that stops ringing before its next stroke, 0 to 100. 0.8.
    pub bass_cut_short: f64,
    /// The same bass note twice in turn where the thumb alternates, 0 to 100. 0.8.
    pub bass_repeated: f64,
    /// A third in the bass where a fifth or an octave would do, 0 to 100. 0.9.
    pub bass_third: f64,
    /// A bass note that is stopped, beside its finger, 0 to 100. 0.1.
    pub bass_stopped: f64,
    /// Each millimetre the hand moves along the neck, 0 to 1. 0.05: a fret near the
    /// nut of a guitar is nearly two points, so that the hand stays while the fingers can.
    pub move_per_mm: f64,
    /// Each finger put down in a new place, 0 to 10. 0.5.
    pub place: f64,
    /// Each finger that leaves one place for another at once, on top, 0 to 10. 0.4.
    pub jump: f64,
    /// Each finger that slides along its course, 0 to 10. 0.25.
    pub slide: f64,
    /// Each finger that comes off, 0 to 10. 0.1.
    pub lift: f64,
    /// Each finger that is down, 0 to 10. 0.06.
    pub finger: f64,
    /// The little finger besides, 0 to 10. 0.08.
    pub little: f64,
    /// A finger laid across, 0 to 10. 0.3.
    pub barre: f64,
    /// Each millimetre between the lowest and the highest stopped fret, 0 to 1. 0.006.
    pub span_per_mm: f64,
    /// Each fret the hand stands above the first, 0 to 10. 0.06.
    pub position: f64,
    /// A melody note on one of the thumb's courses, 0 to 10. 0.5.
    pub melody_on_thumb: f64,
    /// A slice without a held shape, 0 to 10. 0.15.
    pub no_shape: f64,
    /// A shape with a finger lifted or slid for the melody, 0 to 10. 0.15.
    pub shape_changed: f64,
    /// One shape left for another, or for none, within a chord, 0 to 10. 0.4.
    pub shape_left: f64,
    /// An open course that rings on into a chord it is foreign to, 0 to 10. 0.3.
    pub ring_on: f64,
    /// The same course plucked twice by the fingers within half a quarter, 0 to 10. 0.1.
    pub same_course: f64,
}

impl Default for ArrangeCosts {
    fn default() -> Self {
        Self {
            bass_left_out: 12.0,
            root_missing: 8.0,
            bass_cut_short: 0.8,
            bass_repeated: 0.8,
            bass_third: 0.9,
            bass_stopped: 0.1,
            move_per_mm: 0.05,
            place: 0.5,
            jump: 0.4,
            slide: 0.25,
            lift: 0.1,
            finger: 0.06,
            little: 0.08,
            barre: 0.3,
            span_per_mm: 0.006,
            position: 0.06,
            melody_on_thumb: 0.5,
            no_shape: 0.15,
            shape_changed: 0.15,
            shape_left: 0.4,
            ring_on: 0.3,
            same_course: 0.1,
        }
    }
}
