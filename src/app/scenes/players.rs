//! Tunings, retuning, shapes, and what is chosen once.

use crate::app::action::Action;
use crate::app::guitar::StringsTold;
use crate::app::instrument::InstrumentAction;
use crate::app::key_plan::KeyPlanAction;
use crate::app::neck::NeckAction;
use crate::app::own_tuning::OwnTuningAction;
use crate::app::pick::PickAction;
use crate::app::retune::RetuneAction;
use crate::app::screen::{Screen, Tab};
use crate::app::shapes::{Labels, ShapesAction};
use crate::app::tunings::{TuningsAction, TuningsView};

use super::{CONFIRM, Scene, choose, search};

/// The screens in their main states.
pub(super) fn scenes() -> Vec<Scene> {
    let scene = Scene::new;
    let in_g6 = || vec![choose("guitar-g6"), CONFIRM, CONFIRM, Action::Retune(RetuneAction::CheckDone)];
    let after = |before: Vec<Action>, taps: Vec<Action>| before.into_iter().chain(taps).collect::<Vec<_>>();
    let shapes = || after(in_g6(), vec![Action::Tab(Tab::Shapes)]);
    let look = || vec![Action::Tunings(TuningsAction::Look("guitar-open-g".to_owned()))];
    let chord = |text: &str| {
        let typed = Action::Pick(PickAction::Typed(text.to_owned()));
        after(shapes(), vec![Action::Open(Screen::ChordPicker), typed])
    };
    vec![
        scene("tunings", Vec::new()),
        scene("tunings-found", vec![search("open g")]),
        scene("tunings-typed-notes", vec![search("d a d f a e")]),
        scene("tunings-nothing-found", vec![search("blue")]),
        scene("tunings-kinds", vec![Action::Tunings(TuningsAction::View(TuningsView::Kinds))]),
        scene("tunings-no-own-yet", vec![Action::Tunings(TuningsAction::View(TuningsView::Own))]),
        scene("retune-idle", vec![Action::Tab(Tab::Retune)]),
        scene("retune-step", vec![choose("guitar-g6")]),
        scene("retune-second-way", vec![choose("guitar-g6"), Action::Retune(RetuneAction::Match(1))]),
        scene("retune-tighten", vec![choose("guitar-open-a"), CONFIRM]),
        scene("retune-from-a-tone", vec![Action::Tab(Tab::Retune), Action::Retune(RetuneAction::DoubtAll)]),
        scene(
            "retune-pairs",
            vec![Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned())), choose("mandolin-gdgd")],
        ),
        scene("retune-strings", vec![choose("guitar-high-strung")]),
        scene(
            "retune-risk",
            vec![choose("guitar-high-strung"), Action::Retune(RetuneAction::StringsAre(StringsTold::Noted))],
        ),
        scene(
            "retune-capo",
            after(
                vec![Action::Instrument(InstrumentAction::CapoBy(2)), choose("guitar-g6")],
                vec![CONFIRM, CONFIRM, Action::Retune(RetuneAction::CheckDone)],
            ),
        ),
        scene("retune-capo-off-first", vec![Action::Instrument(InstrumentAction::CapoBy(2)), choose("guitar-g6")]),
        scene("retune-check", vec![choose("guitar-g6"), CONFIRM, CONFIRM]),
        scene("retune-done", in_g6()),
        scene("tunings-after", after(in_g6(), vec![Action::Tab(Tab::Tunings)])),
        scene("shapes", shapes()),
        scene(
            "shapes-degrees",
            after(
                shapes(),
                vec![Action::Shapes(ShapesAction::Labels(Labels::Degree)), Action::Shapes(ShapesAction::Next)],
            ),
        ),
        scene(
            "shapes-none",
            vec![
                Action::Instrument(InstrumentAction::Instrument("cigar-box-guitar".to_owned())),
                Action::Tab(Tab::Shapes),
                Action::Open(Screen::ChordPicker),
                Action::Pick(PickAction::Typed("C13".to_owned())),
                Action::Pick(PickAction::ChordTaken),
            ],
        ),
        scene(
            "shapes-filtered-out",
            after(
                chord("Bbm"),
                vec![
                    Action::Pick(PickAction::ChordTaken),
                    Action::Shapes(ShapesAction::NoBarre),
                    Action::Shapes(ShapesAction::OpenOnly),
                    Action::Shapes(ShapesAction::UpToBy(-12)),
                ],
            ),
        ),
        scene("show", after(shapes(), vec![Action::Shapes(ShapesAction::Next), Action::Shapes(ShapesAction::Large)])),
        scene("shapes-looked-at", look()),
        scene("show-looked-at", after(look(), vec![Action::Shapes(ShapesAction::Large)])),
        scene("neck-looked-at", after(look(), vec![Action::Open(Screen::Neck)])),
        scene("key-plan-looked-at", after(look(), vec![Action::Open(Screen::KeyPlan)])),
        scene(
            "shapes-overview",
            after(
                shapes(),
                vec![
                    Action::Shapes(ShapesAction::Next),
                    Action::Shapes(ShapesAction::Next),
                    Action::Shapes(ShapesAction::Favourite),
                    Action::Open(Screen::Overview),
                ],
            ),
        ),
        scene(
            "shapes-favourite-off",
            after(shapes(), vec![Action::Shapes(ShapesAction::Favourite), Action::Shapes(ShapesAction::Favourite)]),
        ),
        scene("filters", after(shapes(), vec![Action::Open(Screen::Filters)])),
        scene("key-picker", after(shapes(), vec![Action::Open(Screen::KeyPicker)])),
        scene("chord-picker", chord("Am7")),
        scene("chord-picker-fault", chord("Amx")),
        scene(
            "key-plan",
            after(
                shapes(),
                vec![Action::Open(Screen::KeyPlan), Action::KeyPlan(KeyPlanAction::Typed("G C G D".to_owned()))],
            ),
        ),
        scene(
            "neck",
            after(
                shapes(),
                vec![
                    Action::Open(Screen::Neck),
                    Action::Neck(NeckAction::Cell { fret: 3, course: 5 }),
                    Action::Neck(NeckAction::Cell { fret: 3, course: 4 }),
                    Action::Neck(NeckAction::Cell { fret: 4, course: 3 }),
                ],
            ),
        ),
        scene(
            "own-tuning",
            vec![
                Action::OwnTuning(OwnTuningAction::New),
                Action::OwnTuning(OwnTuningAction::Move(0, -2)),
                Action::OwnTuning(OwnTuningAction::Move(5, 3)),
            ],
        ),
        scene(
            "own-tuning-two-readings",
            vec![
                Action::OwnTuning(OwnTuningAction::New),
                Action::OwnTuning(OwnTuningAction::Notes("cgdgbbe".to_owned())),
            ],
        ),
        scene(
            "own-tuning-fault",
            vec![
                Action::OwnTuning(OwnTuningAction::New),
                Action::OwnTuning(OwnTuningAction::Notes("D G D X B E".to_owned())),
            ],
        ),
        scene("more", vec![Action::Tab(Tab::More)]),
        scene("instrument", vec![Action::Tab(Tab::More), Action::Open(Screen::Instrument)]),
        scene(
            "string",
            vec![
                Action::Tab(Tab::More),
                Action::Open(Screen::Instrument),
                Action::Instrument(InstrumentAction::Describe(3, 0)),
            ],
        ),
        scene("settings", vec![Action::Tab(Tab::More), Action::Open(Screen::Settings)]),
        scene("about", vec![Action::Tab(Tab::More), Action::Open(Screen::About)]),
    ]
}
