//! The tune that is open, and what is asked about it.

use std::sync::Arc;

use crate::app::desk::Desk;
use crate::app::screen::Screen;
use crate::app::state::State;
use crate::arrange::{ArrangeFault, ArrangedSlice};
use crate::instrument::{Catalog, Fret, Tuning};
use crate::songs::{ChosenTuning, Song, SongId, SongTune};
use crate::store::Library;
use crate::theory::Semitones;
use crate::tune::{Quarters, TuneFault};

use super::enter::TuneEntry;
use super::hear::HearTune;
use super::suits::Trial;
use super::work::{Asking, TuneQuestion, Worked};

/// How many changes of a tune can be taken back.
const MOST_UNDONE: usize = 50;

/// A tuning that the tune is looked at in; nothing on the guitar or in the song changes by it.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherTuning {
    /// Which.
    pub tuning: ChosenTuning,
    /// By how much the tune is moved there.
    pub transpose: Semitones,
    /// Where the capo sits there.
    pub capo: Fret,
}

/// Why there is no tab.
#[derive(Clone, Debug, PartialEq)]
pub enum TuneTrouble {
    /// The tune's text cannot be read to its end.
    Text(TuneFault),
    /// It cannot be worked out.
    Arrange(ArrangeFault),
}

/// The tune that is open.
#[derive(Clone, Debug, Default)]
pub struct OpenTune {
    /// Whose tune.
    pub song: Option<SongId>,
    /// The tuning it is looked at in, where that is not the song's.
    pub other: Option<OtherTuning>,
    /// The search under way.
    pub asking: Option<Asking<TuneQuestion>>,
    /// The player has stopped it.
    pub is_stopped: bool,
    /// What was found last.
    pub worked: Option<Arc<Worked>>,
    /// Why nothing was found.
    pub trouble: Option<TuneTrouble>,
    /// The moment that is looked at, as played.
    pub selected: Quarters,
    /// How it is heard.
    pub hearing: HearTune,
    /// The trial in all tunings.
    pub trial: Trial,
    /// The tune being entered.
    pub entry: TuneEntry,
    /// The tune before each of the last changes, the last one last.
    undo: Vec<Option<SongTune>>,
    asked_for: Option<AskedFor>,
    asked: u64,
}

/// What an answer depends on.
#[derive(Clone, Debug, PartialEq)]
struct AskedFor {
    tune: SongTune,
    instrument_id: String,
    tuning: Tuning,
    capo: Fret,
    scale_mm: Option<f64>,
    looked: Option<(Semitones, Fret)>,
}

impl OpenTune {
    /// Returns the song whose tune is open.
    #[must_use]
    pub fn find<'a>(&self, library: &'a Library) -> Option<&'a Song> {
        self.song.and_then(|id| library.find_song(id))
    }

    /// Opens the tune of a song; what is set about hearing stays.
    pub(super) fn open(&mut self, song: SongId) {
        if self.song != Some(song) {
            let asked = self.asked;
            let hearing = HearTune { percent: self.hearing.percent, ..HearTune::default() };
            *self = Self { song: Some(song), asked, hearing, ..Self::default() };
        }
        self.other = None;
    }

    /// Returns the next number of a question.
    pub(super) const fn next_number(&mut self) -> u64 {
        self.asked += 1;
        self.asked
    }

    /// Returns which slice is looked at, with all of them; `None` before anything is worked out.
    #[must_use]
    pub fn selected(&self) -> Option<(usize, &[ArrangedSlice])> {
        let slices = self.worked.as_ref()?.arrangement.slices.as_slice();
        let after = slices.partition_point(|slice| slice.at <= self.selected);
        (!slices.is_empty()).then(|| (after.saturating_sub(1), slices))
    }

    /// Tells whether a change can be taken back.
    #[must_use]
    pub const fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Remembers the tune as it was before a change.
    pub(super) fn remember(&mut self, before: Option<SongTune>) {
        if self.undo.len() >= MOST_UNDONE {
            self.undo.remove(0);
        }
        self.undo.push(before);
    }

    /// Returns the tune as it was before the last change.
    pub(super) fn take_back(&mut self) -> Option<Option<SongTune>> {
        self.undo.pop()
    }

    /// Asks again what was asked last.
    pub(super) fn ask_again(&mut self) {
        self.asked_for = None;
        self.is_stopped = false;
    }

    /// Stops the search; what was found before stays.
    pub(super) fn stop(&mut self) {
        self.is_stopped |= self.asking.take().is_some();
    }
}

