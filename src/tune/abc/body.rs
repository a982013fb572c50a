//! The music lines of ABC.

use crate::theory::{Accidental, Chord, Letter, Note, SpelledPitch};

use super::super::fault::{SkippedKind, TuneFault};
use super::super::model::{Bar, ChordMark, MOST_BARS, Metre, Tune, TuneKey, TuneNote};
use super::super::quarters::Quarters;
use super::fields::{Header, Propagation, read_key, read_metre, read_tempo, read_unit};

/// The most notes and rests that are read in a bar.
const MOST_NOTES_A_BAR: usize = 4_000;

/// The most notes and rests that are read in a tune.
const MOST_NOTES: usize = 100_000;

/// What a tuplet does to the notes that follow.
#[derive(Clone, Copy, Debug)]
struct Tuplet {
    numerator: i64,
    denominator: i64,
    left: u32,
}

/// A note as it is written, before its key and bar are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct WrittenNote {
    letter: Letter,
    octave: i8,
    sign: Option<i16>,
}

/// A tune's music while it is read.
#[derive(Debug)]
pub(super) struct Body {
    tune: Tune,
    bar: Bar,
    metre: Metre,
    key: TuneKey,
    shift: i16,
    unit: Quarters,
    propagation: Propagation,
    /// Accidentals written in this bar.
    accidentals: Vec<(Letter, i8, i16)>,
    tuplet: Option<Tuplet>,
    /// What a broken rhythm asks of the next note.
    broken: Option<(i64, i64)>,
    /// The note that is tied into the next one.
    tied: Option<(Letter, i8, i16)>,
    voice: Option<String>,
    is_other_voice: bool,
    /// Whether the rest of the bar is laid over what stands before it.
    is_overlay: bool,
    is_in_repeat: bool,
    /// How many notes and rests there are.
    notes: usize,
    /// Chord symbols that were read, as written: a tune has few, over and over.
    chords: Vec<(String, Option<Option<Chord>>)>,
}

/// How many chord symbols are remembered.
const MOST_CHORDS: usize = 16;

impl Body {
    /// Begins the music after the head's `K:`.
    pub(super) fn new(header: &mut Header, key: &str, line: usize) -> Result<Self, TuneFault> {
        let read = read_key(key, line, 3)?;
        let (metre, key) = (header.metre.unwrap_or_default(), read.key.unwrap_or_default());
        Ok(Self {
            tune: std::mem::take(&mut header.tune),
            bar: Bar::new(metre, key),
            metre,
            key,
            shift: read.shift,
            unit: header.unit(),
            propagation: header.propagation,
            accidentals: Vec::new(),
            tuplet: None,
            broken: None,
            tied: None,
            voice: header.first_voice.take(),
            is_other_voice: false,
            is_overlay: false,
            is_in_repeat: false,
            notes: 0,
            chords: Vec::new(),
        })
    }

    /// Ends the tune: a last bar without a line after it counts.
    pub(super) fn finish(mut self, _: Header) -> Tune {
        if !self.bar.notes.is_empty() && self.tune.bars.len() < MOST_BARS {
            self.tune.bars.push(self.bar);
        }
        self.tune
    }

    pub(super) fn directive(&mut self, directive: &str) {
        if let Some(propagation) = Propagation::read(directive) {
            self.propagation = propagation;
        }
    }

