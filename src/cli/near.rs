//! Instruments by names that are near theirs.

use crate::instrument::{Catalog, Instrument, edits};

/// Number words of the instruments' names.
const NUMBERS: [(&str, &str); 8] = [
    ("3", "three"),
    ("4", "four"),
    ("5", "five"),
    ("6", "six"),
    ("7", "seven"),
    ("8", "eight"),
    ("10", "ten"),
    ("12", "twelve"),
];

/// The most that a word may differ from one that is meant: two letters wrong, missing, too many or swapped; one in short
/// words.
const fn most_off(letters: usize) -> usize {
    if letters >= 5 { 2 } else { 1 }
}

/// Finds the instruments that `wanted`, in small letters, may mean, best first: those whose name is the misspelt word alone,
/// else those whose name has every word of it; then abbreviations; then misspelt words of names.
pub(super) fn instruments(wanted: &str) -> Vec<&'static Instrument> {
    let known = Catalog::bundled().instruments();
    let asked: Vec<String> = words(wanted).map(|word| number(&word).unwrap_or(word)).collect();
    if asked.is_empty() {
        return Vec::new();
    }
    let whole = asked.join("-");
    let least = known.iter().filter(|known| is_near(&whole, known.id())).map(|known| edits(&whole, known.id())).min();
    if let Some(least) = least {
        return known.iter().filter(|known| edits(&whole, known.id()) == least).collect();
    }
    let ways: [fn(&str, &str) -> bool; 4] =
        [|asked, word| asked == word, |asked, word| word.starts_with(asked), is_short_for, is_near];
    let fits = |known: &Instrument, way: fn(&str, &str) -> bool| {
        let name: Vec<String> = words(known.id()).chain(words(&known.name().to_lowercase())).collect();
        asked.iter().all(|asked| name.iter().any(|word| way(asked, word)))
    };
    let found = ways.into_iter().map(|way| known.iter().filter(|known| fits(known, way)).collect::<Vec<_>>());
    found.into_iter().find(|found| !found.is_empty()).unwrap_or_default()
}

fn words(text: &str) -> impl Iterator<Item = String> {
    let parts: Vec<String> =
        text.split(|mark: char| !mark.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned).collect();
    parts.into_iter()
}

fn number(word: &str) -> Option<String> {
    NUMBERS.iter().find(|(figure, _)| *figure == word).map(|(_, word)| (*word).to_owned())
}

/// Tells whether a word of three letters or more is short for another: the same first letter, the others in their order.
fn is_short_for(asked: &str, word: &str) -> bool {
    let mut rest = word.chars();
    asked.chars().count() >= 3
        && asked.chars().next() == word.chars().next()
        && asked.chars().all(|letter| rest.any(|other| other == letter))
}

/// Tells whether few letters are wrong.
fn is_near(asked: &str, word: &str) -> bool {
    asked.chars().count() >= 3 && edits(asked, word) <= most_off(asked.chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ids(wanted: &str) -> Vec<&'static str> {
        instruments(wanted).into_iter().map(Instrument::id).collect()
    }

    /// What players type instead of a name, each with what must be offered; one alone is taken.
    #[test]
    fn a_near_name_finds_the_instrument_or_those_it_may_mean() {
        assert_eq!(ids("gitar"), ["guitar"]);
        assert_eq!(ids("guitra"), ["guitar"]);
        assert_eq!(ids("mandolina"), ["mandolin"]);
        assert_eq!(ids("12"), ["twelve-string-guitar"]);
        assert_eq!(ids("12 string"), ["twelve-string-guitar"]);
        for wanted in ["ukulele", "uke", "ukelele"] {
            let found = ids(wanted);
            assert!(found.contains(&"soprano-ukulele") && found.len() < 15, "{wanted}: {found:?}");
            assert!(found.iter().all(|id| id.contains("ukulele")), "{wanted}: {found:?}");
        }
        let found = ids("bass");
        assert!(found.contains(&"bass-guitar") && found.len() < 15, "{found:?}");
        assert!(ids("banjo").contains(&"five-string-banjo"));
        assert!(ids("xyzzy").is_empty() && ids("").is_empty());
    }
}
