//! The fields of ABC: metre, unit length, tempo, key.

use crate::theory::{Accidental, Key, Letter, Mode, Note};

use super::super::fault::{SkippedKind, TuneFault};
use super::super::model::{Metre, Tempo, Tune, TuneKey};
use super::super::quarters::Quarters;

/// How far an accidental reaches within its bar.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Propagation {
    /// To its own note only.
    Not,
    /// To its letter in its octave.
    Octave,
    /// To its letter in every octave: the standard's default.
    #[default]
    Pitch,
}

impl Propagation {
    /// Reads a directive such as `propagate-accidentals octave`; `None` for another one.
    pub(super) fn read(directive: &str) -> Option<Self> {
        let value = directive.trim().strip_prefix("propagate-accidentals")?;
        Some(match value.trim() {
            "not" => Self::Not,
            "octave" => Self::Octave,
            _ => Self::Pitch,
        })
    }
}

/// What the head of a tune says before its key.
#[derive(Debug, Default)]
pub(super) struct Header {
    pub(super) tune: Tune,
    pub(super) metre: Option<Metre>,
    pub(super) unit: Option<Quarters>,
    pub(super) propagation: Propagation,
    /// The voice that is named first.
    pub(super) first_voice: Option<String>,
    has_title: bool,
}

impl Header {
    pub(super) fn directive(&mut self, directive: &str) {
        if let Some(propagation) = Propagation::read(directive) {
            self.propagation = propagation;
        }
    }

    pub(super) fn field(&mut self, name: char, value: &str, line: usize) -> Result<(), TuneFault> {
        match name {
            'X' => self.tune.number = value.parse().ok(),
            'T' if !self.has_title => {
                self.tune.set_title(value);
                self.has_title = true;
            }
            'M' => self.metre = Some(read_metre(value, line, 3)?),
            'L' => self.unit = Some(read_unit(value, line, 3)?),
            'Q' => self.tune.tempo = read_tempo(value, self.unit()).or(self.tune.tempo),
            'P' => self.tune.skip(SkippedKind::Jumps, line, value),
            'W' | 'w' => self.tune.skip(SkippedKind::Words, line, value),
            'I' => self.directive(value),
            'V' if self.first_voice.is_none() => {
                self.first_voice = value.split_whitespace().next().map(str::to_owned);
            }
            _ => {}
        }
        Ok(())
    }

    /// Returns the unit note length: as told, else a sixteenth where the metre is below 3/4, else an eighth.
    pub(super) fn unit(&self) -> Quarters {
        self.unit.unwrap_or_else(|| default_unit(self.metre.unwrap_or_default()))
    }

    pub(super) fn into_tune(self) -> Tune {
        self.tune
    }
}

fn default_unit(metre: Metre) -> Quarters {
    let is_short = metre.written().is_some_and(|(beats, unit)| u16::from(beats) * 4 < u16::from(unit) * 3);
    Quarters::new(1, if is_short { 4 } else { 2 }).unwrap_or(Quarters::ONE)
}

/// Reads a metre such as `6/8`, `C`, `C|`, `none` or `(2+3)/8`.
pub(super) fn read_metre(value: &str, line: usize, column: usize) -> Result<Metre, TuneFault> {
    let expected = || TuneFault::at(line, column, value, "a metre such as 4/4, 6/8, C or none");
    match value.trim() {
        "C" => return Ok(Metre::COMMON),
        "C|" => return Metre::new(2, 2).ok_or_else(expected),
        "none" | "" => return Ok(Metre::FREE),
        _ => {}
    }
    let (beats, unit) = value.trim().split_once('/').ok_or_else(expected)?;
    let beats = beats.trim().trim_start_matches('(').trim_end_matches(')');
    let beats: Option<u32> = beats.split('+').map(|part| part.trim().parse::<u8>().ok().map(u32::from)).sum();
    let unit = unit.trim().parse().ok();
    beats.zip(unit).and_then(|(beats, unit)| Metre::new(beats, unit)).ok_or_else(expected)
}

/// Reads a unit note length such as `1/8`.
pub(super) fn read_unit(value: &str, line: usize, column: usize) -> Result<Quarters, TuneFault> {
    let expected = || TuneFault::at(line, column, value, "a note length such as 1/8");
    read_length(value).ok_or_else(expected)
}

/// Reads a part of a whole note, such as `1/8` or `1`.
fn read_length(value: &str) -> Option<Quarters> {
    let (numerator, denominator) = value.trim().split_once('/').unwrap_or((value.trim(), "1"));
    let numerator: i64 = numerator.trim().parse::<u16>().ok()?.into();
    let denominator: i64 = denominator.trim().parse::<u16>().ok()?.into();
    let length = Quarters::new(4 * numerator, denominator)?;
    (length > Quarters::ZERO && length <= Quarters::LONGEST).then_some(length)
}

/// Reads a tempo such as `1/4=120`, `"Slowly" 3/8=50` or `120`; `None` where none is told.
pub(super) fn read_tempo(value: &str, unit: Quarters) -> Option<Tempo> {
    // Words in quotes stand before or after the number.
    let plain: String = value.split('"').step_by(2).collect::<Vec<_>>().join(" ");
    let (beat, number) = match plain.split_once('=') {
        Some((beats, number)) => {
            let beats: Option<Vec<Quarters>> = beats.split_whitespace().map(read_length).collect();
            // An older form counts in the unit length: C=120.
            (beats.map_or(unit, |beats| beats.into_iter().sum()), number)
        }
        None => (unit, plain.as_str()),
    };
    let per_minute = number.trim().parse().ok().filter(|number| (1..=1000).contains(number))?;
    (beat > Quarters::ZERO).then_some(Tempo { beat, per_minute })
}

