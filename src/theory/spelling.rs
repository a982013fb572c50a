//! Letters and accidentals: reading, writing, and choosing among enharmonic names.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::interval::Interval;
use super::pitch::{Pitch, PitchClass, Semitones};

/// One of the seven note letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the letters name themselves")]
pub enum Letter {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

impl Letter {
    /// All seven, from C up.
    pub const ALL: [Self; 7] = [Self::C, Self::D, Self::E, Self::F, Self::G, Self::A, Self::B];

    /// Returns the number of letter steps above C, 0 to 6.
    #[must_use]
    pub const fn steps_above_c(self) -> i16 {
        match self {
            Self::C => 0,
            Self::D => 1,
            Self::E => 2,
            Self::F => 3,
            Self::G => 4,
            Self::A => 5,
            Self::B => 6,
        }
    }

    /// Returns the letter any number of steps above C.
    #[must_use]
    pub fn from_steps_above_c(steps: i16) -> Self {
        Self::ALL[usize::from(steps.rem_euclid(7).unsigned_abs())]
    }

    /// Returns the semitones above C of the letter without an accidental.
    #[must_use]
    pub fn semitones_above_c(self) -> i16 {
        super::interval::major_scale_semitones(self.steps_above_c())
    }

    /// Returns the letter `A` to `G` in either case, else `None`.
    #[must_use]
    pub fn from_char(letter: char) -> Option<Self> {
        Some(match letter.to_ascii_uppercase() {
            'C' => Self::C,
            'D' => Self::D,
            'E' => Self::E,
            'F' => Self::F,
            'G' => Self::G,
            'A' => Self::A,
            'B' => Self::B,
            _ => return None,
        })
    }
}

/// An alteration of a letter, from a double flat (−2) to a double sharp (+2) semitones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Accidental(i8);

impl Accidental {
    /// No alteration.
    pub const NATURAL: Self = Self(0);
    /// One semitone up.
    pub const SHARP: Self = Self(1);
    /// One semitone down.
    pub const FLAT: Self = Self(-1);

    /// Makes an alteration of −2 to +2 semitones.
    #[must_use]
    pub fn from_semitones(semitones: i16) -> Option<Self> {
        i8::try_from(semitones).ok().filter(|by| (-2..=2).contains(by)).map(Self)
    }

    /// Returns the alteration, −2 to +2 semitones.
    #[must_use]
    pub fn semitones(self) -> i16 {
        i16::from(self.0)
    }

    /// Returns the sign in print: `𝄫 ♭ ♯ 𝄪`, nothing for a natural.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self.0 {
            -2 => "𝄫",
            -1 => "♭",
            1 => "♯",
            2 => "𝄪",
            _ => "",
        }
    }

    /// Returns the sign in plain ASCII: `bb b # ##`, nothing for a natural.
    #[must_use]
    pub const fn ascii(self) -> &'static str {
        match self.0 {
            -2 => "bb",
            -1 => "b",
            1 => "#",
            2 => "##",
            _ => "",
        }
    }
}

/// How notes are named on the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Naming {
    /// C D E F G A B with signs.
    #[default]
    English,
    /// B natural is H, B flat is B, others with -is and -es.
    German,
    /// Do re mi fa sol la si, fixed to C.
    Solfege,
}

impl Naming {
    /// Every custom.
    pub const ALL: [Self; 3] = [Self::English, Self::German, Self::Solfege];
}

/// Which enharmonic name a pitch class gets where no chord or key decides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpellingChoice {
    /// The customary mixture: C♯ E♭ F♯ A♭ B♭.
    #[default]
    Customary,
    /// Sharps only.
    Sharps,
    /// Flats only.
    Flats,
}

/// A note name: a letter and an accidental, without an octave.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Note {
    letter: Letter,
    accidental: Accidental,
}

/// Adds a typed sign to what stands before it: the semitones then altered by, at most two either way and in one direction;
/// `None` when it is no sign or cannot follow.
pub(super) fn with_sign(alteration: i16, mark: char) -> Option<i16> {
    let by = match mark {
        'b' | '♭' => -1,
        '#' | '♯' => 1,
        'x' | '𝄪' => 2,
        '𝄫' => -2,
        '♮' => 0,
        _ => return None,
    };
    let altered = alteration + by;
    (altered.abs() <= 2 && alteration * by >= 0).then_some(altered)
}

impl Note {
    /// Makes a note name.
    #[must_use]
    pub const fn new(letter: Letter, accidental: Accidental) -> Self {
        Self { letter, accidental }
    }

    /// Returns the letter.
    #[must_use]
    pub const fn letter(self) -> Letter {
        self.letter
    }

    /// Returns the accidental.
    #[must_use]
    pub const fn accidental(self) -> Accidental {
        self.accidental
    }

