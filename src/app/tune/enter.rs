//! A tune put in: as text in one of the notations, or note by note on the neck.

use crate::app::desk::Desk;
use crate::app::next::Next;
use crate::app::screen::Screen;
use crate::app::state::State;
use crate::instrument::{Catalog, CourseIndex, Fret, Fretboard, Position};
use crate::store::Library;
use crate::theory::{Pitch, SpelledPitch, SpellingChoice};
use crate::tune::{
    MOST_BYTES, Metre, Quarters, Skipped, Tempo, Tune, TuneFault, TuneKey, TuneRead, in_bars, read_tunes, write_abc,
};

use super::open::{OpenTune, tune_song};
use super::pluck::Plucking;

/// The lengths on the length bar: numerator and denominator of a quarter, from a sixteenth to a whole note.
pub const LENGTHS: [(i64, i64); 5] = [(1, 4), (1, 2), (1, 1), (2, 1), (4, 1)];
/// The metres offered.
pub const METRES: [(u32, u32); 5] = [(2, 4), (3, 4), (4, 4), (6, 8), (9, 8)];
/// The most tunes of a text that are offered.
const MOST_TUNES: usize = 100;
/// The most notes that are entered on the neck.
const MOST_NOTES: usize = 4_000;

/// A tune found in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Entered {
    /// The tune as far as it could be read.
    pub tune: Tune,
    /// Why the rest of it could not.
    pub fault: Option<TuneFault>,
}

impl Entered {
    /// Returns what stood in the text and is left out.
    #[must_use]
    pub fn skipped(&self) -> &[Skipped] {
        &self.tune.skipped
    }

    /// Tells whether there is anything to take.
    #[must_use]
    pub fn has_notes(&self) -> bool {
        self.tune.notes().next().is_some()
    }
}

impl From<TuneRead> for Entered {
    fn from(read: TuneRead) -> Self {
        Self { tune: read.tune, fault: read.fault }
    }
}

/// A note or a rest tapped in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NeckNote {
    /// Where; `None` for a rest.
    pub at: Option<Position>,
    /// What sounds there.
    pub pitch: Option<Pitch>,
    /// How long.
    pub length: Quarters,
}

/// Why a file could not be chosen or read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFault {
    /// The system has no way to choose one.
    NoPicker,
    /// It cannot be read, with the system's word for it.
    Unread(String),
}

/// A tune being entered.
#[derive(Clone, Debug, PartialEq)]
pub struct TuneEntry {
    /// The text as typed or pasted.
    pub text: String,
    /// The tunes found in it; empty before it is read.
    pub found: Vec<Entered>,
    /// Why nothing was found.
    pub fault: Option<TuneFault>,
    /// Why a file could not be chosen or read.
    pub file_fault: Option<FileFault>,
    /// The notes tapped on the neck.
    pub notes: Vec<NeckNote>,
    /// Which of [`LENGTHS`] the next has.
    pub length: usize,
    /// Whether it is dotted.
    pub is_dotted: bool,
    /// Which of [`METRES`] the tune has.
    pub metre: usize,
    /// The tune plucked into the phone.
    pub plucking: Plucking,
}

impl Default for TuneEntry {
    fn default() -> Self {
        Self {
            text: String::new(),
            found: Vec::new(),
            fault: None,
            file_fault: None,
            notes: Vec::new(),
            length: 2,
            is_dotted: false,
            metre: 2,
            plucking: Plucking::default(),
        }
    }
}

impl TuneEntry {
    /// Returns how long the next note is.
    #[must_use]
    pub fn next_length(&self) -> Quarters {
        let (numerator, denominator) = LENGTHS.get(self.length).copied().unwrap_or((1, 1));
        let plain = Quarters::new(numerator, denominator).unwrap_or(Quarters::ONE);
        if self.is_dotted { plain.times(3, 2).unwrap_or(plain) } else { plain }
    }

    /// Returns the metre.
    #[must_use]
    pub fn metre(&self) -> Metre {
        let (beats, unit) = METRES.get(self.metre).copied().unwrap_or((4, 4));
        Metre::new(beats, unit).unwrap_or(Metre::COMMON)
    }

    /// Returns how many bars the notes fill, the last one counted, and how much of it is filled.
    #[must_use]
    pub fn filled(&self) -> (usize, Quarters) {
        let whole: Quarters = self.notes.iter().map(|note| note.length).sum();
        let bar = self.metre().bar_length().unwrap_or(Quarters::LONGEST);
        let full = whole.whole_steps(bar);
        (usize::try_from(full).unwrap_or(0), whole - bar.times(full, 1).unwrap_or_default())
    }
}

/// What is done while a tune is entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EnterAction {
    /// The text as it stands now.
    Typed(String),
    /// Read it.
    Read,
    /// Read what was in a file, or tell why there is nothing.
    File(Result<Vec<u8>, FileFault>),
    /// Take one of the tunes found.
    Take(usize),
    /// A note here, as long as was chosen.
    Note {
        /// The fret, counted from the capo.
        fret: u8,
        /// The course, from the thickest, from 0.
        course: usize,
    },
    /// A rest as long as was chosen.
    Rest,
    /// The next is so long: an index into [`LENGTHS`].
    Length(usize),
    /// The next is dotted, or not.
    Dot,
    /// The metre: an index into [`METRES`].
    Metre(usize),
    /// Take the last note away.
    RemoveLast,
    /// The notes are the tune.
    TakeNotes,
}

