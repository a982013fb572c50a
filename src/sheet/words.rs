//! What a sheet says, in the languages of the screens, from `data/sheet_words.toml`.

use std::collections::BTreeMap;

use once_cell::sync::Lazy;
use serde::Deserialize;

use crate::instrument::Language;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    en: String,
    de: String,
    es: String,
    fr: String,
    pt: String,
}

#[derive(Debug, Deserialize)]
struct Table {
    phrases: Vec<Row>,
}

static PHRASES: Lazy<BTreeMap<String, Row>> = Lazy::new(|| {
    let table: Table = toml::from_str(crate::data::text("sheet_words.toml")).expect("a test reads the sheet's words");
    table.phrases.into_iter().map(|row| (row.id.clone(), row)).collect()
});

/// The words of one language.
#[derive(Clone, Copy, Debug)]
pub(super) struct Words {
    language: Language,
}

impl Words {
    pub(super) const fn new(language: Language) -> Self {
        Self { language }
    }

    /// Says a phrase with what belongs in its places `{0}`, `{1}` and so on.
    ///
    /// # Panics
    /// When the table has no such phrase; the names are literals in this folder, and a test looks each up.
    pub(super) fn say(self, id: &str, given: &[&str]) -> String {
        let row = PHRASES.get(id).expect("a test looks up every phrase");
        let phrase = match self.language {
            Language::English => &row.en,
            Language::German => &row.de,
            Language::Spanish => &row.es,
            Language::French => &row.fr,
            Language::Portuguese => &row.pt,
        };
        let mut said = String::with_capacity(phrase.len() + 16);
        let mut rest = phrase.as_str();
        while let Some(open) = rest.find('{') {
            let Some(close) = rest[open..].find('}').map(|close| open + close) else { break };
            said.push_str(&rest[..open]);
            if let Some(part) = rest[open + 1..close].parse::<usize>().ok().and_then(|place| given.get(place)) {
                said.push_str(part);
            }
            rest = &rest[close + 1..];
        }
        said.push_str(rest);
        said
    }

    /// Says one phrase for one and another for any other number.
    pub(super) fn counted(self, number: u16, one: &str, many: &str) -> String {
        let text = number.to_string();
        self.say(if number == 1 { one } else { many }, &[&text])
    }

    /// Writes a number with one decimal, or none where that is 0, with the language's point.
    pub(super) fn decimal(self, number: f64) -> String {
        let text = format!("{number:.1}");
        let text = text.strip_suffix(".0").unwrap_or(&text);
        if self.language == Language::English { text.to_owned() } else { text.replace('.', ",") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_phrase_that_is_said_is_in_the_table_and_has_the_same_places_in_every_language() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/sheet");
        let mut source = String::new();
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|kind| kind == "rs") && !path.ends_with("words.rs") {
                source += &std::fs::read_to_string(path).unwrap();
            }
        }
        let places = |phrase: &str| {
            let mut found: Vec<&str> = phrase.split('{').skip(1).filter_map(|rest| rest.split('}').next()).collect();
            found.sort_unstable();
            found.dedup();
            found.join(" ")
        };
        let mut unused: Vec<&str> = Vec::new();
        for row in PHRASES.values() {
            for other in [&row.de, &row.es, &row.fr, &row.pt] {
                assert_eq!(places(&row.en), places(other), "{}", row.id);
                assert!(!other.trim().is_empty(), "{}", row.id);
            }
            if !source.contains(&format!("\"{}\"", row.id)) {
                unused.push(&row.id);
            }
        }
        assert!(unused.is_empty(), "said nowhere: {unused:?}");
        // `say("id"` and `counted(n, "one", "many")`, wherever the line breaks.
        let squeezed: String = source.split_whitespace().collect::<Vec<_>>().join(" ");
        let mut looked_up = 0;
        for part in squeezed.split("say(").skip(1) {
            let Some(id) = part.trim_start().strip_prefix('"').and_then(|rest| rest.split('"').next()) else {
                continue;
            };
            assert!(PHRASES.contains_key(id), "no phrase {id}");
            looked_up += 1;
        }
        assert!(looked_up > 20, "{looked_up} phrases looked up");
    }

    #[test]
    fn the_places_are_filled_in_the_order_of_the_language() {
        let german = Words::new(Language::German);
        assert_eq!(german.say("form-known", &["D"]), "Die bekannte D-Form");
        assert_eq!(german.decimal(12.04), "12");
        assert_eq!(german.decimal(12.06), "12,1");
    }
}
