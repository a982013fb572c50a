//! Bytes from outside, bent at random: nothing read ends the program, and what is read is whole. A stand-in for cargo-fuzz,
//! which asks for a compiler this project does not build with.
//!
//! Each target starts from the files of its folder under `tests/assets/fuzz`; a file that once ended it is kept there.
//! `PEGWISE_FUZZ=100000` bends each that often (2,000 otherwise), `PEGWISE_SEED` from another start.

use std::io::Cursor;

use pegwise::instrument::Catalog;
use pegwise::songs::Chart;
use pegwise::sound::{SampleRate, read_wav, write_wav};
use pegwise::store::{Decision, Library, demo, read, read_mending, write};
use pegwise::theory::{Chord, Naming};

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// Marsaglia's xorshift (2003).
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(bound.max(1)).unwrap()).unwrap()
    }

    /// Changes, cuts, doubles, moves or crosses a few pieces of one of the files.
    fn bent(&mut self, corpus: &[Vec<u8>], pieces: &[&[u8]]) -> Vec<u8> {
        let mut bytes = corpus[self.below(corpus.len())].clone();
        for _ in 0..=self.below(5) {
            let at = self.below(bytes.len() + 1);
            let end = (at + self.below(24)).min(bytes.len());
            match self.below(7) {
                0 if at < bytes.len() => bytes[at] = u8::try_from(self.below(256)).unwrap(),
                1 if at < bytes.len() => bytes[at] ^= 1 << self.below(8),
                2 => bytes.truncate(at),
                3 => drop(bytes.drain(at..end)),
                4 => {
                    let piece = bytes[at..end].repeat(1 + self.below(40));
                    let to = self.below(bytes.len() + 1);
                    bytes.splice(to..to, piece);
                }
                5 => {
                    let other = &corpus[self.below(corpus.len())];
                    let from = self.below(other.len());
                    let piece = other[from..(from + self.below(60)).min(other.len())].to_vec();
                    bytes.splice(at..end, piece);
                }
                _ => {
                    let piece = pieces[self.below(pieces.len())];
                    bytes.splice(at..end, piece.iter().copied());
                }
            }
        }
        bytes
    }
}

/// Gives each file of a folder to `check` as it is, then bent.
fn bend(folder: &str, pieces: &[&[u8]], mut check: impl FnMut(&[u8])) {
    let folder = std::path::Path::new("tests/assets/fuzz").join(folder);
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let corpus: Vec<Vec<u8>> = paths.iter().map(|path| std::fs::read(path).unwrap()).collect();
    bend_all(&corpus, pieces, &mut check);
}

fn bend_all(corpus: &[Vec<u8>], pieces: &[&[u8]], check: &mut impl FnMut(&[u8])) {
    assert!(!corpus.is_empty());
    let mut random = Random(number("PEGWISE_SEED", 27) | 1);
    corpus.iter().for_each(|bytes| check(bytes));
    for round in 0..number("PEGWISE_FUZZ", 2_000) {
        let bytes = random.bent(corpus, pieces);
        let caught = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| check(&bytes)));
        assert!(caught.is_ok(), "round {round}: keep this file: {:?}", String::from_utf8_lossy(&bytes));
    }
}

const JSON: [&[u8]; 10] = [
    b"-1",
    b"99999999999999999999",
    b"1e999",
    b"null",
    b"\"\\ud800\"",
    b"[[",
    b"{\"a\":{}}",
    b"\"later\"",
    b",\"songs\":[]",
    b"18446744073709551615",
];

#[test]
fn a_library_is_read_or_refused() {
    let (mut whole, mut mended) = (0, 0);
    bend("library", &JSON, |bytes| {
        if let Ok((mut library, how)) = read_mending(bytes) {
            whole += 1;
            mended += usize::from(how.set_aside > 0);
            let written = write(&library);
            assert_eq!(read(&written).as_ref(), Ok(&library), "what is written is read again as it was");
            let song = library.songs().first().cloned();
            if let Some(song) = song {
                let id = library.add_song(song);
                assert_eq!(library.songs().iter().filter(|song| song.id == id).count(), 1);
            }
        }
    });
    assert!(whole > 50 && mended > 50, "the bending is not too wild: {whole} read, {mended} with parts set aside");
}

