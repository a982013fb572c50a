//! Sheets: what the files hold, read by readers that are not ours where one is at hand (`roxmltree` for SVG and MusicXML,
//! `png` for pictures). `./dev sheets-check` asks the independent tools.

use pegwise::instrument::{Catalog, CourseIndex, Fret, Fretboard, Language, Tuning};
use pegwise::shapes::{RankedShape, Shape, ShapeSearch, Style};
use pegwise::sheet::{
    FromTuning, KeySheet, Paper, ShapeSheet, Sheet, SheetOptions, TuningSheet, key_sheet, shape_picture, shape_sheet,
    tuning_sheet,
};
use pegwise::store::write_whole;
use pegwise::theory::{Chord, Key, KeyChord, Naming, ReferencePitch, SpelledPitch};

/// A neck in a tuning.
pub(crate) struct Neck {
    pub(crate) board: Fretboard<'static>,
    pub(crate) tuning: Tuning,
    pub(crate) spelled: Vec<SpelledPitch>,
}

pub(crate) fn neck(instrument: &str, tuning: &str, capo: u8) -> Neck {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(instrument).unwrap();
    let tuning = catalog.resolve_tuning(instrument, tuning).unwrap();
    let spelled =
        catalog.name_of(instrument, &tuning).map_or_else(|| tuning.spelled(), |named| named.spelled().to_vec());
    Neck { board: Fretboard::new(instrument, &tuning, Fret::new(capo)).unwrap(), tuning, spelled }
}

pub(crate) fn shape_of(neck: &Neck, chord: &str, options: &SheetOptions) -> Sheet {
    let chord = Chord::read(chord).unwrap();
    let ranked = ShapeSearch::best(1).find(chord, &neck.board).shapes.remove(0);
    shape_sheet(&wanted_shape(neck, &ranked), options)
}

fn wanted_shape<'a>(neck: &'a Neck, ranked: &'a RankedShape) -> ShapeSheet<'a> {
    ShapeSheet {
        board: &neck.board,
        spelled: &neck.spelled,
        tuning_name: None,
        strings: Catalog::bundled().strings_of(neck.board.instrument()).strings(),
        ranked,
        style: Style::Strummed,
        key: None,
    }
}

pub(crate) fn key_of(neck: &Neck, key: &str, options: &SheetOptions) -> Sheet {
    let key = Key::read(key).unwrap();
    let chords: Vec<(KeyChord, Option<RankedShape>)> = key
        .triads()
        .into_iter()
        .map(|of_key| {
            let best = ShapeSearch::best(1).find(of_key.chord, &neck.board).shapes.into_iter().next();
            (of_key, best)
        })
        .collect();
    let wanted = KeySheet {
        board: &neck.board,
        spelled: &neck.spelled,
        tuning_name: None,
        strings: Catalog::bundled().strings_of(neck.board.instrument()).strings(),
        key,
        chords: &chords,
        style: Style::Strummed,
    };
    key_sheet(&wanted, options)
}

pub(crate) fn tuning_of(from: &Neck, to: &Neck, name: &str, options: &SheetOptions) -> Sheet {
    let instrument = to.board.instrument();
    let wanted = TuningSheet {
        instrument,
        strings: Catalog::bundled().strings_of(instrument).strings(),
        tuning: &to.tuning,
        spelled: &to.spelled,
        name: Some(name),
        from: Some(FromTuning { tuning: &from.tuning, spelled: &from.spelled, name: None }),
        a4: ReferencePitch::default(),
        bridge: instrument.bridge(),
        capo: Fret::OPEN,
    };
    tuning_sheet(&wanted, options).unwrap()
}

fn guitar() -> (Neck, Neck) {
    (neck("guitar", "E A D G B E", 0), neck("guitar", "D G D G B D", 0))
}

