//! A sheet as it is laid out: pages of marks, and what they mean in reading order.
//!
//! Lengths are points, 72 to the inch; x runs right and y down from the page's upper left corner.

use super::face::Face;
use crate::instrument::Language;

/// A sheet, laid out. [`Document::to_pdf`], [`Document::to_svg`], [`Document::to_png`] and [`Document::to_text`] write
/// it.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    pub(super) title: String,
    pub(super) language: Language,
    /// In reading order; a parent stands before its children.
    pub(super) elements: Vec<Element>,
    pub(super) pages: Vec<Page>,
    pub(super) lost: Vec<char>,
}

impl Document {
    /// Returns the title.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Returns the number of pages, at least one.
    #[must_use]
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Returns the letters the fonts lack, each once in order of appearance; a question mark stands for each.
    #[must_use]
    pub fn lost_letters(&self) -> &[char] {
        &self.lost
    }
}

/// What a part of a sheet is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// The one title.
    Title,
    /// A heading below it.
    Heading,
    Paragraph,
    List,
    /// Holds a label and a body.
    Item,
    Label,
    Body,
    /// A drawing with words for it.
    Figure,
    Table,
    Row,
    HeadCell,
    Cell,
}

/// A part of a sheet with what it says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Element {
    pub(super) kind: Kind,
    /// The element it belongs to, an index into [`Document::elements`].
    pub(super) parent: Option<usize>,
    /// Its text; for a figure the words that stand for it, for a list or a table none.
    pub(super) words: String,
}

/// One side of paper.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Page {
    pub(super) width: f32,
    pub(super) height: f32,
    pub(super) blocks: Vec<Block>,
}

/// Marks that belong to one element; to none where they say nothing (rules, page numbers).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Block {
    pub(super) element: Option<usize>,
    pub(super) marks: Vec<Mark>,
}

/// How something is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Ink {
    /// Filled black.
    Black,
    /// Filled white, on black.
    White,
    /// A black line, round at its ends and corners, of this width.
    Line(f32),
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Mark {
    Text(Run),
    Path(Path, Ink),
}

/// Letters of one face and size on one baseline.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Run {
    pub(super) face: Face,
    pub(super) size: f32,
    /// Where the baseline begins.
    pub(super) x: f32,
    pub(super) y: f32,
    pub(super) letters: Vec<Letter>,
    /// White on black.
    pub(super) is_white: bool,
}

impl Run {
    /// The text as it was given, lost letters included.
    pub(super) fn text(&self) -> String {
        self.letters.iter().map(|letter| letter.text).collect()
    }

    pub(super) fn has_lost(&self) -> bool {
        self.letters.iter().any(|letter| letter.is_lost)
    }
}

/// A glyph and the letter it stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Letter {
    pub(super) glyph: u16,
    pub(super) text: char,
    /// How far from the run's beginning.
    pub(super) at: f32,
    /// The pen's way to the next letter, kerning included.
    pub(super) advance: f32,
    /// A stand-in.
    pub(super) is_lost: bool,
}

/// A step of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Segment {
    Move(f32, f32),
    Line(f32, f32),
    Curve([(f32, f32); 3]),
    Close,
}

/// An outline or a line.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Path(pub(super) Vec<Segment>);

/// How far a quarter circle's handles lie from its ends, as a share of the radius: 4 (√2 − 1) / 3, within 0.03 % of a
/// circle.
const ROUND: f32 = 0.552_284_8;

impl Path {
    pub(super) fn move_to(&mut self, x: f32, y: f32) {
        self.0.push(Segment::Move(x, y));
    }

    pub(super) fn line_to(&mut self, x: f32, y: f32) {
        self.0.push(Segment::Line(x, y));
    }

    pub(super) fn curve_to(&mut self, first: (f32, f32), second: (f32, f32), end: (f32, f32)) {
        self.0.push(Segment::Curve([first, second, end]));
    }

    pub(super) fn close(&mut self) {
        self.0.push(Segment::Close);
    }