#[test]
fn what_comes_in_is_read_or_refused_and_can_be_given_back() {
    let mut read_in = 0;
    let pieces: Vec<&[u8]> =
        JSON.into_iter().chain([b"\nTuning: ".as_slice(), b"\nShape: ", b"\n\n| ", "é̂".as_bytes()]).collect();
    bend("incoming", &pieces, |bytes| {
        let Ok(incoming) = Library::read_incoming(&String::from_utf8_lossy(bytes)) else { return };
        read_in += 1;
        let mut mine = demo();
        let mut items = mine.compare(&incoming);
        for (index, item) in items.iter_mut().enumerate() {
            item.decision = [Decision::Add, Decision::Replace, Decision::Leave][index % 3];
        }
        let (_, taken) = mine.import(&incoming, &items);
        assert_eq!(read(&write(&mine)).as_ref(), Ok(&mine));
        mine.give_back(taken);
        let before = demo();
        assert_eq!((mine.songs(), mine.own_tunings()), (before.songs(), before.own_tunings()));
        assert_eq!((mine.set_lists(), &mine.settings), (before.set_lists(), &before.settings));
    });
    assert!(read_in > 100, "{read_in}");
}

#[test]
fn a_chart_is_read_whatever_it_says_and_is_written_as_it_is_read() {
    let pieces: [&[u8]; 8] = [b"|", b":|", b"%", b"x99", b" / ", b"\n:", "𝄪".as_bytes(), b"\0"];
    bend("chart", &pieces, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        let chart = Chart::read(&text);
        assert_eq!(Chart::read(&chart.write()), chart, "{text:?}");
    });
}

#[test]
fn notes_of_a_tuning_are_read_or_refused() {
    let pieces: [&[u8]; 8] = [b"b", b"es", b"is", b"-1", b"99", "𝄫".as_bytes(), "é".as_bytes(), b"sol"];
    let standard = Catalog::bundled().standard_of(Catalog::bundled().guitar()).tuning().clone();
    bend("tuning", &pieces, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        for naming in [Naming::English, Naming::German, Naming::Solfege] {
            if let Ok(tuning) = pegwise::instrument::Tuning::read_in(&text, &standard, naming) {
                let written: Vec<_> = tuning.spelled().iter().map(|pitch| pitch.typed(naming)).collect();
                let again = pegwise::instrument::Tuning::read_in(&written.join(" "), &standard, naming);
                assert_eq!(again.as_ref(), Ok(&tuning), "{text} {naming:?}");
            }
        }
    });
}

#[test]
fn a_chord_is_read_or_refused() {
    let pieces: [&[u8]; 8] = [b"/", b"(", b"sus4", b"add9", b"maj7", "♭13".as_bytes(), "°".as_bytes(), b"m"];
    bend("chord", &pieces, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        for naming in [Naming::English, Naming::German, Naming::Solfege] {
            if let Ok(chord) = Chord::read_in(&text, naming) {
                assert_eq!(Chord::read(&chord.ascii()).as_ref(), Ok(&chord), "{text}");
                assert!(!chord.notes().is_empty());
            }
        }
    });
}

#[test]
fn a_recording_is_read_or_refused() {
    let mut corpus = Vec::new();
    for rate in [8_000, 44_100] {
        let mut bytes = Cursor::new(Vec::new());
        let tone: Vec<f32> = (0_u8..200).map(|at| f32::from(at % 50) / 50.0 - 0.5).collect();
        write_wav(&mut bytes, SampleRate::new(rate).unwrap(), &tone).unwrap();
        corpus.push(bytes.into_inner());
    }
    let pieces: [&[u8]; 6] = [b"data", b"fmt ", b"\xff\xff\xff\xff", b"\x00\x00\x00\x00", b"RIFF", b"\x03\x00"];
    bend_all(&corpus, &pieces, &mut |bytes: &[u8]| {
        if let Ok(recording) = read_wav(bytes) {
            assert!(recording.samples.iter().all(|sample| sample.is_finite() && sample.abs() <= 1.0 + f32::EPSILON));
            assert!(!recording.samples.is_empty() && (0.0..=1.0).contains(&recording.clipped_share));
        }
    });
}
