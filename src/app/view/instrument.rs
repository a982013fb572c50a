//! The Instrument screen.

use crate::app::State;
use crate::app::ui;
use crate::instrument::{Bridge, Fret, Fretboard, Gauge, Instrument};

use super::custom::{Custom, whole};
use super::{count, rows};

/// Fills the Instrument screen.
pub(in crate::app) fn show_instrument(state: &State, to: &ui::InstrumentState<'_>) {
    let catalog = state.catalog();
    let wanted = state.instrument_search.trim().to_lowercase();
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
    to.set_bridge(match state.bridge() {
        Bridge::Fixed => ui::BridgeKind::Fixed,
        Bridge::Floating => ui::BridgeKind::Floating,
    });
    let capo = state.guitar.capo();
    let can_sit = |fret: u8| Fretboard::new(state.instrument(), &state.guitar.tuning(), Fret::new(fret)).is_ok();
    to.set_capo(if capo == Fret::OPEN { String::new() } else { state.instrument().fret_name(capo) }.into());
    to.set_capo_can_rise(can_sit(capo.get() + 1));
    to.set_capo_can_fall(capo.get() > 0);
    if to.get_search_text() != state.instrument_search.as_str() {
        to.set_search_text(state.instrument_search.as_str().into());
    }
}

/// Writes a set as players do, from the thickest: `.053w .042w …`, pairs joined by a plus.
fn gauges(gauges: &[Vec<Gauge>]) -> String {
    let course = |course: &Vec<Gauge>| course.iter().map(ToString::to_string).collect::<Vec<_>>().join("+");
    gauges.iter().map(course).collect::<Vec<_>>().join(" ")
}
