//! What a shape costs: named terms, one function each; their weights are in [`Weights`].

use super::forms::KnownForms;
use super::hold::{Frets, Grip, Holder, SILENT, is_stopped};
use super::weights::Weights;

/// One thing that makes a shape less welcome. Every amount is zero or more, in the unit its variant names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CostTerm {
    /// Fingers down, a barre counting once.
    Fingers,
    /// 1 when the index lies across three courses or more; a half on a narrow neck, which a finger spans with ease.
    Barre,
    /// Fingers that lie across several courses otherwise; each a half on a narrow neck, and twice as much when it is the little
    /// finger across three courses or more, or middle or ring finger over four.
    HalfBarre,
    /// Sum over neighbouring used fingers of (distance / reach)².
    Stretch,
    /// From the lowest to the highest stopped fret, in 50 mm, squared.
    Span,
    /// The cost of the fingering itself, as the solver counts it.
    Fingering,
    /// The lowest stopped fret's distance from the nut or capo, in 100 mm; 60 mm less for one straight finger across five
    /// courses or more in another tuning than the standard one, where that is the open chord moved: the first thing players of
    /// open tunings learn, and nothing to aim at.
    Position,
    /// 1 when fewer than four courses sound, or on smaller instruments fewer than all.
    FewCourses,
    /// Silent courses between sounding ones.
    InnerMutes,
    /// Silent courses beyond the first sounding one, towards the ceiling.
    BassSideMutes,
    /// Silent courses beyond the last sounding one, towards the floor: the first counts 1, each further one a half.
    TrebleSideMutes,
    /// Picked, silent courses between the two sounding ones nearest the ceiling, where the thumb alternates.
    ThumbGap,
    /// Tones of the chord that may be left out and are.
    OmittedTones,
    /// Thirds beyond the first.
    DoubledThirds,
    /// Other tones than root, third and fifth, beyond the first of each.
    DoubledOthers,
    /// 1 when the lowest pitch is not the bass asked for, on instruments whose bass is heard as one; a half when the
    /// strings are picked and the thumb has a pair on that bass besides.
    OtherBass,
    /// 1 when it is not the fifth either.
    DistantBass,
    /// Open courses, each times what the lowest stopped fret's distance from the nut or capo has beyond 75 mm, a guitar's
    /// second fret, in 100 mm: at the first frets they make a shape easy, farther up the fingers are far from them.
    FarFromOpen,
    /// Open courses with a stopped one on either side.
    OpenBetween,
    /// Fingers across two courses that must spare one beyond them: towards the floor a course sounds open or no nearer
    /// the bridge, so the finger has to bend or arch.
    BentPair,
    /// The same across three courses or more.
    BentBarre,
    /// Picked, 1 when the thumb has no pair: no root, or no other note of fifth, octave or third, among its courses; a half
    /// when it has the fifth and another tone of the chord instead.
    NoThumbPair,
    /// Picked, 1 when the second note of its best pair is the third; 0.4 when the shape sounds what a form the player knows
    /// does, whose bass is in the hand already: the C form has its third beside the root. 0.1 when there is a better pair, but
    /// the two lowest strings sound root and third, which are thick so far down.
    ThumbOnThird,
    /// 1 when the lowest course that sounds is stopped and not one of the two nearest the ceiling, on instruments whose
    /// bass is heard as one: the bass is thin, and not free as an open string is.
    InnerBass,
    /// Away from the standard tuning, 1 when the shape does not sound, string for string, what a form the player knows
    /// sounds there: at least four courses alike, no other sounding but open ones that the form leaves out or that were
    /// retuned under the thumb.
    NewVoicing,
}

impl CostTerm {
    /// How many there are.
    pub const COUNT: usize = 25;

    /// All of them, in the order of the weights.
    pub const ALL: [Self; Self::COUNT] = [
        Self::Fingers,
        Self::Barre,
        Self::HalfBarre,
        Self::Stretch,
        Self::Span,
        Self::Fingering,
        Self::Position,
        Self::FewCourses,
        Self::InnerMutes,
        Self::BassSideMutes,
        Self::TrebleSideMutes,
        Self::ThumbGap,
        Self::OmittedTones,
        Self::DoubledThirds,
        Self::DoubledOthers,
        Self::OtherBass,
        Self::DistantBass,
        Self::FarFromOpen,
        Self::OpenBetween,
        Self::BentPair,
        Self::BentBarre,
        Self::NoThumbPair,
        Self::ThumbOnThird,
        Self::InnerBass,
        Self::NewVoicing,
    ];

