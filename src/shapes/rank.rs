//! What a shape costs: named terms, one function each; their weights are in [`Weights`].

use super::hold::{Frets, Grip, Holder, SILENT, is_stopped};
use super::weights::Weights;

/// One thing that makes a shape less welcome. Every amount is zero or more, in the unit its variant names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CostTerm {
    /// Fingers down, a barre counting once.
    Fingers,
    /// 1 when the index lies across three courses or more.
    Barre,
    /// Fingers that lie across several courses otherwise.
    HalfBarre,
    /// Sum over neighbouring used fingers of (distance / reach)².
    Stretch,
    /// The cost of the fingering itself, as the solver counts it.
    Fingering,
    /// The lowest stopped fret's distance from the nut or capo, in 100 mm.
    Position,
    /// Silent courses between sounding ones.
    InnerMutes,
    /// Silent courses beyond the first sounding one, towards the ceiling.
    BassSideMutes,
    /// Silent courses beyond the last sounding one, towards the floor.
    TrebleSideMutes,
    /// Silent courses between the two sounding ones nearest the ceiling, where the thumb alternates.
    ThumbGap,
    /// Tones of the chord that may be left out and are.
    OmittedTones,
    /// Thirds beyond the first.
    DoubledThirds,
    /// 1 when the lowest pitch is not the bass asked for.
    OtherBass,
    /// Sounding courses that do not ring open.
    StoppedCourses,
    /// Open courses, each times the lowest stopped fret's distance from the nut or capo in 100 mm.
    FarFromOpen,
}

impl CostTerm {
    /// How many there are.
    pub const COUNT: usize = 15;

    /// All of them, in the order of the weights.
    pub const ALL: [Self; Self::COUNT] = [
        Self::Fingers,
        Self::Barre,
        Self::HalfBarre,
        Self::Stretch,
        Self::Fingering,
        Self::Position,
        Self::InnerMutes,
        Self::BassSideMutes,
        Self::TrebleSideMutes,
        Self::ThumbGap,
        Self::OmittedTones,
        Self::DoubledThirds,
        Self::OtherBass,
        Self::StoppedCourses,
        Self::FarFromOpen,
    ];

    /// Returns the name in the weights table.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Fingers => "fingers",
            Self::Barre => "barre",
            Self::HalfBarre => "half-barre",
            Self::Stretch => "stretch",
            Self::Fingering => "fingering",
            Self::Position => "position",
            Self::InnerMutes => "inner-mutes",
            Self::BassSideMutes => "bass-side-mutes",
            Self::TrebleSideMutes => "treble-side-mutes",
            Self::ThumbGap => "thumb-gap",
            Self::OmittedTones => "omitted-tones",
            Self::DoubledThirds => "doubled-thirds",
            Self::OtherBass => "other-bass",
            Self::StoppedCourses => "stopped-courses",
            Self::FarFromOpen => "far-from-open",
        }
    }

    /// Returns the place in [`CostTerm::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// What a shape sounds, as far as it costs.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Heard {
    /// Tones that may be left out and are.
    pub(super) omitted: u32,
    /// How many courses sound the third.
    pub(super) thirds: u32,
    /// Whether the lowest pitch is the bass asked for.
    pub(super) bass_is_asked_for: bool,
}

/// The amount of every term, in the order of [`CostTerm::ALL`].
pub(super) type Amounts = [f64; CostTerm::COUNT];

/// The amounts that do not depend on the fingers, the others 0.
pub(super) fn amounts_without_fingers(frets: &Frets, heard: &Heard, holder: &Holder<'_>) -> Amounts {
    let mut amounts = [0.0; CostTerm::COUNT];
    amounts[CostTerm::Position.index()] = position(frets, holder);
    amounts[CostTerm::InnerMutes.index()] = inner_mutes(frets);
    amounts[CostTerm::BassSideMutes.index()] = bass_side_mutes(frets);
    amounts[CostTerm::TrebleSideMutes.index()] = treble_side_mutes(frets);
    amounts[CostTerm::ThumbGap.index()] = thumb_gap(frets);
    amounts[CostTerm::OmittedTones.index()] = f64::from(heard.omitted);
    amounts[CostTerm::DoubledThirds.index()] = f64::from(heard.thirds.saturating_sub(1));
    amounts[CostTerm::OtherBass.index()] = if heard.bass_is_asked_for { 0.0 } else { 1.0 };
    amounts[CostTerm::StoppedCourses.index()] = stopped_courses(frets);
    amounts[CostTerm::FarFromOpen.index()] = far_from_open(frets, holder);
    amounts
}

