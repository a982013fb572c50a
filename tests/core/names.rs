//! Chord names against two general-purpose libraries, an open set of shapes, common practice, and themselves.

use std::collections::BTreeMap;

use pegwise::instrument::{Catalog, Fret, Fretboard, Tuning};
use pegwise::shapes::{BassRole, ChordName, Names, Shape, name_pitches, name_shape};
use pegwise::theory::{
    Chord, ChordQuality, Interval, Key, Mode, Naming, Note, Pitch, PitchClass, PitchClassSet, SpelledPitch,
    SpellingChoice,
};
use proptest::prelude::*;

/// See the head of the file and `make_chord_names.py` beside it.
const REFERENCE: &str = include_str!("../assets/chord_names.tsv");

/// The ids of the chord table for music21's words; those it shares are not listed.
const KINDS: [(&str, &str); 16] = [
    ("major-sixth", "sixth"),
    ("minor-11th", "minor-eleventh"),
    ("major-11th", "major-eleventh"),
    ("dominant-11th", "dominant-eleventh"),
    ("dominant-13th", "dominant-thirteenth"),
    ("major-13th", "major-thirteenth"),
    ("minor-13th", "minor-thirteenth"),
    ("suspended-fourth-seventh", "dominant-seventh-suspended-fourth"),
    ("seventh-flat-five", "dominant-seventh-flat-fifth"),
    ("augmented-seventh", "dominant-seventh-sharp-fifth"),
    ("augmented-major-seventh", "major-seventh-sharp-fifth"),
    ("augmented-dominant-ninth", "dominant-ninth-sharp-fifth"),
    ("augmented-major-ninth", "major-ninth-sharp-fifth"),
    ("minor-major-ninth", "minor-major-ninth"),
    ("half-diminished-ninth", "half-diminished-ninth"),
    ("power", "power"),
];

/// Why a name of ours stands before that of a library, by our quality and theirs (tonal's suffix after a `?` where the
/// chord table has none such). Each pair names the very same tones from another root, or by another word.
const EXPLAINED: [(&str, &str, &str); 25] = [
    ("sixth", "minor-seventh", "C6 is Am7 over C: with the sixth's root lowest it is heard and written as C6"),
    ("minor-seventh", "sixth", "C6 is Am7 over C: with neither root lowest the seventh chord is the plainer name"),
    ("minor-sixth", "half-diminished-seventh", "as sixth and minor seventh: Cm6 is Am7b5 over C"),
    ("half-diminished-seventh", "minor-sixth", "as sixth and minor seventh: Cm6 is Am7b5 over C"),
    ("suspended-fourth", "suspended-second", "Csus2 is Gsus4 over C: with neither root lowest the fourth is commoner"),
    ("augmented", "augmented", "three roots share the tones: the lowest note is heard, music21 reads the spelling"),
    ("diminished-seventh", "diminished-seventh", "four roots share the tones: as for the augmented triad"),
    ("dominant-seventh-flat-fifth", "dominant-seventh-flat-fifth", "two roots a tritone apart share the tones"),
    ("dominant-seventh-sharp-fifth", "?M#5add9", "tonal puts a root in the bass before a seventh chord inverted"),
    ("dominant-ninth-suspended-fourth", "dominant-eleventh", "one set of tones, two words: G C D F A"),
    ("dominant-ninth-suspended-fourth", "minor-seventh", "music21 reads G C D F A as Dm7 over G; its root is lowest"),
    (
        "dominant-seventh-suspended-fourth",
        "suspended-fourth-added-ninth",
        "tonal's word for 1 2 4 5 on another root; not in use for chords",
    ),
    ("dominant-seventh-suspended-fourth", "suspended-fourth", "tonal's word for stacked fourths on another root"),
    ("dominant-thirteenth-suspended-fourth", "minor-eleventh", "Dm11 over G has G13sus4's tones; its root is lowest"),
    ("minor-eleventh", "dominant-thirteenth-suspended-fourth", "the same, with neither root lowest"),
    ("minor-eleventh", "major-thirteenth", "Dm11 has Fmaj13's tones; with neither root lowest the plainer name"),
    ("major-thirteenth", "minor-eleventh", "Dm11 has Fmaj13's tones; its root is lowest"),
    ("dominant-ninth-sharp-fifth", "?9b5", "C9#5 has D9b5's tones and is the commoner; symmetric but for one tone"),
    ("half-diminished-ninth", "dominant-seventh-flat-ninth-flat-thirteenth", "Cm9b5 is D7b9b13, and plainer"),
    ("dominant-seventh-flat-ninth-flat-thirteenth", "half-diminished-ninth", "the same, its own root lowest"),
    ("major-seventh-sharp-fifth", "?M7b6", "the fifth is absent, so the sixth note is a raised fifth"),
    ("major-seventh-sharp-fifth", "?+add#9", "tonal's word for the same tones on the raised fifth"),
    ("major-ninth-sharp-fifth", "?7b6", "tonal's word for some of the tones on the third"),
    ("major", "?m#5", "C over E read from E: 1 b3 #5 is a plain triad in first inversion"),
    ("dominant-seventh-flat-ninth", "altered-dominant", "1 3 b7 b9 without a fifth: the altered dominant needs one"),
];

