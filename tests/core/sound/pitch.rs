//! Tracking, judged on strings of known pitch.

use std::f64::consts::{PI, TAU};

use pegwise::sound::Reading;
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::mcleod::McLeodDetector;
use pitch_detection::detector::yin::YINDetector;

use super::signals::{Plucked, RATE_HZ, Random, add_noise, cents, readings, samples, seconds};

/// When the string is plucked, in seconds.
const PLUCKED_S: f64 = 0.1;

/// Returns what is read of a string plucked at 0.1 s, with noise `snr_db` below its first `span_s` seconds.
fn read_string(plucked: &Plucked, snr_db: f64, span_s: f64, length_s: f64, random: &mut Random) -> Vec<Reading> {
    let mut out = vec![0.0; seconds(PLUCKED_S + length_s)];
    plucked.add_to(&mut out, seconds(PLUCKED_S), 1.0, random);
    add_noise(&mut out, seconds(PLUCKED_S)..seconds(PLUCKED_S + span_s), snr_db, random);
    readings(&samples(&out, 0.5))
}

/// The Cramér-Rao bound for the first partial, in cents: `plucked` in white noise `snr_db` below its power over
/// `span_s`, all of that span used, f_1 and B unknown, amplitudes and phases unknown.
///
/// Each partial tells its frequency with information A²/(2σ²)·Σ e^(−2αt)·(t − t̄)² (Rife & Boorstyn 1974, extended by
/// the decay; partials far apart); ∂f_n/∂f_1 and ∂f_n/∂B come from f_n = n·f_1·√((1 + B·n²) / (1 + B)).
fn bound_cents(plucked: &Plucked, snr_db: f64, span_s: f64) -> f64 {
    let count = span_s * RATE_HZ;
    let (mut power, mut i11, mut i12, mut i22) = (0.0, 0.0, 0.0, 0.0);
    for (n, a) in (1..=40_u8).zip(&plucked.strengths) {
        let n = f64::from(n);
        if plucked.partial_hz(n) > 5000.0 {
            continue;
        }
        let alpha = 3.0 * std::f64::consts::LN_10 * n.powf(plucked.damping) / plucked.decay_s;
        let (mut s0, mut s1, mut s2) = (0.0, 0.0, 0.0);
        for k in 0..400_u16 {
            let t = (f64::from(k) + 0.5) / 400.0 * span_s;
            let w = (-2.0 * alpha * t).exp() / 400.0;
            s0 += w;
            s1 += w * t;
            s2 += w * t * t;
        }
        power += 0.5 * a * a * s0;
        let information = 0.5 * a * a * count * TAU * TAU * (s2 - s1 * s1 / s0);
        let by_first = plucked.partial_hz(n) / plucked.first_hz;
        let b = plucked.stretch;
        let by_b = plucked.partial_hz(n) * 0.5 * (n * n / (1.0 + b * n * n) - 1.0 / (1.0 + b));
        i11 += information * by_first * by_first;
        i12 += information * by_first * by_b;
        i22 += information * by_b * by_b;
    }
    let noise = power * 10_f64.powf(-snr_db / 10.0);
    let variance = noise * i22 / (i11 * i22 - i12 * i12);
    1200.0 / std::f64::consts::LN_2 * variance.sqrt() / plucked.first_hz
}

/// The error of the last reading up to `span_s` after the pluck, in cents.
fn error_after(all: &[Reading], plucked: &Plucked, span_s: f64) -> Option<f64> {
    let until = PLUCKED_S + span_s + 1e-9;
    let heard = all.iter().filter(|reading| reading.at_s <= until).rev().find_map(|reading| reading.heard)?;
    Some(cents(plucked.first_hz, heard.frequency.get()))
}

