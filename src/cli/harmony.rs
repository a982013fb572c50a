//! `pegwise key`, `pegwise shapes` and `pegwise name`.

use std::fmt::Write;

use serde::Serialize;

use crate::instrument::{Fret, Fretboard};
use crate::shapes::{GivenUp, RankedShape, Shape, ShapeSearch, Style, name_shape};
use crate::theory::{Chord, ChordSource, Key, KeyChord, Naming};

use super::args::{KeyArgs, NameArgs, ShapesArgs};
use super::told::{Told, own_key};
use super::written::{ShapeJson, TuningJson, ascii, shape_line};
use super::{Failure, json};

#[derive(Serialize)]
struct KeyJson {
    key: String,
    mode: &'static str,
    tuning: TuningJson,
    capo: u8,
    chords: Vec<KeyChordJson>,
}

#[derive(Serialize)]
struct KeyChordJson {
    roman: String,
    chord: String,
    source: &'static str,
    notes: Vec<String>,
    shapes: Vec<ShapeJson>,
}

/// How many shapes stand with each chord of a key.
const SHAPES_A_CHORD: usize = 3;

pub(super) fn key(wanted: &KeyArgs) -> Result<String, Failure> {
    let board = wanted.on.board()?;
    let key = Key::read(&wanted.key).map_err(Failure::input)?;
    let style = Style::from(wanted.style);
    if let Some(text) = &wanted.progression {
        return super::progression::progression(wanted, &board, text, style);
    }
    let search = ShapeSearch { style, limit: SHAPES_A_CHORD, ..ShapeSearch::default() };
    let chords = key.triads().into_iter().chain(key.sevenths()).chain(key.neighbours());
    let with_shapes: Vec<(KeyChord, Vec<RankedShape>)> = chords
        .map(|of_key| {
            let found = search.find(of_key.chord, &board).shapes;
            (of_key, found)
        })
        .collect();
    if wanted.on.common.json {
        let tuning = wanted.on.common.tuning(wanted.on.tuning.as_deref())?;
        return json(&KeyJson {
            key: key.tonic().ascii(),
            mode: key.mode().word(),
            tuning: TuningJson::new(board.instrument(), &tuning),
            capo: wanted.on.capo,
            chords: with_shapes
                .iter()
                .map(|(of_key, found)| KeyChordJson {
                    roman: of_key.roman.clone(),
                    chord: of_key.chord.ascii(),
                    source: match of_key.source {
                        ChordSource::Triad => "triad",
                        ChordSource::Seventh => "seventh",
                        ChordSource::Borrowed => "borrowed",
                        ChordSource::Secondary => "secondary",
                    },
                    notes: of_key.chord.notes().into_iter().map(crate::theory::Note::ascii).collect(),
                    shapes: found.iter().map(|found| ShapeJson::new(found, &board, key, Fret::new(1))).collect(),
                })
                .collect(),
        });
    }
    let mut text = String::new();
    for (of_key, found) in &with_shapes {
        let line =
            found.first().map_or_else(|| "no hand can sound it here".to_owned(), |shape| shape_line(shape, &board));
        let _ = writeln!(text, "{:<8} {:<8} {line}", of_key.roman, of_key.chord.to_string());
        text +=
            &found.first().map(|found| Told::of(found, &board, key, Fret::new(1)).lines(&board)).unwrap_or_default();
    }
    Ok(text)
}

#[derive(Serialize)]
struct ShapesJson {
    chord: String,
    notes: Vec<String>,
    tuning: TuningJson,
    capo: u8,
    shapes: Vec<ShapeJson>,
    /// Whether these are all the shapes the hand can hold.
    is_all: bool,
    /// The chord shown instead, where no hand can sound the one asked for.
    instead: Option<InsteadJson>,
}

#[derive(Serialize)]
struct InsteadJson {
    chord: String,
    left_out: Vec<String>,
}

