//! Which string is on.

use crate::app::string_entry::MATERIALS;
use crate::app::{State, ui};
use crate::instrument::CourseIndex;

use super::instrument::{material, of_course};
use super::rows;

/// Fills the description of a string.
pub(in crate::app) fn show_one_string(state: &State, to: &ui::OneStringState<'_>) {
    let Some(entry) = &state.string_entry else { return };
    let courses = state.strings().courses();
    let course = CourseIndex::from_player_number(entry.number, courses.len());
    let strings = course.and_then(|course| courses.get(course.from_lowest_index())).map_or(1, Vec::len);
    to.set_course(entry.number.to_string().into());
    to.set_of_course(of_course(entry.string, strings));
    if to.get_gauge() != entry.gauge.as_str() {
        to.set_gauge(entry.gauge.as_str().into());
    }
    let read = entry.read();
    to.set_inches(read.map(|on| on.gauge.to_string()).unwrap_or_default().into());
    to.set_millimetres(read.map(|on| format!("{:.2}", on.gauge.diameter_mm())).unwrap_or_default().into());
    to.set_wound(entry.is_wound);
    to.set_material(material(entry.material));
    to.set_materials(rows(MATERIALS.map(material)));
    to.set_new(entry.is_new);
}
