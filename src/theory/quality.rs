//! Chord qualities: which tones make a chord, from `data/chords.toml`.

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::interval::Interval;
use super::pitch::{PitchClass, PitchClassSet};

/// What makes a chord major, minor, a dominant seventh and so on: its degrees against the root's major scale.
#[derive(Debug, PartialEq, Eq)]
pub struct ChordQuality {
    id: String,
    name: String,
    symbol: String,
    also: Vec<String>,
    required: Vec<Interval>,
    omittable: Vec<Interval>,
    optional: Vec<Interval>,
    is_agreed: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    name: String,
    symbol: String,
    also: Vec<String>,
    required: String,
    omittable: String,
    optional: String,
    agreed: bool,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
struct Table {
    qualities: Vec<Row>,
}

static QUALITIES: Lazy<Vec<ChordQuality>> = Lazy::new(|| {
    let table: Table = toml::from_str(crate::data::text("chords.toml")).expect("a test reads the bundled chord table");
    table.qualities.into_iter().map(ChordQuality::from_row).collect()
});

/// What is offered where a suffix begins like none of the table.
const COMMON_SUFFIXES: [&str; 4] = ["m", "7", "maj7", "sus4"];
/// How many suffixes are offered where one breaks off.
const MOST_EXPECTED: usize = 4;

/// Folds a character of a suffix as the table writes it; nothing for a space.
fn plain_sign(mark: char) -> Option<char> {
    match mark {
        '♭' => Some('b'),
        '♯' => Some('#'),
        // A triangle, in whichever script it is typed, and the hat that stands for it on a keyboard.
        '△' | '∆' | '▵' | '^' => Some('Δ'),
        other => (!other.is_whitespace()).then_some(other),
    }
}

impl ChordQuality {
    fn from_row(row: Row) -> Self {
        let degrees = |text: &str| -> Vec<Interval> {
            text.split_whitespace()
                .map(|degree| Interval::read(degree).expect("a test reads the bundled chord table"))
                .collect()
        };
        Self {
            required: degrees(&row.required),
            omittable: degrees(&row.omittable),
            optional: degrees(&row.optional),
            id: row.id,
            name: row.name,
            symbol: row.symbol,
            also: row.also,
            is_agreed: row.agreed,
        }
    }

    /// Returns every quality, in the table's order: common ones first.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &QUALITIES
    }

    /// Finds a quality by its id, such as `dominant-seventh`.
    #[must_use]
    pub fn find(id: &str) -> Option<&'static Self> {
        QUALITIES.iter().find(|quality| quality.id == id)
    }

    /// Finds the quality written as `suffix` after a root: `""` is major, `m7`, `maj7` …
    ///
    /// Printed signs count as their ASCII form; capitals matter (`M7` is not `m7`).
    #[must_use]
    pub fn find_by_suffix(suffix: &str) -> Option<&'static Self> {
        let plain: String = suffix.chars().filter_map(plain_sign).collect();
        QUALITIES
            .iter()
            .find(|quality| quality.symbol == plain)
            .or_else(|| QUALITIES.iter().find(|quality| quality.also.iter().any(|also| also == &plain)))
    }

    /// Returns how many characters at the start of `suffix` begin a suffix of the table, and up to four suffixes, the
    /// shortest first, that go on from there. Where nothing begins like it, these are four of the commonest.
    pub(super) fn read_suffix_start(suffix: &str) -> (usize, Vec<String>) {
        let (mut read, mut plain) = (0, String::new());
        for (index, mark) in suffix.chars().enumerate() {
            let mut longer = plain.clone();
            longer.extend(plain_sign(mark));
            if !QUALITIES.iter().any(|quality| quality.suffixes().any(|known| known.starts_with(&longer))) {
                break;
            }
            (read, plain) = (index + 1, longer);
        }
        if plain.is_empty() {
            return (0, COMMON_SUFFIXES.map(str::to_owned).to_vec());
        }
        let goes_on = |known: &&str| known.len() > plain.len() && known.starts_with(&plain);
        let of_quality = |quality: &'static Self| quality.suffixes().find(goes_on);
        let mut expected: Vec<&str> = QUALITIES.iter().filter_map(of_quality).collect();
        expected.sort_by_key(|known| known.chars().count());
        (read, expected.into_iter().take(MOST_EXPECTED).map(str::to_owned).collect())
    }

    /// Returns the symbol, then the other suffixes that are read.
    fn suffixes(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.symbol.as_str()).chain(self.also.iter().map(String::as_str))
    }

    /// Returns the stable name used in files, such as `dominant-seventh`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the name in words.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns what is written after the root, in plain ASCII.
    #[must_use]
    pub fn symbol(&self) -> &str {
        &self.symbol
    }

    /// Returns the other suffixes understood on reading.
    #[must_use]
    pub fn also(&self) -> &[String] {
        &self.also
    }

    /// Returns the degrees without which it is another chord.
    #[must_use]
    pub fn required(&self) -> &[Interval] {
        &self.required
    }

    /// Returns the degrees that belong to the chord but may be left out.
    #[must_use]
    pub fn omittable(&self) -> &[Interval] {
        &self.omittable
    }

    /// Returns the degrees that may sound too without changing the name.
    #[must_use]
    pub fn optional(&self) -> &[Interval] {
        &self.optional
    }

    /// Tells whether both general-purpose libraries of the table's head list the same tones.
    #[must_use]
    pub const fn is_agreed(&self) -> bool {
        self.is_agreed
    }

    /// Returns the chord's own degrees, required and omittable, from the root up.
    #[must_use]
    pub fn tones(&self) -> Vec<Interval> {
        let mut tones: Vec<Interval> = self.required.iter().chain(&self.omittable).copied().collect();
        tones.sort_by_key(|tone| (tone.steps(), tone.semitones()));
        tones
    }

    /// Returns the degree that `class` has in a chord of this quality on `root`, `None` when it is not in the chord.
    #[must_use]
    pub fn degree_of(&self, root: PitchClass, class: PitchClass) -> Option<Interval> {
        self.required
            .iter()
            .chain(&self.omittable)
            .chain(&self.optional)
            .copied()
            .find(|degree| root.transpose(degree.semitones()) == class)
    }

    /// Returns the pitch classes of `degrees` above `root`.
    pub(crate) fn classes(root: PitchClass, degrees: &[Interval]) -> PitchClassSet {
        degrees.iter().map(|degree| root.transpose(degree.semitones())).collect()
    }
}
