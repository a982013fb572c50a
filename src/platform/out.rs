//! The way of a file out of the app.

use std::fmt;

/// Hears what became of a file that was handed on, on any thread: where it lies besides, empty where it lies nowhere else, or
/// nothing where the player thought better of it.
pub type OnShared = Box<dyn FnOnce(Result<Option<String>, ShareFault>) + Send>;

/// Why a machine could not hand a file on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ShareFault {
    /// The system is too old to take such a file from an app that has no permission to write anywhere.
    TooOld,
    /// It was tried and failed; the system's own words.
    Failed(String),
}

impl fmt::Display for ShareFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooOld => f.write_str("files need Android 10 or newer; text can still be shared"),
            Self::Failed(words) => f.write_str(words),
        }
    }
}

impl std::error::Error for ShareFault {}