    /// Reads a field in the music, on a line of its own or in brackets.
    pub(super) fn field(&mut self, name: char, value: &str, line: usize, column: usize) -> Result<(), TuneFault> {
        if name == 'V' {
            let id = value.split_whitespace().next().unwrap_or_default().to_owned();
            let first = self.voice.get_or_insert_with(|| id.clone());
            self.is_other_voice = *first != id;
            if self.is_other_voice {
                self.tune.skip(SkippedKind::Voices, line, value);
            }
            return Ok(());
        }
        if self.is_other_voice {
            return Ok(());
        }
        match name {
            'K' => {
                let read = read_key(value, line, column)?;
                if let Some(key) = read.key {
                    self.key = key;
                }
                self.shift = read.shift;
                if self.bar.notes.is_empty() {
                    self.bar.key = self.key;
                }
            }
            'M' => {
                self.metre = read_metre(value, line, column)?;
                if self.bar.notes.is_empty() {
                    self.bar.metre = self.metre;
                }
            }
            'L' => self.unit = read_unit(value, line, column)?,
            'Q' if self.tune.tempo.is_none() => self.tune.tempo = read_tempo(value, self.unit),
            'w' | 'W' => self.tune.skip(SkippedKind::Words, line, value),
            'I' => self.directive(value),
            _ => {}
        }
        Ok(())
    }

    /// Reads a line of music.
    pub(super) fn music(&mut self, text: &str, line: usize) -> Result<(), TuneFault> {
        let mut cursor = Cursor { bytes: text.as_bytes(), text, at: 0, line };
        while let Some(byte) = cursor.peek() {
            if self.is_other_voice && byte != b'[' {
                cursor.at += 1;
                continue;
            }
            match byte {
                b'A'..=b'G' | b'a'..=b'g' | b'^' | b'_' | b'=' => {
                    let start = cursor.at;
                    let note = cursor.note()?;
                    if !self.is_overlay {
                        self.add(&mut cursor, Some(note), start)?;
                    } else {
                        cursor.length(start)?;
                    }
                }
                b'z' | b'x' => {
                    let start = cursor.at;
                    cursor.at += 1;
                    if self.is_overlay { cursor.length(start).map(drop) } else { self.add(&mut cursor, None, start) }?;
                }
                b'Z' | b'X' => self.bars_of_rest(&mut cursor)?,
                b'|' | b':' | b']' => self.bar_line(&mut cursor)?,
                b'[' => self.bracket(&mut cursor)?,
                b'"' => self.quoted(&mut cursor)?,
                b'(' => self.open_paren(&mut cursor)?,
                b'>' | b'<' => self.broken(&mut cursor)?,
                b'-' => {
                    cursor.at += 1;
                    if !self.is_overlay {
                        self.tie();
                    }
                }
                b'{' => {
                    self.tune.skip(SkippedKind::GraceNotes, line, "");
                    let end = cursor.find(b'}').ok_or_else(|| cursor.expected(cursor.at, "} after the grace notes"))?;
                    cursor.at = end + 1;
                }
                b'!' | b'+' => cursor.skip_decoration(byte),
                b'&' => {
                    self.tune.skip(SkippedKind::Voices, line, "&");
                    self.is_overlay = true;
                    cursor.at += 1;
                }
                b'y' => {
                    cursor.at += 1;
                    cursor.digits();
                }
                // Slurs' ends, staccato, the letters of decorations, line breaks, spaces, and signs kept for later use.
                b')'
                | b'.'
                | b'~'
                | b'H'..=b'W'
                | b'h'..=b'w'
                | b'\\'
                | b'$'
                | b'`'
                | b'*'
                | b';'
                | b'?'
                | b'#'
                | b'@'
                | b','
                | b'\''
                | b' '
                | b'\t'
                | 0x0C
                | 0x1A => cursor.at += 1,
                _ => return Err(cursor.expected(cursor.at, "a note, a rest, a bar line or a chord symbol in quotes")),
            }
        }
        Ok(())
    }

    /// Adds a note or a rest with the length that follows it.
    fn add(&mut self, cursor: &mut Cursor<'_>, note: Option<WrittenNote>, start: usize) -> Result<(), TuneFault> {
        let (numerator, denominator) = cursor.length(start)?;
        self.push(cursor, note, start, numerator, denominator)
    }

