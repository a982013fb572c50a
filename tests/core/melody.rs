//! Melody in reach, against common practice and an independent count of every single finger's moves.

use std::collections::BTreeSet;

use pegwise::instrument::{Catalog, Fret, Fretboard};
use pegwise::shapes::{
    Finger, Fingering, Hand, MelodyNote, Reached, Shape, alternating_bass, melody_in_reach, nearest_in_reach,
    thumb_courses,
};
use pegwise::theory::{Chord, Key, Mode, Note, PitchClass, SpellingChoice};
use proptest::prelude::*;

use crate::held::{data_set, guitar_in, held, with_barres};

fn melody(board: &Fretboard<'_>, shape: &Shape, fingering: &Fingering, chord: &str, key: &str) -> Vec<MelodyNote> {
    let chord = Chord::read(chord).unwrap();
    let hand = Hand::default();
    let thumb = alternating_bass(board, shape, fingering, chord, &hand).pairs.first().copied();
    melody_in_reach(board, shape, fingering, chord, thumb, Key::read(key).unwrap(), &hand)
}

#[test]
fn the_little_finger_makes_a_sixth_over_the_small_f_form() {
    // Common practice, no source: D G D G B E, the small F form at fret 3 is G; little finger at fret 5 of course 2
    // gives E, a G6. The ring finger is on course 4, so it is not free to do it.
    let board = guitar_in("DGDGBE");
    let (shape, fingering) = held("x 0 5 4 3 3", "0 0 3 2 1 1");
    let notes = melody(&board, &shape, &fingering, "G", "G");
    let sixth = notes.iter().find(|note| note.position.course.player_number(6) == 2 && note.position.fret.get() == 5);
    let sixth = sixth.unwrap();
    assert_eq!((sixth.finger, sixth.how), (Some(Finger::Little), Reached::Free));
    assert_eq!((sixth.note.to_string().as_str(), sixth.degree.to_string().as_str()), ("E", "6"));
    assert_eq!(sixth.chord.as_ref().unwrap().chord.to_string(), "G6");
}

#[test]
fn lifts_and_slides_move_one_fingertip_only() {
    let board = guitar_in("EADGBE");
    // Common practice, no source: D with the middle finger lifted is Dsus2; with the little finger at fret 3 Dsus4.
    let (shape, fingering) = held("x x 0 2 3 2", "0 0 0 1 3 2");
    let notes = melody(&board, &shape, &fingering, "D", "D");
    let at = |notes: &[MelodyNote], course: u8, fret: u8| {
        let found = notes
            .iter()
            .find(|note| (note.position.course.player_number(6), note.position.fret.get()) == (course, fret));
        found.map(|note| (note.finger, note.how, note.chord.as_ref().map(|name| name.chord.to_string())))
    };
    let lifted = at(&notes, 1, 0).unwrap();
    assert_eq!(lifted, (Some(Finger::Middle), Reached::Lifted, Some("Dsus2".to_owned())));
    let fourth = at(&notes, 1, 3).unwrap();
    assert_eq!(fourth, (Some(Finger::Little), Reached::Free, Some("Dsus4".to_owned())));
    assert_eq!(at(&notes, 2, 3).unwrap().1, Reached::Held);
    // B7 takes all four fingers; the little one slides from F sharp to G sharp, a B13.
    let (shape, fingering) = held("x 2 1 2 0 2", "0 2 1 3 0 4");
    let notes = melody(&board, &shape, &fingering, "B7", "E");
    let slid = (Some(Finger::Little), Reached::Slid { from: Fret::new(2) }, Some("B13".to_owned()));
    assert_eq!(at(&notes, 1, 4).unwrap(), slid);
    // F, full barre: the index lies across, so it neither slides nor comes off course 1.
    let (shape, fingering) = held("1 3 3 2 1 1", "1 3 4 2 1 1");
    let notes = melody(&board, &shape, &fingering, "F", "F");
    assert!(notes.iter().all(|note| note.finger != Some(Finger::Index) || note.how == Reached::Held), "{notes:#?}");
    // Middle lifted from course 3 uncovers the barre: A flat, not in F major but in F minor.
    let notes = melody(&board, &shape, &fingering, "F", "Fm");
    assert_eq!(at(&notes, 3, 1).unwrap(), (Some(Finger::Middle), Reached::Lifted, Some("Fm".to_owned())));
}

/// A finger down: its number, fret, and courses from the ceiling.
type Down = (u8, u8, usize, usize);

