//! The plan for a progression against every other choice, and the neck view against the pitches it shows.

use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard, Position};
use pegwise::shapes::{
    CostTerm, Finger, Fingering, Hand, PlanCandidate, PlanCosts, RankedShape, Shape, ShapeSearch, Style, TappedShape,
    alternating_bass, chord_on_neck, key_on_neck, name_shape, plan_neck, plan_progression,
};
use pegwise::theory::{Chord, Key, PitchClass};
use proptest::prelude::*;

use crate::held::{board, guitar_in, held, with_barres};

/// A finger's fret and courses, from the definition: the first and last course it is named on.
fn finger_at(shape: &Shape, fingering: &Fingering, finger: Finger) -> Option<(Fret, usize, usize)> {
    let on: Vec<usize> = (0..fingering.fingers.len()).filter(|&at| fingering.fingers[at] == Some(finger)).collect();
    Some((shape.frets()[*on.first()?]?, *on.first()?, *on.last()?))
}

/// Where the index finger is or would be with a finger a fret, in millimetres from the nut.
fn place_mm(board: &Fretboard<'_>, of: &(Shape, Fingering, f64)) -> Option<f64> {
    let at = |(number, finger)| finger_at(&of.0, &of.1, finger).map(|(fret, ..)| i16::from(fret.get()) - number);
    let index_at = (0..).zip(Finger::FRONT).find_map(at)?;
    Some(board.distance_mm(Fret::new(u8::try_from(index_at.max(1)).unwrap())))
}

/// The cost of a change without the way of the hand, written out from what [`PlanCosts`] says.
fn change(
    board: &Fretboard<'_>,
    from: &(Shape, Fingering, f64),
    to: &(Shape, Fingering, f64),
    costs: &PlanCosts,
) -> f64 {
    let mut sum = 0.0;
    for finger in Finger::FRONT {
        let (before, after) = (finger_at(&from.0, &from.1, finger), finger_at(&to.0, &to.1, finger));
        sum += match (before, after) {
            (None, None) => 0.0,
            (None, Some(_)) => costs.place,
            (Some(_), None) => costs.lift,
            (Some(before), Some(after)) if before == after => 0.0,
            (Some(before), Some(after)) if (before.1, before.2) == (after.1, after.2) => costs.slide,
            (Some(before), Some(after)) if before.0 == after.0 && before.1 <= after.2 && after.1 <= before.2 => {
                costs.roll
            }
            _ => costs.place,
        };
    }
    let next: Vec<PitchClass> = to.0.pitches(board).into_iter().flatten().map(|pitch| pitch.class()).collect();
    for course in 0..board.courses() {
        let was_open = from.0.frets()[course] == Some(Fret::OPEN);
        let is_covered = Finger::FRONT
            .into_iter()
            .filter_map(|finger| finger_at(&to.0, &to.1, finger))
            .any(|(_, low, high)| (low..=high).contains(&course));
        let is_foreign = !next.contains(&board.open_pitches()[course].class());
        if was_open && to.0.frets()[course].is_none() && !is_covered && is_foreign {
            sum += costs.ring_on;
        }
    }
    sum
}

type Candidates = Vec<Vec<(Shape, Fingering, f64)>>;

/// The whole cost of one choice for each chord.
fn whole(board: &Fretboard<'_>, chords: &Candidates, order: &[usize], choices: &[usize], costs: &PlanCosts) -> f64 {
    let taken: Vec<_> = order.iter().zip(choices).map(|(&chord, &choice)| &chords[chord][choice]).collect();
    let mut sum: f64 = taken.iter().map(|one| one.2 * costs.shape).sum();
    for pair in taken.windows(2) {
        sum += change(board, pair[0], pair[1], costs);
    }
    if costs.is_repeated {
        sum += change(board, taken[taken.len() - 1], taken[0], costs);
    }
    // Open strings alone leave the hand at the nut; the way into them is nothing.
    let from_mm = |one: &(Shape, Fingering, f64)| place_mm(board, one).unwrap_or(0.0);
    let back = taken.first().filter(|_| costs.is_repeated);
    let steps = taken.iter().zip(taken.iter().skip(1).chain(back));
    let way: f64 = steps.filter_map(|(from, to)| place_mm(board, to).map(|to| f64::abs(to - from_mm(from)))).sum();
    sum + way * costs.move_per_mm
}