/// Root mean square error over `seeds` plucks, and how many gave no reading.
fn root_mean_square(plucked: &Plucked, snr_db: f64, span_s: f64, seeds: u64) -> (f64, usize) {
    let errors: Vec<f64> = (0..seeds)
        .filter_map(|seed| {
            let all = read_string(plucked, snr_db, span_s, span_s + 0.01, &mut Random(seed));
            error_after(&all, plucked, span_s)
        })
        .collect();
    let count = f64::from(u32::try_from(errors.len()).unwrap());
    let silent = usize::try_from(seeds).unwrap() - errors.len();
    ((errors.iter().map(|error| error * error).sum::<f64>() / count).sqrt(), silent)
}

#[test]
fn at_20_db_half_a_cent_in_a_fifth_of_a_second_and_a_tenth_in_a_second() {
    // Tolerances: the issue's. A fifth of a second is six periods of B0.
    for (hz, b, decay_s) in [
        (30.87, 1e-4, 6.0),
        (30.87, 1e-4, 3.0),
        (41.2, 0.0, 6.0),
        (82.41, 1e-4, 4.0),
        (196.0, 1e-4, 3.0),
        (1318.51, 0.0, 1.5),
    ] {
        let plucked = Plucked::plain(hz, b, decay_s);
        for (span_s, most) in [(0.2, 0.5), (1.0, 0.1)] {
            let (error, silent) = root_mean_square(&plucked, 20.0, span_s, 10);
            assert!(error <= most && silent == 0, "{hz} Hz, B {b}, {span_s} s: {error:.3} cents RMS, {silent} unread");
        }
    }
}

/// Five pitches, each with four strings: stiffness and decay in seconds.
const PITCHES_HZ: [f64; 5] = [30.87, 82.41, 196.0, 329.63, 1318.51];
const STRINGS: [(f64, f64); 4] = [(0.0, 6.0), (1e-4, 3.0), (1e-3, 1.0), (1e-4, 0.3)];
const SPANS_S: [f64; 4] = [0.1, 0.2, 0.4, 1.0];

fn middle(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    values.sort_by(f64::total_cmp);
    0.5 * (values[(values.len() - 1) / 2] + values[values.len() / 2])
}

/// Error over bound at 20 dB for each length of sound, over the pitches and strings. What is read nowhere is not judged: B0 in a
/// tenth of a second.
fn ratios_at_20_db(seeds: u64) -> Vec<Vec<f64>> {
    let ratio = |hz: f64, (b, decay_s): (f64, f64), span_s: f64| {
        let plucked = Plucked::plain(hz, b, decay_s);
        let (error, _) = root_mean_square(&plucked, 20.0, span_s, seeds);
        error / bound_cents(&plucked, 20.0, span_s)
    };
    let strings = || PITCHES_HZ.into_iter().flat_map(|hz| STRINGS.map(|string| (hz, string)));
    SPANS_S
        .map(|span_s| strings().map(|(hz, string)| ratio(hz, string, span_s)).filter(|r| r.is_finite()).collect())
        .to_vec()
}

#[test]
#[ignore = "a minute: cargo test --release --test core error_over_bound -- --ignored --nocapture"]
fn error_over_bound_at_20_db_is_1_6_in_the_median() {
    let ratios = ratios_at_20_db(100);
    let medians: Vec<f64> = ratios.iter().map(|ratios| middle(ratios.clone())).collect();
    let whole = middle(ratios.concat());
    eprintln!("error over bound at 20 dB: {whole:.2} in the median; in {SPANS_S:?} s {medians:.2?}");
    // The bound, over all and in each length of sound. Of 30 plucks one window's median lies up to a tenth off.
    assert!(whole <= 1.6 && medians.iter().all(|median| *median <= 1.605), "{whole:.2}, {medians:.2?}");
}

/// What general-purpose period methods read of the same sound: the newest 8192 samples that fit into the span, else 4096, 2048.
fn by_period(sound: &[f32], span_s: f64, detector: &mut dyn FnMut(&[f32], usize) -> Option<f64>) -> Option<f64> {
    let size = [8192, 4096, 2048].into_iter().find(|size| *size <= seconds(span_s))?;
    let end = seconds(PLUCKED_S + span_s);
    detector(&sound[end - size..end], size)
}

