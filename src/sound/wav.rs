//! Reading and writing WAV: one channel of samples between −1 and 1.

use std::fmt;
use std::io::{Read, Seek, Write};

use hound::{SampleFormat, WavSpec, WavWriter};

use super::samples::SampleRate;

/// The longest recording read, in seconds: half an hour.
const LONGEST_S: u32 = 1800;
/// A data chunk of this size or more leaves its length open: two thousand million bytes and the odd ones below 2^31 − 1
/// that programs write there.
const OPEN_SIZE: u32 = 0x7FFF_0000;
/// How many frames are read at a time.
const PIECE_FRAMES: usize = 4096;
/// The kinds of samples, by their numbers in the format chunk.
const WHOLE_NUMBERS: u16 = 1;
const FLOATS: u16 = 3;
const EXTENSIBLE: u16 = 0xFFFE;
/// The most channels a file may carry.
const MOST_CHANNELS: u16 = 8;
/// At or above this share of full scale a sample counts as clipped.
const CLIPPED: f32 = 0.999;

/// A recording brought down to one channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// The rate of the samples.
    pub rate: SampleRate,
    /// The mean of all channels, −1 to 1.
    pub samples: Vec<f32>,
    /// How many channels the file had.
    pub channels: u16,
    /// How many bits a sample had: 8, 16, 24 or 32.
    pub bits: u16,
    /// The share of sample frames, 0 to 1, in which a channel stood at full scale. Above about 0.001 the recording was
    /// too loud; its pitch is still right, its level and its partials are not.
    pub clipped_share: f64,
}

/// Why a recording cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadWavError {
    /// The bytes are not a WAV file, or it breaks off.
    Broken {
        /// What the reader met.
        what: String,
    },
    /// There is no sample in it.
    Empty,
    /// The samples are neither whole numbers of 8 to 32 bits nor 32-bit floating-point numbers.
    UnknownSamples {
        /// Bits a sample.
        bits: u16,
    },
    /// The rate lies outside 8000 to 192 000 samples a second.
    Rate {
        /// Samples a second.
        samples_per_s: u32,
    },
    /// There are no channels or more than eight.
    Channels {
        /// How many.
        channels: u16,
    },
    /// It is longer than half an hour.
    TooLong,
    /// A sample is not a finite number.
    NotANumber {
        /// Which sample, counted from 0 over all channels.
        place: usize,
    },
}

impl fmt::Display for ReadWavError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Broken { what } => write!(f, "this is not a whole WAV file ({what})"),
            Self::Empty => write!(f, "the recording is empty"),
            Self::UnknownSamples { bits } => write!(f, "samples of {bits} bits of this kind cannot be read"),
            Self::Rate { samples_per_s } => {
                write!(f, "{samples_per_s} samples a second lie outside 8000 to 192000")
            }
            Self::Channels { channels } => write!(f, "{channels} channels cannot be read, only 1 to {MOST_CHANNELS}"),
            Self::TooLong => write!(f, "the recording is longer than {} minutes", LONGEST_S / 60),
            Self::NotANumber { place } => write!(f, "sample {place} is not a number"),
        }
    }
}

impl std::error::Error for ReadWavError {}

/// Reads a WAV file of 8, 16, 24 or 32-bit whole numbers or 32-bit floating-point numbers, 1 to 8 channels, 8000 to
/// 192 000 samples a second, up to half an hour. Channels are averaged.
///
/// # Errors
/// One sentence for each way a file can be unfit; see [`ReadWavError`].
pub fn read_wav(from: impl Read) -> Result<Recording, ReadWavError> {
    let mut pieces = WavPieces::open(from)?;
    let rate = pieces.rate();
    let longest = rate.samples_in(f64::from(LONGEST_S));
    let mut samples = Vec::new();
    while pieces.read(&mut samples)? {
        if samples.len() > longest {
            return Err(ReadWavError::TooLong);
        }
    }
    if samples.is_empty() {
        return Err(ReadWavError::Empty);
    }
    let clipped_share = super::samples::real(pieces.clipped) / super::samples::real(samples.len());
    Ok(Recording { rate, samples, channels: pieces.format.channels, bits: pieces.format.bits, clipped_share })
}

