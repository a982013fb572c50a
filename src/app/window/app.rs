//! The running app: its state, its window, and what it keeps.

use std::cell::{Cell, RefCell};
use std::rc::{Rc, Weak};
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, SystemTime};

use i_slint_core::debug_log::{LogMessage, LogMessageSource, default_log_message};
use i_slint_core::window::WindowInner;
use slint::{ComponentHandle, SharedString};

use crate::app::action::{Action, Update};
use crate::app::ears::{EarsAction, EarsLine, follow, hide};
use crate::app::exchange::ExchangeAction;
use crate::app::keeping::Keeper;
use crate::app::notice::Notice;
use crate::app::ordering::OrderTold;
use crate::app::playing::PlayingAction;
use crate::app::reminder::wants_day;
use crate::app::screen::Screen;
use crate::app::set_list::SetListAction;
use crate::app::state::State;
use crate::app::{TabRoom, TuneAction, ui, view};
use crate::instrument::Language;
use crate::platform::{Fake, Machine, Moment};
use crate::sheet::Paper;
use crate::songs::SongId;
use crate::store::{Disk, Held, LibraryFile, Storage};

mod filling;
mod saving;

use filling::TuningsKey;

use super::files::Answer;
use super::kept;
use super::keys::Keys;
use super::kinds::tab_view;
use super::order_line::OrderLine;
use super::song_taps::now_ms;
use super::tune_line::TuneLine;

/// The running app: its state, its window, and where its library is kept.
pub struct App {
    /// Itself, for what is done later.
    me: Weak<Self>,
    state: RefCell<State>,
    window: ui::AppWindow,
    machine: Rc<dyn Machine>,
    ears: RefCell<EarsLine>,
    order: RefCell<OrderLine>,
    tune: RefCell<TuneLine>,
    /// What the tab that is shown depends on, and its number.
    shown_key: RefCell<(Option<view::TabKey>, i32)>,
    /// The tab that was laid out last, for which number and which room.
    shown_tab: RefCell<Option<(i32, TabRoom, Rc<view::ShownTab>)>>,
    /// The page of the song that is played as it was drawn last.
    shown_page: RefCell<view::PlayedPage>,
    /// Sees to it that the library gets to disk; none where nothing may be written.
    keeper: RefCell<Option<Keeper>>,
    /// The library's files, where the machine keeps them in the place of a disk.
    held: Option<Held>,
    /// Runs while the worker for sound works on this thread.
    sounding: slint::Timer,
    /// What other threads answered, until it is heard.
    answers: Answers,
    /// Whether what a thread reads to be taken in is still wanted.
    pub(super) reading: RefCell<Option<Arc<AtomicBool>>>,
    ring: Arc<dyn Fn() + Send + Sync>,
    /// There is a folder that files can be written to.
    has_folder: bool,
    shown_tunings: RefCell<Option<TuningsKey>>,
    /// The songs listed, and those that one can be chosen from.
    pub(super) listed_songs: Rc<slint::VecModel<SongId>>,
    pub(super) listed_choices: Rc<slint::VecModel<SongId>>,
    /// Runs while something typed is not handed over to be saved.
    typing: slint::Timer,
    shown_language: Cell<Option<Language>>,
    /// Why what is entered is not on disk: told once, and marked until it is.
    unsaved: RefCell<Option<Notice>>,
    /// Where the keys are and were.
    pub(super) keys: Keys,
}

/// What other threads answered.
type Answers = Arc<Mutex<Vec<Answer>>>;

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App").field("state", &self.state).finish_non_exhaustive()
    }
}

impl Drop for App {
    /// A window that is shown keeps itself: it goes with its app.
    fn drop(&mut self) {
        let _ = self.window.hide();
    }
}

impl App {
    /// Makes the window and fills it. The library is read from the machine's data folder; without one, or when it must
    /// not be touched, nothing is kept and the player is told.
    ///
    /// # Errors
    /// When the platform has no window to give.
    pub fn new(machine: Rc<dyn Machine>) -> Result<Rc<Self>, slint::PlatformError> {
        let held = machine.kept_files().map(|kept| Held::new(&kept.place, kept.files, kept.keep, kept.clock));
        let storage: Box<dyn Storage> =
            held.clone().map_or_else(|| Box::new(Disk) as Box<dyn Storage>, |held| Box::new(held));
        let (file, library, notice) = kept::open(storage, machine.data_folder().as_deref());
        let mut state = State::new(library);
        // Whose library is only out of reach has been here before.
        if !matches!(notice, None | Some(Notice::NoPlaceForLibrary)) {
            state.guide = None;
        }
        state.notice.clone_from(&notice);
        let app = Self::with_state(machine, state, file, held)?;
        // What was told when the library was opened stays marked where nothing can be saved.
        let lasts = |notice: &Notice| {
            matches!(notice, Notice::LibraryNewer | Notice::LibraryUnreachable(_) | Notice::NoPlaceForLibrary)
        };
        *app.unsaved.borrow_mut() = notice.filter(lasts);
        app.tell_day();
        app.show();
        Ok(app)
    }

