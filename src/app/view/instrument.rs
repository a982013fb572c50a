//! The Instrument screen.

use crate::app::State;
use crate::app::instrument::read_scale;
use crate::app::ui;
use crate::instrument::{Bridge, Fret, Fretboard, Gauge, Instrument, Material};

use super::custom::{Custom, decimal, whole};
use super::{count, rows};

/// Fills the Instrument screen.
pub(in crate::app) fn show_instrument(state: &State, to: &ui::InstrumentState<'_>) {
    let catalog = state.catalog();
    let wanted = state.instrument_fields.search.trim().to_lowercase();
    let language = state.language();
    let has = |name: &str| name.to_lowercase().contains(&wanted);
    let fits = |instrument: &&Instrument| has(instrument.name_in(language)) || has(instrument.name());
    let custom = Custom::of(state);
    to.set_instruments(rows(catalog.instruments().iter().filter(fits).map(|instrument| ui::InstrumentRow {
        id: instrument.id().into(),
        name: instrument.name_in(language).into(),
        notes: custom.tuning(catalog.standard_of(instrument).spelled()).join(" ").into(),
        courses: count(instrument.courses().len()),
        scale_mm: whole(instrument.scale_mm()).into(),
        chosen: instrument.id() == state.instrument().id(),
    })));
    let worn = state.strings();
    let sets = catalog.string_sets().iter().filter(|set| set.instrument_id() == state.instrument().id());
    to.set_string_sets(rows(sets.map(|set| ui::StringSetRow {
        id: set.id().into(),
        name: set.name().into(),
        gauges: gauges(set.gauges()).into(),
        chosen: Some(set.id()) == worn.set_id(),
    })));
    to.set_chosen_name(state.instrument().name_in(language).into());
    let set = worn.set_id().and_then(|id| catalog.find_string_set(id));
    to.set_chosen_set(set.map(|set| set.name()).unwrap_or_default().into());
    to.set_set_changed(set.is_some_and(|set| set.strings().courses() != worn.courses()));
    show_worn(state, to);
    to.set_bridge(match state.bridge() {
        Bridge::Fixed => ui::BridgeKind::Fixed,
        Bridge::Floating => ui::BridgeKind::Floating,
    });
    let capo = state.guitar.capo();
    let can_sit = |fret: u8| Fretboard::new(state.instrument(), &state.guitar.tuning(), Fret::new(fret)).is_ok();
    to.set_capo(if capo == Fret::OPEN { String::new() } else { state.instrument().fret_name(capo) }.into());
    to.set_capo_can_rise(can_sit(capo.get() + 1));
    to.set_capo_can_fall(capo.get() > 0);
    if to.get_search_text() != state.instrument_fields.search.as_str() {
        to.set_search_text(state.instrument_fields.search.as_str().into());
    }
}

/// The strings one by one, and the length they sound over.
fn show_worn(state: &State, to: &ui::InstrumentState<'_>) {
    let worn = state.strings();
    let count = worn.courses().len();
    let strings = worn.courses().iter().enumerate().flat_map(|(index, course)| {
        let number = (count - index).to_string();
        course.iter().enumerate().map(move |(place, on)| ui::WornString {
            course: number.as_str().into(),
            place: super::count(place),
            of_course: of_course(place, course.len()),
            gauge: on.map(|on| on.gauge.to_string()).unwrap_or_default().into(),
            material: on.map_or(ui::StringMaterial::Bronze, |on| material(on.material)),
        })
    });
    to.set_strings(rows(strings));
    let usual = state.instrument().scale_mm();
    to.set_usual_scale(decimal(usual).into());
    let typed = state.instrument_fields.scale.clone();
    to.set_scale_unreadable(typed.as_deref().is_some_and(|typed| read_scale(typed).is_none()));
    let text = typed.unwrap_or_else(|| worn.scale_mm().map(decimal).unwrap_or_default());
    if to.get_scale_text() != text.as_str() {
        to.set_scale_text(text.into());
    }
}

/// Which string of a course of several, from 1; empty where it has one.
pub(super) fn of_course(place: usize, strings: usize) -> slint::SharedString {
    if strings > 1 { (place + 1).to_string().into() } else { slint::SharedString::default() }
}

/// What a string is made of, as Slint names it.
pub(super) const fn material(material: Material) -> ui::StringMaterial {
    match material {
        Material::Bronze => ui::StringMaterial::Bronze,
        Material::Nickel => ui::StringMaterial::Nickel,
        Material::Steel => ui::StringMaterial::Steel,
        Material::Nylon => ui::StringMaterial::Nylon,
        Material::Fluorocarbon => ui::StringMaterial::Fluorocarbon,
        Material::Gut => ui::StringMaterial::Gut,
    }
}

/// Writes a set as players do, from the thickest: `.053w .042w …`, pairs joined by a plus.
fn gauges(gauges: &[Vec<Gauge>]) -> String {
    let course = |course: &Vec<Gauge>| course.iter().map(ToString::to_string).collect::<Vec<_>>().join("+");
    gauges.iter().map(course).collect::<Vec<_>>().join(" ")
}
