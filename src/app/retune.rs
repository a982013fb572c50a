//! The retuning under way: which step, how it is heard, the check list after the last.

use crate::instrument::{Bridge, CourseIndex, Fret, Level, StringSet, Tuning};
use crate::retune::{Plan, PlanRequest, Remedy};
use crate::songs::ChosenTuning;
use crate::store::Library;
use crate::theory::ReferencePitch;

use super::action::Update;
use super::guitar::Guitar;
use super::screen::Tab;
use super::state::State;

/// The tuning that is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// Its id in the catalogue or the library, if it has one.
    pub id: Option<String>,
    /// Its name; its notes where it has none.
    pub name: String,
    /// Its pitches.
    pub tuning: Tuning,
}

/// Where the retuning is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stage {
    /// No tuning is wanted.
    #[default]
    Idle,
    /// A string would not stand it: asked before the first step.
    Risk,
    /// A string is being set.
    Step,
    /// The last string is set; pairs are compared once more.
    Check,
    /// It is in tune.
    Done,
}

/// The retuning under way.
#[derive(Clone, Debug, Default)]
pub struct Retuning {
    /// The tuning that is wanted.
    pub target: Option<Target>,
    /// Where it is.
    pub stage: Stage,
    /// The plan from where the guitar is now.
    pub plan: Option<Plan>,
    /// The plan from where it was when the first string was turned: what the whole way asks of strings and neck.
    pub whole: Option<Plan>,
    /// Which of the step's ways to hear is shown.
    pub way: usize,
    /// The pairs of the check list that were found right.
    pub checked: Vec<bool>,
    risk_is_taken: bool,
    /// Where the capo goes when all is right: the lower tuning was taken for that.
    capo_after: Option<Fret>,
}

impl Retuning {
    /// Goes on with the retuning that was left half done.
    #[must_use]
    pub fn restore(library: &Library, guitar: &Guitar) -> Self {
        let kept = library.guitar_now.as_ref().and_then(|now| now.target.as_ref());
        let Some(kept) = kept.filter(|kept| &kept.pitches == guitar.progress().target()) else {
            return Self::default();
        };
        let named = guitar.instrument();
        let name = super::state::name_of(library, named, &kept.pitches).map(|(name, _)| name).unwrap_or_default();
        let target = Target { id: kept.id.clone(), name, tuning: kept.pitches.clone() };
        Self { target: Some(target), risk_is_taken: guitar.progress().confirmed() > 0, ..Self::default() }
    }

    /// Returns what to keep of it.
    #[must_use]
    pub fn to_kept(&self) -> Option<ChosenTuning> {
        let target = self.target.as_ref().filter(|_| matches!(self.stage, Stage::Risk | Stage::Step | Stage::Check))?;
        Some(ChosenTuning { id: target.id.clone(), pitches: target.tuning.clone() })
    }

    /// Makes the plan again, and with it the stage.
    pub(super) fn replan(&mut self, guitar: &Guitar, strings: &StringSet, bridge: Bridge, a4: ReferencePitch) {
        let Some(target) = &self.target else {
            self.stage = Stage::Idle;
            self.plan = None;
            return;
        };
        let now = guitar.progress().on_guitar().courses();
        let request = PlanRequest {
            instrument: guitar.instrument(),
            strings: strings.strings(),
            now,
            to: &target.tuning,
            a4,
            capo: guitar.capo(),
            bridge,
        };
        // A tuning that a target was made of fits the instrument; were it not to, there is nothing to retune to.
        let Ok(plan) = Plan::unchecked(&request, guitar.progress().sweetening()) else {
            *self = Self::default();
            return;
        };
        if self.whole.is_none() || guitar.progress().confirmed() == 0 {
            self.whole = Some(plan.clone());
        }
        let breaks = plan.safety().worst() == Level::TooTight;
        self.stage = if plan.steps().is_empty() {
            let has_checks = self.whole.as_ref().is_some_and(|whole| !whole.checks().is_empty());
            if self.stage == Stage::Done || !has_checks { Stage::Done } else { Stage::Check }
        } else if breaks && !self.risk_is_taken {
            Stage::Risk
        } else {
            Stage::Step
        };
        let ways = plan.steps().first().map_or(0, |step| step.matches().len());
        self.way = self.way.min(ways.saturating_sub(1));
        let checks = self.whole.as_ref().map_or(0, |whole| whole.checks().len());
        self.checked.resize(checks, false);
        self.plan = Some(plan);
    }

    /// Returns where the capo goes when all is right.
    #[must_use]
    pub const fn capo_after(&self) -> Option<Fret> {
        self.capo_after
    }