    /// Makes the window and fills it from a state that is kept nowhere: for pictures and tests.
    ///
    /// # Errors
    /// When the platform has no window to give.
    pub fn unkept(state: State) -> Result<Rc<Self>, slint::PlatformError> {
        Self::on_machine(Rc::new(Fake::new(None)), state)
    }

    /// The same on a machine that a test plays.
    ///
    /// # Errors
    /// When the platform has no window to give.
    pub fn on_machine(machine: Rc<dyn Machine>, state: State) -> Result<Rc<Self>, slint::PlatformError> {
        Self::with_state(machine, state, None, None)
    }

    fn with_state(
        machine: Rc<dyn Machine>,
        state: State,
        file: Option<LibraryFile>,
        held: Option<Held>,
    ) -> Result<Rc<Self>, slint::PlatformError> {
        let window = ui::AppWindow::new()?;
        let weak = window.as_weak();
        let ring: Arc<dyn Fn() + Send + Sync> = Arc::new(move || {
            // Without an event loop (pictures, tests) nobody hears it; what waits there is fetched by `hear`.
            let _ = weak.upgrade_in_event_loop(|window| window.global::<ui::AppState<'_>>().invoke_news_came());
        });
        if let Some(held) = &held {
            held.ring_with(Arc::clone(&ring));
        }
        let spoken = machine.language().and_then(|tag| Language::find(&tag));
        let has_folder = file.is_some();
        let file = file.filter(|file| !file.is_read_only());
        let mut state = state;
        state.system_language = spoken.unwrap_or_default();
        state.hand_out.paper = Paper::of_region(&machine.language().unwrap_or_default());
        state.system_wants_less_motion = machine.wants_less_motion();
        state.system_wants_more_contrast = machine.wants_more_contrast();
        let app = Rc::new_cyclic(|me| Self {
            me: Weak::clone(me),
            state: RefCell::new(state),
            window,
            ears: RefCell::new(EarsLine::new(machine.sound_device(), Arc::clone(&ring))),
            order: RefCell::new(OrderLine::new(Arc::clone(&ring))),
            tune: RefCell::new(TuneLine::new(Arc::clone(&ring))),
            shown_key: RefCell::default(),
            shown_tab: RefCell::default(),
            shown_page: RefCell::default(),
            machine,
            keeper: RefCell::new(file.map(|file| Keeper::new(file, Arc::clone(&ring)))),
            held,
            sounding: slint::Timer::default(),
            answers: Arc::default(),
            reading: RefCell::default(),
            ring,
            has_folder,
            shown_tunings: RefCell::default(),
            listed_songs: Rc::default(),
            listed_choices: Rc::default(),
            typing: slint::Timer::default(),
            shown_language: Cell::default(),
            unsaved: RefCell::default(),
            keys: Keys::default(),
        });
        if let Some(size) = app.machine.text_size_dp() {
            app.window.set_text_size(size);
        }
        app.keep_toolkit_quiet();
        app.attach();
        let tabs = crate::app::screen::Tab::ALL.map(tab_view);
        app.window.global::<ui::AppState<'_>>().set_tabs(slint::ModelRc::from(tabs));
        let weak = Rc::downgrade(&app);
        app.machine.on_moment(Rc::new(move |moment| {
            if let Some(app) = weak.upgrade() {
                app.turn(moment);
            }
        }));
        app.show();
        Ok(app)
    }

    /// Opens the window and stays until it is closed, or the system asks for the end; then what was entered is on disk.
    ///
    /// # Errors
    /// When the platform cannot show the window.
    pub fn run(self: &Rc<Self>) -> Result<(), slint::PlatformError> {
        self.machine.on_end(Box::new(|| {
            // Where no window runs any more, the end is under way.
            let _ = slint::invoke_from_event_loop(|| drop(slint::quit_event_loop()));
        }));
        let shown = self.window.run();
        self.save();
        shown
    }

    /// What the toolkit notes about itself and the desktop it runs on (no session bus, no portal) is nothing to a player. What our own
    /// screens would say by `debug` is for developers and stays.
    fn keep_toolkit_quiet(&self) {
        let say = |message: LogMessage<'_>| {
            if matches!(message.source(), LogMessageSource::SlintCode) {
                default_log_message(message.message_arguments());
            }
        };
        let context = WindowInner::from_pub(self.window.window()).context();
        drop(context.set_log_message_handler(Some(Box::new(say))));
    }

