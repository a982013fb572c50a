//! The list of tunings: what was played lately, what is near, by kind, by name or notes.

use crate::instrument::{
    CatalogTuning, CourseIndex, Fret, Instrument, Level, ParseTuningError, Tuning, TuningFamily, matching_tunings_in,
};
use crate::retune::{Effort, nearest, without_retuning};
use crate::songs::ChosenTuning;
use crate::store::Wanted;
use crate::theory::Cents;

use super::desk::Desk;
use super::guitar::Stage;
use super::next::Next;
use super::retune::{go_to, start};
use super::stage::{UnderWay, under_way};
use super::state::State;

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
    /// The one tuning to try first.
    Begin,
    /// Those played lately.
    Lately,
    /// Those that sound without turning a peg: under another name, or with a capo.
    Already,
    /// Those nearest to what is on the guitar.
    Nearest,
    /// The player's own.
    Own,
    /// Those near to what is searched, where none has that name.
    Near,
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
    /// How many strings have to be turned from what is on the guitar.
    pub moved: usize,
    /// How each string stands it: the course by player number, from the thickest, and the level.
    pub levels: Vec<(u8, Level)>,
    /// Whether the player entered it.
    pub is_own: bool,
    /// Where a capo makes it sound without turning a peg.
    pub capo: Option<Fret>,
}

/// What the list comes to.
#[derive(Clone, Debug)]
pub enum Listed {
    /// Rows, and the tuning that the typed notes make where none in the list is it; two where they can be read two ways.
    Rows(Vec<Row>, Vec<Tuning>),
    /// Nothing has that name; what is wrong with it as notes, where notes were meant.
    Nothing(Option<ParseTuningError>),
    /// The player has entered none yet.
    NoOwnYet,
}

/// How many of the nearest stand before all the others.
const NEAREST_SHOWN: usize = 6;
/// Efforts (see [`crate::retune::Effort`]) so far apart count as alike. Set by judgement.
const ALIKE: f64 = 0.5;

