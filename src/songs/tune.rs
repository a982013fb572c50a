//! A song's tune: its melody as text, and what the player has decided about playing it.

use serde::{Deserialize, Serialize};

use crate::arrange::{Fullness, Goal, Pin, Pinned, ThumbStyle, Wishes};
use crate::instrument::{CourseIndex, Fret, Position};
use crate::shapes::{Finger, Shape};
use crate::theory::Semitones;
use crate::tune::{Quarters, Tune, TuneFault, read_abc};

use super::song::UnknownFields;

/// A tune kept with a song.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SongTune {
    /// The tune in ABC, as typed or as written from what was read; it may hold faults, which cost nobody their text.
    pub abc: String,
    /// By how many semitones it is moved; missing where that may be chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transpose: Option<i16>,
    /// What the thumb does.
    #[serde(default)]
    pub style: ThumbStyle,
    /// How much sounds besides melody and thumb.
    #[serde(default)]
    pub fullness: Fullness,
    /// Which of two ways to play is the better.
    #[serde(default)]
    pub goal: Goal,
    /// What the player has decided, a line each, see [`SongTune::pins`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    decided: Vec<String>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

impl SongTune {
    /// Makes a tune of ABC text with nothing decided.
    #[must_use]
    pub fn new(abc: impl Into<String>) -> Self {
        Self { abc: abc.into(), ..Self::default() }
    }

    /// Reads the tune: the first of the text.
    ///
    /// # Errors
    /// When there is none, or it cannot be read to its end.
    pub fn read(&self) -> Result<Tune, TuneFault> {
        let read = read_abc(&self.abc).into_iter().next().ok_or(TuneFault::NoTune)?;
        read.fault.map_or(Ok(read.tune), Err)
    }

    /// Returns what the player has decided, for an instrument of so many courses. Written as lines: `7/2 melody 3 7` (the
    /// place in quarters as played, the course by its number, the fret from the capo), `4 bass 6 0`, `4 no-bass`,
    /// `7/2 melody-finger 3` and `4 bass-finger T`, `0 shape 4 x x 0 2 3 2` (until the quarter 4). A line that is not understood counts for nothing and is kept.
    #[must_use]
    pub fn pins(&self, courses: usize) -> Vec<Pin> {
        self.decided.iter().filter_map(|line| read_pin(line, courses)).collect()
    }

    /// Decides something, in place of what was decided of the same kind at the same place.
    pub fn decide(&mut self, pin: &Pin, courses: usize) {
        self.undecide(pin.at, &pin.what, courses);
        self.decided.push(write_pin(pin, courses));
    }

    /// Tells whether anything is decided.
    #[must_use]
    pub const fn is_decided(&self) -> bool {
        !self.decided.is_empty()
    }

    /// Takes back all that was decided: what a line of it means depends on the tuning, the metre and the key.
    pub fn undecide_all(&mut self) {
        self.decided.clear();
    }

    /// Takes back what was decided of this kind at a place; melody, thumb, shape and the two fingers are kinds.
    pub fn undecide(&mut self, at: Quarters, like: &Pinned, courses: usize) {
        let is_like =
            |line: &String| read_pin(line, courses).is_some_and(|pin| pin.at == at && kind(&pin.what) == kind(like));
        self.decided.retain(|line| !is_like(line));
    }

    /// Returns what is asked of the arrangement, with the song's capo.
    #[must_use]
    pub fn wishes(&self, capo: Fret, courses: usize) -> Wishes {
        Wishes {
            style: self.style,
            fullness: self.fullness,
            goal: self.goal,
            transpose: self.transpose.map(Semitones::new),
            capo: Some(capo),
            pins: self.pins(courses),
            ..Wishes::default()
        }
    }
}

