//! The tune of a song.

use crate::arrange::{Figures, FitReason, TuningFit};
use crate::instrument::Fret;
use crate::platform::Microphone;
use crate::songs::SongId;
use crate::theory::{Hertz, Semitones};
use crate::tune::{PluckedNote, Quarters};

use crate::app::action::Action;
use crate::app::ears::{EarsAction, Plucked, Told};
use crate::app::hand_out::{HandOutAction, HandedOut};
use crate::app::screen::{Screen, Tab};
use crate::app::songs::SongsAction;
use crate::app::tune::{Decision, EnterAction, PluckAction, TuneAction, TuneTold};

use super::Scene;

/// The screens of a tune, with the one of the invented songs that has one.
pub(super) fn scenes() -> Vec<Scene> {
    const FERRY_BELL: SongId = SongId(2);
    const SLIPWAY: SongId = SongId(3);
    let scene = Scene::new;
    let of = |song: SongId, taps: Vec<Action>| {
        let open = [
            Action::Tab(Tab::Songs),
            Action::Songs(SongsAction::Demo),
            Action::CloseNotice,
            Action::Songs(SongsAction::Open(song)),
            Action::Tune(TuneAction::Open),
            Action::Tune(TuneAction::WorkNow),
        ];
        open.into_iter().chain(taps).collect::<Vec<_>>()
    };
    let tune = |action: TuneAction| Action::Tune(action);
    let at = |quarters: i64| tune(TuneAction::Select(Quarters::new(quarters, 1).unwrap_or_default()));
    let enter = |action: EnterAction| tune(TuneAction::Enter(action));
    let typed = |text: &str| vec![Action::Open(Screen::TuneEntry), enter(EnterAction::Typed(text.to_owned()))];
    let read = |text: &str| [typed(text), vec![enter(EnterAction::Read)]].concat();
    // The second question that is asked; the first was the tune's own.
    let fit = |index: usize, weight: f64, reasons: Vec<FitReason>| {
        let fit = TuningFit {
            index,
            transpose: Semitones::ZERO,
            capo: Fret::OPEN,
            points_a_bar: weight,
            effort: 0.0,
            weight,
            figures: Figures::default(),
            notes_left_out: 0,
            beats_left_out: 0,
            reasons,
        };
        tune(TuneAction::Told(TuneTold::Fit(2, Box::new(fit))))
    };
    let tried = || {
        vec![
            tune(TuneAction::TryTunings),
            fit(
                0,
                3.0,
                vec![FitReason::IsOn, FitReason::NothingLeftOut, FitReason::OpenNotes(58), FitReason::HandStays],
            ),
            fit(1, 3.5, vec![FitReason::NothingLeftOut, FitReason::RootsMissing(2), FitReason::OpenNotes(41)]),
            fit(4, 60.0, vec![FitReason::NotesLeftOut(3), FitReason::HandMoves(4), FitReason::Capo(2)]),
            fit(7, 9.0, vec![FitReason::BeatsLeftOut(1), FitReason::OpenNotes(33), FitReason::HandMoves(1)]),
        ]
    };
    let pluck = |action: PluckAction| tune(TuneAction::Pluck(action));
    let permission = |answer: Microphone| Action::Ears(EarsAction::Permission(answer));
    let told = |told: Told| Action::Ears(EarsAction::Told(told));
    let plucking = |taps: Vec<Action>| [vec![Action::Open(Screen::TuneEntry), pluck(PluckAction::Open)], taps].concat();
    let begun = || vec![pluck(PluckAction::Begin), permission(Microphone::Granted)];
    vec![
        scene("tune", of(FERRY_BELL, vec![at(5)])),
        scene("tune-thick-on-top", of(FERRY_BELL, vec![tune(TuneAction::ThickOnTop), at(5)])),
        scene(
            "tune-decided",
            of(FERRY_BELL, vec![at(5), tune(TuneAction::Decide(Decision::Bass(0))), tune(TuneAction::WorkNow)]),
        ),
        scene("tune-none-yet", of(SLIPWAY, Vec::new())),
        scene("tune-working", of(FERRY_BELL, vec![tune(TuneAction::TransposeBy(12))])),
        scene(
            "tune-beyond-the-neck",
            of(
                FERRY_BELL,
                vec![
                    tune(TuneAction::TransposeBy(-12)),
                    tune(TuneAction::TransposeBy(-12)),
                    tune(TuneAction::WorkNow),
                    Action::Open(Screen::TuneHow),
                ],
            ),
        ),
        scene("tune-how", of(FERRY_BELL, vec![Action::Open(Screen::TuneHow), tune(TuneAction::Loop)])),
        scene("tune-moment", of(FERRY_BELL, vec![at(5), Action::Open(Screen::TuneMoment)])),
        scene("tune-tunings", of(FERRY_BELL, tried())),
        scene("tune-handed-out", of(FERRY_BELL, vec![Action::HandOut(HandOutAction::Open(HandedOut::Tune))])),
        scene("tune-pluck", of(SLIPWAY, plucking(Vec::new()))),
        scene(
            "tune-pluck-refused",
            of(SLIPWAY, plucking(vec![pluck(PluckAction::Begin), permission(Microphone::Refused)])),
        ),
        scene("tune-pluck-listening", of(SLIPWAY, plucking([begun(), vec![told(Told::Taking(1, 4.0))]].concat()))),
        scene("tune-pluck-written", of(SLIPWAY, plucking([begun(), vec![told(plucked())]].concat()))),
        scene("tune-steps", of(FERRY_BELL, vec![at(5), Action::Open(Screen::TuneSteps)])),
        scene("tune-entry", of(SLIPWAY, typed("X:1\nT:Tar Barrel\nM:6/8\nK:D\nd2A FGA |"))),
        scene(
            "tune-entry-read",
            of(SLIPWAY, read("X:1\nT:Tar Barrel\nM:6/8\nK:D\n{g}d2A FGA | d2 ^ |\n\nX:2\nK:G\nG4|")),
        ),
        scene("tune-entry-fault", of(SLIPWAY, read("Tar Barrel"))),
        scene(
            "tune-neck",
            of(
                SLIPWAY,
                vec![
                    Action::Open(Screen::TuneNeck),
                    enter(EnterAction::Note { fret: 3, course: 4 }),
                    enter(EnterAction::Length(1)),
                    enter(EnterAction::Dot),
                    enter(EnterAction::Note { fret: 0, course: 5 }),
                    enter(EnterAction::Rest),
                ],
            ),
        ),
    ]
}

/// What was plucked: eight notes, of which one lies between two pitches and one between two places.
fn plucked() -> Told {
    let heard = [
        (0.0, 196.0),
        (0.75, 220.0),
        (1.12, 246.9),
        (1.5, 302.0),
        (2.25, 293.7),
        (2.83, 246.9),
        (3.0, 220.0),
        (3.75, 196.0),
    ];
    let notes = heard.into_iter().filter_map(|(at_s, hz)| Some(PluckedNote { at_s, frequency: Hertz::new(hz)? }));
    Told::Plucked(1, Plucked { notes: notes.collect(), is_timed: true })
}
