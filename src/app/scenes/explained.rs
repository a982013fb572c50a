//! Words that are explained where they stand.

use crate::instrument::Bridge;

use crate::app::action::Action;
use crate::app::explained::{ExplainAction, Term};
use crate::app::instrument::InstrumentAction;
use crate::app::own_tuning::OwnTuningAction;
use crate::app::screen::{Screen, Tab};

use super::{CONFIRM, Scene, choose};

/// Each word, on a screen where it is met.
pub(super) fn scenes() -> Vec<Scene> {
    let explained = |name, taps: Vec<Action>, term| {
        Scene::new(name, [taps, vec![Action::Explain(ExplainAction::Tap(term))]].concat())
    };
    let instrument = |id: &str| Action::Instrument(InstrumentAction::Instrument(id.to_owned()));
    let step = || vec![choose("guitar-g6")];
    let springs = Action::Instrument(InstrumentAction::Bridge(Bridge::Floating));
    let settings = vec![Action::Tab(Tab::More), Action::Open(Screen::Settings)];
    let banjo = vec![instrument("five-string-banjo"), Action::OwnTuning(OwnTuningAction::New)];
    let mandolin = || vec![instrument("mandolin"), choose("mandolin-gdgb")];
    vec![
        explained("explained-wobble", step(), Term::Wobble),
        explained("explained-harmonic", vec![choose("guitar-open-c"), CONFIRM], Term::Harmonic),
        explained("explained-cents", settings, Term::Cents),
        explained("explained-pair", mandolin(), Term::Pair),
        explained("explained-drone", banjo, Term::Drone),
        explained("explained-round", vec![springs, choose("guitar-g6")], Term::Round),
        explained("explained-slack", mandolin(), Term::Slack),
    ]
}
