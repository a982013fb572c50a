//! What goes out and comes in: nothing of the player's own is lost or replaced unasked.

use pegwise::app::{Action, CameIn, ExchangeAction, SongsAction, State};
use pegwise::instrument::{Catalog, Fret, Tuning};
use pegwise::shapes::Shape;
use pegwise::songs::{ChosenTuning, SetEntry, SetList, SetListId, Song, SongId};
use pegwise::store::{Decision, Imported, Incoming, IncomingFault, Library, Likeness, Theme, demo, read, write};
use pegwise::theory::{Chord, Key, Pitch, SpellingChoice};
use proptest::prelude::*;

fn tuning(text: &str) -> Tuning {
    let pitches = text.split(' ').map(|pitch| pegwise::theory::SpelledPitch::read(pitch).unwrap().pitch());
    Tuning::new(pitches.collect()).unwrap()
}

/// Another device's library: two songs, an own tuning one of them is in, a set list.
fn other_device() -> Library {
    let mut library = Library::default();
    library.settings.theme = Theme::Dark;
    let pitches = tuning("C2 G2 D3 G3 C4 D4");
    let own = library.add_own_tuning("guitar", "Moorings", pitches.clone());
    let first = library.add_song(Song::new("Seven Moorings", "guitar", ChosenTuning { id: Some(own), pitches }));
    let open_g = ChosenTuning { id: Some("guitar-open-g".into()), pitches: tuning("D2 G2 D3 G3 B3 D4") };
    let second = library.add_song(Song::new("Slipway Number Nine", "guitar", open_g));
    let mut list = SetList::new("Evening");
    list.entries = vec![SetEntry { is_pinned: true, ..SetEntry::new(second) }, SetEntry::new(first)];
    library.add_set_list(list);
    library
}

/// Imports with what is proposed.
fn import(into: &mut Library, incoming: &Library) -> Imported {
    let items = into.compare(incoming);
    let (done, _) = into.import(incoming, &items);
    read(&write(into)).unwrap();
    done
}

fn titles(library: &Library) -> Vec<&str> {
    library.songs().iter().map(|song| song.title.as_str()).collect()
}

#[test]
fn an_empty_library_takes_everything_with_its_references() {
    let mut library = Library::default();
    library.add_own_tuning("guitar", "So that numbers differ", tuning("E2 A2 D3 G3 B3 F4"));
    let done = import(&mut library, &other_device());
    assert_eq!(done, Imported { added: 4, replaced: 0, places_lost: 0 });
    assert_eq!(titles(&library), ["Seven Moorings", "Slipway Number Nine"]);
    let song = &library.songs()[0];
    assert_eq!(library.find_own_tuning(song.tuning.id.as_ref().unwrap()).unwrap().name, "Moorings");
    let list = &library.set_lists()[0];
    let names: Vec<&str> =
        list.entries.iter().map(|entry| library.find_song(entry.song_id).unwrap().title.as_str()).collect();
    assert_eq!(names, ["Slipway Number Nine", "Seven Moorings"]);
    assert!(list.entries[0].is_pinned && !list.entries[1].is_pinned);
    assert_eq!(library.settings.theme, Theme::System, "settings come in only when asked for");
}

#[test]
fn importing_again_changes_nothing() {
    let mut library = Library::default();
    library.add_own_tuning("guitar", "So that numbers differ", tuning("E2 A2 D3 G3 B3 F4"));
    import(&mut library, &other_device());
    let before = library.clone();
    let items = library.compare(&other_device());
    for item in items.iter().filter(|item| item.what != Incoming::Settings) {
        assert_eq!((item.likeness, item.decision), (Likeness::Same, Decision::Leave), "{item:?}");
    }
    assert_eq!(import(&mut library, &other_device()), Imported::default());
    assert_eq!(library, before);
}

