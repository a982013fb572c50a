//! Which tuning suits the tune: all of them tried beside the window, the best first.

use std::sync::Arc;

use crate::app::desk::Desk;
use crate::app::next::Next;
use crate::app::notice::Notice;
use crate::app::screen::Screen;
use crate::app::song::finder;
use crate::app::undo::Undo;
use crate::arrange::{ArrangeFault, TuningFit, Wishes};
use crate::instrument::{Catalog, CatalogTuning, Fret};
use crate::retune::Effort;
use crate::songs::ChosenTuning;
use crate::tune::TuneFault;

use super::open::{OpenTune, OtherTuning, TuneTrouble};
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
pub(super) fn begin(open: &mut OpenTune, desk: &Desk) -> Next {
    let Some(song) = open.find(&desk.library) else { return Next::Shown };
    let Some(tune) = song.tune.clone() else { return Next::Shown };
    let read = match tune.read() {
        Ok(read) => read,
        Err(fault) => return refuse(open, fault),
    };
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(&song.instrument_id).unwrap_or_else(|| catalog.guitar());
    let own = desk.library.own_tunings().iter().filter(|own| own.instrument_id == instrument.id());
    let own = own.map(|own| CatalogTuning::of_player(&own.id, &own.instrument_id, &own.name, &own.pitches));
    let all: Vec<CatalogTuning> = own.chain(catalog.tunings_for(instrument).into_iter().cloned()).collect();
    let a4 = desk.library.settings.reference();
    let guitar = desk.guitar_of(&song.instrument_id);
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
    let scale_mm = desk.habits().scale_mm_of(song);
    let wishes = tune.wishes(Fret::OPEN, instrument.courses().len());
    let wishes = Wishes { capo: None, pins: Vec::new(), scale_mm, ..wishes };
    let tunings = found.iter().map(|(tuning, effort)| (tuning.tuning().clone(), effort.weight)).collect();
    let candidates = found.iter().map(|(tuning, effort)| {
        let chosen = ChosenTuning { id: Some(tuning.id().to_owned()), pitches: tuning.tuning().clone() };
        (tuning.name().to_owned(), chosen, effort.courses)
    });
    let candidates: Vec<_> = candidates.collect();
    let question = Arc::new(TrialQuestion { tune: read, instrument, tunings, wishes });
    let number = open.next_number();
    open.trial =
        Trial { asking: Some(Asking { number, question }), total: candidates.len(), candidates, ..Trial::default() };
    Next::Shown
}

fn refuse(open: &mut OpenTune, fault: TuneFault) -> Next {
    open.trouble = Some(TuneTrouble::Text(fault));
    Next::Leave(Screen::TuneTunings)
}

/// Looks at the tune in one of the tunings.
pub(super) fn look_at(open: &mut OpenTune, index: usize) -> Next {
    let Some(found) = open.trial.fits.get(index).cloned() else { return Next::Shown };
    open.other = Some(OtherTuning { tuning: found.tuning, transpose: found.fit.transpose, capo: found.fit.capo });
    open.trial.asking = None;
    Next::Leave(Screen::TuneTunings)
}

/// Gives the song the tuning that its tune is looked at in; `None` where there is none.
fn take(open: &mut OpenTune, desk: &mut Desk) -> Option<Next> {
    let (song, looked) = open.find(&desk.library).cloned().zip(open.other.take())?;
    let mut moved = song.in_tuning(looked.tuning, &mut finder(desk.habits()));
    if moved.capo != looked.capo {
        moved = moved.with_capo(looked.capo, &mut finder(desk.habits()));
    }
    if let Some(tune) = &mut moved.tune {
        tune.transpose = Some(looked.transpose.get());
        tune.undecide_all();
    }
    let title = moved.title.clone();
    desk.library.replace_song(moved);
    Some(Next::done(Notice::SongChanged(title), Undo::Song(Box::new(song))))
}

/// Takes the tuning for the song, and goes the way there where the guitar is not in it yet.
pub(super) fn retune(open: &mut OpenTune, desk: &mut Desk) -> Next {
    // Nothing is changed where a string would break.
    if let Some((mut there, looked)) = open.find(&desk.library).cloned().zip(open.other.as_ref()) {
        there.tuning = looked.tuning.clone();
        if let Some(notice) = crate::app::song::refusal(desk, &there) {
            return Next::Tell(notice);
        }
    }
    let Some(taken) = take(open, desk) else { return Next::Shown };
    let song = open.find(&desk.library).cloned();
    match song.and_then(|song| crate::app::song::retune_for(desk, &song)) {
        Some(next) => taken.then(next),
        None => taken,
    }
}

/// Takes the tuning for the song and stays with the tune.
pub(super) fn take_tuning(open: &mut OpenTune, desk: &mut Desk) -> Next {
    take(open, desk).unwrap_or(Next::Shown)
}
