//! The bundled tables, the neck and written tunings.

use std::collections::HashSet;

use pegwise::instrument::{
    Catalog, CourseIndex, Fret, Fretboard, Language, NotOnNeck, ParseTuningError, PlayedWith, Position, Tuning,
    TuningFamily,
};
use pegwise::theory::{Pitch, SpelledPitch, SpellingChoice};
use proptest::prelude::*;

#[test]
fn the_catalogue_holds_what_is_promised() {
    let catalog = Catalog::bundled();
    let guitar = catalog.tunings().iter().filter(|tuning| tuning.instrument_id() == "guitar").count();
    assert!(guitar >= 90, "{guitar} tunings of six-string guitar");
    assert!(catalog.tunings().len() - guitar >= 100, "{} of others", catalog.tunings().len() - guitar);
    assert!(catalog.instruments().len() >= 40, "{} instruments", catalog.instruments().len());
}

#[test]
fn every_row_is_unique_complete_and_resolves() {
    let catalog = Catalog::bundled();
    let mut ids = HashSet::new();
    for instrument in catalog.instruments() {
        assert!(ids.insert(instrument.id()), "{} stands twice", instrument.id());
        assert!((3..=10).contains(&instrument.courses().len()), "{}", instrument.id());
        assert!((250.0..=1200.0).contains(&instrument.scale_mm()), "{} scale", instrument.id());
        assert!((7..=30).contains(&instrument.last_fret().get()), "{} frets", instrument.id());
        assert!(!instrument.source().is_empty(), "{}", instrument.id());
        let standard = catalog.standard_of(instrument);
        assert_eq!(standard.tuning().courses(), instrument.courses().len(), "{}", instrument.id());
        let strings = catalog.strings_of(instrument);
        assert_eq!(strings.gauges().len(), instrument.courses().len(), "{}", instrument.id());
        for (course, gauges) in instrument.courses().iter().zip(strings.gauges()) {
            assert_eq!(course.offsets().len(), gauges.len(), "{}", instrument.id());
        }
    }
    let mut by_sound = HashSet::new();
    for tuning in catalog.tunings() {
        assert!(ids.insert(tuning.id()), "{} stands twice", tuning.id());
        let instrument = catalog.find_instrument(tuning.instrument_id());
        let instrument = instrument.unwrap_or_else(|| panic!("{}: no such instrument", tuning.id()));
        assert_eq!(tuning.tuning().courses(), instrument.courses().len(), "{}", tuning.id());
        assert!(!tuning.name().is_empty() && !tuning.used_for().is_empty() && !tuning.source().is_empty());
        assert!(by_sound.insert((tuning.instrument_id(), tuning.tuning())), "{} is listed twice", tuning.id());
        for pitch in tuning.spelled() {
            assert!((21..=89).contains(&pitch.pitch().number()), "{}: {pitch} is no string's pitch", tuning.id());
        }
    }
    for set in catalog.string_sets() {
        assert!(ids.insert(set.id()), "{} stands twice", set.id());
        assert!(catalog.find_instrument(set.instrument_id()).is_some(), "{}", set.id());
        assert!(!set.source().is_empty());
    }
}

