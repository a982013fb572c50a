//! Tunings that are near to what was written, where an instrument has none of that name.

use crate::theory::{Chord, PitchClassSet};

use super::catalog::{Catalog, CatalogTuning, TuningFamily};
use super::find::in_short;
use super::model::Instrument;

/// The most letters of a name that may be wrong, missing, too many or swapped; one in short words.
const fn most_off(letters: usize) -> usize {
    if letters >= 5 { 2 } else { 1 }
}

impl Catalog {
    /// Finds the tunings of `instrument` that are near to a name it does not have, best first: those whose open strings
    /// sound what the name means, under whatever name they go here; then those that sound a part of it, root and another of
    /// its notes; else those whose name is spelled nearly so.
    ///
    /// A name means a chord (`open d`, `open em`), or what other instruments of the catalogue call so.
    #[must_use]
    pub fn near_tunings<'a>(&self, of_instrument: &[&'a CatalogTuning], text: &str) -> Vec<&'a CatalogTuning> {
        let wanted = in_short(text);
        if wanted.is_empty() {
            return Vec::new();
        }
        let chord = meant_chord(&wanted);
        let is_called = |tuning: &&CatalogTuning| names(tuning).any(|name| name == wanted);
        let elsewhere = self.tunings().iter().filter(is_called).map(classes);
        let meant: Vec<PitchClassSet> = chord.map(tones).into_iter().chain(elsewhere).collect();
        let sounds_it = |tuning: &&&CatalogTuning| meant.contains(&classes(tuning));
        let sounds_part = |tuning: &&&CatalogTuning| {
            let sounding = classes(tuning);
            let has_root = chord.is_some_and(|chord| sounding.contains(chord.root().class()));
            has_root && sounding.len() > 1 && meant.iter().any(|meant| sounding.is_subset_of(*meant))
        };
        // Of those that sound alike the usual one is the nearest.
        let is_unusual = |tuning: &&CatalogTuning| tuning.family() != TuningFamily::Standard;
        let mut found: Vec<&CatalogTuning> = of_instrument.iter().filter(sounds_it).copied().collect();
        found.sort_by_key(is_unusual);
        let parts = of_instrument.iter().filter(|tuning| !sounds_it(tuning) && sounds_part(tuning)).copied();
        let mut parts: Vec<&CatalogTuning> = parts.collect();
        parts.sort_by_key(is_unusual);
        found.extend(parts);
        if found.is_empty() {
            let most = most_off(wanted.chars().count());
            let off = |tuning: &CatalogTuning| names(tuning).map(|name| edits(&wanted, &name)).min();
            let near = of_instrument.iter().filter_map(|tuning| Some((off(tuning)?, *tuning)));
            let mut near: Vec<_> = near.filter(|(off, _)| wanted.chars().count() >= 3 && *off <= most).collect();
            near.sort_by_key(|(off, _)| *off);
            found.extend(near.into_iter().map(|(_, tuning)| tuning));
        }
        found
    }

    /// Tells in one line which tunings of an instrument are near to a name it does not have; empty where none is.
    #[must_use]
    pub fn near_names(&self, instrument: &Instrument, text: &str) -> String {
        const MOST: usize = 4;
        let near = self.near_tunings(&self.tunings_for(instrument), text);
        let named = near.iter().take(MOST).map(|near| format!("{} ({})", near.name(), near.notes_ascii()));
        named.collect::<Vec<_>>().join(", ")
    }
}

fn classes(tuning: &CatalogTuning) -> PitchClassSet {
    tuning.tuning().pitches().iter().fold(PitchClassSet::default(), |all, pitch| all.with(pitch.class()))
}

fn tones(chord: Chord) -> PitchClassSet {
    chord.notes().into_iter().fold(PitchClassSet::default(), |all, note| all.with(note.class()))
}

fn names(tuning: &CatalogTuning) -> impl Iterator<Item = String> + '_ {
    std::iter::once(tuning.name()).chain(tuning.also().iter().map(String::as_str)).map(in_short)
}

/// Reads the chord of a name such as `open d`, folded to `opend`.
fn meant_chord(wanted: &str) -> Option<Chord> {
    let symbol = wanted.strip_prefix("open")?;
    let root = symbol.chars().next()?;
    Chord::read(&format!("{}{}", root.to_uppercase(), &symbol[root.len_utf8()..])).ok()
}

/// Counts the letters to change, add, leave out, or swap with the next (the restricted edit distance of Damerau and
/// Levenshtein).
#[must_use]
pub fn edits(one: &str, other: &str) -> usize {
    let (one, other): (Vec<char>, Vec<char>) = (one.chars().collect(), other.chars().collect());
    let mut rows: Vec<Vec<usize>> = vec![(0..=other.len()).collect()];
    for (at, letter) in one.iter().enumerate() {
        let mut row = vec![at + 1];
        for (place, against) in other.iter().enumerate() {
            let before = &rows[at];
            let changed = before[place] + usize::from(letter != against);
            let mut least = changed.min(before[place + 1] + 1).min(row[place] + 1);
            if at > 0 && place > 0 && *letter == other[place - 1] && one[at - 1] == *against {
                least = least.min(rows[at - 1][place - 1] + 1);
            }
            row.push(least);
        }
        rows.push(row);
    }
    rows[one.len()][other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::matching_tunings;

    fn near(instrument: &str, text: &str) -> Vec<&'static str> {
        let catalog = Catalog::bundled();
        let instrument = catalog.find_instrument(instrument).expect("the catalogue has it");
        let all = catalog.tunings_for(instrument);
        catalog.near_tunings(&all, text).into_iter().map(CatalogTuning::id).collect()
    }

    /// Common practice, no source: the dulcimer's D A D is the open D of three strings; G D G D of a mandolin has no third; a
    /// banjo tuned to a chord of D has it.
    #[test]
    fn a_name_an_instrument_does_not_have_finds_what_sounds_so() {
        assert_eq!(near("appalachian-dulcimer", "open d")[0], "appalachian-dulcimer-standard");
        assert!(near("mandolin", "open g").contains(&"mandolin-gdgd"));
        assert_eq!(near("guitar", "dadgd")[0], "guitar-dadgad");
        assert_eq!(near("guitar", "opne d")[0], "guitar-open-d");
        assert!(near("guitar", "zzzz").is_empty() && near("guitar", "??").is_empty());
    }

    /// Wherever the list finds nothing for an open chord that the instrument has, by its notes, under another name, it is
    /// offered: counted over every instrument and the open chords of all names of the catalogue.
    #[test]
    fn no_instrument_hides_an_open_chord_it_has_under_another_name() {
        let catalog = Catalog::bundled();
        let mut asked = 0;
        for instrument in catalog.instruments() {
            let all = catalog.tunings_for(instrument);
            for root in ["c", "d", "e", "f", "g", "a"] {
                let text = format!("open {root}");
                let chord = tones(Chord::read(&root.to_uppercase()).expect("a major chord"));
                let has_it = all.iter().filter(|tuning| classes(tuning) == chord).count();
                if !matching_tunings(&all, &text).is_empty() || has_it == 0 {
                    continue;
                }
                asked += 1;
                let found = catalog.near_tunings(&all, &text);
                assert!(found.len() >= has_it, "{} {text}", instrument.id());
                assert!(found[..has_it].iter().all(|tuning| classes(tuning) == chord), "{} {text}", instrument.id());
            }
        }
        assert!(asked > 0, "some have one under another name");
    }
}
