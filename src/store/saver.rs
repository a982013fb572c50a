//! The one saver: a thread that writes the library to disk, newest state last, so that no frame waits for a disk.

use std::collections::VecDeque;
use std::fmt;
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::file::{LibraryFile, SaveError};
use super::library::Library;

/// After a failure the saver tries again by itself: first so soon, then twice as late each time.
const FIRST_RETRY: Duration = Duration::from_secs(2);
/// But never later than this.
const LAST_RETRY: Duration = Duration::from_secs(30);

/// Tells whoever listens that something has changed; called on the saver's thread.
type Ring = Arc<dyn Fn() + Send + Sync>;
/// Work on the file besides saving, done in its turn.
type Errand = Box<dyn FnOnce(&mut LibraryFile) + Send>;

/// How things stand with what was handed over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Whether everything that was handed over is on disk.
    pub is_all_saved: bool,
    /// Why the last save failed; none once one has come through.
    pub fault: Option<SaveError>,
    /// Files that were set aside since this was last asked, because they lay in the way.
    pub set_aside: Vec<PathBuf>,
}

#[derive(Default)]
struct Desk {
    /// The newest library that was handed over, until it is on disk.
    waiting: Option<Arc<Library>>,
    /// How often a library was handed over.
    handed: u64,
    /// Which of these is on disk.
    saved: u64,
    /// Which of these was tried last.
    tried: u64,
    keeps_version: bool,
    /// Somebody waits: what failed is tried again at once.
    is_urgent: bool,
    errands: VecDeque<Errand>,
    fault: Option<SaveError>,
    set_aside: Vec<PathBuf>,
    is_closing: bool,
    /// The thread has ended.
    is_gone: bool,
}

/// A disk that does not answer holds the end of the program no longer than this.
const LONGEST_END: Duration = Duration::from_secs(10);

struct Office {
    desk: Mutex<Desk>,
    /// Something was handed over.
    handed: Condvar,
    /// Something was done.
    done: Condvar,
}

impl Office {
    fn desk(&self) -> MutexGuard<'_, Desk> {
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Saves a library beside the window's thread. Of several states handed over while one is being saved only the newest is
/// saved next: each is the whole library.
pub struct Saver {
    office: Arc<Office>,
    /// Where no thread could be had, the file itself: then every save is waited for.
    without_thread: Option<Mutex<LibraryFile>>,
}

impl fmt::Debug for Saver {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Saver").finish_non_exhaustive()
    }
}

impl Saver {
    /// Starts the thread. `ring` is called on it whenever [`Saver::standing`] has changed.
    #[must_use]
    pub fn new(file: LibraryFile, ring: Ring) -> Self {
        let office = Arc::new(Office { desk: Mutex::default(), handed: Condvar::new(), done: Condvar::new() });
        let desk = Arc::new(Mutex::new(Some(file)));
        let (at_work, its_file) = (Arc::clone(&office), Arc::clone(&desk));
        let take = |file: &Mutex<Option<LibraryFile>>| file.lock().unwrap_or_else(PoisonError::into_inner).take();
        let work = move || {
            if let Some(file) = take(&its_file) {
                work(&at_work, file, &*ring);
            }
            at_work.desk().is_gone = true;
            at_work.done.notify_all();
        };
        let has_thread = thread::Builder::new().name("pegwise-saver".to_owned()).spawn(work).is_ok();
        let without_thread = if has_thread { None } else { take(&desk).map(Mutex::new) };
        if !has_thread {
            office.desk().is_gone = true;
        }
        Self { office, without_thread }
    }

    /// Makes a saver for a system that has no thread to give: every call does its work before it returns.
    #[must_use]
    pub fn without_thread(file: LibraryFile) -> Self {
        let desk = Desk { is_gone: true, ..Desk::default() };
        let office = Office { desk: Mutex::new(desk), handed: Condvar::new(), done: Condvar::new() };
        Self { office: Arc::new(office), without_thread: Some(Mutex::new(file)) }
    }

    /// Hands a library over to be saved. Returns at once.
    pub fn keep(&self, library: Arc<Library>) {
        let mut desk = self.office.desk();
        desk.waiting = Some(library);
        desk.handed += 1;
        drop(desk);
        self.see_to_it();
    }

    /// Lets the next save keep what stands on disk as a version of its own.
    pub fn keep_version(&self) {
        self.office.desk().keeps_version = true;
    }

    /// Does something with the file in its turn: after what was handed over before.
    pub fn ask(&self, errand: impl FnOnce(&mut LibraryFile) + Send + 'static) {
        self.office.desk().errands.push_back(Box::new(errand));
        self.see_to_it();
    }

