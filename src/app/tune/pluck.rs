//! A tune plucked into the phone: counted in, listened to, written down, and mended by taps.

use crate::app::desk::Desk;
use crate::app::ears::{Ears, Mic, Plucked, Take, click};
use crate::app::next::Next;
use crate::app::screen::Screen;
use crate::store::Library;
use crate::theory::Semitones;
use crate::tune::{
    Grid, Metre, PlacedNote, Quarters, Tempo, TuneKey, common_delay, end_of, place_notes, placed_tune, write_abc,
};

use super::enter::{METRES, take};
use super::open::OpenTune;

/// The parts of a quarter that places are rounded to: quarters, eighths, sixteenths, and eighths in threes.
pub const PARTS: [(i64, i64); 4] = [(1, 1), (1, 2), (1, 4), (1, 3)];
/// How slow and how fast it can be counted in, in beats a minute.
const TEMPO: std::ops::RangeInclusive<u16> = 40..=200;
/// Where it begins for a song without a tempo: slow enough to find the notes.
const USUAL_TEMPO: u16 = 80;
/// A count-in has at least so many beats.
const LEAST_BEATS: i64 = 3;

/// How far a tune that is plucked has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PluckPhase {
    /// Tempo, metre and parts are chosen.
    #[default]
    Setting,
    /// It is counted in and listened to, once the microphone is there.
    Listening,
    /// It is being written down.
    Writing,
    /// It is written down, to be looked at and mended.
    Written,
}

/// A tune that is plucked into the phone.
#[derive(Clone, Debug, PartialEq)]
pub struct Plucking {
    /// How far it has come.
    pub phase: PluckPhase,
    /// How fast it is counted in, in beats a minute, 40 to 200.
    pub tempo: u16,
    /// Which of the metres a tune is entered in.
    pub metre: usize,
    /// Which of [`PARTS`].
    pub part: usize,
    /// How long it has been listened to, in seconds from the first click.
    pub at_s: f64,
    /// The notes as they are written down.
    pub notes: Vec<PlacedNote>,
    /// Which of them is looked at.
    pub selected: usize,
    /// No note was heard the last time.
    pub is_empty: bool,
}

impl Default for Plucking {
    fn default() -> Self {
        Self {
            phase: PluckPhase::default(),
            tempo: USUAL_TEMPO,
            metre: 2,
            part: 1,
            at_s: 0.0,
            notes: Vec::new(),
            selected: 0,
            is_empty: false,
        }
    }
}

impl Plucking {
    /// Returns the metre.
    #[must_use]
    pub fn metre(&self) -> Metre {
        let (beats, unit) = METRES.get(self.metre).copied().unwrap_or((4, 4));
        Metre::new(beats, unit).unwrap_or(Metre::COMMON)
    }

    /// Returns the part of a quarter that places are rounded to.
    #[must_use]
    pub fn part(&self) -> Quarters {
        let (numerator, denominator) = PARTS.get(self.part).copied().unwrap_or((1, 2));
        Quarters::new(numerator, denominator).unwrap_or(Quarters::ONE)
    }

    /// Returns how many beats are counted in: a bar, or as many bars as three beats take.
    #[must_use]
    pub fn count_in(&self) -> u32 {
        let beats = self.beats();
        u32::try_from(if beats < LEAST_BEATS { 2 * beats } else { beats }).unwrap_or(4)
    }

    /// Returns where it is by what was heard so far: the beat of the count-in from 1, or the bar from 1.
    #[must_use]
    pub fn place(&self) -> PluckPlace {
        let beats = self.at_s / self.beat_s();
        let count = |most: u32, passed: f64| (1..=most).find(|number| f64::from(*number) > passed).unwrap_or(most);
        let count_in = self.count_in();
        if beats < f64::from(count_in) {
            return PluckPlace::CountIn(count(count_in, beats));
        }
        let a_bar = f64::from(i32::try_from(self.beats()).unwrap_or(4));
        PluckPlace::Bar(count(10_000, (beats - f64::from(count_in)) / a_bar))
    }

    /// Returns bar and beat of a place, both from 1.
    #[must_use]
    pub fn bar_and_beat(&self, at: Quarters) -> (i64, Quarters) {
        let whole = self.bar();
        let bar = at.whole_steps(whole);
        let into = at - whole.times(bar, 1).unwrap_or_default();
        let (numerator, denominator) = self.metre().beat().fraction();
        (bar + 1, into.times(denominator, numerator).unwrap_or_default() + Quarters::ONE)
    }

