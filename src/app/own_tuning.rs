//! The player's own tunings: entered string by string or as notes, named, changed, deleted.

use crate::instrument::{ParseTuningError, Tuning};
use crate::theory::{Naming, Semitones};

use super::action::Update;
use super::notice::Notice;
use super::screen::Screen;
use super::state::State;
use super::undo::Undo;

/// How far a string may be moved from its standard pitch in the editor, in semitones. Beyond it no set of strings for
/// the instrument works (from memory).
pub(super) const FARTHEST_SEMITONES: i16 = 12;

/// Why a tuning cannot be kept yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OwnTuningFault {
    /// The notes cannot be read.
    Notes(ParseTuningError),
    /// A string lies more than an octave from its standard pitch; its number as players count.
    TooFar(u8),
    /// It has no name.
    NoName,
    /// Another of the player's tunings of this instrument has the name.
    NameTaken,
}

/// A tuning being entered.
#[derive(Clone, Debug, PartialEq)]
pub struct Editing {
    /// The id of the tuning that is changed; `None` for a new one.
    pub id: Option<String>,
    /// Its name so far.
    pub name: String,
    /// The notes as typed.
    pub notes: String,
    /// The pitches as last understood.
    pub tuning: Tuning,
    /// What the notes may mean as well, where nothing decides between the two.
    pub other: Option<Tuning>,
    /// What is wrong with what was typed.
    pub fault: Option<OwnTuningFault>,
}

impl Editing {
    /// Starts a new tuning from what sounds now.
    #[must_use]
    pub fn new_from(tuning: Tuning, naming: Naming) -> Self {
        let notes = written(&tuning, naming);
        Self { id: None, name: String::new(), notes, tuning, other: None, fault: None }
    }
}

impl Editing {
    /// Takes these pitches and writes their notes.
    fn take(&mut self, tuning: Tuning, naming: Naming) {
        self.notes = written(&tuning, naming);
        self.tuning = tuning;
        self.other = None;
        self.fault = None;
    }
}

/// Writes a tuning as the editor shows it: with octaves, by the player's custom.
pub(super) fn written(tuning: &Tuning, naming: Naming) -> String {
    tuning.spelled().into_iter().map(|pitch| pitch.typed(naming)).collect::<Vec<_>>().join(" ")
}

/// After another custom was chosen: writes the notes anew, as last understood.
pub(super) fn rewrite(state: &mut State) {
    let naming = state.naming();
    if let Some(editing) = &mut state.editing {
        editing.notes = written(&editing.tuning, naming);
        if matches!(editing.fault, Some(OwnTuningFault::Notes(_) | OwnTuningFault::TooFar(_))) {
            editing.fault = None;
        }
    }
}

/// What the editor asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum OwnTuningAction {
    /// Start a new tuning from what is on the guitar.
    New,
    /// Change one of the player's tunings.
    Edit(String),
    /// Move a string, counted from the highest player number, by so many semitones.
    Move(usize, i16),
    /// Read the notes from what was typed.
    Notes(String),
    /// Of two readings take the other.
    OtherReading,
    /// Name it.
    Name(String),
    /// Start from a tuning of the catalogue.
    Like(String),
    /// Keep it.
    Save,
    /// Delete the tuning that is changed.
    Delete,
    /// Forget what was entered.
    Cancel,
}

pub(super) fn update(state: &mut State, action: OwnTuningAction) -> Update {
    let naming = state.naming();
    match action {
        OwnTuningAction::New => {
            // What was entered and neither kept nor cancelled is still there.
            if state.editing.as_ref().is_none_or(|editing| editing.id.is_some()) {
                state.editing = Some(Editing::new_from(state.guitar.tuning(), naming));
            }
            state.show(Screen::OwnTuning)
        }
        OwnTuningAction::Edit(id) => edit(state, &id),
        OwnTuningAction::Save => save(state),
        OwnTuningAction::Delete => delete(state),
        OwnTuningAction::Cancel => {
            state.editing = None;
            state.leave(Screen::OwnTuning)
        }
        OwnTuningAction::Like(id) => {
            let like = state.catalog().find_tuning(&id).map(|found| found.tuning().clone());
            if let Some((editing, tuning)) = state.editing.as_mut().zip(like) {
                editing.take(tuning, naming);
            }
            Update::Shown
        }
        OwnTuningAction::OtherReading => {
            if let Some(editing) = &mut state.editing
                && let Some(other) = editing.other.take()
            {
                editing.take(other, naming);
            }
            Update::Shown
        }
        OwnTuningAction::Name(name) => {
            if let Some(editing) = &mut state.editing {
                editing.name = name;
                if matches!(editing.fault, Some(OwnTuningFault::NoName | OwnTuningFault::NameTaken)) {
                    editing.fault = None;
                }
            }
            Update::Shown
        }
        OwnTuningAction::Move(index, by) => {
            move_string(state, index, by);
            Update::Shown
        }
        OwnTuningAction::Notes(text) => {
            type_notes(state, text);
            Update::Shown
        }
    }
}

