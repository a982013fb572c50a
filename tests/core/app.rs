//! The app's state without a window: the players' ways, resuming, and that no sequence of taps breaks it.

use pegwise::app::{
    Action, ChordSet, InstrumentAction, KeyPlanAction, Labels, Listed, NeckAction, NeckShows, Notice, OwnTuningAction,
    OwnTuningFault, PickAction, RetuneAction, Screen, SettingsAction, ShapesAction, Stage, State, Tab, TuningsAction,
    TuningsView, Update, list,
};
use pegwise::instrument::{Bridge, Catalog, Fret, Fretboard};
use pegwise::shapes::Style;
use pegwise::store::{Library, Temperament};
use proptest::prelude::*;

fn fresh() -> State {
    State::new(Library::default())
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

const NOTED: Action = Action::Retune(RetuneAction::StringsAre(pegwise::app::StringsTold::Noted));
const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

fn on_it(state: &State) -> String {
    state.guitar.tuning().ascii(pegwise::theory::SpellingChoice::Customary)
}

/// The facts of the first way out of standard: common practice, no source.
#[test]
fn g6_is_reached_in_two_steps_from_the_strings_an_octave_above() {
    let mut state = fresh();
    state.update(choose("guitar-g6"));
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    let course = |state: &State| state.guitar.course().map(|course| course.player_number(6));
    assert_eq!(course(&state), Some(6));
    state.update(CONFIRM);
    assert_eq!(course(&state), Some(5));
    state.update(CONFIRM);
    assert_eq!(state.guitar.stage(), Stage::Check);
    state.update(Action::Retune(RetuneAction::CheckDone));
    assert_eq!(state.guitar.stage(), Stage::Done);
    assert_eq!(on_it(&state), "D G D G B E");
    assert_eq!(state.shapes.key.to_string(), "G", "the key the tuning invites");
}

#[test]
fn a_half_done_retuning_goes_on_where_it_was_left_and_can_be_undone() {
    let mut state = fresh();
    state.update(choose("guitar-dadgad"));
    state.update(CONFIRM);
    let left = (on_it(&state), state.guitar.course());
    let written = serde_json::to_string(&state.library).unwrap();
    let mut resumed = State::new(pegwise::store::read(written.as_bytes()).unwrap());
    assert_eq!((on_it(&resumed), resumed.guitar.course()), left);
    assert_eq!((resumed.screen(), resumed.guitar.stage()), (Screen::Retune, Stage::Step));
    resumed.update(Action::Retune(RetuneAction::Undo));
    assert_eq!(on_it(&resumed), "E A D G B E");
}

/// Android developers' guide, "Principles of navigation": one fixed start, which is the last screen before leaving.
#[test]
fn back_goes_up_by_notice_screen_and_first_tab_before_it_leaves() {
    let mut state = fresh();
    state.update(Action::Tab(Tab::More));
    state.update(Action::Open(Screen::Instrument));
    state.update(Action::Instrument(InstrumentAction::CapoBy(100)));
    assert!(state.notice.is_some());
    let mut seen = Vec::new();
    while state.update(Action::BackKey) != Update::Leave {
        seen.push((state.notice.is_some(), state.screen()));
        assert!(seen.len() < 9, "{seen:?}");
    }
    assert_eq!(seen, [(false, Screen::Instrument), (false, Screen::More), (false, Screen::Tunings)]);
}

/// A button that says Back leads back, whatever is told above it.
#[test]
fn a_back_button_leaves_its_screen_and_keeps_the_notice() {
    let mut state = fresh();
    state.update(Action::Open(Screen::Instrument));
    state.update(Action::Instrument(InstrumentAction::CapoBy(100)));
    state.update(Action::Back);
    assert!(state.notice.is_some() && state.screen() == Screen::Tunings);
}

/// Where the app starts on a half-done retuning, the list of tunings is still the way out.
#[test]
fn back_from_a_resumed_step_leads_to_the_first_tab() {
    let mut state = fresh();
    state.update(choose("guitar-dadgad"));
    let mut resumed = State::new(state.library.clone());
    assert_eq!(resumed.screen(), Screen::Retune);
    assert_eq!((resumed.update(Action::BackKey), resumed.screen()), (Update::Shown, Screen::Tunings));
    assert_eq!(resumed.update(Action::BackKey), Update::Leave);
}

/// What a phone hands back after it forgot the app: the same screen over the same tab, the same shape.
#[test]
fn the_app_comes_back_to_the_place_it_was_forgotten_at() {
    let opened = |state: &mut State, screens: &[Screen]| {
        for screen in screens {
            state.update(Action::Open(*screen));
        }
    };
    for (tab, screens) in [
        (Tab::Tunings, &[][..]),
        (Tab::Retune, &[]),
        (Tab::Shapes, &[Screen::Show]),
        (Tab::Shapes, &[Screen::Filters]),
        (Tab::Shapes, &[Screen::Neck]),
        (Tab::Shapes, &[Screen::KeyPlan]),
        (Tab::More, &[Screen::Instrument]),
        (Tab::More, &[Screen::Settings]),
        (Tab::More, &[Screen::About]),
    ] {
        let mut state = fresh();
        state.update(choose("guitar-dadgad"));
        state.update(CONFIRM);
        state.update(Action::Pick(PickAction::KeyRoot(3)));
        state.update(Action::Pick(PickAction::KeyMode(1)));
        state.update(Action::Shapes(ShapesAction::Chord(3)));
        state.update(Action::Shapes(ShapesAction::Next));
        state.update(Action::Tab(tab));
        opened(&mut state, screens);
        let mut again = State::new(state.library.clone());
        again.return_to(&state.place());
        assert_eq!((again.tab(), again.screen()), (state.tab(), state.screen()));
        assert_eq!((again.shapes.key, again.shapes.chord), (state.shapes.key, state.shapes.chord));
        assert_eq!(again.shapes.shape(), state.shapes.shape(), "{}", state.place());
        assert_eq!((on_it(&again), again.guitar.course()), (on_it(&state), state.guitar.course()));
        assert_eq!(again.place(), state.place());
        assert_eq!(again.update(Action::Back) == Update::Leave, tab == Tab::Tunings, "the way back is the same");
    }
}

/// A tuning half entered is not kept, so the app comes back to the screen below it.
#[test]
fn a_place_above_something_half_entered_is_the_one_below_it_and_rubbish_is_none() {
    let mut state = fresh();
    state.update(Action::Tab(Tab::More));
    state.update(Action::OwnTuning(OwnTuningAction::New));
    let mut again = fresh();
    again.return_to(&state.place());
    assert_eq!(again.screen(), Screen::More);
    for rubbish in ["", "\n\n\n\n", "nowhere\nH9\n?\nx x", "show about", "shapes own-tuning"] {
        let mut state = fresh();
        let before = (state.shapes.key, state.shapes.chord);
        state.return_to(rubbish);
        assert_eq!((state.shapes.key, state.shapes.chord), before, "{rubbish}");
        assert!([Screen::Tunings, Screen::Shapes].contains(&state.screen()), "{rubbish}");
    }
}

#[test]
fn a_doubted_string_becomes_a_string_to_set_and_all_doubted_begin_from_a_tone() {
    let mut state = fresh();
    state.update(Action::Retune(RetuneAction::Doubt(3)));
    assert_eq!(state.guitar.course().map(|course| course.player_number(6)), Some(3));
    state.update(CONFIRM);
    assert!(state.guitar.progress().is_done());
    state.update(Action::Retune(RetuneAction::DoubtAll));
    let plan = state.guitar.plan().unwrap();
    assert_eq!(plan.steps().len(), 6);
    assert!(plan.steps()[0].matches()[0].reference().is_none(), "the first string is set to the phone's tone");
}

/// A plan in which a string would break is not begun, whatever is tapped.
#[test]
fn a_tuning_a_string_would_not_stand_is_asked_about_first_and_offers_something_else() {
    let mut state = fresh();
    state.update(choose("guitar-high-strung"));
    assert_eq!(state.guitar.stage(), Stage::Strings, "it is played on other strings");
    state.update(NOTED);
    assert_eq!(state.guitar.stage(), Stage::Risk);
    assert!(!state.guitar.plan().unwrap().safety().remedies().is_empty());
    state.update(Action::Retune(RetuneAction::TakeRisk));
    assert_eq!(state.guitar.stage(), Stage::Risk);
}

#[test]
fn own_tunings_are_named_kept_found_changed_and_deleted() {
    let mut state = fresh();
    state.update(Action::OwnTuning(OwnTuningAction::New));
    state.update(Action::OwnTuning(OwnTuningAction::Notes("C G D G A E".to_owned())));
    state.update(Action::OwnTuning(OwnTuningAction::Save));
    assert_eq!(state.editing.as_ref().and_then(|editing| editing.fault.clone()), Some(OwnTuningFault::NoName));
    state.update(Action::OwnTuning(OwnTuningAction::Name("Slipway".to_owned())));
    assert_eq!(state.update(Action::OwnTuning(OwnTuningAction::Save)), Update::Kept);
    state.update(Action::Tunings(TuningsAction::Search("slip".to_owned())));
    let Listed::Rows(rows, _) = list(&state) else { panic!("it is not found") };
    let id = rows[0].tuning.id().to_owned();
    assert!(rows[0].is_own);
    state.update(Action::OwnTuning(OwnTuningAction::Edit(id.clone())));
    state.update(Action::OwnTuning(OwnTuningAction::Move(0, -1)));
    state.update(Action::OwnTuning(OwnTuningAction::Save));
    let kept = state.library.find_own_tuning(&id).unwrap().clone();
    assert_eq!(kept.pitches.ascii_with_octaves(pegwise::theory::SpellingChoice::Customary), "B1 G2 D3 G3 A3 E4");
    state.update(Action::OwnTuning(OwnTuningAction::Edit(id.clone())));
    state.update(Action::OwnTuning(OwnTuningAction::Delete));
    assert!(state.library.find_own_tuning(&id).is_none());
    assert_eq!(state.notice, Some(Notice::TuningDeleted("Slipway".to_owned())));
    state.update(Action::Undo);
    assert_eq!(state.library.find_own_tuning(&id), Some(&kept));
}

#[test]
fn a_tuning_of_ones_own_is_begun_from_more() {
    let mut state = fresh();
    state.update(Action::Tab(Tab::More));
    state.update(Action::Open(Screen::OwnTuning));
    state.update(Action::OwnTuning(OwnTuningAction::Name("Slipway".to_owned())));
    state.update(Action::OwnTuning(OwnTuningAction::Move(0, -2)));
    assert_eq!(state.update(Action::OwnTuning(OwnTuningAction::Save)), Update::Kept);
    assert_eq!(state.library.own_tunings().len(), 1);
}

#[test]
fn bad_input_says_what_is_wrong_and_keeps_what_was_there() {
    let mut state = fresh();
    state.update(Action::OwnTuning(OwnTuningAction::New));
    let before = state.editing.clone().unwrap();
    for text in ["D G D X B E", "D G D", "", "E9 A2 D3 G3 B3 E4"] {
        state.update(Action::OwnTuning(OwnTuningAction::Notes(text.to_owned())));
        let editing = state.editing.as_ref().unwrap();
        assert!(editing.fault.is_some(), "{text}");
        assert_eq!((editing.notes.as_str(), &editing.tuning), (text, &before.tuning), "what was understood stays");
    }
    state.update(Action::Instrument(InstrumentAction::CapoBy(100)));
    assert!(matches!(state.notice, Some(Notice::CapoBeyondFrets { asked: 100, .. })));
    assert_eq!(state.guitar.capo(), Fret::OPEN);
}

#[test]
fn a_tuning_that_sounds_with_a_capo_needs_no_peg() {
    let mut state = fresh();
    state.update(Action::Tunings(TuningsAction::View(TuningsView::Nearest)));
    let Listed::Rows(rows, _) = list(&state) else { panic!("no list") };
    let with_capo = rows.iter().find(|row| row.capo.is_some()).expect("a capo at 1 makes F standard");
    state.update(Action::Tunings(TuningsAction::Capo(with_capo.capo.unwrap())));
    let raised = state.board().open_pitches().to_vec();
    assert_eq!(raised, with_capo.tuning.tuning().pitches());
    assert!(state.guitar.progress().is_done(), "nothing to retune");
}

pub(crate) fn any_action() -> impl Strategy<Value = Action> {
    let text = prop_oneof!["[A-Gb#0-9 m/]{0,12}", "\\PC{0,16}"];
    let ids: Vec<String> = Catalog::bundled().tunings().iter().map(|tuning| tuning.id().to_owned()).collect();
    let instruments: Vec<String> = Catalog::bundled().instruments().iter().map(|known| known.id().to_owned()).collect();
    let index = 0_usize..14;
    prop_oneof![
        prop::sample::select(Tab::ALL.to_vec()).prop_map(Action::Tab),
        prop::sample::select(vec![
            Screen::Show,
            Screen::KeyPicker,
            Screen::ChordPicker,
            Screen::Filters,
            Screen::KeyPlan,
            Screen::Neck,
            Screen::OwnTuning,
            Screen::Instrument,
            Screen::Settings,
            Screen::About,
        ])
        .prop_map(Action::Open),
        Just(Action::Back),
        Just(Action::BackKey),
        Just(Action::CloseNotice),
        prop::sample::select(ids).prop_map(|id| Action::Tunings(TuningsAction::Choose(id))),
        text.clone().prop_map(|text| Action::Tunings(TuningsAction::Search(text))),
        Just(Action::Tunings(TuningsAction::ChooseTyped(0))),
        (0_u8..30).prop_map(|fret| Action::Tunings(TuningsAction::Capo(Fret::new(fret)))),
        prop::sample::select(vec![
            RetuneAction::Confirm,
            RetuneAction::Confirm,
            RetuneAction::Undo,
            RetuneAction::StartOver,
            RetuneAction::DoubtAll,
            RetuneAction::CheckDone,
            RetuneAction::TakeRisk,
            RetuneAction::TakeRemedy(0),
            RetuneAction::Match(1),
            RetuneAction::Check(0),
            RetuneAction::Doubt(3),
            RetuneAction::StringsAre(pegwise::app::StringsTold::Unknown),
        ])
        .prop_map(Action::Retune),
        index.clone().prop_map(|index| Action::Shapes(ShapesAction::Chord(index))),
        prop::sample::select(vec![
            ShapesAction::Next,
            ShapesAction::Previous,
            ShapesAction::Style(Style::Strummed),
            ShapesAction::OpenOnly,
            ShapesAction::Labels(Labels::Degree),
            ShapesAction::Set(ChordSet::More),
            ShapesAction::Nearest,
            ShapesAction::Large,
            ShapesAction::MovableOnly,
            ShapesAction::NoBarre,
            ShapesAction::UpToBy(-3),
            ShapesAction::ThumbMayFret,
            ShapesAction::RootInBass,
            ShapesAction::ClearFilters,
        ])
        .prop_map(Action::Shapes),
        (index.clone(), index.clone()).prop_map(|(which, index)| Action::Pick(match which {
            0..=2 => PickAction::KeyRoot(index),
            3..=4 => PickAction::KeyMode(index),
            5..=6 => PickAction::Root(index),
            7..=9 => PickAction::Quality(index),
            10 => PickAction::Bass(index),
            11 => PickAction::KeyTaken,
            _ => PickAction::ChordTaken,
        })),
        text.clone().prop_map(|text| Action::Pick(PickAction::Typed(text))),
        text.clone().prop_map(|text| Action::KeyPlan(KeyPlanAction::Typed(text))),
        index.clone().prop_map(|index| Action::KeyPlan(KeyPlanAction::Cell(index))),
        (0_u8..26, index.clone()).prop_map(|(fret, course)| Action::Neck(NeckAction::Cell { fret, course })),
        Just(Action::Neck(NeckAction::Shows(NeckShows::Chord))),
        Just(Action::Neck(NeckAction::ToShapes)),
        Just(Action::OwnTuning(OwnTuningAction::New)),
        (index, -3_i16..4).prop_map(|(index, by)| Action::OwnTuning(OwnTuningAction::Move(index, by))),
        text.clone().prop_map(|text| Action::OwnTuning(OwnTuningAction::Notes(text))),
        text.prop_map(|text| Action::OwnTuning(OwnTuningAction::Name(text))),
        Just(Action::OwnTuning(OwnTuningAction::Save)),
        prop::sample::select(instruments).prop_map(|id| Action::Instrument(InstrumentAction::Instrument(id))),
        (-3_i16..4).prop_map(|by| Action::Instrument(InstrumentAction::CapoBy(by))),
        Just(Action::Instrument(InstrumentAction::Bridge(Bridge::Floating))),
        prop::sample::select(vec![Temperament::Equal, Temperament::OpenChord, Temperament::KeyShapes])
            .prop_map(|temperament| Action::Settings(SettingsAction::Temperament(temperament))),
        (-40_i16..41).prop_map(|by| Action::Settings(SettingsAction::ReferenceBy(by))),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// Whatever is tapped in whatever order: no panic, the guitar fits its neck, no shape is shown that the neck does
    /// not have, and what is kept reads back as the same guitar.
    #[test]
    fn no_sequence_of_taps_breaks_anything(actions in prop::collection::vec(any_action(), 1..40)) {
        let mut state = fresh();
        for action in actions {
            state.update(action);
            let board = Fretboard::new(state.instrument(), &state.guitar.tuning(), state.guitar.capo());
            prop_assert!(board.is_ok());
            if let Some(found) = state.shapes.shape() {
                let board = board.unwrap();
                prop_assert_eq!(found.shape().frets().len(), board.courses());
                let pitches = found.shape().pitches(&board);
                prop_assert!(found.shape().sounding().all(|place| pitches[place.course.from_lowest_index()].is_some()));
            }
            prop_assert_eq!(state.guitar.course().is_some(), state.guitar.stage() == Stage::Step);
        }
        state.update(CONFIRM);
        let written = serde_json::to_string(&state.library).unwrap();
        let again = State::new(pegwise::store::read(written.as_bytes()).unwrap());
        if state.library.guitar_now.is_some() {
            prop_assert_eq!(again.guitar.tuning(), state.guitar.tuning());
            prop_assert_eq!(again.guitar.capo(), state.guitar.capo());
        }
    }
}

/// A third 13.686 cents under equal temperament, a fifth 1.955 over: hand calculation of 5:4 and 3:2.
#[test]
fn a_pure_open_chord_sets_the_third_low_and_the_fifths_a_little_high() {
    let mut state = fresh();
    state.update(Action::Settings(SettingsAction::Temperament(Temperament::OpenChord)));
    state.update(choose("guitar-open-g"));
    let wanted = state.guitar.progress().sweetening().offsets().to_vec();
    for (course, cents) in [1.955, 0.0, 1.955, 0.0, -13.686, 1.955].into_iter().enumerate() {
        assert!((wanted[course].get() - cents).abs() < 0.006, "course {}: {}", 6 - course, wanted[course].get());
    }
    while state.guitar.stage() == Stage::Step {
        state.update(CONFIRM);
    }
    assert_eq!(on_it(&state), "D G D G B D");
}

/// Whatever the temperament: no more confirmations than strings, and done is done, whatever key or capo is chosen then.
#[test]
fn a_sweetened_plan_is_no_longer_than_its_strings_and_stays_done() {
    for temperament in [Temperament::Equal, Temperament::OpenChord, Temperament::KeyShapes] {
        for tuning in Catalog::bundled().tunings().iter().filter(|tuning| tuning.instrument_id() == "guitar") {
            let mut state = fresh();
            state.update(Action::Settings(SettingsAction::Temperament(temperament)));
            state.update(choose(tuning.id()));
            state.update(NOTED);
            state.update(Action::Retune(RetuneAction::TakeRisk));
            if state.guitar.stage() == Stage::Risk {
                continue; // a string would break
            }
            let mut confirmed = 0;
            while state.guitar.stage() == Stage::Step {
                state.update(CONFIRM);
                confirmed += 1;
                assert!(confirmed <= 6, "{} in {temperament:?}", tuning.id());
            }
            state.update(Action::Retune(RetuneAction::CheckDone));
            assert_eq!(state.guitar.stage(), Stage::Done, "{} in {temperament:?}", tuning.id());
            state.update(Action::Pick(PickAction::KeyRoot(4)));
            state.update(Action::Instrument(InstrumentAction::CapoBy(2)));
            assert_eq!(state.guitar.stage(), Stage::Done, "{} in {temperament:?}", tuning.id());
        }
    }
}

#[test]
fn another_instrument_is_found_again_as_it_was_put_away() {
    let mut state = fresh();
    state.update(choose("guitar-dadgad"));
    state.update(CONFIRM);
    let left = (on_it(&state), state.guitar.course());
    state.update(Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned())));
    state.update(Action::Instrument(InstrumentAction::Instrument("guitar".to_owned())));
    assert_eq!((on_it(&state), state.guitar.course()), left);
}