    /// Returns how things stand.
    #[must_use]
    pub fn standing(&self) -> Standing {
        // With a thread, the file is the thread's, and its disk tells at once.
        let late = self.without_thread.as_ref().and_then(|file| lock(file).late_fault());
        let mut desk = self.office.desk();
        Standing {
            is_all_saved: desk.saved == desk.handed && late.is_none(),
            fault: desk.fault.clone().or(late),
            set_aside: std::mem::take(&mut desk.set_aside),
        }
    }

    /// Waits until what was handed over is on disk, but no longer than `most`; what failed is tried once more at once.
    /// Returns whether all is on disk.
    pub fn flush(&self, most: Duration) -> bool {
        if self.without_thread.is_some() {
            self.see_to_it();
            let desk = self.office.desk();
            return desk.saved == desk.handed;
        }
        let end = Instant::now() + most;
        let mut desk = self.office.desk();
        if desk.saved == desk.handed {
            return true;
        }
        desk.is_urgent = true;
        // What was tried before this counts no more.
        desk.tried = desk.saved;
        self.office.handed.notify_all();
        while desk.tried < desk.handed {
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                break;
            }
            desk = self.office.done.wait_timeout(desk, left).unwrap_or_else(PoisonError::into_inner).0;
        }
        desk.saved == desk.handed
    }

    fn see_to_it(&self) {
        self.office.handed.notify_all();
        if let Some(file) = &self.without_thread {
            let mut file = lock(file);
            while turn(&self.office, &mut file) == Turn::Done {}
        }
    }
}

impl Drop for Saver {
    /// Waits for the thread, which ends once it has tried what was handed over.
    fn drop(&mut self) {
        if self.without_thread.is_some() {
            return;
        }
        let end = Instant::now() + LONGEST_END;
        let mut desk = self.office.desk();
        desk.is_closing = true;
        desk.is_urgent = true;
        self.office.handed.notify_all();
        while !desk.is_gone {
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                break;
            }
            desk = self.office.done.wait_timeout(desk, left).unwrap_or_else(PoisonError::into_inner).0;
        }
    }
}

fn lock(file: &Mutex<LibraryFile>) -> MutexGuard<'_, LibraryFile> {
    file.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What came of looking at the desk.
#[derive(PartialEq)]
enum Turn {
    Done,
    Failed,
    NothingToDo,
}

/// Does the next thing on the desk: what waits to be saved, then errands.
fn turn(office: &Office, file: &mut LibraryFile) -> Turn {
    let mut desk = office.desk();
    let Some(library) = desk.waiting.take() else {
        let Some(errand) = desk.errands.pop_front() else { return Turn::NothingToDo };
        drop(desk);
        errand(file);
        return Turn::Done;
    };
    let number = desk.handed;
    if std::mem::take(&mut desk.keeps_version) {
        file.keep_next();
    }
    desk.is_urgent = false;
    drop(desk);
    let saved = file.save(&library);
    let mut desk = office.desk();
    desk.tried = desk.tried.max(number);
    let turn = match saved {
        Ok(saved) => {
            desk.saved = number;
            desk.fault = None;
            desk.set_aside.extend(saved.set_aside);
            Turn::Done
        }
        Err(fault) => {
            desk.fault = Some(fault);
            // Unless a newer one came meanwhile, this one still waits.
            if desk.waiting.is_none() {
                desk.waiting = Some(library);
            }
            Turn::Failed
        }
    };
    drop(desk);
    office.done.notify_all();
    turn
}

fn work(office: &Office, mut file: LibraryFile, ring: &dyn Fn()) {
    let mut retry = FIRST_RETRY;
    loop {
        match turn(office, &mut file) {
            Turn::Done => {
                retry = FIRST_RETRY;
                ring();
            }
            Turn::Failed => {
                ring();
                let mut desk = office.desk();
                let (end, failed) = (Instant::now() + retry, desk.handed);
                retry = (retry * 2).min(LAST_RETRY);
                // A newer state, somebody who waits, or time: then it is tried again.
                loop {
                    let left = end.saturating_duration_since(Instant::now());
                    if desk.is_closing && !desk.is_urgent {
                        return;
                    }
                    if desk.handed != failed || desk.is_urgent || left.is_zero() {
                        break;
                    }
                    // Errands need not wait for a disk that is full.
                    if let Some(errand) = desk.errands.pop_front() {
                        drop(desk);
                        errand(&mut file);
                        desk = office.desk();
                        continue;
                    }
                    desk = office.handed.wait_timeout(desk, left).unwrap_or_else(PoisonError::into_inner).0;
                }
            }
            Turn::NothingToDo => {
                let desk = office.desk();
                if desk.is_closing {
                    return;
                }
                if desk.waiting.is_none() && desk.errands.is_empty() {
                    drop(office.handed.wait(desk).unwrap_or_else(PoisonError::into_inner));
                }
            }
        }
    }
}
