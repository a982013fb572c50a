//! Opens the window for a test and finds what a finger would.

use std::rc::Rc;

use i_slint_backend_testing::{
    AccessibleRole, ElementHandle, ElementQuery, TestingBackend, TestingBackendOptions, mock_elapsed_time,
};
use pegwise::app::{Action, App, State};
use pegwise::platform::Machine;
use pegwise::store::Library;
use slint::{ComponentHandle, LogicalSize};

thread_local! {
    /// Slint's headless backend is set up once for each thread, which is once for each test. It measures and draws with
    /// the app's own letters; time stands still until a test moves it.
    static BACKEND: () = slint::platform::set_platform(Box::new(TestingBackend::new(TestingBackendOptions {
        mock_time: true,
        renderer_name: Some("software".into()),
        ..TestingBackendOptions::default()
    })))
    .unwrap();
}

/// The app in a window of a size in dp, in English, as after a first launch.
pub(crate) fn open(width: f32, height: f32) -> Rc<App> {
    open_with(Library::default(), width, height)
}

/// All that is written in sentences and all that is spoken as text, each once.
pub(crate) fn texts(app: &App) -> Vec<String> {
    let inherits = ElementQuery::from_root(app.window()).match_descendants().match_inherits("Text").find_all();
    let role = AccessibleRole::Text;
    let spoken = ElementQuery::from_root(app.window()).match_descendants().match_accessible_role(role).find_all();
    let mut texts: Vec<String> =
        inherits.into_iter().chain(spoken).filter_map(|element| element.accessible_label()).map(Into::into).collect();
    texts.sort();
    texts.dedup();
    texts
}

/// The app with what a player has kept.
pub(crate) fn open_with(mut library: Library, width: f32, height: f32) -> Rc<App> {
    library.settings.language.get_or_insert_with(|| "en".to_owned());
    open_in(State::new(library), width, height)
}

/// The app in a state.
pub(crate) fn open_in(mut state: State, width: f32, height: f32) -> Rc<App> {
    set_up();
    // What to listen for is said once, before the first step: who opens the app here has heard it.
    state.library.settings.has_heard_wobble = true;
    let app = App::unkept(state).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(width, height));
    app
}

/// Readies the headless backend for a test that makes its own window.
pub(crate) fn set_up() {
    BACKEND.with(|()| ());
}

/// The app on a machine that a test plays.
pub(crate) fn open_on(machine: Rc<dyn Machine>, mut state: State, width: f32, height: f32) -> Rc<App> {
    set_up();
    state.library.settings.has_heard_wobble = true;
    let app = App::on_machine(machine, state).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(width, height));
    app
}

/// Gives the window so many points a dp, at a size in dp. The testing window takes its size in points for dp, so it is told
/// both.
pub(crate) fn set_density(app: &App, density: f32, width: f32, height: f32) {
    use slint::platform::WindowEvent;
    let window = app.window().window();
    let size = LogicalSize::new(width, height);
    window.dispatch_event(WindowEvent::ScaleFactorChanged { scale_factor: density });
    window.set_size(size.to_physical(density));
    window.dispatch_event(WindowEvent::Resized { size });
}

/// The roles of what can be tapped or typed into.
pub(crate) const ROLES: [AccessibleRole; 6] = [
    AccessibleRole::Button,
    AccessibleRole::Checkbox,
    AccessibleRole::Switch,
    AccessibleRole::RadioButton,
    AccessibleRole::Tab,
    AccessibleRole::TextInput,
];

/// The place of an element's role among them.
fn place_of_role(element: &ElementHandle) -> Option<usize> {
    let role = element.accessible_role()?;
    ROLES.iter().position(|one| *one == role)
}

/// Everything that can be tapped now, role by role; found in one walk through the tree.
pub(crate) fn controls(app: &App) -> Vec<ElementHandle> {
    let is_there = |element: &ElementHandle| element.size().width > 0.0 && element.size().height > 0.0;
    let mut found = ElementQuery::from_root(app.window())
        .match_descendants()
        .match_predicate(move |element| place_of_role(element).is_some() && is_there(element))
        .find_all();
    found.sort_by_cached_key(place_of_role);
    found
}

/// The control whose label starts with `label`.
pub(crate) fn find(app: &App, label: &str) -> Option<ElementHandle> {
    controls(app).into_iter().find(|element| element.accessible_label().is_some_and(|found| found.starts_with(label)))
}

/// Taps the control whose label starts with `label`, as a screen reader or a finger does.
pub(crate) fn tap(app: &App, label: &str) {
    let element = find(app, label).unwrap_or_else(|| {
        let labels: Vec<_> = controls(app).iter().filter_map(|found| found.accessible_label()).collect();
        panic!("nothing called \"{label}\" among {labels:?}")
    });
    element.invoke_accessible_default_action();
    settle();
}

/// Lets what was tapped come about: the app acts when the tap is over.
pub(crate) fn settle() {
    mock_elapsed_time(std::time::Duration::from_millis(1));
}

/// Waits for other threads until something is so.
pub(crate) fn until(app: &App, what: &str, is_so: impl Fn(&State) -> bool) {
    let begun = std::time::Instant::now();
    while !app.with(&is_so) {
        assert!(begun.elapsed() < std::time::Duration::from_secs(60), "{what} does not come");
        std::thread::sleep(std::time::Duration::from_millis(5));
        app.hear();
    }
    settle();
}

/// Types into the text field with this label.
pub(crate) fn type_into(app: &App, label: &str, text: &str) {
    let field = find(app, label).unwrap_or_else(|| panic!("no field \"{label}\""));
    field.set_accessible_value(text);
}

/// Does what leads to a state, without taps.
pub(crate) fn act(app: &App, actions: impl IntoIterator<Item = Action>) {
    for action in actions {
        app.act(action);
    }
}
