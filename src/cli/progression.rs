//! `pegwise key --progression`: one shape for each chord, so that the hand moves least.

use std::fmt::Write;

use serde::Serialize;

use crate::instrument::Fretboard;
use crate::shapes::{HandMove, PlannedShape, ShapeSearch, Style, plan_progression, read_progression};
use crate::theory::Key;

use super::args::KeyArgs;
use super::told::Told;
use super::written::{ShapeJson, finger_json, rounded, shape_line};
use super::{Failure, json};

#[derive(Serialize)]
struct PlannedJson {
    chord: String,
    shape: ShapeJson,
    from_before: Option<MoveJson>,
}

#[derive(Serialize)]
struct MoveJson {
    way_mm: f64,
    kept: Vec<serde_json::Value>,
    slid: Vec<serde_json::Value>,
    placed: Vec<serde_json::Value>,
    lifted: Vec<serde_json::Value>,
}

pub(super) fn progression(
    wanted: &KeyArgs,
    board: &Fretboard<'_>,
    text: &str,
    style: Style,
) -> Result<String, Failure> {
    let chords = read_progression(text).map_err(Failure::input)?;
    let search = ShapeSearch { style, ..ShapeSearch::default() };
    let planned = plan_progression(&chords, board, &search).map_err(Failure::input)?;
    let key = Key::read(&wanted.key).map_err(Failure::input)?;
    if wanted.on.common.json {
        return json(&planned.iter().map(|planned| PlannedJson::new(planned, board, key)).collect::<Vec<_>>());
    }
    let mut text = String::new();
    for planned in &planned {
        let moved = planned.from_before.as_ref().map_or_else(String::new, |moved| {
            let kept: Vec<String> = moved.kept.iter().map(ToString::to_string).collect();
            let kept = if kept.is_empty() { String::new() } else { format!(", {} stays", kept.join(" ")) };
            format!("   the hand moves {:.0} mm{kept}", moved.way_mm.abs())
        });
        let _ = writeln!(text, "{:<8} {}{moved}", planned.shape.chord().to_string(), shape_line(&planned.shape, board));
        text += &Told::of(&planned.shape, board, key, planned.stands_at).lines(board);
    }
    Ok(text)
}

impl PlannedJson {
    fn new(planned: &PlannedShape, board: &Fretboard<'_>, key: Key) -> Self {
        Self {
            chord: planned.shape.chord().ascii(),
            shape: ShapeJson::new(&planned.shape, board, key, planned.stands_at),
            from_before: planned.from_before.as_ref().map(MoveJson::new),
        }
    }
}

impl MoveJson {
    fn new(moved: &HandMove) -> Self {
        let fingers = |list: &[crate::shapes::Finger]| list.iter().map(|&finger| finger_json(finger)).collect();
        Self {
            way_mm: rounded(moved.way_mm, 1),
            kept: fingers(&moved.kept),
            slid: fingers(&moved.slid),
            placed: fingers(&moved.placed),
            lifted: fingers(&moved.lifted),
        }
    }
}
