//! What the thumb alternates, against common practice and a check of its own.

use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard};
use pegwise::shapes::{
    BassPair, BassPart, FingerChange, Hand, ShapeSearch, alternating_bass, chords_along_neck, known_forms,
    melody_in_reach, name_shape,
};
use pegwise::theory::{Chord, Key, Pitch};

use crate::held::{board, data_set, guitar_in, held};

fn numbers(board: &Fretboard<'_>, pair: &BassPair) -> (u8, u8) {
    let number = |note: pegwise::shapes::BassNote| note.position.course.player_number(board.courses());
    (number(pair.first), number(pair.second))
}

#[test]
fn the_thumb_alternates_as_players_do() {
    // Common practice, no source.
    for (tuning, chord, frets, fingers, pair) in [
        ("EADGBE", "C", "x 3 2 0 1 0", "0 3 2 0 1 0", (5, 4)),
        ("EADGBE", "G", "3 2 0 0 0 3", "2 1 0 0 0 3", (6, 4)),
        ("EADGBE", "D", "x x 0 2 3 2", "0 0 0 1 3 2", (4, 5)),
        ("EADGBE", "E", "0 2 2 1 0 0", "0 2 3 1 0 0", (6, 4)),
        ("EADGBE", "A", "x 0 2 2 2 0", "0 0 1 2 3 0", (5, 4)),
        ("EADGBE", "Am", "x 0 2 2 1 0", "0 0 2 3 1 0", (5, 4)),
        ("EADGBE", "F", "1 3 3 2 1 1", "1 3 4 2 1 1", (6, 4)),
        ("DADGBE", "D", "x x 0 2 3 2", "0 0 0 1 3 2", (6, 4)),
        // D G D G B E: G shapes 5 and 4, D shapes 6 and 4, a barred C 5 and 4.
        ("DGDGBE", "G", "x x 5 4 3 3", "0 0 3 2 1 1", (5, 4)),
        ("DGDGBE", "G", "x 0 5 4 3 3", "0 0 3 2 1 1", (5, 4)),
        ("DGDGBE", "G", "x 0 0 0 0 3", "0 0 0 0 0 3", (5, 4)),
        ("DGDGBE", "G", "x 0 5 7 8 7", "0 0 1 2 3 2", (5, 4)),
        ("DGDGBE", "D", "0 x 0 2 3 2", "0 0 0 1 3 2", (6, 4)),
        ("DGDGBE", "D", "x x 0 2 3 2", "0 0 0 1 3 2", (6, 4)),
        ("DGDGBE", "C", "5 5 5 5 5 8", "1 1 1 1 1 4", (5, 4)),
        ("DGDGBE", "C", "x 5 5 5 5 x", "0 1 1 1 1 0", (5, 4)),
    ] {
        let board = guitar_in(tuning);
        let (shape, fingering) = held(frets, fingers);
        let bass = alternating_bass(&board, &shape, &fingering, Chord::read(chord).unwrap(), &Hand::default());
        let best = bass.pairs.first().map(|pair| numbers(&board, pair));
        assert_eq!(best, Some(pair), "{tuning} {chord} {frets}");
    }
}

#[test]
fn the_barred_c_alternates_c_and_g() {
    // D G D G B E, barre at fret 5: course 5 is C, course 4 is G (counted up from the open strings).
    let board = guitar_in("DGDGBE");
    let (shape, fingering) = held("x 5 5 5 5 x", "0 1 1 1 1 0");
    let bass = alternating_bass(&board, &shape, &fingering, Chord::read("C").unwrap(), &Hand::default());
    let pair = bass.pairs.first().unwrap();
    assert_eq!((pair.first.part, pair.second.part), (BassPart::Root, BassPart::Fifth));
    assert_eq!((pair.first.position.fret.get(), pair.second.position.fret.get()), (5, 5));
}

#[test]
fn the_bass_asked_for_comes_first() {
    let board = guitar_in("EADGBE");
    let (shape, fingering) = held("3 3 2 0 1 0", "3 4 2 0 1 0");
    let bass = alternating_bass(&board, &shape, &fingering, Chord::read("C/G").unwrap(), &Hand::default());
    let pair = bass.pairs.first().unwrap();
    assert_eq!((pair.first.part, pair.first.position.course.player_number(6)), (BassPart::Asked, 6));
}

#[test]
fn where_the_thumb_has_nothing_one_finger_gives_it_something() {
    // Standard tuning: an F with open A and D strings has no F for the thumb. The smallest change puts a finger at
    // fret 3 of course 4, or of course 6 at fret 1 (counted from the open strings).
    let standard = guitar_in("EADGBE");
    let (shape, fingering) = held("x x x 2 1 1", "0 0 0 2 1 1");
    let chord = Chord::read("F").unwrap();
    let bass = alternating_bass(&standard, &shape, &fingering, chord, &Hand::default());
    assert!(bass.pairs.is_empty());
    let (change, pair) = bass.change.unwrap();
    assert!(matches!(change, FingerChange::Add { .. }), "{change:?}");
    assert_eq!(pair.first.pitch.class(), chord.root().class());
    // D G D G B E, G: course 5 stopped at fret 2 sounds A; the root lies under the finger.
    let open_g = guitar_in("DGDGBE");
    let (shape, fingering) = held("x 2 2 0 0 3", "0 1 2 0 0 3");
    let bass = alternating_bass(&open_g, &shape, &fingering, Chord::read("G").unwrap(), &Hand::default());
    assert!(bass.pairs.is_empty());
    // Course 5 lifted gives G on the open string, but course 4 stays E; with course 6 open D that is a pair.
    let (change, pair) = bass.change.unwrap();
    assert!(matches!(change, FingerChange::Lift { from, .. } if from.course.player_number(6) == 5), "{change:?}");
    assert_eq!(numbers(&open_g, &pair), (5, 6));
}