/// Which decisions stand in each other's place.
const fn kind(what: &Pinned) -> u8 {
    match what {
        Pinned::Melody(_) => 0,
        Pinned::Bass(_) | Pinned::NoBass => 1,
        Pinned::Shape { .. } => 2,
        Pinned::MelodyFinger(_) => 3,
        Pinned::BassFinger(_) => 4,
    }
}

fn write_pin(pin: &Pin, courses: usize) -> String {
    let place = |position: &Position| format!("{} {}", position.course.player_number(courses), position.fret.get());
    match &pin.what {
        Pinned::Melody(position) => format!("{} melody {}", pin.at, place(position)),
        Pinned::Bass(position) => format!("{} bass {}", pin.at, place(position)),
        Pinned::NoBass => format!("{} no-bass", pin.at),
        Pinned::MelodyFinger(finger) => format!("{} melody-finger {finger}", pin.at),
        Pinned::BassFinger(finger) => format!("{} bass-finger {finger}", pin.at),
        Pinned::Shape { shape, to } => format!("{} shape {to} {shape}", pin.at),
    }
}

fn read_pin(line: &str, courses: usize) -> Option<Pin> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let at = read_quarters(words.first()?)?;
    let place = || {
        let course = CourseIndex::from_player_number(words.get(2)?.parse().ok()?, courses)?;
        Some(Position { course, fret: Fret::new(words.get(3)?.parse().ok()?) })
    };
    let what = match *words.get(1)? {
        "melody" => Pinned::Melody(place()?),
        "bass" => Pinned::Bass(place()?),
        "no-bass" => Pinned::NoBass,
        "melody-finger" => Pinned::MelodyFinger(read_finger(words.get(2)?)?),
        "bass-finger" => Pinned::BassFinger(read_finger(words.get(2)?)?),
        "shape" => {
            let shape = Shape::read(&words.get(3..)?.join(" "), courses).ok()?;
            Pinned::Shape { shape, to: read_quarters(words.get(2)?)? }
        }
        _ => return None,
    };
    Some(Pin { at, what })
}

fn read_finger(text: &str) -> Option<Finger> {
    let all = [Finger::Thumb, Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];
    all.into_iter().find(|finger| finger.to_string() == text)
}

fn read_quarters(text: &str) -> Option<Quarters> {
    let (numerator, denominator) = text.split_once('/').unwrap_or((text, "1"));
    Quarters::new(numerator.parse().ok()?, denominator.parse().ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decisions_are_written_and_read_the_same_and_stand_in_each_others_place() {
        let place = |course, fret| Position {
            course: CourseIndex::from_player_number(course, 6).unwrap(),
            fret: Fret::new(fret),
        };
        let at = Quarters::new(7, 2).unwrap();
        let shape = Shape::read("x x 0 2 3 2", 6).unwrap();
        let pins = [
            Pin { at, what: Pinned::Melody(place(3, 7)) },
            Pin { at, what: Pinned::Bass(place(6, 0)) },
            Pin { at, what: Pinned::Shape { shape, to: Quarters::new(6, 1).unwrap() } },
            Pin { at, what: Pinned::MelodyFinger(Finger::Ring) },
            Pin { at, what: Pinned::BassFinger(Finger::Thumb) },
        ];
        let mut tune = SongTune::new("");
        for pin in &pins {
            tune.decide(pin, 6);
        }
        assert_eq!(tune.pins(6), pins);
        tune.decide(&Pin { at, what: Pinned::NoBass }, 6);
        assert_eq!(tune.pins(6).len(), 5);
        assert!(tune.pins(6).contains(&Pin { at, what: Pinned::NoBass }));
        tune.undecide(at, &Pinned::Melody(place(1, 0)), 6);
        assert_eq!(tune.pins(6).len(), 4);
        // A course the instrument has not is no decision.
        let needs_a_course = |pin: &Pin| matches!(pin.what, Pinned::Melody(_) | Pinned::Bass(_) | Pinned::Shape { .. });
        assert!(!tune.pins(4).iter().any(needs_a_course));
    }
}
