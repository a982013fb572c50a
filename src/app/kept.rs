//! What is kept beside the library: versions from before, whole files set aside, and parts that could not be read.

use crate::store::{Library, Version};

use super::exchange::Exchange;
use super::next::Next;
use super::notice::Notice;
use super::screen::Screen;

/// What the screen for it shows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// The files beside the library, newest first; `None` until they are listed.
    pub versions: Option<Vec<Version>>,
    /// Where something was handed out to, or why it could not be; or why a file cannot be read.
    pub told: Option<Result<String, String>>,
    /// Which page of the parts is shown, from 0.
    pub page: usize,
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
    /// Show a page of the parts, from 0.
    Page(usize),
    /// Let go of a part that was set aside, by its place.
    LetGo(usize),
}

/// So many parts are shown on one page.
pub const MOST_PARTS: usize = 40;

/// Returns how many pages the parts fill that could not be read; at least one.
#[must_use]
pub fn part_pages(library: &Library) -> usize {
    library.set_aside().len().div_ceil(MOST_PARTS).max(1)
}

pub(super) fn update(kept: &mut Kept, exchange: &mut Exchange, library: &mut Library, action: KeptAction) -> Next {
    match action {
        KeptAction::Listed(versions) => kept.versions = Some(versions),
        KeptAction::Told(told) => kept.told = Some(told),
        KeptAction::Loaded(Wanted::Look, read) => {
            let items = library.compare(&read);
            let out = exchange.out.take();
            *exchange = Exchange { items, incoming: Some(read), out, ..Exchange::default() };
            return Next::Show(Screen::Exchange);
        }
        KeptAction::Loaded(Wanted::Restore, read) => {
            library.restore(*read);
            return Next::Changed.then(Next::Tell(Notice::Restored));
        }
        KeptAction::Page(page) => kept.page = page.min(part_pages(library) - 1),
        KeptAction::LetGo(index) => drop(library.forget_set_aside(index)),
    }
    Next::Shown
}
