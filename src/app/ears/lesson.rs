//! The first time by ear: a wobble that slows and stands still, and an octave that stands still as well. It takes the place
//! of the first step by ear, once, and comes again when it is asked for.

use crate::app::State;
use crate::app::desk::Desk;
use crate::app::guitar::Stage;
use crate::app::screen::Screen;

use crate::store::Settings;

use super::listening::{Ears, Mic};

/// Tells whether it stands where the step would.
pub(in crate::app) fn is_shown(state: &State) -> bool {
    stands(&state.ears, state, state.screen())
}

/// The same on a screen.
pub(super) fn stands(ears: &Ears, desk: &Desk, screen: Screen) -> bool {
    let is_by_ear = !matches!(ears.mic, Mic::On | Mic::Wanted | Mic::Asking);
    let is_wanted = ears.wants_lesson || !desk.library.settings.has_heard_wobble && is_by_ear;
    is_wanted && desk.guitar.stage() == Stage::Step && matches!(screen, Screen::Retune | Screen::Tunings)
}

/// Shows it again; a phone that listens does so no more.
pub(super) const fn show(ears: &mut Ears) {
    ears.wants_lesson = true;
    ears.mic = Mic::Off;
}

/// It was heard, or skipped.
pub(in crate::app) const fn end(ears: &mut Ears, settings: &mut Settings) {
    ears.wants_lesson = false;
    settings.has_heard_wobble = true;
}
