//! What holds for every mark of every sheet: inside the page, large enough, thick enough, told.

use super::page::{Document, Ink, Kind, Mark};
use super::paper::{Paper, SheetOptions};
use super::{
    FromTuning, KeySheet, ShapeSheet, Sheet, TuningSheet, key_sheet, shape_picture, shape_sheet, tuning_sheet,
};
use crate::instrument::{Catalog, Fret, Fretboard, Instrument, Language};
use crate::shapes::{RankedShape, ShapeSearch, Style};
use crate::theory::{Chord, Key, KeyChord, Naming, ReferencePitch, SpelledPitch};

fn all_options() -> Vec<SheetOptions> {
    let mut all = Vec::new();
    for language in Language::ALL {
        let naming = match language {
            Language::English => Naming::English,
            Language::German => Naming::German,
            _ => Naming::Solfege,
        };
        for (is_large, is_left_handed, paper) in [(false, false, Paper::A4), (true, true, Paper::Letter)] {
            all.push(SheetOptions { paper, is_large, is_left_handed, language, naming, ..SheetOptions::default() });
        }
    }
    all
}

/// Inside the paper, 0.25 points or more, letters of 7 points or more and 14 in large print, no mark that is not told.
fn check(document: &Document, options: &SheetOptions, what: &str) {
    let least = if options.is_large { 14.0 } else { 7.0 };
    let mut has_marks = vec![false; document.elements.len()];
    for (number, page) in document.pages.iter().enumerate() {
        let blocks = page.blocks.iter().filter(|block| block.element.is_some());
        assert!(blocks.count() > 0, "{what}: page {number} says nothing");
        for block in &page.blocks {
            if let Some(element) = block.element.filter(|_| !block.marks.is_empty()) {
                has_marks[element] = true;
            }
            for mark in &block.marks {
                let Some([left, top, right, bottom]) = mark.bounds() else { continue };
                let inside = left >= 10.0 && top >= 10.0 && right <= page.width - 10.0 && bottom <= page.height - 10.0;
                assert!(inside, "{what}: page {number}, {mark:?} at {left} {top} {right} {bottom}");
                match mark {
                    Mark::Text(run) => assert!(run.size >= least - 0.01, "{what}: {} at {}", run.text(), run.size),
                    Mark::Path(_, Ink::Line(width)) => assert!(*width >= 0.25, "{what}: a line of {width}"),
                    Mark::Path(_, Ink::Black | Ink::White) => {}
                }
            }
        }
    }
    for (element, has_marks) in document.elements.iter().zip(has_marks) {
        let holds_others = matches!(element.kind, Kind::List | Kind::Item | Kind::Body | Kind::Table | Kind::Row);
        let is_empty_cell = element.kind == Kind::Cell && element.words.is_empty();
        assert!(holds_others || has_marks || is_empty_cell, "{what}: not shown: {element:?}");
        assert!(holds_others || is_empty_cell || !element.words.trim().is_empty(), "{what}: not told: {element:?}");
    }
    let headings = document.elements.iter().filter(|element| element.kind == Kind::Title).count();
    assert_eq!(headings, 1, "{what}");
}

fn spelled(instrument: &Instrument) -> Vec<SpelledPitch> {
    Catalog::bundled().standard_of(instrument).spelled().to_vec()
}

fn tuning(instrument: &Instrument, options: &SheetOptions) -> Vec<Sheet> {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(instrument);
    let of = |to: &crate::instrument::CatalogTuning| {
        let wanted = TuningSheet {
            instrument,
            strings: catalog.strings_of(instrument).strings(),
            tuning: to.tuning(),
            spelled: to.spelled(),
            name: Some(to.name()),
            from: Some(FromTuning {
                tuning: standard.tuning(),
                spelled: standard.spelled(),
                name: Some(standard.name()),
            }),
            a4: ReferencePitch::default(),
            bridge: instrument.bridge(),
            capo: Fret::OPEN,
        };
        // A tuning that asks for other strings has no way from here.
        tuning_sheet(&wanted, options).ok()
    };
    catalog.tunings_for(instrument).into_iter().take(3).filter_map(of).collect()
}

#[test]
fn every_instrument_has_a_tuning_sheet_that_fits_its_paper_in_every_language() {
    for (number, instrument) in Catalog::bundled().instruments().iter().enumerate() {
        let options = all_options();
        let options = if instrument.id() == "guitar" { options } else { vec![options[number % options.len()]] };
        for options in &options {
            let sheets = tuning(instrument, options);
            assert!(!sheets.is_empty(), "{}", instrument.id());
            for sheet in sheets {
                check(&sheet.document, options, &format!("{} {options:?}", instrument.id()));
            }
        }
    }
}

