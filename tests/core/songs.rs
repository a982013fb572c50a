//! Charts, transposing, capos, and what goes out and in.

use pegwise::instrument::{Catalog, Fret, Fretboard};
use pegwise::shapes::{Shape, ShapeSearch};
use pegwise::songs::{Chart, ChosenTuning, Part, Song, ToHold, Transposition, key_of_chord, suggest_capos};
use pegwise::theory::{Chord, ChordQuality, Key, Note, Semitones, SpellingChoice};
use proptest::prelude::*;

fn chord(text: &str) -> Chord {
    Chord::read(text).unwrap()
}

/// Writes what is played bar by bar: `G / C D`, `-` for silence.
fn played(text: &str) -> String {
    let chart = Chart::read(text).unwrap();
    let bar = |chords: &[Option<Chord>]| {
        let names: Vec<String> = chords.iter().map(|chord| chord.map_or("-".into(), Chord::ascii)).collect();
        names.join(" ")
    };
    chart.played().iter().map(|played| bar(&played.chords)).collect::<Vec<_>>().join(" | ")
}

#[test]
fn charts_are_played_as_common_notation_reads() {
    // Repeats, simile and rhythm slashes: common notation, no source.
    let rows = [
        ("", ""),
        ("| G |", "G"),
        ("|G|C|", "G | C"),
        ("| G", "G"),
        ("  | G | C G | D | G |  ", "G | C G | D | G"),
        ("| G || C ||", "G | C"),
        ("| G / / C |", "G G G C"),
        ("| G | / C |", "G | G C"),
        ("| G | % | C |", "G | G | C"),
        ("| G | % | % |", "G | G | G"),
        ("| G C | % |", "G C | G C"),
        ("| G | N.C. | / |", "G | - | -"),
        ("| NC G |", "- G"),
        ("|: G | C :| D |", "G | C | G | C | D"),
        ("| G |: C :| D |", "G | C | C | D"),
        ("| G | C :| D |", "G | C | G | C | D"),
        ("|: G :| x3", "G | G | G"),
        ("|: G :| x3 | C |", "G | G | G | C"),
        ("|: G :| ×2 C |", "G | G | C"),
        ("|: G :|: C :|", "G | G | C | C"),
        ("|: G :||: C :|", "G | G | C | C"),
        ("|: G :| C :|", "G | G | C | C"),
        ("|: G |\n| C :|", "G | C | G | C"),
        ("|: G | C :|\n|: D :|", "G | C | G | C | D | D"),
        ("|: G | % :|", "G | G | G | G"),
        ("| D |: % | G :|", "D | D | G | D | G"),
        ("Verse:\n| G :|\nChorus:\n| C :|", "G | G | C | C"),
        ("Verse:\n\"low water\n| G |", "G"),
        ("| C6/9 | C/G | C6/9/G |", "C6/9 | C/G | C6/9/G"),
        ("| F#m7b5 | Bbmaj7 | E♭ |", "F#m7b5 | Bbmaj7 | Eb"),
        ("| Gmaj | CM7 | D- |", "G | Cmaj7 | Dm"),
    ];
    for (text, expected) in rows {
        assert_eq!(played(text), expected, "{text}");
    }
}

#[test]
fn charts_are_written_in_one_way() {
    let rows = [
        ("|G|C|", "| G | C |\n"),
        ("|:G:|x3|C", "|: G :| x3 | C |\n"),
        ("Verse 1 :\n|G|\n\n\n  Chorus:\n|C|", "Verse 1:\n| G |\n\nChorus:\n| C |\n"),
        ("\"  low water \n| NC |%|", "\"low water\n| N.C. | % |\n"),
        ("| G |: C :|: D :| E", "| G ||: C :||: D :| E |\n"),
        ("Empty:", "Empty:\n"),
    ];
    for (text, expected) in rows {
        let written = Chart::read(text).unwrap().write();
        assert_eq!(written, expected, "{text}");
        assert_eq!(Chart::read(&written), Chart::read(text));
    }
}

