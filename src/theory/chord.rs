//! Chords: a root, a quality, and perhaps another note in the bass; reading and writing their symbols.

use std::fmt;

use super::interval::Interval;
use super::pitch::{PitchClass, PitchClassSet};
use super::quality::ChordQuality;
use super::spelling::{Naming, NotANote, Note};
use super::typed::syllables;

/// A chord as its symbol says it: `D7`, `F♯m7♭5`, `C/G`.
#[derive(Clone, Copy, Debug)]
pub struct Chord {
    root: Note,
    quality: &'static ChordQuality,
    bass: Option<Note>,
}

impl PartialEq for Chord {
    fn eq(&self, other: &Self) -> bool {
        (self.root, self.bass) == (other.root, other.bass) && self.quality.id() == other.quality.id()
    }
}

impl Eq for Chord {}

impl Chord {
    /// Makes a chord with its root in the bass.
    #[must_use]
    pub const fn new(root: Note, quality: &'static ChordQuality) -> Self {
        Self { root, quality, bass: None }
    }

    /// Returns the chord over `bass`; over its own root it is the plain chord.
    #[must_use]
    pub fn over(self, bass: Note) -> Self {
        Self { bass: (bass.class() != self.root.class()).then_some(bass), ..self }
    }

    /// Reads a chord symbol: a root from A to G, a suffix from the chord table, and perhaps `/` and a bass note.
    ///
    /// # Errors
    /// When a part is not understood; the error says which, where, and what was expected.
    ///
    /// ```
    /// use pegwise::theory::Chord;
    /// assert_eq!(Chord::read("F#m7b5/E").unwrap().to_string(), "F♯m7♭5/E");
    /// assert!(Chord::read("Hm").is_err());
    /// ```
    pub fn read(text: &str) -> Result<Self, ParseChordError> {
        Self::read_in(text, Naming::English)
    }

    /// Reads a chord symbol whose notes are written by the player's custom; see [`Naming::readings`].
    ///
    /// Where a root can be read in several ways, the longest that leaves a suffix of the table is meant: `Esus4` is a
    /// chord on E in German too.
    ///
    /// # Errors
    /// As [`Chord::read`]; of several readings the one that goes furthest tells its fault.
    ///
    /// ```
    /// use pegwise::theory::{Chord, Naming};
    /// assert_eq!(Chord::read_in("Fism/H", Naming::German).unwrap().to_string(), "F♯m/B");
    /// assert_eq!(Chord::read_in("sol7", Naming::Solfege).unwrap().to_string(), "G7");
    /// ```
    pub fn read_in(text: &str, naming: Naming) -> Result<Self, ParseChordError> {
        let text = text.trim();
        let mut furthest: Option<ParseChordError> = None;
        // A small syllable in a German text is one: `do` is C there too, and no D diminished.
        let is_small = text.chars().next().is_some_and(char::is_lowercase);
        let syllables = if naming == Naming::German && is_small { syllables(text) } else { Vec::new() };
        for reading in syllables.into_iter().rev().chain(naming.readings(text)) {
            match Self::read_on(reading.note, text, reading.bytes, naming) {
                Ok(chord) => return Ok(chord),
                Err(fault) if furthest.as_ref().is_none_or(|known| fault.place() > known.place()) => {
                    furthest = Some(fault);
                }
                Err(_) => {}
            }
        }
        Err(furthest.unwrap_or_else(|| {
            let found = text.chars().next().map(String::from).unwrap_or_default();
            ParseChordError::Root(NotANote { place: 0, found })
        }))
    }

    /// Reads what follows the root, which takes so many bytes of `text`.
    fn read_on(root: Note, text: &str, taken: usize, naming: Naming) -> Result<Self, ParseChordError> {
        let rest = &text[taken..];
        // A slash may also belong to the suffix, as in 6/9: the longest suffix that is in the table wins.
        if let Some(quality) = ChordQuality::find_by_suffix(rest) {
            return Ok(Self::new(root, quality));
        }
        let place = text[..taken].chars().count();
        let unread = || {
            let (read, expected) = ChordQuality::read_suffix_start(rest);
            let found = rest.chars().nth(read).map(String::from).unwrap_or_default();
            ParseChordError::Quality { place: place + read, found, expected }
        };
        let (suffix, bass_text) = rest.rsplit_once('/').ok_or_else(unread)?;
        let quality = ChordQuality::find_by_suffix(suffix).ok_or_else(unread)?;
        let bass = naming.read_note(bass_text).map_err(|fault| {
            let before = place + suffix.chars().count() + 1;
            let bass = ParseChordError::Bass(NotANote { place: before + fault.place, found: fault.found });
            let unread = unread();
            if unread.place() > bass.place() { unread } else { bass }
        })?;
        Ok(Self::new(root, quality).over(bass))
    }

    /// Returns the root.
    #[must_use]
    pub const fn root(self) -> Note {
        self.root
    }

