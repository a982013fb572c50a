//! The first run: who is led, where to, and who is left alone.

use pegwise::app::{
    Action, Group, Guide, GuideAction, Hint, InstrumentAction, Lesson, Listed, Notice, RetuneAction, Screen,
    ShapesAction, Stage, State, Tab, TuningsAction, Update, list,
};
use pegwise::instrument::{Catalog, Level};
use pegwise::store::Library;

/// Nothing was ever done, but for what to listen for, which comes before the first step and says itself what to do.
fn fresh() -> State {
    let mut library = Library::default();
    library.settings.has_heard_wobble = true;
    State::new(library)
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);
const CHECKED: Action = Action::Retune(RetuneAction::CheckDone);

#[test]
fn the_first_launch_leads_through_one_tuning_two_steps_and_one_chord() {
    let mut state = fresh();
    let chord = || Action::Shapes(ShapesAction::Chord(3));
    let way = [
        (Action::CloseNotice, Some(Hint::Choose)),
        (choose("guitar-g6"), Some(Hint::Turn)),
        (CONFIRM, Some(Hint::TurnLast)),
        (CONFIRM, Some(Hint::Check)),
        (CHECKED, Some(Hint::ToChords)),
        (Action::Retune(RetuneAction::ToShapes), Some(Hint::Chord)),
        (chord(), Some(Hint::Done)),
    ];
    for (action, hint) in way {
        assert!(!state.library.settings.has_seen_guide);
        state.update(action.clone());
        assert_eq!(Guide::hint(&state), hint, "after {action:?}");
    }
    assert_eq!(state.update(Action::Tab(Tab::Tunings)), Update::Kept, "that it is through is kept");
    assert_eq!((Guide::hint(&state), state.library.settings.has_seen_guide), (None, true));
}

#[test]
fn the_tuning_to_try_stands_first_and_once() {
    let state = fresh();
    let Listed::Rows(rows, _) = list(&state) else { panic!("no list") };
    assert_eq!((rows[0].tuning.id(), rows[0].begins, rows[0].moved), ("guitar-g6", Some(Group::Begin), 2));
    let before_all = rows.iter().take_while(|row| row.begins != Some(Group::All));
    assert_eq!(before_all.filter(|row| row.tuning.id() == "guitar-g6").count(), 1);
}

#[test]
fn who_has_kept_anything_or_was_through_is_not_led() {
    let mut seen = Library::default();
    seen.settings.has_seen_guide = true;
    let mut played = Library::default();
    played.remember_tuning("guitar-dadgad");
    for library in [seen, played] {
        assert!(State::new(library).guide.is_none());
    }
    let mut skipped = fresh();
    assert_eq!(skipped.update(Action::Guide(GuideAction::Skip)), Update::Kept);
    let written = serde_json::to_string(&skipped.library).unwrap();
    assert!(State::new(pegwise::store::read(written.as_bytes()).unwrap()).guide.is_none());
}

/// A library of before the flag was there.
#[test]
fn an_old_library_is_read_and_its_player_left_alone() {
    let text = include_str!("../assets/library_version_1.json");
    assert!(!text.contains("has_seen_guide"));
    let state = State::new(pegwise::store::read(text.as_bytes()).unwrap());
    assert!(state.guide.is_none());
}

#[test]
fn whoever_does_something_else_is_left_alone() {
    let another = || vec![choose("guitar-dadgad")];
    let midway = || vec![choose("guitar-g6"), CONFIRM, choose("guitar-open-d")];
    let doubt = || vec![Action::Retune(RetuneAction::Doubt(3))];
    for actions in [another(), midway(), doubt()] {
        let mut state = fresh();
        for action in actions {
            state.update(action);
        }
        assert!(state.guide.is_none() && state.library.settings.has_seen_guide);
    }
    // A look at another screen is no refusal: the band waits where it belongs.
    let mut state = fresh();
    for action in [Action::Tab(Tab::More), Action::Open(Screen::Settings), Action::Tab(Tab::Shapes)] {
        state.update(action);
        assert_eq!(Guide::hint(&state), None);
    }
    state.update(Action::Tab(Tab::Tunings));
    assert_eq!(Guide::hint(&state), Some(Hint::Choose));
    state.update(Action::Tunings(TuningsAction::Search("dad".to_owned())));
    assert_eq!(Guide::hint(&state), None, "not while something is searched");
}

