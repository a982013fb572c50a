//! The About screen.

use crate::app::ui;

use super::rows;

/// What is bundled, and under which licence.
const LICENCES: [(&str, &str); 5] = [
    ("Pegwise", "MIT OR Apache-2.0"),
    ("Slint", "Royalty-free 2.0"),
    ("Letters", "OFL-1.1"),
    ("♭ ♮ ♯", "OFL-1.1"),
    ("Rust", "MIT OR Apache-2.0"),
];

/// Fills the About screen; `place` is where the player's library is kept.
pub(in crate::app) fn show_about(place: &str, to: &ui::AboutState<'_>) {
    to.set_version(env!("CARGO_PKG_VERSION").into());
    let row = |(name, licence): (&str, &str)| ui::LicenceRow { name: name.into(), licence: licence.into() };
    to.set_licences(rows(LICENCES.map(row)));
    to.set_library_place(place.into());
}
