//! The languages of the screens, and what instruments are called in them, from `data/words.toml`.

use std::collections::BTreeMap;

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::model::Instrument;
use crate::theory::Naming;

/// A language of the screens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the languages name themselves")]
pub enum Language {
    #[default]
    English,
    German,
    Spanish,
    French,
    Portuguese,
}

impl Language {
    /// All, in the order they are offered.
    pub const ALL: [Self; 5] = [Self::English, Self::German, Self::Spanish, Self::French, Self::Portuguese];

    /// Returns the language's code in ISO 639-1.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
            Self::Spanish => "es",
            Self::French => "fr",
            Self::Portuguese => "pt",
        }
    }

    /// Returns the language's name in itself.
    #[must_use]
    pub const fn own_name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
            Self::Spanish => "Español",
            Self::French => "Français",
            Self::Portuguese => "Português",
        }
    }

    /// Returns how its speakers call notes; common practice, no source.
    #[must_use]
    pub const fn usual_naming(self) -> Naming {
        match self {
            Self::English => Naming::English,
            Self::German => Naming::German,
            Self::Spanish | Self::French | Self::Portuguese => Naming::Solfege,
        }
    }

    /// Finds the language of a tag such as `pt-BR` or `de_AT.UTF-8`: its first part decides.
    ///
    /// ```
    /// use pegwise::instrument::Language;
    /// assert_eq!(Language::find("pt_BR.UTF-8"), Some(Language::Portuguese));
    /// assert_eq!(Language::find("nl-NL"), None);
    /// ```
    #[must_use]
    pub fn find(tag: &str) -> Option<Self> {
        let first = tag.split(|mark: char| !mark.is_ascii_alphabetic()).next().unwrap_or_default();
        Self::ALL.into_iter().find(|language| language.code().eq_ignore_ascii_case(first))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    de: String,
    es: String,
    fr: String,
    pt: String,
    #[serde(rename = "unsure")]
    _unsure: Vec<String>,
}

#[derive(Deserialize)]
struct Table {
    instruments: Vec<Row>,
}

static NAMES: Lazy<BTreeMap<String, Row>> = Lazy::new(|| {
    let table: Table = toml::from_str(crate::data::text("words.toml")).expect("a test reads the bundled words");
    table.instruments.into_iter().map(|row| (row.id.clone(), row)).collect()
});

impl Instrument {
    /// Returns what players of a language call the instrument.
    #[must_use]
    pub fn name_in(&self, language: Language) -> &str {
        let Some(row) = NAMES.get(&self.id) else { return &self.name };
        match language {
            Language::English => &self.name,
            Language::German => &row.de,
            Language::Spanish => &row.es,
            Language::French => &row.fr,
            Language::Portuguese => &row.pt,
        }
    }
}