fn edit(state: &mut State, id: &str) -> Update {
    let Some(own) = state.library.find_own_tuning(id) else { return Update::Shown };
    let tuning = own.pitches.clone();
    let notes = written(&tuning, state.naming());
    let (id, name) = (Some(own.id.clone()), own.name.clone());
    state.editing = Some(Editing { id, name, notes, tuning, other: None, fault: None });
    state.show(Screen::OwnTuning)
}

fn move_string(state: &mut State, index: usize, by: i16) {
    let (standard, naming) = (state.standard(), state.naming());
    let Some(editing) = &mut state.editing else { return };
    let mut pitches = editing.tuning.pitches().to_vec();
    let moved = pitches.get(index).and_then(|pitch| pitch.transpose(Semitones::new(by)));
    let Some((moved, home)) = moved.zip(standard.pitches().get(index).copied()) else { return };
    if (moved - home).abs().get() > FARTHEST_SEMITONES {
        return;
    }
    pitches[index] = moved;
    if let Some(tuning) = Tuning::new(pitches) {
        editing.take(tuning, naming);
    }
}

fn type_notes(state: &mut State, text: String) {
    let standard = state.standard();
    let read = super::tunings::readings(state, state.instrument(), &text);
    let Some(editing) = &mut state.editing else { return };
    editing.other = None;
    match read {
        Ok(read) => {
            let mut within = read.iter().filter(|tuning| too_far(tuning, &standard).is_none()).cloned();
            let first = within.next();
            editing.fault = match &first {
                Some(_) => None,
                None => read.first().and_then(|tuning| too_far(tuning, &standard)).map(OwnTuningFault::TooFar),
            };
            editing.tuning = first.unwrap_or_else(|| editing.tuning.clone());
            editing.other = within.next();
        }
        Err(fault) => editing.fault = Some(OwnTuningFault::Notes(fault)),
    }
    editing.notes = text;
}

/// Returns the player number of the first string that lies too far from its standard pitch.
fn too_far(tuning: &Tuning, standard: &Tuning) -> Option<u8> {
    let is_far = |index: &usize| {
        let distance = tuning.pitches()[*index] - standard.pitches()[*index];
        distance.abs().get() > FARTHEST_SEMITONES
    };
    let index = (0..standard.courses()).find(is_far)?;
    u8::try_from(standard.courses() - index).ok()
}

fn save(state: &mut State) -> Update {
    let Some(editing) = &state.editing else { return Update::Shown };
    if editing.fault.as_ref().is_some_and(|fault| !matches!(fault, OwnTuningFault::NoName | OwnTuningFault::NameTaken))
    {
        return Update::Shown;
    }
    let (name, tuning) = (editing.name.trim().to_owned(), editing.tuning.clone());
    if state.refuses(&tuning) {
        return Update::Shown;
    }
    let Some(editing) = &state.editing else { return Update::Shown };
    let instrument_id = state.instrument().id().to_owned();
    let is_taken = state
        .library
        .own_tunings()
        .iter()
        .any(|own| own.instrument_id == instrument_id && own.name == name && Some(&own.id) != editing.id.as_ref());
    let fault = if name.is_empty() {
        Some(OwnTuningFault::NoName)
    } else if is_taken {
        Some(OwnTuningFault::NameTaken)
    } else {
        None
    };
    let id = editing.id.clone();
    if let Some(fault) = fault {
        if let Some(editing) = &mut state.editing {
            editing.fault = Some(fault);
        }
        return Update::Shown;
    }
    match id.and_then(|id| state.library.find_own_tuning(&id).cloned()) {
        Some(mut own) => {
            own.name = name;
            own.pitches = tuning;
            state.library.replace_own_tuning(own);
        }
        None => {
            state.library.add_own_tuning(instrument_id, name, tuning);
        }
    }
    state.editing = None;
    state.leave(Screen::OwnTuning);
    state.tunings.view = super::tunings::TuningsView::Own;
    Update::Shown
}

fn delete(state: &mut State) -> Update {
    let id = state.editing.take().and_then(|editing| editing.id);
    state.leave(Screen::OwnTuning);
    let Some(removed) = id.and_then(|id| state.library.remove_own_tuning(&id)) else { return Update::Shown };
    let name = removed.tuning().name.clone();
    state.tell_done(Notice::TuningDeleted(name), Undo::DeletedTuning(Box::new(removed)));
    Update::Shown
}
