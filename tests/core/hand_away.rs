//! The hand away from standard: what a player holds first in open and dropped tunings.

use pegwise::app::State;
use pegwise::instrument::{Catalog, Fret, Fretboard, Tuning};
use pegwise::shapes::{BassPart, Finger, Hand, RankedShape, Shape, ShapeSearch, Style, alternating_bass};
use pegwise::store::Library;
use pegwise::theory::{Chord, Key, Mode};

use crate::held::{board, guitar_in};
use crate::shape_rows::{narrow_rows, open_rows};

fn first_three(tuning: &str, chord: &str, style: Style) -> Vec<RankedShape> {
    let search = ShapeSearch { style, ..ShapeSearch::best(3) };
    search.find(Chord::read(chord).unwrap(), &guitar_in(tuning)).shapes
}

/// At least 38 of 40 first and all among the first three, picked and strummed: what the issue asks.
#[test]
fn what_a_player_shows_first_in_open_tunings_ranks_first() {
    let rows = open_rows();
    assert_eq!(rows.len(), 40, "rows, as the table's report counts them");
    for style in [Style::Picked, Style::Strummed] {
        let (mut first, mut three, mut other) = (0, 0, Vec::new());
        for row in &rows {
            let found = first_three(row.tuning, row.chord, style);
            let is_right = |found: &RankedShape| row.shapes.contains(found.shape());
            let is_first = found.first().is_some_and(is_right);
            first += usize::from(is_first);
            three += usize::from(found.iter().any(is_right));
            if !is_first {
                let ours: Vec<String> = found.iter().map(|found| found.shape().to_string()).collect();
                other.push(format!("{} {}: {}", row.tuning, row.chord, ours.join(", ")));
            }
        }
        println!("{style:?}: {first} first, {three} in three; {other:#?}");
        assert!(first >= 38 && three == 40, "{style:?}: {first} first, {three} in three; {other:#?}");
    }
}

/// The guitar's tunings as the catalogue lists them, each with the chords I ii iii IV V vi V7 of the major key on the
/// root of its open chord.
fn guitar_chords() -> Vec<(String, Fretboard<'static>, Chord)> {
    let catalog = Catalog::bundled();
    let state = State::new(Library::default());
    let guitar = catalog.guitar();
    let mut all = Vec::new();
    for named in catalog.tunings_for(guitar) {
        let tuning: &Tuning = named.tuning();
        let board = Fretboard::new(guitar, tuning, Fret::OPEN).unwrap();
        let root = state.open_chord(tuning).map_or_else(|| Chord::read("C").unwrap().root(), |chord| chord.root());
        let key = Key::new(root, Mode::Major);
        let mut chords: Vec<Chord> = key.triads().into_iter().take(6).map(|of_key| of_key.chord).collect();
        chords.push(key.sevenths()[4].chord);
        let name = tuning.ascii(pegwise::theory::SpellingChoice::Customary);
        all.extend(chords.into_iter().map(|chord| (name.clone(), board.clone(), chord)));
    }
    all
}

/// What a player would not hold first. Written from the words of the rule, without a look at the ranking's terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fault {
    /// Middle, ring or little finger across three strings or more while a string beyond them, towards the floor, sounds
    /// at the same or a lower fret.
    Spares,
    /// Only three strings sound.
    Three,
    /// The thumb has no pair: no root with another tone of the chord among its strings.
    NoPair,
    /// The thumb's second note is the third.
    Third,
}

