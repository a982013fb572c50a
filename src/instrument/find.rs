//! Finding a tuning by what a player types: its name, another name, or its notes.

use std::fmt;

use crate::theory::{Naming, Pitch, SpelledPitch, SpellingChoice, without_accent};

use super::catalog::{Catalog, CatalogTuning, TuningFamily};
use super::model::Instrument;
use super::tuning::{ParseTuningError, Readings, Tuning};

/// What every instrument's home tuning answers to, whatever it is called.
const HOME_NAMES: [&str; 2] = ["standard", "usual"];
/// Words in instruments' names that keep their capital: they come from a place.
const OF_PLACES: [&str; 17] = [
    "Appalachian",
    "Brazilian",
    "Canarian",
    "Coimbra",
    "Colombian",
    "Cuban",
    "Greek",
    "Irish",
    "Lisbon",
    "Mexican",
    "Portuguese",
    "Puerto",
    "Rican",
    "Russian",
    "Spanish",
    "Tahitian",
    "Venezuelan",
];

/// How well a tuning answers what was typed; lower is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fit {
    Whole,
    NotesWhole,
    NameStart,
    NotesStart,
    OtherNameStart,
    WordStart,
    Inside,
}

/// Returns those of `tunings` that answer to `text`, best first, equally good ones in the given order but for an
/// instrument's usual tuning, which comes before others of the same notes.
///
/// Capitals, spaces and punctuation do not count; `♭`, `b` and "flat", `♯`, `#` and "sharp" are the same, "dropped" is
/// "drop", "minor" is "m", and neither "major" nor "tuning" says anything. A blank text finds all, one of
/// punctuation alone none.
#[must_use]
pub fn matching_tunings<'a>(tunings: &[&'a CatalogTuning], text: &str) -> Vec<&'a CatalogTuning> {
    matching_tunings_in(tunings, text, Naming::English)
}

/// Returns those of `tunings` that answer to `text` as [`matching_tunings`] does, with notes by the player's custom.
/// English letters are understood too where they mean the same: in German a `b` is B flat.
#[must_use]
pub fn matching_tunings_in<'a>(tunings: &[&'a CatalogTuning], text: &str, naming: Naming) -> Vec<&'a CatalogTuning> {
    if text.trim().is_empty() {
        return tunings.to_vec();
    }
    if !text.chars().any(char::is_alphanumeric) {
        return Vec::new();
    }
    let wanted = plain(text);
    let mut found: Vec<(Fit, &CatalogTuning)> =
        tunings.iter().filter_map(|&tuning| fit(tuning, text, &wanted, naming).map(|fit| (fit, tuning))).collect();
    found.sort_by_key(|(fit, tuning)| (*fit, *fit == Fit::NotesWhole && tuning.family() != TuningFamily::Standard));
    found.into_iter().map(|(_, tuning)| tuning).collect()
}

/// Returns the one of `tunings` that `text` names as a whole, by its name, another name or its notes; `None` where it is
/// only a part of a name, or says something else.
#[must_use]
pub fn meant_tuning<'a>(tunings: &[&'a CatalogTuning], text: &str, naming: Naming) -> Option<&'a CatalogTuning> {
    let wanted = plain(text);
    let best = matching_tunings_in(tunings, text, naming).into_iter().next().filter(|_| !wanted.is_empty())?;
    matches!(fit(best, text, &wanted, naming), Some(Fit::Whole | Fit::NotesWhole)).then_some(best)
}

