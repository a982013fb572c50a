//! What a screen asks for beyond the guitar and the library: it says what happens next, and the state does it.

use crate::instrument::Tuning;
use crate::store::Wanted;

use super::action::Update;
use super::notice::Notice;
use super::screen::{Screen, Tab};
use super::state::State;

/// What happens after a screen has had its way with the guitar and the library.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Next {
    /// The screen is drawn again.
    Shown,
    /// Besides, something was typed.
    Typed,
    /// This tab opens.
    Tab(Tab),
    /// The shapes of what is on the guitar open.
    Shapes,
    /// This screen is left.
    Leave(Screen),
    /// The player is told.
    Tell(Notice),
    /// The way to a tuning begins.
    Retune(Tuning, Wanted),
    /// This instrument is taken in hand.
    Take(String),
    /// It is said which string is on: of the course with this player number, the string in this place, from 0.
    Describe(u8, usize),
    /// Notes are called otherwise from now on.
    NotesRenamed,
}

impl State {
    /// Does what a screen asked for.
    pub(super) fn go_on(&mut self, next: Next) -> Update {
        match next {
            Next::Shown => {}
            Next::Typed => return Update::Typed,
            Next::Tab(tab) => return self.open_tab(tab),
            Next::Shapes => {
                self.look_back();
                return self.open_tab(Tab::Shapes);
            }
            Next::Leave(screen) => return self.leave(screen),
            Next::Tell(notice) => self.tell(notice),
            Next::Retune(tuning, wanted) => return super::retune::start(self, tuning, wanted),
            Next::Take(id) => self.take_instrument(&id),
            Next::Describe(number, string) => return super::string_entry::open(self, number, string),
            Next::NotesRenamed => super::own_tuning::rewrite(self),
        }
        Update::Shown
    }
}