struct Row<'a> {
    line: &'a str,
    pitches: Vec<Pitch>,
    /// Root and quality id, or what could not be read.
    tonal: Option<(Note, String)>,
    music21: Option<(Note, String)>,
}

fn rows() -> Vec<Row<'static>> {
    let rows = REFERENCE.lines().filter(|line| !line.starts_with('#')).skip(1);
    rows.map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        let pitches = cells[3].split(' ').map(|text| SpelledPitch::read(text).unwrap().pitch()).collect();
        let tonal = Note::read(cells[4]).ok().map(|root| {
            let known = Chord::read(&format!("{}{}", cells[4], cells[5]));
            (root, known.map_or_else(|_| format!("?{}", cells[5]), |chord| chord.quality().id().to_owned()))
        });
        let music21 = Note::read(cells[7]).ok().map(|root| {
            let word = KINDS.iter().find(|(word, _)| *word == cells[8]).map_or(cells[8], |(_, id)| id);
            (root, word.to_owned())
        });
        Row { line, pitches, tonal, music21 }
    })
    .collect()
}

/// Returns the tones a chord always holds and those it may leave out.
fn tones(root: Note, id: &str) -> Option<PitchClassSet> {
    ChordQuality::find(id).map(|quality| Chord::new(root, quality).notes().into_iter().map(Note::class).collect())
}

