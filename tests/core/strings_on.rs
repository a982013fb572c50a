//! Which strings are on is a part of what is on the guitar: said on the Instrument screen and wherever a plan meets it.

use pegwise::app::{
    Action, InstrumentAction, Notice, RetuneAction, Screen, SongAction, SongChord, SongsAction, Stage, StageAction,
    State, StringEntryAction, StringsTold, TuningsAction, chords,
};
use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard, Level, Stringing, Tuning};
use pegwise::shapes::ShapeSearch;
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song};
use pegwise::store::Library;
use pegwise::theory::SpellingChoice;

use crate::one_guitar::{reopened, take_in};
use crate::string_laws::share;

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);
const NOTED: Action = Action::Retune(RetuneAction::StringsAre(StringsTold::Noted));

fn fresh() -> State {
    State::new(Library::default())
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn on(id: &str) -> State {
    let mut state = fresh();
    state.update(Action::Instrument(InstrumentAction::Instrument(id.to_owned())));
    state
}

fn course(number: u8, state: &State) -> CourseIndex {
    CourseIndex::from_player_number(number, state.instrument().courses().len()).unwrap()
}

fn is_known(state: &State, number: u8) -> bool {
    state.guitar.is_known(course(number, state).from_lowest_index())
}

/// Fault 10 in the app: into the low G and home again, which string is on as the fourth is asked both times; the wound one
/// is not brought up, and the thin one just put on is set and not "tightened".
#[test]
fn strings_are_asked_for_on_the_way_to_and_from_other_strings() {
    let mut state = on("tenor-ukulele");
    state.update(choose("tenor-ukulele-low-g"));
    assert_eq!(state.guitar.stage(), Stage::Strings);
    assert_eq!(state.guitar.strings_asked().unwrap().courses, [course(4, &state)]);
    let sets: Vec<_> = state.guitar.sets_asked().iter().map(|set| set.id()).collect();
    assert_eq!(sets, ["tenor-ukulele-low-g-set"]);
    assert_eq!(reopened(&state).guitar.stage(), Stage::Strings, "asked again after a restart");
    assert!(state.update(CONFIRM) == pegwise::app::Update::Shown, "nothing is confirmed before it is said");
    state.update(Action::Retune(RetuneAction::StringsAre(StringsTold::Set(0))));
    assert_eq!((state.strings().set_id(), state.guitar.stage()), (Some("tenor-ukulele-low-g-set"), Stage::Step));
    assert!(!is_known(&state, 4), "a wound low G is not at G4");
    while state.guitar.stage() == Stage::Step {
        state.update(CONFIRM);
    }
    state.update(Action::Retune(RetuneAction::CheckDone));

    state.update(choose("tenor-ukulele-standard"));
    assert_eq!(state.guitar.stage(), Stage::Strings);
    state.update(NOTED);
    assert_eq!(state.guitar.stage(), Stage::Risk);
    let refusal = state.guitar.refusal().unwrap();
    assert!(refusal.breaks()[0].number == 4 && refusal.breaks()[0].share_of_strength > 1.1, "{refusal}");
    state.update(Action::Retune(RetuneAction::TakeRisk));
    state.update(CONFIRM);
    assert_eq!(state.guitar.stage(), Stage::Risk, "there is no going on");
    assert_eq!(reopened(&state).guitar.refusal(), state.guitar.refusal());
    // One tap says which string is on instead.
    state.update(Action::Retune(RetuneAction::SayString(4, 0)));
    assert_eq!(state.screen(), Screen::OneString);
    state.update(Action::StringEntry(StringEntryAction::Gauge("0.51 mm".to_owned())));
    state.update(Action::StringEntry(StringEntryAction::Wound(false)));
    state.update(Action::StringEntry(StringEntryAction::New(true)));
    state.update(Action::StringEntry(StringEntryAction::Take));
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    let step = &state.guitar.plan().unwrap().steps()[0];
    assert_eq!((step.course(), step.from()), (course(4, &state), None), "set, not tightened");
}

/// The same by the set as a whole, which is one tap; and a string that nobody knows is taken at its worst.
#[test]
fn a_set_that_is_put_on_and_a_string_nobody_knows() {
    let mut state = fresh();
    state.update(choose("guitar-high-strung"));
    assert_eq!(state.guitar.stage(), Stage::Strings);
    state.update(NOTED);
    assert_eq!(state.guitar.refusal().unwrap().set().map(|set| set.id()), Some("guitar-high-strung-set"));
    let refused = state.clone();
    state.update(Action::Retune(RetuneAction::SetIsOn));
    assert_eq!((state.strings().set_id(), state.guitar.stage()), (Some("guitar-high-strung-set"), Stage::Step));
    assert!((3..=6).all(|number| !is_known(&state, number)), "put on and not tuned yet");

    let mut state = on("tenor-ukulele");
    state.update(choose("tenor-ukulele-low-g"));
    state.update(Action::Retune(RetuneAction::StringsAre(StringsTold::Unknown)));
    let loads = state.guitar.plan().unwrap().safety().strings();
    assert!(loads.iter().any(|load| load.course == course(4, &state) && load.gauge.is_none()));
    assert!(!state.strings().is_known(course(4, &state)));
    // Nothing is asked where both ends are played on the same strings.
    for id in ["guitar-open-g", "guitar-dadgad", "guitar-g6"] {
        let mut state = fresh();
        state.update(choose(id));
        assert_eq!(state.guitar.stage(), Stage::Step, "{id}");
    }
    assert!(refused.guitar.plan().is_some_and(|plan| plan.safety().worst() == Level::TooTight));
}

/// Said on the Instrument screen: a string that was on all along is noted, one just put on is set next.
#[test]
fn a_string_is_described_by_gauge_make_and_since_when() {
    let mut state = fresh();
    state.update(Action::Open(Screen::Instrument));
    state.update(Action::Instrument(InstrumentAction::Describe(3, 0)));
    let entry = state.string_entry.clone().unwrap();
    assert_eq!((entry.gauge.as_str(), entry.is_wound), ("24", true), "as it is noted");
    state.update(Action::StringEntry(StringEntryAction::Gauge("4 pounds".to_owned())));
    state.update(Action::StringEntry(StringEntryAction::Take));
    assert_eq!(state.screen(), Screen::OneString, "what cannot be read is not taken");
    let mut put_on = state.clone();
    for (state, is_new) in [(&mut state, false), (&mut put_on, true)] {
        state.update(Action::StringEntry(StringEntryAction::Gauge("17".to_owned())));
        state.update(Action::StringEntry(StringEntryAction::Wound(false)));
        state.update(Action::StringEntry(StringEntryAction::New(is_new)));
        state.update(Action::StringEntry(StringEntryAction::Take));
        let third = state.strings().courses()[3][0].unwrap();
        assert_eq!(third.gauge.to_string(), ".017");
        assert_eq!((state.screen(), is_known(state, 3)), (Screen::Instrument, !is_new));
        assert_eq!(reopened(state).strings(), state.strings());
    }
    assert_eq!((state.guitar.stage(), put_on.guitar.stage()), (Stage::Idle, Stage::Step));
    assert_eq!(put_on.guitar.course(), Some(course(3, &put_on)), "the broken string's follower is set");
    // Nobody knows which.
    state.update(Action::Instrument(InstrumentAction::Describe(1, 0)));
    state.update(Action::StringEntry(StringEntryAction::Unknown));
    assert_eq!(state.strings().courses()[5], [None]);
    assert_eq!(state.strings().courses()[3][0].unwrap().gauge.to_string(), ".017", "the others stay");
}

/// The scale length that is entered moves the frets: L(1 − 2^(−n/12)), worked out here; a shape's reach follows it.
#[test]
fn the_scale_length_moves_the_frets_and_the_reach_of_shapes() {
    let mut state = fresh();
    state.update(Action::Tab(pegwise::app::Tab::Shapes));
    let usual = state.instrument().scale_mm();
    let span = |state: &State, frets: &str| {
        let shape = pegwise::shapes::Shape::read_on(frets, &state.board()).unwrap();
        let found = state.shapes.found.iter().find(|found| *found.shape() == shape);
        found.map(|found| found.span_mm())
    };
    let before = span(&state, "3 2 0 0 0 3").expect("G in standard");
    state.update(Action::Instrument(InstrumentAction::ScaleTyped("500 mm".to_owned())));
    let third = 500.0 * (1.0 - 2_f64.powf(-3.0 / 12.0));
    assert!((state.board().distance_mm(Fret::new(3)) - third).abs() < 1e-9);
    let after = span(&state, "3 2 0 0 0 3").expect("still there");
    assert!((after / before - 500.0 / usual).abs() < 1e-9, "{before} {after}");
    let again = reopened(&state);
    assert_eq!(again.board().scale_mm().to_bits(), 500.0_f64.to_bits());
    // What is no scale is not taken, and nothing typed is the usual one.
    state.update(Action::Instrument(InstrumentAction::ScaleTyped("50".to_owned())));
    assert_eq!(state.strings().scale_mm(), Some(500.0));
    state.update(Action::Instrument(InstrumentAction::ScaleTyped(String::new())));
    assert_eq!((state.strings().scale_mm(), state.board().scale_mm().to_bits()), (None, usual.to_bits()));
}

// ---- the law, through the app ----

/// The ways a tuning comes into the app.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Entry {
    Row,
    Typed,
    Own,
    TakenIn,
    Song,
    SetList,
}

