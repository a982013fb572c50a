//! An arrangement as plain text: a line a string, course 1 on top, chords above, fingers below.

use std::fmt::Write;

use crate::arrange::{Arrangement, Sounding};
use crate::tune::Played;

/// How wide a line of tab may be, in characters.
const WIDTH: usize = 78;

/// Draws the tab, as many bars a line as fit.
pub(super) fn tab(arrangement: &Arrangement, played: &Played, courses: usize) -> String {
    let bars: Vec<Block> = (0..played.bars.len()).map(|bar| block(arrangement, bar, courses)).collect();
    let mut text = String::new();
    let mut first = 0;
    while first < bars.len() {
        let mut last = first;
        let mut width = 4 + bars[first].width;
        while last + 1 < bars.len() && width + bars[last + 1].width < WIDTH {
            last += 1;
            width += bars[last].width + 1;
        }
        let number = played.bars[first].number;
        let line = &bars[first..=last];
        let chords: Vec<&str> = line.iter().map(|bar| bar.chords.as_str()).collect();
        let _ = writeln!(text, "{number:<3} {}", chords.join(" ").trim_end());
        for row in 0..courses {
            let rows: Vec<&str> = line.iter().map(|bar| bar.rows[row].as_str()).collect();
            let _ = writeln!(text, "{:>2} |{}|", row + 1, rows.join("|"));
        }
        let fingers: Vec<&str> = line.iter().map(|bar| bar.fingers.as_str()).collect();
        let _ = writeln!(text, "    {}\n", fingers.join(" ").trim_end());
        first = last + 1;
    }
    text
}

/// A bar's lines, all of one width.
struct Block {
    width: usize,
    chords: String,
    /// From course 1 on.
    rows: Vec<String>,
    /// Fingers of melody and bass, below them.
    fingers: String,
}

fn block(arrangement: &Arrangement, bar: usize, courses: usize) -> Block {
    let mut block = Block { width: 1, chords: " ".into(), rows: vec!["-".into(); courses], fingers: " ".into() };
    let slices: Vec<_> = arrangement.slices.iter().filter(|slice| slice.bar == bar).collect();
    let mut chord = None;
    for slice in slices {
        let sounding: Vec<&Sounding> =
            slice.melody.iter().chain(&slice.bass).chain(&slice.inner).filter(|note| note.starts).collect();
        let name = slice.chord.filter(|_| chord != slice.chord).map(|chord| chord.to_string()).unwrap_or_default();
        chord = slice.chord;
        let frets: Vec<(usize, String)> = sounding
            .iter()
            .map(|note| {
                let number = usize::from(note.position.course.player_number(courses));
                (number - 1, note.position.fret.get().to_string())
            })
            .collect();
        let fingers: String = sounding.iter().filter_map(|note| note.finger).map(|finger| finger.symbol()).collect();
        let longest = frets.iter().map(|(_, fret)| fret.len()).chain([1, fingers.len(), name.chars().count()]).max();
        let width = longest.unwrap_or(1) + 1;
        for (row, line) in block.rows.iter_mut().enumerate() {
            let fret = frets.iter().find(|(at, _)| *at == row).map_or("", |(_, fret)| fret);
            let _ = write!(line, "{fret:-<width$}");
        }
        let _ = write!(block.chords, "{name:<width$}");
        let _ = write!(block.fingers, "{fingers:<width$}");
        block.width += width;
    }
    block
}
