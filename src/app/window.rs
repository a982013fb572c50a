//! The window: taps come in as actions, the state goes out to Slint.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use crate::instrument::{Bridge, Fret, Language};
use crate::platform::{Fake, Machine, Moment};
use crate::shapes::Style;
use crate::songs::SongId;
use crate::store::{LibraryFile, SaveError, Temperament, Theme};
use crate::theory::{Naming, SpellingChoice};

use super::ears::{EarsAction, Line};
use super::guide::GuideAction;
use super::instrument::InstrumentAction;
use super::key_plan::KeyPlanAction;
use super::neck::{NeckAction, NeckShows};
use super::own_tuning::OwnTuningAction;
use super::pick::PickAction;
use super::retune::RetuneAction;
use super::settings::SettingsAction;
use super::shapes::{ChordSet, Labels, ShapesAction};
use super::state::{Action, Notice, Screen, State, Tab, Update};
use super::tunings::{TuningsAction, TuningsView};
use super::ui;
use super::view;

/// The running app: its state, its window, and where its library is kept.
pub struct App {
    state: RefCell<State>,
    window: ui::AppWindow,
    machine: Rc<dyn Machine>,
    ears: RefCell<Line>,
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
    list: super::tunings::TuningsList,
    guitar: super::guitar::Guitar,
    target: Option<super::retune::Target>,
    settings: crate::store::Settings,
    own: Vec<crate::store::OwnTuning>,
    recent: Vec<String>,
    lesson: Option<String>,
}

