//! What is near: tunings by the effort to get there, and what can be played without turning a peg.

use crate::instrument::{
    Catalog, CatalogTuning, CourseIndex, Fret, Instrument, Level, PlayedWith, Strain, Strung, Tuning,
};
use crate::theory::{Pitch, ReferencePitch};

use super::progress::CourseState;

/// What each string that has to be turned costs: to be plucked, matched and turned. The unit of effort.
const PER_COURSE: f64 = 1.0;
/// What each semitone costs on top: more turns of the peg, and the longer the string creeps afterwards.
const PER_SEMITONE: f64 = 0.25;
/// What each semitone up costs on top of that: a string that is tightened can break.
const PER_SEMITONE_UP: f64 = 0.25;
/// What each string costs that ends slack, tight or too tight. The last outweighs any retuning without it.
const PER_LEVEL: [(Level, f64); 3] = [(Level::Slack, 0.5), (Level::Tight, 1.0), (Level::TooTight, 50.0)];
/// The highest capo offered, and the fewest courses that make an instrument.
const HIGHEST_CAPO: u8 = 7;
const FEWEST_COURSES: usize = 3;

/// How much work it is to get from what is on the guitar to a tuning, and what it risks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// How many courses have to be turned.
    pub courses: usize,
    /// By how many semitones in all; a course of unknown pitch counts as one.
    pub semitones: u16,
    /// How the tightest of the strings that move stands it; normal when none moves.
    pub worst: Level,
    /// Whether a string that moves would break, so that there is no plan to get there.
    pub breaks: bool,
    /// All of it in one number: strings turned, a quarter each semitone, another a semitone up, and strings that end
    /// slack (a half), tight (one) or too tight (fifty). Set by judgement.
    pub weight: f64,
}

impl Effort {
    /// Weighs the way from `now` to a tuning; `None` when it has another number of courses.
    #[must_use]
    pub fn between(strung: &Strung, now: &[CourseState], to: &Tuning, a4: ReferencePitch) -> Option<Self> {
        if now.len() != to.courses() || strung.courses() != to.courses() {
            return None;
        }
        let mut effort = Self { courses: 0, semitones: 0, worst: Level::Normal, breaks: false, weight: 0.0 };
        for (index, (now, &to)) in now.iter().zip(to.pitches()).enumerate() {
            if now.is_at(to, crate::theory::Cents::ZERO) {
                continue;
            }
            let by = if now.is_right() { (to - now.pitch()).get() } else { -1 };
            let strains = strung.strains(CourseIndex::from_lowest(index), to, crate::theory::Cents::ZERO, a4);
            let strains: Vec<Strain> = strains.collect();
            effort.courses += 1;
            effort.semitones += by.unsigned_abs();
            effort.worst = strains.iter().map(|strain| strain.level).fold(effort.worst, Level::max);
            effort.breaks |= strains.iter().any(Strain::breaks);
            effort.weight += PER_COURSE
                + PER_SEMITONE * f64::from(by.abs())
                + PER_SEMITONE_UP * f64::from(by.max(0))
                + strains.iter().map(|strain| level_weight(strain.level)).sum::<f64>();
        }
        Some(effort)
    }
}

fn level_weight(level: Level) -> f64 {
    PER_LEVEL.iter().find(|row| row.0 == level).map_or(0.0, |row| row.1)
}

/// Sorts tunings by the effort to get there from `now`, least first; those of equal effort keep their order. Tunings
/// with another number of courses are left out.
#[must_use]
pub fn nearest<'a>(
    strung: &Strung,
    now: &[CourseState],
    candidates: impl IntoIterator<Item = &'a CatalogTuning>,
    a4: ReferencePitch,
) -> Vec<(&'a CatalogTuning, Effort)> {
    let weighed =
        |tuning: &'a CatalogTuning| Effort::between(strung, now, tuning.tuning(), a4).map(|effort| (tuning, effort));
    let mut found: Vec<_> = candidates.into_iter().filter_map(weighed).collect();
    found.sort_by(|one, other| one.1.weight.total_cmp(&other.1.weight));
    found
}

/// A tuning of the catalogue that sounds without turning a peg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WithoutRetuning<'a> {
    /// Which tuning.
    pub tuning: &'a CatalogTuning,
    /// Where a capo has to sit; 0 for none.
    pub capo: Fret,
    /// The course that takes the part of the tuning's first; the others follow side by side.
    pub first: CourseIndex,
}

/// Finds the catalogue's tunings that are on the guitar already: under another name, on neighbouring courses of it, or
/// with a capo at frets 1 to 7. Whole matches first, then the lower capo, then the catalogue's order.
///
/// Only the pitch of each course's lowest string is compared. A capo is offered neither where a bar plays nor where a
/// short drone string is among the courses, which it does not reach.
#[must_use]
pub fn without_retuning<'a>(instrument: &Instrument, on: &Tuning, catalog: &'a Catalog) -> Vec<WithoutRetuning<'a>> {
    let mut found: Vec<WithoutRetuning<'a>> = Vec::new();
    let mut seen: Vec<&[Pitch]> = Vec::new();
    for tuning in catalog.tunings() {
        let wanted = tuning.tuning().pitches();
        let is_new = tuning.instrument_id() == instrument.id() || !seen.contains(&wanted);
        let fits = (FEWEST_COURSES.min(on.courses())..=on.courses()).contains(&wanted.len());
        if !fits || !is_new {
            continue;
        }
        for first in 0..=on.courses() - wanted.len() {
            let part = &on.pitches()[first..first + wanted.len()];
            let up = (wanted[0] - part[0]).get();
            let is_parallel = part.iter().zip(wanted).all(|(have, want)| (*want - *have).get() == up);
            let capo = u8::try_from(up)
                .ok()
                .map(Fret::new)
                .filter(|&capo| is_parallel && takes_capo(instrument, first..first + wanted.len(), capo));
            if let Some(capo) = capo {
                found.push(WithoutRetuning { tuning, capo, first: CourseIndex::from_lowest(first) });
                seen.push(wanted);
            }
        }
    }
    let parts = |way: &WithoutRetuning<'_>| on.courses() - way.tuning.tuning().courses();
    found.sort_by_key(|way| (parts(way), way.capo));
    found
}

fn takes_capo(instrument: &Instrument, courses: std::ops::Range<usize>, capo: Fret) -> bool {
    let reaches = |course: &crate::instrument::Course| !course.is_drone();
    capo == Fret::OPEN
        || capo.get() <= HIGHEST_CAPO
            && instrument.has_fret(capo)
            && instrument.played_with() == PlayedWith::Fingers
            && instrument.courses().get(courses).is_some_and(|courses| courses.iter().all(reaches))
}
