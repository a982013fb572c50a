//! Sets one thing below the other, page by page: nothing cut, no heading left alone at a page's foot, no single line of
//! a paragraph on a page by itself.

use super::count;
use super::face::Face;
use super::lines::{self, Span, TextLine, broken};
use super::page::{Block, Document, Element, Ink, Kind, Mark, Page, Path};
use super::paper::SheetOptions;

/// Type sizes in points.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sizes {
    pub(super) body: f32,
    pub(super) small: f32,
    pub(super) heading: f32,
    pub(super) title: f32,
    /// The least size of digits in shapes.
    pub(super) digit: f32,
}

impl Sizes {
    const NORMAL: Self = Self { body: 10.5, small: 9.5, heading: 14.0, title: 30.0, digit: 7.0 };
    const LARGE: Self = Self { body: 18.0, small: 18.0, heading: 22.0, title: 38.0, digit: 14.0 };
}

/// From baseline to baseline, as a share of the size.
const LEADING: f32 = 1.32;

/// A drawing: its marks measured from its own upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawing {
    pub(super) width: f32,
    pub(super) height: f32,
    /// How much of it, at its left, may hang out of its place among others.
    pub(super) hang: f32,
    pub(super) marks: Vec<Mark>,
    /// What it shows, for who does not see it.
    pub(super) words: String,
}

/// A column of a table: its share of the width, and whether its text ends at its right edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    pub(super) share: f32,
    pub(super) is_number: bool,
}

/// A sheet being set.
#[derive(Debug)]
pub(super) struct Composer<'a> {
    pub(super) options: &'a SheetOptions,
    pub(super) size: Sizes,
    document: Document,
    /// Where the next thing begins.
    y: f32,
    pub(super) left: f32,
    pub(super) width: f32,
    top: f32,
    bottom: f32,
}

impl<'a> Composer<'a> {
    pub(super) fn new(options: &'a SheetOptions, title: &str) -> Self {
        let (width, height) = options.paper.points();
        let size = if options.is_large { Sizes::LARGE } else { Sizes::NORMAL };
        let (side, top, foot) = (if options.is_large { 42.0 } else { 52.0 }, 42.0, 54.0);
        let page = Page { width, height, blocks: Vec::new() };
        let document = Document {
            title: title.split_whitespace().collect::<Vec<_>>().join(" "),
            language: options.language,
            elements: Vec::new(),
            pages: vec![page],
            lost: Vec::new(),
        };
        Self { options, size, document, y: top, left: side, width: width - 2.0 * side, top, bottom: height - foot }
    }

    /// A drawing as a page of its own, just large enough.
    pub(super) fn alone(options: &SheetOptions, title: &str, drawing: Drawing) -> Document {
        const MARGIN: f32 = 4.0;
        // A long name of a fret may reach further left than the drawing says.
        let over = drawing.marks.iter().filter_map(Mark::bounds).map(|[left, ..]| -left).fold(0.0, f32::max);
        let (width, height) = (drawing.width + over + 2.0 * MARGIN, drawing.height + 2.0 * MARGIN);
        let marks = drawing.marks.into_iter().map(|mark| mark.moved(MARGIN + over, MARGIN)).collect();
        Document {
            title: title.to_owned(),
            language: options.language,
            elements: vec![Element { kind: Kind::Figure, parent: None, words: drawing.words }],
            pages: vec![Page { width, height, blocks: vec![Block { element: Some(0), marks }] }],
            lost: Vec::new(),
        }
    }

    /// How much is left of the page.
    pub(super) fn room(&self) -> f32 {
        self.bottom - self.y
    }

    /// How high a page is at most.
    pub(super) fn most_room(&self) -> f32 {
        self.bottom - self.top
    }

    pub(super) fn space(&mut self, height: f32) {
        // None is needed at the top of a page.
        if self.y > self.top {
            self.y += height;
        }
    }

    fn new_page(&mut self) {
        let (width, height) = self.options.paper.points();
        self.document.pages.push(Page { width, height, blocks: Vec::new() });
        self.y = self.top;
    }

    /// Goes on to the next page unless this much is left, or the page is empty.
    pub(super) fn ensure(&mut self, height: f32) {
        if self.room() < height && self.y > self.top {
            self.new_page();
        }
    }

