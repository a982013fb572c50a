//! What the app may ask of a machine, and what a machine tells the app.

use std::fmt;
use std::path::PathBuf;
use std::rc::Rc;
use std::time::SystemTime;

use super::device::SoundDevice;
use super::kept_files::KeptFiles;
use super::out::{OnShared, ShareFault};
use super::picker::{OnPicked, Pick, Picked};

/// Whether the app may listen through the microphone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Microphone {
    /// It may.
    Granted,
    /// The player was never asked: switch listening on by [`Machine::ask_for_microphone`].
    NotAsked,
    /// The system's own question is on the screen; the answer is known at the next [`Moment::Shown`].
    Asking,
    /// The player said no. Asking again is possible, but after a second no most systems answer for the player; the
    /// way back is then the system's settings.
    Refused,
}

/// A turn in the life of the app that the machine decides on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// The app is in front again, also for the first time: read [`Machine::microphone`] afresh.
    Shown,
    /// Another app is in front, or the screen went dark: save, stop every sound and stop listening. The app may be
    /// ended at any time from here on without a further word.
    Hidden,
    /// The system is about to forget the app and wants it to save what it holds.
    SaveNow,
    /// The system is short of memory: let go of what can be computed again.
    MemoryLow,
    /// The window is being closed for good.
    Closing,
}

/// What the app does at a [`Moment`].
pub type OnMoment = Rc<dyn Fn(Moment)>;

/// The machine the app runs on. Every call returns at once, and none can fail: a machine that cannot do a thing leaves it, or
/// tells so to whoever waits for an answer.
pub trait Machine: fmt::Debug {
    /// Returns the folder for the player's own files. It need not exist yet.
    ///
    /// `None` when the machine names no such place; the app then keeps nothing, and says so.
    fn data_folder(&self) -> Option<PathBuf>;

    /// Hands out what the machine itself keeps for the app in the place of [`Machine::data_folder`], once; `None` where that
    /// is a folder on a disk.
    fn kept_files(&self) -> Option<KeptFiles> {
        None
    }

    /// Tells the time.
    fn now(&self) -> SystemTime {
        SystemTime::now()
    }

    /// Returns the folder where the player looks for documents; `None` where the machine names none.
    fn documents_folder(&self) -> Option<PathBuf> {
        None
    }

    /// Tells whether the machine hands files on by itself: [`Machine::share`].
    fn shares(&self) -> bool {
        false
    }

    /// Hands a file to the system, which asks the player who gets it; `answer` hears what became of it.
    fn share(&self, _name: &str, _media_type: &str, _bytes: &[u8], answer: OnShared) {
        answer(Err(ShareFault::TooOld));
    }

    /// Tells whether there are files that a player may open.
    fn opens_files(&self) -> bool {
        false
    }

    /// Asks the player for a file, and returns at once; `answer` hears what was chosen.
    fn pick(&self, _pick: Pick, answer: OnPicked) {
        answer(Picked::NoPicker);
    }

    /// Tells how many levels Back goes up from what is shown, for a system that counts them. Calling it again with the same
    /// number costs nothing.
    fn show_levels(&self, _levels: usize) {}

    /// Keeps the screen on while `awake`; otherwise lets it sleep when the system likes.
    ///
    /// For views that are read with both hands on the instrument. Calling it again with the same value costs nothing.
    fn keep_awake(&self, awake: bool);

    /// Returns whether the app may listen, as known now.
    fn microphone(&self) -> Microphone;

    /// Tells whether what the player allows is set in a browser, for the page that the app is.
    fn is_page(&self) -> bool {
        false
    }

    /// Lets the system ask the player whether the app may listen. Does nothing where that is granted.
    fn ask_for_microphone(&self);

    /// Keeps where the player is, during [`Moment::SaveNow`], for the case that the system forgets the app.
    fn keep_place(&self, _place: &str) {}

    /// Hands out what [`keep_place`](Self::keep_place) kept in the app's life before, once, from the first
    /// [`Moment::Shown`] on; `None` when the system had not forgotten the app, the player had closed it, or the machine
    /// keeps no place.
    fn take_place(&self) -> Option<String> {
        None
    }

    /// Says what to do at each [`Moment`], in place of what was said before.
    ///
    /// Called on the thread that made the machine, which is the window's.
    fn on_moment(&self, handler: OnMoment);

    /// Says what to do when the system asks the program to end, by a signal: called on another thread, the window still open.
    ///
    /// A machine that tells of every end by [`Moment::Closing`] never calls it.
    fn on_end(&self, _end: Box<dyn Fn() + Send>) {}

    /// Returns its loudspeaker and microphone, nothing opened yet: those of the system.
    fn sound_device(&self) -> Box<dyn SoundDevice> {
        super::sound_device()
    }

    /// Is told which language the app speaks, by its code of ISO 639, whenever that has changed.
    fn show_language(&self, _code: &str) {}

    /// Returns the language the system is set to as a tag such as `de-AT`; `None` when it names none.
    fn language(&self) -> Option<String> {
        sys_locale::get_locale()
    }

    /// Returns whether the player has told the system to move less on the screen, as known now.
    fn wants_less_motion(&self) -> bool {
        false
    }

    /// Returns whether the player has told the system to show more contrast, as known now.
    fn wants_more_contrast(&self) -> bool {
        false
    }

    /// Returns the size of ordinary text in dp where the system has none of its own; `None` where it has.
    ///
    /// 14, that of a phone at 100 %.
    fn text_size_dp(&self) -> Option<f32> {
        Some(14.0)
    }
}
