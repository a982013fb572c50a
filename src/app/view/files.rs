//! A file's path, where it has to be typed.

use crate::app::{State, ui};

/// Fills the field. `opens` tells whether there are files that a player may open.
pub(in crate::app) fn show_files(state: &State, opens: bool, to: &ui::FilesState<'_>) {
    to.set_opens(opens);
    let typed = state.typed_path.as_ref();
    to.set_asked(typed.is_some());
    let path = typed.map_or("", |typed| typed.path.as_str());
    if to.get_path() != path {
        to.set_path(path.into());
    }
}
