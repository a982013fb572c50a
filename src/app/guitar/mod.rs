//! What is on the guitar: one record, kept as it is, and all that follows from it.
//!
//! Only this folder writes to the record. An action changes it here; after every action `settle` makes from it what
//! the screens show: the plan, the plan of the whole way, the stage. Nothing else keeps a copy.

mod settle;
mod strings;

use crate::instrument::{Bridge, Catalog, CourseIndex, Fret, Fretboard, Instrument, Stringing, Strung, Tuning};
use crate::retune::{Plan, Progress, Refusal};
use crate::store::{GuitarNow, Temperament, Wanted};
use crate::theory::{Key, Pitch};

pub(in crate::app) use settle::Aims;
use settle::Settled;
pub use strings::StringsTold;

/// Where the retuning is, in the order of the way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// No tuning is wanted.
    #[default]
    Idle,
    /// The way may be from or to other strings: which are on is asked before any plan.
    Strings,
    /// A string would not stand it: asked before the first step.
    Risk,
    /// A string is being set.
    Step,
    /// The last string is set; pairs are compared once more.
    Check,
    /// All is right but the capo: it is to be put where it belongs.
    Capo,
    /// It is in tune.
    Done,
}

/// The instrument in hand. Its tuning and capo always fit its neck.
#[derive(Clone, Debug)]
pub struct Guitar {
    record: GuitarNow,
    instrument: &'static Instrument,
    strings: Stringing,
    strung: Strung,
    settled: Settled,
    chosen_match: usize,
}

impl Guitar {
    /// Takes an instrument in its usual tuning, without a capo.
    ///
    /// # Panics
    /// Never for an instrument of the catalogue: its usual tuning has its number of courses.
    #[must_use]
    pub fn in_standard(catalog: &'static Catalog, instrument: &'static Instrument) -> Self {
        let standard = catalog.standard_of(instrument).tuning();
        let record = GuitarNow::in_tuning(instrument.id(), standard);
        Self::restore(record).expect("a test resolves every standard tuning")
    }

    /// Takes an instrument as it was kept; `None` when the catalogue does not have it or what was kept does not fit it.
    /// A capo that cannot sit where it was kept is off, and strings that do not fit are the usual ones.
    ///
    /// # Panics
    /// Never: a test strings every instrument with its usual set.
    #[must_use]
    pub fn restore(mut record: GuitarNow) -> Option<Self> {
        let catalog = Catalog::bundled();
        let instrument = catalog.find_instrument(record.instrument_id())?;
        if record.progress.target().courses() != instrument.courses().len() {
            return None;
        }
        if Fretboard::new(instrument, &record.pitches(), record.capo).is_err() {
            record.capo = Fret::OPEN;
        }
        if record.strings.as_ref().is_some_and(|on| Strung::new(instrument, on).is_err()) {
            record.strings = None;
        }
        let strings = record.strings.clone().unwrap_or_else(|| usual(instrument));
        let strung = Strung::new(instrument, &strings).expect("a test strings every instrument with its usual set");
        Some(Self { record, instrument, strings, strung, settled: Settled::default(), chosen_match: 0 })
    }

    /// Returns the record of it: all that is kept.
    #[must_use]
    pub const fn record(&self) -> &GuitarNow {
        &self.record
    }

