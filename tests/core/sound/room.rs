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

/// Strings that stand on the mains' own multiples, and just beside them, are read as soon as any.
#[test]
fn a_string_on_the_mains_is_read_as_soon_as_beside_it() {
    for (hz, most_s) in [
        (150.0, 0.06),
        (180.0, 0.06),
        (200.0, 0.06),
        (240.0, 0.06),
        (249.2, 0.06),
        (250.0, 0.06),
        (300.0, 0.06),
        (360.0, 0.06),
        (261.63, 0.06),
        (100.0, 0.09),
        (120.0, 0.09),
        (110.0, 0.09),
        (60.0, 0.19),
    ] {
        for seed in 0..4 {
            let mut random = Random(seed);
            let mut out = vec![0.0; seconds(1.5)];
            Plucked::plain(hz, 5e-5, 6.0).add_to(&mut out, seconds(0.3), 1.0, &mut random);
            add_noise(&mut out, seconds(0.3)..seconds(0.5), 40.0, &mut random);
            let all = readings(&samples(&out, 0.5));
            let first = all.iter().find(|reading| reading.heard.is_some()).unwrap();
            assert!(first.at_s - 0.3 <= most_s + 1e-9, "{hz} Hz: {:.3} s", first.at_s - 0.3);
            let late = all.iter().filter(|reading| reading.at_s > 0.45 + 3.0 / hz);
            for reading in late {
                let off = reading.heard.map(|heard| cents(hz, heard.frequency.get()));
                assert!(off.is_some_and(|off| off.abs() < 2.0), "{hz} Hz at {:.2} s: {off:?}", reading.at_s);
            }
        }
    }
}

#[test]
fn hum_that_fades_is_no_string() {
    for mains_hz in [50.0, 60.0, 49.93] {
        let mut out = vec![0.0; seconds(6.0)];
        add_hum(&mut out, mains_hz, 0.1);
        for (at, value) in (0_u32..).zip(out.iter_mut()) {
            *value *= 10_f64.powf(-0.5 * f64::from(at) / RATE_HZ);
        }
        add_noise(&mut out, 0..seconds(1.0), 40.0, &mut Random(3));
        let all = readings(&samples(&out, 0.2));
        let heard = all.iter().find_map(|reading| reading.heard);
        assert!(heard.is_none(), "{mains_hz} Hz: {heard:?}");
    }
}

/// D A D F♯ A D strummed: no string of it is the 36.7 Hz that all their partials nearly share.
#[test]
fn a_strummed_chord_is_not_its_common_root() {
    let strings = [73.416, 110.0, 146.832, 184.997, 220.0, 293.665];
    for spread_s in [0.0, 0.02, 0.05] {
        let mut random = Random(9);
        let mut out = vec![0.0; seconds(2.5)];
        for (at, hz) in (0_u8..).zip(strings) {
            let from = seconds(0.2 + spread_s * f64::from(at));
            Plucked::plain(hz, 5e-5, 4.0).add_to(&mut out, from, 1.0, &mut random);
        }
        add_noise(&mut out, seconds(0.2)..seconds(1.2), 40.0, &mut random);
        for reading in readings(&samples(&out, 0.5)) {
            let Some(heard) = reading.heard else { continue };
            let hz = heard.frequency.get();
            assert!(hz > 70.0, "{spread_s} s apart: {hz:.1} Hz at {:.2} s", reading.at_s);
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
