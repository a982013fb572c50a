//! The three players' ways, tap by tap, counted.

use pegwise::app::{Action, GuideAction, Screen, Stage};
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

/// The teacher: a large Am7 of a tuning that is not on the guitar, by a few letters and four taps; nothing is retuned, and
/// the screen says so until one tap leads back.
#[test]
fn a_large_chord_of_another_tuning_is_four_taps_away() {
    let app = open(360.0, 640.0);
    let library = || app.with(|state| state.library.guitar_now.clone());
    let before = library();
    type_into(&app, "Search tunings", "open g");
    let mut taps = 0;
    let mut tapped = |label: &str| {
        tap(&app, label);
        taps += 1;
    };
    tapped("See the shapes of Open G");
    tapped("Another chord");
    type_into(&app, "Chord", "Am7");
    tapped("Shapes of Am7");
    tapped("Show it large");
    assert_eq!(taps, 4);
    let (screen, chord) = app.with(|state| (state.screen(), state.shapes.chord.ascii()));
    assert_eq!((screen, chord.as_str()), (Screen::Show, "Am7"));
    let open: Vec<u8> = app.with(|state| state.board().open_pitches().iter().map(|pitch| pitch.number()).collect());
    // D G D G B D by MIDI numbers (open D string of a bass to the D above middle C).
    assert_eq!(open, [38, 43, 50, 55, 59, 62]);
    let said = |what: &str| crate::bench_window::texts(&app).iter().any(|text| text.contains(what));
    assert!(said("nly a look"));
    assert_eq!(library(), before);
    tap(&app, "Close");
    assert!(said("Only a look: not how you are tuned"));
    tap(&app, "Back to your tuning");
    assert!(!said("nly a look"));
    assert_eq!(app.with(|state| state.board().open_pitches()[0].number()), 40);
}

/// A string breaks in the middle of a step: one tap on its mark in the strip.
#[test]
fn a_string_is_doubted_by_its_mark_in_the_middle_of_a_step() {
    let app = open(360.0, 640.0);
    app.act(Action::Guide(GuideAction::Skip));
    type_into(&app, "Search tunings", "g6");
    tap(&app, "G6");
    for (number, index) in [(1, 5), (4, 2)] {
        let label = format!("String {number} is off");
        let mark = find(&app, &label).unwrap();
        assert!(mark.absolute_position().y < 160.0, "in the strip: {:?}", mark.absolute_position());
        assert!(mark.size().width >= 48.0 && mark.size().height >= 48.0, "{:?}", mark.size());
        tap(&app, &label);
        assert!(!app.with(|state| state.guitar.is_known(index)));
    }
    assert_eq!(app.with(|state| state.guitar.stage()), Stage::Step);
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
    assert_eq!(app.with(|state| state.guitar.tuning().clone()), app.with(|state| state.standard()));
}
