//! What must hold on every screen in every size.

use pegwise::app::{
    Action, EarsAction, ExchangeAction, HandOutAction, HandedOut, InstrumentAction, KeptAction, Out, OwnTuningAction,
    PluckAction, RetuneAction, Screen, SetListAction, ShapesAction, SongAction, SongEditAction, SongTuningAction,
    SongsAction, SongsView, StageAction, StringsTold, Tab, TuneAction, TuningsAction,
};
use pegwise::platform::Microphone;
use pegwise::songs::{SetListId, SongId};
use pegwise::store::{Version, VersionKind};

use crate::bench_window::{act, controls, open};

/// The sizes that must work, in dp: small phones, a large one, landscape, a tablet.
pub(crate) const SIZES: [(f32, f32); 5] =
    [(320.0, 568.0), (360.0, 640.0), (412.0, 915.0), (915.0, 412.0), (800.0, 1280.0)];

/// One of each kind, as they lie beside a library.
fn versions() -> Vec<Version> {
    let version = |(index, kind): (usize, VersionKind)| Version {
        name: format!("pegwise-library.{index}.json"),
        kind,
        written: std::time::SystemTime::now()
            .checked_sub(std::time::Duration::from_secs(9_000) * u32::try_from(index + 1).unwrap()),
        bytes: 1_000,
        songs: (kind != VersionKind::Damaged).then_some(11),
    };
    let kinds =
        [VersionKind::Previous, VersionKind::Version, VersionKind::Damaged, VersionKind::Other, VersionKind::Kept];
    kinds.into_iter().enumerate().map(version).collect()
}

