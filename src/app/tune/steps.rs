//! A tune step by step: what is held, what is plucked, what comes next and which finger moves for it.

use crate::arrange::{ArrangedSlice, Held, Sounding};
use crate::instrument::Fret;
use crate::shapes::{Barre, Finger, Fingering, Shape};

/// What a finger does from one moment to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FingerMove {
    /// It comes off.
    Off(Finger),
    /// It is put down.
    Down(Held),
    /// It stays on its string and slides to another fret.
    Slides(Held),
    /// It goes to another string.
    Goes(Held),
}

/// Returns which fingers move, from the thumb on; those that stay where they are do not.
#[must_use]
pub fn finger_moves(from: &[Held], to: &[Held]) -> Vec<FingerMove> {
    let all = [Finger::Thumb, Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];
    let find = |held: &[Held], finger| held.iter().find(|held| held.finger == finger).copied();
    all.into_iter()
        .filter_map(|finger| match (find(from, finger), find(to, finger)) {
            (None, None) => None,
            (Some(_), None) => Some(FingerMove::Off(finger)),
            (None, Some(held)) => Some(FingerMove::Down(held)),
            (Some(before), Some(held)) if before == held => None,
            (Some(before), Some(held)) if (before.from, before.to) == (held.from, held.to) => {
                Some(FingerMove::Slides(held))
            }
            (Some(_), Some(held)) => Some(FingerMove::Goes(held)),
        })
        .collect()
}

/// A moment as it is held.
#[derive(Clone, Debug, PartialEq)]
pub struct StepView {
    /// The frets of what sounds and of what is held besides.
    pub shape: Shape,
    /// The fingers on them.
    pub fingering: Fingering,
    /// The melody's note, where one begins.
    pub melody: Option<Sounding>,
    /// The thumb's note, where one begins.
    pub bass: Option<Sounding>,
    /// Notes between them.
    pub inner: Vec<Sounding>,
    /// What the fingers do for the next moment; empty at the end.
    pub next: Vec<FingerMove>,
}

/// Returns a moment as it is held on so many courses; `None` beyond the end.
#[must_use]
pub fn step_view(slices: &[ArrangedSlice], index: usize, courses: usize) -> Option<StepView> {
    let slice = slices.get(index)?;
    let mut frets: Vec<Option<Fret>> = vec![None; courses];
    let mut fingers: Vec<Option<Finger>> = vec![None; courses];
    let mut barres = Vec::new();
    // Of two fingers on a string the one nearer the bridge decides.
    let mut held = slice.held.clone();
    held.sort_by_key(|held| held.fret);
    for held in &held {
        let (first, last) = (held.from.from_lowest_index(), held.to.from_lowest_index());
        for (fret, finger) in frets.iter_mut().zip(&mut fingers).take(last + 1).skip(first) {
            (*fret, *finger) = (Some(held.fret), Some(held.finger));
        }
        if held.from != held.to {
            barres.push(Barre { finger: held.finger, fret: held.fret, from: held.from, to: held.to });
        }
    }
    let sounding = slice.melody.iter().chain(&slice.bass).chain(&slice.inner);
    for note in sounding {
        let course = note.position.course.from_lowest_index();
        if let Some((fret, finger)) = frets.get_mut(course).zip(fingers.get_mut(course)) {
            (*fret, *finger) = (Some(note.position.fret), note.finger);
        }
    }
    let begins = |note: Option<Sounding>| note.filter(|note| note.starts);
    Some(StepView {
        shape: Shape::new(frets),
        fingering: Fingering { fingers, barres },
        melody: begins(slice.melody),
        bass: begins(slice.bass),
        inner: slice.inner.clone(),
        next: slices.get(index + 1).map(|next| finger_moves(&slice.held, &next.held)).unwrap_or_default(),
    })
}