pub(super) fn shapes(wanted: &ShapesArgs) -> Result<String, Failure> {
    let board = wanted.on.board()?;
    let chord = Chord::read(&wanted.chord).map_err(Failure::input)?;
    let key = wanted.key.as_deref().map(Key::read).transpose().map_err(Failure::input)?;
    let key = key.unwrap_or_else(|| own_key(chord));
    let limit = if wanted.all { usize::MAX } else { wanted.limit };
    let search = ShapeSearch { style: wanted.style.into(), limit, ..ShapeSearch::default() };
    let found = search.find(chord, &board);
    let nearest = if found.shapes.is_empty() { search.find_nearest(chord, &board) } else { None };
    let left_out: Vec<String> = nearest
        .iter()
        .flat_map(|nearest| nearest.left_out.iter())
        .filter_map(|class| chord.note_of(class))
        .map(crate::theory::Note::ascii)
        .collect();
    let shown = nearest.as_ref().map_or(&found, |nearest| &nearest.found);
    if wanted.on.common.json {
        let tuning = wanted.on.common.tuning(wanted.on.tuning.as_deref())?;
        return json(&ShapesJson {
            chord: chord.ascii(),
            notes: chord.notes().into_iter().map(crate::theory::Note::ascii).collect(),
            tuning: TuningJson::new(board.instrument(), &tuning),
            capo: wanted.on.capo,
            shapes: shown.shapes.iter().map(|found| ShapeJson::new(found, &board, key, Fret::new(1))).collect(),
            is_all: shown.is_complete && shown.shapes.len() < limit,
            instead: nearest.as_ref().map(|nearest| InsteadJson { chord: nearest.chord.ascii(), left_out }),
        });
    }
    let mut text = String::new();
    if found.shapes.is_empty() {
        let _ = match &nearest {
            None => writeln!(text, "No hand can sound {chord} here, nor any simpler chord on its root."),
            Some(nearest) => match nearest.given_up {
                GivenUp::Bass => {
                    writeln!(text, "No hand can sound {chord} here with its bass lowest; with another tone lowest:")
                }
                GivenUp::SlashBass | GivenUp::Tones => {
                    writeln!(text, "No hand can sound {chord} here; the nearest that one can is {}:", nearest.chord)
                }
            },
        };
    }
    for shape in &shown.shapes {
        let _ = writeln!(text, "{}", shape_line(shape, &board));
        text += &Told::of(shape, &board, key, Fret::new(1)).lines(&board);
    }
    Ok(text)
}

#[derive(Serialize)]
struct NameJson {
    frets: Vec<Option<u8>>,
    notes: Vec<String>,
    names: Vec<OneNameJson>,
}

#[derive(Serialize)]
struct OneNameJson {
    chord: String,
    quality: String,
    present: Vec<String>,
    missing: Vec<String>,
    bass: String,
    reason: String,
    points: u16,
}

pub(super) fn name(wanted: &NameArgs) -> Result<String, Failure> {
    let board = wanted.on.board()?;
    let shape = read_shape(&wanted.frets, &board)?;
    let key = wanted.key.as_deref().map(Key::read).transpose().map_err(Failure::input)?;
    let names = name_shape(&board, &shape, key);
    let notes: Vec<String> = names.notes.iter().map(|note| note.ascii()).collect();
    if wanted.on.common.json {
        let degrees = |list: &[crate::theory::Interval]| list.iter().map(|degree| ascii(&degree.to_string())).collect();
        return json(&NameJson {
            frets: shape.frets().iter().map(|fret| fret.map(crate::instrument::Fret::get)).collect(),
            notes,
            names: names
                .names
                .iter()
                .map(|name| OneNameJson {
                    chord: name.chord.ascii(),
                    quality: name.chord.quality().id().to_owned(),
                    present: degrees(&name.present),
                    missing: degrees(&name.missing),
                    bass: name.chord.bass().ascii(),
                    reason: name.sentence(Naming::English),
                    points: name.points(),
                })
                .collect(),
        });
    }
    let mut text = format!("{}   sounds {}\n", shape.written(&board), notes.join(" "));
    for name in &names.names {
        let _ = writeln!(text, "{}", name.sentence(Naming::English));
    }
    if names.names.is_empty() {
        text += "no chord\n";
    }
    Ok(text)
}

pub(super) fn read_shape(text: &str, board: &Fretboard<'_>) -> Result<Shape, Failure> {
    let shape = Shape::read_on(text, board).map_err(Failure::input)?;
    let pitches = shape.pitches(board);
    let missing = shape.sounding().find(|position| pitches[position.course.from_lowest_index()].is_none());
    missing.map_or(Ok(shape.clone()), |position| {
        let number = position.course.player_number(board.courses());
        Err(Failure::Input(format!("string {number} has no fret {}", position.fret.get())))
    })
}
