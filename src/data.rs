//! The tables under `data/`, embedded in the program.
//!
//! The lowest layer: it hands out text and knows nothing of what stands in it. Each table is read once by the
//! module whose subject it is.

use include_dir::{Dir, include_dir};

static DATA: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/data");

/// Returns the text of a bundled table.
///
/// # Panics
/// When `name` is not a UTF-8 file under `data/`; the names are literals in this crate, and a test reads each.
#[must_use]
pub fn text(name: &str) -> &'static str {
    DATA.get_file(name).and_then(|file| file.contents_utf8()).expect("the table is bundled")
}
