//! The first run, settings, faults, and what is told.

use crate::store::SaveError;
use crate::theory::Naming;

use crate::app::action::Action;
use crate::app::guide::GuideAction;
use crate::app::instrument::InstrumentAction;
use crate::app::key_plan::KeyPlanAction;
use crate::app::notice::Notice;
use crate::app::pick::PickAction;
use crate::app::retune::RetuneAction;
use crate::app::screen::{Screen, Tab};
use crate::app::settings::SettingsAction;
use crate::app::shapes::ShapesAction;

use super::{CONFIRM, Scene, choose, search};

/// The first run, settings and what is told, in their main states.
pub(super) fn scenes() -> Vec<Scene> {
    let scene = Scene::new;
    let again = || vec![Action::Guide(GuideAction::Again)];
    let to = |taps: &[Action]| [again(), taps.to_vec()].concat();
    let (check, shapes) = (Action::Retune(RetuneAction::CheckDone), Action::Retune(RetuneAction::ToShapes));
    let open = |screen| vec![Action::Tab(Tab::More), Action::Open(screen)];
    let set = |action| Action::Settings(action);
    let typed = |text: &str| Action::Pick(PickAction::Typed(text.to_owned()));
    let planned = |text: &str| Action::KeyPlan(KeyPlanAction::Typed(text.to_owned()));
    let german = || set(SettingsAction::Language(Some("de".to_owned())));
    let with = |before: Vec<Action>, after: &[Action]| [before, after.to_vec()].concat();
    let in_german = |taps: Vec<Action>| [vec![german()], taps].concat();
    let mandolin = Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned()));
    vec![
        scene("first-choose", again()),
        scene("first-choose-german", in_german(again())),
        scene("first-choose-mandolin", [vec![mandolin], again()].concat()),
        scene("first-turn", to(&[choose("guitar-g6")])),
        scene("first-last-string", to(&[choose("guitar-g6"), CONFIRM])),
        scene("first-check", to(&[choose("guitar-g6"), CONFIRM, CONFIRM])),
        scene("first-done", to(&[choose("guitar-g6"), CONFIRM, CONFIRM, check.clone()])),
        scene("first-chords", to(&[choose("guitar-g6"), CONFIRM, CONFIRM, check.clone(), shapes.clone()])),
        scene(
            "first-end",
            to(&[choose("guitar-g6"), CONFIRM, CONFIRM, check, shapes, Action::Shapes(ShapesAction::Chord(3))]),
        ),
        scene(
            "settings-changed",
            with(
                open(Screen::Settings),
                &[
                    set(SettingsAction::Naming(Naming::Solfege)),
                    set(SettingsAction::LeftHanded),
                    set(SettingsAction::OnSide),
                ],
            ),
        ),
        scene(
            "settings-german",
            with(open(Screen::Settings), &[german(), set(SettingsAction::Naming(Naming::German))]),
        ),
        scene("instrument-german", in_german(open(Screen::Instrument))),
        scene("tunings-german", vec![german(), set(SettingsAction::Naming(Naming::German))]),
        scene("tunings-not-a-note", vec![set(SettingsAction::Naming(Naming::German)), search("d g d x h e")]),
        scene(
            "chord-picker-breaks-off",
            with(vec![Action::Tab(Tab::Shapes)], &[Action::Open(Screen::ChordPicker), typed("Gsu")]),
        ),
        scene(
            "key-plan-fault",
            with(vec![Action::Tab(Tab::Shapes)], &[Action::Open(Screen::KeyPlan), planned("G C Hm")]),
        ),
    ]
}

/// What can be told, each above the list of tunings.
pub(super) fn messages() -> impl Iterator<Item = Scene> {
    let told = [
        ("message-library-missing", Notice::LibraryMissing),
        ("message-library-restored", Notice::LibraryRestored("pegwise-library.damaged-1.json".to_owned())),
        ("message-not-moved", Notice::LibraryDamaged(String::new())),
        ("message-no-room", Notice::SaveFailed(SaveError::DiskFull)),
        ("message-would-break", Notice::StringWouldBreak(1)),
        ("message-no-place", Notice::NoPlaceForLibrary),
    ];
    told.into_iter().map(|(name, notice)| Scene { notice: Some(notice), ..Scene::new(name, Vec::new()) })
}
