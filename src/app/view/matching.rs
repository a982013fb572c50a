//! A comparison by ear: what the picture and the words need.

use crate::app::State;
use crate::app::ui;
use crate::retune::{Match, MatchKind, Sounding, Touch};
use crate::theory::{Note, Pitch, Semitones, SpelledPitch};

use super::custom::{Custom, decimal};
use super::fraction;
use super::marks::{spelled, thickness};

/// The error below which a number says nothing, in cents.
const SMALLEST_CENTS: f64 = 0.05;

/// Turns a comparison on the way to `target` into what is shown.
pub(super) fn match_view(state: &State, how: &Match, target: &crate::instrument::Tuning) -> ui::MatchView {
    let names = spelled(state, target);
    let open_of = |sounding: Sounding| target.pitches().get(sounding.course.from_lowest_index()).copied();
    let turned = side(state, how.tuned(), open_of(how.tuned()), &names);
    let sounding = sounding_pitch(state, how.tuned(), open_of(how.tuned()));
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
        |reference| side(state, reference, how.reference_open(), &names),
    );
    let beats = how.counted().map(|beats| decimal(beats.abs().per_second()));
    let left_off = how.left_off().get();
    let reference_index = how.reference().map(|reference| reference.course.from_lowest_index());
    let is_right_handed = !state.library.settings.is_left_handed;
    let is_thicker = reference_index.is_none_or(|index| how.tuned().course.from_lowest_index() < index);
    ui::MatchView {
        kind: kind(how, state, target),
        turned,
        reference,
        turned_on_top: is_thicker == is_right_handed || reference_index.is_none(),
        beats: beats.unwrap_or_default().into(),
        left_off: if left_off.abs() < SMALLEST_CENTS { String::new() } else { decimal(left_off.abs()) }.into(),
        left_sharp: left_off > 0.0,
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
            let open = target.pitches().get(how.tuned().course.from_lowest_index()).copied();
            let tuned = sounding_pitch(state, how.tuned(), open);
            let other = how.reference().and_then(|reference| sounding_pitch(state, reference, how.reference_open()));
            let apart = tuned.zip(other).map(|(tuned, other)| (tuned - other).abs());
            if apart == Some(Semitones::new(24)) { ui::MatchKind::TwoOctaves } else { ui::MatchKind::Octave }
        }
    }
}

/// The pitch of the string as it is stopped, without its partial; `open` is where it stands.
fn sounding_pitch(state: &State, sounding: Sounding, open: Option<Pitch>) -> Option<Pitch> {
    match sounding.touch {
        Touch::Open | Touch::Harmonic => open,
        Touch::Stopped => {
            let course = state.instrument().courses().get(sounding.course.from_lowest_index())?;
            open?.transpose(sounding.fret.semitones() - course.starts_at().semitones())
        }
    }
}

fn note_of(state: &State, pitch: Option<Pitch>, names: &[SpelledPitch]) -> String {
    let Some(pitch) = pitch else { return String::new() };
    let custom = Custom::of(state);
    let known = names.iter().map(|name| name.note()).find(|note: &Note| note.class() == pitch.class());
    known.map_or_else(|| custom.pitch(pitch), |note| custom.note(note))
}

fn side(state: &State, sounding: Sounding, open: Option<Pitch>, names: &[SpelledPitch]) -> ui::MatchSide {
    let index = sounding.course.from_lowest_index();
    let courses = state.instrument().courses();
    let pitch = sounding_pitch(state, sounding, open);
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
