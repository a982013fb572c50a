//! Shapes held in a hand, for the tests of what a held shape is good for.

use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard, Tuning};
use pegwise::shapes::{Barre, Finger, Fingering, Shape};

/// The neck of the six-string guitar in a tuning written as players do.
pub(crate) fn guitar_in(tuning: &str) -> Fretboard<'static> {
    board("guitar", tuning, 0)
}

/// The neck of an instrument in a tuning, with a capo.
pub(crate) fn board(instrument: &str, tuning: &str, capo: u8) -> Fretboard<'static> {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(instrument).unwrap();
    let tuning = Tuning::read(tuning, catalog.standard_of(instrument).tuning()).unwrap();
    Fretboard::new(instrument, &tuning, Fret::new(capo)).unwrap()
}

/// Reads a fret list and a finger list: `0` for no finger, one number on several courses is a barre.
pub(crate) fn held(frets: &str, fingers: &str) -> (Shape, Fingering) {
    let fingers: Vec<Option<Finger>> = fingers
        .split_whitespace()
        .map(|number| match number {
            "1" => Some(Finger::Index),
            "2" => Some(Finger::Middle),
            "3" => Some(Finger::Ring),
            "4" => Some(Finger::Little),
            "T" => Some(Finger::Thumb),
            _ => None,
        })
        .collect();
    let shape = Shape::read(frets, fingers.len()).unwrap();
    (shape.clone(), with_barres(&shape, fingers))
}

/// Writes out the barres: a finger on several courses lies across all between.
pub(crate) fn with_barres(shape: &Shape, fingers: Vec<Option<Finger>>) -> Fingering {
    let mut barres = Vec::new();
    for finger in Finger::FRONT {
        let from = fingers.iter().position(|&at| at == Some(finger));
        let to = fingers.iter().rposition(|&at| at == Some(finger));
        if let (Some(from), Some(to)) = (from, to)
            && from < to
        {
            let fret = shape.frets()[from].unwrap();
            barres.push(Barre { finger, fret, from: CourseIndex::from_lowest(from), to: CourseIndex::from_lowest(to) });
        }
    }
    Fingering { fingers, barres }
}

/// The shapes of the open data set that have no fault and whose chord the table has: chord symbol, frets, fingers.
///
/// shapes_guitar.csv: npm `@tombatossals/chords-db` 0.5.1 (MIT), standard tuning.
pub(crate) fn data_set() -> impl Iterator<Item = (String, Shape, Fingering)> {
    include_str!("../assets/shapes_guitar.csv").lines().skip(1).filter_map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let suffix = match cells[3] {
            "major" => "",
            "minor" => "m",
            other => other,
        };
        if !cells[10].is_empty() || suffix.contains('/') {
            return None;
        }
        let (shape, fingering) = held(cells[5], cells[6]);
        Some((format!("{}{suffix}", cells[2]), shape, fingering))
    })
}
