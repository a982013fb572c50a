//! Keys, their degrees, and the chords that belong to them.

use std::fmt;

use super::chord::Chord;
use super::interval::Interval;
use super::pitch::{PitchClass, PitchClassSet};
use super::quality::ChordQuality;
use super::spelling::{Naming, NotANote, Note, SpellingChoice};
use super::typed::without_accent;

/// The seven modes of the major scale; `Major` is ionian, `Minor` natural minor (aeolian).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the modes name themselves")]
pub enum Mode {
    Major,
    Dorian,
    Phrygian,
    Lydian,
    Mixolydian,
    Minor,
    Locrian,
}

impl Mode {
    /// All seven, by the degree of the major scale they start on.
    pub const ALL: [Self; 7] =
        [Self::Major, Self::Dorian, Self::Phrygian, Self::Lydian, Self::Mixolydian, Self::Minor, Self::Locrian];

    /// Returns the seven degrees against the major scale, tonic first.
    #[must_use]
    pub fn degrees(self) -> [Interval; 7] {
        let altered: [i16; 7] = match self {
            Self::Major => [0; 7],
            Self::Dorian => [0, 0, -1, 0, 0, 0, -1],
            Self::Phrygian => [0, -1, -1, 0, 0, -1, -1],
            Self::Lydian => [0, 0, 0, 1, 0, 0, 0],
            Self::Mixolydian => [0, 0, 0, 0, 0, 0, -1],
            Self::Minor => [0, 0, -1, 0, 0, -1, -1],
            Self::Locrian => [0, -1, -1, 0, -1, -1, -1],
        };
        [0, 1, 2, 3, 4, 5, 6].map(|steps: i16| Interval::of_steps(steps, altered[usize::from(steps.unsigned_abs())]))
    }

    /// Returns the word for the mode.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Dorian => "dorian",
            Self::Phrygian => "phrygian",
            Self::Lydian => "lydian",
            Self::Mixolydian => "mixolydian",
            Self::Minor => "minor",
            Self::Locrian => "locrian",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        if word == "M" {
            return Some(Self::Major);
        }
        let word: String = word.chars().map(without_accent).collect();
        let found = MODE_WORDS.iter().find(|(_, words)| words.contains(&word.as_str())).map(|(mode, _)| *mode);
        found.or_else(|| Self::ALL.into_iter().find(|mode| mode.word() == word))
    }
}

/// The words for the modes besides the English ones: German, French, Spanish, Portuguese and Italian, without accents.
/// Common practice, no source.
const MODE_WORDS: [(Mode, &[&str]); 7] = [
    (Mode::Major, &["", "maj", "ionian", "dur", "majeur", "mayor", "maior", "maggiore", "ionisch", "ionien", "jonio"]),
    (Mode::Dorian, &["dor", "dorisch", "dorien", "dorico"]),
    (Mode::Phrygian, &["phryg", "phrygisch", "phrygien", "frigio"]),
    (Mode::Lydian, &["lyd", "lydisch", "lydien", "lidio"]),
    (Mode::Mixolydian, &["mixo", "mix", "mixolydisch", "mixolydien", "mixolidio"]),
    (
        Mode::Minor,
        &["m", "min", "-", "aeolian", "moll", "mineur", "menor", "minore", "äolisch", "aeolisch", "eolien", "eolio"],
    ),
    (Mode::Locrian, &["loc", "lokrisch", "locrien", "locrio"]),
];

/// The words by which a key is in German, so that its H is B and its B is B flat.
fn is_german(word: &str) -> bool {
    let word = word.to_lowercase();
    ["dur", "moll", "isch"].iter().any(|ending| word.ends_with(ending))
}

/// Where a chord of a key comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ChordSource {
    /// Three notes of the scale, stacked in thirds.
    Triad,
    /// Four notes of the scale, stacked in thirds.
    Seventh,
    /// Taken from the parallel minor or major.
    Borrowed,
    /// A dominant seventh of another degree.
    Secondary,
}

/// A chord with its place in a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyChord {
    /// The Roman numeral, `vi` or `♭VII` or `V7/ii`.
    pub roman: String,
    /// The chord.
    pub chord: Chord,
    /// Where it comes from.
    pub source: ChordSource,
}

/// A key: a tonic and a mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    tonic: Note,
    mode: Mode,
}

impl Key {
    /// Makes a key.
    #[must_use]
    pub const fn new(tonic: Note, mode: Mode) -> Self {
        Self { tonic, mode }
    }

