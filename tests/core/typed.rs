//! What players type by their own custom: notes, tunings, chords.

use pegwise::instrument::{Catalog, ParseTuningError, Tuning};
use pegwise::shapes::{ProgressionFault, read_progression, read_progression_in};
use pegwise::theory::{Chord, Key, Naming, ParseChordError, Pitch};
use proptest::prelude::*;

const NAMINGS: [Naming; 3] = [Naming::English, Naming::German, Naming::Solfege];

fn standard() -> Tuning {
    let catalog = Catalog::bundled();
    catalog.standard_of(catalog.guitar()).tuning().clone()
}

proptest! {
    /// Six strings anywhere between the lowest and the highest a guitar's may be (from memory).
    #[test]
    fn a_tuning_reads_back_as_it_is_written_in_each_custom(
        numbers in prop::collection::vec(28_u8..80, 6),
        custom in prop::sample::select(NAMINGS.to_vec()),
    ) {
        let pitches = numbers.iter().map(|&number| Pitch::from_number(number).unwrap()).collect();
        let tuning = Tuning::new(pitches).unwrap();
        let typed: Vec<String> = tuning.spelled().into_iter().map(|pitch| pitch.typed(custom)).collect();
        let read = Tuning::read_in(&typed.join(" "), &standard(), custom);
        prop_assert_eq!(read.as_ref(), Ok(&tuning), "{:?}", typed);
    }

    /// Whatever is typed: no panic, and a fault lies inside the text or at its end.
    #[test]
    fn anything_may_be_typed(text in "\\PC{0,24}", custom in prop::sample::select(NAMINGS.to_vec())) {
        let length = text.chars().count();
        if let Err(ParseTuningError::Note(fault)) = Tuning::read_in(&text, &standard(), custom) {
            prop_assert!(fault.place <= length);
        }
        if let Err(fault) = Chord::read_in(&text, custom) {
            prop_assert!(fault.place() <= length);
        }
    }
}

#[test]
fn chords_read_back_as_they_are_written_in_each_custom() {
    for text in ["C", "Bb", "B7", "F#m7b5/E", "Ebmaj7", "Ab6/9", "Esus4", "Asus2", "Fadd9", "Ddim", "D/B", "Gm/Bb"] {
        let chord = Chord::read(text).unwrap();
        for custom in NAMINGS {
            let written = chord.named(custom);
            assert_eq!(Chord::read_in(&written, custom), Ok(chord), "{custom:?} {written}");
        }
    }
}

/// English chords in the other customs: only a B without a sign means another note in German, and D diminished, written
/// short, is the syllable do.
#[test]
fn english_chords_are_read_in_every_custom_where_they_mean_nothing_else() {
    for text in ["C", "F#m", "Eb7", "Bb", "Am7", "Esus4", "Asus2", "Fadd9", "Fa7", "Ddim", "Gmaj7", "C/G"] {
        for custom in NAMINGS {
            if text != "Fa7" {
                assert_eq!(Chord::read_in(text, custom), Chord::read(text), "{custom:?} {text}");
            }
        }
    }
    assert_eq!(Chord::read_in("B7", Naming::German).unwrap().to_string(), "B♭7");
    assert_eq!(Chord::read_in("H7", Naming::German).unwrap().to_string(), "B7");
    assert_eq!(Chord::read_in("Do", Naming::Solfege).unwrap().to_string(), "C");
    assert_eq!(Chord::read_in("Fa7", Naming::Solfege).unwrap().to_string(), "F7");
    let chords = read_progression_in("Hm | Fis  B", Naming::German).unwrap();
    assert_eq!(chords.iter().map(ToString::to_string).collect::<Vec<_>>(), ["Bm", "F♯", "B♭"]);
    let fault = read_progression_in("sol X do", Naming::Solfege).unwrap_err();
    assert!(matches!(fault, ProgressionFault::Chord { place: 1, fault: ParseChordError::Root(_) }), "{fault:?}");
}

/// What is typed, where the first sign stands that nothing explains, the sign, and one suffix that would have gone on.
#[test]
fn an_unreadable_suffix_is_pointed_at_from_its_first_unread_sign() {
    let rows = [
        ("Amx", 2, "x", "m7"),
        ("Cmaq", 3, "q", "maj"),
        ("Cmaj7x", 5, "x", ""),
        ("Csu", 3, "", "sus"),
        ("Cq", 1, "q", "sus4"),
        ("C7sus5", 5, "5", "7sus4"),
        ("F♯m7♭6", 5, "6", "m7b5"),
        ("C6/9x", 4, "x", ""),
        ("Cm7q/G", 3, "q", "m7b5"),
    ];
    for (text, place, found, goes_on) in rows {
        let Err(ParseChordError::Quality { place: at, found: sign, expected }) = Chord::read(text) else {
            panic!("{text} is read, or its root or bass is at fault")
        };
        assert_eq!((at, sign.as_str()), (place, found), "{text}: {expected:?}");
        let is_offered = expected.iter().any(|suffix| suffix.starts_with(goes_on));
        assert!(is_offered || goes_on.is_empty(), "{text}: {expected:?}");
        for suffix in expected {
            assert!(Chord::read(&format!("C{suffix}")).is_ok(), "{text}: {suffix} is no suffix");
        }
    }
    let fault = Chord::read_in("Esx", Naming::German).unwrap_err();
    assert_eq!(fault.place(), 2);
}

