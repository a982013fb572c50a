//! What is worked out beside the window: a tune in one tuning, and in all of them.

use std::ops::ControlFlow;
use std::sync::Arc;

use crate::arrange::{ArrangeFault, Arrangement, TuningCandidate, TuningFit, Wishes, arrange, try_tunings};
use crate::instrument::{Instrument, Tuning};
use crate::tune::{Played, Tune};

/// A tune to be worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct TuneQuestion {
    /// The tune.
    pub tune: Tune,
    /// As it is played.
    pub played: Played,
    /// On what.
    pub instrument: &'static Instrument,
    /// In which tuning.
    pub tuning: Tuning,
    /// How.
    pub wishes: Wishes,
}

impl TuneQuestion {
    /// Works it out.
    ///
    /// # Errors
    /// As [`arrange`].
    pub fn answer(&self, should_stop: &dyn Fn() -> bool) -> Result<Arrangement, ArrangeFault> {
        arrange(&self.tune, self.instrument, &self.tuning, &self.wishes, should_stop)
    }
}

/// A tune to be tried in many tunings.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialQuestion {
    /// The tune.
    pub tune: Tune,
    /// On what.
    pub instrument: &'static Instrument,
    /// The tunings and what it costs to get to each, in the order they are tried.
    pub tunings: Vec<(Tuning, f64)>,
    /// How.
    pub wishes: Wishes,
}

impl TrialQuestion {
    /// Tries them, by so many threads at once.
    ///
    /// # Errors
    /// As [`try_tunings`].
    pub fn answer(
        &self,
        threads: usize,
        should_stop: &(dyn Fn() -> bool + Sync),
        on_found: &mut dyn FnMut(TuningFit),
    ) -> Result<(), ArrangeFault> {
        let candidates: Vec<TuningCandidate<'_>> =
            self.tunings.iter().map(|(tuning, effort)| TuningCandidate { tuning, effort: *effort }).collect();
        let mut take = |fit| {
            on_found(fit);
            ControlFlow::Continue(())
        };
        try_tunings(&self.tune, self.instrument, &candidates, &self.wishes, threads, should_stop, &mut take)
    }
}

/// A question under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Asking<Q> {
    /// Tells this one from those before.
    pub number: u64,
    /// What is asked.
    pub question: Arc<Q>,
}

/// A tune that is worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    /// What was asked.
    pub question: Arc<TuneQuestion>,
    /// The answer.
    pub arrangement: Arrangement,
    /// Tells this answer from those before.
    pub number: u64,
}

/// What the threads tell, each with the number of its question.
#[derive(Clone, Debug, PartialEq)]
pub enum TuneTold {
    /// A tune is worked out, or cannot be.
    Worked(u64, Box<Result<Arrangement, ArrangeFault>>),
    /// How it lies in one tuning.
    Fit(u64, Box<TuningFit>),
    /// All tunings are tried, or it broke off.
    Tried(u64, Result<(), ArrangeFault>),
}
