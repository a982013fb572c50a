//! Saving as the window does it: closing, a disk that fails, two windows at once.

use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::{Duration, Instant};

use pegwise::app::{Action, App, Notice, Screen, SongEditAction, SongsAction, Tab};
use pegwise::platform::{Fake, Machine, Moment};
use pegwise::store::{Library, read};
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{act, find, set_up, settle, tap, type_into, until};

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("pegwise-kept-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        std::fs::remove_dir_all(&self.0).ok();
    }
}

fn open(folder: &Path) -> (Rc<App>, Rc<Fake>) {
    set_up();
    let machine = Rc::new(Fake::new(Some(folder.to_owned())).with_language("en"));
    let app = App::new(Rc::clone(&machine) as Rc<dyn Machine>).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(412.0, 2_000.0));
    (app, machine)
}

fn on_disk(folder: &Path) -> Library {
    std::fs::read(folder.join("pegwise-library.json")).map(|bytes| read(&bytes).unwrap()).unwrap_or_default()
}

/// Fault 1: what was typed last is on disk once the window is closed, or the phone hides the app.
#[test]
fn closing_while_typing_saves_the_last_letter() {
    for moment in [Moment::Closing, Moment::Hidden, Moment::SaveNow] {
        let folder = Folder::new(&format!("{moment:?}"));
        let (app, machine) = open(&folder.0);
        act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::New)]);
        type_into(&app, "Title", "Slipway Number Nine");
        machine.happen(moment);
        assert_eq!(on_disk(&folder.0).songs()[0].title, "Slipway Number Nine", "{moment:?}");
    }
}

/// Fault 5: what is not on disk stays marked until it is, and the app tries again by itself.
#[test]
fn what_could_not_be_saved_stays_marked_until_it_is() {
    let folder = Folder::new("marked");
    let (app, _) = open(&folder.0);
    // Something lies where the new file is written.
    let in_the_way = folder.0.join("pegwise-library.new.json");
    std::fs::create_dir(&in_the_way).unwrap();
    // What was told before is put away first: notices wait for each other.
    act(&app, [Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    let mark = |app: &App| find(app, "Not saved").is_some();
    let put_away = |app: &App| {
        while app.with(|state| state.notice.is_some()) {
            act(app, [Action::CloseNotice]);
        }
        settle();
    };
    until(&app, "the fault", |state| matches!(state.notice, Some(Notice::SaveFailed(_))));
    put_away(&app);
    assert!(mark(&app), "the mark stays when what was told is put away");
    act(&app, [Action::Songs(SongsAction::New), Action::SongEdit(SongEditAction::Title("Ferry".to_owned()))]);
    assert!(mark(&app));
    tap(&app, "Not saved");
    assert!(app.with(|state| matches!(state.notice, Some(Notice::SaveFailed(_)))), "it says why");
    put_away(&app);
    std::fs::remove_dir(&in_the_way).unwrap();
    let begun = Instant::now();
    while mark(&app) {
        assert!(begun.elapsed() < Duration::from_secs(60), "it is not tried again");
        std::thread::sleep(Duration::from_millis(50));
        app.hear();
        settle();
    }
    assert_eq!(on_disk(&folder.0).songs().len(), 10);
    app.save();
    assert_eq!(on_disk(&folder.0).songs().len(), 11);
}

/// Fault 14: what another window wrote can be looked into from the app.
#[test]
fn what_another_window_wrote_is_opened_from_the_app() {
    let folder = Folder::new("two");
    let (one, _) = open(&folder.0);
    let (other, _) = open(&folder.0);
    act(&one, [Action::Songs(SongsAction::Demo)]);
    one.save();
    act(&other, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::New)]);
    type_into(&other, "Title", "Written elsewhere");
    other.save();
    assert_eq!(on_disk(&folder.0).songs().len(), 1, "the last one that saved stands");
    act(&other, [Action::CloseNotice, Action::Open(Screen::Kept)]);
    until(&other, "the list", |state| state.beside.versions.is_some());
    tap(&other, "See what is in number 1");
    until(&other, "the other's library", |state| state.exchange.incoming.is_some());
    tap(&other, "Import these");
    assert_eq!(other.with(|state| state.library.songs().len()), 11, "nothing of either is lost");
}
