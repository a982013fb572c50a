//! What a tap took away, until it is taken back or something else is changed.

use crate::songs::{SetEntry, SetList, SetListId, Song};
use crate::store::{Favourite, GuitarNow, RemovedSong, RemovedTuning, TakenIn};

use super::action::Update;
use super::notice::Notice;
use super::state::State;

/// The last thing that can be taken back.
#[derive(Clone, Debug, PartialEq)]
pub enum Undo {
    /// One of the player's own tunings was deleted.
    DeletedTuning(Box<RemovedTuning>),
    /// A song was deleted.
    DeletedSong(Box<RemovedSong>),
    /// A set list was deleted from its place.
    DeletedSetList(usize, SetList),
    /// A song was changed: this is what it was.
    Song(Box<Song>),
    /// A set list was put in another order: this is the one it had.
    SetList(SetList),
    /// A song was taken out of a set list: its place there.
    Place(SetListId, usize, SetEntry),
    /// The mark was taken off a shape, which had this place among the marked ones.
    Favourite(usize, Favourite),
    /// Something was taken in; with settings among it, what was on the guitar before.
    TakenIn(Box<TakenIn>, Option<Box<GuitarNow>>),
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
            Undo::DeletedTuning(removed) => self.library.restore_own_tuning(*removed),
            Undo::DeletedSong(removed) => self.library.restore_song(*removed),
            Undo::DeletedSetList(place, list) => self.library.restore_set_list((place, list)),
            Undo::Song(song) => {
                self.library.replace_song(*song);
            }
            Undo::SetList(list) => {
                self.library.replace_set_list(list);
            }
            Undo::Place(id, place, entry) => {
                if let Some(mut list) = self.library.find_set_list(id).cloned() {
                    list.entries.insert(place.min(list.entries.len()), entry);
                    self.library.replace_set_list(list);
                }
            }
            Undo::Favourite(place, favourite) => self.library.restore_favourite((place, favourite)),
            Undo::TakenIn(taken, before) => {
                if let Some(before) = before {
                    self.guitar.fit_like(&before);
                }
                self.library.give_back(*taken);
            }
        }
        self.set_list.forget_search();
        super::song_edit::read_again(&mut self.editing_song, &self.desk.library);
        Update::Shown
    }
}
