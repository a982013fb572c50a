//! How strings, places and ways to hear are called on a sheet.

use crate::instrument::{CourseIndex, Fret, Fretboard, Instrument, Position, Tuning};
use crate::retune::{Match, MatchKind, SLOWEST_BEAT, Sounding, Touch};
use crate::shapes::{AlternatingBass, FingerChange, KnownForm, MelodyNote, Reached};
use crate::theory::{Key, Mode, Note, Pitch, ReferencePitch, Semitones, SpelledPitch};

use super::paper::SheetOptions;
use super::words::Words;

/// The beat below which none is heard, in beats a second.
const SMALLEST_BEAT: f64 = 0.05;

/// Who says it, and of which instrument.
#[derive(Clone, Copy, Debug)]
pub(super) struct Names<'a> {
    pub(super) instrument: &'a Instrument,
    pub(super) options: &'a SheetOptions,
    pub(super) words: Words,
}

impl<'a> Names<'a> {
    pub(super) const fn new(instrument: &'a Instrument, options: &'a SheetOptions) -> Self {
        Self { instrument, options, words: Words::new(options.language) }
    }

    pub(super) fn number(&self, course: CourseIndex) -> String {
        course.player_number(self.instrument.courses().len()).to_string()
    }

    /// The notes of a tuning, without octaves.
    pub(super) fn tuning(&self, spelled: &[SpelledPitch]) -> String {
        spelled.iter().map(|pitch| self.options.note(pitch.note())).collect::<Vec<_>>().join(" ")
    }

    pub(super) fn pitch(&self, pitch: Pitch) -> String {
        self.options.note(Note::of_class(pitch.class(), self.options.spelling))
    }

    fn kind(&self, course: CourseIndex) -> usize {
        match self.instrument.courses().get(course.from_lowest_index()) {
            Some(found) if found.is_pair() => 1,
            Some(found) if found.is_drone() => 2,
            _ => 0,
        }
    }

    /// "String 5", "Pair 2", "Drone 5".
    pub(super) fn called(&self, course: CourseIndex) -> String {
        let number = self.number(course);
        match self.kind(course) {
            1 => self.words.say("called-pair", &[&number]),
            2 => self.words.say("called-drone", &[&number]),
            _ => self.words.say("called-string", &[&number]),
        }
    }

    /// What to do to a string: "Loosen 6".
    pub(super) fn command(&self, course: CourseIndex, by: Option<Semitones>) -> String {
        let number = self.number(course);
        let number = number.as_str();
        match (by.map(Semitones::get), self.kind(course)) {
            (Some(by), 1) if by < 0 => self.words.say("loosen-pair", &[number]),
            (Some(by), 2) if by < 0 => self.words.say("loosen-drone", &[number]),
            (Some(by), _) if by < 0 => self.words.say("loosen", &[number]),
            (Some(by), 1) if by > 0 => self.words.say("tighten-pair", &[number]),
            (Some(by), 2) if by > 0 => self.words.say("tighten-drone", &[number]),
            (Some(by), _) if by > 0 => self.words.say("tighten", &[number]),
            (_, 1) => self.words.say("set-pair", &[number]),
            (_, 2) => self.words.say("set-drone", &[number]),
            _ => self.words.say("set", &[number]),
        }
    }

    /// "E down to D, 2 semitones".
    pub(super) fn way(&self, from: &str, to: &str, by: Semitones) -> String {
        let count = by.abs().get().to_string();
        let given = [from, to, &count];
        match (by.get() < 0, by.abs().get() == 1) {
            (true, true) => self.words.say("down-one", &given),
            (true, false) => self.words.say("down", &given),
            (false, true) => self.words.say("up-one", &given),
            (false, false) => self.words.say("up", &given),
        }
    }

    /// "string 5 at fret 7".
    pub(super) fn side(&self, sounding: Sounding) -> String {
        let number = self.number(sounding.course);
        let fret = self.instrument.fret_name(sounding.fret);
        let given = [number.as_str(), fret.as_str()];
        match (sounding.touch, self.kind(sounding.course)) {
            (Touch::Open, 1) => self.words.say("pair-open", &given),
            (Touch::Open, 2) => self.words.say("drone-open", &given),
            (Touch::Open, _) => self.words.say("string-open", &given),
            (Touch::Stopped, 1) => self.words.say("pair-at", &given),
            (Touch::Stopped, 2) => self.words.say("drone-at", &given),
            (Touch::Stopped, _) => self.words.say("string-at", &given),
            (Touch::Harmonic, 1) => self.words.say("pair-harmonic", &given),
            (Touch::Harmonic, 2) => self.words.say("drone-harmonic", &given),
            (Touch::Harmonic, _) => self.words.say("string-harmonic", &given),
        }
    }

    /// What is compared with what, and what is heard when it is right.
    pub(super) fn hear(&self, how: &Match, to: &Tuning, a4: ReferencePitch) -> String {
        let tuned = self.side(how.tuned());
        let reference = how.reference().map_or_else(
            || {
                let pitch = to.pitches().get(how.tuned().course.from_lowest_index()).copied().unwrap_or(Pitch::A4);
                let hertz = self.words.decimal(a4.frequency(pitch).get());
                self.words.say("the-note", &[&self.pitch(pitch), &hertz])
            },
            |side| self.side(side),
        );
        // Beats too slow to count are brought to rest.
        let counted = how.counted().map(|beats| beats.abs().per_second());
        let count = self.words.decimal(counted.unwrap_or_default());
        let given = [reference.as_str(), tuned.as_str(), count.as_str()];
        if counted.is_none() {
            self.words.say("hear-still", &given)
        } else if how.lean().get() > 0.0 {
            self.words.say("hear-above", &given)
        } else {
            self.words.say("hear-below", &given)
        }
    }