/// How the samples of a file are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Format {
    channels: u16,
    bits: u16,
    is_float: bool,
    rate: SampleRate,
}

/// A WAV file read piece by piece, of any length, in memory that does not grow with it.
///
/// A header that leaves the length open, as a program writes that passes its sound on while it comes (a size of 0 or near
/// the largest 32-bit number; common practice), reads to the end of the bytes.
#[derive(Debug)]
pub struct WavPieces<R> {
    from: R,
    format: Format,
    /// Bytes of samples still to come; `None` where the header leaves it open.
    left: Option<u64>,
    bytes: Vec<u8>,
    read: usize,
    clipped: usize,
}

impl<R: Read> WavPieces<R> {
    /// Reads the header, up to the first sample.
    ///
    /// # Errors
    /// One sentence for each way a file can be unfit; see [`ReadWavError`].
    pub fn open(mut from: R) -> Result<Self, ReadWavError> {
        let head: [u8; 12] = exactly(&mut from)?;
        if &head[..4] != b"RIFF" || &head[8..] != b"WAVE" {
            return Err(broken("it does not begin as one"));
        }
        let mut format = None;
        loop {
            let head: [u8; 8] = exactly(&mut from)?;
            let size = u32::from_le_bytes([head[4], head[5], head[6], head[7]]);
            match &head[..4] {
                b"fmt " => format = Some(read_format(&mut from, size)?),
                b"data" => {
                    let Some(format) = format else { return Err(broken("samples come before their format")) };
                    let left = (size != 0 && size < OPEN_SIZE).then(|| u64::from(size));
                    return Ok(Self { from, format, left, bytes: Vec::new(), read: 0, clipped: 0 });
                }
                // Chunks are padded to an even length.
                _ => skip(&mut from, u64::from(size) + u64::from(size % 2))?,
            }
        }
    }

    /// Returns the rate of the samples.
    #[must_use]
    pub const fn rate(&self) -> SampleRate {
        self.format.rate
    }

    /// Appends the next samples to `into`, some thousands at most, and tells whether there were any.
    ///
    /// # Errors
    /// [`ReadWavError::Broken`] where the file ends before its header says, [`ReadWavError::NotANumber`] for a sample that
    /// is none.
    pub fn read(&mut self, into: &mut Vec<f32>) -> Result<bool, ReadWavError> {
        let width = usize::from(self.format.bits / 8) * usize::from(self.format.channels);
        let most = u64::try_from(width * PIECE_FRAMES).unwrap_or(u64::MAX);
        self.bytes.clear();
        let wanted = self.left.map_or(most, |left| left.min(most));
        let got =
            (&mut self.from).take(wanted).read_to_end(&mut self.bytes).map_err(|fault| broken(&fault.to_string()))?;
        if let Some(left) = &mut self.left {
            *left -= u64::try_from(got).unwrap_or(0).min(*left);
            if u64::try_from(got) != Ok(wanted) {
                return Err(broken("it ends before its header says"));
            }
        }
        let share = 1.0 / f32::from(self.format.channels);
        let step = usize::from(self.format.bits / 8);
        let had = into.len();
        for frame in self.bytes.chunks_exact(width) {
            let mut sum = 0.0;
            let mut is_clipped = false;
            for sample in frame.chunks_exact(step) {
                let value = self.format.value(sample);
                if !value.is_finite() {
                    return Err(ReadWavError::NotANumber { place: self.read });
                }
                self.read += 1;
                is_clipped |= value.abs() >= CLIPPED;
                sum += value;
            }
            self.clipped += usize::from(is_clipped);
            into.push(sum * share);
        }
        Ok(into.len() > had)
    }
}

impl Format {
    /// Returns a sample between −1 and 1.
    fn value(self, bytes: &[u8]) -> f32 {
        let whole = |value: i32, bits: u16| super::samples::sample(f64::from(value) / f64::from(1_u32 << (bits - 1)));
        match (self.is_float, bytes) {
            (true, &[a, b, c, d]) => f32::from_le_bytes([a, b, c, d]),
            (_, &[a]) => whole(i32::from(a) - 128, 8),
            (_, &[a, b]) => whole(i32::from(i16::from_le_bytes([a, b])), 16),
            (_, &[a, b, c]) => whole(i32::from_le_bytes([0, a, b, c]) >> 8, 24),
            (_, &[a, b, c, d]) => whole(i32::from_le_bytes([a, b, c, d]), 32),
            _ => 0.0,
        }
    }
}

