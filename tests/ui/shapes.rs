//! The Shapes screens: all shapes at once, favourites, and what the signs of a picture mean.

use std::rc::Rc;

use pegwise::app::{Action, App, KeyPlanAction, Labels, Screen, ShapesAction, State, Tab, ui};
use slint::{ComponentHandle, Model};

use crate::bench_window::{act, find, open, tap, texts};
use crate::tree::{Piece, pieces};

fn opened(width: f32, height: f32, actions: &[Action]) -> Rc<App> {
    let app = open(width, height);
    act(&app, [Action::Tab(Tab::Shapes)]);
    act(&app, actions.iter().cloned());
    app
}

/// The digits of a small picture are written at 11 px at least: as high, against the cell's own number in 12, as that makes them.
#[test]
fn digits_in_the_overview_are_at_least_11_px() {
    for (width, height) in [(320.0, 568.0), (360.0, 640.0), (412.0, 915.0), (800.0, 1280.0)] {
        let app = opened(width, height, &[Action::Open(Screen::Overview)]);
        let all = pieces(&app);
        let is_digit = |piece: &&Piece| {
            piece
                .words
                .as_ref()
                .is_some_and(|words| words.text.len() == 1 && words.text.chars().all(|sign| sign.is_ascii_digit()))
        };
        let high = |piece: &Piece| piece.words.as_ref().map_or(0.0, |words| words.needs_height);
        let number = all.iter().find(|piece| piece.kind == "Remark" && is_digit(piece)).map(high).unwrap();
        let digits: Vec<f32> = all.iter().filter(|piece| piece.kind != "Remark" && is_digit(piece)).map(high).collect();
        assert!(digits.len() >= 12, "{width}×{height}: {} digits", digits.len());
        for digit in digits {
            assert!(digit >= number * 11.0 / 12.0 - 0.6, "{width}×{height}: {digit} high, 12 px are {number}");
        }
    }
}

#[test]
fn a_shape_is_found_among_all_opened_large_and_marked() {
    let app = opened(360.0, 640.0, &[]);
    tap(&app, "All shapes of");
    assert_eq!(app.with(State::screen), Screen::Overview);
    tap(&app, "3: ");
    assert_eq!(app.with(|state| (state.screen(), state.shapes.index)), (Screen::Show, 2));
    let frets = app.with(|state| state.shapes.shape().unwrap().shape().to_string());
    tap(&app, "Favourite");
    assert_eq!(app.with(|state| state.library.favourites().len()), 1);
    tap(&app, "Close");
    // It is the first of them now, and says so.
    let first = find(&app, "1: ").and_then(|cell| cell.accessible_label()).unwrap();
    assert!(first.contains(frets.as_str()) && first.ends_with("favourite"), "{first}");
    tap(&app, "1: ");
    tap(&app, "Favourite");
    assert!(app.with(|state| state.library.favourites().is_empty()));
    tap(&app, "Undo");
    assert_eq!(app.with(|state| state.library.favourites().len()), 1);
}

/// Digits beside each other mean one thing: beside finger numbers the notes in reach bear names, beside degrees degrees, so
/// that colour is never what tells them apart.
#[test]
fn finger_numbers_and_degrees_never_stand_in_one_picture() {
    let app = opened(360.0, 640.0, &[]);
    let marks = |labels: Labels| {
        act(&app, [Action::Shapes(ShapesAction::Labels(labels))]);
        let diagram = app.window().global::<ui::ShapesState<'_>>().get_shape().diagram;
        let marks: Vec<_> = diagram.markers.iter().map(|mark| (mark.kind, mark.text.to_string())).collect();
        marks
    };
    let mut reached = 0;
    for chord in 0..6 {
        act(&app, [Action::Shapes(ShapesAction::Chord(chord))]);
        for _ in 0..8 {
            for (kind, text) in marks(Labels::Finger) {
                let is_finger = ["1", "2", "3", "4", "T"].contains(&text.as_str());
                assert_eq!(is_finger, kind != ui::MarkerKind::Reach, "{text} beside fingers");
                reached += usize::from(kind == ui::MarkerKind::Reach);
            }
            for (kind, text) in marks(Labels::Degree) {
                assert!(text.ends_with(|sign: char| sign.is_ascii_digit()), "{text} beside degrees");
                assert!(kind != ui::MarkerKind::Root || text == "1", "the root is {text}");
            }
            act(&app, [Action::Shapes(ShapesAction::Next)]);
        }
    }
    assert!(reached > 20, "{reached} notes in reach");
}

#[test]
fn the_key_to_the_picture_is_put_away_and_brought_back() {
    let app = opened(360.0, 2000.0, &[]);
    let is_told = || texts(&app).iter().any(|text| text.starts_with("Diamond: the root"));
    assert!(is_told());
    tap(&app, "Hide what the signs mean");
    assert!(!is_told() && app.with(|state| state.library.settings.hides_diagram_key));
    act(&app, [Action::Open(Screen::Filters)]);
    tap(&app, "What the signs mean");
    act(&app, [Action::Back]);
    assert!(is_told());
}

/// A hand that does not stretch is told nothing of stretching: open strings, a straight barre.
#[test]
fn the_span_is_told_only_where_the_hand_stretches() {
    let app = opened(360.0, 640.0, &[]);
    let (mut silent, mut told) = (0, 0);
    for chord in 0..6 {
        act(&app, [Action::Shapes(ShapesAction::Chord(chord))]);
        for _ in 0..10 {
            let span = app.window().global::<ui::ShapesState<'_>>().get_shape().span_mm;
            let stretches = app.with(|state| {
                let range = state.shapes.shape().and_then(|found| found.shape().fret_range());
                range.is_some_and(|(low, high)| low != high)
            });
            assert_eq!(!span.is_empty(), stretches, "{span}");
            assert!(span != "0");
            (silent, told) = (silent + usize::from(!stretches), told + usize::from(stretches));
            act(&app, [Action::Shapes(ShapesAction::Next)]);
        }
    }
    assert!(silent > 0 && told > 0, "{silent} and {told}");
}

/// Each shape of a plan says which notes lie near the hand where it stands, and opens with the hand standing there.
#[test]
fn a_plan_tells_the_melody_where_its_hand_stands() {
    let app = opened(360.0, 2000.0, &[Action::Open(Screen::KeyPlan)]);
    let cells: Vec<_> = app.window().global::<ui::KeyPlanState<'_>>().get_cells().iter().collect();
    assert!(cells.len() >= 6 && cells.iter().all(|cell| !cell.reach.is_empty()));
    assert!(texts(&app).iter().any(|text| text.contains("in reach: ")));
    for index in 0..cells.len() {
        act(&app, [Action::Open(Screen::KeyPlan), Action::KeyPlan(KeyPlanAction::Cell(index))]);
        let stands = app.with(|state| {
            let planned = &state.key_plan.cells[index].planned;
            (state.shapes.stands_at(planned.shape.shape()), planned.stands_at)
        });
        assert_eq!(stands.0, stands.1, "{index}");
    }
}
