//! A tune as it is written: bars with notes, chords, repeats and endings.

use crate::theory::{Chord, Key, Letter, SpelledPitch};

use super::fault::Skipped;
use super::quarters::Quarters;

/// The most bars that are read, as written.
pub const MOST_BARS: usize = 10_000;

/// The longest title kept, in characters.
const LONGEST_TITLE: usize = 200;

/// A tune as it is written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tune {
    /// Its number in its file, where it has one.
    pub number: Option<u32>,
    /// What it is called; may be empty.
    pub title: String,
    /// How fast it goes, where it says so.
    pub tempo: Option<Tempo>,
    /// The bars in the order they are written.
    pub bars: Vec<Bar>,
    /// What stood in the source and is not kept.
    pub skipped: Vec<Skipped>,
}

/// How fast a tune goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tempo {
    /// The note that is counted.
    pub beat: Quarters,
    /// How many of them a minute, 1 to 1000.
    pub per_minute: u16,
}

impl Tempo {
    /// Returns how many quarter notes pass in a minute.
    #[must_use]
    pub fn quarters_per_minute(self) -> f64 {
        self.beat.to_f64() * f64::from(self.per_minute)
    }
}

/// One bar as it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// The metre in force.
    pub metre: Metre,
    /// The key in force at its start.
    pub key: TuneKey,
    /// Notes and rests, one after the other.
    pub notes: Vec<TuneNote>,
    /// The chords that begin in it, in order.
    pub chords: Vec<ChordMark>,
    /// Whether a repeat begins with it.
    pub starts_repeat: bool,
    /// How often what ends with it is played in all; 0 and 1 where no repeat ends.
    pub ends_repeat: u8,
    /// The passes on which the ending that begins with it is played; empty where none begins.
    pub endings: Vec<u8>,
    /// Whether a part of the tune ends with it: a double bar line, where no repeat ends.
    pub ends_part: bool,
}

impl Bar {
    /// Makes an empty bar.
    #[must_use]
    pub const fn new(metre: Metre, key: TuneKey) -> Self {
        Self {
            metre,
            key,
            notes: Vec::new(),
            chords: Vec::new(),
            starts_repeat: false,
            ends_repeat: 0,
            endings: Vec::new(),
            ends_part: false,
        }
    }

    /// Returns how long its notes and rests last together.
    #[must_use]
    pub fn length(&self) -> Quarters {
        self.notes.iter().map(|note| note.length).sum()
    }
}

/// A note or a rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TuneNote {
    /// How long it lasts, above zero.
    pub length: Quarters,
    /// What sounds; `None` for a rest.
    pub pitch: Option<SpelledPitch>,
    /// Whether it sounds on into the next note, which has its pitch.
    pub is_tied: bool,
}

/// A chord that begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChordMark {
    /// Where in its bar.
    pub at: Quarters,
    /// Which chord; `None` where the source says that there is none from here on.
    pub chord: Option<Chord>,
}

/// A metre such as 6/8; `None` inside for a tune without one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Metre(Option<(u8, u8)>);

impl Metre {
    /// No metre.
    pub const FREE: Self = Self(None);
    /// 4/4.
    pub const COMMON: Self = Self(Some((4, 4)));

    /// Makes `beats` / `unit`; `None` where beats is not 1 to 64 or the unit no power of two up to 64.
    #[must_use]
    pub fn new(beats: u32, unit: u32) -> Option<Self> {
        let fits = (1..=64).contains(&beats) && unit.is_power_of_two() && unit <= 64;
        let (beats, unit) = (u8::try_from(beats).ok()?, u8::try_from(unit).ok()?);
        fits.then_some(Self(Some((beats, unit))))
    }

    /// Returns beats and unit as written, `None` without a metre.
    #[must_use]
    pub const fn written(self) -> Option<(u8, u8)> {
        self.0
    }

    /// Returns how long a whole bar is, `None` without a metre.
    #[must_use]
    pub fn bar_length(self) -> Option<Quarters> {
        let (beats, unit) = self.0?;
        Quarters::new(4 * i64::from(beats), i64::from(unit))
    }

    /// Tells whether the beats are dotted: a unit of an eighth or shorter, in threes.
    #[must_use]
    pub const fn is_compound(self) -> bool {
        matches!(self.0, Some((beats, unit)) if beats.is_multiple_of(3) && unit >= 8)
    }

    /// Returns how long a beat is: what the foot taps. A dotted quarter in 6/8, a half in 2/2; a quarter without a metre.
    #[must_use]
    pub fn beat(self) -> Quarters {
        let Some((_, unit)) = self.0 else { return Quarters::ONE };
        let units = if self.is_compound() { 3 } else { 1 };
        Quarters::new(4 * units, i64::from(unit)).unwrap_or(Quarters::ONE)
    }
}

/// A key as a tune writes it: the signs, and the tonic where it is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TuneKey {
    /// Tonic and mode; `None` where the tune has no key.
    pub key: Option<Key>,
    /// The sign on each letter from C to B, −2 to +2; the key's own and those written beside it.
    pub signs: [i8; 7],
}

impl TuneKey {
    /// Makes a key with its own signs.
    #[must_use]
    pub fn of(key: Key) -> Self {
        let mut signs = [0; 7];
        for note in key.notes() {
            let place = usize::from(note.letter().steps_above_c().unsigned_abs());
            signs[place] = i8::try_from(note.accidental().semitones()).unwrap_or(0);
        }
        Self { key: Some(key), signs }
    }

    /// Returns the sign on a letter, in semitones.
    #[must_use]
    pub fn sign_on(&self, letter: Letter) -> i16 {
        i16::from(self.signs[usize::from(letter.steps_above_c().unsigned_abs())])
    }
}

impl Tune {
    /// Sets the title, without line breaks and not too long.
    pub(super) fn set_title(&mut self, title: &str) {
        let line: String = title.trim().chars().map(|mark| if mark.is_control() { ' ' } else { mark }).collect();
        self.title = line.chars().take(LONGEST_TITLE).collect();
    }

    /// Notes that something was left out, first in `line`.
    pub(super) fn skip(&mut self, what: super::fault::SkippedKind, line: usize, found: &str) {
        match self.skipped.iter_mut().find(|skipped| skipped.what == what) {
            Some(known) => known.count += 1,
            None => self.skipped.push(Skipped { what, count: 1, line, found: super::fault::clipped(found) }),
        }
    }

    /// Returns the notes as written, rests left out.
    pub fn notes(&self) -> impl Iterator<Item = &TuneNote> {
        self.bars.iter().flat_map(|bar| &bar.notes).filter(|note| note.pitch.is_some())
    }
}