#[test]
fn typed_notes_that_can_be_read_two_ways_are_offered_both() {
    let mut state = fresh();
    let typed = |state: &State| match list(state) {
        Listed::Rows(_, typed) => {
            typed.iter().map(|typed| typed.ascii(pegwise::theory::SpellingChoice::Flats)).collect::<Vec<_>>()
        }
        _ => Vec::new(),
    };
    state.update(Action::Tunings(TuningsAction::Search("cgdgbbe".to_owned())));
    assert_eq!(typed(&state), ["C G D G Bb E", "C G D Gb B E"]);
    state.update(Action::Tunings(TuningsAction::ChooseTyped(1)));
    let target = state.guitar.target().map(|target| target.ascii(pegwise::theory::SpellingChoice::Flats));
    assert_eq!(target.as_deref(), Some("C G D Gb B E"));
    state.update(Action::Tunings(TuningsAction::Search("C G D G Bb E".to_owned())));
    assert_eq!(typed(&state), ["C G D G Bb E"]);
}

/// A string that would break is refused by its number on the way, where another can be named; what would break is not
/// kept as a tuning of one's own.
#[test]
fn a_tuning_in_which_a_string_breaks_is_refused_by_its_number() {
    let mut state = fresh();
    state.update(Action::Tunings(TuningsAction::Search("E2 A2 D3 G3 B3 E5".to_owned())));
    state.update(Action::Tunings(TuningsAction::ChooseTyped(0)));
    assert_eq!((state.guitar.stage(), state.screen()), (Stage::Risk, Screen::Retune));
    assert_eq!(state.guitar.refusal().map(|refusal| refusal.breaks()[0].number), Some(1));
    state.update(Action::Retune(RetuneAction::GiveUp));
    state.update(Action::OwnTuning(OwnTuningAction::New));
    state.update(Action::OwnTuning(OwnTuningAction::Name("Gale".to_owned())));
    state.update(Action::OwnTuning(OwnTuningAction::Move(5, 11)));
    state.update(Action::OwnTuning(OwnTuningAction::Save));
    assert_eq!(state.notice, Some(Notice::StringWouldBreak(1)));
    assert!(state.library.own_tunings().is_empty() && state.editing.is_some());
}
