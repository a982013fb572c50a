//! Every screen as a picture, drawn without a display by the renderer the desktop uses.

use std::fmt;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;
use std::rc::Rc;

use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter};
use slint::{ComponentHandle, LogicalSize, PhysicalSize, PlatformError};

use crate::songs::{SetListId, SongId};
use crate::store::{Library, Theme};

use super::exchange::{ExchangeAction, Out};
use super::instrument::InstrumentAction;
use super::key_plan::KeyPlanAction;
use super::neck::NeckAction;
use super::own_tuning::OwnTuningAction;
use super::pick::PickAction;
use super::playing::PlayingAction;
use super::retune::RetuneAction;
use super::set_list::SetListAction;
use super::settings::SettingsAction;
use super::shapes::{Labels, ShapesAction};
use super::song::SongAction;
use super::song_edit::SongEditAction;
use super::song_tuning::SongTuningAction;
use super::songs::{SongsAction, SongsView};
use super::stage::StageAction;
use super::state::{Action, Screen, State, Tab};
use super::tunings::{TuningsAction, TuningsView};
use super::window::App;

/// A display that is only memory.
struct Headless;

impl Platform for Headless {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer))
    }
}

/// The sizes in dp and the colours that are drawn: a small and a large phone in light and dark, then the smallest in the
/// sun, a phone on its side, and a tablet.
const LOOKS: [(u32, u32, Theme, &str); 7] = [
    (360, 640, Theme::Light, "light"),
    (360, 640, Theme::Dark, "dark"),
    (412, 915, Theme::Light, "light"),
    (412, 915, Theme::Dark, "dark"),
    (320, 568, Theme::Sunlight, "sunlight"),
    (915, 412, Theme::Light, "light"),
    (800, 1280, Theme::Dark, "dark"),
];

/// A screen in one of its main states: a name, and the taps that lead there from the first launch.
struct Scene {
    name: &'static str,
    taps: Vec<Action>,
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn search(text: &str) -> Action {
    Action::Tunings(TuningsAction::Search(text.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

/// The screens in their main states.
fn scenes() -> Vec<Scene> {
    let scene = |name, taps| Scene { name, taps };
    let in_g6 = || vec![choose("guitar-g6"), CONFIRM, CONFIRM, Action::Retune(RetuneAction::CheckDone)];
    let after = |before: Vec<Action>, taps: Vec<Action>| before.into_iter().chain(taps).collect::<Vec<_>>();
    let shapes = || after(in_g6(), vec![Action::Tab(Tab::Shapes)]);
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
        scene("retune-second-way", vec![choose("guitar-g6"), Action::Retune(RetuneAction::Way(1))]),
        scene("retune-tighten", vec![choose("guitar-open-a"), CONFIRM]),
        scene("retune-from-a-tone", vec![Action::Tab(Tab::Retune), Action::Retune(RetuneAction::DoubtAll)]),
        scene(
            "retune-pairs",
            vec![Action::Instrument(InstrumentAction::Instrument("mandolin".to_owned())), choose("mandolin-gdgd")],
        ),
        scene("retune-risk", vec![choose("guitar-high-strung")]),
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
            "own-tuning-fault",
            vec![
                Action::OwnTuning(OwnTuningAction::New),
                Action::OwnTuning(OwnTuningAction::Notes("D G D X B E".to_owned())),
            ],
        ),
        scene("more", vec![Action::Tab(Tab::More)]),
        scene("instrument", vec![Action::Tab(Tab::More), Action::Open(Screen::Instrument)]),
        scene("settings", vec![Action::Tab(Tab::More), Action::Open(Screen::Settings)]),
        scene("about", vec![Action::Tab(Tab::More), Action::Open(Screen::About)]),
    ]
}

/// The songs' screens, with the invented songs. Their numbers are those of the first library they come into.
fn song_scenes() -> Vec<Scene> {
    const FERRY_BELL: SongId = SongId(2);
    const SLIPWAY: SongId = SongId(3);
    const EVENING: SetListId = SetListId(12);
    let scene = |name, taps: Vec<Action>| Scene { name, taps };
    let demo = |taps: Vec<Action>| {
        let loaded = [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice].into_iter();
        loaded.chain(taps).collect::<Vec<_>>()
    };
    let song =
        |id, taps: Vec<Action>| demo(std::iter::once(Action::Songs(SongsAction::Open(id))).chain(taps).collect());
    let set_list =
        |taps: Vec<Action>| demo(std::iter::once(Action::Songs(SongsAction::OpenList(EVENING))).chain(taps).collect());
    let next = || Action::Playing(PlayingAction::Next);
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
        // The longest words of the bar. Last: a language once chosen stays for the whole process.
        scene("set-list-german", speaking("de")),
        scene("set-list-french", speaking("fr")),
        scene("set-list-spanish", speaking("es")),
    ]
}

/// Draws every screen in its main states into PNG files in `folder` and returns how many.
///
/// # Errors
/// When the folder cannot be written, or a window exists in this process already.
pub fn draw_screens(folder: &Path) -> Result<usize, PictureError> {
    std::fs::create_dir_all(folder).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    slint::platform::set_platform(Box::new(Headless)).map_err(|fault| PictureError::Window(fault.to_string()))?;
    let mut drawn = 0;
    for scene in scenes().into_iter().chain(song_scenes()) {
        for (width, height, theme, theme_name) in LOOKS {
            let path = folder.join(format!("{}-{width}x{height}-{theme_name}.png", scene.name));
            draw(&scene, theme, (width, height), &path)?;
            drawn += 1;
        }
    }
    Ok(drawn)
}

fn draw(scene: &Scene, theme: Theme, (width, height): (u32, u32), path: &Path) -> Result<(), PictureError> {
    let mut library = Library::default();
    library.settings.theme = theme;
    let app = App::unkept(State::new(library)).map_err(|fault| PictureError::Window(fault.to_string()))?;
    for tap in &scene.taps {
        app.act(tap.clone());
    }
    let window = app.window();
    let show = window.show();
    #[expect(clippy::cast_precision_loss, reason = "a screen is a few thousand dp wide")]
    window.window().set_size(LogicalSize::new(width as f32, height as f32));
    let picture = show.and_then(|()| window.window().take_snapshot());
    let picture = picture.map_err(|fault| PictureError::Window(fault.to_string()))?;
    debug_assert_eq!(window.window().size(), PhysicalSize::new(picture.width(), picture.height()), "drawn whole");
    let file = File::create(path).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    let mut encoder = png::Encoder::new(BufWriter::new(file), picture.width(), picture.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let written = encoder.write_header().and_then(|mut writer| writer.write_image_data(picture.as_bytes()));
    written.map_err(|fault| PictureError::Folder(fault.to_string()))
}

/// Why a picture could not be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PictureError {
    /// The folder or a file in it cannot be written.
    Folder(String),
    /// There is no window to draw.
    Window(String),
}

impl fmt::Display for PictureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(fault) => write!(f, "the pictures cannot be written: {fault}"),
            Self::Window(fault) => write!(f, "the screens cannot be drawn: {fault}"),
        }
    }
}

impl std::error::Error for PictureError {}
