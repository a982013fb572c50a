//! Standard-tuning forms and movable shapes, against common practice.

use std::collections::BTreeSet;

use pegwise::instrument::{Catalog, Fretboard};
use pegwise::shapes::{KnownForm, Shape, StandardForm, chords_along_neck, known_forms};
use pegwise::theory::{Chord, Naming, PitchClassSet};

use crate::held::board;

fn forms(board: &Fretboard<'_>, frets: &str, chord: &str) -> Vec<KnownForm> {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(board.instrument()).tuning();
    known_forms(board, standard, &Shape::read(frets, board.courses()).unwrap(), Chord::read(chord).unwrap())
}

#[test]
fn every_form_of_the_table_is_the_chord_it_says() {
    let guitar = board("guitar", "E2 A2 D3 G3 B3 E4", 0);
    let mut names = BTreeSet::new();
    for form in StandardForm::all() {
        let chord = form.chord();
        let sounding: PitchClassSet =
            form.shape().pitches(&guitar).into_iter().flatten().map(|pitch| pitch.class()).collect();
        assert!(chord.required().is_subset_of(sounding) && sounding.is_subset_of(chord.allowed()), "{}", form.name());
        let lowest = form.shape().pitches(&guitar).into_iter().flatten().min().unwrap();
        assert_eq!(lowest.class(), chord.root().class(), "{}", form.name());
        assert!(names.insert(form.name()));
    }
    let triads = ["A", "Am", "C", "D", "Dm", "E", "Em", "F", "G", "small F"];
    let sevenths = ["A7", "Am7", "B7", "C7", "D7", "Dm7", "E7", "Em7", "G7"];
    assert_eq!(names, triads.into_iter().chain(sevenths).collect());
}

#[test]
fn shapes_are_likened_to_the_forms_players_know() {
    // Common practice, no source; the D G D G B E rows are those of references.md.
    for (instrument, tuning, capo, frets, form, moved, chord) in [
        ("guitar", "DGDGBE", 0, "x 0 5 4 3 3", "small F", 2, "G"),
        ("guitar", "DGDGBE", 0, "x 0 x 7 8 7", "D", 5, "G"),
        ("guitar", "DGDGBE", 0, "x 0 5 7 8 7", "D", 5, "G"),
        ("guitar", "DGDGBE", 0, "0 x 0 2 3 2", "D", 0, "D"),
        ("guitar", "DGDGBE", 0, "x x 2 0 1 0", "C", 0, "C"),
        ("guitar", "DGDGBE", 0, "x x 2 2 1 0", "Am", 0, "Am"),
        ("guitar", "DGDGBE", 0, "x x 4 4 3 2", "Am", 2, "Bm"),
        ("guitar", "EADGBE", 0, "1 3 3 2 1 1", "F", 0, "F"),
        ("guitar", "EADGBE", 0, "x 3 5 5 5 3", "A", 3, "C"),
        ("guitar", "EADGBE", 0, "x x 7 9 10 8", "Dm", 7, "Am"),
        ("guitar", "EADGBE", 2, "x 3 2 0 1 0", "C", 0, "D"),
        // Drop D: every course but the sixth is as it was.
        ("guitar", "DADGBE", 0, "x 3 2 0 1 0", "C", 0, "C"),
        ("guitar", "DADGBE", 0, "0 0 0 2 3 2", "D", 0, "D"),
        // The baritone ukulele has the four thinnest strings of the guitar.
        ("baritone-ukulele", "D3 G3 B3 E4", 0, "0 0 0 3", "G", 0, "G"),
    ] {
        let found = forms(&board(instrument, tuning, capo), frets, chord);
        let best = found.first().unwrap_or_else(|| panic!("no form: {tuning} {frets}"));
        let chord_found = best.chord.to_string();
        assert_eq!(
            (best.form.name(), best.moved_frets, chord_found.as_str()),
            (form, moved, chord),
            "{tuning} {frets}"
        );
    }
}

#[test]
fn changed_courses_and_other_instruments_have_no_form() {
    // D A D G A D keeps courses 5, 4 and 3 only, and a re-entrant ukulele does not step like the guitar.
    assert!(forms(&board("guitar", "DADGAD", 0), "0 0 0 2 0 0", "D5").is_empty());
    assert!(forms(&board("soprano-ukulele", "G4 C4 E4 A4", 0), "0 0 0 3", "C").is_empty());
    assert!(forms(&board("mandolin", "G3 D4 A4 E5", 0), "0 0 2 3", "G").is_empty());
    // All courses changed.
    assert!(forms(&board("guitar", "D2 G2 C3 F3 A3 D4", 0), "x 3 2 0 1 0", "Bb").is_empty());
}

/// Common practice, no source: what is held for another quality is no form of this one, though its strings are alike: A minor
/// with the open G under it is C6, and no player takes it for the C form.
#[test]
fn a_form_is_told_only_for_a_chord_of_its_quality() {
    let guitar = board("guitar", "DGDGBE", 0);
    for frets in ["x x 2 2 1 0", "x x 2 0 1 0", "x x 0 2 3 2"] {
        for chord in ["C", "Am", "C6", "Am7", "D", "Dm", "D7"] {
            let wanted = Chord::read(chord).unwrap();
            for known in forms(&guitar, frets, chord) {
                assert_eq!(known.form.chord().quality().id(), wanted.quality().id(), "{frets} {chord}");
            }
        }
    }
    assert!(forms(&guitar, "x x 2 2 1 0", "C6").is_empty());
    assert_eq!(forms(&guitar, "x x 2 2 1 0", "Am")[0].form.name(), "Am");
}

#[test]
fn a_form_is_said_in_words() {
    let found = forms(&board("guitar", "DGDGBE", 0), "x 0 x 7 8 7", "G");
    assert_eq!(found[0].sentence(Naming::English), "the D form moved up 5 frets, G in standard tuning");
}

#[test]
fn a_movable_shape_climbs_the_chromatic_scale() {
    // The F barre at frets 1 to 8: F F# G A flat A B flat B C, common practice.
    let guitar = board("guitar", "E2 A2 D3 G3 B3 E4", 0);
    let barre = Shape::read("3 5 5 4 3 3", 6).unwrap();
    let along = chords_along_neck(&guitar, &barre, None);
    let names: Vec<String> = along.iter().take(8).map(|at| at.name.as_ref().unwrap().chord.to_string()).collect();
    assert_eq!(names, ["F", "F♯", "G", "A♭", "A", "B♭", "B", "C"]);
    assert_eq!(along[0].shape.to_string(), "1 3 3 2 1 1");
    let last = guitar.last_fret().get();
    assert_eq!(along.len(), usize::from(last) - 2);
    let open = Shape::read("x 3 2 0 1 0", 6).unwrap();
    assert!(chords_along_neck(&guitar, &open, None).is_empty());
}
