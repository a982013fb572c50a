//! Writes a sheet as PDF 1.7, tagged as ISO 14289-1 (PDF/UA-1) asks: every mark belongs to an element or is an artifact.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{ArtifactType, ListNumbering, StructRole, TableHeaderScope};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::page::{Block, Document, Element, Ink, Kind, Mark, Path, Run, Segment};
use super::pdf_fonts::Fonts;

/// Where an element's marks are: the page and the number there.
#[derive(Clone, Copy, Debug)]
struct Marked {
    element: usize,
    page: usize,
    number: i32,
    /// Left, bottom, right, top, up the page.
    held: [f32; 4],
}

/// Hands out object numbers.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

impl Document {
    /// Writes all pages as a PDF: its fonts cut down to the letters used, its text searchable, with title, language,
    /// outline and reading order.
    #[must_use]
    pub fn to_pdf(&self) -> Vec<u8> {
        let mut numbers = Numbers(0);
        let (catalog, tree, info, metadata) = (numbers.next(), numbers.next(), numbers.next(), numbers.next());
        let pages: Vec<Ref> = self.pages.iter().map(|_| numbers.next()).collect();
        let fonts = Fonts::of(self);
        let mut pdf = Pdf::new();
        pdf.set_version(1, 7);
        let mut marked: Vec<Marked> = Vec::new();
        let font_refs = fonts.write(&mut pdf, &mut || numbers.next());
        for (index, page) in self.pages.iter().enumerate() {
            let content = page_content(self, index, &page.blocks, page.height, &fonts, &mut marked);
            let content_ref = numbers.next();
            pdf.stream(content_ref, &squeezed(&content)).filter(Filter::FlateDecode);
            let Some(&reference) = pages.get(index) else { continue };
            let mut written = pdf.page(reference);
            written.parent(tree).media_box(Rect::new(0.0, 0.0, page.width, page.height)).contents(content_ref);
            written.struct_parents(whole(index)).tab_order(pdf_writer::types::TabOrder::StructureOrder);
            let mut resources = written.resources();
            let mut named = resources.fonts();
            for (name, reference) in &font_refs {
                named.pair(Name(name.as_bytes()), *reference);
            }
        }
        pdf.pages(tree).kids(pages.iter().copied()).count(whole(pages.len()));
        let roots = self.structure(&mut pdf, &mut numbers, &pages, &marked);
        let outline = self.outline(&mut pdf, &mut numbers, &pages, &marked);
        pdf.metadata(metadata, self.metadata().as_bytes());
        pdf.document_info(info).title(TextStr(&self.title)).producer(TextStr("Pegwise"));
        let mut root = pdf.catalog(catalog);
        root.pages(tree).lang(TextStr(self.language.code())).metadata(metadata);
        root.viewer_preferences().display_doc_title(true);
        root.mark_info().marked(true);
        if let Some(outline) = outline {
            root.outlines(outline);
        }
        let mut structure = root.struct_tree_root();
        structure.child(roots.document);
        structure.parent_tree_next_key(whole(pages.len()));
        let mut parents = structure.parent_tree();
        let mut entries = parents.nums();
        for (index, list) in roots.parents.iter().enumerate() {
            entries.insert(whole(index), *list);
        }
        entries.finish();
        parents.finish();
        structure.finish();
        root.finish();
        pdf.finish()
    }

    /// Writes what the marks mean.
    fn structure(&self, pdf: &mut Pdf, numbers: &mut Numbers, pages: &[Ref], marked: &[Marked]) -> Roots {
        let document = numbers.next();
        let own: Vec<Ref> = self.elements.iter().map(|_| numbers.next()).collect();
        let of_parent = |parent: Option<usize>| {
            self.elements.iter().zip(&own).filter(move |(element, _)| element.parent == parent).map(|(_, own)| *own)
        };
        let mut root = pdf.struct_element(document);
        root.kind(StructRole::Document).parent(Ref::new(1)).lang(TextStr(self.language.code()));
        root.children().items_of(of_parent(None));
        root.finish();
        for (index, element) in self.elements.iter().enumerate() {
            let Some(&reference) = own.get(index) else { continue };
            let parent = element.parent.and_then(|parent| own.get(parent)).copied().unwrap_or(document);
            let here: Vec<&Marked> = marked.iter().filter(|marked| marked.element == index).collect();
            let mut written = pdf.struct_element(reference);
            written.kind(role(element.kind)).parent(parent);
            if let Some(page) = here.first().and_then(|first| pages.get(first.page)) {
                written.page(*page);
            }
            if element.kind == Kind::Figure {
                written.alt(TextStr(&element.words));
            }
            attributes(&mut written, element, &here, self, index);
            let mut children = written.children();
            for marked in here {
                if let Some(page) = pages.get(marked.page) {
                    children.marked_content_ref().page(*page).marked_content_id(marked.number);
                }
            }
            for child in of_parent(Some(index)) {
                children.struct_element(child);
            }
        }
        let parents = (0..pages.len()).map(|page| {
            let list = numbers.next();
            let on_page = marked.iter().filter(|marked| marked.page == page);
            let items: Vec<Ref> = on_page.filter_map(|marked| own.get(marked.element)).copied().collect();
            pdf.indirect(list).array().items(items);
            list
        });
        let parents = parents.collect();
        Roots { document, parents }
    }

