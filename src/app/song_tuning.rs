//! Choosing a tuning for a song, or one to compare it with.

use crate::instrument::{Catalog, CatalogTuning, Instrument, Tuning, matching_tunings_in};
use crate::songs::ChosenTuning;

use super::action::Update;
use super::screen::Screen;
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

pub(super) fn open(state: &mut State, purpose: TuningFor) -> Update {
    state.tuning_choice = TuningChoice { purpose, search: String::new() };
    state.show(Screen::SongTuning)
}

/// Returns the instrument a tuning is chosen for.
#[must_use]
pub(super) fn instrument_of(state: &State) -> &'static Instrument {
    let id = match state.tuning_choice.purpose {
        TuningFor::Song => state.editing_song.as_ref().map(|editing| editing.song.instrument_id.as_str()),
        TuningFor::Comparison => super::song::open_song(state).map(|song| song.instrument_id.as_str()),
    };
    id.and_then(|id| Catalog::bundled().find_instrument(id)).unwrap_or_else(|| state.instrument())
}

/// Lists the tunings of that instrument, the player's own first; those searched when something is, and what is typed as notes.
#[must_use]
pub fn list(state: &State) -> Vec<CatalogTuning> {
    let instrument = instrument_of(state);
    let own = state.library.own_tunings().iter().filter(|own| own.instrument_id == instrument.id());
    let own: Vec<CatalogTuning> =
        own.map(|own| CatalogTuning::of_player(&own.id, &own.instrument_id, &own.name, &own.pitches)).collect();
    let all: Vec<&CatalogTuning> = own.iter().chain(state.catalog().tunings_for(instrument)).collect();
    let search = state.tuning_choice.search.trim();
    let found = if search.is_empty() { all } else { matching_tunings_in(&all, search, state.naming()) };
    let typed = if search.is_empty() { Vec::new() } else { typed(state, instrument, search) };
    let is_listed = |tuning: &CatalogTuning| found.iter().any(|found| found.tuning() == tuning.tuning());
    let typed: Vec<CatalogTuning> = typed.into_iter().filter(|tuning| !is_listed(tuning)).collect();
    found.into_iter().cloned().chain(typed).collect()
}

/// What is typed, as notes: one tuning, or two where nothing decides between them; each called by its notes with octaves.
fn typed(state: &State, instrument: &Instrument, search: &str) -> Vec<CatalogTuning> {
    let read = super::tunings::readings(state, instrument, search).unwrap_or_default();
    let naming = state.naming();
    let row = |(index, tuning): (usize, &Tuning)| {
        let notes = super::own_tuning::written(tuning, naming);
        CatalogTuning::of_player(&format!("{TYPED}{index}"), instrument.id(), &notes, tuning)
    };
    read.iter().enumerate().map(row).collect()
}

pub(super) fn update(state: &mut State, action: SongTuningAction) -> Update {
    match action {
        SongTuningAction::Search(text) => {
            state.tuning_choice.search = text;
            Update::Shown
        }
        SongTuningAction::Now => {
            let (instrument, tuning) = (state.instrument().id(), tuning_now(state));
            take(state, instrument, tuning)
        }
        SongTuningAction::Choose(id) => {
            let instrument = instrument_of(state).id();
            match list(state).into_iter().find(|tuning| tuning.id() == id) {
                Some(found) => {
                    let id = Some(id).filter(|id| !id.starts_with(TYPED));
                    take(state, instrument, ChosenTuning { id, pitches: found.tuning().clone() })
                }
                None => Update::Shown,
            }
        }
    }
}

fn take(state: &mut State, instrument_id: &str, tuning: ChosenTuning) -> Update {
    state.leave(Screen::SongTuning);
    match state.tuning_choice.purpose {
        TuningFor::Song => super::song_edit::take_tuning(state, instrument_id, tuning),
        TuningFor::Comparison => {
            // A song is compared on its own instrument only.
            if instrument_of(state).id() == instrument_id {
                state.song.other = Some(tuning);
                return state.show(Screen::SongCompare);
            }
            Update::Shown
        }
    }
}
