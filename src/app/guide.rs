//! The first run: one tuning, its steps and one chord, on the screens themselves. Who does something else is left alone.

use crate::instrument::{Level, Tuning, restrung_between};
use crate::retune::nearest;
use crate::store::Library;

use super::action::{Action, Update};
use super::guitar::Stage;
use super::screen::{Screen, Tab};
use super::shapes::ShapesAction;
use super::state::State;
use super::tunings::TuningsView;

/// The first lesson on the guitar: two strings down a tone each, and the open strings are a chord.
const ON_GUITAR: &str = "guitar-g6";
/// How many strings a first retuning moves, the best number first.
const STRINGS_MOVED: [usize; 4] = [2, 1, 3, 4];

/// The tuning that is tried first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// Its id in the catalogue.
    pub id: String,
    /// Its name.
    pub name: String,
    /// How many strings move.
    pub strings: usize,
}

impl Lesson {
    /// Returns the tuning to try from what is on the instrument now: of the catalogue's the nearest that moves two
    /// strings and strains none, else one, three or four; on a guitar in its usual tuning G6.
    #[must_use]
    pub fn find(state: &State) -> Option<Self> {
        let now = state.guitar.progress().on_guitar().courses();
        let candidates = state.catalog().tunings_for(state.instrument());
        // A first lesson asks for no other strings, where there is one that does not.
        let (instrument, on) = (state.instrument(), state.guitar.tuning());
        let (mut plain, restrung): (Vec<_>, Vec<_>) =
            candidates.into_iter().partition(|tuning| restrung_between(instrument, &on, tuning.tuning()).is_empty());
        if plain.iter().all(|tuning| *tuning.tuning() == on) {
            plain.extend(restrung);
        }
        let candidates = plain;
        let near = nearest(state.strung(), now, candidates, state.library.settings.reference());
        let moving = |strings: usize| {
            let fits = near.iter().filter(move |(_, effort)| effort.courses == strings && effort.worst < Level::Tight);
            fits.clone().find(|(tuning, _)| tuning.id() == ON_GUITAR).or_else(|| fits.clone().next())
        };
        let (tuning, effort) = STRINGS_MOVED.into_iter().find_map(moving)?;
        Some(Self { id: tuning.id().to_owned(), name: tuning.name().to_owned(), strings: effort.courses })
    }
}

/// How far the player has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// The tuning is not chosen yet.
    Choosing,
    /// On the way to it, and until the Shapes screen is opened.
    Tuning,
    /// Among its chords.
    Chords,
    /// A chord was chosen.
    Finished,
}

/// The guide through the first run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guide {
    lesson: Lesson,
    way: Way,
    instrument_id: String,
    /// What was wanted when it began.
    before: Option<Tuning>,
}

/// What to do now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Hint {
    /// Choose the tuning.
    Choose,
    /// Do what the step says, and confirm it.
    Turn,
    /// The same for the last string.
    TurnLast,
    /// Compare the pairs once more.
    Check,
    /// Open the chords.
    ToChords,
    /// Choose a chord.
    Chord,
    /// That was all.
    Done,
}

/// What can be asked of the guide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuideAction {
    /// Do without it.
    Skip,
    /// Show it again, from the instrument as it is.
    Again,
}

impl Guide {
    /// Starts at the choice of the tuning; `None` where the instrument has none to try.
    #[must_use]
    pub fn begin(state: &State) -> Option<Self> {
        let lesson = Lesson::find(state)?;
        let instrument_id = state.instrument().id().to_owned();
        Some(Self { lesson, way: Way::Choosing, instrument_id, before: state.guitar.target().cloned() })
    }

    /// Starts where nothing was ever done; `None` for a player who has kept something, or has been through it.
    #[must_use]
    pub(super) fn at_first_launch(state: &State) -> Option<Self> {
        let library = &state.library;
        if library.settings.has_seen_guide || has_kept_anything(library) { None } else { Self::begin(state) }
    }

    /// Returns the tuning to choose, while it is to be chosen.
    #[must_use]
    pub fn lesson_to_choose(&self) -> Option<&Lesson> {
        (self.way == Way::Choosing).then_some(&self.lesson)
    }

    /// Returns the tuning it leads to.
    #[must_use]
    pub const fn lesson(&self) -> &Lesson {
        &self.lesson
    }

    /// Returns what to do now, where the screen that is shown is the place for it.
    #[must_use]
    pub fn hint(state: &State) -> Option<Hint> {
        let guide = state.guide.as_ref().filter(|_| state.notice.is_none())?;
        // What to listen for is said first, and says itself what to do.
        if super::ears::is_lesson_shown(state) {
            return None;
        }
        match (guide.way, state.screen()) {
            (Way::Choosing, Screen::Tunings) if state.tunings.search.trim().is_empty() => Some(Hint::Choose),
            (Way::Tuning, Screen::Retune) => match state.guitar.stage() {
                Stage::Step => {
                    let left = state.guitar.plan().map_or(0, |plan| plan.steps().len());
                    Some(if left > 1 { Hint::Turn } else { Hint::TurnLast })
                }
                Stage::Check => Some(Hint::Check),
                Stage::Done => Some(Hint::ToChords),
                Stage::Idle | Stage::Strings | Stage::Risk | Stage::Capo => None,
            },
            (Way::Chords, Screen::Shapes) => Some(Hint::Chord),
            (Way::Finished, Screen::Shapes) => Some(Hint::Done),
            _ => None,
        }
    }

    /// Goes on after an action; `None` when the player is through or does something else.
    fn after(mut self, action: &Action, state: &State) -> Option<Self> {
        let id = state.guitar.wanted().and_then(|wanted| wanted.id.as_deref());
        let is_lesson = id == Some(self.lesson.id.as_str());
        self.way = match self.way {
            Way::Choosing if state.instrument().id() != self.instrument_id => return Self::begin(state),
            Way::Choosing if is_lesson => Way::Tuning,
            Way::Choosing if state.guitar.target() != self.before.as_ref() => return None,
            Way::Choosing => Way::Choosing,
            _ if !is_lesson => return None,
            Way::Tuning if state.guitar.stage() == Stage::Done && state.screen() == Screen::Shapes => Way::Chords,
            Way::Tuning => Way::Tuning,
            Way::Chords if matches!(action, Action::Shapes(ShapesAction::Chord(_))) => Way::Finished,
            Way::Chords => Way::Chords,
            Way::Finished if state.tab() != Tab::Shapes => return None,
            Way::Finished => Way::Finished,
        };
        Some(self)
    }
}

/// Tells whether anything in the library shows that the app was used before.
fn has_kept_anything(library: &Library) -> bool {
    library.guitar_now.is_some()
        || !library.recent_tuning_ids().is_empty()
        || !library.own_tunings().is_empty()
        || !library.songs().is_empty()
        || !library.set_lists().is_empty()
}

/// Lets the guide follow what was done; that it has ended is kept.
pub(super) fn follow(state: &mut State, action: &Action) {
    if let Some(guide) = state.guide.take() {
        state.guide = guide.after(action, state);
        state.library.settings.has_seen_guide |= state.guide.is_none();
    }
}

pub(super) fn update(state: &mut State, action: GuideAction) -> Update {
    match action {
        GuideAction::Skip => {
            state.guide = None;
            state.library.settings.has_seen_guide = true;
            Update::Shown
        }
        GuideAction::Again => {
            state.guide = Guide::begin(state);
            if state.guide.is_some() {
                state.tunings.search.clear();
                state.tunings.view = TuningsView::Lately;
                return state.open_tab(Tab::Tunings);
            }
            Update::Shown
        }
    }
}
