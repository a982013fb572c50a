//! A tune by taps: opened in its song, played, stepped through, changed and taken back.

use std::rc::Rc;
use std::time::Duration;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::{Action, App, EnterAction, PluckPhase, Screen, SongsAction, State, Tab, TuneAction};
use pegwise::platform::Fake;
use pegwise::songs::SongId;
use pegwise::sound::{SampleRate, Strike, Tone, render};
use pegwise::store::Library;
use pegwise::theory::Hertz;
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition};

use crate::bench_window::{act, controls, find, open, open_on, settle, tap, texts, until};
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
    tap(&app, "Back one note");
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
    tap(&app, "Add a tune");
    crate::bench_window::type_into(&app, "Text of the tune", "X:1\nT:Tar Barrel\nM:4/4\nL:1/4\nK:G\nGABd|\n");
    tap(&app, "Check it");
    tap(&app, "Use tune 1");
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

    tap(&app, "Options: how it is played and heard");
    tap(&app, "Replace the tune");
    tap(&app, "Note by note on the neck");
    tap(&app, "String 1 open");
    tap(&app, "Length 1/2");
    tap(&app, "String 1, fret 2");
    tap(&app, "Use these notes");
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

/// A tune plucked into the phone, on the app's own threads: counted in, listened to, mended and taken.
#[test]
fn a_tune_is_plucked_into_the_phone() {
    let machine = Rc::new(Fake::new(None));
    let app = open_on(machine.clone(), State::new(Library::default()), 360.0, 1600.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    act(&app, [Action::Songs(SongsAction::Open(SongId(3))), Action::Tune(TuneAction::Open)]);
    tap(&app, "Add a tune");
    tap(&app, "Play it to the phone");
    assert_eq!(app.with(|state| state.screen()), Screen::TunePluck);
    tap(&app, "Metre 3/4");
    tap(&app, "The shortest notes: 1/8");
    tap(&app, "Count me in");
    // The system's question is told, and a no leads back, saying what still works.
    assert!(said(&app, "The system is asking whether"));
    machine.answer(false);
    settle();
    assert!(said(&app, "Without the microphone"), "{:?}", texts(&app));
    machine.answer(true);
    tap(&app, "Count me in");
    until(&app, "the microphone", |_| machine.sound().is_listening());
    let tempo = app.with(|state| f64::from(state.tune.entry.plucking.tempo));
    // Three beats counted in, then G4 A4 B4 (392.0, 440.0, 493.9 Hz by equal temperament at A4 = 440).
    let notes = [(3.0, 392.0), (4.0, 440.0), (5.0, 493.9)];
    let strike =
        |(beat, hz): (f64, f64)| Strike::new(Hertz::new(hz).unwrap(), Tone::default(), 1).at(beat * 60.0 / tempo);
    machine.sound().feed(&render(SampleRate::COMMON, &notes.map(strike), 7.0 * 60.0 / tempo));
    until(&app, "the bar", |state| state.tune.entry.plucking.at_s > 5.0 * 60.0 / tempo);
    assert!(said(&app, "Listening, bar 2"), "{:?}", texts(&app));
    tap(&app, "Finished");
    until(&app, "the notes", |state| state.tune.entry.plucking.phase == PluckPhase::Written);
    assert!(!machine.sound().is_listening());
    assert!(find(&app, "Bar 1, beat 2: A4").is_some() || find(&app, "Bar 1, beat 2: A").is_some());
    tap(&app, "Bar 1, beat 2");
    tap(&app, "This note a semitone higher");
    tap(&app, "Use these notes");
    work(&app);
    assert_eq!(app.with(|state| state.screen()), Screen::Tune);
    let numbers = app.with(|state| {
        let tune = state.library.find_song(SongId(3)).unwrap().tune.clone().unwrap().read().unwrap();
        tune.notes().filter_map(|note| note.pitch).map(|pitch| pitch.pitch().number()).collect::<Vec<_>>()
    });
    assert_eq!(numbers, [67, 70, 71]);
}

fn said(app: &App, words: &str) -> bool {
    texts(app).iter().any(|text| text.starts_with(words))
}

/// A loop is heard without a gap while the page is scrolled and drawn: what the loudspeaker was given has no silence in it.
#[test]
fn a_loop_goes_on_without_a_gap_while_the_page_scrolls() {
    let machine = Rc::new(Fake::new(None));
    let app = open_on(machine.clone(), State::new(Library::default()), 360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    act(&app, [Action::Songs(SongsAction::Open(SongId(2))), Action::Tune(TuneAction::Open)]);
    work(&app);
    act(&app, [Action::Tune(TuneAction::CountIn), Action::Tune(TuneAction::Loop)]);
    // Sixteen bars, as fast as it goes.
    for _ in 0..15 {
        act(&app, [Action::Tune(TuneAction::LoopToBy(1)), Action::Tune(TuneAction::PercentBy(10))]);
    }
    act(&app, [Action::Tune(TuneAction::LoopToBy(-3))]);
    let (first, last) = app.with(|state| state.tune.hearing.bars);
    assert_eq!(last - first, 15);
    tap(&app, "Play at 150 %");
    until(&app, "the loudspeaker", |_| machine.sound().is_sounding());
    // The window is kept as busy as a finger can keep it, for four seconds of the worker's own time.
    let begun = std::time::Instant::now();
    let mut frames = 0_u32;
    while begun.elapsed() < Duration::from_secs(4) {
        let by = if frames % 40 < 20 { -60.0 } else { 60.0 };
        let position = LogicalPosition::new(180.0, 300.0);
        app.window().window().dispatch_event(WindowEvent::PointerScrolled { position, delta_x: 0.0, delta_y: by });
        mock_elapsed_time(Duration::from_millis(16));
        let _ = app.window().window().take_snapshot();
        frames += 1;
    }
    let played = machine.sound().take_played();
    // The worker hands over ten milliseconds at each of its steps. Once a string sounds, no twentieth of a second is still.
    let from = played.iter().position(|sample| sample.abs() > 0.01).expect("something sounds");
    let stretches = played[from..].chunks_exact(2_400);
    let count = stretches.len();
    let still = stretches.filter(|stretch| stretch.iter().all(|sample| sample.abs() < 1e-4)).count();
    eprintln!("{frames} frames drawn; {count} twentieths of a second sounded, {still} of them still");
    assert!(count > 20, "{count}");
    assert_eq!(still, 0);
}
