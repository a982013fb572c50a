//! A finger on the controls of every screen: not by their names, as a screen reader does it, but by where they stand.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::time::Duration;

use i_slint_backend_testing::{ElementHandle, mock_elapsed_time};
use pegwise::app::{Action, App, Screen, ShapesAction, State, Tab};
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition};

use crate::bench_window::{act, controls, find, open, open_in, settle, tap};
use crate::every_screen::ways;
use crate::tree::pieces;

/// The most of one make that are touched on a screen: what lies in a list is alike.
const MOST_OF_A_MAKE: usize = 2;

pub(crate) fn middle(control: &ElementHandle) -> LogicalPosition {
    let (place, size) = (control.absolute_position(), control.size());
    LogicalPosition::new(place.x + size.width / 2.0, place.y + size.height / 2.0)
}

/// The app lives through a tap on each control, and through what the finger does next: the toolkit asks for the layout of
/// what stood there before, also where the tap took it away. Of the bar and of what is alike, two stand for all.
#[test]
fn every_control_can_be_touched() {
    let mut touched = BTreeSet::new();
    for (name, way) in ways() {
        let first = open(360.0, 640.0);
        act(&first, way);
        let (state, all) = (first.with(State::clone), controls(&first));
        assert!(!all.is_empty(), "{name} has nothing to touch");
        let mut makes: BTreeMap<String, usize> = BTreeMap::new();
        for (index, control) in all.iter().enumerate() {
            let place = middle(control);
            let make = control.type_name().map(String::from).unwrap_or_default();
            let label = control.accessible_label().map(String::from).unwrap_or_default();
            let of_make = makes.entry(make.clone()).or_default();
            let is_in_sight = (0.0..360.0).contains(&place.x) && (0.0..640.0).contains(&place.y);
            let is_new = make == "TabWord" || !touched.contains(&(make.clone(), label.clone()));
            if !is_in_sight || !is_new || *of_make >= MOST_OF_A_MAKE {
                continue;
            }
            *of_make += 1;
            touched.insert((make, label));
            let app = open_in(state.clone(), 360.0, 640.0);
            let Some(control) = controls(&app).into_iter().nth(index) else { continue };
            control.mock_single_click(PointerEventButton::Left);
            settle();
            app.window().window().dispatch_event_with_result(WindowEvent::PointerMoved { position: place }).unwrap();
        }
    }
    assert!(touched.len() > 100, "{} controls were touched", touched.len());
}

/// Draws a finger from one place by so much, in a fifth of a second.
pub(crate) fn draw(app: &App, from: LogicalPosition, by: (f32, f32)) {
    const STEPS: u8 = 10;
    let tell = |event| {
        app.window().window().dispatch_event_with_result(event).unwrap();
        mock_elapsed_time(Duration::from_millis(20));
    };
    let button = PointerEventButton::Left;
    let at = |step: u8| {
        let share = f32::from(step) / f32::from(STEPS);
        LogicalPosition::new(from.x + by.0 * share, from.y + by.1 * share)
    };
    tell(WindowEvent::PointerPressed { position: from, button });
    for step in 1..=STEPS {
        tell(WindowEvent::PointerMoved { position: at(step) });
    }
    tell(WindowEvent::PointerReleased { position: at(STEPS), button });
    mock_elapsed_time(Duration::from_secs(2));
}

/// The shape shown large, at a text size in dp.
fn shown_large(height: f32, text_dp: f32) -> Rc<App> {
    let app = open(320.0, height);
    app.window().set_text_size(text_dp);
    act(&app, [Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Large)]);
    app
}

/// The middle of the picture of the shape.
fn picture(app: &App) -> LogicalPosition {
    let place = pieces(app).into_iter().find(|piece| piece.kind == "ChordDiagram").expect("a diagram is shown").place;
    LogicalPosition::new(place.left + place.width() / 2.0, place.top + place.height() / 2.0)
}

#[test]
fn a_shape_shown_large_is_swiped_to_the_next_and_put_away() {
    let index = |app: &App| app.with(|state| state.shapes.index);
    for (height, text_dp) in [(568.0, 14.0), (568.0, 28.0)] {
        let app = shown_large(height, text_dp);
        draw(&app, picture(&app), (-90.0, 4.0));
        assert_eq!(index(&app), 1, "to the left, text {text_dp}");
        draw(&app, picture(&app), (90.0, 4.0));
        assert_eq!(index(&app), 0, "to the right, text {text_dp}");
        assert_eq!(app.with(State::screen), Screen::Show);
        draw(&app, picture(&app), (4.0, 120.0));
        assert_eq!(app.with(State::screen), Screen::Shapes, "down, text {text_dp}");
    }
}

/// With very large text what stands below the picture is scrolled; the picture stays, for the swipe.
#[test]
fn the_words_below_a_shape_shown_large_are_scrolled() {
    let app = shown_large(568.0, 28.0);
    tap(&app, "Hear it");
    let top = || middle(&find(&app, "Hear it strummed").unwrap()).y;
    let (before, chip) = (picture(&app), top());
    draw(&app, LogicalPosition::new(160.0, chip), (4.0, -80.0));
    assert!(top() < chip - 15.0, "{chip} is at {} now", top());
    assert_eq!(picture(&app), before);
    assert_eq!(app.with(State::screen), Screen::Show);
}
