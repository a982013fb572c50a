//! The About screen.

use crate::app::{lines as drawn_lines, ui};

use super::rows;

/// What is bundled, and under which licence.
const LICENCES: [(&str, &str); 5] = [
    ("Pegwise", "MIT OR Apache-2.0"),
    ("Slint", "Royalty-free 2.0"),
    ("Letters", "OFL-1.1"),
    ("♭ ♮ ♯", "OFL-1.1"),
    ("Rust", "MIT OR Apache-2.0"),
];

/// So many lines are drawn as one piece.
const LINES_OF_A_PIECE: usize = 40;

/// Fills the About screen; `place` is where the player's library is kept.
pub(in crate::app) fn show_about(place: &str, to: &ui::AboutState<'_>) {
    to.set_version(env!("CARGO_PKG_VERSION").into());
    let row = |(name, licence): (&str, &str)| ui::LicenceRow { name: name.into(), licence: licence.into() };
    to.set_licences(rows(LICENCES.map(row)));
    to.set_library_place(place.into());
}

/// Fills the page of all licences, in pieces of a few lines, once: it never changes.
pub(in crate::app) fn show_licences(to: &ui::LicencesState<'_>) {
    use slint::Model;
    if to.get_pieces().row_count() == 0 {
        let pieces = crate::data::text("licences.txt").split("\n\n").map(str::trim).filter(|piece| !piece.is_empty());
        let parts = pieces.flat_map(|piece| {
            let lines: Vec<&str> = piece.lines().collect();
            lines.chunks(LINES_OF_A_PIECE).map(|part| drawn_lines(&part.join("\n"))).collect::<Vec<_>>()
        });
        to.set_pieces(rows(parts.map(slint::SharedString::from)));
    }
}
