//! A tune plucked into the phone: the whole app without its window, in a room that a test fills with a performance.

use std::collections::BTreeSet;

use pegwise::app::{Action, Mic, PluckAction, PluckPhase, Screen, SongsAction, TuneAction, hide};
use pegwise::platform::DeviceFault;
use pegwise::songs::SongId;
use pegwise::sound::{SampleRate, Strike, Tone, find_delay, render};
use pegwise::theory::{Hertz, Pitch, ReferencePitch};
use pegwise::tune::{Grid, Metre, PluckedNote, Quarters, Tempo, TuneKey, common_delay};

use super::room::Bench;
use super::tune::Chance;

/// One of the invented songs, numbered as it comes into an empty library.
const SLIPWAY: SongId = SongId(3);

fn pluck(action: PluckAction) -> Action {
    Action::Tune(TuneAction::Pluck(action))
}

/// On the page where a tune is plucked: 4/4, eighths, at so many beats a minute.
fn opened(tempo: i16) -> Bench {
    let mut bench = Bench::new();
    bench.act(Action::Songs(SongsAction::Demo));
    bench.act(Action::CloseNotice);
    bench.act(Action::Songs(SongsAction::Open(SLIPWAY)));
    bench.act(Action::Tune(TuneAction::Open));
    bench.act(Action::Open(Screen::TuneEntry));
    bench.act(pluck(PluckAction::Open));
    let now = i16::try_from(bench.state.tune.entry.plucking.tempo).unwrap();
    bench.act(pluck(PluckAction::TempoBy(tempo - now)));
    bench
}

fn begin(bench: &mut Bench) {
    bench.act(pluck(PluckAction::Begin));
    if bench.state.ears.mic == Mic::Asking {
        bench.machine.answer(true);
        hide(&mut bench.state, &*bench.machine, false);
        bench.pass_on();
    }
    assert_eq!(bench.state.ears.mic, Mic::On);
    assert!(bench.machine.sound().is_listening());
}

/// What comes to the microphone: notes at places in eighths with up to 30 ms of human timing, noise 20 dB below them, all
/// later by `late_s`; the clicks as they were sounded besides, where they are heard.
fn performance(notes: &[(u32, u8)], tempo: f64, late_s: f64, hears_clicks: bool, chance: &mut Chance) -> Vec<f32> {
    let a4 = ReferencePitch::default();
    let beat_s = 60.0 / tempo;
    let mut strikes: Vec<Strike> = notes
        .iter()
        .map(|&(place, number)| {
            let hertz = a4.frequency(Pitch::from_number(number).unwrap());
            let at_s = 4.0 * beat_s + f64::from(place) * beat_s / 2.0 + late_s + 0.03 * chance.signed();
            Strike { at_s, level: 0.5, ..Strike::new(hertz, Tone::default(), 1) }
        })
        .collect();
    let last = strikes.last().unwrap().at_s;
    let length_s = last + 1.0;
    let power = |samples: &[f32]| samples.iter().map(|sample| sample * sample).sum::<f32>();
    let alone = render(SampleRate::COMMON, &strikes, length_s);
    let count = f32::from(u16::try_from(alone.len() / 1_000).unwrap()) * 1_000.0;
    let peak = (power(&alone) / count).sqrt() / 10.0 * 3.0_f32.sqrt();
    if hears_clicks {
        // Quieter than the strings: a phone's loudspeaker beside a guitar.
        strikes.extend((0..4_u8).map(|beat| {
            let tone = Tone { decay_s: 0.06, brightness: 0.4, inharmonicity: 0.0, plucked_at: 0.2 };
            let hertz = Hertz::new(if beat == 0 { 1600.0 } else { 1200.0 }).unwrap();
            let at_s = f64::from(beat) * beat_s + late_s;
            Strike { at_s, stop_at_s: Some(at_s + 0.09), level: 0.1, ..Strike::new(hertz, tone, 200) }
        }));
    }
    let mut samples = render(SampleRate::COMMON, &strikes, length_s);
    for sample in &mut samples {
        let noise = i16::try_from(i64::from(chance.below(65_535)) - 32_767).unwrap();
        *sample += peak * f32::from(noise) / 32_767.0;
    }
    samples
}

/// Eight bars of quarters, eighths and dotted quarters on the upper strings.
fn melody(chance: &mut Chance) -> Vec<(u32, u8)> {
    let mut notes = Vec::new();
    let mut place = 0;
    while place < 64 {
        notes.push((place, u8::try_from(55 + chance.below(20)).unwrap()));
        place += [1, 2, 2, 3][usize::try_from(chance.below(4)).unwrap()];
    }
    notes
}