impl TuningsKey {
    fn of(state: &State) -> Self {
        Self {
            list: state.tunings.clone(),
            guitar: state.guitar.clone(),
            target: state.retuning.target.clone(),
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
        let (file, library, notice) = super::kept::open(machine.data_folder().as_deref());
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
        let ring = move || {
            // Without an event loop (pictures, tests) nobody hears it, and nobody needs to.
            let _ = weak.upgrade_in_event_loop(|window| window.global::<ui::AppState<'_>>().invoke_ears_told());
        };
        let spoken = machine.language().and_then(|tag| Language::find(&tag));
        let mut state = state;
        state.system_language = spoken.unwrap_or_default();
        let app = Rc::new(Self {
            state: RefCell::new(state),
            window,
            ears: RefCell::new(Line::new(machine.sound_device(), std::sync::Arc::new(ring))),
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

    /// Lets the machine and the worker for sound follow the state.
    fn follow(&self) {
        super::ears::follow(&mut self.state.borrow_mut(), &*self.machine);
        self.ears.borrow_mut().follow(&self.state.borrow());
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
        if matches!(moment, Moment::Shown | Moment::Hidden) {
            super::ears::hide(&mut self.state.borrow_mut(), &*self.machine, moment == Moment::Hidden);
            self.follow();
            self.show();
        }
        if moment != Moment::Shown {
            self.save();
        }
    }

    /// Hears the worker's news. What only moves the mark is shown alone; the rest shows everything.
    fn hear(&self) {
        let news = self.ears.borrow().news();
        let outline = |state: &State| (state.retuning.stage, state.guitar.progress().confirmed(), state.ears.mic);
        let before = outline(&self.state.borrow());
        for told in news {
            if self.state.borrow_mut().update(Action::Ears(EarsAction::Told(told))) == Update::Kept {
                self.save();
            }
            self.follow();
        }
        let is_same = outline(&self.state.borrow()) == before;
        if is_same {
            let state = self.state.borrow();
            view::show_listening(&state, &self.window.global::<ui::ListenState<'_>>());
        } else {
            self.show();
        }
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
        app.set_tabs(slint::ModelRc::from(Tab::ALL.map(tab_view)));
        app.set_on_guitar(view::show_guitar(&state));
        app.set_left_handed(state.library.settings.is_left_handed);
        app.set_message(view::show_notice(&state));
        app.set_guide(view::show_guide(&state));
        let naming = state.library.settings.naming;
        app.set_letters(naming.letters().join(" ").into());
        app.set_has_h(naming == Naming::German);
        let tokens = window.global::<ui::Tokens<'_>>();
        tokens.set_theme(view::theme(state.library.settings.theme));
        tokens.set_reduced_motion(state.library.settings.has_reduced_motion);
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

    /// Sends every tap back as an action.
    fn attach(self: &Rc<Self>) {
        let app = Rc::downgrade(self);
        self.typing.start(slint::TimerMode::SingleShot, TYPING_RESTS, move || {
            if let Some(app) = app.upgrade() {
                app.save();
            }
        });
        self.typing.stop();
        self.attach_app();
        self.attach_tunings();
        self.attach_retune();
        self.attach_shapes();
        self.attach_pickers();
        self.attach_neck();
        self.attach_own_tuning();
        self.attach_choices();
        self.attach_listening();
        self.attach_songs();
    }

    fn attach_listening(self: &Rc<Self>) {
        let to = self.window.global::<ui::ListenState<'_>>();
        to.on_switched(self.does(|| Action::Ears(EarsAction::Listen)));
        to.on_played(self.sends(|sound| view::sound_of(sound).map(|sound| Action::Ears(EarsAction::Hear(sound)))));
        to.on_hushed(self.does(|| Action::Ears(EarsAction::Hush)));
        to.on_wobble_raised(self.does(|| Action::Ears(EarsAction::WobbleBy(1))));
        to.on_wobble_lowered(self.does(|| Action::Ears(EarsAction::WobbleBy(-1))));
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

    fn attach_app(self: &Rc<Self>) {
        let to = self.window.global::<ui::AppState<'_>>();
        to.on_go(self.sends(|screen| Some(Action::Open(screen_of(screen)))));
        to.on_tab_tapped(self.sends(|tab| tab_of(tab).map(Action::Tab)));
        to.on_message_closed(self.does(|| Action::CloseNotice));
        to.on_guide_skipped(self.does(|| Action::Guide(GuideAction::Skip)));
        to.on_guide_wanted(self.does(|| Action::Guide(GuideAction::Again)));
        let app = Rc::downgrade(self);
        to.on_ears_told(move || {
            if let Some(app) = app.upgrade() {
                app.hear();
            }
        });
        let app = Rc::downgrade(self);
        to.on_back_key(move || app.upgrade().is_some_and(|app| app.act(Action::BackKey)));
        to.on_back(self.does(|| Action::Back));
    }

    fn attach_tunings(self: &Rc<Self>) {
        let to = self.window.global::<ui::TuningsState<'_>>();
        to.on_searched(self.types(|text| Action::Tunings(TuningsAction::Search(text))));
        to.on_view_chosen(self.sends(|view| Some(Action::Tunings(TuningsAction::View(tunings_view(view))))));
        to.on_row_tapped(self.sends(|id: SharedString| {
            let fret = id.strip_prefix(view::CAPO_ID).and_then(|fret| fret.parse().ok());
            let choose = || TuningsAction::Choose(id.to_string());
            Some(Action::Tunings(fret.map_or_else(choose, |fret| TuningsAction::Capo(Fret::new(fret)))))
        }));
        to.on_edited(self.sends(|id: SharedString| Some(Action::OwnTuning(OwnTuningAction::Edit(id.into())))));
        to.on_made(self.does(|| Action::OwnTuning(OwnTuningAction::New)));
        to.on_typed_notes_tapped(self.does(|| Action::Tunings(TuningsAction::ChooseTyped)));
    }

    fn attach_retune(self: &Rc<Self>) {
        let to = self.window.global::<ui::RetuneState<'_>>();
        to.on_confirmed(self.does(|| Action::Retune(RetuneAction::Confirm)));
        to.on_undone(self.does(|| Action::Retune(RetuneAction::Undo)));
        to.on_restarted(self.does(|| Action::Retune(RetuneAction::StartOver)));
        to.on_way_chosen(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::Way(index)))));
        to.on_string_doubted(self.sends(|course: SharedString| {
            course.parse().ok().map(|number| Action::Retune(RetuneAction::Doubt(number)))
        }));
        to.on_all_doubted(self.does(|| Action::Retune(RetuneAction::DoubtAll)));
        to.on_check_tapped(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::Check(index)))));
        to.on_check_finished(self.does(|| Action::Retune(RetuneAction::CheckDone)));
        to.on_offer_taken(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::TakeRemedy(index)))));
        to.on_risk_accepted(self.does(|| Action::Retune(RetuneAction::TakeRisk)));
        to.on_shapes_wanted(self.does(|| Action::Retune(RetuneAction::ToShapes)));
        to.on_tuning_wanted(self.does(|| Action::Retune(RetuneAction::ToTunings)));
    }

    fn attach_shapes(self: &Rc<Self>) {
        let to = self.window.global::<ui::ShapesState<'_>>();
        to.on_chord_tapped(self.sends(|index| at(index).map(|index| Action::Shapes(ShapesAction::Chord(index)))));
        to.on_next(self.does(|| Action::Shapes(ShapesAction::Next)));
        to.on_previous(self.does(|| Action::Shapes(ShapesAction::Previous)));
        to.on_play_chosen(self.sends(|play| Some(Action::Shapes(ShapesAction::Style(style_of(play))))));
        to.on_labels_chosen(self.sends(|labels| Some(Action::Shapes(ShapesAction::Labels(labels_of(labels))))));
        to.on_chord_set_chosen(self.sends(|set| Some(Action::Shapes(ShapesAction::Set(chord_set_of(set))))));
        to.on_nearest_tapped(self.sends(|_| Some(Action::Shapes(ShapesAction::Nearest))));
        to.on_shown_large(self.does(|| Action::Shapes(ShapesAction::Large)));
        to.on_filters_cleared(self.does(|| Action::Shapes(ShapesAction::ClearFilters)));
        let to = self.window.global::<ui::ShowState<'_>>();
        to.on_next(self.does(|| Action::Shapes(ShapesAction::Next)));
        to.on_previous(self.does(|| Action::Shapes(ShapesAction::Previous)));
        to.on_closed(self.does(|| Action::Back));
        let to = self.window.global::<ui::FiltersState<'_>>();
        to.on_open_only_tapped(self.does(|| Action::Shapes(ShapesAction::OpenOnly)));
        to.on_movable_only_tapped(self.does(|| Action::Shapes(ShapesAction::MovableOnly)));
        to.on_no_barre_tapped(self.does(|| Action::Shapes(ShapesAction::NoBarre)));
        to.on_root_in_bass_tapped(self.does(|| Action::Shapes(ShapesAction::RootInBass)));
        to.on_thumb_may_fret_tapped(self.does(|| Action::Shapes(ShapesAction::ThumbMayFret)));
        to.on_raised(self.does(|| Action::Shapes(ShapesAction::UpToBy(1))));
        to.on_lowered(self.does(|| Action::Shapes(ShapesAction::UpToBy(-1))));
        to.on_cleared(self.does(|| Action::Shapes(ShapesAction::ClearFilters)));
    }

    fn attach_pickers(self: &Rc<Self>) {
        let to = self.window.global::<ui::PickState<'_>>();
        to.on_key_root_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::KeyRoot(index)))));
        to.on_mode_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::KeyMode(index)))));
        to.on_root_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Root(index)))));
        to.on_quality_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Quality(index)))));
        to.on_bass_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Bass(index)))));
        to.on_chord_typed(self.types(|text| Action::Pick(PickAction::Typed(text))));
        to.on_key_taken(self.does(|| Action::Pick(PickAction::KeyTaken)));
        to.on_chord_taken(self.does(|| Action::Pick(PickAction::ChordTaken)));
        let to = self.window.global::<ui::KeyPlanState<'_>>();
        to.on_progression_typed(self.types(|text| Action::KeyPlan(KeyPlanAction::Typed(text))));
        to.on_cell_tapped(self.sends(|index| at(index).map(|index| Action::KeyPlan(KeyPlanAction::Cell(index)))));
    }

    fn attach_neck(self: &Rc<Self>) {
        let to = self.window.global::<ui::NeckState<'_>>();
        let app = Rc::downgrade(self);
        to.on_cell_tapped(move |fret, course| {
            let places = u8::try_from(fret).ok().zip(at(course));
            if let Some((app, (row, place))) = app.upgrade().zip(places) {
                let (fret, course) = app.with(|state| {
                    let order = view::neck_order(state, state.instrument().courses().len());
                    (super::neck::fret_in_row(state, row), order.get(place).copied().unwrap_or(place))
                });
                app.act_soon(Action::Neck(NeckAction::Cell { fret, course }));
            }
        });
        to.on_shows_chosen(self.sends(|shows| {
            Some(Action::Neck(NeckAction::Shows(match shows {
                ui::NeckShows::Key => NeckShows::Key,
                ui::NeckShows::Chord => NeckShows::Chord,
                ui::NeckShows::Nothing => NeckShows::Nothing,
            })))
        }));
        to.on_labels_chosen(self.sends(|labels| Some(Action::Neck(NeckAction::Labels(labels_of(labels))))));
        to.on_cleared(self.does(|| Action::Neck(NeckAction::Clear)));
        to.on_shapes_wanted(self.does(|| Action::Neck(NeckAction::ToShapes)));
    }

    fn attach_own_tuning(self: &Rc<Self>) {
        let to = self.window.global::<ui::OwnTuningState<'_>>();
        to.on_raised(self.sends(|index| at(index).map(|index| Action::OwnTuning(OwnTuningAction::Move(index, 1)))));
        to.on_lowered(self.sends(|index| at(index).map(|index| Action::OwnTuning(OwnTuningAction::Move(index, -1)))));
        to.on_notes_typed(self.types(|text| Action::OwnTuning(OwnTuningAction::Notes(text))));
        to.on_name_typed(self.types(|text| Action::OwnTuning(OwnTuningAction::Name(text))));
        to.on_near_tapped(self.sends(|id: SharedString| Some(Action::OwnTuning(OwnTuningAction::Like(id.into())))));
        to.on_saved(self.does(|| Action::OwnTuning(OwnTuningAction::Save)));
        to.on_deleted(self.does(|| Action::OwnTuning(OwnTuningAction::Delete)));
        to.on_cancelled(self.does(|| Action::OwnTuning(OwnTuningAction::Cancel)));
    }

    fn attach_choices(self: &Rc<Self>) {
        let to = self.window.global::<ui::InstrumentState<'_>>();
        let text = |make: fn(String) -> InstrumentAction| {
            move |text: SharedString| Some(Action::Instrument(make(text.into())))
        };
        to.on_searched(self.types(|text| Action::Instrument(InstrumentAction::Searched(text))));
        to.on_instrument_tapped(self.sends(text(InstrumentAction::Instrument)));
        to.on_string_set_tapped(self.sends(text(InstrumentAction::StringSet)));
        to.on_bridge_chosen(self.sends(|bridge| {
            Some(Action::Instrument(InstrumentAction::Bridge(match bridge {
                ui::BridgeKind::Fixed => Bridge::Fixed,
                ui::BridgeKind::Floating => Bridge::Floating,
            })))
        }));
        to.on_capo_raised(self.does(|| Action::Instrument(InstrumentAction::CapoBy(1))));
        to.on_capo_lowered(self.does(|| Action::Instrument(InstrumentAction::CapoBy(-1))));
        let to = self.window.global::<ui::SettingsState<'_>>();
        to.on_theme_chosen(self.sends(|theme| Some(Action::Settings(SettingsAction::Theme(theme_of(theme))))));
        to.on_naming_chosen(self.sends(|naming| {
            Some(Action::Settings(SettingsAction::Naming(match naming {
                ui::NoteNaming::English => Naming::English,
                ui::NoteNaming::German => Naming::German,
                ui::NoteNaming::Solfege => Naming::Solfege,
            })))
        }));
        to.on_accidentals_chosen(self.sends(|choice| {
            Some(Action::Settings(SettingsAction::Spelling(match choice {
                ui::Accidentals::ByKey => SpellingChoice::Customary,
                ui::Accidentals::Sharps => SpellingChoice::Sharps,
                ui::Accidentals::Flats => SpellingChoice::Flats,
            })))
        }));
        to.on_temperament_chosen(self.sends(|choice| {
            Some(Action::Settings(SettingsAction::Temperament(match choice {
                ui::Temperament::Equal => Temperament::Equal,
                ui::Temperament::SweetOpenChord => Temperament::OpenChord,
                ui::Temperament::SweetShapes => Temperament::KeyShapes,
            })))
        }));
        to.on_left_handed_tapped(self.does(|| Action::Settings(SettingsAction::LeftHanded)));
        to.on_diagrams_on_side_tapped(self.does(|| Action::Settings(SettingsAction::OnSide)));
        to.on_reduced_motion_tapped(self.does(|| Action::Settings(SettingsAction::ReducedMotion)));
        to.on_stay_awake_tapped(self.does(|| Action::Settings(SettingsAction::StayAwake)));
        to.on_reference_raised(self.does(|| Action::Settings(SettingsAction::ReferenceBy(1))));
        to.on_reference_lowered(self.does(|| Action::Settings(SettingsAction::ReferenceBy(-1))));
        to.on_tolerance_raised(self.does(|| Action::Settings(SettingsAction::ToleranceBy(1))));
        to.on_tolerance_lowered(self.does(|| Action::Settings(SettingsAction::ToleranceBy(-1))));
        to.on_language_tapped(self.sends(|index| {
            let index = at(index)?;
            let chosen = index.checked_sub(1).and_then(|index| Language::ALL.get(index));
            Some(Action::Settings(SettingsAction::Language(chosen.map(|language| language.code().to_owned()))))
        }));
    }
}