#[test]
fn names_agree_with_two_libraries_or_the_difference_is_explained() {
    let rows = rows();
    assert!(rows.len() >= 500, "{} chords", rows.len());
    let (mut first, mut right, mut settled, mut against_both) = (0, 0, 0, 0);
    let mut of_library = [(0, 0); 2];
    let mut used = vec![0; EXPLAINED.len()];
    let mut unexplained: BTreeMap<(String, String), &str> = BTreeMap::new();
    for row in &rows {
        let names = name_pitches(&row.pitches, false, None);
        let best = &names.best().unwrap_or_else(|| panic!("no name: {}", row.line)).chord;
        let sounding: PitchClassSet = row.pitches.iter().map(|pitch| pitch.class()).collect();
        let is_root = |theirs: &(Note, String)| theirs.0.class() == best.root().class();
        let is_ours = |theirs: &(Note, String)| is_root(theirs) && theirs.1 == best.quality().id();
        // Two words for one set of tones on one root (C9sus4 and C11, C7b9 without its fifth and C7alt).
        let is_same_chord = |theirs: &(Note, String)| is_root(theirs) && tones(theirs.0, &theirs.1) == Some(sounding);
        let theirs: Vec<(usize, &(Note, String))> = [&row.tonal, &row.music21]
            .into_iter()
            .enumerate()
            .filter_map(|(at, named)| Some((at, named.as_ref()?)))
            .collect();
        for &(at, named) in &theirs {
            of_library[at].0 += usize::from(is_ours(named));
            of_library[at].1 += 1;
            let pair = (best.quality().id(), named.1.as_str());
            if is_ours(named) {
                continue;
            }
            match EXPLAINED.iter().position(|&(ours, other, _)| (ours, other) == pair) {
                Some(place) => used[place] += 1,
                None => drop(unexplained.insert((pair.0.to_owned(), pair.1.to_owned()), row.line)),
            }
        }
        first += usize::from(theirs.iter().any(|(_, named)| is_ours(named)));
        right += usize::from(theirs.iter().any(|(_, named)| is_ours(named) || is_same_chord(named)));
        let is_settled = matches!(theirs.as_slice(), [(_, one), (_, other)]
            if one.0.class() == other.0.class() && one.1 == other.1);
        settled += usize::from(is_settled);
        against_both += usize::from(is_settled && !is_ours(theirs[0].1));
    }
    eprintln!(
        "{} chords: {first} named first as a library does, {right} with two words for one chord counted as one; \
         {:?} of tonal, {:?} of music21; {settled} where both agree, {against_both} of them named otherwise",
        rows.len(),
        of_library[0],
        of_library[1],
    );
    assert!(unexplained.is_empty(), "not explained: {unexplained:#?}");
    let unused: Vec<_> = EXPLAINED.iter().zip(&used).filter(|&(_, &count)| count == 0).collect();
    assert!(unused.is_empty(), "explains nothing: {unused:#?}");
    assert!(right * 100 >= rows.len() * 95, "{right} of {}", rows.len());
    assert!(against_both * 100 <= settled * 5, "{against_both} of {settled}");
}

fn named(instrument: &str, tuning: &str, frets: &str, key: Option<&str>) -> Names {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(instrument).unwrap();
    let tuning = Tuning::read(tuning, catalog.standard_of(instrument).tuning()).unwrap();
    let board = Fretboard::new(instrument, &tuning, Fret::OPEN).unwrap();
    let shape = Shape::read(frets, board.courses()).unwrap();
    name_shape(&board, &shape, key.map(|key| Key::read(key).unwrap()))
}

fn degrees(list: &[Interval]) -> String {
    list.iter().map(Interval::to_string).collect::<Vec<_>>().join(" ")
}