#[test]
fn what_is_plucked_after_the_count_in_becomes_the_songs_tune() {
    let mut chance = Chance(0x2545_F491_4F6C_DD1D);
    // The way of the sound: none; a telephone's, its clicks heard; and with headphones, where nothing tells it.
    for (tempo, late_s, hears_clicks) in [(60, 0.0, true), (90, 0.14, true), (120, 0.09, false)] {
        let mut bench = opened(tempo);
        begin(&mut bench);
        let notes = melody(&mut chance);
        bench.hear(&performance(&notes, f64::from(tempo), late_s, hears_clicks, &mut chance));
        let played = bench.machine.sound().take_played();
        assert!(played.iter().any(|sample| sample.abs() > 0.05), "the count-in is sounded");
        bench.act(pluck(PluckAction::End));
        bench.hear_silence(0.05);
        let plucking = &bench.state.tune.entry.plucking;
        assert_eq!(plucking.phase, PluckPhase::Written);
        assert_eq!(bench.state.ears.mic, Mic::Off);
        assert!(!bench.machine.sound().is_listening());
        let half = Quarters::new(1, 2).unwrap();
        let found: BTreeSet<(Quarters, u8)> =
            plucking.notes.iter().map(|note| (note.at, note.pitch.number())).collect();
        let wanted: BTreeSet<(Quarters, u8)> =
            notes.iter().map(|&(place, number)| (half.times(place.into(), 1).unwrap(), number)).collect();
        let right = found.intersection(&wanted).count();
        println!("{tempo} a minute, {late_s} s late: {right} of {} right, {} found", wanted.len(), found.len());
        assert!(right * 100 >= wanted.len() * 98, "{right} of {}", wanted.len());
        assert!(found.len() <= wanted.len() + 1);

        bench.act(pluck(PluckAction::Take));
        assert_eq!(bench.state.screen(), Screen::Tune);
        let song = bench.state.library.find_song(SLIPWAY).unwrap();
        let tune = song.tune.as_ref().unwrap().read().unwrap();
        assert_eq!(tune.title, song.title);
        let played = tune.played().unwrap();
        let taken: BTreeSet<(Quarters, u8)> =
            played.notes.iter().map(|note| (note.at, note.pitch.pitch().number())).collect();
        assert_eq!(taken, found);
    }
}

#[test]
fn silence_ends_it_and_nothing_heard_is_said() {
    let mut chance = Chance(7);
    let mut bench = opened(120);
    begin(&mut bench);
    let notes = [(0, 62), (2, 64), (4, 66)];
    let mut sound = performance(&notes, 120.0, 0.0, false, &mut chance);
    // The strings are damped.
    sound.truncate(SampleRate::COMMON.samples_in(3.6));
    bench.hear(&sound);
    assert_eq!(bench.state.tune.entry.plucking.phase, PluckPhase::Listening);
    bench.hear_silence(4.2);
    assert_eq!(bench.state.tune.entry.plucking.phase, PluckPhase::Written);
    assert_eq!(bench.state.tune.entry.plucking.notes.len(), 3);

    let mut bench = opened(120);
    begin(&mut bench);
    bench.hear_silence(8.0);
    assert_eq!(bench.state.tune.entry.plucking.phase, PluckPhase::Listening, "before anything is plucked it waits");
    bench.act(pluck(PluckAction::End));
    bench.hear_silence(0.05);
    let plucking = &bench.state.tune.entry.plucking;
    assert_eq!((plucking.phase, plucking.is_empty), (PluckPhase::Setting, true));
}

#[test]
fn without_a_microphone_or_a_loudspeaker_nothing_is_listened_to() {
    // The player says no.
    let mut bench = opened(90);
    bench.act(pluck(PluckAction::Begin));
    assert_eq!(bench.state.ears.mic, Mic::Asking);
    bench.machine.answer(false);
    hide(&mut bench.state, &*bench.machine, false);
    bench.act(pluck(PluckAction::Select(0)));
    assert_eq!((bench.state.ears.mic, bench.state.tune.entry.plucking.phase), (Mic::Refused, PluckPhase::Setting));
    assert!(!bench.machine.sound().is_listening());

    // It is pulled out while it listens; it cannot be opened; the clicks cannot be sounded.
    let mut bench = opened(90);
    begin(&mut bench);
    bench.hear_silence(1.0);
    bench.machine.sound().pull_out();
    bench.hear_silence(0.1);
    let told = |bench: &Bench| (bench.state.ears.mic, bench.state.tune.entry.plucking.phase);
    assert_eq!(told(&bench), (Mic::Fault(DeviceFault::Lost), PluckPhase::Setting));
    // The count-in breaks off.
    bench.hear_silence(0.5);
    assert!(!bench.machine.sound().is_sounding());
    bench.machine.sound().set_intake_fault(Some(DeviceFault::Busy));
    bench.act(pluck(PluckAction::Begin));
    assert_eq!(told(&bench), (Mic::Fault(DeviceFault::Busy), PluckPhase::Setting));
    bench.machine.sound().set_intake_fault(None);
    bench.machine.sound().set_outlet_fault(Some(DeviceFault::NoOutput));
    bench.act(pluck(PluckAction::Begin));
    assert_eq!(bench.state.tune.entry.plucking.phase, PluckPhase::Setting);
    assert_eq!(bench.state.ears.muted, Some(DeviceFault::NoOutput));
    assert!(!bench.machine.sound().is_listening());

    // Left, it listens no more.
    bench.machine.sound().set_outlet_fault(None);
    begin(&mut bench);
    bench.hear_silence(0.5);
    bench.act(Action::Back);
    assert_eq!(bench.state.screen(), Screen::TuneEntry);
    assert_eq!(told(&bench), (Mic::Off, PluckPhase::Setting));
    assert!(!bench.machine.sound().is_listening());
}

