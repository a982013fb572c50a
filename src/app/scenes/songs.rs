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

/// The songs' screens, with the invented songs. Their numbers are those of the first library they come into.
pub(super) fn scenes() -> Vec<Scene> {
    const FERRY_BELL: SongId = SongId(2);
    const SLIPWAY: SongId = SongId(3);
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
    // So many songs that their order is looked for beside the window.
    let long_evening = || {
        let add = [SLIPWAY, FERRY_BELL].map(|song| Action::Songs(SongsAction::Choose(song)));
        let there_and_back = std::iter::once(Action::SetList(SetListAction::Add)).chain(add).chain([Action::Back]);
        there_and_back.chain([Action::SetList(SetListAction::Order)]).collect()
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
                    Action::SongEdit(SongEditAction::Chart("Verse:\n| G | Hm | D |".to_owned())),
                ],
            ),
        ),
        scene(
            "song-tuning",
            song(SLIPWAY, vec![Action::Song(SongAction::Edit), Action::SongEdit(SongEditAction::Tuning)]),
        ),
        scene("playing", song(FERRY_BELL, vec![Action::Song(SongAction::Play), next(), next()])),
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
                Action::Exchange(ExchangeAction::Typed("Tar Barrel\n| G | C |".to_owned())),
                Action::Exchange(ExchangeAction::Read),
            ],
        ),
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