/// What players missed, by what they would type; the notes are those of the rows' sources, said here once more.
#[test]
fn the_tunings_most_missed_are_there() {
    let catalog = Catalog::bundled();
    for (instrument, typed, pitches) in [
        ("twelve-string-guitar", "DADGAD", "D2 A2 D3 G3 A3 D4"),
        ("twelve-string-guitar", "open d", "D2 A2 D3 F#3 A3 D4"),
        ("twelve-string-guitar", "c standard", "C2 F2 Bb2 Eb3 G3 C4"),
        ("tenor-ukulele", "low a", "A3 D4 F#4 B4"),
        ("pedal-steel-guitar", "e9", "B2 D3 E3 F#3 G#3 B3 E4 G#4 D#4 F#4"),
        ("bajo-sexto", "standard", "E1 A1 D2 G2 C3 F3"),
        ("bajo-quinto", "standard", "A1 D2 G2 C3 F3"),
        ("laouto", "cgda", "C3 G2 D3 A3"),
        ("cretan-laouto", "gdae", "G2 D2 A2 E3"),
        ("tambura-brac", "eadg", "E3 A3 D4 G4"),
        ("tambura-brac", "in a", "F#3 B3 E4 A4"),
        ("tambura-bisernica", "in e", "C#4 F#4 B4 E5"),
        ("tambura-bisernica", "bead", "B3 E4 A4 D5"),
        ("tambura-bugarija", "df#ad", "D3 F#3 A3 D4"),
        ("tambura-celo", "eadg", "E2 A2 D3 G3"),
        ("tambura-berda", "eadg", "E1 A1 D2 G2"),
        ("bulgarian-tambura", "dgbe", "D3 G3 B3 E4"),
        ("vihuela-de-mano", "in g", "G2 C3 F3 A3 D4 G4"),
        ("renaissance-lute-seven", "standard", "F2 G2 C3 F3 A3 D4 G4"),
        ("renaissance-lute-eight", "standard", "D2 F2 G2 C3 F3 A3 D4 G4"),
        ("renaissance-lute-nine", "standard", "C2 D2 F2 G2 C3 F3 A3 D4 G4"),
        ("renaissance-lute-ten", "standard", "C2 D2 Eb2 F2 G2 C3 F3 A3 D4 G4"),
        ("four-string-dulcimer", "daad", "D3 A3 A3 D4"),
        ("five-string-banjo", "f#bead", "F#4 B2 E3 A3 D4"),
        ("eight-string-guitar", "e standard", "E1 A1 D2 G2 C3 F3 A3 D4"),
        ("baritone-guitar", "aeadea", "A1 E2 A2 D3 E3 A3"),
        ("guitar", "daeac#e", "D2 A2 E3 A3 C#4 E4"),
        // The old words find what is named by its string's number now.
        ("guitar", "first to d", "E2 A2 D3 G3 B3 D4"),
        ("classical-guitar", "sixth to c", "C2 A2 D3 G3 B3 E4"),
        ("classical-guitar", "6th string to d, 5th to g", "D2 G2 D3 G3 B3 E4"),
        ("renaissance-lute-seven", "in g, 7th to d", "D2 G2 C3 F3 A3 D4 G4"),
        ("terz-guitar", "dropped sixth", "F2 C3 F3 Bb3 D4 G4"),
    ] {
        let instrument = catalog.find_instrument(instrument).unwrap_or_else(|| panic!("no {instrument}"));
        let found = catalog.resolve_tuning(instrument, typed).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(found.pitches(), open_pitches(pitches), "{typed} of the {}", instrument.id());
    }
}

#[test]
fn a_usual_tuning_moved_as_a_whole_is_raised_or_lowered_unless_it_is_a_chord() {
    let catalog = Catalog::bundled();
    for tuning in catalog.tunings() {
        let instrument = catalog.find_instrument(tuning.instrument_id()).unwrap();
        let usual = catalog.standard_of(instrument).tuning().pitches();
        let moved: HashSet<i16> =
            tuning.tuning().pitches().iter().zip(usual).map(|(pitch, usual)| (*pitch - *usual).get()).collect();
        let as_a_whole = (moved.len() == 1).then(|| moved.into_iter().next().unwrap_or(0));
        let family = tuning.family();
        match as_a_whole {
            Some(0) => assert_eq!(family, TuningFamily::Standard, "{}", tuning.id()),
            Some(_) if matches!(family, TuningFamily::OpenMajor | TuningFamily::OpenMinor) => {}
            Some(up) if up > 0 => assert_eq!(family, TuningFamily::Raised, "{}", tuning.id()),
            Some(_) => assert_eq!(family, TuningFamily::Lowered, "{}", tuning.id()),
            None => assert!(!matches!(family, TuningFamily::Raised | TuningFamily::Lowered), "{}", tuning.id()),
        }
    }
}

/// "First to D", "7th to D": an ordinal that names no string or course reads as an interval.
#[test]
fn no_tuning_is_named_like_an_interval() {
    let ordinals = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];
    let is_ordinal = |word: &str| {
        let word = word.to_lowercase();
        let counted = word.trim_start_matches(|letter: char| letter.is_ascii_digit());
        ordinals.contains(&word.as_str()) || (counted != word && ["st", "nd", "rd", "th"].contains(&counted))
    };
    for tuning in Catalog::bundled().tunings() {
        let words: Vec<&str> = tuning.name().split([' ', ',']).filter(|word| !word.is_empty()).collect();
        for (index, word) in words.iter().enumerate() {
            // "Open A, third on top" does name a third.
            let goes_to_a_note = words.get(index + 1) == Some(&"to");
            let is_dropped = index > 0 && words[index - 1].eq_ignore_ascii_case("dropped");
            assert!(!is_ordinal(word) || !(goes_to_a_note || is_dropped), "{}", tuning.name());
        }
    }
}

