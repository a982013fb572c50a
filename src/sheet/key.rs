//! The chords of a key, or of a song, each with its shape.

use crate::instrument::{Fretboard, Stringing};
use crate::shapes::{RankedShape, Style};
use crate::theory::{ChordSource, Key, KeyChord, SpelledPitch};

use super::Sheet;
use super::compose::{Composer, Drawing};
use super::held::Held;
use super::names::Names;
use super::paper::SheetOptions;
use super::picture::{least_space, space_beside, thickness};
use super::score::Score;

/// What stands on the sheet of a key.
#[derive(Clone, Debug)]
pub struct KeySheet<'a> {
    /// The neck in its tuning, with the capo.
    pub board: &'a Fretboard<'a>,
    /// The open strings without the capo, as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What the tuning is called, if it has a name.
    pub tuning_name: Option<&'a str>,
    /// The strings, for their thickness.
    pub strings: &'a Stringing,
    /// The key.
    pub key: Key,
    /// Its chords in order, each with the shape to show; without one where no hand can sound it here.
    pub chords: &'a [(KeyChord, Option<RankedShape>)],
    /// How they are sounded.
    pub style: Style,
}

/// Between drawings, in points.
pub(super) const GAP: f32 = 24.0;

/// How many drawings stand side by side, and the space between strings that gives: at least what the digits need.
pub(super) fn columns(page: &Composer<'_>, courses: usize) -> (usize, f32) {
    let wanted = if page.options.is_large { 25.0 } else { 13.5_f32 }.max(least_space(page.size.digit));
    let room = |columns: usize| (page.width - GAP * super::count(columns - 1)) / super::count(columns);
    let columns = (1..=6).rev().find(|&columns| space_beside(courses, room(columns)) >= wanted).unwrap_or(1);
    let s = space_beside(courses, room(columns)).min(if page.options.is_large {
        34.0
    } else {
        15.0_f32.max(least_space(page.size.digit))
    });
    (columns, s)
}

/// Sets the chords of a key on a page.
#[must_use]
pub fn key_sheet(wanted: &KeySheet<'_>, options: &SheetOptions) -> Sheet {
    let names = Names::new(wanted.board.instrument(), options);
    let title = names.key(wanted.key);
    let mut page = Composer::new(options, &title);
    page.title();
    page.paragraph(&[page.body(names.stand(wanted.tuning_name, wanted.spelled, wanted.board.capo()))]);
    let (columns, s) = columns(&page, wanted.board.courses());
    let thickness = thickness(wanted.board.instrument(), wanted.strings);
    let mut score = Score::new(page.options, wanted.board, wanted.spelled, &title);
    let sets = [
        (names.words.say("triads", &[]), vec![ChordSource::Triad]),
        (names.words.say("sevenths", &[]), vec![ChordSource::Seventh]),
        (names.words.say("neighbours", &[]), vec![ChordSource::Borrowed, ChordSource::Secondary]),
    ];
    for (heading, sources) in sets {
        let mut drawings: Vec<Drawing> = Vec::new();
        let mut unheld: Vec<String> = Vec::new();
        for (of_key, ranked) in wanted.chords.iter().filter(|(of_key, _)| sources.contains(&of_key.source)) {
            let name = options.chord(of_key.chord);
            let Some(ranked) = ranked else {
                unheld.push(name);
                continue;
            };
            let held = Held::new(wanted.board, ranked, wanted.style, Some(wanted.key));
            drawings.push(held.drawing(&names, &thickness, (&name, &of_key.roman), s, (page.size.digit, true)));
            score.add_shape(ranked);
        }
        if drawings.is_empty() && unheld.is_empty() {
            continue;
        }
        let first_row = drawings.iter().take(columns).map(|drawing| drawing.height).fold(0.0, f32::max);
        page.heading(&heading, first_row);
        page.figures(drawings, columns, GAP, page.size.body * 0.7);
        if !unheld.is_empty() {
            page.paragraph(&[page.small(names.words.say("no-shape", &[&unheld.join(", ")]))]);
        }
    }
    legend(&mut page, &names, thickness.len());
    Sheet { document: page.finish(), score: Some(score) }
}

/// Says what the marks mean.
pub(super) fn legend(page: &mut Composer<'_>, names: &Names<'_>, courses: usize) {
    page.space(page.size.small * 0.6);
    let text = names.words.say("legend", &[&courses.to_string()]);
    page.paragraph(&[page.small(text)]);
}
