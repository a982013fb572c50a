//! Files out of the app and in, as a player on a desktop chooses them.

use std::path::PathBuf;
use std::rc::Rc;
use std::time::{Duration, Instant};

use pegwise::app::{Action, App, ExchangeAction, HandOutAction, HandedOut, Out, Screen, SongsAction, Tab, TuneAction};
use pegwise::platform::{Fake, Machine, Pick, Picked, ShareFault};
use pegwise::songs::SongId;
use pegwise::store::{Library, demo, read};
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{act, find, set_up, settle, tap, texts, type_into, until};

/// A folder that is gone with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("pegwise-files-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(&self.0)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        std::fs::remove_dir_all(&self.0).ok();
    }
}

/// The app with a folder of its own, in English.
fn open(folder: &Folder) -> (Rc<App>, Rc<Fake>) {
    set_up();
    let machine = Rc::new(Fake::new(Some(folder.file("data"))).with_language("en"));
    let app = App::new(Rc::clone(&machine) as Rc<dyn Machine>).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(412.0, 2_000.0));
    (app, machine)
}

fn saves(app: &App) -> bool {
    app.with(|state| state.exchange.out.as_ref().is_some_and(|out| out.written.is_some()))
}

fn said(app: &App, part: &str) -> bool {
    texts(app).iter().any(|text| text.contains(part))
}

#[test]
fn a_chosen_file_is_taken_in_without_its_text_being_drawn() {
    let folder = Folder::new("in");
    std::fs::write(folder.file("all.json"), demo().export()).unwrap();
    let (app, machine) = open(&folder);
    act(&app, [Action::Open(Screen::Exchange)]);
    machine.choose(Picked::Closed);
    tap(&app, "Open a file");
    app.hear();
    assert_eq!(app.with(|state| (state.exchange.reading, state.typed_path.clone())), (None, None));
    machine.choose(Picked::File(folder.file("all.json")));
    tap(&app, "Open a file");
    until(&app, "the file", |state| state.exchange.incoming.is_some());
    assert_eq!(machine.asked().len(), 2);
    assert!(matches!(machine.asked()[0], Pick::Open { .. }));
    tap(&app, "Import these");
    assert_eq!(app.with(|state| state.library.songs().len()), demo().songs().len());
    app.with(|state| assert_eq!(state.exchange.pasted, ""));
}

#[test]
fn a_file_that_is_none_says_so_and_nothing_is_lost() {
    let folder = Folder::new("none");
    std::fs::write(folder.file("page.pdf"), [0xff, 0xd8, 0x00]).unwrap();
    let (app, machine) = open(&folder);
    act(&app, [Action::Open(Screen::Exchange)]);
    for name in ["page.pdf", "nowhere.json"] {
        machine.choose(Picked::File(folder.file(name)));
        tap(&app, "Open a file");
        app.hear();
        until(&app, name, |state| state.exchange.reading.is_none());
        assert!(said(&app, "This cannot be read"), "{name}: {:?}", texts(&app));
    }
    // A pipe is never waited for.
    #[cfg(unix)]
    {
        assert!(std::process::Command::new("mkfifo").arg(folder.file("pipe")).status().unwrap().success());
        machine.choose(Picked::File(folder.file("pipe")));
        tap(&app, "Open a file");
        app.hear();
        until(&app, "the pipe", |state| state.exchange.fault.is_some() && state.exchange.reading.is_none());
    }
}

/// Where the system asks who gets a file, only what has gone out counts.
#[test]
fn what_the_player_did_not_pass_on_is_no_export() {
    let folder = Folder::new("shared");
    let (app, machine) = open(&folder);
    act(&app, [Action::Songs(SongsAction::Demo), Action::Exchange(ExchangeAction::Today(20_000))]);
    let exported = |app: &App| app.with(|state| state.library.settings.export_reminder.exported_day);
    let share = |shared| {
        act(&app, [Action::Exchange(ExchangeAction::Out(Out::Library))]);
        machine.hand_on(shared);
        tap(&app, "Save to a file");
        app.hear();
        settle();
    };
    share(Ok(None));
    assert_eq!((saves(&app), exported(&app)), (false, None));
    share(Err(ShareFault::Failed("no room".to_owned())));
    assert!(said(&app, "no room"), "{:?}", texts(&app));
    assert_eq!(exported(&app), None);
    share(Ok(Some(String::new())));
    assert_eq!((saves(&app), exported(&app)), (true, Some(20_000)));
}

