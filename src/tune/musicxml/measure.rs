//! The measures of a MusicXML part.

use roxmltree::{Document, Node};

use crate::theory::{Accidental, Chord, Key, Letter, Mode, Note, Semitones, SpelledPitch, SpellingChoice};

use super::super::fault::{SkippedKind, TuneFault};
use super::super::model::{Bar, ChordMark, MOST_BARS, Metre, Tempo, Tune, TuneKey, TuneNote};
use super::super::quarters::Quarters;
use super::{child, text_of, to_usize};

/// Reads measures one after the other.
pub(super) struct Measures<'a, 'input> {
    document: &'a Document<'input>,
    tune: Tune,
    divisions: i64,
    metre: Metre,
    key: TuneKey,
    shift: i16,
    voice: Option<String>,
    /// How many sounding bars the repeats have opened and not closed.
    is_in_repeat: bool,
}

/// What is read of one measure.
struct Measure {
    bar: Bar,
    /// Where the writer's place is.
    at: Quarters,
    /// Where the first voice ends so far.
    end: Quarters,
    /// What the measure shifts the next direction by.
    last_note_at: Quarters,
}

impl<'a, 'input> Measures<'a, 'input> {
    pub(super) fn new(document: &'a Document<'input>, tune: Tune) -> Self {
        let (metre, key) = (Metre::FREE, TuneKey::default());
        Self { document, tune, divisions: 1, metre, key, shift: 0, voice: None, is_in_repeat: false }
    }

    pub(super) fn finish(self) -> Tune {
        self.tune
    }

    fn fault(&self, node: Node<'_, '_>, found: &str, expected: &'static str) -> TuneFault {
        let place = self.document.text_pos_at(node.range().start);
        TuneFault::at(to_usize(place.row), to_usize(place.col), found, expected)
    }

    fn skip(&mut self, node: Node<'_, '_>, what: SkippedKind, found: &str) {
        // Finding the line reads the text from its start: once a kind is enough.
        let line = if self.tune.skipped.iter().any(|known| known.what == what) {
            0
        } else {
            to_usize(self.document.text_pos_at(node.range().start).row)
        };
        self.tune.skip(what, line, found);
    }

    pub(super) fn measure(&mut self, node: Node<'_, '_>) -> Result<(), TuneFault> {
        if self.tune.bars.len() >= MOST_BARS {
            return Err(TuneFault::TooLarge { what: "bars", most: MOST_BARS });
        }
        let bar = Bar::new(self.metre, self.key);
        let mut measure = Measure { bar, at: Quarters::ZERO, end: Quarters::ZERO, last_note_at: Quarters::ZERO };
        let result = node.children().filter(Node::is_element).try_for_each(|child| self.element(child, &mut measure));
        measure.bar.chords.sort_by_key(|mark| mark.at);
        // A repeat sign says so by itself.
        measure.bar.ends_part &= measure.bar.ends_repeat < 2;
        let length = measure.bar.length();
        measure.bar.chords.retain(|mark| mark.at < length || mark.at == Quarters::ZERO);
        if !measure.bar.notes.is_empty() {
            self.tune.bars.push(measure.bar);
        } else if measure.bar.ends_repeat > 1
            && let Some(last) = self.tune.bars.last_mut()
        {
            last.ends_repeat = measure.bar.ends_repeat;
        }
        result
    }

    fn element(&mut self, node: Node<'_, '_>, measure: &mut Measure) -> Result<(), TuneFault> {
        match node.tag_name().name() {
            "attributes" => self.attributes(node, measure)?,
            "note" => self.note(node, measure)?,
            "backup" => measure.at = (measure.at - self.duration(node)?).max(Quarters::ZERO),
            "forward" => measure.at = measure.at + self.duration(node)?,
            "harmony" => self.harmony(node, measure)?,
            "barline" => self.bar_line(node, measure),
            "direction" => self.direction(node),
            "sound" => self.sound(node),
            _ => {}
        }
        Ok(())
    }

    fn attributes(&mut self, node: Node<'_, '_>, measure: &mut Measure) -> Result<(), TuneFault> {
        if let Some(divisions) = text_of(node, "divisions") {
            let number = divisions.parse().ok().filter(|number| (1..=1_000_000).contains(number));
            self.divisions = number.ok_or_else(|| self.fault(node, divisions, "divisions of a quarter above zero"))?;
        }
        if let Some(key) = child(node, "key") {
            self.key = self.key_of(key)?;
        }
        if let Some(time) = child(node, "time") {
            self.metre = self.metre_of(time)?;
        }
        if let Some(transpose) = child(node, "transpose") {
            let number =
                |name: &str| text_of(transpose, name).and_then(|text| text.parse::<i8>().ok()).map_or(0, i16::from);
            self.shift = number("chromatic").clamp(-48, 48) + 12 * number("octave-change").clamp(-4, 4);
        }
        if measure.bar.notes.is_empty() {
            (measure.bar.metre, measure.bar.key) = (self.metre, self.key);
        }
        Ok(())
    }