/// Every screen, by the way that leads to it.
pub(crate) fn ways() -> Vec<(&'static str, Vec<Action>)> {
    let choose = |id: &str| Action::Tunings(TuningsAction::Choose(id.to_owned()));
    let confirm = || Action::Retune(RetuneAction::Confirm);
    let noted = || Action::Retune(RetuneAction::StringsAre(StringsTold::Noted));
    let g6 = || vec![choose("guitar-g6"), confirm(), confirm()];
    // The invented songs, numbered as they come into an empty library.
    let demo = |taps: Vec<Action>| [vec![Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo)], taps].concat();
    let song = |taps: Vec<Action>| demo([vec![Action::Songs(SongsAction::Open(SongId(3)))], taps].concat());
    let tune = |taps: Vec<Action>| {
        let open = [
            Action::Songs(SongsAction::Open(SongId(2))),
            Action::Tune(TuneAction::Open),
            Action::Tune(TuneAction::WorkNow),
        ];
        demo([open.to_vec(), taps].concat())
    };
    let set_list = |taps: Vec<Action>| demo([vec![Action::Songs(SongsAction::OpenList(SetListId(12)))], taps].concat());
    let dadgad = || Action::SongTuning(SongTuningAction::Choose("guitar-dadgad".to_owned()));
    let incoming = "Tar Barrel\nTuning: D2 G2 D3 G3 B3 D4\n\n| G | C |".to_owned();
    let large = || Action::HandOut(HandOutAction::Large(true));
    let opened = |screen| vec![Action::Tab(Tab::Shapes), Action::Open(screen)];
    vec![
        ("tunings", Vec::new()),
        ("retune", vec![choose("guitar-g6")]),
        ("check", g6()),
        ("done", [g6(), vec![Action::Retune(RetuneAction::CheckDone)]].concat()),
        ("strings", vec![choose("guitar-high-strung")]),
        ("risk", vec![choose("guitar-high-strung"), noted()]),
        ("string", vec![Action::Open(Screen::Instrument), Action::Instrument(InstrumentAction::Describe(3, 0))]),
        ("looked at", vec![Action::Tunings(TuningsAction::Look("guitar-open-g".to_owned()))]),
        ("idle", vec![Action::Tab(Tab::Retune)]),
        ("shapes", vec![Action::Tab(Tab::Shapes)]),
        ("show", vec![Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Large)]),
        ("all shapes", opened(Screen::Overview)),
        ("filters", opened(Screen::Filters)),
        ("key", opened(Screen::KeyPicker)),
        ("chord", opened(Screen::ChordPicker)),
        ("plan", opened(Screen::KeyPlan)),
        ("neck", opened(Screen::Neck)),
        ("no songs", vec![Action::Tab(Tab::Songs)]),
        ("songs", demo(Vec::new())),
        ("set lists", demo(vec![Action::Songs(SongsAction::View(SongsView::SetLists))])),
        ("song", song(vec![Action::Song(SongAction::ShowCapos)])),
        ("song chord", song(vec![Action::Song(SongAction::Chord(0))])),
        ("song compared", song(vec![Action::Song(SongAction::Compare), dadgad()])),
        ("tune", tune(Vec::new())),
        ("tune how", tune(vec![Action::Open(Screen::TuneHow)])),
        ("tune moment", tune(vec![Action::Open(Screen::TuneMoment)])),
        ("tune steps", tune(vec![Action::Open(Screen::TuneSteps)])),
        ("tune put in", tune(vec![Action::Open(Screen::TuneEntry)])),
        ("tune on the neck", tune(vec![Action::Open(Screen::TuneNeck)])),
        ("tune plucked", tune(vec![Action::Tune(TuneAction::Pluck(PluckAction::Open))])),
        ("tune handed out", tune(vec![Action::HandOut(HandOutAction::Open(HandedOut::Tune)), large()])),
        ("song editor", song(vec![Action::Song(SongAction::Edit)])),
        ("song tuning", song(vec![Action::Song(SongAction::Edit), Action::SongEdit(SongEditAction::Tuning)])),
        ("set list", set_list(vec![Action::SetList(SetListAction::Order)])),
        ("set list editor", set_list(vec![Action::SetList(SetListAction::Edit)])),
        ("song choice", set_list(vec![Action::SetList(SetListAction::Add)])),
        ("on stage", set_list(vec![Action::Stage(StageAction::Begin)])),
        ("shape handed out", vec![Action::Tab(Tab::Shapes), Action::HandOut(HandOutAction::Open(HandedOut::Shape))]),
        ("key handed out", vec![Action::HandOut(HandOutAction::Open(HandedOut::Key)), large()]),
        (
            "exchange",
            vec![
                Action::Open(Screen::Exchange),
                Action::Exchange(ExchangeAction::Typed(incoming)),
                Action::Exchange(ExchangeAction::Read),
            ],
        ),
        ("outgoing", demo(vec![Action::Exchange(ExchangeAction::Out(Out::Library))])),
        ("kept", vec![Action::Open(Screen::Kept), Action::Kept(KeptAction::Listed(versions()))]),
        ("licences", vec![Action::Open(Screen::About), Action::Open(Screen::Licences)]),
        ("more", vec![Action::Tab(Tab::More)]),
        ("instrument", vec![Action::Open(Screen::Instrument)]),
        ("own", vec![Action::OwnTuning(OwnTuningAction::New)]),
        ("settings", vec![Action::Open(Screen::Settings)]),
        ("about", vec![Action::Open(Screen::About)]),
        (
            "listening",
            vec![
                choose("guitar-g6"),
                Action::Ears(EarsAction::Listen),
                Action::Ears(EarsAction::Permission(Microphone::Granted)),
            ],
        ),
        (
            "checking all",
            vec![
                Action::Tab(Tab::Retune),
                Action::Ears(EarsAction::Listen),
                Action::Ears(EarsAction::Permission(Microphone::Granted)),
            ],
        ),
    ]
}

/// Android accessibility help: 48 × 48 dp; each control has a name.
#[test]
fn every_control_is_named_and_at_least_48_dp() {
    for (width, height) in SIZES {
        for (name, way) in ways() {
            let app = open(width, height);
            act(&app, way);
            let found = controls(&app);
            assert!(!found.is_empty(), "{name} at {width}×{height} has nothing to tap");
            for control in found {
                let label = control.accessible_label().unwrap_or_default();
                assert!(!label.is_empty(), "{name} at {width}×{height}: a control without a name");
                let size = control.size();
                assert!(
                    size.width >= 47.9 && size.height >= 47.9,
                    "{name} at {width}×{height}: \"{label}\" is {} × {} dp",
                    size.width,
                    size.height
                );
            }
        }
    }
}
