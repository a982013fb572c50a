//! What is on the guitar is one fact: no way through the app loses a part of it.

use pegwise::app::{
    Action, ExchangeAction, InstrumentAction, LookAction, OwnTuningAction, PickAction, RetuneAction, Screen,
    SettingsAction, SongAction, SongEditAction, SongTuningAction, SongsAction, Stage, StageAction, State,
    StringEntryAction, StringsTold,
};
use pegwise::app::{Notice, TuningsAction, Update};
use pegwise::instrument::{Bridge, Catalog, Fret, Tuning};
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song, SongId};
use pegwise::store::{Decision, Library, Temperament};
use proptest::prelude::*;

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

fn fresh() -> State {
    State::new(Library::default())
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn instrument(id: &str) -> Action {
    Action::Instrument(InstrumentAction::Instrument(id.to_owned()))
}

/// The app closed and opened again.
pub(crate) fn reopened(state: &State) -> State {
    let written = serde_json::to_string(&state.library).unwrap();
    State::new(pegwise::store::read(written.as_bytes()).unwrap())
}

fn stage(state: &State) -> Stage {
    state.guitar.stage()
}

fn checked(state: &State) -> Vec<bool> {
    (0..8).map(|pair| state.guitar.is_checked(pair)).collect()
}

fn whole(state: &State) -> Option<pegwise::retune::Plan> {
    state.guitar.whole_plan().cloned()
}

fn capo_waits(state: &State) -> Option<Fret> {
    state.guitar.capo_after().filter(|_| state.guitar.stage() == Stage::Capo)
}

fn song_in(title: &str, instrument: &str, pitches: &str) -> Song {
    let catalog = Catalog::bundled();
    let like = catalog.standard_of(catalog.find_instrument(instrument).unwrap()).tuning();
    let pitches = Tuning::read(pitches, like).unwrap();
    let mut song = Song::new(title, instrument, ChosenTuning { id: None, pitches });
    song.chart = "| G | C | D | G |".to_owned();
    song
}

/// Fault 1: light strings and a floating bridge are still on after another instrument was in hand.
#[test]
fn strings_and_bridge_stay_on_their_instrument() {
    let mut state = fresh();
    state.update(Action::Instrument(InstrumentAction::StringSet("guitar-medium".to_owned())));
    state.update(Action::Instrument(InstrumentAction::Bridge(Bridge::Floating)));
    state.update(instrument("tenor-ukulele"));
    assert_eq!(state.bridge(), state.instrument().bridge());
    state.update(instrument("guitar"));
    assert_eq!((state.strings().set_id(), state.bridge()), (Some("guitar-medium"), Bridge::Floating));
    let again = reopened(&state);
    assert_eq!((again.strings().set_id(), again.bridge()), (Some("guitar-medium"), Bridge::Floating));
}

/// Fault 2: closed at the check, it reopens at the check; closed midway, the whole way is checked.
#[test]
fn the_check_list_is_there_after_a_restart() {
    let mut state = fresh();
    state.update(choose("guitar-open-d"));
    state.update(CONFIRM);
    let midway = reopened(&state);
    assert_eq!(whole(&midway), whole(&state));
    while stage(&state) == Stage::Step {
        state.update(CONFIRM);
    }
    state.update(Action::Retune(RetuneAction::Check(1)));
    let again = reopened(&state);
    assert_eq!((stage(&again), checked(&again)), (Stage::Check, checked(&state)));
    assert_eq!(again.screen(), Screen::Retune, "there is something left to do");
}

/// Fault 3: the capo that came off for the pegs is asked for at the end, after a restart too.
#[test]
fn the_capo_is_asked_back_when_the_way_is_done() {
    let mut state = fresh();
    state.update(Action::Instrument(InstrumentAction::CapoBy(2)));
    state.update(choose("guitar-g6"));
    while stage(&state) == Stage::Step {
        state.update(CONFIRM);
    }
    let mut state = reopened(&state);
    state.update(Action::Retune(RetuneAction::CheckDone));
    assert_eq!(capo_waits(&state), Some(Fret::new(2)));
    assert_eq!(state.guitar.capo(), Fret::OPEN, "the strings were tuned without it");
    let mut put_back = reopened(&state);
    put_back.update(Action::Retune(RetuneAction::CapoIsBack));
    assert_eq!((stage(&put_back), put_back.guitar.capo()), (Stage::Done, Fret::new(2)));
    state.update(Action::Retune(RetuneAction::CapoStaysOff));
    assert_eq!((stage(&state), state.guitar.capo()), (Stage::Done, Fret::OPEN));
}

/// Fault 4: another temperament chosen on the way is kept with it.
#[test]
fn a_temperament_chosen_on_the_way_is_there_after_a_restart() {
    let mut state = fresh();
    state.update(choose("guitar-open-g"));
    state.update(CONFIRM);
    state.update(Action::Settings(SettingsAction::Temperament(Temperament::OpenChord)));
    assert_eq!(reopened(&state).guitar.progress(), state.guitar.progress());
}

pub(crate) fn take_in(state: &mut State, incoming: &Library) {
    state.update(Action::Exchange(ExchangeAction::Typed(incoming.export())));
    state.update(Action::Exchange(ExchangeAction::Read));
    for index in 0..state.exchange.items.len() {
        let decision = if state.exchange.items[index].name.is_empty() { Decision::Replace } else { Decision::Add };
        state.update(Action::Exchange(ExchangeAction::Decide(index, decision)));
    }
    state.update(Action::Exchange(ExchangeAction::TakeIn));
}

/// Fault 5: settings taken in do what the same settings set by hand do, and taking them back undoes it.
#[test]
fn settings_taken_in_behave_as_set_by_hand() {
    let begun = || {
        let mut state = fresh();
        state.update(choose("guitar-open-g"));
        state.update(CONFIRM);
        state
    };
    let (mut by_hand, mut taken_in) = (begun(), begun());
    let before = taken_in.clone();
    by_hand.update(Action::Settings(SettingsAction::Temperament(Temperament::OpenChord)));
    by_hand.update(Action::Settings(SettingsAction::ReferenceBy(2)));
    by_hand.update(Action::Instrument(InstrumentAction::StringSet("guitar-medium".to_owned())));
    by_hand.update(Action::Instrument(InstrumentAction::Bridge(Bridge::Floating)));
    let mut incoming = Library::default();
    incoming.settings.temperament = Temperament::OpenChord;
    incoming.settings.reference_a4_hz = 442.0;
    incoming.settings.string_set_id = Some("guitar-medium".to_owned());
    incoming.settings.bridge = Some(Bridge::Floating);
    incoming.settings.has_seen_guide = true;
    take_in(&mut taken_in, &incoming);
    let facts = |state: &State| {
        let settings = &state.library.settings;
        let set = (settings.temperament, settings.reference_a4_hz.to_string());
        (set, state.guitar.progress().clone(), state.strung().clone(), state.bridge(), whole(state))
    };
    assert_eq!(facts(&taken_in), facts(&by_hand));
    taken_in.update(Action::Undo);
    assert_eq!(facts(&taken_in), facts(&before));
}

/// Fault 6: in the editor, what was undone is not written back by the next letter.
#[test]
fn an_undone_tuning_of_a_song_stays_undone() {
    let mut state = fresh();
    let mut song = song_in("Lee shore", "guitar", "E A D G B E");
    let g = pegwise::theory::Chord::read("G").unwrap();
    let standard = state.standard();
    let board = pegwise::instrument::Fretboard::new(state.instrument(), &standard, Fret::OPEN).unwrap();
    let shape = pegwise::shapes::Shape::read_on("3 2 0 0 0 3", &board).unwrap();
    song.choose_shape(g, Some(&shape));
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Edit));
    let before = state.library.find_song(id).unwrap().clone();
    state.update(Action::SongEdit(SongEditAction::Tuning));
    state.update(Action::SongTuning(SongTuningAction::Choose("guitar-open-g".to_owned())));
    assert_ne!(state.library.find_song(id).unwrap().tuning, before.tuning);
    state.update(Action::Undo);
    assert_eq!(state.library.find_song(id), Some(&before));
    state.update(Action::SongEdit(SongEditAction::Notes("softly".to_owned())));
    let after = state.library.find_song(id).unwrap();
    assert_eq!((&after.tuning, after.notes.as_str()), (&before.tuning, "softly"));
    assert_eq!(after.chosen_shapes(), before.chosen_shapes());
}

