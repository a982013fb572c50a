//! When what the player does goes to disk: at once, or soon while letters are typed. Knows no window and no clock.

use std::sync::Arc;
use std::time::Duration;

use crate::store::{Library, LibraryFile, Saver, Standing};

/// The first letter that is not on disk waits so long for those after it, however fast they come; a second is left for the
/// disk, so that two seconds after it was typed it is there.
pub const LONGEST_TYPED: Duration = Duration::from_millis(1_000);

/// Hands the library over to the saver in time.
#[derive(Debug)]
pub struct Keeper {
    saver: Saver,
    /// Something was typed that is not handed over.
    has_typed: bool,
}

impl Keeper {
    /// Starts a saver for this file. `ring` is called on its thread when [`Keeper::standing`] has changed.
    #[must_use]
    pub fn new(file: LibraryFile, ring: Arc<dyn Fn() + Send + Sync>) -> Self {
        Self { saver: Saver::new(file, ring), has_typed: false }
    }

    /// After a change other than a letter: hands the library over at once.
    pub fn changed(&mut self, library: &Library) {
        self.has_typed = false;
        self.saver.keep(Arc::new(library.clone()));
    }

    /// After a letter was typed into the library. Returns whether it is the first that waits: then [`Keeper::typing_ends`]
    /// has to be called [`LONGEST_TYPED`] later, whatever is typed meanwhile.
    pub const fn typed(&mut self) -> bool {
        !std::mem::replace(&mut self.has_typed, true)
    }

    /// Hands over what was typed.
    pub fn typing_ends(&mut self, library: &Library) {
        if self.has_typed {
            self.changed(library);
        }
    }

    /// Hands over what was typed and waits until everything is on disk, but no longer than `most`. Returns whether it is.
    pub fn flush(&mut self, library: &Library, most: Duration) -> bool {
        self.typing_ends(library);
        self.saver.flush(most)
    }

    /// Lets the next save keep what stands on disk as a version of its own: before much changes at once.
    pub fn keep_version(&self) {
        self.saver.keep_version();
    }

    /// Does something with the file in its turn, on the saver's thread.
    pub fn ask(&self, errand: impl FnOnce(&mut LibraryFile) + Send + 'static) {
        self.saver.ask(errand);
    }

    /// Returns how things stand.
    #[must_use]
    pub fn standing(&self) -> Standing {
        self.saver.standing()
    }
}
