//! The first time by ear: a wobble that slows and stands still, and an octave that stands still as well. It takes the place
//! of the first step by ear, once, and comes again when it is asked for.

use crate::app::State;
use crate::app::guitar::Stage;
use crate::app::screen::Screen;

use super::listening::Mic;

/// Tells whether it stands where the step would.
pub(in crate::app) fn is_shown(state: &State) -> bool {
    let is_by_ear = !matches!(state.ears.mic, Mic::On | Mic::Wanted | Mic::Asking);
    let is_wanted = state.ears.wants_lesson || !state.library.settings.has_heard_wobble && is_by_ear;
    is_wanted && state.guitar.stage() == Stage::Step && matches!(state.screen(), Screen::Retune | Screen::Tunings)
}

/// Shows it again; a phone that listens does so no more.
pub(super) fn show(state: &mut State) {
    state.ears.wants_lesson = true;
    state.ears.mic = Mic::Off;
}

/// It was heard, or skipped.
pub(in crate::app) fn end(state: &mut State) {
    state.ears.wants_lesson = false;
    state.library.settings.has_heard_wobble = true;
}
