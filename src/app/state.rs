//! Everything the app knows, and what a tap does to it. No window here.

use crate::instrument::{
    Bridge, Catalog, CatalogTuning, Fret, Fretboard, Instrument, Language, StringSet, Strung, Tuning,
};
use crate::retune::{Sweetening, TuningFault, find_faults};
use crate::shapes::{Shape, ShapeSearch, is_reentrant, name_pitches, name_shape};
use crate::songs::SongId;
use crate::store::{GuitarNow, Library, Temperament};
use crate::theory::{Chord, Key, Semitones};

use super::action::{Action, Update};
use super::ears::Ears;
use super::exchange::Exchange;
use super::guide::Guide;
use super::guitar::Guitar;
use super::key_plan::KeyPlan;
use super::neck::NeckLook;
use super::notice::Notice;
use super::own_tuning::Editing;
use super::pick::Picking;
use super::playing::Playing;
use super::retune::Retuning;
use super::screen::{Screen, Tab};
use super::set_list::OpenSetList;
use super::shapes::{Looking, first_key, key_of_open_chord};
use super::song::OpenSong;
use super::song_edit::SongEditing;
use super::song_tuning::TuningChoice;
use super::songs::SongsList;
use super::tunings::TuningsList;
use super::undo::Undo;

/// Everything the app knows.
#[derive(Clone, Debug)]
pub struct State {
    /// What is kept on disk.
    pub library: Library,
    /// What is on the guitar now.
    pub guitar: Guitar,
    /// The retuning under way.
    pub retuning: Retuning,
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
    /// What was typed to find an instrument.
    pub instrument_search: String,
    /// What the phone sounds and hears.
    pub ears: Ears,
    /// What the Songs tab shows.
    pub songs: SongsList,
    /// The open song.
    pub song: OpenSong,
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
    /// The song that the retuning under way is for.
    pub waiting_song: Option<SongId>,
    /// What can be taken back.
    pub undo: Option<Undo>,
    /// What the player is told, until it is put away.
    pub notice: Option<Notice>,
    /// The guide through the first run.
    pub guide: Option<Guide>,
    /// The language the phone is set to, as far as the screens speak it.
    pub system_language: Language,
    /// Whether the player has told the system to move less on the screen.
    pub system_wants_less_motion: bool,
    /// What is told after it.
    pub(super) waiting: Vec<Notice>,
    strung: Strung,
    pub(super) tab: Tab,
    pub(super) above: Vec<Screen>,
}

impl State {
    /// Starts from the player's library: with what was on the guitar, and a half-done retuning at the step where it was
    /// left.
    #[must_use]
    pub fn new(library: Library) -> Self {
        let catalog = Catalog::bundled();
        let kept = library.guitar_now.as_ref().map(|now| now.instrument_id.as_str());
        let id = kept.unwrap_or(library.settings.instrument_id.as_str());
        let instrument = catalog.find_instrument(id).unwrap_or_else(|| catalog.guitar());
        let guitar = library
            .guitar_now
            .as_ref()
            .and_then(|now| Guitar::restore(instrument, now))
            .unwrap_or_else(|| Guitar::in_standard(catalog, instrument));
        let strung = strung(&library, instrument);
        let looking = Looking::in_key(first_key());
        let chord = looking.chord;
        let mut state = Self {
            retuning: Retuning::restore(&library, &guitar),
            library,
            guitar,
            tunings: TuningsList::default(),
            shapes: looking,
            picking: Picking::starting_at(chord),
            key_plan: KeyPlan::default(),
            neck: NeckLook::default(),
            editing: None,
            instrument_search: String::new(),
            ears: Ears::default(),
            songs: SongsList::default(),
            song: OpenSong::default(),
            editing_song: None,
            tuning_choice: TuningChoice::default(),
            playing: Playing::default(),
            set_list: OpenSetList::default(),
            exchange: Exchange::default(),
            waiting_song: None,
            undo: None,
            notice: None,
            guide: None,
            system_language: Language::default(),
            system_wants_less_motion: false,
            waiting: Vec::new(),
            strung,
            tab: Tab::default(),
            above: Vec::new(),
        };
        state.replan();
        state.follow_tuning();
        if state.retuning.course().is_some() {
            state.tab = Tab::Retune;
        }
        super::stage::resume(&mut state);
        state.guide = Guide::at_first_launch(&state);
        state
    }