    /// Writes a way to each heading; `None` where there is none.
    fn outline(&self, pdf: &mut Pdf, numbers: &mut Numbers, pages: &[Ref], marked: &[Marked]) -> Option<Ref> {
        let headed: Vec<(&Element, Marked, Ref)> = self
            .elements
            .iter()
            .enumerate()
            .filter(|(_, element)| matches!(element.kind, Kind::Title | Kind::Heading))
            .filter_map(|(index, element)| {
                let first = marked.iter().find(|marked| marked.element == index)?;
                Some((element, *first, numbers.next()))
            })
            .collect();
        let (first, last) = (headed.first()?.2, headed.last()?.2);
        let outline = numbers.next();
        pdf.outline(outline).first(first).last(last).count(whole(headed.len()));
        for (index, (element, marked, reference)) in headed.iter().enumerate() {
            let mut item = pdf.outline_item(*reference);
            item.title(TextStr(&element.words)).parent(outline);
            if let Some((_, _, before)) = index.checked_sub(1).and_then(|before| headed.get(before)) {
                item.prev(*before);
            }
            if let Some((_, _, after)) = headed.get(index + 1) {
                item.next(*after);
            }
            if let Some(page) = pages.get(marked.page) {
                item.dest().page(*page).xyz(marked.held[0], marked.held[3] + 4.0, None);
            }
        }
        Some(outline)
    }

    /// What the file is, as XMP says it (ISO 16684-1).
    fn metadata(&self) -> String {
        let title = super::escaped(&self.title);
        let language = self.language.code();
        format!(
            concat!(
                "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>",
                "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">",
                "<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" ",
                "xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" xmlns:pdfuaid=\"http://www.aiim.org/pdfua/ns/id/\">",
                "<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>",
                "<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>",
                "<pdf:Producer>Pegwise</pdf:Producer><pdfuaid:part>1</pdfuaid:part>",
                "</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end=\"r\"?>"
            ),
            title = title,
            language = language
        )
    }
}

struct Roots {
    document: Ref,
    parents: Vec<Ref>,
}

const fn role(kind: Kind) -> StructRole {
    match kind {
        Kind::Title => StructRole::H1,
        Kind::Heading => StructRole::H2,
        Kind::Paragraph => StructRole::P,
        Kind::List => StructRole::L,
        Kind::Item => StructRole::LI,
        Kind::Label => StructRole::Lbl,
        Kind::Body => StructRole::LBody,
        Kind::Figure => StructRole::Figure,
        Kind::Table => StructRole::Table,
        Kind::Row => StructRole::TR,
        Kind::HeadCell => StructRole::TH,
        Kind::Cell => StructRole::TD,
    }
}

fn attributes(
    written: &mut pdf_writer::writers::StructElement<'_>,
    element: &Element,
    here: &[&Marked],
    document: &Document,
    index: usize,
) {
    match element.kind {
        Kind::List => {
            let is_numbered =
                document.elements.iter().skip(index).any(|item| item.kind == Kind::Label && item.words.ends_with('.'));
            let numbering = if is_numbered { ListNumbering::Decimal } else { ListNumbering::Disc };
            written.attributes().push().list().list_numbering(numbering);
        }
        Kind::HeadCell => {
            written.attributes().push().table().scope(TableHeaderScope::Column);
        }
        Kind::Figure => {
            if let Some(first) = here.first() {
                let [left, bottom, right, top] = first.held;
                written.attributes().push().layout().bbox(Rect::new(left, bottom, right, top));
            }
        }
        _ => {}
    }
}