#[test]
fn the_text_of_a_tuning_sheet_names_every_step_and_the_caution() {
    let (from, to) = guitar();
    let sheet = tuning_of(&from, &to, "Open G", &SheetOptions::default());
    let text = sheet.document.to_text();
    for said in ["Open G", "1. Loosen 6: E down to D, 2 semitones.", "Loosen 5: A down to G", "Loosen 1: E down to D"] {
        assert!(text.contains(said), "{said} is not in\n{text}");
    }
    assert!(text.contains("can snap and hurt an eye"));
    assert_eq!(sheet.document.pages(), 1, "a way of three steps goes on one page");
}

#[test]
fn the_words_are_those_of_the_language_and_the_notes_those_of_the_custom() {
    let (from, to) = guitar();
    for (language, naming, said) in [
        (Language::German, Naming::German, "6 lockern: von E hinunter auf D, 2 Halbtöne"),
        (Language::German, Naming::German, "Von E A D G H E"),
        (Language::French, Naming::Solfege, "Détendez la 6: de mi, descendez à re, 2 demi-tons"),
        (Language::Spanish, Naming::Solfege, "Afloja la 6: de mi baja a re, 2 semitonos"),
        (Language::Portuguese, Naming::English, "Afrouxe a 6: de E desça a D, 2 semitons"),
    ] {
        let options = SheetOptions { language, naming, ..SheetOptions::default() };
        let text = tuning_of(&from, &to, "Open G", &options).document.to_text();
        assert!(text.contains(said), "{said} is not in\n{text}");
    }
}

#[test]
fn a_pdf_is_tagged_and_titled_and_small() {
    let (from, to) = guitar();
    let options = SheetOptions { language: Language::German, ..SheetOptions::default() };
    for sheet in [tuning_of(&from, &to, "Offen", &options), shape_of(&to, "C", &options), key_of(&to, "G", &options)] {
        let pdf = sheet.document.to_pdf();
        assert!(pdf.starts_with(b"%PDF-1.7") && pdf.ends_with(b"%%EOF"));
        let has = |wanted: &str| pdf.windows(wanted.len()).any(|part| part == wanted.as_bytes());
        for wanted in
            ["/StructTreeRoot", "/Marked true", "/Lang (de)", "/DisplayDocTitle true", "<pdfuaid:part>1<", "/Outlines"]
        {
            assert!(has(wanted), "{wanted}");
        }
        // The limit: 40 kB a page.
        assert!(pdf.len() <= 40_000 * sheet.document.pages(), "{} bytes", pdf.len());
    }
}

#[test]
fn every_page_is_well_formed_svg_of_the_papers_size_with_a_title_and_words() {
    let (from, to) = guitar();
    for paper in [Paper::A4, Paper::Letter] {
        let options = SheetOptions { paper, is_large: true, ..SheetOptions::default() };
        let document = tuning_of(&from, &to, "Open <G> & \"more\"", &options).document;
        assert!(document.pages() > 1 && document.to_svg(document.pages()).is_none());
        for page in 0..document.pages() {
            let svg = document.to_svg(page).unwrap();
            let read = roxmltree::Document::parse(&svg).unwrap();
            let root = read.root_element();
            let (width, height) = paper.points();
            let wanted = format!(
                "0 0 {} {}",
                format!("{width:.2}").trim_end_matches(".00"),
                format!("{height:.2}").trim_end_matches(".00")
            );
            assert_eq!(root.attribute("viewBox"), Some(wanted.as_str()));
            let text = |name: &str| root.children().find(|node| node.has_tag_name(name)).and_then(|node| node.text());
            assert_eq!(text("title"), Some("Open <G> & \"more\""));
            assert!(text("desc").is_some_and(|said| said.len() > 40));
        }
    }
}

