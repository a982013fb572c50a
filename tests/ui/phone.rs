//! What a phone does to an app: hides it, forgets it, turns it, takes its edges, changes its text, sends Back.

use std::path::PathBuf;
use std::rc::Rc;

use i_slint_backend_testing::{AccessibleRole, mock_elapsed_time};
use pegwise::app::{Action, App, InstrumentAction, OwnTuningAction, RetuneAction, Screen, SettingsAction, Tab};
use pegwise::app::{ShapesAction, Stage, State, ui};
use pegwise::platform::{Fake, Moment};
use pegwise::store::{Library, Theme};
use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Key, Platform, PointerEventButton, WindowAdapter, WindowEvent, WindowEventDispatchResult};
use slint::{ComponentHandle, LogicalSize, PlatformError};

use crate::bench_window::{act, controls, find, open, set_up, tap, type_into};
use crate::every_screen::ways;
use crate::tree::with_the_keys;

/// A folder that is gone when the test is over.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("pegwise-phone-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }

    fn files(&self) -> Vec<PathBuf> {
        std::fs::read_dir(&self.0).unwrap().map(|entry| entry.unwrap().path()).collect()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// The app on a phone that keeps its files in `folder`.
fn on_phone(machine: &Rc<Fake>) -> Rc<App> {
    let app = App::new(Rc::clone(machine) as Rc<dyn pegwise::platform::Machine>).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(360.0, 640.0));
    app
}

