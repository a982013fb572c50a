//! Tunes read and written. Where a row follows the ABC standard 2.1 (December 2011) its section is named; MusicXML rows
//! follow the MusicXML 4.0 reference. Tunes are of our own invention.

use std::io::Write;

use pegwise::tune::{
    Played, Quarters, SkippedKind, Tune, TuneFault, TuneRead, find_tune, read_abc, read_tunes, write_abc,
};

fn one(text: &str) -> TuneRead {
    let mut tunes = read_abc(text);
    assert_eq!(tunes.len(), 1, "{text}");
    tunes.remove(0)
}

fn tune(text: &str) -> Tune {
    let read = one(text);
    assert_eq!(read.fault, None, "{text}");
    read.tune
}

fn played(music: &str, head: &str) -> Played {
    tune(&format!("X:1\nT:A row\n{head}\n{music}\n")).played().unwrap()
}

/// Notes as `MIDI number:length`, in order.
fn notes(music: &str, head: &str) -> String {
    let played = played(music, head);
    let words = played.notes.iter().map(|note| format!("{}:{}", note.pitch.pitch().number(), note.length));
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn notes_are_read_as_the_standard_says() {
    // Section of the standard, head, music, expected as MIDI number (4.1: C is middle C, 60) and quarters.
    for (section, head, music, expected) in [
        ("4.1", "L:1/4\nK:C", "C, C c c'|", "48:1 60:1 72:1 84:1"),
        ("4.2", "L:1/4\nK:C", "^C _D =E ^^F __B|", "61:1 61:1 64:1 67:1 69:1"),
        ("4.2, the sign holds to the bar's end, in every octave", "L:1/4\nK:C", "^c c C|c|", "73:1 73:1 61:1 72:1"),
        ("4.3", "L:1/8\nK:C", "C C2 C/ C/2 C3/2 C// C/4|", "60:1/2 60:1 60:1/4 60:1/4 60:3/4 60:1/8 60:1/8"),
        ("4.4", "L:1/8\nK:C", "C>D E<F G>>A|", "60:3/4 62:1/4 64:1/4 65:3/4 67:7/8 69:1/8"),
        ("4.4, with spaces", "L:1/8\nK:C", "C > D|", "60:3/4 62:1/4"),
        ("4.5", "L:1/8\nK:C", "z2 C x C|", "60:1/2 60:1/2"),
        ("4.11", "L:1/4\nK:C", "C-C D -|D|", "60:2 62:2"),
        ("4.11, a tie takes the sign over the bar line", "L:1/4\nK:C", "^C-|C C|", "61:2 60:1"),
        ("4.13", "L:1/8\nK:C", "(3CDE (2FG|", "60:1/3 62:1/3 64:1/3 65:3/4 67:3/4"),
        (
            "4.13, five in the time of three in a compound metre",
            "M:6/8\nL:1/8\nK:C",
            "(5CCCCC|",
            "60:3/10 60:3/10 60:3/10 60:3/10 60:3/10",
        ),
        ("4.13", "L:1/8\nK:C", "(3:2:4G2A2Bc|", "67:2/3 69:2/3 71:1/3 72:1/3"),
        ("4.17, the highest is kept", "L:1/4\nK:C", "[CEG]2 [c/A/]|", "67:2 72:1/2"),
        ("4.12", "L:1/8\nK:C", "{cde}f2|", "77:1"),
        ("3.1.14", "L:1/4\nK:D", "FC|", "66:1 61:1"),
        ("3.1.14", "L:1/4\nK:Ddor", "FC|", "65:1 60:1"),
        ("3.1.14", "L:1/4\nK:A mixolydian", "G|", "67:1"),
        ("3.1.14", "L:1/4\nK:Bbm", "D|", "61:1"),
        ("3.1.14, signs besides", "L:1/4\nK:D Phr ^f", "FE|", "66:1 63:1"),
        ("3.1.14, only the signs told", "L:1/4\nK:D exp _b _e ^f", "FBEC|", "66:1 70:1 63:1 60:1"),
        ("3.1.14", "L:1/4\nK:none", "F|", "65:1"),
        ("3.1.7, a sixteenth where the metre is below 3/4", "M:2/4\nK:C", "C|", "60:1/4"),
        ("3.1.7", "M:3/4\nK:C", "C|", "60:1/2"),
        ("3.2", "L:1/4\nK:C", "F[K:G]F|[L:1/8]F|", "65:1 66:1 66:1/2"),
        ("6.1.1, a line goes on", "L:1/4\nK:C", "CD\\\nEF|", "60:1 62:1 64:1 65:1"),
        ("4.14, decorations change nothing", "L:1/4\nK:C", "!trill!C .D ~E vF uG TA|", "60:1 62:1 64:1 65:1 67:1 69:1"),
        ("4.19, annotations are no chords", "L:1/4\nK:C", "\"^slow\"C|", "60:1"),
    ] {
        assert_eq!(notes(music, head), expected, "section {section}: {music}");
    }
}

#[test]
fn repeats_and_endings_are_played_out_as_written() {
    // 4.8 and 4.9 of the standard; each letter is one bar of a quarter.
    for (music, expected) in [
        ("C|D|", "CD"),
        ("|:C|D:|E|", "CDCDE"),
        ("C|D:|E|", "CDCDE"),
        ("|:C::D:|", "CCDD"),
        ("|:C:|:D:|", "CCDD"),
        ("|:C|1D:|2E||F|", "CDCEF"),
        ("|:C|[1D:|[2E|]", "CDCE"),
        ("|:C|1D|E:|2F|G|", "CDECFG"),
        ("|:C|[1,3 D:|[2 E:|[4 F|]", "CDCECDCF"),
        ("|:C|1-3D:|4E|]", "CDCDCDCE"),
        ("|:C::|", "CCC"),
        ("C|D:|E|F:|", "CDCDEFEF"),
        ("C||D|1E:|2F||G:|", "CDECDFGG"),
        ("|:C|1D:|2E:|:F:|", "CDCEFF"),
    ] {
        let played = played(music, "M:1/4\nL:1/4\nK:C");
        let letters: String = played.notes.iter().map(|note| note.pitch.note().to_string()).collect();
        // A repeat told as three times: two colons and a line.
        let expected = if music == "|:C::|" { "CCC" } else { expected };
        assert_eq!(letters, expected, "{music}");
    }
}

#[test]
fn chords_bars_pickup_and_beats_lie_where_they_are_written() {
    let played = played("A|\"G\"B2 \"C/E\"c2|\"N.C.\"d3 \"Am7\"e|", "M:4/4\nL:1/4\nK:G");
    let chords: Vec<String> = played
        .chords
        .iter()
        .map(|mark| format!("{} {}", mark.at, mark.chord.map_or("-".to_owned(), |chord| chord.ascii())))
        .collect();
    assert_eq!(chords, ["1 G", "3 C/E", "5 -", "8 Am7"]);
    assert_eq!(played.bars.iter().map(|bar| bar.number).collect::<Vec<_>>(), [0, 1, 2]);
    assert_eq!(played.bars[0].offset, Quarters::new(3, 1).unwrap());
    let (bar, beat) = played.bar_and_beat(Quarters::new(7, 2).unwrap());
    assert_eq!((bar, beat.to_string().as_str()), (1, "7/2"));
    assert_eq!(played.bar_and_beat(Quarters::ZERO).1.to_string(), "4");
}

#[test]
fn what_cannot_be_read_is_told_by_line_and_place_and_what_stands_before_is_kept() {
    for (text, line, column, found, kept) in [
        ("X:1\nK:C\nCDEF|GAB%c\nC}|\n", 4, 2, "}|", 2),
        ("X:1\nK:C\nCDEF|C0 D|\n", 3, 6, "C0", 1),
        ("X:1\nK:C\nC/0|\n", 3, 1, "C/0|", 0),
        ("X:1\nM:0/0\nK:C\nC|\n", 2, 3, "0/0", 0),
        ("X:1\nM:4/3\nK:C\nC|\n", 2, 3, "4/3", 0),
        ("X:1\nK:Q\nC|\n", 2, 3, "Q", 0),
        ("X:1\nK:C\nCDEF|\"G\n", 3, 6, "\"G", 1),
        ("X:1\nK:C\nCDEF|^|\n", 3, 7, "|", 1),
        ("X:1\nK:C\nC,,,,,,,,|\n", 3, 1, "C,,,,,,,", 0),
        ("X:1\nK:C\nCDEF|(99CDE|\n", 3, 6, "(99CDE|", 1),
        ("X:1\nK:C\nCDEF|C1/17|\n", 3, 6, "C1/17|", 1),
    ] {
        let read = one(text);
        let Some(TuneFault::At { line: at, column: place, found: there, expected }) = &read.fault else {
            panic!("{text}: {:?}", read.fault)
        };
        assert_eq!((*at, *place, there.as_str()), (line, column, found), "{text}");
        assert!(!expected.is_empty());
        assert_eq!(read.tune.bars.iter().filter(|bar| !bar.notes.is_empty()).count().min(kept), kept, "{text}");
    }
}

#[test]
fn what_is_skipped_is_said() {
    let tune = tune("X:1\nV:1\nK:C\n{c}C [CE] \"Q7\"D|\nw:la la\nV:2\nC4|\n");
    let kinds: Vec<SkippedKind> = tune.skipped.iter().map(|skipped| skipped.what).collect();
    for kind in [
        SkippedKind::GraceNotes,
        SkippedKind::LowerNotes,
        SkippedKind::ChordSymbol,
        SkippedKind::Words,
        SkippedKind::Voices,
    ] {
        assert!(kinds.contains(&kind), "{kind:?} in {kinds:?}");
    }
    assert_eq!(tune.bars.len(), 1);
    assert!(tune.skipped.iter().all(|skipped| !skipped.to_string().is_empty()));
}

#[test]
fn a_file_of_several_tunes_gives_each_with_its_number() {
    let tunes = read_abc("%abc-2.1\nfree text\n\nX:3\nT:One\nK:C\nC|\n\nX:7\nT:Two\nK:G\nD|\n");
    let heads: Vec<(Option<u32>, &str)> =
        tunes.iter().map(|read| (read.tune.number, read.tune.title.as_str())).collect();
    assert_eq!(heads, [(Some(3), "One"), (Some(7), "Two")]);
}

#[test]
fn a_tune_written_as_abc_is_read_the_same_again() {
    for text in [
        "X:4\nT:Lantern Hill\nM:4/4\nL:1/8\nQ:1/4=92\nK:D\nA2|:\"D\"d2 fd \"Bm7/A\"A2 d2|1\"A7\"c2 e2 A4:|2 c>e (3ABc d4|]\n",
        "X:1\nT:Signs\nM:6/8\nL:1/8\nK:Gdor ^f\n^c=c^C-|C3-C2 z|[M:2/4][K:Ab]_d=d^d d/|[K:none]F2 _F,,2 ^^g''|\n",
        "X:2\nT:\nM:none\nL:1/8\nK:none\n(5cdefg (3:2:4c2d2ef \"N.C.\"z4|\n",
        "X:9\nT:Three times\nM:3/4\nL:1/4\nK:Em\n|:EFG::|[1,3 A2B:|[2 c3|]\n",
    ] {
        let first = tune(text);
        let written = write_abc(&first);
        let again = tune(&written);
        assert_eq!(first.bars, again.bars, "{text}\n{written}");
        assert_eq!((&first.title, first.tempo, first.number), (&again.title, again.tempo, again.number));
    }
}

const SCORE: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0"><work><work-title>Lantern Hill</work-title></work>
<part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">
<measure number="0" implicit="yes"><attributes><divisions>6</divisions><key><fifths>2</fifths><mode>major</mode></key>
<time><beats>3</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>A</step><octave>4</octave></pitch><duration>6</duration><voice>1</voice></note></measure>
<measure number="1"><barline location="left"><repeat direction="forward"/></barline>
<harmony><root><root-step>D</root-step></root><kind>major</kind><bass><bass-step>F</bass-step><bass-alter>1</bass-alter></bass></harmony>
<note><grace/><pitch><step>B</step><octave>4</octave></pitch><voice>1</voice></note>
<note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>4</duration><voice>1</voice></note>
<note><pitch><step>G</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice></note>
<note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice></note>
<note><rest/><duration>6</duration><voice>1</voice></note>
<backup><duration>18</duration></backup>
<note><pitch><step>D</step><octave>3</octave></pitch><duration>18</duration><voice>2</voice></note></measure>
<measure number="2"><barline location="left"><ending number="1" type="start"/></barline>
<note><pitch><step>D</step><octave>5</octave></pitch><duration>18</duration><tie type="start"/><voice>1</voice></note>
<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline></measure>
<measure number="3"><barline location="left"><ending number="2" type="start"/></barline>
<note><pitch><step>E</step><octave>5</octave></pitch><duration>12</duration><voice>1</voice></note>
<note><chord/><pitch><step>A</step><octave>4</octave></pitch><duration>12</duration><voice>1</voice></note>
<note><pitch><step>D</step><octave>5</octave></pitch><duration>6</duration><voice>1</voice></note></measure>
</part></score-partwise>"#;

fn summary(tune: &Tune) -> String {
    let played = tune.played().unwrap();
    let words = played.notes.iter().map(|note| format!("{}:{}", note.pitch.pitch().number(), note.length));
    words.collect::<Vec<_>>().join(" ")
}

const SCORE_NOTES: &str = "69:1 66:2/3 67:2/3 69:2/3 74:3 66:2/3 67:2/3 69:2/3 76:2 74:1";

#[test]
fn musicxml_is_read_with_pickup_chords_endings_and_only_its_first_voice() {
    let read = read_tunes(SCORE.as_bytes()).unwrap().remove(0);
    assert_eq!(read.fault, None);
    assert_eq!(read.tune.title, "Lantern Hill");
    assert_eq!(summary(&read.tune), SCORE_NOTES);
    let played = read.tune.played().unwrap();
    assert_eq!(played.chords[0].chord.unwrap().ascii(), "D/F#");
    assert_eq!(played.bars[0].number, 0);
    let kinds: Vec<SkippedKind> = read.tune.skipped.iter().map(|skipped| skipped.what).collect();
    assert!(kinds.contains(&SkippedKind::GraceNotes) && kinds.contains(&SkippedKind::Voices), "{kinds:?}");
    // In UTF-16, as older programs write it.
    let utf16: Vec<u8> = [0xFF, 0xFE].into_iter().chain(SCORE.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    assert_eq!(summary(&read_tunes(&utf16).unwrap()[0].tune), SCORE_NOTES);
    // What was read goes out as ABC and comes back.
    assert_eq!(read_abc(&write_abc(&read.tune))[0].tune.bars, read.tune.bars);
}

fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn container(path: &str) -> String {
    format!("<container><rootfiles><rootfile full-path=\"{path}\"/></rootfiles></container>")
}

#[test]
fn packed_musicxml_is_read_in_memory_and_nothing_outside_is_followed() {
    let good = container("score.musicxml");
    let file = packed(&[("META-INF/container.xml", good.as_bytes()), ("score.musicxml", SCORE.as_bytes())]);
    assert_eq!(summary(&read_tunes(&file).unwrap()[0].tune), SCORE_NOTES);
    let bare = packed(&[("tune.xml", SCORE.as_bytes())]);
    assert_eq!(summary(&read_tunes(&bare).unwrap()[0].tune), SCORE_NOTES);
    for path in ["../score.musicxml", "/etc/score", "a/../../b", "C:\\score"] {
        let up = container(path);
        let file = packed(&[("META-INF/container.xml", up.as_bytes()), (path, SCORE.as_bytes())]);
        assert!(matches!(read_tunes(&file), Err(TuneFault::Packed(_))), "{path}");
    }
    // 64 MB of spaces in a few kilobytes.
    let bomb = vec![b' '; 64 << 20];
    let file = packed(&[("META-INF/container.xml", good.as_bytes()), ("score.musicxml", &bomb)]);
    assert!(file.len() < 200_000);
    assert!(matches!(read_tunes(&file), Err(TuneFault::TooLarge { .. })));
    let mut cut = packed(&[("META-INF/container.xml", good.as_bytes()), ("score.musicxml", SCORE.as_bytes())]);
    cut.truncate(cut.len() / 2);
    assert!(matches!(read_tunes(&cut), Err(TuneFault::Packed(_))));
}

#[test]
fn hostile_input_ends_in_one_sentence() {
    let entity = SCORE.replacen("<score-partwise", "<!ENTITY x SYSTEM \"file:///etc/passwd\"><score-partwise", 1);
    let bomb = "<!DOCTYPE a [<!ENTITY b \"bb\"><!ENTITY c \"&b;&b;\">]><score-partwise>&c;</score-partwise>";
    let deep = "<score-partwise>".to_owned() + &"<a>".repeat(500_000);
    let rows: Vec<(&str, Vec<u8>)> = vec![
        ("empty", Vec::new()),
        ("spaces", b"  \n\n ".to_vec()),
        ("bytes", (0..=255_u8).cycle().take(5_000).collect()),
        ("endless", vec![b'|'; 17 << 20]),
        ("no tune", b"this is a letter\n\nto nobody\n".to_vec()),
        ("entity", entity.into_bytes()),
        ("entities", bomb.as_bytes().to_vec()),
        ("deep", deep.into_bytes()),
        ("unclosed", b"<score-partwise><part><measure>".to_vec()),
        ("other xml", b"<html><body/></html>".to_vec()),
        ("timewise", b"<score-timewise/>".to_vec()),
        ("no duration", SCORE.replace("<duration>4</duration>", "<duration>0</duration>").into_bytes()),
        ("no divisions", SCORE.replace("<divisions>6<", "<divisions>0<").into_bytes()),
        ("metre", SCORE.replace("<beats>3<", "<beats>0<").into_bytes()),
    ];
    for (name, bytes) in rows {
        let fault = match read_tunes(&bytes) {
            Err(fault) => fault,
            Ok(tunes) => tunes[0].fault.clone().unwrap_or_else(|| panic!("{name} was read")),
        };
        let sentence = fault.to_string();
        assert!(!sentence.is_empty() && !sentence.contains('\n') && sentence.len() < 300, "{name}: {sentence}");
    }
}

/// What is kept of a large file stays bounded; one tune of it is found all the same.
#[test]
fn of_many_tunes_no_more_are_kept_than_memory_is_meant_to_hold() {
    let many: String = (1..=60_000).map(|number| format!("X:{number}\nK:G\nGABd|\n\n")).collect();
    let tunes = read_tunes(many.as_bytes()).unwrap();
    let last = tunes.last().unwrap();
    assert!(tunes.len() < 60_000 && matches!(last.fault, Some(TuneFault::TooLarge { .. })), "{}", tunes.len());
    assert!(tunes[..tunes.len() - 1].iter().all(|read| read.fault.is_none()));
    let found = find_tune(many.as_bytes(), Some(60_000)).unwrap();
    assert_eq!((found.tune.number, found.fault), (Some(60_000), None));
    assert_eq!(find_tune(many.as_bytes(), None).unwrap().tune.number, Some(1));
    assert_eq!(find_tune(many.as_bytes(), Some(60_001)), Err(TuneFault::NoSuchNumber(60_001)));
    assert_eq!(find_tune(b"\n", Some(1)), Err(TuneFault::NoTune));
    let dense = format!("X:1\nK:G\n{}", format!("{}|\n", "G".repeat(3_900)).repeat(40));
    assert!(matches!(read_abc(&dense)[0].fault, Some(TuneFault::TooLarge { .. })));
}

#[test]
fn long_and_nested_tunes_are_bounded() {
    let long = "X:1\nK:C\n".to_owned() + &"CDEF|".repeat(10_001);
    let read = one(&long);
    assert!(matches!(read.fault, Some(TuneFault::TooLarge { .. })) && read.tune.bars.len() == 10_000);
    assert!(matches!(read.tune.played(), Err(TuneFault::TooLarge { .. })));
    let nested = tune(&("X:1\nK:C\n".to_owned() + &"|:C".repeat(400) + &":|D".repeat(400) + "|"));
    assert!(nested.played().unwrap().bars.len() < 2_000);
    assert!(nested.skipped.iter().any(|skipped| skipped.what == SkippedKind::NestedRepeat));
    let often = tune("X:1\nK:C\n|:C::::::::::::::::::::::::::::::::::::::::::::::::::|\n");
    assert!(often.played().is_ok());
    let one_bar = one(&("X:1\nK:C\n".to_owned() + &"C".repeat(5_000) + "|"));
    assert!(matches!(one_bar.fault, Some(TuneFault::TooLarge { .. })));
}

proptest::proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "([A-Ga-gzxyZ|:\\[\\]()0-9/><'\",^_={}!&%\\-\n \\\\]|K:|M:|X:1\n){0,80}") {
        for read in read_abc(&("X:1\nK:C\n".to_owned() + &text)) {
            // What was read can be played or is refused, and goes out and in again unless a fault broke it off.
            let _ = read.tune.played();
            let again = read_abc(&write_abc(&read.tune));
            proptest::prop_assert_eq!(&again[0].tune.bars, &read.tune.bars, "{}", write_abc(&read.tune));
        }
    }
}

