//! Which strings are on the guitar, and what the player says of them.

use crate::instrument::{Catalog, CourseIndex, Gauge, KnownString, StringSet, Stringing, StringsAsked, Strung};
use crate::theory::ReferencePitch;

use super::{Guitar, usual};

/// What can be answered where it is asked which strings are on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StringsTold {
    /// Those that are noted.
    Noted,
    /// Those of a set: an index into [`Guitar::sets_asked`].
    Set(usize),
    /// Nobody knows.
    Unknown,
}

impl Guitar {
    /// Returns what has to be said of the strings before there is a plan; `None` when nothing has.
    #[must_use]
    pub const fn strings_asked(&self) -> Option<&StringsAsked> {
        self.settled.asked.as_ref()
    }

    /// Returns the sets that can be answered with where it is asked which strings are on: those whose strings there are
    /// others than those noted, each once.
    #[must_use]
    pub fn sets_asked(&self) -> Vec<&'static StringSet> {
        let Some(asked) = self.strings_asked() else { return Vec::new() };
        let on = |strings: &Stringing| -> Vec<Vec<Option<KnownString>>> {
            let on = |course: &CourseIndex| strings.courses().get(course.from_lowest_index()).cloned();
            asked.courses.iter().filter_map(on).collect()
        };
        let mut seen = vec![on(&self.strings)];
        let mut sets = Vec::new();
        for set in &asked.sets {
            let strings = on(set.strings());
            if set.strings().fits(self.instrument) && !seen.contains(&strings) {
                seen.push(strings);
                sets.push(*set);
            }
        }
        sets
    }

    /// Says which strings are on, where that is asked.
    pub(in crate::app) fn answer_strings(&mut self, told: StringsTold, a4: ReferencePitch) {
        let Some(courses) = self.strings_asked().map(|asked| asked.courses.clone()) else { return };
        let strings = match told {
            StringsTold::Noted => self.strings.clone(),
            StringsTold::Unknown => courses.iter().fold(self.strings.clone(), |on, &course| on.with_unknown(course)),
            StringsTold::Set(index) => {
                let Some(set) = self.sets_asked().get(index).copied() else { return };
                let set = set.strings().clone().with_scale_mm(self.strings.scale_mm());
                let on = courses.iter().fold(self.strings.clone(), |on, &course| on.with_course_of(course, &set));
                if on.courses() == set.courses() { set } else { on }
            }
        };
        self.wear(strings);
        for course in courses {
            self.doubt_unbelievable(course, a4);
        }
        if let Some(wanted) = &mut self.record.wanted {
            wanted.strings_are_told = true;
        }
    }

    /// A course whose string could not be at the pitch it is said to be at is at another.
    fn doubt_unbelievable(&mut self, course: CourseIndex, a4: ReferencePitch) {
        let index = course.from_lowest_index();
        let (Some(state), true) =
            (self.progress().on_guitar().courses().get(index).copied(), self.strings.is_known(course))
        else {
            return;
        };
        let Ok(strung) = Strung::new(self.instrument, &self.strings) else { return };
        let mut strains = strung.strains(course, state.pitch(), state.offset(), a4);
        if !strains.all(|strain| strain.is_believable()) {
            self.go_on_from(self.record.progress.clone().with_doubt(course));
        }
    }

    /// Puts a set of strings on; returns whether there is such a set for the instrument.
    /// The scale length that was entered stays.
    pub(in crate::app) fn string_with(&mut self, set_id: &str) -> bool {
        let fits = |set: &&StringSet| set.instrument_id() == self.instrument.id();
        let Some(set) = Catalog::bundled().find_string_set(set_id).filter(fits) else { return false };
        self.wear(set.strings().clone().with_scale_mm(self.strings.scale_mm()));
        true
    }

    /// The set that the wanted tuning is played on is put on where its strings are others: they are at no pitch that
    /// anybody knows.
    pub(in crate::app) fn put_set(&mut self) {
        let Some(set) = self.refusal().and_then(crate::retune::Refusal::set) else { return };
        let set = set.strings().clone().with_scale_mm(self.strings.scale_mm());
        let changed = self.strings.differing(&set);
        self.wear(set);
        for course in changed {
            self.go_on_from(self.record.progress.clone().with_doubt(course));
        }
    }

    /// This string is on, or `None` where nobody knows which. Returns whether there is such a string.
    fn note_string(&mut self, course: CourseIndex, string: usize, on: Option<KnownString>) -> bool {
        let strings = self.strings.courses().get(course.from_lowest_index());
        let is_there = strings.is_some_and(|strings| string < strings.len());
        if is_there {
            let strings = self.strings.clone();
            self.wear(match on {
                Some(on) => strings.with_string(course, string, on),
                None => strings.with_unknown(course),
            });
        }
        is_there
    }

    /// This string has been on all along; it is where it was said to be, if it can be there at all.
    pub(in crate::app) fn tell_string(
        &mut self,
        course: CourseIndex,
        string: usize,
        on: Option<KnownString>,
        a4: ReferencePitch,
    ) {
        if self.note_string(course, string, on) {
            self.doubt_unbelievable(course, a4);
        }
    }

    /// Another string is put on: it is at no pitch that anybody knows, and has to be set. Where no tuning is wanted, the
    /// one it should be in is; `id` is its id.
    pub(in crate::app) fn change_string(
        &mut self,
        course: CourseIndex,
        string: usize,
        on: Option<KnownString>,
        id: Option<String>,
    ) {
        if self.note_string(course, string, on) {
            self.doubt(course, id);
        }
    }

    /// A lighter string of the same make is put on.
    pub(in crate::app) fn put_lighter(&mut self, course: CourseIndex, string: usize, gauge: Gauge) {
        let here = self.strings.courses().get(course.from_lowest_index()).into_iter().flatten().flatten();
        let any = self.strings.courses().iter().flatten().flatten();
        if let Some(material) = here.chain(any).next().map(|on| on.material) {
            self.change_string(course, string, Some(KnownString { gauge, material }), None);
        }
    }

    /// Says how long its scale is, in millimetres; the instrument's usual length when `None` or no string is so long.
    pub(in crate::app) fn scale_with(&mut self, scale_mm: Option<f64>) {
        self.wear(self.strings.clone().with_scale_mm(scale_mm));
    }

    /// What is worn is known at once: what is done next in the same action may hang on it.
    fn wear(&mut self, strings: Stringing) {
        if let Ok(strung) = Strung::new(self.instrument, &strings) {
            self.record.strings = (strings != usual(self.instrument)).then(|| strings.clone());
            (self.strings, self.strung) = (strings, strung);
        }
    }
}