/// The tables stay in the order their heads state, so that a change shows as one line.
#[test]
fn tunings_are_sorted_by_instrument_and_id() {
    let keys: Vec<(&str, &str)> =
        Catalog::bundled().tunings().iter().map(|tuning| (tuning.instrument_id(), tuning.id())).collect();
    assert!(keys.is_sorted(), "{:?}", keys.windows(2).find(|pair| pair[0] > pair[1]));
}

/// L(1 − 2^(−n/12)) for L = 650 mm, the table of the shared references, and the first-fret divisor 17.817154.
#[test]
fn frets_lie_where_the_formula_puts_them() {
    let table =
        [36.482, 70.916, 103.417, 134.095, 163.050, 190.381, 216.177, 240.526, 263.508, 285.200, 305.674, 325.000];
    for (fret, mm) in (1_u8..).zip(table) {
        let found = Fret::new(fret).distance_mm(650.0);
        assert!((found - mm).abs() < 0.001, "fret {fret}: {found}");
    }
    assert!((650.0 / Fret::new(1).distance_mm(650.0) - 17.817_154).abs() < 1e-6);
}

fn open_pitches(text: &str) -> Vec<Pitch> {
    text.split_whitespace().map(|pitch| SpelledPitch::read(pitch).unwrap().pitch()).collect()
}

