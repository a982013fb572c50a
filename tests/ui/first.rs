//! The first run, settings and languages in the window.

use std::rc::Rc;

use pegwise::app::ui::{AppState, GuideHint, OwnTuningState, SettingsState, Tokens, TuningsState};
use pegwise::app::{
    Action, App, InstrumentAction, Notice, OwnTuningAction, Screen, SettingsAction, State, Tab, TuningsAction,
};
use pegwise::platform::Fake;
use pegwise::store::Library;
use pegwise::theory::Naming;
use slint::{ComponentHandle, Model};

use crate::bench_window::{act, controls, find, open, open_on, tap, type_into};

fn hint(app: &App) -> GuideHint {
    app.window().global::<AppState<'_>>().get_guide().hint
}

fn instrument(app: &App) -> String {
    app.window().global::<AppState<'_>>().get_on_guitar().instrument.into()
}

fn set(app: &App, action: SettingsAction) {
    act(app, [Action::Settings(action)]);
}

/// Tap by tap as the band says, with nothing but the labels on the screen.
#[test]
fn the_first_run_is_done_by_tapping_what_it_says() {
    let app = open(360.0, 640.0);
    assert_eq!(hint(&app), GuideHint::Choose);
    for (label, then) in [
        ("G6", GuideHint::Turn),
        ("It is right", GuideHint::TurnLast),
        ("It is right", GuideHint::Check),
        ("All sound right", GuideHint::ToChords),
        ("Chords in this tuning", GuideHint::Chord),
        ("C", GuideHint::Done),
        ("Done with the first steps", GuideHint::None),
    ] {
        tap(&app, label);
        assert_eq!(hint(&app), then, "after {label}");
    }
    assert!(app.with(|state| state.library.settings.has_seen_guide));
}

/// The busker's button stays under the thumb and the band can be skipped, also on the smallest phone.
#[test]
fn the_band_leaves_room_for_what_it_points_at() {
    for (width, height) in [(320.0, 568.0), (360.0, 640.0), (915.0, 412.0)] {
        let app = open(width, height);
        tap(&app, "G6");
        let button = find(&app, "It is right").unwrap();
        let (top, size) = (button.absolute_position().y, button.size().height);
        assert!(top > height / 2.0 && top + size <= height, "{width}×{height}: at {top}");
        tap(&app, "Skip the first steps");
        assert_eq!(hint(&app), GuideHint::None);
        assert_eq!(app.with(State::screen), Screen::Retune, "the retuning goes on");
    }
}

#[test]
fn settings_show_the_first_steps_again() {
    // Tall, so that the last choice of the page is on the screen.
    let app = open(360.0, 1600.0);
    tap(&app, "Skip the first steps");
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Settings)]);
    tap(&app, "Show me again");
    assert_eq!((app.with(State::screen), hint(&app)), (Screen::Tunings, GuideHint::Choose));
}

#[test]
fn a_setting_shows_its_effect_at_once() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Settings)]);
    let shown = || {
        let settings = app.window().global::<SettingsState<'_>>();
        let diagram = settings.get_sample_diagram();
        let notes: Vec<String> = settings.get_sample_marks().iter().map(|mark| mark.note.into()).collect();
        (settings.get_sample().to_string(), notes.join(" "), diagram.left_handed, diagram.on_side)
    };
    let before = shown();
    assert_eq!(before.1, "E A D G B E");
    tap(&app, "Letters, with H");
    assert_eq!(shown().1, "E A D G H E");
    assert_ne!(shown().0, before.0);
    tap(&app, "Syllables");
    assert_eq!(shown().1, "mi la re sol si mi");
    tap(&app, "flats");
    assert!(shown().0.contains("sol♭") && !shown().0.contains("fa♯"), "{}", shown().0);
    set(&app, SettingsAction::LeftHanded);
    set(&app, SettingsAction::OnSide);
    assert_eq!((shown().2, shown().3), (true, true));
    set(&app, SettingsAction::ReducedMotion);
    let tokens = app.window().global::<Tokens<'_>>();
    assert_eq!((tokens.get_quick(), tokens.get_slow()), (0, 0));
    tap(&app, "Instrument and strings");
    assert_eq!(app.with(State::screen), Screen::Instrument);
}

