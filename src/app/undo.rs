//! What a tap took away, until it is taken back or something else is changed.

use crate::songs::{SetList, Song};
use crate::store::{Library, RemovedSong};

use super::action::Update;
use super::notice::Notice;
use super::state::State;

/// The last thing that can be taken back.
#[derive(Clone, Debug, PartialEq)]
pub enum Undo {
    /// A song was deleted.
    DeletedSong(Box<RemovedSong>),
    /// A set list was deleted from its place.
    DeletedSetList(usize, SetList),
    /// A song was changed: this is what it was.
    Song(Box<Song>),
    /// A set list was changed: this is what it was.
    SetList(SetList),
    /// Something was taken in: this is what was there.
    Content(Box<Library>),
}

impl Undo {
    /// Remembers all songs, set lists, own tunings and settings.
    pub(super) fn content_of(state: &State) -> Self {
        Self::Content(Box::new(state.library.clone()))
    }
}

impl State {
    /// Tells the player what was done, and remembers how to take it back. What was told before and cannot be taken back
    /// is told again after it.
    pub(super) fn tell_done(&mut self, notice: Notice, undo: Undo) {
        let told = self.notice.replace(notice);
        if self.undo.replace(undo).is_none()
            && let Some(told) = told
        {
            self.tell_next(told);
        }
    }

    /// After another change: what was done before cannot be taken back by itself any more.
    pub(super) fn forget_undo(&mut self) {
        if self.undo.take().is_some() {
            self.close_notice();
        }
    }

    /// Takes the last thing back.
    pub(super) fn take_back(&mut self) -> Update {
        let Some(undo) = self.undo.take() else { return Update::Shown };
        self.close_notice();
        match undo {
            Undo::DeletedSong(removed) => self.library.restore_song(*removed),
            Undo::DeletedSetList(place, list) => self.library.restore_set_list((place, list)),
            Undo::Song(song) => {
                self.library.replace_song(*song);
            }
            Undo::SetList(list) => {
                self.library.replace_set_list(list);
            }
            Undo::Content(before) => self.library.restore_content(*before),
        }
        self.set_list.forget_search();
        Update::Kept
    }
}
