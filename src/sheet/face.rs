//! The typefaces: widths, kerning and outlines of Pegwise Sans.

use once_cell::sync::Lazy;
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{GlyphId, Tag};

use super::page::Path;

/// A weight of the family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Face {
    Regular,
    Bold,
    ExtraBold,
    /// Clefs, rests and flags: four spaces of a stave to the em, its lower line on the baseline.
    Staff,
}

/// What stands for a letter the family lacks.
pub(super) const STAND_IN: char = '?';

struct Parsed {
    bytes: &'static [u8],
    face: ttf_parser::Face<'static>,
    kern_lookups: Vec<u16>,
}

impl Parsed {
    fn new(bytes: &'static [u8]) -> Self {
        let face = ttf_parser::Face::parse(bytes, 0).expect("a test reads the bundled fonts");
        let kern = Tag::from_bytes(b"kern");
        let kern_lookups = face.tables().gpos.map_or_else(Vec::new, |gpos| {
            let features = gpos.features.into_iter().filter(|feature| feature.tag == kern);
            let mut all: Vec<u16> = features.flat_map(|feature| feature.lookup_indices).collect();
            all.sort_unstable();
            all.dedup();
            all
        });
        Self { bytes, face, kern_lookups }
    }
}

static REGULAR: Lazy<Parsed> = Lazy::new(|| Parsed::new(include_bytes!("../../ui/fonts/pegwise_sans_regular.ttf")));
static BOLD: Lazy<Parsed> = Lazy::new(|| Parsed::new(include_bytes!("../../ui/fonts/pegwise_sans_bold.ttf")));
static STAFF: Lazy<Parsed> = Lazy::new(|| Parsed::new(include_bytes!("../../ui/fonts/pegwise_staff.ttf")));
static EXTRA_BOLD: Lazy<Parsed> =
    Lazy::new(|| Parsed::new(include_bytes!("../../ui/fonts/pegwise_sans_extrabold.ttf")));

impl Face {
    fn parsed(self) -> &'static Parsed {
        match self {
            Self::Regular => &REGULAR,
            Self::Bold => &BOLD,
            Self::ExtraBold => &EXTRA_BOLD,
            Self::Staff => &STAFF,
        }
    }

    /// The font file.
    pub(super) fn bytes(self) -> &'static [u8] {
        self.parsed().bytes
    }

    /// The name a PDF gives it.
    pub(super) const fn post_script_name(self) -> &'static str {
        match self {
            Self::Regular => "PegwiseSans-Regular",
            Self::Bold => "PegwiseSans-Bold",
            Self::ExtraBold => "PegwiseSans-ExtraBold",
            Self::Staff => "PegwiseStaff",
        }
    }

    /// The weight as CSS and PDF count it.
    pub(super) const fn weight(self) -> u16 {
        match self {
            Self::Regular | Self::Staff => 400,
            Self::Bold => 700,
            Self::ExtraBold => 800,
        }
    }

    /// The glyph of a letter; `None` when the family has none.
    pub(super) fn glyph(self, letter: char) -> Option<u16> {
        self.parsed().face.glyph_index(letter).map(|glyph| glyph.0)
    }

    fn per_em(self) -> f32 {
        f32::from(self.parsed().face.units_per_em())
    }

    /// How far the pen moves, as a share of the size.
    pub(super) fn advance(self, glyph: u16) -> f32 {
        f32::from(self.parsed().face.glyph_hor_advance(GlyphId(glyph)).unwrap_or(0)) / self.per_em()
    }

    /// How much further the pen moves between two glyphs, as a share of the size; mostly negative.
    pub(super) fn kerning(self, left: u16, right: u16) -> f32 {
        let parsed = self.parsed();
        let (left, right) = (GlyphId(left), GlyphId(right));
        let Some(gpos) = parsed.face.tables().gpos else { return 0.0 };
        for &index in &parsed.kern_lookups {
            let Some(lookup) = gpos.lookups.get(index) else { continue };
            for subtable in lookup.subtables.into_iter::<PositioningSubtable<'_>>() {
                let PositioningSubtable::Pair(pairs) = subtable else { continue };
                let found = match pairs {
                    PairAdjustment::Format1 { coverage, sets } => {
                        coverage.get(left).and_then(|at| sets.get(at)).and_then(|set| set.get(right))
                    }
                    PairAdjustment::Format2 { coverage, classes, matrix } => {
                        coverage.get(left).and_then(|_| matrix.get((classes.0.get(left), classes.1.get(right))))
                    }
                };
                if let Some((first, _)) = found {
                    return f32::from(first.x_advance) / self.per_em();
                }
            }
        }
        0.0
    }

    /// The height of capitals, as a share of the size.
    pub(super) fn cap_height(self) -> f32 {
        f32::from(self.parsed().face.capital_height().unwrap_or(668)) / self.per_em()
    }

    /// How far the family reaches above and below the baseline, as shares of the size; below is negative.
    pub(super) fn reach(self) -> (f32, f32) {
        let face = &self.parsed().face;
        (f32::from(face.ascender()) / self.per_em(), f32::from(face.descender()) / self.per_em())
    }

    /// The box that holds every glyph, in thousandths of the size: left, bottom, right, top.
    pub(super) fn bounds(self) -> [f32; 4] {
        let held = self.parsed().face.global_bounding_box();
        [held.x_min, held.y_min, held.x_max, held.y_max].map(|edge| f32::from(edge) * 1000.0 / self.per_em())
    }

    /// Adds a glyph's outline to a path: its origin at (`x`, `y`), `size` points to the em, down the page.
    pub(super) fn outline(self, glyph: u16, size: f32, x: f32, y: f32, path: &mut Path) {
        let mut pen = Pen { path, scale: size / self.per_em(), x, y, at: (0.0, 0.0) };
        self.parsed().face.outline_glyph(GlyphId(glyph), &mut pen);
    }
}

