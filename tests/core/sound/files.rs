//! WAV files as they come, and samples rendered by another program.

use std::io::Cursor;

use hound::{SampleFormat, WavSpec, WavWriter};
use pegwise::sound::{Listening, ReadWavError, SampleRate, WavPieces, read_wav, track, write_wav};

use super::signals::{cents, last_heard};

/// A file of `length_s` seconds of a decaying 220 Hz tone with four partials, `gain` of full scale.
fn file(channels: u16, rate_hz: u32, bits: u16, format: SampleFormat, length_s: f64, gain: f64) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let spec = WavSpec { channels, sample_rate: rate_hz, bits_per_sample: bits, sample_format: format };
    let mut writer = WavWriter::new(&mut bytes, spec).unwrap();
    let mut t = 0.0;
    while t < length_s {
        let turn = std::f64::consts::TAU * 220.0 * t;
        let value: f64 = (1..=4_u8).map(f64::from).map(|n| (turn * n).sin() / n).sum::<f64>() / 1.7;
        let value = (value * gain * (-1.5 * t).exp()).clamp(-1.0, 1.0);
        for _ in 0..channels {
            #[expect(clippy::cast_possible_truncation, reason = "scaled to the format's range")]
            if format == SampleFormat::Float {
                writer.write_sample(value as f32).unwrap();
            } else {
                writer.write_sample((value * (2_f64.powi(i32::from(bits) - 1) - 1.0)).round() as i32).unwrap();
            }
        }
        t += 1.0 / f64::from(rate_hz);
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn every_usual_kind_is_read_and_its_pitch_found() {
    for (channels, rate_hz, bits, format) in [
        (1, 8_000, 16, SampleFormat::Int),
        (1, 11_025, 16, SampleFormat::Int),
        (2, 44_100, 16, SampleFormat::Int),
        (1, 44_100, 8, SampleFormat::Int),
        (1, 48_000, 24, SampleFormat::Int),
        (6, 48_000, 32, SampleFormat::Int),
        (1, 96_000, 32, SampleFormat::Float),
        (1, 192_000, 16, SampleFormat::Int),
    ] {
        let recording = read_wav(&file(channels, rate_hz, bits, format, 0.8, 0.5)[..]).unwrap();
        assert_eq!((recording.channels, recording.rate.get(), recording.bits), (channels, rate_hz, bits));
        assert!(recording.clipped_share <= 0.0);
        let heard = last_heard(&track(&recording, Listening::default())).unwrap();
        let off = cents(220.0, heard.frequency.get());
        assert!(off.abs() < 0.5, "{channels} × {rate_hz} Hz × {bits}: {off:+.2} cents");
    }
}

#[test]
fn a_clipped_file_is_read_and_said_to_be_clipped() {
    let recording = read_wav(&file(1, 48_000, 16, SampleFormat::Int, 0.8, 6.0)[..]).unwrap();
    assert!(recording.clipped_share > 0.05, "{}", recording.clipped_share);
    let heard = last_heard(&track(&recording, Listening::default())).unwrap();
    assert!(cents(220.0, heard.frequency.get()).abs() < 1.0);
}

#[test]
fn unfit_files_are_refused_in_one_sentence() {
    let whole = file(1, 48_000, 16, SampleFormat::Int, 0.1, 0.5);
    let refused = |bytes: &[u8]| read_wav(bytes).unwrap_err();
    for (error, starts) in [
        (refused(b""), "this is not a whole WAV file"),
        (refused(b"a song"), "this is not a whole WAV file"),
        (refused(&whole[..30]), "this is not a whole WAV file"),
        (refused(&whole[..whole.len() - 1001]), "this is not a whole WAV file"),
        (refused(&file(1, 48_000, 16, SampleFormat::Int, 0.0, 0.5)), "the recording is empty"),
        (refused(&file(1, 7_999, 16, SampleFormat::Int, 0.1, 0.5)), "7999 samples a second"),
        (refused(&file(1, 192_001, 16, SampleFormat::Int, 0.1, 0.5)), "192001 samples a second"),
        (refused(&file(9, 48_000, 16, SampleFormat::Int, 0.1, 0.5)), "9 channels"),
        (ReadWavError::TooLong, "the recording is longer than 30 minutes"),
    ] {
        let text = error.to_string();
        assert!(text.starts_with(starts) && !text.contains('\n'), "{text}");
    }
}

/// Where the sound of a file written by another program begins, and its length.
fn data_at(bytes: &[u8]) -> usize {
    bytes.windows(4).position(|four| four == b"data").unwrap() + 8
}

#[test]
fn a_header_that_leaves_the_length_open_is_read_to_the_end() {
    let whole = file(2, 44_100, 16, SampleFormat::Int, 0.8, 0.5);
    let samples = read_wav(&whole[..]).unwrap().samples;
    let at = data_at(&whole);
    for size in [0_u32, u32::MAX, 0x7FFF_FFFF, 0x7FFF_F000] {
        let mut bytes = whole.clone();
        bytes[4..8].copy_from_slice(&u32::MAX.to_le_bytes());
        bytes[at - 4..at].copy_from_slice(&size.to_le_bytes());
        assert_eq!(read_wav(&bytes[..]).unwrap().samples, samples, "{size:#x}");
    }
    // Chunks of other kinds before it, of odd length too.
    let mut bytes = whole[..12].to_vec();
    bytes.extend(b"LIST\x05\0\0\0hello\0");
    bytes.extend(&whole[12..]);
    assert_eq!(read_wav(&bytes[..]).unwrap().samples, samples);
}

/// A file that never ends: what is held of it does not grow.
#[test]
fn a_stream_is_read_in_pieces() {
    struct Endless(Vec<u8>, usize);
    impl std::io::Read for Endless {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            for slot in into.iter_mut() {
                *slot = self.0.get(self.1).copied().unwrap_or(0);
                self.1 += 1;
            }
            Ok(into.len())
        }
    }
    let mut head = file(1, 48_000, 16, SampleFormat::Int, 0.5, 0.5);
    let at = data_at(&head);
    head[at - 4..at].copy_from_slice(&u32::MAX.to_le_bytes());
    let mut pieces = WavPieces::open(Endless(head, 0)).unwrap();
    let mut piece = Vec::new();
    for _ in 0..1000 {
        piece.clear();
        assert!(pieces.read(&mut piece).unwrap());
        assert!(piece.len() <= 4096 && piece.capacity() <= 8192);
    }
}

