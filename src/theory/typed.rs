//! Note names as players type them: by their own custom, and by English letters where these mean nothing else.

use icu_normalizer::properties::{CanonicalDecompositionBorrowed, Decomposed};

use super::spelling::{Accidental, Letter, Naming, NotANote, Note, SpelledPitch, with_sign};

/// One way to read a note at the start of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoteReading {
    /// The note.
    pub note: Note,
    /// How many bytes of the text it takes.
    pub bytes: usize,
    /// How many of its signs are letters, which might also begin the next note: the b of `Eb`, the es of `Des`.
    pub letter_signs: usize,
}

/// What follows a letter in German, with the semitones it means. Letters and names as in common practice, no source.
const GERMAN_SHARPS: [(&str, i16); 2] = [("isis", 2), ("is", 1)];
const GERMAN_FLATS: [(&str, i16); 2] = [("eses", -2), ("es", -1)];
const GERMAN_FLATS_OF_E: [(&str, i16); 2] = [("ses", -2), ("s", -1)];
const GERMAN_FLATS_OF_A: [(&str, i16); 2] = [("sas", -2), ("s", -1)];
/// B without a sign is B flat already, and takes no name of its own but Heses.
const GERMAN_FLATS_OF_H: [(&str, i16); 1] = [("eses", -2)];

const SYLLABLES: [(&str, Letter); 7] = [
    ("do", Letter::C),
    ("re", Letter::D),
    ("mi", Letter::E),
    ("fa", Letter::F),
    ("sol", Letter::G),
    ("la", Letter::A),
    ("si", Letter::B),
];

impl Naming {
    /// Returns the seven notes without a sign as this custom writes them, from C up.
    #[must_use]
    pub fn letters(self) -> [String; 7] {
        Letter::ALL.map(|letter| Note::new(letter, Accidental::NATURAL).named(self))
    }

    /// Returns every way to read a note at the start of `text`, the longest first; none where no note begins.
    ///
    /// - English: `A` to `G` in either case, then up to two of `b # ♭ ♯ ♮` or one of `x 𝄪 𝄫`.
    /// - German: besides, `H` for B natural and names such as `Fis`, `Es`, `As`, `Heses`. `B` alone is B flat; a B with a
    ///   sign is read as in English, so that `Bb` and `B♭` are B flat too and `B♮` is B natural.
    /// - Solfege: syllables with accents or without, `dó` and `ré` too, then signs; else letters as in English.
    ///
    /// ```
    /// use pegwise::theory::{Naming, Note};
    /// let notes: Vec<_> = Naming::German.readings("Des").iter().map(|found| found.note.to_string()).collect();
    /// assert_eq!(notes, ["D♭", "D"]);
    /// ```
    #[must_use]
    pub fn readings(self, text: &str) -> Vec<NoteReading> {
        let mut found = match self {
            Self::English => english(text),
            Self::German => german(text),
            Self::Solfege => {
                let mut found = syllables(text);
                found.extend(english(text));
                found
            }
        };
        found.sort_by_key(|reading| std::cmp::Reverse(reading.bytes));
        found
    }

    /// Reads a whole text as one note of this custom.
    ///
    /// # Errors
    /// When anything but a note name stands in it; the place counts characters from 0.
    ///
    /// ```
    /// use pegwise::theory::Naming;
    /// assert_eq!(Naming::German.read_note("b").unwrap().to_string(), "B♭");
    /// assert_eq!(Naming::Solfege.read_note("ré#").unwrap().to_string(), "D♯");
    /// ```
    pub fn read_note(self, text: &str) -> Result<Note, NotANote> {
        let Some(longest) = self.readings(text).into_iter().next() else {
            return Err(NotANote { place: 0, found: text.chars().next().map(String::from).unwrap_or_default() });
        };
        match text[longest.bytes..].chars().next() {
            None => Ok(longest.note),
            Some(extra) => Err(NotANote { place: text[..longest.bytes].chars().count(), found: extra.to_string() }),
        }
    }
}

impl Note {
    /// Writes the name by the player's custom with signs that are on a keyboard; [`Naming::readings`] reads it again.
    #[must_use]
    pub fn typed(self, naming: Naming) -> String {
        match naming {
            Naming::English => self.ascii(),
            Naming::German => self.named(naming),
            Naming::Solfege => {
                let plain = Self::new(self.letter(), Accidental::NATURAL).named(naming);
                plain + self.accidental().ascii()
            }
        }
    }
}

impl SpelledPitch {
    /// Writes the name and octave by the player's custom with signs that are on a keyboard: `Fis3`, `sib2`.
    #[must_use]
    pub fn typed(self, naming: Naming) -> String {
        format!("{}{}", self.note().typed(naming), self.octave())
    }
}

/// Reads signs from `text` after `letter`, every number of them, none included. `taken` bytes stand before them.
fn with_signs(letter: Letter, text: &str, taken: usize) -> Vec<NoteReading> {
    let reading = |alteration: i16, bytes: usize, letter_signs: usize| {
        let accidental = Accidental::from_semitones(alteration).unwrap_or_default();
        NoteReading { note: Note::new(letter, accidental), bytes: taken + bytes, letter_signs }
    };
    let mut found = vec![reading(0, 0, 0)];
    let (mut alteration, mut bytes, mut letter_signs) = (0_i16, 0, 0);
    for mark in text.chars() {
        let Some(altered) = with_sign(alteration, mark) else { break };
        alteration = altered;
        bytes += mark.len_utf8();
        letter_signs += usize::from(mark.is_ascii_alphabetic());
        found.push(reading(alteration, bytes, letter_signs));
    }
    found
}

