//! The screens in their main states: a name each, and the taps that lead there from the first launch.

mod ears;
mod explained;
mod first;
mod players;
mod songs;
mod tune;

use super::action::Action;
use super::notice::Notice;
use super::retune::RetuneAction;
use super::tunings::TuningsAction;

/// A screen in one of its main states: a name, and the taps that lead there from the first launch.
#[derive(Clone, Debug)]
pub struct Scene {
    /// What its pictures are called.
    pub name: &'static str,
    /// What leads there.
    pub taps: Vec<Action>,
    /// What is told above it.
    pub notice: Option<Notice>,
}

impl Scene {
    const fn new(name: &'static str, taps: Vec<Action>) -> Self {
        Self { name, taps, notice: None }
    }
}

/// Returns the screens in their main states: they are drawn, and the tests hold each of them to every size.
#[must_use]
pub fn scenes() -> Vec<Scene> {
    let mut all = players::scenes();
    all.extend(ears::scenes());
    all.extend(explained::scenes());
    all.extend(songs::scenes());
    all.extend(tune::scenes());
    all.extend(first::scenes());
    all.extend(first::messages());
    all
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn search(text: &str) -> Action {
    Action::Tunings(TuningsAction::Search(text.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);
