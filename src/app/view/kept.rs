//! What is kept beside the library.

use std::time::SystemTime;

use crate::app::{MOST_PARTS, State, line, part_pages, ui};
use crate::store::{SetAside, Version, VersionKind};

use super::{count, rows};

/// Fills the page. `can_write` tells whether there is a folder for files.
pub(in crate::app) fn show_kept(state: &State, can_write: bool, now: Option<SystemTime>, to: &ui::KeptState<'_>) {
    let versions = state.beside.versions.as_deref().unwrap_or_default();
    to.set_listed(state.beside.versions.is_some() || !can_write);
    to.set_versions(rows(versions.iter().enumerate().map(|(index, version)| version_view(index, version, now))));
    let pages = part_pages(&state.library);
    let page = state.beside.page.min(pages - 1);
    let parts = state.library.set_aside().iter().enumerate().skip(page * MOST_PARTS).take(MOST_PARTS);
    to.set_parts(rows(parts.map(|(index, part)| part_view(index, part))));
    to.set_page(count(page));
    to.set_pages(count(pages));
    to.set_can_write(can_write);
    let (file, fault) = match &state.beside.told {
        None => ("", ""),
        Some(Ok(file)) => (file.as_str(), ""),
        Some(Err(fault)) => ("", fault.as_str()),
    };
    to.set_file(file.into());
    to.set_fault(fault.into());
}

fn version_view(index: usize, version: &Version, now: Option<SystemTime>) -> ui::VersionView {
    let minutes = now.zip(version.written).and_then(|(now, then)| now.duration_since(then).ok());
    let minutes = minutes.map(|age| age.as_secs() / 60);
    let (age, unit) = match minutes {
        None => (0, ui::AgeUnit::Unknown),
        Some(minutes) if minutes < 90 => (minutes, ui::AgeUnit::Minutes),
        Some(minutes) if minutes < 36 * 60 => (minutes / 60, ui::AgeUnit::Hours),
        Some(minutes) => (minutes / (24 * 60), ui::AgeUnit::Days),
    };
    ui::VersionView {
        number: (index + 1).to_string().into(),
        name: version.name.as_str().into(),
        kind: match version.kind {
            VersionKind::Previous => ui::KeptKind::Previous,
            VersionKind::Version => ui::KeptKind::Version,
            VersionKind::Damaged => ui::KeptKind::Damaged,
            VersionKind::Other => ui::KeptKind::Other,
            VersionKind::Kept => ui::KeptKind::Kept,
        },
        age: i32::try_from(age).unwrap_or(i32::MAX),
        unit,
        readable: version.songs.is_some(),
        songs: count(version.songs.unwrap_or(0)),
    }
}

fn part_view(index: usize, part: &SetAside) -> ui::PartView {
    let name = if part.name.is_empty() { part.field.as_str() } else { part.name.as_str() };
    ui::PartView {
        index: count(index),
        name: line(name).into(),
        field: part.field.as_str().into(),
        why: line(&part.why).into(),
    }
}
