//! The hand away from standard: what a player holds first in open and dropped tunings.

use pegwise::app::State;
use pegwise::instrument::{Catalog, Fret, Fretboard, Tuning};
use pegwise::shapes::{BassPart, Finger, Hand, RankedShape, Shape, ShapeSearch, Style, alternating_bass};
use pegwise::store::Library;
use pegwise::theory::{Chord, Key, Mode};

use crate::held::{board, guitar_in};
use crate::shape_rows::{clean_rows, narrow_rows, open_rows};

fn first_three(tuning: &str, chord: &str, style: Style) -> Vec<RankedShape> {
    let search = ShapeSearch { style, ..ShapeSearch::best(3) };
    search.find(Chord::read(chord).unwrap(), &guitar_in(tuning)).shapes
}

/// 40 of 40 first picked, 39 strummed, and all among the first three; 38 are asked. What is left is named in `tests/FIGURES.md`.
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
        let least = if style == Style::Picked { 40 } else { 39 };
        assert!(first >= least && three == 40, "{style:?}: {first} first, {three} in three; {other:#?}");
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

/// What a shape asks of the hand and gives the ear, as far as a player compares two.
struct Asked {
    fingers: usize,
    /// Fingers that lie across several strings.
    across: usize,
    span_mm: f64,
    /// The lowest stopped fret, 0 where nothing is stopped.
    stands_at: u8,
    silent_inside: usize,
    /// Open strings between stopped ones, which ask for steep fingers.
    open_between: usize,
    /// Silent strings towards the floor, where the melody lies.
    silent_of_melody: usize,
    strings: usize,
    is_root_lowest: bool,
}

impl Asked {
    fn of(found: &RankedShape) -> Self {
        let frets = found.shape().frets();
        let sounding = |fret: &Option<Fret>| fret.is_some();
        let (from, to) = (frets.iter().position(sounding).unwrap(), frets.iter().rposition(sounding).unwrap());
        Self {
            fingers: found.fingering().fingers_used(),
            across: found.fingering().barres.len(),
            span_mm: found.span_mm(),
            stands_at: found.shape().fret_range().map_or(0, |(lowest, _)| lowest.get()),
            silent_inside: frets[from..to].iter().filter(|fret| fret.is_none()).count(),
            open_between: frets
                .windows(3)
                .filter(|three| three[1] == Some(Fret::OPEN))
                .filter(|three| [three[0], three[2]].iter().all(|fret| fret.is_some_and(|fret| fret != Fret::OPEN)))
                .count(),
            silent_of_melody: frets.len() - 1 - to,
            strings: frets.iter().flatten().count(),
            is_root_lowest: !found.is_inversion(),
        }
    }

    /// What it asks more than another, or gives less; empty where a player would as soon hold it.
    fn more_than(&self, ours: &Self) -> Vec<&'static str> {
        let told = [
            (self.fingers > ours.fingers, "more fingers"),
            (self.across > ours.across, "another finger across"),
            (self.span_mm > ours.span_mm + 10.0, "a wider span"),
            (self.stands_at > ours.stands_at + 1, "farther up the neck"),
            (self.silent_inside > ours.silent_inside, "a silent string inside"),
            (self.open_between > ours.open_between, "an open string between stopped ones"),
            (self.silent_of_melody > ours.silent_of_melody, "silent strings where the melody lies"),
            (self.strings < 4 || self.strings + 1 < ours.strings.min(5), "fewer strings"),
            (ours.is_root_lowest && !self.is_root_lowest, "another bass"),
        ];
        told.into_iter().filter(|(is_so, _)| *is_so).map(|(_, words)| words).collect()
    }
}

/// One first shape that leaves the thumb no fifth and no octave, named with the reason: what the best of those that have one
/// asks more. From `tests/assets/thumb_exceptions.csv`.
#[derive(Debug, PartialEq, Eq)]
struct Exception {
    tuning: String,
    chord: String,
    shape: String,
    /// The best one without a fault, and what it asks more.
    instead: String,
    asks: String,
}

