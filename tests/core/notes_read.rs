//! Notes as players type and print them, read back as the tuning they mean.

use pegwise::app::{Action, OwnTuningAction, SongEditAction, SongTuningAction, SongsAction, State};
use pegwise::instrument::{Catalog, CatalogTuning, Instrument, Tuning};
use pegwise::store::Library;
use pegwise::theory::{Naming, SpellingChoice};

use crate::retune::guitar_tuning;

fn read(instrument: &Instrument, text: &str, on: Option<&Tuning>) -> pegwise::instrument::NotesRead {
    let catalog = Catalog::bundled();
    catalog.read_notes(instrument, text, on, Naming::English).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn octaves(tuning: &Tuning) -> String {
    tuning.ascii_with_octaves(SpellingChoice::Flats)
}

/// The notes of every tuning an instrument can take, with spaces and without, in three customs: the tuning itself comes
/// first, or second where another of the catalogue has the same notes in other octaves and lies nearer the usual one.
#[test]
fn the_printed_notes_of_every_tuning_read_back() {
    let catalog = Catalog::bundled();
    let (mut tunings, mut second) = (0, 0);
    for instrument in catalog.instruments() {
        let all: Vec<&CatalogTuning> = catalog.tunings_for(instrument);
        for tuning in &all {
            tunings += 1;
            let with_octaves: String = tuning.spelled().iter().map(|name| name.ascii()).collect();
            assert_eq!(&read(instrument, &with_octaves, None).best, tuning.tuning(), "{with_octaves}");
            for naming in [Naming::English, Naming::German, Naming::Solfege] {
                let typed: Vec<String> = tuning.spelled().iter().map(|name| name.note().typed(naming)).collect();
                for text in [typed.join(" "), typed.concat(), typed.concat().to_lowercase()] {
                    let read = catalog.read_notes(instrument, &text, None, naming);
                    let read = read.unwrap_or_else(|error| panic!("{}: {text}: {error}", tuning.id()));
                    assert!(read.is_known, "{text}");
                    let others = all.iter().filter(|other| {
                        let alike = other.tuning().pitches().iter().zip(tuning.tuning().pitches());
                        alike.clone().all(|(one, other)| one.class() == other.class())
                    });
                    let is_shared = others.count() > 1;
                    if &read.best != tuning.tuning() {
                        second += 1;
                        assert!(read.also.contains(tuning.tuning()), "{}: {text}", tuning.id());
                        assert!(is_shared, "{}: {text} is {}", tuning.id(), octaves(&read.best));
                    }
                }
            }
        }
    }
    println!("{tunings} tunings, {second} readings where another comes first");
    // Nineteen pairs of tunings in other octaves, nine ways of writing each.
    assert!(tunings > 960 && second <= 9 * 19);
}

#[test]
fn typed_notes_mean_what_a_player_means() {
    let guitar = Catalog::bundled().guitar();
    for (text, pitches) in [
        ("ebabdbgbbbeb", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("eadgbe", "E2 A2 D3 G3 B3 E4"),
        // Drop A: the sixth goes down by seven, not up by five. Common practice.
        ("A E A D F# B", "A1 E2 A2 D3 Gb3 B3"),
        ("aeadf#b", "A1 E2 A2 D3 Gb3 B3"),
        // No tuning of the catalogue: still never up by five.
        ("A E A D F A", "A1 E2 A2 D3 F3 A3"),
        ("A A D G B E", "A1 A2 D3 G3 B3 E4"),
        ("Bb F Bb D F Bb", "Bb1 F2 Bb2 D3 F3 Bb3"),
    ] {
        assert_eq!(octaves(&read(guitar, text, None).best), pitches, "{text}");
    }
    // Strings of other octaves that are on stay where they are.
    let high = guitar_tuning("E3 A3 D4 G4 B3 E4");
    assert_eq!(octaves(&read(guitar, "E A D G A F", Some(&high)).best), "E3 A3 D4 G4 A3 F4");
    assert_eq!(octaves(&read(guitar, "E A D G A F", None).best), "E2 A2 D3 G3 A3 F4");
    assert_eq!(octaves(&read(guitar, "E2 A2 D3 G3 A3 F4", Some(&high)).best), "E2 A2 D3 G3 A3 F4");
}

#[test]
fn where_two_readings_stand_both_are_given_and_the_command_line_asks() {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    // C G D G and then B flat and E, or G flat, B and E: one flat and one semitone either way.
    let two = read(guitar, "cgdgbbe", None);
    assert!(!two.is_known);
    assert_eq!((octaves(&two.best).as_str(), two.also.len()), ("C2 G2 D3 G3 Bb3 E4", 1));
    assert_eq!(octaves(&two.also[0]), "C2 G2 D3 Gb3 B3 E4");
    let sentence = catalog.resolve_tuning(guitar, "cgdgbbe").unwrap_err().to_string();
    assert_eq!(
        sentence,
        "\"cgdgbbe\" can be read as C2 G2 D3 G3 Bb3 E4 or as C2 G2 D3 Gb3 B3 E4; put spaces between the notes"
    );
    assert_eq!(octaves(&catalog.resolve_tuning(guitar, "C G D G Bb E").unwrap()), "C2 G2 D3 G3 Bb3 E4");
    // The usual strings and those of another set print alike: the usual come first, the others are given too.
    let standard = read(guitar, "E A D G B E", None);
    assert!(standard.is_known && standard.best == guitar_tuning("E2 A2 D3 G3 B3 E4"));
    assert_eq!(standard.also, [guitar_tuning("E3 A3 D4 G4 B3 E4")]);
}

/// Notes written by one custom are understood by a player of another, where that player's own makes nothing of them.
#[test]
fn notes_by_any_custom_are_understood_under_every_one() {
    let guitar = Catalog::bundled().guitar();
    let g6 = guitar_tuning("D2 G2 D3 G3 B3 E4");
    for text in ["dgdghe", "d g d g h e", "re sol re sol si mi", "resolresolsimi", "Re-Sol-Re-Sol-Si-Mi"] {
        for naming in Naming::ALL {
            let read = Catalog::bundled().read_notes(guitar, text, None, naming);
            assert_eq!(read.map(|read| read.best).as_ref(), Ok(&g6), "{text} by {naming:?}");
        }
        assert_eq!(Catalog::bundled().resolve_tuning(guitar, text).as_ref(), Ok(&g6), "{text} on the command line");
    }
    // A German b stays B flat, and what nobody reads is told by the player's own custom.
    let in_german = Catalog::bundled().read_notes(guitar, "dgdgbe", None, Naming::German).expect("six notes");
    assert_eq!(octaves(&in_german.best), "D2 G2 D3 G3 Bb3 E4");
    assert!(Catalog::bundled().read_notes(guitar, "dgdgqe", None, Naming::German).is_err());
}

/// A tuning of one's own and a song's are read as the list of tunings is: what the catalogue has of these notes, else both
/// readings where nothing decides.
#[test]
fn own_tunings_and_songs_read_notes_as_the_list_does() {
    let mut state = State::new(Library::default());
    state.update(Action::OwnTuning(OwnTuningAction::New));
    state.update(Action::OwnTuning(OwnTuningAction::Notes("ebabdbgbbbeb".to_owned())));
    let editing = state.editing.as_ref().unwrap();
    assert_eq!(octaves(&editing.tuning), "Eb2 Ab2 Db3 Gb3 Bb3 Eb4");
    assert!(editing.fault.is_none() && editing.other.is_none());
    state.update(Action::OwnTuning(OwnTuningAction::Notes("cgdgbbe".to_owned())));
    let editing = state.editing.as_ref().unwrap();
    let other = editing.other.clone().expect("two readings stand");
    assert_eq!([octaves(&editing.tuning), octaves(&other)], ["C2 G2 D3 G3 Bb3 E4", "C2 G2 D3 Gb3 B3 E4"]);
    state.update(Action::OwnTuning(OwnTuningAction::OtherReading));
    let editing = state.editing.as_ref().unwrap();
    assert_eq!((&editing.tuning, editing.other.as_ref()), (&other, None));

    state.update(Action::Songs(SongsAction::New));
    state.update(Action::SongEdit(SongEditAction::Tuning));
    let listed = |state: &mut State, text: &str| -> Vec<(String, String)> {
        state.update(Action::SongTuning(SongTuningAction::Search(text.to_owned())));
        let choices = pegwise::app::tunings_for_a_song(state).tunings;
        choices.iter().map(|row| (row.id().to_owned(), octaves(row.tuning()))).collect()
    };
    let known = listed(&mut state, "ebabdbgbbbeb");
    assert_eq!(known.len(), 1, "{known:?}");
    assert_eq!(known[0].1, "Eb2 Ab2 Db3 Gb3 Bb3 Eb4");
    let both = listed(&mut state, "cgdgbbe");
    assert_eq!(both.iter().map(|row| row.1.as_str()).collect::<Vec<_>>(), ["C2 G2 D3 G3 Bb3 E4", "C2 G2 D3 Gb3 B3 E4"]);
    state.update(Action::SongTuning(SongTuningAction::Choose(both[1].0.clone())));
    let chosen = &state.editing_song.as_ref().unwrap().song.tuning;
    assert_eq!((chosen.id.as_ref(), octaves(&chosen.pitches).as_str()), (None, "C2 G2 D3 Gb3 B3 E4"));
}

/// Where the instrument has no tuning of the name, the choice for a song offers what is near, as the list of tunings does:
/// the dulcimer's D A D is the open D of three strings (common practice, no source).
#[test]
fn the_choice_for_a_song_offers_what_is_near_to_a_name_it_has_not() {
    let mut state = State::new(Library::default());
    let offered = |state: &mut State, instrument: &str, text: &str| {
        state.update(Action::Songs(SongsAction::New));
        state.editing_song.as_mut().unwrap().song.instrument_id = instrument.to_owned();
        state.update(Action::SongEdit(SongEditAction::Tuning));
        state.update(Action::SongTuning(SongTuningAction::Search(text.to_owned())));
        let choices = pegwise::app::tunings_for_a_song(state);
        (choices.are_near, choices.tunings.first().map(|first| first.id().to_owned()))
    };
    let dulcimer = offered(&mut state, "appalachian-dulcimer", "open d");
    assert_eq!(dulcimer, (true, Some("appalachian-dulcimer-standard".to_owned())));
    state.update(Action::SongTuning(SongTuningAction::Choose("appalachian-dulcimer-standard".to_owned())));
    let chosen = &state.editing_song.as_ref().unwrap().song.tuning;
    assert_eq!(chosen.id.as_deref(), Some("appalachian-dulcimer-standard"), "what is near can be taken");
    assert_eq!(offered(&mut state, "guitar", "opne d"), (true, Some("guitar-open-d".to_owned())));
    assert_eq!(offered(&mut state, "guitar", "open d"), (false, Some("guitar-open-d".to_owned())));
    assert_eq!(offered(&mut state, "guitar", "zzzz"), (false, None));
}
