//! Sweetening: moving strings a few cents off equal temperament so that what is played most comes out pure.

use crate::instrument::CourseIndex;
use crate::instrument::{Fret, Fretboard, Position, Tuning};
use crate::theory::{Cents, Pitch, PitchClass};

use super::progress::hundredths;

/// How far each course is meant to lie above equal temperament, from the highest player number to course 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweetening {
    offsets: Vec<Cents>,
}

/// The just intervals by semitones, as ratios: the five-limit scale (the tritone the augmented fourth, the seventh two
/// fourths). Common practice.
const JUST: [(u8, u8); 12] =
    [(1, 1), (16, 15), (9, 8), (6, 5), (5, 4), (4, 3), (45, 32), (3, 2), (8, 5), (5, 3), (16, 9), (15, 8)];

/// How much a semitone class counts in the least-squares compromise: by how plainly its beats are heard. Octaves and
/// unisons beat on every partial, fifths and fourths on every third, thirds and sixths higher up and softer; seconds,
/// sevenths and the tritone are rough either way. Set by judgement.
const WEIGHTS: [f64; 12] = [4.0, 0.0, 0.0, 1.0, 1.0, 3.0, 0.0, 3.0, 1.0, 1.0, 0.0, 0.0];
/// Pulls every course towards equal temperament: decides where the intervals do not, and is too weak to bend them.
const ANCHOR: f64 = 1e-6;

impl Sweetening {
    /// Leaves so many courses in equal temperament.
    #[must_use]
    pub fn none(courses: usize) -> Self {
        Self { offsets: vec![Cents::ZERO; courses] }
    }

    /// Reads offsets in hundredths of a cent; `None` when one lies beyond ±100 cents.
    pub(super) fn from_hundredths(hundredths: &[i16]) -> Option<Self> {
        let fits = hundredths.iter().all(|by| by.unsigned_abs() <= 10_000);
        let offsets = hundredths.iter().map(|&by| Cents::new(f64::from(by) / 100.0)).collect();
        fits.then_some(Self { offsets })
    }

    /// Returns the offsets in whole hundredths of a cent, kept within ±100 cents.
    pub(super) fn hundredths(&self) -> Vec<i16> {
        self.offsets.iter().map(|&offset| hundredths(offset)).collect()
    }

    /// Returns the same to a hundredth of a cent, as it is kept.
    pub(super) fn rounded(&self) -> Self {
        let offsets = self.hundredths().into_iter().map(|by| Cents::new(f64::from(by) / 100.0)).collect();
        Self { offsets }
    }

    /// Makes the open strings sound pure over `root`: a third 13.686 cents under equal temperament, a fifth 1.955 over.
    ///
    /// Each course gets the just interval of its pitch class over the root.
    #[must_use]
    pub fn of_open_chord(tuning: &Tuning, root: PitchClass) -> Self {
        let offset = |pitch: &Pitch| just_offset(i16::from(root.up_to(pitch.class())));
        Self { offsets: tuning.pitches().iter().map(offset).collect() }
    }

    /// Finds the root over which the open strings are a major or minor chord or bare fifths; `None` when they are none.
    #[must_use]
    pub fn find_open_root(tuning: &Tuning) -> Option<PitchClass> {
        let has = |class: PitchClass| tuning.pitches().iter().any(|pitch| pitch.class() == class);
        let fits = |root: &PitchClass, tones: &[u8]| {
            tuning.pitches().iter().all(|pitch| tones.contains(&root.up_to(pitch.class())))
        };
        PitchClass::all().filter(|&root| has(root)).find(|root| {
            let has_fifth = has(root.transpose(crate::theory::Semitones::new(7)));
            has_fifth && (fits(root, &[0, 4, 7]) || fits(root, &[0, 3, 7]))
        })
    }

    /// Finds the best compromise for shapes a player uses: the offsets with the least weighted sum of squares of what
    /// each sounding interval lies off pure.
    ///
    /// Each shape has a fret for each course from the highest player number, `None` where it is silent; a fret the neck
    /// does not have counts as silent, and so do courses beyond the neck. Weights by interval: octaves and unisons 4,
    /// fifths and fourths 3, thirds and sixths 1, the rest 0. Where the shapes leave a course free it stays in equal
    /// temperament.
    #[must_use]
    pub fn of_shapes(neck: &Fretboard<'_>, shapes: &[Vec<Option<Fret>>]) -> Self {
        let count = neck.courses();
        let mut rows = vec![vec![0.0; count + 1]; count];
        for (course, row) in rows.iter_mut().enumerate() {
            row[course] = ANCHOR;
        }
        for shape in shapes {
            for (low, high, semitones) in intervals(&sounding(neck, shape)) {
                let weight = WEIGHTS[class(semitones)];
                let wanted = just_offset(semitones);
                // The offset of the upper course less that of the lower shall be the just interval's.
                for (course, sign) in [(high, 1.0), (low, -1.0)] {
                    rows[course][high] += sign * weight;
                    rows[course][low] -= sign * weight;
                    rows[course][count] += sign * weight * wanted.get();
                }
            }
        }
        Self { offsets: solve(rows).into_iter().map(Cents::new).collect() }
    }

    /// Returns the offsets, from the highest player number to course 1.
    #[must_use]
    pub fn offsets(&self) -> &[Cents] {
        &self.offsets
    }
}

/// Returns how far the just interval lies above the equal-tempered one of so many semitones.
fn just_offset(semitones: i16) -> Cents {
    let (upper, lower) = JUST[class(semitones)];
    let within = crate::theory::Semitones::new(semitones.rem_euclid(12));
    -crate::theory::equal_tempered_error(within, upper, lower)
}

fn class(semitones: i16) -> usize {
    usize::from(semitones.rem_euclid(12).unsigned_abs())
}

/// Returns the courses that sound and their pitches.
fn sounding(neck: &Fretboard<'_>, shape: &[Option<Fret>]) -> Vec<(usize, Pitch)> {
    let at = |(course, fret): (usize, &Option<Fret>)| {
        let position = Position { course: CourseIndex::from_lowest(course), fret: (*fret)? };
        neck.pitch_at(position).map(|pitch| (course, pitch))
    };
    shape.iter().enumerate().filter_map(at).collect()
}

/// Returns every pair of sounding courses: the lower, the higher and the semitones between.
fn intervals(sounding: &[(usize, Pitch)]) -> Vec<(usize, usize, i16)> {
    let mut found = Vec::with_capacity(sounding.len() * sounding.len() / 2);
    for (index, &(one, pitch)) in sounding.iter().enumerate() {
        for &(other, other_pitch) in &sounding[index + 1..] {
            let up = (other_pitch - pitch).get();
            found.push(if up >= 0 { (one, other, up) } else { (other, one, -up) });
        }
    }
    found
}

/// Solves the normal equations by elimination; the anchor makes them definite, so every pivot is above zero.
fn solve(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let count = rows.len();
    for pivot in 0..count {
        let (done, rest) = rows.split_at_mut(pivot + 1);
        let row = &done[pivot];
        for other in rest {
            let share = other[pivot] / row[pivot];
            for (cell, above) in other.iter_mut().zip(row).skip(pivot) {
                *cell -= share * above;
            }
        }
    }
    let mut solution = vec![0.0; count];
    for index in (0..count).rev() {
        let known: f64 = (index + 1..count).map(|other| rows[index][other] * solution[other]).sum();
        solution[index] = (rows[index][count] - known) / rows[index][index];
    }
    solution
}
