//! What nobody needs is not there: crates that nothing names, and public items that only tests use.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Doubles of the machine and the disk, for tests here and in whatever is built on this library; and what the browser's
/// page calls.
const ELSEWHERE: [&str; 4] =
    ["src/web.rs", "src/platform/fake.rs", "src/platform/fake_sound.rs", "src/store/memory.rs"];

/// Public items that no other part of the library uses, each with the reason why it is there.
const KEPT: [(&str, &str); 9] = [
    ("src/instrument/strain.rs: least_strength", "held to the makers' tables"),
    ("src/instrument/strain.rs: stress_mpa", "held to the makers' tables"),
    ("src/shapes/fingering.rs: fingers_used", "`./dev fit`"),
    ("src/shapes/hand.rs: find_fingering", "what a hand can do, held to charts and to plain enumeration"),
    ("src/shapes/hand.rs: fingerings", "`./dev fit`"),
    ("src/shapes/weights.rs: FINGERING_COUNT", "`./dev fit`"),
    ("src/shapes/weights.rs: with_fingering", "`./dev fit`"),
    ("src/shapes/weights.rs: with_narrow_fingering", "`./dev fit`"),
    ("src/shapes/weights.rs: with_shape", "`./dev fit`"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

/// The code of a file without comments and without the tests at its end.
fn code(text: &str) -> String {
    let end = text.find("\n#[cfg(test)]\nmod ").filter(|&at| text[at..].contains('{')).unwrap_or(text.len());
    text[..end].lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|mark: char| !mark.is_alphanumeric() && mark != '_').filter(|word| !word.is_empty())
}

/// The name that a line makes public, if it does.
fn made_public(line: &str) -> Option<&str> {
    let rest = line.trim_start().strip_prefix("pub ")?;
    let mut words = words(rest).skip_while(|word| matches!(*word, "const" | "unsafe" | "async"));
    let first = words.next()?;
    match first {
        "fn" | "struct" | "enum" | "trait" | "type" | "static" => words.next(),
        // `pub const NAME`: the word before was skipped.
        name if rest.starts_with("const ")
            && name.chars().all(|mark| mark.is_uppercase() || mark == '_' || mark.is_numeric()) =>
        {
            Some(name)
        }
        _ => None,
    }
}

#[test]
fn no_public_item_is_there_for_tests_alone() {
    let mut paths = Vec::new();
    sources(&root().join("src"), &mut paths);
    let files: BTreeMap<String, String> = paths
        .iter()
        .filter(|path| !path.ends_with("checks.rs"))
        .map(|path| {
            (path.strip_prefix(root()).unwrap().display().to_string(), code(&fs::read_to_string(path).unwrap()))
        })
        .collect();
    let mut uses: BTreeMap<&str, usize> = BTreeMap::new();
    for text in files.values() {
        // What is handed on by `pub use` is not used by it.
        for statement in text.split(';').filter(|statement| !statement.trim_start().starts_with("pub use")) {
            words(statement).for_each(|word| *uses.entry(word).or_default() += 1);
        }
    }
    let mut unused = BTreeSet::new();
    for (file, text) in files.iter().filter(|(file, _)| !ELSEWHERE.contains(&file.as_str())) {
        let public = text.lines().filter_map(made_public);
        unused.extend(
            public.filter(|name| uses.get(name).is_none_or(|&uses| uses <= 1)).map(|name| format!("{file}: {name}")),
        );
    }
    let kept: BTreeSet<String> = KEPT.iter().map(|(item, _)| (*item).to_owned()).collect();
    assert_eq!(unused, kept, "used by tests alone, or no longer needing their exception");
    assert!(files.len() > 150, "the sources were not found");
}

#[test]
fn every_crate_is_named_somewhere() {
    let manifest: toml::Table = fs::read_to_string(root().join("Cargo.toml")).unwrap().parse().unwrap();
    let mut paths = Vec::new();
    for folder in ["src", "tests"] {
        sources(&root().join(folder), &mut paths);
    }
    let text: String = paths.iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    let named: BTreeSet<&str> = words(&text).collect();
    let mut tables =
        vec![manifest["dependencies"].as_table().unwrap(), manifest["dev-dependencies"].as_table().unwrap()];
    tables.extend(
        manifest["target"].as_table().unwrap().values().map(|target| target["dependencies"].as_table().unwrap()),
    );
    let mut count = 0;
    for name in tables.iter().flat_map(|table| table.keys()) {
        count += 1;
        assert!(named.contains(name.replace('-', "_").as_str()), "nothing names the crate {name}");
    }
    assert!(count > 25, "{count} crates: the manifest was not read");
}