#[test]
fn a_fault_says_which_symbol_where_and_what_was_expected() {
    let rows = [
        (
            "G C D",
            "line 1: expected a bar line, a heading that ends with a colon, or words after a quotation mark at character 1, found \"G\"",
        ),
        (
            "| G |\n  verse",
            "line 2: expected a bar line, a heading that ends with a colon, or words after a quotation mark at character 3, found \"verse\"",
        ),
        ("| G | Hm |", "line 1: chord root: expected a note from A to G at character 7, found \"H\""),
        ("| G | Cyz |", "line 1: expected a chord suffix such as m, 7, maj7 or sus4 at character 8, found \"y\""),
        ("| C/H |", "line 1: bass after the slash: expected a note from A to G at character 5, found \"H\""),
        ("|", "line 1: expected a chord, / or % in the bar at character 2, found the end"),
        ("| G | | C |", "line 1: expected a chord, / or % in the bar at character 7, found \"|\""),
        ("|: | G :|", "line 1: expected a chord, / or % in the bar at character 4, found \"|\""),
        ("|: :|", "line 1: expected a chord, / or % in the bar at character 4, found \":|\""),
        ("| G |:", "line 1: expected a chord, / or % in the bar at character 7, found the end"),
        ("| % |", "line 1: expected a bar before the % that repeats it at character 3, found \"%\""),
        ("| / |", "line 1: expected a chord before the / that holds it at character 3, found \"/\""),
        ("| G % |", "line 1: expected % alone in its bar at character 5, found \"%\""),
        ("| G | % C |", "line 1: expected a bar line after % at character 9, found \"C\""),
        (
            "|: G |: C :|",
            "line 1: expected the repeat to end with :| before another starts or the section ends at character 6, found \"|:\"",
        ),
        (
            "|: G |\nChorus:\n| C |",
            "line 1: expected the repeat to end with :| before another starts or the section ends at character 1, found \"|:\"",
        ),
        (
            "|: G |",
            "line 1: expected the repeat to end with :| before another starts or the section ends at character 1, found \"|:\"",
        ),
        ("|: G :| x17", "line 1: expected a bar line, or x2 to x16 after the repeat at character 9, found \"x17\""),
        ("|: G :| x1", "line 1: expected a bar line, or x2 to x16 after the repeat at character 9, found \"x1\""),
    ];
    for (text, expected) in rows {
        assert_eq!(Chart::read(text).unwrap_err().to_string(), expected, "{text}");
    }
}

/// A word of a bar.
fn word() -> impl Strategy<Value = String> {
    let quality = (0..ChordQuality::all().len()).prop_map(|index| ChordQuality::all()[index].symbol().to_owned());
    let chord =
        ("[A-G](b|#|bb|##)?", quality, "(/[A-G](b|#)?)?").prop_map(|(root, suffix, bass)| root + &suffix + &bass);
    prop_oneof![6 => chord, 1 => Just("/".to_owned()), 1 => Just("N.C.".to_owned())]
}