    /// Returns the quality.
    #[must_use]
    pub const fn quality(self) -> &'static ChordQuality {
        self.quality
    }

    /// Returns the bass asked for, where it is not the root.
    #[must_use]
    pub const fn slash_bass(self) -> Option<Note> {
        self.bass
    }

    /// Returns the note that belongs in the bass: the one after the slash, else the root.
    #[must_use]
    pub fn bass(self) -> Note {
        self.bass.unwrap_or(self.root)
    }

    /// Returns the chord's tones, spelled, from the root up: required and omittable ones. A tone that would need more
    /// than a double accidental is named by its sound.
    #[must_use]
    pub fn notes(self) -> Vec<Note> {
        self.quality.tones().into_iter().map(|degree| self.note_at(degree)).collect()
    }

    /// Returns the classes that must sound, the bass asked for included.
    #[must_use]
    pub fn required(self) -> PitchClassSet {
        let own = ChordQuality::classes(self.root.class(), self.quality.required());
        self.bass.map_or(own, |bass| own.with(bass.class()))
    }

    /// Returns every class that may sound.
    #[must_use]
    pub fn allowed(self) -> PitchClassSet {
        let root = self.root.class();
        self.required()
            .union(ChordQuality::classes(root, self.quality.omittable()))
            .union(ChordQuality::classes(root, self.quality.optional()))
    }

    /// Returns the degree `class` has above the root, `None` when it is neither in the chord nor its bass.
    #[must_use]
    pub fn degree_of(self, class: PitchClass) -> Option<Interval> {
        self.quality.degree_of(self.root.class(), class).or_else(|| {
            let bass = self.bass.filter(|bass| bass.class() == class)?;
            let steps = (bass.letter().steps_above_c() - self.root.letter().steps_above_c()).rem_euclid(7);
            let natural = u8::try_from(steps + 1).ok()?;
            let size = i16::from(self.root.class().up_to(class));
            let plain = Interval::from_degree(natural, 0)?.semitones().get();
            let alteration = (size - plain + 6).rem_euclid(12) - 6;
            Interval::from_degree(natural, i8::try_from(alteration).ok()?)
        })
    }

    /// Returns the name that `class` has in this chord, `None` when it does not belong to it.
    #[must_use]
    pub fn note_of(self, class: PitchClass) -> Option<Note> {
        if let Some(bass) = self.bass.filter(|bass| bass.class() == class) {
            return Some(bass);
        }
        self.quality.degree_of(self.root.class(), class).map(|degree| self.note_at(degree))
    }

    fn note_at(self, degree: Interval) -> Note {
        self.root.up(degree).unwrap_or_else(|| {
            let class = self.root.class().transpose(degree.semitones());
            Note::of_class(class, super::spelling::SpellingChoice::Customary)
        })
    }

    /// Returns the symbol with note names by the player's custom.
    #[must_use]
    pub fn named(self, naming: Naming) -> String {
        let suffix = self.quality.symbol().replace('b', "♭").replace('#', "♯");
        let bass = self.bass.map(|bass| format!("/{}", bass.named(naming))).unwrap_or_default();
        format!("{}{suffix}{bass}", self.root.named(naming))
    }

    /// Returns the symbol in plain ASCII, readable again by [`Chord::read`].
    #[must_use]
    pub fn ascii(self) -> String {
        let bass = self.bass.map(|bass| format!("/{}", bass.ascii())).unwrap_or_default();
        format!("{}{}{bass}", self.root.ascii(), self.quality.symbol())
    }
}

impl fmt::Display for Chord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.named(Naming::English))
    }
}

/// A chord symbol that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseChordError {
    /// The root is not a note.
    Root(NotANote),
    /// The suffix is in no row of the chord table.
    Quality {
        /// Where no suffix of the table goes on like this: characters from the start of the symbol, from 0.
        place: usize,
        /// The character that stands there; empty at the end.
        found: String,
        /// Suffixes that go on from what could be read, at most four; none where only the end or a slash can follow.
        expected: Vec<String>,
    },
    /// What follows the slash is not a note.
    Bass(NotANote),
}

impl ParseChordError {
    /// Returns how many characters from the start of the symbol the fault lies, from 0.
    #[must_use]
    pub const fn place(&self) -> usize {
        match self {
            Self::Root(fault) | Self::Bass(fault) => fault.place,
            Self::Quality { place, .. } => *place,
        }
    }
}

impl fmt::Display for ParseChordError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Root(fault) => write!(f, "chord root: {fault}"),
            Self::Quality { place, found, expected } => {
                match expected.split_last() {
                    None => write!(f, "expected a slash or the end")?,
                    Some((only, [])) => write!(f, "expected a chord suffix such as {only}")?,
                    Some((last, others)) => {
                        write!(f, "expected a chord suffix such as {} or {last}", others.join(", "))?;
                    }
                }
                write!(f, " at character {}, found ", place + 1)?;
                if found.is_empty() { write!(f, "the end") } else { write!(f, "\"{found}\"") }
            }
            Self::Bass(fault) => write!(f, "bass after the slash: {fault}"),
        }
    }
}

impl std::error::Error for ParseChordError {}