#[test]
fn every_pair_sounds_the_root_and_a_tone_of_the_chord_on_the_thumbs_courses() {
    let standard = guitar_in("EADGBE");
    let (mut with_pair, mut with_change, mut neither) = (0, 0, 0);
    for (symbol, shape, fingering) in data_set() {
        let Ok(chord) = Chord::read(&symbol) else { continue };
        let bass = alternating_bass(&standard, &shape, &fingering, chord, &Hand::default());
        for pair in bass.pairs.iter().chain(bass.change.iter().map(|(_, pair)| pair)) {
            assert_eq!(pair.first.pitch.class(), chord.root().class(), "{symbol} {shape}");
            assert!(chord.allowed().contains(pair.second.pitch.class()), "{symbol} {shape}");
            assert_ne!(pair.first.position.course, pair.second.position.course);
            for note in [pair.first, pair.second] {
                let index = note.position.course.from_lowest_index();
                assert!(index < 3, "{symbol} {shape}");
                let open: Pitch = standard.open_pitches()[index];
                assert_eq!(note.pitch.number(), open.number() + note.position.fret.get());
            }
        }
        for pair in &bass.pairs {
            for note in [pair.first, pair.second] {
                let held = shape.frets()[note.position.course.from_lowest_index()];
                assert_eq!(note.is_in_shape, held.is_some());
                assert_eq!(held.unwrap_or_default(), note.position.fret, "{symbol} {shape}");
            }
        }
        match (bass.pairs.is_empty(), bass.change.is_some()) {
            (false, _) => with_pair += 1,
            (true, true) => with_change += 1,
            (true, false) => neither += 1,
        }
    }
    eprintln!("{with_pair} shapes have a pair, {with_change} get one by a change, {neither} by none");
    assert!(with_pair > 1000);
}

#[test]
fn a_short_drone_string_is_no_bass() {
    // Five-string banjo in its usual tuning, open G: the thumb's bass is on the long courses (D3, G3).
    let banjo = board("five-string-banjo", "G4 D3 G3 B3 D4", 0);
    let (shape, fingering) = held("0 0 0 0 0", "0 0 0 0 0");
    let bass = alternating_bass(&banjo, &shape, &fingering, Chord::read("G").unwrap(), &Hand::default());
    assert_eq!(numbers(&banjo, bass.pairs.first().unwrap()), (3, 4));
}

#[test]
fn every_instrument_of_the_catalogue_is_told_what_its_shapes_are_good_for() {
    // Pairs, short strings, re-entrant and diatonic necks, 3 to 10 courses, capo at fret 2 where there is one.
    let catalog = Catalog::bundled();
    let hand = Hand::default();
    let key = Key::read("G").unwrap();
    let search = ShapeSearch { last_fret: Fret::new(9), effort: 30_000, ..ShapeSearch::best(3) };
    let mut analysed = 0;
    for (row, instrument) in catalog.instruments().iter().enumerate() {
        let standard = catalog.standard_of(instrument).tuning();
        let capo = if row % 2 == 0 && instrument.has_fret(Fret::new(2)) { Fret::new(2) } else { Fret::OPEN };
        let board = Fretboard::new(instrument, standard, capo).unwrap();
        for symbol in ["G", "D7"] {
            let chord = Chord::read(symbol).unwrap();
            for ranked in search.find(chord, &board).shapes {
                let (shape, fingering) = (ranked.shape(), ranked.fingering());
                let names = name_shape(&board, shape, Some(key));
                let is_there = |name: &pegwise::shapes::ChordName| name.chord.root() == chord.root();
                assert!(names.names.iter().any(is_there), "{} {symbol} {shape}", instrument.id());
                let bass = alternating_bass(&board, shape, fingering, chord, &hand);
                for note in bass.pairs.iter().flat_map(|pair| [pair.first, pair.second]) {
                    let course = note.position.course.from_lowest_index();
                    assert!(!instrument.courses()[course].is_drone() && 2 * course <= board.courses());
                    assert_eq!(board.pitch_at(note.position), Some(note.pitch));
                    assert!(chord.allowed().contains(note.pitch.class()));
                }
                let thumb = bass.pairs.first().copied();
                for note in melody_in_reach(&board, shape, fingering, chord, thumb, key, &hand) {
                    assert_eq!(board.pitch_at(note.position), Some(note.pitch));
                    assert!(key.classes().contains(note.pitch.class()));
                    let is_thumbs = |pair: BassPair| {
                        [pair.first, pair.second].iter().any(|bass| bass.position.course == note.position.course)
                    };
                    assert!(!thumb.is_some_and(is_thumbs));
                }
                for known in known_forms(&board, standard, shape, chord) {
                    let is_held = |course: &CourseIndex| shape.frets()[course.from_lowest_index()].is_some();
                    assert!(known.equal.len() >= 3 && known.equal.iter().all(is_held), "{shape}");
                }
                for moved in chords_along_neck(&board, shape, Some(key)) {
                    assert_eq!(moved.shape.fret_range().map(|range| range.0), Some(moved.fret));
                }
                analysed += 1;
            }
        }
    }
    assert!(analysed > 2 * catalog.instruments().len(), "{analysed}");
}