#[test]
fn common_shapes_have_their_common_names() {
    // Common practice, no source; the open shapes and the re-entrant ones are those of references.md.
    for (instrument, tuning, frets, name) in [
        ("guitar", "EADGBE", "x 3 2 0 1 0", "C"),
        ("guitar", "EADGBE", "x 0 2 2 2 0", "A"),
        ("guitar", "EADGBE", "3 2 0 0 0 3", "G"),
        ("guitar", "EADGBE", "0 2 2 1 0 0", "E"),
        ("guitar", "EADGBE", "x x 0 2 3 2", "D"),
        ("guitar", "EADGBE", "x 0 2 2 1 0", "Am"),
        ("guitar", "EADGBE", "0 2 2 0 0 0", "Em"),
        ("guitar", "EADGBE", "x x 0 2 3 1", "Dm"),
        ("guitar", "EADGBE", "1 3 3 2 1 1", "F"),
        ("guitar", "EADGBE", "x 2 1 2 0 2", "B7"),
        ("guitar", "EADGBE", "x 3 2 3 1 0", "C7"),
        ("guitar", "EADGBE", "3 2 0 0 0 1", "G7"),
        ("guitar", "EADGBE", "x 0 2 0 1 0", "Am7"),
        ("guitar", "EADGBE", "x x 0 2 1 1", "Dm7"),
        ("guitar", "EADGBE", "x 3 2 0 0 0", "Cmaj7"),
        ("guitar", "EADGBE", "x x 3 2 1 0", "Fmaj7"),
        ("guitar", "EADGBE", "x 0 2 2 3 0", "Asus4"),
        ("guitar", "EADGBE", "x x 0 2 3 0", "Dsus2"),
        ("guitar", "EADGBE", "x 3 2 0 3 0", "Cadd9"),
        ("guitar", "EADGBE", "x x 2 3 2 3", "Edim7"),
        ("guitar", "EADGBE", "2 x 0 2 3 2", "D/F♯"),
        ("guitar", "EADGBE", "3 3 2 0 1 0", "C/G"),
        ("guitar", "EADGBE", "x 2 0 0 0 3", "G/B"),
        ("guitar", "EADGBE", "x 0 2 2 2 2", "A6"),
        ("guitar", "EADGBE", "0 2 2 x x x", "E5"),
        ("guitar", "EADGBE", "x 3 5 5 x x", "C5"),
        ("soprano-ukulele", "G4 C4 E4 A4", "0 0 0 3", "C"),
        ("soprano-ukulele", "G4 C4 E4 A4", "0 2 3 2", "G"),
        ("soprano-ukulele", "G4 C4 E4 A4", "2 0 0 0", "Am"),
        ("soprano-ukulele", "G4 C4 E4 A4", "2 0 1 0", "F"),
        ("soprano-ukulele", "G4 C4 E4 A4", "0 2 1 2", "G7"),
        ("guitar", "DADGAD", "0 0 0 2 0 0", "D5"),
        ("guitar", "DADGAD", "0 0 0 0 0 0", "Dsus4"),
        ("guitar", "DGDGBD", "0 0 0 0 0 0", "G/D"),
        ("guitar", "DGDGBD", "x 5 5 5 5 5", "C"),
        ("guitar", "DGDGBD", "x 7 7 7 7 7", "D"),
        ("guitar", "DGDGBE", "x 0 5 4 3 3", "G"),
        ("guitar", "DGDGBE", "x 0 0 0 0 0", "G6"),
        ("guitar", "DGDGBE", "x 0 5 4 5 3", "Em/G"),
    ] {
        let names = named(instrument, tuning, frets, None);
        let best = names.best().map(|best| best.chord.to_string());
        assert_eq!(best.as_deref(), Some(name), "{instrument} {tuning} {frets}");
    }
}

#[test]
fn one_note_and_two_notes_are_told_apart_from_chords() {
    let fifth = named("guitar", "EADGBE", "0 2 x x x x", None);
    assert_eq!(fifth.notes.len(), 2);
    let third = named("guitar", "EADGBE", "x 3 2 x x x", None);
    let best = third.best().unwrap();
    assert_eq!((best.chord.to_string(), degrees(&best.missing)), ("C".to_owned(), "5".to_owned()));
    let one = named("guitar", "DADGAD", "0 x 0 x x 0", None);
    assert_eq!((one.names.len(), one.notes.len()), (0, 1));
    assert!(named("guitar", "DADGAD", "x x x x x x", None).notes.is_empty());
}

#[test]
fn a_name_that_lacks_its_third_or_seventh_stands_only_where_there_is_none_complete() {
    // Common practice, no source: a plain triad is no seventh chord without its seventh. C and B flat alone are no
    // complete chord on either note, so that what they are called lacks something.
    for frets in ["x 3 2 0 1 0", "x 0 2 2 1 0", "x 3 2 3 1 0", "x 0 2 2 3 0", "x x 2 3 2 3", "x 3 2 0 3 0"] {
        let names = named("guitar", "EADGBE", frets, None).names;
        let lacks = |name: &&ChordName| name.missing.iter().any(|degree| [3, 7].contains(&degree.number()));
        let lacking = names.iter().find(lacks).map(|name| name.sentence(Naming::English));
        assert!(!names.is_empty() && lacking.is_none(), "{frets}: {lacking:?}");
    }
    let names = named("guitar", "EADGBE", "x 3 x 3 x x", None).names;
    let seventh = names.iter().find(|name| name.chord.to_string() == "C7").unwrap();
    assert_eq!(degrees(&seventh.missing), "3 5");
}

