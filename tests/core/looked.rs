//! Another tuning is looked at without anything on the guitar changing.

use pegwise::app::{
    Action, InstrumentAction, LookAction, NeckAction, PickAction, RetuneAction, Screen, ShapesAction, Stage, State,
    Tab, TuningsAction, Watch,
};
use pegwise::instrument::{Catalog, Tuning};
use pegwise::store::Library;
use pegwise::theory::SpellingChoice;
use proptest::prelude::*;

use crate::one_guitar::{any_deed, reopened};

fn fresh() -> State {
    State::new(Library::default())
}

fn look(id: &str) -> Action {
    Action::Tunings(TuningsAction::Look(id.to_owned()))
}

const BACK: Action = Action::Look(LookAction::Back);

fn open_notes(state: &State) -> String {
    let board = state.board();
    Tuning::new(board.open_pitches().to_vec()).unwrap().ascii(SpellingChoice::Customary)
}

/// Shapes, neck and keys are those of the tuning; the guitar, what is listened for and what is kept are not.
#[test]
fn a_tuning_is_looked_at_and_the_guitar_stays_as_it_is() {
    let mut state = fresh();
    state.update(Action::Tab(Tab::Shapes));
    state.update(Action::Shapes(ShapesAction::Chord(4)));
    state.update(Action::Shapes(ShapesAction::Next));
    let seen = |state: &State| (state.shapes.key, state.shapes.chord, state.shapes.shape().cloned());
    let (before, library, watch) = (seen(&state), state.library.clone(), Watch::of(&state));
    let record = state.guitar.record().clone();
    state.update(Action::Tab(Tab::Tunings));
    state.update(look("guitar-open-d"));
    assert_eq!((state.screen(), open_notes(&state).as_str()), (Screen::Shapes, "D A D F# A D"));
    assert_eq!(state.shapes.key.to_string(), "D", "the key that the tuning invites");
    for action in [
        Action::Pick(PickAction::KeyRoot(9)),
        Action::Shapes(ShapesAction::Chord(1)),
        Action::Open(Screen::Neck),
        Action::Neck(NeckAction::Cell { fret: 2, course: 3 }),
        Action::Open(Screen::KeyPlan),
        Action::Back,
    ] {
        state.update(action);
    }
    assert_eq!(state.shapes.key.to_string(), "A");
    assert!(state.looked().is_some() && state.shows_neck());
    assert_eq!((&state.library, state.guitar.record(), Watch::of(&state)), (&library, &record, watch));
    // One tap leads back, to where it was.
    state.update(BACK);
    assert_eq!((seen(&state), open_notes(&state).as_str()), (before, "E A D G B E"));
    assert!(state.looked().is_none());
}

/// One tap retunes to it; what is on the guitar already is not looked at but there; own and typed tunings are looked at
/// like any.
#[test]
fn from_the_look_one_tap_retunes() {
    let mut state = fresh();
    state.update(look("guitar-open-g"));
    state.update(Action::Look(LookAction::Retune));
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    assert!(state.looked().is_none());
    assert_eq!(state.guitar.wanted().and_then(|wanted| wanted.id.as_deref()), Some("guitar-open-g"));
    assert_eq!(open_notes(&state), "E A D G B E", "nothing is turned yet");

    let mut state = fresh();
    state.update(look("guitar-standard"));
    assert!(state.looked().is_none() && state.screen() == Screen::Shapes);
    let own = Tuning::read("D2 A2 D3 F3 A3 E4", &state.standard()).unwrap();
    let id = state.library.add_own_tuning("guitar", "Slipway", own);
    state.update(look(&id));
    assert_eq!(open_notes(&state), "D A D F A E");
    state.update(Action::Tunings(TuningsAction::Search("C2 A2 D3 F3 A3 E4".to_owned())));
    state.update(Action::Tunings(TuningsAction::LookTyped(0)));
    assert_eq!(open_notes(&state), "C A D F A E");
    // Another instrument has another neck.
    state.update(Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned())));
    assert!(state.looked().is_none());
    assert_eq!(open_notes(&state), "G D A E");
}

/// The guitar is turned meanwhile: the look stays what it is, and the key that the strings come to invite is the guitar's.
#[test]
fn strings_turned_meanwhile_do_not_take_the_looks_key() {
    let mut turned = fresh();
    turned.update(Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned())));
    let mut looking = turned.clone();
    looking.update(look("guitar-open-d"));
    for state in [&mut turned, &mut looking] {
        while state.guitar.stage() == Stage::Step {
            state.update(Action::Retune(RetuneAction::Confirm));
        }
    }
    assert_eq!(looking.shapes.key.to_string(), "D");
    assert_eq!(looking.guitar.record(), turned.guitar.record());
    looking.update(BACK);
    assert_eq!(looking.shapes.key, turned.shapes.key);
}

fn any_look() -> impl Strategy<Value = Action> {
    let ids: Vec<String> = Catalog::bundled().tunings().iter().map(|tuning| tuning.id().to_owned()).collect();
    prop_oneof![
        3 => prop::sample::select(ids).prop_map(|id| Action::Tunings(TuningsAction::Look(id))),
        2 => (0_usize..12).prop_map(|root| Action::Pick(PickAction::KeyRoot(root))),
        2 => (0_usize..9).prop_map(|chord| Action::Shapes(ShapesAction::Chord(chord))),
        1 => prop::sample::select(vec![Screen::Neck, Screen::KeyPlan, Screen::Show]).prop_map(Action::Open),
        1 => (0_u8..9, 0_usize..6).prop_map(|(fret, course)| Action::Neck(NeckAction::Cell { fret, course })),
        1 => Just(Action::Neck(NeckAction::ToShapes)),
        1 => Just(BACK),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is done before, looking changes nothing on the guitar and nothing that is kept; the system hands the look
    /// back, and the way back ends where it began.
    #[test]
    fn looking_changes_nothing(
        before in prop::collection::vec(any_deed(), 0..12),
        looks in prop::collection::vec(any_look(), 1..12),
    ) {
        let mut state = fresh();
        for action in before {
            state.update(action);
        }
        state.update(BACK);
        let on_guitar = |state: &State| (state.guitar.record().clone(), state.guitar.stage(), Watch::of(state).strings);
        let (guitar, library) = (on_guitar(&state), state.library.clone());
        let key = state.shapes.key;
        state.update(look(looked_for(&state)));
        for action in looks {
            // Without a look the key is the guitar's.
            if state.looked().is_none() && matches!(action, Action::Pick(_)) {
                continue;
            }
            state.update(action);
            prop_assert_eq!(on_guitar(&state), guitar.clone());
            prop_assert_eq!(&state.library, &library);
        }
        let mut again = reopened(&state);
        again.return_to(&state.place());
        let place = |state: &State| {
            let place = state.place();
            let lines: Vec<&str> = place.lines().collect();
            (lines[..3].join("\n"), lines.get(4).map(|look| (*look).to_owned()))
        };
        prop_assert_eq!(place(&again), place(&state));
        prop_assert_eq!(on_guitar(&again).0, guitar.0.clone());
        state.update(BACK);
        prop_assert_eq!(state.shapes.key, key);
    }
}

/// A tuning of the instrument in hand that it is not in, where there is one.
fn looked_for(state: &State) -> &'static str {
    let tunings = Catalog::bundled().tunings_for(state.instrument());
    let other = tunings.iter().find(|tuning| *tuning.tuning() != state.guitar.tuning());
    other.or(tunings.first()).map_or("guitar-open-g", |tuning| tuning.id())
}
