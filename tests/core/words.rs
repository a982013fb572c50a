//! What the screens say: every message of `ui` is in every language, and a term has one translation in each.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

const LANGUAGES: [&str; 4] = ["de", "es", "fr", "pt"];

fn home() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn slint_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            files.extend(slint_files(&entry));
        } else if entry.extension().is_some_and(|kind| kind == "slint") {
            files.push(entry);
        }
    }
    files
}

/// Reads a quoted text, escapes as they stand; returns it with what follows.
fn quoted(text: &str) -> Option<(String, &str)> {
    let inside = text.trim_start().strip_prefix('"')?;
    let mut escaped = false;
    let end = inside.find(|letter| {
        let ends = letter == '"' && !escaped;
        escaped = letter == '\\' && !escaped;
        ends
    })?;
    Some((inside[..end].to_owned(), &inside[end + 1..]))
}

/// What the screens say: the English of each `@tr`, with its plural where it has one.
fn said() -> BTreeMap<String, Option<String>> {
    let mut messages = BTreeMap::new();
    for file in slint_files(&home().join("ui")) {
        let text = fs::read_to_string(&file).unwrap();
        for after in text.split("@tr(").skip(1) {
            let (one, rest) = quoted(after).unwrap_or_else(|| panic!("{}: {after:.40}", file.display()));
            let many = rest.trim_start().strip_prefix('|').and_then(quoted).map(|(many, _)| many);
            let before = messages.insert(one.clone(), many.clone());
            assert!(before.is_none_or(|before| before == many), "two plurals: {one}");
        }
    }
    messages
}

/// One entry of a `.po` file.
#[derive(Default, Debug)]
struct Entry {
    one: String,
    many: Option<String>,
    /// One form, or two where there is a plural.
    told: Vec<String>,
}

/// The entries of a language's `.po` file (GNU gettext manual, "The Format of PO Files"; ours has a message a line).
fn entries(language: &str) -> Vec<Entry> {
    let file = home().join(format!("ui/lang/{language}/LC_MESSAGES/pegwise-ui.po"));
    let mut entries: Vec<Entry> = Vec::new();
    for line in fs::read_to_string(file).unwrap().lines() {
        if let Some(one) = line.strip_prefix("msgid ") {
            entries.push(Entry { one: quoted(one).unwrap().0, ..Entry::default() });
        } else if let Some(many) = line.strip_prefix("msgid_plural ") {
            entries.last_mut().unwrap().many = Some(quoted(many).unwrap().0);
        } else if line.starts_with("msgstr") {
            let told = line.split_once(' ').unwrap().1;
            entries.last_mut().unwrap().told.push(quoted(told).unwrap().0);
        } else {
            let is_head = entries.len() == 1 && line.starts_with('"');
            assert!(line.is_empty() || line.starts_with('#') || is_head, "{language}: {line}");
        }
    }
    entries.remove(0);
    entries
}

fn places(text: &str) -> BTreeSet<String> {
    text.split('{').skip(1).filter_map(|after| after.split_once('}')).map(|(place, _)| place.to_owned()).collect()
}

#[test]
fn every_message_is_in_every_language() {
    let said = said();
    assert!(said.len() > 1000, "{}", said.len());
    for language in LANGUAGES {
        let entries = entries(language);
        let mut told = BTreeSet::new();
        for entry in &entries {
            assert!(told.insert(entry.one.clone()), "{language}: twice: {}", entry.one);
            let many = said.get(&entry.one).unwrap_or_else(|| panic!("{language}: said nowhere: {}", entry.one));
            assert_eq!(&entry.many, many, "{language}: the plural of {}", entry.one);
            assert_eq!(entry.told.len(), if many.is_some() { 2 } else { 1 }, "{language}: {}", entry.one);
            // A form for one may say the number in words.
            for (form, english) in entry.told.iter().zip([Some(&entry.one), entry.many.as_ref()]) {
                assert!(!form.trim().is_empty(), "{language}: empty: {}", entry.one);
                let (mut found, mut wanted) = (places(form), places(english.unwrap_or(&entry.one)));
                if entry.many.is_some() && english == Some(&entry.one) {
                    found.remove("n");
                    wanted.remove("n");
                }
                assert_eq!(found, wanted, "{language}: {form}");
            }
        }
        let missing: Vec<&String> = said.keys().filter(|one| !told.contains(*one)).collect();
        assert!(missing.is_empty(), "{language} lacks {missing:#?}");
    }
}

/// Whether a text has a word or phrase, whatever its capitals; a star stands for any beginning or ending.
fn has(text: &str, wanted: &str) -> bool {
    let (text, wanted) = (text.to_lowercase(), wanted.to_lowercase());
    let core = wanted.trim_matches('*');
    text.match_indices(core).any(|(start, found)| {
        let before = text[..start].chars().next_back().filter(|letter| letter.is_alphabetic());
        let after = text[start + found.len()..].chars().next().filter(|letter| letter.is_alphabetic());
        (before.is_none() || wanted.starts_with('*')) && (after.is_none() || wanted.ends_with('*'))
    })
}

