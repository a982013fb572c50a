//! The command line as it is called: the program itself, its text and its JSON.

use std::process::Command;

use serde_json::Value;

/// Runs the program; its exit code, standard output and standard error.
fn pegwise(arguments: &[&str]) -> (i32, String, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_pegwise")).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (done.status.code().unwrap(), text(done.stdout), text(done.stderr))
}

fn json(arguments: &[&str]) -> Value {
    let (code, out, error) = pegwise(&[arguments, &["--json"]].concat());
    assert_eq!(code, 0, "{error}");
    serde_json::from_str(&out).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

/// Open G is D G D G B D: over the root G a pure third lies at 5:4 and a pure fifth at 3:2 (Helmholtz), 13.686 cents under
/// and 1.955 over equal temperament.
#[test]
fn strings_are_tempered_from_the_command_line() {
    let cents = |ratio: f64, tempered: f64| 1200.0 * ratio.log2() - tempered;
    let (third, fifth) = (cents(5.0 / 4.0, 400.0), cents(3.0 / 2.0, 700.0));
    let plan = json(&["retune", "--to", "open g", "--temperament", "open-chord"]);
    assert_eq!(plan["temperament"], "open-chord");
    for (found, pure) in numbers(&plan["sweetening_cents"]).into_iter().zip([fifth, 0.0, fifth, 0.0, third, fifth]) {
        assert!((found - pure).abs() < 0.01, "{found} {pure}");
    }
    // Every step says where it ends, and all strings but the two Gs, one of which stays, are steps.
    let steps = plan["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 5);
    for step in steps {
        let course = usize::try_from(step["course"].as_u64().unwrap()).unwrap();
        let meant = numbers(&plan["sweetening_cents"])[6 - course];
        assert!((step["offset_cents"].as_f64().unwrap() - meant).abs() < 1e-9);
    }
    let (_, text, _) = pegwise(&["retune", "--to", "open g", "--temperament", "open-chord"]);
    assert!(text.starts_with("Cents over equal temperament: +2.0 +0.0 +2.0 +0.0 -13.7 +2.0.\n"), "{text}");

    let equal = json(&["retune", "--to", "open g"]);
    assert!(numbers(&equal["sweetening_cents"]).iter().all(|cents| *cents == 0.0));
    // The shapes of a key: a compromise, and another key another one.
    let of_key = |key: &str| {
        numbers(&json(&["retune", "--to", "dadgad", "--temperament", "key-shapes", "--key", key])["sweetening_cents"])
    };
    let (in_d, in_g) = (of_key("D"), of_key("G"));
    assert!(in_d != in_g && in_d.iter().chain(&in_g).all(|cents| cents.abs() < 20.0), "{in_d:?} {in_g:?}");
    assert_eq!(pegwise(&["retune", "--to", "open g", "--temperament", "sour"]).0, 2);
    assert_eq!(pegwise(&["retune", "--to", "open g", "--temperament", "key-shapes", "--key", "X"]).0, 2);
}

#[test]
fn a_floating_bridge_is_said_before_the_first_step() {
    let to_d = ["retune", "--instrument", "electric-guitar-floating", "--to", "drop d"];
    let plan = json(&to_d);
    assert_eq!(plan["led_by_tone"], true);
    assert!(plan["passes"].as_u64().unwrap() > 2);
    assert_eq!(plan["later_passes"]["order"].as_array().unwrap().len(), 6);
    let (_, text, _) = pegwise(&to_d);
    assert!(text.starts_with("This bridge floats: every turn shifts the other strings."), "{text}");
    assert!(text.contains("past its mark by a quarter of what it was off"), "{text}");
}

#[test]
fn pairs_are_called_by_their_strings_and_notes_by_where_they_come_from() {
    let (_, pairs, _) = pegwise(&["retune", "--instrument", "twelve-string-guitar", "--to", "open g"]);
    assert!(pairs.contains("then its octave string: with the first, an octave apart"), "{pairs}");
    assert!(pairs.contains("damp its other strings until the first is right"), "{pairs}");
    for line in pairs.lines().filter(|line| line.contains("string: with")) {
        assert!(!line.contains("open and pair"), "{line}");
    }
    let (_, from_open_e, _) = pegwise(&["retune", "--from", "open e", "--to", "standard"]);
    assert!(from_open_e.contains("G♯3 down to G3") && !from_open_e.contains('♭'), "{from_open_e}");
    let (_, half_down, _) = pegwise(&["retune", "--to", "eb standard"]);
    assert!(half_down.contains("4 at fret 1 as it still is and 6 open"), "{half_down}");
}

#[test]
fn two_readings_are_asked_for() {
    let (code, out, error) = pegwise(&["retune", "--to", "cgdgbbe"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(error.contains("can be read as C2 G2 D3 G3 Bb3 E4 or as C2 G2 D3 Gb3 B3 E4"), "{error}");
}
