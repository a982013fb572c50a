//! The three players' ways, tap by tap, counted.

use pegwise::app::{Screen, Stage};
use pegwise::store::Library;
use slint::ComponentHandle;

use crate::bench_window::{find, open, open_with, tap, type_into};

/// The busker: the next tuning was used before, and is one tap away.
#[test]
fn a_tuning_played_lately_is_at_its_first_step_after_one_tap() {
    let mut library = Library::default();
    library.remember_tuning("guitar-dadgad");
    let app = open_with(library, 360.0, 640.0);
    tap(&app, "DADGAD");
    assert_eq!(app.with(|state| (state.screen(), state.guitar.stage())), (Screen::Retune, Stage::Step));
    let button = find(&app, "It is right").unwrap();
    assert!(
        button.absolute_position().y > 320.0,
        "under the thumb, in the lower half: {:?}",
        button.absolute_position()
    );
}

/// The student: a tuning never used before, by four letters and two taps at most; then step by step to the end.
#[test]
fn any_tuning_is_found_by_four_letters_and_led_to_its_end() {
    let app = open(360.0, 640.0);
    type_into(&app, "Search tunings", "dgdg");
    tap(&app, "G6");
    assert_eq!(app.with(|state| state.guitar.stage()), Stage::Step);
    tap(&app, "It is right");
    tap(&app, "It is right");
    assert_eq!(app.with(|state| state.guitar.stage()), Stage::Check);
    tap(&app, "All sound right");
    assert_eq!(app.with(|state| state.guitar.stage()), Stage::Done);
    let on_guitar = app.window().global::<pegwise::app::ui::AppState<'_>>().get_on_guitar();
    assert_eq!((on_guitar.tuning.as_str(), on_guitar.notes.as_str()), ("G6", "D G D G B E"));
}

/// The teacher: from launch to a shape that fills the screen in three taps.
#[test]
fn a_shape_fills_the_screen_after_three_taps() {
    let app = open(360.0, 640.0);
    tap(&app, "Shapes");
    tap(&app, "C");
    tap(&app, "Show it large");
    assert_eq!(app.with(pegwise::app::State::screen), Screen::Show);
}

#[test]
fn a_step_can_be_undone_and_another_way_heard() {
    let app = open(412.0, 915.0);
    type_into(&app, "Search tunings", "g6");
    tap(&app, "G6");
    let before = app.with(|state| state.guitar.course());
    tap(&app, "It is right");
    tap(&app, "Undo the last step");
    assert_eq!(app.with(|state| state.guitar.course()), before);
    tap(&app, "Another way");
    assert!(find(&app, "Hide the others").is_some());
}

/// What cannot be read leaves the screen usable and says where the fault lies.
#[test]
fn unreadable_notes_say_which_symbol_and_keep_the_guitar() {
    let app = open(360.0, 640.0);
    type_into(&app, "Search tunings", "D G X G B E");
    let list = app.window().global::<pegwise::app::ui::TuningsState<'_>>();
    assert_eq!(list.get_result(), pegwise::app::ui::TuningsResult::NotANote);
    assert_eq!((list.get_found().as_str(), list.get_place().as_str()), ("X", "5"));
    assert_eq!(app.with(|state| state.guitar.tuning().clone()), app.with(pegwise::app::State::standard));
}
