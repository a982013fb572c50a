//! What is kept beside the library: versions from before, whole files set aside, and parts that could not be read.

use crate::store::{Library, Version};

use super::action::Update;
use super::exchange::Exchange;
use super::notice::Notice;
use super::screen::Screen;
use super::state::State;

/// What the screen for it shows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// The files beside the library, newest first; `None` until they are listed.
    pub versions: Option<Vec<Version>>,
    /// Where something was handed out to, or why it could not be; or why a file cannot be read.
    pub told: Option<Result<String, String>>,
}

/// What becomes of a version that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// It is looked into: its items are compared with what is here, to be taken in one by one.
    Look,
    /// It takes the place of all that is here.
    Restore,
}

/// What the screen asks for, and what it is answered.
#[derive(Clone, Debug, PartialEq)]
pub enum KeptAction {
    /// These files lie beside the library.
    Listed(Vec<Version>),
    /// A version was read.
    Loaded(Wanted, Box<Library>),
    /// Something was written to this file, or could not be done for this reason.
    Told(Result<String, String>),
    /// Let go of a part that was set aside, by its place.
    LetGo(usize),
}

pub(super) fn update(state: &mut State, action: KeptAction) -> Update {
    match action {
        KeptAction::Listed(versions) => state.beside.versions = Some(versions),
        KeptAction::Told(told) => state.beside.told = Some(told),
        KeptAction::Loaded(Wanted::Look, library) => {
            let items = state.library.compare(&library);
            let out = state.exchange.out.take();
            state.exchange = Exchange { items, incoming: Some(library), out, ..Exchange::default() };
            return state.show(Screen::Exchange);
        }
        KeptAction::Loaded(Wanted::Restore, library) => {
            state.library.restore(*library);
            state.undo = None;
            state.tell(Notice::Restored);
        }
        KeptAction::LetGo(index) => drop(state.library.forget_set_aside(index)),
    }
    Update::Shown
}
