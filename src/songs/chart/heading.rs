//! Headings: what a section is called.

use std::collections::BTreeSet;

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::token::times;

/// The words players head sections with.
static WORDS: Lazy<BTreeSet<String>> = Lazy::new(|| {
    #[derive(Deserialize)]
    struct Table {
        en: Vec<String>,
        de: Vec<String>,
        es: Vec<String>,
        fr: Vec<String>,
        pt: Vec<String>,
    }
    let table: Table = toml::from_str(crate::data::text("section_words.toml")).expect("the bundled table is right");
    [table.en, table.de, table.es, table.fr, table.pt].into_iter().flatten().collect()
});

/// How many letters a heading has at the most.
const MOST_LETTERS: usize = 60;
/// How many words a heading has at the most.
const MOST_WORDS: usize = 6;

/// A heading, and what is left of its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Heading {
    /// What the section is called.
    pub(super) title: String,
    /// The byte at which the rest of the line begins; the line's length when nothing is left.
    pub(super) rest: usize,
    /// It ends with a colon and nothing else says that it is a heading.
    pub(super) is_unsure: bool,
}

/// Reads a heading at the start of a line.
pub(super) fn read(line: &str) -> Option<Heading> {
    let text = line.trim();
    if text.is_empty() {
        return None;
    }
    let whole = |title: &str, is_unsure| Some(Heading { title: title.to_owned(), rest: line.len(), is_unsure });
    let is_short =
        |title: &str| title.chars().nth(MOST_LETTERS).is_none() && title.split_whitespace().nth(MOST_WORDS).is_none();
    if let Some(inner) = text.strip_prefix('[').and_then(|rest| rest.strip_suffix(']'))
        && !inner.contains(['[', ']', '|'])
        && is_short(inner)
        && !inner.trim().is_empty()
    {
        return whole(inner.trim().trim_end_matches(':').trim(), false);
    }
    if text.chars().nth(2 * MOST_LETTERS).is_none() {
        let core = text.trim_matches(|mark: char| "*#=-_~<>[](){}:.–—".contains(mark) || mark.is_whitespace());
        if !core.contains(':') && is_section(core) {
            return whole(core, false);
        }
    }
    let colon = line.find(':')?;
    let (before, rest) = (line[..colon].trim(), &line[colon + 1..]);
    if before.is_empty() || before.contains('|') || before.starts_with('"') || !is_short(before) {
        return None;
    }
    if rest.trim().is_empty() {
        return whole(before, !is_section(before));
    }
    (is_section(before) && !rest.starts_with('|')).then(|| Heading {
        title: before.to_owned(),
        rest: colon + 1,
        is_unsure: false,
    })
}

/// Tells whether a text is a section word with no more than a number, a letter, a repeat or a remark in brackets.
fn is_section(text: &str) -> bool {
    let lower = text.to_lowercase();
    let remark = lower.find(['(', '[']).map_or(lower.as_str(), |at| &lower[..at]);
    let mut words = 0;
    let fits = remark.split_whitespace().all(|word| {
        let bare = word.trim_matches(|mark: char| ".,:;-–—".contains(mark));
        if WORDS.contains(bare.trim_end_matches(|mark: char| mark.is_ascii_digit())) {
            words += 1;
            return true;
        }
        bare.is_empty()
            || bare.chars().count() == 1
            || bare.parse::<u8>().is_ok()
            || times(word).is_some()
            || is_roman(bare)
    });
    fits && (1..=2).contains(&words)
}

fn is_roman(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|mark| "ivx".contains(mark))
}

/// Splits a title into its name, folded for comparison, and how often it is to be played.
pub(super) fn name_and_times(title: &str) -> (String, u8) {
    let mut said = 1;
    let name: Vec<String> = title
        .split_whitespace()
        .filter(|word| match times(word) {
            Some(times) => {
                said = times;
                false
            }
            None => true,
        })
        .map(|word| word.trim_matches(|mark: char| "()[]:.,*".contains(mark)).to_lowercase())
        .filter(|word| !word.is_empty())
        .collect();
    (name.join(" "), said)
}
