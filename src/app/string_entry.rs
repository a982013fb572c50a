//! Saying which string is on: how thick, plain or wound, of what, and whether it was just put on.

use crate::instrument::{Catalog, CourseIndex, Gauge, KnownString, Material, Stringing};
use crate::store::Library;

use super::guitar::Guitar;
use super::next::Next;
use super::retune::id_of_present;
use super::screen::Screen;

/// The string that is being described.
#[derive(Clone, Debug, PartialEq)]
pub struct StringEntry {
    /// The player's number of its course.
    pub number: u8,
    /// Which string of the course, from 0.
    pub string: usize,
    /// The gauge as typed: thousandths of an inch, inches or millimetres.
    pub gauge: String,
    /// A wire is wrapped round it.
    pub is_wound: bool,
    /// What it is made of.
    pub material: Material,
    /// It was just put on: it is at no pitch that anybody knows.
    pub is_new: bool,
}

impl StringEntry {
    /// Returns the string that is described; `None` while its gauge cannot be read, or no string is so thick.
    #[must_use]
    pub fn read(&self) -> Option<KnownString> {
        let gauge = Gauge::read(&self.gauge)?;
        let gauge = Gauge::new(gauge.diameter_mm(), self.is_wound || gauge.is_wound())?;
        Some(KnownString { gauge, material: self.material })
    }

    fn change(&mut self, action: StringEntryAction) {
        match action {
            StringEntryAction::Gauge(text) => {
                self.is_wound |= Gauge::read(&text).is_some_and(Gauge::is_wound);
                self.gauge = text;
            }
            StringEntryAction::Wound(is_wound) => {
                self.is_wound = is_wound;
                if !is_wound {
                    self.gauge = self.gauge.trim_end().trim_end_matches(['w', 'W']).to_owned();
                }
            }
            StringEntryAction::Made(index) => self.material = MATERIALS.get(index).copied().unwrap_or(self.material),
            StringEntryAction::New(is_new) => self.is_new = is_new,
            StringEntryAction::Take | StringEntryAction::Unknown => {}
        }
    }
}

/// What can be said of a string.
#[derive(Clone, Debug, PartialEq)]
pub enum StringEntryAction {
    /// It is so thick.
    Gauge(String),
    /// It is wound, or plain.
    Wound(bool),
    /// It is made of this; an index into [`MATERIALS`].
    Made(usize),
    /// It was just put on, or has been on all along.
    New(bool),
    /// That is all: it is noted.
    Take,
    /// Nobody knows which string is on.
    Unknown,
}

/// What strings are made of, in the order they are offered.
pub const MATERIALS: [Material; 6] =
    [Material::Bronze, Material::Nickel, Material::Steel, Material::Nylon, Material::Fluorocarbon, Material::Gut];

/// Opens the description of a string as it is noted.
pub(super) fn open(described: &mut Option<StringEntry>, guitar: &Guitar, number: u8, string: usize) -> Next {
    let courses = guitar.strings().courses();
    let course = CourseIndex::from_player_number(number, courses.len());
    let Some(on) = course.and_then(|course| courses.get(course.from_lowest_index())?.get(string).copied()) else {
        return Next::Shown;
    };
    let usual = || Catalog::bundled().strings_of(guitar.instrument()).material();
    let material = on.or_else(|| any_of(guitar.strings())).map_or_else(usual, |on| on.material);
    *described = Some(StringEntry {
        number,
        string,
        gauge: on.map(written).unwrap_or_default(),
        is_wound: on.is_some_and(|on| on.gauge.is_wound()),
        material,
        is_new: false,
    });
    Next::Show(Screen::OneString)
}

fn any_of(strings: &Stringing) -> Option<KnownString> {
    strings.courses().iter().flatten().flatten().next().copied()
}

/// Writes a gauge as it is sold: thousandths of an inch for steel, millimetres for nylon and gut.
fn written(on: KnownString) -> String {
    let mm = on.gauge.diameter_mm();
    let trim = |text: String| text.trim_end_matches('0').trim_end_matches('.').to_owned();
    match on.material {
        Material::Bronze | Material::Nickel | Material::Steel => trim(format!("{:.1}", mm / 0.0254)),
        Material::Nylon | Material::Fluorocarbon | Material::Gut => format!("{} mm", trim(format!("{mm:.3}"))),
    }
}

pub(super) fn update(
    described: &mut Option<StringEntry>,
    guitar: &mut Guitar,
    library: &Library,
    action: StringEntryAction,
) -> Next {
    let Some(entry) = described else { return Next::Shown };
    let on = match action {
        StringEntryAction::Take => entry.read().map(Some),
        StringEntryAction::Unknown => Some(None),
        other => {
            entry.change(other);
            None
        }
    };
    let (Some(on), Some(entry)) = (on, described.clone()) else { return Next::Shown };
    *described = None;
    if let Some(course) = CourseIndex::from_player_number(entry.number, guitar.instrument().courses().len()) {
        if entry.is_new {
            let id = id_of_present(guitar, library);
            guitar.change_string(course, entry.string, on, id);
        } else {
            guitar.tell_string(course, entry.string, on, library.settings.reference());
        }
    }
    Next::Leave(Screen::OneString)
}
