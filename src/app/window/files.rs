//! The ways of files out of the app and in: which file the player chooses, then reading or writing it beside the window.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use slint::ComponentHandle;

use crate::app::exchange::{CameIn, ExchangeAction};
use crate::app::files::{FileFor, FilesAction};
use crate::app::hand_out::HandOutAction;
use crate::app::kept::KeptAction;
use crate::app::{Action, ui};
use crate::platform::{Pick, Picked, ShareFault};
use crate::store::{EXPORTS, SetAside, read_file, write_out_with, write_whole};

use super::App;

/// What is done on the window's thread once another has an answer.
pub(super) type Answer = Box<dyn FnOnce(&App) + Send>;

/// Writes what goes out, piece by piece.
type Writes = Box<dyn FnOnce(&mut dyn Write) -> io::Result<()> + Send>;

/// The share that is read is told whenever it has grown by so much.
const TOLD_EVERY: f64 = 0.02;

/// A pasted text of more bytes is read beside the window.
const MOST_READ_AT_ONCE: usize = 100_000;

impl App {
    pub(super) fn attach_files(self: &Rc<Self>) {
        let to = self.window().global::<ui::FilesState<'_>>();
        to.on_file_wanted(self.once(|app| app.choose(FileFor::Import)));
        to.on_typed(self.types(|path| Action::Files(FilesAction::Typed(path))));
        to.on_accepted(self.once(Self::take_typed_path));
        to.on_stopped(self.does(|| Action::Exchange(ExchangeAction::Stop)));
    }

