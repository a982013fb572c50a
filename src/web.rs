//! The touch bench's door: the app in a browser page, so that real touches reach it (`tests/touch`).
//!
//! A browser shows the app as one picture, with nothing in it that a test could find. So the page may ask for what a
//! screen reader would be told ([`said`]): the same roles, names and values as on a desktop, and where each stands.
//! Nothing of the app's own state is given away. Nothing is kept: the machine has no folder.

use std::cell::RefCell;
use std::fmt::Write;
use std::rc::Rc;

use i_slint_core::accessibility::{AccessibleStringProperty, accessible_descendents};
use i_slint_core::items::{AccessibleRole, ItemRc};
use i_slint_core::window::WindowInner;
use slint::ComponentHandle;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::app::App;
use crate::platform::Fake;

thread_local! {
    static APP: RefCell<Option<Rc<App>>> = const { RefCell::new(None) };
}

#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_namespace = console)]
    fn error(text: &str);
}

/// Opens the app in the page's canvas.
///
/// # Errors
/// When the browser gives no canvas to draw on.
#[wasm_bindgen(start)]
pub fn start() -> Result<(), String> {
    // A browser says only that something was unreachable.
    std::panic::set_hook(Box::new(|fault| error(&fault.to_string())));
    let app = App::new(Rc::new(Fake::new(None))).map_err(|fault| fault.to_string())?;
    APP.set(Some(Rc::clone(&app)));
    app.run().map_err(|fault| fault.to_string())
}

/// Returns what a screen reader would be told, one element a line: role, left, top, width and height in dp, whether it
/// is checked, whether it can be used, value, name; between them tabs. Elements that are scrolled out of sight are left
/// out, those partly in sight are not.
#[wasm_bindgen]
#[must_use]
pub fn said() -> String {
    let mut lines = String::new();
    APP.with_borrow(|app| {
        let Some(app) = app else { return };
        let window = WindowInner::from_pub(app.window().window());
        tell(&ItemRc::new_root(window.component()), &mut lines);
    });
    lines
}

fn tell(below: &ItemRc, lines: &mut String) {
    for item in accessible_descendents(below) {
        let property = |what| item.accessible_string_property(what).unwrap_or_default();
        let role = item.accessible_role();
        let size = item.geometry().size;
        if item.is_visible() && size.width > 0.0 && size.height > 0.0 && role != AccessibleRole::None {
            let corner = item.map_to_window(item.geometry().origin);
            let one_line = |text: slint::SharedString| text.replace(['\n', '\t'], " ");
            let _ = writeln!(
                lines,
                "{role}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}",
                corner.x,
                corner.y,
                size.width,
                size.height,
                property(AccessibleStringProperty::Checked),
                property(AccessibleStringProperty::Enabled),
                one_line(property(AccessibleStringProperty::Value)),
                one_line(property(AccessibleStringProperty::Label)),
            );
        }
        tell(&item, lines);
    }
}
