//! Which tuning suits a tune.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

use crate::instrument::{Fret, Instrument, Tuning};
use crate::theory::Semitones;
use crate::tune::{Played, Tune};

use super::arrange::arrange_played;
use super::arrangement::{Figures, LeftOutKind};
use super::harmony::with_found_chords;
use super::wishes::{ArrangeFault, Wishes};

/// What a point of retuning effort weighs beside the points of a bar's playing. By hand: three strings turned a tone
/// each, about five points of effort, are worth a finger less in every bar.
const PER_EFFORT: f64 = 0.1;
/// What a melody note beyond the neck weighs, in points: more than any way of playing it.
const PER_LOST_NOTE: f64 = 50.0;

/// A tuning that a tune is tried in.
#[derive(Clone, Copy, Debug)]
pub struct TuningCandidate<'a> {
    /// Which.
    pub tuning: &'a Tuning,
    /// What it costs to get there from what is on the instrument; see [`crate::retune::Effort::weight`].
    pub effort: f64,
}

/// How a tune lies in a tuning.
#[derive(Clone, Debug, PartialEq)]
pub struct TuningFit {
    /// Which of the candidates.
    pub index: usize,
    /// By how much the tune is moved there.
    pub transpose: Semitones,
    /// Where the capo sits.
    pub capo: Fret,
    /// What playing costs, in points a bar.
    pub points_a_bar: f64,
    /// What it costs to get there.
    pub effort: f64,
    /// Both in one number: less is better.
    pub weight: f64,
    /// What a teacher counts.
    pub figures: Figures,
    /// How many melody notes are left out.
    pub notes_left_out: usize,
    /// How many of the thumb's beats are.
    pub beats_left_out: usize,
    /// Why, what speaks most for or against it first.
    pub reasons: Vec<FitReason>,
}

/// What speaks for or against a tuning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FitReason {
    /// So many melody notes are beyond the neck.
    NotesLeftOut(usize),
    /// So many beats are without a bass note.
    BeatsLeftOut(usize),
    /// Nothing is left out.
    NothingLeftOut,
    /// So many of a hundred notes ring open.
    OpenNotes(usize),
    /// Roots are missing on so many chord changes.
    RootsMissing(usize),
    /// The hand stays in one place.
    HandStays,
    /// The hand changes its place so many times in ten bars.
    HandMoves(usize),
    /// A capo sits there.
    Capo(u8),
    /// It is on the instrument already.
    IsOn,
}

/// Tries a tune in many tunings and hands each to `on_found` as soon as it is known, so that first answers come at once:
/// about in the order of the candidates, by so many `threads` at once (1: on the caller's own). The caller keeps them
/// sorted by [`TuningFit::weight`].
///
/// # Errors
/// When the tune has no notes or is too long, or it was stopped: by `should_stop`, or because `on_found` broke off. A
/// tuning that does not fit the instrument is passed over.
pub fn try_tunings(
    tune: &Tune,
    instrument: &Instrument,
    candidates: &[TuningCandidate<'_>],
    wishes: &Wishes,
    threads: usize,
    should_stop: &(dyn Fn() -> bool + Sync),
    on_found: &mut dyn FnMut(TuningFit) -> ControlFlow<()>,
) -> Result<(), ArrangeFault> {
    let played = tune.played().map_err(ArrangeFault::Tune)?;
    let (played, are_chords_found) = with_found_chords(tune, played);
    let trial = Trial { played: &played, are_chords_found, instrument, candidates, wishes };
    if threads <= 1 {
        for index in 0..candidates.len() {
            match trial.fit(index, should_stop) {
                Err(ArrangeFault::NotOnNeck(_)) => {}
                Err(fault) => return Err(fault),
                Ok(fit) => {
                    if on_found(fit).is_break() {
                        return Err(ArrangeFault::Stopped);
                    }
                }
            }
        }
        return Ok(());
    }
    let next = AtomicUsize::new(0);
    let is_over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        for _ in 0..threads {
            let (send, next, is_over, trial) = (send.clone(), &next, &is_over, &trial);
            scope.spawn(move || {
                let stop = || is_over.load(Ordering::Relaxed) || should_stop();
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    if index >= trial.candidates.len() || send.send(trial.fit(index, &stop)).is_err() || stop() {
                        return;
                    }
                }
            });
        }
        drop(send);
        let mut result = Ok(());
        for found in receive {
            match found {
                Err(ArrangeFault::NotOnNeck(_)) => {}
                Err(fault) => result = result.and(Err(fault)),
                Ok(fit) => {
                    if result.is_ok() && on_found(fit).is_break() {
                        result = Err(ArrangeFault::Stopped);
                    }
                }
            }
            if result.is_err() {
                is_over.store(true, Ordering::Relaxed);
            }
        }
        if result.is_ok() && should_stop() { Err(ArrangeFault::Stopped) } else { result }
    })
}

/// What every trial has in common.
struct Trial<'a> {
    played: &'a Played,
    are_chords_found: bool,
    instrument: &'a Instrument,
    candidates: &'a [TuningCandidate<'a>],
    wishes: &'a Wishes,
}

impl Trial<'_> {
    /// Works the tune out in one of the tunings and weighs it.
    fn fit(&self, index: usize, should_stop: &dyn Fn() -> bool) -> Result<TuningFit, ArrangeFault> {
        let TuningCandidate { tuning, effort } = self.candidates[index];
        let (played, wishes) = (self.played, self.wishes);
        let arrangement =
            arrange_played(played, self.are_chords_found, self.instrument, tuning, wishes, 1, should_stop)?;
        let count =
            |is: &dyn Fn(&LeftOutKind) -> bool| arrangement.left_out.iter().filter(|left| is(&left.what)).count();
        let notes_left_out = count(&|what| matches!(what, LeftOutKind::Melody(_)));
        let beats_left_out = count(&|what| *what == LeftOutKind::Bass);
        let figures = arrangement.figures;
        let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
        let points_a_bar = (arrangement.cost + PER_LOST_NOTE * number(notes_left_out)) / number(figures.bars.max(1));
        Ok(TuningFit {
            index,
            transpose: arrangement.transpose,
            capo: arrangement.capo,
            points_a_bar,
            effort,
            weight: points_a_bar + PER_EFFORT * effort,
            figures,
            notes_left_out,
            beats_left_out,
            reasons: reasons(&figures, notes_left_out, beats_left_out, arrangement.capo, effort),
        })
    }
}

fn reasons(figures: &Figures, notes: usize, beats: usize, capo: Fret, effort: f64) -> Vec<FitReason> {
    let mut found = Vec::new();
    if effort <= 0.0 {
        found.push(FitReason::IsOn);
    }
    match (notes, beats) {
        (0, 0) => found.push(FitReason::NothingLeftOut),
        (0, beats) => found.push(FitReason::BeatsLeftOut(beats)),
        (notes, _) => found.push(FitReason::NotesLeftOut(notes)),
    }
    let missing = figures.chord_changes - figures.roots;
    if missing > 0 {
        found.push(FitReason::RootsMissing(missing));
    }
    found.push(FitReason::OpenNotes((100 * figures.open_notes).checked_div(figures.notes).unwrap_or(0)));
    found.push(match figures.moves {
        0 => FitReason::HandStays,
        moves => FitReason::HandMoves((10 * moves).div_ceil(figures.bars.max(1))),
    });
    if capo != Fret::OPEN {
        found.push(FitReason::Capo(capo.get()));
    }
    found
}
