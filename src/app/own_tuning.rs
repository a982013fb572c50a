//! The player's own tunings: entered string by string or as notes, named, changed, deleted.

use crate::instrument::{ParseTuningError, Tuning};
use crate::theory::{Naming, Semitones};

use super::desk::Desk;
use super::next::Next;
use super::notice::Notice;
use super::screen::Screen;
use super::tunings::{TuningsList, TuningsView};
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
pub(super) fn rewrite(editing: &mut Option<Editing>, naming: Naming) {
    if let Some(editing) = editing {
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

pub(super) fn update(
    editing: &mut Option<Editing>,
    list: &mut TuningsList,
    desk: &mut Desk,
    action: OwnTuningAction,
) -> Next {
    let naming = desk.naming();
    match action {
        OwnTuningAction::New => {
            // What was entered and neither kept nor cancelled is still there.
            if editing.as_ref().is_none_or(|editing| editing.id.is_some()) {
                *editing = Some(Editing::new_from(desk.guitar.tuning(), naming));
            }
            return Next::Show(Screen::OwnTuning);
        }
        OwnTuningAction::Edit(id) => {
            let Some(own) = desk.library.find_own_tuning(&id) else { return Next::Shown };
            let (tuning, notes) = (own.pitches.clone(), written(&own.pitches, naming));
            let (id, name) = (Some(own.id.clone()), own.name.clone());
            *editing = Some(Editing { id, name, notes, tuning, other: None, fault: None });
            return Next::Show(Screen::OwnTuning);
        }
        OwnTuningAction::Save => return save(editing, list, desk),
        OwnTuningAction::Delete => return delete(editing, desk),
        OwnTuningAction::Cancel => {
            *editing = None;
            return Next::Leave(Screen::OwnTuning);
        }
        change => {
            if let Some(editing) = editing {
                editing.change(desk, change);
            }
        }
    }
    Next::Shown
}

impl Editing {
    /// What changes it alone.
    fn change(&mut self, desk: &Desk, action: OwnTuningAction) {
        let naming = desk.naming();
        match action {
            OwnTuningAction::Like(id) => {
                if let Some(found) = desk.catalog().find_tuning(&id) {
                    self.take(found.tuning().clone(), naming);
                }
            }
            OwnTuningAction::OtherReading => {
                if let Some(other) = self.other.take() {
                    self.take(other, naming);
                }
            }
            OwnTuningAction::Name(name) => {
                self.name = name;
                if matches!(self.fault, Some(OwnTuningFault::NoName | OwnTuningFault::NameTaken)) {
                    self.fault = None;
                }
            }
            OwnTuningAction::Move(index, by) => self.move_string(&desk.standard(), naming, index, by),
            OwnTuningAction::Notes(text) => self.read(desk, text),
            _ => {}
        }
    }

    fn move_string(&mut self, standard: &Tuning, naming: Naming, index: usize, by: i16) {
        let mut pitches = self.tuning.pitches().to_vec();
        let moved = pitches.get(index).and_then(|pitch| pitch.transpose(Semitones::new(by)));
        let Some((moved, home)) = moved.zip(standard.pitches().get(index).copied()) else { return };
        if (moved - home).abs().get() > FARTHEST_SEMITONES {
            return;
        }
        pitches[index] = moved;
        if let Some(tuning) = Tuning::new(pitches) {
            self.take(tuning, naming);
        }
    }

    fn read(&mut self, desk: &Desk, text: String) {
        let standard = desk.standard();
        self.other = None;
        match super::tunings::readings(desk, desk.instrument(), &text) {
            Ok(read) => {
                let mut within = read.iter().filter(|tuning| too_far(tuning, &standard).is_none()).cloned();
                let first = within.next();
                self.fault = match &first {
                    Some(_) => None,
                    None => read.first().and_then(|tuning| too_far(tuning, &standard)).map(OwnTuningFault::TooFar),
                };
                self.other = within.next();
                self.tuning = first.unwrap_or_else(|| self.tuning.clone());
            }
            Err(fault) => self.fault = Some(OwnTuningFault::Notes(fault)),
        }
        self.notes = text;
    }
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

fn save(entered: &mut Option<Editing>, list: &mut TuningsList, desk: &mut Desk) -> Next {
    let Some(editing) = entered else { return Next::Shown };
    if editing.fault.as_ref().is_some_and(|fault| !matches!(fault, OwnTuningFault::NoName | OwnTuningFault::NameTaken))
    {
        return Next::Shown;
    }
    let (name, tuning) = (editing.name.trim().to_owned(), editing.tuning.clone());
    if let Some(refusal) = desk.refusal(&desk.guitar, &tuning) {
        return Next::Tell(refusal);
    }
    let instrument_id = desk.instrument().id().to_owned();
    let is_taken = desk
        .library
        .own_tunings()
        .iter()
        .any(|own| own.instrument_id == instrument_id && own.name == name && Some(&own.id) != editing.id.as_ref());
    if name.is_empty() || is_taken {
        editing.fault = Some(if name.is_empty() { OwnTuningFault::NoName } else { OwnTuningFault::NameTaken });
        return Next::Shown;
    }
    match editing.id.as_ref().and_then(|id| desk.library.find_own_tuning(id).cloned()) {
        Some(mut own) => {
            own.name = name;
            own.pitches = tuning;
            desk.library.replace_own_tuning(own);
        }
        None => {
            desk.library.add_own_tuning(instrument_id, name, tuning);
        }
    }
    *entered = None;
    list.view = TuningsView::Own;
    Next::Leave(Screen::OwnTuning)
}

fn delete(editing: &mut Option<Editing>, desk: &mut Desk) -> Next {
    let left = Next::Leave(Screen::OwnTuning);
    let id = editing.take().and_then(|editing| editing.id);
    let Some(removed) = id.and_then(|id| desk.library.remove_own_tuning(&id)) else { return left };
    let name = removed.tuning().name.clone();
    left.then(Next::done(Notice::TuningDeleted(name), Undo::DeletedTuning(Box::new(removed))))
}
