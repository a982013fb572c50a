//! A shape to hand out: one large picture, and what there is to say about it.

use crate::instrument::{Fretboard, Stringing};
use crate::shapes::{RankedShape, Style};
use crate::theory::{Key, SpelledPitch};

use super::compose::Composer;
use super::held::Held;
use super::names::Names;
use super::page::Document;
use super::paper::SheetOptions;
use super::picture::{space_for, thickness};
use super::score::Score;
use super::{Sheet, narrow};

/// What stands on a shape's sheet.
#[derive(Clone, Debug)]
pub struct ShapeSheet<'a> {
    /// The neck in its tuning, with the capo.
    pub board: &'a Fretboard<'a>,
    /// The open strings without the capo, as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What the tuning is called, if it has a name.
    pub tuning_name: Option<&'a str>,
    /// The strings, for their thickness.
    pub strings: &'a Stringing,
    /// The shape.
    pub ranked: &'a RankedShape,
    /// How it is sounded.
    pub style: Style,
    /// The key the melody in reach is taken from; the chord's own unless given.
    pub key: Option<Key>,
}

/// Points in a millimetre.
const POINTS_PER_MM: f32 = 72.0 / 25.4;

/// Sets a shape on a page.
#[must_use]
pub fn shape_sheet(wanted: &ShapeSheet<'_>, options: &SheetOptions) -> Sheet {
    let chord = wanted.ranked.chord();
    let mut page = Composer::new(options, &options.chord(chord));
    let names = Names::new(wanted.board.instrument(), options);
    let held = Held::new(wanted.board, wanted.ranked, wanted.style, wanted.key);
    page.title();
    page.paragraph(&[page.body(names.stand(wanted.tuning_name, wanted.spelled, wanted.board.capo()))]);
    if let Some(form) = &held.form {
        page.paragraph(&[page.body(names.form(form))]);
    }
    page.space(page.size.body);
    let most = if options.is_large { 60.0 } else { 64.0 };
    let room = page.room() - if options.is_large { 230.0 } else { 170.0 };
    let thickness = thickness(wanted.board.instrument(), wanted.strings);
    let mut s = space_for(wanted.board.courses(), page.width * 0.9).min(most);
    let mut drawing = held.drawing(&names, &thickness, ("", ""), s, (page.size.digit, false));
    if drawing.height > room {
        s *= room / drawing.height;
        drawing = held.drawing(&names, &thickness, ("", ""), s, (page.size.digit, false));
    }
    page.figure(drawing, 0.5);
    page.space(page.size.body);
    let frets = wanted.ranked.shape().written(wanted.board);
    let strings = wanted.board.courses().to_string();
    page.paragraph(&[page.strong(names.words.say("frets", &[&strings, &frets]))]);
    page.paragraph(&[page.strong(names.thumb(&held.bass))]);
    for sentence in held.reach.iter().filter_map(|note| names.reach(note)) {
        page.paragraph(&[page.body(sentence)]);
    }
    if wanted.ranked.span_mm() > 0.0 {
        let span = format!("{:.0}", wanted.ranked.span_mm());
        page.space(page.size.body * 0.5);
        page.paragraph(&[page.small(names.words.say("span", &[&span]))]);
    }
    let mut score = Score::new(page.options, wanted.board, wanted.spelled, &options.chord(chord));
    score.add_shape(wanted.ranked);
    Sheet { document: page.finish(), score: Some(score) }
}

/// Sets the picture of a shape alone, 20 to 500 mm wide: the page is as large as the picture.
#[must_use]
pub fn shape_picture(wanted: &ShapeSheet<'_>, options: &SheetOptions, width_mm: f64) -> Document {
    let names = Names::new(wanted.board.instrument(), options);
    let held = Held::new(wanted.board, wanted.ranked, wanted.style, wanted.key);
    let width = narrow(width_mm.clamp(20.0, 500.0)) * POINTS_PER_MM;
    let s = space_for(wanted.board.courses(), width);
    let name = options.chord(wanted.ranked.chord());
    let drawing =
        held.drawing(&names, &thickness(wanted.board.instrument(), wanted.strings), (&name, ""), s, (4.0, false));
    Composer::alone(options, &name, drawing)
}