#[test]
fn what_differs_is_kept_twice_unless_the_player_says_replace() {
    let mut library = Library::default();
    import(&mut library, &other_device());
    let mut changed = other_device();
    let mut song = changed.songs()[1].clone();
    song.notes = "slower".into();
    let id = song.id;
    changed.replace_song(song);

    let mut both = library.clone();
    import(&mut both, &changed);
    assert_eq!(titles(&both), ["Seven Moorings", "Slipway Number Nine", "Slipway Number Nine (2)"]);
    assert_eq!(both.songs()[..2], library.songs()[..2]);
    assert_eq!(both.songs()[2].notes, "slower");
    // The set list names the changed song, so it is another set list.
    assert_eq!(both.set_lists().len(), 2);
    assert_eq!(both.set_lists()[1].entries[0].song_id, both.songs()[2].id);

    let mut items = library.compare(&changed);
    let place = changed.songs().iter().position(|song| song.id == id).unwrap();
    let item = items.iter_mut().find(|item| item.what == Incoming::Song(place)).unwrap();
    assert_eq!(item.likeness, Likeness::Differs);
    item.decision = Decision::Replace;
    let mut replaced = library.clone();
    assert_eq!(replaced.import(&changed, &items).0.replaced, 1);
    assert_eq!(titles(&replaced), titles(&library));
    assert_eq!(replaced.songs()[1].notes, "slower");
    assert_eq!(replaced.songs()[1].id, library.songs()[1].id);
}

#[test]
fn a_song_left_out_leaves_its_places_and_says_so() {
    let mut library = Library::default();
    let incoming = other_device();
    let mut items = library.compare(&incoming);
    for item in &mut items {
        if matches!(item.what, Incoming::Song(0) | Incoming::OwnTuning(0)) {
            item.decision = Decision::Leave;
        }
    }
    assert_eq!(library.import(&incoming, &items).0, Imported { added: 2, replaced: 0, places_lost: 1 });
    assert_eq!(titles(&library), ["Slipway Number Nine"]);
    assert_eq!(library.set_lists()[0].entries.len(), 1);
    read(&write(&library)).unwrap();
}

#[test]
fn a_song_whose_own_tuning_is_left_out_keeps_its_pitches() {
    let mut library = Library::default();
    let incoming = other_device();
    let mut items = library.compare(&incoming);
    items.iter_mut().find(|item| item.what == Incoming::OwnTuning(0)).unwrap().decision = Decision::Leave;
    library.import(&incoming, &items);
    let song = &library.songs()[0];
    assert_eq!((&song.tuning.id, &song.tuning.pitches), (&None, &tuning("C2 G2 D3 G3 C4 D4")));
}

/// Takes in everything, settings and all, with every twin replaced.
fn take_all(into: &mut Library, incoming: &Library) -> pegwise::store::TakenIn {
    let mut items = into.compare(incoming);
    for item in &mut items {
        item.decision = if item.likeness == Likeness::New { Decision::Add } else { Decision::Replace };
    }
    into.import(incoming, &items).1
}

