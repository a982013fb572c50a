//! Everything the app knows, and what a tap does to it. No window here.

use std::ops::{Deref, DerefMut};

use crate::instrument::{Catalog, Language};
use crate::store::{GuitarNow, Library, Theme};

use super::action::{Action, Update};
use super::desk::Desk;
use super::ears::Ears;
use super::exchange::Exchange;
use super::explained::{ExplainAction, Term};
use super::files::TypedPath;
use super::guide::Guide;
use super::guitar::{Aims, Guitar, Stage};
use super::hand_out::HandOut;
use super::instrument::InstrumentFields;
use super::kept::Kept;
use super::key_plan::KeyPlan;
use super::look::LookedAt;
use super::neck::NeckLook;
use super::next::Next;
use super::notice::Notice;
use super::own_tuning::Editing;
use super::pick::Picking;
use super::playing::Playing;
use super::screen::{Screen, Tab};
use super::set_list::OpenSetList;
use super::shapes::{OpenShapes, first_key};
use super::song::OpenSong;
use super::song_edit::SongEditing;
use super::song_tuning::TuningChoice;
use super::songs::SongsList;
use super::string_entry::StringEntry;
use super::tune::OpenTune;
use super::tunings::TuningsList;
use super::undo::Undo;

/// Everything the app knows.
#[derive(Clone, Debug)]
pub struct State {
    /// What every screen has before it.
    pub(super) desk: Desk,
    /// What the list of tunings shows.
    pub tunings: TuningsList,
    /// What stands in the chord picker.
    pub picking: Picking,
    /// The plan of shapes for a key.
    pub key_plan: KeyPlan,
    /// What the neck view looks at.
    pub neck: NeckLook,
    /// The tuning being entered.
    pub editing: Option<Editing>,
    /// What stands in the fields of the Instrument screen.
    pub instrument_fields: InstrumentFields,
    /// The string being described.
    pub string_entry: Option<StringEntry>,
    /// What the phone sounds and hears.
    pub ears: Ears,
    /// What the Songs tab shows.
    pub songs: SongsList,
    /// The open song.
    pub song: OpenSong,
    /// The tune of a song.
    pub tune: OpenTune,
    /// The song being entered.
    pub editing_song: Option<SongEditing>,
    /// The choice of a tuning for a song.
    pub tuning_choice: TuningChoice,
    /// The song being played.
    pub playing: Playing,
    /// The open set list.
    pub set_list: OpenSetList,
    /// What goes out and what comes in.
    pub exchange: Exchange,
    /// A file's path, where it has to be typed.
    pub typed_path: Option<TypedPath>,
    /// The page that is handed out.
    pub hand_out: HandOut,
    /// What is kept beside the library.
    pub beside: Kept,
    /// What can be taken back.
    pub undo: Option<Undo>,
    /// What the player is told, until it is put away.
    pub notice: Option<Notice>,
    /// The guide through the first run.
    pub guide: Option<Guide>,
    /// The word that is explained now.
    pub explained: Option<Term>,
    /// Whether the player has told the system to move less on the screen.
    pub system_wants_less_motion: bool,
    /// Whether the player has told the system to show more contrast.
    pub system_wants_more_contrast: bool,
    /// What is told after it.
    pub(super) next_notices: Vec<Notice>,
    /// The library as the last action left it.
    kept: Library,
    /// The guitar before the player has said anything about it: it is in no library.
    untouched: Option<GuitarNow>,
    /// The instrument that was in hand then.
    held_id: &'static str,
    pub(super) tab: Tab,
    pub(super) above: Vec<Screen>,
}

/// What lies on the desk is the state's own.
impl Deref for State {
    type Target = Desk;

    fn deref(&self) -> &Desk {
        &self.desk
    }
}

impl DerefMut for State {
    fn deref_mut(&mut self) -> &mut Desk {
        &mut self.desk
    }
}