    /// Does what the player asked for.
    pub fn update(&mut self, action: Action) -> Update {
        let guided = self.guide.is_some().then(|| action.clone());
        let update = self.act(action);
        let has_guide_ended = guided.is_some_and(|action| super::guide::follow(self, &action));
        super::ears::settle(self);
        super::set_list::settle(self);
        if has_guide_ended && update == Update::Shown { Update::Kept } else { update }
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
            Action::Retune(action) => super::retune::update(self, action),
            Action::Shapes(action) => super::shapes::update(self, action),
            Action::Pick(action) => super::pick::update(self, action),
            Action::KeyPlan(action) => super::key_plan::update(self, action),
            Action::Neck(action) => super::neck::update(self, action),
            Action::OwnTuning(action) => super::own_tuning::update(self, action),
            Action::Instrument(action) => super::instrument::update(self, action),
            Action::Settings(action) => super::settings::update(self, action),
            Action::Ears(action) => super::ears::update(self, action),
            Action::Songs(action) => super::songs::update(self, action),
            Action::Song(action) => super::song::update(self, action),
            Action::SongEdit(action) => super::song_edit::update(self, action),
            Action::SongTuning(action) => super::song_tuning::update(self, action),
            Action::Playing(action) => super::playing::update(self, action),
            Action::SetList(action) => super::set_list::update(self, action),
            Action::Stage(action) => super::stage::update(self, action),
            Action::Exchange(action) => super::exchange::update(self, action),
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
    pub fn strings(&self) -> &'static StringSet {
        worn(&self.library, self.instrument())
    }

    /// Returns the instrument with its strings on.
    #[must_use]
    pub const fn strung(&self) -> &Strung {
        &self.strung
    }

    /// After another instrument or other strings.
    pub(super) fn restring(&mut self) {
        self.strung = strung(&self.library, self.instrument());
    }

    /// Returns the bridge it has: the one chosen, or its usual one.
    #[must_use]
    pub fn bridge(&self) -> Bridge {
        self.library.settings.bridge.unwrap_or_else(|| self.instrument().bridge())
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

    /// Returns the neck as it is tuned now, capo included.
    ///
    /// # Panics
    /// Never: [`Guitar`] keeps a tuning and a capo that fit the instrument.
    #[must_use]
    pub fn board(&self) -> Fretboard<'static> {
        Fretboard::new(self.instrument(), self.guitar.tuning(), self.guitar.capo()).expect("a guitar fits its neck")
    }

    /// Returns the chord the open strings sound, where they sound one: of its names the one on the note that most
    /// strings sound, as players call a tuning (D G D G B E is G6, though its lowest note makes it E minor seventh).
    #[must_use]
    pub fn open_chord(&self, tuning: &Tuning) -> Option<Chord> {
        let is_reentrant =
            Fretboard::new(self.instrument(), tuning, Fret::OPEN).is_ok_and(|board| is_reentrant(&board));
        let names = name_pitches(tuning.pitches(), is_reentrant, None).names;
        let strings =
            |chord: &Chord| tuning.pitches().iter().filter(|pitch| pitch.class() == chord.root().class()).count();
        let whole = names.iter().filter(|name| name.missing.is_empty()).map(|name| name.chord);
        let most = whole.clone().map(|chord| strings(&chord)).max()?;
        whole.into_iter().find(|chord| strings(chord) == most)
    }

    /// Returns the best name of what is held in the neck view.
    #[must_use]
    pub fn held_chord(&self) -> Option<Chord> {
        let shape = self.neck.shape()?;
        name_shape(&self.board(), &shape, Some(self.shapes.key)).best().map(|name| name.chord)
    }

    /// Takes another instrument: as it was put away, else in its usual tuning.
    pub(super) fn take_instrument(&mut self, id: &str) {
        let Some(instrument) = self.catalog().find_instrument(id) else { return };
        self.keep_guitar();
        self.library.take_guitar(id);
        let kept = self.library.guitar_now.as_ref().and_then(|now| Guitar::restore(instrument, now));
        self.guitar = kept.unwrap_or_else(|| Guitar::in_standard(self.catalog(), instrument));
        self.library.settings.instrument_id = id.to_owned();
        self.library.settings.string_set_id = None;
        self.library.settings.bridge = None;
        self.retuning = Retuning::restore(&self.library, &self.guitar);
        self.editing = None;
        self.tunings = TuningsList::default();
        self.restring();
        self.replan();
        self.keep_guitar();
        self.follow_tuning();
    }

    pub(super) fn set_capo(&mut self, fret: Fret) {
        let highest = self.instrument().last_fret().get().saturating_sub(1);
        if self.guitar.set_capo(fret) {
            self.keep_guitar();
            self.replan();
            self.follow_neck();
        } else {
            self.tell(Notice::CapoBeyondFrets { asked: fret.get(), highest });
        }
    }

    pub(super) fn set_key(&mut self, key: Key) {
        self.shapes.key = key;
        self.search_row();
        self.choose_chord(super::shapes::tonic_chord(key));
    }

    pub(super) fn choose_chord(&mut self, chord: Chord) {
        self.shapes.chord = chord;
        self.search_shapes();
    }

    /// Opens the Shapes screen at this shape of a chord.
    pub(super) fn open_shape(&mut self, chord: Chord, shape: &Shape) -> Update {
        self.choose_chord(chord);
        let board = self.board();
        self.shapes.turn_to(shape, &board);
        self.open_tab(Tab::Shapes)
    }

