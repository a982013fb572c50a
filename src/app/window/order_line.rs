//! The search for a set list's order, on a thread of its own: no frame waits for it.

use std::cell::Cell;
use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering as Seen};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use crate::app::ordering::{OrderTold, Ordering};

/// The share that is done is told whenever it has grown by so much: at most twenty times a search.
const TOLD_EVERY: f64 = 0.05;

/// Tells the window's thread that something is waiting; called on the search's thread.
type Ring = Arc<dyn Fn() + Send + Sync>;

/// The newest news of each search, with the search's number.
type Inbox = Arc<Mutex<Vec<(u64, OrderTold)>>>;

/// The window's end of the line.
pub(super) struct OrderLine {
    /// The search that runs, and whether its answer is still wanted.
    running: Option<(u64, Arc<AtomicBool>)>,
    inbox: Inbox,
    ring: Ring,
}

impl fmt::Debug for OrderLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("OrderLine").field("running", &self.running).finish_non_exhaustive()
    }
}

impl OrderLine {
    /// Makes a line; no thread runs yet. `ring` is called on another thread when there is news.
    pub(super) fn new(ring: Ring) -> Self {
        Self { running: None, inbox: Arc::default(), ring }
    }

    /// Searches what the state wants searched, and nothing else.
    pub(super) fn follow(&mut self, wanted: Option<&Ordering>) {
        if wanted.map(|wanted| wanted.number) == self.running.as_ref().map(|(number, _)| *number) {
            return;
        }
        if let Some((_, is_wanted)) = self.running.take() {
            is_wanted.store(false, Seen::Relaxed);
        }
        let Some(wanted) = wanted else { return };
        let is_wanted = Arc::new(AtomicBool::new(true));
        self.running = Some((wanted.number, Arc::clone(&is_wanted)));
        let (wanted, inbox, ring) = (wanted.clone(), Arc::clone(&self.inbox), Arc::clone(&self.ring));
        let search = move || search(&wanted, &is_wanted, &inbox, &*ring);
        // A system that has no thread left lets the player wait.
        if thread::Builder::new().name("pegwise-order".to_owned()).spawn(search.clone()).is_err() {
            search();
        }
    }

    /// Returns what was told since the last time.
    pub(super) fn news(&self) -> Vec<(u64, OrderTold)> {
        std::mem::take(&mut *self.inbox.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Drop for OrderLine {
    fn drop(&mut self) {
        self.follow(None);
    }
}

fn search(wanted: &Ordering, is_wanted: &AtomicBool, inbox: &Inbox, ring: &dyn Fn()) {
    let tell = |told| {
        let mut waiting = inbox.lock().unwrap_or_else(PoisonError::into_inner);
        waiting.retain(|(number, _)| *number != wanted.number);
        waiting.push((wanted.number, told));
        drop(waiting);
        ring();
    };
    let told = Cell::new(0.0);
    let answer = wanted.question.answer(&|done| {
        if done - told.get() >= TOLD_EVERY {
            told.set(done);
            tell(OrderTold::Done(done));
        }
        is_wanted.load(Seen::Relaxed)
    });
    if let Ok(answer) = answer {
        tell(OrderTold::Answer(Box::new(answer)));
    }
}