    /// Returns where a note ends.
    #[must_use]
    pub fn end_of(&self, index: usize) -> Quarters {
        end_of(&self.notes, index, self.metre())
    }

    /// Tells whether it is listened to, or written down from what was heard: the microphone is wanted for it.
    #[must_use]
    pub const fn is_under_way(&self) -> bool {
        matches!(self.phase, PluckPhase::Listening | PluckPhase::Writing)
    }

    /// Returns the count-in and what is recorded after it, under a number.
    pub(in crate::app) fn count_in_take(&self, number: u64) -> Take {
        let (beats, beat_s) = (self.count_in(), self.beat_s());
        let a_bar = u32::try_from(self.beats()).unwrap_or(4).max(1);
        let clicks = (0..beats).filter_map(|beat| click(f64::from(beat) * beat_s, beat % a_bar == 0));
        Take { number, clicks: clicks.collect(), begins_s: f64::from(beats) * beat_s, beat_s, is_over: false }
    }

    fn bar(&self) -> Quarters {
        self.metre().bar_length().unwrap_or(Quarters::ONE)
    }

    /// The beats of a bar.
    fn beats(&self) -> i64 {
        self.bar().whole_steps(self.metre().beat()).max(1)
    }

    fn beat_s(&self) -> f64 {
        60.0 / f64::from(self.tempo.max(1))
    }

    fn tempo(&self) -> Tempo {
        Tempo { beat: self.metre().beat(), per_minute: self.tempo }
    }
}

/// Where a tune that is being plucked has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PluckPlace {
    /// To this beat of the count-in, from 1.
    CountIn(u32),
    /// To this bar, from 1.
    Bar(u32),
}

/// What is done while a tune is plucked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PluckAction {
    /// Open the page.
    Open,
    /// Count in so much faster, in beats a minute.
    TempoBy(i16),
    /// The metre: an index into [`super::METRES`].
    Metre(usize),
    /// The part that places are rounded to: an index into [`PARTS`].
    Part(usize),
    /// Count in and listen.
    Begin,
    /// That was all: write it down.
    End,
    /// Look at a note.
    Select(usize),
    /// It sounds so many semitones higher.
    PitchBy(i16),
    /// It begins so many parts later.
    PlaceBy(i16),
    /// It was none.
    Remove,
    /// Another one begins after it.
    Add,
    /// Pluck it once more.
    Again,
    /// These notes are the tune.
    Take,
}

pub(super) fn update(open: &mut OpenTune, desk: &mut Desk, action: PluckAction) -> Next {
    let tempo = open.find(&desk.library).and_then(|song| song.tempo_bpm);
    let plucking = &mut open.entry.plucking;
    match action {
        PluckAction::Open => {
            if let Some(tempo) = tempo.filter(|_| plucking.notes.is_empty()) {
                plucking.tempo = tempo.clamp(*TEMPO.start(), *TEMPO.end());
            }
            return Next::Show(Screen::TunePluck);
        }
        PluckAction::TempoBy(by) => {
            let wanted = i32::from(plucking.tempo) + i32::from(by);
            let wanted = wanted.clamp((*TEMPO.start()).into(), (*TEMPO.end()).into());
            plucking.tempo = u16::try_from(wanted).unwrap_or(USUAL_TEMPO);
        }
        PluckAction::Metre(index) => plucking.metre = index.min(METRES.len() - 1),
        PluckAction::Part(index) => plucking.part = index.min(PARTS.len() - 1),
        PluckAction::Begin => {
            (plucking.phase, plucking.at_s, plucking.is_empty) = (PluckPhase::Listening, 0.0, false);
            open.hearing.playing = None;
            return Next::Listen;
        }
        PluckAction::End if plucking.phase == PluckPhase::Listening => {
            plucking.phase = PluckPhase::Writing;
            return Next::EndTake;
        }
        PluckAction::End => {}
        PluckAction::Select(index) => plucking.selected = index.min(plucking.notes.len().saturating_sub(1)),
        PluckAction::PitchBy(by) => {
            if let Some(note) = plucking.notes.get_mut(plucking.selected) {
                note.pitch = note.pitch.transpose(Semitones::new(by)).unwrap_or(note.pitch);
                note.is_sure = true;
            }
        }
        PluckAction::PlaceBy(by) => move_by(plucking, by),
        PluckAction::Remove => {
            if plucking.selected < plucking.notes.len() {
                plucking.notes.remove(plucking.selected);
                plucking.selected = plucking.selected.min(plucking.notes.len().saturating_sub(1));
            }
            if plucking.notes.is_empty() {
                plucking.phase = PluckPhase::Setting;
            }
        }
        PluckAction::Add => add(plucking),
        PluckAction::Again => {
            (plucking.phase, plucking.notes, plucking.selected) = (PluckPhase::Setting, Vec::new(), 0);
        }
        PluckAction::Take => {
            if let Some(abc) = abc(open, &desk.library) {
                return take(open, desk, &abc);
            }
        }
    }
    Next::Shown
}