/// Asks for a tuning by one of the ways; `false` where it has no such way.
fn enter(state: &mut State, by: Entry, tuning: &Tuning, id: Option<&str>) -> bool {
    let instrument = state.instrument().id().to_owned();
    match (by, id) {
        (Entry::Row, Some(id)) => drop(state.update(choose(id))),
        (Entry::Row, None) | (Entry::Typed, Some(_)) => return false,
        (Entry::Typed, None) => {
            let text = tuning.ascii_with_octaves(SpellingChoice::Customary);
            state.update(Action::Tunings(TuningsAction::Search(text)));
            state.update(Action::Tunings(TuningsAction::ChooseTyped(0)));
        }
        (Entry::Own, _) => {
            let id = state.library.add_own_tuning(instrument, "Slipway", tuning.clone());
            state.update(choose(&id));
        }
        (Entry::TakenIn, _) => {
            let mut incoming = Library::default();
            incoming.add_own_tuning(instrument, "Slipway", tuning.clone());
            take_in(state, &incoming);
            let id = state.library.own_tunings()[0].id.clone();
            state.update(choose(&id));
        }
        (Entry::Song | Entry::SetList, id) => {
            let chosen = ChosenTuning { id: id.map(str::to_owned), pitches: tuning.clone() };
            let mut song = Song::new("Ebb", instrument, chosen);
            song.chart = "| G |".to_owned();
            let song = state.library.add_song(song);
            if by == Entry::Song {
                state.update(Action::Songs(SongsAction::Open(song)));
                state.update(Action::Song(SongAction::Play));
            } else {
                let mut list = SetList::new("Evening");
                list.entries = vec![SetEntry::new(song)];
                let list = state.library.add_set_list(list);
                state.update(Action::Songs(SongsAction::OpenList(list)));
                state.update(Action::Stage(StageAction::Begin));
            }
        }
    }
    true
}