/// Root mean square error of a period method over `seeds` plucks, and how many gave nothing within a semitone.
fn error_by_period(
    plucked: &Plucked,
    snr_db: f64,
    span_s: f64,
    seeds: u64,
    detector: &mut dyn FnMut(&[f32], usize) -> Option<f64>,
) -> (f64, u64) {
    let (mut squares, mut read) = (0.0, 0);
    for seed in 0..seeds {
        let random = &mut Random(seed);
        let mut out = vec![0.0; seconds(PLUCKED_S + span_s + 0.01)];
        plucked.add_to(&mut out, seconds(PLUCKED_S), 1.0, random);
        add_noise(&mut out, seconds(PLUCKED_S)..seconds(PLUCKED_S + span_s), snr_db, random);
        let found = by_period(&samples(&out, 0.5), span_s, detector).map(|hz| cents(plucked.first_hz, hz));
        if let Some(off) = found.filter(|off| off.abs() < 100.0) {
            squares += off * off;
            read += 1;
        }
    }
    let count = f64::from(u32::try_from(read).unwrap());
    ((squares / count).sqrt(), seeds - read)
}

#[test]
#[ignore = "prints the whole table: cargo test --release --test core error_against_the_bound -- --ignored --nocapture"]
fn error_against_the_bound() {
    // The McLeod pitch method (McLeod & Wyvill 2005) and YIN (de Cheveigné & Kawahara 2002) of the crate `pitch-detection`.
    let mcleod = &mut |sound: &[f32], size: usize| {
        McLeodDetector::new(size, size / 2).get_pitch(sound, 48_000, 0.01, 0.5).map(|found| f64::from(found.frequency))
    };
    let yin = &mut |sound: &[f32], size: usize| {
        YINDetector::new(size, size / 2).get_pitch(sound, 48_000, 0.01, 0.5).map(|found| f64::from(found.frequency))
    };
    eprintln!("Hz | B | decay s | SNR dB | seconds | RMS cents | bound | unread of 30 | McLeod, unread | YIN, unread");
    let mut over = std::collections::BTreeMap::new();
    for hz in PITCHES_HZ {
        for (b, decay_s) in STRINGS {
            for snr_db in [40.0, 20.0, 10.0, 0.0] {
                for span_s in SPANS_S {
                    let plucked = Plucked::plain(hz, b, decay_s);
                    let (error, silent) = root_mean_square(&plucked, snr_db, span_s, 30);
                    let bound = bound_cents(&plucked, snr_db, span_s);
                    let (by_mcleod, no_mcleod) = error_by_period(&plucked, snr_db, span_s, 30, mcleod);
                    let (by_yin, no_yin) = error_by_period(&plucked, snr_db, span_s, 30, yin);
                    eprintln!(
                        "{hz} | {b:.0e} | {decay_s} | {snr_db} | {span_s} | {error:.4} | {bound:.4} | {silent} | \
                         {by_mcleod:.3}, {no_mcleod} | {by_yin:.3}, {no_yin}"
                    );
                    let key = |value: f64| format!("{value:>5}");
                    let ratios: &mut Vec<[f64; 4]> = over.entry((key(span_s), key(-snr_db))).or_default();
                    let unread = f64::from(u32::try_from(silent).unwrap());
                    ratios.push([error / bound, by_mcleod / bound, by_yin / bound, unread]);
                    // Tolerances: the issue's, for strings that still sound after a second.
                    let most = if span_s < 0.5 { 0.5 } else { 0.1 };
                    let is_judged = b <= 1e-4 && decay_s >= 3.0 && snr_db >= 20.0;
                    assert!(!is_judged || span_s < 0.15 || error <= most && silent == 0, "out of tolerance");
                }
            }
        }
    }
    eprintln!("seconds, SNR | error over bound: median, least, most; unread of 600 | McLeod, YIN: median");
    for ((span, snr), ratios) in over {
        let of = |which: usize| -> Vec<f64> {
            ratios.iter().map(|ratios| ratios[which]).filter(|ratio| ratio.is_finite()).collect()
        };
        let ours = of(0);
        let (least, most) = ours.iter().fold((f64::INFINITY, 0.0_f64), |(l, m), r| (l.min(*r), m.max(*r)));
        let unread: f64 = of(3).iter().sum();
        let (by_mcleod, by_yin) = (middle(of(1)), middle(of(2)));
        eprintln!(
            "{span} s {snr} dB | {:.1} ({least:.1} to {most:.1}; {unread} unread) | {by_mcleod:.0}, {by_yin:.0}",
            middle(ours)
        );
    }
}