fn faults(found: &RankedShape, board: &Fretboard<'_>) -> Vec<Fault> {
    let frets = found.shape().frets();
    let mut faults = Vec::new();
    for finger in [Finger::Middle, Finger::Ring, Finger::Little] {
        let on: Vec<usize> =
            (0..frets.len()).filter(|&index| found.fingering().fingers[index] == Some(finger)).collect();
        if on.len() >= 3 && frets[on[on.len() - 1] + 1..].iter().flatten().any(|&fret| Some(fret) <= frets[on[0]]) {
            faults.push(Fault::Spares);
        }
    }
    if frets.iter().flatten().count() <= 3 {
        faults.push(Fault::Three);
    }
    let hand = Hand::default();
    let bass = alternating_bass(board, found.shape(), found.fingering(), found.chord(), &hand);
    match bass.pairs.first() {
        None => faults.push(Fault::NoPair),
        Some(pair) if pair.second.part == BassPart::Third => faults.push(Fault::Third),
        Some(_) => {}
    }
    faults
}

/// Prints what stands first in some tunings, for a player to read: `cargo test --no-default-features --test core
/// a_player_reads -- --ignored --nocapture`.
#[test]
#[ignore = "prints, judges nothing"]
fn a_player_reads_what_stands_first() {
    let wanted = std::env::var("PEGWISE_TUNINGS").unwrap_or_default();
    let wanted: Vec<&str> = wanted.split(',').filter(|text| !text.is_empty()).collect();
    for (tuning, board, chord) in guitar_chords() {
        if !wanted.is_empty() && !wanted.contains(&tuning.as_str()) {
            continue;
        }
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(5) };
        let found = search.find(chord, &board).shapes;
        let shown: Vec<String> = found
            .iter()
            .map(|found| {
                let fingers: String =
                    found.fingering().fingers.iter().map(|finger| finger.map_or('-', Finger::symbol)).collect();
                format!("{} {fingers} {:.1} {:?}", found.shape(), found.cost(), faults(found, &board))
            })
            .collect();
        println!("{tuning:<16} {:<6} {}", chord.to_string(), shown.join("   "));
    }
}

/// The only first shape that leaves the thumb no root: in C A D G B E the seventh on G has its root under the thumb only at
/// fret 7 of course 6, fret 10 of course 5 and fret 5 of course 4, far from the open strings that make the rest of it.
const NO_PAIR: (&str, &str) = ("C A D G B E", "G7");

#[test]
fn no_first_shape_in_any_guitar_tuning_asks_what_a_player_would_not_do() {
    let mut counts = [0; 4];
    let all = guitar_chords();
    let mut listed = Vec::new();
    for (tuning, board, chord) in &all {
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(1) };
        let found = search.find(*chord, board).shapes;
        for fault in faults(&found[0], board) {
            if fault == Fault::NoPair && (tuning.as_str(), chord.to_string().as_str()) == NO_PAIR {
                continue;
            }
            counts[fault as usize] += 1;
            listed.push(format!("{tuning} {chord} {} {fault:?}", found[0].shape()));
        }
    }
    println!("{} firsts: spares, three, no pair, third {counts:?}", all.len());
    println!("{listed:#?}");
    assert_eq!(counts[..3], [0, 0, 0], "of {}", all.len());
}

/// The open shapes of the re-entrant ukulele with the fingers every player uses: common practice, no source.
#[test]
fn the_first_ukulele_shapes_have_the_fingers_players_use() {
    let board = board("soprano-ukulele", "G4 C4 E4 A4", 0);
    for (frets, fingers) in [
        ("0003", "---3"),
        ("2000", "2---"),
        ("0232", "-132"),
        ("2010", "2-1-"),
        ("0212", "-213"),
        ("0231", "-231"),
        ("2220", "123-"),
        ("2210", "231-"),
    ] {
        let held = Hand::default().find_fingering(&Shape::read(frets, 4).unwrap(), &board, Style::Strummed).unwrap();
        let ours: String = held.fingers.iter().map(|finger| finger.map_or('-', Finger::symbol)).collect();
        assert_eq!(ours, fingers, "{frets}");
    }
}