    /// Returns the window.
    #[must_use]
    pub const fn window(&self) -> &ui::AppWindow {
        &self.window
    }

    /// Lets `look` see the state.
    pub fn with<T>(&self, look: impl FnOnce(&State) -> T) -> T {
        look(&self.state.borrow())
    }

    /// Does what the player asked for, keeps what has to be kept, and shows the result. Returns whether there was
    /// anywhere to go back to.
    pub fn act(&self, action: Action) -> bool {
        if matches!(action, Action::Exchange(ExchangeAction::TakeIn)) {
            self.keep_version();
        }
        let is_kept_opened = action == Action::Open(Screen::Kept);
        let update = self.state.borrow_mut().update(action);
        if is_kept_opened {
            self.list_versions();
        }
        match update {
            Update::Kept => self.keep(),
            Update::Typed => self.keep_soon(),
            Update::Shown | Update::Leave => {}
        }
        self.follow();
        self.follow_reading();
        self.show();
        update != Update::Leave
    }

    /// The same while a key is being handled.
    pub(super) fn act_at_key(&self, action: Action) -> bool {
        self.keys.is_handled.set(true);
        let is_more = self.act(action);
        self.keys.is_handled.set(false);
        is_more
    }

    /// Tells the song that goes on by itself how late it is, in milliseconds. Most of the time nothing is to be drawn.
    pub(super) fn tick(&self, now_ms: f64) {
        let before = self.with(|state| state.playing.outline());
        if self.state.borrow_mut().update(Action::Playing(PlayingAction::Tick(now_ms))) == Update::Kept {
            self.keep();
        }
        if self.with(|state| state.playing.outline()) != before {
            self.follow();
            self.show();
        }
    }

    /// Tells which day it is, where there is a library to keep: days since 1970-01-01.
    fn tell_day(&self) {
        let since = self.machine.now().duration_since(SystemTime::UNIX_EPOCH);
        let day = since.ok().and_then(|since| u32::try_from(since.as_secs() / 86_400).ok());
        let Some(day) = day.filter(|_| self.folder().is_some()) else { return };
        self.state.borrow_mut().today = Some(day);
        if self.with(|state| wants_day(state, day)) {
            self.act(Action::Exchange(ExchangeAction::Today(day)));
        }
    }

    /// Lets the machine, the worker for sound and the search for an order follow the state.
    fn follow(&self) {
        follow(&mut self.state.borrow_mut(), &*self.machine);
        self.ears.borrow_mut().follow(&self.state.borrow());
        self.sound_here();
        self.order.borrow_mut().follow(self.state.borrow().set_list.ordering.as_ref());
        self.tune.borrow_mut().follow(&self.state.borrow().tune);
    }

    /// Lets the worker for sound work on this thread while it has something to do, on a system that gave it none of its own.
    fn sound_here(&self) {
        if !self.ears.borrow().is_busy_here() || self.sounding.running() {
            return;
        }
        let (app, mut last) = (Weak::clone(&self.me), now_ms());
        self.sounding.start(slint::TimerMode::Repeated, EarsLine::PAUSE, move || {
            let Some(app) = app.upgrade() else { return };
            let now = now_ms();
            let passed = Duration::from_secs_f64((now - last).max(0.0) / 1000.0);
            last = now;
            let mut ears = app.ears.borrow_mut();
            ears.step_here(passed);
            if !ears.is_busy_here() {
                app.sounding.stop();
            }
        });
    }

    /// What a turn in the app's life asks for: hidden, nothing listens or sounds, and all is kept; forgotten by the system,
    /// it comes back to where the player was.
    fn turn(&self, moment: Moment) {
        if moment == Moment::Shown
            && let Some(place) = self.machine.take_place()
        {
            self.state.borrow_mut().return_to(&place);
        }
        if moment == Moment::SaveNow {
            self.machine.keep_place(&self.with(State::place));
        }
        if moment == Moment::Shown {
            let mut state = self.state.borrow_mut();
            state.system_wants_less_motion = self.machine.wants_less_motion();
            state.system_wants_more_contrast = self.machine.wants_more_contrast();
            drop(state);
            self.show();
        }
        if moment == Moment::Shown {
            self.tell_day();
        }
        if matches!(moment, Moment::Shown | Moment::Hidden) {
            hide(&mut self.state.borrow_mut(), &*self.machine, moment == Moment::Hidden);
            self.follow();
            self.show();
        }
        if moment != Moment::Shown {
            self.save();
        }
    }