#[test]
fn the_first_reading_comes_within_120_ms_for_e2_and_60_ms_for_e4() {
    // Tolerances: the issue's.
    for (hz, most_s) in [(82.41, 0.120), (329.63, 0.060)] {
        for seed in 0..8 {
            for snr_db in [20.0, 40.0] {
                let plucked = Plucked::plain(hz, 5e-5, 3.0);
                let all = read_string(&plucked, snr_db, 0.2, 0.3, &mut Random(seed));
                let first = all.iter().find(|reading| reading.heard.is_some()).unwrap();
                let error = cents(hz, first.heard.unwrap().frequency.get());
                assert!(first.at_s - PLUCKED_S <= most_s, "{hz} Hz, {snr_db} dB: {:.3} s", first.at_s - PLUCKED_S);
                assert!(error.abs() < 5.0, "{hz} Hz, {snr_db} dB: {error:+.2} cents");
            }
        }
    }
}

/// A string as it may come, B0 to E6: any stiffness up to 1e-3, decay, plucking point, loss of lows, uneven body.
fn random_string(random: &mut Random) -> Plucked {
    let first_hz = 30.87 * 2_f64.powf(random.between(0.0, (1318.51_f64 / 30.87).log2()));
    let stretch = 10_f64.powf(random.between(-6.0, -3.0));
    let plucked_at = random.between(0.06, 0.5);
    let slope = random.between(0.6, 1.6);
    let low_cut_hz = random.between(0.0, 150.0);
    let strengths = (1..=40_u8)
        .map(|n| {
            let n = f64::from(n);
            let hz = n * first_hz;
            let thin = (hz * hz / (hz * hz + low_cut_hz * low_cut_hz)).powf(0.75);
            let body = 10_f64.powf(random.between(-6.0, 6.0) / 20.0);
            (n * PI * plucked_at).sin().abs() * n.powf(-slope) * thin * body
        })
        .collect();
    let decay_s = random.between(0.5, 6.0) * (200.0 / first_hz.max(200.0)).sqrt();
    Plucked { first_hz, stretch, decay_s, damping: random.between(0.0, 0.8), strengths }
}