/// What a MusicXML file says of each note of its tab stave: step with alteration and octave as a MIDI number, string,
/// fret.
fn read_notes(xml: &str) -> Vec<(i32, u8, u8)> {
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..roxmltree::ParsingOptions::default() };
    let read = roxmltree::Document::parse_with_options(xml, options).unwrap();
    let text = |node: roxmltree::Node<'_, '_>, name: &str| {
        node.descendants().find(|child| child.has_tag_name(name)).and_then(|child| child.text()).map(ToOwned::to_owned)
    };
    let notes = read.descendants().filter(|node| node.has_tag_name("note"));
    notes
        .filter(|note| text(*note, "staff").as_deref() == Some("2"))
        .filter(|note| note.children().any(|child| child.has_tag_name("pitch")))
        .map(|note| {
            let step = text(note, "step").unwrap();
            let above_c = [0, 2, 4, 5, 7, 9, 11]["CDEFGAB".find(&step).unwrap()];
            let alter: i32 = text(note, "alter").map_or(0, |alter| alter.parse().unwrap());
            let octave: i32 = text(note, "octave").unwrap().parse().unwrap();
            let number = |name| text(note, name).unwrap().parse().unwrap();
            (12 * (octave + 1) + above_c + alter, number("string"), number("fret"))
        })
        .collect()
}

#[test]
fn music_xml_gives_back_string_fret_and_pitch_of_every_note() {
    for (instrument, tuning, capo) in [
        ("guitar", "D G D G B E", 0),
        ("guitar", "D A D G A D", 3),
        ("five-string-banjo", "g D G B D", 0),
        ("concert-ukulele", "G C E A", 2),
    ] {
        let neck = neck(instrument, tuning, capo);
        let sheet = key_of(&neck, "D", &SheetOptions::default());
        let score = sheet.score.unwrap();
        let xml = score.to_music_xml();
        let read = read_notes(&xml);
        let known: Vec<(i32, u8, u8)> =
            score.notes().map(|(pitch, string, fret)| (i32::from(pitch.number()), string, fret)).collect();
        assert_eq!(read, known, "{instrument}");
        assert!(read.len() > 15, "{} notes", read.len());
        // From the neck itself: open pitch, capo and fret make the pitch.
        for (pitch, string, fret) in read {
            let course = CourseIndex::from_player_number(string, neck.board.courses()).unwrap();
            let position = pegwise::instrument::Position { course, fret: Fret::new(fret) };
            assert_eq!(neck.board.pitch_at(position).map(|pitch| i32::from(pitch.number())), Some(pitch));
        }
    }
}

#[test]
fn a_frame_in_music_xml_is_the_shape() {
    let neck = neck("guitar", "E A D G B E", 0);
    let chord = Chord::read("F").unwrap();
    let shape = Shape::read("1 3 3 2 1 1", 6).unwrap();
    let ranked = ShapeSearch::default().find_shape(&shape, chord, &neck.board).unwrap();
    let xml = shape_sheet(&wanted_shape(&neck, &ranked), &SheetOptions::default()).score.unwrap().to_music_xml();
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..roxmltree::ParsingOptions::default() };
    let read = roxmltree::Document::parse_with_options(&xml, options).unwrap();
    let number = |node: roxmltree::Node<'_, '_>, name: &str| -> u8 {
        let child = node.children().find(|child| child.has_tag_name(name)).unwrap();
        child.text().unwrap().parse().unwrap()
    };
    let notes: Vec<(u8, u8)> = read
        .descendants()
        .filter(|node| node.has_tag_name("frame-note"))
        .map(|node| (number(node, "string"), number(node, "fret")))
        .collect();
    assert_eq!(notes, [(6, 1), (5, 3), (4, 3), (3, 2), (2, 1), (1, 1)]);
    let barres: Vec<(u8, &str)> = read
        .descendants()
        .filter(|node| node.has_tag_name("barre"))
        .map(|node| (number(node.parent().unwrap(), "string"), node.attribute("type").unwrap()))
        .collect();
    assert_eq!(barres, [(6, "start"), (1, "stop")]);
    let lines: Vec<&str> =
        read.descendants().filter(|node| node.has_tag_name("tuning-step")).filter_map(|node| node.text()).collect();
    assert_eq!(lines, ["E", "A", "D", "G", "B", "E"], "line 1 is the bottom line, the string with the highest number");
}

