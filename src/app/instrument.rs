//! Which instrument, which strings, which bridge, where the capo sits.

use crate::instrument::{Bridge, CourseIndex, Fret, KnownString};

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
    /// Another string is on a course, by its player number: the string within the course, from 0, and what is on; `None`
    /// where nobody knows which. It is at no known pitch then.
    StringOn(u8, usize, Option<KnownString>),
    /// Its scale is so many millimetres long; its usual length for `None`.
    Scale(Option<f64>),
    /// It has this bridge.
    Bridge(Bridge),
    /// Move the capo by so many frets.
    CapoBy(i16),
}

pub(super) fn update(state: &mut State, action: InstrumentAction) -> Update {
    match action {
        InstrumentAction::Searched(text) => {
            state.instrument_search = text;
        }
        InstrumentAction::Instrument(id) => {
            if state.instrument().id() != id && state.catalog().find_instrument(&id).is_some() {
                state.take_instrument(&id);
            }
        }
        InstrumentAction::StringSet(id) => {
            state.guitar.string_with(&id);
        }
        InstrumentAction::StringOn(number, string, on) => {
            if let Some(course) = CourseIndex::from_player_number(number, state.instrument().courses().len()) {
                state.guitar.change_string(course, string, on);
            }
        }
        InstrumentAction::Scale(scale_mm) => state.guitar.scale_with(scale_mm),
        InstrumentAction::Bridge(bridge) => state.guitar.bridge_with(bridge),
        InstrumentAction::CapoBy(frets) => {
            let wanted = i16::from(state.guitar.capo().get()) + frets;
            if let Ok(fret) = u8::try_from(wanted) {
                state.set_capo(Fret::new(fret));
            }
        }
    }
    Update::Shown
}