    /// Returns a handler that acts once the tap is over.
    pub(super) fn once(self: &Rc<Self>, act: impl Fn(&Self) + Copy + 'static) -> impl Fn() + 'static {
        let app = Rc::downgrade(self);
        move || {
            let app = app.clone();
            slint::Timer::single_shot(std::time::Duration::ZERO, move || {
                if let Some(app) = app.upgrade() {
                    act(&app);
                }
            });
        }
    }

    /// Lets the player choose a file, and goes on with it.
    pub(super) fn choose(&self, what: FileFor) {
        let name = if what == FileFor::Import { Some(String::new()) } else { self.name_of(&what) };
        let Some(name) = name else { return };
        if self.machine().shares() && what != FileFor::Import {
            self.share(&what, &name);
            return;
        }
        let folder = self.out_folder();
        let pick = match what {
            FileFor::Import => Pick::Open { folder },
            _ => Pick::Save { name, folder },
        };
        let (answers, ring) = self.post();
        self.machine().pick(
            pick,
            Box::new(move |picked| {
                let answer: Answer = Box::new(move |app| app.picked(what, picked));
                answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
                ring();
            }),
        );
    }

    fn picked(&self, what: FileFor, picked: Picked) {
        match picked {
            Picked::File(path) if what == FileFor::Import => self.read_file(path),
            Picked::File(path) => self.write_file(what, path, true),
            Picked::Read(read) => {
                self.act(Action::Exchange(ExchangeAction::Typed(String::new())));
                self.read_beside(move || read.map_err(io::Error::other));
            }
            Picked::Closed => {}
            Picked::NoPicker => {
                let folder = self.out_folder().unwrap_or_default();
                let path = match self.name_of(&what) {
                    Some(name) => folder.join(name),
                    // The folder alone, to be gone on from.
                    None => folder.join(""),
                };
                self.act(Action::Files(FilesAction::Ask(what, path.display().to_string())));
            }
        }
    }

    fn take_typed_path(&self) {
        let Some(typed) = self.with(|state| state.typed_path.clone()) else { return };
        let home = std::env::home_dir();
        let path = match (typed.path.trim().strip_prefix("~/"), home) {
            (Some(rest), Some(home)) => home.join(rest),
            _ => PathBuf::from(typed.path.trim()),
        };
        // Where the app was started from is nobody's idea of a place.
        let path = self.out_folder().map_or_else(|| path.clone(), |folder| folder.join(&path));
        self.act(Action::Files(FilesAction::Done));
        if typed.what == FileFor::Import {
            self.read_file(path);
        } else {
            self.write_file(typed.what, path, false);
        }
    }

    /// Returns the folder that files go into.
    pub(super) fn out_folder(&self) -> Option<PathBuf> {
        let own = || self.folder().map(|folder| folder.join(EXPORTS));
        self.machine().documents_folder().or_else(own)
    }

    /// Returns what the file would be called, with its ending; `None` where there is nothing to write.
    fn name_of(&self, what: &FileFor) -> Option<String> {
        self.with(|state| match what {
            FileFor::Import => None,
            FileFor::Export => state.exchange.out.as_ref().map(|out| format!("{}.{}", out.name, out.ending)),
            FileFor::Sheet => state.hand_out.file_name(),
            FileFor::Version(name) => Some(format!("{}.json", name.trim_end_matches(".json").replace('.', "-"))),
            FileFor::Part(_) => Some("not-understood.json".to_owned()),
        })
    }

    /// Returns what writes it; `None` where it lies beside the library.
    fn content_of(&self, what: &FileFor) -> Option<Writes> {
        self.with(|state| match what {
            FileFor::Import | FileFor::Version(_) => None,
            FileFor::Export => {
                let out = state.exchange.out.clone()?;
                let library = out.is_whole.then(|| state.library.clone());
                Some(Box::new(move |to: &mut dyn Write| match library {
                    Some(library) => library.export_to(to),
                    None => to.write_all(out.text.as_bytes()),
                }) as Writes)
            }
            FileFor::Sheet => {
                let sheet = state.hand_out.clone();
                Some(Box::new(move |to: &mut dyn Write| sheet.write_to(to)) as Writes)
            }
            FileFor::Part(index) => {
                let bytes = state.library.set_aside().get(*index).map(SetAside::as_file)?;
                Some(Box::new(move |to: &mut dyn Write| to.write_all(&bytes)) as Writes)
            }
        })
    }

    /// Hands a file to the system, which asks who gets it.
    fn share(&self, what: &FileFor, name: &str) {
        let media_type = match name.rsplit_once('.').map_or("", |(_, ending)| ending) {
            "json" => "application/json",
            "txt" => "text/plain",
            _ => self.with(|state| state.hand_out.format.media_type()),
        };
        let fail = |fault: io::Error| fault.to_string();
        let mut bytes = Vec::new();
        let written = match (what, self.content_of(what)) {
            (_, Some(writes)) => writes(&mut bytes).map_err(fail),
            // The file itself is the saver's; its folder is ours.
            (FileFor::Version(file), None) => self.read_kept(file).map(|read| bytes = read).map_err(fail),
            _ => return,
        };
        if let Err(fault) = written {
            self.act(told(what, Err(fault)));
            return;
        }
        let what = what.clone();
        let (answers, ring) = self.post();
        let answer = move |shared: Result<Option<String>, ShareFault>| {
            let answer: Answer = Box::new(move |app| {
                // Nothing to tell where the player thought better of it.
                if let Some(shared) = shared.transpose() {
                    app.act(told(&what, shared.map_err(|fault| fault.to_string())));
                }
            });
            answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
            ring();
        };
        self.machine().share(name, media_type, &bytes, Box::new(answer));
    }

    /// Writes a file on the saver's thread, which is waited for when the app is closed; where there is none, at once. One that
    /// is there is replaced only by the player's word.
    fn write_file(&self, what: FileFor, path: PathBuf, replaces: bool) {
        let done = |written: io::Result<PathBuf>| {
            written.map(|path| path.display().to_string()).map_err(|fault| fault.to_string())
        };
        if let FileFor::Version(name) = what {
            self.ask(move |file| {
                let bytes = file.read_version(&name);
                let written = bytes.and_then(|bytes| write_at(&path, replaces, |to| to.write_all(&bytes)));
                told(&FileFor::Version(name), done(written))
            });
            return;
        }
        let Some(writes) = self.content_of(&what) else { return };
        let work = move || told(&what, done(write_at(&path, replaces, writes)));
        if self.has_saver() {
            self.ask(move |_| work());
        } else {
            self.act(work());
        }
    }

    /// Reads a file that is to be taken in.
    fn read_file(&self, path: PathBuf) {
        self.act(Action::Exchange(ExchangeAction::Typed(String::new())));
        self.read_beside(move || read_file(&path));
    }

    /// Reads what was pasted: what is short at once.
    pub(super) fn read_pasted(&self) {
        let text = self.with(|state| state.exchange.pasted.clone());
        if text.len() > MOST_READ_AT_ONCE {
            self.read_beside(move || Ok(text.into_bytes()));
        } else {
            self.act(Action::Exchange(ExchangeAction::Read));
        }
    }

    /// Reads and compares on a thread of its own, and tells how far it has come, until it is told to stop.
    fn read_beside(&self, bytes: impl FnOnce() -> io::Result<Vec<u8>> + Send + 'static) {
        self.act(Action::Exchange(ExchangeAction::Begin));
        let is_wanted = Arc::new(AtomicBool::new(true));
        self.reading.replace(Some(Arc::clone(&is_wanted)));
        let here = self.with(|state| state.library.clone());
        let (answers, ring) = self.post();
        let tell = move |action: ExchangeAction, is_wanted: &Arc<AtomicBool>| {
            let is_wanted = Arc::clone(is_wanted);
            let answer: Answer = Box::new(move |app| {
                if is_wanted.load(Ordering::Relaxed) {
                    app.act(Action::Exchange(action));
                }
            });
            answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
            ring();
        };
        let work = move || {
            let mut shown = 0.0;
            let read = CameIn::read(bytes(), &here, &mut |share| {
                if share - shown >= TOLD_EVERY {
                    shown = share;
                    tell(ExchangeAction::Share(share), &is_wanted);
                }
                is_wanted.load(Ordering::Relaxed)
            });
            match read {
                Ok(Some(came)) => tell(ExchangeAction::CameIn(Box::new(came)), &is_wanted),
                Ok(None) => {}
                Err(fault) => tell(ExchangeAction::Unread(fault), &is_wanted),
            }
        };
        beside("pegwise-import", work);
    }

    /// Takes in what came from outside the app: a file that was dropped on it, a text that was pasted.
    pub fn take_in(&self, bytes: Vec<u8>) {
        self.act(Action::Open(crate::app::Screen::Exchange));
        self.picked(FileFor::Import, Picked::Read(Ok(bytes)));
    }

    /// Lets the thread that reads end where the state wants it no more.
    pub(super) fn follow_reading(&self) {
        if self.with(|state| state.exchange.reading.is_none())
            && let Some(is_wanted) = self.reading.take()
        {
            is_wanted.store(false, Ordering::Relaxed);
        }
    }
}

/// Does something on a thread of its own; on a system that has none to give, at once.
pub(super) fn beside(name: &str, work: impl FnOnce() + Send + 'static) {
    let work = Arc::new(Mutex::new(Some(work)));
    let take = |work: &Mutex<Option<_>>| work.lock().unwrap_or_else(PoisonError::into_inner).take();
    let its_own = Arc::clone(&work);
    let do_it = move || {
        if let Some(work) = take(&its_own) {
            work();
        }
    };
    if thread::Builder::new().name(name.to_owned()).spawn(do_it).is_err()
        && let Some(work) = take(&work)
    {
        work();
    }
}

/// What the screen that asked is told.
fn told(what: &FileFor, written: Result<String, String>) -> Action {
    match what {
        FileFor::Import | FileFor::Export => Action::Exchange(ExchangeAction::Written(written)),
        FileFor::Sheet => Action::HandOut(HandOutAction::Went(written)),
        FileFor::Version(_) | FileFor::Part(_) => Action::Kept(KeptAction::Told(written)),
    }
}

/// Writes whole or not at all: over what is there, or under the first free name.
fn write_at(path: &Path, replaces: bool, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<PathBuf> {
    if replaces {
        return write_whole(path, write).map(|()| path.to_owned());
    }
    let part = |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned());
    let name = part(path.file_stem()).ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
    let ending = part(path.extension()).unwrap_or_else(|| "txt".to_owned());
    write_out_with(path.parent().unwrap_or(Path::new("")), &name, &ending, write)
}
