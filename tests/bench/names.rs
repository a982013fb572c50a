//! What a held shape is good for: names, bass, melody, forms, one at a time and together.

use divan::{Bencher, black_box};
use pegwise::instrument::{Catalog, Fret, Fretboard, Tuning};
use pegwise::shapes::{
    Fingering, Hand, PlanCandidate, PlanCosts, RankedShape, Shape, ShapeSearch, Style, alternating_bass,
    chords_along_neck, known_forms, melody_in_reach, name_shape, plan_neck,
};
use pegwise::theory::{Chord, Key};

fn standard() -> &'static Tuning {
    let catalog = Catalog::bundled();
    catalog.standard_of(catalog.guitar()).tuning()
}

fn board(tuning: &str) -> Fretboard<'static> {
    let tuning = Tuning::read(tuning, standard()).unwrap();
    Fretboard::new(Catalog::bundled().guitar(), &tuning, Fret::OPEN).unwrap()
}

fn held(board: &Fretboard<'_>, frets: &str) -> (Shape, Fingering) {
    let shape = Shape::read(frets, 6).unwrap();
    let fingering = Hand::default().find_fingering(&shape, board, Style::Picked).unwrap();
    (shape, fingering)
}

const SHAPES: [(&str, &str, &str); 4] = [
    ("EADGBE", "C", "x 3 2 0 1 0"),
    ("EADGBE", "F", "1 3 3 2 1 1"),
    ("DGDGBE", "G", "x 0 5 4 3 3"),
    ("EADGBE", "C13", "x 3 2 3 3 5"),
];

/// Budget: 50 µs.
#[divan::bench(args = ["x 3 2 0 1 0", "x 3 2 3 3 5", "0 0 0 0 0 0", "3 x 0 2 3 1"])]
fn naming_a_shape(bencher: Bencher<'_, '_>, frets: &str) {
    let board = board("EADGBE");
    let shape = Shape::read(frets, 6).unwrap();
    bencher.bench(|| name_shape(&board, black_box(&shape), None));
}

/// Budget: 2 ms for names, bass, melody, forms and the chords along the neck.
#[divan::bench(args = [0, 1, 2, 3])]
fn everything_about_a_shape(bencher: Bencher<'_, '_>, row: usize) {
    let (tuning, symbol, frets) = SHAPES[row];
    let board = board(tuning);
    let (shape, fingering) = held(&board, frets);
    let chord = Chord::read(symbol).unwrap();
    let key = Key::read("C").unwrap();
    let hand = Hand::default();
    bencher.bench(|| {
        let shape = black_box(&shape);
        let names = name_shape(&board, shape, Some(key));
        let bass = alternating_bass(&board, shape, &fingering, chord, &hand);
        let thumb = bass.pairs.first().copied();
        let melody = melody_in_reach(&board, shape, &fingering, chord, thumb, key, &hand);
        let forms = known_forms(&board, standard(), shape, chord);
        let along = chords_along_neck(&board, shape, Some(key));
        (names.names.len(), bass.pairs.len(), melody.len(), forms.len(), along.len())
    });
}

#[divan::bench]
fn melody_in_reach_of_a_barre(bencher: Bencher<'_, '_>) {
    let board = board("EADGBE");
    let (shape, fingering) = held(&board, "1 3 3 2 1 1");
    let chord = Chord::read("F").unwrap();
    let hand = Hand::default();
    bencher.bench(|| melody_in_reach(&board, &shape, &fingering, chord, None, Key::read("F").unwrap(), &hand));
}

/// The plan alone, over 24 shapes a chord, for the seven triads and for a progression in which chords come back.
#[divan::bench(args = ["C Dm Em F G Am Bdim", "C Am F G C Em F G C Am Dm G"])]
fn one_hand_plan(bencher: Bencher<'_, '_>, progression: &str) {
    let board = board("EADGBE");
    let search = ShapeSearch::best(24);
    let mut symbols: Vec<&str> = progression.split(' ').collect();
    let all = symbols.clone();
    symbols.sort_unstable();
    symbols.dedup();
    let order: Vec<usize> = all.iter().map(|symbol| symbols.binary_search(symbol).unwrap()).collect();
    let shapes: Vec<_> =
        symbols.iter().map(|symbol| search.find(Chord::read(symbol).unwrap(), &board).shapes).collect();
    let given: Vec<Vec<PlanCandidate<'_>>> =
        shapes.iter().map(|chord| chord.iter().map(PlanCandidate::from).collect()).collect();
    bencher.bench(|| plan_neck(&board, black_box(&given), &order, &PlanCosts::default()));
}

/// What the player is told of a found shape; counts, so that nothing is left out.
fn everything(board: &Fretboard<'_>, found: &RankedShape, key: Key, hand: &Hand) -> usize {
    let (shape, fingering, chord) = (found.shape(), found.fingering(), found.chord());
    let bass = alternating_bass(board, shape, fingering, chord, hand);
    let thumb = bass.pairs.first().copied();
    name_shape(board, shape, Some(key)).names.len()
        + bass.pairs.len()
        + melody_in_reach(board, shape, fingering, chord, thumb, key, hand).len()
        + known_forms(board, standard(), shape, chord).len()
        + chords_along_neck(board, shape, Some(key)).len()
}

/// Budget: 16 ms for the fourteen chords of a key, all about the first shape of each, and one hand for the triads.
#[divan::bench(args = ["EADGBE C", "EADGBE Gb", "DGDGBE G", "DADGAD D"])]
fn whole_key_with_everything(bencher: Bencher<'_, '_>, row: &str) {
    let (tuning, key) = row.split_once(' ').unwrap();
    let board = board(tuning);
    let key = Key::read(key).unwrap();
    let search = ShapeSearch::best(24);
    let hand = Hand::default();
    bencher.bench(|| {
        let chords = key.triads().into_iter().chain(key.sevenths());
        let found: Vec<Vec<RankedShape>> = chords.map(|of_key| search.find(of_key.chord, &board).shapes).collect();
        let firsts = found.iter().filter_map(|shapes| shapes.first());
        let told: usize = firsts.map(|first| everything(&board, first, key, &hand)).sum();
        let triads = found[..7].iter().filter(|shapes| !shapes.is_empty());
        let triads: Vec<Vec<PlanCandidate<'_>>> =
            triads.map(|shapes| shapes.iter().map(PlanCandidate::from).collect()).collect();
        let order: Vec<usize> = (0..triads.len()).collect();
        (told, plan_neck(&board, &triads, &order, &PlanCosts::default()).map(|plan| plan.cost))
    });
}

/// The sixty best shapes of one chord with all about each.
#[divan::bench(args = ["EADGBE C", "DGDGBE G", "EADGBE C13"])]
fn one_chord_with_everything(bencher: Bencher<'_, '_>, row: &str) {
    let (tuning, symbol) = row.split_once(' ').unwrap();
    let board = board(tuning);
    let chord = Chord::read(symbol).unwrap();
    let key = Key::read("C").unwrap();
    let search = ShapeSearch::best(60);
    let hand = Hand::default();
    bencher.bench(|| {
        let found = search.find(black_box(chord), &board).shapes;
        found.iter().map(|shape| everything(&board, shape, key, &hand)).sum::<usize>()
    });
}
