//! The running app: its state, its window, and what it keeps.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

use slint::{ComponentHandle, SharedString};

use crate::app::action::{Action, Update};
use crate::app::ears::{EarsAction, Line, follow, hide};
use crate::app::notice::Notice;
use crate::app::ordering::OrderTold;
use crate::app::screen::Screen;
use crate::app::set_list::SetListAction;
use crate::app::state::State;
use crate::app::tunings::TuningsList;
use crate::app::{ui, view};
use crate::instrument::Language;
use crate::platform::{Fake, Machine, Moment};
use crate::sheet::Paper;
use crate::songs::SongId;
use crate::store::{GuitarNow, LibraryFile, OwnTuning, SaveError, Settings};
use crate::theory::Naming;

use super::kept;
use super::kinds::{screen_view, tab_view};
use super::order_line::OrderLine;

/// The running app: its state, its window, and where its library is kept.
pub struct App {
    state: RefCell<State>,
    window: ui::AppWindow,
    machine: Rc<dyn Machine>,
    ears: RefCell<Line>,
    order: RefCell<OrderLine>,
    file: RefCell<Option<LibraryFile>>,
    shown_tunings: RefCell<Option<TuningsKey>>,
    /// The songs listed, and those that one can be chosen from.
    pub(super) listed_songs: Rc<slint::VecModel<SongId>>,
    pub(super) listed_choices: Rc<slint::VecModel<SongId>>,
    /// Runs while something typed is not on disk yet.
    typing: slint::Timer,
    shown_language: Cell<Option<Language>>,
    /// Why the last save failed: told once, not at every tap.
    unsaved: RefCell<Option<SaveError>>,
}

/// What is typed is saved when nothing has been typed for so long.
const TYPING_RESTS: std::time::Duration = std::time::Duration::from_millis(1_000);

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App").field("state", &self.state).finish_non_exhaustive()
    }
}

/// What the rows of the Tunings screen depend on: when it is unchanged, the list keeps its place.
#[derive(Clone, PartialEq)]
struct TuningsKey {
    list: TuningsList,
    guitar: GuitarNow,
    settings: Settings,
    own: Vec<OwnTuning>,
    recent: Vec<String>,
    lesson: Option<String>,
}

impl TuningsKey {
    fn of(state: &State) -> Self {
        Self {
            list: state.tunings.clone(),
            guitar: state.guitar.record().clone(),
            settings: state.library.settings.clone(),
            own: state.library.own_tunings().to_vec(),
            recent: state.library.recent_tuning_ids().to_vec(),
            lesson: state.guide.as_ref().and_then(|guide| Some(guide.lesson_to_choose()?.id.clone())),
        }
    }
}

impl App {
    /// Makes the window and fills it. The library is read from the machine's data folder; without one, or when it must
    /// not be touched, nothing is kept and the player is told.
    ///
    /// # Errors
    /// When the platform has no window to give.
    pub fn new(machine: Rc<dyn Machine>) -> Result<Rc<Self>, slint::PlatformError> {
        let (file, library, notice) = kept::open(machine.data_folder().as_deref());
        let mut state = State::new(library);
        // Whose library is only out of reach has been here before.
        if !matches!(notice, None | Some(Notice::NoPlaceForLibrary)) {
            state.guide = None;
        }
        state.notice = notice;
        Self::with_state(machine, state, file)
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
        Self::with_state(machine, state, None)
    }

