//! Two strings beating, judged on sums of partials of known frequency.

use pegwise::sound::{BeatMeter, Beating, SampleRate};
use pegwise::theory::Hertz;

use super::signals::{Plucked, Random, add_noise, samples, seconds};

fn beating(first: &Plucked, second: Option<&Plucked>, shared_hz: f64, length_s: f64, seed: u64) -> Beating {
    let mut random = Random(seed);
    let mut out = vec![0.0; seconds(length_s)];
    first.add_to(&mut out, seconds(0.2), 1.0, &mut random);
    if let Some(second) = second {
        second.add_to(&mut out, seconds(0.2), 0.6, &mut random);
    }
    add_noise(&mut out, seconds(0.2)..seconds(length_s), 30.0, &mut random);
    let mut meter = BeatMeter::new(SampleRate::COMMON, Hertz::new(shared_hz).unwrap());
    meter.push(&samples(&out, 0.5));
    meter.beating()
}

#[test]
fn unisons_are_counted_within_3_percent_from_0_3_to_8_a_second() {
    // The rate of beating is the difference of the two frequencies. Tolerance: the issue's.
    for rate in [0.3, 0.5, 1.0, 2.0, 4.0, 8.0] {
        for hz in [110.0, 329.63] {
            let low = Plucked::plain(hz, 3e-5, 8.0);
            let high = Plucked::plain(hz + rate, 5e-5, 5.0);
            let length_s = if rate < 0.6 { 5.0 } else { 2.5 };
            let found = beating(&low, Some(&high), hz, length_s, 1);
            let Beating::Beats { rate_per_s, .. } = found else { panic!("{rate} at {hz} Hz: {found:?}") };
            assert!((rate_per_s / rate - 1.0).abs() < 0.03, "{rate} at {hz} Hz: {rate_per_s:.3}");
        }
    }
}

#[test]
fn two_strings_that_die_at_their_own_pace_are_counted_within_3_percent() {
    // Drawn at random, the rate evenly over its octaves; in the first three one string is long gone before the other.
    for seed in [223, 236, 282].into_iter().chain(0..25) {
        let mut random = Random(77 * seed + 5);
        let rate = 0.3 * (8.0_f64 / 0.3).powf(random.unit());
        let hz = 80.0 * 5_f64.powf(random.unit());
        let low = Plucked::plain(hz, 3e-5, random.between(3.0, 8.0));
        let high = Plucked::plain(hz + rate, 5e-5, random.between(3.0, 8.0));
        let mut out = vec![0.0; seconds(5.0)];
        low.add_to(&mut out, seconds(0.2), 1.0, &mut random);
        high.add_to(&mut out, seconds(0.2), random.between(0.4, 1.0), &mut random);
        add_noise(&mut out, seconds(0.2)..seconds(5.0), 30.0, &mut random);
        let mut meter = BeatMeter::new(SampleRate::COMMON, Hertz::new(hz).unwrap());
        meter.push(&samples(&out, 0.5));
        let found = meter.beating();
        let Beating::Beats { rate_per_s, .. } = found else { panic!("{seed}: {rate} at {hz} Hz: {found:?}") };
        assert!((rate_per_s / rate - 1.0).abs() < 0.03, "{seed}: {rate} at {hz} Hz: {rate_per_s:.3}");
    }
}

#[test]
fn tempered_intervals_beat_as_published() {
    // Capleton 2007 in J. Neurosci. 32(35):12251, Table 1: F3–A3 6.9, A3–D4 1.0, F3–C4 0.6 (rounded to a tenth).
    // A third beats where the fifth partial of the lower meets the fourth of the higher, 5:4; 4:3 and 3:2 likewise.
    let rows =
        [(174.614, 220.0, (5.0, 4.0), 6.9), (220.0, 293.665, (4.0, 3.0), 1.0), (174.614, 261.626, (3.0, 2.0), 0.6)];
    for (low_hz, high_hz, (p, q), published) in rows {
        let shared = 0.5 * (p * low_hz + q * high_hz);
        let strings = (Plucked::plain(low_hz, 0.0, 6.0), Plucked::plain(high_hz, 0.0, 6.0));
        let found = beating(&strings.0, Some(&strings.1), shared, 5.0, 2);
        let Beating::Beats { rate_per_s, .. } = found else { panic!("{low_hz}: {found:?}") };
        assert!((rate_per_s - published).abs() <= 0.05 + 0.03 * published, "{low_hz}: {rate_per_s:.3} not {published}");
    }
}

#[test]
fn one_string_alone_does_not_beat() {
    for hz in [82.41, 196.0] {
        assert_eq!(beating(&Plucked::plain(hz, 3e-5, 5.0), None, hz, 4.0, 3), Beating::Fused);
    }
}

#[test]
fn silence_and_noise_do_not_beat() {
    let mut meter = BeatMeter::new(SampleRate::COMMON, Hertz::new(110.0).unwrap());
    meter.push(&vec![0.0; seconds(4.0)]);
    assert_eq!(meter.beating(), Beating::NotYet);
}

#[test]
fn a_unison_coming_into_tune_turns_slower() {
    let slower = [3.0, 1.5, 0.7].map(|rate| {
        let (a, b) = (Plucked::plain(196.0, 3e-5, 6.0), Plucked::plain(196.0 + rate, 3e-5, 6.0));
        match beating(&a, Some(&b), 196.0, 3.0, 4) {
            Beating::Beats { rate_per_s, .. } => rate_per_s,
            other => panic!("{rate}: {other:?}"),
        }
    });
    assert!(slower[0] > slower[1] && slower[1] > slower[2], "{slower:?}");
}