/// A line of a glossary.
struct Term {
    english: Vec<String>,
    called: Vec<String>,
    never: Vec<String>,
    except: Vec<String>,
}

impl Term {
    fn means(&self, english: &str) -> bool {
        let mut text = english.to_lowercase();
        for phrase in &self.except {
            text = text.replace(&phrase.to_lowercase(), " ");
        }
        self.english.iter().any(|form| form == "*" || has(&text, form))
    }

    /// What is wrong with a translation, if anything.
    fn fault(&self, told: &str) -> Option<String> {
        if let Some(word) = self.never.iter().find(|word| has(told, word)) {
            return Some(format!("says “{word}”: {told}"));
        }
        let called = self.called.iter().any(|word| word == "*" || has(told, word));
        (!called).then(|| format!("{:?} is not called {:?}: {told}", self.english, self.called))
    }
}

fn glossary(language: &str) -> Vec<Term> {
    let text = fs::read_to_string(home().join(format!("ui/lang/{language}/glossary.tsv"))).unwrap();
    let rows = text.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
    rows.map(|line| {
        let columns: Vec<Vec<String>> = line
            .split('\t')
            .map(|column| column.split('/').filter(|word| !word.is_empty()).map(str::to_owned).collect())
            .collect();
        let [english, called, never, except] =
            <[Vec<String>; 4]>::try_from(columns).unwrap_or_else(|_| panic!("{line}"));
        Term { english, called, never, except }
    })
    .collect()
}

/// What sheets say: English and the language's words for it.
fn sheet_words(language: &str) -> Vec<(String, String)> {
    let text = fs::read_to_string(home().join("data/sheet_words.toml")).unwrap();
    let table: toml::Table = text.parse().unwrap();
    let phrases = table["phrases"].as_array().unwrap();
    phrases
        .iter()
        .map(|phrase| (phrase["en"].as_str().unwrap().to_owned(), phrase[language].as_str().unwrap().to_owned()))
        .collect()
}

#[test]
fn a_term_has_one_translation_in_each_language() {
    for language in LANGUAGES {
        let mut pairs = sheet_words(language);
        for entry in entries(language) {
            let many = entry.many.into_iter().zip(entry.told.get(1).cloned());
            pairs.extend(std::iter::once((entry.one, entry.told[0].clone())).chain(many));
        }
        let mut faults = Vec::new();
        for term in glossary(language) {
            let of_it: Vec<&(String, String)> = pairs.iter().filter(|(english, _)| term.means(english)).collect();
            assert!(!of_it.is_empty(), "{language}: no message has {:?}", term.english);
            faults.extend(of_it.iter().filter_map(|(english, told)| {
                term.fault(told).map(|fault| format!("{language}: “{english}” {fault}"))
            }));
        }
        assert!(faults.is_empty(), "{faults:#?}");
    }
}

#[test]
fn every_language_has_the_terms_of_every_other() {
    let terms =
        |language: &str| -> BTreeSet<Vec<String>> { glossary(language).into_iter().map(|term| term.english).collect() };
    let german: BTreeSet<Vec<String>> = terms("de");
    assert!(german.len() > 40, "{}", german.len());
    for language in ["es", "fr", "pt"] {
        let differ: Vec<_> = german.symmetric_difference(&terms(language)).cloned().collect();
        // German says two of them in words of their own.
        let known = [vec!["string by string".to_owned()], vec!["root on every beat".to_owned()]];
        assert!(differ.iter().all(|term| known.contains(term)), "{language}: {differ:?}");
    }
}

/// The checks above can fail.
#[test]
fn a_wrong_word_is_seen() {
    let term = |called: &str, never: &str| Term {
        english: vec!["wobble".to_owned(), "wobbles".to_owned()],
        called: vec![called.to_owned()],
        never: vec![never.to_owned()],
        except: vec!["no wobble".to_owned()],
    };
    let spanish = term("batimiento*", "batido*");
    assert!(spanish.means("{0} wobbles a second") && spanish.means("Wobble"));
    assert!(!spanish.means("wobbly") && !spanish.means("no wobble"));
    assert_eq!(spanish.fault("{0} batimientos por segundo"), None);
    assert!(spanish.fault("{0} batidos por segundo").is_some());
    assert!(spanish.fault("{0} por segundo").is_some());
    assert!(term("*griff", "-").fault("Lieblingsgriffe").is_some());
    assert_eq!(quoted(" \"a \\\"b\\\"\", c").map(|(text, _)| text), Some("a \\\"b\\\"".to_owned()));
}
