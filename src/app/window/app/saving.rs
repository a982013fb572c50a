//! Seeing to it that what is entered gets to disk, and what the saver's thread is asked.

use std::rc::Weak;
use std::sync::PoisonError;
use std::time::Duration;

use crate::app::action::Action;
use crate::app::keeping::{Keeper, LONGEST_TYPED};
use crate::app::notice::Notice;
use crate::store::{LibraryFile, Storage};

use super::{Answer, App};

/// When the app is left, the disk is waited for so long. The phone's system gives an app five seconds before it calls it
/// stuck (Android's documentation, "ANRs").
const LONGEST_LEAVE: Duration = Duration::from_secs(4);

impl App {
    /// Hands the library over to be saved.
    pub(super) fn keep(&self) {
        self.typing.stop();
        if let Some(keeper) = self.keeper.borrow_mut().as_mut() {
            keeper.changed(&self.state.borrow().library);
        }
    }

    /// After a letter: the library is handed over soon, however long the typing goes on.
    pub(super) fn keep_soon(&self) {
        if !self.keeper.borrow_mut().as_mut().is_some_and(Keeper::typed) {
            return;
        }
        let app = Weak::clone(&self.me);
        self.typing.start(slint::TimerMode::SingleShot, LONGEST_TYPED, move || {
            if let Some(app) = app.upgrade()
                && let Some(keeper) = app.keeper.borrow_mut().as_mut()
            {
                keeper.typing_ends(&app.state.borrow().library);
            }
        });
    }

    /// Waits until everything is on disk; a disk that takes longer than [`LONGEST_LEAVE`] is not waited for.
    pub fn save(&self) {
        self.typing.stop();
        if let Some(keeper) = self.keeper.borrow_mut().as_mut() {
            keeper.flush(&self.state.borrow().library, LONGEST_LEAVE);
        }
        self.look_at_saver();
    }

    /// Tells what came of saving. Returns whether there is anything new to show.
    pub(super) fn look_at_saver(&self) -> bool {
        let Some(standing) = self.keeper.borrow().as_ref().map(Keeper::standing) else { return false };
        let mut state = self.state.borrow_mut();
        let mut is_new = false;
        for path in standing.set_aside {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            state.tell(Notice::SetAside(name.into_owned()));
            is_new = true;
        }
        let unsaved = standing.fault.map(Notice::SaveFailed);
        if *self.unsaved.borrow() != unsaved {
            if let Some(notice) = &unsaved {
                state.tell(notice.clone());
            }
            *self.unsaved.borrow_mut() = unsaved;
            is_new = true;
        }
        is_new
    }

    /// Asks the saver's thread for something; its answer is heard like news.
    pub(in crate::app::window) fn ask(&self, errand: impl FnOnce(&mut LibraryFile) -> Action + Send + 'static) {
        let (answers, ring) = self.post();
        if let Some(keeper) = self.keeper.borrow().as_ref() {
            keeper.ask(move |file| {
                let answer = errand(file);
                let answer: Answer = Box::new(move |app| {
                    app.act(answer);
                });
                answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
                ring();
            });
        }
    }

    /// Returns whether there is a thread for files.
    pub(in crate::app::window) fn has_saver(&self) -> bool {
        self.keeper.borrow().is_some()
    }

    /// Lets the next save keep what stands on disk as a version of its own.
    pub(in crate::app::window) fn keep_version(&self) {
        if let Some(keeper) = self.keeper.borrow().as_ref() {
            keeper.keep_version();
        }
    }

    /// Tells again why what is entered is not on disk.
    pub(in crate::app::window) fn tell_unsaved(&self) {
        let unsaved = self.unsaved.borrow().clone();
        if let Some(notice) = unsaved {
            self.state.borrow_mut().tell(notice);
            self.show();
        }
    }

    /// Reads a file that lies beside the library.
    pub(in crate::app::window) fn read_kept(&self, name: &str) -> std::io::Result<Vec<u8>> {
        let path = self.folder().unwrap_or_default().join(name);
        match &self.held {
            Some(held) => held.read(&path, usize::MAX),
            None => crate::store::read_file(&path),
        }
    }
}
