//! A tune that is plucked into the phone.

use crate::app::{METRES, PARTS, PluckPhase, PluckPlace, State, ui};

use super::custom::Custom;
use super::listening::mic;
use super::tune::beat_text;
use super::{count, rows};

/// Fills the screen.
pub(in crate::app) fn show_tune_pluck(state: &State, to: &ui::PluckState<'_>) {
    let plucking = &state.tune.entry.plucking;
    to.set_phase(match plucking.phase {
        PluckPhase::Setting => ui::PluckPhase::Setting,
        PluckPhase::Listening => ui::PluckPhase::Listening,
        PluckPhase::Writing => ui::PluckPhase::Writing,
        PluckPhase::Written => ui::PluckPhase::Written,
    });
    to.set_mic(mic(state.ears.mic));
    to.set_mute(state.ears.muted.is_some());
    to.set_empty(plucking.is_empty);
    to.set_tempo(plucking.tempo.to_string().into());
    to.set_metres(rows(METRES.iter().map(|(beats, unit)| format!("{beats}/{unit}").into())));
    to.set_metre(count(plucking.metre));
    // A third of a quarter has no name as a part of a whole note.
    let part = |&(numerator, denominator): &(i64, i64)| {
        if denominator == 3 { String::new() } else { format!("{numerator}/{}", 4 * denominator) }
    };
    to.set_parts(rows(PARTS.iter().map(|one| part(one).into())));
    to.set_part(count(plucking.part));
    let (count_in, bar) = match plucking.place() {
        PluckPlace::CountIn(beat) => (beat.to_string(), String::new()),
        PluckPlace::Bar(bar) => (String::new(), bar.to_string()),
    };
    to.set_count_in(count_in.into());
    to.set_bar(bar.into());
    let custom = Custom::of(state);
    to.set_notes(rows(plucking.notes.iter().enumerate().map(|(index, note)| {
        let (bar, beat) = plucking.bar_and_beat(note.at);
        let length = plucking.end_of(index) - note.at;
        ui::PluckedNote {
            bar: bar.to_string().into(),
            beat: beat_text(beat).into(),
            note: custom.pitch(note.pitch).into(),
            length: length.times(1, 4).unwrap_or(length).to_string().into(),
            unsure: !note.is_sure,
        }
    })));
    to.set_unsure(count(plucking.notes.iter().filter(|note| !note.is_sure).count()));
    to.set_selected(count(plucking.selected));
}
