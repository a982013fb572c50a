//! One shape on the neck, in fractions of the picture.

use crate::app::State;
use crate::app::shapes::Labels;
use crate::app::ui;
use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{Barre, Finger, Fingering, Shape, Style};
use crate::store::DiagramSide;
use crate::theory::{Chord, Interval, Note, Pitch};

use super::custom::Custom;
use super::marks::thickness;
use super::{count, fraction, rows};

/// How many fret spaces a picture shows at least.
const FEWEST_SPACES: u8 = 4;

/// What is drawn.
pub(super) struct Drawing<'a> {
    pub(super) shape: &'a Shape,
    pub(super) fingering: &'a Fingering,
    pub(super) chord: Chord,
    /// The thumb's first and second course.
    pub(super) thumb: [Option<CourseIndex>; 2],
    /// Notes in reach, with what is written in them.
    pub(super) reach: Vec<(Position, String)>,
    pub(super) labels: Labels,
    pub(super) style: Style,
}

/// The frets a picture shows: spaces from `first` on, counted from the capo.
#[derive(Clone, Copy)]
struct Window {
    first: u8,
    spaces: u8,
}

impl Window {
    /// From the nut where the shape lies low, else from its lowest fret; wide enough for what is in reach too.
    fn of(drawing: &Drawing<'_>) -> Self {
        let stopped = drawing.shape.stopped().map(|position| position.fret.get());
        let in_reach = drawing.reach.iter().map(|(position, _)| position.fret.get()).filter(|&fret| fret > 0);
        let all: Vec<u8> = stopped.chain(in_reach).collect();
        let lowest = all.iter().copied().min().unwrap_or(1);
        let highest = all.iter().copied().max().unwrap_or(1);
        let first = if highest <= FEWEST_SPACES + 1 && lowest <= 2 { 1 } else { lowest };
        Self { first, spaces: (highest + 1).saturating_sub(first).max(FEWEST_SPACES) }
    }

    const fn is_at_nut(self) -> bool {
        self.first == 1
    }

    fn holds(self, fret: Fret) -> bool {
        (self.first..self.first + self.spaces).contains(&fret.get())
    }

    /// The middle of a fret's space.
    fn along(self, fret: Fret) -> f32 {
        fraction((f64::from(fret.get().saturating_sub(self.first)) + 0.5) / f64::from(self.spaces))
    }
}

/// Returns a course's place across the picture, mirrored for a left-handed player.
fn across(state: &State, course: usize, courses: usize) -> f32 {
    let gaps = u32::try_from(courses.saturating_sub(1).max(1)).unwrap_or(1);
    let place = f64::from(u32::try_from(course).unwrap_or(0)) / f64::from(gaps);
    fraction(if state.library.settings.is_left_handed { 1.0 - place } else { place })
}

/// Draws a shape.
pub(super) fn diagram(state: &State, board: &Fretboard<'_>, drawing: &Drawing<'_>) -> ui::DiagramView {
    let window = Window::of(drawing);
    let courses = board.courses();
    let position =
        if window.is_at_nut() { String::new() } else { board.instrument().fret_name(Fret::new(window.first)) };
    let frets: Vec<String> = drawing
        .shape
        .frets()
        .iter()
        .map(|fret| fret.map_or("x".to_owned(), |fret| board.instrument().fret_name(fret)))
        .collect();
    let fingers: Vec<String> = (0..courses)
        .map(|index| {
            drawing
                .fingering
                .fingers
                .get(index)
                .copied()
                .flatten()
                .map_or("–".to_owned(), |finger| finger.to_string())
        })
        .collect();
    ui::DiagramView {
        strings: rows((0..courses).map(|index| string(state, board, drawing, window, index))),
        markers: rows(markers(state, board, drawing, window)),
        barres: rows(drawing.fingering.barres.iter().map(|barre| barre_view(state, barre, window, courses))),
        frets: count(usize::from(window.spaces)),
        at_nut: window.is_at_nut(),
        capo: board.capo() != Fret::OPEN,
        position_along: if window.is_at_nut() { 0.0 } else { window.along(Fret::new(window.first)) },
        position: position.into(),
        left_handed: state.library.settings.is_left_handed,
        on_side: state.library.settings.diagram == DiagramSide::OnSide,
        frets_text: frets.join(" ").into(),
        fingers_text: fingers.join(" ").into(),
    }
}

/// What is written for a sounding pitch: its note or its degree in the chord.
struct Spoken {
    note: String,
    degree: String,
    is_root: bool,
}

