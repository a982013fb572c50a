//! Filling the window from the state: what every screen shows, then the one that is shown.

use std::rc::Rc;

use slint::ComponentHandle;

use crate::app::screen::Screen;
use crate::app::state::State;
use crate::app::tunings::TuningsList;
use crate::app::{TabRoom, is_tune_screen, ui, view};
use crate::store::{GuitarNow, OnStage, OwnTuning, Settings};
use crate::theory::Naming;

use super::App;
use crate::app::window::keys::HadKeys;
use crate::app::window::kinds::{screen_view, tab_view, term_view};

/// What the rows of the Tunings screen depend on: when it is unchanged, the list keeps its place.
#[derive(Clone, PartialEq)]
pub(super) struct TuningsKey {
    list: TuningsList,
    guitar: GuitarNow,
    settings: Settings,
    own: Vec<OwnTuning>,
    recent: Vec<String>,
    lesson: Option<String>,
    on_stage: Option<OnStage>,
}

impl TuningsKey {
    fn of(state: &State) -> Self {
        Self {
            list: state.tunings.clone(),
            guitar: state.guitar.record().clone(),
            settings: state.library.settings.clone(),
            own: state.library.own_tunings().to_vec(),
            recent: state.library.recent_tuning_ids().to_vec(),
            on_stage: state.library.on_stage.clone(),
            lesson: state.guide.as_ref().and_then(|guide| Some(guide.lesson_to_choose()?.id.clone())),
        }
    }
}

impl App {
    /// Fills the window from the state; what had the keys has them still, or something near it.
    pub(super) fn show(&self) {
        let had: Option<HadKeys> = self.had_keys();
        self.fill();
        self.give_keys_on(had);
    }