/// On the six keys that the weights were not fitted on, of the positions our hand can hold as the open data set does: the very
/// fingers it gives. The issue asks 90 %; by the guitar's weights it was 75 %.
#[test]
fn fingers_on_four_courses_agree_with_the_data_set_on_keys_not_fitted_on() {
    let board = board("soprano-ukulele", "G4 C4 E4 A4", 0);
    let hand = Hand::default();
    let (mut all, mut agree) = (0, 0);
    for row in narrow_rows().iter().filter(|row| !["C", "D", "E", "Gb", "Ab", "Bb"].contains(&row.root.as_str())) {
        let ways = hand.fingerings(&row.shape, &board, Style::Picked);
        if ways.iter().all(|(held, _)| held.fingers != row.fingers) {
            continue;
        }
        all += 1;
        let ours = hand.find_fingering(&row.shape, &board, Style::Picked).unwrap();
        agree += usize::from(ours.fingers == row.fingers);
    }
    println!("{agree} of {all}");
    assert!(all > 900 && agree * 100 >= all * 90, "{agree} of {all}");
}

/// Short strings tuned in fifths: the hand stands as on the fiddle, index over the first two frets and middle over the next two.
/// Shapes every player of the mandolin begins with: common practice, no source. The tenor banjo's long neck keeps a finger a
/// fret.
#[test]
fn the_first_mandolin_shapes_have_the_fingers_players_use() {
    for (instrument, tuning) in [("mandolin", "G3 D4 A4 E5"), ("mandola", "C3 G3 D4 A4")] {
        let board = board(instrument, tuning, 0);
        for (frets, fingers) in
            [("0023", "--12"), ("0230", "-12-"), ("0021", "--21"), ("2001", "2--1"), ("1220", "123-"), ("0024", "--12")]
        {
            let held =
                Hand::default().find_fingering(&Shape::read(frets, 4).unwrap(), &board, Style::Strummed).unwrap();
            let ours: String = held.fingers.iter().map(|finger| finger.map_or('-', Finger::symbol)).collect();
            assert_eq!(ours, fingers, "{instrument} {frets}");
        }
    }
}

/// The first chords of every book stay first where nothing was retuned, picked as strummed (common practice, no source).
#[test]
fn in_standard_the_first_position_is_first() {
    for (chord, frets) in [
        ("C", "x32010"),
        ("Am", "x02210"),
        ("A", "x02220"),
        ("E", "022100"),
        ("Em", "022000"),
        ("D", "xx0232"),
        ("Dm", "xx0231"),
    ] {
        for style in [Style::Picked, Style::Strummed] {
            let found = first_three("E A D G B E", chord, style);
            assert_eq!(*found[0].shape(), Shape::read(frets, 6).unwrap(), "{chord}: {}", found[0].shape());
        }
    }
}

/// Chords without open strings are barres first in standard, as the open data set and every book have them (common practice).
#[test]
fn in_standard_chords_without_open_strings_are_barres_first() {
    for (chord, barre) in [
        ("Bm", "x24432"),
        ("B", "x24442"),
        ("Ab", "466544"),
        ("Cm", "x35543"),
        ("F", "133211"),
        ("Fm", "133111"),
        ("F#", "244322"),
        ("F#m", "244222"),
        ("Bb", "x13331"),
        ("Bbm", "x13321"),
    ] {
        let found = first_three("E A D G B E", chord, Style::Picked);
        assert_eq!(*found[0].shape(), Shape::read(barre, 6).unwrap(), "{chord}: {}", found[0].shape());
    }
    // The exception: 310033 stops the first three frets with a finger each and leaves the thumb root, third and open fifth;
    // the data set's 355333 follows with the same shape's thinner forms between. No term of hand or thumb parts them, and a
    // weight bent for one chord is none.
    let found = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(6) }
        .find(Chord::read("Gm").unwrap(), &guitar_in("E A D G B E"))
        .shapes;
    let barre = found.iter().position(|found| *found.shape() == Shape::read("355333", 6).unwrap());
    println!("the barre of Gm is at {barre:?}");
    assert!(barre.is_some(), "Gm: {}", found[0].shape());
}
