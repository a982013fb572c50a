//! Dependencies point one way: every `crate::` path in `src` is held against the table of DEVELOPERS.md.

use std::fs;
use std::path::{Path, PathBuf};

/// What each folder may name besides itself.
const MAY_USE: [(&str, &[&str]); 16] = [
    ("data", &[]),
    ("theory", &["data"]),
    ("instrument", &["data", "theory"]),
    ("shapes", &["data", "theory", "instrument"]),
    ("retune", &["data", "theory", "instrument"]),
    ("tune", &["theory"]),
    ("arrange", &["theory", "instrument", "shapes", "tune"]),
    ("songs", &["data", "theory", "instrument", "shapes", "retune", "tune", "arrange"]),
    ("sound", &["theory"]),
    ("sheet", &["data", "theory", "instrument", "shapes", "retune", "tune", "arrange", "songs"]),
    ("store", &["data", "theory", "instrument", "shapes", "retune", "songs", "tune"]),
    ("platform", &[]),
    (
        "app",
        &[
            "data",
            "theory",
            "instrument",
            "shapes",
            "retune",
            "tune",
            "arrange",
            "songs",
            "sheet",
            "sound",
            "store",
            "platform",
        ],
    ),
    (
        "cli",
        &[
            "theory",
            "instrument",
            "shapes",
            "retune",
            "tune",
            "arrange",
            "songs",
            "sheet",
            "sound",
            "store",
            "app",
            "platform",
        ],
    ),
    ("main", &["cli"]),
    // The browser's door, as `android_main` in lib.rs is the phone's.
    ("web", &["app", "platform", "store"]),
];

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries
        .flat_map(|path| match path.is_dir() {
            true => rust_files(&path),
            false => Vec::from_iter(path.extension().is_some_and(|kind| kind == "rs").then_some(path)),
        })
        .collect()
}

/// The folder a file belongs to: its first name under `src`, without an ending.
fn folder_of(path: &Path, src: &Path) -> String {
    let first = path.strip_prefix(src).unwrap().iter().next().unwrap();
    first.to_string_lossy().trim_end_matches(".rs").to_owned()
}

#[test]
fn no_folder_names_one_above_it() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut uses = 0;
    for path in rust_files(&src) {
        let folder = folder_of(&path, &src);
        if folder == "lib" {
            continue;
        }
        let allowed = MAY_USE.iter().find(|(name, _)| *name == folder);
        let (_, allowed) = allowed.unwrap_or_else(|| panic!("{folder} is not in the table"));
        let text = fs::read_to_string(&path).unwrap();
        for (number, line) in text.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//")) {
            for named in line.split("crate::").skip(1) {
                let named: String = named.chars().take_while(|mark| mark.is_alphanumeric() || *mark == '_').collect();
                uses += 1;
                let place = format!("{}:{}", path.display(), number + 1);
                assert!(named == folder || allowed.contains(&named.as_str()), "{place}: {folder} names {named}");
            }
        }
    }
    assert!(uses > 100, "the check has read {uses} paths, so it has not read the source");
}

/// Below `app` nothing knows the window toolkit, and only `platform`, `lib.rs` and the command line know systems.
#[test]
fn the_window_toolkit_is_named_in_the_app_only() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for path in rust_files(&src) {
        let folder = folder_of(&path, &src);
        let text = fs::read_to_string(&path).unwrap();
        if !matches!(folder.as_str(), "app" | "lib" | "platform" | "cli" | "web") {
            assert!(!text.contains("slint"), "{} names the window toolkit", path.display());
        }
        if !matches!(folder.as_str(), "lib" | "platform" | "cli") {
            for asked in ["target_os", "target_arch", "target_family"] {
                assert!(!text.contains(asked), "{} asks for the system", path.display());
            }
        }
    }
}

/// The parts of the state itself, which alone tie the screens together: what is shown, told, taken back and handed to the
/// system, and what a screen asks for.
const TIES: [&str; 6] = ["state.rs", "next.rs", "screen.rs", "notice.rs", "undo.rs", "place.rs"];

/// Who sends actions, as the window does.
const SENDERS: [&str; 3] = ["window", "scenes", "ears/asking.rs"];

/// A screen has its own state and the desk in hand, and returns what happens next: none reaches into all there is.
#[test]
fn no_screen_takes_the_whole_state_to_change_it() {
    let app = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/app");
    let mut screens = 0;
    for path in rust_files(&app) {
        let place = path.strip_prefix(&app).unwrap();
        if TIES.iter().chain(&SENDERS).any(|tie| place.starts_with(tie)) {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        screens += usize::from(text.contains(") -> Next {"));
        for (number, line) in text.lines().enumerate() {
            assert!(!line.contains("&mut State"), "{}:{}: {line}", path.display(), number + 1);
        }
    }
    assert!(screens >= 20, "only {screens} files say what happens next");
}
