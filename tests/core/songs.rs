//! Charts, transposing, capos, and what goes out and in.

use pegwise::instrument::{Catalog, Fret, Fretboard};
use pegwise::shapes::{Shape, ShapeSearch};
use pegwise::songs::{Chart, ChosenTuning, Content, Part, Song, ToHold, Transposition, key_of_chord, suggest_capos};
use pegwise::theory::{Chord, ChordQuality, Key, Naming, Note, Semitones, SpellingChoice};
use proptest::prelude::*;

fn chord(text: &str) -> Chord {
    Chord::read(text).unwrap()
}

/// Writes what is played bar by bar: `G / C D`, `-` for silence.
fn played(text: &str) -> String {
    let chart = Chart::read(text);
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
fn what_is_not_understood_stays_and_says_what_was_expected() {
    let rows = [
        ("| G | Hm |", "line 1: chord root: expected a note from A to G at character 7, found \"H\""),
        ("| G | Cyz |", "line 1: expected a chord suffix such as m, 7, maj7 or sus4 at character 8, found \"y\""),
        ("| G | C/H |", "line 1: bass after the slash: expected a note from A to G at character 9, found \"H\""),
        ("| G | | C |", "line 1: expected a chord, / or % in the bar at character 7, found \"|\""),
        ("|: | G :|", "line 1: expected a chord, / or % in the bar at character 4, found \"|\""),
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
        ("|: G :| x17", "line 1: expected a bar line, or x2 to x16 after the repeat at character 9, found \"x17\""),
        ("|: G :| x1", "line 1: expected a bar line, or x2 to x16 after the repeat at character 9, found \"x1\""),
        ("G   C   Dqy", "line 1: expected a chord suffix such as m, 7, maj7 or sus4 at character 10, found \"q\""),
    ];
    for (text, expected) in rows {
        let chart = Chart::read(text);
        let first = chart.faults().next().map(ToString::to_string);
        assert_eq!(first.as_deref(), Some(expected), "{text}");
        assert_eq!(chart.write(), text);
        // What is understood is played all the same.
        if text.contains('G') {
            assert!(!chart.played().is_empty(), "{text}");
        }
    }
}

/// How many letters a chord takes as written.
fn after_letters(chord: Option<Chord>) -> usize {
    chord.map_or(0, |chord| chord.ascii().chars().count())
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
    fn a_chart_is_written_back_to_the_letter(lines in prop::collection::vec(line(), 0..8)) {
        let text = lines.join("\n");
        prop_assert_eq!(Chart::read(&text).write(), text);
    }

    #[test]
    fn any_text_is_read_and_written_back_to_the_letter(text in "(\\PC|[\\r\\n\\t \u{a0}\\[\\]|:A-G])*", custom in 0_usize..3) {
        let naming = [Naming::English, Naming::German, Naming::Solfege][custom];
        let chart = Chart::read_in(&text, naming);
        prop_assert_eq!(chart.write(), text.clone());
        for fault in chart.faults() {
            let line = chart.lines()[fault.line].text();
            prop_assert!(fault.place <= line.chars().count());
            let rest: String = line.chars().skip(fault.place).collect();
            prop_assert!(rest.starts_with(&fault.found), "{:?} in {:?}", fault, rest);
        }
        prop_assert!(chart.played().len() <= 16 * 16 * text.len());
    }

    /// Chords over words, moved and moved back: the same chords over the same letters.
    #[test]
    fn transposing_there_and_back_is_the_same_song(
        rows in prop::collection::vec((prop::collection::vec(("[A-G]", "(|m|7|maj7|m7b5)", 0_usize..9), 1..6), "[a-z ]{0,40}"), 1..4),
        key in "[A-G]", by in -11_i16..12
    ) {
        let mut text = String::new();
        for (chords, words) in &rows {
            for (root, suffix, gap) in chords {
                text.push_str(&format!("{root}{suffix} {:gap$}", "", gap = gap));
            }
            text.push_str(&format!("\nla {words}\n"));
        }
        let song = guitar_song(&text, &key, 0);
        let there = song.transposed(Semitones::new(by), &mut |_, _| None);
        let back = there.transposed(Semitones::new(-by), &mut |_, _| None);
        prop_assert_eq!(&back.chart, &song.chart);
        prop_assert_eq!(back.key, song.key);
        // There, every chord stands over its column, or as near to the right as the ones before it allow.
        let (before, after) = (song.read_chart(), there.read_chart());
        for (one, other) in before.lines().iter().zip(after.lines()) {
            prop_assert_eq!(one.chords.len(), other.chords.len());
            let mut end = 0;
            for (one, other) in one.chords.iter().zip(&other.chords) {
                prop_assert_eq!(other.column, one.column.max(end), "{:?} {:?}", song.chart, there.chart);
                end = other.column + after_letters(other.chord) + 1;
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
    let chart = Chart::read("Verse:\n|: G / C/E | % :| x3\n\"low water\n| N.C. | D7 |");
    let key = key_of_chord(chord("G"));
    let moved = chart.transposed(&Transposition::by(key, Semitones::new(2)));
    assert_eq!(moved.write(), "Verse:\n|: A / D/F# | % :| x3\n\"low water\n| N.C. | E7 |");
}

#[test]
fn chords_are_counted_in_the_order_they_appear() {
    let chart = Chart::read("| G | C G | D | G |");
    assert_eq!(chart.chords(), [(chord("G"), 3), (chord("C"), 1), (chord("D"), 1)]);
    assert_eq!(chart.played()[1].chords, [Some(chord("C")), Some(chord("G"))]);
    let Content::Bars(bars) = &chart.lines()[0].content else { panic!() };
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
    let found = suggest_capos(&song, Fret::new(7), &mut cost);
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
        let chart = song.read_chart();
        let sounds = |hold: ToHold| (hold.sounding.required(), hold.sounding.bass().class());
        chart.chords().iter().map(|&(chord, _)| sounds(song.to_hold(chord))).collect()
    };
    for capo in 0..6 {
        let moved = song.with_capo(Fret::new(capo), &mut plain_shape);
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
    let moved = song.with_capo(Fret::new(0), &mut plain_shape);
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
    let moved = song.transposed(Semitones::new(2), &mut plain_shape);
    assert_eq!((moved.chart.as_str(), moved.key), ("| A | D | E |", Some(Key::read("A").unwrap())));
    assert_eq!(moved.chosen_shapes().len(), 1);
    assert!(moved.shape_of(chord("A")).is_some());
    // What is not understood stays where it is.
    song.chart = "| G | Hm |\nwords".into();
    assert_eq!(song.transposed(Semitones::new(2), &mut plain_shape).chart, "| A | Hm |\nwords");
}
