//! The first run: one tuning, its steps and one chord, on the screens themselves. Who does something else is left alone.

use crate::instrument::{Level, Tuning, restrung_between};
use crate::retune::nearest;
use crate::store::Library;

use super::action::Action;
use super::desk::Desk;
use super::guitar::Stage;
use super::next::Next;
use super::screen::{Screen, Tab};
use super::shapes::ShapesAction;
use super::state::State;
use super::tunings::{TuningsList, TuningsView};

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
    pub fn find(desk: &Desk) -> Option<Self> {
        let now = desk.guitar.progress().on_guitar().courses();
        let candidates = desk.catalog().tunings_for(desk.instrument());
        // A first lesson asks for no other strings, where there is one that does not.
        let (instrument, on) = (desk.instrument(), desk.guitar.tuning());
        let (mut plain, restrung): (Vec<_>, Vec<_>) =
            candidates.into_iter().partition(|tuning| restrung_between(instrument, &on, tuning.tuning()).is_empty());
        if plain.iter().all(|tuning| *tuning.tuning() == on) {
            plain.extend(restrung);
        }
        let candidates = plain;
        let near = nearest(desk.strung(), now, candidates, desk.library.settings.reference());
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
enum Chapter {
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
    chapter: Chapter,
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
    pub fn begin(desk: &Desk) -> Option<Self> {
        let lesson = Lesson::find(desk)?;
        let instrument_id = desk.instrument().id().to_owned();
        Some(Self { lesson, chapter: Chapter::Choosing, instrument_id, before: desk.guitar.target().cloned() })
    }

    /// Starts where nothing was ever done; `None` for a player who has kept something, or has been through it.
    #[must_use]
    pub(super) fn at_first_launch(desk: &Desk) -> Option<Self> {
        let library = &desk.library;
        if library.settings.has_seen_guide || has_kept_anything(library) { None } else { Self::begin(desk) }
    }

    /// Returns the tuning to choose, while it is to be chosen.
    #[must_use]
    pub fn lesson_to_choose(&self) -> Option<&Lesson> {
        (self.chapter == Chapter::Choosing).then_some(&self.lesson)
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
        match (guide.chapter, state.screen()) {
            (Chapter::Choosing, Screen::Tunings) if state.tunings.search.trim().is_empty() => Some(Hint::Choose),
            (Chapter::Tuning, Screen::Retune) => match state.guitar.stage() {
                Stage::Step => {
                    let left = state.guitar.plan().map_or(0, |plan| plan.steps().len());
                    Some(if left > 1 { Hint::Turn } else { Hint::TurnLast })
                }
                Stage::Check => Some(Hint::Check),
                Stage::Done => Some(Hint::ToChords),
                Stage::Idle | Stage::Strings | Stage::Risk | Stage::Capo => None,
            },
            (Chapter::Chords, Screen::Shapes) => Some(Hint::Chord),
            (Chapter::Finished, Screen::Shapes) => Some(Hint::Done),
            _ => None,
        }
    }

    /// Goes on after an action that has led to a screen of a tab; `None` when the player is through or does something else.
    fn after(mut self, action: &Action, desk: &Desk, (tab, screen): (Tab, Screen)) -> Option<Self> {
        let id = desk.guitar.wanted().and_then(|wanted| wanted.id.as_deref());
        let is_lesson = id == Some(self.lesson.id.as_str());
        self.chapter = match self.chapter {
            Chapter::Choosing if desk.instrument().id() != self.instrument_id => return Self::begin(desk),
            Chapter::Choosing if is_lesson => Chapter::Tuning,
            Chapter::Choosing if desk.guitar.target() != self.before.as_ref() => return None,
            Chapter::Choosing => Chapter::Choosing,
            _ if !is_lesson => return None,
            Chapter::Tuning if desk.guitar.stage() == Stage::Done && screen == Screen::Shapes => Chapter::Chords,
            Chapter::Tuning => Chapter::Tuning,
            Chapter::Chords if matches!(action, Action::Shapes(ShapesAction::Chord(_))) => Chapter::Finished,
            Chapter::Chords => Chapter::Chords,
            Chapter::Finished if tab != Tab::Shapes => return None,
            Chapter::Finished => Chapter::Finished,
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

/// Lets the guide follow what was done, which has led to a screen of a tab; that it has ended is kept.
pub(super) fn follow(followed: &mut Option<Guide>, desk: &mut Desk, action: &Action, shown: (Tab, Screen)) {
    if let Some(guide) = followed.take() {
        *followed = guide.after(action, desk, shown);
        desk.library.settings.has_seen_guide |= followed.is_none();
    }
}

pub(super) fn update(guide: &mut Option<Guide>, list: &mut TuningsList, desk: &mut Desk, action: GuideAction) -> Next {
    match action {
        GuideAction::Skip => {
            *guide = None;
            desk.library.settings.has_seen_guide = true;
            Next::Shown
        }
        GuideAction::Again => {
            *guide = Guide::begin(desk);
            if guide.is_some() {
                list.search.clear();
                list.view = TuningsView::Lately;
                return Next::Tab(Tab::Tunings);
            }
            Next::Shown
        }
    }
}
