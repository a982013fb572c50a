//! The open strings in a row: each note on a line as thick as its string, the moved ones marked.

use crate::instrument::CourseIndex;
use crate::theory::{Semitones, SpelledPitch};

use super::compose::{Drawing, Sizes};
use super::face::Face;
use super::lines::{fitting, middle_of, placed, width};
use super::names::Names;
use super::page::{Ink, Mark, Path};

/// One string of the row.
#[derive(Clone, Debug)]
pub(super) struct StringMark {
    pub(super) course: CourseIndex,
    pub(super) to: SpelledPitch,
    /// Where it comes from, with the way; `None` where it stays or nothing is turned.
    pub(super) moved: Option<(String, Semitones)>,
    /// As a share of the thickest.
    pub(super) thickness: f32,
}

/// Draws the row `room` wide, from the highest player number on the left; mirrored for a left-handed player.
pub(super) fn draw(names: &Names<'_>, strings: &[StringMark], room: f32, size: &Sizes) -> Drawing {
    let all = strings.len();
    let part = room / super::count(all.max(1));
    let (note_size, small) = ((size.title * 0.9).min(part * 0.62), size.small);
    let is_turned = strings.iter().any(|string| string.moved.is_some());
    let mut marks = Vec::new();
    let (number_y, note_y) = (small, small * 1.3 + note_size);
    let line_y = note_y + note_size * 0.28;
    let from_y = line_y + 8.0 + small * 1.1;
    for (index, string) in strings.iter().enumerate() {
        let place = if names.options.is_left_handed { all - 1 - index } else { index };
        let x = middle_of(place, all, room);
        marks.extend(placed(&names.number(string.course), Face::Regular, small, x, number_y, 0.5));
        let note = names.options.note(string.to.note());
        let face = if is_turned && string.moved.is_none() { Face::Regular } else { Face::ExtraBold };
        let fitted = fitting(&note, face, note_size, part * 0.88, size.digit);
        marks.extend(placed(&note, face, fitted, x, note_y, 0.5));
        let thick = (string.thickness * 5.0).max(0.6);
        let half = part * 0.4;
        marks.push(Mark::Path(Path::line(x - half, line_y, x + half, line_y), Ink::Line(thick)));
        if let Some((from, by)) = &string.moved {
            let (up, text_size) = (by.get() > 0, small);
            let wide = width(from, Face::Bold, text_size);
            let arrow = text_size * 0.42;
            let left = x - (wide + 3.0 * arrow) / 2.0;
            marks.extend(placed(from, Face::Bold, text_size, left, from_y, 0.0));
            let (middle, centre) = (left + wide + 2.0 * arrow, from_y - text_size * 0.33);
            let tip = if up { -arrow } else { arrow };
            let wedge = Path::polygon(&[
                (middle - arrow, centre - tip),
                (middle + arrow, centre - tip),
                (middle, centre + tip),
            ]);
            marks.push(Mark::Path(wedge, Ink::Black));
        }
    }
    let said: Vec<String> = strings
        .iter()
        .map(|string| {
            let to = names.options.note(string.to.note());
            let called = names.called(string.course);
            match &string.moved {
                Some((from, by)) => format!("{called}: {}", names.way(from, &to, *by)),
                None => format!("{called}: {to}"),
            }
        })
        .collect();
    let height = if is_turned { from_y + small * 0.5 } else { line_y + 8.0 };
    Drawing { width: room, height, hang: 0.0, marks, words: said.join("; ") + "." }
}
