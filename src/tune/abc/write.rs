//! Writing ABC 2.1.

use std::fmt::Write;

use crate::theory::{Letter, Mode, SpelledPitch};

use super::super::model::{Bar, Metre, Tune, TuneKey, TuneNote};
use super::super::quarters::Quarters;

/// How many bars stand in a line.
const BARS_A_LINE: usize = 4;

/// Writes a tune as ABC, so that [`super::read_abc`] reads the same bars again.
#[must_use]
pub fn write_abc(tune: &Tune) -> String {
    let first = tune.bars.first();
    let metre = first.map_or(Metre::COMMON, |bar| bar.metre);
    let key = first.map_or_else(TuneKey::default, |bar| bar.key);
    let mut text = format!("X:{}\nT:{}\nM:{}\nL:1/8\n", tune.number.unwrap_or(1), tune.title, metre_text(metre));
    if let Some(tempo) = tune.tempo {
        let (numerator, denominator) = tempo.beat.times(1, 4).unwrap_or_default().fraction();
        let _ = writeln!(text, "Q:{numerator}/{denominator}={}", tempo.per_minute);
    }
    let _ = writeln!(text, "K:{}", key_text(&key));
    let mut writer = Writer { text, metre, key, signs: Vec::new(), tied: None };
    for (index, bar) in tune.bars.iter().enumerate() {
        writer.bar(bar, tune.bars.get(index + 1));
        if (index + 1) % BARS_A_LINE == 0 && index + 1 < tune.bars.len() {
            writer.text.push('\n');
        }
    }
    writer.text.push('\n');
    writer.text
}

struct Writer {
    text: String,
    metre: Metre,
    key: TuneKey,
    /// The signs written in this bar, which hold for their letter in every octave.
    signs: Vec<(Letter, i16)>,
    /// The note that is tied into the next.
    tied: Option<SpelledPitch>,
}

impl Writer {
    fn bar(&mut self, bar: &Bar, next: Option<&Bar>) {
        self.signs.clear();
        if bar.starts_repeat {
            self.text += "|:";
        }
        if !bar.endings.is_empty() {
            let passes: Vec<String> = bar.endings.iter().map(ToString::to_string).collect();
            let _ = write!(self.text, "[{} ", passes.join(","));
        }
        if bar.metre != self.metre {
            self.metre = bar.metre;
            let _ = write!(self.text, "[M:{}]", metre_text(bar.metre));
        }
        if bar.key != self.key {
            self.key = bar.key;
            let _ = write!(self.text, "[K:{}]", key_text(&bar.key));
        }
        self.notes(bar);
        self.text += match (bar.ends_repeat, next) {
            (2.., _) => "",
            (_, None) if bar.ends_part => "|]",
            (_, Some(_)) if bar.ends_part => "||",
            _ => "|",
        };
        if bar.ends_repeat > 1 {
            self.text += &":".repeat(usize::from(bar.ends_repeat) - 1);
            self.text.push('|');
        }
        self.text.push(' ');
    }

    fn notes(&mut self, bar: &Bar) {
        let mut at = Quarters::ZERO;
        let mut marks = bar.chords.iter().peekable();
        let mut index = 0;
        // What the lengths are multiplied by where a tuplet is under way.
        let mut tuplet: Option<usize> = None;
        while let Some(note) = bar.notes.get(index) {
            while let Some(mark) = marks.next_if(|mark| mark.at <= at) {
                let name = mark.chord.map_or_else(|| "N.C.".to_owned(), |chord| chord.ascii());
                let _ = write!(self.text, "\"{name}\"");
            }
            if tuplet.is_none() && is_third(note.length) {
                let count = thirds(&bar.notes[index..]);
                let _ = write!(self.text, "(3:2:{count}");
                tuplet = Some(count);
            }
            let length = if tuplet.is_some() { note.length.times(3, 2) } else { Some(note.length) };
            self.note(note, length.unwrap_or(note.length));
            tuplet = tuplet.and_then(|left| left.checked_sub(1)).filter(|left| *left > 0);
            at = at + note.length;
            index += 1;
        }
    }