    pub(super) fn element(&mut self, kind: Kind, parent: Option<usize>, words: impl Into<String>) -> usize {
        self.document.elements.push(Element { kind, parent, words: words.into() });
        self.document.elements.len() - 1
    }

    pub(super) fn draw(&mut self, element: Option<usize>, marks: Vec<Mark>) {
        if let Some(page) = self.document.pages.last_mut() {
            page.blocks.push(Block { element, marks });
        }
    }

    fn note_lost(&mut self, line: &TextLine) {
        for letter in line.lost() {
            if !self.document.lost.contains(&letter) {
                self.document.lost.push(letter);
            }
        }
    }

    /// Sets lines from `x` on, as many on each page as go, never one alone where there are more.
    fn set_lines(&mut self, element: usize, lines: &[TextLine], x: f32) {
        let high = |line: &TextLine| line.size() * LEADING;
        let mut left = lines;
        while !left.is_empty() {
            let mut fits = 0;
            let mut used = 0.0;
            while let Some(line) = left.get(fits).filter(|line| used + high(line) <= self.room() + 0.01) {
                used += high(line);
                fits += 1;
            }
            let rest = left.len() - fits;
            if rest == 1 && fits > 2 {
                fits -= 1;
            }
            let is_poor = fits < left.len() && (fits < 2 || rest == 1 && fits <= 2);
            if is_poor && self.y > self.top {
                self.new_page();
                continue;
            }
            let (now, later) = left.split_at(fits.max(1));
            let mut marks = Vec::new();
            for line in now {
                self.note_lost(line);
                self.y += high(line);
                let baseline = self.y - line.size() * (LEADING - 1.0) * 0.85 - line.size() * 0.1;
                marks.extend(line.marks(x, baseline));
            }
            self.draw(Some(element), marks);
            left = later;
            if !left.is_empty() {
                self.new_page();
            }
        }
    }

    fn plain(spans: &[Span]) -> String {
        spans.iter().map(|span| span.text.as_str()).collect()
    }

    pub(super) fn body(&self, text: impl Into<String>) -> Span {
        Span::new(text, Face::Regular, self.size.body)
    }

    pub(super) fn strong(&self, text: impl Into<String>) -> Span {
        Span::new(text, Face::Bold, self.size.body)
    }

    pub(super) fn small(&self, text: impl Into<String>) -> Span {
        Span::new(text, Face::Regular, self.size.small)
    }

    /// The title, in as many lines as it takes.
    pub(super) fn title(&mut self) {
        let text = self.document.title.clone();
        let longest = text.split(' ').max_by_key(|word| word.chars().count()).unwrap_or_default().to_owned();
        let size = lines::fitting(&longest, Face::ExtraBold, self.size.title, self.width, self.size.heading);
        let spans = [Span::new(text.clone(), Face::ExtraBold, size)];
        let element = self.element(Kind::Title, None, text);
        let lines = broken(&spans, self.width);
        self.set_lines(element, &lines, self.left);
    }

    /// A heading, with at least `follows` of what comes after it on the same page.
    pub(super) fn heading(&mut self, text: &str, follows: f32) {
        let spans = [Span::new(text, Face::ExtraBold, self.size.heading)];
        let lines = broken(&spans, self.width);
        let high: f32 = lines.iter().map(|line| line.size() * LEADING).sum();
        self.space(self.size.body * 0.9);
        self.ensure(high + self.size.body * 0.3 + follows);
        let element = self.element(Kind::Heading, None, text);
        self.set_lines(element, &lines, self.left);
        self.space(self.size.body * 0.3);
    }

    pub(super) fn paragraph(&mut self, spans: &[Span]) {
        let element = self.element(Kind::Paragraph, None, Self::plain(spans));
        let lines = broken(spans, self.width);
        self.set_lines(element, &lines, self.left);
    }

    /// The name of an entry of a list.
    pub(super) fn large(&self, text: impl Into<String>) -> Span {
        Span::new(text, Face::ExtraBold, self.size.body * 1.35)
    }

