//! Every screen as a picture, drawn without a display by the renderer the desktop uses.

use std::fmt;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;
use std::rc::Rc;

use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter};
use slint::{ComponentHandle, LogicalSize, PhysicalSize, PlatformError};

use crate::store::{Library, Theme};

use super::contact_sheet::{Picture, factor_for, sheet};
use super::instrument::InstrumentAction;
use super::key_plan::KeyPlanAction;
use super::neck::NeckAction;
use super::own_tuning::OwnTuningAction;
use super::pick::PickAction;
use super::retune::RetuneAction;
use super::shapes::{Labels, ShapesAction};
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
#[derive(Clone, Debug)]
pub struct Scene {
    /// What its pictures are called.
    pub name: &'static str,
    /// What leads there.
    pub taps: Vec<Action>,
}

fn choose(id: &str) -> Action {
    Action::Tunings(TuningsAction::Choose(id.to_owned()))
}

fn search(text: &str) -> Action {
    Action::Tunings(TuningsAction::Search(text.to_owned()))
}

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

/// Returns the screens in their main states: they are drawn, and the tests hold each of them to every size.
#[must_use]
pub fn scenes() -> Vec<Scene> {
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

/// Draws every screen in its main states into PNG files in `folder`, and for each size and theme one sheet with all of
/// them; returns how many pictures there are. `sheets.txt` names what stands on a sheet, row after row.
///
/// # Errors
/// When the folder cannot be written, or a window exists in this process already.
pub fn draw_screens(folder: &Path) -> Result<usize, PictureError> {
    std::fs::create_dir_all(folder).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    slint::platform::set_platform(Box::new(Headless)).map_err(|fault| PictureError::Window(fault.to_string()))?;
    let scenes = scenes();
    let mut drawn = 0;
    for (width, height, theme, theme_name) in LOOKS {
        let mut small = Vec::with_capacity(scenes.len());
        for scene in &scenes {
            let picture = draw(scene, theme, (width, height))?;
            write(&picture, &folder.join(format!("{}-{width}x{height}-{theme_name}.png", scene.name)))?;
            small.push(picture.smaller(factor_for(picture.width)));
            drawn += 1;
        }
        write(&sheet(&small), &folder.join(format!("sheet-{width}x{height}-{theme_name}.png")))?;
        drawn += 1;
    }
    let names: String = scenes.iter().map(|scene| format!("{}\n", scene.name)).collect();
    std::fs::write(folder.join("sheets.txt"), names).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    Ok(drawn)
}

fn draw(scene: &Scene, theme: Theme, (width, height): (u32, u32)) -> Result<Picture, PictureError> {
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
    let size = |points: u32| usize::try_from(points).unwrap_or_default();
    let bytes = picture.as_bytes().to_vec();
    Ok(Picture { width: size(picture.width()), height: size(picture.height()), bytes })
}

fn write(picture: &Picture, path: &Path) -> Result<(), PictureError> {
    let told = |fault: &dyn fmt::Display| PictureError::Folder(fault.to_string());
    let file = File::create(path).map_err(|fault| told(&fault))?;
    let [width, height] = [picture.width, picture.height].map(|points| u32::try_from(points).unwrap_or_default());
    let mut encoder = png::Encoder::new(BufWriter::new(file), width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let written = encoder.write_header().and_then(|mut writer| writer.write_image_data(&picture.bytes));
    written.map_err(|fault| told(&fault))
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