#[test]
fn what_was_heard_wrong_is_mended_by_taps() {
    let mut chance = Chance(11);
    let mut bench = opened(90);
    begin(&mut bench);
    bench.hear(&performance(&[(0, 62), (2, 64), (4, 66), (6, 67)], 90.0, 0.0, true, &mut chance));
    bench.act(pluck(PluckAction::End));
    bench.hear_silence(0.05);
    let notes = |bench: &Bench| -> Vec<(String, u8)> {
        let notes = &bench.state.tune.entry.plucking.notes;
        notes.iter().map(|note| (note.at.to_string(), note.pitch.number())).collect()
    };
    let expected =
        |all: &[(&str, u8)]| -> Vec<(String, u8)> { all.iter().map(|&(at, number)| (at.to_owned(), number)).collect() };
    assert_eq!(notes(&bench), expected(&[("0", 62), ("1", 64), ("2", 66), ("3", 67)]));
    // The second an octave lower and an eighth later; beyond its neighbour it does not go.
    bench.act(pluck(PluckAction::Select(1)));
    for _ in 0..12 {
        bench.act(pluck(PluckAction::PitchBy(-1)));
    }
    bench.act(pluck(PluckAction::PlaceBy(1)));
    bench.act(pluck(PluckAction::PlaceBy(1)));
    assert_eq!(notes(&bench), expected(&[("0", 62), ("3/2", 52), ("2", 66), ("3", 67)]));
    // The third was none; the fourth is two.
    bench.act(pluck(PluckAction::Select(2)));
    bench.act(pluck(PluckAction::Remove));
    bench.act(pluck(PluckAction::Select(2)));
    bench.act(pluck(PluckAction::Add));
    assert_eq!(notes(&bench), expected(&[("0", 62), ("3/2", 52), ("3", 67), ("7/2", 67)]));
    assert!(bench.state.tune.entry.plucking.notes.iter().all(|note| note.is_sure));
    bench.act(pluck(PluckAction::Again));
    assert_eq!(bench.state.tune.entry.plucking.phase, PluckPhase::Setting);
}

#[test]
fn the_way_of_the_sound_is_told_by_the_clicks_or_by_all_notes_together() {
    let rate = SampleRate::COMMON;
    let clicks: Vec<(f64, Hertz)> =
        (0..4_u8).map(|beat| (f64::from(beat) * 0.6, Hertz::new(1200.0).unwrap())).collect();
    let tone = Tone { decay_s: 0.06, brightness: 0.4, inharmonicity: 0.0, plucked_at: 0.2 };
    for late_s in [0.0, 0.05, 0.21, 0.39] {
        let strike = |&(at_s, pitch): &(f64, Hertz)| Strike::new(pitch, tone, 1).at(at_s + late_s);
        let strikes: Vec<Strike> = clicks.iter().map(strike).collect();
        let found = find_delay(&render(rate, &strikes, 3.0), rate, &clicks).unwrap();
        assert!((found - late_s).abs() < 0.011, "{found} for {late_s}");
    }
    let mut chance = Chance(3);
    for _ in 0..20 {
        let noise: Vec<f32> =
            (0..rate.samples_in(3.0)).map(|_| f32::from(i16::try_from(chance.below(2_000)).unwrap()) / 4e4).collect();
        assert_eq!(find_delay(&noise, rate, &clicks), None);
    }

    let (half, a4) = (Quarters::new(1, 2).unwrap(), ReferencePitch::default());
    let tempo = Tempo { beat: Quarters::ONE, per_minute: 120 };
    let grid = Grid { start_s: 0.0, tempo, part: half, metre: Metre::COMMON, key: TuneKey::default(), a4 };
    let at = |times: &[f64]| -> Vec<PluckedNote> {
        times.iter().map(|at_s| PluckedNote { at_s: *at_s, frequency: Hertz::new(220.0).unwrap() }).collect()
    };
    // A beat is 0.5 s. All 0.2 s late; a little early; on no grid at all.
    let late = common_delay(&at(&[0.2, 0.7, 1.2, 2.21, 2.69]), &grid);
    assert!((late - 0.2).abs() < 0.01, "{late}");
    let early = common_delay(&at(&[-0.02, 0.48, 0.73, 0.98]), &grid);
    assert!((early + 0.02).abs() < 0.01, "{early}");
    assert!(common_delay(&at(&[0.0, 0.06, 0.13, 0.19]), &grid).abs() < f64::EPSILON);
}