/// Returns the song whose tune is open.
#[must_use]
pub fn tune_song(state: &State) -> Option<&Song> {
    state.tune.find(&state.library)
}

/// Tells whether a screen is about a tune.
#[must_use]
pub const fn is_tune_screen(screen: Screen) -> bool {
    matches!(
        screen,
        Screen::Tune
            | Screen::TuneHow
            | Screen::TuneMoment
            | Screen::TuneSteps
            | Screen::TuneTunings
            | Screen::TuneEntry
            | Screen::TuneNeck
            | Screen::TunePluck
    )
}

/// After every action: what is worked out follows the tune, the tuning and the wishes; nothing is worked out for screens
/// that are left. `is_open` says whether any screen of a tune is there.
pub(in crate::app) fn settle(open: &mut OpenTune, desk: &Desk, is_open: bool) {
    if !is_open {
        // What was left half done is asked again when it is come back to.
        if open.asking.take().is_some() {
            open.asked_for = None;
        }
        open.trial.asking = None;
        return;
    }
    let Some(wanted) = open.find(&desk.library).and_then(|song| asked_for(song, desk, open.other.as_ref())) else {
        (open.asking, open.worked, open.trouble, open.asked_for) = (None, None, None, None);
        return;
    };
    let is_answered = open.asking.is_some() || open.is_stopped || open.is_known();
    if open.asked_for.as_ref() == Some(&wanted) && is_answered {
        return;
    }
    open.is_stopped = false;
    match question(&wanted) {
        Err(trouble) => {
            (open.asking, open.worked) = (None, None);
            open.trouble = Some(trouble);
        }
        Ok(question) => {
            let number = open.next_number();
            open.asking = Some(Asking { number, question: Arc::new(question) });
        }
    }
    open.asked_for = Some(wanted);
}

impl OpenTune {
    const fn is_known(&self) -> bool {
        self.worked.is_some() || self.trouble.is_some()
    }
}

fn asked_for(song: &Song, desk: &Desk, other: Option<&OtherTuning>) -> Option<AskedFor> {
    let tune = song.tune.clone()?;
    Some(AskedFor {
        tune,
        instrument_id: song.instrument_id.clone(),
        tuning: other.map_or(&song.tuning, |looked| &looked.tuning).pitches.clone(),
        capo: song.capo,
        scale_mm: desk.habits().scale_mm_of(song),
        looked: other.map(|looked| (looked.transpose, looked.capo)),
    })
}

fn question(wanted: &AskedFor) -> Result<TuneQuestion, TuneTrouble> {
    let tune = wanted.tune.read().map_err(TuneTrouble::Text)?;
    let played = tune.played().map_err(TuneTrouble::Text)?;
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(&wanted.instrument_id).unwrap_or_else(|| catalog.guitar());
    let mut wishes = wanted.tune.wishes(wanted.capo, instrument.courses().len());
    wishes.scale_mm = wanted.scale_mm;
    if let Some((transpose, capo)) = wanted.looked {
        // What was decided was decided in another tuning.
        (wishes.transpose, wishes.capo) = (Some(transpose), Some(capo));
        wishes.pins.clear();
    }
    Ok(TuneQuestion { tune, played, instrument, tuning: wanted.tuning.clone(), wishes })
}
