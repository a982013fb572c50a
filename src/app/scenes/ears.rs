//! Listening and sounding.

use crate::platform::{DeviceFault, Microphone};
use crate::sound::{Beating, Verdict};
use crate::theory::Cents;

use crate::app::action::Action;
use crate::app::ears::{EarsAction, Hearing, Ringing, Sound, Told};
use crate::app::instrument::InstrumentAction;
use crate::app::screen::Tab;

use super::{Scene, choose};

/// The microphone as the system answers for it, once it is wanted.
fn listening(answer: Microphone) -> Vec<Action> {
    vec![Action::Ears(EarsAction::Listen), Action::Ears(EarsAction::Permission(answer))]
}

/// What the worker tells while it listens for the first time.
fn heard(ringing: Ringing, at_s: f64) -> Action {
    let beating = Beating::Beats { rate_per_s: if at_s < 1.0 { 4.0 } else { 2.1 }, depth: 0.6 };
    half_heard(ringing, at_s, 0, beating)
}

/// The same where so many strings of a pair were found right.
fn half_heard(ringing: Ringing, at_s: f64, strings_right: u8, beating: Beating) -> Action {
    let is_done = false;
    Action::Ears(EarsAction::Told(Told::Hearing(Hearing { watch: 1, at_s, ringing, is_done, strings_right, beating })))
}

/// One of the strings, counted from the thickest, so many cents off.
const fn string(index: usize, off: f64, verdict: Verdict) -> Ringing {
    Ringing::String { index, off: Cents::new(off), is_held: false, verdict }
}

/// Listening and sounding in their main states.
pub(super) fn scenes() -> Vec<Scene> {
    let scene = Scene::new;
    let step = || vec![choose("guitar-g6")];
    let on_step = |told: Vec<Action>| [step(), listening(Microphone::Granted), told].concat();
    let all = [
        string(0, 0.4, Verdict::Right),
        string(1, -12.3, Verdict::NotYet),
        string(2, 4.1, Verdict::NotYet),
        string(3, 0.8, Verdict::Right),
    ];
    let all = all.into_iter().zip([0.0, 1.0, 2.0, 3.0]).map(|(ringing, at_s)| heard(ringing, at_s)).collect();
    let open = vec![Action::Tab(Tab::Retune)];
    vec![
        scene("by-ear", [step(), vec![Action::Ears(EarsAction::Lesson)]].concat()),
        scene(
            "by-ear-silent",
            [
                step(),
                vec![
                    Action::Ears(EarsAction::Lesson),
                    Action::Ears(EarsAction::Hear(Sound::Slowing)),
                    Action::Ears(EarsAction::Told(Told::Mute(DeviceFault::NoOutput))),
                ],
            ]
            .concat(),
        ),
        scene("listen-nothing", on_step(Vec::new())),
        scene(
            "listen-high",
            on_step(vec![heard(string(0, 34.2, Verdict::NotYet), 0.5), heard(string(0, 34.2, Verdict::NotYet), 3.0)]),
        ),
        scene("listen-low", on_step(vec![heard(string(0, -6.4, Verdict::NotYet), 0.5)])),
        scene("listen-right", on_step(vec![heard(string(0, 0.6, Verdict::Right), 0.5)])),
        scene("listen-right-if", on_step(vec![heard(string(0, 0.6, Verdict::RightIfAsked), 0.5)])),
        scene(
            "listen-other-of-pair",
            [
                vec![Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned())), choose("mandolin-gdgd")],
                listening(Microphone::Granted),
                vec![half_heard(Ringing::Nothing, 0.5, 1, Beating::NotYet)],
            ]
            .concat(),
        ),
        scene("listen-other", on_step(vec![heard(string(3, 7.0, Verdict::NotYet), 0.5)])),
        scene("listen-too-quiet", on_step(vec![heard(Ringing::TooQuiet, 0.5)])),
        scene("listen-all", [open.clone(), listening(Microphone::Granted), all].concat()),
        scene("listen-refused", [step(), listening(Microphone::Refused)].concat()),
        scene("listen-no-device", on_step(vec![Action::Ears(EarsAction::Told(Told::Deaf(DeviceFault::NoInput)))])),
        scene(
            "sound-no-device",
            vec![
                Action::Tab(Tab::Shapes),
                Action::Ears(EarsAction::Hear(Sound::Strum)),
                Action::Ears(EarsAction::Told(Told::Mute(DeviceFault::NoOutput))),
            ],
        ),
    ]
}
