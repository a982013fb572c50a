//! Text into lines: letters measured, lines broken, letters the fonts lack stood in for.

use super::count;
use super::face::{Face, STAND_IN};
use super::page::{Letter, Mark, Run};

/// A piece of text in one face and size.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Span {
    pub(super) text: String,
    pub(super) face: Face,
    pub(super) size: f32,
}

impl Span {
    pub(super) fn new(text: impl Into<String>, face: Face, size: f32) -> Self {
        Self { text: text.into(), face, size }
    }
}

/// A letter with what it takes.
#[derive(Clone, Copy, Debug)]
struct Unit {
    text: char,
    glyph: u16,
    face: Face,
    size: f32,
    advance: f32,
    is_lost: bool,
}

/// A line of text: where it stands is not said yet.
#[derive(Clone, Debug)]
pub(super) struct TextLine {
    units: Vec<Unit>,
    /// Without the space it ends with.
    pub(super) width: f32,
}

impl TextLine {
    /// The largest size in it.
    pub(super) fn size(&self) -> f32 {
        self.units.iter().map(|unit| unit.size).fold(0.0, f32::max)
    }

    /// How many letters it holds, the spaces it ends with included.
    pub(super) fn letters(&self) -> usize {
        self.units.len()
    }

    /// What it says.
    pub(super) fn text(&self) -> String {
        self.units.iter().map(|unit| unit.text).collect()
    }

    /// How far from its beginning a letter stands, counted from 0; beyond its end each place is `cell` wide.
    pub(super) fn start_of(&self, letter: usize, cell: f32) -> f32 {
        let before: f32 = self.units.iter().take(letter).map(|unit| unit.advance).sum();
        count(letter.saturating_sub(self.units.len())).mul_add(cell, before)
    }

    /// The letters it holds that the fonts lack.
    pub(super) fn lost(&self) -> impl Iterator<Item = char> + '_ {
        self.units.iter().filter(|unit| unit.is_lost).map(|unit| unit.text)
    }

    /// Sets it on a baseline.
    pub(super) fn marks(&self, x: f32, y: f32) -> Vec<Mark> {
        let mut runs: Vec<Run> = Vec::new();
        let mut pen = x;
        for unit in &self.units {
            let is_same = runs.last().is_some_and(|run| run.face == unit.face && (run.size - unit.size).abs() < 0.001);
            if !is_same {
                let (face, size) = (unit.face, unit.size);
                runs.push(Run { face, size, x: pen, y, letters: Vec::new(), is_white: false });
            }
            let Some(run) = runs.last_mut() else { continue };
            let &Unit { glyph, text, advance, is_lost, .. } = unit;
            run.letters.push(Letter { glyph, text, at: pen - run.x, advance, is_lost });
            pen += advance;
        }
        runs.into_iter().map(Mark::Text).collect()
    }
}

/// Tells whether a letter takes no room and says nothing by itself: controls, joiners, variation selectors.
const fn is_unseen(letter: char) -> bool {
    matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
        || (letter.is_ascii_control())
}

/// What is shown instead of a letter the family lacks, where another letter says the same.
const fn twin(letter: char) -> char {
    match letter {
        '\u{a0}' | '\u{2002}'..='\u{200a}' | '\u{202f}' | '\u{3000}' => ' ',
        '\u{2010}' | '\u{2011}' | '\u{2212}' => '-',
        '●' => '•',
        other => other,
    }
}

fn units(spans: &[Span]) -> Vec<Unit> {
    let mut found: Vec<Unit> = Vec::new();
    for span in spans {
        let letters =
            span.text.chars().map(|letter| if letter.is_whitespace() && !is_unseen(letter) { ' ' } else { letter });
        for text in letters.filter(|&letter| !is_unseen(letter)) {
            let own = span.face.glyph(text).or_else(|| span.face.glyph(twin(text)));
            let glyph = own.or_else(|| span.face.glyph(STAND_IN)).unwrap_or(0);
            let (face, size) = (span.face, span.size);
            if let Some(before) = found.last_mut().filter(|before| before.face == face) {
                before.advance += face.kerning(before.glyph, glyph) * size;
            }
            found.push(Unit { text, glyph, face, size, advance: face.advance(glyph) * size, is_lost: own.is_none() });
        }
    }
    found
}

fn line(units: &[Unit]) -> TextLine {
    let shown = units.iter().rposition(|unit| unit.text != ' ').map_or(0, |last| last + 1);
    TextLine { units: units.to_vec(), width: units[..shown].iter().map(|unit| unit.advance).sum() }
}

/// Sets text in lines no wider than `width`: broken after spaces and hyphens, within a word only where one is wider than
/// a line. A single empty line for an empty text.
pub(super) fn broken(spans: &[Span], width: f32) -> Vec<TextLine> {
    let units = units(spans);
    let mut lines = Vec::new();
    let (mut begin, mut may_break, mut used) = (0, 0, 0.0_f32);
    let mut at = 0;
    while let Some(unit) = units.get(at) {
        let is_space = unit.text == ' ';
        if !is_space && used + unit.advance > width + 0.01 && at > begin {
            let end = if may_break > begin { may_break } else { at };
            lines.push(line(&units[begin..end]));
            (begin, may_break, at, used) = (end, end, end, 0.0);
            continue;
        }
        used += unit.advance;
        at += 1;
        if is_space || matches!(unit.text, '-' | '–' | '—' | '/') {
            may_break = at;
        }
    }
    lines.push(line(&units[begin..]));
    lines
}

/// Sets text in one line however wide.
pub(super) fn single(text: &str, face: Face, size: f32) -> TextLine {
    line(&units(&[Span::new(text, face, size)]))
}

/// Sets one short text with its middle, or an end, at `x`. `align`: 0 begins there, 0.5 is centred, 1 ends there.
pub(super) fn placed(text: &str, face: Face, size: f32, x: f32, y: f32, align: f32) -> Vec<Mark> {
    let line = single(text, face, size);
    line.marks(x - line.width * align, y)
}

/// The same in white.
pub(super) fn placed_white(text: &str, face: Face, size: f32, x: f32, y: f32) -> Vec<Mark> {
    let whiten = |mark| match mark {
        Mark::Text(run) => Mark::Text(Run { is_white: true, ..run }),
        other => other,
    };
    placed(text, face, size, x, y, 0.5).into_iter().map(whiten).collect()
}

/// How wide a text is.
pub(super) fn width(text: &str, face: Face, size: f32) -> f32 {
    single(text, face, size).width
}

/// The size at which a text is no wider than `room`, at most `size`, but never under `least`.
pub(super) fn fitting(text: &str, face: Face, size: f32, room: f32, least: f32) -> f32 {
    let wide = width(text, face, size);
    if wide <= room { size.max(least) } else { (size * room / wide).max(least) }
}

/// The middle of `index` of `all` equal parts of `width`.
pub(super) fn middle_of(index: usize, all: usize, width: f32) -> f32 {
    width * (count(index) + 0.5) / count(all.max(1))
}