    /// Returns the course that the present step turns.
    #[must_use]
    pub fn course(&self) -> Option<CourseIndex> {
        self.plan.as_ref().filter(|_| self.stage == Stage::Step)?.steps().first().map(|step| step.course())
    }
}

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
pub(super) fn start(state: &mut State, target: Target) -> Update {
    if !state.guitar.turn_to(target.tuning.clone()) {
        return Update::Shown;
    }
    if let Some(id) = &target.id {
        state.library.remember_tuning(id);
    }
    state.waiting_song = None;
    state.retuning = Retuning { target: Some(target), ..Retuning::default() };
    state.sweeten();
    state.keep_guitar();
    state.follow_tuning();
    state.open_tab(Tab::Retune);
    Update::Kept
}

pub(super) fn update(state: &mut State, action: RetuneAction) -> Update {
    let progress = state.guitar.progress().clone();
    let changed = match action {
        RetuneAction::Confirm => match state.retuning.course() {
            Some(course) => progress.confirm(course),
            None => return Update::Shown,
        },
        RetuneAction::Undo => {
            state.retuning.stage = Stage::Step;
            progress.undo()
        }
        RetuneAction::StartOver => progress.start_over(),
        RetuneAction::Doubt(number) => {
            let course = CourseIndex::from_player_number(number, state.instrument().courses().len());
            let Some(course) = course else { return Update::Shown };
            want_the_present(state);
            progress_of(state).with_doubt(course)
        }
        RetuneAction::DoubtAll => {
            want_the_present(state);
            progress_of(state).with_all_in_doubt()
        }
        other => return without_strings(state, &other),
    };
    state.retuning.way = 0;
    state.retuning.checked.clear();
    state.guitar.set_progress(changed);
    if state.retuning.stage == Stage::Done {
        state.retuning.stage = Stage::Step;
    }
    state.replan();
    state.keep_guitar();
    state.follow_tuning();
    Update::Kept
}

fn progress_of(state: &State) -> crate::retune::Progress {
    state.guitar.progress().clone()
}

/// When no tuning is wanted, doubting a string means wanting the one it should be in.
fn want_the_present(state: &mut State) {
    if state.retuning.target.is_none() {
        let tuning = state.guitar.progress().target().clone();
        let (name, id) =
            state.tuning_name(&tuning).map_or_else(|| (String::new(), None), |(name, id)| (name, Some(id)));
        state.retuning.target = Some(Target { id, name, tuning });
    }
}

fn breaks(plan: &Plan) -> bool {
    plan.safety().strings().iter().any(crate::retune::StringLoad::breaks)
}

/// The actions that turn no string.
fn without_strings(state: &mut State, action: &RetuneAction) -> Update {
    let retuning = &mut state.retuning;
    match *action {
        RetuneAction::Way(index) => retuning.way = index,
        RetuneAction::Check(index) => {
            if let Some(checked) = retuning.checked.get_mut(index) {
                *checked = !*checked;
            }
        }
        RetuneAction::CheckDone if retuning.stage == Stage::Check => {
            retuning.stage = Stage::Done;
            if let Some(capo) = retuning.capo_after {
                state.set_capo(capo);
            }
            state.keep_guitar();
            return Update::Kept;
        }
        // Where a string would break there is no going on with it.
        RetuneAction::TakeRisk if !retuning.plan.as_ref().is_some_and(breaks) => {
            retuning.risk_is_taken = true;
            state.replan();
        }
        RetuneAction::TakeRemedy(index) => return take_remedy(state, index),
        RetuneAction::ToTunings => return state.open_tab(Tab::Tunings),
        RetuneAction::ToShapes => return state.open_tab(Tab::Shapes),
        _ => {}
    }
    Update::Shown
}

fn take_remedy(state: &mut State, index: usize) -> Update {
    let remedy = state.retuning.plan.as_ref().and_then(|plan| plan.safety().remedies().get(index).cloned());
    match remedy {
        Some(Remedy::LowerWithCapo { tuning, capo }) => {
            let (name, id) = match state.tuning_name(&tuning) {
                Some((name, id)) => (name, Some(id)),
                None => (tuning.ascii(crate::theory::SpellingChoice::Customary), None),
            };
            let update = start(state, Target { id, name, tuning });
            state.retuning.capo_after = Some(capo);
            update
        }
        Some(Remedy::LighterString { .. }) => {
            // The player has put a lighter string on: what is known of the set does not hold for it any more.
            state.retuning.risk_is_taken = true;
            state.replan();
            Update::Shown
        }
        None => Update::Shown,
    }
}