/// Reads a format chunk: kind, channels, rate, bytes a second, bytes a frame, bits, and the kind again where it is told in
/// the extension.
fn read_format(from: &mut impl Read, size: u32) -> Result<Format, ReadWavError> {
    if !(16..=1024).contains(&size) {
        return Err(broken("its format has a wrong length"));
    }
    let base: [u8; 16] = exactly(from)?;
    let mut more = vec![0; usize::try_from(size - 16 + size % 2).unwrap_or(0)];
    from.read_exact(&mut more).map_err(|fault| broken(&fault.to_string()))?;
    let at = |place: usize| u16::from_le_bytes([base[place], base[place + 1]]);
    let (channels, frame, bits) = (at(2), at(12), at(14));
    let kind = match (at(0), more.as_slice()) {
        (EXTENSIBLE, [_, _, _, _, _, _, _, _, low, high, ..]) => u16::from_le_bytes([*low, *high]),
        (kind, _) => kind,
    };
    let samples_per_s = u32::from_le_bytes([base[4], base[5], base[6], base[7]]);
    if !(1..=MOST_CHANNELS).contains(&channels) {
        return Err(ReadWavError::Channels { channels });
    }
    let rate = SampleRate::new(samples_per_s).ok_or(ReadWavError::Rate { samples_per_s })?;
    let is_known = matches!((kind, bits), (WHOLE_NUMBERS, 8 | 16 | 24 | 32) | (FLOATS, 32));
    if !is_known || frame != channels * (bits / 8) {
        return Err(ReadWavError::UnknownSamples { bits });
    }
    Ok(Format { channels, bits, is_float: kind == FLOATS, rate })
}

/// Reads so many bytes.
fn exactly<const N: usize>(from: &mut impl Read) -> Result<[u8; N], ReadWavError> {
    let mut bytes = [0; N];
    from.read_exact(&mut bytes).map_err(|fault| broken(&fault.to_string()))?;
    Ok(bytes)
}

/// Reads so many bytes and drops them.
fn skip(from: &mut impl Read, bytes: u64) -> Result<(), ReadWavError> {
    let passed =
        std::io::copy(&mut from.take(bytes), &mut std::io::sink()).map_err(|fault| broken(&fault.to_string()))?;
    if passed == bytes { Ok(()) } else { Err(broken("it ends within a chunk")) }
}

fn broken(what: &str) -> ReadWavError {
    ReadWavError::Broken { what: what.to_owned() }
}

/// Writes one channel as a WAV file of 16-bit whole numbers; samples beyond −1 to 1 are held at full scale.
///
/// # Errors
/// What the writer says, in one sentence, when the bytes cannot be written.
pub fn write_wav(to: impl Write + Seek, rate: SampleRate, samples: &[f32]) -> Result<(), WriteWavError> {
    let failed = |error: hound::Error| WriteWavError { what: error.to_string() };
    let spec = WavSpec { channels: 1, sample_rate: rate.get(), bits_per_sample: 16, sample_format: SampleFormat::Int };
    let mut writer = WavWriter::new(to, spec).map_err(failed)?;
    for &value in samples {
        writer.write_sample(to_16_bits(value)).map_err(failed)?;
    }
    writer.finalize().map_err(failed)
}

/// Rounds a sample to 16 bits.
#[expect(clippy::cast_possible_truncation, reason = "clamped to the range of 16 bits just before")]
fn to_16_bits(value: f32) -> i16 {
    (value.clamp(-1.0, 1.0) * f32::from(i16::MAX)).round() as i16
}

/// A recording could not be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WriteWavError {
    /// What the writer met.
    pub what: String,
}

impl fmt::Display for WriteWavError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the recording could not be written ({})", self.what)
    }
}

impl std::error::Error for WriteWavError {}
