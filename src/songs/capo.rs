//! Where a capo makes a song easiest without changing what sounds.

use crate::instrument::Fret;
use crate::theory::{Chord, Key};

use super::song::{Song, ToHold};
use super::transpose::{Transposition, key_of_chord};

/// A place for the capo.
#[derive(Clone, Debug, PartialEq)]
pub struct CapoSuggestion {
    /// Where it sits, 0 for none.
    pub capo: Fret,
    /// The key the player then thinks in; `None` when the song names none.
    pub key: Option<Key>,
    /// The chords in the order they appear, as then played.
    pub chords: Vec<Chord>,
    /// The cost of the best shape of each chord, averaged over how often it is struck.
    pub mean_cost: f64,
    /// The cost of the hardest chord's best shape.
    pub worst_cost: f64,
}

/// Returns the places from 0 to `highest` where every chord of the song has a shape, easiest first; of two alike, the
/// lower one.
///
/// `cost` tells what the best shape of a chord costs with the capo it is to be held over, never less than 0, or `None`
/// when there is none. What sounds stays the same.
#[must_use]
pub fn suggest_capos(song: &Song, highest: Fret, cost: &mut dyn FnMut(ToHold) -> Option<f64>) -> Vec<CapoSuggestion> {
    let chords = song.read_chart().chords();
    let Some(&(first, _)) = chords.first() else { return Vec::new() };
    let key = song.key.unwrap_or_else(|| key_of_chord(first));
    let mut found: Vec<CapoSuggestion> = Vec::new();
    for capo in (0..=highest.get()).map(Fret::new) {
        let by = Transposition::by(key, song.capo.semitones() - capo.semitones());
        let mut suggestion = CapoSuggestion {
            capo,
            key: song.key.map(|_| by.key()),
            chords: Vec::new(),
            mean_cost: 0.0,
            worst_cost: 0.0,
        };
        let mut strokes = 0.0;
        for &(chord, times) in &chords {
            let Some(cost) = cost(ToHold { played: by.chord(chord), sounding: song.to_hold(chord).sounding, capo })
            else {
                break;
            };
            suggestion.chords.push(by.chord(chord));
            suggestion.mean_cost += cost * f64::from(times);
            suggestion.worst_cost = suggestion.worst_cost.max(cost);
            strokes += f64::from(times);
        }
        if suggestion.chords.len() == chords.len() {
            suggestion.mean_cost /= strokes;
            found.push(suggestion);
        }
    }
    found.sort_by(|one, other| one.mean_cost.total_cmp(&other.mean_cost).then(one.capo.cmp(&other.capo)));
    found
}
