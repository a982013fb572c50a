//! From what sounds to what it is called: chord names, best first, each with its reason.

use std::fmt::Write as _;

use crate::instrument::{Catalog, Fretboard};
use crate::theory::{
    Chord, ChordQuality, Interval, Key, Naming, Note, Pitch, PitchClass, PitchClassSet, Semitones, SpellingChoice,
};

use super::name_cost::{NamePenalty, PATTERNS, Points, Tones};
use super::shape::Shape;

/// The most names given for one set of tones.
pub const MOST_NAMES: usize = 8;

/// Which part the lowest note plays in a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BassRole {
    /// The root is lowest.
    Root,
    /// Another tone of the chord is lowest: first inversion with the third, second with the fifth, and so on.
    Inversion(u8),
    /// A note that is not in the chord is lowest.
    Foreign,
    /// The tuning is re-entrant: the lowest course is not the lowest note, and players do not name the bass.
    NotNamed,
}

/// A name of what sounds, and why it is one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChordName {
    /// The chord, with the bass after a slash where the root is not lowest.
    pub chord: Chord,
    /// The chord's degrees that sound, from the root up; a foreign bass is not among them.
    pub present: Vec<Interval>,
    /// The chord's own degrees that do not sound, from the root up.
    pub missing: Vec<Interval>,
    /// The degree of the lowest note above the root.
    pub bass_degree: Interval,
    /// Which part the lowest note plays.
    pub bass_role: BassRole,
    /// What speaks against the name, each with its points, none of them zero.
    pub penalties: Vec<(NamePenalty, u16)>,
}

impl ChordName {
    /// Returns the sum of the points against the name; lower is better.
    #[must_use]
    pub fn points(&self) -> u16 {
        self.penalties.iter().map(|&(_, points)| points).sum()
    }

    /// Tells whether the root sounds.
    #[must_use]
    pub fn has_root(&self) -> bool {
        self.present.contains(&Interval::UNISON)
    }

    /// Returns the reason as an English sentence: which tones are there, which are missing, what is in the bass.
    #[must_use]
    pub fn sentence(&self, naming: Naming) -> String {
        let mut text = format!("{}: {}", self.chord.named(naming), self.chord.quality().name());
        let spoken = |degree: &Interval| {
            let class = self.chord.root().class().transpose(degree.semitones());
            let note = self.chord.note_of(class).unwrap_or_else(|| Note::of_class(class, SpellingChoice::Customary));
            format!("{} {degree}", note.named(naming))
        };
        let list = |degrees: &[Interval]| degrees.iter().map(spoken).collect::<Vec<_>>().join(", ");
        let _ = write!(text, "; sounds {}", list(&self.present));
        if !self.missing.is_empty() {
            let _ = write!(text, "; without {}", list(&self.missing));
        }
        let bass = self.chord.bass().named(naming);
        match self.bass_role {
            BassRole::Root => text.push_str("; the root is lowest"),
            BassRole::Inversion(number) => {
                let word = ["", "first", "second", "third"].get(usize::from(number)).copied().unwrap_or("further");
                let _ = write!(text, "; {bass} is lowest, the {word} inversion");
            }
            BassRole::Foreign => {
                let _ = write!(text, "; {bass}, which is not in the chord, is lowest");
            }
            BassRole::NotNamed => text.push_str("; the tuning is re-entrant, so no bass is named"),
        }
        text
    }
}

/// What sounds and what it may be called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// The notes, each once, from the lowest up, spelled as in the best name.
    pub notes: Vec<Note>,
    /// The names, best first, at most [`MOST_NAMES`]. Empty for one note, and for notes that make no chord of the
    /// table.
    pub names: Vec<ChordName>,
}

impl Names {
    /// Returns the best name.
    #[must_use]
    pub fn best(&self) -> Option<&ChordName> {
        self.names.first()
    }
}

/// Names what a shape sounds on `board`; spelled as in `key` where one is given.
///
/// Of names that say as much, one on the key's first note comes first; without a key, one on the note that an open tuning is
/// built on.
#[must_use]
pub fn name_shape(board: &Fretboard<'_>, shape: &Shape, key: Option<Key>) -> Names {
    let home = key.map(|key| key.tonic().class()).or_else(|| tuning_home(board));
    name_sounding(&string_pitches(board, &shape.pitches(board)), is_reentrant(board), key, home)
}

/// Returns the note that most strings of a changed tuning sound, two at least, of those on which all of them are a complete
/// chord; `None` in the instrument's standard tuning, which is built on no chord.
fn tuning_home(board: &Fretboard<'_>) -> Option<PitchClass> {
    let standard = Catalog::bundled().standard_of(board.instrument()).tuning().pitches();
    let raised = standard.iter().map(|pitch| pitch.transpose(board.capo().semitones()));
    if raised.eq(board.open_pitches().iter().map(|&pitch| Some(pitch))) {
        return None;
    }
    let open = string_pitches(board, &board.open_pitches().iter().copied().map(Some).collect::<Vec<_>>());
    let names = chord_names(&classes_from_lowest(&open), None, is_reentrant(board), None, None);
    let strings = |root: PitchClass| open.iter().filter(|pitch| pitch.class() == root).count();
    let roots = names.iter().filter(|name| name.missing.is_empty()).map(|name| name.chord.root().class());
    // Of equals the better name's: `max_by_key` would take the last.
    let best = roots.rev().max_by_key(|&root| strings(root))?;
    (strings(best) >= 2).then_some(best)
}