    /// Hears what the threads beside the window have to tell. What only moves a mark is shown alone; the rest shows
    /// everything.
    pub fn hear(&self) {
        let outline = |state: &State| (state.guitar.stage(), state.guitar.progress().confirmed(), state.ears.mic);
        let before = outline(&self.state.borrow());
        let heard = self.ears.borrow().news().into_iter().map(|told| Action::Ears(EarsAction::Told(told)));
        let order = self.order.borrow().news();
        let has_answer = order.iter().any(|(_, told)| matches!(told, OrderTold::Answer(_)));
        let order = order.into_iter().map(|(number, told)| Action::SetList(SetListAction::Told(number, told)));
        let tune = self.tune.borrow().news();
        let has_answer = has_answer || !tune.is_empty();
        let tune = tune.into_iter().map(|told| Action::Tune(TuneAction::Told(told)));
        for news in heard.chain(order).chain(tune).collect::<Vec<_>>() {
            if self.state.borrow_mut().update(news) == Update::Kept {
                self.keep();
            }
            self.follow();
        }
        let answers = std::mem::take(&mut *self.answers.lock().unwrap_or_else(PoisonError::into_inner));
        for answer in answers {
            answer(self);
        }
        let is_marked = self.look_at_saver();
        if is_marked || has_answer || outline(&self.state.borrow()) != before {
            self.show();
            return;
        }
        let state = self.state.borrow();
        view::show_listening(&state, &self.window.global::<ui::ListenState<'_>>());
        view::show_ordering(&state, &self.window.global::<ui::SetListState<'_>>());
        if state.screen() == Screen::TunePluck {
            view::show_tune_pluck(&state, &self.window.global::<ui::PluckState<'_>>());
        }
    }

    /// Returns where another thread leaves its answer, and the bell to ring then.
    pub(super) fn post(&self) -> (Answers, Arc<dyn Fn() + Send + Sync>) {
        (Arc::clone(&self.answers), Arc::clone(&self.ring))
    }

    /// Returns itself, for what is done later.
    pub(super) fn me(&self) -> Weak<Self> {
        Weak::clone(&self.me)
    }

    pub(super) fn machine(&self) -> &dyn Machine {
        &*self.machine
    }

    /// Returns the folder that files can be written to.
    pub(super) fn folder(&self) -> Option<std::path::PathBuf> {
        self.machine.data_folder().filter(|_| self.has_folder)
    }

    /// Does what the player asked for once the tap is over.
    ///
    /// A tap that takes its own screen away while it is still being handled ends the toolkit (Slint 1.18.1 asks what is
    /// gone for its layout).
    pub(super) fn act_soon(self: &Rc<Self>, action: Action) {
        let app = Rc::downgrade(self);
        slint::Timer::single_shot(std::time::Duration::ZERO, move || {
            if let Some(app) = app.upgrade() {
                app.act(action);
            }
        });
    }

    /// Tells something once what is typed is taken.
    pub(super) fn tell_soon(self: &Rc<Self>, notice: Notice) {
        let app = Rc::downgrade(self);
        slint::Timer::single_shot(Duration::ZERO, move || {
            if let Some(app) = app.upgrade() {
                app.state.borrow_mut().tell(notice.clone());
                app.show();
            }
        });
    }

    /// Returns a handler that does what `action` makes of its argument.
    pub(super) fn sends<A: 'static>(
        self: &Rc<Self>,
        action: impl Fn(A) -> Option<Action> + 'static,
    ) -> impl Fn(A) + 'static {
        let app = Rc::downgrade(self);
        move |argument| {
            if let Some((app, action)) = app.upgrade().zip(action(argument)) {
                app.act_soon(action);
            }
        }
    }

    /// Returns a handler of two arguments that does what `action` makes of them.
    pub(super) fn sends_two<A: 'static, B: 'static>(
        self: &Rc<Self>,
        action: impl Fn(A, B) -> Option<Action> + 'static,
    ) -> impl Fn(A, B) + 'static {
        let send = self.sends(move |(one, other)| action(one, other));
        move |one, other| send((one, other))
    }

    /// Returns a handler that takes what is typed at once: it changes the field it is typed in, and would be overtaken by
    /// the next letter otherwise.
    pub(super) fn types(
        self: &Rc<Self>,
        action: impl Fn(String) -> Action + 'static,
    ) -> impl Fn(SharedString) + 'static {
        let app = Rc::downgrade(self);
        move |text| {
            if let Some(app) = app.upgrade() {
                app.act_at_key(action(text.into()));
            }
        }
    }

    /// Returns a handler that does one thing.
    pub(super) fn does(self: &Rc<Self>, action: impl Fn() -> Action + 'static) -> impl Fn() + 'static {
        let send = self.sends(move |()| Some(action()));
        move || send(())
    }
}
