//! The Retune screen: the steps, how each is heard, the check list after the last, the capo at the end.

use crate::instrument::{CourseIndex, Tuning};
use crate::retune::Remedy;
use crate::store::{Library, Wanted};

use super::desk::{Desk, name_of};
use super::guitar::{Guitar, Stage, StringsTold};
use super::next::Next;
use super::notice::Notice;
use super::screen::Tab;

/// What the Retune screen asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RetuneAction {
    /// The string of this step is right.
    Confirm,
    /// Take the last confirmation back.
    Undo,
    /// Set again all that was set.
    StartOver,
    /// Hear it by this match.
    Match(usize),
    /// This course is off, by its player number.
    Doubt(u8),
    /// No string is known to be right.
    DoubtAll,
    /// This pair of the check list sounds right, or not after all.
    Check(usize),
    /// All pairs sound right.
    CheckDone,
    /// The capo is back where it belongs.
    CapoIsBack,
    /// The capo stays off.
    CapoStaysOff,
    /// No tuning is wanted any more: what is on the guitar is what it is.
    GiveUp,
    /// Where it is asked which strings are on: these.
    StringsAre(StringsTold),
    /// Say which string is on: of this course, by its player number, the string in this place, from 0.
    SayString(u8, usize),
    /// The set that the tuning is played on is put on.
    SetIsOn,
    /// Go on although a string would not stand it.
    TakeRisk,
    /// Do this instead: an index into the plan's remedies.
    TakeRemedy(usize),
    /// Choose a tuning.
    ToTunings,
    /// Look at shapes.
    ToShapes,
}

/// Turns to a tuning and opens its first step.
pub(super) fn start(desk: &mut Desk, tuning: Tuning, wanted: Wanted) -> Next {
    desk.look_back();
    if desk.guitar.turn_to(tuning, wanted) { Next::Tab(Tab::Retune) } else { Next::Shown }
}

/// Returns the id of the tuning that was wanted and is reached: every string set, whatever is still to be checked.
pub(super) fn reached(guitar: &Guitar) -> Option<&str> {
    let is_there = matches!(guitar.stage(), Stage::Check | Stage::Capo | Stage::Done);
    guitar.wanted().filter(|_| is_there)?.id.as_deref()
}

/// After an action: a tuning that was reached by it has been played lately; one that was tapped and given up has not.
pub(super) fn remember_reached(desk: &mut Desk, before: Option<&str>) {
    let Some(id) = reached(&desk.guitar).filter(|&id| before != Some(id)).map(ToOwned::to_owned) else { return };
    if !id.starts_with("own-") || desk.library.find_own_tuning(&id).is_some() {
        desk.library.remember_tuning(&id);
    }
}

/// The same for any tuning the player names; where a string would leave the pitches there are, that is told. A string that
/// would break is spoken of on the way itself, where another can be named.
pub(super) fn go_to(desk: &mut Desk, tuning: Tuning, wanted: Wanted) -> Next {
    match desk.refusal(&desk.guitar, &tuning) {
        Some(refusal @ Notice::PitchOutOfRange(_)) => Next::Tell(refusal),
        _ => start(desk, tuning, wanted),
    }
}

pub(super) fn update(guitar: &mut Guitar, library: &Library, action: RetuneAction) -> Next {
    match action {
        RetuneAction::Confirm => {
            guitar.confirm();
        }
        RetuneAction::Undo => guitar.take_back_step(),
        RetuneAction::StartOver => guitar.start_over(),
        RetuneAction::Doubt(number) => {
            let course = CourseIndex::from_player_number(number, guitar.instrument().courses().len());
            let id = id_of_present(guitar, library);
            if let Some(course) = course {
                guitar.doubt(course, id);
            }
        }
        RetuneAction::DoubtAll => {
            let id = id_of_present(guitar, library);
            guitar.doubt_all(id);
        }
        RetuneAction::GiveUp => guitar.give_up(),
        RetuneAction::Match(index) => guitar.hear_by(index),
        RetuneAction::Check(index) => guitar.check(index),
        RetuneAction::CheckDone => guitar.finish_check(),
        RetuneAction::CapoIsBack => {
            let asked = guitar.capo_after().map_or(0, crate::instrument::Fret::get);
            if !guitar.end_capo(true) {
                let highest = guitar.instrument().last_fret().get().saturating_sub(1);
                return Next::Tell(Notice::CapoBeyondFrets { asked, highest });
            }
        }
        RetuneAction::CapoStaysOff => {
            guitar.end_capo(false);
        }
        RetuneAction::StringsAre(told) => guitar.answer_strings(told, library.settings.reference()),
        RetuneAction::SayString(number, string) => return Next::Describe(number, string),
        RetuneAction::SetIsOn => guitar.put_set(),
        RetuneAction::TakeRisk => guitar.take_risk(),
        RetuneAction::TakeRemedy(index) => return take_remedy(guitar, library, index),
        RetuneAction::ToTunings => return Next::Tab(Tab::Tunings),
        RetuneAction::ToShapes => return Next::Shapes,
    }
    Next::Shown
}

/// The id of the tuning that the strings should be in when none is wanted.
pub(super) fn id_of_present(guitar: &Guitar, library: &Library) -> Option<String> {
    name_of(library, guitar.instrument(), guitar.progress().target()).map(|(_, id)| id)
}

fn take_remedy(guitar: &mut Guitar, library: &Library, index: usize) -> Next {
    let remedy = guitar.plan().and_then(|plan| plan.safety().remedies().get(index).cloned());
    match remedy {
        Some(Remedy::LowerWithCapo { tuning, capo }) => {
            let id = name_of(library, guitar.instrument(), &tuning).map(|(_, id)| id);
            Next::Retune(tuning, Wanted { id, capo: Some(capo), ..Wanted::default() })
        }
        Some(Remedy::LighterString { course, string, gauge }) => {
            guitar.put_lighter(course, string, gauge);
            Next::Shown
        }
        None => Next::Shown,
    }
}
