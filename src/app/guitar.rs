//! What is on the guitar now: the instrument, where each course is, and the capo.

use crate::instrument::{Catalog, CourseIndex, Fret, Fretboard, Instrument, Tuning};
use crate::retune::{OnGuitar, Progress, Sweetening};
use crate::store::GuitarNow;
use crate::theory::Pitch;

/// The instrument in hand. Its tuning and capo always fit its neck.
#[derive(Clone, Debug, PartialEq)]
pub struct Guitar {
    instrument: &'static Instrument,
    progress: Progress,
    believed: Tuning,
    capo: Fret,
}

impl Guitar {
    /// Takes an instrument in its usual tuning, without a capo.
    ///
    /// # Panics
    /// Never for an instrument of the catalogue: its usual tuning has its number of courses.
    #[must_use]
    pub fn in_standard(catalog: &'static Catalog, instrument: &'static Instrument) -> Self {
        let standard = catalog.standard_of(instrument).tuning().clone();
        Self::in_tuning(instrument, &standard).expect("a test resolves every standard tuning")
    }

    /// Takes an instrument that is wholly in `tuning`; `None` when the tuning has another number of courses.
    #[must_use]
    pub fn in_tuning(instrument: &'static Instrument, tuning: &Tuning) -> Option<Self> {
        let on = OnGuitar::in_tuning(instrument, tuning)?;
        let progress = Progress::start(on, tuning.clone())?;
        Some(Self { instrument, progress, believed: tuning.clone(), capo: Fret::OPEN })
    }

    /// Takes the instrument as it was kept; `None` when what was kept does not fit it.
    #[must_use]
    pub fn restore(instrument: &'static Instrument, kept: &GuitarNow) -> Option<Self> {
        let mut guitar = Self::in_tuning(instrument, &kept.pitches)?;
        if let Some(retuning) = &kept.retuning
            && retuning.on_guitar().courses().len() == guitar.progress.target().courses()
        {
            guitar.set_progress(retuning.clone());
        } else {
            let courses = instrument.courses().len();
            for index in
                kept.unknown_courses.iter().filter_map(|&number| CourseIndex::from_player_number(number, courses))
            {
                let doubted = guitar.progress.clone().with_doubt(index);
                guitar.set_progress(doubted);
            }
        }
        guitar.set_capo(kept.capo);
        Some(guitar)
    }

    /// Returns what to keep.
    #[must_use]
    pub fn to_kept(&self) -> GuitarNow {
        let mut kept = GuitarNow::in_tuning(self.instrument.id(), self.believed.clone());
        let courses = self.believed.courses();
        let states = self.progress.on_guitar().courses().iter().enumerate();
        let doubtful = states.filter(|(_, state)| !state.is_right());
        kept.unknown_courses =
            doubtful.map(|(index, _)| CourseIndex::from_lowest(index).player_number(courses)).collect();
        kept.capo = self.capo;
        kept.retuning = (!self.progress.is_done() || self.progress.confirmed() > 0).then(|| self.progress.clone());
        kept
    }

    /// Returns the instrument.
    #[must_use]
    pub const fn instrument(&self) -> &'static Instrument {
        self.instrument
    }

    /// Returns the pitch each course was last known to have, without the capo.
    #[must_use]
    pub const fn tuning(&self) -> &Tuning {
        &self.believed
    }

    /// Returns the retuning: where each course is and where it is going. When nothing is to be done, it is done.
    #[must_use]
    pub const fn progress(&self) -> &Progress {
        &self.progress
    }

    /// Returns the capo's fret, 0 for none.
    #[must_use]
    pub const fn capo(&self) -> Fret {
        self.capo
    }

    /// Tells whether the pitch of the course, counted from the highest player number, is known.
    #[must_use]
    pub fn is_known(&self, index: usize) -> bool {
        self.progress.on_guitar().courses().get(index).is_some_and(|state| state.is_right())
    }

    /// Goes on from another state of the retuning.
    pub fn set_progress(&mut self, progress: Progress) {
        self.believed = progress.on_guitar().believed();
        self.progress = progress;
    }

    /// Turns to another target; returns whether it fits the instrument.
    pub fn turn_to(&mut self, target: Tuning) -> bool {
        let turned = self.progress.clone().turn_to(target);
        turned.map(|progress| self.set_progress(progress)).is_some()
    }

    /// Means the strings to end a few cents off equal temperament, or in it again.
    pub fn sweeten(&mut self, by: &Sweetening) {
        if let Some(sweetened) = self.progress.clone().sweetened(by) {
            self.set_progress(sweetened);
        }
    }

    /// Moves the capo; returns whether it can sit there. Where it cannot, nothing changes.
    pub fn set_capo(&mut self, fret: Fret) -> bool {
        let fits = Fretboard::new(self.instrument, &self.believed, fret).is_ok();
        if fits {
            self.capo = fret;
        }
        fits
    }

    /// Returns the pitch of a course, counted from the highest player number, as last known.
    #[must_use]
    pub fn pitch(&self, index: usize) -> Option<Pitch> {
        self.believed.pitches().get(index).copied()
    }
}
