//! Choosing a tuning for a song, or one to compare it with.

use crate::instrument::{Catalog, CatalogTuning, Instrument, Tuning, matching_tunings_in};
use crate::songs::ChosenTuning;

use super::desk::Desk;
use super::next::Next;
use super::screen::Screen;
use super::song::OpenSong;
use super::song_edit::SongEditing;
use super::songs::tuning_now;
use super::state::State;

/// How the id of a tuning begins that is only typed and in no list.
const TYPED: &str = "typed ";

/// What a tuning is chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TuningFor {
    /// The song in the editor.
    #[default]
    Song,
    /// To compare the open song with.
    Comparison,
}

/// What the choice of a tuning shows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TuningChoice {
    /// What it is for.
    pub purpose: TuningFor,
    /// What is searched.
    pub search: String,
}

/// What the choice asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SongTuningAction {
    /// Look for this.
    Search(String),
    /// Take what is on the guitar now.
    Now,
    /// Take this tuning.
    Choose(String),
}

pub(super) fn open(choice: &mut TuningChoice, purpose: TuningFor) -> Next {
    *choice = TuningChoice { purpose, search: String::new() };
    Next::Show(Screen::SongTuning)
}

/// Returns the instrument a tuning is chosen for.
#[must_use]
pub(super) fn instrument_of(state: &State) -> &'static Instrument {
    instrument_for(state.tuning_choice.purpose, state.editing_song.as_ref(), &state.song, state)
}

fn instrument_for(
    purpose: TuningFor,
    editing: Option<&SongEditing>,
    open: &OpenSong,
    desk: &Desk,
) -> &'static Instrument {
    let id = match purpose {
        TuningFor::Song => editing.map(|editing| editing.song.instrument_id.as_str()),
        TuningFor::Comparison => open.find(&desk.library).map(|song| song.instrument_id.as_str()),
    };
    id.and_then(|id| Catalog::bundled().find_instrument(id)).unwrap_or_else(|| desk.instrument())
}

/// The tunings to choose from.
#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// The tunings, best first.
    pub tunings: Vec<CatalogTuning>,
    /// Whether none has the name that was searched, and these are near it.
    pub are_near: bool,
}

/// Lists the tunings of that instrument, the player's own first; those searched when something is, and what is typed as
/// notes; where nothing is found, those near the name.
#[must_use]
pub fn list(state: &State) -> Choices {
    list_for(instrument_of(state), &state.tuning_choice.search, state)
}

fn list_for(instrument: &Instrument, search: &str, desk: &Desk) -> Choices {
    let own = desk.library.own_tunings().iter().filter(|own| own.instrument_id == instrument.id());
    let own: Vec<CatalogTuning> =
        own.map(|own| CatalogTuning::of_player(&own.id, &own.instrument_id, &own.name, &own.pitches)).collect();
    let all: Vec<&CatalogTuning> = own.iter().chain(desk.catalog().tunings_for(instrument)).collect();
    let search = search.trim();
    let found = if search.is_empty() { all.clone() } else { matching_tunings_in(&all, search, desk.naming()) };
    let typed = if search.is_empty() { Vec::new() } else { typed(desk, instrument, search) };
    let is_listed = |tuning: &CatalogTuning| found.iter().any(|found| found.tuning() == tuning.tuning());
    let typed: Vec<CatalogTuning> = typed.into_iter().filter(|tuning| !is_listed(tuning)).collect();
    let are_near = found.is_empty() && typed.is_empty();
    let found = if are_near { desk.catalog().near_tunings(&all, search) } else { found };
    let tunings: Vec<CatalogTuning> = found.into_iter().cloned().chain(typed).collect();
    Choices { are_near: are_near && !tunings.is_empty(), tunings }
}

/// What is typed, as notes: one tuning, or two where nothing decides between them; each called by its notes with octaves.
fn typed(desk: &Desk, instrument: &Instrument, search: &str) -> Vec<CatalogTuning> {
    let read = super::tunings::readings(desk, instrument, search).unwrap_or_default();
    let naming = desk.naming();
    let row = |(index, tuning): (usize, &Tuning)| {
        let notes = super::own_tuning::written(tuning, naming);
        CatalogTuning::of_player(&format!("{TYPED}{index}"), instrument.id(), &notes, tuning)
    };
    read.iter().enumerate().map(row).collect()
}

pub(super) fn update(
    choice: &mut TuningChoice,
    editing: &mut Option<SongEditing>,
    open: &mut OpenSong,
    desk: &mut Desk,
    action: SongTuningAction,
) -> Next {
    let instrument = instrument_for(choice.purpose, editing.as_ref(), open, desk);
    let (of, tuning) = match action {
        SongTuningAction::Search(text) => {
            choice.search = text;
            return Next::Shown;
        }
        SongTuningAction::Now => (desk.instrument(), tuning_now(desk)),
        SongTuningAction::Choose(id) => {
            let list = list_for(instrument, &choice.search, desk).tunings;
            let Some(found) = list.into_iter().find(|tuning| tuning.id() == id) else { return Next::Shown };
            let id = Some(id).filter(|id| !id.starts_with(TYPED));
            (instrument, ChosenTuning { id, pitches: found.tuning().clone() })
        }
    };
    let left = Next::Leave(Screen::SongTuning);
    match (choice.purpose, editing) {
        (TuningFor::Song, Some(editing)) => {
            left.then(super::song_edit::take_tuning(editing, open, desk, of.id(), tuning))
        }
        // A song is compared on its own instrument only.
        (TuningFor::Comparison, _) if instrument.id() == of.id() => {
            open.other = Some(tuning);
            left.then(Next::Show(Screen::SongCompare))
        }
        _ => left,
    }
}
