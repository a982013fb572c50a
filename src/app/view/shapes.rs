//! The Shapes screen, its filters, and the shape that fills the screen.

use slint::ComponentHandle;

use crate::app::shapes::{ChordSet, Gap, Labels};
use crate::app::{State, ui};
use crate::instrument::{CourseIndex, Fret, Fretboard};
use crate::shapes::{
    AlternatingBass, BassRole, ChordName, FingerChange, Hand, KnownForm, MelodyNote, RankedShape, Reached, Style,
    alternating_bass, bass_is_heard, chords_along_neck, known_forms, melody_in_reach, name_shape, nearest_in_reach,
};
use crate::store::DiagramSide;
use crate::theory::{Chord, Interval};

use super::custom::{Custom, whole};
use super::diagram::{Drawing, diagram};
use super::pick::mode_view;
use super::{count, rows};

/// How many notes in reach are told; the nearest to the hand come first.
const MOST_IN_REACH: usize = 6;
/// How many other names of a shape are told.
const MOST_NAMES: usize = 3;

/// Fills the Shapes screen and the show view.
pub(in crate::app) fn show_shapes(state: &State, window: &ui::AppWindow) {
    let to = window.global::<ui::ShapesState<'_>>();
    let looking = &state.shapes;
    let custom = Custom::of(state);
    to.set_key_root(custom.key_note(looking.key).into());
    to.set_key_mode(mode_view(looking.key.mode()));
    to.set_chord_set(match looking.chord_set {
        ChordSet::Triads => ui::KeyChordSet::Triads,
        ChordSet::Sevenths => ui::KeyChordSet::Sevenths,
        ChordSet::More => ui::KeyChordSet::More,
    });
    to.set_chords(rows(looking.row.iter().map(|(of_key, has_shape)| ui::KeyChord {
        symbol: custom.chord(of_key.chord).into(),
        numeral: of_key.roman.as_str().into(),
        chosen: of_key.chord == looking.chord,
        empty: !has_shape,
    })));
    to.set_play(match looking.style {
        Style::Strummed => ui::PlayStyle::Strummed,
        Style::Picked => ui::PlayStyle::Picked,
    });
    to.set_labels(labels_view(looking.labels));
    to.set_filters(count(looking.filters.count()));
    to.set_shows_key(!state.library.settings.hides_diagram_key);
    to.set_number((looking.index + 1).to_string().into());
    to.set_count(looking.found.len().to_string().into());
    let (has_next, has_previous) = (looking.index + 1 < looking.found.len(), looking.index > 0);
    to.set_has_next(has_next);
    to.set_has_previous(has_previous);
    let (gap, nearest) = match &looking.gap {
        Gap::None => (ui::ShapesGap::None, None),
        Gap::FilteredOut => (ui::ShapesGap::FilteredOut, None),
        Gap::NoShape(nearest) => (ui::ShapesGap::NoShape, nearest.as_ref()),
    };
    to.set_gap(gap);
    let is_marked = looking.shape().is_some_and(|found| looking.is_marked(found.shape()));
    to.set_favourite(is_marked);
    to.set_gap_chord(custom.chord(looking.chord).into());
    to.set_last_song(super::songs::last_song(state).into());
    to.set_nearest(rows(nearest.map(|nearest| custom.chord(nearest.chord).into())));
    let show = window.global::<ui::ShowState<'_>>();
    show.set_has_next(has_next);
    show.set_has_previous(has_previous);
    show.set_favourite(is_marked);
    if let Some(found) = looking.shape() {
        let shape = shape_view(state, &state.board(), found);
        window.global::<ui::ListenState<'_>>().set_has_thumb(shape.thumb.kind == ui::ThumbKind::Alternates);
        show.set_shape(shape.clone());
        to.set_shape(shape);
    }
}

/// Fills the page of all shapes of the chord, each as a small diagram.
pub(in crate::app) fn show_overview(state: &State, to: &ui::OverviewState<'_>) {
    let (looking, custom, board) = (&state.shapes, Custom::of(state), state.board());
    to.set_chord(custom.chord(looking.chord).into());
    to.set_courses(count(board.courses()));
    to.set_on_side(state.library.settings.diagram == DiagramSide::OnSide);
    to.set_shown(count(looking.index));
    to.set_shapes(rows(looking.found.iter().enumerate().map(|(index, found)| {
        let drawing = Drawing {
            shape: found.shape(),
            fingering: found.fingering(),
            chord: found.chord(),
            thumb: [None, None],
            reach: Vec::new(),
            // Names of notes are too wide for a small picture.
            labels: if looking.labels == Labels::Degree { Labels::Degree } else { Labels::Finger },
            style: looking.style,
        };
        ui::SmallShape {
            number: (index + 1).to_string().into(),
            called: custom.chord(found.called()).into(),
            favourite: looking.is_marked(found.shape()),
            shown: index == looking.index,
            diagram: diagram(state, &board, &drawing),
        }
    })));
}