    fn fill(&self) {
        let state = self.state.borrow();
        let window = &self.window;
        let app = window.global::<ui::AppState<'_>>();
        app.set_screen(screen_view(state.screen()));
        app.set_tab(tab_view(state.tab()));
        app.set_on_guitar(view::show_guitar(&state));
        app.set_looked(view::show_looked(&state));
        app.set_left_handed(state.library.settings.is_left_handed);
        app.set_message(view::show_notice(&state));
        app.set_unsaved(self.unsaved.borrow().is_some());
        app.set_guide(view::show_guide(&state));
        window.global::<ui::ExplainedState<'_>>().set_open(state.explained.map_or(ui::Term::None, term_view));
        let naming = state.naming();
        app.set_letters(naming.letters().join(" ").into());
        app.set_has_h(naming == Naming::German);
        let tokens = window.global::<ui::Tokens<'_>>();
        tokens.set_theme(view::theme(state.theme()));
        self.machine.show_levels(state.levels());
        tokens.set_reduced_motion(state.has_less_motion());
        self.show_language(&state);
        // On a wide window the list of tunings stands beside the retuning, so both are kept filled.
        let key = TuningsKey::of(&state);
        if self.shown_tunings.borrow().as_ref() != Some(&key) {
            view::show_tunings(&state, &window.global::<ui::TuningsState<'_>>());
            *self.shown_tunings.borrow_mut() = Some(key);
        }
        view::show_retune(&state, &window.global::<ui::RetuneState<'_>>());
        let listening = window.global::<ui::ListenState<'_>>();
        view::show_listening(&state, &listening);
        listening.set_of_page(self.machine.is_page());
        view::show_files(&state, self.machine.opens_files(), &window.global::<ui::FilesState<'_>>());
        let is_long =
            matches!(state.screen(), Screen::Retune | Screen::Show | Screen::Playing) || is_tune_screen(state.screen());
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
            Screen::Tune
            | Screen::TuneHow
            | Screen::TuneMoment
            | Screen::TuneSteps
            | Screen::TuneTunings
            | Screen::TuneEntry
            | Screen::TuneNeck
            | Screen::TunePluck => self.show_tune(&state),
            Screen::Playing => {
                let mut page = self.shown_page.borrow_mut();
                view::show_playing(&state, &mut page, &window.global::<ui::PlayState<'_>>());
            }
            Screen::Exchange | Screen::Outgoing => {
                let to = window.global::<ui::ExchangeState<'_>>();
                view::show_exchange(&state, self.folder().is_some(), &to);
            }
            Screen::HandOut => {
                let shares = self.machine.shares();
                view::show_hand_out(&state, shares, &window.global::<ui::HandOutState<'_>>());
            }
            Screen::Kept => {
                // Without a folder there may be no clock either.
                let now = self.folder().map(|_| self.machine.now());
                view::show_kept(&state, now.is_some(), now, &window.global::<ui::KeptState<'_>>());
            }
            Screen::Licences => view::show_licences(&window.global::<ui::LicencesState<'_>>()),
            Screen::Shapes | Screen::Show | Screen::Filters => {
                view::show_shapes(&state, window);
                view::show_filters(&state, &window.global::<ui::FiltersState<'_>>());
            }
            Screen::Overview => view::show_overview(&state, &window.global::<ui::OverviewState<'_>>()),
            Screen::KeyPicker | Screen::ChordPicker => {
                view::show_pick(&state, &window.global::<ui::PickState<'_>>());
                view::show_shapes(&state, window);
            }
            Screen::KeyPlan => view::show_key_plan(&state, &window.global::<ui::KeyPlanState<'_>>()),
            Screen::Neck => view::show_neck(&state, &window.global::<ui::NeckState<'_>>()),
            Screen::OwnTuning => view::show_own_tuning(&state, &window.global::<ui::OwnTuningState<'_>>()),
            Screen::Instrument => view::show_instrument(&state, &window.global::<ui::InstrumentState<'_>>()),
            Screen::OneString => view::show_one_string(&state, &window.global::<ui::OneStringState<'_>>()),
            Screen::Settings => view::show_settings(&state, &window.global::<ui::SettingsState<'_>>()),
            Screen::About => {
                let place = self.folder().map(|folder| folder.display().to_string()).unwrap_or_default();
                view::show_about(&place, &window.global::<ui::AboutState<'_>>());
            }
        }
    }

    /// Returns the tab as it is laid out in a room: the one that is shown where it still fits.
    pub(in crate::app::window) fn tab_in(&self, room: TabRoom, number: i32) -> Option<Rc<view::ShownTab>> {
        let shown = self.shown_tab.borrow().clone();
        if let Some((_, _, tab)) = shown.filter(|(shown, of, _)| *shown == number && *of == room) {
            return Some(tab);
        }
        let state = self.state.try_borrow().ok()?;
        let tab = Rc::new(view::lay_out(&state, room)?);
        *self.shown_tab.borrow_mut() = Some((number, room, Rc::clone(&tab)));
        Some(tab)
    }

    /// Returns the tab that was laid out last.
    pub(in crate::app::window) fn last_tab(&self) -> Option<Rc<view::ShownTab>> {
        self.shown_tab.borrow().as_ref().map(|(_, _, tab)| Rc::clone(tab))
    }

    /// Fills the screens of a tune.
    fn show_tune(&self, state: &State) {
        let to = self.window.global::<ui::TuneState<'_>>();
        let key = view::tab_key(state);
        let mut shown = self.shown_key.borrow_mut();
        if shown.0 != key {
            *shown = (key, shown.1.wrapping_add(1));
        }
        let number = shown.1;
        drop(shown);
        view::show_tune(state, number, &to);
        match state.screen() {
            Screen::TuneMoment => view::show_tune_moment(state, &to),
            Screen::TuneSteps => view::show_tune_steps(state, &to),
            Screen::TuneTunings => view::show_tune_tunings(state, &to),
            Screen::TuneEntry => view::show_tune_entry(state, self.machine.opens_files(), &to),
            Screen::TuneNeck => view::show_tune_neck(state, &to),
            Screen::TunePluck => view::show_tune_pluck(state, &self.window.global::<ui::PluckState<'_>>()),
            _ => {}
        }
    }

    /// Switches to the language chosen, or back to the phone's, when it has changed. All of them are bundled.
    fn show_language(&self, state: &State) {
        let wanted = state.language();
        if self.shown_language.replace(Some(wanted)) != Some(wanted) {
            let _ = slint::select_bundled_translation(wanted.code());
            self.machine.show_language(wanted.code());
        }
    }
}
