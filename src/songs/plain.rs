//! Songs and set lists as plain text, to be read by people and, songs, by the app again.
//!
//! ```text
//! Slipway Number Nine
//! From: the old ferryman
//! Instrument: guitar
//! Tuning: D2 G2 D3 G3 B3 D4
//! Capo: 2
//! Key: G
//! Tempo: 96
//! Shape: C x x 5 5 5 5
//! Notes: begin softly
//!
//! Verse:
//! | G | C G | D | G |
//! ```
//!
//! The first line is the title; lines with a word and a colon follow in any order; after the first empty line comes
//! the chart. Only the title and the tuning must be there.

use std::fmt;

use crate::instrument::Fret;
use crate::shapes::Shape;
use crate::theory::{Chord, Key, Naming, SpellingChoice};

use super::set_list::SetList;
use super::song::{ChosenTuning, Song, SongId};
use super::text;

impl Song {
    /// Writes the song as plain text; [`Song::read_text`] gives it back, but for its number, the tuning's id and what a
    /// later version wrote.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut lines = vec![one_line(&self.title)];
        let mut head = |word: &str, value: &str| {
            if !value.is_empty() {
                lines.push(format!("{word}: {value}"));
            }
        };
        head("From", &one_line(&self.from));
        head("Instrument", &one_line(&self.instrument_id));
        head("Tuning", &self.tuning.pitches.ascii_with_octaves(SpellingChoice::Customary));
        if self.capo != Fret::OPEN {
            head("Capo", &self.capo.get().to_string());
        }
        head("Key", &self.key.map(text::key::ascii).unwrap_or_default());
        head("Chords", naming_word(self.chart_naming));
        head("Tempo", &self.tempo_bpm.map(|bpm| bpm.to_string()).unwrap_or_default());
        for (chord, shape) in self.chosen_shapes() {
            head("Shape", &format!("{} {shape}", chord.ascii()));
        }
        for line in self.notes.lines() {
            head("Notes", if line.trim().is_empty() { "-" } else { line });
        }
        let mut whole = lines.join("\n");
        whole.push('\n');
        if !self.chart.trim().is_empty() {
            whole.push('\n');
            whole.push_str(self.chart.trim_matches('\n'));
            whole.push('\n');
        }
        whole
    }

    /// Reads a song written as plain text.
    ///
    /// # Errors
    /// When the title or the tuning is missing, a line of the head is not understood, or its value is not. The chart is
    /// taken as it is.
    pub fn read_text(text: &str) -> Result<Self, ParseSongError> {
        let mut lines = text.lines().enumerate().skip_while(|(_, line)| line.trim().is_empty());
        let (_, title) = lines.next().ok_or(ParseSongError::NoTitle)?;
        let mut heads = Vec::new();
        for (number, line) in lines.by_ref().take_while(|(_, line)| !line.trim().is_empty()) {
            let fault = || ParseSongError::Line { line: number, found: line.trim().to_owned() };
            let (word, value) = line.split_once(':').ok_or_else(fault)?;
            heads.push((number, word.trim().to_lowercase(), value.trim()));
        }
        let chart: Vec<&str> = lines.map(|(_, line)| line).collect();
        let tuning = heads.iter().find(|(_, word, _)| word == "tuning").ok_or(ParseSongError::NoTuning)?;
        let pitches = text::read_pitches(tuning.2)
            .map_err(|fault| ParseSongError::Value { line: tuning.0, message: fault.to_string() })?;
        let courses = pitches.courses();
        let mut song = Self::new(title.trim(), "guitar", ChosenTuning { id: None, pitches });
        let mut notes: Vec<&str> = Vec::new();
        for (line, word, value) in heads {
            let fault = |message: String| ParseSongError::Value { line, message };
            match word.as_str() {
                "tuning" => {}
                "from" => song.from = value.to_owned(),
                "instrument" => song.instrument_id = value.to_owned(),
                "capo" => {
                    let fret = value.parse::<u8>().ok().filter(|&fret| fret <= 36);
                    let message = || fault(format!("expected a fret from 0 to 36, found \"{value}\""));
                    song.capo = Fret::new(fret.ok_or_else(message)?);
                }
                "key" => song.key = Some(Key::read(value).map_err(|inner| fault(inner.to_string()))?),
                "tempo" => {
                    let message = || fault(format!("expected a tempo from 10 to 400, found \"{value}\""));
                    song.tempo_bpm = Some(value.parse().map_err(|_| message())?);
                    song.check().map_err(|_| message())?;
                }
                "chords" => {
                    let known = [Naming::German, Naming::Solfege, Naming::English];
                    let found = known.into_iter().find(|naming| naming_word(*naming) == value.to_lowercase());
                    let message = || fault(format!("expected english, german or do re mi, found \"{value}\""));
                    song.chart_naming = if value == "english" { Naming::English } else { found.ok_or_else(message)? };
                }
                "shape" => {
                    let (chord, frets) = value.split_once(' ').unwrap_or((value, ""));
                    let chord = Chord::read(chord).map_err(|inner| fault(inner.to_string()))?;
                    let shape = Shape::read(frets, courses).map_err(|inner| fault(inner.to_string()))?;
                    song.choose_shape(chord, Some(&shape));
                }
                "notes" => notes.push(if value == "-" { "" } else { value }),
                _ => return Err(ParseSongError::Line { line, found: word }),
            }
        }
        song.notes = notes.join("\n");
        let chart = chart.join("\n");
        let chart = chart.trim_matches('\n');
        song.chart = if chart.trim().is_empty() { String::new() } else { format!("{chart}\n") };
        Ok(song)
    }
}