#[test]
fn what_was_taken_in_is_given_back_and_nothing_else() {
    let mut mine = Library::default();
    mine.settings.is_left_handed = true;
    mine.add_own_tuning("guitar", "Moorings", tuning("E2 A2 D3 G3 B3 F4"));
    let standard = ChosenTuning { id: None, pitches: tuning("E2 A2 D3 G3 B3 E4") };
    mine.add_song(Song::new("Seven Moorings", "guitar", standard.clone()));
    let mut library = mine.clone();
    let taken = take_all(&mut library, &other_device());
    assert_eq!(library.songs().len(), 2);
    library.give_back(taken.clone());
    assert_eq!(read(&write(&library)).unwrap().songs(), mine.songs());
    assert_eq!((&library.settings, library.own_tunings()), (&mine.settings, mine.own_tunings()));
    assert_eq!((library.set_lists().len(), library.set_aside().len()), (0, 0));

    // Much comes after: an own tuning, a setting, a song, a set list with one that came, a change to another that came.
    let mut library = mine.clone();
    let taken = take_all(&mut library, &other_device());
    let own = library.add_own_tuning("guitar", "Later", tuning("E2 A2 D3 G3 B3 G4"));
    library.settings.theme = Theme::Sunlight;
    let later = library.add_song(Song::new("Later", "guitar", standard));
    let came = library.songs().iter().find(|song| song.title == "Slipway Number Nine").unwrap().id;
    let mut list = SetList::new("Mine");
    list.entries = vec![SetEntry::new(came), SetEntry::new(later)];
    let list = library.add_set_list(list);
    let mut changed = library.songs()[0].clone();
    changed.notes = "changed since".into();
    library.replace_song(changed.clone());
    library.give_back(taken);
    assert_eq!(titles(&library), ["Seven Moorings", "Slipway Number Nine", "Later"]);
    assert_eq!(library.songs()[0], changed);
    assert_eq!(library.settings.theme, Theme::Sunlight, "chosen since");
    assert!(library.settings.is_left_handed, "as before");
    assert_eq!(library.find_set_list(list).unwrap().entries.len(), 2);
    assert_eq!(library.set_lists().len(), 1);
    assert!(library.find_own_tuning(&own).is_some());
    // The tuning that a song still names stays as it came.
    assert_eq!(library.own_tunings().len(), 2);
    assert_eq!(read(&write(&library)).unwrap(), library);
}

#[test]
fn fifty_thousand_songs_of_one_title_are_told_apart_in_time() {
    let mut incoming = Library::default();
    for _ in 0..50_000 {
        let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
        incoming.add_song(Song::new("Count", "guitar", open_g));
    }
    let begun = std::time::Instant::now();
    let mut library = Library::default();
    let items = library.compare(&incoming);
    let (done, taken) = library.import(&incoming, &items);
    assert_eq!((done.added, library.songs()[49_999].title.as_str()), (50_000, "Count (50000)"));
    library.give_back(taken);
    assert!(library.songs().is_empty());
    assert!(begun.elapsed().as_secs() < 20, "{:?}", begun.elapsed());
}

#[test]
fn settings_come_in_when_the_player_says_so() {
    let mut library = Library::default();
    let incoming = other_device();
    let mut items = library.compare(&incoming);
    let item = items.iter_mut().find(|item| item.what == Incoming::Settings).unwrap();
    item.decision = Decision::Replace;
    library.import(&incoming, &items);
    assert_eq!(library.settings.theme, Theme::Dark);
}

#[test]
fn the_whole_library_goes_out_and_comes_in() {
    let library = other_device();
    assert_eq!(Library::read_incoming(&library.export()).unwrap(), library);
}

#[test]
fn a_set_list_goes_out_with_what_belongs_to_it_and_no_more() {
    let mut library = other_device();
    let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
    library.add_song(Song::new("Not in the list", "guitar", open_g));
    library.add_own_tuning("guitar", "Not in the list", tuning("E2 A2 D3 G3 B3 F4"));
    library.remember_tuning("guitar-open-g");
    let list = library.set_lists()[0].id;
    let text = library.export_set_list(list).unwrap();
    for absent in ["Not in the list", "settings", "guitar_now", "recent_tuning_ids", "dark"] {
        assert!(!text.contains(absent), "{absent}");
    }
    let mut here = Library::default();
    let done = import(&mut here, &Library::read_incoming(&text).unwrap());
    assert_eq!(done.added, 4);
    assert_eq!(library.export_set_list(SetListId(99)), None);
}