/// Reads a fingering without using the code under test.
fn fingers_down(shape: &Shape, fingering: &Fingering) -> Vec<Down> {
    let numbers = [Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];
    let mut down = Vec::new();
    for (number, finger) in (1..).zip(numbers) {
        let on: Vec<usize> = (0..shape.frets().len()).filter(|&at| fingering.fingers[at] == Some(finger)).collect();
        if let (Some(&from), Some(&to)) = (on.first(), on.last()) {
            down.push((number, shape.frets()[from].unwrap().get(), from, to));
        }
    }
    down
}

fn fret_on(down: &[Down], course: usize) -> u8 {
    down.iter().filter(|f| (f.2..=f.3).contains(&course)).map(|f| f.1).max().unwrap_or(0)
}

/// Tells whether a hand can lie so, by the formula for fret places, L(1 − 2^(−n/12)).
fn is_possible(down: &[Down], board: &Fretboard<'_>, hand: &Hand) -> bool {
    let finger = |number: u8| Finger::FRONT[usize::from(number - 1)];
    let place = |fret: u8| {
        let on_neck = f64::from(fret) + f64::from(board.capo().get());
        board.instrument().scale_mm() * (1.0 - 2_f64.powf(-on_neck / 12.0))
    };
    for (at, one) in down.iter().enumerate() {
        for other in &down[at + 1..] {
            let (low, high) = if one.0 < other.0 { (one, other) } else { (other, one) };
            let ordered = low.1 < high.1 || (low.1 == high.1 && low.3 < high.2);
            let apart = (place(high.1) - place(low.1)).abs();
            let most = hand.reach_mm(finger(low.0), finger(high.0)).min(hand.span_mm);
            if !ordered || apart > most + 1e-9 {
                return false;
            }
        }
    }
    true
}

/// Counts every place of `key` on the melody's courses that no move or one finger's move reaches.
fn by_trial(
    board: &Fretboard<'_>,
    shape: &Shape,
    down: &[Down],
    first: usize,
    key: Key,
    hand: &Hand,
) -> BTreeSet<(usize, u8)> {
    let mut found = BTreeSet::new();
    let mut note = |course: usize, changed: &[Down]| {
        let fret = fret_on(changed, course);
        let same = |other: usize| other == course || fret_on(changed, other) == fret_on(down, other);
        let pitch = i16::from(board.open_pitches()[course].number()) + i16::from(fret);
        let is_in_key = key.classes().contains(PitchClass::from_semitones_above_c(pitch));
        if is_in_key && (0..board.courses()).all(same) {
            found.insert((course, fret));
        }
    };
    for course in first..board.courses() {
        let is_covered = down.iter().any(|f| (f.2..=f.3).contains(&course));
        if shape.frets()[course].is_some() || !is_covered {
            note(course, down);
        }
        for number in 1..=4 {
            match down.iter().find(|f| f.0 == number) {
                None => {
                    for fret in 1..=board.last_fret().get() {
                        let mut changed = down.to_vec();
                        changed.push((number, fret, course, course));
                        if fret > fret_on(down, course) && is_possible(&changed, board, hand) {
                            note(course, &changed);
                        }
                    }
                }
                Some(&tip) if tip.2 == course && tip.3 == course => {
                    let lifted: Vec<Down> = down.iter().copied().filter(|f| f.0 != number).collect();
                    if is_possible(&lifted, board, hand) {
                        note(course, &lifted);
                    }
                    for by in [-2, -1, 1, 2] {
                        let Ok(fret) = u8::try_from(i16::from(tip.1) + by) else { continue };
                        let mut changed = lifted.clone();
                        changed.push((number, fret, course, course));
                        if fret > fret_on(&lifted, course)
                            && fret <= board.last_fret().get()
                            && is_possible(&changed, board, hand)
                        {
                            note(course, &changed);
                        }
                    }
                }
                Some(_) => {}
            }
        }
    }
    found
}

fn assert_same_as_trial(board: &Fretboard<'_>, shape: &Shape, fingering: &Fingering, chord: Chord, key: Key) {
    let hand = Hand::default();
    let down = fingers_down(shape, fingering);
    let notes = melody_in_reach(board, shape, fingering, chord, None, key, &hand);
    let said: BTreeSet<(usize, u8)> =
        notes.iter().map(|note| (note.position.course.from_lowest_index(), note.position.fret.get())).collect();
    assert_eq!(said.len(), notes.len(), "a place is said twice: {shape}");
    let tried = by_trial(board, shape, &down, thumb_courses(board.courses()), key, &hand);
    assert_eq!(said, tried, "{shape} {:?} in {key}", fingering.fingers);
    for note in &notes {
        let open = board.open_pitches()[note.position.course.from_lowest_index()];
        assert_eq!(note.pitch.number(), open.number() + note.position.fret.get());
        assert_eq!(note.note.class(), note.pitch.class());
        if let Some(name) = &note.chord {
            assert!(name.chord.allowed().contains(note.pitch.class()), "{shape} {}", name.chord);
        }
    }
}

