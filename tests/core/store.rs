//! The library file: whole at every moment, and nothing a player entered is lost.

use std::path::{Path, PathBuf};

use pegwise::instrument::{CourseIndex, Fret, Tuning};
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song, SongId};
use pegwise::store::{
    Disk, Found, GuitarNow, Library, LibraryFile, Memory, Mishap, Opened, ReadFault, SaveError, Theme, read, write,
};
use pegwise::theory::{Chord, Key, Pitch};

const FOLDER: &str = "library";
const HOUR: std::time::Duration = std::time::Duration::from_secs(3_600);

fn current() -> PathBuf {
    Path::new(FOLDER).join("pegwise-library.json")
}

fn previous() -> PathBuf {
    Path::new(FOLDER).join("pegwise-library.previous.json")
}

fn open(disk: &Memory) -> Opened {
    LibraryFile::open(Box::new(disk.clone()), Path::new(FOLDER)).unwrap()
}

fn tuning(numbers: &[u8]) -> Tuning {
    Tuning::new(numbers.iter().map(|&number| Pitch::from_number(number).unwrap()).collect()).unwrap()
}

fn open_g() -> Tuning {
    tuning(&[38, 43, 50, 55, 59, 62])
}

fn song(title: &str) -> Song {
    let mut song = Song::new(title, "guitar", ChosenTuning { id: Some("guitar-open-g".into()), pitches: open_g() });
    song.from = "the old ferryman".into();
    song.capo = Fret::new(2);
    song.key = Some(Key::read("G").unwrap());
    song.chart = "Verse:\n| G | C G | D | G |\n".into();
    song.tempo_bpm = Some(96);
    let shape = pegwise::shapes::Shape::read("0 0 0 0 0 0", 6).unwrap();
    song.choose_shape(Chord::read("G").unwrap(), Some(&shape));
    song
}

/// A library with one of everything.
fn full() -> Library {
    let mut library = Library::default();
    library.settings.theme = Theme::Sunlight;
    library.settings.reference_a4_hz = 442.3;
    let own = library.add_own_tuning("guitar", "Ferry", tuning(&[36, 43, 48, 55, 60, 64]));
    let first = library.add_song(song("The Lock-Hand's Mitten"));
    let second = library.add_song(song("Slipway Number Nine"));
    let mut list = SetList::new("Harbour evening");
    list.entries = vec![SetEntry::new(second), SetEntry { is_pinned: true, ..SetEntry::new(first) }];
    library.add_set_list(list);
    library.remember_tuning("guitar-open-g");
    library.remember_tuning(&own);
    let doubted = [6, 1].map(|number| CourseIndex::from_player_number(number, 6).unwrap());
    let now = doubted.into_iter().fold(GuitarNow::in_tuning("guitar", &open_g()), GuitarNow::with_doubt);
    library.guitar_now = Some(now);
    library
}

/// A library all of whose parts say the same number, so that a mixture of two would show.
fn counted(number: u16, songs: usize) -> Library {
    let mut library = Library::default();
    for _ in 0..songs {
        let mut song = song("Count");
        song.notes = format!("{number} ").repeat(20);
        library.add_song(song);
    }
    library.settings.language = Some(number.to_string());
    library
}

/// Returns the number all parts of a counted library say.
fn count_of(library: &Library) -> u16 {
    let Some(number) = &library.settings.language else { return 0 };
    for song in library.songs() {
        assert!(song.notes.split_whitespace().all(|word| word == number), "parts of two versions");
    }
    number.parse().unwrap()
}

#[test]
fn a_library_reads_back_as_it_was_written() {
    let library = full();
    assert_eq!(read(&write(&library)).unwrap(), library);
}

#[test]
fn what_was_saved_is_there_when_opened_again() {
    let disk = Memory::new();
    let mut opened = open(&disk);
    assert_eq!(opened.found, Found::Nothing);
    assert_eq!(opened.library, Library::default());
    opened.file.save(&full()).unwrap();
    let again = open(&disk);
    assert_eq!((again.found, again.library), (Found::Whole, full()));
}

#[test]
fn the_previous_version_is_kept() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    for number in 1..=3 {
        file.save(&counted(number, 2)).unwrap();
    }
    assert_eq!(count_of(&read(&disk.files()[&current()]).unwrap()), 3);
    assert_eq!(count_of(&read(&disk.files()[&previous()]).unwrap()), 2);
    let names: Vec<_> = disk.files().into_keys().collect();
    let version = Path::new(FOLDER).join("pegwise-library.version-1.json");
    assert_eq!(names, [current(), previous(), version], "nothing else is left in the folder");
}