    fn key_of(&self, node: Node<'_, '_>) -> Result<TuneKey, TuneFault> {
        let Some(fifths) = text_of(node, "fifths") else { return Ok(TuneKey::default()) };
        let number = fifths.parse::<i16>().ok().filter(|fifths| fifths.abs() <= 7);
        let fifths = number.ok_or_else(|| self.fault(node, fifths, "fifths from -7 to 7"))?;
        let mode = match text_of(node, "mode") {
            Some("minor" | "aeolian") => Mode::Minor,
            Some("none") => return Ok(TuneKey::of(Key::new(tonic(fifths, Mode::Major), Mode::Major))),
            Some(word) => Mode::ALL.into_iter().find(|mode| mode.word() == word).unwrap_or(Mode::Major),
            None => Mode::Major,
        };
        Ok(TuneKey::of(Key::new(tonic(fifths, mode), mode)))
    }

    fn metre_of(&self, node: Node<'_, '_>) -> Result<Metre, TuneFault> {
        if child(node, "senza-misura").is_some() {
            return Ok(Metre::FREE);
        }
        let expected = |found: &str| self.fault(node, found, "a metre with beats and beat-type above zero");
        let (Some(beats), Some(unit)) = (text_of(node, "beats"), text_of(node, "beat-type")) else {
            return Err(expected(""));
        };
        let count: Option<u32> = beats.split('+').map(|part| part.trim().parse::<u8>().ok().map(u32::from)).sum();
        let read = count.zip(unit.parse().ok()).and_then(|(beats, unit)| Metre::new(beats, unit));
        read.ok_or_else(|| expected(&format!("{beats}/{unit}")))
    }

    fn duration(&self, node: Node<'_, '_>) -> Result<Quarters, TuneFault> {
        let text = text_of(node, "duration").unwrap_or_default();
        // A duration may be written as a decimal number; whole ones are meant.
        let number = text.strip_suffix(".0").unwrap_or(text).parse::<u32>().ok().map(i64::from);
        let length = number.and_then(|number| Quarters::new(number, self.divisions));
        let is_length = |length: &Quarters| *length >= Quarters::ZERO && *length <= Quarters::LONGEST;
        length.filter(is_length).ok_or_else(|| self.fault(node, text, "a duration"))
    }

    fn note(&mut self, node: Node<'_, '_>, measure: &mut Measure) -> Result<(), TuneFault> {
        if child(node, "grace").is_some() {
            self.skip(node, SkippedKind::GraceNotes, "");
            return Ok(());
        }
        if child(node, "cue").is_some() {
            return Ok(());
        }
        let is_with_last = child(node, "chord").is_some();
        let length = self.duration(node)?;
        let at = if is_with_last { measure.last_note_at } else { measure.at };
        if !is_with_last {
            measure.last_note_at = at;
            measure.at = at + length;
        }
        let voice = format!("{} {}", text_of(node, "voice").unwrap_or("1"), text_of(node, "staff").unwrap_or("1"));
        let first = self.voice.get_or_insert_with(|| voice.clone());
        if *first != voice {
            self.skip(node, SkippedKind::Voices, &voice);
            return Ok(());
        }
        if child(node, "lyric").is_some() {
            self.skip(node, SkippedKind::Words, "");
        }
        let pitch = if child(node, "rest").is_some() || child(node, "unpitched").is_some() {
            None
        } else {
            Some(self.pitch(node)?)
        };
        let is_tied = node.children().any(|tie| tie.has_tag_name("tie") && tie.attribute("type") == Some("start"));
        if is_with_last {
            self.skip(node, SkippedKind::LowerNotes, "");
            if let Some(last) = measure.bar.notes.last_mut()
                && pitch.map(SpelledPitch::pitch) > last.pitch.map(SpelledPitch::pitch)
            {
                (last.pitch, last.is_tied) = (pitch, is_tied);
            }
            return Ok(());
        }
        if length == Quarters::ZERO {
            return Err(self.fault(node, "0", "a note with a duration above zero"));
        }
        if at > measure.end {
            let gap = at - measure.end;
            measure.bar.notes.push(TuneNote { length: gap, pitch: None, is_tied: false });
        } else if at < measure.end {
            // A second line under the same voice's name.
            self.skip(node, SkippedKind::Voices, &voice);
            return Ok(());
        }
        measure.bar.notes.push(TuneNote { length, pitch, is_tied });
        measure.end = at + length;
        Ok(())
    }