#[test]
fn a_message_comes_before_the_hint() {
    let mut state = fresh();
    state.tell(Notice::LibraryMissing);
    assert_eq!(Guide::hint(&state), None);
    assert_eq!(state.update(Action::BackKey), Update::Shown, "Back puts the message away first");
    assert_eq!((state.notice.clone(), Guide::hint(&state)), (None, Some(Hint::Choose)));
    assert_eq!(state.update(Action::BackKey), Update::Leave);
}

#[test]
fn messages_stay_until_they_are_put_away_one_after_the_other() {
    let mut state = fresh();
    state.tell(Notice::LibraryMissing);
    state.tell(Notice::StringWouldBreak(1));
    state.tell(Notice::StringWouldBreak(1));
    for _ in 0..3 {
        state.update(Action::Tab(Tab::More));
        assert_eq!(state.notice, Some(Notice::LibraryMissing));
    }
    state.update(Action::CloseNotice);
    assert_eq!(state.notice, Some(Notice::StringWouldBreak(1)));
    state.update(Action::CloseNotice);
    assert_eq!(state.notice, None);
}

#[test]
fn it_can_be_shown_again_from_whatever_is_on_the_guitar() {
    let mut state = fresh();
    state.update(Action::Guide(GuideAction::Skip));
    state.update(choose("guitar-g6"));
    while state.guitar.stage() == Stage::Step {
        state.update(CONFIRM);
    }
    state.update(CHECKED);
    state.update(Action::Guide(GuideAction::Again));
    assert_eq!((state.screen(), Guide::hint(&state)), (Screen::Tunings, Some(Hint::Choose)));
    let lesson = state.guide.as_ref().unwrap().lesson().clone();
    assert_ne!(lesson.id, "guitar-g6", "it is in that");
    state.update(choose(&lesson.id));
    assert_eq!(Guide::hint(&state), Some(Hint::Turn));
}

/// Whatever the instrument: the tuning tried is one of its own, strains no string, and the guide leads to its end.
#[test]
fn every_instrument_with_another_tuning_has_a_first_lesson() {
    let mut with = 0;
    for instrument in Catalog::bundled().instruments() {
        let mut state = fresh();
        state.update(Action::Instrument(InstrumentAction::Instrument(instrument.id().to_owned())));
        let Some(lesson) = Lesson::find(&state) else {
            continue;
        };
        with += 1;
        state.update(Action::Guide(GuideAction::Again));
        state.update(choose(&lesson.id));
        // Where the only other tuning is played on other strings.
        state.update(Action::Retune(RetuneAction::StringsAre(pegwise::app::StringsTold::Noted)));
        let worst = state.guitar.plan().unwrap().safety().worst();
        assert!(worst < Level::TooTight, "{}", lesson.id);
        let mut turned = 0;
        while state.guitar.stage() == Stage::Step {
            assert!(matches!(Guide::hint(&state), Some(Hint::Turn | Hint::TurnLast)), "{}", lesson.id);
            state.update(CONFIRM);
            turned += 1;
        }
        assert_eq!(turned, lesson.strings, "{}", lesson.id);
        state.update(CHECKED);
        assert_eq!(Guide::hint(&state), Some(Hint::ToChords), "{}", lesson.id);
        state.update(Action::Retune(RetuneAction::ToShapes));
        assert_eq!(Guide::hint(&state), Some(Hint::Chord), "{}", lesson.id);
    }
    // The others are listed with their usual tuning alone.
    assert!(with >= 45, "{with} instruments have a first lesson");
}
