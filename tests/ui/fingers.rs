//! A finger on every control of every screen: not by its name, as a screen reader does it, but by where it stands.

use pegwise::app::State;
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition};

use crate::bench_window::{act, controls, open, open_in, settle};
use crate::every_screen::ways;

/// The app lives through a tap on each control, and through what the finger does next: the toolkit asks for the layout of
/// what stood there before, also where the tap took it away.
#[test]
fn every_control_can_be_touched() {
    let mut touched = 0;
    for (name, way) in ways() {
        let first = open(360.0, 640.0);
        act(&first, way);
        let (state, count) = (first.with(State::clone), controls(&first).len());
        assert!(count > 0, "{name} has nothing to touch");
        for index in 0..count {
            let app = open_in(state.clone(), 360.0, 640.0);
            let Some(control) = controls(&app).into_iter().nth(index) else { continue };
            let (place, size) = (control.absolute_position(), control.size());
            let middle = LogicalPosition::new(place.x + size.width / 2.0, place.y + size.height / 2.0);
            if !(0.0..360.0).contains(&middle.x) || !(0.0..640.0).contains(&middle.y) {
                continue;
            }
            control.mock_single_click(PointerEventButton::Left);
            settle();
            let window = app.window().window();
            window.dispatch_event_with_result(WindowEvent::PointerMoved { position: middle }).unwrap();
            touched += 1;
        }
    }
    assert!(touched > 200, "{touched} controls were touched");
}