/// Reads an index that Slint counts with a sign.
pub(super) fn at(index: i32) -> Option<usize> {
    usize::try_from(index).ok()
}

const fn screen_view(screen: Screen) -> ui::Screen {
    match screen {
        Screen::Tunings => ui::Screen::Tunings,
        Screen::Retune => ui::Screen::Retune,
        Screen::Shapes => ui::Screen::Shapes,
        Screen::More => ui::Screen::More,
        Screen::Songs => ui::Screen::Songs,
        Screen::Song => ui::Screen::Song,
        Screen::SongEditor => ui::Screen::SongEditor,
        Screen::SongTuning => ui::Screen::SongTuning,
        Screen::SongChord => ui::Screen::SongChord,
        Screen::SongCompare => ui::Screen::SongCompare,
        Screen::SongChoice => ui::Screen::SongChoice,
        Screen::SetList => ui::Screen::SetList,
        Screen::Playing => ui::Screen::Playing,
        Screen::Exchange => ui::Screen::Exchange,
        Screen::Outgoing => ui::Screen::Outgoing,
        Screen::Show => ui::Screen::Show,
        Screen::KeyPicker => ui::Screen::KeyPicker,
        Screen::ChordPicker => ui::Screen::ChordPicker,
        Screen::Filters => ui::Screen::Filters,
        Screen::KeyPlan => ui::Screen::KeyPlan,
        Screen::Neck => ui::Screen::Neck,
        Screen::OwnTuning => ui::Screen::OwnTuning,
        Screen::Instrument => ui::Screen::Instrument,
        Screen::Settings => ui::Screen::Settings,
        Screen::About => ui::Screen::About,
    }
}