/// A key as a field tells it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct KeyField {
    /// `None` where only a clef or the like is told.
    pub(super) key: Option<TuneKey>,
    /// By how many semitones all notes sound higher than written.
    pub(super) shift: i16,
}

/// Reads a key such as `G`, `Ador`, `E minor`, `D Phr ^f`, `HP`, `none`, with a clef beside it or without.
pub(super) fn read_key(value: &str, line: usize, column: usize) -> Result<KeyField, TuneFault> {
    let expected = |found: &str| {
        TuneFault::at(line, column, found, "a key such as G, Am, D dorian or none, then signs such as ^f")
    };
    let mut field = KeyField { key: None, shift: 0 };
    let mut words = value.split_whitespace().peekable();
    let Some(&first) = words.peek() else {
        field.key = Some(TuneKey::default());
        return Ok(field);
    };
    if first == "none" {
        field.key = Some(TuneKey::default());
        words.next();
    } else if matches!(first, "HP" | "Hp") {
        let mut key = TuneKey::default();
        // The pipes' scale is written in A, with F and C sharp; `HP` alone writes no signs but sounds the same.
        key.signs[0] = 1;
        key.signs[3] = 1;
        key.key = Some(Key::new(Note::new(Letter::A, Accidental::NATURAL), Mode::Mixolydian));
        field.key = Some(key);
        words.next();
    } else if first.starts_with(|mark: char| ('A'..='G').contains(&mark)) && !first.contains('=') {
        words.next();
        let (tonic, taken) = Note::read_prefix(&first[..1]).map_err(|_| expected(first))?;
        let rest = &first[taken..];
        let (sign, rest) = match rest.as_bytes().first() {
            Some(b'#') => (1, &rest[1..]),
            Some(b'b') => (-1, &rest[1..]),
            _ => (0, rest),
        };
        let tonic = Note::new(tonic.letter(), Accidental::from_semitones(sign).unwrap_or_default());
        let mode = match (rest, words.peek()) {
            ("", Some(&word)) => {
                let mode = mode_of(word);
                if mode.is_some() || word.eq_ignore_ascii_case("exp") {
                    words.next();
                }
                if word.eq_ignore_ascii_case("exp") {
                    field.key = Some(TuneKey { key: Some(Key::new(tonic, Mode::Major)), signs: [0; 7] });
                }
                mode.unwrap_or(Mode::Major)
            }
            ("", None) => Mode::Major,
            (rest, _) => mode_of(rest).ok_or_else(|| expected(first))?,
        };
        field.key = field.key.or_else(|| Some(TuneKey::of(Key::new(tonic, mode))));
    }
    let is_clef = |word: &str| {
        let names = ["treble", "alto", "tenor", "bass", "perc"];
        word.contains('=') || word.starts_with(['^', '_', '=']) || names.iter().any(|name| word.starts_with(name))
    };
    if field.key.is_none() && !is_clef(first) {
        return Err(expected(first));
    }
    for word in words {
        beside_key(word, &mut field).ok_or_else(|| expected(word))?;
    }
    Ok(field)
}

/// Reads what may stand beside a key: a sign on a letter, or a clef and what belongs to it.
fn beside_key(word: &str, field: &mut KeyField) -> Option<()> {
    let marks = word.trim_start_matches(['^', '_', '=']);
    let signs = &word[..word.len() - marks.len()];
    if !signs.is_empty() {
        let mut letters = marks.chars();
        let letter = Letter::from_char(letters.next()?)?;
        if letters.next().is_some() {
            return None;
        }
        let sign = signs.chars().map(|sign| match sign {
            '^' => 1,
            '_' => -1,
            _ => 0_i8,
        });
        let key = field.key.get_or_insert_with(TuneKey::default);
        key.signs[usize::from(letter.steps_above_c().unsigned_abs())] = sign.sum::<i8>().clamp(-2, 2);
        return Some(());
    }
    if let Some((name, value)) = word.split_once('=') {
        match name {
            "octave" => field.shift += 12 * value.parse::<i8>().ok().filter(|by| by.abs() <= 4).map_or(0, i16::from),
            "transpose" | "t" => {
                field.shift += value.parse::<i8>().ok().filter(|by| by.abs() <= 48).map_or(0, i16::from)
            }
            "clef" => field.shift += clef_shift(value),
            _ => {}
        }
        return Some(());
    }
    field.shift += clef_shift(word);
    Some(())
}

/// Returns by how many semitones a clef such as `treble-8` sounds away from what is written.
fn clef_shift(word: &str) -> i16 {
    if word.ends_with("-8") {
        -12
    } else if word.ends_with("+8") {
        12
    } else {
        0
    }
}

/// Reads a mode by its first three letters, as the standard does.
fn mode_of(word: &str) -> Option<Mode> {
    let lower = word.to_ascii_lowercase();
    if lower == "m" {
        return Some(Mode::Minor);
    }
    Some(match lower.get(..3)? {
        "maj" | "ion" => Mode::Major,
        "min" | "aeo" => Mode::Minor,
        "mix" => Mode::Mixolydian,
        "dor" => Mode::Dorian,
        "phr" => Mode::Phrygian,
        "lyd" => Mode::Lydian,
        "loc" => Mode::Locrian,
        _ => return None,
    })
}