    pub(super) fn line(x1: f32, y1: f32, x2: f32, y2: f32) -> Self {
        Self(vec![Segment::Move(x1, y1), Segment::Line(x2, y2)])
    }

    pub(super) fn polygon(points: &[(f32, f32)]) -> Self {
        let mut path = Self::default();
        for (index, &(x, y)) in points.iter().enumerate() {
            if index == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
        }
        path.close();
        path
    }

    pub(super) fn rectangle(left: f32, top: f32, width: f32, height: f32) -> Self {
        let (right, bottom) = (left + width, top + height);
        Self::polygon(&[(left, top), (right, top), (right, bottom), (left, bottom)])
    }

    pub(super) fn disc(x: f32, y: f32, radius: f32) -> Self {
        Self::rounded(x - radius, y - radius, 2.0 * radius, 2.0 * radius, radius)
    }

    pub(super) fn diamond(x: f32, y: f32, radius: f32) -> Self {
        Self::polygon(&[(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)])
    }

    pub(super) fn rounded(left: f32, top: f32, width: f32, height: f32, radius: f32) -> Self {
        let (right, bottom, near) = (left + width, top + height, radius * (1.0 - ROUND));
        let mut path = Self::default();
        path.move_to(left + radius, top);
        path.line_to(right - radius, top);
        path.curve_to((right - near, top), (right, top + near), (right, top + radius));
        path.line_to(right, bottom - radius);
        path.curve_to((right, bottom - near), (right - near, bottom), (right - radius, bottom));
        path.line_to(left + radius, bottom);
        path.curve_to((left + near, bottom), (left, bottom - near), (left, bottom - radius));
        path.line_to(left, top + radius);
        path.curve_to((left, top + near), (left + near, top), (left + radius, top));
        path.close();
        path
    }

    /// The points that hold it: left, top, right, bottom; `None` when it is empty.
    pub(super) fn bounds(&self) -> Option<[f32; 4]> {
        let mut held: Option<[f32; 4]> = None;
        let mut hold = |x: f32, y: f32| {
            let [left, top, right, bottom] = held.unwrap_or([x, y, x, y]);
            held = Some([left.min(x), top.min(y), right.max(x), bottom.max(y)]);
        };
        for segment in &self.0 {
            match *segment {
                Segment::Move(x, y) | Segment::Line(x, y) => hold(x, y),
                Segment::Curve(points) => points.iter().for_each(|&(x, y)| hold(x, y)),
                Segment::Close => {}
            }
        }
        held
    }

    /// Moves all of it.
    pub(super) fn moved(mut self, by_x: f32, by_y: f32) -> Self {
        for segment in &mut self.0 {
            match segment {
                Segment::Move(x, y) | Segment::Line(x, y) => {
                    *x += by_x;
                    *y += by_y;
                }
                Segment::Curve(points) => points.iter_mut().for_each(|(x, y)| {
                    *x += by_x;
                    *y += by_y;
                }),
                Segment::Close => {}
            }
        }
        self
    }
}

impl Mark {
    /// Moves it.
    pub(super) fn moved(self, by_x: f32, by_y: f32) -> Self {
        match self {
            Self::Text(run) => Self::Text(Run { x: run.x + by_x, y: run.y + by_y, ..run }),
            Self::Path(path, ink) => Self::Path(path.moved(by_x, by_y), ink),
        }
    }

    /// The points that hold it: left, top, right, bottom, as far as its letters' advance and cap height or its line reach.
    pub(super) fn bounds(&self) -> Option<[f32; 4]> {
        match self {
            Self::Text(run) => {
                let last = run.letters.last()?;
                let (up, down) = run.face.reach();
                Some([run.x, run.y - up * run.size, run.x + last.at + last.advance, run.y - down * run.size])
            }
            Self::Path(path, ink) => {
                let grown = if let Ink::Line(width) = ink { width / 2.0 } else { 0.0 };
                path.bounds()
                    .map(|[left, top, right, bottom]| [left - grown, top - grown, right + grown, bottom + grown])
            }
        }
    }
}