fn best(board: &Fretboard<'_>, chord: Chord) -> Option<RankedShape> {
    ShapeSearch { effort: 20_000, ..ShapeSearch::best(1) }.find(chord, board).shapes.into_iter().next()
}

#[test]
fn every_instrument_has_a_shape_sheet_and_a_key_sheet_that_fit() {
    let key = Key::read("F#").unwrap();
    for (number, instrument) in Catalog::bundled().instruments().iter().enumerate() {
        let options = all_options()[number % 10];
        let tuning = Catalog::bundled().standard_of(instrument).tuning();
        let board = Fretboard::new(instrument, tuning, Fret::OPEN).unwrap();
        let strings = Catalog::bundled().strings_of(instrument).strings();
        let spelled = spelled(instrument);
        let chords: Vec<(KeyChord, Option<RankedShape>)> =
            key.triads().into_iter().map(|of_key| (of_key.clone(), best(&board, of_key.chord))).collect();
        let wanted = KeySheet {
            board: &board,
            spelled: &spelled,
            tuning_name: None,
            strings,
            key,
            chords: &chords,
            style: Style::Strummed,
        };
        check(&key_sheet(&wanted, &options).document, &options, instrument.id());
        let Some(ranked) = chords.iter().find_map(|(_, shape)| shape.as_ref()) else { continue };
        let wanted = ShapeSheet {
            board: &board,
            spelled: &spelled,
            tuning_name: Some("A name"),
            strings,
            ranked,
            style: Style::Picked,
            key: Some(key),
        };
        check(&shape_sheet(&wanted, &options).document, &options, instrument.id());
        let alone = shape_picture(&wanted, &options, 40.0);
        let page = &alone.pages[0];
        for mark in page.blocks.iter().flat_map(|block| &block.marks) {
            let Some([left, top, right, bottom]) = mark.bounds() else { continue };
            assert!(left >= 0.0 && top >= 0.0 && right <= page.width && bottom <= page.height, "{mark:?}");
        }
    }
}

#[test]
fn a_tune_fits_its_paper_on_every_kind_of_neck() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets");
    let abc = std::fs::read(folder.join("weir.abc")).unwrap();
    let tune = crate::tune::read_tunes(&abc).unwrap().remove(0).tune;
    let played = tune.played().unwrap();
    let necks = ["guitar", "five-string-banjo", "mandolin", "concert-ukulele", "bass-guitar", "appalachian-dulcimer"];
    for (number, id) in necks.iter().enumerate() {
        let instrument = Catalog::bundled().find_instrument(id).unwrap();
        let tuning = Catalog::bundled().standard_of(instrument).tuning();
        let wishes = crate::arrange::Wishes::default();
        let Ok(arrangement) = crate::arrange::arrange(&tune, instrument, tuning, &wishes, &|| false) else { continue };
        let spelled = spelled(instrument);
        let wanted = super::TuneSheet {
            tune: &tune,
            played: &played,
            arrangement: &arrangement,
            instrument,
            tuning,
            spelled: &spelled,
            tuning_name: None,
        };
        for options in [all_options()[number], all_options()[number + 1]] {
            let sheet = super::tune_sheet(&wanted, &options).unwrap();
            check(&sheet.document, &options, id);
            // Every bar of the music is as long as the bar that is played.
            let score = sheet.score.unwrap();
            for (bar, played) in score.bars.iter().zip(&played.bars) {
                let (numerator, denominator) = played.length.fraction();
                let wanted = u32::try_from(48 * numerator / denominator).unwrap();
                for voice in &bar.voices {
                    assert_eq!(voice.iter().map(|event| event.ticks).sum::<u32>(), wanted, "{id}, bar {}", bar.number);
                }
            }
        }
    }
}

#[test]
fn no_paragraph_leaves_one_line_alone_at_the_foot_or_the_head_of_a_page() {
    use super::compose::Composer;
    let options = SheetOptions::default();
    for lines in 1..30_usize {
        let mut page = Composer::new(&options, "A title");
        page.title();
        // Down to a different place each time.
        page.space(610.0 + super::count(lines));
        let text = "a word or two ".repeat(lines * 7);
        let spans = [page.body(text)];
        page.paragraph(&spans);
        let document = page.finish();
        let on_page = |number: usize| {
            let blocks = document.pages.get(number).map(|page| page.blocks.as_slice()).unwrap_or_default();
            let of_paragraph = blocks.iter().filter(|block| block.element == Some(1));
            of_paragraph.flat_map(|block| &block.marks).count()
        };
        let (first, second) = (on_page(0), on_page(1));
        assert!(first + second > 0, "{lines}");
        assert!(first == 0 || second == 0 || first > 1 && second > 1, "{first} lines, then {second}");
    }
}