/// Fills in the amounts that depend on the fingers.
pub(super) fn add_finger_amounts(amounts: &mut Amounts, frets: &Frets, grip: &Grip, holder: &Holder<'_>) {
    let fingers = grip.front_fingers(frets);
    amounts[CostTerm::Fingers.index()] = fingers_down(&fingers, grip);
    amounts[CostTerm::Barre.index()] = barre(&fingers);
    amounts[CostTerm::HalfBarre.index()] = half_barres(&fingers);
    amounts[CostTerm::Stretch.index()] = stretch(&fingers, holder);
    amounts[CostTerm::Fingering.index()] = grip.cost;
}

/// The sum of all amounts by their weights; never negative.
pub(super) fn cost(amounts: &Amounts, weights: &Weights) -> f64 {
    amounts.iter().zip(weights.shape()).map(|(amount, weight)| amount * weight).sum()
}

type FrontFingers = [Option<(u8, usize)>; 4];

fn count(courses: usize) -> f64 {
    f64::from(u8::try_from(courses).unwrap_or(u8::MAX))
}

fn fingers_down(fingers: &FrontFingers, grip: &Grip) -> f64 {
    count(fingers.iter().flatten().count() + usize::from(grip.uses_thumb()))
}

/// The index across three courses or more.
fn barre(fingers: &FrontFingers) -> f64 {
    if fingers[0].is_some_and(|(_, courses)| courses >= 3) { 1.0 } else { 0.0 }
}

/// Other fingers across several courses, and the index across two.
fn half_barres(fingers: &FrontFingers) -> f64 {
    let index = usize::from(fingers[0].is_some_and(|(_, courses)| courses == 2));
    count(index + fingers[1..].iter().flatten().filter(|(_, courses)| *courses > 1).count())
}

fn stretch(fingers: &FrontFingers, holder: &Holder<'_>) -> f64 {
    let mut last: Option<(u8, u8)> = None;
    let mut sum = 0.0;
    for (finger, slot) in (1..).zip(fingers) {
        let Some((fret, _)) = *slot else {
            continue;
        };
        if let Some((before, at)) = last {
            let share = holder.between_mm(at, fret) / holder.reach_mm(before, finger).max(1.0);
            sum += share * share;
        }
        last = Some((finger, fret));
    }
    sum
}

/// From the nut or capo to the lowest stopped fret, in 100 mm.
fn position(frets: &Frets, holder: &Holder<'_>) -> f64 {
    frets.range().map_or(0.0, |(lowest, _)| holder.between_mm(0, lowest) / 100.0)
}

fn inner_mutes(frets: &Frets) -> f64 {
    let inside = frets.edges().map_or(&[][..], |(first, last)| &frets.at[first..=last]);
    count(inside.iter().filter(|&&fret| fret == SILENT).count())
}

fn bass_side_mutes(frets: &Frets) -> f64 {
    count(frets.edges().map_or(0, |(first, _)| first))
}

fn treble_side_mutes(frets: &Frets) -> f64 {
    count(frets.edges().map_or(0, |(_, last)| frets.count - 1 - last))
}

fn thumb_gap(frets: &Frets) -> f64 {
    let Some((first, last)) = frets.edges() else {
        return 0.0;
    };
    let gap = frets.at[(first + 1).min(last)..=last].iter().take_while(|&&fret| fret == SILENT).count();
    count(gap)
}

fn stopped_courses(frets: &Frets) -> f64 {
    count(frets.used().iter().filter(|&&fret| is_stopped(fret)).count())
}

fn far_from_open(frets: &Frets, holder: &Holder<'_>) -> f64 {
    count(frets.used().iter().filter(|&&fret| fret == 0).count()) * position(frets, holder)
}
