//! The browser's door: the app in a page (`ui/web`), as `android_main` is the phone's.
//!
//! A browser shows the app as one picture, with nothing in it that a screen reader or a test could find. So the page is told
//! what the screen says ([`said`]): roles, names, values, states and places, of the same properties that a desktop's screen
//! reader is given. `ui/web/mirror.js` makes elements of it, which act through [`act_on`].

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::time::Duration;

use i_slint_core::accessibility::{
    AccessibilityAction, AccessibleStringProperty, SupportedAccessibilityAction, accessible_descendents,
    nearest_accessible_item,
};
use i_slint_core::items::{AccessibleRole, ItemRc};
use i_slint_core::window::WindowInner;
use serde::Serialize;
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition, RenderingState};
use wasm_bindgen::prelude::wasm_bindgen;

use crate::app::{Action, App, ExchangeAction, Out, Screen};
#[cfg(feature = "scenes")]
use crate::app::{State, scenes};
use crate::platform::Browser;
#[cfg(feature = "scenes")]
use crate::store::Library;

/// The page is told of a change no oftener than this.
const TELL_EVERY: Duration = Duration::from_millis(100);

thread_local! {
    static APP: RefCell<Option<Rc<App>>> = const { RefCell::new(None) };
    static TELLING: slint::Timer = slint::Timer::default();
    static TOLD: RefCell<String> = const { RefCell::new(String::new()) };
    static ASKED: Cell<bool> = const { Cell::new(false) };
}

#[cfg(feature = "scenes")]
#[wasm_bindgen(raw_module = "./machine.js")]
extern "C" {
    /// The scene that the page's address names.
    #[wasm_bindgen(js_name = wantedScene)]
    fn wanted_scene() -> Option<String>;
}

#[wasm_bindgen(raw_module = "./mirror.js")]
extern "C" {
    /// What the screen says now, as [`said`] returns it.
    fn mirror(said: &str);
    /// The app has met a fault of its own and does nothing more.
    fn fell(words: &str);
}

/// Opens the app in the page's canvas.
///
/// # Errors
/// When the browser gives no canvas to draw on.
#[wasm_bindgen(start)]
pub fn start() -> Result<(), String> {
    // A browser says only that something was unreachable.
    std::panic::set_hook(Box::new(|fault| fell(&fault.to_string())));
    let app = open().map_err(|fault| fault.to_string())?;
    APP.set(Some(Rc::clone(&app)));
    // What is drawn anew may say something new; while nothing is drawn, nothing is asked.
    let drawn = app.window().window().set_rendering_notifier(|state, _| {
        if matches!(state, RenderingState::AfterRendering) {
            tell_soon();
        }
    });
    drop(drawn);
    app.run().map_err(|fault| fault.to_string())
}

#[cfg(not(feature = "scenes"))]
fn open() -> Result<Rc<App>, slint::PlatformError> {
    App::new(Rc::new(Browser::default()))
}

#[cfg(feature = "scenes")]
fn open() -> Result<Rc<App>, slint::PlatformError> {
    wanted_scene().map_or_else(|| App::new(Rc::new(Browser::default())), |name| in_scene(&name))
}

/// Opens the app in one of the states that `pegwise screens` draws, kept nowhere: for checks, and to be looked at.
#[cfg(feature = "scenes")]
fn in_scene(name: &str) -> Result<Rc<App>, slint::PlatformError> {
    let scene = scenes().into_iter().find(|scene| scene.name == name).ok_or("no such scene")?;
    let mut library = Library::default();
    library.settings.has_seen_guide = true;
    library.settings.has_heard_wobble = true;
    let mut state = State::new(library);
    state.notice.clone_from(&scene.notice);
    let app = App::unkept(state)?;
    for tap in scene.taps {
        app.act(tap);
    }
    Ok(app)
}

/// Returns the names that `#scene=` takes in the page's address.
#[cfg(feature = "scenes")]
#[wasm_bindgen(js_name = sceneNames)]
#[must_use]
pub fn scene_names() -> Vec<String> {
    scenes().iter().map(|scene| scene.name.to_owned()).collect()
}