    /// Returns the instrument.
    #[must_use]
    pub const fn instrument(&self) -> &'static Instrument {
        self.instrument
    }

    /// Returns the pitch each course was last known to have, without the capo.
    #[must_use]
    pub fn tuning(&self) -> Tuning {
        self.record.pitches()
    }

    /// Returns the retuning: where each course is and where it is going. When nothing is to be done, it is done.
    #[must_use]
    pub const fn progress(&self) -> &Progress {
        &self.record.progress
    }

    /// Returns the capo's fret, 0 for none.
    #[must_use]
    pub const fn capo(&self) -> Fret {
        self.record.capo
    }

    /// Returns where the capo goes when all is right; `None` when it stays as it is.
    #[must_use]
    pub fn capo_after(&self) -> Option<Fret> {
        let wanted = self.record.wanted.as_ref().and_then(|wanted| wanted.capo);
        wanted.or(self.record.capo_off).filter(|&fret| fret != self.record.capo)
    }

    /// Returns where the capo is in the end, where it matters on the way: it has to come off, or goes somewhere else.
    #[must_use]
    pub fn capo_in_the_end(&self) -> Option<Fret> {
        let comes_off = self.plan().is_some_and(Plan::takes_capo_off);
        let wanted = self.record.wanted.as_ref().and_then(|wanted| wanted.capo);
        wanted.filter(|&fret| comes_off || fret != self.record.capo).or_else(|| {
            let off = if comes_off { Some(self.record.capo) } else { None };
            self.record.capo_off.or(off)
        })
    }

    /// Returns the strings it wears: those chosen, or its usual ones.
    #[must_use]
    pub const fn strings(&self) -> &Stringing {
        &self.strings
    }

    /// Returns the instrument with its strings on.
    #[must_use]
    pub const fn strung(&self) -> &Strung {
        &self.strung
    }

    /// Returns the bridge it has: the one chosen, or its usual one.
    #[must_use]
    pub fn bridge(&self) -> Bridge {
        self.record.bridge.unwrap_or_else(|| self.instrument.bridge())
    }

    /// Tells whether the pitch of the course, counted from the highest player number, is known.
    #[must_use]
    pub fn is_known(&self, index: usize) -> bool {
        self.progress().on_guitar().courses().get(index).is_some_and(|state| state.is_right())
    }

    /// Returns the pitch of a course, counted from the highest player number, as last known.
    #[must_use]
    pub fn pitch(&self, index: usize) -> Option<Pitch> {
        self.progress().on_guitar().courses().get(index).map(|state| state.pitch())
    }

    /// Returns the neck as it is tuned now, capo included.
    ///
    /// # Panics
    /// Never: tuning and capo fit the instrument.
    #[must_use]
    pub fn board(&self) -> Fretboard<'static> {
        let board = Fretboard::new(self.instrument, &self.tuning(), self.capo()).expect("a guitar fits its neck");
        board.over_mm(self.strings.scale_mm())
    }

    /// Returns the tuning that is wanted; `None` when none is.
    #[must_use]
    pub fn target(&self) -> Option<&Tuning> {
        self.record.wanted.as_ref().map(|_| self.record.progress.target())
    }

    /// Returns what is asked of the retuning; `None` when no tuning is wanted.
    #[must_use]
    pub const fn wanted(&self) -> Option<&Wanted> {
        self.record.wanted.as_ref()
    }

    /// Returns where the retuning is.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        self.settled.stage
    }

    /// Returns the plan from where the guitar is now; `None` when no tuning is wanted.
    #[must_use]
    pub const fn plan(&self) -> Option<&Plan> {
        self.settled.plan.as_ref()
    }

    /// Returns the plan from where it was when the first string was turned: what the whole way asks of strings and neck.
    #[must_use]
    pub const fn whole_plan(&self) -> Option<&Plan> {
        self.settled.whole.as_ref()
    }

    /// Returns what stands against the way: a string that moves would break. It is not gone until another is on.
    #[must_use]
    pub const fn refusal(&self) -> Option<&Refusal> {
        self.settled.refusal.as_ref()
    }

    /// Returns the course that the present step turns.
    #[must_use]
    pub fn course(&self) -> Option<CourseIndex> {
        self.plan().filter(|_| self.stage() == Stage::Step)?.steps().first().map(|step| step.course())
    }

    /// Returns which of the step's matches is shown.
    #[must_use]
    pub const fn chosen_match(&self) -> usize {
        self.chosen_match
    }

    /// Tells whether a pair of the check list was found right.
    #[must_use]
    pub fn is_checked(&self, pair: usize) -> bool {
        let wanted = self.record.wanted.as_ref();
        wanted.is_some_and(|wanted| wanted.checked.get(pair).copied().unwrap_or(false))
    }
}

/// What an action does to the guitar. Each returns whether there was anything to do it to.
impl Guitar {
    /// Turns to another tuning; returns whether it fits the instrument.
    pub(in crate::app) fn turn_to(&mut self, target: Tuning, wanted: Wanted) -> bool {
        let Some(progress) = self.record.progress.clone().turn_to(target) else { return false };
        self.record.wanted = Some(wanted);
        self.record.temperament = Some(Temperament::Equal);
        self.record.key_is_chosen = false;
        self.go_on_from(progress);
        true
    }

    /// The string of the present step is right. The capo is off by then: the strings are tuned without it.
    pub(in crate::app) fn confirm(&mut self) -> bool {
        let Some(course) = self.course() else { return false };
        if let Some(wanted) = &mut self.record.wanted {
            // Who turns a string has said all there is to say of it.
            wanted.strings_are_told = true;
        }
        if self.record.capo != Fret::OPEN {
            self.record.capo_off = Some(self.record.capo);
            self.record.capo = Fret::OPEN;
        }
        self.go_on_from(self.record.progress.clone().confirm(course));
        true
    }

    /// Takes the last confirmation back.
    pub(in crate::app) fn take_back_step(&mut self) {
        self.go_on_from(self.record.progress.clone().undo());
    }

    /// Sets again all that was set.
    pub(in crate::app) fn start_over(&mut self) {
        self.go_on_from(self.record.progress.clone().start_over());
    }

    /// A course may be off; when no tuning is wanted, the one it should be in is.
    pub(in crate::app) fn doubt(&mut self, course: CourseIndex, id: Option<String>) {
        self.want_the_present(id);
        self.go_on_from(self.record.progress.clone().with_doubt(course));
    }