#[test]
fn nonsense_from_the_clipboard_is_refused_with_its_reason() {
    let rows = [
        ("", "expected a title, found nothing"),
        ("{", "EOF while parsing an object at line 1 column 1"),
        ("{}", "expected a pegwise-library file"),
        (r#"{"format":"pegwise-library","version":2}"#, "expected version 1 at most, found version 2"),
        ("A title\n\n| G |", "expected a line such as \"Tuning: E2 A2 D3 G3 B3 E4\" before the chart"),
        (
            "A title\nSomething",
            "line 2: expected From, Instrument, Tuning, Capo, Key, Chords, Tempo, Shape or Notes and a colon, found \"Something\"",
        ),
        (
            "A title\nColour: red\nTuning: E2",
            "line 2: expected From, Instrument, Tuning, Capo, Key, Chords, Tempo, Shape or Notes and a colon, found \"colour\"",
        ),
        ("A title\nTuning: E2 H2", "line 2: open pitches: expected a note from A to G at character 1, found \"H\""),
        ("A title\nTuning: E2\nCapo: 40", "line 3: expected a fret from 0 to 36, found \"40\""),
        ("A title\nTuning: E2\nTempo: 5", "line 3: expected a tempo from 10 to 400, found \"5\""),
        ("A title\nTuning: E2\nKey: H", "line 3: key: expected a note from A to G at character 1, found \"H\""),
        ("A title\nTuning: E2\nShape: G 1 2", "line 3: expected 1 frets, found 2"),
    ];
    for (text, expected) in rows {
        assert_eq!(Library::read_incoming(text).unwrap_err().to_string(), expected, "{text}");
    }
}

#[test]
fn a_song_as_text_reads_as_a_person_would_write_it() {
    let text = "Slipway Number Nine\nFrom: the ferry house\nTuning: D2 G2 D3 G3 B3 D4\nCapo: 2\nKey: G\nTempo: 84\n\
                Shape: C 5 5 5 5 5 5\nNotes: softly\n\nVerse:\n| G | C |\n";
    let library = Library::read_incoming(text).unwrap();
    let song = library.find_song(SongId(1)).unwrap();
    assert_eq!(song.shape_of(Chord::read("C").unwrap()).unwrap().to_string(), "5 5 5 5 5 5");
    assert_eq!((song.capo, song.tempo_bpm, song.key), (Fret::new(2), Some(84), Some(Key::read("G").unwrap())));
    assert_eq!(song.chart, "Verse:\n| G | C |\n");
    assert_eq!(song.to_text(), text.replace("Tuning", "Instrument: guitar\nTuning"));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(500) })]

    #[test]
    fn a_song_as_text_comes_back(
        title in "[A-Za-z][A-Za-z0-9:,'é ]{0,20}[a-z]",
        from in "([a-z][a-z :]{0,10}[a-z])?",
        pitches in prop::collection::vec(24_u8..80, 1..=12),
        capo in 0_u8..=36,
        key in prop::option::of("[A-G](b|#)?(m| dorian)?"),
        bpm in prop::option::of(10_u16..=400),
        notes in "([a-z]{1,8}\n){0,3}[a-z]{1,5}",
        chart in "([A-Z][a-z]{1,5}:\n)?(\\| [A-G]m7? \\|\n){0,3}",
    ) {
        let courses = pitches.len();
        let pitches = Tuning::new(pitches.into_iter().map(|number| Pitch::from_number(number).unwrap()).collect()).unwrap();
        let mut song = Song::new(title.split_whitespace().collect::<Vec<_>>().join(" "), "ukulele", ChosenTuning { id: None, pitches });
        song.from = from.split_whitespace().collect::<Vec<_>>().join(" ");
        song.capo = Fret::new(capo);
        song.key = key.map(|key| Key::read(&key).unwrap());
        song.tempo_bpm = bpm;
        song.notes = notes;
        song.chart = chart;
        song.choose_shape(Chord::read("Am7").unwrap(), Some(&Shape::new(vec![Some(Fret::new(12)); courses])));
        let read = Song::read_text(&song.to_text());
        prop_assert_eq!(read, Ok(song));
    }

    #[test]
    fn any_text_is_read_or_refused(text in "(.{0,12}\n|Tuning: E2\n|Notes: \n|Capo: 1\n){0,6}") {
        let _ = Library::read_incoming(&text);
    }
}

#[test]
fn a_set_list_as_text_names_songs_tunings_and_capos() {
    let library = other_device();
    let text = library.set_lists()[0].to_text(|id| library.find_song(id));
    assert_eq!(text, "Evening\n\n1. Slipway Number Nine, D2 G2 D3 G3 B3 D4\n2. Seven Moorings, C2 G2 D3 G3 C4 D4\n");
}