/// CRC-32 as ZIP has it (polynomial 0xEDB88320).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xEDB8_8320 } else { crc >> 1 })
    })
}

/// Two open collections, as music21 reads their notes: `PEGWISE_RYAN=DIR PEGWISE_NOTTINGHAM=DIR cargo test
/// --no-default-features --test core music21 -- --ignored --nocapture`; the folders are named in the head of
/// `tests/assets/tunes/music21_notes.csv`.
#[test]
#[ignore = "needs two collections of tunes, which are not ours to hand on"]
fn two_collections_have_the_notes_that_music21_reads() {
    let rows: Vec<&str> = include_str!("../assets/tunes/music21_notes.csv").lines().collect();
    for (collection, variable) in [("ryan", "PEGWISE_RYAN"), ("nottingham", "PEGWISE_NOTTINGHAM")] {
        let folder = std::env::var(variable).unwrap();
        let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.retain(|file| file.extension().is_some_and(|kind| kind == "abc"));
        files.sort();
        let tunes: Vec<TuneRead> = files
            .iter()
            .flat_map(|file| read_tunes(&std::fs::read(file).unwrap()).unwrap())
            .filter(|read| read.tune.number.is_some())
            .collect();
        let (mut same, mut not_read_there, mut broken_off, mut differing) = (0, 0, 0, Vec::new());
        for row in rows.iter().filter(|row| row.starts_with(collection)) {
            let fields: Vec<&str> = row.split(',').collect();
            let read = &tunes[fields[1].parse::<usize>().unwrap()];
            if fields[2].is_empty() {
                not_read_there += 1;
                continue;
            }
            let notes = read.tune.bars.iter().flat_map(|bar| &bar.notes);
            let words: Vec<String> = notes
                .map(|note| {
                    let number = note.pitch.map_or("r".to_owned(), |pitch| pitch.pitch().number().to_string());
                    format!("{number}:{}", note.length)
                })
                .collect();
            if crc32(words.join(" ").as_bytes()).to_string() == fields[3] {
                same += 1;
            } else if read.fault.is_some() {
                broken_off += 1;
            } else {
                differing.push((read.tune.number, fields[1].to_owned(), words.len(), fields[2].to_owned()));
            }
        }
        println!(
            "{collection}: {} tunes, {same} the same, {} differ, {broken_off} break off at a fault of the file, \
             {not_read_there} not read by music21",
            tunes.len(),
            differing.len()
        );
        println!("{differing:?}");
        assert!(same * 100 >= 95 * (same + differing.len()), "{collection}");
    }
}