/// Twice the letters take about twice the time, not four times: a pasted page is no reason to stand still.
#[test]
fn a_long_text_is_searched_in_time_that_grows_with_it() {
    let catalog = pegwise::instrument::Catalog::bundled();
    let guitar = catalog.tunings_for(catalog.guitar());
    let seconds = |letters: usize| {
        let texts = ["e".repeat(letters), "E2 ".repeat(letters / 3), "é".repeat(letters), "D♮".repeat(letters / 2)];
        let begun = std::time::Instant::now();
        for text in &texts {
            assert!(pegwise::instrument::matching_tunings(&guitar, text).is_empty());
        }
        begun.elapsed().as_secs_f64()
    };
    seconds(1_000);
    let (short, long) = (seconds(4_000), seconds(32_000));
    // Eight times the letters; sixty-four times the time if it were quadratic.
    assert!(long < 24.0 * short + 0.2, "{short:.3} s and {long:.3} s");
}

/// What players type, and the tones meant: common practice, no source. A number alone in the third's place replaces it, so
/// that A2 is Asus2 as C4 is Csus4; who adds a note writes add9.
#[test]
fn chords_that_players_type_are_read() {
    let rows = [
        ("C4", "C F G"),
        ("A2", "A B E"),
        ("C(no3)", "C G"),
        ("C7b9b13", "C E B♭ D♭ A♭"),
        ("C13b9", "C E G B♭ D♭ A"),
        ("C7#5#9", "C E G♯ B♭ D♯"),
        ("C^7", "C E G B"),
        ("C△7", "C E G B"),
        ("CΔ7", "C E G B"),
        ("C/9", "C E G D"),
        ("C0", "C E♭ G♭"),
        ("Csus4add9", "C F G D"),
        ("C/G", "C E G"),
        ("C6/9", "C E G A D"),
    ];
    for (text, tones) in rows {
        let read = Chord::read(text).unwrap_or_else(|fault| panic!("{text}: {fault}"));
        let mut own: Vec<String> = read.notes().iter().map(ToString::to_string).collect();
        let mut tones: Vec<&str> = tones.split(' ').collect();
        own.sort();
        tones.sort_unstable();
        assert_eq!(own, tones, "{text}");
    }
    assert_eq!(Chord::read_in("do", Naming::German).unwrap().to_string(), "C");
    assert_eq!(Chord::read_in("do7", Naming::German).unwrap().to_string(), "C7");
    assert_eq!(Chord::read_in("d7", Naming::German).unwrap().to_string(), "D7");
}

#[test]
fn bars_dashes_repeats_and_rests_stand_between_chords() {
    let read = |text: &str| {
        let chords = read_progression(text).unwrap_or_else(|fault| panic!("{text}: {fault}"));
        chords.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
    };
    for (text, chords) in [
        ("| G | C | G | D |", "G C G D"),
        ("|: G % | C :|", "G G C"),
        ("G - C - D", "G C D"),
        ("G-C-D", "G C D"),
        ("G—C–D", "G C D"),
        ("C-7 F-", "Cm7 Fm"),
        ("G / / / | N.C. | D", "G D"),
        ("G, C; D", "G C D"),
    ] {
        assert_eq!(read(text), chords, "{text}");
    }
    let fault = read_progression("% G").unwrap_err();
    assert!(matches!(fault, ProgressionFault::Chord { place: 0, .. }), "{fault:?}");
    assert!(matches!(read_progression("N.C. |"), Err(ProgressionFault::Length(0))));
}

/// Names of keys in German and the Romance languages: common practice, no source.
#[test]
fn keys_are_read_as_players_write_them() {
    for (text, key) in [
        ("h-moll", "Bm"),
        ("a moll", "Am"),
        ("B-Dur", "B♭"),
        ("es-moll", "E♭m"),
        ("Fis-Dur", "F♯"),
        ("sol", "G"),
        ("la mineur", "Am"),
        ("mi menor", "Em"),
        ("ré majeur", "D"),
        ("fa# menor", "F♯m"),
        ("D-dorian", "D dorian"),
        ("d dorisch", "D dorian"),
        ("Bb", "B♭"),
        ("Bbm", "B♭m"),
        ("F# minor", "F♯m"),
        ("A-", "Am"),
        ("C", "C"),
    ] {
        assert_eq!(Key::read(text).map(|key| key.to_string()).as_deref(), Ok(key), "{text}");
    }
    assert!(Key::read("x").is_err() && Key::read("").is_err() && Key::read("G blue").is_err());
}
