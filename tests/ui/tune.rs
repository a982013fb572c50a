//! A tune by taps: opened in its song, played, stepped through, changed and taken back.

use std::rc::Rc;
use std::time::Duration;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::{Action, App, EnterAction, Screen, SongsAction, Tab, TuneAction};
use pegwise::songs::SongId;
use slint::ComponentHandle;
use slint::platform::PointerEventButton;

use crate::bench_window::{act, controls, find, open, tap};
use crate::tree::pieces;

/// The invented song that has a tune, opened at its tab.
fn opened(width: f32, height: f32) -> Rc<App> {
    let app = open(width, height);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    act(&app, [Action::Songs(SongsAction::Open(SongId(2)))]);
    act(&app, [Action::Tune(TuneAction::Open)]);
    work(&app);
    app
}

/// Takes the place of the thread that no test has.
fn work(app: &App) {
    act(app, [Action::Tune(TuneAction::WorkNow)]);
    mock_elapsed_time(Duration::from_millis(5));
}

#[test]
fn a_tune_is_opened_played_stepped_changed_and_taken_back() {
    let app = opened(360.0, 640.0);
    assert_eq!(app.with(|state| state.screen()), Screen::Tune);
    assert!(find(&app, "Bar 0, beat 4").is_some(), "the pickup is the first bar");

    // A finger on a bar looks at the note nearest to it.
    let bar = find(&app, "Bar 1, beat 1").expect("the first whole bar is in sight");
    bar.mock_single_click(PointerEventButton::Left);
    mock_elapsed_time(Duration::from_millis(5));
    let place = app.with(|state| state.tune.selected);
    assert!(place > pegwise::tune::Quarters::ZERO, "{place}");

    // Played, the place follows the clock.
    tap(&app, "Play at 100 %");
    assert!(app.with(|state| state.tune.hearing.playing.is_some()));
    for _ in 0..120 {
        mock_elapsed_time(Duration::from_millis(50));
    }
    let later = app.with(|state| state.tune.selected);
    assert!(later > place, "after six seconds it is at {later}");
    tap(&app, "Stop playing");
    assert!(app.with(|state| state.tune.hearing.playing.is_none()));

    // Step by step.
    tap(&app, "Step by step");
    assert_eq!(app.with(|state| state.screen()), Screen::TuneSteps);
    tap(&app, "Next note");
    let stepped = app.with(|state| state.tune.selected);
    assert!(stepped > later);
    tap(&app, "One note back");
    tap(&app, "Back");

    // Another bass, found around, and taken back.
    tap(&app, "Change bar");
    assert_eq!(app.with(|state| state.screen()), Screen::TuneMoment);
    tap(&app, "The thumb plays nothing");
    work(&app);
    let decided =
        |app: &App| app.with(|state| state.library.find_song(SongId(2)).unwrap().tune.as_ref().unwrap().pins(6).len());
    assert_eq!(decided(&app), 1);
    tap(&app, "Undo");
    work(&app);
    assert_eq!(decided(&app), 0);
}

#[test]
fn a_tune_is_typed_in_and_another_is_tapped_on_the_neck() {
    let app = open(360.0, 1600.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    act(&app, [Action::Songs(SongsAction::Open(SongId(3)))]);
    act(&app, [Action::Tune(TuneAction::Open)]);
    tap(&app, "Put a tune in");
    crate::bench_window::type_into(&app, "Text of the tune", "X:1\nT:Tar Barrel\nM:4/4\nL:1/4\nK:G\nGABd|\n");
    tap(&app, "Read it");
    tap(&app, "Take tune 1");
    work(&app);
    let notes = |app: &App| {
        app.with(|state| {
            let tune = state.library.find_song(SongId(3)).unwrap().tune.clone().unwrap().read().unwrap();
            tune.notes().filter_map(|note| note.pitch).map(|pitch| pitch.pitch().number()).collect::<Vec<_>>()
        })
    };
    // G4 A4 B4 D5 (scientific pitch notation, C4 = 60).
    assert_eq!(notes(&app), [67, 69, 71, 74]);
    assert_eq!(app.with(|state| state.screen()), Screen::Tune);

    tap(&app, "How it is played and heard");
    tap(&app, "Put in another tune");
    tap(&app, "Note by note on the neck");
    tap(&app, "String 1 open");
    tap(&app, "Length 1/2");
    tap(&app, "String 1, fret 2");
    tap(&app, "These notes are the tune");
    work(&app);
    // What sounds: the open string over the capo.
    let open_first = app.with(|state| {
        let song = state.library.find_song(SongId(3)).unwrap();
        song.tuning.pitches.pitches().last().unwrap().number() + song.capo.get()
    });
    assert_eq!(notes(&app), [open_first, open_first + 2]);
}

/// A tune of 400 bars as played is drawn in pieces near the window: the renderer places nothing beyond 32,767 points.
#[test]
fn a_long_tune_draws_only_what_is_in_sight() {
    let app = opened(320.0, 568.0);
    let bars = "GABd gdBG|".repeat(40);
    let text = format!("X:1\nM:4/4\nL:1/8\nK:G\n{}", format!("|:{bars}:|\n").repeat(5));
    act(&app, [Action::Open(Screen::TuneEntry)]);
    act(
        &app,
        [EnterAction::Typed(text), EnterAction::Read, EnterAction::Take(0)]
            .map(|enter| Action::Tune(TuneAction::Enter(enter))),
    );
    work(&app);
    let shown =
        || pieces(&app).into_iter().filter(|piece| piece.kind == "TabBarView" || piece.name().contains("\"Bar "));
    assert!((1..20).contains(&shown().count()), "{} bars are there", shown().count());
    act(&app, [Action::Tune(TuneAction::MoveBy(i16::MAX))]);
    mock_elapsed_time(Duration::from_secs(2));
    assert!(
        find(&app, "Bar 200").is_some(),
        "{:?}",
        controls(&app).iter().filter_map(|c| c.accessible_label()).collect::<Vec<_>>()
    );
    for piece in shown() {
        assert!(piece.place.top.abs() < 2_000.0, "{} lies at {}", piece.name(), piece.place.top);
    }
    assert!(app.window().window().take_snapshot().is_ok());
}
