//! The words that a player may not know: tapped where they stand, put away, tapped again, by finger and by key.

use i_slint_backend_testing::ElementHandle;
use i_slint_core::accessibility::AccessibleStringProperty;
use i_slint_core::item_tree::ParentItemTraversalMode;
use i_slint_core::window::WindowInner;
use pegwise::app::{Action, App, ExplainAction, Screen, State, Tab, Term, scenes};
use slint::ComponentHandle;
use slint::platform::{Key, WindowEvent};

use crate::bench_window::{act, find, open, settle, tap, texts};

/// Each word, the scene it is met in, and how its explanation begins.
const MET: [(Term, &str, &str, &str); 7] = [
    (Term::Wobble, "wobble", "explained-wobble", "Two notes almost alike"),
    (Term::Harmonic, "harmonic", "explained-harmonic", "Touch the string lightly"),
    (Term::Cents, "cents", "explained-cents", "A hundred cents"),
    (Term::Pair, "pair", "explained-pair", "Two strings side by side"),
    (Term::Drone, "drone", "explained-drone", "A drone keeps"),
    (Term::Round, "round", "explained-round", "Each string you move"),
    (Term::Slack, "slack", "explained-slack", "A slack string"),
];

/// The scene, before the word is tapped.
fn met_in(name: &str) -> std::rc::Rc<App> {
    let scene = scenes().into_iter().find(|scene| scene.name == name).unwrap();
    // So high that all of the page is in sight.
    let app = open(400.0, 3000.0);
    let before: Vec<Action> = scene.taps.into_iter().filter(|action| !matches!(action, Action::Explain(_))).collect();
    act(&app, before);
    app
}

fn chip(app: &App, word: &str) -> ElementHandle {
    let question = format!("What does “{word}” mean?");
    find(app, &question).unwrap_or_else(|| panic!("{question}"))
}

fn is_told(app: &App, beginning: &str) -> bool {
    texts(app).iter().any(|text| text.starts_with(beginning))
}

fn press(app: &App, key: Key) {
    let text = slint::SharedString::from(key);
    app.window().window().dispatch_event(WindowEvent::KeyPressed { text: text.clone() });
    app.window().window().dispatch_event(WindowEvent::KeyReleased { text });
    settle();
    // What watches for a change is told at the next turn.
    settle();
}

/// What has the keys, by its label; none where only the window has them.
fn with_keys(app: &App) -> Option<String> {
    let mut item = WindowInner::from_pub(app.window().window()).focus_item.borrow().upgrade()?;
    loop {
        if let Some(label) =
            item.accessible_string_property(AccessibleStringProperty::Label).filter(|label| !label.is_empty())
        {
            return Some(label.into());
        }
        item = item.parent_item(ParentItemTraversalMode::StopAtPopups)?;
    }
}

fn tab_to(app: &App, label: &str) {
    for _ in 0..200 {
        press(app, Key::Tab);
        if with_keys(app).is_some_and(|found| found == label) {
            return;
        }
    }
    panic!("Tab does not reach {label}");
}

#[test]
fn each_word_is_told_where_it_is_met_and_again_later() {
    for (term, word, scene, beginning) in MET {
        let app = met_in(scene);
        let before = (app.with(State::screen), chip(&app, word).absolute_position());
        assert!(chip(&app, word).size().height >= 48.0 && chip(&app, word).size().width >= 48.0, "{word}");
        assert!(!is_told(&app, beginning), "{word}");
        for _ in 0..2 {
            tap(&app, &format!("What does “{word}” mean?"));
            assert_eq!(app.with(|state| state.explained), Some(term));
            assert!(is_told(&app, beginning), "{word}: {:?}", texts(&app));
            // Nothing on the page has moved.
            assert_eq!((app.with(State::screen), chip(&app, word).absolute_position()), before, "{word}");
            tap(&app, "Close the explanation");
            assert!(!is_told(&app, beginning), "{word}");
        }
        // Escape and the phone's Back put it away and leave the screen where it is.
        for key in [Key::Escape, Key::Back] {
            tap(&app, &format!("What does “{word}” mean?"));
            press(&app, key);
            assert!(!is_told(&app, beginning), "{word}");
            assert_eq!((app.with(State::screen), chip(&app, word).absolute_position()), before, "{word}");
        }
        // Tapped again, the word puts it away itself.
        tap(&app, &format!("What does “{word}” mean?"));
        tap(&app, &format!("What does “{word}” mean?"));
        assert!(!is_told(&app, beginning), "{word}");
    }
}

#[test]
fn by_keys_alone_it_opens_and_goes_and_the_keys_are_not_lost() {
    for (_, word, scene, beginning) in MET {
        let app = met_in(scene);
        let question: String = chip(&app, word).accessible_label().unwrap().into();
        tab_to(&app, &question);
        press(&app, Key::Return);
        assert!(is_told(&app, beginning), "{word}");
        assert_eq!(with_keys(&app).as_deref(), Some(question.as_str()));
        press(&app, Key::Escape);
        assert!(!is_told(&app, beginning), "{word}");
        assert_eq!(with_keys(&app).as_deref(), Some(question.as_str()));
        press(&app, Key::Return);
        tab_to(&app, "Close the explanation");
        press(&app, Key::Return);
        assert!(!is_told(&app, beginning), "{word}");
        assert_eq!(with_keys(&app).as_deref(), Some(question.as_str()), "its cross is gone, the word has the keys");
    }
}

#[test]
fn an_explanation_goes_with_its_screen() {
    let app = open(360.0, 640.0);
    act(
        &app,
        [Action::Tab(Tab::More), Action::Open(Screen::Settings), Action::Explain(ExplainAction::Tap(Term::Cents))],
    );
    assert_eq!(app.with(|state| state.explained), Some(Term::Cents));
    act(&app, [Action::Back]);
    assert_eq!(app.with(|state| (state.explained, state.screen())), (None, Screen::More));
}

#[test]
fn all_the_words_stand_together_under_about() {
    let app = open(400.0, 9000.0);
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::About)]);
    for (_, word, _, beginning) in MET {
        assert!(is_told(&app, beginning), "{word}");
    }
}
