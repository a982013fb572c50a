//! What follows from the record: made anew after every action that changed what it hangs on.

use crate::instrument::{Fret, Fretboard, Level, StringsAsked, Strung, restrung_between, strings_asked};
use crate::retune::{CourseState, Plan, PlanError, PlanRequest, Refusal, Sweetening};
use crate::shapes::{ShapeSearch, Style};
use crate::store::{GuitarNow, Settings, Temperament};
use crate::theory::{Key, ReferencePitch};

use super::{Guitar, Stage, usual};

/// What follows from the record, and from what it was made.
#[derive(Clone, Debug, Default)]
pub(super) struct Settled {
    from: Option<(GuitarNow, ReferencePitch)>,
    pub(super) plan: Option<Plan>,
    pub(super) whole: Option<Plan>,
    pub(super) refusal: Option<Refusal>,
    pub(super) asked: Option<StringsAsked>,
    pub(super) stage: Stage,
}

/// The plan from where the strings are, the one from where they were before the first was turned, and what stands
/// against following the first.
struct Plans {
    plan: Plan,
    whole: Plan,
    refusal: Option<Refusal>,
}

/// What the player chose that the plan hangs on besides the record.
#[derive(Clone, Copy, Debug)]
pub(in crate::app) struct Aims<'a> {
    /// The frequency of A4 and the temperament.
    pub settings: &'a Settings,
    /// The key the shapes are looked at in, for a temperament that makes its chords pure.
    pub key: Key,
    /// How the strings are sounded, likewise.
    pub style: Style,
}

impl Guitar {
    /// Makes the strings, the plans and the stage from the record; where nothing they hang on has changed, they stay.
    pub(in crate::app) fn settle(&mut self, aims: Aims<'_>) {
        self.temper(aims);
        let a4 = aims.settings.reference();
        let is_settled = |(record, at): &(GuitarNow, ReferencePitch)| record == &self.record && *at == a4;
        if self.settled.from.as_ref().is_some_and(is_settled) {
            return;
        }
        self.string_anew();
        let plans = self.record.wanted.as_ref().map(|_| self.plans(a4));
        (self.settled.plan, self.settled.whole, self.settled.refusal) = (None, None, None);
        match plans {
            Some(Ok(Plans { plan, whole, refusal })) => {
                if !plan.steps().is_empty()
                    && let Some(wanted) = &mut self.record.wanted
                {
                    // Whatever was compared before, a string is to be set again.
                    wanted.checked.clear();
                    wanted.is_checked = false;
                }
                (self.settled.plan, self.settled.whole, self.settled.refusal) = (Some(plan), Some(whole), refusal);
            }
            // A tuning that became a target fits the instrument; were it not to, there is nothing to retune to.
            Some(Err(_)) => self.record.wanted = None,
            None => {}
        }
        self.settled.asked = self.ask_strings(a4);
        self.settled.stage = self.find_stage();
        self.hear_by(self.chosen_match());
        self.settled.from = Some((self.record.clone(), a4));
    }

    /// Means the strings to end as the settings want them: what is kept with the retuning stays until another tuning or
    /// another temperament is chosen.
    fn temper(&mut self, aims: Aims<'_>) {
        let wanted = aims.settings.temperament;
        if self.record.wanted.is_none() || self.record.temperament == Some(wanted) {
            return;
        }
        // A file of version 0.1.0 does not say what its cents were for: they are what the settings wanted then.
        if self.record.temperament.is_some() {
            let by = self.sweetening(wanted, aims);
            if let Some(tempered) = self.record.progress.clone().sweetened(&by) {
                self.record.progress = tempered;
            }
        }
        self.record.temperament = Some(wanted);
    }

    fn sweetening(&self, temperament: Temperament, aims: Aims<'_>) -> Sweetening {
        let target = self.record.progress.target();
        let equal = Sweetening::none(target.courses());
        match temperament {
            Temperament::Equal => equal,
            Temperament::OpenChord => {
                let root = Sweetening::find_open_root(target);
                root.map_or(equal, |root| Sweetening::of_open_chord(target, root))
            }
            Temperament::KeyShapes => {
                let Ok(board) = Fretboard::new(self.instrument, target, Fret::OPEN) else { return equal };
                let board = board.over_mm(self.strings.scale_mm());
                let search = ShapeSearch { style: aims.style, ..ShapeSearch::best(1) };
                let chords = aims.key.triads().into_iter();
                let shapes = chords.filter_map(|of_key| search.find(of_key.chord, &board).shapes.into_iter().next());
                let frets: Vec<_> = shapes.map(|found| found.shape().frets().to_vec()).collect();
                Sweetening::of_shapes(&board, &frets)
            }
        }
    }

    fn string_anew(&mut self) {
        let strings = self.record.strings.clone().unwrap_or_else(|| usual(self.instrument));
        if strings != self.strings
            && let Ok(strung) = Strung::new(self.instrument, &strings)
        {
            (self.strings, self.strung) = (strings, strung);
        }
    }

    /// What has to be said of the strings first, once a retuning.
    fn ask_strings(&self, a4: ReferencePitch) -> Option<StringsAsked> {
        self.record.wanted.as_ref().filter(|wanted| !wanted.strings_are_told)?;
        self.plan().filter(|plan| !plan.steps().is_empty())?;
        let (now, target) = (self.tuning(), self.progress().target());
        let mut asked = strings_asked(self.instrument, &self.strings, &now, target, a4)?;
        // A string that was just put on is at no known pitch: it does not speak against what is noted.
        let restrung = restrung_between(self.instrument, &now, target);
        asked.courses.retain(|course| restrung.contains(course) || self.is_known(course.from_lowest_index()));
        (!asked.courses.is_empty()).then_some(asked)
    }

    fn request<'a>(&'a self, now: &'a [CourseState], a4: ReferencePitch) -> PlanRequest<'a> {
        PlanRequest {
            instrument: self.instrument,
            strings: &self.strings,
            now,
            to: self.progress().target(),
            a4,
            capo: self.capo(),
            bridge: self.bridge(),
        }
    }

    fn plans(&self, a4: ReferencePitch) -> Result<Plans, PlanError> {
        // What would break is shown, and asked about: it is never gone on with.
        let from = |now: &[CourseState]| Plan::unchecked(&self.request(now, a4), self.progress().sweetening());
        let now = self.progress().on_guitar().courses();
        let plan = from(now)?;
        let whole = match self.progress().confirmed() {
            0 => plan.clone(),
            _ => from(&self.progress().started_from())?,
        };
        let refusal = plan.refusal(&self.request(now, a4));
        Ok(Plans { plan, whole, refusal })
    }

    fn find_stage(&self) -> Stage {
        let checks = self.whole_plan().map_or(0, |whole| whole.checks().len());
        let plan = self.plan();
        match &self.record.wanted {
            Some(wanted) if plan.is_some_and(|plan| !plan.steps().is_empty()) => {
                let is_too_tight = plan.is_some_and(|plan| plan.safety().worst() == Level::TooTight);
                if self.settled.asked.is_some() {
                    Stage::Strings
                } else if self.settled.refusal.is_some() || (is_too_tight && !wanted.risk_is_taken) {
                    Stage::Risk
                } else {
                    Stage::Step
                }
            }
            Some(wanted) if !wanted.is_checked && checks > 0 => Stage::Check,
            _ if self.capo_after().is_some() => Stage::Capo,
            Some(_) => Stage::Done,
            None => Stage::Idle,
        }
    }
}