/// Returns what every string sounds when its course sounds the given pitch: pairs may differ by more than octaves.
pub(super) fn string_pitches(board: &Fretboard<'_>, by_course: &[Option<Pitch>]) -> Vec<Pitch> {
    let courses = board.instrument().courses().iter().zip(by_course);
    courses.filter_map(|(course, &pitch)| pitch.map(|pitch| course.string_pitches(pitch))).flatten().collect()
}

/// Tells whether the course nearest the ceiling is not the lowest in pitch, so that the ear takes no note for the bass.
#[must_use]
pub fn is_reentrant(board: &Fretboard<'_>) -> bool {
    let open = board.open_pitches();
    open.first().is_some_and(|first| open.iter().any(|pitch| pitch < first))
}

/// Names what sounds together; `is_reentrant` when the lowest note is not heard as the bass.
///
/// Ties break by the quality's place in the table, then by the root's distance above the lowest note.
#[must_use]
pub fn name_pitches(pitches: &[Pitch], is_reentrant: bool, key: Option<Key>) -> Names {
    name_sounding(pitches, is_reentrant, key, key.map(|key| key.tonic().class()))
}

fn name_sounding(pitches: &[Pitch], is_reentrant: bool, key: Option<Key>, home: Option<PitchClass>) -> Names {
    let classes = classes_from_lowest(pitches);
    let names = if classes.len() < 2 { Vec::new() } else { chord_names(&classes, None, is_reentrant, key, home) };
    let spell = |class: PitchClass| {
        let in_key = || key.map_or_else(|| Note::of_class(class, SpellingChoice::Customary), |key| key.note_of(class));
        names.first().and_then(|best: &ChordName| best.chord.note_of(class)).unwrap_or_else(in_key)
    };
    let notes = classes.iter().map(|&class| spell(class)).collect();
    Names { notes, names }
}

/// Names what sounds together as a chord on `root`, best first; empty where it is none. For a note added to a chord
/// that is held: the ear keeps the root it knows.
#[must_use]
pub fn name_on_root(pitches: &[Pitch], root: PitchClass, is_reentrant: bool, key: Option<Key>) -> Vec<ChordName> {
    let classes = classes_from_lowest(pitches);
    if classes.len() < 2 { Vec::new() } else { chord_names(&classes, Some(root), is_reentrant, key, None) }
}

/// Returns the different notes, from the lowest up.
fn classes_from_lowest(pitches: &[Pitch]) -> Vec<PitchClass> {
    let mut sorted = pitches.to_vec();
    sorted.sort_unstable();
    let mut classes: Vec<PitchClass> = Vec::with_capacity(12);
    for pitch in sorted {
        if !classes.contains(&pitch.class()) {
            classes.push(pitch.class());
        }
    }
    classes
}

/// Finds the names of `classes`, two or more, the first of them lowest; on `only` where that is given.
fn chord_names(
    classes: &[PitchClass],
    only: Option<PitchClass>,
    is_reentrant: bool,
    key: Option<Key>,
    home: Option<PitchClass>,
) -> Vec<ChordName> {
    if classes.len() < 2 {
        return Vec::new();
    }
    let lowest = classes[0];
    let mut found: Vec<(u16, usize, u8, Points, bool)> = Vec::with_capacity(64);
    for root in PitchClass::all().filter(|&root| only.is_none_or(|only| only == root)) {
        let sounding: Tones = classes.iter().fold(0, |set, &class| set | 1 << root.up_to(class));
        let bass = root.up_to(lowest);
        for (place, pattern) in PATTERNS.iter().enumerate() {
            if let Some((points, is_foreign)) = pattern.points(sounding, bass, is_reentrant) {
                found.push((points.sum(), place, lowest.up_to(root), points, is_foreign));
            }
        }
    }
    // Nobody is told unasked of a chord whose root does not sound, where there is another.
    if found.iter().any(|(.., points, _)| !points.lacks_root()) {
        found.retain(|(.., points, _)| !points.lacks_root());
    }
    let is_home = |above: u8| Some(lowest.transpose(Semitones::new(i16::from(above)))) == home;
    if found.iter().any(|&(_, _, above, points, _)| is_home(above) && points.is_complete()) {
        for (sum, _, _, points, _) in found.iter_mut().filter(|found| !is_home(found.2)) {
            points.add_away_from_home();
            *sum = points.sum();
        }
    }
    // Beside a name whose own tones all sound, one that lacks a tone that makes it tells nothing.
    if found.iter().any(|(.., points, _)| points.is_complete()) {
        found.retain(|(.., points, _)| !points.lacks_what_makes_it());
    }
    found.sort_unstable_by_key(|&(sum, place, above, ..)| (sum, place, above));
    found.truncate(MOST_NAMES);
    let sounding: PitchClassSet = classes.iter().copied().collect();
    found
        .into_iter()
        .map(|(_, place, above, points, is_foreign)| {
            let root = lowest.transpose(Semitones::new(i16::from(above)));
            let pattern = &PATTERNS[place];
            ChordName::new(root, pattern.quality, lowest, sounding, Wanted { points, is_foreign, is_reentrant, key })
        })
        .collect()
}

