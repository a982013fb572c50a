//! A desktop computer: the app's home while it is made, and a good enough one to use it.

use std::path::PathBuf;

use directories::{ProjectDirs, UserDirs};

use super::{Machine, Microphone, OnMoment};

/// A desktop computer. Its screen is left alone, the system guards its microphone by itself, and it tells of no
/// [`Moment`](super::Moment): a window that is closed says so on its own.
#[derive(Clone, Copy, Debug, Default)]
pub struct Desktop;

impl Machine for Desktop {
    /// The place each system has for it: `$XDG_DATA_HOME/pegwise` or `~/.local/share/pegwise` by the XDG Base Directory
    /// Specification 0.8, `Application Support` on macOS, `AppData\Roaming` on Windows.
    fn data_folder(&self) -> Option<PathBuf> {
        ProjectDirs::from("", "", "pegwise").map(|folders| folders.data_dir().to_owned())
    }

    /// Where the system keeps the player's documents; the home folder where it names no such place.
    fn documents_folder(&self) -> Option<PathBuf> {
        UserDirs::new().map(|folders| folders.document_dir().unwrap_or_else(|| folders.home_dir()).to_owned())
    }

    fn opens_files(&self) -> bool {
        true
    }

    #[cfg(feature = "app")]
    fn pick(&self, pick: super::Pick, answer: super::OnPicked) {
        super::picker::pick(pick, answer);
    }

    fn keep_awake(&self, _awake: bool) {}

    fn microphone(&self) -> Microphone {
        Microphone::Granted
    }

    fn ask_for_microphone(&self) {}

    fn on_moment(&self, _handler: OnMoment) {}

    fn on_end(&self, end: Box<dyn Fn() + Send>) {
        super::on_end(end);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folder_bears_the_name_of_the_app() {
        let folder = Desktop.data_folder();
        assert!(folder.is_none_or(|folder| folder.iter().any(|part| part.eq_ignore_ascii_case("pegwise"))));
    }
}