fn least_by_trying_all(board: &Fretboard<'_>, chords: &Candidates, order: &[usize], costs: &PlanCosts) -> f64 {
    let mut least = f64::INFINITY;
    let mut choices = vec![0; order.len()];
    loop {
        let has_one_shape = |at: usize| {
            let first = order.iter().position(|&other| other == order[at]).unwrap();
            choices[first] == choices[at]
        };
        if !costs.is_one_shape_a_chord || (0..order.len()).all(has_one_shape) {
            least = least.min(whole(board, chords, order, &choices, costs));
        }
        let Some(at) = (0..choices.len()).find(|&at| choices[at] + 1 < chords[order[at]].len()) else { return least };
        choices[at] += 1;
        choices[..at].fill(0);
    }
}

/// A candidate made of any frets near a place, each stopped course with a finger of its own or under the index; three
/// in ten stop nothing.
fn any_candidate() -> impl Strategy<Value = (Shape, Fingering, f64)> {
    let kinds = prop_oneof![7 => Just(7_u8), 3 => Just(4)].prop_flat_map(|most| proptest::collection::vec(0..most, 6));
    (1..8_u8, kinds, 0..40_u8).prop_map(|(place, kinds, cost)| {
        let mut next = [Finger::Middle, Finger::Ring, Finger::Little].into_iter();
        let mut frets = Vec::new();
        let mut fingers = Vec::new();
        for kind in kinds {
            let (fret, finger) = match kind {
                0 | 1 => (None, None),
                2 | 3 => (Some(Fret::OPEN), None),
                4 => (Some(Fret::new(place)), Some(Finger::Index)),
                up => match next.next() {
                    Some(finger) => (Some(Fret::new(place + up - 4)), Some(finger)),
                    None => (None, None),
                },
            };
            frets.push(fret);
            fingers.push(finger);
        }
        let shape = Shape::new(frets);
        let fingering = with_barres(&shape, fingers);
        (shape, fingering, f64::from(cost) / 4.0)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn no_other_choice_costs_less(
        chords in proptest::collection::vec(proptest::collection::vec(any_candidate(), 1..5), 3),
        order in proptest::collection::vec(0..3_usize, 1..7),
        is_repeated in any::<bool>(),
        is_one_shape_a_chord in any::<bool>(),
    ) {
        let board = guitar_in("DGDGBE");
        let costs = PlanCosts { is_repeated, is_one_shape_a_chord, ..PlanCosts::default() };
        let given: Vec<Vec<PlanCandidate<'_>>> = chords
            .iter()
            .map(|chord| chord.iter().map(|one| PlanCandidate { shape: &one.0, fingering: &one.1, cost: one.2 }).collect())
            .collect();
        let plan = plan_neck(&board, &given, &order, &costs).unwrap();
        let least = least_by_trying_all(&board, &chords, &order, &costs);
        prop_assert!((plan.cost - least).abs() < 1e-9, "{} against {least}", plan.cost);
        prop_assert!(plan.is_proven);
        prop_assert!((whole(&board, &chords, &order, &plan.choices, &costs) - least).abs() < 1e-9);
        prop_assert_eq!(plan.moves.len(), order.len() - usize::from(!is_repeated));
        prop_assert!(plan.moves.iter().all(|step| step.cost >= 0.0));
        let own: f64 = order.iter().zip(&plan.choices).map(|(&chord, &choice)| chords[chord][choice].2).sum();
        let said: f64 = plan.moves.iter().map(|step| step.cost).sum();
        prop_assert!((own + said - least).abs() < 1e-9, "the moves add up to {said}, the shapes to {own}");
    }
}

#[test]
fn out_of_open_strings_the_hand_comes_from_the_nut() {
    // One finger bars the open strings' chord at fret 5 of D G D G B E, then D is held from fret 2. The ways are the
    // distances on this scale, L(1 - 2^(-n/12)), computed here.
    let board = guitar_in("DGDGBE");
    let scale = board.instrument().scale_mm();
    let way = |from: f64, to: f64| scale * (2_f64.powf(-from / 12.0) - 2_f64.powf(-to / 12.0));
    let shapes =
        [held("x 0 0 0 0 x", "0 0 0 0 0 0"), held("x 5 5 5 5 x", "0 1 1 1 1 0"), held("x x 0 2 3 2", "0 0 0 1 3 2")];
    let only = |(shape, fingering): &'static (Shape, Fingering)| vec![PlanCandidate { shape, fingering, cost: 0.0 }];
    let shapes: &'static [_; 3] = Box::leak(Box::new(shapes));
    let given: Vec<_> = shapes.iter().map(only).collect();
    for (is_repeated, expected) in
        [(false, vec![way(0.0, 5.0), 0.0, way(0.0, 2.0)]), (true, vec![way(0.0, 5.0), 0.0, way(0.0, 2.0), 0.0])]
    {
        let costs = PlanCosts { is_repeated, ..PlanCosts::default() };
        let plan = plan_neck(&board, &given, &[0, 1, 0, 2], &costs).unwrap();
        let ways: Vec<f64> = plan.moves.iter().map(|step| step.way_mm).collect();
        let is_it = ways.iter().zip(&expected).all(|(way, expected)| (way - expected).abs() < 1e-9);
        assert!(is_it && ways.len() == expected.len(), "{ways:?} against {expected:?}");
        let dear = PlanCosts { move_per_mm: costs.move_per_mm + 1.0, ..costs };
        let more = plan_neck(&board, &given, &[0, 1, 0, 2], &dear).unwrap().cost - plan.cost;
        assert!((more - expected.iter().map(|way| way.abs()).sum::<f64>()).abs() < 1e-9, "{more}");
    }
}

/// The different chords of a progression with their shapes, and the progression as indexes into them.
fn shapes_of(board: &Fretboard<'_>, progression: &str) -> (Vec<Vec<RankedShape>>, Vec<usize>) {
    let search = ShapeSearch::best(24);
    let mut symbols: Vec<&str> = Vec::new();
    let mut order = Vec::new();
    for symbol in progression.split(' ') {
        let at = symbols.iter().position(|&known| known == symbol).unwrap_or_else(|| {
            symbols.push(symbol);
            symbols.len() - 1
        });
        order.push(at);
    }
    let find = |symbol: &&str| search.find(Chord::read(symbol).unwrap(), board).shapes;
    (symbols.iter().map(find).collect(), order)
}

#[test]
fn the_plan_costs_no_more_than_the_first_shape_of_each_chord() {
    for (tuning, progression) in [
        ("EADGBE", "G C G D"),
        ("DGDGBE", "G C G D"),
        ("EADGBE", "Bb Eb F Gm Bb Eb F Bb"),
        ("DADGAD", "D G A D"),
        ("EADGBE", "C Dm Em F G Am Bdim"),
        ("EADGBE", "C Am F G C Em F G C Am Dm G"),
    ] {
        let board = guitar_in(tuning);
        let (shapes, order) = shapes_of(&board, progression);
        let given: Vec<Vec<PlanCandidate<'_>>> =
            shapes.iter().map(|chord| chord.iter().map(PlanCandidate::from).collect()).collect();
        let costs = PlanCosts::default();
        let plan = plan_neck(&board, &given, &order, &costs).unwrap();
        let firsts: Vec<Vec<PlanCandidate<'_>>> = given.iter().map(|chord| chord[..1].to_vec()).collect();
        let first_only = plan_neck(&board, &firsts, &order, &costs).unwrap();
        assert!(plan.is_proven && plan.cost <= first_only.cost, "{tuning} {progression}");
        for (at, &chord) in order.iter().enumerate() {
            let first = order.iter().position(|&other| other == chord).unwrap();
            assert_eq!(plan.choices[at], plan.choices[first], "{tuning} {progression}");
        }
        let taken: Vec<String> = plan
            .choices
            .iter()
            .zip(&order)
            .map(|(&choice, &chord)| shapes[chord][choice].shape().to_string())
            .collect();
        eprintln!("{tuning} {progression}: {taken:?} {:.2} against {:.2}", plan.cost, first_only.cost);
    }
}

/// Every order of a list.
fn orders<T: Copy>(of: &[T]) -> Vec<Vec<T>> {
    if of.is_empty() {
        return vec![Vec::new()];
    }
    let begin = |at: usize| {
        let rest: Vec<T> = of.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, one)| *one).collect();
        orders(&rest).into_iter().map(move |order| [vec![of[at]], order].concat())
    };
    (0..of.len()).flat_map(begin).collect()
}