fn choose(id: &str) -> Action {
    Action::Tunings(pegwise::app::TuningsAction::Choose(id.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

#[test]
fn hidden_forgotten_or_closed_the_library_is_on_disk() {
    set_up();
    for moment in [Moment::Hidden, Moment::SaveNow, Moment::MemoryLow, Moment::Closing] {
        let folder = Folder::new(&format!("{moment:?}"));
        let machine = Rc::new(Fake::new(Some(folder.0.clone())));
        let app = on_phone(&machine);
        act(&app, [choose("guitar-dadgad"), CONFIRM]);
        // Saved at every change already: only a save at this moment can bring the files back, of what was just typed.
        let typed = |text: &str| Action::SongEdit(pegwise::app::SongEditAction::Title(text.to_owned()));
        act(&app, [Action::Songs(pegwise::app::SongsAction::New), typed("Tar Barrel")]);
        app.act(typed("Tar Barrels"));
        folder.files().iter().for_each(|file| std::fs::remove_file(file).unwrap());
        machine.happen(moment);
        assert!(!folder.files().is_empty(), "{moment:?}");
        let again = on_phone(&Rc::new(Fake::new(Some(folder.0.clone()))));
        let now = |app: &App| app.with(|state| (state.guitar.tuning().clone(), state.guitar.course()));
        assert_eq!(now(&again), now(&app), "{moment:?}");
        assert_eq!(again.with(|state| (state.screen(), state.guitar.stage())), (Screen::Retune, Stage::Step));
    }
}

#[test]
fn less_movement_follows_the_phone_when_it_is_shown_again() {
    set_up();
    let machine = Rc::new(Fake::new(None));
    let app = on_phone(&machine);
    let moves_less = || app.window().global::<ui::Tokens<'_>>().get_reduced_motion();
    assert!(!moves_less());
    machine.set_less_motion(true);
    machine.happen(Moment::Shown);
    assert!(
        moves_less() && !app.with(|state| state.library.settings.has_reduced_motion),
        "the player's own choice stays"
    );
    machine.set_less_motion(false);
    machine.happen(Moment::Shown);
    assert!(!moves_less());
    act(&app, [Action::Settings(SettingsAction::ReducedMotion)]);
    assert!(moves_less());
}

#[test]
fn an_app_the_phone_forgot_comes_back_to_its_screen_and_a_closed_one_to_its_first() {
    set_up();
    let folder = Folder::new("place");
    let machine = Rc::new(Fake::new(Some(folder.0.clone())));
    let app = on_phone(&machine);
    machine.happen(Moment::Shown);
    let taps = [Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Chord(4)), Action::Shapes(ShapesAction::Next)];
    act(&app, taps);
    act(&app, [Action::Shapes(ShapesAction::Large)]);
    machine.happen(Moment::Hidden);
    machine.happen(Moment::SaveNow);

    let forgotten = Rc::new(machine.forgotten());
    let again = on_phone(&forgotten);
    forgotten.happen(Moment::Shown);
    let look = |app: &App| app.with(|state| (state.screen(), state.shapes.chord, state.shapes.shape().cloned()));
    assert_eq!(look(&again), look(&app));
    assert_eq!(look(&again).0, Screen::Show);
    // Shown once more, later: the player is not thrown back.
    act(&again, [Action::Tab(Tab::More)]);
    forgotten.happen(Moment::Hidden);
    forgotten.happen(Moment::Shown);
    assert_eq!(again.with(State::screen), Screen::More);

    let closed = Rc::new(Fake::new(Some(folder.0.clone())));
    let fresh = on_phone(&closed);
    closed.happen(Moment::Shown);
    assert_eq!(fresh.with(State::screen), Screen::Tunings);
}

#[test]
fn the_screen_stays_on_while_both_hands_are_busy_and_only_then() {
    set_up();
    for (name, way) in ways() {
        let machine = Rc::new(Fake::new(None));
        let app = on_phone(&machine);
        act(&app, way);
        // At a tune both hands are on the strings as well.
        let is_busy = app.with(|state| match state.screen() {
            Screen::Retune | Screen::Show | Screen::Playing => true,
            Screen::HandOut => false,
            _ => name.starts_with("tune"),
        });
        assert_eq!(machine.is_awake(), is_busy, "{name}");
        act(&app, [Action::Settings(SettingsAction::StayAwake)]);
        assert!(!machine.is_awake(), "{name}: the player does not want it");
    }
}

fn back(app: &App) -> WindowEventDispatchResult {
    let window = app.window().window();
    let pressed = window.dispatch_event_with_result(WindowEvent::KeyPressed { text: Key::Back.into() }).unwrap();
    let _ = window.dispatch_event_with_result(WindowEvent::KeyReleased { text: Key::Back.into() });
    pressed
}

fn press(app: &App, key: Key) -> WindowEventDispatchResult {
    let window = app.window().window();
    let pressed = window.dispatch_event_with_result(WindowEvent::KeyPressed { text: key.into() }).unwrap();
    let _ = window.dispatch_event_with_result(WindowEvent::KeyReleased { text: key.into() });
    crate::bench_window::settle();
    pressed
}

/// A button that is pressed by keyboard and goes away with what it belongs to does not take the keys along: Escape still
/// leads up, and Tab still reaches what can be pressed.
#[test]
fn the_keys_live_on_when_the_button_they_pressed_is_gone() {
    let undone = |app: &App| app.with(|state| state.undo.is_none());
    // So many times Tab leads to Undo in the band.
    let reach = |tabs: usize| {
        let app = open(360.0, 640.0);
        act(&app, [Action::Tab(Tab::Songs), Action::Songs(pegwise::app::SongsAction::Demo)]);
        assert!(!undone(&app));
        for _ in 0..tabs {
            let _ = press(&app, Key::Tab);
        }
        press(&app, Key::Return);
        (undone(&app) && app.with(State::screen) == Screen::Songs).then_some(app)
    };
    let app = (1..9).find_map(reach).expect("Undo is reached by keyboard");
    press(&app, Key::Tab);
    assert!(with_the_keys(&app).is_some(), "Tab reaches a control");
    let app = (1..9).find_map(reach).unwrap();
    assert_eq!(press(&app, Key::Escape), WindowEventDispatchResult::Accepted);
    assert_eq!(app.with(State::screen), Screen::Tunings);
}

/// From wherever the player is, the key leads up level by level, and out: Android finishes the activity when nothing
/// takes the key.
#[test]
fn back_leads_from_every_screen_to_the_first_tab_and_out() {
    for (name, way) in ways() {
        let app = open(360.0, 640.0);
        act(&app, way);
        let mut levels = vec![app.with(State::screen)];
        while back(&app) == WindowEventDispatchResult::Accepted {
            let now = app.with(State::screen);
            assert_ne!(Some(&now), levels.last(), "{name}: the key was taken and did nothing");
            levels.push(now);
            assert!(levels.len() < 6, "{name}: {levels:?}");
        }
        assert_eq!(levels.last(), Some(&Screen::Tunings), "{name}");
    }
}

#[test]
fn back_puts_a_notice_away_before_it_leaves_the_screen() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Open(Screen::Instrument), Action::Instrument(InstrumentAction::CapoBy(100))]);
    let message = || app.window().global::<ui::AppState<'_>>().get_message().id;
    assert_ne!(message(), ui::MessageId::None);
    assert_eq!(back(&app), WindowEventDispatchResult::Accepted);
    assert_eq!((message(), app.with(State::screen)), (ui::MessageId::None, Screen::Instrument));
}