    /// A line that is drawn rather than set: its marks, measured from its upper left corner, say `words`. It stays on a
    /// page with `below` points of what comes after.
    pub(super) fn marked_line(&mut self, words: String, marks: Vec<Mark>, height: f32, below: f32) {
        self.ensure(height + below);
        let element = self.element(Kind::Paragraph, None, words);
        let (x, y) = (self.left, self.y);
        self.draw_seen(element, marks.into_iter().map(|mark| mark.moved(x, y)).collect());
        self.y += height;
    }

    /// Marks that are a drawing, measured from its upper left corner at the left margin.
    pub(super) fn marked_figure(&mut self, words: String, marks: Vec<Mark>, height: f32) {
        self.ensure(height);
        let element = self.element(Kind::Figure, None, words);
        let (x, y) = (self.left, self.y);
        self.draw_seen(element, marks.into_iter().map(|mark| mark.moved(x, y)).collect());
        self.y += height;
    }

    pub(super) fn list(&mut self) -> usize {
        self.element(Kind::List, None, "")
    }

    /// An item of a list with its label, in paragraphs kept together where a page can hold them.
    pub(super) fn item(&mut self, list: usize, label: &str, paragraphs: &[Vec<Span>]) {
        let indent = self.size.body * if label.chars().count() > 2 { 2.4 } else { 1.7 };
        let set: Vec<Vec<TextLine>> = paragraphs.iter().map(|spans| broken(spans, self.width - indent)).collect();
        let high: f32 = set.iter().flatten().map(|line| line.size() * LEADING).sum();
        self.ensure(high.min(self.most_room()));
        let item = self.element(Kind::Item, Some(list), "");
        let name = self.element(Kind::Label, Some(item), label);
        let body = self.element(Kind::Body, Some(item), "");
        let label = lines::single(label, Face::Bold, self.size.body);
        let first = set.first().and_then(|lines| lines.first()).map_or(self.size.body, TextLine::size);
        let baseline = self.y + first * LEADING - first * (LEADING - 1.0) * 0.85 - first * 0.1;
        self.draw(Some(name), label.marks(self.left, baseline));
        for (spans, lines) in paragraphs.iter().zip(&set) {
            let element = self.element(Kind::Paragraph, Some(body), Self::plain(spans));
            self.set_lines(element, lines, self.left + indent);
        }
        if paragraphs.len() > 1 {
            self.space(self.size.body * 0.35);
        }
    }

    /// Places a drawing with its upper left corner there.
    fn put(&mut self, drawing: Drawing, x: f32, y: f32) {
        let element = self.element(Kind::Figure, None, drawing.words);
        self.draw_seen(element, drawing.marks.into_iter().map(|mark| mark.moved(x, y)).collect());
    }

    /// Draws, and notes the letters the fonts lack.
    fn draw_seen(&mut self, element: usize, marks: Vec<Mark>) {
        for mark in &marks {
            if let Mark::Text(run) = mark {
                for letter in run.letters.iter().filter(|letter| letter.is_lost) {
                    if !self.document.lost.contains(&letter.text) {
                        self.document.lost.push(letter.text);
                    }
                }
            }
        }
        self.draw(Some(element), marks);
    }

    /// A drawing by itself; `align` is 0 for the left, 0.5 for the middle.
    pub(super) fn figure(&mut self, drawing: Drawing, align: f32) {
        self.ensure(drawing.height.min(self.most_room()));
        let x = self.left + (self.width - drawing.width) * align;
        let (y, high) = (self.y, drawing.height);
        self.put(drawing, x, y);
        self.y += high;
    }

    /// Drawings side by side, row by row.
    pub(super) fn figures(&mut self, drawings: Vec<Drawing>, columns: usize, gap: f32, below: f32) {
        let columns = columns.max(1);
        let room = (self.width - gap * count(columns - 1)) / count(columns);
        let mut rows = drawings.into_iter().peekable();
        while rows.peek().is_some() {
            let row: Vec<Drawing> = rows.by_ref().take(columns).collect();
            let high = row.iter().map(|drawing| drawing.height).fold(0.0, f32::max);
            self.ensure(high);
            let y = self.y;
            for (index, drawing) in row.into_iter().enumerate() {
                let x = self.left + (room + gap) * count(index) - drawing.hang;
                self.put(drawing, x, y);
            }
            self.y += high;
            self.space(below);
        }
    }

