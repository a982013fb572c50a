//! Files that go out or come in, and their paths in words where the system has no way to choose one.

use super::next::Next;
use super::screen::Screen;

/// What a file is wanted for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFor {
    /// To be read and taken in.
    Import,
    /// What goes out: library, set list, song.
    Export,
    /// The page that is handed out.
    Sheet,
    /// A file beside the library, by its name.
    Version(String),
    /// A part that could not be read, by its place.
    Part(usize),
}

impl FileFor {
    /// Returns the screen on which it is asked for.
    const fn screen(&self) -> Screen {
        match self {
            Self::Import => Screen::Exchange,
            Self::Export => Screen::Outgoing,
            Self::Sheet => Screen::HandOut,
            Self::Version(_) | Self::Part(_) => Screen::Kept,
        }
    }
}

/// A path that is typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TypedPath {
    /// What for.
    pub what: FileFor,
    /// As far as it is typed.
    pub path: String,
}

/// What is done about the path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FilesAction {
    /// Ask for a path, beginning with this one.
    Ask(FileFor, String),
    /// It is this.
    Typed(String),
    /// Ask no more.
    Done,
}

pub(super) fn update(asked: &mut Option<TypedPath>, action: FilesAction) -> Next {
    match action {
        FilesAction::Ask(what, path) => *asked = Some(TypedPath { what, path }),
        FilesAction::Typed(path) => {
            if let Some(typed) = asked {
                typed.path = path;
            }
        }
        FilesAction::Done => *asked = None,
    }
    Next::Shown
}

/// A path is asked for on its own screen only.
pub(super) fn settle(asked: &mut Option<TypedPath>, screen: Screen) {
    asked.take_if(|typed| typed.what.screen() != screen);
}
