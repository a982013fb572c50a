//! Files that a machine keeps for the app in a place of its own: a browser's store.

use std::fmt;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::SystemTime;

/// Names, and what each holds from now on and when that was written; nothing where it is gone.
pub type FileChanges = Vec<(String, Option<(Arc<[u8]>, SystemTime)>)>;
/// Hears whether changes were kept: [`io::ErrorKind::QuotaExceeded`] where there is no room.
pub type OnKept = Box<dyn FnOnce(io::Result<()>) + Send>;
/// Keeps changes, all of them or none, and answers later.
pub type KeepFiles = Box<dyn Fn(FileChanges, OnKept) + Send>;

/// What a machine keeps.
pub struct KeptFiles {
    /// How the place is called.
    pub place: PathBuf,
    /// Names, what each holds, and when it was written.
    pub files: Vec<(String, Vec<u8>, SystemTime)>,
    /// Keeps what changes.
    pub keep: KeepFiles,
    /// Tells the time.
    pub clock: fn() -> SystemTime,
}

impl fmt::Debug for KeptFiles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("KeptFiles")
            .field("place", &self.place)
            .field("files", &self.files.len())
            .finish_non_exhaustive()
    }
}
