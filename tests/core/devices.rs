//! The machine's own loudspeaker and microphone, where there are some: `tests/device/run.sh` gives these tests a pair.

use std::sync::Arc;
use std::time::{Duration, Instant};

use pegwise::app::{Ask, Hearing, Ringing, Told, Watch, WatchedString, Worker};
use pegwise::instrument::CourseIndex;
use pegwise::platform::sound_device;
use pegwise::sound::{Listening, Strike, Tone, read_wav, track};
use pegwise::theory::{Cents, Hertz};

/// How long the worker waits between two steps, as in the app.
const PAUSE: Duration = Duration::from_millis(10);
const STRING_HZ: f64 = 220.0;
const LENGTH_S: f64 = 8.0;

/// Lets the worker do what is asked for so long, or until `is_enough` says so of what was told.
fn work(ask: Ask, longest_s: f64, is_enough: impl Fn(&Told) -> bool) -> Vec<Told> {
    let mut worker = Worker::new(sound_device());
    let mut told = Vec::new();
    worker.ask(ask, &mut told);
    let begun = Instant::now();
    let mut last = begun;
    while !worker.is_idle() && begun.elapsed().as_secs_f64() < longest_s && !told.iter().any(&is_enough) {
        std::thread::sleep(PAUSE);
        let now = Instant::now();
        worker.step(now - last, &mut told);
        last = now;
    }
    told
}

#[test]
#[ignore = "needs a loudspeaker: tests/device/run.sh"]
fn a_string_is_sounded_to_its_end() {
    let tone = Tone { decay_s: 20.0, ..Tone::default() };
    let strike = Strike { stop_at_s: Some(LENGTH_S), ..Strike::new(Hertz::new(STRING_HZ).unwrap(), tone, 1) };
    assert_eq!(work(Ask::Play(1, Arc::from([strike])), LENGTH_S + 5.0, |_| false), [Told::Played(1)]);
}

#[test]
#[ignore = "needs what was recorded of it: tests/device/run.sh"]
fn the_recording_is_one_whole_string() {
    let bytes = std::fs::read(std::env::var("PEGWISE_RECORDING").unwrap()).unwrap();
    let recording = read_wav(&bytes[..]).unwrap();
    // Blocks of 5 ms, a little longer than a period: none of them may be silent between the first and the last.
    let block = recording.rate.samples_in(0.005);
    let loud: Vec<bool> =
        recording.samples.chunks(block).map(|part| part.iter().any(|value| value.abs() > 0.002)).collect();
    let first = loud.iter().position(|is_loud| *is_loud).expect("something sounds");
    let last = loud.iter().rposition(|is_loud| *is_loud).unwrap();
    let gaps = loud[first..=last].iter().filter(|is_loud| !**is_loud).count();
    let sounded_s = 0.005 * f64::from(u32::try_from(last + 1 - first).unwrap());
    assert!(gaps == 0 && (sounded_s - LENGTH_S).abs() < 0.05, "{sounded_s} s, {gaps} silent blocks within");
    // What is torn or played at another rate is read elsewhere.
    let readings = track(&recording, Listening::default());
    let off = |hz: Hertz| Cents::between(Hertz::new(STRING_HZ).unwrap(), hz).get();
    let heard: Vec<f64> = readings.iter().filter_map(|reading| Some(off(reading.heard?.frequency))).collect();
    let worst = heard.iter().fold(0.0_f64, |worst, off| worst.max(off.abs()));
    assert!(heard.len() > 350 && worst < 1.0, "{} readings, up to {worst:.2} cents off", heard.len());
}

#[test]
#[ignore = "needs a microphone and another program that plays the string: tests/device/run.sh"]
fn a_string_played_by_another_program_is_heard() {
    let hertz = Hertz::new(STRING_HZ).unwrap().shifted(Cents::new(-5.0));
    let string = WatchedString { course: CourseIndex::from_lowest(0), hertz, from: None };
    let watch = Watch {
        strings: vec![string],
        asked: Some(0),
        references: Vec::new(),
        tolerance: Cents::new(2.0),
        shared: None,
    };
    let off = |told: &Told| match told {
        Told::Hearing(Hearing { ringing: Ringing::String { off, .. }, .. }) => Some(off.get()),
        _ => None,
    };
    let told = work(Ask::Listen(1, watch), 8.0, |_| false);
    let heard: Vec<f64> = told.iter().filter_map(off).collect();
    assert!(heard.len() > 40, "heard {} times: {:?}", heard.len(), told.last());
    let settled = heard.last().unwrap();
    assert!((settled - 5.0).abs() < 0.2, "{settled:+.2} cents instead of +5");
}