#[test]
fn where_there_is_no_picker_a_path_is_typed() {
    let folder = Folder::new("typed");
    let (app, machine) = open(&folder);
    act(&app, [Action::Songs(SongsAction::Demo), Action::Exchange(ExchangeAction::Out(Out::Library))]);
    machine.choose(Picked::NoPicker);
    tap(&app, "Save to a file");
    app.hear();
    settle();
    let proposed = find(&app, "Path of the file").unwrap().accessible_value().unwrap();
    assert!(proposed.ends_with("pegwise-library.json"), "{proposed}");
    let to = folder.file("mine.json");
    for name in ["mine.json", "mine-2.json"] {
        act(&app, [Action::Exchange(ExchangeAction::Out(Out::Library))]);
        machine.choose(Picked::NoPicker);
        tap(&app, "Save to a file");
        app.hear();
        settle();
        type_into(&app, "Path of the file", &to.display().to_string());
        tap(&app, "Save it there");
        until(&app, "the save", |state| state.exchange.out.as_ref().is_some_and(|out| out.written.is_some()));
        assert!(said(&app, name), "{:?}", texts(&app));
        let library = read(&std::fs::read(folder.file(name)).unwrap()).unwrap();
        assert_eq!(library.songs().len(), demo().songs().len());
    }
    // It comes in by the same way.
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Exchange)]);
    machine.choose(Picked::NoPicker);
    tap(&app, "Open a file");
    app.hear();
    settle();
    type_into(&app, "Path of the file", &to.display().to_string());
    tap(&app, "Read this file");
    until(&app, "the file", |state| state.exchange.incoming.is_some());
    // On another screen nobody asks for it any more.
    act(&app, [Action::Exchange(ExchangeAction::Forget)]);
    machine.choose(Picked::NoPicker);
    tap(&app, "Open a file");
    app.hear();
    act(&app, [Action::Tab(Tab::More)]);
    app.with(|state| assert_eq!(state.typed_path, None));
}

#[test]
fn what_goes_out_lies_where_it_was_put_whole_or_not_at_all() {
    let folder = Folder::new("out");
    std::fs::write(folder.file("old.json"), "mine before").unwrap();
    let (app, machine) = open(&folder);
    act(&app, [Action::Songs(SongsAction::Demo), Action::Exchange(ExchangeAction::Out(Out::Library))]);
    machine.choose(Picked::File(folder.file("old.json")));
    tap(&app, "Save to a file");
    app.hear();
    until(&app, "the save", |state| state.exchange.out.as_ref().is_some_and(|out| out.written.is_some()));
    let asked = machine.asked();
    assert!(matches!(&asked[0], Pick::Save { name, .. } if name == "pegwise-library.json"), "{asked:?}");
    assert!(read(&std::fs::read(folder.file("old.json")).unwrap()).is_ok(), "the system asked before it is replaced");

    // A folder in its place, and a folder that is a file: one sentence, and nothing half.
    std::fs::create_dir(folder.file("taken")).unwrap();
    for path in [folder.file("taken"), folder.file("old.json").join("under.json")] {
        act(&app, [Action::Exchange(ExchangeAction::Out(Out::Library))]);
        machine.choose(Picked::File(path));
        tap(&app, "Save to a file");
        app.hear();
        until(&app, "the fault", |state| state.exchange.out.as_ref().is_some_and(|out| out.written.is_some()));
        assert!(said(&app, "It could not be saved"), "{:?}", texts(&app));
    }
    assert!(saves(&app));
    assert_eq!(folder.names(), ["data", "old.json", "taken"]);
}

