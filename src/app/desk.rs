//! What every screen has before it: the guitar, the library, and the neck that is looked at.

use std::borrow::Cow;

use crate::instrument::{Bridge, Catalog, CatalogTuning, Fret, Instrument, Language, Stringing, Strung, Tuning};
use crate::retune::{TuningFault, find_faults};
use crate::shapes::Shape;
use crate::songs::{Song, SongId};
use crate::store::Library;
use crate::theory::{Chord, Key, Naming, SpellingChoice};

use super::guitar::Guitar;
use super::look::LookedAt;
use super::next::Next;
use super::notice::Notice;
use super::screen::Tab;
use super::shapes::{OpenShapes, tonic_chord};

/// What every screen has before it, and may change: all that is kept, and the neck whose shapes are looked at. A screen
/// gets it beside its own state; what else is to happen it returns.
#[derive(Clone, Debug)]
pub struct Desk {
    /// What is kept on disk.
    pub library: Library,
    /// What is on the guitar now, and the retuning under way.
    pub guitar: Guitar,
    /// What the Shapes screen looks at.
    pub shapes: OpenShapes,
    /// The day it is, counted from 1970-01-01; `None` where no clock has told it.
    pub today: Option<u32>,
    /// The language the phone is set to, as far as the screens speak it.
    pub system_language: Language,
    /// The tuning that is looked at in place of the guitar's.
    pub(super) looked: Option<LookedAt>,
}

impl Desk {
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
    }

    /// Moves the capo; where it cannot sit there, the player is told.
    pub(super) fn set_capo(&mut self, fret: Fret) -> Next {
        super::instrument::move_capo(&mut self.guitar, fret).map_or_else(Next::Tell, |()| Next::Shown)
    }

    pub(super) fn set_key(&mut self, key: Key) {
        match &mut self.looked {
            Some(looked) => looked.choose_key(key),
            None => self.guitar.choose_key(key),
        }
        self.shapes.key = key;
        self.choose_chord(tonic_chord(key));
    }

    pub(super) fn choose_chord(&mut self, chord: Chord) {
        self.shapes.choose(chord);
    }

    /// Opens the Shapes screen at this shape of a chord.
    pub(super) fn open_shape(&mut self, chord: Chord, shape: &Shape) -> Next {
        self.choose_chord(chord);
        let board = self.board();
        let tuning = self.neck_tuning();
        self.shapes.settle(&board, &tuning, &self.library);
        self.shapes.turn_to(shape, &board);
        Next::Tab(Tab::Shapes)
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
