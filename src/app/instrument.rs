//! Which instrument, which strings, which bridge, where the capo sits.

use crate::instrument::{Bridge, Fret};

use super::action::Update;
use super::state::State;

/// What the Instrument screen asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum InstrumentAction {
    /// Look for instruments by name.
    Searched(String),
    /// Take this instrument; it is in its standard tuning then.
    Instrument(String),
    /// It wears this set of strings.
    StringSet(String),
    /// It has this bridge.
    Bridge(Bridge),
    /// Move the capo by so many frets.
    CapoBy(i16),
}

pub(super) fn update(state: &mut State, action: InstrumentAction) -> Update {
    match action {
        InstrumentAction::Searched(text) => {
            state.instrument_search = text;
            return Update::Shown;
        }
        InstrumentAction::Instrument(id) => {
            if state.instrument().id() != id && state.catalog().find_instrument(&id).is_some() {
                state.take_instrument(&id);
            }
        }
        InstrumentAction::StringSet(id) => {
            let fits = |set: &crate::instrument::StringSet| set.instrument_id() == state.instrument().id();
            if state.catalog().string_sets().iter().any(|set| set.id() == id && fits(set)) {
                state.library.settings.string_set_id = Some(id);
                state.restring();
                state.replan();
            }
        }
        InstrumentAction::Bridge(bridge) => {
            state.library.settings.bridge = (bridge != state.instrument().bridge()).then_some(bridge);
            state.replan();
        }
        InstrumentAction::CapoBy(frets) => {
            let wanted = i16::from(state.guitar.capo().get()) + frets;
            if let Ok(fret) = u8::try_from(wanted) {
                state.set_capo(Fret::new(fret));
            }
        }
    }
    Update::Kept
}
