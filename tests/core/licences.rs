//! The list of licences that is shipped: of what Cargo.lock says, complete where it can be told without a network.

use std::collections::BTreeSet;

/// The packages of Cargo.lock, as `name version`.
fn locked() -> BTreeSet<String> {
    let text = std::fs::read_to_string("Cargo.lock").unwrap();
    let value = |line: &str, field: &str| Some(line.strip_prefix(field)?.trim_matches('"').to_owned());
    let lines: Vec<&str> = text.lines().collect();
    let pairs = lines.windows(2);
    pairs.filter_map(|pair| Some(format!("{} {}", value(pair[0], "name = ")?, value(pair[1], "version = ")?))).collect()
}

/// The names of what the app itself depends on when it runs.
fn direct() -> Vec<String> {
    let manifest: toml::Table = toml::from_str(&std::fs::read_to_string("Cargo.toml").unwrap()).unwrap();
    let mut tables = vec![manifest["dependencies"].as_table().unwrap()];
    tables.extend(manifest["target"].as_table().unwrap().values().filter_map(|on| on["dependencies"].as_table()));
    tables.into_iter().flat_map(|table| table.keys().cloned()).collect()
}

#[test]
fn every_package_that_is_compiled_in_is_listed_with_its_licence_and_a_text() {
    let page = std::fs::read_to_string("data/licences.txt").unwrap();
    let locked = locked();
    let (head, texts) = page.split_once(&format!("\n{}\n", "=".repeat(80))).unwrap();
    let listed: Vec<&str> =
        head.lines().filter(|line| line.contains(": ") && line.contains(|mark: char| mark.is_ascii_digit())).collect();
    let mut names = BTreeSet::new();
    for line in listed.iter().filter(|line| !line.starts_with("Generated") && !line.starts_with("Pegwise")) {
        let (package, licence) = line.split_once(": ").unwrap();
        assert!(locked.contains(package), "{package} is not in Cargo.lock: run ./dev licences");
        assert!(!licence.is_empty());
        let has_text = texts.contains(package) || head.matches(package).count() > 1;
        assert!(has_text, "{package} has neither a text nor a line that says under which it stands");
        names.insert(package.split(' ').next().unwrap().to_owned());
    }
    assert!(names.len() > 300, "{}", names.len());
    // Only for the headless tests, or the screens' own package.
    let not_shipped = ["i-slint-backend-testing", "pegwise-ui"];
    for name in direct() {
        assert!(names.contains(&name) || not_shipped.contains(&name.as_str()), "{name} is missing: run ./dev licences");
    }
}
