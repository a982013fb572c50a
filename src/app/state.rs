//! Everything the app knows, and what a tap does to it. No window here.

use std::borrow::Cow;

use crate::instrument::{Bridge, Catalog, CatalogTuning, Fret, Instrument, Language, Stringing, Strung, Tuning};
use crate::retune::{TuningFault, find_faults};
use crate::shapes::{Shape, name_shape};
use crate::songs::{Song, SongId};
use crate::store::{GuitarNow, Library};
use crate::theory::{Chord, Key, Naming, SpellingChoice};

use super::action::{Action, Update};
use super::ears::Ears;
use super::exchange::Exchange;
use super::files::TypedPath;
use super::guide::Guide;
use super::guitar::{Aims, Guitar, Stage};
use super::hand_out::HandOut;
use super::instrument::InstrumentFields;
use super::kept::Kept;
use super::key_plan::KeyPlan;
use super::look::LookedAt;
use super::neck::NeckLook;
use super::notice::Notice;
use super::own_tuning::Editing;
use super::pick::Picking;
use super::playing::Playing;
use super::screen::{Screen, Tab};
use super::set_list::OpenSetList;
use super::shapes::{Looking, first_key};
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
    /// What is kept on disk.
    pub library: Library,
    /// What is on the guitar now, and the retuning under way.
    pub guitar: Guitar,
    /// What the list of tunings shows.
    pub tunings: TuningsList,
    /// What the Shapes screen looks at.
    pub shapes: Looking,
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
    /// The day it is, counted from 1970-01-01; `None` where no clock has told it.
    pub today: Option<u32>,
    /// The language the phone is set to, as far as the screens speak it.
    pub system_language: Language,
    /// Whether the player has told the system to move less on the screen.
    pub system_wants_less_motion: bool,
    /// What is told after it.
    pub(super) waiting: Vec<Notice>,
    /// The tuning that is looked at in place of the guitar's.
    pub(super) looked: Option<LookedAt>,
    /// The library as the last action left it.
    kept: Library,
    /// The guitar before the player has said anything about it: it is in no library.
    untouched: Option<GuitarNow>,
    pub(super) tab: Tab,
    pub(super) above: Vec<Screen>,
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
        let looking = Looking::in_key(guitar.record().key.unwrap_or_else(first_key));
        let chord = looking.chord;
        let mut state = Self {
            kept: library.clone(),
            untouched: None,
            library,
            guitar,
            tunings: TuningsList::default(),
            shapes: looking,
            picking: Picking::starting_at(chord),
            key_plan: KeyPlan::default(),
            neck: NeckLook::default(),
            editing: None,
            instrument_fields: InstrumentFields::default(),
            string_entry: None,
            looked: None,
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
            today: None,
            system_language: Language::default(),
            system_wants_less_motion: false,
            waiting: Vec::new(),
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
        super::stage::resume(&mut state);
        state.guide = Guide::at_first_launch(&state);
        state.settle();
        state
    }

    /// Does what the player asked for. What has to be kept is found by comparing before and after, so that no action can
    /// forget to say so.
    pub fn update(&mut self, action: Action) -> Update {
        let guided = self.guide.is_some().then(|| action.clone());
        let update = self.act(action);
        self.settle();
        if let Some(action) = guided {
            super::guide::follow(self, &action);
        }
        super::ears::settle(self);
        super::tune::settle(self);
        super::set_list::settle(self);
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
        self.adopt_settings();
        self.settle_guitar();
        super::screen::settle(self);
        super::files::settle(self);
        self.settle_neck();
        let is_untouched = self.library.guitar_now.is_none() && self.untouched.as_ref() == Some(self.guitar.record());
        if !is_untouched && self.library.guitar_now.as_ref() != Some(self.guitar.record()) {
            self.library.guitar_now = Some(self.guitar.record().clone());
        }
    }

    /// Strings and bridge stand with the instrument. Version 0.1.0 wrote them into the settings: from a file or a text of
    /// it, they go where they belong.
    fn adopt_settings(&mut self) {
        let settings = &mut self.library.settings;
        let is_for_it = settings.instrument_id == self.guitar.instrument().id();
        if let Some(set) = settings.string_set_id.take().filter(|_| is_for_it) {
            self.guitar.string_with(&set);
        }
        if let Some(bridge) = settings.bridge.take().filter(|_| is_for_it) {
            self.guitar.bridge_with(bridge);
        }
        self.guitar.instrument().id().clone_into(&mut settings.instrument_id);
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
        self.guitar.settle(Aims { settings: &self.library.settings, key, style: self.shapes.style });
    }

    /// The shapes, the row of chords and the plan of a key, on the neck as it is now.
    pub(super) fn settle_neck(&mut self) {
        let board = self.board();
        self.neck.settle(&board);
        let tuning = self.neck_tuning();
        self.shapes.settle(&board, &tuning, &self.library);
        if self.screen() == Screen::KeyPlan {
            super::key_plan::settle(self);
        }
    }

    fn act(&mut self, action: Action) -> Update {
        match action {
            Action::Tab(tab) => self.open_tab(tab),
            // The screen is nothing without a tuning that is entered.
            Action::Open(Screen::OwnTuning) => super::own_tuning::update(self, super::own_tuning::OwnTuningAction::New),
            Action::Open(screen) => self.show(screen),
            // What was done and can be taken back is in nobody's way.
            Action::BackKey if self.notice.is_none() || self.undo.is_some() => self.go_up(),
            Action::Back => self.go_up(),
            Action::CloseNotice | Action::BackKey => {
                self.undo = None;
                self.close_notice();
                Update::Shown
            }
            Action::Tunings(action) => super::tunings::update(self, action),
            Action::Retune(action) => {
                let next = super::retune::update(&mut self.guitar, &self.library, action);
                self.go_on(next)
            }
            Action::Shapes(action) => super::shapes::update(self, action),
            Action::Pick(action) => super::pick::update(self, action),
            Action::KeyPlan(action) => super::key_plan::update(self, action),
            Action::Neck(action) => super::neck::update(self, action),
            Action::OwnTuning(action) => super::own_tuning::update(self, action),
            Action::Instrument(action) => {
                let fields = &mut self.instrument_fields;
                let next = super::instrument::update(fields, &mut self.guitar, &self.library, action);
                self.go_on(next)
            }
            Action::StringEntry(action) => {
                let entry = &mut self.string_entry;
                let next = super::string_entry::update(entry, &mut self.guitar, &self.library, action);
                self.go_on(next)
            }
            Action::Look(action) => super::look::update(self, action),
            Action::Settings(action) => {
                let next = super::settings::update(&mut self.library.settings, action);
                self.go_on(next)
            }
            Action::Ears(action) => super::ears::update(self, action),
            Action::Songs(action) => super::songs::update(self, action),
            Action::Song(action) => super::song::update(self, action),
            Action::Tune(action) => super::tune::update(self, action),
            Action::SongEdit(action) => super::song_edit::update(self, action),
            Action::SongTuning(action) => super::song_tuning::update(self, action),
            Action::Playing(action) => super::playing::update(self, action),
            Action::SetList(action) => super::set_list::update(self, action),
            Action::Stage(action) => super::stage::update(self, action),
            Action::Exchange(action) => super::exchange::update(self, action),
            Action::Files(action) => super::files::update(self, action),
            Action::HandOut(action) => super::hand_out::update(self, action),
            Action::Kept(action) => super::kept::update(self, action),
            Action::Undo => self.take_back(),
            Action::Guide(action) => super::guide::update(self, action),
        }
    }

    /// Returns the bundled catalogue.
    #[must_use]
    pub fn catalog(&self) -> &'static Catalog {
        Catalog::bundled()
    }

    /// Returns the instrument.
    #[must_use]
    pub const fn instrument(&self) -> &'static Instrument {
        self.guitar.instrument()
    }

    /// Returns the language the screens speak: the one chosen, else the phone's.
    #[must_use]
    pub fn language(&self) -> Language {
        let chosen = self.library.settings.language.as_deref();
        chosen.and_then(Language::find).unwrap_or(self.system_language)
    }

    /// Returns how notes are called: as chosen, else as usual in the language of the screens.
    #[must_use]
    pub fn naming(&self) -> Naming {
        self.library.settings.naming.unwrap_or(self.language().usual_naming())
    }

    /// Tells whether things on the screen move less: as chosen here, or for the whole system.
    #[must_use]
    pub const fn has_less_motion(&self) -> bool {
        self.library.settings.has_reduced_motion || self.system_wants_less_motion
    }

    /// Returns the instrument's usual tuning.
    #[must_use]
    pub fn standard(&self) -> Tuning {
        self.catalog().standard_of(self.instrument()).tuning().clone()
    }

    /// Returns the strings it wears: those chosen, or its usual ones.
    #[must_use]
    pub const fn strings(&self) -> &Stringing {
        self.guitar.strings()
    }

    /// Returns the instrument with its strings on.
    #[must_use]
    pub const fn strung(&self) -> &Strung {
        self.guitar.strung()
    }

    /// Returns the bridge it has: the one chosen, or its usual one.
    #[must_use]
    pub fn bridge(&self) -> Bridge {
        self.guitar.bridge()
    }

    /// Returns every tuning the instrument can take: the player's own, then the catalogue's.
    #[must_use]
    pub fn all_tunings(&self) -> (Vec<CatalogTuning>, Vec<&'static CatalogTuning>) {
        let own = self.library.own_tunings().iter().filter(|own| own.instrument_id == self.instrument().id());
        let own = own.map(|own| CatalogTuning::of_player(&own.id, &own.instrument_id, &own.name, &own.pitches));
        (own.collect(), self.catalog().tunings_for(self.instrument()))
    }

    /// Returns the name and id of the tuning with these pitches, the player's own name first.
    #[must_use]
    pub fn tuning_name(&self, tuning: &Tuning) -> Option<(String, String)> {
        name_of(&self.library, self.instrument(), tuning)
    }

    /// Returns the name of the tuning that is wanted, its notes where it has none; `None` when none is wanted.
    #[must_use]
    pub fn target_name(&self) -> Option<String> {
        let (target, wanted) = self.guitar.target().zip(self.guitar.wanted())?;
        Some(self.name_or_notes(self.instrument(), wanted.id.as_deref(), target))
    }

    /// Returns the name of a tuning of an instrument: of those with these pitches the one with this id, else any, else
    /// its notes.
    #[must_use]
    pub(super) fn name_or_notes(&self, instrument: &Instrument, id: Option<&str>, tuning: &Tuning) -> String {
        let own = id.and_then(|id| self.library.find_own_tuning(id)).filter(|own| own.pitches == *tuning);
        let known = id.and_then(|id| self.catalog().find_tuning(id)).filter(|known| known.tuning() == tuning);
        let by_id = own.map(|own| own.name.clone()).or_else(|| known.map(|known| known.name().to_owned()));
        by_id
            .or_else(|| name_of(&self.library, instrument, tuning).map(|(name, _)| name))
            .unwrap_or_else(|| tuning.ascii(SpellingChoice::Customary))
    }

    /// Returns the song that the retuning under way is for.
    #[must_use]
    pub fn waiting_song(&self) -> Option<&Song> {
        self.library.find_song(self.waiting_song_id()?)
    }

    fn waiting_song_id(&self) -> Option<SongId> {
        self.guitar.wanted()?.song
    }

    /// Returns the best name of what is held in the neck view.
    #[must_use]
    pub fn held_chord(&self) -> Option<Chord> {
        let shape = self.neck.shape()?;
        name_shape(&self.board(), &shape, Some(self.shapes.key)).best().map(|name| name.chord)
    }

    /// Returns an instrument of the catalogue as the player has it: in hand, else as it was put away, else in its usual
    /// tuning with its usual strings.
    #[must_use]
    pub(super) fn guitar_of(&self, instrument_id: &str) -> Option<Cow<'_, Guitar>> {
        if instrument_id == self.instrument().id() {
            return Some(Cow::Borrowed(&self.guitar));
        }
        let instrument = self.catalog().find_instrument(instrument_id)?;
        let kept = self.library.find_put_away(instrument_id).cloned().and_then(Guitar::restore);
        Some(Cow::Owned(kept.unwrap_or_else(|| Guitar::in_standard(self.catalog(), instrument))))
    }

    /// Takes another instrument: as it was put away, else in its usual tuning.
    pub(super) fn take_instrument(&mut self, id: &str) {
        let Some(Cow::Owned(taken)) = self.guitar_of(id) else { return };
        self.look_back();
        let put_away = std::mem::replace(&mut self.guitar, taken);
        self.library.change_guitar(put_away.record().clone(), id);
        // The library still holds the one before: what is taken is kept even where nothing is said about it yet.
        self.library.guitar_now = None;
        self.untouched = None;
        self.editing = None;
        self.string_entry = None;
        self.instrument_fields.scale = None;
        self.tunings = TuningsList::default();
    }

    pub(super) fn set_capo(&mut self, fret: Fret) {
        if let Err(notice) = super::instrument::move_capo(&mut self.guitar, fret) {
            self.tell(notice);
        }
    }

    pub(super) fn set_key(&mut self, key: Key) {
        match &mut self.looked {
            Some(looked) => looked.choose_key(key),
            None => self.guitar.choose_key(key),
        }
        self.shapes.key = key;
        self.choose_chord(super::shapes::tonic_chord(key));
    }

    pub(super) fn choose_chord(&mut self, chord: Chord) {
        self.shapes.choose(chord);
    }

    /// Opens the Shapes screen at this shape of a chord.
    pub(super) fn open_shape(&mut self, chord: Chord, shape: &Shape) -> Update {
        self.choose_chord(chord);
        let board = self.board();
        let tuning = self.neck_tuning();
        self.shapes.settle(&board, &tuning, &self.library);
        self.shapes.turn_to(shape, &board);
        self.open_tab(Tab::Shapes)
    }

    /// Tells the player of a string that would break or leave the pitches in `tuning`; returns whether there is one.
    pub(super) fn refuses(&mut self, tuning: &Tuning) -> bool {
        let refusal = self.refusal(&self.guitar, tuning);
        refusal.map(|notice| self.tell(notice)).is_some()
    }

    /// Returns what keeps an instrument out of a tuning: a string that would break or leave the pitches.
    #[must_use]
    pub(super) fn refusal(&self, guitar: &Guitar, tuning: &Tuning) -> Option<Notice> {
        let a4 = self.library.settings.reference();
        let faults = find_faults(guitar.instrument(), guitar.strung(), tuning, Fret::OPEN, a4);
        faults.iter().find_map(|fault| match *fault {
            TuningFault::Breaks { course, .. } => Some(Notice::StringWouldBreak(course)),
            TuningFault::OutOfRange { course } => Some(Notice::PitchOutOfRange(course)),
            _ => None,
        })
    }
}

/// Returns the name and id of a tuning of an instrument, the player's own name first.
pub(super) fn name_of(library: &Library, instrument: &Instrument, tuning: &Tuning) -> Option<(String, String)> {
    let is_it = |own: &&crate::store::OwnTuning| own.instrument_id == instrument.id() && &own.pitches == tuning;
    let own = library.own_tunings().iter().find(is_it);
    own.map(|own| (own.name.clone(), own.id.clone())).or_else(|| {
        let known = Catalog::bundled().name_of(instrument, tuning)?;
        Some((known.name().to_owned(), known.id().to_owned()))
    })
}