/// `PEGWISE_NOTTINGHAM=DIR cargo test --release …` for the figure; at any optimisation it is far from the screen's way.
#[test]
fn abc_is_read_at_megabytes_a_second() {
    let one = "X:1\nT:Lantern Hill\nM:4/4\nL:1/8\nK:D\nA2|\"D\"d2 fd A2 d2|\"G\"B2 dB \"D\"A4|\"D\"d2 fd \"Bm\"B2 d2|\"A7\"c2 e2 A4|\n\n";
    let text = one.repeat(10_000);
    let started = std::time::Instant::now();
    assert_eq!(read_abc(&text).len(), 10_000);
    let seconds = started.elapsed().as_secs_f64();
    println!("{:.1} MB of ABC a second", f64::from(u32::try_from(text.len()).unwrap()) / 1e6 / seconds);
}

/// A generator of our own (xorshift, Marsaglia 2003), so that a performance is the same at every run.
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    /// From 0 up to before `most`.
    pub(crate) fn below(&mut self, most: u32) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        u32::try_from(self.0 >> 33).unwrap() % most
    }

    /// Evenly between −1 and 1.
    pub(crate) fn signed(&mut self) -> f64 {
        f64::from(self.below(20_001)) / 10_000.0 - 1.0
    }
}

#[test]
fn what_is_plucked_in_time_is_written_down() {
    use pegwise::app::plucked_notes;
    use pegwise::sound::{SampleRate, Strike, Tone, render};
    use pegwise::theory::{Pitch, ReferencePitch};
    use pegwise::tune::{Grid, Metre, Tempo, TuneKey, write_down};

    let a4 = ReferencePitch::default();
    let mut chance = Chance(0x9E37_79B9_7F4A_7C15);
    let (mut notes, mut right) = (0_u32, 0_u32);
    for per_minute in [60_u16, 75, 90, 105, 120] {
        for _ in 0..3 {
            // Quarters, eighths and dotted quarters on a guitar's upper strings, each off by up to 30 ms.
            let start_s = 4.0 * 60.0 / f64::from(per_minute);
            let mut place = 0_u32;
            let mut wanted = Vec::new();
            while place < 64 {
                let number = u8::try_from(50 + chance.below(27)).unwrap();
                wanted.push((place, number));
                place += [1, 2, 2, 3][usize::try_from(chance.below(4)).unwrap()];
            }
            let eighth_s = 30.0 / f64::from(per_minute);
            let strikes: Vec<Strike> = wanted
                .iter()
                .map(|&(place, number)| {
                    let hertz = a4.frequency(Pitch::from_number(number).unwrap());
                    let at_s = start_s + f64::from(place) * eighth_s + 0.03 * chance.signed();
                    // One string at a time: the next pluck ends the one before.
                    Strike { at_s, level: 0.5, ..Strike::new(hertz, Tone::default(), 1) }
                })
                .collect();
            let mut samples = render(SampleRate::COMMON, &strikes, start_s + 66.0 * eighth_s);
            // Even noise 20 dB below the mean of the strings: its own mean is its peak over root 3.
            let blocks =
                samples.chunks_exact(4_096).map(|block| block.iter().map(|sample| sample * sample).sum::<f32>());
            let (count, power) =
                blocks.fold((0.0_f32, 0.0_f32), |(count, power), block| (count + 4_096.0, power + block));
            let peak = (power / count).sqrt() / 10.0 * 3.0_f32.sqrt();
            for sample in &mut samples {
                let noise = i16::try_from(i64::from(chance.below(65_535)) - 32_767).unwrap();
                *sample += peak * f32::from(noise) / 32_767.0;
            }
            let half = Quarters::new(1, 2).unwrap();
            let tempo = Tempo { beat: Quarters::ONE, per_minute };
            let grid = Grid { start_s, tempo, part: half, metre: Metre::COMMON, key: TuneKey::default(), a4 };
            let written = write_down(&plucked_notes(&samples, SampleRate::COMMON), &grid);
            let played = written.tune.played().unwrap();
            let found: Vec<(Quarters, u8)> =
                played.notes.iter().map(|note| (note.at, note.pitch.pitch().number())).collect();
            for (place, number) in wanted {
                let at = half.times(place.into(), 1).unwrap();
                notes += 1;
                right += u32::from(found.contains(&(at, number)));
            }
            assert!(found.len() <= usize::try_from(notes).unwrap());
        }
    }
    println!("{right} of {notes} plucked notes right in pitch and place");
    assert!(right * 100 >= notes * 98, "{right} of {notes}");
}
