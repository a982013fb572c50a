//! Favourite shapes: they stay with tuning and chord, come first wherever that chord is looked up, and outlive a restart.

use std::path::Path;

use pegwise::app::{
    Action, Notice, PickAction, RetuneAction, Screen, ShapesAction, SongAction, SongsAction, State, Tab, TuningsAction,
    Undo, shapes_of,
};
use pegwise::instrument::{Fret, Tuning};
use pegwise::shapes::{Shape, Style};
use pegwise::songs::{ChosenTuning, Song};
use pegwise::store::{
    Decision, Favourite, Incoming, Library, LibraryFile, Likeness, Memory, Mended, SetAside, read, read_mending, write,
};
use pegwise::theory::Chord;
use proptest::prelude::*;

use crate::held::guitar_in;

fn go(state: &mut State, actions: impl IntoIterator<Item = Action>) {
    for action in actions {
        state.update(action);
    }
}

fn shapes(action: ShapesAction) -> Action {
    Action::Shapes(action)
}

/// G6 on the guitar, at the shapes of G.
fn in_g6(library: Library) -> State {
    let mut state = State::new(library);
    let confirm = || Action::Retune(RetuneAction::Confirm);
    go(&mut state, [Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned())), confirm(), confirm()]);
    go(&mut state, [Action::Retune(RetuneAction::CheckDone), Action::Tab(Tab::Shapes)]);
    state
}

fn shown(state: &State) -> String {
    state.shapes.shape().unwrap().shape().to_string()
}

fn chord(state: &mut State, index: usize) {
    go(state, [shapes(ShapesAction::Chord(index))]);
}

/// Turns to the fifth shape of the chord and marks it.
fn mark_fifth(state: &mut State) -> String {
    go(state, (0..4).map(|_| shapes(ShapesAction::Next)));
    let marked = shown(state);
    go(state, [shapes(ShapesAction::Favourite)]);
    marked
}

#[test]
fn a_marked_shape_comes_first_stays_in_sight_and_is_taken_off_again_with_undo() {
    let mut state = in_g6(Library::default());
    let ranked: Vec<String> = state.shapes.found.iter().map(|found| found.shape().to_string()).collect();
    let marked = mark_fifth(&mut state);
    assert_eq!((shown(&state), state.shapes.index), (marked.clone(), 0), "the same shape, now the first");
    assert!(state.shapes.is_marked(state.shapes.shape().unwrap().shape()));
    assert_eq!(state.shapes.found.len(), ranked.len(), "none is lost and none doubled");
    let others: Vec<String> = state.shapes.found[1..].iter().map(|found| found.shape().to_string()).collect();
    assert!(others.iter().eq(ranked.iter().filter(|shape| **shape != marked)), "the others keep their order");

    // Another chord, and back; another tuning, and back.
    chord(&mut state, 3);
    assert!(!state.shapes.is_marked(state.shapes.shape().unwrap().shape()));
    chord(&mut state, 0);
    assert_eq!(shown(&state), marked);

    // Taken off, it stays in sight where it ranks; Undo marks it again.
    go(&mut state, [shapes(ShapesAction::Favourite)]);
    assert!(state.library.favourites().is_empty());
    assert_eq!((shown(&state), state.shapes.index), (marked.clone(), 4));
    assert!(matches!(&state.notice, Some(Notice::FavouriteOff { frets, .. }) if *frets == marked));
    assert!(matches!(state.undo, Some(Undo::Favourite(0, _))));
    go(&mut state, [Action::Undo]);
    assert_eq!((shown(&state), state.shapes.index, state.library.favourites().len()), (marked, 0, 1));
    assert!(state.notice.is_none());
}

#[test]
fn favourites_stay_with_their_tuning_and_outlive_a_restart() {
    let disk = Memory::new();
    let open = || LibraryFile::open(Box::new(disk.clone()), Path::new("library")).unwrap();
    let mut opened = open();
    let mut state = in_g6(opened.library);
    let marked = mark_fifth(&mut state);
    opened.file.save(&state.library).unwrap();

    let mut state = State::new(open().library);
    go(&mut state, [Action::Tab(Tab::Shapes)]);
    assert_eq!(shown(&state), marked, "after a restart");
    // In standard G has other shapes, and the mark is not there; back in G6 it is.
    let standard = Action::Tunings(TuningsAction::Choose("guitar-standard".to_owned()));
    let confirm = || Action::Retune(RetuneAction::Confirm);
    go(&mut state, [standard, confirm(), confirm(), Action::Tab(Tab::Shapes)]);
    assert!(state.shapes.found.iter().all(|found| !state.shapes.is_marked(found.shape())));
    let mut state = in_g6(state.library.clone());
    chord(&mut state, 0);
    assert_eq!(shown(&state), marked);
}