    /// Returns the name in the weights table.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Fingers => "fingers",
            Self::Barre => "barre",
            Self::HalfBarre => "half-barre",
            Self::Stretch => "stretch",
            Self::Span => "span",
            Self::Fingering => "fingering",
            Self::Position => "position",
            Self::FewCourses => "few-courses",
            Self::InnerMutes => "inner-mutes",
            Self::BassSideMutes => "bass-side-mutes",
            Self::TrebleSideMutes => "treble-side-mutes",
            Self::ThumbGap => "thumb-gap",
            Self::OmittedTones => "omitted-tones",
            Self::DoubledThirds => "doubled-thirds",
            Self::DoubledOthers => "doubled-others",
            Self::OtherBass => "other-bass",
            Self::DistantBass => "distant-bass",
            Self::FarFromOpen => "far-from-open",
            Self::OpenBetween => "open-between",
            Self::BentPair => "bent-pair",
            Self::BentBarre => "bent-barre",
            Self::NoThumbPair => "no-thumb-pair",
            Self::ThumbOnThird => "thumb-on-third",
            Self::InnerBass => "inner-bass",
            Self::NewVoicing => "new-voicing",
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
    /// Courses beyond the first that sound a tone other than root, third and fifth, over all such tones.
    pub(super) doubled_others: u32,
    /// Whether players of the instrument care which tone is lowest.
    pub(super) bass_matters: bool,
    /// Whether the lowest pitch is the bass asked for.
    pub(super) bass_is_asked_for: bool,
    /// Whether it is the fifth.
    pub(super) bass_is_fifth: bool,
}

/// What the thumb finds on its courses; see [`super::bass::alternating_bass`], whose rules these are, without the pair.
#[derive(Clone, Debug, Default)]
pub(super) struct ThumbCourses {
    /// The classes of each of the thumb's courses by fret, 0 where there is none; nothing for a short drone.
    pub(super) classes: Vec<Vec<u16>>,
    /// The bass asked for.
    pub(super) first: u16,
    /// What serves as the second without a sigh: root, fifth, and the first again.
    pub(super) seconds: u16,
    /// The third.
    pub(super) third: u16,
    /// The fifth, perfect or altered.
    pub(super) fifth: u16,
}

/// The best the thumb can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum ThumbPair {
    /// The first with a root, a fifth or an octave.
    Good,
    /// The first with the third.
    OnThird,
    /// The fifth with another tone of the chord, the first nowhere: what an inversion leaves.
    OnFifth,
    /// None.
    Missing,
}

impl ThumbCourses {
    /// Whether the first course that sounds has the first and the next the third.
    fn has_third_beside_root(&self, frets: &Frets) -> bool {
        let sounding = self.classes.iter().zip(frets.used()).filter(|(_, fret)| **fret != SILENT);
        let mut classes = sounding.map(|(classes, fret)| classes.get(usize::from(*fret)).copied().unwrap_or(0));
        let (lowest, next) = (classes.next().unwrap_or(0), classes.next().unwrap_or(0));
        lowest & self.first != 0 && next & self.third & !self.first != 0
    }

    /// Finds the best the thumb can do; a course the shape leaves out counts where it rings open and no finger lies on it.
    fn pair(&self, frets: &Frets, grip: &Grip) -> ThumbPair {
        let (mut firsts, mut seconds, mut thirds, mut fifths) = (0_u8, 0_u8, 0_u8, 0_u8);
        for (index, classes) in self.classes.iter().enumerate() {
            let fret = match frets.at[index] {
                SILENT if grip.lies_over(index, frets.count) => continue,
                SILENT => 0,
                fret => fret,
            };
            let class = classes.get(usize::from(fret)).copied().unwrap_or(0);
            firsts += u8::from(class & self.first != 0);
            seconds += u8::from(class & self.seconds & !self.first != 0);
            fifths += u8::from(class & self.fifth != 0);
            thirds += u8::from(class & self.third & !self.first & !self.seconds != 0);
        }
        match (firsts, seconds, thirds) {
            (0, ..) if fifths > 0 && seconds + thirds > 1 => ThumbPair::OnFifth,
            (0, ..) | (1, 0, 0) => ThumbPair::Missing,
            (1, 0, _) => ThumbPair::OnThird,
            _ => ThumbPair::Good,
        }
    }
}