/// What is under way and can be gone on with.
#[derive(Clone, Copy, Debug)]
pub enum GoesOn<'a> {
    /// A retuning left half done, to this tuning.
    Retuning(&'a Tuning),
    /// A set list on stage.
    SetList(UnderWay<'a>),
}

/// Lists what is under way: it stands above all tunings, where they are listed as at launch.
#[must_use]
pub fn goes_on(state: &State) -> Vec<GoesOn<'_>> {
    if state.tunings.view != TuningsView::Lately || !state.tunings.search.trim().is_empty() {
        return Vec::new();
    }
    let is_half_done = matches!(state.guitar.stage(), Stage::Step | Stage::Check | Stage::Capo);
    let retuning = state.guitar.target().filter(|_| is_half_done).map(GoesOn::Retuning);
    retuning.into_iter().chain(under_way(state).map(GoesOn::SetList)).collect()
}

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
                row(state, tuning, begins.take(), is_own)
            })
            .collect()
    };
    let everything: Vec<&CatalogTuning> = own.iter().chain(bundled.iter().copied()).collect();
    if !state.tunings.search.trim().is_empty() {
        return search(state, &everything, rows);
    }
    match state.tunings.view {
        TuningsView::Own if own.is_empty() => Listed::NoOwnYet,
        TuningsView::Own => Listed::Rows(rows(own.iter().collect(), Some(Group::Own)), Vec::new()),
        TuningsView::Nearest => {
            let mut listed = already(state);
            listed.extend(rows(by_effort(state, everything), Some(Group::Nearest)));
            Listed::Rows(listed, Vec::new())
        }
        TuningsView::Kinds => {
            let kinds = KINDS.into_iter().flat_map(|kind| {
                let of_kind = everything.iter().copied().filter(|tuning| tuning.family() == kind).collect();
                rows(of_kind, Some(Group::Kind(kind)))
            });
            Listed::Rows(kinds.collect(), Vec::new())
        }
        TuningsView::Lately => {
            let lesson = state.guide.as_ref().and_then(super::guide::Guide::lesson_to_choose);
            let is_lesson = |tuning: &&CatalogTuning| lesson.is_some_and(|lesson| lesson.id == tuning.id());
            let recent = state.library.recent_tuning_ids();
            let now_in = state.guitar.tuning();
            let lately: Vec<&CatalogTuning> = recent
                .iter()
                .filter_map(|id| everything.iter().copied().find(|tuning| tuning.id() == id))
                .filter(|tuning| *tuning.tuning() != now_in)
                .collect();
            let near = by_effort(state, everything.clone());
            let near = near.into_iter().filter(|tuning| *tuning.tuning() != now_in && !is_lesson(tuning));
            let mut listed = rows(everything.iter().copied().filter(is_lesson).collect(), Some(Group::Begin));
            listed.extend(rows(lately.into_iter().filter(|tuning| !is_lesson(tuning)).collect(), Some(Group::Lately)));
            listed.extend(rows(near.take(NEAREST_SHOWN).collect(), Some(Group::Nearest)));
            listed.extend(rows(everything, Some(Group::All)));
            Listed::Rows(listed, Vec::new())
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
    let naming = state.naming();
    let found = matching_tunings_in(everything, text, naming);
    let read = typed_readings(state, text);
    let is_listed = |typed: &Tuning| found.iter().any(|tuning| tuning.tuning() == typed);
    let typed: Vec<Tuning> = read.iter().flatten().filter(|typed| !is_listed(typed)).cloned().collect();
    if found.is_empty() && typed.is_empty() {
        let near = state.catalog().near_tunings(everything, text);
        if !near.is_empty() {
            return Listed::Rows(rows(near, Some(Group::Near)), Vec::new());
        }
        return Listed::Nothing(read.err().filter(|fault| reads_as_notes(text, fault)));
    }
    Listed::Rows(rows(found, None), typed)
}

/// Reads what is typed as notes: one tuning, or two where nothing decides between them.
fn typed_readings(desk: &Desk, text: &str) -> Result<Vec<Tuning>, ParseTuningError> {
    readings(desk, desk.instrument(), text)
}

/// Reads notes as a tuning of an instrument: one, or two where nothing decides between them. What is on the player's own
/// instrument decides there.
pub(super) fn readings(desk: &Desk, instrument: &Instrument, text: &str) -> Result<Vec<Tuning>, ParseTuningError> {
    let on = Some(desk.guitar.tuning()).filter(|_| instrument.id() == desk.instrument().id());
    let read = desk.catalog().read_notes(instrument, text, on.as_ref(), desk.naming())?;
    let others = if read.is_known { Vec::new() } else { read.also };
    Ok(std::iter::once(read.best).chain(others).take(2).collect())
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

fn row(desk: &Desk, tuning: &CatalogTuning, begins: Option<Group>, is_own: bool) -> Row {
    let now = desk.guitar.progress().on_guitar().courses();
    let a4 = desk.library.settings.reference();
    let strung = desk.strung();
    let effort = Effort::between(strung, now, tuning.tuning(), a4);
    let count = tuning.tuning().courses();
    let levels = tuning.tuning().pitches().iter().enumerate().filter_map(|(index, &pitch)| {
        let course = CourseIndex::from_lowest(index);
        let worst = strung.strains(course, pitch, Cents::ZERO, a4).map(|strain| strain.level);
        worst.max().map(|level| (course.player_number(count), level))
    });
    let levels = levels.collect();
    Row { tuning: tuning.clone(), begins, moved: effort.map_or(0, |effort| effort.courses), levels, is_own, capo: None }
}

/// How many tunings that sound already are listed.
const ALREADY_SHOWN: usize = 4;

/// Lists the tunings of this instrument that sound with a capo and no peg turned.
fn already(desk: &Desk) -> Vec<Row> {
    let found = without_retuning(desk.instrument(), &desk.guitar.tuning(), desk.catalog());
    let is_whole = |tuning: &CatalogTuning| tuning.tuning().courses() == desk.instrument().courses().len();
    let with_capo = found.into_iter().filter(|found| found.capo != Fret::OPEN && is_whole(found.tuning));
    let mut begins = Some(Group::Already);
    let row = |found: crate::retune::WithoutRetuning<'_>| Row {
        tuning: found.tuning.clone(),
        begins: begins.take(),
        moved: 0,
        levels: Vec::new(),
        is_own: false,
        capo: Some(found.capo),
    };
    with_capo.take(ALREADY_SHOWN).map(row).collect()
}

/// The nearest first. Where the effort is alike, to half a string turned, those that many players meet stand before rare
/// ones: a beginner is shown drop D before a lute's fingering.
fn by_effort<'a>(desk: &Desk, tunings: Vec<&'a CatalogTuning>) -> Vec<&'a CatalogTuning> {
    let now = desk.guitar.progress().on_guitar().courses();
    let mut found = nearest(desk.strung(), now, tunings, desk.library.settings.reference());
    let likely = |tuning: &CatalogTuning, weight: f64| if tuning.is_common() { weight - ALIKE } else { weight };
    found.sort_by(|one, other| likely(one.0, one.1.weight).total_cmp(&likely(other.0, other.1.weight)));
    found.into_iter().map(|(tuning, _)| tuning).collect()
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
    /// Look at the shapes of this tuning.
    Look(String),
    /// Look at the shapes of the tuning that the typed notes make, by the first reading or the second, from 0.
    LookTyped(usize),
    /// Put the capo here: the tuning sounds without turning a peg.
    Capo(Fret),
    /// Go to the tuning that the typed notes make, by the first reading or the second, from 0.
    ChooseTyped(usize),
}

pub(super) fn update(list: &mut TuningsList, desk: &mut Desk, action: TuningsAction) -> Next {
    match action {
        TuningsAction::Search(text) => list.search = text,
        TuningsAction::View(view) => list.view = view,
        TuningsAction::Choose(id) => {
            if let Some(chosen) = find(desk, &id) {
                list.search.clear();
                return start(desk, chosen.tuning().clone(), Wanted { id: Some(id), ..Wanted::default() });
            }
        }
        TuningsAction::Look(id) => {
            if let Some(chosen) = find(desk, &id) {
                return desk.look_at(ChosenTuning { id: Some(id), pitches: chosen.tuning().clone() });
            }
        }
        TuningsAction::LookTyped(reading) => {
            if let Some(pitches) = typed(desk, &list.search, reading) {
                return desk.look_at(ChosenTuning { id: None, pitches });
            }
        }
        TuningsAction::Capo(fret) => return desk.set_capo(fret),
        TuningsAction::ChooseTyped(reading) => {
            if let Some(tuning) = typed(desk, &list.search, reading) {
                let next = go_to(desk, tuning.clone(), Wanted::default());
                if desk.guitar.target() == Some(&tuning) {
                    list.search.clear();
                }
                return next;
            }
        }
    }
    Next::Shown
}

/// Finds one of the tunings the instrument can take.
fn find(desk: &Desk, id: &str) -> Option<CatalogTuning> {
    let (own, bundled) = desk.all_tunings();
    own.iter().chain(bundled).find(|tuning| tuning.id() == id).cloned()
}

fn typed(desk: &Desk, text: &str, reading: usize) -> Option<Tuning> {
    typed_readings(desk, text).ok()?.into_iter().nth(reading)
}