/// Fault 6: a song that an undone import took away again is not left open.
#[test]
fn no_song_stays_open_that_is_not_there() {
    let mut incoming = Library::default();
    incoming.add_song(song_in("Ebb", "guitar", "E A D G B E"));
    for open in [SongAction::Edit, SongAction::Chord(0), SongAction::Play] {
        let mut state = fresh();
        take_in(&mut state, &incoming);
        let id = state.library.songs()[0].id;
        state.update(Action::Songs(SongsAction::Open(id)));
        state.update(Action::Song(open));
        state.update(Action::Undo);
        assert!(state.library.songs().is_empty());
        let ghosts = [Screen::Song, Screen::SongEditor, Screen::SongChord, Screen::Playing];
        assert!(!ghosts.contains(&state.screen()), "{:?}", state.screen());
        state.update(Action::SongEdit(SongEditAction::Notes("softly".to_owned())));
        assert!(state.library.songs().is_empty(), "nothing typed brings it back");
    }
}

/// Fault 7: an own tuning that was deleted comes back where it was, under the id its songs know.
#[test]
fn a_deleted_own_tuning_can_be_taken_back() {
    let mut state = fresh();
    let low = Tuning::read("C G D G A E", &state.standard()).unwrap();
    let id = state.library.add_own_tuning("guitar", "Slipway", low.clone());
    state.library.add_own_tuning("guitar", "Ferry", low);
    state.update(choose(&id));
    let before = (state.library.own_tunings().to_vec(), state.library.recent_tuning_ids().to_vec());
    state.update(Action::OwnTuning(OwnTuningAction::Edit(id)));
    state.update(Action::OwnTuning(OwnTuningAction::Delete));
    assert_eq!(state.library.own_tunings().len(), 1);
    assert!(state.notice.is_some() && state.undo.is_some());
    state.update(Action::Undo);
    assert_eq!((state.library.own_tunings().to_vec(), state.library.recent_tuning_ids().to_vec()), before);
}

