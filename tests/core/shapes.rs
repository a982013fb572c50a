//! Chord shapes: what the search finds, against common practice, an open data set, and everything tried by hand.

use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard, Instrument, PlayedWith, Tuning};
use pegwise::shapes::{
    Barre, BassRule, CostTerm, Finger, Fingering, GivenUp, Hand, RankedShape, Shape, ShapeSearch, Style, Weights,
};
use pegwise::theory::{Chord, ChordQuality, Letter, Note, PitchClass, PitchClassSet, SpellingChoice};
use proptest::prelude::*;

#[path = "../bench/plain.rs"]
mod plain;

fn board_of(instrument: &str, tuning: &str) -> Fretboard<'static> {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(instrument).expect(instrument);
    let standard = catalog.standard_of(instrument).tuning();
    let tuning = if tuning.is_empty() { standard.clone() } else { Tuning::read(tuning, standard).expect(tuning) };
    Fretboard::new(instrument, &tuning, Fret::OPEN).unwrap()
}

fn guitar() -> Fretboard<'static> {
    board_of("guitar", "")
}

/// Writes a shape as one word where every fret has one digit.
fn word(shape: &Shape) -> String {
    shape.to_string().replace(' ', "")
}

fn rank_of(found: &[RankedShape], shape: &str) -> Option<usize> {
    found.iter().position(|ranked| word(ranked.shape()) == shape || ranked.shape().to_string() == shape)
}

/// Open shapes every player learns. Common practice, no source.
const OPEN_SHAPES: [(&str, &str, &str, &str); 20] = [
    ("guitar", "", "C", "x32010"),
    ("guitar", "", "A", "x02220"),
    ("guitar", "", "G", "320003"),
    ("guitar", "", "E", "022100"),
    ("guitar", "", "D", "xx0232"),
    ("guitar", "", "Am", "x02210"),
    ("guitar", "", "Em", "022000"),
    ("guitar", "", "Dm", "xx0231"),
    ("guitar", "", "F", "133211"),
    ("guitar", "", "B7", "x21202"),
    ("soprano-ukulele", "", "C", "0003"),
    ("soprano-ukulele", "", "G", "0232"),
    ("soprano-ukulele", "", "Am", "2000"),
    ("soprano-ukulele", "", "F", "2010"),
    ("soprano-ukulele", "", "G7", "0212"),
    ("guitar", "D A D G A D", "D5", "000200"),
    ("guitar", "D G D G B D", "G", "x00000"),
    ("guitar", "D G D G B D", "C", "x55555"),
    ("guitar", "D G D G B D", "D", "x77777"),
    ("guitar", "D G D G B E", "D", "042032"),
];

#[test]
fn open_shapes_of_common_practice_are_found() {
    for (instrument, tuning, chord, shape) in OPEN_SHAPES {
        let board = board_of(instrument, tuning);
        let found = ShapeSearch::default().find(Chord::read(chord).unwrap(), &board);
        assert!(rank_of(&found.shapes, shape).is_some(), "{instrument} {tuning} {chord} {shape}");
    }
}

#[test]
fn the_first_shape_a_player_learns_is_among_the_first_three() {
    for (instrument, tuning, chord, shape) in &OPEN_SHAPES[..8] {
        let board = board_of(instrument, tuning);
        let found = ShapeSearch::best(3).find(Chord::read(chord).unwrap(), &board);
        let first: Vec<String> = found.shapes.iter().map(|ranked| word(ranked.shape())).collect();
        assert!(first.iter().any(|found| found == shape), "{chord} {shape} not in {first:?}");
    }
}
