//! Sheets as they are drawn, against pictures that a person has looked at.
//!
//! Tolerance: at most 0.5 % of a picture's points differ by more than 32 of 255. The pictures are in
//! `tests/assets/sheets`. `PEGWISE_WRITE_PICTURES=1` draws them again; look at each before it is kept.

use std::fs::{self, File};
use std::io::{BufReader, BufWriter, Write};
use std::path::Path;

use pegwise::instrument::{Catalog, Language};
use pegwise::shapes::{RankedShape, ShapeSearch, Style};
use pegwise::sheet::{
    Document, Paper, SetListSheet, SetSong, SheetOptions, SongSheet, set_list_sheet, song_chords_sheet, song_sheet,
};
use pegwise::songs::Song;
use pegwise::theory::{Chord, Naming, ReferencePitch};

use crate::sheet::{key_of, neck, shape_of, tuning_of};

/// Points differ when they do by more than this.
const STEP: u8 = 32;
/// The share of points that may differ.
const SHARE: f64 = 0.005;
/// Points across a page.
const WIDTH: u32 = 300;

pub(crate) fn song(name: &str) -> Song {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets").join(name);
    Song::read_text(&fs::read_to_string(path).unwrap()).unwrap()
}

pub(crate) fn song_document(song: &Song, options: &SheetOptions) -> pegwise::sheet::Sheet {
    of_song(song, options, song_sheet)
}

pub(crate) fn song_chords_document(song: &Song, options: &SheetOptions) -> pegwise::sheet::Sheet {
    of_song(song, options, song_chords_sheet)
}

fn of_song(
    song: &Song,
    options: &SheetOptions,
    set: impl Fn(&SongSheet<'_>, &SheetOptions) -> pegwise::sheet::Sheet,
) -> pegwise::sheet::Sheet {
    let notes = song.tuning.pitches.ascii_with_octaves(pegwise::theory::SpellingChoice::Customary);
    let neck = neck(&song.instrument_id, &notes, song.capo.get());
    let chart = song.read_chart();
    let best =
        |chord: Chord| ShapeSearch::best(1).find(song.to_hold(chord).sounding, &neck.board).shapes.into_iter().next();
    let shapes: Vec<(Chord, Option<RankedShape>)> =
        chart.chords().into_iter().map(|(chord, _)| (chord, best(chord))).collect();
    let wanted = SongSheet {
        song,
        chart: &chart,
        board: &neck.board,
        spelled: &neck.spelled,
        tuning_name: None,
        strings: Catalog::bundled().strings_of(neck.board.instrument()).strings(),
        shapes: &shapes,
        style: Style::Picked,
    };
    set(&wanted, options)
}

pub(crate) fn set_document(songs: &[Song], options: &SheetOptions) -> Document {
    let songs: Vec<SetSong<'_>> = songs.iter().map(|song| SetSong { song, tuning_name: None, strings: None }).collect();
    let a4 = ReferencePitch::default();
    set_list_sheet(
        &SetListSheet { title: "An evening at the mill", notes: "Start at eight", songs: &songs, a4 },
        options,
    )
    .document
}

/// The tune of `weir.abc` worked out on a guitar.
fn tune_document(tuning: &str, options: &SheetOptions) -> Document {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets/weir.abc");
    let tune = pegwise::tune::read_tunes(&fs::read(path).unwrap()).unwrap().remove(0).tune;
    let neck = neck("guitar", tuning, 0);
    let wishes = pegwise::arrange::Wishes::default();
    let instrument = neck.board.instrument();
    let arrangement = pegwise::arrange::arrange(&tune, instrument, &neck.tuning, &wishes, &|| false).unwrap();
    let wanted = pegwise::sheet::TuneSheet {
        tune: &tune,
        played: &tune.played().unwrap(),
        arrangement: &arrangement,
        instrument,
        tuning: &neck.tuning,
        spelled: &neck.spelled,
        tuning_name: None,
    };
    pegwise::sheet::tune_sheet(&wanted, options).unwrap().document
}

fn documents() -> Vec<(String, Document)> {
    let plain = SheetOptions::default();
    let large = SheetOptions { paper: Paper::Letter, is_large: true, is_left_handed: true, ..plain };
    let (standard, open) = (neck("guitar", "E A D G B E", 0), neck("guitar", "D G D G B D", 0));
    let songs = [song("ferry.txt"), song("mill.txt"), song("ferry.txt")];
    let mut all: Vec<(String, Document)> = Vec::new();
    let mut every_kind = |look: &str, options: &SheetOptions, key: &str| {
        let mut add = |kind: &str, document: Document| all.push((format!("{kind}-{look}"), document));
        add("tuning", tuning_of(&standard, &open, "Open G", options).document);
        add("shape", shape_of(&open, "C", options).document);
        add("key", key_of(&open, key, options).document);
        add("song", song_document(&songs[0], options).document);
        add("chords", song_chords_document(&songs[1], options).document);
        add("tune", tune_document("D G D G B D", options));
        add("set", set_document(&songs, options));
    };
    every_kind("a4", &plain, "G");
    every_kind("large-left", &large, "G");
    for (language, naming) in [
        (Language::German, Naming::German),
        (Language::Spanish, Naming::Solfege),
        (Language::French, Naming::Solfege),
        (Language::Portuguese, Naming::English),
    ] {
        every_kind(language.code(), &SheetOptions { language, naming, ..plain }, "F#");
    }
    let banjo = neck("five-string-banjo", "g D G B D", 0);
    all.push(("key-drone".to_owned(), key_of(&banjo, "G", &plain).document));
    let mandolin = neck("mandolin", "G D A E", 0);
    all.push(("shape-pairs".to_owned(), shape_of(&mandolin, "G", &plain).document));
    all
}

/// Rows of points, 0 black to 255 white: all pages below each other.
fn drawn(document: &Document) -> Vec<u8> {
    (0..document.pages()).flat_map(|page| document.to_pixels(page, WIDTH).unwrap().1).collect()
}

fn read(path: &Path) -> Option<Vec<u8>> {
    let mut reader = png::Decoder::new(BufReader::new(File::open(path).ok()?)).read_info().unwrap();
    let mut points = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut points).unwrap();
    assert_eq!((info.color_type, info.width), (png::ColorType::Grayscale, WIDTH));
    Some(points)
}