    /// The same in a line, for what is only checked.
    pub(super) fn check(&self, how: &Match, to: &Tuning) -> String {
        let tuned = self.side(how.tuned());
        let Some(reference) = how.reference() else { return tuned };
        let other = self.side(reference);
        let heard = match how.beats().abs().per_second() {
            none if none < SMALLEST_BEAT => self.words.say("no-wobble", &[]),
            slow if slow < SLOWEST_BEAT.per_second() => self.words.say("almost-still", &[]),
            some => self.words.say("wobbles", &[&self.words.decimal(some)]),
        };
        let given = [tuned.as_str(), other.as_str(), heard.as_str()];
        match (how.kind(), self.is_two_octaves(how, to)) {
            (MatchKind::Octave, true) => self.words.say("check-two-octaves", &given),
            (MatchKind::Octave, false) => self.words.say("check-octave", &given),
            _ => self.words.say("check-same", &given),
        }
    }

    fn is_two_octaves(&self, how: &Match, to: &Tuning) -> bool {
        let board = Fretboard::new(self.instrument, to, Fret::OPEN).ok();
        let pitch = |side: Sounding| {
            board.as_ref().and_then(|board| board.pitch_at(Position { course: side.course, fret: side.fret }))
        };
        let apart = how.reference().and_then(pitch).zip(pitch(how.tuned())).map(|(one, other)| (one - other).abs());
        apart == Some(Semitones::new(24))
    }

    /// "G major" in the language's own way.
    pub(super) fn key(&self, key: Key) -> String {
        let tonic = self.options.note(key.tonic());
        let given = [tonic.as_str()];
        match key.mode() {
            Mode::Major => self.words.say("key-major", &given),
            Mode::Minor => self.words.say("key-minor", &given),
            Mode::Dorian => self.words.say("key-dorian", &given),
            Mode::Phrygian => self.words.say("key-phrygian", &given),
            Mode::Lydian => self.words.say("key-lydian", &given),
            Mode::Mixolydian => self.words.say("key-mixolydian", &given),
            Mode::Locrian => self.words.say("key-locrian", &given),
        }
    }

    /// A string and where it is stopped, frets counted from the capo: "6 open", "4 at fret 5".
    pub(super) fn place(&self, place: Position) -> String {
        let number = self.number(place.course);
        if place.fret == Fret::OPEN {
            return self.words.say("place-open", &[&number]);
        }
        self.words.say("place-at", &[&number, &self.instrument.fret_name(place.fret)])
    }

    /// What the thumb alternates under a shape.
    pub(super) fn thumb(&self, bass: &AlternatingBass) -> String {
        if let Some(pair) = bass.pairs.first() {
            let (first, second) = (self.place(pair.first.position), self.place(pair.second.position));
            return self.words.say("thumb", &[&first, &second]);
        }
        let Some((change, pair)) = bass.change else { return self.words.say("thumb-nothing", &[]) };
        let (first, second) = (self.number(pair.first.position.course), self.number(pair.second.position.course));
        match change {
            FingerChange::Lift { from, .. } => {
                self.words.say("thumb-leave-open", &[&self.number(from.course), &first, &second])
            }
            FingerChange::Add { finger, at } | FingerChange::Move { finger, to: at, .. } => {
                let (course, fret) = (self.number(at.course), self.instrument.fret_name(at.fret));
                self.words.say("thumb-put", &[&finger.to_string(), &course, &fret, &first, &second])
            }
        }
    }

    /// What a note in reach takes and makes.
    pub(super) fn reach(&self, note: &MelodyNote) -> Option<String> {
        let finger = note.finger?.to_string();
        let name = self.options.note(note.note);
        let course = self.number(note.position.course);
        let fret = self.instrument.fret_name(note.position.fret);
        let makes =
            note.chord.as_ref().map_or_else(|| note.degree.simple().to_string(), |made| self.options.chord(made.chord));
        let given = [finger.as_str(), name.as_str(), course.as_str(), fret.as_str(), makes.as_str()];
        Some(match (note.how, note.position.fret) {
            (Reached::Lifted, Fret::OPEN) => self.words.say("reach-lift-open", &given),
            (Reached::Lifted, _) => self.words.say("reach-lift", &given),
            (Reached::Slid { .. }, _) => self.words.say("reach-slide", &given),
            (Reached::Free, _) => self.words.say("reach-free", &given),
            (Reached::Held, _) => return None,
        })
    }

    /// The form a player knows that the shape equals.
    pub(super) fn form(&self, known: &KnownForm) -> String {
        let name = known.form.name();
        let frets = u16::from(known.moved_frets).to_string();
        match known.moved_frets {
            0 => self.words.say("form-known", &[name]),
            1 => self.words.say("form-up-one", &[name]),
            _ => self.words.say("form-up", &[name, &frets]),
        }
    }

    /// "Guitar · Open G · D G D G B D · capo at fret 2".
    pub(super) fn stand(&self, name: Option<&str>, spelled: &[SpelledPitch], capo: Fret) -> String {
        let mut parts = vec![self.instrument.name_in(self.options.language).to_owned()];
        parts.extend(name.map(ToOwned::to_owned));
        parts.push(self.tuning(spelled));
        if capo != Fret::OPEN {
            parts.push(self.words.say("capo-at", &[&self.instrument.fret_name(capo)]));
        }
        parts.join(" · ")
    }
}