/// A line of bars, a heading, words or nothing; most are right.
fn line() -> impl Strategy<Value = String> {
    let bar =
        prop_oneof![4 => prop::collection::vec(word(), 1..5).prop_map(|words| words.join(" ")), 1 => Just("%".into())];
    let close = prop_oneof![6 => Just("|".to_owned()), 1 => Just(":|".into()), 1 => Just(":| x3 |".into()), 1 => Just("||:".into())];
    let bars = prop::collection::vec((bar, close), 1..6).prop_map(|bars| {
        let bars: String = bars.into_iter().map(|(bar, close)| format!(" {bar} {close}")).collect();
        format!("|{bars}")
    });
    prop_oneof![6 => bars, 1 => "[A-Za-z0-9 ]{1,9}:", 1 => "\"[a-z ,|:%/]{0,20}", 1 => Just(String::new())]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2_000) })]

    #[test]
    fn a_chart_read_written_and_read_is_the_same(lines in prop::collection::vec(line(), 0..8)) {
        if let Ok(chart) = Chart::read(&lines.join("\n")) {
            let written = chart.write();
            let again = Chart::read(&written);
            prop_assert_eq!(again.as_ref(), Ok(&chart), "{}", written);
            prop_assert_eq!(again.unwrap().write(), written);
        }
    }

    #[test]
    fn any_text_is_read_or_refused_at_a_place_within_it(text in "[|:%/ A-Gmx0-9\"#b\n]{0,60}") {
        match Chart::read(&text) {
            Ok(chart) => prop_assert!(chart.played().len() <= 16 * text.len()),
            Err(fault) => {
                let line = text.lines().nth(fault.line).unwrap();
                prop_assert!(fault.place <= line.chars().count());
                let rest: String = line.chars().skip(fault.place).collect();
                prop_assert!(rest.starts_with(&fault.found), "{:?} in {:?}", fault, rest);
            }
        }
    }

    #[test]
    fn transposing_there_and_back_sounds_the_same(
        tonic in 0_i16..12, minor in any::<bool>(), by in -11_i16..12, word in word()
    ) {
        let class = pegwise::theory::PitchClass::from_semitones_above_c(tonic);
        let mode = if minor { pegwise::theory::Mode::Minor } else { pegwise::theory::Mode::Major };
        let key = Key::new(Note::of_class(class, SpellingChoice::Customary), mode);
        let Ok(chord) = Chord::read(&word) else { return Ok(()) };
        let there = Transposition::by(key, Semitones::new(by));
        let moved = there.chord(chord);
        let expected = chord.root().class().transpose(Semitones::new(by));
        prop_assert_eq!(moved.root().class(), expected);
        prop_assert_eq!(moved.allowed().len(), chord.allowed().len());
        let back = Transposition::to_tonic(there.key(), key.tonic());
        prop_assert_eq!(back.chord(moved).root().class(), chord.root().class());
        prop_assert_eq!(back.chord(moved).bass().class(), chord.bass().class());
    }
}

#[test]
fn transposing_keeps_the_spelling() {
    // From, to, chords before and after: hand-made from the circle of fifths and the letters of each key.
    let rows = [
        ("G", 2, "A", "G C D Em F#dim", "A D E F#m G#dim"),
        ("G", -2, "F", "G C D B7 F#", "F Bb C A7 E"),
        ("C", 6, "F#", "C F G Bdim", "F# B C# E#dim"),
        ("F", 1, "F#", "F Bb C Edim", "F# B C# E#dim"),
        ("Bb", 8, "F#", "Bb Eb F Adim", "F# B C# E#dim"),
        ("Ab", 10, "Gb", "Ab Db Eb Gdim", "Gb Cb Db Fdim"),
        ("E", -1, "Eb", "E A B7 D#dim G#7", "Eb Ab Bb7 Ddim G7"),
        ("Am", 3, "Cm", "Am E7 F G#dim Dm/F", "Cm G7 Ab Bdim Fm/Ab"),
        ("D dorian", 2, "E dorian", "Dm G C", "Em A D"),
        ("G", 0, "G", "G F## Cb", "G F## Cb"),
        ("E", 2, "F#", "D#7 A#m", "E#7 B#m"),
    ];
    for (from, by, to, before, after) in rows {
        let to = Key::read(to).unwrap();
        let from = Key::read(from).unwrap();
        let auto = Transposition::by(from, Semitones::new(by));
        let by = Transposition::to_tonic(from, to.tonic());
        assert_eq!(auto.key().tonic().class(), to.tonic().class());
        let moved: Vec<String> = before.split(' ').map(|text| by.chord(chord(text)).ascii()).collect();
        assert_eq!(moved.join(" "), after, "{from} to {to}");
    }
}