    fn push(
        &mut self,
        cursor: &Cursor<'_>,
        note: Option<WrittenNote>,
        start: usize,
        numerator: i64,
        denominator: i64,
    ) -> Result<(), TuneFault> {
        if note.is_none() {
            self.tied = None;
        }
        let pitch = note.map(|note| self.pitch(note)).transpose();
        let pitch = pitch.map_err(|()| cursor.expected(start, "a pitch from C-1 to G9"))?;
        let mut length = self.unit.times(numerator, denominator);
        if let Some((numerator, denominator)) = self.broken.take() {
            length = length.and_then(|length| length.times(numerator, denominator));
        }
        if let Some(tuplet) = &mut self.tuplet {
            length = length.and_then(|length| length.times(tuplet.numerator, tuplet.denominator));
            tuplet.left -= 1;
            if tuplet.left == 0 {
                self.tuplet = None;
            }
        }
        let is_length = |length: &Quarters| *length > Quarters::ZERO && *length <= Quarters::LONGEST;
        let length =
            length.filter(is_length).ok_or_else(|| cursor.expected(start, "a note with a length above zero"))?;
        if self.bar.notes.len() >= MOST_NOTES_A_BAR {
            return Err(TuneFault::TooLarge { what: "notes in a bar", most: MOST_NOTES_A_BAR });
        }
        self.notes += 1;
        if self.notes > MOST_NOTES {
            return Err(TuneFault::TooLarge { what: "notes", most: MOST_NOTES });
        }
        self.bar.notes.push(TuneNote { length, pitch, is_tied: false });
        Ok(())
    }

    /// Asks key, bar and tie what a written note sounds.
    fn pitch(&mut self, note: WrittenNote) -> Result<SpelledPitch, ()> {
        let tied = self.tied.take();
        let same = |known: &&(Letter, i8, i16)| known.0 == note.letter && known.1 == note.octave;
        let in_bar = self.accidentals.iter().rev().find(|known| match self.propagation {
            Propagation::Not => false,
            Propagation::Octave => same(known),
            Propagation::Pitch => known.0 == note.letter,
        });
        let sign = match (note.sign, tied.as_ref().filter(|tied| same(tied))) {
            (Some(sign), _) => {
                self.accidentals.push((note.letter, note.octave, sign));
                sign
            }
            (None, Some(tied)) => tied.2,
            (None, None) => in_bar.map_or_else(|| self.key.sign_on(note.letter), |known| known.2),
        };
        let spelled = Accidental::from_semitones(sign)
            .and_then(|accidental| SpelledPitch::new(Note::new(note.letter, accidental), note.octave));
        let spelled = spelled.ok_or(())?;
        match self.shift {
            0 => Ok(spelled),
            by if by % 12 == 0 => {
                let octaves = i8::try_from(by / 12).map_err(|_| ())?;
                SpelledPitch::new(spelled.note(), note.octave.saturating_add(octaves)).ok_or(())
            }
            by => {
                let to = spelled.pitch().transpose(crate::theory::Semitones::new(by)).ok_or(())?;
                Ok(SpelledPitch::by_choice(to, crate::theory::SpellingChoice::Customary))
            }
        }
    }

    /// Ties the last note to the next one.
    fn tie(&mut self) {
        let shift = i8::try_from(self.shift / 12).unwrap_or(0);
        let last = self.bar.notes.last_mut().or_else(|| self.tune.bars.last_mut()?.notes.last_mut());
        if let Some(last) = last
            && let Some(pitch) = last.pitch
        {
            last.is_tied = true;
            let note = pitch.note();
            self.tied = Some((note.letter(), pitch.octave().saturating_sub(shift), note.accidental().semitones()));
        }
    }

