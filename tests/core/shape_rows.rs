//! The open data set of guitar shapes, `tests/assets/shapes_guitar.csv`, as the checks and the fit read it.
//!
//! Origin: npm `@tombatossals/chords-db` 0.5.1, MIT; frets made absolute, and the faults found in it in the last column.

use pegwise::shapes::{Finger, Shape};

/// One clean row of the data set.
pub(crate) struct Row {
    /// The root as the data set writes it.
    pub(crate) root: String,
    /// Which of the positions of its chord it is, from 0.
    pub(crate) position: usize,
    /// The chord's symbol in the chord table.
    pub(crate) symbol: String,
    /// Simpler chords that it may be by its tones.
    #[cfg_attr(not(test), expect(dead_code, reason = "the fit does not ask"))]
    pub(crate) simpler: Vec<String>,
    pub(crate) shape: Shape,
    pub(crate) fingers: Vec<Option<Finger>>,
}

/// Reads the rows in which no fault was found.
///
/// Where the data set leaves out the ninth of an eleventh or of a 9♯11, the tones are those of a simpler chord.
pub(crate) fn clean_rows() -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(include_str!("../assets/shapes_guitar.csv").as_bytes());
    let rows = reader.records().map(Result::unwrap).filter(|row| row[10].is_empty());
    rows.map(|row| {
        let (root, quality) = (&row[2], &row[3]);
        let (quality, slash) = quality.split_once('/').map_or((quality, None), |(quality, bass)| (quality, Some(bass)));
        let suffix = match quality {
            "major" => "",
            "minor" => "m",
            "alt" => "(b5)",
            "aug7" => "7#5",
            "aug9" => "9#5",
            "9b5" => "9#11",
            "mmaj7b5" => "dim(maj7)",
            other => other,
        };
        let simpler: &[&str] = match suffix {
            "11" => &["7sus4", "7add11"],
            "9#11" => &["7#11"],
            _ => &[],
        };
        let symbol =
            |suffix: &str| root.to_owned() + suffix + &slash.map(|bass| format!("/{bass}")).unwrap_or_default();
        let fingers = row[6].split(' ').map(|finger| match finger {
            "0" => None,
            number => Some(Finger::FRONT[number.parse::<usize>().unwrap() - 1]),
        });
        Row {
            root: root.to_owned(),
            position: row[4].parse().unwrap(),
            symbol: symbol(suffix),
            simpler: simpler.iter().map(|suffix| symbol(suffix)).collect(),
            shape: Shape::read(&row[5], 6).unwrap(),
            fingers: fingers.collect(),
        }
    })
    .collect()
}

/// One row of `tests/assets/shapes_open_tunings.csv`: what a player shows first in an open or dropped tuning of the guitar.
///
/// Common practice, no source; checked by arithmetic, as its head says. Any of the shapes counts as right.
pub(crate) struct OpenRow {
    pub(crate) tuning: &'static str,
    pub(crate) chord: &'static str,
    pub(crate) shapes: Vec<Shape>,
}

/// Reads the table of shapes in open tunings.
pub(crate) fn open_rows() -> Vec<OpenRow> {
    let lines = include_str!("../assets/shapes_open_tunings.csv").lines().filter(|line| !line.starts_with('#'));
    let row = |line: &'static str| {
        let cells: Vec<&str> = line.split(',').collect();
        let shapes = cells[2].split(' ').map(|shape| Shape::read(shape, 6).unwrap()).collect();
        OpenRow { tuning: cells[0], chord: cells[1], shapes }
    };
    lines.skip(1).map(row).collect()
}

/// One position of the open data set of ukulele shapes, `tests/assets/shapes_ukulele.csv`.
///
/// Origin: npm `@tombatossals/chords-db` 0.5.1, MIT; frets made absolute, nothing left out.
pub(crate) struct NarrowRow {
    pub(crate) root: String,
    pub(crate) shape: Shape,
    pub(crate) fingers: Vec<Option<Finger>>,
}

/// Reads the data set of ukulele shapes.
pub(crate) fn narrow_rows() -> Vec<NarrowRow> {
    let mut reader = csv::Reader::from_reader(include_str!("../assets/shapes_ukulele.csv").as_bytes());
    let finger = |number: &str| number.parse::<usize>().ok()?.checked_sub(1).map(|index| Finger::FRONT[index]);
    let row = |row: csv::StringRecord| NarrowRow {
        root: row[2].to_owned(),
        shape: Shape::read(&row[5], 4).unwrap(),
        fingers: row[6].split(' ').map(finger).collect(),
    };
    reader.records().map(Result::unwrap).map(row).collect()
}
