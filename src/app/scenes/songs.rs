//! Songs and set lists.

use crate::songs::{SetListId, SongId};

use crate::app::action::Action;
use crate::app::exchange::{ExchangeAction, Out};
use crate::app::playing::PlayingAction;
use crate::app::screen::{Screen, Tab};
use crate::app::set_list::SetListAction;
use crate::app::settings::SettingsAction;
use crate::app::song::SongAction;
use crate::app::song_edit::SongEditAction;
use crate::app::song_tuning::SongTuningAction;
use crate::app::songs::{SongsAction, SongsView};
use crate::app::stage::StageAction;

use super::Scene;

/// A chart in which not everything is understood.
const NOT_ALL_UNDERSTOOD: &str =
    "Verse:\n| G | Zm | D |\n G      C      what  D\nTar on the rope and salt on the oar\n\nChorus:\n| C | G |\n";

/// A chart with four bars of a tab.
const WITH_A_TAB: &str = "Verse:\n G         D\nTar on the rope\n\ne|-0-----3-|-2-----0-|-----3---|-10----12|\n\
                          B|---0-----|---3-----|-1-------|---------|\nG|-----0---|-----2---|---0-----|---12----|\n\
                          D|---------|-0-------|---------|---------|\nA|---------|---------|-3-----0-|-----0---|\n\
                          E|-3-----3-|---------|---------|---------|\n\nSalt on the oar\n";

/// Two songs as a player has them, in one text.
const AS_SHE_HAS_THEM: &str = "Tar Barrel\nby: old Marten\nDrop D, capo high up\nTempo 96\n\nVerse 1\nD        G\nTar on the \
                               rope\n| D | Zm |\n=====\n[G]Coal on the quay and [C]none of it mine\n";