fn fit(tuning: &CatalogTuning, text: &str, wanted: &str, naming: Naming) -> Option<Fit> {
    let name = plain(tuning.name());
    let by_custom = plain(&tuning.spelled().iter().map(|pitch| pitch.note().typed(naming)).collect::<String>());
    let folded: String = wanted.chars().map(without_accent).collect();
    // English notes are compared too, where a letter does not mean another note.
    let in_english = Some(plain(&tuning.notes_ascii())).filter(|_| naming != Naming::German || !wanted.contains('b'));
    let is_written = |has: fn(&str, &str) -> bool| {
        has(&by_custom, &folded) || in_english.as_ref().is_some_and(|notes| has(notes, wanted))
    };
    let others: Vec<String> = tuning.also().iter().map(|other| plain(other)).collect();
    let reads_as_it = || Tuning::read_in(text, tuning.tuning(), naming).is_ok_and(|read| &read == tuning.tuning());
    let word_starts = |name: &str| name.split_whitespace().any(|word| plain(word).starts_with(wanted));
    let meant = in_short(text);
    let meant = Some(meant.as_str()).filter(|meant| !meant.is_empty());
    let short_names = || std::iter::once(tuning.name()).chain(tuning.also().iter().map(String::as_str)).map(in_short);
    let is_meant =
        |fits: fn(&str, &str) -> bool| meant.is_some_and(|meant| short_names().any(|name| fits(&name, meant)));
    let fits = [
        (name == wanted || tuning.id() == text.trim() || others.iter().any(|other| other == wanted), Fit::Whole),
        (is_meant(|name, meant| name == meant), Fit::Whole),
        (is_written(|notes, text| notes == text) || reads_as_it(), Fit::NotesWhole),
        (name.starts_with(wanted), Fit::NameStart),
        (is_written(|notes, text| notes.starts_with(text)), Fit::NotesStart),
        (others.iter().any(|other| other.starts_with(wanted)), Fit::OtherNameStart),
        (is_meant(|name, meant| name.starts_with(meant)), Fit::OtherNameStart),
        (word_starts(tuning.name()) || tuning.also().iter().any(|other| word_starts(other)), Fit::WordStart),
        (name.contains(wanted) || others.iter().any(|other| other.contains(wanted)), Fit::Inside),
    ];
    fits.into_iter().find(|(is_so, _)| *is_so).map(|(_, fit)| fit)
}

/// Writes an instrument's name as it stands inside a sentence: in lower case but for words taken from a place.
fn in_sentence(name: &str) -> String {
    let word = |word: &str| {
        let is_of_place = OF_PLACES.contains(&word.trim_matches(|mark: char| !mark.is_alphabetic()));
        if is_of_place { word.to_owned() } else { word.to_lowercase() }
    };
    name.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// Folds a text to what is compared: lower case letters and digits with their accidentals, nothing else.
fn plain(text: &str) -> String {
    text.chars()
        .filter_map(|mark| match mark {
            '♭' => Some('b'),
            '♯' | '#' => Some('#'),
            other if other.is_alphanumeric() => Some(other),
            _ => None,
        })
        .flat_map(char::to_lowercase)
        .collect()
}

/// Folds a name to what it says: its words as [`plain`] has them, those that mean the same written alike and those that
/// say nothing left out.
pub(super) fn in_short(text: &str) -> String {
    let words = text.split(|mark: char| !mark.is_alphanumeric() && !matches!(mark, '#' | '♯' | '♭'));
    let short = |word: &str| match plain(word).as_str() {
        "tuning" | "tunings" | "major" | "maj" | "the" => String::new(),
        "dropped" => "drop".to_owned(),
        "minor" | "min" => "m".to_owned(),
        "flat" => "b".to_owned(),
        "sharp" => "#".to_owned(),
        word => word.to_owned(),
    };
    words.map(short).collect()
}

/// What a text says when it is read as notes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotesRead {
    /// The tuning that is meant, as far as can be told.
    pub best: Tuning,
    /// The others that it may as well mean, likeliest first: other octaves or other flats.
    pub also: Vec<Tuning>,
    /// `best` is in the catalogue.
    pub is_known: bool,
}

impl NotesRead {
    /// Returns the tuning that is meant, or says that nothing decides between two: that is so where neither is in the
    /// catalogue.
    ///
    /// # Errors
    /// When two readings stand that are both unknown.
    pub fn decided(self) -> Result<Tuning, TwoReadings> {
        match self.also.first() {
            Some(other) if !self.is_known => {
                let notes = |tuning: &Tuning| tuning.ascii_with_octaves(SpellingChoice::Flats);
                Err(TwoReadings { one: notes(&self.best), other: notes(other) })
            }
            _ => Ok(self.best),
        }
    }
}

