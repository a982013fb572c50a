//! Key, octave and capo: weighed before the search, by what lies on the neck and what rings open.

use crate::instrument::{Fret, Fretboard, Instrument, PlayedWith, Tuning};
use crate::shapes::thumb_courses;
use crate::theory::{Pitch, Semitones};
use crate::tune::Played;

use super::arrangement::Remedy;
use super::slices::moved;
use super::wishes::{ArrangeFault, Wishes};

/// The farthest the tune is moved where that may be chosen, in semitones.
const FARTHEST: i16 = 24;
/// The highest capo that is chosen.
const HIGHEST_CAPO: u8 = 7;
/// The last fret on the highest string, counted from the capo, that the hand reaches from the nut.
const LAST_HAPPY_FRET: i16 = 4;

/// One way to lay the tune on the neck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct KeyChoice {
    pub(super) transpose: Semitones,
    pub(super) capo: Fret,
    /// What it is estimated to cost.
    pub(super) estimate: f64,
    /// What it costs to leave the tune's own key.
    pub(super) strangeness: f64,
}

/// Returns the ways to lay the tune on the neck, the most promising first.
pub(super) fn choices(
    played: &Played,
    instrument: &Instrument,
    tuning: &Tuning,
    wishes: &Wishes,
) -> Result<Vec<KeyChoice>, ArrangeFault> {
    let transposes = match wishes.transpose {
        Some(by) => by.get()..=by.get(),
        None => -FARTHEST..=FARTHEST,
    };
    let capos = match wishes.capo {
        Some(capo) => capo.get()..=capo.get(),
        None if takes_capo(instrument) => 0..=HIGHEST_CAPO,
        None => 0..=0,
    };
    let mut found = Vec::new();
    for capo in capos.map(Fret::new) {
        let board = match Fretboard::new(instrument, tuning, capo) {
            Ok(board) => board,
            // A capo that was not asked for and does not fit is no choice.
            Err(_) if wishes.capo.is_none() && capo != Fret::OPEN => continue,
            Err(fault) => return Err(ArrangeFault::NotOnNeck(fault)),
        };
        let neck = Neck::of(&board);
        for by in transposes.clone() {
            let transpose = Semitones::new(by);
            // Half a point for another key, so that the player's own wins where all else is alike.
            let strangeness = if by % 12 == 0 { 0.0 } else { 1.0 } + f64::from(by.abs()) * 0.02;
            let estimate = neck.estimate(played, transpose) + f64::from(capo.get()) * 0.3 + strangeness;
            found.push(KeyChoice { transpose, capo, estimate, strangeness });
        }
    }
    found.sort_by(|one, other| one.estimate.total_cmp(&other.estimate));
    Ok(found)
}

fn takes_capo(instrument: &Instrument) -> bool {
    instrument.played_with() == PlayedWith::Fingers && instrument.courses().iter().all(|course| !course.is_drone())
}

/// What of a neck the estimate asks.
struct Neck {
    lowest: i16,
    highest: i16,
    /// The last pitch that lies low enough on the neck.
    happy: i16,
    /// The lowest open string that is the fingers'.
    fingers_from: i16,
    open: u16,
    /// Open bass strings by class, as bits.
    bass_open: u16,
    bass_lowest: i16,
}

impl Neck {
    fn of(board: &Fretboard<'_>) -> Self {
        let thumb = thumb_courses(board.courses());
        let courses = board.instrument().courses();
        let full = || board.open_pitches().iter().enumerate().filter(|(index, _)| !courses[*index].is_drone());
        let number = |pitch: &Pitch| i16::from(pitch.number());
        let classes = |pitches: &mut dyn Iterator<Item = &Pitch>| {
            pitches.fold(0_u16, |bits, pitch| bits | 1 << pitch.class().semitones_above_c())
        };
        let top = full().map(|(_, pitch)| number(pitch)).max().unwrap_or(0);
        Self {
            lowest: full().map(|(_, pitch)| number(pitch)).min().unwrap_or(0),
            highest: top + i16::from(board.last_fret().get()),
            happy: top + LAST_HAPPY_FRET,
            fingers_from: full()
                .filter(|(index, _)| *index >= thumb)
                .map(|(_, pitch)| number(pitch))
                .min()
                .unwrap_or(0),
            open: classes(&mut full().map(|(_, pitch)| pitch)),
            bass_open: classes(&mut full().filter(|(index, _)| *index < thumb).map(|(_, pitch)| pitch)),
            bass_lowest: full().filter(|(index, _)| *index < thumb).map(|(_, pitch)| number(pitch)).min().unwrap_or(0),
        }
    }

    /// Estimates what the search would find, in its points: notes beyond the neck, on the thumb's strings, high up, not
    /// open; roots that are not open or lie too near the melody.
    fn estimate(&self, played: &Played, by: Semitones) -> f64 {
        let mut points = 0.0;
        for note in &played.notes {
            let pitch = i16::from(note.pitch.pitch().number()) + by.get();
            if pitch < self.lowest || pitch > self.highest {
                points += 1_000.0;
                continue;
            }
            points += f64::from((self.fingers_from - pitch).max(0)) * 0.25;
            points += f64::from((pitch - self.happy).max(0)) * 0.15;
            let is_open = self.open & (1 << pitch.rem_euclid(12)) != 0;
            points += if is_open { 0.0 } else { 0.5 };
        }
        for (index, mark) in played.chords.iter().enumerate() {
            let Some(chord) = mark.chord else { continue };
            let class = moved(chord, by).bass().class();
            let until = played.chords.get(index + 1).map_or(played.length, |next| next.at);
            let length = (until - mark.at).to_f64();
            if self.bass_open & (1 << class.semitones_above_c()) == 0 {
                points += 0.45 * length;
            }
            // How much room there is for the root below the first melody note over it.
            let after = played.notes.partition_point(|note| note.at + note.length <= mark.at);
            if let Some(note) = played.notes.get(after) {
                let pitch = i16::from(note.pitch.pitch().number()) + by.get();
                let above = (i16::from(class.semitones_above_c()) - self.bass_lowest).rem_euclid(12);
                points += if self.bass_lowest + above >= pitch { 8.0 } else { 0.0 };
            }
        }
        points
    }
}

/// Returns what brings the notes beyond the neck back.
pub(super) fn remedy(played: &Played, board: &Fretboard<'_>, choice: &KeyChoice) -> Remedy {
    let neck = Neck::of(board);
    let Some((low, high)) = played.range() else { return Remedy::OtherTuning };
    let (low, high) = (i16::from(low.number()), i16::from(high.number()));
    let by = choice.transpose.get();
    let fits = |by: i16| low + by >= neck.lowest && high + by <= neck.highest;
    let octaves = [1, -1, 2, -2, 3, -3].into_iter().find(|octaves| fits(by + 12 * octaves));
    if let Some(octaves) = octaves {
        return Remedy::Octaves(octaves);
    }
    let key = (1..=11).flat_map(|step: i16| [step, -step]).find(|step| fits(by + step));
    match key {
        Some(step) => Remedy::Key(step),
        None if choice.capo != Fret::OPEN => Remedy::NoCapo,
        None => Remedy::OtherTuning,
    }
}
