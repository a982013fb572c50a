//! A song to hand out: its shapes, then the chart, chords above the words.

use crate::instrument::{Fretboard, Stringing};
use crate::shapes::{RankedShape, Style};
use crate::songs::{Bar, Chart, Line, Part, Song};
use crate::theory::{Chord, SpelledPitch};

use super::compose::{Composer, Drawing};
use super::face::Face;
use super::held::Held;
use super::key::{columns, legend};
use super::lines::{placed, width};
use super::names::Names;
use super::page::{Ink, Mark, Path};
use super::paper::SheetOptions;
use super::picture::thickness;
use super::score::{self, Frame, Harmony, Score, Struck};
use super::{Sheet, count};

/// What stands on a song's sheet.
#[derive(Clone, Debug)]
pub struct SongSheet<'a> {
    /// The song.
    pub song: &'a Song,
    /// Its chart, as it is read.
    pub chart: &'a Chart,
    /// The neck in its tuning, with its capo.
    pub board: &'a Fretboard<'a>,
    /// The open strings without the capo, as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What the tuning is called, if it has a name.
    pub tuning_name: Option<&'a str>,
    /// The strings, for their thickness.
    pub strings: &'a Stringing,
    /// Its chords in order, each with the shape to show; without one where no hand can hold it here.
    pub shapes: &'a [(Chord, Option<RankedShape>)],
    /// How they are sounded.
    pub style: Style,
}

/// Sets a song on pages.
#[must_use]
pub fn song_sheet(wanted: &SongSheet<'_>, options: &SheetOptions) -> Sheet {
    let names = Names::new(wanted.board.instrument(), options);
    let mut page = Composer::new(options, &wanted.song.title);
    head(&mut page, &names, wanted);
    shapes(&mut page, &names, wanted);
    chart(&mut page, &names, wanted);
    if !wanted.song.notes.trim().is_empty() {
        page.heading(&names.words.say("notes", &[]), 2.0 * page.size.body);
        for line in wanted.song.notes.lines().filter(|line| !line.trim().is_empty()) {
            page.paragraph(&[page.body(line)]);
        }
    }
    if wanted.shapes.iter().any(|(_, shape)| shape.is_some()) {
        legend(&mut page, &names, wanted.board.courses());
    }
    Sheet { document: page.finish(), score: music(wanted, options) }
}

fn head(page: &mut Composer<'_>, names: &Names<'_>, wanted: &SongSheet<'_>) {
    page.title();
    if !wanted.song.from.trim().is_empty() {
        page.paragraph(&[page.strong(wanted.song.from.trim())]);
    }
    let mut stand = names.stand(wanted.tuning_name, wanted.spelled, wanted.board.capo());
    if let Some(key) = wanted.song.key {
        stand += &format!(" · {}", names.key(key));
    }
    if let Some(tempo) = wanted.song.tempo_bpm {
        stand += &format!(" · {}", names.words.say("beats-a-minute", &[&tempo.to_string()]));
    }
    page.paragraph(&[page.body(stand)]);
}

fn shapes(page: &mut Composer<'_>, names: &Names<'_>, wanted: &SongSheet<'_>) {
    let (columns, s) = columns(page, wanted.board.courses());
    let thickness = thickness(wanted.board.instrument(), wanted.strings);
    let mut drawings: Vec<Drawing> = Vec::new();
    let mut unheld: Vec<String> = Vec::new();
    for (chord, ranked) in wanted.shapes {
        let name = names.options.chord(*chord);
        let Some(ranked) = ranked else {
            unheld.push(name);
            continue;
        };
        let held = Held::new(wanted.board, ranked, wanted.style, wanted.song.key);
        drawings.push(held.drawing(names, &thickness, (&name, ""), s, (page.size.digit, true)));
    }
    page.space(page.size.body);
    page.figures(drawings, columns, super::key::GAP, page.size.body * 0.7);
    if !unheld.is_empty() {
        page.paragraph(&[page.small(names.words.say("no-shape", &[&unheld.join(", ")]))]);
    }
}

/// What is written in a share of a bar.
fn said(part: &Part, options: &SheetOptions) -> String {
    match part {
        Part::Chord(chord) => options.chord(*chord),
        Part::Hold => "/".to_owned(),
        Part::Silence => "N.C.".to_owned(),
    }
}

fn parts(bar: &Bar, options: &SheetOptions) -> Vec<String> {
    if bar.parts().is_empty() {
        return vec!["%".to_owned()];
    }
    bar.parts().iter().map(|part| said(part, options)).collect()
}

/// Bars are drawn so many a line, `cell` points wide each.
struct Grid {
    columns: usize,
    cell: f32,
    /// Their chords' size.
    size: f32,
    height: f32,
}

/// The room a bar needs besides its chords, as a share of their size: bar lines, repeat signs.
const BESIDE: f32 = 1.5;

impl Grid {
    fn of(page: &Composer<'_>, wanted: &SongSheet<'_>) -> Self {
        let size = page.size.body * 1.1;
        let lines = wanted.chart.sections().iter().flat_map(|section| &section.lines);
        let mut longest = 4;
        let mut needed = 0.0_f32;
        for line in lines {
            let Line::Bars(bars) = line else { continue };
            longest = longest.max(bars.len().min(8));
            for bar in bars {
                let parts = parts(bar, page.options);
                let widest = parts.iter().map(|part| width(part, Face::Bold, size)).fold(0.0, f32::max);
                needed = needed.max((widest + size * 0.4) * count(parts.len()) + size * BESIDE);
            }
        }
        let columns = (1..=longest).rev().find(|&columns| page.width / count(columns) >= needed).unwrap_or(1);
        Self { columns, cell: page.width / count(columns), size, height: size * 1.75 }
    }
}

