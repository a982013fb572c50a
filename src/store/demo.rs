//! Something to try the app with, loaded only when the player asks for it.

use super::library::Library;
use super::read::read;

/// Returns the library of `data/demo.json`, to be taken in with [`Library::import`].
///
/// # Panics
/// Never: a test reads the bundled file.
#[must_use]
pub fn demo() -> Library {
    read(crate::data::text("demo.json").as_bytes()).expect("a test reads the bundled library")
}
