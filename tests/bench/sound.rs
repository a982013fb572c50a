//! Sound: one second tracked, by this crate and by a general-purpose period method; strings sounded; beats counted.

use divan::{Bencher, black_box};
use pegwise::sound::{BeatMeter, Listening, Player, Pluck, SampleRate, Strike, Tone, Tracker, render};
use pegwise::theory::Hertz;
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::mcleod::McLeodDetector;

const STRINGS_HZ: [f64; 4] = [30.87, 82.41, 329.63, 1318.51];

/// Ten seconds in which a string is plucked every two.
fn ten_seconds(hz: f64) -> Vec<f32> {
    let strike = Strike::new(Hertz::new(hz).expect("above zero"), Tone::default(), 1);
    let strikes: Vec<Strike> = (0..5_u8).map(|n| strike.at(2.0 * f64::from(n))).collect();
    render(SampleRate::COMMON, &strikes, 10.0)
}

/// A tenth of the figure is the cost of one second.
#[divan::bench(args = STRINGS_HZ)]
fn track_ten_seconds(bencher: Bencher<'_, '_>, hz: f64) {
    let sound = ten_seconds(hz);
    bencher.bench_local(|| {
        let mut readings = Vec::new();
        let mut tracker = Tracker::new(SampleRate::COMMON, Listening::default());
        for portion in sound.chunks(480) {
            tracker.push(black_box(portion), &mut readings);
        }
        readings
    });
}

/// The same ten seconds read every 20 ms from 4096 samples by the McLeod pitch method of the `pitch-detection` crate.
#[divan::bench(args = STRINGS_HZ)]
fn track_ten_seconds_by_period(bencher: Bencher<'_, '_>, hz: f64) {
    let sound = ten_seconds(hz);
    bencher.bench_local(|| {
        let mut detector = McLeodDetector::new(4096, 2048);
        let frames = sound.windows(4096).step_by(960);
        frames.filter_map(|frame| detector.get_pitch(black_box(frame), 48_000, 0.01, 0.5)).count()
    });
}

/// One second of 200 strings; below a second is real time.
#[divan::bench]
fn sound_200_strings_for_a_second(bencher: Bencher<'_, '_>) {
    let strings: Vec<Pluck> = (0..200_u8)
        .map(|n| {
            let hz = Hertz::new(60.0 + 6.0 * f64::from(n)).expect("above zero");
            Pluck::new(SampleRate::COMMON, hz, Tone::default(), 0.005).expect("in range")
        })
        .collect();
    bencher.with_inputs(|| strings.clone()).bench_local_values(|mut strings| {
        let mut mix = vec![0.0; 480];
        for _ in 0..100 {
            strings.iter_mut().for_each(|string| string.add_to(&mut mix));
            black_box(&mut mix).fill(0.0);
        }
    });
}

/// What one pluck costs before its first sample.
#[divan::bench(args = STRINGS_HZ)]
fn pluck_one_string(bencher: Bencher<'_, '_>, hz: f64) {
    let strike = Strike::new(Hertz::new(hz).expect("above zero"), Tone::default(), 1);
    bencher.bench_local(|| Player::new(SampleRate::COMMON).pluck(black_box(&strike)));
}

/// Five seconds of two strings, and the beat rate at their end.
#[divan::bench]
fn count_beats_in_five_seconds(bencher: Bencher<'_, '_>) {
    let strike = |hz: f64, course| Strike::new(Hertz::new(hz).expect("above zero"), Tone::default(), course);
    let sound = render(SampleRate::COMMON, &[strike(220.0, 1), strike(221.0, 2)], 5.0);
    bencher.bench_local(|| {
        let mut meter = BeatMeter::new(SampleRate::COMMON, Hertz::new(220.0).expect("above zero"));
        meter.push(black_box(&sound));
        meter.beating()
    });
}
