//! Nothing moves under a finger: what stands on the screen stays where it is when something is told, warned of or done.
//!
//! Source: WCAG 2.2, 2.2.1 (time enough: at least 20 s where something can still be done), 4.1.3 (what is told is told to a
//! screen reader too, without the keys being moved there).

use std::time::Duration;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::{
    Action, App, InstrumentAction, Notice, RetuneAction, Screen, ShapesAction, SongsAction, Tab, TuningsAction,
};
use pegwise::instrument::Fret;
use pegwise::store::SaveError;
use pegwise::theory::Naming;
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition};

use crate::bench_window::{act, open, open_with, settle, tap, texts};
use crate::tree::{Place, message, pieces, scroll_to, scrolled};

fn retune_to(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn confirm() -> Action {
    Action::Retune(RetuneAction::Confirm)
}

/// Everything on the page and where it is, but for what is told over it.
fn page(app: &App) -> Vec<(String, Place)> {
    settle();
    let mut page: Vec<_> =
        pieces(app).into_iter().filter(|piece| !piece.is_told).map(|piece| (piece.name(), piece.place)).collect();
    page.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.top.total_cmp(&other.1.top)));
    page
}

/// The strip on top keeps its height when a capo is put on, and when a retuning is left half done.
#[test]
fn the_strip_keeps_its_height() {
    for (width, naming, text) in [
        (320.0, Naming::English, 14.0),
        (360.0, Naming::English, 14.0),
        (360.0, Naming::Solfege, 14.0),
        (412.0, Naming::German, 14.0),
        (360.0, Naming::English, 28.0),
        (600.0, Naming::English, 14.0),
    ] {
        let mut library = pegwise::store::Library::default();
        let pitches = pegwise::instrument::Catalog::bundled().find_tuning("guitar-open-d").unwrap().tuning().clone();
        let own = library.add_own_tuning("guitar", "The long way home in the dark", pitches);
        library.settings.naming = Some(naming);
        library.settings.has_seen_guide = true;
        let app = open_with(library, width, 800.0);
        app.window().set_text_size(text);
        let height = || pieces(&app).into_iter().find(|piece| piece.kind == "GuitarStrip").unwrap().place.height();
        // From a tuning with a long name, which goes when it is half done.
        act(&app, [retune_to(&own), confirm(), confirm(), confirm(), confirm(), Action::Tab(Tab::Tunings)]);
        let named = height();
        act(&app, [retune_to("guitar-standard"), confirm(), Action::Tab(Tab::Tunings)]);
        assert!((height() - named).abs() < 0.1, "long name, {width} {naming:?} {text}: {} was {named}", height());
        act(&app, [Action::Retune(RetuneAction::GiveUp), retune_to("guitar-standard")]);
        act(&app, (0..6).map(|_| confirm()));
        act(&app, [Action::Tab(Tab::Tunings)]);
        let plain = height();
        act(&app, [Action::Tunings(TuningsAction::Capo(Fret::new(2)))]);
        assert!((height() - plain).abs() < 0.1, "capo, {width} {naming:?} {text}: {} was {plain}", height());
        act(&app, [retune_to("guitar-g6"), confirm(), Action::Tab(Tab::Tunings)]);
        assert!((height() - plain).abs() < 0.1, "half done, {width} {naming:?} {text}: {} was {plain}", height());

        // The one above the steps, whose marks are tapped.
        let mark = || pieces(&app).into_iter().find(|piece| piece.kind == "DoubtMark").unwrap().place;
        act(&app, [Action::Tab(Tab::Retune)]);
        let with_capo = mark();
        act(&app, [Action::Tunings(TuningsAction::Capo(Fret::OPEN))]);
        assert!(
            (mark().top - with_capo.top).abs() < 0.1 && (mark().bottom - with_capo.bottom).abs() < 0.1,
            "{width} {text}"
        );
    }
}

/// The caution before the first sound stays where it is when that is asked for: what was aimed at is still there.
#[test]
fn a_warning_does_not_go_while_a_finger_is_on_its_way() {
    for (way, chip) in [
        (vec![Action::Tab(Tab::Shapes)], "Hear it strummed"),
        (vec![Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Large)], "Hear it strummed"),
        (vec![retune_to("guitar-g6")], "Hear the note"),
    ] {
        let app = open(360.0, 640.0);
        act(&app, way);
        tap(&app, "Hear it");
        let caution = "Turn the volume down first";
        let is_told = || texts(&app).iter().any(|text| text.starts_with(caution));
        assert!(is_told(), "{chip}");
        let before = page(&app);
        tap(&app, chip);
        assert!(app.with(|state| state.ears.has_sounded));
        let after = page(&app);
        assert_eq!(before, after, "{chip}");
        // It is said before the first sound, not before every one.
        tap(&app, "Hide the sounds");
        tap(&app, "Hear it");
        assert!(!is_told(), "{chip}");
    }
}

/// A new step begins at its headline, however far the one before was scrolled; so does the one taken back.
#[test]
fn a_new_step_begins_at_its_headline() {
    let app = open(320.0, 568.0);
    app.window().set_text_size(28.0);
    act(&app, [retune_to("guitar-g6")]);
    let headline = |words: &str| {
        pieces(&app).into_iter().find(|piece| piece.words.as_ref().is_some_and(|text| text.text == words)).unwrap()
    };
    let scroll = || headline("Loosen 6").scroll.unwrap().0;
    scroll_to(&app, &scroll(), 220.0);
    assert!(scrolled(&scroll()) > 100.0, "the step is longer than the window");
    act(&app, [confirm()]);
    settle();
    let next = headline("Loosen 5");
    assert!((next.seen.height() - next.place.height()).abs() < 1.0, "{:?} of {:?}", next.seen, next.place);
    assert!(scrolled(&next.scroll.unwrap().0).abs() < 1.0);
    scroll_to(&app, &headline("Loosen 5").scroll.unwrap().0, 220.0);
    act(&app, [Action::Retune(RetuneAction::Undo)]);
    settle();
    assert!(scrolled(&scroll()).abs() < 1.0);
}