/// In every order of the four commonest chords of an open tuning's key: no shape of three strings, no finger across three
/// strings that must spare others, and a pair for the thumb under each. What a player would not hold for one chord is not
/// held to save a way either.
#[test]
fn one_hand_plans_in_open_tunings_keep_the_thumb_its_pair_and_the_hand_its_barres() {
    for (tuning, chords) in [
        ("DGDGBD", ["G", "C", "D", "Em"]),
        ("DADGAD", ["D", "G", "A", "Bm"]),
        ("DADF#AD", ["D", "G", "A", "Bm"]),
        ("DGDGBE", ["G", "C", "D", "Em"]),
        ("EADGBE", ["G", "C", "D", "Em"]),
    ] {
        let board = guitar_in(tuning);
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(1) };
        for order in orders(&chords) {
            let read: Vec<Chord> = order.iter().map(|chord| Chord::read(chord).unwrap()).collect();
            for planned in plan_progression(&read, &board, &search).unwrap() {
                let (shape, found) = (planned.shape.shape(), &planned.shape);
                let bass = alternating_bass(&board, shape, found.fingering(), found.chord(), &Hand::default());
                assert!(!bass.pairs.is_empty(), "{tuning} {order:?}: {} {shape}", found.chord());
                assert!(found.amount(CostTerm::BentBarre) <= 0.0, "{tuning} {order:?}: {} {shape}", found.chord());
                assert!(shape.sounding().count() > 3, "{tuning} {order:?}: {} {shape}", found.chord());
            }
        }
    }
}

