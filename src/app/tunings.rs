//! The list of tunings: what was played lately, what is near, by kind, by name or notes.

use crate::instrument::{CatalogTuning, Level, ParseTuningError, Tuning, TuningFamily, matching_tunings};

use super::effort::Effort;
use super::retune::{Target, start};
use super::state::{State, Update};

/// Which tunings are listed while nothing is searched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum TuningsView {
    /// Those played lately, then the nearest, then all.
    #[default]
    Lately,
    /// All, by how little it takes from what is on the guitar.
    Nearest,
    /// All, by kind.
    Kinds,
    /// The player's own.
    Own,
}

/// What the list of tunings shows.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct TuningsList {
    /// Which tunings, while nothing is searched.
    pub view: TuningsView,
    /// What is searched.
    pub search: String,
}

/// What begins at a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Those played lately.
    Lately,
    /// Those nearest to what is on the guitar.
    Nearest,
    /// The player's own.
    Own,
    /// All there are.
    All,
    /// Those of a kind.
    Kind(TuningFamily),
}

/// A row of the list.
#[derive(Clone, Debug)]
pub struct Row {
    /// The tuning.
    pub tuning: CatalogTuning,
    /// The group that begins here.
    pub begins: Option<Group>,
    /// What it takes from what is on the guitar.
    pub effort: Effort,
    /// Whether the player entered it.
    pub is_own: bool,
}

/// What the list comes to.
#[derive(Clone, Debug)]
pub enum Listed {
    /// Rows, and the tuning that the typed notes make where none in the list is it.
    Rows(Vec<Row>, Option<Tuning>),
    /// Nothing has that name; what is wrong with it as notes, where notes were meant.
    Nothing(Option<ParseTuningError>),
    /// The player has entered none yet.
    NoOwnYet,
}

/// How many of the nearest stand before all the others.
const NEAREST_SHOWN: usize = 6;

/// Lists the tunings as `state.tunings` asks for.
#[must_use]
pub fn list(state: &State) -> Listed {
    let (own, bundled) = state.all_tunings();
    let rows = |tunings: Vec<&CatalogTuning>, begins: Option<Group>| -> Vec<Row> {
        let mut begins = begins;
        tunings
            .into_iter()
            .map(|tuning| {
                let is_own = state.library.find_own_tuning(tuning.id()).is_some();
                Row { effort: effort(state, tuning.tuning()), tuning: tuning.clone(), begins: begins.take(), is_own }
            })
            .collect()
    };
    let everything: Vec<&CatalogTuning> = own.iter().chain(bundled.iter().copied()).collect();
    if !state.tunings.search.trim().is_empty() {
        return search(state, &everything, rows);
    }
    match state.tunings.view {
        TuningsView::Own if own.is_empty() => Listed::NoOwnYet,
        TuningsView::Own => Listed::Rows(rows(own.iter().collect(), Some(Group::Own)), None),
        TuningsView::Nearest => Listed::Rows(rows(by_effort(state, everything), Some(Group::Nearest)), None),
        TuningsView::Kinds => {
            let kinds = KINDS.into_iter().flat_map(|kind| {
                let of_kind = everything.iter().copied().filter(|tuning| tuning.family() == kind).collect();
                rows(of_kind, Some(Group::Kind(kind)))
            });
            Listed::Rows(kinds.collect(), None)
        }
        TuningsView::Lately => {
            let recent = state.library.recent_tuning_ids();
            let lately: Vec<&CatalogTuning> = recent
                .iter()
                .filter_map(|id| everything.iter().copied().find(|tuning| tuning.id() == id))
                .filter(|tuning| tuning.tuning() != state.guitar.tuning())
                .collect();
            let near = by_effort(state, everything.clone());
            let near = near.into_iter().filter(|tuning| tuning.tuning() != state.guitar.tuning());
            let mut listed = rows(lately, Some(Group::Lately));
            listed.extend(rows(near.take(NEAREST_SHOWN).collect(), Some(Group::Nearest)));
            listed.extend(rows(everything, Some(Group::All)));
            Listed::Rows(listed, None)
        }
    }
}