/// What is told lies over the page: nothing on the page moves when it comes, and nothing when it goes.
#[test]
fn a_message_pushes_nothing() {
    for (width, height, text) in
        [(360.0, 640.0, 14.0), (320.0, 568.0, 28.0), (915.0, 412.0, 14.0), (800.0, 1280.0, 14.0)]
    {
        for way in [
            vec![Action::Tab(Tab::More)],
            vec![Action::Tab(Tab::Shapes)],
            vec![retune_to("guitar-g6")],
            vec![Action::Tab(Tab::More), Action::Open(Screen::Settings)],
            vec![Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Large)],
        ] {
            let mut library = pegwise::store::Library::default();
            library.settings.has_seen_guide = true;
            let app = open_with(library, width, height);
            app.window().set_text_size(text);
            act(&app, way.clone());
            let before = page(&app);
            act(&app, [Action::Tunings(TuningsAction::Capo(Fret::new(60)))]);
            settle();
            let lies = message(&app).expect("there is no fret 60");
            assert!(lies.top >= -0.1 && lies.bottom <= height && lies.height() >= 48.0, "{lies:?}");
            assert_eq!(page(&app), before, "{width} × {height} {way:?}");
            act(&app, [Action::CloseNotice]);
            assert_eq!(page(&app), before, "{width} × {height} {way:?}");
        }
    }
}

/// It goes by itself when it has been there long enough to be read; with something to take back it stays 20 s at least.
/// While a finger lies on it or the keys are in it, it stays. That saving fails is told until it is put away.
#[test]
fn a_message_stays_long_enough_and_not_for_ever() {
    let wait = |seconds: u64| {
        for _ in 0..seconds {
            mock_elapsed_time(Duration::from_secs(1));
        }
    };
    let refused = || {
        let app = open(360.0, 640.0);
        act(&app, [Action::Tunings(TuningsAction::Capo(Fret::new(60)))]);
        settle();
        app
    };
    let app = refused();
    let words =
        texts(&app).into_iter().find(|text| text.starts_with("The capo cannot go to fret 60")).expect("it is told");
    // Ten letters a second, and a second to look there.
    wait(u64::try_from(words.len() / 10 + 1).unwrap());
    assert!(message(&app).is_some(), "\"{words}\" is gone before it is read");
    wait(30);
    assert!(message(&app).is_none() && app.with(|state| state.notice.is_none()));

    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo)]);
    settle();
    wait(20);
    tap(&app, "Undo");
    assert!(app.with(|state| state.library.songs().is_empty()), "after 20 s it can still be taken back");

    // A finger lies on it.
    let app = refused();
    let lies = message(&app).unwrap();
    let position = LogicalPosition::new(lies.left + 40.0, lies.top + 24.0);
    let button = PointerEventButton::Left;
    let tell = |event| app.window().window().dispatch_event_with_result(event).unwrap();
    tell(WindowEvent::PointerPressed { position, button });
    wait(60);
    assert!(message(&app).is_some(), "it goes under the finger");
    tell(WindowEvent::PointerReleased { position, button });
    wait(60);
    assert!(message(&app).is_none());

    // The keys are in it.
    let app = refused();
    crate::keys::tab(&app);
    wait(60);
    assert!(message(&app).is_some(), "it goes from under the keys");
    crate::keys::tab(&app);
    crate::keys::tab(&app);
    wait(60);
    assert!(message(&app).is_none());

    let app = open(360.0, 640.0);
    let fault = Notice::SaveFailed(SaveError::DiskFull);
    assert!(!fault.passes());
    drop(app);
    let mut state = pegwise::app::State::new(pegwise::store::Library::default());
    state.notice = Some(fault);
    let app = crate::bench_window::open_in(state, 360.0, 640.0);
    wait(600);
    assert!(message(&app).is_some());
}

/// With every string moving, the strings are known all the same.
#[test]
fn with_all_strings_moving_it_is_not_said_that_none_is_known() {
    let says = |app: &App, start: &str| texts(app).iter().any(|text| text.starts_with(start));
    let app = open(360.0, 640.0);
    let catalog = pegwise::instrument::Catalog::bundled();
    for instrument in catalog.instruments() {
        act(&app, [Action::Instrument(InstrumentAction::Instrument(instrument.id().to_owned()))]);
        for tuning in catalog.tunings_for(instrument).into_iter().take(12) {
            act(&app, [Action::Retune(RetuneAction::GiveUp), retune_to(tuning.id())]);
            assert!(!says(&app, "No string is known"), "{}", tuning.id());
            act(&app, [Action::Retune(RetuneAction::StartOver), Action::Retune(RetuneAction::GiveUp)]);
        }
    }
    let app = open(360.0, 640.0);
    act(&app, [Action::Retune(RetuneAction::DoubtAll), Action::Tab(Tab::Retune)]);
    assert!(says(&app, "No string is known"), "{:?}", texts(&app));
}
