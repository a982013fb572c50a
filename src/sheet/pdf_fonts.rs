//! The fonts a PDF carries: cut down to the letters that are used, with the way back from glyph to letter.

use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, Str};
use subsetter::GlyphRemapper;

use super::face::Face;
use super::page::{Document, Mark};
use super::pdf::squeezed;

const IDENTITY: SystemInfo<'static> = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// The glyphs of each face that are used.
pub(super) struct Fonts {
    used: BTreeMap<Face, Used>,
}

#[derive(Default)]
struct Used {
    remapper: GlyphRemapper,
    /// Old number, and the letter it stands for.
    letters: BTreeMap<u16, char>,
}

impl Fonts {
    pub(super) fn of(document: &Document) -> Self {
        let mut used: BTreeMap<Face, Used> = BTreeMap::new();
        for mark in document.pages.iter().flat_map(|page| &page.blocks).flat_map(|block| &block.marks) {
            let Mark::Text(run) = mark else { continue };
            let face = used.entry(run.face).or_default();
            for letter in &run.letters {
                face.remapper.remap(letter.glyph);
                let text = if letter.is_lost { super::face::STAND_IN } else { letter.text };
                face.letters.entry(letter.glyph).or_insert(text);
            }
        }
        Self { used }
    }

    /// What content streams call a face.
    pub(super) const fn name(face: Face) -> &'static str {
        match face {
            Face::Regular => "F1",
            Face::Bold => "F2",
            Face::ExtraBold => "F3",
            Face::Staff => "F4",
        }
    }

    /// The number a glyph has in the file.
    pub(super) fn number(&self, face: Face, glyph: u16) -> u16 {
        self.used.get(&face).and_then(|used| used.remapper.get(glyph)).unwrap_or(0)
    }

    /// Writes the fonts, and tells where each is.
    pub(super) fn write(&self, pdf: &mut Pdf, next: &mut impl FnMut() -> Ref) -> Vec<(&'static str, Ref)> {
        let write = |(&face, used): (&Face, &Used)| (Self::name(face), used.write(face, pdf, next));
        self.used.iter().map(write).collect()
    }
}

impl Used {
    fn write(&self, face: Face, pdf: &mut Pdf, next: &mut impl FnMut() -> Ref) -> Ref {
        let [font, cid, descriptor, file, unicode] = [(); 5].map(|()| next());
        // Six letters mark a part of a font.
        let name = format!("PEGWIS+{}", face.post_script_name());
        let name = Name(name.as_bytes());
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(unicode);
        let mut written = pdf.cid_font(cid);
        written.subtype(CidFontType::Type2).base_font(name).system_info(IDENTITY).font_descriptor(descriptor);
        written.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
        let advances = self.remapper.remapped_gids().map(|glyph| (face.advance(glyph) * 1000.0).round());
        written.widths().consecutive(0, advances);
        written.finish();
        let (up, down) = face.reach();
        let [left, bottom, right, top] = face.bounds();
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::SYMBOLIC)
            .bbox(Rect::new(left, bottom, right, top))
            .italic_angle(0.0)
            .ascent(up * 1000.0)
            .descent(down * 1000.0)
            .cap_height(face.cap_height() * 1000.0)
            .weight(face.weight())
            .stem_v(if face == Face::Regular { 80.0 } else { 130.0 })
            .font_file2(file);
        let cut = subsetter::subset(face.bytes(), 0, &self.remapper);
        // The fonts are our own, and a test cuts each; should it fail all the same, the whole font does, glyph by glyph.
        let cut = cut.unwrap_or_else(|_| face.bytes().to_vec());
        let length = i32::try_from(cut.len()).unwrap_or(i32::MAX);
        let squeezed_cut = squeezed(&cut);
        let mut stream = pdf.stream(file, &squeezed_cut);
        stream.filter(Filter::FlateDecode);
        stream.pair(Name(b"Length1"), length);
        stream.finish();
        let mut map = UnicodeCmap::<u16>::new(Name(b"Custom"), IDENTITY);
        for (&glyph, &letter) in &self.letters {
            if let Some(number) = self.remapper.get(glyph) {
                map.pair(number, letter);
            }
        }
        let map = map.finish();
        let map = squeezed(map.as_slice());
        pdf.cmap(unicode, &map).filter(Filter::FlateDecode);
        font
    }
}
