//! The guide through the first run.

use crate::app::guide::{Guide, Hint};
use crate::app::{State, ui};

use super::count;

/// Turns what to do now into what is shown; nothing to do into the empty view.
pub(in crate::app) fn show_guide(state: &State) -> ui::GuideView {
    let lesson = state.guide.as_ref().map(Guide::lesson);
    ui::GuideView {
        hint: Guide::hint(state).map_or(ui::GuideHint::None, hint),
        tuning: lesson.map(|lesson| lesson.name.as_str()).unwrap_or_default().into(),
        strings: count(lesson.map_or(0, |lesson| lesson.strings)),
    }
}

const fn hint(hint: Hint) -> ui::GuideHint {
    match hint {
        Hint::Choose => ui::GuideHint::Choose,
        Hint::Turn => ui::GuideHint::Turn,
        Hint::TurnLast => ui::GuideHint::TurnLast,
        Hint::Check => ui::GuideHint::Check,
        Hint::ToChords => ui::GuideHint::ToChords,
        Hint::Chord => ui::GuideHint::Chord,
        Hint::Done => ui::GuideHint::Done,
    }
}