const fn screen_of(screen: ui::Screen) -> Screen {
    match screen {
        ui::Screen::Tunings => Screen::Tunings,
        ui::Screen::Retune => Screen::Retune,
        ui::Screen::Shapes => Screen::Shapes,
        ui::Screen::More => Screen::More,
        ui::Screen::Songs => Screen::Songs,
        ui::Screen::Song => Screen::Song,
        ui::Screen::SongEditor => Screen::SongEditor,
        ui::Screen::SongTuning => Screen::SongTuning,
        ui::Screen::SongChord => Screen::SongChord,
        ui::Screen::SongCompare => Screen::SongCompare,
        ui::Screen::SongChoice => Screen::SongChoice,
        ui::Screen::SetList => Screen::SetList,
        ui::Screen::Playing => Screen::Playing,
        ui::Screen::Exchange => Screen::Exchange,
        ui::Screen::Outgoing => Screen::Outgoing,
        ui::Screen::Show => Screen::Show,
        ui::Screen::KeyPicker => Screen::KeyPicker,
        ui::Screen::ChordPicker => Screen::ChordPicker,
        ui::Screen::Filters => Screen::Filters,
        ui::Screen::KeyPlan => Screen::KeyPlan,
        ui::Screen::Neck => Screen::Neck,
        ui::Screen::OwnTuning => Screen::OwnTuning,
        ui::Screen::Instrument => Screen::Instrument,
        ui::Screen::Settings => Screen::Settings,
        ui::Screen::About => Screen::About,
    }
}