struct Pen<'a> {
    path: &'a mut Path,
    scale: f32,
    x: f32,
    y: f32,
    at: (f32, f32),
}

impl Pen<'_> {
    fn on_page(&self, x: f32, y: f32) -> (f32, f32) {
        (x.mul_add(self.scale, self.x), y.mul_add(-self.scale, self.y))
    }
}

impl ttf_parser::OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = self.on_page(x, y);
        self.path.move_to(self.at.0, self.at.1);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.at = self.on_page(x, y);
        self.path.line_to(self.at.0, self.at.1);
    }

    /// A quadratic curve as a cubic one: its handles lie two thirds of the way to the one it has.
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (handle, end) = (self.on_page(x1, y1), self.on_page(x, y));
        let toward =
            |from: (f32, f32)| (from.0 + (handle.0 - from.0) * 2.0 / 3.0, from.1 + (handle.1 - from.1) * 2.0 / 3.0);
        self.path.curve_to(toward(self.at), toward(end), end);
        self.at = end;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let end = self.on_page(x, y);
        self.path.curve_to(self.on_page(x1, y1), self.on_page(x2, y2), end);
        self.at = end;
    }

    fn close(&mut self) {
        self.path.close();
    }
}

/// How far the pen moves for each ASCII letter in a weight, as a share of the size.
fn ascii_advances(face: Face) -> [f32; 128] {
    let mut found = [0.0; 128];
    for (letter, advance) in (0_u8..128).zip(&mut found) {
        *advance = face.glyph(char::from(letter)).map_or(0.0, |glyph| face.advance(glyph));
    }
    found
}

static REGULAR_ADVANCES: Lazy<[f32; 128]> = Lazy::new(|| ascii_advances(Face::Regular));
static HEAVY_ADVANCES: Lazy<[f32; 128]> = Lazy::new(|| ascii_advances(Face::ExtraBold));

/// Returns how wide a text is in one line, as a share of the size it is set in, in the regular weight or the heaviest.
/// Kerning is left out: it takes more time than it changes. A letter that the family lacks counts as wide as it is high.
#[must_use]
pub fn text_width(text: &str, is_heavy: bool) -> f32 {
    let (face, advances) =
        if is_heavy { (Face::ExtraBold, &*HEAVY_ADVANCES) } else { (Face::Regular, &*REGULAR_ADVANCES) };
    let of = |letter: char| match advances.get(letter as usize) {
        Some(advance) => *advance,
        None => face.glyph(letter).map_or(1.0, |glyph| face.advance(glyph)),
    };
    text.chars().map(of).sum()
}
