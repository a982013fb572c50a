//! Open doors: what is under way is gone on with from the first screen, what matters is seen on its screen without
//! scrolling, and what opens is called what the button said.

use std::collections::BTreeSet;

use i_slint_backend_testing::AccessibleRole;
use pegwise::app::{Action, App, RetuneAction, Screen, SongsAction, StageAction, State, Tab, TuningsAction};

use crate::bench_window::{act, find, open, open_in, settle, tap};
use crate::every_screen::ways;
use crate::tree::{Piece, pieces};

/// A retuning left half done: one tap on the first screen leads back to its step.
#[test]
fn a_half_done_retuning_is_gone_on_with_from_the_first_screen() {
    let app = open(360.0, 640.0);
    assert!(find(&app, "Go on with").is_none(), "nothing is under way");
    let choose = Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned()));
    act(&app, [choose, Action::Retune(RetuneAction::Confirm), Action::Tab(Tab::Songs), Action::Tab(Tab::Tunings)]);
    let name = app.with(|state| state.target_name()).unwrap();
    let row =
        pieces(&app).into_iter().find(|piece| is_called(piece, &format!("Go on with {name}"))).expect("it is listed");
    assert!(row.seen.height() >= 47.0, "and seen: {:?}", row.seen);
    tap(&app, "Go on with");
    assert_eq!(app.with(State::screen), Screen::Retune);
    act(
        &app,
        [Action::Retune(RetuneAction::Confirm), Action::Retune(RetuneAction::CheckDone), Action::Tab(Tab::Tunings)],
    );
    assert!(find(&app, "Go on with").is_none(), "it is done");
}

/// A set list under way: one tap leads to its song, or to the retuning for it.
#[test]
fn a_set_list_under_way_is_gone_on_with_from_the_first_screen() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    let (list, title) = app.with(|state| {
        let list = &state.library.set_lists()[0];
        (list.id, list.title.clone())
    });
    act(
        &app,
        [Action::Songs(SongsAction::OpenList(list)), Action::Stage(StageAction::Begin), Action::Tab(Tab::Tunings)],
    );
    let at = app.with(|state| state.library.on_stage.clone()).expect("it is under way");
    tap(&app, &format!("Go on with {title}"));
    assert!([Screen::Playing, Screen::Retune].contains(&app.with(State::screen)), "{:?}", app.with(State::screen));
    assert_eq!(app.with(|state| state.library.on_stage.clone()), Some(at));
    act(&app, [Action::Stage(StageAction::End), Action::Tab(Tab::Tunings)]);
    assert!(find(&app, &format!("Go on with {title}")).is_none());
}

fn is_called(piece: &Piece, label: &str) -> bool {
    piece.control.as_ref().is_some_and(|control| control.label == label)
}

/// Hearing a shape and all chords of the key are on the first screen of Shapes, not below it.
#[test]
fn what_matters_on_shapes_is_seen_without_scrolling() {
    for (width, height) in [(360.0, 640.0), (412.0, 915.0), (800.0, 1280.0), (915.0, 412.0)] {
        let app = open(width, height);
        act(&app, [Action::Tab(Tab::Shapes)]);
        for label in ["Hear it", "All chords of the key", "Next shape"] {
            let piece = pieces(&app).into_iter().find(|piece| is_called(piece, label));
            let piece = piece.unwrap_or_else(|| panic!("{width} × {height}: no \"{label}\""));
            let is_whole = (piece.seen.height() - piece.place.height()).abs() < 1.0 && piece.seen.width() > 40.0;
            assert!(is_whole, "{width} × {height}: {label} {:?} of {:?}", piece.seen, piece.place);
        }
        tap(&app, "Hear it");
        let strum = pieces(&app).into_iter().find(|piece| is_called(piece, "Hear it strummed")).unwrap();
        assert!(strum.seen.height() > 40.0, "{width} × {height}: {:?}", strum.seen);
    }
}

/// What a button may be called other than what it opens, and why.
const OTHERWISE: [(&str, &str, &str); 5] = [
    ("Make a set list", "Set list without a name", "a list just made has no name yet"),
    ("Whole neck", "major", "the neck is headed by the scale it shows"),
    ("Print or share", "Print or share", "one page hands out a tuning, a shape, a key, a song or a set list"),
    ("Export your songs", "Import and export", "a reminder says why it comes"),
    ("not as you wanted", "How", "it leads to where that can be changed"),
];

/// Every button of every screen that opens a screen below it: the title is what the button said, or part of it.
#[test]
fn what_opens_is_called_what_the_button_said() {
    let mut seen = BTreeSet::new();
    let mut opened = 0;
    let mut report = String::new();
    for (name, way) in ways() {
        let first = open(360.0, 640.0);
        act(&first, way.clone());
        act(&first, [Action::CloseNotice]);
        let state = first.with(Clone::clone);
        drop(first);
        let there = || {
            let app = open_in(state.clone(), 360.0, 640.0);
            settle();
            app
        };
        let app = there();
        let screen = app.with(State::screen);
        let before = there();
        act(&before, [Action::Back]);
        let before = before.with(State::screen);
        let all = pieces(&app);
        for button in all.iter().filter(|piece| is_button(piece)) {
            let label = button.control.as_ref().unwrap().label.clone();
            if !seen.insert((format!("{screen:?}"), label.clone())) {
                continue;
            }
            let words = words_of(&all, &label);
            let app = there();
            let Some(found) = find(&app, &label) else { continue };
            found.invoke_accessible_default_action();
            settle();
            // What leads back where one came from opens nothing.
            let opens = ![screen, before].contains(&app.with(State::screen));
            let Some(title) = title(&app).filter(|_| opens) else { continue };
            opened += 1;
            let said = [vec![label.clone()], words].concat();
            let is_same = |said: &String| {
                let (said, title) = (said.to_lowercase(), title.to_lowercase());
                said.contains(&title) || title.contains(&said)
            };
            let is_allowed = OTHERWISE.iter().any(|(button, opens, _)| label.contains(button) && title.contains(opens));
            if !said.iter().any(is_same) && !is_allowed {
                report.push_str(&format!("  {name}: {said:?} opens \"{title}\"\n"));
            }
        }
    }
    assert!(opened >= 30, "{opened} were opened");
    assert!(report.is_empty(), "\n{report}");
}

fn is_button(piece: &Piece) -> bool {
    piece.control.as_ref().is_some_and(|control| {
        control.enabled && control.role == AccessibleRole::Button && control.label != "Back" && piece.list.is_none()
    })
}

/// The words drawn on a button.
fn words_of(all: &[Piece], label: &str) -> Vec<String> {
    let Some(at) = all.iter().position(|piece| is_called(piece, label)) else { return Vec::new() };
    let on_it = all.iter().filter(|piece| piece.within.contains(&at));
    on_it.filter_map(|piece| piece.words.as_ref()).map(|words| words.text.clone()).collect()
}

/// The heading beside the way back.
fn title(app: &App) -> Option<String> {
    let all = pieces(app);
    let back = all.iter().find(|piece| is_called(piece, "Back"))?.place;
    let headings = all.iter().filter(|piece| piece.kind == "Heading" && piece.words.is_some() && !piece.is_told);
    let nearest = headings
        .min_by(|one, other| (one.place.top - back.top).abs().total_cmp(&(other.place.top - back.top).abs()))?;
    nearest.words.as_ref().map(|words| words.text.clone())
}