    /// Reads `>` and `<`, up to three of them.
    fn broken(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        let mark = cursor.bytes[start];
        while cursor.peek() == Some(mark) {
            cursor.at += 1;
        }
        if self.is_overlay {
            return Ok(());
        }
        let count = u32::try_from(cursor.at - start).ok().filter(|count| *count <= 3);
        let parts = 1_i64 << count.ok_or_else(|| cursor.expected(start, "at most three signs of broken rhythm"))?;
        let (long, short) = ((2 * parts - 1, parts), (1, parts));
        let (before, after) = if mark == b'>' { (long, short) } else { (short, long) };
        let last = self.bar.notes.last_mut().or_else(|| self.tune.bars.last_mut()?.notes.last_mut());
        let last = last.ok_or_else(|| cursor.expected(start, "a note before the broken rhythm"))?;
        let changed = last.length.times(before.0, before.1);
        last.length = changed.ok_or_else(|| cursor.expected(start, "a note long enough to be broken"))?;
        self.broken = Some(after);
        Ok(())
    }

    /// Reads a tuplet `(p:q:r`, or the beginning of a slur.
    fn open_paren(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        cursor.at += 1;
        let Some(count) = cursor.digits() else { return Ok(()) };
        let compound = if self.metre.is_compound() { 3 } else { 2 };
        let mut time = match count {
            3 | 6 => 2,
            2 | 4 | 8 => 3,
            _ => compound,
        };
        let mut notes = count;
        if cursor.take(b':') {
            time = cursor.digits().unwrap_or(time);
            if cursor.take(b':') {
                notes = cursor.digits().unwrap_or(notes);
            }
        }
        let fits = (1..=32).contains(&count) && (1..=32).contains(&time) && (1..=64).contains(&notes);
        if !fits {
            return Err(cursor.expected(start, "a tuplet such as (3 or (3:2:3"));
        }
        if !self.is_overlay {
            self.tuplet = Some(Tuplet { numerator: time.into(), denominator: count.into(), left: notes });
        }
        Ok(())
    }

    /// Reads `[`: a field, an ending, a bar line, or notes at once.
    fn bracket(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        let next = cursor.bytes.get(start + 1).copied();
        if cursor.bytes.get(start + 2) == Some(&b':') && next.is_some_and(|next| next.is_ascii_alphabetic()) {
            let end = cursor.find(b']').ok_or_else(|| cursor.expected(start, "] after the field"))?;
            let (name, value) = (char::from(cursor.bytes[start + 1]), &cursor.text[start + 3..end]);
            cursor.at = end + 1;
            return self.field(name, value.trim(), cursor.line, cursor.column(start + 3));
        }
        match next {
            _ if self.is_other_voice => cursor.at += 1,
            Some(b'|') => self.bar_line(cursor)?,
            Some(b'0'..=b'9') => {
                cursor.at += 1;
                self.ending(cursor);
            }
            // An ending called by words.
            Some(b'"') => cursor.at += 1,
            _ => self.notes_at_once(cursor)?,
        }
        Ok(())
    }