    fn pitch(&self, node: Node<'_, '_>) -> Result<SpelledPitch, TuneFault> {
        let expected = |found: &str| self.fault(node, found, "a pitch with step and octave, or a rest");
        let pitch = child(node, "pitch").ok_or_else(|| expected(""))?;
        let step = text_of(pitch, "step").unwrap_or_default();
        let note = read_note(step, text_of(pitch, "alter"));
        let octave = text_of(pitch, "octave").and_then(|octave| octave.parse().ok());
        let spelled = note.zip(octave).and_then(|(note, octave)| SpelledPitch::new(note, octave));
        let spelled = spelled.ok_or_else(|| expected(step))?;
        let by = self.shift;
        if by % 12 == 0 {
            let octave = i16::from(spelled.octave()) + by / 12;
            let octave = i8::try_from(octave).map_err(|_| expected(step))?;
            return SpelledPitch::new(spelled.note(), octave).ok_or_else(|| expected(step));
        }
        spelled.transposed(Semitones::new(by), SpellingChoice::Customary).ok_or_else(|| expected(step))
    }

    fn harmony(&mut self, node: Node<'_, '_>, measure: &mut Measure) -> Result<(), TuneFault> {
        let offset = text_of(node, "offset").and_then(|offset| offset.parse::<i32>().ok()).map_or(0, i64::from);
        let at = (measure.at + Quarters::new(offset, self.divisions).unwrap_or_default()).max(Quarters::ZERO);
        let kind = child(node, "kind");
        let word = kind.and_then(|kind| kind.text()).map_or("major", str::trim);
        let chord = if word == "none" { Some(None) } else { read_harmony(node, word, self.shift).map(Some) };
        match chord {
            Some(chord) => {
                measure.bar.chords.retain(|mark| mark.at != at);
                measure.bar.chords.push(ChordMark { at, chord });
            }
            None => self.skip(node, SkippedKind::ChordSymbol, word),
        }
        Ok(())
    }

    fn bar_line(&mut self, node: Node<'_, '_>, measure: &mut Measure) {
        if let Some(repeat) = child(node, "repeat") {
            match repeat.attribute("direction") {
                Some("forward") => {
                    if self.is_in_repeat {
                        self.skip(node, SkippedKind::NestedRepeat, "");
                    }
                    measure.bar.starts_repeat = true;
                    self.is_in_repeat = true;
                }
                Some("backward") => {
                    let times = repeat.attribute("times").and_then(|times| times.parse().ok()).unwrap_or(2);
                    measure.bar.ends_repeat = u8::max(times, 2);
                    self.is_in_repeat = false;
                }
                _ => {}
            }
        }
        if let Some(ending) = child(node, "ending")
            && ending.attribute("type") == Some("start")
        {
            let numbers = ending.attribute("number").unwrap_or("1").split([',', ' ']);
            measure.bar.endings =
                numbers.filter_map(|number| number.trim().parse().ok()).filter(|pass| *pass > 0).collect();
        }
        let style = text_of(node, "bar-style");
        if matches!(style, Some("light-light" | "light-heavy")) && node.attribute("location") != Some("left") {
            measure.bar.ends_part = true;
        }
    }

    fn direction(&mut self, node: Node<'_, '_>) {
        if let Some(sound) = child(node, "sound") {
            self.sound(sound);
        }
        let metronome = node.descendants().find(|inner| inner.has_tag_name("metronome"));
        if let (Some(metronome), None) = (metronome, self.tune.tempo) {
            let unit = match text_of(metronome, "beat-unit") {
                Some("whole") => Quarters::new(4, 1),
                Some("half") => Quarters::new(2, 1),
                Some("eighth") => Quarters::new(1, 2),
                _ => Quarters::new(1, 1),
            };
            let is_dotted = child(metronome, "beat-unit-dot").is_some();
            let beat = unit.and_then(|unit| if is_dotted { unit.times(3, 2) } else { Some(unit) });
            let number = text_of(metronome, "per-minute").and_then(|number| number.parse::<u16>().ok());
            self.tune.tempo = beat
                .zip(number.filter(|number| (1..=1000).contains(number)))
                .map(|(beat, per_minute)| Tempo { beat, per_minute });
        }
    }