#[test]
fn on_the_shapes_of_an_open_data_set_exactly_the_notes_found_by_trial_are_in_reach() {
    let standard = guitar_in("EADGBE");
    let hand = Hand::default();
    let mut count = 0;
    for (symbol, shape, fingering) in data_set() {
        let Ok(chord) = Chord::read(&symbol) else { continue };
        if !is_possible(&fingers_down(&shape, &fingering), &standard, &hand) || shape.stopped().next().is_none() {
            continue;
        }
        assert_same_as_trial(&standard, &shape, &fingering, chord, Key::new(chord.root(), Mode::Major));
        count += 1;
    }
    assert!(count > 1500, "{count}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1500) })]

    /// Any tuning of the catalogue played with the fingers and without short strings or missing frets (those have a
    /// test of their own), any capo, one finger a course in order along the neck.
    #[test]
    fn on_any_instrument_exactly_the_notes_found_by_trial_are_in_reach(
        row in 0..Catalog::bundled().tunings().len(),
        capo in 0..4_u8,
        lowest in 1..7_u8,
        frets in proptest::collection::vec(prop_oneof![Just(None), Just(Some(0)), (1..5_u8).prop_map(Some)], 12),
        tonic in 0..12_i16,
        mode in 0..7_usize,
    ) {
        let catalog = Catalog::bundled();
        let tuning = &catalog.tunings()[row];
        let instrument = catalog.find_instrument(tuning.instrument_id()).unwrap();
        let is_plain = instrument.courses().iter().all(|course| !course.is_drone())
            && (1..=instrument.last_fret().get()).all(|fret| instrument.has_fret(Fret::new(fret)));
        prop_assume!(is_plain);
        let board = Fretboard::new(instrument, tuning.tuning(), Fret::new(capo)).unwrap();
        let mut used = 0;
        let frets: Vec<Option<Fret>> = frets.iter().take(board.courses()).map(|fret| match fret {
            Some(up) if *up > 0 => {
                used += 1;
                (used <= 4).then(|| Fret::new(lowest + up - 1))
            }
            other => other.map(Fret::new),
        }).collect();
        let shape = Shape::new(frets);
        let mut order: Vec<(u8, usize)> =
            shape.stopped().map(|position| (position.fret.get(), position.course.from_lowest_index())).collect();
        prop_assume!(!order.is_empty() && order.iter().all(|place| place.0 <= board.last_fret().get()));
        order.sort_unstable();
        let mut fingers = vec![None; board.courses()];
        for (finger, (_, course)) in Finger::FRONT.into_iter().zip(order) {
            fingers[course] = Some(finger);
        }
        let fingering = with_barres(&shape, fingers);
        prop_assume!(is_possible(&fingers_down(&shape, &fingering), &board, &Hand::default()));
        let tonic = Note::of_class(PitchClass::from_semitones_above_c(tonic), SpellingChoice::Customary);
        let chord = Chord::new(tonic, pegwise::theory::ChordQuality::find("major").unwrap());
        assert_same_as_trial(&board, &shape, &fingering, chord, Key::new(tonic, Mode::ALL[mode]));
    }
}

/// Of the notes in reach the nearest are told, and course 1, where a melody lies first, is never cut: over the first shapes
/// of common chords in open tunings, six notes told.
#[test]
fn the_nearest_notes_are_told_first_and_none_on_course_1_is_lost() {
    for (tuning, chord, frets, fingers) in [
        ("DGDGBE", "G", "x 0 0 0 0 x", "0 0 0 0 0 0"),
        ("DGDGBE", "D", "x x 0 2 3 2", "0 0 0 1 3 2"),
        ("EADGBE", "C", "x 3 2 0 1 0", "0 3 2 0 1 0"),
        ("EADGBE", "Em", "0 2 2 0 0 0", "0 2 3 0 0 0"),
        ("DADGAD", "D", "0 0 4 2 0 0", "0 0 3 1 0 0"),
    ] {
        let board = guitar_in(tuning);
        let (shape, fingering) = held(frets, fingers);
        let all: Vec<MelodyNote> = melody(&board, &shape, &fingering, chord, "G");
        let added: Vec<MelodyNote> = all.into_iter().filter(|note| note.how != Reached::Held).collect();
        let told = nearest_in_reach(&board, &shape, &Hand::default(), added.clone(), 6);
        let on_first =
            |notes: &[MelodyNote]| notes.iter().filter(|note| note.position.course.player_number(6) == 1).count();
        assert_eq!(on_first(&told), on_first(&added), "{tuning} {chord}");
        assert!(
            told.len() == added.len().min(6.max(on_first(&added))),
            "{tuning} {chord}: {} of {}",
            told.len(),
            added.len()
        );
        let way = |note: &MelodyNote| {
            let (low, high) = shape.fret_range().unwrap_or((Fret::new(1), Fret::new(1)));
            let fret = note.position.fret;
            match note.how {
                Reached::Slid { from } => board.between_mm(from, fret),
                Reached::Free if fret < low => board.between_mm(fret, low),
                Reached::Free if fret > high => board.between_mm(high, fret),
                _ => 0.0,
            }
        };
        assert!(told.windows(2).all(|pair| way(&pair[0]) <= way(&pair[1])), "{tuning} {chord}");
    }
}

/// With open strings held the hand stands in first position, a finger a fret (common practice).
#[test]
fn over_open_strings_the_first_position_is_in_reach_a_finger_a_fret() {
    let board = guitar_in("DGDGBE");
    let (shape, fingering) = held("x 0 0 0 0 x", "0 0 0 0 0 0");
    let notes = melody(&board, &shape, &fingering, "G", "G");
    let added: Vec<&MelodyNote> = notes.iter().filter(|note| note.how == Reached::Free).collect();
    assert!(added.iter().any(|note| note.position.course.player_number(6) == 1));
    for note in added {
        let own = Finger::FRONT[usize::from(note.position.fret.get()) - 1];
        assert_eq!(note.finger, Some(own), "fret {}", note.position.fret.get());
    }
}

/// In a plan the hand stays where the chord before left it while open strings ring: its own frets are offered there, a finger a
/// fret, and the first position besides. Over stopped strings nothing changes: the fingers that are down say where it stands.
#[test]
fn over_open_strings_the_frets_where_the_hand_of_the_plan_stands_are_in_reach() {
    let board = guitar_in("DGDGBE");
    let chords = ["C", "G", "Am"].map(|text| Chord::read(text).unwrap());
    // G rings open, wherever the plan put the C before it.
    let candidates =
        [("x 5 5 5 5 x", "0 1 1 1 1 0"), ("x 0 0 0 0 x", "0 0 0 0 0 0")].map(|(frets, fingers)| held(frets, fingers));
    assert_eq!(candidates[0].0.fret_range().map(|(low, _)| low), Some(Fret::new(5)));
    let (shape, fingering) = &candidates[1];
    let key = Key::read("G").unwrap();
    let thumb = alternating_bass(&board, shape, fingering, chords[1], &Hand::default()).pairs.first().copied();
    let reach = |stands_at: u8| {
        let hand = Hand { stands_at: Fret::new(stands_at), ..Hand::default() };
        let mut notes = melody_in_reach(&board, shape, fingering, chords[1], thumb, key, &hand);
        notes.retain(|note| note.how == Reached::Free);
        let nearest = nearest_in_reach(&board, shape, &hand, notes.clone(), 6);
        (notes, nearest)
    };
    let (at_nut, _) = reach(1);
    let (at_five, nearest) = reach(5);
    let frets = |notes: &[MelodyNote]| notes.iter().map(|note| note.position.fret.get()).collect::<BTreeSet<_>>();
    assert!(frets(&at_nut).iter().all(|fret| *fret <= 4), "{:?}", frets(&at_nut));
    assert!(frets(&at_five).iter().any(|fret| (5..=8).contains(fret)), "{:?}", frets(&at_five));
    assert!(
        at_nut.iter().all(|note| at_five.iter().any(|other| other.position == note.position)),
        "the first position too"
    );
    for note in &at_five {
        let from = if note.position.fret.get() >= 5 { 5 } else { 1 };
        let own = Finger::FRONT[usize::from(note.position.fret.get() - from).min(3)];
        assert_eq!(note.finger, Some(own), "fret {}", note.position.fret.get());
    }
    assert!(nearest[0].position.fret.get() >= 5, "those at the hand come first");
}

/// A plan says where its hand stands: at the lowest fret it stops, over open strings where it was.
#[test]
fn a_plan_says_where_its_hand_stands() {
    use pegwise::shapes::{ShapeSearch, Style, plan_progression, read_progression};
    for tuning in ["DGDGBE", "DADGAD", "DADF#AD", "DGDGBD", "EADGBE"] {
        let board = guitar_in(tuning);
        let search = ShapeSearch { style: Style::Picked, ..ShapeSearch::best(1) };
        let planned = plan_progression(&read_progression("G C G D Em G").unwrap(), &board, &search).unwrap();
        let mut stood = 1;
        for planned in &planned {
            stood = planned.shape.shape().fret_range().map_or(stood, |(low, _)| low.get());
            assert_eq!(planned.stands_at.get(), stood, "{tuning} {}", planned.shape.shape());
        }
    }
}