/// The largest share of its least strength that a string on its way from standard would reach, worked out beside the
/// planner from `a228.csv` (see [`share`]).
fn largest_share(state: &State, strings: &Stringing, to: &Tuning) -> f64 {
    let instrument = state.instrument();
    let from = state.guitar.tuning();
    let moved = (0..to.courses()).filter(|&index| from.pitches()[index] != to.pitches()[index]);
    let shares = moved.flat_map(|index| {
        let offsets = instrument.courses()[index].offsets().iter().enumerate();
        offsets.map(move |(string, &offset)| {
            let number = to.pitches()[index].transpose(offset).unwrap().number();
            share(instrument, strings, index, string, 440.0 * 2_f64.powf((f64::from(number) - 69.0) / 12.0))
        })
    });
    shares.fold(0.0, f64::max)
}

/// No plan breaks a string unsaid, by whatever way the tuning comes into the app: row, typed notes, own tuning, taken in,
/// song, set list. Where a string would break no step is reached, whatever is tapped; from 80 % on it is asked first.
#[test]
fn no_way_into_the_app_breaks_a_string_unsaid() {
    let (mut refused, mut asked, mut steps) = (0, 0, 0);
    for (instrument, nth) in
        [("guitar", 9), ("tenor-ukulele", 3), ("five-string-banjo", 5), ("twelve-string-guitar", 5)]
    {
        let start = on(instrument);
        let standard = start.standard();
        let rows = Catalog::bundled().tunings_for(start.instrument());
        let rows = rows.into_iter().map(|row| (row.tuning().clone(), Some(row.id())));
        // What nobody listed: one string up by so much.
        let others = (0..standard.courses()).flat_map(|index| {
            let standard = &standard;
            [4, 6, 9].into_iter().filter_map(move |up| {
                let mut pitches = standard.pitches().to_vec();
                pitches[index] = pitches[index].transpose(pegwise::theory::Semitones::new(up))?;
                Tuning::new(pitches).map(|tuning| (tuning, None))
            })
        });
        let is_listed = |tuning: &Tuning| Catalog::bundled().name_of(start.instrument(), tuning).is_some();
        let targets: Vec<_> = rows.chain(others.filter(|(tuning, _)| !is_listed(tuning))).collect();
        for (place, (tuning, id)) in targets.iter().enumerate() {
            let share = largest_share(&start, start.strings(), tuning);
            // A hair's breadth on either side is the table's rounding; of what is far from any limit a few are enough.
            if (share - 1.0).abs() < 1e-3 || (share - 0.8).abs() < 1e-3 || (share < 0.75 && place % nth != 0) {
                continue;
            }
            for by in [Entry::Row, Entry::Typed, Entry::Own, Entry::TakenIn, Entry::Song, Entry::SetList] {
                let mut state = start.clone();
                if !enter(&mut state, by, tuning, *id) {
                    continue;
                }
                let what = || format!("{instrument} to {tuning:?} by {by:?}: {share}");
                if state.guitar.stage() == Stage::Strings {
                    state.update(NOTED);
                }
                if share >= 1.0 {
                    for _ in 0..2 {
                        assert_ne!(state.guitar.stage(), Stage::Step, "{}", what());
                        state.update(Action::Retune(RetuneAction::TakeRisk));
                        state.update(CONFIRM);
                    }
                    let is_told = matches!(state.notice, Some(Notice::StringWouldBreak(_)));
                    assert!(is_told || state.guitar.refusal().is_some(), "{}", what());
                    assert_eq!(state.guitar.tuning(), standard, "{}", what());
                    refused += 1;
                } else if share >= 0.8 {
                    assert_eq!(state.guitar.stage(), Stage::Risk, "{}", what());
                    assert!(state.guitar.refusal().is_none(), "{}", what());
                    state.update(Action::Retune(RetuneAction::TakeRisk));
                    assert_eq!(state.guitar.stage(), Stage::Step, "{}", what());
                    asked += 1;
                } else if *tuning != standard {
                    assert_eq!(state.guitar.stage(), Stage::Step, "{}", what());
                    steps += 1;
                }
            }
        }
    }
    println!("{refused} refused, {asked} asked about, {steps} begun");
    assert!(refused > 60 && asked > 40 && steps > 100, "{refused} {asked} {steps}");
}

