//! Standard-tuning forms and movable shapes, against common practice.

use std::collections::BTreeSet;

use pegwise::instrument::{Catalog, Fretboard};
use pegwise::shapes::{KnownForm, Shape, StandardForm, chords_along_neck, known_forms};
use pegwise::theory::Naming;

use crate::held::board;

fn forms(board: &Fretboard<'_>, frets: &str) -> Vec<KnownForm> {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(board.instrument()).tuning();
    known_forms(board, standard, &Shape::read(frets, board.courses()).unwrap())
}

#[test]
fn the_table_has_ten_forms_each_the_chord_it_says() {
    let guitar = board("guitar", "E2 A2 D3 G3 B3 E4", 0);
    let mut names = BTreeSet::new();
    for form in StandardForm::all() {
        let chord = form.chord();
        let sounding = form.shape().pitches(&guitar).into_iter().flatten().map(|pitch| pitch.class()).collect();
        assert_eq!(chord.required(), sounding, "{}", form.name());
        let lowest = form.shape().pitches(&guitar).into_iter().flatten().min().unwrap();
        assert_eq!(lowest.class(), chord.root().class(), "{}", form.name());
        assert!(names.insert(form.name()));
    }
    assert_eq!(names, BTreeSet::from(["A", "Am", "C", "D", "Dm", "E", "Em", "F", "G", "small F"]));
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
        let found = forms(&board(instrument, tuning, capo), frets);
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
    assert!(forms(&board("guitar", "DADGAD", 0), "0 0 0 2 0 0").is_empty());
    assert!(forms(&board("soprano-ukulele", "G4 C4 E4 A4", 0), "0 0 0 3").is_empty());
    assert!(forms(&board("mandolin", "G3 D4 A4 E5", 0), "0 0 2 3").is_empty());
    // All courses changed.
    assert!(forms(&board("guitar", "D2 G2 C3 F3 A3 D4", 0), "x 3 2 0 1 0").is_empty());
}

#[test]
fn a_form_is_said_in_words() {
    let found = forms(&board("guitar", "DGDGBE", 0), "x 0 x 7 8 7");
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
