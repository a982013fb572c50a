//! A reminder to write the library out, where that is long ago: calm, and put off by a tap.

use std::collections::HashSet;

use crate::songs::{ChosenTuning, Song, SongId};
use crate::store::{ExportReminder, Library, demo};

use super::desk::Desk;
use super::next::Next;

/// So many things of the player's own are worth a reminder.
pub const WORTH_A_REMINDER: usize = 3;
/// The reminder comes so many days after the last export, or after there was first something worth losing.
pub const REMINDED_AFTER_DAYS: u32 = 60;
/// Put off, it stays away for so many days.
pub const PUT_OFF_DAYS: u32 = 30;

/// What a player is told about the last export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExportDue {
    /// How many days ago it was; `None` where nothing was ever written out.
    pub days_ago: Option<u32>,
}

/// Returns how many songs, set lists and tunings are the player's own; the invented ones do not count.
fn own_things(library: &Library) -> usize {
    let invented = demo();
    let bare = |song: &Song, tuning: &ChosenTuning| {
        let mut bare = song.clone();
        (bare.id, bare.tuning) = (SongId::default(), tuning.clone());
        bare
    };
    let known: HashSet<&str> = invented.songs().iter().map(|song| song.title.as_str()).collect();
    let is_invented = |song: &Song| {
        // Its own tuning has got another number when it came in.
        let is_it = |known: &Song| bare(known, &song.tuning) == bare(song, &song.tuning);
        known.contains(song.title.as_str()) && invented.songs().iter().any(|known| is_it(known))
    };
    let songs = library.songs().iter().filter(|song| !is_invented(song)).count();
    let of_set_lists = |title: &str| invented.set_lists().iter().any(|list| list.title == title);
    let set_lists = library.set_lists().iter().filter(|list| !of_set_lists(&list.title)).count();
    let of_tunings = |name: &str| invented.own_tunings().iter().any(|tuning| tuning.name == name);
    let tunings = library.own_tunings().iter().filter(|tuning| !of_tunings(&tuning.name)).count();
    songs + set_lists + tunings
}

/// Tells that the last export is long ago; `None` where it is not, where there is little to lose, where it was put off, and
/// where no clock has told the day.
#[must_use]
pub fn export_due(desk: &Desk) -> Option<ExportDue> {
    let reminder = &desk.library.settings.export_reminder;
    let today = desk.today?;
    let since = reminder.exported_day.or(reminder.counted_from_day)?;
    let is_long = today.saturating_sub(since) >= REMINDED_AFTER_DAYS;
    let is_put_off = reminder.put_off_until_day.is_some_and(|day| today < day);
    let is_due = is_long && !is_put_off && own_things(&desk.library) >= WORTH_A_REMINDER;
    is_due.then(|| ExportDue { days_ago: reminder.exported_day.map(|day| today.saturating_sub(day)) })
}

/// Returns what is to be noted on this day: from the first day with something worth losing on it is counted. A clock that
/// was set back counts anew rather than wait for years.
fn noted(desk: &Desk, today: u32) -> ExportReminder {
    let mut noted = desk.library.settings.export_reminder.clone();
    let is_wrong = |day: Option<u32>| day.is_some_and(|day| day > today);
    let begins = noted.counted_from_day.is_none() || is_wrong(noted.counted_from_day);
    if begins && own_things(&desk.library) >= WORTH_A_REMINDER {
        noted.counted_from_day = Some(today);
    }
    if is_wrong(noted.exported_day) {
        noted.exported_day = Some(today);
    }
    noted
}

/// Tells whether a day leaves anything to be noted: where it does not, nothing has to be written for it.
#[cfg(feature = "app")]
pub(super) fn wants_day(desk: &Desk, today: u32) -> bool {
    noted(desk, today) != desk.library.settings.export_reminder
}

/// Hears which day it is: days since 1970-01-01.
pub(super) fn hear_day(desk: &mut Desk, today: u32) -> Next {
    desk.today = Some(today);
    desk.library.settings.export_reminder = noted(desk, today);
    Next::Shown
}

/// The whole library was written out or copied today.
pub(super) fn exported(desk: &mut Desk) {
    if let Some(today) = desk.today {
        let reminder = &mut desk.library.settings.export_reminder;
        reminder.exported_day = Some(today);
        reminder.put_off_until_day = None;
    }
}

/// Not now.
pub(super) fn put_off(desk: &mut Desk) -> Next {
    if let Some(today) = desk.today {
        desk.library.settings.export_reminder.put_off_until_day = Some(today + PUT_OFF_DAYS);
    }
    Next::Shown
}