impl Catalog {
    /// Reads notes with or without octaves and spaces as a tuning of `instrument`: what the catalogue has of these notes,
    /// nearest the usual tuning first; else as [`Tuning::read`] does, where a string that is at such a note already, by
    /// what is `on` the instrument, stays.
    ///
    /// # Errors
    /// As [`Tuning::read`].
    pub fn read_notes(
        &self,
        instrument: &Instrument,
        text: &str,
        on: Option<&Tuning>,
        naming: Naming,
    ) -> Result<NotesRead, ParseTuningError> {
        let standard = self.standard_of(instrument).tuning();
        let readings = Readings::of(text, standard.courses(), naming)?;
        let known = self.tunings_for(instrument).into_iter();
        let mut known: Vec<&CatalogTuning> = known.filter(|tuning| readings.can_mean(tuning.tuning())).collect();
        // Of several the one that is written with these very signs, then the one nearest the usual tuning.
        known.sort_by_key(|tuning| (!readings.can_spell(tuning.spelled()), tuning.tuning().semitones_to(standard)));
        if let Some((best, also)) = known.split_first() {
            let also = also.iter().map(|tuning| tuning.tuning().clone()).collect();
            return Ok(NotesRead { best: best.tuning().clone(), also, is_known: true });
        }
        let on = on.filter(|on| on.courses() == standard.courses());
        let stays = |tuning: Vec<SpelledPitch>| {
            let pitch = |(index, name): (usize, &SpelledPitch)| {
                let on = on.and_then(|on| on.pitches().get(index)).copied();
                let has_octave = text.contains(|mark: char| mark.is_ascii_digit());
                on.filter(|on| !has_octave && on.class() == name.pitch().class()).unwrap_or(name.pitch())
            };
            Tuning::new(tuning.iter().enumerate().map(pitch).collect())
        };
        let mut found: Vec<Tuning> = readings.nearest(standard.pitches())?.into_iter().filter_map(stays).collect();
        found.dedup();
        let best = found.swap_remove(0);
        Ok(NotesRead { best, also: found, is_known: false })
    }

    /// Understands `text` as a tuning of `instrument`: an id, a name or other name in full; `standard` and `usual` for
    /// its home tuning, whatever that is called; else notes with or without octaves (see [`Catalog::read_notes`]).
    ///
    /// # Errors
    /// When it is neither a name in the catalogue nor the right number of notes, or when it can be read two ways.
    pub fn resolve_tuning(&self, instrument: &Instrument, text: &str) -> Result<Tuning, UnknownTuning> {
        let wanted = plain(text);
        let tunings = self.tunings_for(instrument);
        let is_named = |tuning: &&&CatalogTuning| {
            tuning.id() == text.trim()
                || plain(tuning.name()) == wanted
                || tuning.also().iter().any(|other| plain(other) == wanted)
        };
        let meant = in_short(text);
        let is_meant = |tuning: &&&CatalogTuning| {
            !meant.is_empty()
                && (in_short(tuning.name()) == meant || tuning.also().iter().any(|other| in_short(other) == meant))
        };
        if let Some(found) = tunings.iter().find(is_named) {
            return Ok(found.tuning().clone());
        }
        let standard = self.standard_of(instrument).tuning();
        if HOME_NAMES.contains(&wanted.as_str()) {
            return Ok(standard.clone());
        }
        let read = self.read_notes(instrument, text, None, Naming::English).map_err(UnreadNotes::Fault);
        let read = read.and_then(|read| read.decided().map_err(UnreadNotes::TwoWays));
        let meant = || tunings.iter().find(is_meant).map(|found| found.tuning().clone());
        read.or_else(|as_notes| {
            meant().ok_or_else(|| UnknownTuning {
                text: text.to_owned(),
                instrument: instrument.name.clone(),
                as_notes,
                near: self.near_names(instrument, text),
            })
        })
    }