    /// Reads `[CEG]2`: the highest note is kept.
    fn notes_at_once(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        cursor.at += 1;
        let mut highest: Option<(SpelledPitch, WrittenNote)> = None;
        let mut inner = None;
        let (mut count, mut is_tied) = (0, false);
        let tied = self.tied.take();
        loop {
            match cursor.peek() {
                Some(b']') => {
                    cursor.at += 1;
                    break;
                }
                Some(b'A'..=b'G' | b'a'..=b'g' | b'^' | b'_' | b'=') => {
                    let place = cursor.at;
                    let note = cursor.note()?;
                    let length = cursor.length(place)?;
                    self.tied = tied;
                    let pitch = self.pitch(note).map_err(|()| cursor.expected(place, "a pitch from C-1 to G9"))?;
                    let first = *inner.get_or_insert(length);
                    count += 1;
                    if highest.is_none_or(|known| pitch.pitch() > known.0.pitch()) {
                        highest = Some((pitch, note));
                    }
                    debug_assert!(first.1 > 0, "a length has a denominator above zero");
                }
                Some(b'-') => {
                    is_tied = true;
                    cursor.at += 1;
                }
                Some(mark @ (b'!' | b'+')) => cursor.skip_decoration(mark),
                Some(b'"') => self.quoted(cursor)?,
                Some(b'.' | b'~' | b'H'..=b'W' | b'h'..=b'w' | b' ' | b'(' | b')') => cursor.at += 1,
                _ => return Err(cursor.expected(cursor.at, "a note, or ] after notes played together")),
            }
        }
        self.tied = None;
        let outer = cursor.length(start)?;
        let Some((pitch, _)) = highest.filter(|_| !self.is_overlay) else { return Ok(()) };
        if count > 1 {
            self.tune.skip(SkippedKind::LowerNotes, cursor.line, &cursor.text[start..cursor.at]);
        }
        let (numerator, denominator) = inner.unwrap_or((1, 1));
        self.push(cursor, None, start, numerator * outer.0, denominator * outer.1)?;
        if let Some(last) = self.bar.notes.last_mut() {
            last.pitch = Some(pitch);
        }
        if is_tied {
            self.tie();
        }
        Ok(())
    }

    /// Reads `"…"`: a chord symbol, or an annotation.
    fn quoted(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        cursor.at += 1;
        let end = cursor.find(b'"').ok_or_else(|| cursor.expected(start, "a quote that closes the chord symbol"))?;
        let text = cursor.text[start + 1..end].trim();
        cursor.at = end + 1;
        if self.is_overlay || text.is_empty() || text.starts_with(['^', '_', '<', '>', '@']) {
            return Ok(());
        }
        let at = self.bar.length();
        match self.chord(text) {
            Some(chord) => {
                self.bar.chords.retain(|mark| mark.at != at);
                self.bar.chords.push(ChordMark { at, chord });
            }
            None => self.tune.skip(SkippedKind::ChordSymbol, cursor.line, text),
        }
        Ok(())
    }

    /// Reads a chord symbol, each of the first few only once.
    fn chord(&mut self, text: &str) -> Option<Option<Chord>> {
        if let Some((_, read)) = self.chords.iter().find(|(known, _)| known == text) {
            return *read;
        }
        let read = read_chord(text);
        if self.chords.len() < MOST_CHORDS {
            self.chords.push((text.to_owned(), read));
        }
        read
    }

