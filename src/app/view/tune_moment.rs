//! One moment of a tune: what else could be played there, and how it is held step by step.

use crate::app::shapes::Labels;
use crate::app::{FingerMove, Moment, State, moment, step_view, ui};
use crate::arrange::{Held, Pinned, Sounding};
use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{Finger, Style};

use super::custom::Custom;
use super::diagram::{Drawing, diagram};
use super::rows;
use super::tune::tune_board;

/// Fills what can be changed at the moment that is looked at.
pub(in crate::app) fn show_tune_moment(state: &State, to: &ui::TuneState<'_>) {
    let Some((moment, board)) = moment(state).zip(tune_board(state)) else { return };
    let custom = Custom::of(state);
    to.set_chord(moment.chord.map(|chord| custom.chord(chord)).unwrap_or_default().into());
    let pitch = |note: &Sounding| custom.pitch(note.pitch);
    let (melody, bass) = (moment.melody.map(|(_, note)| note), moment.bass);
    to.set_melody(melody.as_ref().map(pitch).unwrap_or_default().into());
    to.set_bass(bass.as_ref().map(pitch).unwrap_or_default().into());
    to.set_has_beat(moment.bass_at.is_some());
    let place = |position: Position, note: String, now: Option<Sounding>| ui::PlaceChoice {
        note: note.into(),
        course: course_text(&board, position.course).into(),
        fret: fret_text(&board, position.fret).into(),
        chosen: now.is_some_and(|now| now.position == position),
    };
    let melody_name = melody.as_ref().map(pitch).unwrap_or_default();
    to.set_melody_places(rows(moment.melody_places.iter().map(|at| place(*at, melody_name.clone(), melody))));
    to.set_bass_places(rows(moment.bass_places.iter().map(|(at, pitch)| place(*at, custom.pitch(*pitch), bass))));
    to.set_melody_fingers(rows(fingers(melody)));
    to.set_bass_fingers(rows(fingers(bass)));
    to.set_shapes(rows(
        moment
            .shapes
            .iter()
            .map(|choice| ui::TuneShapeChoice { frets: choice.shape.written(&board).into(), held: choice.is_held }),
    ));
    to.set_decided_here(is_decided(&moment));
}

fn is_decided(moment: &Moment) -> bool {
    moment.decided.iter().any(|pin| !matches!(pin.what, Pinned::Shape { .. }) || !moment.shapes.is_empty())
}

/// The fingers that could stop a note; none for one that rings open.
fn fingers(note: Option<Sounding>) -> Vec<ui::FingerChoice> {
    let on = note.filter(|note| note.position.fret != Fret::OPEN).map(|note| note.finger);
    let Some(on) = on else { return Vec::new() };
    Finger::FRONT
        .into_iter()
        .map(|finger| ui::FingerChoice { finger: finger.to_string().into(), chosen: on == Some(finger) })
        .collect()
}

fn course_text(board: &Fretboard<'_>, course: CourseIndex) -> String {
    course.player_number(board.courses()).to_string()
}

fn fret_text(board: &Fretboard<'_>, fret: Fret) -> String {
    if fret == Fret::OPEN { "0".to_owned() } else { board.instrument().fret_name(fret) }
}

/// Fills the page of the moment that is looked at, held and plucked.
pub(in crate::app) fn show_tune_steps(state: &State, to: &ui::TuneState<'_>) {
    let Some(((index, slices), board)) = state.tune.selected().zip(tune_board(state)) else { return };
    let Some(step) = step_view(slices, index, board.courses()) else { return };
    let custom = Custom::of(state);
    let chord = slices[index].chord;
    to.set_chord(chord.map(|chord| custom.chord(chord)).unwrap_or_default().into());
    // Rings show where a finger goes next.
    let reach = step.next.iter().filter_map(|next| match next {
        FingerMove::Down(held) | FingerMove::Slides(held) | FingerMove::Goes(held) => {
            Some((Position { course: held.to, fret: held.fret }, held.finger.to_string()))
        }
        FingerMove::Off(_) => None,
    });
    // Before the first chord and after the last there is one nearby.
    let near = slices[..=index].iter().rev().chain(&slices[index..]).find_map(|slice| slice.chord);
    let drawing = Drawing {
        shape: &step.shape,
        fingering: &step.fingering,
        chord: near.unwrap_or(state.shapes.chord),
        thumb: [step.bass.map(|note| note.position.course), None],
        reach: reach.collect(),
        labels: Labels::Finger,
        style: Style::Picked,
    };
    to.set_diagram(diagram(state, &board, &drawing));
    let pluck = |note: &Sounding| ui::PluckView {
        note: custom.pitch(note.pitch).into(),
        course: course_text(&board, note.position.course).into(),
        fret: fret_text(&board, note.position.fret).into(),
        finger: note.finger.map(|finger| finger.to_string()).unwrap_or_default().into(),
    };
    to.set_melody_plucked(rows(step.melody.iter().map(pluck)));
    to.set_bass_plucked(rows(step.bass.iter().map(pluck)));
    to.set_inner_plucked(rows(step.inner.iter().map(pluck)));
    to.set_moves(rows(step.next.iter().map(|next| move_view(&board, next))));
}

fn move_view(board: &Fretboard<'_>, next: &FingerMove) -> ui::FingerMoveView {
    let held = |kind, held: &Held| ui::FingerMoveView {
        kind: if held.from == held.to || kind == ui::FingerMoveKind::Slides {
            kind
        } else {
            ui::FingerMoveKind::Across
        },
        finger: held.finger.to_string().into(),
        course: course_text(board, held.from).into(),
        last_course: course_text(board, held.to).into(),
        fret: fret_text(board, held.fret).into(),
    };
    match next {
        FingerMove::Off(finger) => ui::FingerMoveView {
            kind: ui::FingerMoveKind::Off,
            finger: finger.to_string().into(),
            ..ui::FingerMoveView::default()
        },
        FingerMove::Down(to) => held(ui::FingerMoveKind::Down, to),
        FingerMove::Slides(to) => held(ui::FingerMoveKind::Slides, to),
        FingerMove::Goes(to) => held(ui::FingerMoveKind::Goes, to),
    }
}