/// On four courses every string sounds in a plan, on each such instrument in its standard tuning that can hold the chords so.
#[test]
fn plans_on_four_courses_drop_no_string() {
    let catalog = Catalog::bundled();
    let mut plans = 0;
    for instrument in catalog.instruments().iter().filter(|instrument| instrument.courses().len() == 4) {
        let board = Fretboard::new(instrument, catalog.standard_of(instrument).tuning(), Fret::OPEN).unwrap();
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(24) };
        for text in ["F C G7 C", "G C D G", "Am F C G", "D A Bm G"] {
            let chords: Vec<Chord> = text.split(' ').map(|chord| Chord::read(chord).unwrap()).collect();
            let is_full = |found: &RankedShape| found.shape().sounding().count() == 4;
            if chords.iter().any(|chord| !search.find(*chord, &board).shapes.iter().any(is_full)) {
                continue;
            }
            plans += 1;
            for planned in plan_progression(&chords, &board, &search).unwrap() {
                assert!(is_full(&planned.shape), "{} {text}: {}", instrument.id(), planned.shape.shape());
            }
        }
    }
    assert!(plans >= 60, "{plans}");
}

#[test]
fn fingers_that_can_stay_are_said_to_stay() {
    // Common practice, no source: from C to A minor only the ring finger moves; from E to A minor all keep their form.
    let guitar = guitar_in("EADGBE");
    let c = held("x 3 2 0 1 0", "0 3 2 0 1 0");
    let am = held("x 0 2 2 1 0", "0 0 2 3 1 0");
    let candidate = |held: &'static (Shape, Fingering)| PlanCandidate { shape: &held.0, fingering: &held.1, cost: 0.0 };
    let (c, am): (&'static _, &'static _) = (Box::leak(Box::new(c)), Box::leak(Box::new(am)));
    let plan = plan_neck(&guitar, &[vec![candidate(c)], vec![candidate(am)]], &[0, 1], &PlanCosts::default()).unwrap();
    assert_eq!(plan.moves[0].kept, [Finger::Index, Finger::Middle]);
    assert_eq!((plan.moves[0].placed.as_slice(), plan.moves[0].lifted.len()), (&[Finger::Ring][..], 0));
    // The F form slides as a whole: every finger is a guide.
    let (f, g) = (held("1 3 3 2 1 1", "1 3 4 2 1 1"), held("3 5 5 4 3 3", "1 3 4 2 1 1"));
    let (f, g): (&'static _, &'static _) = (Box::leak(Box::new(f)), Box::leak(Box::new(g)));
    let plan = plan_neck(&guitar, &[vec![candidate(f)], vec![candidate(g)]], &[0, 1], &PlanCosts::default()).unwrap();
    assert_eq!(plan.moves[0].slid.len(), 4);
    // 650 (or this guitar's scale) times 2^(-1/12) - 2^(-3/12).
    let scale = guitar.instrument().scale_mm();
    let way = scale * (2_f64.powf(-1.0 / 12.0) - 2_f64.powf(-3.0 / 12.0));
    assert!((plan.moves[0].way_mm - way).abs() < 1e-9);
}

