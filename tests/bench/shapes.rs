//! Finding shapes: one chord, the plain enumeration beside it, and a whole key.

use divan::{Bencher, black_box};
use pegwise::instrument::{Catalog, Fret, Fretboard};
use pegwise::shapes::{ShapeSearch, Style};
use pegwise::theory::{Chord, Key};

use crate::plain;

fn guitar() -> Fretboard<'static> {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    Fretboard::new(guitar, catalog.standard_of(guitar).tuning(), Fret::OPEN).unwrap()
}

const CHORDS: [&str; 4] = ["C", "C7", "Cmaj9", "C13"];

/// Budget: 5 ms.
#[divan::bench(args = CHORDS)]
fn all_shapes_of_a_chord_strummed(bencher: Bencher<'_, '_>, symbol: &str) {
    all_shapes(bencher, symbol, Style::Strummed);
}

/// Budget: 5 ms.
#[divan::bench(args = CHORDS)]
fn all_shapes_of_a_chord_picked(bencher: Bencher<'_, '_>, symbol: &str) {
    all_shapes(bencher, symbol, Style::Picked);
}

fn all_shapes(bencher: Bencher<'_, '_>, symbol: &str, style: Style) {
    let board = guitar();
    let search = ShapeSearch { style, ..ShapeSearch::default() };
    let chord = Chord::read(symbol).unwrap();
    bencher.bench(|| search.find(black_box(chord), &board));
}

/// The yardstick: the same shapes by trying everything.
#[divan::bench(args = ["C", "C7"], sample_count = 1, sample_size = 1)]
fn all_shapes_of_a_chord_by_plain_enumeration(bencher: Bencher<'_, '_>, symbol: &str) {
    let board = guitar();
    let search = ShapeSearch::default();
    let chord = Chord::read(symbol).unwrap();
    let found = search.find(chord, &board).shapes.len();
    assert_eq!(plain::enumerate(&search, chord, &board).len(), found, "both find the same number of shapes");
    bencher.bench(|| plain::enumerate(&search, black_box(chord), &board));
}

/// Budget: 16 ms for seven triads and seven sevenths.
#[divan::bench(args = ["C", "Gb", "Em"])]
fn best_shapes_of_a_whole_key(bencher: Bencher<'_, '_>, key: &str) {
    let board = guitar();
    let search = ShapeSearch::best(24);
    let key = Key::read(key).unwrap();
    bencher.bench(|| {
        let chords = key.triads().into_iter().chain(key.sevenths());
        chords.map(|found| search.find(found.chord, &board).shapes.len()).sum::<usize>()
    });
}