#[test]
fn the_demo_is_whole_and_its_tunings_are_the_catalogues() {
    let demo = demo();
    let catalog = Catalog::bundled();
    assert!(demo.songs().len() >= 8 && demo.set_lists().len() == 1);
    for song in demo.songs() {
        let instrument = catalog.find_instrument(&song.instrument_id).unwrap();
        assert_eq!(instrument.courses().len(), song.tuning.pitches.courses());
        let id = song.tuning.id.as_ref().unwrap();
        let known = catalog.find_tuning(id).map(|tuning| tuning.tuning().clone());
        let own = demo.find_own_tuning(id).map(|tuning| tuning.pitches.clone());
        assert_eq!(known.or(own).as_ref(), Some(&song.tuning.pitches), "{}", song.title);
        let chart = song.read_chart();
        assert_eq!(chart.faults().count(), 0, "{}", song.title);
        assert!(!chart.played().is_empty());
        let key = song.key.unwrap();
        let first = chart.chords()[0].0;
        assert!(key.classes().contains(first.root().class()), "{}", song.title);
        for (chord, shape) in song.chosen_shapes() {
            let board = pegwise::instrument::Fretboard::new(instrument, &song.tuning.pitches, song.capo).unwrap();
            let heard: pegwise::theory::PitchClassSet =
                shape.pitches(&board).into_iter().flatten().map(|pitch| pitch.class()).collect();
            let sounding = song.to_hold(chord).sounding;
            assert!(sounding.required().is_subset_of(heard), "{}: {chord}", song.title);
            assert!(heard.is_subset_of(sounding.allowed()), "{}: {chord}", song.title);
        }
    }
    for own in demo.own_tunings() {
        assert!(catalog.tunings().iter().all(|known| *known.tuning() != own.pitches), "it is in the catalogue");
    }
    let mut library = Library::default();
    import(&mut library, &demo);
    let list = &library.set_lists()[0];
    let (stands, groups) = list.stands(|id| library.find_song(id));
    let problem = list.order_problem((&stands, &groups), None, |from, to| {
        if from.instrument_id != to.instrument_id {
            return 99;
        }
        let pairs = from.pitches.pitches().iter().zip(to.pitches.pitches());
        u32::try_from(pairs.filter(|(from, to)| from != to).count()).unwrap()
    });
    let order = problem.solve();
    let as_it_stands: Vec<usize> = (0..list.entries.len()).collect();
    assert!(order.is_best() && order.cost < problem.cost_of(&as_it_stands), "the demo shows what ordering saves");
    let ordered = list.in_order(&order);
    assert_eq!(ordered.entries.first(), list.entries.first());
    assert_eq!(ordered.entries.last(), list.entries.last());
}

#[test]
fn songs_are_found_as_one_types() {
    let mut library = Library::default();
    for (title, from) in [
        ("Low Water", "the ferry house"),
        ("Water Wheel", ""),
        ("Clearwater", ""),
        ("The Lock-Hand's Mitten", "Anouk of the lock"),
        ("Étude for a Wet Evening", "waterman"),
    ] {
        let standard = ChosenTuning { id: None, pitches: tuning("E2 A2 D3 G3 B3 E4") };
        let mut song = Song::new(title, "guitar", standard);
        song.from = from.into();
        library.add_song(song);
    }
    let rows = [
        ("water", vec!["Water Wheel", "Low Water", "Clearwater", "Étude for a Wet Evening"]),
        ("WATER l", vec!["Low Water", "Clearwater", "Water Wheel"]),
        ("etude", vec!["Étude for a Wet Evening"]),
        ("hands", vec!["The Lock-Hand's Mitten"]),
        ("lock anouk", vec!["The Lock-Hand's Mitten"]),
        ("zebra", vec![]),
    ];
    for (text, expected) in rows {
        let found: Vec<&str> = library.find_songs(text).iter().map(|song| song.title.as_str()).collect();
        assert_eq!(found, expected, "{text}");
    }
    assert_eq!(library.find_songs("").len(), 5);
    assert_eq!(library.find_songs("Low")[0].tuning.pitches.ascii(SpellingChoice::Customary), "E A D G B E");
}