/// Reads random strings at 10 to 40 dB for half a second; no reading may be as much as a semitone away. Saying nothing is
/// no octave error, but at most one string in a thousand may stay unheard.
fn no_octave_errors(seeds: std::ops::Range<u64>) {
    let most_unheard = usize::try_from((seeds.end - seeds.start) / 1000).unwrap();
    let (mut faults, mut unheard) = (Vec::new(), Vec::new());
    for seed in seeds {
        let mut random = Random(seed);
        let plucked = random_string(&mut random);
        let snr_db = random.between(10.0, 40.0);
        let all = read_string(&plucked, snr_db, 0.5, 0.5, &mut random);
        let heard: Vec<f64> = all
            .iter()
            .filter_map(|reading| reading.heard.map(|heard| cents(plucked.first_hz, heard.frequency.get())))
            .collect();
        if heard.is_empty() {
            unheard.push(format!("{seed}: {:.1} Hz at {snr_db:.0} dB not heard", plucked.first_hz));
        }
        if let Some(off) = heard.iter().find(|off| off.abs() > 100.0) {
            faults.push(format!("{seed}: {:.1} Hz at {snr_db:.0} dB read {off:+.0} cents off", plucked.first_hz));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(unheard.len() <= most_unheard, "{}", unheard.join("\n"));
}

#[test]
fn no_octave_error_in_150_random_strings() {
    no_octave_errors(0..150);
}

#[test]
#[ignore = "minutes: cargo test --release --test core no_octave_error_in_10_000 -- --ignored"]
fn no_octave_error_in_10_000_random_strings() {
    no_octave_errors(0..10_000);
}

#[test]
fn a_missing_fundamental_is_still_what_is_read() {
    for (hz, missing) in [(30.87, 3), (41.2, 2), (82.41, 1), (110.0, 1)] {
        let mut plucked = Plucked::plain(hz, 5e-5, 4.0);
        plucked.strengths.iter_mut().take(missing).for_each(|strength| *strength = 0.0);
        let all = read_string(&plucked, 30.0, 0.5, 1.0, &mut Random(11));
        let error = error_after(&all, &plucked, 1.0).unwrap();
        assert!(error.abs() < 0.5, "{hz} Hz without its first {missing}: {error:+.2} cents");
    }
}

#[test]
fn a_stiff_string_is_read_at_its_first_partial() {
    // B up to 1e-3: the literature's upper end for guitar strings; period methods read 3 to 4 cents sharp there.
    for hz in [41.2, 82.41, 146.83, 329.63] {
        let plucked = Plucked::plain(hz, 1e-3, 3.0);
        let all = read_string(&plucked, 30.0, 0.5, 1.0, &mut Random(12));
        let heard = all.last().unwrap().heard.unwrap();
        let error = cents(hz, heard.frequency.get());
        assert!(error.abs() < 0.2, "{hz} Hz: {error:+.3} cents");
        assert!((heard.inharmonicity / 1e-3 - 1.0).abs() < 0.1, "{hz} Hz: B {}", heard.inharmonicity);
    }
}

#[test]
fn a_string_being_turned_is_followed() {
    // Up 100 cents in one second: the reading lags by less than the 0.23 s window and ends on the new pitch.
    let mut out = vec![0.0; seconds(3.0)];
    let mut phase = [0.0_f64; 8];
    for (at, value) in out.iter_mut().enumerate() {
        let t = f64::from(u32::try_from(at).unwrap()) / RATE_HZ;
        let hz = 110.0 * 2_f64.powf((t - 1.0).clamp(0.0, 1.0) / 12.0);
        for (slot, n) in phase.iter_mut().zip(1_u8..) {
            let n = f64::from(n);
            *slot += TAU * n * hz / RATE_HZ;
            *value += slot.sin() / n * (-t).exp();
        }
    }
    let all = readings(&samples(&out, 0.5));
    for reading in all.iter().filter(|reading| reading.at_s > 0.2) {
        let due = (reading.at_s - 1.0).clamp(0.0, 1.0) * 100.0;
        let off = cents(110.0, reading.heard.unwrap().frequency.get()) - due;
        assert!(off.abs() < 23.0, "{:.2} s: {off:+.1} cents behind", reading.at_s);
    }
    let end = all.last().unwrap().heard.unwrap().frequency.get();
    assert!((cents(110.0, end) - 100.0).abs() < 0.2, "{end}");
}

#[test]
fn the_portions_do_not_matter() {
    let mut out = vec![0.0; seconds(0.5)];
    Plucked::plain(110.0, 5e-5, 3.0).add_to(&mut out, seconds(0.1), 1.0, &mut Random(1));
    let sound = samples(&out, 0.5);
    let whole = readings(&sound);
    let mut parts = Vec::new();
    let mut tracker = pegwise::sound::Tracker::new(pegwise::sound::SampleRate::COMMON, Default::default());
    for portion in sound.chunks(331) {
        tracker.push(portion, &mut parts);
    }
    assert_eq!(whole, parts);
}