    /// Reads a key such as `G`, `Bbm`, `F# minor`, `D-dorian`, `h-moll` or `sol`.
    ///
    /// The tonic and the word for the mode may stand apart or be joined by a dash. Notes are English letters; by a German
    /// word they are German, and what no English letter begins may be a syllable.
    ///
    /// # Errors
    /// When the tonic is not a note, or what follows is not a mode.
    ///
    /// ```
    /// use pegwise::theory::Key;
    /// let read = |text| Key::read(text).unwrap().to_string();
    /// assert_eq!([read("h-moll"), read("sol"), read("D-dorian")], ["Bm", "G", "D dorian"]);
    /// ```
    pub fn read(text: &str) -> Result<Self, ParseKeyError> {
        let english = Self::read_in(text, Naming::English);
        let word = text.trim().rsplit(['-', ' ']).next().unwrap_or_default();
        match english {
            Ok(key) if !is_german(word) => Ok(key),
            Ok(_) => Self::read_in(text, Naming::German),
            Err(_) if is_german(word) => Self::read_in(text, Naming::German),
            Err(fault) => Self::read_in(text, Naming::Solfege).map_err(|_| fault),
        }
    }

    /// Reads a key whose tonic is written by the player's custom; see [`Naming::readings`] and [`Key::read`].
    ///
    /// # Errors
    /// As [`Key::read`].
    pub fn read_in(text: &str, naming: Naming) -> Result<Self, ParseKeyError> {
        let text = text.trim();
        let mut fault = None;
        for reading in naming.readings(text) {
            let rest = text[reading.bytes..].trim();
            let word = if rest == "-" { rest } else { rest.trim_start_matches(['-', '–']).trim_start() };
            match Mode::from_word(word) {
                Some(mode) => return Ok(Self { tonic: reading.note, mode }),
                None if fault.is_none() => {
                    let place = text[..reading.bytes].chars().count();
                    fault = Some(ParseKeyError::Mode { place, found: word.to_owned() });
                }
                None => {}
            }
        }
        let found = text.chars().next().map(String::from).unwrap_or_default();
        Err(fault.unwrap_or(ParseKeyError::Tonic(NotANote { place: 0, found })))
    }

    /// Returns the tonic.
    #[must_use]
    pub const fn tonic(self) -> Note {
        self.tonic
    }

    /// Returns the mode.
    #[must_use]
    pub const fn mode(self) -> Mode {
        self.mode
    }

    /// Returns the seven notes from the tonic up, spelled with each letter once. A tonic so far out that a note would
    /// need a triple accidental is respelled first.
    #[must_use]
    pub fn notes(self) -> [Note; 7] {
        let spells = |tonic: Note| self.mode.degrees().iter().all(|&degree| tonic.up(degree).is_some());
        let plain = Note::of_class(self.tonic.class(), SpellingChoice::Customary);
        let tonic = if spells(self.tonic) { self.tonic } else { plain };
        self.mode.degrees().map(|degree| tonic.up(degree).unwrap_or(plain))
    }

    /// Returns the pitch classes of the key.
    #[must_use]
    pub fn classes(self) -> PitchClassSet {
        self.notes().into_iter().map(Note::class).collect()
    }

    /// Returns the name `class` has in this key: a note of the scale, else by the key's own signs.
    #[must_use]
    pub fn note_of(self, class: PitchClass) -> Note {
        let notes = self.notes();
        notes.into_iter().find(|note| note.class() == class).unwrap_or_else(|| {
            let leans_flat = notes.iter().map(|note| note.accidental().semitones()).sum::<i16>() < 0;
            Note::of_class(class, if leans_flat { SpellingChoice::Flats } else { SpellingChoice::Sharps })
        })
    }

    /// Returns the degree `class` has against the tonic's major scale; a note outside the key is a lowered degree,
    /// but the raised fourth in major-third modes.
    #[must_use]
    pub fn degree_of(self, class: PitchClass) -> Interval {
        let root = self.tonic.class();
        let own = self.mode.degrees().into_iter().find(|degree| root.transpose(degree.semitones()) == class);
        own.unwrap_or_else(|| {
            let (steps, alteration) = match root.up_to(class) {
                0 => (0, 0),
                1 => (1, -1),
                2 => (1, 0),
                3 => (2, -1),
                4 => (2, 0),
                5 => (3, 0),
                6 => (3, 1),
                7 => (4, 0),
                8 => (5, -1),
                9 => (5, 0),
                10 => (6, -1),
                _ => (6, 0),
            };
            Interval::of_steps(steps, alteration)
        })
    }

    /// Returns the seven triads, from the tonic's up.
    #[must_use]
    pub fn triads(self) -> Vec<KeyChord> {
        self.stacked(3)
    }

    /// Returns the seven seventh chords, from the tonic's up.
    #[must_use]
    pub fn sevenths(self) -> Vec<KeyChord> {
        self.stacked(4)
    }