/// A set list: first the guitar in standard, then a mandolin song whose highest string would break.
fn with_a_song_that_breaks() -> (State, SongId) {
    let mut state = fresh();
    let first = state.library.add_song(song_in("Near", "guitar", "E A D G B E"));
    let far = state.library.add_song(song_in("Far", "mandolin", "G3 D4 A4 E6"));
    let mut list = SetList::new("Evening");
    list.entries = vec![SetEntry::new(first), SetEntry::new(far)];
    let list = state.library.add_set_list(list);
    state.update(Action::Songs(SongsAction::OpenList(list)));
    (state, far)
}

/// Fault 8: what is refused changes nothing.
#[test]
fn a_refused_song_leaves_instrument_and_stage_alone() {
    let (mut state, far) = with_a_song_that_breaks();
    state.update(Action::Songs(SongsAction::Open(far)));
    state.update(Action::Song(SongAction::Play));
    assert!(matches!(state.notice, Some(Notice::StringWouldBreak(_))));
    assert_eq!(state.instrument().id(), "guitar");
    let (mut state, _) = with_a_song_that_breaks();
    state.update(Action::Stage(StageAction::Begin));
    let on_stage = state.library.on_stage.clone();
    assert_eq!(state.screen(), Screen::Playing);
    state.update(Action::Stage(StageAction::Next));
    assert!(matches!(state.notice, Some(Notice::StringWouldBreak(_))));
    assert_eq!((state.instrument().id(), &state.library.on_stage), ("guitar", &on_stage));
    assert_eq!(state.screen(), Screen::Playing, "the song before is still shown");
}

/// Fault 9: the key the player chose stays through the steps; another tuning invites its own again.
#[test]
fn a_chosen_key_stays_through_the_steps() {
    let mut state = fresh();
    state.update(choose("guitar-g6"));
    state.update(Action::Pick(PickAction::KeyRoot(9)));
    let chosen = state.shapes.key;
    state.update(CONFIRM);
    assert_eq!(state.shapes.key, chosen);
    state.update(Action::Retune(RetuneAction::Undo));
    assert_eq!(state.shapes.key, chosen);
    while stage(&state) == Stage::Step {
        state.update(CONFIRM);
    }
    assert_eq!((state.shapes.key, reopened(&state).shapes.key), (chosen, chosen));
    state.update(choose("guitar-open-d"));
    while stage(&state) == Stage::Step {
        state.update(CONFIRM);
    }
    assert_eq!(state.shapes.key.to_string(), "D", "a tuning chosen later invites its own");
}