    /// Returns how many fifths up the line of fifths (… F C G D A E B F♯ …) another note lies; negative is down.
    #[must_use]
    pub fn fifths_to(self, other: Self) -> i16 {
        other.on_line_of_fifths() - self.on_line_of_fifths()
    }

    /// The place on the line of fifths, C at 0: seven fifths to each accidental.
    fn on_line_of_fifths(self) -> i16 {
        let natural = match self.letter {
            Letter::F => -1,
            Letter::C => 0,
            Letter::G => 1,
            Letter::D => 2,
            Letter::A => 3,
            Letter::E => 4,
            Letter::B => 5,
        };
        natural + 7 * self.accidental.semitones()
    }

    /// Returns what the note sounds like.
    #[must_use]
    pub fn class(self) -> PitchClass {
        PitchClass::from_semitones_above_c(self.letter.semitones_above_c() + self.accidental.semitones())
    }

    /// Returns the note `interval` above: letters and size both kept, so G♯ and a third give B♯.
    ///
    /// `None` when the result would need more than a double accidental.
    #[must_use]
    pub fn up(self, interval: Interval) -> Option<Self> {
        let steps = self.letter.steps_above_c() + interval.steps();
        let letter = Letter::from_steps_above_c(steps);
        let plain = letter.semitones_above_c() + 12 * steps.div_euclid(7);
        let wanted = self.letter.semitones_above_c() + self.accidental.semitones() + interval.semitones().get();
        Accidental::from_semitones(wanted - plain).map(|accidental| Self { letter, accidental })
    }

    /// Returns a name for `class` by `choice`, never a double accidental.
    #[must_use]
    pub fn of_class(class: PitchClass, choice: SpellingChoice) -> Self {
        use Letter::{A, B, C, D, E, F, G};
        let index = usize::from(class.semitones_above_c());
        let (sharp, flat) =
            [(C, C), (C, D), (D, D), (D, E), (E, E), (F, F), (F, G), (G, G), (G, A), (A, A), (A, B), (B, B)][index];
        if sharp == flat {
            return Self::new(sharp, Accidental::NATURAL);
        }
        let take_sharp = match choice {
            SpellingChoice::Sharps => true,
            SpellingChoice::Flats => false,
            SpellingChoice::Customary => matches!(index, 1 | 6),
        };
        if take_sharp { Self::new(sharp, Accidental::SHARP) } else { Self::new(flat, Accidental::FLAT) }
    }

    /// Reads a note name at the start of `text` and returns it with the number of bytes it took.
    ///
    /// Accepts `A` to `G` in either case, then up to two of `b # ♭ ♯ ♮` or one of `x 𝄪 𝄫`.
    ///
    /// # Errors
    /// When the first character is not a letter from A to G, or is missing.
    pub fn read_prefix(text: &str) -> Result<(Self, usize), NotANote> {
        let error = |found: Option<char>| NotANote { place: 0, found: found.map(String::from).unwrap_or_default() };
        let mut chars = text.chars();
        let first = chars.next();
        let letter = first.and_then(Letter::from_char).ok_or_else(|| error(first))?;
        let mut taken = 1;
        let mut alteration = 0_i16;
        for mark in chars {
            let Some(altered) = with_sign(alteration, mark) else { break };
            alteration = altered;
            taken += mark.len_utf8();
        }
        let accidental = Accidental::from_semitones(alteration).unwrap_or_default();
        Ok((Self { letter, accidental }, taken))
    }

    /// Reads a whole text as one note name.
    ///
    /// # Errors
    /// When anything but a note name stands in it; the place counts characters from 0.
    ///
    /// ```
    /// use pegwise::theory::Note;
    /// assert_eq!(Note::read("Bb").unwrap().to_string(), "B♭");
    /// assert_eq!(Note::read("H").unwrap_err().place, 0);
    /// ```
    pub fn read(text: &str) -> Result<Self, NotANote> {
        let (note, taken) = Self::read_prefix(text)?;
        match text[taken..].chars().next() {
            None => Ok(note),
            Some(extra) => Err(NotANote { place: text[..taken].chars().count(), found: extra.to_string() }),
        }
    }

    /// Returns the name by the player's custom.
    ///
    /// ```
    /// use pegwise::theory::{Naming, Note};
    /// let b_flat = Note::read("Bb").unwrap();
    /// assert_eq!(b_flat.named(Naming::German), "B");
    /// assert_eq!(b_flat.named(Naming::Solfege), "si♭");
    /// ```
    #[must_use]
    pub fn named(self, naming: Naming) -> String {
        match naming {
            Naming::English => format!("{:?}{}", self.letter, self.accidental.sign()),
            Naming::Solfege => {
                let name = ["do", "re", "mi", "fa", "sol", "la", "si"];
                let index = usize::from(self.letter.steps_above_c().unsigned_abs());
                format!("{}{}", name[index], self.accidental.sign())
            }
            Naming::German => self.german(),
        }
    }