fn chart(page: &mut Composer<'_>, names: &Names<'_>, wanted: &SongSheet<'_>) {
    let grid = Grid::of(page, wanted);
    for section in wanted.chart.sections() {
        let follows = grid.height + 2.0 * page.size.body;
        match &section.title {
            Some(title) => page.heading(title, follows),
            None => page.space(page.size.body * 0.6),
        }
        for (index, line) in section.lines.iter().enumerate() {
            match line {
                Line::Words(words) => page.paragraph(&[page.body(words.as_str())]),
                Line::Bars(bars) => {
                    let has_words = matches!(section.lines.get(index + 1), Some(Line::Words(_)));
                    let rows = bars.chunks(grid.columns).count();
                    for (number, row) in bars.chunks(grid.columns).enumerate() {
                        let below = if has_words && number + 1 == rows { page.size.body * 1.4 } else { 0.0 };
                        bar_row(page, names, &grid, row, below);
                    }
                }
            }
        }
    }
}

/// One line of bars, kept with so many points of what comes below.
fn bar_row(page: &mut Composer<'_>, names: &Names<'_>, grid: &Grid, bars: &[Bar], below: f32) {
    let mut marks: Vec<Mark> = Vec::new();
    let (top, bottom, baseline) = (grid.size * 0.25, grid.size * 1.45, grid.size * 1.2);
    let mut words = String::new();
    let line = |x: f32, wide: f32| Mark::Path(Path::line(x, top, x, bottom), Ink::Line(wide));
    let dots = |x: f32| {
        let middle = (top + bottom) / 2.0;
        [-0.22, 0.22].map(|off| Mark::Path(Path::disc(x, middle + off * grid.size, 1.3), Ink::Black))
    };
    for (index, bar) in bars.iter().enumerate() {
        let left = grid.cell * count(index);
        let right = left + grid.cell;
        if bar.opens_repeat() {
            marks.push(line(left + 1.2, 2.4));
            marks.extend(dots(left + grid.size * 0.42));
            words += "|: ";
        } else {
            marks.push(line(left, 0.7));
            words += "| ";
        }
        let shares = parts(bar, names.options);
        let (start, room) = (left + grid.size * 0.75, grid.cell - grid.size * BESIDE);
        for (place, text) in shares.iter().enumerate() {
            let x = start + room * count(place) / count(shares.len());
            let face = if matches!(text.as_str(), "/" | "%") { Face::Regular } else { Face::Bold };
            marks.extend(placed(text, face, grid.size, x, baseline, 0.0));
        }
        words += &shares.join(" ");
        words.push(' ');
        if let Some(times) = bar.closes_repeat() {
            marks.extend(dots(right - grid.size * 0.42));
            marks.push(line(right - 1.2, 2.4));
            words += ":";
            if times != 2 {
                let text = format!("×{times}");
                marks.extend(placed(&text, Face::Bold, page.size.small, right - grid.size * 0.7, baseline, 1.0));
                words += &format!("| {} ", text);
            }
        }
    }
    marks.push(line(grid.cell * count(bars.len()), 0.7));
    words.push('|');
    page.marked_line(words, marks, grid.height, below);
}

/// The chart as music: each chord's shape struck where it stands.
fn music(wanted: &SongSheet<'_>, options: &SheetOptions) -> Option<Score> {
    let mut score = Score::new(options, wanted.board, wanted.spelled, &wanted.song.title);
    let mut before: Vec<Part> = Vec::new();
    for section in wanted.chart.sections() {
        let mut heading = section.title.clone();
        for bar in section.lines.iter().filter_map(bars_of).flatten() {
            if !bar.parts().is_empty() {
                before = bar.parts().to_vec();
            }
            let mut written = score::Bar {
                opens_repeat: bar.opens_repeat(),
                closes_repeat: bar.closes_repeat(),
                heading: heading.take(),
                ..score::Bar::default()
            };
            fill(&mut written, &before, wanted);
            score.bars.push(written);
        }
    }
    (!score.bars.is_empty()).then_some(score)
}

fn bars_of(line: &Line) -> Option<&Vec<Bar>> {
    match line {
        Line::Bars(bars) => Some(bars),
        Line::Words(_) => None,
    }
}

/// Fills a bar of four quarters: shares of one, two or four quarters are struck, other divisions are a rest with the
/// chords' names over it.
fn fill(bar: &mut score::Bar, parts: &[Part], wanted: &SongSheet<'_>) {
    let all = u16::try_from(parts.len()).unwrap_or(u16::MAX).max(1);
    let is_even = matches!(all, 1 | 2 | 4);
    for (place, part) in parts.iter().enumerate() {
        let at_quarter = u16::try_from(place).unwrap_or(0) * 4 / all;
        let ranked = match part {
            Part::Chord(chord) => {
                let found = wanted.shapes.iter().find(|(known, _)| known == chord);
                let ranked = found.and_then(|(_, ranked)| ranked.as_ref());
                let frame = ranked.map(|ranked| Frame::of(ranked));
                bar.harmonies.push(Harmony::new(*chord, frame, at_quarter));
                ranked
            }
            Part::Hold | Part::Silence => None,
        };
        match (part, bar.struck.last_mut()) {
            // What goes on is held.
            (Part::Hold, Some(last)) if is_even && !last.notes.is_empty() => last.quarters += 4 / all,
            _ if is_even => {
                let notes = ranked.map(score::fretted).unwrap_or_default();
                bar.struck.push(Struck { quarters: 4 / all, notes });
            }
            _ => {}
        }
    }
    if bar.struck.is_empty() {
        bar.struck.push(Struck { quarters: 4, notes: Vec::new() });
    }
}