/// Everything on the guitar and all that follows from it.
fn facts(state: &State) -> impl PartialEq + std::fmt::Debug {
    let guitar = &state.guitar;
    let follows = (guitar.plan().cloned(), guitar.whole_plan().cloned(), guitar.stage(), guitar.strung().clone());
    // While another tuning is looked at, the key shown is the look's: the place the system keeps brings it back.
    let key = if state.looked().is_some() { guitar.record().key } else { Some(state.shapes.key) };
    let heard = (key, state.strings().clone(), state.bridge(), guitar.capo_after());
    (guitar.record().clone(), follows, heard, state.waiting_song().cloned())
}

/// What the player entered.
fn content(state: &State) -> impl PartialEq + std::fmt::Debug {
    let library = &state.library;
    let entered = (library.songs().to_vec(), library.set_lists().to_vec(), library.own_tunings().to_vec());
    (entered, library.settings.clone(), library.recent_tuning_ids().to_vec())
}

pub(crate) fn any_deed() -> impl Strategy<Value = Action> {
    let sets: Vec<String> = Catalog::bundled().string_sets().iter().map(|set| set.id().to_owned()).collect();
    prop_oneof![
        4 => super::app::any_action(),
        4 => super::songs_played::any_song_action(),
        4 => prop::sample::select(vec![
            RetuneAction::Confirm, RetuneAction::CheckDone, RetuneAction::CapoIsBack, RetuneAction::CapoStaysOff,
            RetuneAction::GiveUp, RetuneAction::Check(0), RetuneAction::Doubt(2), RetuneAction::SetIsOn,
            RetuneAction::StringsAre(StringsTold::Noted), RetuneAction::StringsAre(StringsTold::Set(0)),
            RetuneAction::StringsAre(StringsTold::Unknown), RetuneAction::SayString(1, 0),
        ]).prop_map(Action::Retune),
        1 => prop::sample::select(vec![
            StringEntryAction::Gauge("17".into()), StringEntryAction::Wound(true), StringEntryAction::New(true),
            StringEntryAction::Take, StringEntryAction::Unknown,
        ]).prop_map(Action::StringEntry),
        1 => (1_u8..7).prop_map(|number| Action::Instrument(InstrumentAction::Describe(number, 0))),
        1 => prop::sample::select(vec!["630", "62", "", "x"])
            .prop_map(|text| Action::Instrument(InstrumentAction::ScaleTyped(text.to_owned()))),
        1 => prop::sample::select(vec!["guitar-open-d", "guitar-high-strung", "tenor-ukulele-low-g"])
            .prop_map(|id| Action::Tunings(TuningsAction::Look(id.to_owned()))),
        1 => prop::sample::select(vec![LookAction::Back, LookAction::Retune]).prop_map(Action::Look),
        1 => prop::sample::select(vec!["guitar-high-strung", "tenor-ukulele-low-g"]).prop_map(choose),
        1 => prop::sample::select(sets).prop_map(|id| Action::Instrument(InstrumentAction::StringSet(id))),
        1 => prop::sample::select(vec!["guitar-open-g", "guitar-dadgad", "guitar-g6"]).prop_map(choose),
        1 => prop::sample::select(vec!["guitar-medium", "guitar-extra-light"])
            .prop_map(|id| Action::Instrument(InstrumentAction::StringSet(id.to_owned()))),
    ]
}