    /// Every course may be off.
    pub(in crate::app) fn doubt_all(&mut self, id: Option<String>) {
        self.want_the_present(id);
        self.go_on_from(self.record.progress.clone().with_all_in_doubt());
    }

    fn want_the_present(&mut self, id: Option<String>) {
        self.record.wanted.get_or_insert_with(|| Wanted { id, ..Wanted::default() });
    }

    /// Gives the retuning up as it stands: no tuning is wanted, and what is in doubt stays in doubt.
    pub(in crate::app) fn give_up(&mut self) {
        self.record.wanted = None;
        self.go_on_from(self.record.progress.clone().given_up());
    }

    /// Goes on although a string would not stand it.
    pub(in crate::app) fn take_risk(&mut self) {
        if let Some(wanted) = &mut self.record.wanted {
            wanted.risk_is_taken = true;
        }
    }

    /// Shows another of the step's matches.
    pub(in crate::app) fn hear_by(&mut self, index: usize) {
        self.chosen_match = index.min(self.match_count().saturating_sub(1));
    }

    fn match_count(&self) -> usize {
        self.plan().and_then(|plan| plan.steps().first()).map_or(0, |step| step.matches().len())
    }

    /// A pair of the check list sounds right, or not after all.
    pub(in crate::app) fn check(&mut self, pair: usize) {
        let pairs = self.whole_plan().map_or(0, |whole| whole.checks().len());
        if let Some(wanted) = self.record.wanted.as_mut().filter(|_| pair < pairs) {
            wanted.checked.resize(pairs, false);
            wanted.checked[pair] = !wanted.checked[pair];
        }
    }

    /// All pairs sound right.
    pub(in crate::app) fn finish_check(&mut self) {
        if self.stage() == Stage::Check
            && let Some(wanted) = &mut self.record.wanted
        {
            wanted.is_checked = true;
        }
    }

    /// Puts the capo where it belongs now that all is right, or leaves it off; returns whether it can sit there.
    pub(in crate::app) fn end_capo(&mut self, is_put_back: bool) -> bool {
        let fits = match self.capo_after().filter(|_| is_put_back) {
            Some(fret) => self.put_capo(fret),
            None => true,
        };
        self.record.capo_off = None;
        if let Some(wanted) = &mut self.record.wanted {
            wanted.capo = None;
        }
        fits
    }

    /// Moves the capo; returns whether it can sit there. Where it cannot, nothing changes. Wherever the player puts it, it
    /// need not be put back any more; on the way to a tuning, what is asked of it in the end still is.
    pub(in crate::app) fn set_capo(&mut self, fret: Fret) -> bool {
        let fits = self.put_capo(fret);
        if fits {
            self.record.capo_off = None;
            if let Some(wanted) = self.record.wanted.as_mut().filter(|_| self.settled.stage >= Stage::Capo) {
                wanted.capo = None;
            }
        }
        fits
    }

    fn put_capo(&mut self, fret: Fret) -> bool {
        let fits = Fretboard::new(self.instrument, &self.tuning(), fret).is_ok();
        if fits {
            self.record.capo = fret;
        }
        fits
    }

    /// Says what bridge it has.
    pub(in crate::app) fn bridge_with(&mut self, bridge: Bridge) {
        self.record.bridge = (bridge != self.instrument.bridge()).then_some(bridge);
    }

    /// Puts the strings and the bridge back that it had; what else is on it stays.
    pub(in crate::app) fn fit_like(&mut self, before: &GuitarNow) {
        if before.instrument_id() == self.record.instrument_id() {
            self.record.strings.clone_from(&before.strings);
            self.record.bridge = before.bridge;
        }
    }

    /// Looks at its shapes in a key that the player chose; it stays until another tuning is chosen.
    pub(in crate::app) fn choose_key(&mut self, key: Key) {
        self.record.key = Some(key);
        self.record.key_is_chosen = true;
    }

    /// Looks at its shapes in the key that its tuning invites.
    pub(in crate::app) const fn invite_key(&mut self, key: Key) {
        self.record.key = Some(key);
    }

    /// The song that the retuning is for is not waited for any more.
    pub(in crate::app) fn forget_song(&mut self) {
        if let Some(wanted) = &mut self.record.wanted {
            wanted.song = None;
        }
    }

    /// Says which song the retuning under way is for.
    pub(in crate::app) fn retune_for(&mut self, song: crate::songs::SongId) {
        if let Some(wanted) = &mut self.record.wanted {
            wanted.song = Some(song);
        }
    }

    /// Goes on from another state of the retuning. A key that the tuning invited is invited anew where it has changed.
    fn go_on_from(&mut self, progress: Progress) {
        let before = self.tuning();
        self.record.progress = progress;
        if self.tuning() != before && !self.record.key_is_chosen {
            self.record.key = None;
        }
        self.chosen_match = 0;
    }
}

/// Returns the strings an instrument usually wears.
fn usual(instrument: &Instrument) -> Stringing {
    Catalog::bundled().strings_of(instrument).strings().clone()
}
