//! A tune worked out, and tried in all tunings, on threads of their own: no frame waits for them.

use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use crate::app::{Asking, OpenTune, TrialQuestion, TuneQuestion, TuneTold};

/// Tells the window's thread that something is waiting; called on the search's thread.
type Ring = Arc<dyn Fn() + Send + Sync>;

/// What the threads have told.
type Inbox = Arc<Mutex<Vec<TuneTold>>>;

/// A question that runs: its number, and whether its answer is still wanted.
type Running = Option<(u64, Arc<AtomicBool>)>;

/// The window's end of the line.
pub(super) struct TuneLine {
    work: Running,
    trial: Running,
    inbox: Inbox,
    ring: Ring,
}

impl fmt::Debug for TuneLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("TuneLine").field("work", &self.work).field("trial", &self.trial).finish_non_exhaustive()
    }
}

impl TuneLine {
    /// Makes a line; no thread runs yet. `ring` is called on another thread when there is news.
    pub(super) fn new(ring: Ring) -> Self {
        Self { work: None, trial: None, inbox: Arc::default(), ring }
    }

    /// Works out what the state wants worked out, and nothing else.
    pub(super) fn follow(&mut self, tune: &OpenTune) {
        let teller = || Teller { inbox: Arc::clone(&self.inbox), ring: Arc::clone(&self.ring) };
        run(&mut self.work, tune.asking.as_ref(), teller(), work_out);
        run(&mut self.trial, tune.trial.asking.as_ref(), teller(), try_all);
    }

    /// Returns what was told since the last time.
    pub(super) fn news(&self) -> Vec<TuneTold> {
        std::mem::take(&mut *self.inbox.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Drop for TuneLine {
    fn drop(&mut self) {
        for (_, is_wanted) in self.work.take().into_iter().chain(self.trial.take()) {
            is_wanted.store(false, Ordering::Relaxed);
        }
    }
}

/// Tells the window.
#[derive(Clone)]
struct Teller {
    inbox: Inbox,
    ring: Ring,
}

impl Teller {
    fn tell(&self, told: TuneTold) {
        self.inbox.lock().unwrap_or_else(PoisonError::into_inner).push(told);
        (self.ring)();
    }
}

/// Lets a thread answer what is wanted, in the place of what runs.
fn run<Q: Send + Sync + 'static>(
    running: &mut Running,
    wanted: Option<&Asking<Q>>,
    teller: Teller,
    answer: fn(u64, &Q, &AtomicBool, &Teller),
) {
    if wanted.map(|wanted| wanted.number) == running.as_ref().map(|(number, _)| *number) {
        return;
    }
    if let Some((_, is_wanted)) = running.take() {
        is_wanted.store(false, Ordering::Relaxed);
    }
    let Some(wanted) = wanted else { return };
    let is_wanted = Arc::new(AtomicBool::new(true));
    *running = Some((wanted.number, Arc::clone(&is_wanted)));
    let (number, question) = (wanted.number, Arc::clone(&wanted.question));
    let work = move || answer(number, &question, &is_wanted, &teller);
    // A system that has no thread left lets the player wait.
    if thread::Builder::new().name("pegwise-tune".to_owned()).spawn(work.clone()).is_err() {
        work();
    }
}

fn work_out(number: u64, question: &TuneQuestion, is_wanted: &AtomicBool, teller: &Teller) {
    let answer = question.answer(&|| !is_wanted.load(Ordering::Relaxed));
    if is_wanted.load(Ordering::Relaxed) {
        teller.tell(TuneTold::Worked(number, Box::new(answer)));
    }
}

fn try_all(number: u64, question: &TrialQuestion, is_wanted: &AtomicBool, teller: &Teller) {
    let threads = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let mut tell = |fit| teller.tell(TuneTold::Fit(number, Box::new(fit)));
    let result = question.answer(threads, &|| !is_wanted.load(Ordering::Relaxed), &mut tell);
    if is_wanted.load(Ordering::Relaxed) {
        teller.tell(TuneTold::Tried(number, result));
    }
}
