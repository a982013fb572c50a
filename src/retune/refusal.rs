//! Why a plan is not made: a string would break.

use std::fmt;

use crate::instrument::{Catalog, CourseIndex, Gauge, StringSet};

use super::plan::PlanRequest;
use super::safety::{Remedy, StringLoad};

/// A string that would break on its way to the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breaking {
    /// Which course.
    pub course: CourseIndex,
    /// The player's number of the course.
    pub number: u8,
    /// Which string of it, from 0, in the order of the course's offsets.
    pub string: usize,
    /// What is on; `None` when that is not known, so that the worst is taken.
    pub gauge: Option<Gauge>,
    /// The pull at the target as a share of the least strength of a string of this kind, 1 or more.
    pub share_of_strength: f64,
    /// A string that stands the target, where one does.
    pub instead: Option<Gauge>,
}

/// What stands against a plan, and what to put on instead.
///
/// Written out it is one sentence for a player: which string, by how much, what to put on.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    breaks: Vec<Breaking>,
    set: Option<&'static StringSet>,
    remedies: Vec<Remedy>,
}

impl Refusal {
    /// Looks for strings that move and would break.
    pub(super) fn find(request: &PlanRequest<'_>, loads: &[StringLoad], remedies: &[Remedy]) -> Option<Self> {
        let courses = request.instrument.courses().len();
        let instead = |load: &StringLoad| {
            remedies.iter().find_map(|remedy| match remedy {
                Remedy::LighterString { course, string, gauge } if (*course, *string) == (load.course, load.string) => {
                    Some(*gauge)
                }
                _ => None,
            })
        };
        let breaks: Vec<Breaking> = loads
            .iter()
            .filter(|load| load.breaks())
            .map(|load| Breaking {
                course: load.course,
                number: load.course.player_number(courses),
                string: load.string,
                gauge: load.gauge,
                share_of_strength: load.share_of_strength,
                instead: instead(load),
            })
            .collect();
        let set = Catalog::bundled().strings_for(request.instrument, request.to);
        // A set whose own strings break there as well is no help.
        let is_other = |set: &&StringSet| {
            breaks.iter().any(|breaking| {
                let on = |strings: &crate::instrument::Stringing| {
                    strings.courses().get(breaking.course.from_lowest_index()).cloned()
                };
                on(set.strings()) != on(request.strings)
            })
        };
        let set = set.filter(is_other);
        (!breaks.is_empty()).then(|| Self { breaks, set, remedies: remedies.to_vec() })
    }

    /// Returns the strings that would break, from the highest player number on; at least one.
    #[must_use]
    pub fn breaks(&self) -> &[Breaking] {
        &self.breaks
    }

    /// Returns the set the target is played on, where other strings of it belong on the courses that would break.
    #[must_use]
    pub const fn set(&self) -> Option<&'static StringSet> {
        self.set
    }

    /// Returns what to do instead, as [`super::Safety::remedies`].
    #[must_use]
    pub fn remedies(&self) -> &[Remedy] {
        &self.remedies
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, breaking) in self.breaks.iter().enumerate() {
            let number = breaking.number;
            let percent = (breaking.share_of_strength * 100.0).round();
            write!(f, "{}string {number} ", if index == 0 { "" } else { "; " })?;
            match breaking.gauge {
                Some(gauge) => write!(f, "({gauge}) would break: {percent} % of what it stands")?,
                None => write!(f, "is not known and could break: up to {percent} % of what it stands")?,
            }
            match breaking.instead {
                Some(gauge) => write!(f, ", a {gauge} would hold")?,
                None => write!(f, ", and no string there would hold")?,
            }
        }
        if let Some(set) = self.set {
            write!(f, "; this tuning is played on the set {}", set.id())?;
        }
        Ok(())
    }
}
