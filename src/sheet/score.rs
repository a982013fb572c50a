//! The music on a sheet: what a stave and a tab stave show.

use crate::instrument::{CourseIndex, Fret, Fretboard, Instrument};
use crate::shapes::{Finger, Fingering, RankedShape, Shape};
use crate::theory::{Chord, Interval, Pitch, SpelledPitch};

use super::paper::SheetOptions;

/// Music on the strings of one tuning. [`Score::to_music_xml`] writes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    pub(super) title: String,
    pub(super) instrument: String,
    /// The open strings without the capo, from the highest player number on, spelled.
    pub(super) strings: Vec<SpelledPitch>,
    pub(super) capo: u8,
    pub(super) bars: Vec<Bar>,
}

/// What a quarter note is counted in: so many that dots, triplets and thirty-seconds come out even.
pub(super) const TICKS: u32 = 48;

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bar {
    pub(super) harmonies: Vec<Harmony>,
    /// The upper voice, then perhaps the thumb's.
    pub(super) voices: Vec<Vec<Event>>,
    pub(super) metre: (u8, u8),
    /// As players count; 0 for a pickup.
    pub(super) number: usize,
    /// A heading above it.
    pub(super) heading: Option<String>,
}

impl Default for Bar {
    fn default() -> Self {
        Self { harmonies: Vec::new(), voices: Vec::new(), metre: (4, 4), number: 0, heading: None }
    }
}

impl Bar {
    /// How long it lasts.
    pub(super) fn ticks(&self) -> u32 {
        self.voices.iter().map(|voice| voice.iter().map(|event| event.ticks).sum()).max().unwrap_or(0)
    }
}

/// A chord symbol with its frame.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Harmony {
    pub(super) chord: Chord,
    /// How the suffix is written.
    pub(super) suffix: String,
    /// Where in the bar, in ticks from its start.
    pub(super) at_tick: u32,
    pub(super) frame: Option<Frame>,
}

/// A shape as a frame shows it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Frame {
    pub(super) shape: Shape,
    pub(super) fingering: Fingering,
}

/// Notes struck together; a rest without any.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Event {
    pub(super) ticks: u32,
    pub(super) notes: Vec<Fretted>,
    /// It sounds on from the bar before, and into the next.
    pub(super) ties_from: bool,
    pub(super) ties_to: bool,
}

impl Event {
    pub(super) fn new(ticks: u32, notes: Vec<Fretted>) -> Self {
        Self { ticks, notes, ..Self::default() }
    }
}

/// A note on a string.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fretted {
    pub(super) pitch: SpelledPitch,
    pub(super) course: CourseIndex,
    /// Counted from the capo.
    pub(super) fret: Fret,
    pub(super) finger: Option<Finger>,
}

impl Score {
    pub(super) fn new(options: &SheetOptions, board: &Fretboard<'_>, strings: &[SpelledPitch], title: &str) -> Self {
        Self {
            title: title.to_owned(),
            instrument: board.instrument().name_in(options.language).to_owned(),
            strings: strings.to_vec(),
            capo: board.capo().get(),
            bars: Vec::new(),
        }
    }

    /// The open strings, one after the other, four to a bar.
    pub(super) fn of_open_strings(
        options: &SheetOptions,
        instrument: &Instrument,
        strings: &[SpelledPitch],
        title: &str,
    ) -> Self {
        let open = |(index, &pitch): (usize, &SpelledPitch)| {
            let course = CourseIndex::from_lowest(index);
            Event::new(TICKS, vec![Fretted { pitch, course, fret: Fret::OPEN, finger: None }])
        };
        let all: Vec<Event> = strings.iter().enumerate().map(open).collect();
        let bars = all.chunks(4).enumerate().map(|(index, some)| {
            let mut voice = some.to_vec();
            voice.extend((some.len()..4).map(|_| Event::new(TICKS, Vec::new())));
            Bar { voices: vec![voice], number: index + 1, ..Bar::default() }
        });
        Self {
            title: title.to_owned(),
            instrument: instrument.name_in(options.language).to_owned(),
            strings: strings.to_vec(),
            capo: 0,
            bars: bars.collect(),
        }
    }

    /// Adds a bar that strikes a shape once.
    pub(super) fn add_shape(&mut self, ranked: &RankedShape) {
        let harmony = Harmony::new(ranked.chord(), Some(Frame::of(ranked)), 0);
        let voices = vec![vec![Event::new(4 * TICKS, fretted(ranked))]];
        let number = self.bars.len() + 1;
        self.bars.push(Bar { harmonies: vec![harmony], voices, number, ..Bar::default() });
    }

    /// Whether the notes are written an octave above where they sound, as for the guitar: else they would lie far below
    /// the stave.
    pub(super) fn is_written_up(&self) -> bool {
        self.strings.iter().map(|pitch| pitch.pitch().number()).min().is_some_and(|lowest| lowest < 48)
    }

    /// Returns the number of bars.
    #[must_use]
    pub fn bars(&self) -> usize {
        self.bars.len()
    }

    /// Returns every note that is struck, bar by bar and voice by voice: its pitch, the player's number of its string, and
    /// its fret counted from the capo.
    pub fn notes(&self) -> impl Iterator<Item = (Pitch, u8, u8)> + '_ {
        let all = self.strings.len();
        let events = self.bars.iter().flat_map(|bar| &bar.voices).flatten().filter(|event| !event.ties_from);
        events
            .flat_map(|event| &event.notes)
            .map(move |note| (note.pitch.pitch(), note.course.player_number(all), note.fret.get()))
    }
}

impl Harmony {
    pub(super) fn new(chord: Chord, frame: Option<Frame>, at_tick: u32) -> Self {
        Self { chord, suffix: chord.quality().symbol().to_owned(), at_tick, frame }
    }

    /// The chord's tones above the root, for kinds the standard has no name for.
    pub(super) fn degrees(&self) -> Vec<Interval> {
        self.chord.quality().tones()
    }
}

impl Frame {
    pub(super) fn of(ranked: &RankedShape) -> Self {
        Self { shape: ranked.shape().clone(), fingering: ranked.fingering().clone() }
    }
}

/// The notes of a shape, from the highest player number on.
pub(super) fn fretted(ranked: &RankedShape) -> Vec<Fretted> {
    let spelled = ranked.notes();
    let note = |position: crate::instrument::Position| {
        let index = position.course.from_lowest_index();
        let pitch = spelled.get(index).copied().flatten()?;
        let finger = ranked.fingering().fingers.get(index).copied().flatten();
        Some(Fretted { pitch, course: position.course, fret: position.fret, finger })
    };
    ranked.shape().sounding().filter_map(note).collect()
}
