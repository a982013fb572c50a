//! Another tuning looked at: its shapes, its neck and its keys, while nothing on the guitar changes.

use crate::instrument::{Fret, Fretboard, Tuning};
use crate::shapes::{is_reentrant, name_pitches};
use crate::songs::ChosenTuning;
use crate::store::Wanted;
use crate::theory::{Chord, Key, Note, Semitones, SpellingChoice};

use super::desk::Desk;
use super::next::Next;
use super::screen::{Screen, Tab};
use super::shapes::{key_of_open_chord, tonic_chord};
use super::state::State;

/// A tuning that is looked at while another is on the guitar, without a capo.
#[derive(Clone, Debug, PartialEq)]
pub struct LookedAt {
    tuning: ChosenTuning,
    /// The key its shapes are looked at in; the guitar keeps its own.
    key: Key,
    /// Where the look led away from: the guitar's own key, the chord, and which of its shapes.
    before: (Key, Chord, usize),
}

impl LookedAt {
    /// Returns the tuning.
    #[must_use]
    pub const fn tuning(&self) -> &ChosenTuning {
        &self.tuning
    }

    pub(super) const fn key(&self) -> Key {
        self.key
    }

    pub(super) const fn choose_key(&mut self, key: Key) {
        self.key = key;
    }

    /// Returns the key of the guitar.
    pub(super) const fn guitar_key(&self) -> Key {
        self.before.0
    }

    /// Follows the guitar where its key changes meanwhile.
    pub(super) fn follow(&mut self, guitar_key: Key) {
        if self.before.0 != guitar_key {
            self.before = (guitar_key, tonic_chord(guitar_key), 0);
        }
    }
}

/// What can be done with a tuning that is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LookAction {
    /// Look at what is on the guitar again.
    Back,
    /// Retune to it.
    Retune,
}

pub(super) fn update(desk: &mut Desk, action: LookAction) -> Next {
    match action {
        LookAction::Back => {
            desk.look_back();
            Next::Shown
        }
        LookAction::Retune => {
            let Some(ChosenTuning { id, pitches }) = desk.looked().map(|looked| looked.tuning.clone()) else {
                return Next::Shown;
            };
            super::retune::go_to(desk, pitches, Wanted { id, ..Wanted::default() })
        }
    }
}

impl State {
    /// Tells whether the screen shows the neck: the guitar's, or the one that is looked at.
    #[must_use]
    pub fn shows_neck(&self) -> bool {
        let chosen_there = matches!(self.screen(), Screen::KeyPicker | Screen::ChordPicker | Screen::Filters);
        chosen_there
            || matches!(
                self.screen(),
                Screen::Shapes | Screen::Show | Screen::Overview | Screen::KeyPlan | Screen::Neck
            )
    }
}

impl Desk {
    /// Returns the tuning that is looked at; `None` where shapes, neck and keys are those of the guitar.
    #[must_use]
    pub const fn looked(&self) -> Option<&LookedAt> {
        self.looked.as_ref()
    }

    /// Opens the shapes of a tuning. Nothing about the guitar changes; where the tuning is on it, it is the guitar's neck
    /// that is looked at.
    pub(super) fn look_at(&mut self, tuning: ChosenTuning) -> Next {
        let now = self.guitar.progress().on_guitar().tuning();
        self.look_back();
        if Fretboard::new(self.instrument(), &tuning.pitches, Fret::OPEN).is_err() {
            return Next::Shown;
        }
        if now.as_ref() != Some(&tuning.pitches) {
            let before = (self.shapes.key, self.shapes.chord, self.shapes.index);
            let key = self.key_invited_by(&tuning.pitches, Fret::OPEN).unwrap_or(self.shapes.key);
            self.looked = Some(LookedAt { tuning, key, before });
            self.shapes.key = key;
            self.choose_chord(tonic_chord(key));
        }
        Next::Tab(Tab::Shapes)
    }

    /// Looks at the guitar's own neck again, where it was left.
    pub(super) fn look_back(&mut self) {
        let Some(LookedAt { before: (key, chord, index), .. }) = self.looked.take() else { return };
        self.shapes.key = key;
        self.choose_chord(chord);
        let board = self.board();
        let tuning = self.neck_tuning();
        self.shapes.settle(&board, &tuning, &self.library);
        self.shapes.index = index.min(self.shapes.found.len().saturating_sub(1));
    }

    /// Returns the tuning of the neck that is shown.
    #[must_use]
    pub(super) fn neck_tuning(&self) -> Tuning {
        self.looked().map_or_else(|| self.guitar.tuning(), |looked| looked.tuning.pitches.clone())
    }

    /// Returns the neck that shapes and keys are looked at on: the guitar's as it is tuned now, capo included, or that of
    /// the tuning that is looked at.
    #[must_use]
    pub fn board(&self) -> Fretboard<'static> {
        let looked =
            self.looked().and_then(|looked| Fretboard::new(self.instrument(), &looked.tuning.pitches, Fret::OPEN).ok());
        let over = |board: Fretboard<'static>| board.over_mm(self.strings().scale_mm());
        looked.map_or_else(|| self.guitar.board(), over)
    }

    /// Writes what is looked at in one line: the notes, then the id where it has one; empty where nothing is.
    pub(super) fn written_look(&self) -> String {
        let written = |looked: &LookedAt| {
            let notes = looked.tuning.pitches.ascii_with_octaves(SpellingChoice::Customary);
            format!("{notes}, {}", looked.tuning.id.as_deref().unwrap_or_default())
        };
        self.looked().map(written).unwrap_or_default()
    }

    /// Looks again at what was written so; what cannot be read, or no longer fits, is left.
    pub(super) fn look_as_written(&mut self, line: &str) {
        let Some((notes, id)) = line.split_once(", ") else { return };
        if let Ok(pitches) = Tuning::read(notes, &self.standard()) {
            let id = (!id.is_empty()).then(|| id.to_owned());
            // The screens that were open are opened by what is written of them.
            let _ = self.look_at(ChosenTuning { id, pitches });
        }
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

    /// Returns the key that the tuning on the guitar invites.
    pub(super) fn invited_key(&self) -> Option<Key> {
        self.key_invited_by(&self.guitar.tuning(), self.guitar.capo())
    }

    /// Returns the key that a tuning with a capo invites, where its open strings sound a chord and it is not the usual one.
    pub(super) fn key_invited_by(&self, tuning: &Tuning, capo: Fret) -> Option<Key> {
        let chord = if *tuning == self.standard() { None } else { self.open_chord(tuning) };
        let key = key_of_open_chord(chord?);
        let up = Semitones::new(i16::from(capo.get()));
        let sounding = Note::of_class(key.tonic().class().transpose(up), SpellingChoice::Customary);
        Some(Key::new(if capo == Fret::OPEN { key.tonic() } else { sounding }, key.mode()))
    }
}
