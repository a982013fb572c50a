//! A tune tried in all tunings, and a tune being entered.

use crate::app::{FileFault, Fitting, LENGTHS, METRES, State, line, tune_song, ui};
use crate::arrange::FitReason;
use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::tune::{Skipped, SkippedKind};

use super::custom::Custom;
use super::neck::order;
use super::tune::tune_fault_view;
use super::{count, rows};

/// How many tunings are shown, the best.
const MOST_FITTINGS: usize = 24;
/// How many of the notes entered last are shown.
const MOST_LAST: usize = 4;

/// Fills the list of tunings that suit a tune.
pub(in crate::app) fn show_tune_tunings(state: &State, to: &ui::TuneState<'_>) {
    let trial = &state.tune.trial;
    to.set_tried(count(trial.tried));
    to.set_tunings(count(trial.total));
    to.set_trying(trial.asking.is_some());
    to.set_trial_failed(trial.fault.is_some());
    let custom = Custom::of(state);
    to.set_fittings(rows(trial.fits.iter().take(MOST_FITTINGS).map(|fitting| fitting_view(custom, fitting))));
}

fn fitting_view(custom: Custom, fitting: &Fitting) -> ui::FittingView {
    let spelled = fitting.tuning.pitches.spelled();
    ui::FittingView {
        name: line(&fitting.name).into(),
        notes: custom.tuning(&spelled).join(" ").into(),
        turns: count(fitting.turns),
        reasons: rows(fitting.fit.reasons.iter().map(|reason| {
            use ui::FitReasonKind as Kind;
            let (kind, number) = match *reason {
                FitReason::NotesLeftOut(number) => (Kind::NotesLeftOut, number),
                FitReason::BeatsLeftOut(number) => (Kind::BeatsLeftOut, number),
                FitReason::NothingLeftOut => (Kind::NothingLeftOut, 0),
                FitReason::OpenNotes(number) => (Kind::OpenNotes, number),
                FitReason::RootsMissing(number) => (Kind::RootsMissing, number),
                FitReason::HandStays => (Kind::HandStays, 0),
                FitReason::HandMoves(number) => (Kind::HandMoves, number),
                FitReason::Capo(fret) => (Kind::Capo, fret.into()),
                FitReason::IsOn => (Kind::IsOn, 0),
            };
            ui::FitReasonView { kind, count: count(number) }
        })),
    }
}

/// Fills the page where a tune is put in as text.
pub(in crate::app) fn show_tune_entry(state: &State, opens_files: bool, to: &ui::TuneState<'_>) {
    to.set_opens_files(opens_files);
    let file_fault = state.tune.entry.file_fault.as_ref();
    to.set_no_picker(file_fault == Some(&FileFault::NoPicker));
    let unread = file_fault.and_then(|fault| match fault {
        FileFault::NoPicker => None,
        FileFault::Unread(why) => Some(line(why)),
    });
    to.set_file_fault(unread.unwrap_or_default().into());
    let entry = &state.tune.entry;
    if to.get_text() != entry.text.as_str() {
        to.set_text(entry.text.as_str().into());
    }
    to.set_fault(tune_fault_view(entry.fault.as_ref()));
    to.set_found(rows(entry.found.iter().map(|found| ui::FoundTuneView {
        title: line(&found.tune.title).into(),
        bars: count(found.tune.bars.len()),
        has_notes: found.has_notes(),
        fault: tune_fault_view(found.fault.as_ref()),
        skipped: rows(found.skipped().iter().map(skipped_view)),
    })));
}

fn skipped_view(skipped: &Skipped) -> ui::SkippedView {
    ui::SkippedView {
        kind: match skipped.what {
            SkippedKind::GraceNotes => ui::SkippedKind::GraceNotes,
            SkippedKind::Words => ui::SkippedKind::Words,
            SkippedKind::Voices => ui::SkippedKind::Voices,
            SkippedKind::LowerNotes => ui::SkippedKind::LowerNotes,
            SkippedKind::ChordSymbol => ui::SkippedKind::ChordSymbol,
            SkippedKind::Jumps => ui::SkippedKind::Jumps,
            SkippedKind::NestedRepeat => ui::SkippedKind::NestedRepeat,
            SkippedKind::Direction => ui::SkippedKind::Direction,
        },
        count: count(skipped.count),
        line: skipped.line.to_string().into(),
        found: skipped.found.as_str().into(),
    }
}

fn entry_board(state: &State) -> Option<Fretboard<'static>> {
    let song = tune_song(state)?;
    state.habits().board_of(song, &song.tuning, song.capo)
}

/// The frets that stand in the rows of the neck.
fn frets(board: &Fretboard<'_>) -> Vec<u8> {
    let capo = board.capo().get();
    let is_there = |fret: &u8| *fret == 0 || board.instrument().has_fret(Fret::new(fret.saturating_add(capo)));
    (0..=board.last_fret().get()).filter(is_there).collect()
}

/// Returns the fret and the course of a place in the rows of the neck that a tune is entered on.
pub(in crate::app) fn entry_place(state: &State, fret: usize, string: usize) -> Option<(u8, usize)> {
    let board = entry_board(state)?;
    Some((*frets(&board).get(fret)?, *order(state, board.courses()).get(string)?))
}

/// Fills the neck that a tune is entered on.
pub(in crate::app) fn show_tune_neck(state: &State, to: &ui::TuneState<'_>) {
    let Some(board) = entry_board(state) else { return };
    let custom = Custom::of(state);
    let order = order(state, board.courses());
    to.set_strings(rows(order.iter().map(|course| (board.courses() - course).to_string().into())));
    to.set_frets(rows(frets(&board).into_iter().map(|fret| ui::EntryFret {
        fret: board.instrument().fret_name(Fret::new(fret)).into(),
        cells: rows(order.iter().map(|&course| {
            let position = Position { course: CourseIndex::from_lowest(course), fret: Fret::new(fret) };
            let pitch = board.pitch_at(position);
            ui::EntryCell {
                note: pitch.map(|pitch| custom.pitch(pitch)).unwrap_or_default().into(),
                absent: pitch.is_none(),
            }
        })),
    })));
    let entry = &state.tune.entry;
    to.set_lengths(rows(LENGTHS.iter().map(|(numerator, denominator)| {
        // Players name lengths as parts of a whole note.
        let (parts, whole) = (*numerator, 4 * *denominator);
        if parts == whole { "1".to_owned() } else { format!("1/{}", whole / parts) }.into()
    })));
    to.set_length(count(entry.length));
    to.set_dotted(entry.is_dotted);
    to.set_metres(rows(METRES.iter().map(|(beats, unit)| format!("{beats}/{unit}").into())));
    to.set_metre(count(entry.metre));
    to.set_notes(count(entry.notes.len()));
    to.set_full_bars(count(entry.filled().0));
    let last = entry.notes.iter().rev().take(MOST_LAST).rev();
    let words: Vec<String> = last
        .map(|note| {
            let length = note.length.times(1, 4).unwrap_or(note.length);
            let name = note.pitch.map_or_else(|| "–".to_owned(), |pitch| custom.pitch(pitch));
            format!("{name} {length}")
        })
        .collect();
    to.set_last_notes(words.join(", ").into());
}
