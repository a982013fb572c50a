//! Which tuning suits the tune: all of them tried beside the window, the best first.

use std::sync::Arc;

use crate::app::action::Update;
use crate::app::notice::Notice;
use crate::app::screen::Screen;
use crate::app::song::finder;
use crate::app::state::State;
use crate::app::undo::Undo;
use crate::arrange::{ArrangeFault, TuningFit, Wishes};
use crate::instrument::{Catalog, CatalogTuning, Fret};
use crate::retune::Effort;
use crate::songs::ChosenTuning;
use crate::tune::TuneFault;

use super::open::{Looked, TuneTrouble, tune_song};
use super::work::{Asking, TrialQuestion};

/// How a tune lies in a tuning.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitting {
    /// What the tuning is called.
    pub name: String,
    /// Which.
    pub tuning: ChosenTuning,
    /// How many strings are to be turned for it.
    pub turns: usize,
    /// How it lies there.
    pub fit: TuningFit,
}

/// The trial in all tunings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trial {
    /// What is under way.
    pub asking: Option<Asking<TrialQuestion>>,
    /// What is known, the best first.
    pub fits: Vec<Fitting>,
    /// How many are tried.
    pub tried: usize,
    /// Of how many.
    pub total: usize,
    /// The player has stopped it.
    pub is_stopped: bool,
    /// Why it broke off.
    pub fault: Option<ArrangeFault>,
    /// The tunings in the order they are tried.
    candidates: Vec<(String, ChosenTuning, usize)>,
}

impl Trial {
    /// Takes in how the tune lies in one more tuning.
    pub(super) fn take(&mut self, fit: TuningFit) {
        self.tried += 1;
        if let Some((name, tuning, turns)) = self.candidates.get(fit.index).cloned() {
            let found = Fitting { name, tuning, turns, fit };
            let weight = |fitting: &Fitting| (fitting.fit.weight, fitting.fit.index);
            let after = self.fits.partition_point(|other| weight(other) <= weight(&found));
            self.fits.insert(after, found);
        }
    }
}

/// Begins to try the tune in every tuning of its instrument, from those that take least to get to.
pub(super) fn begin(state: &mut State) -> Update {
    let Some(song) = tune_song(state) else { return Update::Shown };
    let Some(tune) = song.tune.clone() else { return Update::Shown };
    let read = match tune.read() {
        Ok(read) => read,
        Err(fault) => return refuse(state, fault),
    };
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(&song.instrument_id).unwrap_or_else(|| catalog.guitar());
    let own = state.library.own_tunings().iter().filter(|own| own.instrument_id == instrument.id());
    let own = own.map(|own| CatalogTuning::of_player(&own.id, &own.instrument_id, &own.name, &own.pitches));
    let all: Vec<CatalogTuning> = own.chain(catalog.tunings_for(instrument).into_iter().cloned()).collect();
    let a4 = state.library.settings.reference();
    let guitar = state.guitar_of(&song.instrument_id);
    let mut found: Vec<(CatalogTuning, Effort)> = Vec::new();
    for tuning in all {
        let is_known = found.iter().any(|(known, _)| known.tuning() == tuning.tuning());
        let effort = guitar.as_ref().and_then(|guitar| {
            Effort::between(guitar.strung(), guitar.progress().on_guitar().courses(), tuning.tuning(), a4)
        });
        // A tuning that would break a string is none to go to.
        if let Some(effort) = effort.filter(|effort| !effort.breaks && !is_known) {
            found.push((tuning, effort));
        }
    }
    found.sort_by(|one, other| one.1.weight.total_cmp(&other.1.weight));
    let wishes = Wishes { capo: None, pins: Vec::new(), ..tune.wishes(Fret::OPEN, instrument.courses().len()) };
    let tunings = found.iter().map(|(tuning, effort)| (tuning.tuning().clone(), effort.weight)).collect();
    let candidates = found.iter().map(|(tuning, effort)| {
        let chosen = ChosenTuning { id: Some(tuning.id().to_owned()), pitches: tuning.tuning().clone() };
        (tuning.name().to_owned(), chosen, effort.courses)
    });
    let candidates: Vec<_> = candidates.collect();
    let question = Arc::new(TrialQuestion { tune: read, instrument, tunings, wishes });
    let number = state.tune.next_number();
    state.tune.trial =
        Trial { asking: Some(Asking { number, question }), total: candidates.len(), candidates, ..Trial::default() };
    Update::Shown
}

fn refuse(state: &mut State, fault: TuneFault) -> Update {
    state.tune.trouble = Some(TuneTrouble::Text(fault));
    state.leave(Screen::TuneTunings)
}

/// Looks at the tune in one of the tunings.
pub(super) fn look_at(state: &mut State, index: usize) -> Update {
    let Some(found) = state.tune.trial.fits.get(index).cloned() else { return Update::Shown };
    state.tune.looking = Some(Looked { tuning: found.tuning, transpose: found.fit.transpose, capo: found.fit.capo });
    state.tune.trial.asking = None;
    state.leave(Screen::TuneTunings)
}

/// Gives the song the tuning that its tune is looked at in; returns whether there was one.
fn take(state: &mut State) -> bool {
    let Some((song, looked)) = tune_song(state).cloned().zip(state.tune.looking.take()) else { return false };
    let mut moved = song.in_tuning(looked.tuning, &mut finder(state.habits()));
    if moved.capo != looked.capo {
        moved = moved.with_capo(looked.capo, &mut finder(state.habits()));
    }
    if let Some(tune) = &mut moved.tune {
        tune.transpose = Some(looked.transpose.get());
        tune.undecide_all();
    }
    let title = moved.title.clone();
    state.library.replace_song(moved);
    state.tell_done(Notice::SongChanged(title), Undo::Song(Box::new(song)));
    true
}

/// Takes the tuning for the song, and goes the way there where the guitar is not in it yet.
pub(super) fn retune(state: &mut State) -> Update {
    // Nothing is changed where a string would break.
    if let Some((mut there, looked)) = tune_song(state).cloned().zip(state.tune.looking.as_ref()) {
        there.tuning = looked.tuning.clone();
        if let Some(notice) = crate::app::song::refusal(state, &there) {
            state.tell(notice);
            return Update::Shown;
        }
    }
    if take(state)
        && let Some(song) = tune_song(state).cloned()
        && let Some(next) = crate::app::song::retune_for(state, &song)
    {
        return state.go_on(next);
    }
    Update::Shown
}

/// Takes the tuning for the song and stays with the tune.
pub(super) fn take_tuning(state: &mut State) -> Update {
    take(state);
    Update::Shown
}
