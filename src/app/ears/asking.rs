//! Asking the system for the microphone: its answers are sent to the state as taps are.

use crate::app::State;
use crate::platform::{Machine, Microphone};

use super::listening::{EarsAction, Mic};

/// Asks the system for the microphone where the player has just wanted it. Returns whether anything changed.
pub fn follow(state: &mut State, machine: &dyn Machine) -> bool {
    if state.ears.mic != Mic::Wanted {
        return false;
    }
    if machine.microphone() != Microphone::Granted {
        machine.ask_for_microphone();
    }
    state.update(crate::app::Action::Ears(EarsAction::Permission(machine.microphone())));
    true
}

/// What the app does when it is hidden or shown again.
pub fn hide(state: &mut State, machine: &dyn Machine, is_hidden: bool) {
    let action = if is_hidden {
        EarsAction::Hidden
    } else if state.ears.mic == Mic::Asking {
        EarsAction::Permission(machine.microphone())
    } else {
        return;
    };
    state.update(crate::app::Action::Ears(action));
}