fn english(text: &str) -> Vec<NoteReading> {
    let Some(letter) = text.chars().next().and_then(Letter::from_char) else { return Vec::new() };
    with_signs(letter, &text[1..], 1)
}

fn german(text: &str) -> Vec<NoteReading> {
    let Some(first) = text.chars().next() else { return Vec::new() };
    let letter = if first.eq_ignore_ascii_case(&'h') { Some(Letter::B) } else { Letter::from_char(first) };
    let Some(letter) = letter else { return Vec::new() };
    let rest = &text[1..];
    let mut found = with_signs(letter, rest, 1);
    if first.eq_ignore_ascii_case(&'b') {
        found[0].note = Note::new(Letter::B, Accidental::FLAT);
        return found;
    }
    let flats: &[(&str, i16)] = match letter {
        Letter::E => &GERMAN_FLATS_OF_E,
        Letter::A => &GERMAN_FLATS_OF_A,
        Letter::B => &GERMAN_FLATS_OF_H,
        _ => &GERMAN_FLATS,
    };
    for (ending, alteration) in GERMAN_SHARPS.iter().chain(flats) {
        let stands = rest.get(..ending.len()).is_some_and(|start| start.eq_ignore_ascii_case(ending));
        if let Some(accidental) = Accidental::from_semitones(*alteration).filter(|_| stands) {
            let note = Note::new(letter, accidental);
            found.push(NoteReading { note, bytes: 1 + ending.len(), letter_signs: ending.len() });
        }
    }
    found
}

/// Reads a syllable and its signs, every number of them.
pub(super) fn syllables(text: &str) -> Vec<NoteReading> {
    let starts = |syllable: &str| -> Option<usize> {
        let mut marks = text.chars();
        let fits = syllable.chars().all(|wanted| marks.next().is_some_and(|mark| without_accent(mark) == wanted));
        fits.then(|| text.len() - marks.as_str().len())
    };
    let found = SYLLABLES.iter().find_map(|(syllable, letter)| Some((*letter, starts(syllable)?)));
    found.map_or_else(Vec::new, |(letter, bytes)| with_signs(letter, &text[bytes..], bytes))
}

/// Folds a letter: lower case, without an accent (Unicode Standard Annex 15, canonical decomposition).
pub(crate) fn without_accent(mark: char) -> char {
    let mut plain = mark.to_lowercase().next().unwrap_or(mark);
    while let Decomposed::Expansion(letter, '\u{300}'..='\u{36f}') =
        CanonicalDecompositionBorrowed::new().decompose(plain)
    {
        plain = letter;
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names in German and the Romance languages: common practice, no source.
    #[test]
    fn each_custom_reads_its_own_names() {
        let rows = [
            (Naming::German, "H", "B"),
            (Naming::German, "h", "B"),
            (Naming::German, "B", "B♭"),
            (Naming::German, "b", "B♭"),
            (Naming::German, "Bb", "B♭"),
            (Naming::German, "B♮", "B"),
            (Naming::German, "Hb", "B♭"),
            (Naming::German, "fis", "F♯"),
            (Naming::German, "FIS", "F♯"),
            (Naming::German, "Es", "E♭"),
            (Naming::German, "Eis", "E♯"),
            (Naming::German, "As", "A♭"),
            (Naming::German, "Asas", "A𝄫"),
            (Naming::German, "Heses", "B𝄫"),
            (Naming::German, "Gisis", "G𝄪"),
            (Naming::German, "Eb", "E♭"),
            (Naming::German, "F#", "F♯"),
            (Naming::Solfege, "do", "C"),
            (Naming::Solfege, "Dó", "C"),
            (Naming::Solfege, "RÉ", "D"),
            (Naming::Solfege, "ré♭", "D♭"),
            (Naming::Solfege, "sol#", "G♯"),
            (Naming::Solfege, "Lá", "A"),
            (Naming::Solfege, "sib", "B♭"),
            (Naming::Solfege, "fa", "F"),
            (Naming::Solfege, "F#", "F♯"),
            (Naming::Solfege, "B", "B"),
            (Naming::English, "Bb", "B♭"),
            (Naming::English, "b", "B"),
        ];
        for (naming, typed, sounds) in rows {
            assert_eq!(
                naming.read_note(typed).map(|note| note.to_string()).as_deref(),
                Ok(sounds),
                "{naming:?} {typed}"
            );
        }
        for (naming, typed, place) in [
            (Naming::English, "H", 0),
            (Naming::English, "do", 1),
            (Naming::German, "do", 1),
            (Naming::Solfege, "H", 0),
            (Naming::Solfege, "solo", 3),
            (Naming::German, "", 0),
        ] {
            assert_eq!(naming.read_note(typed).map_err(|fault| fault.place), Err(place), "{naming:?} {typed}");
        }
    }

    #[test]
    fn every_note_reads_back_as_it_is_written_in_each_custom() {
        for naming in [Naming::English, Naming::German, Naming::Solfege] {
            for letter in Letter::ALL {
                for semitones in -2..=2 {
                    let note = Note::new(letter, Accidental::from_semitones(semitones).expect("a double sign at most"));
                    for written in [note.typed(naming), note.named(naming)] {
                        assert_eq!(naming.read_note(&written), Ok(note), "{naming:?} {written}");
                    }
                }
            }
        }
    }
}
