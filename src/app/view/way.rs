//! What is to be done between two songs, and how long it takes, as it is written.

use crate::app::State;
use crate::app::ui;
use crate::instrument::{Catalog, Level};
use crate::songs::{Changeover, Song, Stand};
use crate::theory::Semitones;

use super::custom::Custom;
use super::marks::{marks, spelled, thickness};
use super::rows;

/// Writes seconds as "25 s" or "2 min 5 s", signs of the SI in every language.
pub(super) fn duration(seconds: u64) -> String {
    let (minutes, rest) = (seconds / 60, seconds % 60);
    match (minutes, rest) {
        (0, rest) => format!("{rest} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, rest) => format!("{minutes} min {rest} s"),
    }
}

/// Writes a long time in whole minutes, at least one.
pub(super) fn minutes(seconds: u64) -> String {
    format!("{} min", (seconds.saturating_add(30) / 60).max(1))
}

/// Turns a changeover to `stand` into what is drawn.
pub(super) fn way_view(way: &Changeover, stand: &Stand) -> ui::WayView {
    let courses = stand.pitches.courses();
    let moved = way.moves.as_deref().unwrap_or_default();
    let moves = moved.iter().map(|(course, by)| ui::MoveView {
        course: course.player_number(courses).to_string().into(),
        by: by.get().unsigned_abs().to_string().into(),
        up: *by > Semitones::ZERO,
        unknown: *by == Semitones::ZERO,
    });
    let spoken: Vec<String> = moved
        .iter()
        .map(|(course, by)| {
            let sign = if *by > Semitones::ZERO { "+" } else { "−" };
            format!("{} {sign}{}", course.player_number(courses), by.get().unsigned_abs())
        })
        .collect();
    let instrument = Catalog::bundled().find_instrument(&stand.instrument_id);
    let instrument = instrument.map_or(stand.instrument_id.as_str(), |known| known.name());
    ui::WayView {
        ready: way.is_nothing(),
        moves: rows(moves),
        moves_text: spoken.join(", ").into(),
        capo: way.capo.map(|fret| fret.get().to_string()).unwrap_or_default().into(),
        instrument: if way.moves.is_none() { instrument } else { "" }.into(),
        duration: if way.is_nothing() { String::new() } else { duration(u64::from(way.seconds())) }.into(),
        too_tight: way.worst == Level::TooTight,
    }
}

/// Marks the strings of a song's tuning: against what is on the guitar where it is the same instrument, else plainly.
pub(super) fn song_marks(state: &State, song: &Song) -> Vec<ui::StringMark> {
    let pitches = &song.tuning.pitches;
    let is_here =
        song.instrument_id == state.instrument().id() && pitches.courses() == state.instrument().courses().len();
    if is_here {
        return marks(state, &spelled(state, pitches));
    }
    let catalog = Catalog::bundled();
    let known = catalog.find_instrument(&song.instrument_id);
    let thickness = known.map(|known| thickness(catalog.strings_of(known).strings())).unwrap_or_default();
    let custom = Custom::of(state);
    let courses = pitches.courses();
    let names = pitches.spelled();
    let mark = |(index, name): (usize, &crate::theory::SpelledPitch)| {
        let course = known.and_then(|known| known.courses().get(index));
        ui::StringMark {
            course: (courses - index).to_string().into(),
            note: custom.note(name.note()).into(),
            thickness: thickness.get(index).copied().unwrap_or(0.5),
            pair: course.is_some_and(|course| course.is_pair()),
            drone: course.is_some_and(|course| course.is_drone()),
            ..ui::StringMark::default()
        }
    };
    names.iter().enumerate().map(mark).collect()
}
