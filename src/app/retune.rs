//! The Retune screen: the steps, how each is heard, the check list after the last, the capo at the end.

use crate::instrument::CourseIndex;
use crate::retune::Remedy;
use crate::store::Wanted;

use super::action::Update;
use super::notice::Notice;
use super::screen::Tab;
use super::state::State;

/// What the Retune screen asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RetuneAction {
    /// The string of this step is right.
    Confirm,
    /// Take the last confirmation back.
    Undo,
    /// Set again all that was set.
    StartOver,
    /// Hear it this way.
    Way(usize),
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
pub(super) fn start(state: &mut State, tuning: crate::instrument::Tuning, wanted: Wanted) -> Update {
    let id = wanted.id.clone();
    if !state.guitar.turn_to(tuning, wanted) {
        return Update::Shown;
    }
    if let Some(id) = id {
        state.library.remember_tuning(&id);
    }
    state.open_tab(Tab::Retune)
}

pub(super) fn update(state: &mut State, action: RetuneAction) -> Update {
    match action {
        RetuneAction::Confirm => {
            state.guitar.confirm();
        }
        RetuneAction::Undo => state.guitar.take_back_step(),
        RetuneAction::StartOver => state.guitar.start_over(),
        RetuneAction::Doubt(number) => {
            let course = CourseIndex::from_player_number(number, state.instrument().courses().len());
            let id = id_of_present(state);
            if let Some(course) = course {
                state.guitar.doubt(course, id);
            }
        }
        RetuneAction::DoubtAll => {
            let id = id_of_present(state);
            state.guitar.doubt_all(id);
        }
        RetuneAction::GiveUp => state.guitar.give_up(),
        RetuneAction::Way(index) => state.guitar.hear_by(index),
        RetuneAction::Check(index) => state.guitar.check(index),
        RetuneAction::CheckDone => state.guitar.finish_check(),
        RetuneAction::CapoIsBack => {
            let asked = state.guitar.capo_after().map_or(0, crate::instrument::Fret::get);
            if !state.guitar.end_capo(true) {
                let highest = state.instrument().last_fret().get().saturating_sub(1);
                state.tell(Notice::CapoBeyondFrets { asked, highest });
            }
        }
        RetuneAction::CapoStaysOff => {
            state.guitar.end_capo(false);
        }
        RetuneAction::TakeRisk => state.guitar.take_risk(),
        RetuneAction::TakeRemedy(index) => return take_remedy(state, index),
        RetuneAction::ToTunings => return state.open_tab(Tab::Tunings),
        RetuneAction::ToShapes => return state.open_tab(Tab::Shapes),
    }
    Update::Shown
}

/// The id of the tuning that the strings should be in when none is wanted.
fn id_of_present(state: &State) -> Option<String> {
    state.tuning_name(state.guitar.progress().target()).map(|(_, id)| id)
}

fn take_remedy(state: &mut State, index: usize) -> Update {
    let remedy = state.guitar.plan().and_then(|plan| plan.safety().remedies().get(index).cloned());
    match remedy {
        Some(Remedy::LowerWithCapo { tuning, capo }) => {
            let id = state.tuning_name(&tuning).map(|(_, id)| id);
            start(state, tuning, Wanted { id, capo: Some(capo), ..Wanted::default() })
        }
        Some(Remedy::LighterString { course, string, gauge }) => {
            state.guitar.put_lighter(course, string, gauge);
            Update::Shown
        }
        None => Update::Shown,
    }
}
