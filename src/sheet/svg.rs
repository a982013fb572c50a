//! Writes a page as SVG 1.1: letters as outlines, so that it looks alike everywhere; its words as title and description.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::escaped;
use super::face::Face;
use super::page::{Document, Ink, Kind, Mark, Path, Run, Segment};

impl Document {
    /// Writes a page, counted from 0; `None` when there is no such page.
    #[must_use]
    pub fn to_svg(&self, page: usize) -> Option<String> {
        let sheet = self.pages.get(page)?;
        let (width, height) = (number(sheet.width), number(sheet.height));
        let mut body = String::new();
        let mut glyphs = Glyphs::default();
        for block in &sheet.blocks {
            let element = block.element.and_then(|index| self.elements.get(index));
            match element {
                Some(element) if element.kind == Kind::Figure => {
                    let _ = write!(body, "<g role=\"img\" aria-label=\"{}\">", escaped(&element.words));
                }
                _ => body.push_str("<g>"),
            }
            for mark in &block.marks {
                match mark {
                    Mark::Text(run) => glyphs.write_run(run, &mut body),
                    Mark::Path(path, ink) => write_path(path, *ink, &mut body),
                }
            }
            body.push_str("</g>\n");
        }
        let language = self.language.code();
        let title = escaped(&self.title);
        let described = escaped(&self.words_of_page(page));
        let mut svg = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        let _ = writeln!(
            svg,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" version=\"1.1\" width=\"{width}pt\" height=\"{height}pt\" viewBox=\"0 0 {width} {height}\" xml:lang=\"{language}\" role=\"img\" aria-labelledby=\"title desc\">"
        );
        let _ = writeln!(svg, "<title id=\"title\">{title}</title>\n<desc id=\"desc\">{described}</desc>");
        let _ = writeln!(svg, "<defs>{}</defs>", glyphs.defined);
        let _ = writeln!(svg, "<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>");
        svg.push_str(&body);
        svg.push_str("</svg>\n");
        Some(svg)
    }

    /// What a page says, in reading order.
    fn words_of_page(&self, page: usize) -> String {
        let blocks = self.pages.get(page).map(|page| page.blocks.as_slice()).unwrap_or_default();
        let mut said: Vec<&str> = Vec::new();
        let mut last = None;
        for index in blocks.iter().filter_map(|block| block.element) {
            if last != Some(index) {
                said.extend(self.elements.get(index).map(|element| element.words.as_str()));
            }
            last = Some(index);
        }
        said.join("\n")
    }
}

/// Outlines that are used, each once, in thousandths of the size.
#[derive(Default)]
struct Glyphs {
    names: BTreeMap<(Face, u16), usize>,
    defined: String,
}

impl Glyphs {
    fn write_run(&mut self, run: &Run, body: &mut String) {
        let colour = if run.is_white { " fill=\"#fff\"" } else { "" };
        let scale = number(run.size / 1000.0);
        let _ = write!(body, "<g transform=\"translate({} {}) scale({scale})\"{colour}>", number(run.x), number(run.y));
        for letter in run.letters.iter().filter(|letter| letter.text != ' ') {
            let name = self.name(run.face, letter.glyph);
            let _ = write!(body, "<use xlink:href=\"#g{name}\" x=\"{}\"/>", number(letter.at / run.size * 1000.0));
        }
        body.push_str("</g>");
    }

    fn name(&mut self, face: Face, glyph: u16) -> usize {
        let next = self.names.len();
        if let Some(&name) = self.names.get(&(face, glyph)) {
            return name;
        }
        self.names.insert((face, glyph), next);
        let mut path = Path::default();
        face.outline(glyph, 1000.0, 0.0, 0.0, &mut path);
        let _ = write!(self.defined, "<path id=\"g{next}\" d=\"{}\"/>", data(&path));
        next
    }
}

fn write_path(path: &Path, ink: Ink, body: &mut String) {
    let data = data(path);
    let _ = match ink {
        Ink::Black => write!(body, "<path d=\"{data}\"/>"),
        Ink::White => write!(body, "<path d=\"{data}\" fill=\"#fff\"/>"),
        Ink::Line(width) => write!(
            body,
            "<path d=\"{data}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
            number(width)
        ),
    };
}

fn data(path: &Path) -> String {
    let mut data = String::new();
    for segment in &path.0 {
        let _ = match *segment {
            Segment::Move(x, y) => write!(data, "M{} {}", number(x), number(y)),
            Segment::Line(x, y) => write!(data, "L{} {}", number(x), number(y)),
            Segment::Curve([one, two, end]) => write!(
                data,
                "C{} {} {} {} {} {}",
                number(one.0),
                number(one.1),
                number(two.0),
                number(two.1),
                number(end.0),
                number(end.1)
            ),
            Segment::Close => write!(data, "Z"),
        };
    }
    data
}

/// Writes a number with at most four digits after the point.
pub(super) fn number(value: f32) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