    /// Names the pitches the strings stand at on the way to a tuning: those that are there already as the tuning spells
    /// them, the others as the first tuning of the catalogue does that has them all, else by whichever name lies nearer
    /// the tuning's own notes on the line of fifths. So an open E that goes to standard has a G sharp to slacken.
    #[must_use]
    pub fn spelled_on_the_way(&self, instrument: &Instrument, now: &[Pitch], to: &[SpelledPitch]) -> Vec<SpelledPitch> {
        let is_there = |index: usize, pitch: Pitch| to.get(index).is_some_and(|to| to.pitch() == pitch);
        let tunings = self.tunings_for(instrument);
        let whole = tunings.iter().find(|tuning| tuning.tuning().pitches() == now);
        let has_the_waiting = |tuning: &&&CatalogTuning| {
            let pitches = tuning.tuning().pitches();
            pitches.len() == now.len()
                && now.iter().enumerate().all(|(index, &pitch)| is_there(index, pitch) || pitches[index] == pitch)
        };
        let known = whole.or_else(|| tunings.iter().find(has_the_waiting));
        let nearest = |pitch: Pitch| {
            let choices = [SpellingChoice::Customary, SpellingChoice::Sharps, SpellingChoice::Flats];
            let names = choices.map(|choice| SpelledPitch::by_choice(pitch, choice));
            let distance = |name: &SpelledPitch| {
                to.iter().map(|to| name.note().fifths_to(to.note()).abs()).map(i32::from).sum::<i32>()
            };
            names
                .into_iter()
                .min_by_key(distance)
                .unwrap_or_else(|| SpelledPitch::by_choice(pitch, SpellingChoice::Customary))
        };
        let name = |(index, &pitch): (usize, &Pitch)| match (
            to.get(index),
            known.and_then(|known| known.spelled().get(index)),
        ) {
            (Some(&to), _) if to.pitch() == pitch => to,
            (_, Some(&known)) if known.pitch() == pitch => known,
            _ => nearest(pitch),
        };
        now.iter().enumerate().map(name).collect()
    }

    /// Finds the name of a tuning among those of `instrument`.
    #[must_use]
    pub fn name_of(&self, instrument: &Instrument, tuning: &Tuning) -> Option<&CatalogTuning> {
        self.tunings_for(instrument).into_iter().find(|known| known.tuning() == tuning)
    }
}

/// A text that is neither a tuning's name nor its notes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownTuning {
    /// The text as given.
    pub text: String,
    /// The instrument's name.
    pub instrument: String,
    /// What is wrong with it as notes.
    pub as_notes: UnreadNotes,
    /// Tunings of the instrument that are near to it, in one line; empty where none is.
    pub near: String,
}

/// Why a text does not say one tuning by its notes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnreadNotes {
    /// It is not the right number of notes.
    Fault(ParseTuningError),
    /// Nothing decides between two tunings.
    TwoWays(TwoReadings),
}

/// Two tunings that a text can mean, and nothing decides between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwoReadings {
    /// The notes of one, with octaves.
    pub one: String,
    /// The notes of the other.
    pub other: String,
}

impl fmt::Display for UnknownTuning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = match &self.as_notes {
            UnreadNotes::TwoWays(two) => {
                let TwoReadings { one, other } = two;
                return write!(f, "\"{}\" can be read as {one} or as {other}; put spaces between the notes", self.text);
            }
            UnreadNotes::Fault(fault) => fault,
        };
        write!(
            f,
            "\"{}\" is no tuning of the {} by name, and not by its notes: {}",
            self.text,
            in_sentence(&self.instrument),
            fault
        )?;
        if self.near.is_empty() { Ok(()) } else { write!(f, "; near it: {}", self.near) }
    }
}