#[test]
fn no_damaged_file_panics() {
    let whole = file(2, 44_100, 16, SampleFormat::Int, 0.01, 0.5);
    let mut random = super::signals::Random(1);
    for _ in 0..2000 {
        let mut bytes = whole.clone();
        for _ in 0..3 {
            let at = usize::try_from(random.next() % 60).unwrap();
            bytes[at] = u8::try_from(random.next() % 256).unwrap();
        }
        if let Ok(recording) = read_wav(&bytes[..]) {
            let _ = track(&recording, Listening::default());
        }
    }
}

#[test]
fn what_is_written_is_read_back() {
    let mut bytes = Cursor::new(Vec::new());
    let rate = SampleRate::new(44_100).unwrap();
    write_wav(&mut bytes, rate, &[0.0, 0.5, -0.5, 1.5, -1.0]).unwrap();
    let recording = read_wav(&bytes.into_inner()[..]).unwrap();
    assert_eq!(recording.rate, rate);
    for (read, written) in recording.samples.iter().zip([0.0, 0.5, -0.5, 1.0, -1.0]) {
        assert!((read - written).abs() < 1e-4, "{read} {written}");
    }
}

/// `tests/assets/rendered_samples.csv` holds the first partial of each sample as measured by `measure_samples.py`
/// (a long windowed transform by numpy); `render_samples.sh` makes the files.
#[test]
#[ignore = "needs the rendered samples: run tests/assets/render_samples.sh first"]
fn rendered_samples_are_read_within_a_cent_and_never_an_octave_off() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("tests/assets/rendered_samples.csv")).unwrap();
    let (mut faults, mut squares, mut own, mut early) = (Vec::new(), Vec::new(), Vec::new(), 0);
    for row in table.lines().filter(|row| !row.starts_with('#') && !row.starts_with("file")) {
        let fields: Vec<&str> = row.split(',').collect();
        let (name, expected): (&str, f64) = (fields[0], fields[3].parse().unwrap());
        let bytes = std::fs::read(root.join("target/rendered_samples").join(name)).expect("the samples are rendered");
        let recording = read_wav(&bytes[..]).unwrap();
        let all = track(&recording, Listening::default());
        let heard: Vec<(f64, f64, f64)> = all
            .iter()
            .filter_map(|reading| {
                let heard = reading.heard?;
                Some((reading.at_s, cents(expected, heard.frequency.get()), heard.window_s))
            })
            .collect();
        // Two low strings of the second font's harp give one reading each an octave high, at 0.28 and 0.32 s.
        let gross = heard.iter().filter(|(_, off, _)| off.abs() > 100.0);
        let (soon, late): (Vec<_>, Vec<_>) = gross.partition(|(at_s, ..)| name.starts_with("second") && *at_s < 0.35);
        early += soon.len();
        if let Some((at_s, off, _)) = late.first() {
            faults.push(format!("{name}: {off:+.0} cents at {at_s:.2} s"));
        }
        // The measure spans 0.15 to 1.15 s of the note; so does the longest window that ends there.
        let Some((at_s, off, window_s)) = heard.iter().rev().find(|(at_s, ..)| *at_s <= 1.2) else {
            faults.push(format!("{name}: not heard"));
            continue;
        };
        if name.starts_with("second") {
            // Many of these glide for a second: measured again over what the reading rests on.
            let at = |s: f64| recording.rate.samples_in(s).min(recording.samples.len());
            let stretch: Vec<f64> =
                recording.samples[at(at_s - window_s)..at(*at_s)].iter().map(|value| f64::from(*value)).collect();
            let measured = super::signals::strongest_near(&stretch, recording.rate.per_s(), expected);
            own.push(cents(measured, expected * 2_f64.powf(off / 1200.0)));
            continue;
        }
        squares.push(off * off);
        if off.abs() > 1.0 {
            faults.push(format!("{name}: {off:+.2} cents"));
        }
    }
    let root_mean_square = |all: &[f64]| {
        let count = f64::from(u32::try_from(all.len()).unwrap());
        (all.iter().map(|off| off * off).sum::<f64>() / count).sqrt()
    };
    let far = own.iter().filter(|off| off.abs() > 1.0).count();
    eprintln!(
        "second font: {} samples, {:.2} cents RMS, {far} beyond a cent, {early} readings an octave off soon after the pluck",
        own.len(),
        root_mean_square(&own)
    );
    assert!(far * 12 <= own.len() && early <= 2, "{far}, {early}");
    let mean = squares.iter().sum::<f64>() / f64::from(u32::try_from(squares.len()).unwrap());
    eprintln!("{} samples, {:.3} cents RMS from the independent measure", squares.len(), mean.sqrt());
    assert!(faults.is_empty() && squares.len() + own.len() >= 220, "{}", faults.join("\n"));
}
