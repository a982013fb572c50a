//! A machine for tests: it does nothing by itself, remembers what was asked of it, and says what the test lets it say.

use std::cell::{Cell, RefCell};
use std::fmt;
use std::path::PathBuf;

use super::device::SoundDevice;
use super::fake_sound::FakeSound;
use super::picker::{OnPicked, Pick, Picked};
use super::{Machine, Microphone, Moment, OnMoment, OnShared, ShareFault};

/// A machine that a test plays.
pub struct Fake {
    data_folder: Option<PathBuf>,
    language: Option<String>,
    awake: Cell<bool>,
    microphone: Cell<Microphone>,
    wants_less_motion: Cell<bool>,
    is_page: Cell<bool>,
    sound: FakeSound,
    handler: RefCell<Option<OnMoment>>,
    kept_place: RefCell<Option<String>>,
    place_before: RefCell<Option<String>>,
    /// What the player chooses next, and what was asked.
    picks: RefCell<Vec<Picked>>,
    asked: RefCell<Vec<Pick>>,
    /// What becomes of files that are handed on; it hands none on while there is nothing here.
    shares: RefCell<Vec<Result<Option<String>, ShareFault>>>,
}

impl Fake {
    /// Makes a machine that has `data_folder` for the app's files and never asked about its microphone.
    #[must_use]
    pub fn new(data_folder: Option<PathBuf>) -> Self {
        Self {
            data_folder,
            language: None,
            awake: Cell::new(false),
            microphone: Cell::new(Microphone::NotAsked),
            wants_less_motion: Cell::new(false),
            is_page: Cell::new(false),
            sound: FakeSound::default(),
            handler: RefCell::new(None),
            kept_place: RefCell::new(None),
            place_before: RefCell::new(None),
            picks: RefCell::default(),
            asked: RefCell::default(),
            shares: RefCell::default(),
        }
    }

    /// Sets the machine to a language.
    #[must_use]
    pub fn with_language(self, tag: &str) -> Self {
        Self { language: Some(tag.to_owned()), ..self }
    }

    /// Makes the machine as the app finds it after the system forgot it: with the files and the place kept by `self`.
    #[must_use]
    pub fn forgotten(&self) -> Self {
        let again = Self { language: self.language.clone(), ..Self::new(self.data_folder.clone()) };
        again.microphone.set(self.microphone.get());
        again.place_before.replace(self.kept_place.take());
        again
    }

    /// Returns whether the screen is being kept on.
    #[must_use]
    pub fn is_awake(&self) -> bool {
        self.awake.get()
    }

    /// Returns the room its loudspeaker and microphone are in.
    #[must_use]
    pub const fn sound(&self) -> &FakeSound {
        &self.sound
    }

    /// Sets in the system's settings whether the screen moves less; the app is told when it is shown again.
    pub fn set_less_motion(&self, wanted: bool) {
        self.wants_less_motion.set(wanted);
    }

    /// Makes it a browser, whose page the app is.
    pub fn be_page(&self) {
        self.is_page.set(true);
    }

    /// Answers the question about the microphone, as a player does in the system's dialog: the app was hidden behind
    /// it and is shown again.
    pub fn answer(&self, granted: bool) {
        self.happen(Moment::Hidden);
        self.microphone.set(if granted { Microphone::Granted } else { Microphone::Refused });
        self.happen(Moment::Shown);
    }

    /// Chooses this file, or none, when the app next asks for one; unasked for, it says that there is no picker.
    pub fn choose(&self, picked: Picked) {
        self.picks.borrow_mut().insert(0, picked);
    }

    /// Makes it a machine that hands files on, and says what becomes of the next one.
    pub fn hand_on(&self, shared: Result<Option<String>, ShareFault>) {
        self.shares.borrow_mut().insert(0, shared);
    }

    /// Returns what files the player was asked for.
    #[must_use]
    pub fn asked(&self) -> Vec<Pick> {
        self.asked.borrow().clone()
    }

    /// Lets a moment come, on the caller's thread.
    pub fn happen(&self, moment: Moment) {
        let handler = self.handler.borrow().clone();
        if let Some(handler) = handler {
            handler(moment);
        }
    }
}

impl fmt::Debug for Fake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Fake")
            .field("data_folder", &self.data_folder)
            .field("awake", &self.awake)
            .field("microphone", &self.microphone)
            .finish_non_exhaustive()
    }
}

impl Machine for Fake {
    fn data_folder(&self) -> Option<PathBuf> {
        self.data_folder.clone()
    }

    fn opens_files(&self) -> bool {
        true
    }

    fn is_page(&self) -> bool {
        self.is_page.get()
    }

    fn shares(&self) -> bool {
        !self.shares.borrow().is_empty()
    }

    fn share(&self, _name: &str, _media_type: &str, _bytes: &[u8], answer: OnShared) {
        answer(self.shares.borrow_mut().pop().unwrap_or(Err(ShareFault::TooOld)));
    }

    fn pick(&self, pick: Pick, answer: OnPicked) {
        self.asked.borrow_mut().push(pick);
        answer(self.picks.borrow_mut().pop().unwrap_or(Picked::NoPicker));
    }

    fn keep_awake(&self, awake: bool) {
        self.awake.set(awake);
    }

    fn microphone(&self) -> Microphone {
        self.microphone.get()
    }

    fn ask_for_microphone(&self) {
        if self.microphone.get() != Microphone::Granted {
            self.microphone.set(Microphone::Asking);
        }
    }

    fn language(&self) -> Option<String> {
        self.language.clone()
    }

    fn wants_less_motion(&self) -> bool {
        self.wants_less_motion.get()
    }

    fn keep_place(&self, place: &str) {
        self.kept_place.replace(Some(place.to_owned()));
    }

    fn take_place(&self) -> Option<String> {
        self.place_before.take()
    }

    fn on_moment(&self, handler: OnMoment) {
        *self.handler.borrow_mut() = Some(handler);
    }

    fn sound_device(&self) -> Box<dyn SoundDevice> {
        Box::new(self.sound.clone())
    }
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;

    #[test]
    fn a_question_hides_the_app_and_its_answer_is_known_when_the_app_is_shown_again() {
        let machine = Rc::new(Fake::new(None));
        let seen = Rc::new(RefCell::new(Vec::new()));
        machine.on_moment(Rc::new({
            let (machine, seen) = (Rc::downgrade(&machine), Rc::clone(&seen));
            move |moment| seen.borrow_mut().push((moment, machine.upgrade().map(|machine| machine.microphone())))
        }));
        machine.ask_for_microphone();
        machine.answer(false);
        let expected = [(Moment::Hidden, Some(Microphone::Asking)), (Moment::Shown, Some(Microphone::Refused))];
        assert_eq!(*seen.borrow(), expected);
    }

    #[test]
    fn a_handler_may_put_another_in_its_place() {
        let machine = Rc::new(Fake::new(None));
        let calls = Rc::new(Cell::new(0));
        machine.on_moment(Rc::new({
            let (machine, calls) = (Rc::downgrade(&machine), Rc::clone(&calls));
            move |_| {
                calls.set(calls.get() + 1);
                if let Some(machine) = machine.upgrade() {
                    machine.on_moment(Rc::new(|_| {}));
                }
            }
        }));
        machine.happen(Moment::SaveNow);
        machine.happen(Moment::SaveNow);
        assert_eq!(calls.get(), 1);
    }
}