    pub(super) fn search_shapes(&mut self) {
        let board = self.board();
        self.shapes.search_chord(&board);
    }

    pub(super) fn search_row(&mut self) {
        let board = self.board();
        self.shapes.search_row(&board);
    }

    /// Makes the retuning plan again, from what is on the guitar now.
    pub(super) fn replan(&mut self) {
        let (strings, bridge) = (self.strings(), self.bridge());
        self.retuning.replan(&self.guitar, strings, bridge, self.library.settings.reference());
    }

    /// Means the strings to end as the settings want them, from here on: what is kept with the retuning stays until
    /// another tuning or another temperament is chosen.
    pub(super) fn sweeten(&mut self) {
        if let Some(by) = self.wanted_sweetening() {
            self.guitar.sweeten(&by);
        }
        self.replan();
    }

    /// Tells the player of a string that would break or leave the pitches in `tuning`; returns whether there is one.
    pub(super) fn refuses(&mut self, tuning: &Tuning) -> bool {
        let a4 = self.library.settings.reference();
        let faults = find_faults(self.instrument(), &self.strung, tuning, Fret::OPEN, a4);
        let notice = faults.iter().find_map(|fault| match *fault {
            TuningFault::Breaks { course, .. } => Some(Notice::StringWouldBreak(course)),
            TuningFault::OutOfRange { course } => Some(Notice::PitchOutOfRange(course)),
            _ => None,
        });
        notice.map(|notice| self.tell(notice)).is_some()
    }

    /// Returns how far from equal temperament the strings are meant to end; `None` when no tuning is wanted.
    fn wanted_sweetening(&self) -> Option<Sweetening> {
        let target = &self.retuning.target.as_ref()?.tuning;
        let equal = Sweetening::none(target.courses());
        Some(match self.library.settings.temperament {
            Temperament::Equal => equal,
            Temperament::OpenChord => {
                let root = Sweetening::find_open_root(target);
                root.map_or(equal, |root| Sweetening::of_open_chord(target, root))
            }
            Temperament::KeyShapes => {
                let Ok(board) = Fretboard::new(self.instrument(), target, Fret::OPEN) else { return Some(equal) };
                let search = ShapeSearch { style: self.shapes.style, ..ShapeSearch::best(1) };
                let chords = self.shapes.key.triads().into_iter();
                let shapes = chords.filter_map(|of_key| search.find(of_key.chord, &board).shapes.into_iter().next());
                let frets: Vec<_> = shapes.map(|found| found.shape().frets().to_vec()).collect();
                Sweetening::of_shapes(&board, &frets)
            }
        })
    }

    /// After the tuning has changed: the key it invites, and all that hangs on the neck.
    pub(super) fn follow_tuning(&mut self) {
        let tuning = self.guitar.tuning().clone();
        let is_standard = tuning == self.standard();
        let chord = if is_standard { None } else { self.open_chord(&tuning) };
        if let Some(chord) = chord {
            let capo = Semitones::new(i16::from(self.guitar.capo().get()));
            let key = key_of_open_chord(chord);
            let sounding = crate::theory::Note::of_class(
                key.tonic().class().transpose(capo),
                crate::theory::SpellingChoice::Customary,
            );
            let tonic = if capo == Semitones::ZERO { key.tonic() } else { sounding };
            self.shapes.key = Key::new(tonic, key.mode());
            self.shapes.chord = super::shapes::tonic_chord(self.shapes.key);
        }
        self.follow_neck();
    }

    /// After the neck has changed under the same key.
    fn follow_neck(&mut self) {
        self.neck.held.clear();
        self.search_row();
        self.search_shapes();
        if self.screen() == Screen::KeyPlan {
            super::key_plan::refresh(self);
        }
    }

    /// Puts what is on the guitar into the library.
    pub(super) fn keep_guitar(&mut self) {
        let unknown = self.library.guitar_now.take().map(|now| now.unknown).unwrap_or_default();
        let now = self.guitar.to_kept();
        self.library.guitar_now = Some(GuitarNow { target: self.retuning.to_kept(), unknown, ..now });
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

/// Returns the strings an instrument wears: those chosen, or its usual ones.
fn worn(library: &Library, instrument: &Instrument) -> &'static StringSet {
    let catalog = Catalog::bundled();
    let chosen = library.settings.string_set_id.as_deref();
    let fits = |set: &&StringSet| Some(set.id()) == chosen && set.instrument_id() == instrument.id();
    catalog.string_sets().iter().find(fits).unwrap_or_else(|| catalog.strings_of(instrument))
}

fn strung(library: &Library, instrument: &Instrument) -> Strung {
    Strung::new(instrument, worn(library, instrument)).expect("a test strings every instrument with each of its sets")
}