#[test]
fn saving_the_same_again_keeps_the_older_previous_version() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&counted(1, 1)).unwrap();
    file.save(&counted(2, 1)).unwrap();
    file.save(&counted(2, 1)).unwrap();
    assert_eq!(count_of(&read(&disk.files()[&previous()]).unwrap()), 1);
}

#[test]
fn unknown_fields_are_written_back_everywhere() {
    let text = r#"{"format":"pegwise-library","version":1,"next_number":4,"later":{"a":[1,2.5,null,0.1]},
        "settings":{"glow":"soft"},
        "own_tunings":[{"id":"own-1","instrument_id":"guitar","name":"N","pitches":"E2 A2","colour":"red"}],
        "songs":[{"id":2,"title":"T","instrument_id":"guitar","tuning":{"pitches":"E2 A2"},"mood":3}],
        "set_lists":[{"id":3,"title":"L","entries":[{"song_id":2,"light":true}],"place":"quay"}],
        "guitar_now":{"instrument_id":"guitar","pitches":"E2 A2","age":7}}"#;
    let library = read(text.as_bytes()).unwrap();
    let back: serde_json::Value = serde_json::from_slice(&write(&library)).unwrap();
    let asked: serde_json::Value = serde_json::from_str(text).unwrap();
    for pointer in [
        "/later",
        "/settings/glow",
        "/own_tunings/0/colour",
        "/songs/0/mood",
        "/set_lists/0/place",
        "/set_lists/0/entries/0/light",
        "/guitar_now/age",
    ] {
        assert_eq!(back.pointer(pointer), asked.pointer(pointer), "{pointer}");
        assert!(back.pointer(pointer).is_some(), "{pointer}");
    }
}

#[test]
fn a_number_with_many_digits_survives() {
    let text = r#"{"format":"pegwise-library","version":1,"settings":{"reference_a4_hz":441.99999999999994}}"#;
    let library = read(text.as_bytes()).unwrap();
    assert!(String::from_utf8(write(&library)).unwrap().contains("441.99999999999994"));
}

