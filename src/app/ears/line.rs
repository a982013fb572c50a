//! The line between the window's thread and the worker's.
//!
//! The thread sleeps until something is asked, works while the worker has something to do, and sleeps again. It is
//! started with the first thing asked and ends with the app.

use std::fmt;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use crate::app::State;
use crate::platform::SoundDevice;

use super::listening::MicUse;
use super::worker::{Ask, Told, Worker};

/// How long the worker waits between two looks at the device.
const PAUSE: Duration = Duration::from_millis(10);

/// Tells the window's thread that something is waiting; called on the worker's thread.
type Ring = Arc<dyn Fn() + Send + Sync>;

/// What the worker has told and nobody has heard yet. Of what is heard only the newest is kept.
#[derive(Debug, Default)]
struct Inbox(Mutex<Vec<Told>>);

impl Inbox {
    /// Adds what was told; returns whether it was empty before.
    fn put(&self, told: Vec<Told>) -> bool {
        let mut waiting = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let was_empty = waiting.is_empty();
        for told in told {
            match (waiting.last_mut(), told) {
                (Some(Told::Hearing(old)), Told::Hearing(new)) if old.watch == new.watch => *old = new,
                (_, told) => waiting.push(told),
            }
        }
        was_empty && !waiting.is_empty()
    }

    fn take(&self) -> Vec<Told> {
        std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// The window's end of the line.
pub(in crate::app) struct EarsLine {
    device: Option<Box<dyn SoundDevice>>,
    asks: Option<Sender<Ask>>,
    /// The worker, on a system that has no thread to give it: it works on the window's.
    here: Option<Worker>,
    inbox: Arc<Inbox>,
    ring: Ring,
    mic: Option<MicUse>,
    score: Option<u64>,
}

impl fmt::Debug for EarsLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("EarsLine").field("mic", &self.mic).field("score", &self.score).finish_non_exhaustive()
    }
}

impl EarsLine {
    /// How long the worker waits between two looks at the device.
    pub(in crate::app) const PAUSE: Duration = PAUSE;

    /// Makes a line to a device; no thread runs yet. `ring` is called on another thread when there is news.
    pub(in crate::app) fn new(device: Box<dyn SoundDevice>, ring: Ring) -> Self {
        Self { device: Some(device), asks: None, here: None, inbox: Arc::default(), ring, mic: None, score: None }
    }

    /// Lets the worker do what the state wants.
    pub(in crate::app) fn follow(&mut self, state: &State) {
        let score = state.ears.score();
        if score.map(|score| score.number) != self.score {
            self.score = score.map(|score| score.number);
            self.ask(score.map_or(Ask::Hush, |score| Ask::Play(score.number, Arc::clone(&score.strikes))));
        }
        // After the score: a count-in is not hushed with what sounded before.
        let mic = state.ears.mic_use();
        if mic != self.mic {
            self.mic = mic;
            self.ask(state.ears.mic_ask());
        }
    }

    /// Returns what the worker has told since the last time.
    pub(in crate::app) fn news(&self) -> Vec<Told> {
        self.inbox.take()
    }

    /// Returns whether [`EarsLine::step_here`] is to be called again and again.
    pub(in crate::app) fn is_busy_here(&self) -> bool {
        self.here.as_ref().is_some_and(|worker| !worker.is_idle())
    }

    /// Goes on with the work on this thread after so much time.
    pub(in crate::app) fn step_here(&mut self, passed: Duration) {
        let Some(worker) = &mut self.here else { return };
        let mut told = Vec::new();
        worker.step(passed, &mut told);
        self.tell(told);
    }

    fn tell(&self, told: Vec<Told>) {
        if !told.is_empty() && self.inbox.put(told) {
            (self.ring)();
        }
    }

    fn ask(&mut self, ask: Ask) {
        if let Some(device) = self.device.take() {
            let (asks, asked) = channel();
            let (inbox, ring) = (Arc::clone(&self.inbox), Arc::clone(&self.ring));
            let device = Arc::new(Mutex::new(Some(device)));
            let take = |device: &Mutex<Option<_>>| device.lock().unwrap_or_else(PoisonError::into_inner).take();
            let its_own = Arc::clone(&device);
            let started = thread::Builder::new().name("pegwise-ears".to_owned()).spawn(move || {
                if let Some(device) = take(&its_own) {
                    work(Worker::new(device), &asked, &inbox, &*ring);
                }
            });
            if started.is_ok() {
                self.asks = Some(asks);
            } else {
                self.here = take(&device).map(Worker::new);
            }
        }
        if let Some(worker) = &mut self.here {
            let mut told = Vec::new();
            worker.ask(ask, &mut told);
            self.tell(told);
            return;
        }
        if let Some(asks) = &self.asks {
            // The other end outlives this one but for a panic there; then nothing is heard any more.
            let _ = asks.send(ask);
        }
    }
}

fn work(mut worker: Worker, asked: &Receiver<Ask>, inbox: &Inbox, ring: &(dyn Fn() + Send + Sync)) {
    let mut told = Vec::new();
    let mut last = Instant::now();
    loop {
        let was_idle = worker.is_idle();
        let ask =
            if was_idle { asked.recv().map_err(|_| RecvTimeoutError::Disconnected) } else { asked.recv_timeout(PAUSE) };
        if was_idle {
            last = Instant::now();
        }
        match ask {
            Ok(ask) => worker.ask(ask, &mut told),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
        let now = Instant::now();
        if !worker.is_idle() {
            worker.step(now - last, &mut told);
        }
        last = now;
        if !told.is_empty() && inbox.put(std::mem::take(&mut told)) {
            ring();
        }
    }
}