impl State {
    /// Starts from the player's library: with what was on the guitar, and a half-done retuning at the step where it was
    /// left.
    #[must_use]
    pub fn new(library: Library) -> Self {
        let catalog = Catalog::bundled();
        let usual = catalog.find_instrument(&library.settings.instrument_id).unwrap_or_else(|| catalog.guitar());
        let kept = library.guitar_now.clone().and_then(Guitar::restore);
        let guitar = kept.unwrap_or_else(|| Guitar::in_standard(catalog, usual));
        let shapes = OpenShapes::in_key(guitar.record().key.unwrap_or_else(first_key));
        let chord = shapes.chord;
        let mut state = Self {
            kept: library.clone(),
            untouched: None,
            held_id: guitar.instrument().id(),
            desk: Desk { library, guitar, shapes, today: None, system_language: Language::default(), looked: None },
            tunings: TuningsList::default(),
            picking: Picking::starting_at(chord),
            key_plan: KeyPlan::default(),
            neck: NeckLook::default(),
            editing: None,
            instrument_fields: InstrumentFields::default(),
            string_entry: None,
            ears: Ears::default(),
            songs: SongsList::default(),
            song: OpenSong::default(),
            tune: OpenTune::default(),
            editing_song: None,
            tuning_choice: TuningChoice::default(),
            playing: Playing::default(),
            set_list: OpenSetList::default(),
            exchange: Exchange::default(),
            typed_path: None,
            hand_out: HandOut::default(),
            beside: Kept::default(),
            undo: None,
            notice: None,
            guide: None,
            explained: None,
            system_wants_less_motion: false,
            system_wants_more_contrast: false,
            next_notices: Vec::new(),
            tab: Tab::default(),
            above: Vec::new(),
        };
        if state.library.guitar_now.is_none() {
            state.settle_guitar();
            state.untouched = Some(state.guitar.record().clone());
        }
        state.settle();
        if matches!(state.guitar.stage(), Stage::Step | Stage::Check | Stage::Capo) {
            state.tab = Tab::Retune;
        }
        let next = super::stage::resume(&mut state.set_list, &mut state.desk);
        state.go_on(next);
        state.guide = Guide::at_first_launch(&state);
        state.settle();
        state
    }

    /// Does what the player asked for. What has to be kept is found by comparing before and after, so that no action can
    /// forget to say so.
    pub fn update(&mut self, action: Action) -> Update {
        let guided = self.guide.is_some().then(|| action.clone());
        let reached = super::retune::reached(&self.guitar).map(ToOwned::to_owned);
        let takes_back = matches!(action, Action::Undo);
        let stood_on = (self.tab(), self.screen(), self.guitar.stage(), self.guitar.course());
        let update = self.act(action);
        self.settle();
        if (self.tab(), self.screen(), self.guitar.stage(), self.guitar.course()) != stood_on {
            // What stood there is gone, and its explanation with it.
            self.explained = None;
        }
        if !takes_back {
            super::retune::remember_reached(&mut self.desk, reached.as_deref());
        }
        if let Some(action) = guided {
            let shown = (self.tab(), self.screen());
            super::guide::follow(&mut self.guide, &mut self.desk, &action, shown);
        }
        self.settle_sound();
        if self.screen() != Screen::SetList {
            // A search is given up when its set list is not what is shown any more.
            self.set_list.ordering = None;
        }
        if self.library == self.kept {
            return update;
        }
        self.kept = self.library.clone();
        match update {
            Update::Shown => Update::Kept,
            other => other,
        }
    }

    /// After every action: all that follows from what the player has and chose, and the guitar as it is kept.
    pub(super) fn settle(&mut self) {
        self.follow_instrument();
        self.adopt_settings();
        self.settle_guitar();
        self.settle_screens();
        let screen = self.screen();
        super::files::settle(&mut self.typed_path, screen);
        self.settle_neck();
        let is_untouched = self.library.guitar_now.is_none() && self.untouched.as_ref() == Some(self.guitar.record());
        if !is_untouched && self.library.guitar_now.as_ref() != Some(self.guitar.record()) {
            self.library.guitar_now = Some(self.guitar.record().clone());
        }
    }

    /// What is half entered or searched for one instrument is nothing to another.
    fn follow_instrument(&mut self) {
        let id = self.instrument().id();
        if self.held_id == id {
            return;
        }
        self.held_id = id;
        self.untouched = None;
        self.editing = None;
        self.string_entry = None;
        self.instrument_fields.scale = None;
        self.tunings = TuningsList::default();
    }

    /// Strings and bridge stand with the instrument. Version 0.1.0 wrote them into the settings: from a file or a text of
    /// it, they go where they belong.
    fn adopt_settings(&mut self) {
        let Desk { library, guitar, .. } = &mut self.desk;
        let settings = &mut library.settings;
        let is_for_it = settings.instrument_id == guitar.instrument().id();
        if let Some(set) = settings.string_set_id.take().filter(|_| is_for_it) {
            guitar.string_with(&set);
        }
        if let Some(bridge) = settings.bridge.take().filter(|_| is_for_it) {
            guitar.bridge_with(bridge);
        }
        guitar.instrument().id().clone_into(&mut settings.instrument_id);
    }

    fn settle_guitar(&mut self) {
        let last = self.looked().map_or(self.shapes.key, LookedAt::guitar_key);
        if self.guitar.record().key.is_none() {
            let key = self.invited_key().unwrap_or(last);
            self.guitar.invite_key(key);
        }
        let key = self.guitar.record().key.unwrap_or(last);
        if let Some(looked) = &mut self.looked {
            looked.follow(key);
        }
        let shown = self.looked().map_or(key, LookedAt::key);
        if self.shapes.key != shown {
            self.shapes.key = shown;
            self.shapes.choose(super::shapes::tonic_chord(shown));
        }
        let Desk { library, guitar, shapes, .. } = &mut self.desk;
        guitar.settle(Aims { settings: &library.settings, key, style: shapes.style });
    }