/// The songs' screens, with the invented songs. Their numbers are those of the first library they come into.
pub(super) fn scenes() -> Vec<Scene> {
    const FERRY_BELL: SongId = SongId(2);
    const SLIPWAY: SongId = SongId(3);
    const MITTEN: SongId = SongId(4);
    const QUAY_LAMP: SongId = SongId(11);
    const EVENING: SetListId = SetListId(12);
    let scene = Scene::new;
    let demo = |taps: Vec<Action>| {
        let loaded = [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice].into_iter();
        loaded.chain(taps).collect::<Vec<_>>()
    };
    let song =
        |id, taps: Vec<Action>| demo(std::iter::once(Action::Songs(SongsAction::Open(id))).chain(taps).collect());
    let set_list =
        |taps: Vec<Action>| demo(std::iter::once(Action::Songs(SongsAction::OpenList(EVENING))).chain(taps).collect());
    let next = || Action::Playing(PlayingAction::Next);
    let playing = |taps: Vec<PlayingAction>| {
        let begin = [Action::Song(SongAction::Play), Action::Playing(PlayingAction::CapoIsThere)];
        song(QUAY_LAMP, begin.into_iter().chain(taps.into_iter().map(Action::Playing)).collect())
    };
    // The clock is told the time in milliseconds.
    let by_clock = |told: Vec<f64>| {
        let ticks = told.into_iter().map(PlayingAction::Tick);
        playing(std::iter::once(PlayingAction::ToggleClock).chain(ticks).collect())
    };
    // Three songs of her own, and two days a quarter of a year apart.
    let long_ago = |taps: Vec<Action>| {
        let typed = |title: &str| Action::SongEdit(SongEditAction::Title(title.to_owned()));
        let done = || Action::SongEdit(SongEditAction::Done);
        let new = || Action::Songs(SongsAction::New);
        let songs =
            ["Anchor Watch", "Bilge", "Capstan Turn"].into_iter().flat_map(|title| [new(), typed(title), done()]);
        let days = [20_000, 20_092].map(|day| Action::Exchange(ExchangeAction::Today(day)));
        songs.chain([Action::Tab(Tab::Songs)]).chain(days).chain(taps).collect::<Vec<_>>()
    };
    // So many songs that their order is looked for beside the window.
    let long_evening = || {
        let add = [SLIPWAY, FERRY_BELL].map(|song| Action::Songs(SongsAction::Choose(song)));
        let there_and_back = std::iter::once(Action::SetList(SetListAction::Add)).chain(add).chain([Action::Back]);
        there_and_back.chain([Action::SetList(SetListAction::Order)]).collect()
    };
    let with_chart = |chart: &str, taps: Vec<Action>| {
        let typed = [SongEditAction::Chart(chart.to_owned()), SongEditAction::Done].map(Action::SongEdit);
        let edited = std::iter::once(Action::Song(SongAction::Edit)).chain(typed);
        song(FERRY_BELL, edited.chain(taps).collect())
    };
    let speaking = |code: &str| {
        demo(vec![
            Action::Settings(SettingsAction::Language(Some(code.to_owned()))),
            Action::Songs(SongsAction::OpenList(EVENING)),
            Action::SetList(SetListAction::Order),
        ])
    };
    vec![
        scene("songs-none-yet", vec![Action::Tab(Tab::Songs)]),
        scene("songs", demo(Vec::new())),
        scene("songs-found", demo(vec![Action::Songs(SongsAction::Search("low".to_owned()))])),
        scene("songs-set-lists", demo(vec![Action::Songs(SongsAction::View(SongsView::SetLists))])),
        scene("song", song(FERRY_BELL, Vec::new())),
        scene("song-words", song(MITTEN, Vec::new())),
        scene("song-to-retune", song(SLIPWAY, vec![Action::Song(SongAction::ShowCapos)])),
        scene("song-changed", song(FERRY_BELL, vec![Action::Song(SongAction::Transpose(2))])),
        scene("song-chord", song(FERRY_BELL, vec![Action::Song(SongAction::Chord(1))])),
        scene(
            "song-compare",
            song(
                SLIPWAY,
                vec![
                    Action::Song(SongAction::Compare),
                    Action::SongTuning(SongTuningAction::Choose("guitar-dadgad".to_owned())),
                ],
            ),
        ),
        scene("song-editor", song(SLIPWAY, vec![Action::Song(SongAction::Edit)])),
        scene(
            "song-editor-fault",
            song(
                SLIPWAY,
                vec![
                    Action::Song(SongAction::Edit),
                    Action::SongEdit(SongEditAction::Chart(NOT_ALL_UNDERSTOOD.to_owned())),
                    Action::SongEdit(SongEditAction::Line(1)),
                ],
            ),
        ),
        scene(
            "song-editor-lines",
            song(
                QUAY_LAMP,
                vec![
                    Action::Song(SongAction::Edit),
                    Action::SongEdit(SongEditAction::ShowLines),
                    Action::SongEdit(SongEditAction::Line(2)),
                ],
            ),
        ),
        scene(
            "song-tuning",
            song(SLIPWAY, vec![Action::Song(SongAction::Edit), Action::SongEdit(SongEditAction::Tuning)]),
        ),
        scene("playing", song(FERRY_BELL, vec![Action::Song(SongAction::Play), next(), next()])),
        scene("playing-words", playing(vec![PlayingAction::Next, PlayingAction::Next])),
        scene("playing-count-in", by_clock(vec![0.0])),
        scene("playing-by-clock", by_clock(vec![0.0, 9_000.0])),
        scene("playing-no-shapes", playing(vec![PlayingAction::ShowShapes])),
        scene(
            "playing-large-words",
            playing(vec![PlayingAction::WordsBy(8), PlayingAction::ChordsBy(-2), PlayingAction::Next]),
        ),
        scene("playing-settings", playing(vec![PlayingAction::ShowLook])),
        scene("playing-faults", with_chart(NOT_ALL_UNDERSTOOD, vec![Action::Song(SongAction::Play)])),
        scene("playing-tab", with_chart(WITH_A_TAB, vec![Action::Song(SongAction::Play)])),
        scene("song-tab", with_chart(WITH_A_TAB, Vec::new())),
        scene("set-list", set_list(Vec::new())),
        scene("set-list-ordered", set_list(vec![Action::SetList(SetListAction::Order), Action::CloseNotice])),
        scene("set-list-ordering", set_list(long_evening())),
        scene("set-list-editor", set_list(vec![Action::SetList(SetListAction::Edit)])),
        scene("song-choice", set_list(vec![Action::SetList(SetListAction::Add)])),
        scene("on-stage", set_list(vec![Action::Stage(StageAction::Begin), next()])),
        scene("exchange", vec![Action::Tab(Tab::Songs), Action::Open(Screen::Exchange)]),
        scene(
            "exchange-fault",
            vec![
                Action::Tab(Tab::Songs),
                Action::Open(Screen::Exchange),
                Action::Exchange(ExchangeAction::Typed("{\"format\": \"a library\"".to_owned())),
                Action::Exchange(ExchangeAction::Read),
            ],
        ),
        scene(
            "exchange-read",
            vec![
                Action::Tab(Tab::Songs),
                Action::Open(Screen::Exchange),
                Action::Exchange(ExchangeAction::Typed(AS_SHE_HAS_THEM.to_owned())),
                Action::Exchange(ExchangeAction::Read),
            ],
        ),
        scene("songs-export-due", long_ago(Vec::new())),
        scene("exchange-due", long_ago(vec![Action::Open(Screen::Exchange)])),
        scene(
            "exchange-items",
            demo(vec![
                Action::Open(Screen::Exchange),
                Action::Exchange(ExchangeAction::Typed(
                    "Slipway Number Nine\nFrom: the ferry house sessions\nTuning: D2 G2 D3 G3 B3 D4\n\n| G | C |"
                        .to_owned(),
                )),
                Action::Exchange(ExchangeAction::Read),
            ]),
        ),
        scene("outgoing", song(SLIPWAY, vec![Action::Exchange(ExchangeAction::Out(Out::SongText(SLIPWAY)))])),
        // The longest words of the bar.
        scene("set-list-german", speaking("de")),
        scene("set-list-french", speaking("fr")),
        scene("set-list-spanish", speaking("es")),
    ]
}
