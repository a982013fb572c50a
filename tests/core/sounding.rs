//! `pegwise listen` and `pegwise sound`, as they are called.

use std::path::PathBuf;
use std::process::{Command, Output};

fn pegwise(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_pegwise")).args(words).output().expect("the program runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A file of this test's own, gone with it.
struct Place(PathBuf);

impl Place {
    fn new(name: &str) -> Self {
        Self(std::env::temp_dir().join(format!("pegwise-{}-{name}.wav", std::process::id())))
    }

    fn name(&self) -> &str {
        self.0.to_str().expect("a plain name")
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

#[test]
fn a_string_far_from_any_pitch_is_heard_all_the_same() {
    let place = Place::new("far");
    let made = pegwise(&["sound", place.name(), "--pitch", "E2", "--cents", "150", "--seconds", "1"]);
    assert!(made.status.success(), "{}", text(&made.stderr));
    let heard = pegwise(&["listen", place.name(), "--json"]);
    let heard: serde_json::Value = serde_json::from_slice(&heard.stdout).unwrap();
    let last = heard.as_array().unwrap().last().expect("it is heard");
    // 82.407 Hz (CRC Handbook, "Musical scales") and 150 cents.
    let hertz = last["hertz"].as_f64().unwrap();
    assert!((hertz / (82.407 * 2_f64.powf(150.0 / 1200.0)) - 1.0).abs() < 1e-3, "{last}");
    assert!(last["nearest"] == "E2" && (last["cents"].as_f64().unwrap() - 150.0).abs() < 0.5, "{last}");
}

#[test]
fn what_cannot_be_sounded_is_refused_and_writes_nothing() {
    let place = Place::new("refused");
    for words in [
        &["--pitch", "C9"][..],
        &["--pitch", "A0", "--cents", "-200"],
        &["--pitch", "E2", "--cents", "1e9"],
        &["--pitch", "E2", "--cents", "nan"],
        &["--pitch", "E2", "--seconds", "nan"],
        &["--pitch", "E2", "--seconds", "0"],
        &["--pitch", "E2", "--seconds", "inf"],
        &["--pitch", "E2", "--reference", "nan"],
    ] {
        let all: Vec<&str> = ["sound", place.name()].into_iter().chain(words.iter().copied()).collect();
        let said = pegwise(&all);
        assert!(!said.status.success() && said.stdout.is_empty(), "{words:?}: {}", text(&said.stdout));
        let fault = text(&said.stderr);
        assert!(!fault.trim().is_empty() && !fault.contains("panicked"), "{words:?}: {fault}");
        assert!(!place.0.exists(), "{words:?}");
    }
}

#[test]
fn what_was_sounded_is_told_as_json_too() {
    let place = Place::new("json");
    let said = pegwise(&["sound", place.name(), "--seconds", "0.5", "--json"]);
    let said: serde_json::Value = serde_json::from_slice(&said.stdout).unwrap();
    assert_eq!(said["hertz"].as_array().unwrap().len(), 6, "{said}");
    assert!((said["hertz"][0].as_f64().unwrap() - 82.407).abs() < 0.001);
    assert_eq!((said["seconds"].as_f64(), said["file"].as_str()), (Some(0.5), Some(place.name())));
}
