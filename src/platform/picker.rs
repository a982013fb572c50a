//! The system's own way to choose a file.
//!
//! On Linux that is the desktop's portal (`org.freedesktop.portal.FileChooser`, XDG Desktop Portal documentation). A desktop
//! without one has no picker: then the app asks for a path in words.

use std::path::PathBuf;

/// What the player is asked to choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pick {
    /// A file to be read.
    Open {
        /// The folder that is shown first.
        folder: Option<PathBuf>,
    },
    /// Where a file goes; the system asks before one that is there is replaced.
    Save {
        /// What it is called if the player says nothing else.
        name: String,
        /// The folder that is shown first.
        folder: Option<PathBuf>,
    },
}

/// What became of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Picked {
    /// This file.
    File(PathBuf),
    /// A file that has no path, with what it holds; or why it cannot be read.
    Read(Result<Vec<u8>, String>),
    /// The player closed the picker.
    Closed,
    /// There is none here.
    NoPicker,
}

/// Hears what the player chose; called on any thread.
pub type OnPicked = Box<dyn FnOnce(Picked) + Send>;

/// Asks the player beside the window's thread. To be called on it: macOS opens its picker from nowhere else.
#[cfg(all(feature = "app", not(any(target_os = "android", target_arch = "wasm32"))))]
pub(super) fn pick(pick: Pick, answer: OnPicked) {
    use std::pin::Pin;
    use std::thread;

    use rfd::{AsyncFileDialog, FileHandle};

    type Choice = Pin<Box<dyn Future<Output = Option<FileHandle>> + Send>>;

    let ask = move || -> Choice {
        let dialog = |folder: Option<PathBuf>| {
            let dialog = AsyncFileDialog::new();
            folder.into_iter().fold(dialog, AsyncFileDialog::set_directory)
        };
        match pick {
            Pick::Open { folder } => Box::pin(dialog(folder).pick_file()),
            Pick::Save { name, folder } => Box::pin(dialog(folder).set_file_name(name).save_file()),
        }
    };
    let told = |choice: Choice| match pollster::block_on(choice) {
        Some(file) => Picked::File(file.path().to_owned()),
        None => Picked::Closed,
    };
    #[cfg(target_os = "linux")]
    let wait = move || answer(if has_portal() { told(ask()) } else { Picked::NoPicker });
    #[cfg(not(target_os = "linux"))]
    let wait = {
        let choice = ask();
        move || answer(told(choice))
    };
    // Without a thread nothing can wait for the player.
    let _ = thread::Builder::new().name("pegwise-picker".to_owned()).spawn(wait);
}

/// Returns whether the desktop's portal answers for choosing files. Starting it may take some seconds.
#[cfg(all(feature = "app", target_os = "linux"))]
fn has_portal() -> bool {
    const PORTAL: &str = "org.freedesktop.portal.Desktop";
    const LONGEST: std::time::Duration = std::time::Duration::from_secs(10);
    pollster::block_on(async {
        let bus = zbus::connection::Builder::session()?.method_timeout(LONGEST).build().await?;
        let of_what = ("org.freedesktop.portal.FileChooser", "version");
        let asks = Some("org.freedesktop.DBus.Properties");
        bus.call_method(Some(PORTAL), "/org/freedesktop/portal/desktop", asks, "Get", &of_what).await
    })
    .is_ok()
}