fn with_demo() -> State {
    let mut state = fresh();
    state.update(Action::Songs(SongsAction::Demo));
    state
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    /// Restart: after any sequence of actions, what is kept and opened again is what was there, the screen that the system
    /// hands back included; and nothing was changed without being said to be kept.
    #[test]
    fn a_restart_changes_nothing(actions in prop::collection::vec(any_deed(), 1..40)) {
        let mut state = with_demo();
        for action in actions {
            let before = state.library.clone();
            let update = state.update(action);
            let is_said = matches!(update, Update::Kept | Update::Typed | Update::Leave);
            prop_assert!(is_said || state.library == before, "{update:?}");
        }
        let mut again = reopened(&state);
        prop_assert_eq!(&again.library, &state.library);
        prop_assert_eq!(facts(&again), facts(&state));
        again.return_to(&state.place());
        // The shape itself hangs on filters, which no place holds.
        let place = |state: &State| {
            let place = state.place();
            place.lines().enumerate().filter(|(line, _)| *line != 3).map(|(_, line)| line.to_owned()).collect::<Vec<_>>()
        };
        prop_assert_eq!(place(&again), place(&state));
        prop_assert_eq!(facts(&again), facts(&state));
    }

    /// Undo: after anything that can be taken back, taking it back gives what was entered and what is on the guitar as they
    /// were, and nothing typed then brings the undone back.
    #[test]
    fn what_is_undone_stays_undone(actions in prop::collection::vec(any_deed(), 1..40)) {
        let mut state = with_demo();
        for action in actions {
            let mut before = state.clone();
            state.update(action.clone());
            if state.undo.is_none() || state.undo == before.undo {
                continue;
            }
            let mut undone = state.clone();
            undone.update(Action::Undo);
            prop_assert_eq!(content(&undone), content(&before), "{:?}", action);
            prop_assert_eq!(facts(&undone), facts(&before), "{:?}", action);
            if undone.editing_song.is_some() && before.editing_song.is_some() {
                for state in [&mut before, &mut undone] {
                    state.update(Action::SongEdit(SongEditAction::Notes("softly".to_owned())));
                }
                prop_assert_eq!(content(&undone), content(&before), "typed after {:?}", action);
            }
        }
    }

    /// Import equals set: settings that come in do what the same settings set by hand do.
    #[test]
    fn settings_that_come_in_equal_those_set_by_hand(
        before in prop::collection::vec(any_deed(), 0..12),
        temperament in prop::sample::select(vec![Temperament::Equal, Temperament::OpenChord, Temperament::KeyShapes]),
        hertz in -20_i16..21,
        set in prop::sample::select(vec!["guitar-light", "guitar-medium", "guitar-extra-light"]),
        is_floating in any::<bool>(),
    ) {
        let mut state = with_demo();
        for action in before {
            state.update(action);
        }
        state.update(instrument("guitar"));
        let mut incoming = Library::default();
        let bridge = if is_floating { Bridge::Floating } else { Bridge::Fixed };
        let mut by_hand = state.clone();
        by_hand.update(Action::Settings(SettingsAction::Temperament(temperament)));
        by_hand.update(Action::Settings(SettingsAction::ReferenceBy(hertz)));
        by_hand.update(Action::Instrument(InstrumentAction::StringSet(set.to_owned())));
        by_hand.update(Action::Instrument(InstrumentAction::Bridge(bridge)));
        incoming.settings = by_hand.library.settings.clone();
        incoming.settings.string_set_id = Some(set.to_owned());
        incoming.settings.bridge = Some(bridge);
        take_in(&mut state, &incoming);
        prop_assert_eq!(facts(&state), facts(&by_hand));
    }
}

/// A tuning that is tapped and given up again was not played; one whose strings were set was.
#[test]
fn only_a_tuning_that_was_reached_was_played_lately() {
    let mut state = State::new(Library::default());
    let turn = |state: &mut State, id: &str| state.update(Action::Tunings(TuningsAction::Choose(id.to_owned())));
    turn(&mut state, "guitar-dadgad");
    state.update(Action::Retune(RetuneAction::Confirm));
    state.update(Action::Retune(RetuneAction::GiveUp));
    assert!(state.library.recent_tuning_ids().is_empty());
    turn(&mut state, "guitar-drop-d");
    while state.guitar.stage() == Stage::Step {
        state.update(Action::Retune(RetuneAction::Confirm));
    }
    assert_eq!(state.library.recent_tuning_ids(), ["guitar-drop-d"]);
    assert_eq!(reopened(&state).library.recent_tuning_ids(), ["guitar-drop-d"]);
}