    /// The shapes, the row of chords and the plan of a key, on the neck as it is now.
    pub(super) fn settle_neck(&mut self) {
        let board = self.board();
        self.neck.settle(&board);
        let tuning = self.neck_tuning();
        let Desk { library, shapes, .. } = &mut self.desk;
        shapes.settle(&board, &tuning, library);
        if self.screen() == Screen::KeyPlan {
            self.key_plan.settle(&self.desk);
        }
    }

    fn act(&mut self, action: Action) -> Update {
        match action {
            Action::Tab(tab) => self.open_tab(tab),
            // The screen is nothing without a tuning that is entered.
            Action::Open(Screen::OwnTuning) => self.act(Action::OwnTuning(super::own_tuning::OwnTuningAction::New)),
            Action::Open(screen) => self.show(screen),
            // What lies over the page goes first.
            Action::BackKey if self.explained.is_some() => self.act(Action::Explain(ExplainAction::Close)),
            // What was done and can be taken back is in nobody's way.
            Action::BackKey if self.notice.is_none() || self.undo.is_some() => self.go_up(),
            Action::Back => self.go_up(),
            Action::CloseNotice | Action::BackKey => {
                self.undo = None;
                self.close_notice();
                Update::Shown
            }
            Action::Undo => self.take_back(),
            on_screen => {
                let next = self.act_on_screen(on_screen);
                self.go_on(next)
            }
        }
    }

    /// Hands an action to its screen, with the screen's own state and the desk.
    fn act_on_screen(&mut self, action: Action) -> Next {
        let screen = self.screen();
        let desk = &mut self.desk;
        match action {
            Action::Ears(action) => super::ears::update(&mut self.ears, desk, screen, action),
            Action::Tune(action) => super::tune::update(&mut self.tune, self.song.id, desk, action),
            Action::Tunings(action) => super::tunings::update(&mut self.tunings, desk, action),
            Action::Retune(action) => super::retune::update(&mut desk.guitar, &desk.library, action),
            Action::Shapes(action) => super::shapes::update(desk, action),
            Action::Pick(action) => super::pick::update(&mut self.picking, desk, action),
            Action::KeyPlan(action) => super::key_plan::update(&mut self.key_plan, desk, action),
            Action::Neck(action) => super::neck::update(&mut self.neck, desk, action),
            Action::OwnTuning(action) => super::own_tuning::update(&mut self.editing, &mut self.tunings, desk, action),
            Action::Instrument(action) => {
                super::instrument::update(&mut self.instrument_fields, &mut desk.guitar, action)
            }
            Action::StringEntry(action) => {
                super::string_entry::update(&mut self.string_entry, &mut desk.guitar, &desk.library, action)
            }
            Action::Look(action) => super::look::update(desk, action),
            Action::Settings(action) => super::settings::update(&mut desk.library.settings, action),
            Action::Songs(action) => {
                super::songs::update(&mut self.songs, &mut self.song, &mut self.set_list, desk, action)
            }
            Action::Song(action) => super::song::update(&mut self.song, desk, action),
            Action::SongEdit(action) => super::song_edit::update(&mut self.editing_song, &mut self.song, desk, action),
            Action::SongTuning(action) => {
                let (choice, editing) = (&mut self.tuning_choice, &mut self.editing_song);
                super::song_tuning::update(choice, editing, &mut self.song, desk, action)
            }
            Action::Playing(action) => super::playing::update(&mut self.playing, &mut self.set_list, desk, action),
            Action::SetList(action) => super::set_list::update(&mut self.set_list, desk, action),
            Action::Stage(action) => super::stage::update(&mut self.set_list, desk, action),
            Action::Exchange(action) => super::exchange::update(&mut self.exchange, desk, action),
            Action::Files(action) => super::files::update(&mut self.typed_path, action),
            Action::HandOut(action) => super::hand_out::update(&mut self.hand_out, &self.tune, desk, action),
            Action::Kept(action) => {
                super::kept::update(&mut self.beside, &mut self.exchange, &mut desk.library, action)
            }
            Action::Explain(action) => super::explained::update(&mut self.explained, action),
            Action::Guide(action) => super::guide::update(&mut self.guide, &mut self.tunings, desk, action),
            Action::Tab(_) | Action::Open(_) | Action::Back | Action::BackKey | Action::CloseNotice | Action::Undo => {
                Next::Shown
            }
        }
    }

    /// Tells whether things on the screen move less: as chosen here, or for the whole system.
    #[must_use]
    pub fn has_less_motion(&self) -> bool {
        self.library.settings.has_reduced_motion || self.system_wants_less_motion
    }

    /// Returns the theme: the one chosen; left to a system that wants more contrast, the one of most.
    #[must_use]
    pub fn theme(&self) -> Theme {
        match self.library.settings.theme {
            Theme::System if self.system_wants_more_contrast => Theme::Sunlight,
            chosen => chosen,
        }
    }
}