#[test]
fn tunings_are_read_with_octaves_or_near_the_standard_ones() {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(catalog.guitar()).tuning();
    let table = [
        ("D G D G B E", "D2 G2 D3 G3 B3 E4"),
        ("dgdgbe", "D2 G2 D3 G3 B3 E4"),
        ("DADGAD", "D2 A2 D3 G3 A3 D4"),
        ("eadgbe", "E2 A2 D3 G3 B3 E4"),
        ("E2 A2 D3 G3 B3 E4", "E2 A2 D3 G3 B3 E4"),
        ("D, G, D, G, Bb, D", "D2 G2 D3 G3 Bb3 D4"),
        ("dgdgbbd", "D2 G2 D3 G3 Bb3 D4"),
        ("E♭ A♭ D♭ G♭ B♭ E♭", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("C F# C F# C F#", "C2 F#2 C3 F#3 C4 F#4"),
        ("b1 e a d f# b", "B1 E2 A2 D3 F#3 B3"),
        ("c-g-c-g-c-e", "C2 G2 C3 G3 C4 E4"),
    ];
    for (text, pitches) in table {
        let found = Tuning::read(text, standard).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert_eq!(
            found.pitches(),
            open_pitches(pitches),
            "{text}: {}",
            found.ascii_with_octaves(SpellingChoice::Flats)
        );
    }
}

#[test]
fn unreadable_tunings_say_what_and_where() {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(catalog.guitar()).tuning();
    let table = [
        ("D G D", "expected 6 notes, found 3"),
        ("D G X G B E", "expected a note from A to G at character 5, found \"X\""),
        ("", "expected a note from A to G at character 1, found the end"),
        ("E2 A2 D3 G3 B3 E44", "expected a pitch from C-1 to G9 at character 16, found \"E44\""),
    ];
    for (text, message) in table {
        assert_eq!(Tuning::read(text, standard).unwrap_err().to_string(), message, "{text}");
    }
    let far = "E2 A2 D3 G3 B3 E9999999999";
    assert!(matches!(Tuning::read(far, standard), Err(ParseTuningError::OutOfRange { place: 15, .. })));
}

/// A short string sounds from its own nut, and a capo does not reach it: common practice on the five-string banjo.
#[test]
fn the_banjo_fifth_string_starts_at_fret_five() {
    let catalog = Catalog::bundled();
    let banjo = catalog.find_instrument("five-string-banjo").unwrap();
    let standard = catalog.standard_of(banjo).tuning();
    let board = Fretboard::new(banjo, standard, Fret::OPEN).unwrap();
    let fifth = CourseIndex::from_player_number(5, 5).unwrap();
    let at = |fret| board.pitch_at(Position { course: fifth, fret: Fret::new(fret) });
    let open = standard.pitches()[0];
    assert_eq!(at(0), Some(open));
    assert_eq!((at(1), at(5)), (None, None));
    assert_eq!(at(7).map(|pitch| (pitch - open).get()), Some(2));
    let capoed = Fretboard::new(banjo, standard, Fret::new(2)).unwrap();
    assert_eq!(capoed.open_pitches()[0], open);
    assert_eq!((capoed.open_pitches()[1] - standard.pitches()[1]).get(), 2);
}

#[test]
fn a_capo_beyond_the_neck_or_a_wrong_tuning_is_refused() {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let standard = catalog.standard_of(guitar).tuning();
    assert!(matches!(Fretboard::new(guitar, standard, Fret::new(20)), Err(NotOnNeck::Capo { .. })));
    let banjo = catalog.find_instrument("five-string-banjo").unwrap();
    assert!(matches!(Fretboard::new(banjo, standard, Fret::OPEN), Err(NotOnNeck::Courses { expected: 5, found: 6 })));
}

/// Some instruments are played with a bar, some have diatonic frets, some strings come in pairs: all must be there.
#[test]
fn the_catalogue_covers_every_kind_of_stringing() {
    let all = Catalog::bundled().instruments();
    assert!(all.iter().any(|instrument| instrument.played_with() == PlayedWith::Bar));
    assert!(all.iter().any(|instrument| !instrument.has_fret(Fret::new(1))), "no diatonic neck");
    assert!(all.iter().any(|instrument| instrument.courses().iter().any(|course| course.is_octave_pair())));
    assert!(all.iter().any(|instrument| instrument.courses().iter().any(|course| course.is_drone())));
    let re_entrant = |id: &str| {
        let tuning = Catalog::bundled().find_tuning(id).unwrap().tuning().clone();
        !tuning.pitches().is_sorted()
    };
    assert!(all.iter().any(|instrument| re_entrant(instrument.standard_id())));
}

proptest! {
    #[test]
    fn written_tunings_read_back(numbers in prop::collection::vec(28_u8..76, 6)) {
        let pitches: Vec<Pitch> = numbers.iter().filter_map(|&number| Pitch::from_number(number)).collect();
        let tuning = Tuning::new(pitches).unwrap();
        for choice in [SpellingChoice::Customary, SpellingChoice::Sharps, SpellingChoice::Flats] {
            prop_assert_eq!(&Tuning::read(&tuning.ascii_with_octaves(choice), &tuning).unwrap(), &tuning);
            prop_assert_eq!(&Tuning::read(&tuning.ascii(choice), &tuning).unwrap(), &tuning);
        }
    }

    #[test]
    fn nothing_typed_can_crash_the_tuning_reader(text in "[a-gA-G#b0-9 x♭♯-]{0,40}|\\PC{0,60}") {
        let catalog = Catalog::bundled();
        let _ = Tuning::read(&text, catalog.standard_of(catalog.guitar()).tuning());
    }
}

#[derive(serde::Deserialize)]
struct Words {
    instruments: Vec<WordsRow>,
}

#[derive(serde::Deserialize)]
struct WordsRow {
    id: String,
    unsure: Vec<String>,
}

/// One row for each instrument, in order; unsure languages are languages of the screens.
#[test]
fn every_instrument_has_a_name_in_every_language() {
    let table: Words = toml::from_str(pegwise::data::text("words.toml")).unwrap();
    let ids: Vec<&str> = table.instruments.iter().map(|row| row.id.as_str()).collect();
    let catalog = Catalog::bundled();
    let known: Vec<&str> = catalog.instruments().iter().map(|instrument| instrument.id()).collect();
    assert!(ids.is_sorted());
    assert_eq!(ids, known, "a row for each instrument and no other");
    for row in &table.instruments {
        assert!(row.unsure.iter().all(|code| Language::find(code).is_some()), "{}", row.id);
    }
    for language in Language::ALL {
        let mut names = HashSet::new();
        for instrument in catalog.instruments() {
            let name = instrument.name_in(language);
            assert!(!name.trim().is_empty() && name == name.trim(), "{} in {language:?}", instrument.id());
            assert!(names.insert(name), "two instruments are called {name} in {language:?}");
        }
    }
    // Common practice, no source.
    assert_eq!(catalog.guitar().name_in(Language::German), "Westerngitarre");
}