#[test]
fn over_a_capo_the_same_fingers_are_the_favourite_of_the_chord_that_sounds() {
    let mut state = in_g6(Library::default());
    let marked = mark_fifth(&mut state);
    let capo = |by| Action::Instrument(pegwise::app::InstrumentAction::CapoBy(by));
    go(&mut state, [capo(1), capo(1), Action::Tab(Tab::Shapes)]);
    let typed = PickAction::Typed("A".to_owned());
    go(&mut state, [Action::Open(Screen::ChordPicker), Action::Pick(typed), Action::Pick(PickAction::ChordTaken)]);
    assert_eq!(state.shapes.chord.to_string(), "A");
    assert_eq!(shown(&state), marked);
    // Taken off over the capo, it is off without it.
    go(&mut state, [shapes(ShapesAction::Favourite)]);
    assert!(state.library.favourites().is_empty());
}

#[test]
fn a_song_in_the_tuning_holds_its_chords_so() {
    let mut state = in_g6(Library::default());
    let marked = mark_fifth(&mut state);
    let pitches = state.guitar.tuning();
    let mut song = Song::new("Quay", "guitar", ChosenTuning { id: None, pitches });
    song.chart = "| G | C |".to_owned();
    let g = Chord::read("G").unwrap();
    let (found, chosen) = shapes_of(state.habits(), &song, g);
    assert_eq!((found[0].shape().to_string(), chosen), (marked.clone(), None));
    assert_eq!(found.iter().filter(|found| found.shape().to_string() == marked).count(), 1);
    let held = pegwise::app::held(state.habits(), &song, g);
    assert_eq!(held.found.unwrap().shape().to_string(), marked);
    // What was chosen for the song goes before it.
    let own = found[2].shape().clone();
    song.choose_shape(g, Some(&own));
    assert_eq!(*pegwise::app::held(state.habits(), &song, g).found.unwrap().shape(), own);
    // On the page of one chord it is the first that is turned to.
    song.choose_shape(g, None);
    let id = state.library.add_song(song);
    go(&mut state, [Action::Songs(SongsAction::Open(id)), Action::Song(SongAction::Chord(0))]);
    assert_eq!(state.song.chord, Some((g, 0)));
}

#[test]
fn filters_hold_for_favourites_and_what_a_filter_let_in_stays() {
    let mut state = in_g6(Library::default());
    let marked = mark_fifth(&mut state);
    let open = marked.split(' ').any(|fret| fret == "0");
    let filter = if open { ShapesAction::MovableOnly } else { ShapesAction::OpenOnly };
    go(&mut state, [shapes(filter)]);
    assert!(state.shapes.found.iter().all(|found| found.shape().to_string() != marked));
    go(&mut state, [shapes(ShapesAction::ClearFilters)]);
    assert_eq!(shown(&state), marked);

    // Held with the thumb over the neck, marked, and the thumb no longer allowed.
    let mut state = State::new(Library::default());
    go(&mut state, [Action::Tab(Tab::Shapes), shapes(ShapesAction::ThumbMayFret)]);
    let thumb = state
        .shapes
        .found
        .iter()
        .position(|found| found.fingering().fingers.contains(&Some(pegwise::shapes::Finger::Thumb)));
    if let Some(place) = thumb {
        go(&mut state, [shapes(ShapesAction::LargeAt(place)), shapes(ShapesAction::Favourite)]);
        let marked = shown(&state);
        go(&mut state, [shapes(ShapesAction::ThumbMayFret)]);
        assert_eq!(state.shapes.found[0].shape().to_string(), marked);
    }
}

#[test]
fn a_tap_in_the_overview_opens_that_shape_large_and_close_leads_back() {
    let mut state = in_g6(Library::default());
    go(&mut state, [Action::Open(Screen::Overview), shapes(ShapesAction::LargeAt(7))]);
    assert_eq!((state.screen(), state.shapes.index), (Screen::Show, 7));
    go(&mut state, [Action::Back]);
    assert_eq!(state.screen(), Screen::Overview);
    go(&mut state, [shapes(ShapesAction::LargeAt(1_000))]);
    assert_eq!((state.screen(), state.shapes.index), (Screen::Overview, 7), "there is none");
    go(&mut state, [Action::Back]);
    assert_eq!((state.screen(), state.shapes.index), (Screen::Shapes, 7));
}

fn favourite(frets: &str, chord: &str) -> Favourite {
    let board = guitar_in("DGDGBE");
    let tuning = Tuning::new(board.open_pitches().to_vec()).unwrap();
    Favourite::new(&tuning, Chord::read(chord).unwrap(), Fret::OPEN, &Shape::read(frets, 6).unwrap())
}

