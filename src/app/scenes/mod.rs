//! The screens in their main states: a name each, and the taps that lead there from the first launch.

mod ears;
mod first;
mod players;
mod songs;

use super::retune::RetuneAction;
use super::state::{Action, Notice};
use super::tunings::TuningsAction;

/// A screen in one of its main states: a name, and the taps that lead there from the first launch.
pub(super) struct Scene {
    pub(super) name: &'static str,
    pub(super) taps: Vec<Action>,
    /// What is told above it.
    pub(super) notice: Option<Notice>,
}

impl Scene {
    const fn new(name: &'static str, taps: Vec<Action>) -> Self {
        Self { name, taps, notice: None }
    }
}

/// All of them.
pub(super) fn all() -> impl Iterator<Item = Scene> {
    players::scenes()
        .into_iter()
        .chain(ears::scenes())
        .chain(songs::scenes())
        .chain(first::scenes())
        .chain(first::messages())
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn search(text: &str) -> Action {
    Action::Tunings(TuningsAction::Search(text.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);
