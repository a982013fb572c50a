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

/// One bar.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Bar {
    pub(super) harmonies: Vec<Harmony>,
    pub(super) struck: Vec<Struck>,
    /// A heading above it.
    pub(super) heading: Option<String>,
}

/// A chord symbol with its frame.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Harmony {
    pub(super) chord: Chord,
    /// How the suffix is written.
    pub(super) suffix: String,
    /// Where in the bar, in quarter notes from its start.
    pub(super) at_quarter: u16,
    pub(super) frame: Option<Frame>,
}

/// A shape as a frame shows it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Frame {
    pub(super) shape: Shape,
    pub(super) fingering: Fingering,
}

/// Notes struck together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Struck {
    /// 1, 2 or 4 quarters.
    pub(super) quarters: u16,
    /// None is a rest.
    pub(super) notes: Vec<Fretted>,
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
            Struck { quarters: 1, notes: vec![Fretted { pitch, course, fret: Fret::OPEN, finger: None }] }
        };
        let all: Vec<Struck> = strings.iter().enumerate().map(open).collect();
        let bars = all.chunks(4).map(|some| {
            let mut struck = some.to_vec();
            struck.extend((some.len()..4).map(|_| Struck { quarters: 1, notes: Vec::new() }));
            Bar { struck, ..Bar::default() }
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
        let struck = vec![Struck { quarters: 4, notes: fretted(ranked) }];
        self.bars.push(Bar { harmonies: vec![harmony], struck, ..Bar::default() });
    }

    /// Returns the number of bars.
    #[must_use]
    pub fn bars(&self) -> usize {
        self.bars.len()
    }

    /// Returns every note in order: its pitch, the player's number of its string, and its fret counted from the capo.
    pub fn notes(&self) -> impl Iterator<Item = (Pitch, u8, u8)> + '_ {
        let all = self.strings.len();
        let struck = self.bars.iter().flat_map(|bar| &bar.struck).flat_map(|struck| &struck.notes);
        struck.map(move |note| (note.pitch.pitch(), note.course.player_number(all), note.fret.get()))
    }
}

impl Harmony {
    pub(super) fn new(chord: Chord, frame: Option<Frame>, at_quarter: u16) -> Self {
        Self { chord, suffix: chord.quality().symbol().to_owned(), at_quarter, frame }
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