#[test]
fn a_sheet_goes_where_the_player_says() {
    let folder = Folder::new("sheet");
    let (app, machine) = open(&folder);
    act(&app, [Action::Tab(Tab::Shapes), Action::HandOut(HandOutAction::Open(HandedOut::Shape))]);
    machine.choose(Picked::File(folder.file("shape.pdf")));
    tap(&app, "Save");
    app.hear();
    until(&app, "the sheet", |state| state.hand_out.went.is_some());
    assert!(std::fs::read(folder.file("shape.pdf")).unwrap().starts_with(b"%PDF"));
    assert!(matches!(&machine.asked()[0], Pick::Save { name, .. } if name.ends_with(".pdf")));
    assert!(said(&app, "shape.pdf"));
}

#[test]
fn a_tune_goes_out_as_music() {
    let folder = Folder::new("tune-sheet");
    let (app, machine) = open(&folder);
    act(&app, [Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    act(&app, [Action::Songs(SongsAction::Open(SongId(2))), Action::Tune(TuneAction::Open)]);
    act(&app, [Action::Tune(TuneAction::WorkNow)]);
    // So wide that the row of what else can be done need not slide.
    app.window().window().set_size(LogicalSize::new(1400.0, 1600.0));
    settle();
    tap(&app, "Print or share");
    tap(&app, "The music as MusicXML");
    machine.choose(Picked::File(folder.file("tune.musicxml")));
    tap(&app, "Save");
    app.hear();
    until(&app, "the sheet", |state| state.hand_out.went.is_some());
    assert!(matches!(&machine.asked()[0], Pick::Save { name, .. } if name.ends_with(".musicxml")));
    let written = std::fs::read(folder.file("tune.musicxml")).unwrap();
    let read = pegwise::tune::read_tunes(&written).unwrap();
    let shown = app.with(|state| state.tune.worked.as_ref().unwrap().question.played.bars.len());
    assert_eq!(read[0].tune.bars.len(), shown);
    assert!(said(&app, "tune.musicxml"));
    tap(&app, "Back");
    assert_eq!(app.with(|state| state.screen()), Screen::Tune);
}

#[test]
fn fifty_thousand_songs_are_read_beside_the_window_and_can_be_stopped() {
    let folder = Folder::new("many");
    let mut many = Library::default();
    let song = demo().songs()[0].clone();
    for number in 0..50_000 {
        let mut song = song.clone();
        song.title = format!("Song {number}");
        many.add_song(song);
    }
    let mut file = std::fs::File::create(folder.file("many.json")).unwrap();
    many.export_to(&mut file).unwrap();
    drop(many);
    let (app, machine) = open(&folder);
    act(&app, [Action::Open(Screen::Exchange)]);
    // Stopped, nothing of it comes any more.
    machine.choose(Picked::File(folder.file("many.json")));
    tap(&app, "Open a file");
    app.hear();
    settle();
    tap(&app, "Stop reading");
    std::thread::sleep(Duration::from_millis(200));
    app.hear();
    app.with(|state| assert!(state.exchange.reading.is_none() && state.exchange.incoming.is_none()));

    machine.choose(Picked::File(folder.file("many.json")));
    tap(&app, "Open a file");
    let mut shares = Vec::new();
    let mut longest = Duration::ZERO;
    let begun = Instant::now();
    while !app.with(|state| state.exchange.incoming.is_some()) {
        assert!(begun.elapsed() < Duration::from_secs(120));
        std::thread::sleep(Duration::from_millis(2));
        let turn = Instant::now();
        app.hear();
        longest = longest.max(turn.elapsed());
        shares.extend(app.with(|state| state.exchange.reading));
    }
    eprintln!("50,000 songs read and compared in {:?}; the window's longest turn {longest:?}", begun.elapsed());
    shares.dedup();
    assert!(shares.len() > 5, "{shares:?}");
    settle();
    assert!(said(&app, "50000"), "{:?}", texts(&app));
    app.window().window().take_snapshot().unwrap();
    let begun = Instant::now();
    tap(&app, "Import these");
    eprintln!("taken in within {:?}", begun.elapsed());
    assert_eq!(app.with(|state| state.library.songs().len()), 50_000);
}
