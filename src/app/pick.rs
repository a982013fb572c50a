//! Choosing a key, and choosing any chord by its parts or by typing it.

use crate::theory::{Chord, ChordQuality, Key, Mode, Naming, Note, ParseChordError};

use super::desk::Desk;
use super::next::Next;
use super::screen::Screen;

/// The roots offered, in the order of the keyboard; each the name most used for a key.
pub const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

/// The qualities offered by a tap; any other can be typed. Ids of the chord table, common ones first.
pub const QUALITIES: [&str; 16] = [
    "major",
    "minor",
    "dominant-seventh",
    "minor-seventh",
    "major-seventh",
    "suspended-fourth",
    "suspended-second",
    "sixth",
    "minor-sixth",
    "added-ninth",
    "dominant-ninth",
    "diminished",
    "half-diminished-seventh",
    "diminished-seventh",
    "augmented",
    "power",
];

/// What stands in the chord picker.
#[derive(Clone, Debug, PartialEq)]
pub struct Picking {
    /// The chord put together so far.
    pub chord: Chord,
    /// What was typed; empty when the parts were tapped.
    pub typed: String,
    /// Why what was typed is no chord.
    pub fault: Option<ParseChordError>,
}

impl Picking {
    /// Starts from a chord.
    #[must_use]
    pub const fn starting_at(chord: Chord) -> Self {
        Self { chord, typed: String::new(), fault: None }
    }
}

/// What the key and chord pickers ask for.
#[derive(Clone, Debug, PartialEq)]
pub enum PickAction {
    /// Take this root for the key; an index into [`ROOTS`].
    KeyRoot(usize),
    /// Take this mode for the key; an index into [`Mode::ALL`].
    KeyMode(usize),
    /// Take this root for the chord; an index into [`ROOTS`].
    Root(usize),
    /// Take this quality; an index into [`QUALITIES`].
    Quality(usize),
    /// Take this bass: 0 for the root, else an index into [`ROOTS`] counted from 1.
    Bass(usize),
    /// Read the chord from what was typed.
    Typed(String),
    /// Leave the key picker for the shapes.
    KeyTaken,
    /// Show shapes of the chord.
    ChordTaken,
}

fn root(index: usize) -> Option<Note> {
    ROOTS.get(index).and_then(|name| Note::read(name).ok())
}

pub(super) fn update(picking: &mut Picking, desk: &mut Desk, action: PickAction) -> Next {
    let key = desk.shapes.key;
    match action {
        PickAction::KeyRoot(index) => {
            if let Some(tonic) = root(index) {
                desk.set_key(Key::new(tonic, key.mode()));
            }
        }
        PickAction::KeyMode(index) => {
            if let Some(mode) = Mode::ALL.get(index) {
                desk.set_key(Key::new(key.tonic(), *mode));
            }
        }
        PickAction::Root(index) => {
            picking.rebuild(|chord| root(index).map(|root| remake(root, chord.quality(), chord)));
        }
        PickAction::Quality(index) => picking.rebuild(|chord| {
            QUALITIES
                .get(index)
                .and_then(|id| ChordQuality::find(id))
                .map(|quality| remake(chord.root(), quality, chord))
        }),
        PickAction::Bass(0) => picking.rebuild(|chord| Some(Chord::new(chord.root(), chord.quality()))),
        PickAction::Bass(index) => picking.rebuild(|chord| root(index - 1).map(|bass| chord.over(bass))),
        PickAction::Typed(text) => picking.read(text, desk.naming()),
        PickAction::KeyTaken => return Next::Leave(Screen::KeyPicker),
        PickAction::ChordTaken => {
            if picking.fault.is_none() {
                desk.choose_chord(picking.chord);
                return Next::Leave(Screen::ChordPicker);
            }
        }
    }
    Next::Shown
}

fn remake(root: Note, quality: &'static ChordQuality, old: Chord) -> Chord {
    let chord = Chord::new(root, quality);
    old.slash_bass().map_or(chord, |bass| chord.over(bass))
}

impl Picking {
    fn rebuild(&mut self, with: impl Fn(Chord) -> Option<Chord>) {
        if let Some(chord) = with(self.chord) {
            *self = Self::starting_at(chord);
        }
    }

    fn read(&mut self, text: String, naming: Naming) {
        match Chord::read_in(&text, naming) {
            Ok(chord) => *self = Self { chord, typed: text, fault: None },
            Err(_) if text.trim().is_empty() => *self = Self::starting_at(self.chord),
            Err(fault) => (self.typed, self.fault) = (text, Some(fault)),
        }
    }
}