/// Chosen, changed, and back to the phone's; the names of instruments go along.
#[test]
fn the_language_follows_the_choice_and_returns_to_the_phones() {
    let app = open_on(Rc::new(Fake::new(None).with_language("de-AT")), State::new(Library::default()), 360.0, 640.0);
    assert!(find(&app, "Stimmungen").is_some(), "as the phone");
    assert_eq!(instrument(&app), "Westerngitarre");
    set(&app, SettingsAction::Language(Some("fr".to_owned())));
    assert!(find(&app, "Accordages").is_some());
    assert_eq!(instrument(&app), "Guitare acoustique");
    set(&app, SettingsAction::Language(None));
    assert!(find(&app, "Stimmungen").is_some(), "as the phone again");
    let other = open_on(Rc::new(Fake::new(None).with_language("nl")), State::new(Library::default()), 360.0, 640.0);
    assert!(find(&other, "Tunings").is_some(), "English where the phone's language is not spoken");
}

#[test]
fn an_instrument_is_found_by_its_name_in_either_language() {
    let app = open_on(Rc::new(Fake::new(None).with_language("de")), State::new(Library::default()), 360.0, 640.0);
    act(&app, [Action::Open(Screen::Instrument)]);
    for (typed, rows) in [("zither", 1), ("waldz", 1), ("lute", 5), ("laute", 5), ("qqq", 0)] {
        act(&app, [Action::Instrument(InstrumentAction::Searched(typed.to_owned()))]);
        let found = app.window().global::<pegwise::app::ui::InstrumentState<'_>>().get_instruments().row_count();
        assert_eq!(found, rows, "{typed}");
    }
}

/// Notes are read and written by the player's custom, and what a text is not is said with its letters.
#[test]
fn typed_notes_follow_the_custom() {
    let app = open(360.0, 640.0);
    set(&app, SettingsAction::Naming(Naming::German));
    type_into(&app, "Search tunings", "dgdghe");
    tap(&app, "G6");
    act(&app, [Action::Tab(Tab::Tunings), Action::Tunings(TuningsAction::Search("d g d x h e".to_owned()))]);
    let list = app.window().global::<TuningsState<'_>>();
    assert_eq!((list.get_found().as_str(), list.get_place().as_str()), ("x", "7"));
    assert_eq!(list.get_expected(), "E A D G H E");
    assert_eq!(app.window().global::<AppState<'_>>().get_letters(), "C D E F G A H");
    act(&app, [Action::OwnTuning(OwnTuningAction::New)]);
    let own = || app.window().global::<OwnTuningState<'_>>().get_notes().to_string();
    assert_eq!(own(), "E2 A2 D3 G3 H3 E4");
    act(&app, [Action::OwnTuning(OwnTuningAction::Notes("D2 A2 D3 Fis3 A3 D4".to_owned()))]);
    set(&app, SettingsAction::Naming(Naming::Solfege));
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::OwnTuning)]);
    assert_eq!(own(), "re2 la2 re3 fa#3 la3 re4");
}

/// A message closes at the phone's Back before any screen does, and stays through everything else.
#[test]
fn a_message_stays_until_it_is_closed() {
    crate::bench_window::set_up();
    let mut state = State::new(Library::default());
    state.tell(Notice::LibraryMissing);
    state.library.settings.language = Some("en".to_owned());
    let app = App::unkept(state).unwrap();
    app.window().show().unwrap();
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::About)]);
    assert!(find(&app, "Close this message").is_some());
    assert!(app.act(Action::BackKey));
    assert_eq!(app.with(State::screen), Screen::About);
    assert!(find(&app, "Close this message").is_none());
}

#[test]
fn the_screen_stays_on_where_both_hands_play_and_only_if_wanted() {
    let machine = Rc::new(Fake::new(None));
    let app = open_on_shared(&machine);
    act(&app, [Action::CloseNotice, Action::Tab(Tab::Tunings)]);
    assert!(!machine.is_awake());
    act(&app, [Action::Tab(Tab::Retune)]);
    assert!(machine.is_awake());
    set(&app, SettingsAction::StayAwake);
    assert!(!machine.is_awake(), "at once");
    set(&app, SettingsAction::StayAwake);
    act(&app, [Action::Tab(Tab::Shapes)]);
    assert!(!machine.is_awake());
    act(&app, [Action::Shapes(pegwise::app::ShapesAction::Large)]);
    assert!(machine.is_awake());
}

/// No place to keep anything is told once, and the first steps come after it.
#[test]
fn a_machine_without_a_place_for_the_library_says_so() {
    let machine = Rc::new(Fake::new(None));
    let app = open_on_shared(&machine);
    assert_eq!(app.with(|state| state.notice.clone()), Some(Notice::NoPlaceForLibrary));
    assert_eq!(hint(&app), GuideHint::None);
    act(&app, [Action::CloseNotice]);
    assert_eq!(hint(&app), GuideHint::Choose);
    assert!(controls(&app).len() > 3);
}

fn open_on_shared(machine: &Rc<Fake>) -> Rc<App> {
    crate::bench_window::set_up();
    App::new(Rc::<Fake>::clone(machine)).unwrap()
}