fn spoken(state: &State, chord: Chord, pitch: Pitch) -> Spoken {
    let custom = Custom::of(state);
    let note = chord.note_of(pitch.class());
    let degree = chord.degree_of(pitch.class());
    Spoken {
        note: note.map_or_else(|| custom.pitch(pitch), |note: Note| custom.note(note)),
        degree: degree.map(|degree: Interval| degree.simple().to_string()).unwrap_or_default(),
        is_root: pitch.class() == chord.root().class(),
    }
}

fn string(
    state: &State,
    board: &Fretboard<'_>,
    drawing: &Drawing<'_>,
    window: Window,
    index: usize,
) -> ui::DiagramString {
    let course = &board.instrument().courses()[index];
    let fret = drawing.shape.frets().get(index).copied().flatten();
    let pitch = fret.and_then(|fret| board.pitch_at(Position { course: CourseIndex::from_lowest(index), fret }));
    let spoken = pitch.map(|pitch| spoken(state, drawing.chord, pitch));
    let head = match fret {
        None if drawing.style == Style::Picked => ui::StringHead::Unpicked,
        None => ui::StringHead::Muted,
        Some(Fret::OPEN) if spoken.as_ref().is_some_and(|spoken| spoken.is_root) => ui::StringHead::OpenRoot,
        Some(Fret::OPEN) => ui::StringHead::Open,
        Some(_) => ui::StringHead::None,
    };
    let text = |labels: Labels| {
        spoken.as_ref().map_or(String::new(), |spoken| match labels {
            Labels::Finger => "0".to_owned(),
            Labels::Note => spoken.note.clone(),
            Labels::Degree => spoken.degree.clone(),
        })
    };
    let foot = match drawing.labels {
        Labels::Finger | Labels::Degree => text(Labels::Note),
        Labels::Note => text(Labels::Degree),
    };
    let here = Some(CourseIndex::from_lowest(index));
    let thumb = drawing.thumb.iter().position(|&course| course == here && course.is_some());
    let start = course.starts_at().get().saturating_sub(board.capo().get());
    let starts = (f64::from(start) - f64::from(window.first - 1)) / f64::from(window.spaces);
    let standard = state.catalog().standard_of(board.instrument()).tuning();
    ui::DiagramString {
        across: across(state, index, board.courses()),
        thickness: thickness(state.strings()).get(index).copied().unwrap_or(0.5),
        head,
        head_text: if fret == Some(Fret::OPEN) { text(drawing.labels) } else { String::new() }.into(),
        foot_text: foot.into(),
        thumb: thumb.map_or(0, |place| count(place + 1)),
        pair: course.is_pair(),
        starts: fraction(if course.is_drone() { starts.clamp(0.0, 1.0) } else { 0.0 }),
        retuned: state.guitar.pitch(index) != standard.pitches().get(index).copied(),
    }
}

fn markers(state: &State, board: &Fretboard<'_>, drawing: &Drawing<'_>, window: Window) -> Vec<ui::DiagramMarker> {
    let courses = board.courses();
    let mut found: Vec<ui::DiagramMarker> = Vec::new();
    for position in drawing.shape.stopped() {
        let index = position.course.from_lowest_index();
        let Some(pitch) = board.pitch_at(position) else { continue };
        let spoken = spoken(state, drawing.chord, pitch);
        let finger = drawing.fingering.fingers.get(index).copied().flatten();
        let text = match drawing.labels {
            Labels::Finger => finger.map(|finger: Finger| finger.to_string()).unwrap_or_default(),
            Labels::Note => spoken.note,
            Labels::Degree => spoken.degree,
        };
        found.push(ui::DiagramMarker {
            across: across(state, index, courses),
            along: window.along(position.fret),
            kind: if spoken.is_root { ui::MarkerKind::Root } else { ui::MarkerKind::Finger },
            text: text.into(),
        });
    }
    let reach = drawing.reach.iter().filter(|(position, _)| window.holds(position.fret));
    found.extend(reach.map(|(position, text)| ui::DiagramMarker {
        across: across(state, position.course.from_lowest_index(), courses),
        along: window.along(position.fret),
        kind: ui::MarkerKind::Reach,
        text: text.into(),
    }));
    found
}

fn barre_view(state: &State, barre: &Barre, window: Window, courses: usize) -> ui::DiagramBarre {
    let ends = [barre.from, barre.to].map(|course| across(state, course.from_lowest_index(), courses));
    ui::DiagramBarre { first: ends[0].min(ends[1]), last: ends[0].max(ends[1]), along: window.along(barre.fret) }
}