#[test]
fn letters_the_fonts_lack_are_stood_in_for_and_said_once() {
    let (from, to) = guitar();
    let title = "夜 Öffnung 夜 ♫ 🎸\u{200d}\u{fe0f}";
    let document = tuning_of(&from, &to, title, &SheetOptions::default()).document;
    assert_eq!(document.lost_letters(), ['夜', '♫', '🎸']);
    assert!(document.to_text().starts_with("夜 Öffnung 夜"), "plain text keeps them");
    let svg = document.to_svg(0).unwrap();
    assert!(svg.contains("夜 Öffnung 夜"), "so do the words beside the picture");
    assert!(!document.to_pdf().is_empty());
}

#[test]
fn a_title_without_end_is_broken_into_lines_and_none_is_lost() {
    let (from, to) = guitar();
    for title in ["W".repeat(400), "word ".repeat(200), " \n\t ".to_owned(), "\u{0}\u{7}x".to_owned()] {
        let document = tuning_of(&from, &to, &title, &SheetOptions::default()).document;
        for page in 0..document.pages() {
            let mut png = Vec::new();
            document.to_png(page, 30, &mut png).unwrap();
            roxmltree::Document::parse(&document.to_svg(page).unwrap()).unwrap();
        }
    }
}

#[test]
fn a_png_has_the_size_asked_for_and_its_bands_meet() {
    let (_, to) = guitar();
    let document = shape_of(&to, "C", &SheetOptions::default()).document;
    let mut bytes = Vec::new();
    document.to_png(0, 100, &mut bytes).unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    // 210 by 297 mm at 100 dots an inch.
    assert_eq!((info.width, info.height, info.color_type), (827, 1169, png::ColorType::Grayscale));
    // Bands of 96 rows: where two meet, the picture is as smooth as elsewhere. A string runs down the page: no row breaks it.
    let row = |number: usize| &pixels[number * 827..(number + 1) * 827];
    let dark = |number: usize| row(number).iter().filter(|&&pixel| pixel < 128).count();
    let across: Vec<usize> = (1..1168).filter(|&at| dark(at - 1) > 8 && dark(at + 1) > 8 && dark(at) == 0).collect();
    assert!(across.is_empty(), "empty rows {across:?}");
    assert!(document.to_png(1, 100, Vec::new()).is_err() && document.to_png(0, 5, Vec::new()).is_err());
}

#[test]
fn a_picture_alone_is_as_wide_as_asked() {
    let (_, to) = guitar();
    let ranked = ShapeSearch::best(1).find(Chord::read("G").unwrap(), &to.board).shapes.remove(0);
    for wide_mm in [20.0, 60.0, 190.0] {
        let document = shape_picture(&wanted_shape(&to, &ranked), &SheetOptions::default(), wide_mm);
        let pdf = document.to_pdf();
        // The page's size stands in the file as plain text (ISO 32000-1, 7.7.3.3).
        let text = String::from_utf8_lossy(&pdf);
        let sizes = text.split("/MediaBox [").nth(1).unwrap().split(']').next().unwrap();
        let width: f32 = sizes.split_whitespace().nth(2).unwrap().parse().unwrap();
        // 4 points of margin on either side.
        assert!((f64::from(width) - 8.0 - wide_mm * 72.0 / 25.4).abs() < 0.1, "{width}");
    }
}

#[test]
fn a_file_is_written_whole_or_not_at_all() {
    let folder = std::env::temp_dir().join(format!("pegwise-sheet-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("page.pdf");
    write_whole(&path, |to| to.write_all(b"first")).unwrap();
    // No space left, in the middle.
    let failed = write_whole(&path, |to| {
        to.write_all(b"half")?;
        Err(std::io::Error::from(std::io::ErrorKind::StorageFull))
    });
    assert_eq!(failed.unwrap_err().kind(), std::io::ErrorKind::StorageFull);
    assert_eq!(std::fs::read(&path).unwrap(), b"first");
    let names: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["page.pdf"]);
    // A folder that is not there, a file in a folder's place, a folder in the file's.
    assert!(write_whole(&folder.join("none/page.pdf"), |_| Ok(())).is_err());
    assert!(write_whole(&path.join("page.pdf"), |_| Ok(())).is_err());
    assert!(write_whole(&folder, |_| Ok(())).is_err());
    std::fs::remove_dir_all(&folder).unwrap();
}