/// With a field in use the key still reaches the window, whatever screen the field is on.
#[test]
fn back_works_while_a_field_is_in_use() {
    for (way, label, below) in [
        (vec![Action::Tab(Tab::Shapes), Action::Open(Screen::ChordPicker)], "Chord", Screen::Shapes),
        (vec![Action::OwnTuning(OwnTuningAction::New)], "Name", Screen::Tunings),
    ] {
        let app = open(360.0, 640.0);
        act(&app, way);
        use_field(&app, label);
        assert_eq!(back(&app), WindowEventDispatchResult::Accepted, "{label}");
        assert_eq!(app.with(State::screen), below, "{label}");
    }
}

#[test]
fn back_closes_the_list_of_instruments_before_it_leaves_the_screen() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Instrument)]);
    // What hangs on the screen's change comes with the next turn of the loop, as long before a tap on a phone.
    mock_elapsed_time(std::time::Duration::from_millis(16));
    tap(&app, "Instrument: ");
    type_into(&app, "Search instruments", "ban");
    assert_eq!(back(&app), WindowEventDispatchResult::Accepted);
    assert!(find(&app, "Search instruments").is_none() && app.with(State::screen) == Screen::Instrument);
    assert_eq!(back(&app), WindowEventDispatchResult::Accepted);
    assert_eq!(app.with(State::screen), Screen::More);
}

/// Taps into a field and types a letter by keyboard.
fn use_field(app: &App, label: &str) {
    let field = find(app, label).unwrap_or_else(|| {
        let labels: Vec<_> = controls(app).iter().filter_map(|found| found.accessible_label()).collect();
        panic!("no {label} among {labels:?}")
    });
    field.mock_single_click(PointerEventButton::Left);
    app.window().window().dispatch_event_with_result(WindowEvent::KeyPressed { text: "A".into() }).unwrap();
    let value = find(app, label).and_then(|field| field.accessible_value());
    assert!(value.is_some_and(|value| value.ends_with('A')), "the field {label} is in use");
}

/// A display that is only memory, drawn by the renderer the desktop uses.
struct Memory;

impl Platform for Memory {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer))
    }
}

/// Space the system keeps at the edges: a status bar, a gesture bar, the curves of a display at both sides, in dp.
const INSETS: ui::Insets = ui::Insets { left: 16.0, top: 24.0, right: 16.0, bottom: 48.0 };

