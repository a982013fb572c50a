//! What a held shape is good for: the thumb, the melody in reach, the form the player knows; as the Shapes screen tells it.

use std::fmt::Write as _;

use serde::Serialize;

use crate::instrument::{Catalog, Fret, Fretboard, Position};
use crate::shapes::{
    AlternatingBass, BassNote, FingerChange, Hand, KnownForm, MelodyNote, RankedShape, Reached, alternating_bass,
    known_forms, melody_in_reach, nearest_in_reach,
};
use crate::theory::{Chord, Key, Mode, Naming, Note, SpellingChoice};

use super::written::{ascii, finger_json};

/// How many notes in reach are told.
const MOST_IN_REACH: usize = 6;

/// What is told of one shape.
pub(super) struct Told {
    bass: AlternatingBass,
    reach: Vec<MelodyNote>,
    form: Option<KnownForm>,
    chord: Chord,
    courses: usize,
}

/// What is told of a shape, as JSON gives it.
#[derive(Debug, Serialize)]
pub(super) struct ToldJson {
    /// The thumb's first and second note; null where the shape leaves it no pair.
    thumb: Option<[ThumbJson; 2]>,
    /// The one finger's change that would give the thumb a pair where there is none.
    thumb_after: Option<String>,
    /// The notes of the key a finger can add, nearest first.
    in_reach: Vec<ReachJson>,
    /// The standard-tuning form the shape equals on the strings that did not change.
    form: Option<FormJson>,
}

#[derive(Debug, Serialize)]
struct ThumbJson {
    course: u8,
    fret: u8,
    note: String,
    in_shape: bool,
}

#[derive(Debug, Serialize)]
struct ReachJson {
    course: u8,
    fret: u8,
    note: String,
    degree: String,
    /// `free`, `lifted` or `slid`.
    how: &'static str,
    finger: serde_json::Value,
    chord: Option<String>,
}

#[derive(Debug, Serialize)]
struct FormJson {
    name: String,
    moved_frets: u8,
    chord_in_standard: String,
}

/// The key a chord alone invites: its own, minor where its third is.
pub(super) fn own_key(chord: Chord) -> Key {
    let is_minor = chord.quality().tones().iter().any(|tone| tone.number() == 3 && tone.alteration() < 0);
    Key::new(chord.root(), if is_minor { Mode::Minor } else { Mode::Major })
}

impl Told {
    /// Tells of a shape held by a hand that stands at this fret while the strings ring open.
    pub(super) fn of(found: &RankedShape, board: &Fretboard<'_>, key: Key, stands_at: Fret) -> Self {
        let (shape, fingering, chord) = (found.shape(), found.fingering(), found.chord());
        let hand = Hand { stands_at, ..Hand::default() };
        let bass = alternating_bass(board, shape, fingering, chord, &hand);
        let reach = melody_in_reach(board, shape, fingering, chord, bass.pairs.first().copied(), key, &hand);
        let added = reach.into_iter().filter(|note| note.how != Reached::Held).collect();
        let standard = Catalog::bundled().standard_of(board.instrument()).tuning();
        Self {
            bass,
            reach: nearest_in_reach(board, shape, &hand, added, MOST_IN_REACH),
            form: known_forms(board, standard, shape, chord).into_iter().next(),
            chord,
            courses: board.courses(),
        }
    }

    fn course(&self, position: Position) -> u8 {
        position.course.player_number(self.courses)
    }

    fn note(&self, note: &BassNote) -> String {
        let class = note.pitch.class();
        let name = self.chord.note_of(class).unwrap_or_else(|| Note::of_class(class, SpellingChoice::Customary));
        name.to_string()
    }

    fn pair(&self) -> Option<[&BassNote; 2]> {
        self.bass.pairs.first().map(|pair| [&pair.first, &pair.second])
    }

    /// Says what one finger would have to do for the thumb.
    fn change(&self, board: &Fretboard<'_>) -> Option<String> {
        let at = |position: Position| {
            let string = self.course(position);
            format!("string {string} fret {}", board.instrument().fret_name(position.fret))
        };
        self.bass.change.as_ref().map(|(change, pair)| {
            let act = match *change {
                FingerChange::Lift { finger, from } => format!("lift finger {finger} from {}", at(from)),
                FingerChange::Add { finger, at: to } => format!("add finger {finger} at {}", at(to)),
                FingerChange::Move { finger, from, to } => {
                    format!("move finger {finger} from {} to {}", at(from), at(to))
                }
            };
            let strings = [pair.first.position, pair.second.position].map(|position| self.course(position));
            format!("{act}: then strings {} and {}", strings[0], strings[1])
        })
    }

    /// Writes what is told as indented lines.
    pub(super) fn lines(&self, board: &Fretboard<'_>) -> String {
        let mut text = String::new();
        let thumb = match self.pair() {
            Some(pair) => {
                let said = pair.map(|note| format!("string {} ({})", self.course(note.position), self.note(note)));
                format!("{}, then {}", said[0], said[1])
            }
            None => self.change(board).map_or_else(|| "no pair".to_owned(), |change| format!("no pair; {change}")),
        };
        let _ = writeln!(text, "    thumb: {thumb}");
        if !self.reach.is_empty() {
            let said = |note: &MelodyNote| {
                let place = if note.position.fret == Fret::OPEN {
                    "open".to_owned()
                } else {
                    format!("fret {}", board.instrument().fret_name(note.position.fret))
                };
                format!("{} (string {} {place})", note.note, self.course(note.position))
            };
            let notes: Vec<String> = self.reach.iter().map(said).collect();
            let _ = writeln!(text, "    in reach: {}", notes.join(", "));
        }
        if let Some(form) = &self.form {
            let _ = writeln!(text, "    known as: {}", form.sentence(Naming::English));
        }
        text
    }

    pub(super) fn json(&self, board: &Fretboard<'_>) -> ToldJson {
        let thumb = |note: &BassNote| ThumbJson {
            course: self.course(note.position),
            fret: note.position.fret.get(),
            note: ascii(&self.note(note)),
            in_shape: note.is_in_shape,
        };
        let reach = |note: &MelodyNote| ReachJson {
            course: self.course(note.position),
            fret: note.position.fret.get(),
            note: Note::ascii(note.note),
            degree: ascii(&note.degree.to_string()),
            how: match note.how {
                Reached::Held => "held",
                Reached::Free => "free",
                Reached::Lifted => "lifted",
                Reached::Slid { .. } => "slid",
            },
            finger: note.finger.map_or(serde_json::Value::Null, finger_json),
            chord: note.chord.as_ref().map(|name| name.chord.ascii()),
        };
        ToldJson {
            thumb: self.pair().map(|pair| pair.map(thumb)),
            thumb_after: if self.bass.pairs.is_empty() { self.change(board) } else { None },
            in_reach: self.reach.iter().map(reach).collect(),
            form: self.form.as_ref().map(|form| FormJson {
                name: form.form.name().to_owned(),
                moved_frets: form.moved_frets,
                chord_in_standard: form.chord.ascii(),
            }),
        }
    }
}
