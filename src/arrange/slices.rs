//! A tune cut where something begins: a note, a beat of the thumb's, a chord, a bar.

use crate::theory::{Chord, Note, Pitch, Semitones, SpellingChoice};
use crate::tune::{Played, PlayedBar, Quarters};

use super::wishes::{ArrangeFault, Fullness, ThumbStyle};

/// The most moments that are worked out.
pub(super) const MOST_SLICES: usize = 30_000;

/// A stretch of time in which nothing begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slice {
    pub(super) at: Quarters,
    pub(super) length: Quarters,
    /// Which of the bars as played.
    pub(super) bar: usize,
    /// The chord that sounds, moved with the tune.
    pub(super) chord: Option<Chord>,
    /// The chord in force at the thumb's last beat.
    pub(super) bass_chord: Option<Chord>,
    /// What the melody sounds; `None` in a rest and where the note is out of range.
    pub(super) melody: Option<Pitch>,
    /// Which of the tune's notes sounds.
    pub(super) note: Option<usize>,
    /// Whether it begins here.
    pub(super) starts: bool,
    /// What the thumb is to do here.
    pub(super) beat: Option<Beat>,
    /// Whether it lies half-way between two beats.
    pub(super) is_off_beat: bool,
    /// Whether a chord begins here.
    pub(super) is_new_chord: bool,
}

/// A beat of the thumb's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Beat {
    /// The first since the chord began.
    NewChord,
    /// One on which the root is wanted again.
    Root,
    /// One on which another note than the root is wanted.
    Other,
    /// One on which root and others do as well.
    Any,
}

/// Moves a chord; its notes keep their names over whole octaves.
pub(super) fn moved(chord: Chord, by: Semitones) -> Chord {
    if by.get() % 12 == 0 {
        return chord;
    }
    let to = |note: Note| Note::of_class(note.class().transpose(by), SpellingChoice::Customary);
    let plain = Chord::new(to(chord.root()), chord.quality());
    chord.slash_bass().map_or(plain, |bass| plain.over(to(bass)))
}

/// Cuts a tune into slices.
pub(super) fn slices(
    played: &Played,
    by: Semitones,
    style: ThumbStyle,
    fullness: Fullness,
    is_in_range: &dyn Fn(Pitch) -> bool,
) -> Result<Vec<Slice>, ArrangeFault> {
    let beats = beats(played, style);
    let mut cuts: Vec<Quarters> = Vec::new();
    cuts.extend(played.bars.iter().map(|bar| bar.at));
    cuts.extend(played.notes.iter().flat_map(|note| [note.at, note.at + note.length]));
    cuts.extend(played.chords.iter().map(|mark| mark.at));
    cuts.extend(beats.iter().map(|beat| beat.0));
    let half = |bar: &PlayedBar| bar.metre.beat().times(1, if bar.metre.is_compound() { 3 } else { 2 });
    let mut off_beats: Vec<Quarters> = Vec::new();
    if fullness == Fullness::Inner {
        for bar in &played.bars {
            let (Some(half), beat) = (half(bar), bar.metre.beat()) else { continue };
            let mut place = bar.offset.whole_steps(half);
            while let Some(at) = half.times(place, 1).filter(|at| *at < bar.offset + bar.length) {
                if !at.is_multiple_of(beat) && at >= bar.offset {
                    off_beats.push(bar.at + at - bar.offset);
                }
                place += 1;
            }
        }
        cuts.extend(&off_beats);
    }
    cuts.retain(|cut| *cut < played.length && *cut >= Quarters::ZERO);
    cuts.sort_unstable();
    cuts.dedup();
    if cuts.len() > MOST_SLICES {
        return Err(ArrangeFault::TooLong { most: MOST_SLICES });
    }
    let mut found: Vec<Slice> = Vec::with_capacity(cuts.len());
    let (mut note, mut beat, mut bass_chord) = (0, 0, None);
    for (index, &at) in cuts.iter().enumerate() {
        let length = cuts.get(index + 1).copied().unwrap_or(played.length) - at;
        while played.notes.get(note).is_some_and(|sounding| sounding.at + sounding.length <= at) {
            note += 1;
        }
        let sounding = played.notes.get(note).filter(|sounding| sounding.at <= at);
        let pitch =
            sounding.and_then(|sounding| sounding.pitch.pitch().transpose(by)).filter(|pitch| is_in_range(*pitch));
        let chord = played.chord_at(at).map(|chord| moved(chord, by));
        while beats.get(beat).is_some_and(|known| known.0 < at) {
            beat += 1;
        }
        let here = beats.get(beat).filter(|known| known.0 == at).map(|known| known.1);
        if here.is_some() {
            bass_chord = chord;
        }
        found.push(Slice {
            at,
            length,
            bar: played.bar_at(at),
            chord,
            bass_chord,
            melody: pitch,
            note: sounding.map(|_| note),
            starts: sounding.is_some_and(|sounding| sounding.at == at),
            beat: here,
            is_off_beat: off_beats.binary_search(&at).is_ok(),
            is_new_chord: chord.is_some() && played.chords.binary_search_by_key(&at, |mark| mark.at).is_ok(),
        });
    }
    Ok(found)
}

/// Returns the places where the thumb plays, and what is wanted there. Where no chord is told it has nothing to play.
fn beats(played: &Played, style: ThumbStyle) -> Vec<(Quarters, Beat)> {
    match style {
        ThumbStyle::MelodyAlone => Vec::new(),
        ThumbStyle::OnChanges => {
            let sounding = played.chords.iter().filter(|mark| mark.chord.is_some() && mark.at < played.length);
            sounding.map(|mark| (mark.at, Beat::NewChord)).collect()
        }
        ThumbStyle::Alternating | ThumbStyle::Steady => every_beat(played, style),
    }
}

fn every_beat(played: &Played, style: ThumbStyle) -> Vec<(Quarters, Beat)> {
    let mut found = Vec::new();
    let mut last_chord: Option<Quarters> = None;
    for bar in &played.bars {
        let beat = bar.metre.beat();
        let in_bar = bar.metre.bar_length().map_or(4, |length| length.whole_steps(beat));
        // The first whole beat at or after the bar's beginning.
        let mut place = bar.offset.whole_steps(beat) + i64::from(!bar.offset.is_multiple_of(beat));
        let mut since = 0_usize;
        while let Some(from_start) = beat.times(place, 1).filter(|at| *at < bar.offset + bar.length) {
            let at = bar.at + from_start - bar.offset;
            let next = played.chords.partition_point(|mark| mark.at <= at);
            let mark = next.checked_sub(1).and_then(|index| played.chords.get(index));
            if let Some(mark) = mark.filter(|mark| mark.chord.is_some()) {
                if last_chord != Some(mark.at) {
                    since = 0;
                }
                let is_new = last_chord != Some(mark.at);
                last_chord = Some(mark.at);
                let wanted = match (is_new, style) {
                    (true, _) => Beat::NewChord,
                    (false, ThumbStyle::Steady) => Beat::Root,
                    // In threes the root is followed by two others.
                    (false, _) if in_bar == 3 && since == 2 => Beat::Any,
                    (false, _) if since.is_multiple_of(2) => Beat::Root,
                    (false, _) => Beat::Other,
                };
                found.push((at, wanted));
                since += 1;
            }
            place += 1;
        }
    }
    found
}