/// The amount of every term, in the order of [`CostTerm::ALL`].
pub(super) type Amounts = [f64; CostTerm::COUNT];

/// The amounts that do not depend on the fingers, the others 0.
pub(super) fn amounts_without_fingers(
    frets: &Frets,
    heard: &Heard,
    holder: &Holder<'_>,
    known: &KnownForms,
) -> Amounts {
    let mut amounts = [0.0; CostTerm::COUNT];
    let nearer = if known.is_retuned && is_straight(frets) { STRAIGHT_SAVES } else { 0.0 };
    amounts[CostTerm::Position.index()] = (position(frets, holder) - nearer).max(0.0);
    amounts[CostTerm::Span.index()] = span(frets, holder);
    amounts[CostTerm::FewCourses.index()] = few_courses(frets);
    amounts[CostTerm::InnerMutes.index()] = inner_mutes(frets);
    amounts[CostTerm::BassSideMutes.index()] = bass_side_mutes(frets);
    amounts[CostTerm::TrebleSideMutes.index()] = treble_side_mutes(frets);
    amounts[CostTerm::ThumbGap.index()] = if holder.is_picked() { thumb_gap(frets) } else { 0.0 };
    amounts[CostTerm::OmittedTones.index()] = f64::from(heard.omitted);
    amounts[CostTerm::DoubledThirds.index()] = f64::from(heard.thirds.saturating_sub(1));
    amounts[CostTerm::DoubledOthers.index()] = f64::from(heard.doubled_others);
    let is_other_bass = heard.bass_matters && !heard.bass_is_asked_for;
    // The least it can be: what the thumb finds is known with the fingers.
    amounts[CostTerm::OtherBass.index()] = one_if(is_other_bass) * if holder.is_picked() { 0.5 } else { 1.0 };
    amounts[CostTerm::DistantBass.index()] = one_if(is_other_bass && !heard.bass_is_fifth);
    amounts[CostTerm::FarFromOpen.index()] = far_from_open(frets, holder);
    amounts[CostTerm::OpenBetween.index()] = open_between(frets);
    amounts[CostTerm::InnerBass.index()] = one_if(heard.bass_matters && has_inner_bass(frets));
    amounts[CostTerm::NewVoicing.index()] =
        one_if(known.is_retuned && !known.is_empty() && !known.are_sounded_by(frets));
    amounts
}