#[test]
fn the_new_key_takes_the_fewest_signs() {
    // The key signatures of the circle of fifths.
    let rows = [
        ("C", 1, "Db"),
        ("C", 6, "F#"),
        ("F", 1, "Gb"),
        ("G", 1, "Ab"),
        ("C", 3, "Eb"),
        ("C", 10, "Bb"),
        ("Am", 1, "Bbm"),
        ("Am", 4, "C#m"),
        ("Am", 11, "G#m"),
        ("Em", -1, "D#m"),
        ("Fm", -2, "Ebm"),
    ];
    for (from, by, to) in rows {
        let moved = Transposition::by(Key::read(from).unwrap(), Semitones::new(by)).key();
        assert_eq!(moved, Key::read(to).unwrap(), "{from} by {by}");
    }
}

#[test]
fn a_chart_is_transposed_with_its_form() {
    let chart = Chart::read("Verse:\n|: G / C/E | % :| x3\n\"low water\n| N.C. | D7 |").unwrap();
    let key = key_of_chord(chord("G"));
    let moved = chart.transposed(&Transposition::by(key, Semitones::new(2)));
    assert_eq!(moved.write(), "Verse:\n|: A / D/F# | % :| x3 |\n\"low water\n| N.C. | E7 |\n");
}

#[test]
fn chords_are_counted_in_the_order_they_appear() {
    let chart = Chart::read("| G | C G | D | G |").unwrap();
    assert_eq!(chart.chords(), [(chord("G"), 3), (chord("C"), 1), (chord("D"), 1)]);
    assert_eq!(chart.played()[1].chords, [Some(chord("C")), Some(chord("G"))]);
    let bar = chart.sections()[0].lines.first().unwrap();
    let pegwise::songs::Line::Bars(bars) = bar else { panic!() };
    assert_eq!(bars[0].parts(), [Part::Chord(chord("G"))]);
}

fn guitar_song(chart: &str, key: &str, capo: u8) -> Song {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(catalog.guitar());
    let tuning = ChosenTuning { id: Some(standard.id().into()), pitches: standard.tuning().clone() };
    let mut song = Song::new("Slack Water", "guitar", tuning);
    song.chart = chart.into();
    song.key = Some(Key::read(key).unwrap());
    song.capo = Fret::new(capo);
    song
}

/// The cheapest shape by a plain rule of this test: the first with the fewest stopped courses, within four frets.
fn plain_shape(song: &Song, hold: ToHold) -> Option<Shape> {
    let guitar = Catalog::bundled().guitar();
    let board = Fretboard::new(guitar, &song.tuning.pitches, hold.capo).ok()?;
    let found = ShapeSearch::default().find(hold.sounding, &board);
    let mut shapes: Vec<Shape> = found.shapes.iter().map(|ranked| ranked.shape().clone()).collect();
    shapes.retain(|shape| shape.fret_range().is_none_or(|(_, high)| high.get() <= 4));
    shapes.into_iter().min_by_key(|shape| shape.stopped().count())
}

#[test]
fn a_capo_that_keeps_open_shapes_comes_first() {
    // Common practice, no source: B E F♯ lie well as A D E over a capo at 2, or as G C D at 4.
    let song = guitar_song("| B | E | F# | B |", "B", 0);
    let mut cost = |hold: ToHold| {
        let stopped = plain_shape(&song, hold)?.stopped().count();
        Some(f64::from(u32::try_from(stopped).unwrap()))
    };
    let found = suggest_capos(&song, Fret::new(7), &mut cost).unwrap();
    assert_eq!(found.len(), 8);
    let names = |index: usize| -> Vec<String> { found[index].chords.iter().map(|chord| chord.ascii()).collect() };
    let easy: Vec<u8> = found.iter().take(4).map(|one| one.capo.get()).collect();
    assert!(easy.contains(&2) && easy.contains(&4), "{found:?}");
    assert!(found.windows(2).all(|pair| pair[0].mean_cost <= pair[1].mean_cost));
    let at_two = found.iter().position(|one| one.capo.get() == 2).unwrap();
    assert_eq!((names(at_two).join(" "), found[at_two].key), ("A D E".into(), Some(Key::read("A").unwrap())));
    let at_none = found.iter().position(|one| one.capo == Fret::OPEN).unwrap();
    assert!(found[at_two].mean_cost < found[at_none].mean_cost);
}

