//! Versions from before and whole files set aside: listed, read again, few.

use std::path::Path;
use std::time::Duration;

use pegwise::songs::{ChosenTuning, Song};
use pegwise::store::{Disk, Library, LibraryFile, Memory, Storage, VersionKind, file_name, read, write};

const FOLDER: &str = "library";

fn with_songs(count: usize) -> Library {
    let mut library = Library::default();
    for number in 0..count {
        let pitches = pegwise::instrument::Catalog::bundled().find_tuning("guitar-open-g").unwrap().tuning().clone();
        library.add_song(Song::new(format!("Song {number}"), "guitar", ChosenTuning { id: None, pitches }));
    }
    library
}

fn open(disk: &Memory) -> LibraryFile {
    LibraryFile::open(Box::new(disk.clone()), Path::new(FOLDER)).unwrap().file
}

#[test]
fn a_version_is_kept_every_ten_minutes_and_one_of_before_this_run() {
    let disk = Memory::new();
    let mut file = open(&disk);
    file.save(&with_songs(1)).unwrap();
    // Another run, a day later.
    disk.pass(Duration::from_secs(86_400));
    let mut file = open(&disk);
    for songs in 2..=62 {
        disk.pass(Duration::from_secs(60));
        file.save(&with_songs(songs)).unwrap();
    }
    let versions = file.versions().unwrap();
    let kept: Vec<usize> = versions
        .iter()
        .filter(|version| version.kind == VersionKind::Version)
        .map(|version| version.songs.unwrap())
        .collect();
    assert_eq!(kept, [52, 42, 32, 22, 12, 2, 1]);
    for version in &versions {
        let library = read(&file.read_version(&version.name).unwrap()).unwrap();
        assert_eq!(Some(library.songs().len()), version.songs);
    }
    // Asked for, as before something is taken in.
    file.keep_next();
    file.save(&with_songs(63)).unwrap();
    assert_eq!(file.versions().unwrap().iter().filter_map(|version| version.songs).max(), Some(62));
}

#[test]
fn two_windows_at_once_leave_few_files_and_lose_nothing_of_the_last() {
    let disk = Memory::new();
    let (mut one, mut other) = (open(&disk), open(&disk));
    for round in 0..100 {
        disk.pass(Duration::from_secs(2));
        one.save(&with_songs(2 * round + 1)).unwrap();
        other.save(&with_songs(2 * round + 2)).unwrap();
    }
    let versions = one.versions().unwrap();
    let others: Vec<_> = versions.iter().filter(|version| version.kind == VersionKind::Other).collect();
    assert!((3..=12).contains(&others.len()), "{}", others.len());
    // What the other wrote last before is there to be taken in.
    assert!(versions.iter().any(|version| version.songs == Some(199)), "{versions:?}");
}

#[test]
fn nothing_else_can_be_read_by_a_name() {
    let disk = Memory::new();
    disk.put(&Path::new(FOLDER).join("secret.json"), &write(&with_songs(1)));
    let file = open(&disk);
    for name in ["secret.json", "../secret.json", "pegwise-library.damaged-1/../secret.json", ""] {
        assert!(file.read_version(name).is_err(), "{name}");
    }
}

/// Names that Windows keeps for devices, with any ending: Microsoft, "Naming Files, Paths, and Namespaces".
#[test]
fn a_file_is_never_called_as_a_device_of_windows_is() {
    for title in ["con", "PRN", "aux!", "Nul", "com1", "COM9", "LPT1", "lpt 0", "com¹"] {
        let name = file_name(title);
        let devices = ["con", "prn", "aux", "nul"];
        let is_port = name.len() == 4 && (name.starts_with("com") || name.starts_with("lpt"));
        assert!(!devices.contains(&name.as_str()) && !is_port, "{title}: {name}");
    }
    assert_eq!(file_name("Conger"), "conger");
    assert_eq!(file_name("Com 10"), "com-10");
}

#[cfg(unix)]
#[test]
fn pipes_and_devices_in_the_place_of_files_hold_nobody() {
    let folder = std::env::temp_dir().join(format!("pegwise-pipe-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let pipe = |name: &str| {
        let made = std::process::Command::new("mkfifo").arg(folder.join(name)).status().unwrap();
        assert!(made.success());
    };
    let begun = std::time::Instant::now();
    pipe("pegwise-library.json");
    let fault = LibraryFile::open(Box::new(Disk), &folder).unwrap_err();
    assert!(fault.to_string().ends_with("it is not a regular file"), "{fault}");
    assert!(Disk.read(Path::new("/dev/zero"), 10).is_err());

    std::fs::remove_file(folder.join("pegwise-library.json")).unwrap();
    pipe("pegwise-library.previous.json");
    pipe("pegwise-library.new.json");
    pipe("pegwise-library.damaged-1.json");
    let mut opened = LibraryFile::open(Box::new(Disk), &folder).unwrap();
    opened.file.save(&with_songs(1)).unwrap();
    opened.file.save(&with_songs(2)).unwrap();
    assert_eq!(LibraryFile::open(Box::new(Disk), &folder).unwrap().library.songs().len(), 2);
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    std::fs::remove_dir_all(&folder).unwrap();
}