/// Common practice, no source: nobody is told of a chord without its root, nor of double accidentals where a plain name says
/// the same.
#[test]
fn no_name_lacks_its_root_or_is_spelled_with_double_accidentals_where_a_plainer_one_stands() {
    for frets in ["x 3 2 0 1 0", "x 0 2 2 1 0", "3 2 0 0 0 3", "x x 0 2 3 2", "x 2 1 2 0 2"] {
        for key in ["G", "E", "Ab", "F#", "C", "Db", "B"] {
            let names = named("guitar", "EADGBE", frets, Some(key)).names;
            assert!(names.iter().all(ChordName::has_root), "{frets} in {key}");
            for name in &names {
                let is_double = |note: &Note| note.accidental().semitones().abs() > 1;
                let written: Vec<Note> = [vec![name.chord.bass()], name.chord.notes()].concat();
                assert!(!written.iter().any(is_double), "{frets} in {key}: {}", name.chord);
            }
        }
    }
    let names = named("guitar", "EADGBE", "4 0 2 2 2 x", Some("E")).names;
    assert!(names.iter().all(|name| name.chord.bass().to_string() == "G♯"), "{names:?}");
    let names = named("guitar", "EADGBE", "4 0 2 2 2 x", None).names;
    assert_eq!(names[0].chord.bass().to_string(), "G♯", "{}", names[0].chord);
}

/// D G D G B E is built on G, so that its open strings are G6 over D before E minor seventh over D; in the key of G too. In
/// the key of E minor they are the other.
#[test]
fn the_tuning_and_the_key_say_which_of_two_equal_names_comes_first() {
    for (key, name) in [(None, "G6/D"), (Some("G"), "G6/D"), (Some("Em"), "Em7/D")] {
        let best = named("guitar", "DGDGBE", "0 0 0 0 0 0", key).names.remove(0);
        assert_eq!(best.chord.to_string(), name, "{key:?}");
    }
    // In standard, Am7 over its root stays that in the key of C.
    let best = named("guitar", "EADGBE", "x 0 2 0 1 0", Some("C")).names.remove(0);
    assert_eq!(best.chord.to_string(), "Am7");
}

#[test]
fn the_key_decides_between_enharmonic_names() {
    // Key signatures of F sharp, G flat and B major, E flat minor, B flat and E major: common practice.
    for (frets, key, name) in [
        ("2 4 4 3 2 2", "F#", "F♯"),
        ("2 4 4 3 2 2", "Gb", "G♭"),
        ("2 4 4 3 2 2", "B", "F♯"),
        ("2 4 4 3 2 2", "Ebm", "G♭"),
        ("x x 1 3 4 2", "Bb", "E♭m"),
        ("x x 1 3 4 2", "E", "D♯m"),
    ] {
        let names = named("guitar", "EADGBE", frets, Some(key));
        assert_eq!(names.best().unwrap().chord.to_string(), name, "{frets} in {key}");
    }
}

#[test]
fn the_reason_says_what_is_there_what_is_missing_and_what_is_lowest() {
    let names = named("guitar", "EADGBE", "x 3 2 3 1 0", None);
    let best = names.best().unwrap();
    assert_eq!((degrees(&best.present), degrees(&best.missing)), ("1 3 ♭7".to_owned(), "5".to_owned()));
    assert_eq!(best.bass_role, BassRole::Root);
    assert_eq!(
        best.sentence(Naming::English),
        "C7: dominant seventh; sounds C 1, E 3, B♭ ♭7; without G 5; the root is lowest"
    );
    let inverted = named("guitar", "EADGBE", "3 3 2 0 1 0", None);
    assert_eq!(inverted.best().unwrap().bass_role, BassRole::Inversion(2));
    let foreign = named("guitar", "EADGBE", "1 3 2 0 1 0", None);
    let over_f = foreign.names.iter().find(|name| name.chord.to_string() == "C/F").unwrap();
    assert_eq!((over_f.bass_role, over_f.bass_degree.to_string().as_str()), (BassRole::Foreign, "4"));
}