    fn with_state(
        machine: Rc<dyn Machine>,
        state: State,
        file: Option<LibraryFile>,
    ) -> Result<Rc<Self>, slint::PlatformError> {
        let window = ui::AppWindow::new()?;
        let weak = window.as_weak();
        let ring: Arc<dyn Fn() + Send + Sync> = Arc::new(move || {
            // Without an event loop (pictures, tests) nobody hears it; what waits there is fetched by `hear`.
            let _ = weak.upgrade_in_event_loop(|window| window.global::<ui::AppState<'_>>().invoke_news_came());
        });
        let spoken = machine.language().and_then(|tag| Language::find(&tag));
        let mut state = state;
        state.system_language = spoken.unwrap_or_default();
        state.hand_out.paper = Paper::of_region(&machine.language().unwrap_or_default());
        state.system_wants_less_motion = machine.wants_less_motion();
        let app = Rc::new(Self {
            state: RefCell::new(state),
            window,
            ears: RefCell::new(Line::new(machine.sound_device(), Arc::clone(&ring))),
            order: RefCell::new(OrderLine::new(ring)),
            machine,
            file: RefCell::new(file),
            shown_tunings: RefCell::default(),
            listed_songs: Rc::default(),
            listed_choices: Rc::default(),
            typing: slint::Timer::default(),
            shown_language: Cell::default(),
            unsaved: RefCell::default(),
        });
        if let Some(size) = app.machine.text_size_dp() {
            app.window.set_text_size(size);
        }
        let weak = Rc::downgrade(&app);
        app.typing.start(slint::TimerMode::SingleShot, TYPING_RESTS, move || {
            if let Some(app) = weak.upgrade() {
                app.save();
            }
        });
        app.typing.stop();
        app.attach();
        let weak = Rc::downgrade(&app);
        app.machine.on_moment(Rc::new(move |moment| {
            if let Some(app) = weak.upgrade() {
                app.turn(moment);
            }
        }));
        app.show();
        Ok(app)
    }

    /// Opens the window and stays until it is closed; then what was entered is on disk.
    ///
    /// # Errors
    /// When the platform cannot show the window.
    pub fn run(self: &Rc<Self>) -> Result<(), slint::PlatformError> {
        self.window.run()
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
        let update = self.state.borrow_mut().update(action);
        match update {
            Update::Kept => self.save(),
            Update::Typed => self.typing.restart(),
            Update::Shown | Update::Leave => {}
        }
        self.follow();
        self.show();
        update != Update::Leave
    }

    /// Lets the machine, the worker for sound and the search for an order follow the state.
    fn follow(&self) {
        follow(&mut self.state.borrow_mut(), &*self.machine);
        self.ears.borrow_mut().follow(&self.state.borrow());
        self.order.borrow_mut().follow(self.state.borrow().set_list.ordering.as_ref());
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
            self.state.borrow_mut().system_wants_less_motion = self.machine.wants_less_motion();
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
        for news in heard.chain(order).collect::<Vec<_>>() {
            if self.state.borrow_mut().update(news) == Update::Kept {
                self.save();
            }
            self.follow();
        }
        if has_answer || outline(&self.state.borrow()) != before {
            self.show();
            return;
        }
        let state = self.state.borrow();
        view::show_listening(&state, &self.window.global::<ui::ListenState<'_>>());
        view::show_ordering(&state, &self.window.global::<ui::SetListState<'_>>());
    }

    /// Writes the library to disk; a failure is told.
    pub fn save(&self) {
        self.typing.stop();
        let mut file = self.file.borrow_mut();
        let Some(file) = file.as_mut().filter(|file| !file.is_read_only()) else { return };
        let saved = file.save(&self.state.borrow().library);
        let mut state = self.state.borrow_mut();
        let fault = match saved {
            Ok(saved) => {
                for path in saved.set_aside {
                    let name = path.file_name().unwrap_or_default().to_string_lossy();
                    state.tell(Notice::SetAside(name.into_owned()));
                }
                None
            }
            Err(fault) => Some(fault),
        };
        if let Some(fault) = fault.clone().filter(|fault| self.unsaved.borrow().as_ref() != Some(fault)) {
            state.tell(Notice::SaveFailed(fault));
        }
        *self.unsaved.borrow_mut() = fault;
    }

    pub(super) fn machine(&self) -> &dyn Machine {
        &*self.machine
    }

    /// Returns the folder that files can be written to.
    pub(super) fn folder(&self) -> Option<std::path::PathBuf> {
        self.machine.data_folder().filter(|_| self.file.borrow().is_some())
    }

    /// Fills the window from the state.
    fn show(&self) {
        let state = self.state.borrow();
        let window = &self.window;
        let app = window.global::<ui::AppState<'_>>();
        app.set_screen(screen_view(state.screen()));
        app.set_tab(tab_view(state.tab()));
        app.set_tabs(slint::ModelRc::from(crate::app::screen::Tab::ALL.map(tab_view)));
        app.set_on_guitar(view::show_guitar(&state));
        app.set_left_handed(state.library.settings.is_left_handed);
        app.set_message(view::show_notice(&state));
        app.set_guide(view::show_guide(&state));
        let naming = state.library.settings.naming;
        app.set_letters(naming.letters().join(" ").into());
        app.set_has_h(naming == Naming::German);
        let tokens = window.global::<ui::Tokens<'_>>();
        tokens.set_theme(view::theme(state.library.settings.theme));
        tokens.set_reduced_motion(state.has_less_motion());
        self.show_language(&state);
        // On a wide window the list of tunings stands beside the retuning, so both are kept filled.
        let key = TuningsKey::of(&state);
        if self.shown_tunings.borrow().as_ref() != Some(&key) {
            view::show_tunings(&state, &window.global::<ui::TuningsState<'_>>());
            *self.shown_tunings.borrow_mut() = Some(key);
        }
        view::show_retune(&state, &window.global::<ui::RetuneState<'_>>());
        view::show_listening(&state, &window.global::<ui::ListenState<'_>>());
        let is_long = matches!(state.screen(), Screen::Retune | Screen::Show | Screen::Playing);
        self.machine.keep_awake(is_long && state.library.settings.stays_awake);
        match state.screen() {
            Screen::Tunings | Screen::Retune | Screen::More => {}
            Screen::Songs => view::show_songs(&state, &self.listed_songs, &window.global::<ui::SongsState<'_>>()),
            Screen::SongChoice => {
                view::show_choices(&state, &self.listed_choices, &window.global::<ui::SongsState<'_>>())
            }
            Screen::Song => view::show_song(&state, &window.global::<ui::SongState<'_>>()),
            Screen::SongChord => view::show_song_chord(&state, &window.global::<ui::SongState<'_>>()),
            Screen::SongCompare => view::show_song_compare(&state, &window.global::<ui::SongState<'_>>()),
            Screen::SongEditor => view::show_song_editor(&state, &window.global::<ui::SongEditorState<'_>>()),
            Screen::SongTuning => view::show_song_tuning(&state, &window.global::<ui::SongEditorState<'_>>()),
            Screen::SetList => view::show_set_list(&state, &window.global::<ui::SetListState<'_>>()),
            Screen::Playing => view::show_playing(&state, &window.global::<ui::PlayState<'_>>()),
            Screen::Exchange | Screen::Outgoing => {
                let to = window.global::<ui::ExchangeState<'_>>();
                view::show_exchange(&state, self.folder().is_some(), &to);
            }
            Screen::HandOut => {
                let shares = self.machine.shares();
                view::show_hand_out(&state, shares, &window.global::<ui::HandOutState<'_>>());
            }
            Screen::Shapes | Screen::Show | Screen::Filters => {
                view::show_shapes(&state, window);
                view::show_filters(&state, &window.global::<ui::FiltersState<'_>>());
            }
            Screen::KeyPicker | Screen::ChordPicker => {
                view::show_pick(&state, &window.global::<ui::PickState<'_>>());
                view::show_shapes(&state, window);
            }
            Screen::KeyPlan => view::show_key_plan(&state, &window.global::<ui::KeyPlanState<'_>>()),
            Screen::Neck => view::show_neck(&state, &window.global::<ui::NeckState<'_>>()),
            Screen::OwnTuning => view::show_own_tuning(&state, &window.global::<ui::OwnTuningState<'_>>()),
            Screen::Instrument => view::show_instrument(&state, &window.global::<ui::InstrumentState<'_>>()),
            Screen::Settings => view::show_settings(&state, &window.global::<ui::SettingsState<'_>>()),
            Screen::About => {
                let place = self.machine.data_folder().filter(|_| self.file.borrow().is_some());
                let place = place.map(|folder| folder.display().to_string()).unwrap_or_default();
                view::show_about(&place, &window.global::<ui::AboutState<'_>>());
            }
        }
    }

    /// Switches to the language chosen, or back to the phone's, when it has changed. All of them are bundled.
    fn show_language(&self, state: &State) {
        let wanted = state.language();
        if self.shown_language.replace(Some(wanted)) != Some(wanted) {
            let _ = slint::select_bundled_translation(wanted.code());
        }
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

    /// Returns a handler that takes what is typed at once: it changes the field it is typed in, and would be overtaken by
    /// the next letter otherwise.
    pub(super) fn types(
        self: &Rc<Self>,
        action: impl Fn(String) -> Action + 'static,
    ) -> impl Fn(SharedString) + 'static {
        let app = Rc::downgrade(self);
        move |text| {
            if let Some(app) = app.upgrade() {
                app.act(action(text.into()));
            }
        }
    }

    /// Returns a handler that does one thing.
    pub(super) fn does(self: &Rc<Self>, action: impl Fn() -> Action + 'static) -> impl Fn() + 'static {
        let send = self.sends(move |()| Some(action()));
        move || send(())
    }
}