#[test]
fn favourites_go_out_and_come_in_and_an_import_of_them_can_be_taken_back() {
    let mut there = Library::default();
    assert!(there.add_favourite(favourite("x 0 0 0 0 x", "G")) && there.add_favourite(favourite("x 5 5 5 5 x", "C")));
    assert!(!there.add_favourite(favourite("x 5 5 5 5 x", "C")), "it is marked already");
    let mut here = Library::default();
    here.add_favourite(favourite("x 5 5 5 5 x", "C"));
    let before = here.clone();
    let incoming = Library::read_incoming(&there.export()).unwrap();
    let items = here.compare(&incoming);
    let item = items.iter().find(|item| item.what == Incoming::Favourites).unwrap();
    assert_eq!((item.likeness, item.decision, item.name.as_str()), (Likeness::New, Decision::Add, "1"));
    let (done, taken) = here.import(&incoming, &items);
    assert_eq!((done.added, here.favourites().len()), (1, 2));
    let again = here.compare(&incoming);
    assert!(again.iter().any(|item| item.what == Incoming::Favourites && item.likeness == Likeness::Same));
    here.give_back(taken);
    assert_eq!(here.favourites(), before.favourites());
}

#[test]
fn a_favourite_that_cannot_be_read_is_set_aside_alone_and_comes_back_when_it_can() {
    let mut library = Library::default();
    for (frets, chord) in [("x 0 0 0 0 x", "G"), ("x 5 5 5 5 x", "C"), ("2 0 2 0 0 0", "Em")] {
        library.add_favourite(favourite(frets, chord));
    }
    let text = String::from_utf8(write(&library)).unwrap();
    let (bent, mended) = read_mending(text.replace("\"C\"", "\"C blue\"").as_bytes()).unwrap();
    assert_eq!(mended, Mended { set_aside: 1, ..Mended::default() });
    assert_eq!(bent.favourites().len(), 2);
    let aside: &SetAside = &bent.set_aside()[0];
    assert_eq!((aside.field.as_str(), aside.at), ("favourites", 1));
    assert_eq!(
        read(String::from_utf8(aside.as_file()).unwrap().replace("C blue", "C").as_bytes()).unwrap().favourites().len(),
        1
    );
    let back = String::from_utf8(write(&bent)).unwrap().replace("C blue", "C");
    assert_eq!(read(back.as_bytes()).unwrap().favourites(), library.favourites());
    // A library of before has none, and one without any says nothing of it.
    assert!(!String::from_utf8(write(&Library::default())).unwrap().contains("favourites"));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// Any marked shapes come back from the file as they were, with what a later version wrote beside them.
    #[test]
    fn marked_shapes_come_back_from_the_file(
        frets in proptest::collection::vec(proptest::collection::vec(proptest::option::of(0..36_u8), 6), 0..5),
        root in 0..12_i16, quality in 0..pegwise::theory::ChordQuality::all().len(), capo in 0..9_u8,
    ) {
        let class = pegwise::theory::PitchClass::from_semitones_above_c(root);
        let note = pegwise::theory::Note::of_class(class, pegwise::theory::SpellingChoice::Customary);
        let chord = Chord::new(note, &pegwise::theory::ChordQuality::all()[quality]);
        let tuning = Tuning::new(guitar_in("DADGAD").open_pitches().to_vec()).unwrap();
        let mut library = Library::default();
        for frets in frets {
            let shape = Shape::new(frets.into_iter().map(|fret| fret.map(Fret::new)).collect());
            let mut marked = Favourite::new(&tuning, chord, Fret::new(capo), &shape);
            prop_assert!(marked.is_for(&tuning, chord, Fret::new(capo)));
            prop_assert!(capo == 0 || !marked.is_for(&tuning, chord, Fret::OPEN));
            marked.unknown.insert("since".to_owned(), "later".into());
            library.add_favourite(marked);
        }
        prop_assert_eq!(read(&write(&library)).unwrap(), library);
    }
}

/// The style it was marked in does not hide it.
#[test]
fn a_picked_favourite_is_there_when_strummed() {
    let mut state = in_g6(Library::default());
    let strummed = |state: &mut State, style| go(state, [shapes(ShapesAction::Style(style))]);
    let picked: Vec<Shape> = state.shapes.found.iter().map(|found| found.shape().clone()).collect();
    strummed(&mut state, Style::Strummed);
    let only_picked = picked.iter().position(|shape| state.shapes.found.iter().all(|found| found.shape() != shape));
    strummed(&mut state, Style::Picked);
    let place = only_picked.expect("some shape leaves a string inside undamped");
    go(&mut state, [shapes(ShapesAction::LargeAt(place)), shapes(ShapesAction::Favourite)]);
    strummed(&mut state, Style::Strummed);
    assert_eq!(*state.shapes.found[0].shape(), picked[place]);
}