/// Fills in the amounts that depend on the fingers.
pub(super) fn add_finger_amounts(
    amounts: &mut Amounts,
    frets: &Frets,
    grip: &Grip,
    holder: &Holder<'_>,
    (thumb, known): (&ThumbCourses, &KnownForms),
) {
    let fingers = grip.front_fingers(frets);
    let (pairs, barres) = bent(frets, grip);
    amounts[CostTerm::BentPair.index()] = pairs;
    amounts[CostTerm::BentBarre.index()] = barres;
    if holder.is_picked() && !thumb.classes.is_empty() {
        let pair = thumb.pair(frets, grip);
        if pair != ThumbPair::Good {
            amounts[CostTerm::OtherBass.index()] *= 2.0;
        }
        amounts[CostTerm::NoThumbPair.index()] = match pair {
            ThumbPair::Missing => 1.0,
            ThumbPair::OnFifth => 0.5,
            _ => 0.0,
        };
        if pair == ThumbPair::OnThird {
            amounts[CostTerm::ThumbOnThird.index()] = if known.are_sounded_by(frets) { 0.4 } else { 1.0 };
        } else if thumb.has_third_beside_root(frets) {
            amounts[CostTerm::ThumbOnThird.index()] = 0.1;
        }
    }
    amounts[CostTerm::Fingers.index()] = fingers_down(&fingers, grip);
    let share = if frets.count <= Weights::NARROW_COURSES { 0.5 } else { 1.0 };
    amounts[CostTerm::Barre.index()] = barre(&fingers) * share;
    amounts[CostTerm::HalfBarre.index()] = half_barres(frets, grip) * share;
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

fn one_if(is_so: bool) -> f64 {
    if is_so { 1.0 } else { 0.0 }
}

fn fingers_down(fingers: &FrontFingers, grip: &Grip) -> f64 {
    count(fingers.iter().flatten().count() + usize::from(grip.uses_thumb()))
}

/// The index across three courses or more.
fn barre(fingers: &FrontFingers) -> f64 {
    one_if(fingers[0].is_some_and(|(_, courses)| courses >= 3))
}

/// Other fingers across several courses, wide ones counting twice, and the index across two.
fn half_barres(frets: &Frets, grip: &Grip) -> f64 {
    let of_finger = |finger: u8| match (finger, grip.lies(finger, frets.count)) {
        (_, None | Some((_, _, 1))) => 0,
        (1, Some((_, _, stops))) => usize::from(stops == 2),
        (4, Some((_, _, stops))) if stops > 2 => 2,
        (_, Some((from, to, _))) => 1 + usize::from(to - from > 2),
    };
    count((1..=4).map(of_finger).sum())
}

/// How much nearer a straight finger counts, in 100 mm.
pub(super) const STRAIGHT_SAVES: f64 = 0.6;

/// Whether all that sounds is stopped at one fret, on five courses or more.
fn is_straight(frets: &Frets) -> bool {
    let sounding = || frets.used().iter().filter(|&&fret| fret != SILENT);
    let first = sounding().next().copied().unwrap_or(0);
    is_stopped(first) && sounding().count() >= 5 && sounding().all(|&fret| fret == first)
}

/// Counts the fingers across two courses, and across more, beyond which a course sounds open or no nearer the bridge.
fn bent(frets: &Frets, grip: &Grip) -> (f64, f64) {
    let (mut pairs, mut barres) = (0.0, 0.0);
    for finger in 1..=4 {
        let Some((from, to, stops)) = grip.lies(finger, frets.count).filter(|(_, _, stops)| *stops > 1) else {
            continue;
        };
        let fret = frets.at[from];
        if frets.at[to + 1..frets.count].iter().any(|&beyond| beyond != SILENT && beyond <= fret) {
            *(if stops > 2 { &mut barres } else { &mut pairs }) += 1.0;
        }
    }
    (pairs, barres)
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

fn span(frets: &Frets, holder: &Holder<'_>) -> f64 {
    let span = frets.range().map_or(0.0, |(lowest, highest)| holder.between_mm(lowest, highest) / 50.0);
    span * span
}

fn few_courses(frets: &Frets) -> f64 {
    one_if(frets.used().iter().filter(|&&fret| fret != SILENT).count() < frets.count.min(4))
}

fn inner_mutes(frets: &Frets) -> f64 {
    let inside = frets.edges().map_or(&[][..], |(first, last)| &frets.at[first..=last]);
    count(inside.iter().filter(|&&fret| fret == SILENT).count())
}

fn bass_side_mutes(frets: &Frets) -> f64 {
    count(frets.edges().map_or(0, |(first, _)| first))
}

fn treble_side_mutes(frets: &Frets) -> f64 {
    let silent = count(frets.edges().map_or(0, |(_, last)| frets.count - 1 - last));
    silent.min(1.0) + (silent - 1.0).max(0.0) / 2.0
}

/// Whether the lowest course that sounds is stopped and there are two or more silent ones beyond it.
fn has_inner_bass(frets: &Frets) -> bool {
    frets.edges().is_some_and(|(first, _)| first >= 2 && frets.at[first] != 0)
}

fn thumb_gap(frets: &Frets) -> f64 {
    let Some((first, last)) = frets.edges() else {
        return 0.0;
    };
    let gap = frets.at[(first + 1).min(last)..=last].iter().take_while(|&&fret| fret == SILENT).count();
    count(gap)
}

fn far_from_open(frets: &Frets, holder: &Holder<'_>) -> f64 {
    count(frets.used().iter().filter(|&&fret| fret == 0).count()) * (position(frets, holder) - 0.75).max(0.0)
}

fn open_between(frets: &Frets) -> f64 {
    let is_between = |around: &&[u8]| is_stopped(around[0]) && around[1] == 0 && is_stopped(around[2]);
    count(frets.used().windows(3).filter(is_between).count())
}
