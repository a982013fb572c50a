//! Every screen as a picture, drawn without a display by the renderer the desktop uses.

use std::fmt;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;
use std::rc::Rc;

use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter};
use slint::{ComponentHandle, LogicalSize, PhysicalSize, PlatformError};

use crate::store::{Library, SaveError, Theme};
use crate::theory::Naming;

use super::guide::GuideAction;
use super::instrument::InstrumentAction;
use super::key_plan::KeyPlanAction;
use super::neck::NeckAction;
use super::own_tuning::OwnTuningAction;
use super::pick::PickAction;
use super::retune::RetuneAction;
use super::settings::SettingsAction;
use super::shapes::{Labels, ShapesAction};
use super::state::{Action, Notice, Screen, State, Tab};
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

/// The first run, settings and what is told, in their main states.
fn first_scenes() -> Vec<Scene> {
    let scene = |name, taps| Scene { name, taps };
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
fn messages() -> [(&'static str, Notice); 6] {
    [
        ("message-library-missing", Notice::LibraryMissing),
        ("message-library-restored", Notice::LibraryRestored("pegwise-library.damaged-1.json".to_owned())),
        ("message-not-moved", Notice::LibraryDamaged(String::new())),
        ("message-no-room", Notice::SaveFailed(SaveError::DiskFull)),
        ("message-would-break", Notice::StringWouldBreak(1)),
        ("message-no-place", Notice::NoPlaceForLibrary),
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
    let told = messages().map(|(name, notice)| (Scene { name, taps: Vec::new() }, Some(notice)));
    let quiet = scenes().into_iter().chain(first_scenes()).map(|scene| (scene, None));
    for (scene, notice) in quiet.chain(told) {
        for (width, height, theme, theme_name) in LOOKS {
            let path = folder.join(format!("{}-{width}x{height}-{theme_name}.png", scene.name));
            draw(&scene, notice.clone(), theme, (width, height), &path)?;
            drawn += 1;
        }
    }
    Ok(drawn)
}

fn draw(
    scene: &Scene,
    notice: Option<Notice>,
    theme: Theme,
    (width, height): (u32, u32),
    path: &Path,
) -> Result<(), PictureError> {
    let mut library = Library::default();
    library.settings.theme = theme;
    library.settings.has_seen_guide = true;
    let mut state = State::new(library);
    state.notice = notice;
    let app = App::unkept(state).map_err(|fault| PictureError::Window(fault.to_string()))?;
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
