//! Opening the player's library, and telling what became of it.

use std::path::Path;

use crate::store::{Found, Library, LibraryFile, Storage};

use crate::app::notice::Notice;

/// Opens the library of a folder: the file to save to, what it holds, and what the player is told.
///
/// A damaged library is set aside under a name that is told; the version before takes its place where there is one.
/// One that cannot be read now, or is of a later version, is left alone and nothing is saved over it.
pub(super) fn open(storage: Box<dyn Storage>, folder: Option<&Path>) -> (Option<LibraryFile>, Library, Option<Notice>) {
    let Some(folder) = folder else { return (None, Library::default(), Some(Notice::NoPlaceForLibrary)) };
    let opened = match LibraryFile::open(storage, folder) {
        Ok(opened) => opened,
        Err(fault) => return (None, Library::default(), Some(Notice::LibraryUnreachable(fault.to_string()))),
    };
    let name = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let (library, notice) = match opened.found {
        Found::Nothing | Found::Whole => (opened.library, None),
        Found::Mended(mended) => {
            let notice = match (mended.set_aside, mended.given_back) {
                (0, 0) => None,
                (0, back) => Some(Notice::PartsGivenBack(back)),
                (aside, _) => Some(Notice::PartsSetAside(aside)),
            };
            (opened.library, notice)
        }
        Found::Newer { .. } => (opened.library, Some(Notice::LibraryNewer)),
        Found::Damaged { set_aside, previous, .. } => {
            let kept_as = set_aside.as_deref().map(name).unwrap_or_default();
            match previous {
                Some(previous) => (*previous, Some(Notice::LibraryRestored(kept_as))),
                None => (opened.library, Some(Notice::LibraryDamaged(kept_as))),
            }
        }
        Found::OnlyPrevious { previous } => (*previous, Some(Notice::LibraryMissing)),
    };
    (Some(opened.file), library, notice)
}