impl Exception {
    fn all() -> Vec<Self> {
        let lines = include_str!("../assets/thumb_exceptions.csv").lines().filter(|line| !line.starts_with('#'));
        let row = |line: &str| {
            let cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            let [tuning, chord, shape, instead, asks] = cells.try_into().unwrap();
            Self { tuning, chord, shape, instead, asks }
        };
        lines.skip(1).map(row).collect()
    }

    /// Why a first shape stands before every one that has root and fifth, or two roots, under the thumb; and those of these
    /// that ask no more of the hand and give as much.
    fn of(tuning: &str, board: &Fretboard<'_>, chord: Chord, first: &RankedShape) -> (Self, Vec<String>) {
        let ours = Asked::of(first);
        let all = ShapeSearch { style: Style::Picked, ..ShapeSearch::default() }.find(chord, board).shapes;
        let faultless: Vec<&RankedShape> = all.iter().filter(|found| faults(found, board).is_empty()).collect();
        let written = |found: &RankedShape| found.shape().to_string();
        let as_good = faultless.iter().filter(|other| Asked::of(other).more_than(&ours).is_empty());
        let as_good = as_good.map(|other| format!("{tuning} {chord}: {} before {}", first.shape(), written(other)));
        let as_good = as_good.collect();
        let exception = Self {
            tuning: tuning.to_owned(),
            chord: chord.to_string(),
            shape: written(first),
            instead: written(faultless[0]),
            asks: Asked::of(faultless[0]).more_than(&ours).join("; "),
        };
        (exception, as_good)
    }
}

/// 0 asked of every kind. Where the thumb gets root and third, or in one chord no root, no shape with root and fifth or two
/// roots asks as little of the hand; each of these is named in the table with what the best of them asks more.
#[test]
fn no_first_shape_in_any_guitar_tuning_asks_what_a_player_would_not_do() {
    let all = guitar_chords();
    let (mut counts, mut listed, mut excepted) = ([0; 4], Vec::new(), Vec::new());
    for (tuning, board, chord) in &all {
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(1) };
        let found = search.find(*chord, board).shapes;
        for fault in faults(&found[0], board) {
            counts[fault as usize] += 1;
            match fault {
                Fault::NoPair | Fault::Third => {
                    let (exception, as_good) = Exception::of(tuning, board, *chord, &found[0]);
                    excepted.push(exception);
                    listed.extend(as_good);
                }
                Fault::Spares | Fault::Three => listed.push(format!("{tuning} {chord} {} {fault:?}", found[0].shape())),
            }
        }
    }
    println!("{} firsts: spares, three, no pair, third {counts:?}", all.len());
    for Exception { tuning, chord, shape, instead, asks } in &excepted {
        println!("{tuning},{chord},{shape},{instead},{asks}");
    }
    assert!(listed.is_empty(), "of {}: {listed:#?}", all.len());
    let named = Exception::all();
    let unnamed: Vec<&Exception> = excepted.iter().filter(|exception| !named.contains(exception)).collect();
    assert!(unnamed.is_empty(), "{unnamed:#?}");
    assert_eq!(named.len(), excepted.len(), "every exception that is named is one");
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
    // The exception: 310033, G with the middle finger a fret lower, has root and open fifth for the thumb, and it is what the
    // open data set itself shows first, with these fingers; its barre 355333 is the second there.
    let rows = clean_rows();
    let of_set = rows.iter().find(|row| row.symbol == "Gm" && row.position == 0).unwrap();
    assert_eq!(of_set.shape, Shape::read("310033", 6).unwrap());
    let found = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(6) }
        .find(Chord::read("Gm").unwrap(), &guitar_in("E A D G B E"))
        .shapes;
    let barre = found.iter().position(|found| *found.shape() == Shape::read("355333", 6).unwrap());
    println!("the barre of Gm is at {barre:?}");
    assert_eq!((found[0].shape(), &found[0].fingering().fingers), (&of_set.shape, &of_set.fingers), "Gm");
    assert!(barre.is_some(), "Gm: {}", found[0].shape());
}