/// Returns the neck that a tune is entered on: the song's.
#[must_use]
pub(super) fn board(open: &OpenTune, desk: &Desk) -> Option<Fretboard<'static>> {
    let song = open.find(&desk.library)?;
    desk.habits().board_of(song, &song.tuning, song.capo)
}

pub(super) fn update(open: &mut OpenTune, desk: &mut Desk, action: EnterAction) -> Next {
    let entry = &mut open.entry;
    match action {
        EnterAction::Typed(mut text) => {
            let mut end = text.len().min(MOST_BYTES);
            while !text.is_char_boundary(end) {
                end -= 1;
            }
            text.truncate(end);
            entry.text = text;
            (entry.found, entry.fault, entry.file_fault) = (Vec::new(), None, None);
        }
        EnterAction::Read => {
            let bytes = std::mem::take(&mut entry.text).into_bytes();
            read(entry, &bytes);
            entry.text = String::from_utf8(bytes).unwrap_or_default();
        }
        EnterAction::File(read_file) => match read_file {
            Ok(bytes) => read(entry, &bytes),
            Err(fault) => {
                (entry.found, entry.fault) = (Vec::new(), None);
                entry.file_fault = Some(fault);
            }
        },
        EnterAction::Take(index) => {
            let Some(found) = entry.found.get(index).filter(|found| found.has_notes()) else { return Next::Shown };
            let abc = write_abc(&found.tune);
            return take(open, desk, &abc);
        }
        EnterAction::Note { fret, course } => {
            let position = Position { course: CourseIndex::from_lowest(course), fret: Fret::new(fret) };
            let pitch = board(open, desk).and_then(|board| board.pitch_at(position));
            let entry = &mut open.entry;
            if pitch.is_some() && entry.notes.len() < MOST_NOTES {
                entry.notes.push(NeckNote { at: Some(position), pitch, length: entry.next_length() });
            }
        }
        EnterAction::Rest if entry.notes.len() < MOST_NOTES => {
            entry.notes.push(NeckNote { at: None, pitch: None, length: entry.next_length() });
        }
        EnterAction::Rest => {}
        EnterAction::Length(index) => entry.length = index.min(LENGTHS.len() - 1),
        EnterAction::Dot => entry.is_dotted = !entry.is_dotted,
        EnterAction::Metre(index) => entry.metre = index.min(METRES.len() - 1),
        EnterAction::RemoveLast => {
            entry.notes.pop();
        }
        EnterAction::TakeNotes => {
            if let Some(abc) = of_notes(open, &desk.library) {
                open.entry.notes.clear();
                return take(open, desk, &abc);
            }
        }
    }
    Next::Shown
}

fn read(entry: &mut TuneEntry, bytes: &[u8]) {
    entry.file_fault = None;
    (entry.found, entry.fault) = match read_tunes(bytes) {
        Ok(found) => (found.into_iter().take(MOST_TUNES).map(Entered::from).collect(), None),
        Err(fault) => (Vec::new(), Some(fault)),
    };
}

/// Writes the notes tapped on the neck as a tune in the song's key and tempo.
fn of_notes(open: &OpenTune, library: &Library) -> Option<String> {
    let entry = &open.entry;
    let song = open.find(library)?;
    entry.notes.iter().any(|note| note.pitch.is_some()).then_some(())?;
    let key = song.key;
    let spelled = |pitch: Pitch| {
        let in_key = key.and_then(|key| SpelledPitch::of_pitch(pitch, key.note_of(pitch.class())));
        in_key.unwrap_or_else(|| SpelledPitch::by_choice(pitch, SpellingChoice::Customary))
    };
    let notes = entry.notes.iter().map(|note| (note.length, note.pitch.map(spelled)));
    let bars = in_bars(notes, entry.metre(), key.map_or_else(TuneKey::default, TuneKey::of));
    let tempo = song.tempo_bpm.map(|per_minute| Tempo { beat: entry.metre().beat(), per_minute });
    let mut tune = Tune { tempo, bars, ..Tune::default() };
    tune.title.clone_from(&song.title);
    Some(write_abc(&tune))
}

/// Gives the song its tune; the one before can be taken back.
pub(super) fn take(open: &mut OpenTune, desk: &mut Desk, abc: &str) -> Next {
    let Some(mut song) = open.find(&desk.library).cloned() else { return Next::Shown };
    // How it is to be played is the player's habit; what was decided belongs to the tune before.
    let mut tune = song.tune.clone().unwrap_or_default();
    tune.undecide_all();
    abc.clone_into(&mut tune.abc);
    tune.transpose = None;
    open.remember(song.tune.replace(tune));
    desk.library.replace_song(song);
    open.entry = TuneEntry::default();
    open.selected = Quarters::ZERO;
    Next::Leave(Screen::TunePluck).then(Next::Leave(Screen::TuneNeck)).then(Next::Leave(Screen::TuneEntry))
}

/// Returns what a fret is called on the song's instrument.
#[must_use]
pub fn fret_name(state: &State, fret: Fret) -> String {
    let catalog = Catalog::bundled();
    let instrument = tune_song(state).and_then(|song| catalog.find_instrument(&song.instrument_id));
    instrument.unwrap_or_else(|| catalog.guitar()).fret_name(fret)
}