    fn note(&mut self, note: &TuneNote, length: Quarters) {
        match note.pitch {
            None => self.text.push('z'),
            Some(pitch) => self.pitch(pitch),
        }
        let (numerator, denominator) = length.times(2, 1).unwrap_or_default().fraction();
        if numerator != 1 {
            let _ = write!(self.text, "{numerator}");
        }
        if denominator != 1 {
            let _ = write!(self.text, "/{denominator}");
        }
        self.tied = note.pitch.filter(|_| note.is_tied);
        if note.is_tied && note.pitch.is_some() {
            self.text.push('-');
        }
        self.text.push(' ');
    }

    fn pitch(&mut self, pitch: SpelledPitch) {
        let (letter, sign) = (pitch.note().letter(), pitch.note().accidental().semitones());
        let known = self.signs.iter().rev().find(|known| known.0 == letter);
        let in_force = known.map_or_else(|| self.key.sign_on(letter), |known| known.1);
        // A tied note is read with the sign it had, whatever the bar says.
        let is_told = self.tied == Some(pitch)
            || (in_force == sign && self.tied.is_none_or(|tied| tied.note().letter() != letter));
        if !is_told {
            self.text += match sign {
                2 => "^^",
                1 => "^",
                -1 => "_",
                -2 => "__",
                _ => "=",
            };
            self.signs.push((letter, sign));
        }
        let name = format!("{letter:?}");
        let octave = pitch.octave();
        if octave >= 5 {
            self.text += &name.to_ascii_lowercase();
            self.text += &"'".repeat(usize::try_from(octave - 5).unwrap_or(0));
        } else {
            self.text += &name;
            self.text += &",".repeat(usize::try_from(4 - octave).unwrap_or(0));
        }
    }
}

/// Tells whether a length, in eighths, has a three below its line.
fn is_third(length: Quarters) -> bool {
    length.fraction().1 % 3 == 0
}

/// Counts the notes that a triplet takes: until their sum has no three below its line, or such notes end.
fn thirds(notes: &[TuneNote]) -> usize {
    let mut sum = Quarters::ZERO;
    for (index, note) in notes.iter().enumerate() {
        sum = sum + note.length;
        if !is_third(sum) || index == 63 {
            return index + 1;
        }
    }
    notes.len().max(1)
}

fn metre_text(metre: Metre) -> String {
    metre.written().map_or_else(|| "none".to_owned(), |(beats, unit)| format!("{beats}/{unit}"))
}

fn key_text(key: &TuneKey) -> String {
    let Some(named) = key.key else {
        let signs: Vec<String> = all_signs(key, &[0; 7]);
        return format!("none{}", signs.concat());
    };
    let mode = match named.mode() {
        Mode::Major => "maj",
        Mode::Minor => "min",
        Mode::Dorian => "dor",
        Mode::Phrygian => "phr",
        Mode::Lydian => "lyd",
        Mode::Mixolydian => "mix",
        Mode::Locrian => "loc",
    };
    let plain = TuneKey::of(named);
    format!("{}{mode}{}", named.tonic().ascii(), all_signs(key, &plain.signs).concat())
}

/// Writes the signs of a key that differ from what its name says.
fn all_signs(key: &TuneKey, plain: &[i8; 7]) -> Vec<String> {
    let differing = Letter::ALL.into_iter().zip(key.signs.iter().zip(plain)).filter(|(_, (sign, plain))| sign != plain);
    differing
        .map(|(letter, (sign, _))| {
            let mark = match sign {
                2 => "^^",
                1 => "^",
                -1 => "_",
                -2 => "__",
                _ => "=",
            };
            format!(" {mark}{}", format!("{letter:?}").to_ascii_lowercase())
        })
        .collect()
}