/// The kinds in the order they are listed.
const KINDS: [TuningFamily; 10] = [
    TuningFamily::Standard,
    TuningFamily::Dropped,
    TuningFamily::OpenMajor,
    TuningFamily::OpenMinor,
    TuningFamily::Modal,
    TuningFamily::SlackKey,
    TuningFamily::Regular,
    TuningFamily::Lowered,
    TuningFamily::Raised,
    TuningFamily::Other,
];

fn search(
    state: &State,
    everything: &[&CatalogTuning],
    rows: impl Fn(Vec<&CatalogTuning>, Option<Group>) -> Vec<Row>,
) -> Listed {
    let text = &state.tunings.search;
    let found = matching_tunings(everything, text);
    let as_notes = Tuning::read(text, &state.standard());
    let typed = as_notes.as_ref().ok().filter(|typed| found.iter().all(|tuning| &tuning.tuning() != typed));
    if found.is_empty() && typed.is_none() {
        return Listed::Nothing(as_notes.err().filter(|fault| reads_as_notes(text, fault)));
    }
    Listed::Rows(rows(found, None), typed.cloned())
}

/// Tells whether a text that is no tuning was meant as notes: it begins with one and is not a word.
fn reads_as_notes(text: &str, fault: &ParseTuningError) -> bool {
    match fault {
        ParseTuningError::Note(fault) => {
            fault.place > 1 || text.split_whitespace().all(|word| word.chars().count() <= 3)
        }
        ParseTuningError::OutOfRange { .. } | ParseTuningError::Courses { .. } => true,
    }
}

fn by_effort<'a>(state: &State, tunings: Vec<&'a CatalogTuning>) -> Vec<&'a CatalogTuning> {
    let mut with_effort: Vec<(Effort, &CatalogTuning)> =
        tunings.into_iter().map(|tuning| (effort(state, tuning.tuning()), tuning)).collect();
    with_effort.sort_by(|one, other| one.0.weight().total_cmp(&other.0.weight()));
    with_effort.into_iter().map(|(_, tuning)| tuning).collect()
}

/// Returns what it takes to go from what is on the guitar to `to`.
pub(super) fn effort(state: &State, to: &Tuning) -> Effort {
    let now = state.guitar.progress().on_guitar().courses();
    let reference = state.library.settings.reference();
    Effort::between(state.instrument(), state.strings(), now, to, reference)
}

/// Returns the courses, by player number, that a tuning leaves at a level, from the thickest.
#[must_use]
pub fn courses_at(effort: &Effort, level: Level) -> Vec<u8> {
    effort.levels().iter().filter(|(_, found)| *found == level).map(|(course, _)| *course).collect()
}

/// What the Tunings screen asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TuningsAction {
    /// Look for this.
    Search(String),
    /// List these.
    View(TuningsView),
    /// Go to this tuning.
    Choose(String),
    /// Go to the tuning that the typed notes make.
    ChooseTyped,
}

pub(super) fn update(state: &mut State, action: TuningsAction) -> Update {
    match action {
        TuningsAction::Search(text) => state.tunings.search = text,
        TuningsAction::View(view) => state.tunings.view = view,
        TuningsAction::Choose(id) => {
            let (own, bundled) = state.all_tunings();
            let chosen = own.iter().chain(bundled).find(|tuning| tuning.id() == id).cloned();
            if let Some(chosen) = chosen {
                state.tunings.search.clear();
                let name = chosen.name().to_owned();
                return start(state, Target { id: Some(id), name, tuning: chosen.tuning().clone() });
            }
        }
        TuningsAction::ChooseTyped => {
            if let Ok(tuning) = Tuning::read(&state.tunings.search, &state.standard()) {
                state.tunings.search.clear();
                let name = tuning.ascii(crate::theory::SpellingChoice::Customary);
                return start(state, Target { id: None, name, tuning });
            }
        }
    }
    Update::Shown
}