/// Fills the filter sheet.
pub(in crate::app) fn show_filters(state: &State, to: &ui::FiltersState<'_>) {
    let filters = &state.shapes.filters;
    to.set_open_only(filters.open_only);
    to.set_movable_only(filters.movable_only);
    to.set_no_barre(filters.no_barre);
    to.set_root_in_bass(filters.root_in_bass);
    to.set_has_bass(bass_is_heard(&state.board()));
    to.set_thumb_may_fret(filters.thumb_may_fret);
    to.set_up_to_fret(filters.up_to.map(|fret| fret.get().to_string()).unwrap_or_default().into());
    to.set_can_raise(filters.up_to.is_some());
    to.set_can_lower(filters.up_to != Some(Fret::new(3)));
    to.set_left(state.shapes.found.len().to_string().into());
}

/// What stands in the marks, as Slint names it.
pub(super) const fn labels_view(labels: Labels) -> ui::MarkerLabels {
    match labels {
        Labels::Finger => ui::MarkerLabels::Finger,
        Labels::Note => ui::MarkerLabels::Note,
        Labels::Degree => ui::MarkerLabels::Degree,
    }
}

/// Everything said about one shape.
fn shape_view(state: &State, board: &Fretboard<'_>, found: &RankedShape) -> ui::ShapeView {
    let looking = &state.shapes;
    let custom = Custom::of(state);
    let (shape, fingering, chord) = (found.shape(), found.fingering(), found.chord());
    let stands_at = looking.stands_at(shape);
    let hand = Hand { may_use_thumb: looking.filters.thumb_may_fret, stands_at, ..Hand::default() };
    let bass = alternating_bass(board, shape, fingering, chord, &hand);
    let pair = bass.pairs.first().copied();
    let reach = melody_in_reach(board, shape, fingering, chord, pair, looking.key, &hand);
    let added = reach.into_iter().filter(|note| note.how != Reached::Held).collect();
    let reach = nearest_in_reach(board, shape, &hand, added, MOST_IN_REACH);
    // Digits mean one thing in a picture: beside fingers the notes in reach bear their names.
    let mark = |note: &MelodyNote| match looking.labels {
        Labels::Finger | Labels::Note => custom.note(note.note),
        Labels::Degree => note.degree.simple().to_string(),
    };
    let drawing = Drawing {
        shape,
        fingering,
        chord,
        thumb: [pair.map(|pair| pair.first.position.course), pair.map(|pair| pair.second.position.course)],
        reach: reach.iter().map(|note| (note.position, mark(note))).collect(),
        labels: looking.labels,
        style: looking.style,
    };
    let notes: Vec<String> = found.notes().iter().flatten().map(|note| custom.note(note.note())).collect();
    let degrees: Vec<String> = found.degrees().iter().flatten().map(|degree| degree.simple().to_string()).collect();
    let missing: Vec<String> =
        found.omitted().iter().filter_map(|class| chord.note_of(class)).map(|note| custom.note(note)).collect();
    let lowest = chord.note_of(found.bass().class()).map(|note| custom.note(note)).unwrap_or_default();
    let here = shape.fret_range().map(|(lowest, _)| lowest);
    let moved = chords_along_neck(board, shape, Some(looking.key)).into_iter().filter(|moved| Some(moved.fret) != here);
    let elsewhere: Vec<String> = moved
        .filter_map(|moved| {
            let name = custom.chord(moved.name?.chord);
            Some(format!("{name} {}", board.instrument().fret_name(moved.fret)))
        })
        .collect();
    let names = name_shape(board, shape, Some(looking.key)).names;
    let others = names.iter().filter(|name| ![chord, found.called()].contains(&name.chord)).take(MOST_NAMES);
    ui::ShapeView {
        diagram: diagram(state, board, &drawing),
        chord: custom.chord(found.called()).into(),
        notes: notes.join(" ").into(),
        degrees: degrees.join(" ").into(),
        bass: if found.called() != chord { lowest } else { String::new() }.into(),
        missing: missing.join(" ").into(),
        // A hand that does not stretch is told nothing of stretching.
        span_mm: if found.span_mm() < 1.0 { String::new() } else { whole(found.span_mm()) }.into(),
        movable: shape.is_movable(),
        elsewhere: elsewhere.join(", ").into(),
        form: form_view(state, known_forms(board, &state.standard(), shape, chord).first()),
        thumb: thumb_view(board, &bass),
        reach: rows(reach.iter().map(|note| reach_view(state, board, note))),
        names: rows(others.map(|name| name_view(state, name))),
    }
}

