//! Which strings a player must be asked about before a plan is made.

use super::catalog::{Catalog, StringSet};
use super::course::CourseIndex;
use super::model::Instrument;
use super::stringing::Stringing;
use super::strung::Strung;
use super::tuning::Tuning;
use crate::theory::{Cents, ReferencePitch};

/// What has to be known before a plan is made: which strings are on some courses.
#[derive(Clone, Debug, PartialEq)]
pub struct StringsAsked {
    /// The courses in question, from the highest player number on.
    pub courses: Vec<CourseIndex>,
    /// The sets they may be of: what the record says is on, what the tuning it is in is played on, what the tuning to come
    /// is played on; each once. There may be others.
    pub sets: Vec<&'static StringSet>,
    /// The set the tuning to come is played on; `None` where no set for this instrument is listed.
    pub wanted: Option<&'static StringSet>,
}

/// Tells what to ask before a plan from `now` to `to` is made, with the strings `on` that the record says are on; `None`
/// when there is nothing to ask.
///
/// It is asked when the two tunings are played on different sets ([`Catalog::strings_for`]): someone who goes there or
/// comes from there may have put other strings on. It is asked as well when the record cannot be true: a string would break
/// or hang loose at the pitch it is said to be at. Ask once a retuning; with the answer in the record
/// ([`Stringing::with_string`], [`Stringing::with_unknown`], or a whole set) the plan is made, and refused where a string
/// would break all the same.
#[must_use]
pub fn strings_asked(
    instrument: &Instrument,
    on: &Stringing,
    now: &Tuning,
    to: &Tuning,
    a4: ReferencePitch,
) -> Option<StringsAsked> {
    let catalog = Catalog::bundled();
    let (from_set, wanted) = (catalog.strings_for(instrument, now), catalog.strings_for(instrument, to));
    let mut courses = restrung_between(instrument, now, to);
    for course in impossible(instrument, on, now, a4) {
        if !courses.contains(&course) {
            courses.push(course);
        }
    }
    if courses.is_empty() {
        return None;
    }
    courses.sort_by_key(|course| course.from_lowest_index());
    let recorded = on.set_id().and_then(|id| catalog.find_string_set(id));
    let mut sets: Vec<&'static StringSet> = Vec::new();
    for set in [recorded, from_set, wanted].into_iter().flatten() {
        if !sets.iter().any(|known| known.id() == set.id()) {
            sets.push(set);
        }
    }
    Some(StringsAsked { courses, sets, wanted })
}

/// Returns the courses on which two tunings of an instrument are played on different strings, from the highest player
/// number on: where their sets differ ([`Catalog::strings_for`]); where a tuning needs strings of which no set for this
/// instrument is listed, every course that moves.
#[must_use]
pub fn restrung_between(instrument: &Instrument, before: &Tuning, after: &Tuning) -> Vec<CourseIndex> {
    let catalog = Catalog::bundled();
    match (catalog.strings_for(instrument, before), catalog.strings_for(instrument, after)) {
        (Some(before), Some(after)) if before.id() == after.id() => Vec::new(),
        (Some(before), Some(after)) => before.strings().differing(after.strings()),
        _ => moved(before, after),
    }
}

fn moved(now: &Tuning, to: &Tuning) -> Vec<CourseIndex> {
    let pairs = now.pitches().iter().zip(to.pitches()).enumerate();
    pairs.filter(|(_, (now, to))| now != to).map(|(index, _)| CourseIndex::from_lowest(index)).collect()
}

/// Returns the courses whose known strings could not be where they are said to be.
fn impossible(instrument: &Instrument, on: &Stringing, now: &Tuning, a4: ReferencePitch) -> Vec<CourseIndex> {
    let Ok(strung) = Strung::new(instrument, on) else { return Vec::new() };
    let is_such = |(index, &pitch): (usize, &_)| {
        let course = CourseIndex::from_lowest(index);
        let is_known = on.is_known(course);
        let is_believable = strung.strains(course, pitch, Cents::ZERO, a4).all(|strain| strain.is_believable());
        (is_known && !is_believable).then_some(course)
    };
    now.pitches().iter().enumerate().filter_map(is_such).collect()
}
