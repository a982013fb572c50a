//! A progression typed as chords, and one shape for each of them.

use std::num::NonZero;
use std::thread;

use crate::instrument::{Fret, Fretboard};
use crate::theory::{Chord, Naming, NotANote, ParseChordError};

use super::neck_plan::{HandMove, PlanCandidate, PlanCosts, plan_neck};
use super::rank::CostTerm;
use super::ranked::RankedShape;
use super::search::ShapeSearch;

/// How many shapes of each chord a plan chooses from, best first.
const CANDIDATES: usize = 24;
/// How many courses a search for them may try at most, for a progression of eight chords within a frame on ten courses.
const EFFORT: usize = 70_000;
/// The most chords a progression may have.
const MOST_CHORDS: usize = 64;

/// A chord of a progression with the shape taken for it, and what the hand does from the one before.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedShape {
    /// The shape, with its chord.
    pub shape: RankedShape,
    /// The move from the shape before; `None` at the start.
    pub from_before: Option<HandMove>,
    /// The fret the hand stands at: the shape's lowest, over open strings where it stood before, at the start the first.
    pub stands_at: Fret,
}

/// Why a progression has no plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProgressionFault {
    /// A chord cannot be read.
    Chord {
        /// Which chord, from 0.
        place: usize,
        /// What is wrong with it.
        fault: ParseChordError,
    },
    /// No hand can sound this chord here.
    NoShape(Chord),
    /// There is no chord, or there are more than 64.
    Length(usize),
}

impl std::fmt::Display for ProgressionFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Chord { place, fault } => write!(f, "chord {} of the progression: {fault}", place + 1),
            Self::NoShape(chord) => write!(f, "no hand can sound {chord} here"),
            Self::Length(found) => write!(f, "expected 1 to {MOST_CHORDS} chords, found {found}"),
        }
    }
}

impl std::error::Error for ProgressionFault {}

/// Reads chords separated by spaces, commas, dashes or bar lines: `G C | G D`, `G - C - D`, `|: G % | C :|`.
///
/// A `%` is the chord before once more; `N.C.` (no chord) and the strokes of beats `/` are passed over.
///
/// # Errors
/// When one cannot be read, or there are none or more than 64.
pub fn read_progression(text: &str) -> Result<Vec<Chord>, ProgressionFault> {
    read_progression_in(text, Naming::English)
}

/// Reads chords as [`read_progression`] does, with notes by the player's custom.
///
/// # Errors
/// As [`read_progression`].
pub fn read_progression_in(text: &str, naming: Naming) -> Result<Vec<Chord>, ProgressionFault> {
    let is_between = |mark: char| mark.is_whitespace() || matches!(mark, ',' | ';' | '|' | '‖' | '–' | '—' | ':');
    let mut chords: Vec<Chord> = Vec::new();
    for word in text.split(is_between) {
        let place = chords.len();
        match word.to_lowercase().as_str() {
            "" | "-" | "/" | "n.c." | "n.c" | "nc" => {}
            "%" => {
                let before = chords.last().copied();
                let found = || NotANote { place: 0, found: "%".to_owned() };
                let fault = || ProgressionFault::Chord { place, fault: ParseChordError::Root(found()) };
                chords.push(before.ok_or_else(fault)?);
            }
            _ => {
                let read = read_joined(word, naming);
                chords.extend(read.map_err(|fault| ProgressionFault::Chord { place, fault })?);
            }
        }
    }
    if chords.is_empty() || chords.len() > MOST_CHORDS {
        return Err(ProgressionFault::Length(chords.len()));
    }
    Ok(chords)
}

/// Reads one chord, or several joined by dashes where they are none together: `C-7` is one, `G-C-D` three.
fn read_joined(word: &str, naming: Naming) -> Result<Vec<Chord>, ParseChordError> {
    let whole = Chord::read_in(word, naming);
    let joined = || word.split('-').map(|part| Chord::read_in(part, naming)).collect::<Result<Vec<_>, _>>().ok();
    whole.map(|chord| vec![chord]).or_else(|fault| joined().ok_or(fault))
}

/// Leaves out of a chord's shapes those with few strings, and picked those without a pair for the thumb, where there are
/// others: a plan must not save the hand's way at their cost.
fn worth_planning(mut shapes: Vec<RankedShape>) -> Vec<RankedShape> {
    for term in [CostTerm::FewCourses, CostTerm::NoThumbPair, CostTerm::BentBarre] {
        let is_worth = |shape: &RankedShape| shape.amount(term) <= 0.0;
        if shapes.iter().any(is_worth) {
            shapes.retain(is_worth);
        }
    }
    shapes
}

/// Finds the shapes of each chord, on all the cores there are: a typed letter asks for all of them within a frame.
fn find_each(chords: &[Chord], board: &Fretboard<'_>, search: &ShapeSearch) -> Vec<Vec<RankedShape>> {
    let find = |chord: &Chord| worth_planning(search.find(*chord, board).shapes);
    let find_all = |chords: &[Chord]| chords.iter().map(find).collect::<Vec<_>>();
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(chords.len());
    if threads < 2 {
        return find_all(chords);
    }
    let (own, others) = chords.split_at(chords.len() / threads);
    thread::scope(|scope| {
        let parts = others
            .chunks(others.len().div_ceil(threads - 1))
            .map(|part| (part, thread::Builder::new().spawn_scoped(scope, move || find_all(part))));
        let parts: Vec<_> = parts.collect();
        let mut found = find_all(own);
        for (part, running) in parts {
            // A system that gives no thread lets the player wait.
            let joined = running.map_or_else(|_| Ok(find_all(part)), thread::ScopedJoinHandle::join);
            found.extend(joined.unwrap_or_else(|fault| std::panic::resume_unwind(fault)));
        }
        found
    })
}

/// Takes one shape for each chord so that the hand moves least; see [`plan_neck`]. `search` says how the shapes are
/// sounded and held.
///
/// # Errors
/// When no hand can sound one of the chords.
pub fn plan_progression(
    chords: &[Chord],
    board: &Fretboard<'_>,
    search: &ShapeSearch,
) -> Result<Vec<PlannedShape>, ProgressionFault> {
    let search = ShapeSearch { limit: CANDIDATES, effort: search.effort.min(EFFORT), ..search.clone() };
    let mut different: Vec<Chord> = Vec::new();
    let order: Vec<usize> = chords
        .iter()
        .map(|chord| {
            different.iter().position(|known| known == chord).unwrap_or_else(|| {
                different.push(*chord);
                different.len() - 1
            })
        })
        .collect();
    let found = find_each(&different, board, &search);
    if let Some(missing) = found.iter().position(Vec::is_empty) {
        return Err(ProgressionFault::NoShape(different[missing]));
    }
    let candidates: Vec<Vec<PlanCandidate<'_>>> =
        found.iter().map(|shapes| shapes.iter().map(PlanCandidate::from).collect()).collect();
    let Some(plan) = plan_neck(board, &candidates, &order, &PlanCosts::default()) else {
        return Err(ProgressionFault::Length(chords.len()));
    };
    let moves = std::iter::once(None).chain(plan.moves.into_iter().map(Some));
    let taken = plan.choices.iter().zip(&order).zip(moves);
    let mut stands_at = Fret::new(1);
    Ok(taken
        .map(|((&choice, &chord), from_before)| {
            let shape = found[chord][choice].clone();
            stands_at = shape.shape().fret_range().map_or(stands_at, |(lowest, _)| lowest);
            PlannedShape { shape, from_before, stands_at }
        })
        .collect())
}
