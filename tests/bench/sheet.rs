//! Something to hand out: set and written.

use std::fmt::Write as _;

use divan::{Bencher, black_box};
use pegwise::instrument::{Catalog, Fret, Fretboard};
use pegwise::shapes::{RankedShape, ShapeSearch, Style};
use pegwise::sheet::{
    FromTuning, KeySheet, Sheet, SheetOptions, SongSheet, TuningSheet, key_sheet, song_sheet, tuning_sheet,
};
use pegwise::songs::Song;
use pegwise::theory::{Chord, Key, KeyChord, ReferencePitch};

/// Dots an inch of a picture that goes out.
const DPI: u16 = 300;

fn tuning() -> Sheet {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let [from, to] = ["standard", "open G"].map(|text| catalog.resolve_tuning(guitar, text).unwrap());
    let (from_spelled, to_spelled) = (from.spelled(), to.spelled());
    let wanted = TuningSheet {
        instrument: guitar,
        strings: catalog.strings_of(guitar).strings(),
        tuning: &to,
        spelled: &to_spelled,
        name: Some("Open G"),
        from: Some(FromTuning { tuning: &from, spelled: &from_spelled, name: None }),
        a4: ReferencePitch::default(),
        bridge: guitar.bridge(),
        capo: Fret::OPEN,
    };
    tuning_sheet(&wanted, &SheetOptions::default()).unwrap()
}

/// Budget: 20 ms for a page.
#[divan::bench]
fn a_page_of_a_tuning_as_pdf(bencher: Bencher<'_, '_>) {
    bencher.bench(|| black_box(tuning().document.to_pdf()));
}

/// Budget: 20 ms for a page. The search for the shapes is not in it.
#[divan::bench]
fn a_page_of_a_key_as_pdf(bencher: Bencher<'_, '_>) {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let open_g = catalog.resolve_tuning(guitar, "open G").unwrap();
    let spelled = open_g.spelled();
    let board = Fretboard::new(guitar, &open_g, Fret::OPEN).unwrap();
    let key = Key::read("G").unwrap();
    let best = |of_key: KeyChord| {
        let found = ShapeSearch::best(1).find(of_key.chord, &board).shapes.into_iter().next();
        (of_key, found)
    };
    let chords: Vec<(KeyChord, Option<RankedShape>)> = key.triads().into_iter().map(best).collect();
    let wanted = KeySheet {
        board: &board,
        spelled: &spelled,
        tuning_name: Some("Open G"),
        strings: catalog.strings_of(guitar).strings(),
        key,
        chords: &chords,
        style: Style::Picked,
    };
    bencher.bench(|| black_box(key_sheet(&wanted, &SheetOptions::default()).document.to_pdf()));
}

/// Budget: 150 ms for twelve pages.
#[divan::bench]
fn twelve_pages_of_songs_as_pdf(bencher: Bencher<'_, '_>) {
    let mut text = String::from("The long way round\nInstrument: guitar\nTuning: D2 G2 D3 G3 B3 D4\n\n");
    for verse in 1..=84 {
        let _ = write!(
            text,
            "Verse {verse}:\n| G | C G | D | G |\nWater under the landing stage\n| Em | C | G D | G |\nand the lamp upon the quay\n\n"
        );
    }
    let song = Song::read_text(&text).unwrap();
    let guitar = Catalog::bundled().guitar();
    let chart = song.read_chart();
    let board = Fretboard::new(guitar, &song.tuning.pitches, song.capo).unwrap();
    let best = |chord: Chord| ShapeSearch::best(1).find(song.to_hold(chord).sounding, &board).shapes.into_iter().next();
    let shapes: Vec<(Chord, Option<RankedShape>)> =
        chart.chords().into_iter().map(|(chord, _)| (chord, best(chord))).collect();
    let spelled = song.tuning.pitches.spelled();
    let wanted = SongSheet {
        song: &song,
        chart: &chart,
        board: &board,
        spelled: &spelled,
        tuning_name: None,
        strings: Catalog::bundled().strings_of(guitar).strings(),
        shapes: &shapes,
        style: Style::Picked,
    };
    let pages = song_sheet(&wanted, &SheetOptions::default()).document.pages();
    assert!((12..=13).contains(&pages), "{pages} pages");
    bencher.bench(|| black_box(song_sheet(&wanted, &SheetOptions::default()).document.to_pdf()));
}

/// Budget: 400 ms at 300 dots an inch.
#[divan::bench]
fn a_page_as_a_picture(bencher: Bencher<'_, '_>) {
    let sheet = tuning();
    bencher.bench(|| {
        let mut bytes = Vec::new();
        sheet.document.to_png(0, DPI, &mut bytes).unwrap();
        black_box(bytes)
    });
}