    /// Reads a bar line with its repeat signs, and the ending that may follow.
    fn bar_line(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        while cursor.peek().is_some_and(|byte| matches!(byte, b'|' | b':' | b']'))
            || cursor.peek() == Some(b'[') && cursor.bytes.get(cursor.at + 1) == Some(&b'|')
        {
            cursor.at += 1;
        }
        let signs = &cursor.bytes[start..cursor.at];
        let first_line = signs.iter().position(|byte| *byte != b':').unwrap_or(signs.len());
        let (ends, starts) = if first_line == signs.len() {
            // `::` without a line both ends and begins; a lone colon is no bar line.
            if signs.len() < 2 {
                return Err(cursor.expected(start, "a bar line after the colon"));
            }
            (1, true)
        } else {
            (first_line, signs.last() == Some(&b':'))
        };
        let lines = signs.iter().filter(|byte| **byte != b':').count();
        self.close_bar(lines > 1 && ends == 0 && !starts)?;
        if ends > 0
            && let Some(last) = self.tune.bars.last_mut()
        {
            last.ends_repeat = u8::try_from(ends + 1).unwrap_or(u8::MAX);
            last.ends_part = false;
            self.is_in_repeat = false;
        }
        if starts {
            if self.is_in_repeat && !self.tune.bars.is_empty() {
                self.tune.skip(SkippedKind::NestedRepeat, cursor.line, "");
            }
            self.bar.starts_repeat = true;
            self.is_in_repeat = true;
        }
        if cursor.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.ending(cursor);
        }
        Ok(())
    }

    /// Reads the passes an ending is for: `1`, `1,3` or `1-3`.
    fn ending(&mut self, cursor: &mut Cursor<'_>) {
        let mut passes: Vec<u8> = Vec::new();
        let mut from: Option<u8> = None;
        while let Some(number) = cursor.digits() {
            let number = u8::try_from(number.clamp(1, 64)).unwrap_or(1);
            match from.take() {
                Some(from) => passes.extend(from.saturating_add(1)..=number),
                None => passes.push(number),
            }
            let goes_on = |cursor: &Cursor<'_>| cursor.bytes.get(cursor.at + 1).is_some_and(u8::is_ascii_digit);
            match cursor.peek() {
                Some(b',') if goes_on(cursor) => cursor.at += 1,
                Some(b'-') if goes_on(cursor) => {
                    cursor.at += 1;
                    from = Some(number);
                }
                _ => break,
            }
        }
        if !self.bar.notes.is_empty() {
            // An ending in the middle of a bar parts it. There is room: the bar was counted when it began.
            let _ = self.close_bar(false);
        }
        passes.sort_unstable();
        passes.dedup();
        self.bar.endings = passes;
    }

    /// Ends the bar, if anything stands in it, and begins the next.
    fn close_bar(&mut self, ends_part: bool) -> Result<(), TuneFault> {
        self.is_overlay = false;
        self.accidentals.clear();
        if self.bar.notes.is_empty() {
            if let Some(last) = self.tune.bars.last_mut().filter(|last| ends_part && last.ends_repeat < 2) {
                last.ends_part = true;
            }
            return Ok(());
        }
        if self.tune.bars.len() >= MOST_BARS {
            return Err(TuneFault::TooLarge { what: "bars", most: MOST_BARS });
        }
        self.bar.ends_part = ends_part;
        let mut next = Bar::new(self.metre, self.key);
        // Bars are much alike.
        next.notes.reserve(self.bar.notes.len().min(16));
        self.tune.bars.push(std::mem::replace(&mut self.bar, next));
        Ok(())
    }

    /// Reads `Z4`: whole bars of rest.
    fn bars_of_rest(&mut self, cursor: &mut Cursor<'_>) -> Result<(), TuneFault> {
        let start = cursor.at;
        cursor.at += 1;
        let count = cursor.digits().unwrap_or(1);
        if !(1..=1_000).contains(&count) {
            return Err(cursor.expected(start, "1 to 1000 bars of rest"));
        }
        if self.is_overlay {
            return Ok(());
        }
        let length = self.metre.bar_length().unwrap_or(Quarters::ONE);
        for bar in 0..count {
            if bar > 0 {
                self.close_bar(false)?;
            }
            self.bar.notes.push(TuneNote { length, pitch: None, is_tied: false });
        }
        Ok(())
    }
}

/// Reads a chord symbol as tunes write it; `Some(None)` where it says that there is no chord.
fn read_chord(text: &str) -> Option<Option<Chord>> {
    // Of alternatives the first counts, and one in parentheses is an offer.
    let text = text.split([';', '\n']).next().unwrap_or_default().trim();
    let text = text.strip_prefix('(').and_then(|text| text.strip_suffix(')')).unwrap_or(text);
    if text.eq_ignore_ascii_case("N.C.") || text.eq_ignore_ascii_case("NC") {
        return Some(None);
    }
    if let Ok(chord) = Chord::read(text) {
        return Some(Some(chord));
    }
    // A bass in a small letter is read as well by the chord's own reader; a root is not a chord in small letters.
    let compact: String = text.chars().filter(|mark| !mark.is_whitespace()).collect();
    Chord::read(&compact).ok().map(Some)
}

/// A place in a line.
#[derive(Debug)]
struct Cursor<'a> {
    bytes: &'a [u8],
    text: &'a str,
    at: usize,
    line: usize,
}