/// Moves a note's beginning by so many parts; it stays between its neighbours.
fn move_by(plucking: &mut Plucking, by: i16) {
    let (index, part) = (plucking.selected, plucking.part());
    let Some(note) = plucking.notes.get(index).copied() else { return };
    let Some(at) = part.times(by.into(), 1).map(|by| note.at + by) else { return };
    let after = index.checked_sub(1).and_then(|before| plucking.notes.get(before)).is_none_or(|before| before.at < at);
    let before = plucking.notes.get(index + 1).is_none_or(|next| at < next.at);
    if at >= Quarters::ZERO && after && before {
        plucking.notes[index] = PlacedNote { at, is_sure: true, ..note };
    }
}

/// Lets another note of the same pitch begin in the middle of one, rounded down to the parts.
fn add(plucking: &mut Plucking) {
    let (index, part) = (plucking.selected, plucking.part());
    let Some(note) = plucking.notes.get(index).copied() else { return };
    let parts = (plucking.end_of(index) - note.at).whole_steps(part);
    if let Some(into) = part.times((parts / 2).max(1), 1).filter(|_| parts > 1) {
        plucking.notes.insert(index + 1, PlacedNote { at: note.at + into, is_sure: true, ..note });
        plucking.selected = index + 1;
    }
}

/// Writes the notes as a tune in the song's key.
fn abc(open: &OpenTune, library: &Library) -> Option<String> {
    let song = open.find(library)?;
    let plucking = &open.entry.plucking;
    (!plucking.notes.is_empty()).then_some(())?;
    let mut tune = placed_tune(&plucking.notes, &grid(open, library));
    tune.title.clone_from(&song.title);
    Some(write_abc(&tune))
}

fn grid(open: &OpenTune, library: &Library) -> Grid {
    let plucking = &open.entry.plucking;
    let key = open.find(library).and_then(|song| song.key);
    Grid {
        start_s: 0.0,
        tempo: plucking.tempo(),
        part: plucking.part(),
        metre: plucking.metre(),
        key: key.map_or_else(TuneKey::default, TuneKey::of),
        a4: library.settings.reference(),
    }
}

/// Writes down what was plucked.
pub(in crate::app) fn plucked(open: &mut OpenTune, desk: &Desk, plucked: &Plucked) {
    let mut grid = grid(open, &desk.library);
    if !plucked.is_timed {
        // Nobody knows how long the click took to the player: all notes together tell it.
        grid.start_s = common_delay(&plucked.notes, &grid);
    }
    let plucking = &mut open.entry.plucking;
    plucking.notes = place_notes(&plucked.notes, &grid);
    plucking.is_empty = plucking.notes.is_empty();
    plucking.phase = if plucking.is_empty { PluckPhase::Setting } else { PluckPhase::Written };
    plucking.selected = plucking.notes.iter().position(|note| !note.is_sure).unwrap_or(0);
}

/// After every action: without a microphone, or on another screen, nothing is listened to.
pub(in crate::app) fn settle(plucking: &mut Plucking, screen: Screen, ears: &Ears) {
    let has_mic = match ears.mic {
        Mic::On => true,
        Mic::Wanted | Mic::Asking => plucking.phase == PluckPhase::Listening,
        _ => false,
    };
    let is_here = screen == Screen::TunePluck && has_mic && ears.muted.is_none();
    if plucking.is_under_way() && !is_here {
        plucking.phase = PluckPhase::Setting;
    }
}