/// Writes a page's marks, and tells which are whose.
fn page_content(
    document: &Document,
    page: usize,
    blocks: &[Block],
    height: f32,
    fonts: &Fonts,
    marked: &mut Vec<Marked>,
) -> Vec<u8> {
    let mut content = Content::new();
    let mut number = 0;
    content.set_line_cap(pdf_writer::types::LineCapStyle::RoundCap);
    content.set_line_join(pdf_writer::types::LineJoinStyle::RoundJoin);
    for block in blocks.iter().filter(|block| !block.marks.is_empty()) {
        match block.element.and_then(|index| document.elements.get(index).map(|element| (index, element))) {
            Some((index, element)) => {
                let tag = role(element.kind).to_name();
                content.begin_marked_content_with_properties(tag).properties().identify(number);
                marked.push(Marked { element: index, page, number, held: held(&block.marks, height) });
                number += 1;
            }
            None => {
                let mut begun = content.begin_marked_content_with_properties(Name(b"Artifact"));
                begun.properties().artifact().kind(ArtifactType::Layout);
            }
        }
        for mark in &block.marks {
            match mark {
                Mark::Text(run) => write_run(&mut content, run, height, fonts),
                Mark::Path(path, ink) => write_path(&mut content, path, *ink, height),
            }
        }
        content.end_marked_content();
    }
    content.finish().into_vec()
}

/// What holds the marks, up the page.
fn held(marks: &[Mark], height: f32) -> [f32; 4] {
    let all = marks.iter().filter_map(Mark::bounds);
    let whole =
        all.reduce(|[l, t, r, b], [left, top, right, bottom]| [l.min(left), t.min(top), r.max(right), b.max(bottom)]);
    let [left, top, right, bottom] = whole.unwrap_or_default();
    [left, height - bottom, right, height - top]
}

fn write_run(content: &mut Content, run: &Run, height: f32, fonts: &Fonts) {
    if run.letters.is_empty() {
        return;
    }
    if run.has_lost() {
        content.begin_marked_content_with_properties(Name(b"Span")).properties().actual_text(TextStr(&run.text()));
    }
    content.set_fill_gray(if run.is_white { 1.0 } else { 0.0 });
    content.begin_text();
    content.set_font(Name(Fonts::name(run.face).as_bytes()), run.size);
    content.next_line(run.x, height - run.y);
    let mut shown = content.show_positioned();
    let mut items = shown.items();
    let mut piece: Vec<u8> = Vec::new();
    for letter in &run.letters {
        piece.extend(fonts.number(run.face, letter.glyph).to_be_bytes());
        let kerned = letter.advance - run.face.advance(letter.glyph) * run.size;
        if kerned.abs() > 0.001 {
            items.show(Str(&piece)).adjust((-kerned / run.size * 1000.0).round());
            piece.clear();
        }
    }
    if !piece.is_empty() {
        items.show(Str(&piece));
    }
    items.finish();
    shown.finish();
    content.end_text();
    if run.has_lost() {
        content.end_marked_content();
    }
}

fn write_path(content: &mut Content, path: &Path, ink: Ink, height: f32) {
    let round = |value: f32| (value * 1000.0).round() / 1000.0;
    let up = |(x, y): (f32, f32)| (round(x), round(height - y));
    match ink {
        Ink::Line(width) => content.set_line_width(round(width)).set_stroke_gray(0.0),
        Ink::Black => content.set_fill_gray(0.0),
        Ink::White => content.set_fill_gray(1.0),
    };
    for segment in &path.0 {
        match *segment {
            Segment::Move(x, y) => {
                let (x, y) = up((x, y));
                content.move_to(x, y);
            }
            Segment::Line(x, y) => {
                let (x, y) = up((x, y));
                content.line_to(x, y);
            }
            Segment::Curve(points) => {
                let [one, two, end] = points.map(up);
                content.cubic_to(one.0, one.1, two.0, two.1, end.0, end.1);
            }
            Segment::Close => {
                content.close_path();
            }
        }
    }
    match ink {
        Ink::Line(_) => content.stroke(),
        Ink::Black | Ink::White => content.fill_nonzero(),
    };
}

/// Compresses as `FlateDecode` reads it.
pub(super) fn squeezed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    // Memory takes all that is written to it.
    let written = encoder.write_all(bytes).and_then(|()| encoder.finish());
    written.unwrap_or_default()
}

/// A count as PDF writes it.
fn whole(number: usize) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

trait ItemsOf {
    fn items_of(&mut self, items: impl Iterator<Item = Ref>);
}

impl ItemsOf for pdf_writer::writers::StructChildren<'_> {
    fn items_of(&mut self, items: impl Iterator<Item = Ref>) {
        for item in items {
            self.struct_element(item);
        }
    }
}
