//! When no hand can sound a chord: the nearest chord that one can.

use crate::instrument::Fretboard;
use crate::theory::{Chord, ChordQuality, PitchClassSet};

use super::ranked::Found;
use super::search::{BassRule, ShapeSearch, bits};

/// What is given up so that a chord can be sounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum GivenUp {
    /// The bass: another tone of the chord is lowest.
    Bass,
    /// The note after the slash.
    SlashBass,
    /// Tones of the chord: it is a simpler one.
    Tones,
}

/// The nearest chord that can be sounded, with its shapes.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// The chord that is found instead.
    pub chord: Chord,
    /// What was given up for it.
    pub given_up: GivenUp,
    /// The required tones of the chord asked for that this one does without.
    pub left_out: PitchClassSet,
    /// Its shapes, as the search wants them.
    pub found: Found,
}

impl ShapeSearch {
    /// Finds the nearest chord that the hand can sound, for a chord that it cannot: first the same chord with another
    /// tone lowest, then without the note after the slash, then the simpler chords on the same root whose tones it
    /// contains, the one that keeps most of them first and of those the plainer. `None` when there is none at all.
    #[must_use]
    pub fn find_nearest(&self, chord: Chord, board: &Fretboard<'_>) -> Option<Nearest> {
        let plain = Chord::new(chord.root(), chord.quality());
        let relaxed = Self { bass: BassRule::Any, ..self.clone() };
        let mut attempts = Vec::new();
        if self.bass == BassRule::Customary {
            attempts.push((chord, GivenUp::Bass));
        }
        if chord.slash_bass().is_some() {
            attempts.push((plain, GivenUp::SlashBass));
        }
        attempts.extend(simpler(plain).into_iter().map(|simpler| (simpler, GivenUp::Tones)));
        attempts.into_iter().find_map(|(attempt, given_up)| {
            let strict = if given_up == GivenUp::Bass { Found::default() } else { self.find(attempt, board) };
            let found = if strict.shapes.is_empty() { relaxed.find(attempt, board) } else { strict };
            let left_out = chord.required().without(attempt.allowed());
            (!found.shapes.is_empty()).then_some(Nearest { chord: attempt, given_up, left_out, found })
        })
    }
}

/// The chords on the same root whose tones all belong to `chord`, most tones first, then in the table's order.
fn simpler(chord: Chord) -> Vec<Chord> {
    let own = bits(chord.required());
    let all = own | bits(chord.allowed());
    let mut found: Vec<(u32, Chord)> = ChordQuality::all()
        .iter()
        .map(|quality| Chord::new(chord.root(), quality))
        .filter(|other| other.quality().id() != chord.quality().id() && bits(other.required()) & !all == 0)
        .map(|other| ((bits(other.required()) & own).count_ones(), other))
        .collect();
    found.sort_by_key(|(kept, _)| std::cmp::Reverse(*kept));
    found.into_iter().map(|(_, chord)| chord).collect()
}