fn write(path: &Path, points: &[u8]) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    let height = u32::try_from(points.len()).unwrap() / WIDTH;
    let mut encoder = png::Encoder::new(BufWriter::new(File::create(path).unwrap()), WIDTH, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    let mut stream = encoder.write_header().unwrap().into_stream_writer().unwrap();
    stream.write_all(points).unwrap();
    stream.finish().unwrap();
}

#[test]
fn every_kind_of_sheet_looks_as_it_did_when_a_person_looked_at_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/assets/sheets");
    for (name, document) in documents() {
        let path = folder.join(format!("{name}.png"));
        let points = drawn(&document);
        if std::env::var_os("PEGWISE_WRITE_PICTURES").is_some() {
            write(&path, &points);
            continue;
        }
        let kept = read(&path).unwrap_or_else(|| panic!("there is no picture {name}"));
        assert_eq!(kept.len(), points.len(), "{name}: another number of pages");
        let off = kept.iter().zip(&points).filter(|(one, other)| one.abs_diff(**other) > STEP).count();
        let share = f64::from(u32::try_from(off).unwrap()) / f64::from(u32::try_from(points.len()).unwrap());
        assert!(share <= SHARE, "{name}: {share:.4} of the points differ");
    }
}

#[test]
fn a_set_list_of_400_songs_and_a_chart_of_2000_lines_go_on_paper_whole() {
    let (one, other) = (song("ferry.txt"), song("mill.txt"));
    let mut songs: Vec<Song> =
        (0..400).map(|number| if number % 2 == 0 { one.clone() } else { other.clone() }).collect();
    for (number, song) in songs.iter_mut().enumerate() {
        song.title = format!("Song {number}");
    }
    let document = set_document(&songs, &SheetOptions::default());
    let text = document.to_text();
    assert!(text.contains("400. ") && text.contains("Song 399"));
    assert!(document.pages() > 20);
    let chart: String = (0..1_000).map(|line| format!("| G | D |\n\"words of line {line}\n")).collect();
    let mut long = one;
    long.chart = chart;
    let sheet = song_document(&long, &SheetOptions::default());
    assert!(sheet.document.to_text().contains("words of line 999"));
    assert_eq!(sheet.score.unwrap().bars(), 2_000);
    assert!(!document.to_pdf().is_empty() && !sheet.document.to_pdf().is_empty());
}
