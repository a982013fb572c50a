//! A comparison by ear: what the picture and the words need.

use crate::app::State;
use crate::app::ui;
use crate::instrument::{Fret, Fretboard};
use crate::retune::{Match, MatchKind, Sounding, Touch};
use crate::theory::{Note, Pitch, Semitones, SpelledPitch};

use super::custom::{Custom, decimal};
use super::fraction;
use super::marks::{spelled, thickness};

/// The error below which a number says nothing, in cents.
const SMALLEST_CENTS: f64 = 0.05;
/// The beat below which none is heard, in beats a second.
const SMALLEST_BEAT: f64 = 0.05;

/// Turns a comparison on the way to `target` into what is shown.
pub(super) fn match_view(state: &State, how: &Match, target: &crate::instrument::Tuning) -> ui::MatchView {
    let names = spelled(state, target);
    let turned = side(state, how.tuned(), target, &names);
    let sounding = sounding_pitch(state, how.tuned(), target);
    let reference = how.reference().map_or_else(
        || ui::MatchSide {
            note: note_of(state, sounding, &names).into(),
            at: ui::SoundedAt::Tone,
            hertz: sounding
                .map(|pitch| decimal(state.library.settings.reference().frequency(pitch).get()))
                .unwrap_or_default()
                .into(),
            ..ui::MatchSide::default()
        },
        |reference| side(state, reference, target, &names),
    );
    let beats = how.beats().abs().per_second();
    let has_beats = beats >= SMALLEST_BEAT;
    let reference_index = how.reference().map(|reference| reference.course.from_lowest_index());
    let is_right_handed = !state.library.settings.is_left_handed;
    let is_thicker = reference_index.is_none_or(|index| how.tuned().course.from_lowest_index() < index);
    ui::MatchView {
        kind: kind(how, state, target),
        turned,
        reference,
        turned_on_top: is_thicker == is_right_handed || reference_index.is_none(),
        beats: if has_beats { decimal(beats) } else { String::new() }.into(),
        ends_above: how.lean().get() > 0.0,
        cents_per_beat: decimal(how.cents_per_beat().get()).into(),
        error_cents: decimal(how.error().get().max(SMALLEST_CENTS)).into(),
        aim_beats: decimal(how.slowest_beat().per_second()).into(),
        aim_cents: decimal(how.slowest_beat_error().get().abs().max(SMALLEST_CENTS)).into(),
    }
}

fn kind(how: &Match, state: &State, target: &crate::instrument::Tuning) -> ui::MatchKind {
    match how.kind() {
        MatchKind::Unison => ui::MatchKind::Unison,
        MatchKind::Harmonic => ui::MatchKind::Harmonic,
        MatchKind::Tone => ui::MatchKind::Tone,
        MatchKind::Octave => {
            let tuned = sounding_pitch(state, how.tuned(), target);
            let other = how.reference().and_then(|reference| sounding_pitch(state, reference, target));
            let apart = tuned.zip(other).map(|(tuned, other)| (tuned - other).abs());
            if apart == Some(Semitones::new(24)) { ui::MatchKind::TwoOctaves } else { ui::MatchKind::Octave }
        }
    }
}

/// The pitch of the string as it is stopped, without its partial.
fn sounding_pitch(state: &State, sounding: Sounding, target: &crate::instrument::Tuning) -> Option<Pitch> {
    let open = *target.pitches().get(sounding.course.from_lowest_index())?;
    match sounding.touch {
        Touch::Open | Touch::Harmonic => Some(open),
        Touch::Stopped => {
            let board = Fretboard::new(state.instrument(), target, Fret::OPEN).ok()?;
            board.pitch_at(crate::instrument::Position { course: sounding.course, fret: sounding.fret })
        }
    }
}

fn note_of(state: &State, pitch: Option<Pitch>, names: &[SpelledPitch]) -> String {
    let Some(pitch) = pitch else { return String::new() };
    let custom = Custom::of(state);
    let known = names.iter().map(|name| name.note()).find(|note: &Note| note.class() == pitch.class());
    known.map_or_else(|| custom.pitch(pitch), |note| custom.note(note))
}

fn side(
    state: &State,
    sounding: Sounding,
    target: &crate::instrument::Tuning,
    names: &[SpelledPitch],
) -> ui::MatchSide {
    let index = sounding.course.from_lowest_index();
    let courses = state.instrument().courses();
    let pitch = sounding_pitch(state, sounding, target);
    let heard = match sounding.touch {
        Touch::Harmonic => pitch.and_then(|pitch| pitch.transpose(partial_semitones(sounding.partial))),
        Touch::Open | Touch::Stopped => pitch,
    };
    let place = match sounding.touch {
        Touch::Open => 0.0,
        Touch::Stopped => sounding.fret.distance_mm(1.0),
        Touch::Harmonic => 1.0 / f64::from(sounding.partial.max(1)),
    };
    let at = match sounding.touch {
        Touch::Open => ui::SoundedAt::Open,
        Touch::Stopped => ui::SoundedAt::Fretted,
        Touch::Harmonic => ui::SoundedAt::Harmonic,
    };
    let is_open = sounding.touch == Touch::Open;
    ui::MatchSide {
        course: sounding.course.player_number(courses.len()).to_string().into(),
        note: note_of(state, heard, names).into(),
        at,
        fret: if is_open { String::new() } else { state.instrument().fret_name(sounding.fret) }.into(),
        place: fraction(place),
        thickness: thickness(state.strings()).get(index).copied().unwrap_or(0.5),
        partial: if sounding.partial > 1 { sounding.partial.to_string() } else { String::new() }.into(),
        pair: courses.get(index).is_some_and(|course| course.is_pair()),
        drone: courses.get(index).is_some_and(|course| course.is_drone()),
        hertz: "".into(),
    }
}

/// Semitones of a partial above the open string, to the nearest.
const fn partial_semitones(partial: u8) -> Semitones {
    Semitones::new(match partial {
        2 => 12,
        3 => 19,
        4 => 24,
        5 => 28,
        _ => 0,
    })
}
