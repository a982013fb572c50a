//! A finger on the controls of every screen: not by their names, as a screen reader does it, but by where they stand.

use std::collections::{BTreeMap, BTreeSet};

use i_slint_backend_testing::ElementHandle;
use pegwise::app::State;
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition};

use crate::bench_window::{act, controls, open, open_in, settle};
use crate::every_screen::ways;

/// The most of one make that are touched on a screen: what lies in a list is alike.
const MOST_OF_A_MAKE: usize = 2;

fn middle(control: &ElementHandle) -> LogicalPosition {
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
