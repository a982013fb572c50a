//! Chords: a root, a quality, and perhaps another note in the bass; reading and writing their symbols.

use std::fmt;

use super::interval::Interval;
use super::pitch::{PitchClass, PitchClassSet};
use super::quality::ChordQuality;
use super::spelling::{Naming, NotANote, Note};

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
        let text = text.trim();
        let (root, taken) = Note::read_prefix(text).map_err(ParseChordError::Root)?;
        let rest = &text[taken..];
        // A slash may also belong to the suffix, as in 6/9: the longest suffix that is in the table wins.
        if let Some(quality) = ChordQuality::find_by_suffix(rest) {
            return Ok(Self::new(root, quality));
        }
        let place = text[..taken].chars().count();
        let unknown = |suffix: &str| ParseChordError::Quality { place, found: suffix.to_owned() };
        let (suffix, bass_text) = rest.rsplit_once('/').ok_or_else(|| unknown(rest))?;
        let quality = ChordQuality::find_by_suffix(suffix).ok_or_else(|| unknown(suffix))?;
        let bass = Note::read(bass_text).map_err(|fault| {
            let before = place + suffix.chars().count() + 1;
            ParseChordError::Bass(NotANote { place: before + fault.place, found: fault.found })
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
        /// Characters from the start of the symbol, from 0.
        place: usize,
        /// The suffix as given.
        found: String,
    },
    /// What follows the slash is not a note.
    Bass(NotANote),
}

impl fmt::Display for ParseChordError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Root(fault) => write!(f, "chord root: {fault}"),
            Self::Quality { place, found } => {
                write!(
                    f,
                    "expected a chord suffix such as m, 7, maj7 or sus4 at character {}, found \"{found}\"",
                    place + 1
                )
            }
            Self::Bass(fault) => write!(f, "bass after the slash: {fault}"),
        }
    }
}

impl std::error::Error for ParseChordError {}