    fn sound(&mut self, node: Node<'_, '_>) {
        for jump in ["dacapo", "dalsegno", "tocoda", "coda", "fine"] {
            if node.has_attribute(jump) {
                self.skip(node, SkippedKind::Jumps, jump);
            }
        }
        let tempo = node.attribute("tempo").and_then(|tempo| tempo.parse::<f64>().ok());
        if let (Some(tempo), None) = (tempo.filter(|tempo| (1.0..=1000.0).contains(tempo)), self.tune.tempo) {
            // Rounded to a whole number of quarters a minute; found by looking, so that no cast is needed.
            let per_minute = (1..=1000_u16).min_by(|one, other| {
                let off = |number: &u16| (f64::from(*number) - tempo).abs();
                off(one).total_cmp(&off(other))
            });
            self.tune.tempo = per_minute.map(|per_minute| Tempo { beat: Quarters::ONE, per_minute });
        }
    }
}

/// Reads a step and an alteration.
fn read_note(step: &str, alter: Option<&str>) -> Option<Note> {
    let mut letters = step.chars();
    let letter = Letter::from_char(letters.next()?)?;
    let alter = alter.map_or(Some(0), |alter| alter.strip_suffix(".0").unwrap_or(alter).parse::<i16>().ok())?;
    let accidental = Accidental::from_semitones(alter)?;
    letters.next().is_none().then(|| Note::new(letter, accidental))
}

/// Returns the tonic of a mode with so many signs: each mode lies so many fifths from the major key of its signs.
fn tonic(fifths: i16, mode: Mode) -> Note {
    let up = match mode {
        Mode::Lydian => -1,
        Mode::Major => 0,
        Mode::Mixolydian => 1,
        Mode::Dorian => 2,
        Mode::Minor => 3,
        Mode::Phrygian => 4,
        Mode::Locrian => 5,
    };
    // In fifths from F: F C G D A E B, then again with a sharp.
    let from_f = fifths + up + 1;
    let letters = [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];
    let letter = letters[usize::from(from_f.rem_euclid(7).unsigned_abs())];
    Note::new(letter, Accidental::from_semitones(from_f.div_euclid(7)).unwrap_or_default())
}

/// Reads root, kind, degrees and bass of a chord symbol.
fn read_harmony(node: Node<'_, '_>, kind: &str, shift: i16) -> Option<Chord> {
    let root = child(node, "root")?;
    let root = read_note(text_of(root, "root-step")?, text_of(root, "root-alter"))?;
    let suffix = match kind {
        "major" => "",
        "minor" => "m",
        "augmented" => "aug",
        "diminished" => "dim",
        "dominant" => "7",
        "major-seventh" => "maj7",
        "minor-seventh" => "m7",
        "diminished-seventh" => "dim7",
        "augmented-seventh" => "aug7",
        "half-diminished" => "m7b5",
        "major-minor" => "m(maj7)",
        "major-sixth" => "6",
        "minor-sixth" => "m6",
        "dominant-ninth" => "9",
        "major-ninth" => "maj9",
        "minor-ninth" => "m9",
        "dominant-11th" => "11",
        "major-11th" => "maj11",
        "minor-11th" => "m11",
        "dominant-13th" => "13",
        "major-13th" => "maj13",
        "minor-13th" => "m13",
        "suspended-second" => "sus2",
        "suspended-fourth" => "sus4",
        "power" => "5",
        _ => return None,
    };
    let mut suffix = suffix.to_owned();
    for degree in node.children().filter(|inner| inner.has_tag_name("degree")) {
        let value = text_of(degree, "degree-value").unwrap_or_default();
        let sign = match text_of(degree, "degree-alter").unwrap_or("0") {
            "1" => "#",
            "-1" => "b",
            _ => "",
        };
        match text_of(degree, "degree-type") {
            Some("add") if sign.is_empty() => suffix += &format!("add{value}"),
            Some("add" | "alter") => suffix += &format!("{sign}{value}"),
            _ => {}
        }
    }
    let bass = child(node, "bass").and_then(|bass| read_note(text_of(bass, "bass-step")?, text_of(bass, "bass-alter")));
    let name = |note: Note| {
        let class = note.class().transpose(Semitones::new(shift));
        if shift % 12 == 0 { note.ascii() } else { Note::of_class(class, SpellingChoice::Customary).ascii() }
    };
    let over = bass.map(|bass| format!("/{}", name(bass))).unwrap_or_default();
    let plain = format!("{}{suffix}{over}", name(root));
    // A chord with degrees that the table does not know is read by its kind.
    Chord::read(&plain).ok()
}
