//! The words that are explained where they stand: open until they are put away, or what they stood on is left.

use pegwise::app::{Action, ExplainAction, RetuneAction, Screen, State, Tab, Term, TuningsAction, Update};
use pegwise::store::Library;

fn tap(term: Term) -> Action {
    Action::Explain(ExplainAction::Tap(term))
}

#[test]
fn back_puts_the_explanation_away_and_leaves_the_screen() {
    let mut state = State::new(Library::default());
    state.update(Action::Tab(Tab::More));
    state.update(Action::Open(Screen::Settings));
    for term in Term::ALL {
        assert_eq!(state.update(tap(term)), Update::Shown);
        assert_eq!(state.explained, Some(term));
        assert_eq!(state.update(Action::BackKey), Update::Shown);
        assert_eq!((state.explained, state.screen()), (None, Screen::Settings));
    }
}

#[test]
fn it_goes_with_what_it_stood_on() {
    let mut state = State::new(Library::default());
    // Another screen, another tab, the next step, the check.
    state.update(Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned())));
    for leave in [
        Action::Retune(RetuneAction::Confirm),
        Action::Retune(RetuneAction::Confirm),
        Action::Open(Screen::About),
        Action::Back,
        Action::Tab(Tab::Shapes),
    ] {
        state.update(tap(Term::Wobble));
        assert_eq!(state.explained, Some(Term::Wobble));
        state.update(leave.clone());
        assert_eq!(state.explained, None, "{leave:?}");
    }
}

#[test]
fn it_stays_while_other_things_happen_on_the_screen() {
    let mut state = State::new(Library::default());
    state.update(Action::Tab(Tab::More));
    state.update(Action::Open(Screen::Settings));
    state.update(tap(Term::Cents));
    state.update(Action::Settings(pegwise::app::SettingsAction::LeftHanded));
    assert_eq!(state.explained, Some(Term::Cents));
}