#[test]
fn the_shapes_of_an_open_data_set_bear_their_names() {
    // shapes_guitar.csv: npm `@tombatossals/chords-db` 0.5.1 (MIT), the rows without a fault. Slash chords are written
    // without their quality there and are left out, as are qualities the chord table does not have. A name of
    // theirs that is not our first is an ambiguity (sixths, suspensions, thirteenths without fifth and ninth).
    let guitar = Catalog::bundled().guitar();
    let tuning = Catalog::bundled().standard_of(guitar).tuning();
    let board = Fretboard::new(guitar, tuning, Fret::OPEN).unwrap();
    let (mut all, mut first, mut among) = (0_u32, 0_u32, 0_u32);
    for line in include_str!("../assets/shapes_guitar.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let suffix = match cells[3] {
            "major" => "",
            "minor" => "m",
            other => other,
        };
        let Ok(chord) = Chord::read(&format!("{}{suffix}", cells[2])) else { continue };
        if suffix.contains('/') || !cells[10].is_empty() {
            continue;
        }
        let names = name_shape(&board, &Shape::read(cells[5], 6).unwrap(), None);
        let is_it = |name: &ChordName| {
            (name.chord.root().class(), name.chord.quality().id()) == (chord.root().class(), chord.quality().id())
        };
        all += 1;
        first += u32::from(names.best().is_some_and(is_it));
        among += u32::from(names.names.iter().any(is_it));
    }
    eprintln!("{first} of {all} first, {among} among the names");
    assert!(all > 1500 && first * 100 >= all * 80 && among * 100 >= all * 95, "{first}, {among} of {all}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    /// Any tuning of the catalogue, with a capo where there is a fret for it, and any frets at all.
    #[test]
    fn every_name_read_back_contains_what_sounds(
        row in 0..Catalog::bundled().tunings().len(),
        capo in 0..4_u8,
        frets in proptest::collection::vec(proptest::option::of(0..13_u8), 12),
        tonic in 0..12_i16,
    ) {
        let catalog = Catalog::bundled();
        let tuning = &catalog.tunings()[row];
        let instrument = catalog.find_instrument(tuning.instrument_id()).unwrap();
        let capo = if instrument.has_fret(Fret::new(capo)) { Fret::new(capo) } else { Fret::OPEN };
        let board = Fretboard::new(instrument, tuning.tuning(), capo).unwrap();
        let shape = Shape::new(frets.iter().take(board.courses()).map(|fret| fret.map(Fret::new)).collect());
        let courses = instrument.courses().iter().zip(shape.pitches(&board));
        let sounding: Vec<Pitch> =
            courses.filter_map(|(course, pitch)| Some(course.string_pitches(pitch?))).flatten().collect();
        let classes: PitchClassSet = sounding.iter().map(|pitch| pitch.class()).collect();
        let tonic = Note::of_class(PitchClass::from_semitones_above_c(tonic), SpellingChoice::Customary);
        for key in [None, Some(Key::new(tonic, Mode::Major))] {
            let names = name_shape(&board, &shape, key);
            prop_assert!(names.names.windows(2).all(|pair| pair[0].points() <= pair[1].points()));
            prop_assert_eq!(names.notes.len(), usize::try_from(classes.len()).unwrap());
            for name in &names.names {
                let read = Chord::read(&name.chord.ascii()).unwrap();
                prop_assert_eq!(read.quality().id(), name.chord.quality().id());
                prop_assert!(classes.is_subset_of(read.allowed()), "{shape} {}", name.chord);
                let lowest = sounding.iter().min().unwrap();
                let is_named = name.bass_role != BassRole::NotNamed;
                prop_assert!(!is_named || read.bass().class() == lowest.class(), "{shape} {}", name.chord);
            }
        }
    }
}