impl SetList {
    /// Writes the set list as plain text: its title, then a line a song with its tuning and capo.
    #[must_use]
    pub fn to_text<'a>(&self, find_song: impl Fn(SongId) -> Option<&'a Song>) -> String {
        let mut whole = one_line(&self.title) + "\n";
        for line in self.notes.lines() {
            whole.push_str(line);
            whole.push('\n');
        }
        whole.push('\n');
        for (index, song) in self.entries.iter().filter_map(|entry| find_song(entry.song_id)).enumerate() {
            let mut parts = vec![one_line(&song.title)];
            if !song.from.is_empty() {
                parts.push(one_line(&song.from));
            }
            parts.push(song.tuning.pitches.ascii_with_octaves(SpellingChoice::Customary));
            if song.capo != Fret::OPEN {
                parts.push(format!("capo {}", song.capo.get()));
            }
            whole.push_str(&format!("{}. {}\n", index + 1, parts.join(", ")));
        }
        whole
    }
}

/// Says how a chart names its chords; nothing for English, which is understood.
const fn naming_word(naming: Naming) -> &'static str {
    match naming {
        Naming::English => "",
        Naming::German => "german",
        Naming::Solfege => "do re mi",
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A text that is no song.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseSongError {
    /// There is no text.
    NoTitle,
    /// The head has no tuning.
    NoTuning,
    /// A line of the head does not start with a known word and a colon.
    Line {
        /// Which line, from 0.
        line: usize,
        /// What stands there.
        found: String,
    },
    /// A value of the head cannot be read.
    Value {
        /// Which line, from 0.
        line: usize,
        /// What is wrong with it.
        message: String,
    },
}

impl fmt::Display for ParseSongError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTitle => write!(f, "expected a title, found nothing"),
            Self::NoTuning => write!(f, "expected a line such as \"Tuning: E2 A2 D3 G3 B3 E4\" before the chart"),
            Self::Line { line, found } => write!(
                f,
                "line {}: expected From, Instrument, Tuning, Capo, Key, Chords, Tempo, Shape or Notes and a colon, found \
                 \"{found}\"",
                line + 1
            ),
            Self::Value { line, message } => write!(f, "line {}: {message}", line + 1),
        }
    }
}

impl std::error::Error for ParseSongError {}
