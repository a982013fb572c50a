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
use super::playing::Clock;
use super::scenes::{Scene, scenes};
use super::screen::Screen;
use super::state::State;
use super::window::App;

/// A display that is only memory.
struct Headless;

impl Platform for Headless {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer))
    }
}

/// How the screens are drawn.
struct Look {
    /// Width and height in dp.
    size: (u32, u32),
    theme: Theme,
    /// What it is called in the files' names.
    name: &'static str,
    /// The phone's text size.
    text_dp: f32,
}

/// The phone's text size at 100 %, in dp.
const TEXT_DP: f32 = 14.0;

/// A small and a large phone in light and dark, then the smallest in the sun, a phone on its side, a tablet, and a small
/// phone whose text is as large as a phone lets it be.
const LOOKS: [Look; 8] = [
    Look { size: (360, 640), theme: Theme::Light, name: "light", text_dp: TEXT_DP },
    Look { size: (360, 640), theme: Theme::Dark, name: "dark", text_dp: TEXT_DP },
    Look { size: (412, 915), theme: Theme::Light, name: "light", text_dp: TEXT_DP },
    Look { size: (412, 915), theme: Theme::Dark, name: "dark", text_dp: TEXT_DP },
    Look { size: (320, 568), theme: Theme::Sunlight, name: "sunlight", text_dp: TEXT_DP },
    Look { size: (915, 412), theme: Theme::Light, name: "light", text_dp: TEXT_DP },
    Look { size: (800, 1280), theme: Theme::Dark, name: "dark", text_dp: TEXT_DP },
    Look { size: (360, 640), theme: Theme::Light, name: "light-text-200", text_dp: 2.0 * TEXT_DP },
];

/// Draws every screen, or those named in `only`, in its main states into PNG files in `folder`, and for each way of drawing one sheet with all
/// of them; returns how many pictures there are. `sheets.txt` names what stands on a sheet, row after row.
///
/// # Errors
/// When the folder cannot be written, or a window exists in this process already.
pub fn draw_screens(folder: &Path, only: &[String]) -> Result<usize, PictureError> {
    std::fs::create_dir_all(folder).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    slint::platform::set_platform(Box::new(Headless)).map_err(|fault| PictureError::Window(fault.to_string()))?;
    let mut scenes = scenes();
    scenes.retain(|scene| only.is_empty() || only.iter().any(|name| *name == scene.name));
    let mut drawn = 0;
    for look in &LOOKS {
        let ((width, height), name) = (look.size, look.name);
        let mut small = Vec::with_capacity(scenes.len());
        for scene in &scenes {
            let picture = draw(scene, look)?;
            write(&picture, &folder.join(format!("{}-{width}x{height}-{name}.png", scene.name)))?;
            small.push(picture.smaller(factor_for(picture.width)));
            drawn += 1;
        }
        write(&sheet(&small), &folder.join(format!("sheet-{width}x{height}-{name}.png")))?;
        drawn += 1;
    }
    let names: String = scenes.iter().map(|scene| format!("{}\n", scene.name)).collect();
    std::fs::write(folder.join("sheets.txt"), names).map_err(|fault| PictureError::Folder(fault.to_string()))?;
    Ok(drawn)
}

fn draw(scene: &Scene, look: &Look) -> Result<Picture, PictureError> {
    let (width, height) = look.size;
    let mut library = Library::default();
    library.settings.theme = look.theme;
    library.settings.has_seen_guide = true;
    library.settings.has_heard_wobble = true;
    let mut state = State::new(library);
    state.notice.clone_from(&scene.notice);
    let app = App::unkept(state).map_err(|fault| PictureError::Window(fault.to_string()))?;
    for tap in &scene.taps {
        app.act(tap.clone());
    }
    let window = app.window();
    window.set_text_size(look.text_dp);
    let show = window.show();
    #[expect(clippy::cast_precision_loss, reason = "a screen is a few thousand dp wide")]
    window.window().set_size(LogicalSize::new(width as f32, height as f32));
    // A page to play from is told its room after the first layout, and fitted to it.
    if app.with(|state| state.screen() == Screen::Playing && state.playing.clock == Clock::Off) {
        for _ in 0..2 {
            let _ = window.window().take_snapshot();
            slint::platform::update_timers_and_animations();
        }
    }
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
