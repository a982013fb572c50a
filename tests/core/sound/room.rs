//! What a microphone hears besides the string: nothing, noise, hum, other strings.

use std::f64::consts::{PI, TAU};

use super::signals::{Plucked, RATE_HZ, Random, add_noise, cents, readings, samples, seconds};

/// Noise through a resonance at `hz` of `width_hz`.
struct Resonance {
    a: f64,
    b: f64,
    one: f64,
    two: f64,
}

impl Resonance {
    fn new(hz: f64, width_hz: f64) -> Self {
        let radius = (-PI * width_hz / RATE_HZ).exp();
        Self { a: 2.0 * radius * (TAU * hz / RATE_HZ).cos(), b: -radius * radius, one: 0.0, two: 0.0 }
    }

    fn next(&mut self, x: f64) -> f64 {
        let y = x + self.a * self.one + self.b * self.two;
        (self.two, self.one) = (self.one, y);
        y
    }
}

#[derive(Clone, Copy, Debug)]
enum Noise {
    White,
    Pink,
    Brown,
    Speech,
}

/// Pink: white through three first-order sections a decade apart (within 1 dB of 1/f over the strings' range).
/// Speech-like: noise through four resonances where vowels have theirs, moved every 120 ms, rising and falling about
/// four times a second with pauses (after the idea of speech-shaped noise in hearing tests, from memory).
fn noise(kind: Noise, length_s: f64, seed: u64) -> Vec<f32> {
    let mut random = Random(seed);
    let count = seconds(length_s);
    let mut out = Vec::with_capacity(count);
    let mut states = [0.0_f64; 3];
    let mut resonances: Vec<Resonance> = Vec::new();
    let (mut loud, mut loudness) = (0.0_f64, 0.0_f64);
    for n in 0..count {
        let white = random.normal();
        let value = match kind {
            Noise::White => white,
            Noise::Pink => {
                for (state, (pole, gain)) in
                    states.iter_mut().zip([(0.99765, 0.0990460), (0.96300, 0.2965164), (0.57000, 1.0526913)])
                {
                    *state = pole * *state + gain * white;
                }
                states.iter().sum::<f64>() + 0.1848 * white
            }
            Noise::Brown => {
                states[0] = 0.999 * states[0] + white;
                states[0]
            }
            Noise::Speech => {
                if n % seconds(0.12) == 0 {
                    let f1 = random.between(250.0, 900.0);
                    let places = [random.between(90.0, 250.0), f1, random.between(f1 + 300.0, 2500.0), 3000.0];
                    resonances =
                        places.iter().zip([60.0, 80.0, 120.0, 200.0]).map(|(&hz, w)| Resonance::new(hz, w)).collect();
                    loud = if random.unit() < 0.3 { 0.0 } else { random.between(0.2, 1.0) };
                }
                loudness += 0.0006 * (loud - loudness);
                resonances.iter_mut().map(|resonance| resonance.next(white * loudness)).sum()
            }
        };
        out.push(value);
    }
    samples(&out, 0.5)
}

/// No reading may come of this much of each kind of noise.
fn nothing_is_read_in_noise(minutes: u64) {
    for kind in [Noise::White, Noise::Pink, Noise::Brown, Noise::Speech] {
        for seed in 0..6 * minutes {
            let all = readings(&noise(kind, 10.0, seed));
            let false_one = all.iter().find(|reading| reading.heard.is_some());
            assert!(false_one.is_none(), "{kind:?} {seed}: {false_one:?}");
        }
    }
}

#[test]
fn nothing_is_read_in_a_minute_of_noise() {
    nothing_is_read_in_noise(1);
}

#[test]
#[ignore = "minutes: cargo test --release --test core nothing_is_read_in_ten_minutes -- --ignored"]
fn nothing_is_read_in_ten_minutes_of_noise() {
    nothing_is_read_in_noise(10);
}

#[test]
fn nothing_is_read_in_silence() {
    let all = readings(&vec![0.0; seconds(20.0)]);
    assert!(all.len() >= 1000 && all.iter().all(|reading| reading.heard.is_none()));
}

fn add_hum(out: &mut [f64], mains_hz: f64, level: f64) {
    for (k, strength) in [(1.0, 1.0), (2.0, 0.7), (3.0, 0.5), (5.0, 0.2)] {
        for (value, n) in out.iter_mut().zip(0_u32..) {
            *value += level * strength * (TAU * mains_hz * k * f64::from(n) / RATE_HZ).sin();
        }
    }
}

#[test]
fn hum_alone_gives_nothing_and_a_string_over_it_is_read() {
    for mains_hz in [50.0, 60.0] {
        let mut out = vec![0.0; seconds(6.0)];
        add_hum(&mut out, mains_hz, 0.1);
        add_noise(&mut out, 0..seconds(6.0), 40.0, &mut Random(3));
        let all = readings(&samples(&out, 0.1));
        assert!(all.iter().all(|reading| reading.heard.is_none()), "{mains_hz} Hz");
        for hz in [30.87, 49.0, 61.74, 82.41, 98.0, 110.0, 329.63] {
            let mut random = Random(4);
            let mut out = vec![0.0; seconds(2.2)];
            add_hum(&mut out, mains_hz, 0.05);
            Plucked::plain(hz, 1e-4, 4.0).add_to(&mut out, seconds(1.0), 1.0, &mut random);
            add_noise(&mut out, seconds(1.0)..seconds(2.0), 40.0, &mut random);
            let all = readings(&samples(&out, 0.5));
            let first = all.iter().find(|reading| reading.heard.is_some()).unwrap();
            assert!((1.0..1.3).contains(&first.at_s), "{hz} Hz over {mains_hz}: first at {}", first.at_s);
            for (at_s, heard) in all.iter().filter_map(|reading| Some((reading.at_s, reading.heard?))) {
                let off = cents(hz, heard.frequency.get());
                assert!(
                    off.abs() < if at_s < 1.3 { 20.0 } else { 5.0 },
                    "{hz} Hz over {mains_hz}: {off:+.1} at {at_s:.2}"
                );
            }
        }
    }
}

#[test]
fn the_string_just_plucked_is_read_while_another_rings() {
    let strings = [73.42, 110.0, 146.83, 246.94, 329.63];
    for level in [0.1, 1.0] {
        for (old, new) in strings.iter().flat_map(|old| strings.map(|new| (*old, new))) {
            let mut random = Random(5);
            let mut out = vec![0.0; seconds(1.4)];
            Plucked::plain(old, 5e-5, 4.0).add_to(&mut out, seconds(0.1), level, &mut random);
            Plucked::plain(new, 5e-5, 4.0).add_to(&mut out, seconds(0.7), 1.0, &mut random);
            add_noise(&mut out, seconds(0.7)..seconds(1.4), 40.0, &mut random);
            let all = readings(&samples(&out, 0.5));
            let heard: Vec<f64> = all
                .iter()
                .filter(|reading| reading.at_s > 0.72)
                .filter_map(|reading| Some(cents(new, reading.heard?.frequency.get())))
                .collect();
            assert!(heard.len() >= 20, "{new} Hz over {old} at {level}: {} readings", heard.len());
            // The same string plucked again while it rings: its partials add up at random, a few cents early on.
            let worst = heard.iter().fold(0.0_f64, |worst, off| worst.max(off.abs()));
            assert!(worst < 8.0, "{new} Hz over {old} at {level}: {worst:.1} cents off");
        }
    }
}
