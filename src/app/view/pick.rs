//! The key and chord pickers.

use crate::app::State;
use crate::app::pick::{QUALITIES, ROOTS};
use crate::app::ui;
use crate::theory::{ChordQuality, Mode, Note, ParseChordError};

use super::custom::Custom;
use super::rows;

/// Fills both pickers.
pub(in crate::app) fn show_pick(state: &State, to: &ui::PickState<'_>) {
    let custom = Custom::of(state);
    let key = state.shapes.key;
    let chord = state.picking.chord;
    let notes: Vec<Note> = ROOTS.iter().filter_map(|name| Note::read(name).ok()).collect();
    let choices = |is_chosen: &dyn Fn(Note) -> bool| -> Vec<ui::PickChoice> {
        let choice = |note: &Note| ui::PickChoice { text: custom.note(*note).into(), chosen: is_chosen(*note) };
        notes.iter().map(choice).collect()
    };
    // The key picker shows the key's root, the chord picker the chord's; only one of them is on the screen.
    let is_key_picker = state.screen() == crate::app::Screen::KeyPicker;
    let root = if is_key_picker { key.tonic() } else { chord.root() };
    to.set_roots(rows(choices(&|note| note.class() == root.class())));
    to.set_modes(rows(Mode::ALL.map(|mode| ui::ModeChoice { mode: mode_view(mode), chosen: mode == key.mode() })));
    let qualities = QUALITIES.iter().filter_map(|id| ChordQuality::find(id));
    to.set_qualities(rows(qualities.map(|quality| ui::PickChoice {
        text: quality.symbol().replace('b', "♭").replace('#', "♯").into(),
        chosen: quality.id() == chord.quality().id(),
    })));
    let bass = chord.slash_bass();
    let none = ui::PickChoice { text: "".into(), chosen: bass.is_none() };
    let over = choices(&|note| bass.is_some_and(|bass| bass.class() == note.class()));
    to.set_basses(rows(std::iter::once(none).chain(over)));
    to.set_chord(custom.chord(chord).into());
    if to.get_typed() != state.picking.typed.as_str() {
        to.set_typed(state.picking.typed.as_str().into());
    }
    let nothing = String::new;
    let (result, found, place, expected) = match &state.picking.fault {
        None if state.picking.typed.trim().is_empty() => (ui::TypedChord::Empty, nothing(), 0, nothing()),
        None => (ui::TypedChord::Understood, nothing(), 0, nothing()),
        Some(ParseChordError::Root(fault) | ParseChordError::Bass(fault)) => {
            (ui::TypedChord::NotANote, fault.found.clone(), fault.place + 1, nothing())
        }
        Some(ParseChordError::Quality { place, found, expected }) => {
            (ui::TypedChord::NotAQuality, found.clone(), place + 1, expected.join(", "))
        }
    };
    to.set_expected(expected.into());
    to.set_typed_result(result);
    to.set_found(found.into());
    to.set_place(place.to_string().into());
}

/// The mode as Slint names it.
pub(super) const fn mode_view(mode: Mode) -> ui::KeyMode {
    match mode {
        Mode::Major => ui::KeyMode::Major,
        Mode::Dorian => ui::KeyMode::Dorian,
        Mode::Phrygian => ui::KeyMode::Phrygian,
        Mode::Lydian => ui::KeyMode::Lydian,
        Mode::Mixolydian => ui::KeyMode::Mixolydian,
        Mode::Minor => ui::KeyMode::Minor,
        Mode::Locrian => ui::KeyMode::Locrian,
    }
}