    /// German names: H for B natural, B for B flat, Es and As without a double vowel.
    fn german(self) -> String {
        let letter = if self.letter == Letter::B { "H".to_owned() } else { format!("{:?}", self.letter) };
        match (self.letter, self.accidental.semitones()) {
            (Letter::B, -1) => "B".to_owned(),
            (Letter::B, -2) => "Heses".to_owned(),
            (Letter::E | Letter::A, -1) => format!("{letter}s"),
            (Letter::E, -2) => "Eses".to_owned(),
            (Letter::A, -2) => "Asas".to_owned(),
            (_, -2) => format!("{letter}eses"),
            (_, -1) => format!("{letter}es"),
            (_, 1) => format!("{letter}is"),
            (_, 2) => format!("{letter}isis"),
            _ => letter,
        }
    }

    /// Returns the name in plain ASCII, English custom: `Bb`, `F##`.
    #[must_use]
    pub fn ascii(self) -> String {
        format!("{:?}{}", self.letter, self.accidental.ascii())
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}{}", self.letter, self.accidental.sign())
    }
}

/// A note name with its octave in scientific pitch notation: C4 is middle C, and B♯3 sounds the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpelledPitch {
    note: Note,
    octave: i8,
    pitch: Pitch,
}

impl SpelledPitch {
    /// Joins a name and an octave; `None` outside C-1 to G9.
    #[must_use]
    pub fn new(note: Note, octave: i8) -> Option<Self> {
        let number = 12 * (i16::from(octave) + 1) + note.letter.semitones_above_c() + note.accidental.semitones();
        let pitch = u8::try_from(number).ok().and_then(Pitch::from_number)?;
        Some(Self { note, octave, pitch })
    }

    /// Names `pitch` as `note`; `None` when they do not sound the same.
    #[must_use]
    pub fn of_pitch(pitch: Pitch, note: Note) -> Option<Self> {
        [pitch.octave(), pitch.octave() - 1, pitch.octave() + 1]
            .into_iter()
            .filter_map(|octave| Self::new(note, octave))
            .find(|spelled| spelled.pitch == pitch)
    }

    /// Names `pitch` by `choice`.
    #[must_use]
    pub fn by_choice(pitch: Pitch, choice: SpellingChoice) -> Self {
        Self { note: Note::of_class(pitch.class(), choice), octave: pitch.octave(), pitch }
    }

    /// Returns the name without its octave.
    #[must_use]
    pub const fn note(self) -> Note {
        self.note
    }

    /// Returns the octave as written.
    #[must_use]
    pub const fn octave(self) -> i8 {
        self.octave
    }

    /// Returns what sounds.
    #[must_use]
    pub const fn pitch(self) -> Pitch {
        self.pitch
    }

    /// Returns the spelled pitch `interval` above; `None` out of range or beyond a double accidental.
    #[must_use]
    pub fn up(self, interval: Interval) -> Option<Self> {
        let note = self.note.up(interval)?;
        let steps = self.note.letter.steps_above_c() + interval.steps();
        let octave = i16::from(self.octave) + steps.div_euclid(7);
        Self::new(note, i8::try_from(octave).ok()?)
    }

    /// Returns the spelled pitch a whole number of octaves and semitones away, respelled by `choice`.
    #[must_use]
    pub fn transposed(self, by: Semitones, choice: SpellingChoice) -> Option<Self> {
        self.pitch.transpose(by).map(|pitch| Self::by_choice(pitch, choice))
    }

    /// Reads a spelled pitch such as `F#3`, `Bb2` or `C-1`.
    ///
    /// # Errors
    /// When the text is not a note name followed by an octave that keeps it between C-1 and G9.
    pub fn read(text: &str) -> Result<Self, NotANote> {
        let (note, taken) = Note::read_prefix(text)?;
        let error = || NotANote { place: text[..taken].chars().count(), found: text[taken..].to_owned() };
        let octave = text[taken..].parse::<i8>().map_err(|_| error())?;
        Self::new(note, octave).ok_or_else(error)
    }

    /// Returns the name in plain ASCII: `Bb2`.
    #[must_use]
    pub fn ascii(self) -> String {
        format!("{}{}", self.note.ascii(), self.octave)
    }
}

impl fmt::Display for SpelledPitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.note, self.octave)
    }
}

/// A text that is no note name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotANote {
    /// How many characters from the start of the text the fault lies, from 0.
    pub place: usize,
    /// What stood there; empty at the end of the text.
    pub found: String,
}

impl fmt::Display for NotANote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.found.is_empty() {
            write!(f, "expected a note from A to G at character {}, found the end", self.place + 1)
        } else {
            write!(f, "expected a note from A to G at character {}, found \"{}\"", self.place + 1, self.found)
        }
    }
}

impl std::error::Error for NotANote {}