impl Cursor<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn take(&mut self, byte: u8) -> bool {
        let is_there = self.peek() == Some(byte);
        self.at += usize::from(is_there);
        is_there
    }

    /// Finds the next such byte after the place.
    fn find(&self, byte: u8) -> Option<usize> {
        let rest = self.bytes.get(self.at + 1..).unwrap_or_default();
        // From the place itself where the byte that opens has been taken already.
        if self.bytes.get(self.at) == Some(&byte) {
            return Some(self.at);
        }
        rest.iter().position(|found| *found == byte).map(|found| self.at + 1 + found)
    }

    /// Counts characters as an editor does, from 1.
    fn column(&self, at: usize) -> usize {
        self.text.get(..at).map_or(at, |before| before.chars().count()) + 1
    }

    fn expected(&self, at: usize, expected: &'static str) -> TuneFault {
        let found = self.text.get(at..).and_then(|rest| rest.split_whitespace().next()).unwrap_or_default();
        TuneFault::at(self.line, self.column(at), found.chars().take(8).collect::<String>(), expected)
    }

    /// Reads a whole number, at most four digits of it counting.
    fn digits(&mut self) -> Option<u32> {
        let start = self.at;
        while self.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.at += 1;
        }
        let digits = self.text.get(start..self.at).filter(|digits| !digits.is_empty())?;
        Some(digits.parse::<u32>().unwrap_or(u32::MAX).min(99_999))
    }

    /// Reads accidentals, letter and octave marks.
    fn note(&mut self) -> Result<WrittenNote, TuneFault> {
        let start = self.at;
        let mut sign: Option<i16> = None;
        while let Some(mark @ (b'^' | b'_' | b'=')) = self.peek() {
            self.at += 1;
            let by = match mark {
                b'^' => 1,
                b'_' => -1,
                _ => 0,
            };
            sign = Some(sign.unwrap_or(0) + by);
        }
        let byte = self.peek().unwrap_or(b' ');
        let letter = Some(char::from(byte)).filter(|letter| letter.is_ascii()).and_then(Letter::from_char);
        let letter = letter.ok_or_else(|| self.expected(self.at, "a letter from A to G after the sign"))?;
        if sign.is_some_and(|sign| sign.abs() > 2) {
            return Err(self.expected(start, "at most two sharps or flats"));
        }
        self.at += 1;
        let mut octave: i8 = if byte.is_ascii_lowercase() { 5 } else { 4 };
        while let Some(mark @ (b',' | b'\'')) = self.peek() {
            self.at += 1;
            octave = octave.saturating_add(if mark == b'\'' { 1 } else { -1 });
        }
        Ok(WrittenNote { letter, octave, sign })
    }

    /// Reads a length: `2`, `3/2`, `/2`, `/`, `//`.
    fn length(&mut self, start: usize) -> Result<(i64, i64), TuneFault> {
        let numerator = self.digits().unwrap_or(1);
        let mut denominator: i64 = 1;
        while self.take(b'/') {
            let by = self.digits().unwrap_or(2);
            denominator = denominator.saturating_mul(i64::from(by));
        }
        if numerator == 0 || denominator == 0 || denominator > 1_000_000 {
            return Err(self.expected(start, "a note with a length above zero"));
        }
        Ok((i64::from(numerator), denominator))
    }

    /// Steps over `!trill!` or the older `+trill+`; a mark that does not close is stepped over alone.
    fn skip_decoration(&mut self, mark: u8) {
        let end = self.bytes.iter().skip(self.at + 1).position(|byte| *byte == mark);
        let name = end.and_then(|end| self.bytes.get(self.at + 1..self.at + 1 + end));
        let is_name =
            |name: &&[u8]| name.iter().all(|byte| byte.is_ascii_alphanumeric() || b"<>().,-^ ".contains(byte));
        self.at += 1 + name.filter(is_name).map_or(0, |name| name.len() + 1);
    }
}
