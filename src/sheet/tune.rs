//! A tune to hand out: notes and tab, the thumb below, the fretting hand's fingers above.

use crate::arrange::{ArrangedSlice, Arrangement, LeftOutKind, Sounding};
use crate::instrument::{Fretboard, Instrument, Tuning};
use crate::theory::{Pitch, SpelledPitch};
use crate::tune::{Played, Quarters, Tune};

use super::compose::Composer;
use super::names::Names;
use super::paper::SheetOptions;
use super::score::{Bar, Event, Fretted, Harmony, Score, TICKS};
use super::{Sheet, notation};

/// What stands on a tune's sheet.
#[derive(Clone, Debug)]
pub struct TuneSheet<'a> {
    /// The tune.
    pub tune: &'a Tune,
    /// As it is played.
    pub played: &'a Played,
    /// As it is worked out.
    pub arrangement: &'a Arrangement,
    /// On what.
    pub instrument: &'a Instrument,
    /// In which tuning.
    pub tuning: &'a Tuning,
    /// Its open strings without the capo, as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What the tuning is called, if it has a name.
    pub tuning_name: Option<&'a str>,
}

/// Sets a tune on pages; `None` when tuning and capo do not fit the instrument.
#[must_use]
pub fn tune_sheet(wanted: &TuneSheet<'_>, options: &SheetOptions) -> Option<Sheet> {
    let capo = wanted.arrangement.capo;
    let board = Fretboard::new(wanted.instrument, wanted.tuning, capo).ok()?;
    let names = Names::new(wanted.instrument, options);
    let title = match wanted.tune.title.trim() {
        "" => names.words.say("a-tune", &[]),
        title => title.to_owned(),
    };
    let mut page = Composer::new(options, &title);
    page.title();
    let mut stand = names.stand(wanted.tuning_name, wanted.spelled, capo);
    if let Some(tempo) = wanted.tune.tempo {
        let beats = format!("{:.0}", tempo.quarters_per_minute());
        stand += &format!(" · {}", names.words.say("quarters-a-minute", &[&beats]));
    }
    page.paragraph(&[page.body(stand)]);
    page.space(page.size.body);
    let mut score = Score::new(options, &board, wanted.spelled, &title);
    for index in 0..wanted.played.bars.len() {
        score.bars.push(bar(wanted, index));
    }
    notation::set(&mut page, &names, &score);
    for left in &wanted.arrangement.left_out {
        let bar = left.bar.to_string();
        let sentence = match left.what {
            LeftOutKind::Melody(pitch) => names.words.say("left-out-melody", &[&bar, &names.pitch(pitch)]),
            LeftOutKind::Bass => names.words.say("left-out-bass", &[&bar]),
            LeftOutKind::Root => names.words.say("left-out-root", &[&bar]),
        };
        page.paragraph(&[page.small(sentence)]);
    }
    page.space(page.size.small * 0.6);
    page.paragraph(&[page.small(names.words.say("legend-tune", &[]))]);
    Some(Sheet { document: page.finish(), score: Some(score) })
}

fn ticks(length: Quarters) -> u32 {
    let (numerator, denominator) = length.fraction();
    let all = numerator.saturating_mul(i64::from(TICKS)) / denominator.max(1);
    u32::try_from(all).unwrap_or(0)
}

/// Spells what sounds by the key it stands in, moved with the tune.
fn spelled(wanted: &TuneSheet<'_>, written: usize, pitch: Pitch) -> Option<SpelledPitch> {
    let key = wanted.tune.bars.get(written).and_then(|bar| bar.key.key);
    let by = wanted.arrangement.transpose;
    let note = key.map_or_else(
        || SpelledPitch::by_choice(pitch, crate::theory::SpellingChoice::Customary).note(),
        |key| {
            let tonic = crate::theory::Note::of_class(
                key.tonic().class().transpose(by),
                crate::theory::SpellingChoice::Customary,
            );
            crate::theory::Key::new(tonic, key.mode()).note_of(pitch.class())
        },
    );
    SpelledPitch::of_pitch(pitch, note)
}

fn bar(wanted: &TuneSheet<'_>, index: usize) -> Bar {
    let played = wanted.played.bars[index];
    let slices: Vec<&ArrangedSlice> = wanted.arrangement.slices.iter().filter(|slice| slice.bar == index).collect();
    let length = ticks(played.length);
    let fretted = |note: &Sounding| {
        let pitch = spelled(wanted, played.written, note.pitch)?;
        Some(Fretted { pitch, course: note.position.course, fret: note.position.fret, finger: note.finger })
    };
    let mut harmonies: Vec<Harmony> = Vec::new();
    let mut chord = None;
    for slice in &slices {
        if slice.chord != chord {
            harmonies.extend(slice.chord.map(|chord| Harmony::new(chord, None, ticks(slice.at - played.at))));
            chord = slice.chord;
        }
    }
    let upper = |slice: &ArrangedSlice| slice.melody.into_iter().collect::<Vec<Sounding>>();
    let lower = |slice: &ArrangedSlice| slice.bass.iter().chain(&slice.inner).copied().collect::<Vec<Sounding>>();
    let voices = [&upper as &dyn Fn(&ArrangedSlice) -> Vec<Sounding>, &lower].map(
        |of: &dyn Fn(&ArrangedSlice) -> Vec<Sounding>| {
            let mut voice: Vec<Event> = Vec::new();
            let mut at = 0;
            for slice in &slices {
                let (begin, lasts) = (ticks(slice.at - played.at), ticks(slice.length));
                if begin > at {
                    rest(&mut voice, begin - at);
                }
                at = begin + lasts;
                let sounding = of(slice);
                let starts = sounding.iter().any(|note| note.starts);
                let goes_on = !sounding.is_empty() && !starts;
                match voice.last_mut() {
                    // What sounds on lengthens what began.
                    Some(last) if goes_on && !last.notes.is_empty() => last.ticks += lasts,
                    _ if sounding.is_empty() => rest(&mut voice, lasts),
                    _ => {
                        let kept: Vec<&Sounding> = sounding.iter().filter(|note| note.starts || !starts).collect();
                        let notes = kept.into_iter().filter_map(fretted).collect();
                        voice.push(Event { ticks: lasts, notes, ties_from: !starts, ties_to: false });
                    }
                }
            }
            if at < length {
                rest(&mut voice, length - at);
            }
            // What sounds on into the next bar is tied.
            let next = wanted.arrangement.slices.iter().find(|slice| slice.bar == index + 1);
            let is_held = next.is_some_and(|next| {
                let sounding = of(next);
                !sounding.is_empty() && sounding.iter().all(|note| !note.starts)
            });
            if let Some(last) = voice.last_mut().filter(|last| is_held && !last.notes.is_empty()) {
                last.ties_to = true;
            }
            voice
        },
    );
    let metre = played.metre.written().unwrap_or((4, 4));
    Bar { harmonies, voices: voices.to_vec(), metre, number: played.number, heading: None }
}

/// A rest, joined to the one before.
fn rest(voice: &mut Vec<Event>, ticks: u32) {
    match voice.last_mut() {
        Some(last) if last.notes.is_empty() => last.ticks += ticks,
        _ => voice.push(Event { ticks, ..Event::default() }),
    }
}