impl std::error::Error for UnknownTuning {}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a player types, and the tuning that must stand first.
    #[test]
    fn a_few_letters_find_the_tuning() {
        let catalog = Catalog::bundled();
        let guitar = catalog.tunings_for(catalog.guitar());
        for (typed, id) in [
            ("open g", "guitar-open-g"),
            ("openg", "guitar-open-g"),
            ("dgdgbe", "guitar-g6"),
            ("D G D G B E", "guitar-g6"),
            ("g6", "guitar-g6"),
            ("dadg", "guitar-dadgad"),
            ("DADGAD", "guitar-dadgad"),
            ("taro", "guitar-open-g"),
            ("e♭ standard", "guitar-eb-standard"),
            ("half", "guitar-eb-standard"),
            ("D#G#C#F#A#D#", "guitar-eb-standard"),
            ("stan", "guitar-standard"),
            ("eadgbe", "guitar-standard"),
            ("dropped d", "guitar-drop-d"),
            ("Dropped-D tuning", "guitar-drop-d"),
            ("open d minor", "guitar-open-dm"),
            ("open d major", "guitar-open-d"),
            ("e flat standard", "guitar-eb-standard"),
            ("nashville tuning", "guitar-high-strung"),
            ("open e minor", "guitar-open-em"),
        ] {
            let found = matching_tunings(&guitar, typed);
            assert_eq!(found.first().map(|tuning| tuning.id()), Some(id), "{typed}");
        }
        assert!(matching_tunings(&guitar, "zzzz").is_empty());
        for blank in ["", " ", "\t"] {
            assert_eq!(matching_tunings(&guitar, blank).len(), guitar.len());
        }
        for without_letters in ["?", "#", "♯", "- -", "…", "★"] {
            assert!(matching_tunings(&guitar, without_letters).is_empty(), "{without_letters}");
        }
    }

    /// The same, typed by other customs; in German a B is B flat, so `dgdgbe` is not G6 there.
    #[test]
    fn notes_are_found_by_the_players_custom() {
        let catalog = Catalog::bundled();
        let guitar = catalog.tunings_for(catalog.guitar());
        for (naming, typed, id) in [
            (Naming::German, "dgdghe", "guitar-g6"),
            (Naming::German, "D G D G H", "guitar-g6"),
            (Naming::German, "esasdesgesbes", "guitar-eb-standard"),
            (Naming::German, "Es As Des Ges B Es", "guitar-eb-standard"),
            (Naming::German, "EbAbDbGbBbEb", "guitar-eb-standard"),
            (Naming::German, "dadg", "guitar-dadgad"),
            (Naming::Solfege, "re sol re sol si mi", "guitar-g6"),
            (Naming::Solfege, "résolrésolsimi", "guitar-g6"),
            (Naming::Solfege, "dgdgbe", "guitar-g6"),
            (Naming::Solfege, "re la re sol la", "guitar-dadgad"),
            (Naming::Solfege, "mib lab reb solb sib mib", "guitar-eb-standard"),
        ] {
            let found = matching_tunings_in(&guitar, typed, naming);
            assert_eq!(found.first().map(|tuning| tuning.id()), Some(id), "{naming:?} {typed}");
        }
        let in_german = matching_tunings_in(&guitar, "dgdgbe", Naming::German);
        assert!(in_german.iter().all(|tuning| tuning.id() != "guitar-g6"), "a B flat");
    }

    #[test]
    fn every_instrument_knows_its_home_tuning_as_standard_and_usual() {
        let catalog = Catalog::bundled();
        for instrument in catalog.instruments() {
            let home = catalog.standard_of(instrument).tuning();
            for text in ["standard", "Standard", " usual "] {
                assert_eq!(catalog.resolve_tuning(instrument, text).as_ref(), Ok(home), "{}", instrument.id());
            }
        }
    }

    #[test]
    fn a_text_that_is_no_tuning_is_refused_in_one_sentence() {
        let catalog = Catalog::bundled();
        let sentence = |id: &str| {
            let instrument = catalog.find_instrument(id).expect("the catalogue has it");
            catalog.resolve_tuning(instrument, "no such").expect_err("no tuning is called so").to_string()
        };
        assert!(sentence("mandolin").starts_with("\"no such\" is no tuning of the mandolin by name, and"));
        assert_eq!(in_sentence("Portuguese guitar, Lisbon"), "Portuguese guitar, Lisbon");
        assert_eq!(in_sentence("Baglamas (Greek)"), "baglamas (Greek)");
        assert_eq!(in_sentence("Irish tenor banjo, 17 frets"), "Irish tenor banjo, 17 frets");
    }
}