fn course_text(board: &Fretboard<'_>, course: CourseIndex) -> slint::SharedString {
    course.player_number(board.courses()).to_string().into()
}

/// Writes a fret for words: empty for an open string.
fn fret_text(board: &Fretboard<'_>, fret: Fret) -> slint::SharedString {
    if fret == Fret::OPEN { String::new() } else { board.instrument().fret_name(fret) }.into()
}

fn thumb_view(board: &Fretboard<'_>, bass: &AlternatingBass) -> ui::ThumbView {
    let pair = bass.pairs.first().copied().or_else(|| bass.change.map(|(_, pair)| pair));
    let Some(pair) = pair else { return ui::ThumbView { kind: ui::ThumbKind::Nothing, ..ui::ThumbView::default() } };
    let mut thumb = ui::ThumbView {
        kind: ui::ThumbKind::Alternates,
        first: course_text(board, pair.first.position.course),
        second: course_text(board, pair.second.position.course),
        first_fret: fret_text(board, pair.first.position.fret),
        second_fret: fret_text(board, pair.second.position.fret),
        ..ui::ThumbView::default()
    };
    if let Some((change, _)) = bass.change {
        thumb.kind = ui::ThumbKind::WithChange;
        let (position, fret, finger) = match change {
            FingerChange::Lift { finger, from } => (from, Fret::OPEN, finger),
            FingerChange::Add { finger, at } => (at, at.fret, finger),
            FingerChange::Move { finger, to, .. } => (to, to.fret, finger),
        };
        thumb.change_course = course_text(board, position.course);
        thumb.change_fret = fret_text(board, fret);
        thumb.change_finger = finger.to_string().into();
    }
    thumb
}

fn reach_view(state: &State, board: &Fretboard<'_>, note: &MelodyNote) -> ui::ReachView {
    let custom = Custom::of(state);
    let kind = match note.how {
        Reached::Held | Reached::Free => ui::ReachKind::Free,
        Reached::Lifted => ui::ReachKind::Lifted,
        Reached::Slid { .. } => ui::ReachKind::Slid,
    };
    ui::ReachView {
        kind,
        finger: note.finger.map(|finger| finger.to_string()).unwrap_or_default().into(),
        course: course_text(board, note.position.course),
        fret: fret_text(board, note.position.fret),
        note: custom.note(note.note).into(),
        degree: note.degree.simple().to_string().into(),
        makes: note.chord.as_ref().map(|name| custom.chord(name.chord)).unwrap_or_default().into(),
    }
}

fn form_view(state: &State, form: Option<&KnownForm>) -> ui::FormView {
    let Some(form) = form else { return ui::FormView::default() };
    let courses = state.instrument().courses().len();
    let on: Vec<String> = form.equal.iter().map(|course| course.player_number(courses).to_string()).collect();
    ui::FormView {
        kind: if form.moved_frets == 0 { ui::FormKind::Same } else { ui::FormKind::MovedUp },
        form: form.form.name().into(),
        frets: i32::from(form.moved_frets),
        courses: if on.len() == courses { String::new() } else { on.join(" ") }.into(),
    }
}

/// A name of what sounds, with the reason.
pub(super) fn name_view(state: &State, name: &ChordName) -> ui::NameView {
    let custom = Custom::of(state);
    let chord = name.chord;
    let note = |degree: &Interval| note_at(custom, chord, *degree);
    let has_root_lowest = matches!(name.bass_role, BassRole::Root | BassRole::NotNamed);
    let reason = match (name.missing.is_empty(), has_root_lowest) {
        (true, true) => ui::NameReason::Complete,
        (false, true) => ui::NameReason::TonesMissing,
        (true, false) => ui::NameReason::OtherBass,
        (false, false) => ui::NameReason::TonesMissingOtherBass,
    };
    ui::NameView {
        symbol: custom.chord(chord).into(),
        reason,
        missing: name.missing.iter().map(note).collect::<Vec<_>>().join(" ").into(),
        bass: note(&name.bass_degree).into(),
        tones: name.present.iter().map(note).collect::<Vec<_>>().join(" ").into(),
    }
}

fn note_at(custom: Custom, chord: Chord, degree: Interval) -> String {
    let class = chord.root().class().transpose(degree.semitones());
    let note = chord.note_of(class).or_else(|| chord.root().up(degree));
    note.map_or_else(String::new, |note| custom.note(note))
}