#[test]
fn nothing_is_drawn_under_the_systems_edges_on_any_screen() {
    slint::platform::set_platform(Box::new(Memory)).unwrap();
    let mut library = Library::default();
    library.settings.theme = Theme::Light;
    library.settings.language = Some("en".to_owned());
    for (name, way) in ways() {
        let app = App::unkept(State::new(library.clone())).unwrap();
        act(&app, way);
        app.window().set_insets(INSETS);
        app.window().show().unwrap();
        app.window().window().set_size(LogicalSize::new(360.0, 640.0));
        let picture = app.window().window().take_snapshot().unwrap();
        let paper = picture.as_slice()[0];
        let (width, mut inked) = (picture.width(), 0);
        for (index, pixel) in (0_u32..).zip(picture.as_slice()) {
            let (x, y) = (index % width, index / width);
            let is_edge = !(16..360 - 16).contains(&x) || !(24..640 - 48).contains(&y);
            assert!(!is_edge || *pixel == paper, "{name}: something is drawn at {x}, {y}");
            inked += u32::from(*pixel != paper);
        }
        assert!(inked > 1000, "{name}: the screen is drawn beside the edges");
    }
}

/// A finger on a control never lands on the system's own edges.
#[test]
fn no_control_reaches_under_the_systems_edges() {
    for (name, way) in ways() {
        let app = open(360.0, 640.0);
        app.window().set_insets(INSETS);
        act(&app, way);
        for control in controls(&app) {
            let (at, size, label) = (control.absolute_position(), control.size(), control.accessible_label());
            // What scrolls or slides sideways is cut where its page ends, which the picture above holds; the tabs stand.
            assert!(at.y >= 23.9, "{name}: {label:?} at {at:?}");
            if control.accessible_role() == Some(AccessibleRole::Tab) {
                assert!(at.x >= 15.9 && at.x + size.width <= 344.1, "{name}: {label:?} at {at:?}");
                assert!(at.y + size.height <= 592.1, "{name}: {label:?} at {at:?}");
            }
        }
    }
}

/// The phone turned, put beside another app, or set to larger text, one after the other.
fn shaken(app: &App) {
    for (width, height, text) in [
        (640.0, 360.0, 14.0),
        (915.0, 412.0, 14.0),
        (360.0, 320.0, 14.0),
        (320.0, 568.0, 28.0),
        (360.0, 640.0, 28.0),
        (360.0, 640.0, 14.0),
    ] {
        app.window().window().set_size(LogicalSize::new(width, height));
        app.window().set_text_size(text);
        let found = controls(app);
        assert!(!found.is_empty(), "{width} × {height} at {text} has nothing to tap");
    }
}

#[test]
fn typed_letters_stay_while_the_phone_is_turned_and_its_text_grows() {
    for (way, label) in [
        (Vec::new(), "Search tunings"),
        (vec![Action::OwnTuning(OwnTuningAction::New)], "Name"),
        (vec![Action::Tab(Tab::Shapes), Action::Open(Screen::ChordPicker)], "Chord"),
    ] {
        let app = open(360.0, 640.0);
        act(&app, way);
        type_into(&app, label, "dm");
        shaken(&app);
        assert_eq!(find(&app, label).unwrap().accessible_value().unwrap(), "dm", "{label}");
    }
}

#[test]
fn a_step_its_way_and_a_shape_stay_while_the_phone_is_turned_and_its_text_grows() {
    let app = open(360.0, 640.0);
    act(&app, [choose("guitar-dadgad"), CONFIRM, Action::Retune(RetuneAction::Match(1))]);
    let step = |app: &App| app.with(|state| (state.screen(), state.guitar.course(), state.guitar.stage()));
    let before = (step(&app), find(&app, "It is right").is_some());
    shaken(&app);
    assert_eq!((step(&app), find(&app, "It is right").is_some()), before);
    act(&app, [Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Next), Action::Shapes(ShapesAction::Large)]);
    let shape = |app: &App| app.with(|state| (state.screen(), state.shapes.shape().cloned()));
    let before = shape(&app);
    shaken(&app);
    assert_eq!(shape(&app), before);
    tap(&app, "Close");
    shaken(&app);
    assert_eq!(app.with(State::screen), Screen::Shapes);
}