/// A song's chords are held on the neck as long as it was said to be, in hand and put away: its frets lie where
/// L(1 − 2^(−n/12)) says, and the shapes are those of that neck.
#[test]
fn the_chords_of_a_song_are_held_on_the_neck_as_long_as_it_is() {
    let mut state = fresh();
    let standard = state.standard();
    let mut song = Song::new("Quay", "guitar", ChosenTuning { id: None, pitches: standard.clone() });
    song.chart = "| F | Bm | C#m7b5 | Eb9 |".to_owned();
    let found = |state: &State| {
        let board = state.habits().board_of(&song, &song.tuning, Fret::OPEN).unwrap();
        (board.distance_mm(Fret::new(3)), chords(state.habits(), &song))
    };
    let usual = found(&state);
    let scale = |text: &str| Action::Instrument(InstrumentAction::ScaleTyped(text.to_owned()));
    state.update(scale("1100"));
    let long = found(&state);
    assert!((long.0 - 1100.0 * (1.0 - 2.0_f64.powf(-3.0 / 12.0))).abs() < 1e-9, "{}", long.0);
    // What a hand spans in millimetres is fewer frets there.
    assert_ne!(usual.1, long.1);
    let direct = |held: &SongChord| {
        let board = Fretboard::new(state.instrument(), &standard, Fret::OPEN).unwrap().over_mm(Some(1100.0));
        ShapeSearch { style: state.shapes.style, ..ShapeSearch::best(1) }.find(held.chord, &board).shapes.pop()
    };
    for held in &long.1 {
        assert_eq!(
            held.found.as_ref().map(|found| found.shape().clone()),
            direct(held).map(|found| found.shape().clone())
        );
    }
    // Put away, the guitar is as long as it was.
    state.update(Action::Instrument(InstrumentAction::Instrument("tenor-ukulele".to_owned())));
    assert_eq!(found(&state), long);
    state.update(Action::Instrument(InstrumentAction::Instrument("guitar".to_owned())));
    state.update(scale(""));
    assert_eq!(found(&state), usual);
}