    /// Returns the chords commonly borrowed from the parallel key, and the dominants of the other degrees, of those
    /// that are not in the key already.
    ///
    /// Borrowed, common practice: in modes with a major third iv, ♭III, ♭VI, ♭VII, and v; in those with a minor third
    /// IV, V and V7. Secondary dominants lead to every degree but the tonic whose triad is major or minor.
    #[must_use]
    pub fn neighbours(self) -> Vec<KeyChord> {
        let has_major_third = self.mode.degrees()[2].alteration() == 0;
        let own: Vec<Chord> = self.triads().into_iter().chain(self.sevenths()).map(|found| found.chord).collect();
        let borrowed: &[(&str, u8, i8, &str)] = if has_major_third {
            &[("iv", 4, 0, "m"), ("♭III", 3, -1, ""), ("♭VI", 6, -1, ""), ("♭VII", 7, -1, ""), ("v", 5, 0, "m")]
        } else {
            &[("IV", 4, 0, ""), ("V", 5, 0, ""), ("V7", 5, 0, "7")]
        };
        let mut chords: Vec<KeyChord> = Vec::new();
        for &(roman, number, alteration, suffix) in borrowed {
            let root = Interval::from_degree(number, alteration).and_then(|degree| self.tonic.up(degree));
            if let (Some(root), Some(quality)) = (root, ChordQuality::find_by_suffix(suffix)) {
                let source = ChordSource::Borrowed;
                chords.push(KeyChord { roman: roman.to_owned(), chord: Chord::new(root, quality), source });
            }
        }
        for target in self.triads().into_iter().skip(1) {
            let (Some(root), Some(dominant)) =
                (target.chord.root().up(Interval::FIFTH), ChordQuality::find("dominant-seventh"))
            else {
                continue;
            };
            if matches!(target.chord.quality().id(), "major" | "minor") {
                let roman = format!("V7/{}", target.roman);
                chords.push(KeyChord { roman, chord: Chord::new(root, dominant), source: ChordSource::Secondary });
            }
        }
        chords.retain(|found| !own.contains(&found.chord));
        chords
    }

    /// Stacks `count` (3 or 4) scale notes in thirds on every degree.
    fn stacked(self, count: usize) -> Vec<KeyChord> {
        let notes = self.notes();
        let degrees = self.mode.degrees();
        let source = if count == 3 { ChordSource::Triad } else { ChordSource::Seventh };
        (0..7)
            .filter_map(|index| {
                let root = notes[index];
                let set: PitchClassSet = (0..count).map(|third| notes[(index + 2 * third) % 7].class()).collect();
                let quality = ChordQuality::all().iter().find(|quality| {
                    quality.tones().len() == count && ChordQuality::classes(root.class(), &quality.tones()) == set
                })?;
                let roman = roman_numeral(index, degrees[index].alteration(), quality);
                Some(KeyChord { roman, chord: Chord::new(root, quality), source })
            })
            .collect()
    }

    /// Returns the name of the key by the player's custom.
    #[must_use]
    pub fn named(self, naming: Naming) -> String {
        match self.mode {
            Mode::Major => self.tonic.named(naming),
            Mode::Minor => format!("{}m", self.tonic.named(naming)),
            other => format!("{} {}", self.tonic.named(naming), other.word()),
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.named(Naming::English))
    }
}

/// Writes the Roman numeral of degree `index` (0 to 6): capitals for a major third, `°` for diminished, `ø` for
/// half-diminished, `+` for augmented, and the seventh as figured in common practice.
fn roman_numeral(index: usize, alteration: i16, quality: &ChordQuality) -> String {
    let numeral = ["I", "II", "III", "IV", "V", "VI", "VII"][index];
    let has_minor_third = quality.tones().iter().any(|tone| tone.number() == 3 && tone.alteration() < 0);
    let numeral = if has_minor_third { numeral.to_lowercase() } else { numeral.to_owned() };
    let sign = match alteration {
        -1 => "♭",
        1 => "♯",
        _ => "",
    };
    let suffix = match quality.id() {
        "major" | "minor" => String::new(),
        "diminished" => "°".to_owned(),
        "augmented" => "+".to_owned(),
        "half-diminished-seventh" => "ø7".to_owned(),
        "diminished-seventh" => "°7".to_owned(),
        "minor-seventh" => "7".to_owned(),
        _ => quality.symbol().replace('b', "♭").replace('#', "♯"),
    };
    format!("{sign}{numeral}{suffix}")
}

/// A key that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseKeyError {
    /// The tonic is not a note.
    Tonic(NotANote),
    /// What follows the tonic is not a mode.
    Mode {
        /// Characters from the start, from 0.
        place: usize,
        /// The word as given.
        found: String,
    },
}

impl fmt::Display for ParseKeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tonic(fault) => write!(f, "key: {fault}"),
            Self::Mode { place, found } => {
                write!(f, "expected a mode such as minor or dorian at character {}, found \"{found}\"", place + 1)
            }
        }
    }
}

impl std::error::Error for ParseKeyError {}