/// What the search has found out about a name, and how it is to be written.
struct Wanted {
    points: Points,
    is_foreign: bool,
    is_reentrant: bool,
    key: Option<Key>,
}

impl ChordName {
    fn new(
        root: PitchClass,
        quality: &'static ChordQuality,
        lowest: PitchClass,
        sounding: PitchClassSet,
        wanted: Wanted,
    ) -> Self {
        let root_note = spell_root(root, quality, wanted.key);
        let plain = Chord::new(root_note, quality);
        let bass_note = plain.note_of(lowest).unwrap_or_else(|| spell_foreign(lowest, plain, wanted.key));
        let over = plain.over(bass_note);
        let tones = quality.tones();
        let sounds = |degree: &Interval| sounding.contains(root.transpose(degree.semitones()));
        let mut present: Vec<Interval> = tones.iter().chain(quality.optional()).copied().filter(sounds).collect();
        present.sort_by_key(|degree| (degree.steps(), degree.semitones()));
        let missing = tones.iter().copied().filter(|degree| !sounds(degree)).collect();
        let bass_role = if wanted.is_foreign {
            BassRole::Foreign
        } else if wanted.is_reentrant {
            BassRole::NotNamed
        } else if lowest == root {
            BassRole::Root
        } else {
            let below = tones.iter().position(|degree| root.transpose(degree.semitones()) == lowest);
            BassRole::Inversion(below.and_then(|below| u8::try_from(below).ok()).unwrap_or(u8::MAX))
        };
        Self {
            chord: if bass_role == BassRole::NotNamed { plain } else { over },
            present,
            missing,
            bass_degree: over.degree_of(lowest).unwrap_or(Interval::UNISON),
            bass_role,
            penalties: wanted.points.list(),
        }
    }
}

/// Spells the root: as the key has it, else with the fewest accidentals among the chord's tones, of equals the customary
/// name. Where the key's name would ask for double accidentals and another does not, the other.
fn spell_root(root: PitchClass, quality: &ChordQuality, key: Option<Key>) -> Note {
    let customary = Note::of_class(root, SpellingChoice::Customary);
    let tones = |note: Note| {
        let tones = quality.required().iter().chain(quality.omittable());
        tones.map(move |&degree| note.up(degree))
    };
    let has_double =
        |note: Note| tones(note).any(|tone| tone.is_none_or(|tone| tone.accidental().semitones().abs() > 1));
    let accidentals = |note: Note| -> i16 { tones(note).map(|tone| tone.map_or(5, awkwardness)).sum() };
    let (sharp, flat) = (Note::of_class(root, SpellingChoice::Sharps), Note::of_class(root, SpellingChoice::Flats));
    if let Some(key) = key {
        let own = key.note_of(root);
        return [own, customary, sharp, flat].into_iter().find(|&note| !has_double(note)).unwrap_or(own);
    }
    [customary, sharp, flat].into_iter().min_by_key(|&note| accidentals(note)).unwrap_or(customary)
}

/// How hard a note name is to read: one for a sign, two where a white key is meant (B♯, F♭), four for a double sign.
fn awkwardness(note: Note) -> i16 {
    let signs = note.accidental().semitones().abs();
    let is_white_key =
        signs == 1 && Note::of_class(note.class(), SpellingChoice::Customary).accidental().semitones() == 0;
    match signs {
        2 => 4,
        1 if is_white_key => 2,
        signs => signs,
    }
}

/// Spells a bass that is not in the chord: as the key has it, else with the sign of the root, and not with the letter of
/// one of the chord's own tones where there is another: A over G♯, not over A♭.
fn spell_foreign(bass: PitchClass, chord: Chord, key: Option<Key>) -> Note {
    if let Some(key) = key {
        return key.note_of(bass);
    }
    let choice = match chord.root().accidental().semitones().cmp(&0) {
        std::cmp::Ordering::Less => SpellingChoice::Flats,
        std::cmp::Ordering::Greater => SpellingChoice::Sharps,
        std::cmp::Ordering::Equal => SpellingChoice::Customary,
    };
    let is_taken = |note: &Note| chord.notes().iter().any(|tone| tone.letter() == note.letter());
    let names = [choice, SpellingChoice::Sharps, SpellingChoice::Flats].map(|choice| Note::of_class(bass, choice));
    names.into_iter().find(|note| !is_taken(note)).unwrap_or(names[0])
}