/// Counts what goes through, and how much at once.
#[derive(Default)]
struct Count {
    bytes: usize,
    largest: usize,
}

impl std::io::Write for Count {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.bytes += bytes.len();
        self.largest = self.largest.max(bytes.len());
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn fifteen_thousand_songs_go_out_piece_by_piece() {
    let mut library = Library::default();
    for number in 0..15_000 {
        let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
        let mut song = Song::new(format!("Song {number}"), "guitar", open_g);
        song.chart = "Verse:\n| G | C G | D | G |\n".repeat(20);
        library.add_song(song);
    }
    let mut count = Count::default();
    let begun = std::time::Instant::now();
    library.export_to(&mut count).unwrap();
    let took = begun.elapsed();
    eprintln!("15,000 songs, {} bytes in {took:?}, at most {} at once", count.bytes, count.largest);
    assert!(count.largest < 10_000 && count.bytes > 8_000_000);
    // Optimised it takes a tenth of that; see tests/FIGURES.md.
    assert!(took.as_secs() < 10, "{took:?}");
    let begun = std::time::Instant::now();
    let copy = library.clone();
    eprintln!("a copy of them for the saver's thread: {:?}", begun.elapsed());
    assert_eq!(copy.songs().len(), 15_000);
}

#[test]
fn a_large_file_tells_how_far_it_is_and_stops_when_told() {
    let mut incoming = Library::default();
    for number in 0..1_000 {
        let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
        incoming.add_song(Song::new(format!("Song {number}"), "guitar", open_g));
    }
    let bytes = incoming.export().into_bytes();
    let mut told = Vec::new();
    let came = CameIn::read(Ok(bytes.clone()), &Library::default(), &mut |share| {
        told.push(share);
        true
    });
    assert!(came.unwrap().is_some());
    assert!(told.len() >= 20 && told.is_sorted(), "{told:?}");
    assert!(told[0] < 0.01 && told[told.len() - 1] > 0.9, "{told:?}");
    for stop_at in [0.0, 0.3, 0.5, 0.8] {
        let mut last: f64 = 0.0;
        let came = CameIn::read(Ok(bytes.clone()), &Library::default(), &mut |share| {
            last = share;
            share < stop_at
        });
        assert_eq!(came, Ok(None), "{stop_at}");
        assert!(last < stop_at + 0.1, "it stops soon: {last}");
    }
}

#[test]
fn a_file_that_is_no_text_is_refused_and_one_that_is_gone_says_why() {
    let no = &mut |_: f64| true;
    let binary = [b"%PDF-1.7\n".as_slice(), &[0xff, 0xfe, 0x80]].concat();
    assert_eq!(CameIn::read(Ok(binary), &Library::default(), no), Err(IncomingFault::NoText));
    let gone = pegwise::store::read_file(std::path::Path::new("tests/assets/nowhere.json"));
    let Err(IncomingFault::File(why)) = CameIn::read(gone, &Library::default(), no) else { panic!() };
    assert!(!why.is_empty());
    let folder = pegwise::store::read_file(std::path::Path::new("tests"));
    assert!(
        matches!(CameIn::read(folder, &Library::default(), no), Err(IncomingFault::File(_))),
        "a folder is no file"
    );
    let song = "\u{feff}A Song\nTuning: D2 G2 D3 G3 B3 D4\n\n| G |".as_bytes().to_vec();
    assert!(CameIn::read(Ok(song), &Library::default(), no).unwrap().is_some());
}

/// What was changed here while a file was read counts.
#[test]
fn what_comes_in_is_compared_with_what_is_here_then() {
    let incoming = demo().export().into_bytes();
    let mut state = State::new(Library::default());
    let came = CameIn::read(Ok(incoming), &state.library, &mut |_| true).unwrap().unwrap();
    state.update(Action::Exchange(ExchangeAction::Begin));
    state.update(Action::Songs(SongsAction::Demo));
    state.update(Action::Exchange(ExchangeAction::CameIn(Box::new(came))));
    let items = &state.exchange.items;
    assert!(!items.is_empty() && items.iter().all(|item| item.likeness == Likeness::Same), "{items:?}");
    assert_eq!(state.exchange.reading, None);
}

#[test]
fn ten_thousand_items_are_shown_page_by_page_those_that_differ_first() {
    let mut here = Library::default();
    let mut there = Library::default();
    for number in 0..10_000 {
        let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
        let mut song = Song::new(format!("Song {number}"), "guitar", open_g);
        there.add_song(song.clone());
        if number % 100 == 99 {
            song.notes = "mine".into();
            here.add_song(song);
        }
    }
    let mut state = State::new(here);
    let text = there.export();
    state.update(Action::Exchange(ExchangeAction::Typed(text)));
    state.update(Action::Exchange(ExchangeAction::Read));
    assert_eq!(state.exchange.counts(), [9_900, 100, 0]);
    let mut seen = Vec::new();
    for page in 0..state.exchange.pages() {
        state.update(Action::Exchange(ExchangeAction::Page(page)));
        assert!(state.exchange.shown().len() <= 40);
        seen.extend(state.exchange.shown());
    }
    assert!(seen[..100].iter().all(|&index| state.exchange.items[index].likeness == Likeness::Differs));
    seen.sort_unstable();
    assert_eq!(seen, (0..10_000).collect::<Vec<_>>(), "each once");
    state.update(Action::Exchange(ExchangeAction::Page(usize::MAX)));
    assert!(!state.exchange.shown().is_empty());
    state.update(Action::Exchange(ExchangeAction::DecideAll(false)));
    assert!(state.exchange.items.iter().all(|item| item.decision == Decision::Leave));
    state.update(Action::Exchange(ExchangeAction::DecideAll(true)));
    state.update(Action::Exchange(ExchangeAction::TakeIn));
    assert_eq!(state.library.songs().len(), 10_100, "both of those that differ");
}

/// By hand, with folders of a disk of 64 kB and of another user: `PEGWISE_CLOSED=/small:/closed` before the test's name.
#[test]
fn where_nothing_can_be_written_it_says_so_and_no_half_file_stays() {
    let folder = std::env::temp_dir().join(format!("pegwise-closed-{}", std::process::id()));
    std::fs::create_dir_all(folder.join("all.json")).unwrap();
    std::fs::write(folder.join("file"), "no folder").unwrap();
    let mut library = Library::default();
    for number in 0..1_000 {
        let open_g = ChosenTuning { id: None, pitches: tuning("D2 G2 D3 G3 B3 D4") };
        library.add_song(Song::new(format!("Song {number}"), "guitar", open_g));
    }
    let given = std::env::var_os("PEGWISE_CLOSED").unwrap_or_default();
    let given: Vec<_> = std::env::split_paths(&given).filter(|path| !path.as_os_str().is_empty()).collect();
    for closed in given.iter().chain([&folder.join("file")]) {
        let names = || std::fs::read_dir(closed).map(|entries| entries.count()).unwrap_or(0);
        let before = names();
        let free = pegwise::store::write_out_with(closed, "all", "json", |to| library.export_to(to));
        let whole = pegwise::store::write_whole(&closed.join("all.json"), |to| library.export_to(to));
        for fault in [free.map(|_| ()).unwrap_err(), whole.unwrap_err()] {
            eprintln!("{}: {fault}", closed.display());
            assert!(!fault.to_string().is_empty() && !fault.to_string().contains('\n'));
        }
        assert_eq!(names(), before, "{}", closed.display());
    }
    assert!(pegwise::store::write_whole(&folder.join("all.json"), |to| library.export_to(to)).is_err());
    std::fs::remove_dir_all(&folder).unwrap();
}