fn tell_soon() {
    TELLING.with(|telling| {
        if telling.running() {
            ASKED.set(true);
            return;
        }
        telling.start(slint::TimerMode::SingleShot, TELL_EVERY, || {
            ASKED.set(false);
            let now = said();
            if TOLD.with_borrow(|told| *told != now) {
                mirror(&now);
                TOLD.set(now);
            }
            if ASKED.get() {
                tell_soon();
            }
        });
    });
}

/// An element as a screen reader is told of it. What is empty or usual is left out.
#[derive(Serialize)]
struct Said {
    role: String,
    name: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    value: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    description: String,
    /// Left, top, width and height in dp.
    place: [f32; 4],
    /// No part of it is in sight: it is scrolled away.
    #[serde(skip_serializing_if = "is_false")]
    away: bool,
    #[serde(skip_serializing_if = "is_false")]
    off: bool,
    #[serde(skip_serializing_if = "is_false")]
    focused: bool,
    #[serde(skip_serializing_if = "is_false")]
    acts: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    checked: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    selected: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expanded: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    live: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    range: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    inner: Vec<Said>,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes fields so")]
fn is_false(value: &bool) -> bool {
    !*value
}

/// Returns what the screen says, as JSON: an element as `role`, `name`, `place` (left, top, width, height in dp) and, where
/// there is more to say, `value`, `description`, `away`, `off`, `focused`, `acts`, `checked`, `selected`, `expanded`, `live`,
/// `range` and, in `inner`, the elements inside, in the order of the screen.
#[wasm_bindgen]
#[must_use]
pub fn said() -> String {
    APP.with_borrow(|app| {
        let Some(app) = app else { return String::new() };
        let window = WindowInner::from_pub(app.window().window());
        let focused = window.focus_item.borrow().upgrade().map(nearest_accessible_item);
        let all = say(&ItemRc::new_root(window.component()), focused.as_ref());
        serde_json::to_string(&all).unwrap_or_default()
    })
}

fn say(below: &ItemRc, focused: Option<&ItemRc>) -> Vec<Said> {
    let mut all = Vec::new();
    for item in accessible_descendents(below) {
        let inner = say(&item, focused);
        match tell(&item, focused) {
            Some(told) => all.push(Said { inner, ..told }),
            // What has no place of its own may hold what has one.
            None => all.extend(inner),
        }
    }
    all
}

fn tell(item: &ItemRc, focused: Option<&ItemRc>) -> Option<Said> {
    let size = item.geometry().size;
    let role = item.accessible_role();
    if size.width <= 0.0 || size.height <= 0.0 || role == AccessibleRole::None {
        return None;
    }
    let property = |what| item.accessible_string_property(what).filter(|text| !text.is_empty());
    let is = |what| property(what).map(|text| text == "true");
    let text = |what| property(what).map(|text| text.replace(['\n', '\t'], " ")).unwrap_or_default();
    let number = |what| property(what).and_then(|text| text.parse::<f64>().ok());
    let corner = item.map_to_window(item.geometry().origin);
    let least = number(AccessibleStringProperty::ValueMinimum);
    let most = number(AccessibleStringProperty::ValueMaximum);
    let can = |what| is(what) == Some(true);
    Some(Said {
        role: role.to_string(),
        name: text(AccessibleStringProperty::Label),
        value: text(AccessibleStringProperty::Value),
        description: text(AccessibleStringProperty::Description),
        place: [corner.x, corner.y, size.width, size.height],
        away: !item.is_visible(),
        off: is(AccessibleStringProperty::Enabled) == Some(false),
        focused: focused == Some(item),
        acts: item.supported_accessibility_actions().contains(SupportedAccessibilityAction::Default),
        checked: is(AccessibleStringProperty::Checked).filter(|_| can(AccessibleStringProperty::Checkable)),
        selected: is(AccessibleStringProperty::ItemSelected),
        expanded: is(AccessibleStringProperty::Expanded).filter(|_| can(AccessibleStringProperty::Expandable)),
        live: property(AccessibleStringProperty::LiveRegion).filter(|live| *live != "off").map(Into::into),
        range: least.zip(most).map(|(least, most)| [least, most]),
        inner: Vec::new(),
    })
}

/// Finds the element that is at `path` in what was last told, if it is still the one that was told: role and name as told.
fn find(path: &str, role: &str, name: &str) -> Option<ItemRc> {
    fn all(below: &ItemRc) -> Vec<ItemRc> {
        accessible_descendents(below)
            .flat_map(|item| if tell(&item, None).is_some() { vec![item] } else { all(&item) })
            .collect()
    }
    APP.with_borrow(|app| {
        let window = WindowInner::from_pub(app.as_ref()?.window().window());
        let mut item = ItemRc::new_root(window.component());
        for place in path.split('.') {
            item = all(&item).into_iter().nth(place.parse().ok()?)?;
        }
        let told = tell(&item, None)?;
        (told.role == role && told.name == name).then_some(item)
    })
}

/// Does what a screen reader asks of the element at `path` (places from 0, a dot between the levels), if that is still the
/// one of this role and name: `default`, `increment`, `decrement`, or `set`, with a value. Returns whether it was.
#[wasm_bindgen(js_name = actOn)]
#[must_use]
pub fn act_on(path: &str, role: &str, name: &str, what: &str, value: Option<String>) -> bool {
    with_app(|_| ());
    let Some(item) = find(path, role, name) else { return false };
    let offers = item.supported_accessibility_actions();
    match (what, value) {
        ("increment", _) => item.accessible_action(&AccessibilityAction::Increment),
        ("decrement", _) => item.accessible_action(&AccessibilityAction::Decrement),
        ("set", Some(value)) => item.accessible_action(&AccessibilityAction::SetValue(value.into())),
        _ if offers.contains(SupportedAccessibilityAction::Default) => {
            item.accessible_action(&AccessibilityAction::Default);
        }
        // A field is entered, and whatever tells of no action of its own is touched, in its middle.
        _ => {
            let corner = item.map_to_window(item.geometry().origin);
            let size = item.geometry().size;
            touch(LogicalPosition::new(corner.x + size.width / 2.0, corner.y + size.height / 2.0));
        }
    }
    with_app(|_| true)
}

/// Does something with the app that its own loop did not ask for, and wakes that: what follows is its turn.
///
/// What an event of the page has left undone is done first. Slint 1.18.1 ends the app when a screen goes away whose changes
/// are still to be told: its field gives the keys back to the page while it is dropped, and the page says so at once.
fn with_app<T: Default>(act: impl FnOnce(&App) -> T) -> T {
    slint::platform::update_timers_and_animations();
    let app = APP.with_borrow(Clone::clone);
    let done = app.map(|app| act(&app)).unwrap_or_default();
    // Where no loop runs yet, it begins with everything that waits.
    let _ = slint::invoke_from_event_loop(|| ());
    done
}

fn touch(position: LogicalPosition) {
    with_app(|app| {
        let window = app.window().window();
        let button = PointerEventButton::Left;
        for event in
            [WindowEvent::PointerPressed { position, button }, WindowEvent::PointerReleased { position, button }]
        {
            window.dispatch_event(event);
        }
        window.dispatch_event(WindowEvent::PointerExited);
    });
}

/// Scrolls what lies at a place, by so many dp, for a screen reader that goes on to something out of sight.
#[wasm_bindgen(js_name = scrollAt)]
pub fn scroll_at(x: f32, y: f32, by_x: f32, by_y: f32) {
    with_app(|app| {
        let window = app.window().window();
        let position = LogicalPosition::new(x, y);
        window.dispatch_event(WindowEvent::PointerScrolled { position, delta_x: -by_x, delta_y: -by_y });
    });
}

/// Goes one level up. Returns whether there was one.
#[wasm_bindgen(js_name = goBack)]
#[must_use]
pub fn go_back() -> bool {
    with_app(|app| app.act(Action::BackKey))
}

/// Takes in a file that was dropped on the page, or a text that was pasted.
#[wasm_bindgen(js_name = takeIn)]
pub fn take_in(bytes: Vec<u8>) {
    with_app(|app| app.take_in(bytes));
}

/// Shows where the whole library can be handed out.
#[wasm_bindgen(js_name = showExport)]
pub fn show_export() {
    with_app(|app| app.act(Action::Open(Screen::Exchange)));
    with_app(|app| app.act(Action::Exchange(ExchangeAction::Out(Out::Library))));
}

/// Returns how many songs are kept.
#[wasm_bindgen(js_name = songCount)]
#[must_use]
pub fn song_count() -> usize {
    APP.with_borrow(|app| app.as_ref().map_or(0, |app| app.with(|state| state.library.songs().len())))
}
