//! A song to hand out: its shapes, then the chart, chords above the words.

use crate::instrument::{Fretboard, Stringing};
use crate::shapes::{RankedShape, Style};
use crate::songs::{Bar, Chart, ChartLine, Content, Part, PlayedBar, Song, Tab};
use crate::theory::{Chord, SpelledPitch};

use super::compose::{Composer, Drawing};
use super::face::Face;
use super::held::Held;
use super::key::{columns, legend};
use super::lines::{broken, placed, width};
use super::names::Names;
use super::page::{Ink, Mark, Path};
use super::paper::SheetOptions;
use super::picture::thickness;
use super::score::{self, Event, Frame, Harmony, Score, TICKS};
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
    /// Its chords in order as they are played over the capo, each with the shape of what sounds; without one where no hand
    /// can hold it here.
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

/// Sets a song's chords alone, each with its shape as large as a key's are.
#[must_use]
pub fn song_chords_sheet(wanted: &SongSheet<'_>, options: &SheetOptions) -> Sheet {
    let names = Names::new(wanted.board.instrument(), options);
    let mut page = Composer::new(options, &wanted.song.title);
    head(&mut page, &names, wanted);
    shapes(&mut page, &names, wanted);
    legend(&mut page, &names, wanted.board.courses());
    let mut score = Score::new(options, wanted.board, wanted.spelled, &wanted.song.title);
    wanted.shapes.iter().filter_map(|(_, shape)| shape.as_ref()).for_each(|shape| score.add_shape(shape));
    Sheet { document: page.finish(), score: (!score.bars.is_empty()).then_some(score) }
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
        let held = Held::new(wanted.board, ranked, wanted.style, None).named(*chord);
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
        let mut longest = 4;
        let mut needed = 0.0_f32;
        for line in wanted.chart.lines() {
            let Content::Bars(bars) = &line.content else { continue };
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
    let lines = wanted.chart.lines();
    let words_below = |index: usize| match lines.get(index + 1).map(|line| &line.content) {
        Some(Content::Words(words)) => Some(words.as_str()),
        _ => None,
    };
    let mut is_said = false;
    let mut tab_end = 0;
    for (index, line) in lines.iter().enumerate() {
        if let Some(title) = &line.heading {
            page.heading(title, grid.height + 2.0 * page.size.body);
        }
        match &line.content {
            Content::Nothing if line.heading.is_none() => page.space(page.size.body * 0.6),
            Content::Nothing => {}
            // Said with the chords above it.
            Content::Words(_) if std::mem::take(&mut is_said) => {}
            Content::Words(words) => page.paragraph(&[page.body(words.as_str())]),
            Content::Tab if index < tab_end => {}
            Content::Tab => {
                let lines = Tab::at(wanted.chart, index);
                tab_end = index + lines.count();
                tab(page, &lines);
            }
            Content::Bars(bars) => {
                let rows = bars.chunks(grid.columns).count();
                for (number, row) in bars.chunks(grid.columns).enumerate() {
                    let is_last = number + 1 == rows && words_below(index).is_some();
                    bar_row(page, names, &grid, row, if is_last { page.size.body * 1.4 } else { 0.0 });
                }
            }
            Content::Chords => {
                sung(page, names, line, words_below(index).unwrap_or_default());
                is_said = words_below(index).is_some();
            }
            Content::Sung(words) => sung(page, names, line, words),
        }
    }
}

/// Fret numbers on string lines: each letter in a column of its own, the lines of one tab broken at the same ones.
fn tab(page: &mut Composer<'_>, tab: &Tab) {
    let most = page.size.body * 0.62;
    let column = (page.width / count(tab.columns())).min(most);
    let size = page.size.body.min(column / 0.62).max(page.size.digit);
    let column = column.max(size * 0.5);
    let fits = |columns: &usize| count(*columns) * column <= page.width;
    let room = (1..=tab.columns()).rev().find(fits).unwrap_or(1);
    for part in tab.broken(room) {
        page.ensure(size * 1.2 * count(part.count()));
        for line in part.lines() {
            let letters = line.text().chars().enumerate().filter(|(_, letter)| !letter.is_whitespace());
            let marks = letters.flat_map(|(at, letter)| {
                placed(&letter.to_string(), Face::Regular, size, column * (count(at) + 0.5), size, 0.5)
            });
            let marks = marks.collect();
            page.marked_line(line.text().to_owned(), marks, size * 1.2, 0.0);
        }
        page.space(size * 0.5);
    }
}

/// Words with the chords of a line over them.
fn sung(page: &mut Composer<'_>, names: &Names<'_>, line: &ChartLine, words: &str) {
    let size = page.size.body;
    let chord_size = size * 1.05;
    let over: Vec<(usize, String)> = line
        .chords
        .iter()
        .map(|placed| (placed.column, placed.chord.map_or("N.C.".to_owned(), |chord| names.options.chord(chord))))
        .collect();
    let mut begin = 0;
    let set = broken(&[page.body(words)], page.width);
    let all = set.len();
    for (number, text) in set.iter().enumerate() {
        let letters = text.letters();
        let is_last = number + 1 == all;
        let here = over.iter().filter(|(column, _)| *column >= begin && (is_last || *column < begin + letters));
        let mut rows: Vec<(f32, Vec<Mark>)> = Vec::new();
        let mut said: Vec<&str> = Vec::new();
        for (column, name) in here {
            let wide = width(name, Face::Bold, chord_size);
            let natural = text.start_of(*column - begin, size * 0.5).min(page.width - wide).max(0.0);
            let row = rows.iter().position(|(end, _)| *end <= natural).unwrap_or(rows.len());
            if row == rows.len() {
                rows.push((0.0, Vec::new()));
            }
            rows[row].0 = natural + wide + size * 0.35;
            rows[row].1.extend(placed(name, Face::Bold, chord_size, natural, 0.0, 0.0));
            said.push(name);
        }
        let mut marks: Vec<Mark> = Vec::new();
        let mut y = 0.0;
        // The row that overlaps least stands nearest to the words.
        for (_, row) in rows.into_iter().rev() {
            y += chord_size * 1.2;
            marks.extend(row.into_iter().map(|mark| mark.moved(0.0, y)));
        }
        y += size * 1.2;
        marks.extend(text.marks(0.0, y));
        let told =
            format!("{}{}", if said.is_empty() { String::new() } else { format!("{}: ", said.join(" ")) }, text.text());
        page.marked_line(told.trim().to_owned(), marks, y + size * 0.35, 0.0);
        begin += letters;
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

/// The chart as music, as it is played: each chord's shape struck where it stands.
fn music(wanted: &SongSheet<'_>, options: &SheetOptions) -> Option<Score> {
    let mut score = Score::new(options, wanted.board, wanted.spelled, &wanted.song.title);
    let sections = wanted.chart.sections();
    // What sounds for each chord, found once: the song's key may have to be read from its whole chart.
    let chords = wanted.chart.chords().into_iter();
    let sounding: Vec<(Chord, Chord)> = chords.map(|(chord, _)| (chord, wanted.song.to_hold(chord).sounding)).collect();
    let mut last = None;
    for bar in wanted.chart.played() {
        let title = sections.get(bar.section).and_then(|section| section.title);
        let heading = title.filter(|_| last != Some(bar.section)).map(ToOwned::to_owned);
        last = Some(bar.section);
        let mut written = score::Bar { heading, number: score.bars.len() + 1, ..score::Bar::default() };
        fill(&mut written, bar, wanted, &sounding);
        score.bars.push(written);
    }
    (!score.bars.is_empty()).then_some(score)
}

/// Fills a bar of four quarters: shares of one, two or four quarters are struck, a chord that goes on is held; bars
/// divided otherwise are a rest with the chords' names over it.
fn fill(bar: &mut score::Bar, played: &PlayedBar, wanted: &SongSheet<'_>, sounding: &[(Chord, Chord)]) {
    let all = u32::try_from(played.chords.len()).unwrap_or(u32::MAX).max(1);
    let is_even = matches!(all, 1 | 2 | 4);
    let share = 4 * TICKS / all;
    let mut voice: Vec<Event> = Vec::new();
    let mut before = None;
    let mut at_tick = 0;
    for (place, chord) in played.chords.iter().enumerate() {
        let here = at_tick;
        at_tick += share;
        if let (true, Some(last)) = (place > 0 && before == Some(*chord), voice.last_mut()) {
            last.ticks += share;
            continue;
        }
        before = Some(*chord);
        let found = chord.and_then(|chord| wanted.shapes.iter().find(|(known, _)| *known == chord));
        let ranked = found.and_then(|(_, ranked)| ranked.as_ref());
        if let Some(chord) = chord {
            // What sounds, as the notes do.
            let known = sounding.iter().find(|(known, _)| known == chord);
            let sounding = known.map_or_else(|| wanted.song.to_hold(*chord).sounding, |(_, sounding)| *sounding);
            bar.harmonies.push(Harmony::new(sounding, ranked.map(Frame::of), here));
        }
        if is_even {
            voice.push(Event::new(share, ranked.map(score::fretted).unwrap_or_default()));
        }
    }
    if voice.is_empty() {
        voice.push(Event::new(4 * TICKS, Vec::new()));
    }
    bar.voices.push(voice);
}