    /// A table with a row of headings. A row is never parted; texts too wide for their column are set smaller, then broken.
    pub(super) fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let table = self.element(Kind::Table, None, "");
        let gap = self.size.body * 0.6;
        let least = if self.options.is_large { 18.0 } else { 9.0 };
        for (number, row) in rows.iter().enumerate() {
            let is_head = number == 0;
            let face = if is_head { Face::Bold } else { Face::Regular };
            let set: Vec<Vec<TextLine>> = row
                .iter()
                .zip(columns)
                .map(|(text, column)| {
                    let room = self.width * column.share - gap;
                    let size = lines::fitting(text, face, self.size.body, room, least);
                    broken(&[Span::new(text.clone(), face, size)], room)
                })
                .collect();
            let high = set.iter().map(|lines| lines.iter().map(|line| line.size() * LEADING).sum()).fold(0.0, f32::max);
            self.ensure(if is_head { 3.0 * high } else { high });
            let element = self.element(Kind::Row, Some(table), "");
            let (mut x, top) = (self.left, self.y);
            for ((lines, column), text) in set.iter().zip(columns).zip(row) {
                let kind = if is_head { Kind::HeadCell } else { Kind::Cell };
                let cell = self.element(kind, Some(element), text.clone());
                let room = self.width * column.share - gap;
                let mut marks = Vec::new();
                let mut baseline = top;
                for line in lines {
                    self.note_lost(line);
                    baseline += line.size() * LEADING;
                    let start = if column.is_number { x + room - line.width } else { x };
                    marks.extend(line.marks(start, baseline - line.size() * 0.36));
                }
                self.draw(Some(cell), marks);
                x += self.width * column.share;
            }
            self.y = top + high;
            if is_head {
                let rule = Path::line(self.left, self.y + 1.0, self.left + self.width, self.y + 1.0);
                self.draw(None, vec![Mark::Path(rule, Ink::Line(0.6))]);
                self.y += 3.0;
            }
        }
    }

    /// A text in a frame.
    pub(super) fn framed(&mut self, spans: &[Span]) {
        let inner = self.size.body * 0.8;
        let lines = broken(spans, self.width - 2.0 * inner);
        let high = lines.iter().map(|line| line.size() * LEADING).sum::<f32>() + 1.6 * inner;
        self.ensure(high);
        let frame = Path::rounded(self.left, self.y, self.width, high, 6.0);
        self.draw(None, vec![Mark::Path(frame, Ink::Line(1.2))]);
        let element = self.element(Kind::Paragraph, None, Self::plain(spans));
        let top = self.y;
        self.y += inner * 0.75;
        self.set_lines(element, &lines, self.left + inner);
        self.y = self.y.max(top + high);
    }

    /// Ends the sheet: the title and the page's number go to the foot of each page where there are several.
    pub(super) fn finish(mut self) -> Document {
        let all = self.document.pages.len();
        if all > 1 {
            let y = self.bottom + 26.0;
            let size = self.size.small;
            for page in 0..all {
                let number = format!("{} / {all}", page + 1);
                let wide = lines::width(&number, Face::Bold, size);
                let title = shortened(&self.document.title, size, self.width - wide - 2.0 * size);
                let mut marks = lines::placed(&title, Face::Regular, size, self.left, y, 0.0);
                marks.extend(lines::placed(&number, Face::Bold, size, self.left + self.width, y, 1.0));
                if let Some(page) = self.document.pages.get_mut(page) {
                    page.blocks.push(Block { element: None, marks });
                }
            }
        }
        self.document
    }
}

/// A text that fits in `room`: at its end "…" where it had to be shortened. For what stands in full elsewhere.
fn shortened(text: &str, size: f32, room: f32) -> String {
    if lines::width(text, Face::Regular, size) <= room {
        return text.to_owned();
    }
    let mut kept = text.to_owned();
    while kept.pop().is_some() {
        let shown = format!("{}…", kept.trim_end());
        if lines::width(&shown, Face::Regular, size) <= room {
            return shown;
        }
    }
    String::new()
}