#[test]
fn a_plan_needs_a_shape_for_each_chord() {
    let guitar = guitar_in("EADGBE");
    assert!(plan_neck(&guitar, &[], &[], &PlanCosts::default()).is_none());
    assert!(plan_neck(&guitar, &[Vec::new()], &[0], &PlanCosts::default()).is_none());
    assert!(plan_neck(&guitar, &[], &[0], &PlanCosts::default()).is_none());
}

#[test]
fn the_neck_shows_every_place_of_a_key_and_nothing_else() {
    let catalog = Catalog::bundled();
    for tuning in catalog.tunings() {
        let instrument = catalog.find_instrument(tuning.instrument_id()).unwrap();
        let board = Fretboard::new(instrument, tuning.tuning(), Fret::OPEN).unwrap();
        let key = Key::read("Eb").unwrap();
        let shown = key_on_neck(&board, key, board.last_fret());
        let mut expected = 0;
        for (index, (open, course)) in board.open_pitches().iter().zip(instrument.courses()).enumerate() {
            for fret in 0..=instrument.last_fret().get() {
                let start = course.starts_at().get();
                let is_place = fret == 0 || (instrument.has_fret(Fret::new(fret)) && fret > start);
                let above = if fret == 0 { 0 } else { fret.saturating_sub(start) };
                // E flat major: Eb F G Ab Bb C D.
                if is_place && [3, 5, 7, 8, 10, 0, 2].contains(&((open.number() + above) % 12)) {
                    let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret) };
                    let note = shown.iter().find(|note| note.position == position).unwrap();
                    assert_eq!(note.note.class(), note.pitch.class());
                    expected += 1;
                }
            }
        }
        assert_eq!(shown.len(), expected, "{}", tuning.id());
    }
}

#[test]
fn a_chord_on_the_neck_has_names_and_degrees() {
    let guitar = guitar_in("EADGBE");
    let notes = chord_on_neck(&guitar, Chord::read("D7/F#").unwrap(), Fret::new(4));
    let at = |course: u8, fret: u8| {
        let position = Position { course: CourseIndex::from_player_number(course, 6).unwrap(), fret: Fret::new(fret) };
        notes.iter().find(|note| note.position == position).map(|note| (note.note.to_string(), note.degree.to_string()))
    };
    let said = |note: &str, degree: &str| Some((note.to_owned(), degree.to_owned()));
    assert_eq!(at(6, 2), said("F♯", "3"));
    assert_eq!(at(4, 0), said("D", "1"));
    assert_eq!(at(2, 1), said("C", "♭7"));
    assert_eq!(at(1, 0), None);
}

#[test]
fn tapped_places_make_a_shape_with_a_name() {
    let guitar = guitar_in("EADGBE");
    let place = |course: u8, fret: u8| Position {
        course: CourseIndex::from_player_number(course, 6).unwrap(),
        fret: Fret::new(fret),
    };
    let mut tapped = TappedShape::new(&guitar);
    assert!(tapped.is_silent());
    for (course, fret) in [(5, 3), (4, 2), (3, 0), (2, 3), (2, 1), (1, 0), (6, 3), (6, 3)] {
        assert!(tapped.tap(&guitar, place(course, fret)));
    }
    assert_eq!(tapped.shape().to_string(), "x 3 2 0 1 0");
    assert_eq!(name_shape(&guitar, &tapped.shape(), None).best().unwrap().chord.to_string(), "C");
    assert!(!tapped.tap(&guitar, place(1, 99)));
    let again = tapped.shape();
    assert_eq!(TappedShape::from_shape(&guitar, &again).shape(), again);
    // The banjo's short fifth string cannot be stopped at or before its nut.
    let banjo = board("five-string-banjo", "G4 D3 G3 B3 D4", 0);
    let mut tapped = TappedShape::new(&banjo);
    let drone = |fret: u8| Position { course: CourseIndex::from_lowest(0), fret: Fret::new(fret) };
    assert!(!tapped.tap(&banjo, drone(5)) && tapped.tap(&banjo, drone(7)));
}