const fn tab_view(tab: Tab) -> ui::Tab {
    match tab {
        Tab::Tunings => ui::Tab::Tunings,
        Tab::Retune => ui::Tab::Retune,
        Tab::Shapes => ui::Tab::Shapes,
        Tab::Songs => ui::Tab::Songs,
        Tab::More => ui::Tab::More,
    }
}

const fn tab_of(tab: ui::Tab) -> Option<Tab> {
    match tab {
        ui::Tab::Tunings => Some(Tab::Tunings),
        ui::Tab::Retune => Some(Tab::Retune),
        ui::Tab::Shapes => Some(Tab::Shapes),
        ui::Tab::More => Some(Tab::More),
        ui::Tab::Songs => Some(Tab::Songs),
    }
}

const fn tunings_view(view: ui::TuningsView) -> TuningsView {
    match view {
        ui::TuningsView::Lately => TuningsView::Lately,
        ui::TuningsView::Nearest => TuningsView::Nearest,
        ui::TuningsView::Families => TuningsView::Kinds,
        ui::TuningsView::Own => TuningsView::Own,
    }
}

const fn style_of(play: ui::PlayStyle) -> Style {
    match play {
        ui::PlayStyle::Strummed => Style::Strummed,
        ui::PlayStyle::Picked => Style::Picked,
    }
}

const fn labels_of(labels: ui::MarkerLabels) -> Labels {
    match labels {
        ui::MarkerLabels::Finger => Labels::Finger,
        ui::MarkerLabels::Note => Labels::Note,
        ui::MarkerLabels::Degree => Labels::Degree,
    }
}

const fn chord_set_of(set: ui::KeyChordSet) -> ChordSet {
    match set {
        ui::KeyChordSet::Triads => ChordSet::Triads,
        ui::KeyChordSet::Sevenths => ChordSet::Sevenths,
        ui::KeyChordSet::More => ChordSet::More,
    }
}

const fn theme_of(theme: ui::ThemeChoice) -> Theme {
    match theme {
        ui::ThemeChoice::System => Theme::System,
        ui::ThemeChoice::Light => Theme::Light,
        ui::ThemeChoice::Dark => Theme::Dark,
        ui::ThemeChoice::Sunlight => Theme::Sunlight,
    }
}