#[test]
fn faults_are_named() {
    let head = r#"{"format":"pegwise-library","version":1,"next_number":9"#;
    let song = |id: u32| format!(r#"{{"id":{id},"title":"T","instrument_id":"guitar","tuning":{{"pitches":"E2"}}}}"#);
    let rows = [
        ("", "EOF while parsing a value at line 1 column 0".to_owned()),
        ("7", "invalid type: integer".to_owned()),
        ("{}", "expected a pegwise-library file".to_owned()),
        (r#"{"format":"pegwise-library"}"#, "expected a pegwise-library file".to_owned()),
        (r#"{"format":"pegwise-library","version":0}"#, "expected a pegwise-library file".to_owned()),
        (r#"{"format":"x","version":1}"#, "expected a pegwise-library file".to_owned()),
        (r#"{"format":"pegwise-library","version":2}"#, "expected version 1 at most, found version 2".to_owned()),
    ];
    for (text, message) in rows {
        assert!(read(text.as_bytes()).unwrap_err().to_string().starts_with(&message), "{text}");
    }
    // One item that cannot be read is set aside alone, and says why.
    let rows = [
        (format!(r#","songs":[{}]"#, song(1).replace("\"T\"", "\" \"")), "expected a title, found none"),
        (format!(r#","songs":[{}]"#, song(1).replace("E2", "E2 H2")), "open pitches: expected a note"),
        (format!(r#","songs":[{}]"#, song(1).replace("E2", "")), "expected 1 to 12 open pitches, found 0"),
        (format!(r#","songs":[{}]"#, song(1).replace("\"id\"", "\"id\":1,\"id\"")), "duplicate field `id`"),
        (r#","songs":[7]"#.to_owned(), "invalid type: integer"),
        (r#","songs":"later""#.to_owned(), "invalid type: string"),
        (
            r#","set_lists":[{"id":2,"title":"L","entries":[{"song_id":5}]}]"#.to_owned(),
            "names song 5, which is not there",
        ),
        (
            r#","own_tunings":[{"id":"guitar-open-g","instrument_id":"guitar","name":"N","pitches":"E2"}]"#.to_owned(),
            "own tuning \"guitar-open-g\" has no proper id",
        ),
    ];
    for (text, message) in rows {
        let library = read(format!("{head}{text}}}").as_bytes()).unwrap();
        let [aside] = library.set_aside() else { panic!("{text}: {:?}", library.set_aside()) };
        assert!(aside.why.starts_with(message), "{text}: {}", aside.why);
    }
    // Numbers are nobody's words: they are given anew.
    for songs in [format!("{},{}", song(1), song(1)), format!("{},{}", song(9), song(0)), song(9)] {
        let library = read(format!(r#"{head},"songs":[{songs}]}}"#).as_bytes()).unwrap();
        assert_eq!(library.set_aside(), []);
        let ids: std::collections::BTreeSet<_> = library.songs().iter().map(|song| song.id).collect();
        assert!(ids.len() == library.songs().len() && !ids.contains(&SongId(0)), "{ids:?}");
    }
}

#[test]
fn a_damaged_file_is_set_aside_and_the_previous_version_offered() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&counted(1, 1)).unwrap();
    file.save(&counted(2, 1)).unwrap();
    let whole = disk.files()[&current()].clone();
    let torn = &whole[..whole.len() / 2];
    disk.put(&current(), torn);

    let mut opened = open(&disk);
    let Found::Damaged { set_aside: Some(aside), fault: ReadFault::Json { .. }, previous: Some(offered) } =
        opened.found
    else {
        panic!("{:?}", opened.found)
    };
    assert_eq!(disk.files()[&aside], torn);
    assert_eq!(count_of(&offered), 1);
    opened.file.save(&offered).unwrap();
    assert_eq!(count_of(&open(&disk).library), 1);
    assert_eq!(disk.files()[&aside], torn, "it is never written again");

    disk.put(&current(), b"{");
    let Found::Damaged { set_aside: Some(second), .. } = open(&disk).found else { panic!() };
    assert_ne!(second, aside);
}

#[test]
fn a_previous_version_that_was_not_taken_is_still_kept() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&counted(1, 1)).unwrap();
    file.save(&counted(2, 1)).unwrap();
    disk.put(&current(), b"damaged");
    let first = open(&disk);
    assert!(matches!(first.found, Found::Damaged { .. }));
    // The app ends before the player decides.
    let mut second = open(&disk);
    let Found::OnlyPrevious { previous: offered } = &second.found else { panic!("{:?}", second.found) };
    assert_eq!(count_of(offered), 1);
    // The player starts afresh, twice.
    let saved = second.file.save(&counted(8, 1)).unwrap();
    second.file.save(&counted(9, 1)).unwrap();
    assert_eq!(count_of(&read(&disk.files()[&saved.set_aside[0]]).unwrap()), 1);
}

#[test]
fn a_newer_file_is_shown_as_far_as_it_goes_and_never_touched() {
    let disk = Memory::new();
    let text = String::from_utf8(write(&full())).unwrap().replace("\"version\":1", "\"version\":2");
    for text in [text.as_str(), r#"{"format":"pegwise-library","version":7,"songs":"otherwise"}"#] {
        disk.put(&current(), text.as_bytes());
        let mut opened = open(&disk);
        assert!(matches!(opened.found, Found::Newer { .. }));
        assert!(opened.file.is_read_only());
        assert!(matches!(opened.file.save(&full()), Err(SaveError::Newer { .. })));
        assert_eq!(disk.files()[&current()], text.as_bytes());
        assert_eq!(disk.files().len(), 1);
    }
    disk.put(&current(), text.as_bytes());
    assert_eq!(open(&disk).library.songs(), full().songs());
}

#[test]
fn a_newer_file_that_comes_while_running_is_not_touched() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&full()).unwrap();
    let newer = br#"{"format":"pegwise-library","version":2}"#;
    disk.put(&current(), newer);
    assert_eq!(file.save(&counted(1, 1)), Err(SaveError::Newer { version: 2 }));
    assert_eq!(disk.files()[&current()], newer);
}

#[test]
fn what_somebody_else_wrote_meanwhile_is_set_aside() {
    let disk = Memory::new();
    let mut one = open(&disk).file;
    let mut other = open(&disk).file;
    one.save(&counted(1, 1)).unwrap();
    let saved = other.save(&counted(2, 1)).unwrap();
    assert_eq!(saved.set_aside.len(), 1);
    assert_eq!(count_of(&read(&disk.files()[&saved.set_aside[0]]).unwrap()), 1);
    assert_eq!(count_of(&open(&disk).library), 2);
}

#[test]
fn a_file_too_large_is_set_aside_unread() {
    let disk = Memory::new();
    let large = vec![b' '; Library::MOST_BYTES + 1];
    disk.put(&current(), &large);
    let Found::Damaged { set_aside: Some(aside), fault: ReadFault::TooLarge { .. }, .. } = open(&disk).found else {
        panic!()
    };
    assert!(disk.files()[&aside] == large);
}

#[test]
fn a_library_too_large_is_not_saved_and_the_file_stays() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&full()).unwrap();
    let mut library = full();
    let mut long = song("Long");
    long.notes = "n".repeat(Library::MOST_BYTES);
    library.add_song(long);
    assert!(matches!(file.save(&library), Err(SaveError::TooLarge { .. })));
    assert_eq!(open(&disk).library, full());
}

#[test]
fn a_full_disk_leaves_the_file_whole_at_every_size_of_room() {
    let bytes = write(&counted(2, 3)).len();
    for room in (0..bytes).step_by(97).chain([bytes - 1]) {
        let disk = Memory::new();
        let mut file = open(&disk).file;
        file.save(&counted(1, 3)).unwrap();
        disk.set_mishap(Mishap::Full { room });
        assert_eq!(file.save(&counted(2, 3)), Err(SaveError::DiskFull), "{room}");
        assert_eq!(count_of(&open(&disk).library), 1);
        disk.set_mishap(Mishap::None);
        file.save(&counted(2, 3)).unwrap();
        assert_eq!(count_of(&open(&disk).library), 2);
        assert_eq!(disk.files().len(), 3);
    }
}

#[test]
fn a_read_only_disk_says_so_and_loses_nothing() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&counted(1, 1)).unwrap();
    disk.set_mishap(Mishap::ReadOnly);
    assert!(matches!(file.save(&counted(2, 1)), Err(SaveError::NotAllowed { .. })));
    assert_eq!(count_of(&open(&disk).library), 1);

    disk.put(&current(), b"damaged");
    let mut opened = open(&disk);
    assert!(matches!(opened.found, Found::Damaged { set_aside: None, .. }));
    assert!(matches!(opened.file.save(&counted(2, 1)), Err(SaveError::NotAllowed { .. })));
    assert_eq!(disk.files()[&current()], b"damaged");
    disk.set_mishap(Mishap::None);
    let saved = opened.file.save(&counted(2, 1)).unwrap();
    assert_eq!(disk.files()[&saved.set_aside[0]], b"damaged");
}

#[test]
fn a_disk_without_second_names_keeps_the_previous_version_too() {
    let disk = Memory::new();
    disk.set_mishap(Mishap::NoLinks);
    let mut file = open(&disk).file;
    file.save(&counted(1, 1)).unwrap();
    file.save(&counted(2, 1)).unwrap();
    assert_eq!(count_of(&read(&disk.files()[&previous()]).unwrap()), 1);
}

#[test]
fn the_power_may_go_in_any_call_and_any_unflushed_name_be_lost() {
    let disk = Memory::new();
    let mut file = open(&disk).file;
    file.save(&counted(1, 2)).unwrap();
    disk.pass(HOUR);
    let before = disk.changes();
    file.save(&counted(2, 2)).unwrap();
    let calls = disk.changes() - before;
    assert!(calls >= 6, "the save makes {calls} calls");
    for cut in 0..calls {
        let disk = Memory::new();
        let mut file = open(&disk).file;
        file.save(&counted(1, 2)).unwrap();
        file.save(&counted(2, 2)).unwrap();
        // So that the save in which the power goes keeps a version too.
        disk.pass(HOUR);
        file.save(&counted(1, 2)).unwrap();
        disk.pass(HOUR);
        file.save(&counted(2, 2)).unwrap();
        disk.pass(HOUR);
        disk.set_mishap(Mishap::PowerCut { calls: cut });
        assert!(file.save(&counted(3, 2)).is_err(), "{cut}");
        for found in disk.after_power_cut() {
            let mut opened = open(&found);
            assert_eq!(opened.found, Found::Whole, "cut in call {cut}");
            assert!([2, 3].contains(&count_of(&opened.library)));
            let kept = count_of(&read(&found.files()[&previous()]).unwrap());
            assert!([1, 2].contains(&kept), "cut in call {cut}");
            // What is left over is in nobody's way.
            opened.file.save(&counted(4, 2)).unwrap();
            assert_eq!(count_of(&open(&found).library), 4);
        }
    }
}

#[test]
fn ten_thousand_damaged_files_neither_panic_nor_get_lost() {
    let whole = write(&full());
    let mut seed = Seed(8);
    let mut damaged = 0;
    for _ in 0..10_000 {
        let bytes = seed.mutate(&whole);
        let disk = Memory::new();
        disk.put(&current(), &bytes);
        let mut opened = open(&disk);
        let is_kept = |disk: &Memory| disk.files().values().any(|kept| *kept == bytes);
        assert!(is_kept(&disk));
        damaged += usize::from(matches!(opened.found, Found::Damaged { .. }));
        match opened.file.save(&counted(1, 1)) {
            // It stands as the previous version, or set aside.
            Ok(_) => assert!(is_kept(&disk)),
            Err(fault) => assert!(matches!(fault, SaveError::Newer { .. }) && is_kept(&disk), "{fault}"),
        }
    }
    assert!(damaged > 5_000, "the mutations hurt: {damaged}");
}

/// A small generator of numbers (Marsaglia's xorshift, 2003), so that a failure can be repeated.
struct Seed(u64);

impl Seed {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(bound).unwrap()).unwrap()
    }

    /// Changes, cuts, doubles or moves a few pieces.
    fn mutate(&mut self, whole: &[u8]) -> Vec<u8> {
        let mut bytes = whole.to_vec();
        for _ in 0..=self.below(4) {
            let at = self.below(bytes.len().max(1)).min(bytes.len());
            let end = (at + self.below(40)).min(bytes.len());
            match self.below(6) {
                0 if at < bytes.len() => bytes[at] = u8::try_from(self.below(256)).unwrap(),
                1 if at < bytes.len() => bytes[at] ^= 1 << self.below(8),
                2 => bytes.truncate(at),
                3 => drop(bytes.drain(at..end)),
                4 => {
                    let piece = bytes[at..end].to_vec();
                    let to = self.below(bytes.len().max(1)).min(bytes.len());
                    bytes.splice(to..to, piece);
                }
                _ => {
                    let digits: [&[u8]; 6] = [b"-1", b"99999999999999999999", b"1e999", b"null", b"\"\\ud800\"", b"[["];
                    let piece = digits[self.below(6)];
                    bytes.splice(at..end, piece.iter().copied());
                }
            }
        }
        bytes
    }
}

/// Checks that all of `asked` stands in `back`.
fn assert_kept(asked: &serde_json::Value, back: &serde_json::Value, place: &str) {
    use serde_json::Value;
    match (asked, back) {
        (Value::Object(asked), Value::Object(back)) => {
            for (field, value) in asked {
                let kept = back.get(field).unwrap_or_else(|| panic!("{place}/{field} is lost"));
                assert_kept(value, kept, &format!("{place}/{field}"));
            }
        }
        (Value::Array(asked), Value::Array(back)) if asked.len() == back.len() => {
            for (index, (asked, back)) in asked.iter().zip(back).enumerate() {
                assert_kept(asked, back, &format!("{place}/{index}"));
            }
        }
        _ => assert_eq!(asked, back, "{place}"),
    }
}

#[test]
fn every_version_ever_written_is_read_and_keeps_all() {
    let bytes = std::fs::read("tests/assets/library_version_1.json").unwrap();
    let library = read(&bytes).unwrap();
    let asked: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
    let back: serde_json::Value = serde_json::from_slice(&write(&library)).unwrap();
    // Fields that came later are written beside these.
    assert_kept(&asked, &back, "");
    let song = library.find_song(SongId(2)).unwrap();
    assert_eq!(song.title, "Slipway Number Nine");
    assert_eq!(song.tuning.pitches, open_g());
    assert_eq!(song.capo, Fret::new(2));
    assert_eq!(song.shape_of(Chord::read("C").unwrap()).unwrap().to_string(), "x x 5 5 5 5");
    let now = library.guitar_now.as_ref().unwrap();
    assert!(!now.is_known(CourseIndex::from_lowest(0)) && now.is_known(CourseIndex::from_lowest(1)));
}

#[test]
fn a_removed_song_comes_back_where_it_was() {
    let mut library = full();
    let id = library.songs()[0].id;
    let removed = library.remove_song(id).unwrap();
    assert!(library.find_song(id).is_none());
    assert!(library.set_lists()[0].entries.iter().all(|entry| entry.song_id != id));
    read(&write(&library)).unwrap();
    library.restore_song(removed);
    assert_eq!(library, full());
}

#[test]
fn an_own_tuning_is_kept_edited_deleted_and_put_back() {
    let mut library = full();
    let mut own = library.own_tunings()[0].clone();
    own.name = "Ferry, low".into();
    assert!(library.replace_own_tuning(own.clone()));
    assert_eq!(library.find_own_tuning(&own.id).unwrap().name, "Ferry, low");
    let removed = library.remove_own_tuning(&own.id).unwrap();
    assert!(library.own_tunings().is_empty());
    assert!(!library.recent_tuning_ids().contains(&own.id));
    let next = library.add_own_tuning("guitar", "Another", open_g());
    assert_ne!(next, own.id, "an id is never given twice");
    library.restore_own_tuning(removed);
    assert_eq!(library.own_tunings()[0], own);
}

#[test]
fn recent_tunings_are_newest_first_each_once_and_twelve_at_most() {
    let mut library = Library::default();
    for number in 0..20 {
        library.remember_tuning(&format!("t{number}"));
    }
    library.remember_tuning("t15");
    let ids = library.recent_tuning_ids();
    assert_eq!((ids.len(), ids[0].as_str(), ids[1].as_str()), (12, "t15", "t19"));
    assert_eq!(ids.iter().filter(|id| *id == "t15").count(), 1);
}

/// Not a check: the child that the next test kills. It saves one counted library after another.
#[test]
#[ignore = "run by the test that kills it"]
fn child_that_saves_until_it_is_killed() {
    let Some(folder) = std::env::var_os("PEGWISE_TEST_FOLDER") else { return };
    let folder = Path::new(&folder);
    let mut opened = LibraryFile::open(Box::new(Disk), folder).unwrap();
    let mut number = count_of(&opened.library);
    std::fs::write(folder.join("ready"), b"").unwrap();
    loop {
        number = number.wrapping_add(1);
        opened.file.save(&counted(number, 60)).unwrap();
    }
}

/// Starts and kills the child so many times; returns how many saves came through and how many kills fell into one.
#[cfg(unix)]
fn kill_often(times: u32, lane: u32) -> (u32, u32) {
    use std::process::{Command, Stdio};
    use std::time::Duration;

    let folder = std::env::temp_dir().join(format!("pegwise-kill-{}-{lane}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let program = std::env::current_exe().unwrap();
    let mut seed = Seed(1 + u64::from(lane));
    let (mut last, mut saves, mut interrupted) = (0_u16, 0, 0);
    for _ in 0..times {
        let mut child = Command::new(&program)
            .args(["--exact", "store::child_that_saves_until_it_is_killed", "--ignored"])
            .env("PEGWISE_TEST_FOLDER", &folder)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        while !folder.join("ready").exists() {
            assert!(child.try_wait().unwrap().is_none(), "the child ended by itself");
            std::thread::sleep(Duration::from_micros(300));
        }
        std::thread::sleep(Duration::from_micros(u64::try_from(seed.below(10_000)).unwrap()));
        child.kill().unwrap(); // SIGKILL
        child.wait().unwrap();
        std::fs::remove_file(folder.join("ready")).unwrap();
        interrupted += u32::from(folder.join("pegwise-library.new.json").exists());
        let opened = LibraryFile::open(Box::new(Disk), &folder).unwrap();
        assert!(matches!(opened.found, Found::Whole | Found::Nothing), "{:?}", opened.found);
        let number = count_of(&opened.library);
        saves += u32::from(number.wrapping_sub(last));
        last = number;
    }
    std::fs::remove_dir_all(&folder).unwrap();
    (saves, interrupted)
}

#[cfg(unix)]
#[test]
fn a_kill_at_any_moment_of_saving_leaves_one_whole_version() {
    const LANES: u32 = 4;
    const KILLS: u32 = 1_000;
    let lanes: Vec<_> = (0..LANES).map(|lane| std::thread::spawn(move || kill_often(KILLS / LANES, lane))).collect();
    let (saves, interrupted) =
        lanes.into_iter().map(|lane| lane.join().unwrap()).fold((0, 0), |sum, lane| (sum.0 + lane.0, sum.1 + lane.1));
    eprintln!("{KILLS} kills, {saves} saves came through, {interrupted} kills left a half-written file");
    assert!(saves > KILLS / 20, "only {saves} saves came through");
    assert!(interrupted > KILLS / 20, "only {interrupted} kills fell into a save");
}