#[test]
fn moving_the_capo_keeps_what_sounds() {
    let mut song = guitar_song("Verse:\n|: G | D/F# | Em | C :|\n", "G", 2);
    for name in ["G", "C"] {
        let shape = plain_shape(&song, song.to_hold(chord(name)));
        song.choose_shape(chord(name), shape.as_ref());
    }
    let classes = |song: &Song| -> Vec<_> {
        let chart = song.read_chart().unwrap();
        let sounds = |hold: ToHold| (hold.sounding.required(), hold.sounding.bass().class());
        chart.chords().iter().map(|&(chord, _)| sounds(song.to_hold(chord))).collect()
    };
    for capo in 0..6 {
        let moved = song.with_capo(Fret::new(capo), &mut plain_shape).unwrap();
        assert_eq!(classes(&moved), classes(&song));
        assert_eq!(moved.capo, Fret::new(capo));
        let shapes = moved.chosen_shapes();
        assert_eq!(shapes.len(), 2);
        for (chord, shape) in shapes {
            let hold = moved.to_hold(chord);
            let board = Fretboard::new(Catalog::bundled().guitar(), &moved.tuning.pitches, hold.capo).unwrap();
            let heard: pegwise::theory::PitchClassSet =
                shape.pitches(&board).into_iter().flatten().map(|pitch| pitch.class()).collect();
            assert!(hold.sounding.required().is_subset_of(heard) && heard.is_subset_of(hold.sounding.allowed()));
        }
    }
    let moved = song.with_capo(Fret::new(0), &mut plain_shape).unwrap();
    assert_eq!(moved.chart, "Verse:\n|: A | E/G# | F#m | D :|\n");
    assert_eq!(moved.key, Some(Key::read("A").unwrap()));
}

#[test]
fn a_song_in_another_tuning_keeps_its_chords_and_finds_its_shapes_anew() {
    let mut song = guitar_song("| G | C | D |", "G", 0);
    for name in ["G", "C", "D"] {
        let shape = plain_shape(&song, song.to_hold(chord(name)));
        song.choose_shape(chord(name), shape.as_ref());
    }
    let open_g = Catalog::bundled().find_tuning("guitar-open-g").unwrap();
    let tuning = ChosenTuning { id: Some(open_g.id().into()), pitches: open_g.tuning().clone() };
    let moved = song.in_tuning(tuning, &mut plain_shape);
    assert_eq!(moved.chart, song.chart);
    // All strings open sound G major in open G: what the tuning is named for.
    assert_eq!(moved.shape_of(chord("G")).unwrap().stopped().count(), 0);
    assert_ne!(moved.shape_of(chord("C")), song.shape_of(chord("C")));
}

#[test]
fn transposing_a_song_moves_key_chart_and_shapes() {
    let mut song = guitar_song("| G | C | D |", "G", 0);
    let shape = plain_shape(&song, song.to_hold(chord("G")));
    song.choose_shape(chord("G"), shape.as_ref());
    let moved = song.transposed(Semitones::new(2), &mut plain_shape).unwrap();
    assert_eq!((moved.chart.as_str(), moved.key), ("| A | D | E |\n", Some(Key::read("A").unwrap())));
    assert_eq!(moved.chosen_shapes().len(), 1);
    assert!(moved.shape_of(chord("A")).is_some());
    song.chart = "| Hm |".into();
    assert!(song.transposed(Semitones::new(2), &mut plain_shape).is_err());
}
