//! Reading and writing WAV: one channel of samples between −1 and 1.

use std::fmt;
use std::io::{Read, Seek, Write};

use hound::{SampleFormat, WavReader, WavSpec, WavWriter};

use super::samples::SampleRate;

/// The longest recording read, in seconds: half an hour.
const LONGEST_S: u32 = 1800;
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
    let broken = |error: hound::Error| ReadWavError::Broken { what: error.to_string() };
    let mut reader = WavReader::new(from).map_err(broken)?;
    let WavSpec { channels, sample_rate, bits_per_sample: bits, sample_format } = reader.spec();
    if !(1..=MOST_CHANNELS).contains(&channels) {
        return Err(ReadWavError::Channels { channels });
    }
    let rate = SampleRate::new(sample_rate).ok_or(ReadWavError::Rate { samples_per_s: sample_rate })?;
    if reader.duration() == 0 {
        return Err(ReadWavError::Empty);
    }
    if reader.duration() / sample_rate >= LONGEST_S {
        return Err(ReadWavError::TooLong);
    }
    let all: Vec<f32> = match (sample_format, bits) {
        (SampleFormat::Float, 32) => reader.samples::<f32>().collect::<Result<_, _>>().map_err(broken)?,
        (SampleFormat::Int, 8 | 16 | 24 | 32) => {
            let full_scale = f64::from(1_u32 << (bits - 1));
            let scaled = |value: i32| super::samples::sample(f64::from(value) / full_scale);
            reader.samples::<i32>().map(|value| value.map(scaled)).collect::<Result<_, _>>().map_err(broken)?
        }
        _ => return Err(ReadWavError::UnknownSamples { bits }),
    };
    if let Some(place) = all.iter().position(|value| !value.is_finite()) {
        return Err(ReadWavError::NotANumber { place });
    }
    let width = usize::from(channels);
    let share = 1.0 / f32::from(channels);
    let frames = all.chunks_exact(width);
    let clipped = frames.clone().filter(|frame| frame.iter().any(|value| value.abs() >= CLIPPED)).count();
    let samples: Vec<f32> = frames.map(|frame| frame.iter().sum::<f32>() * share).collect();
    if samples.is_empty() {
        return Err(ReadWavError::Empty);
    }
    let clipped_share = super::samples::real(clipped) / super::samples::real(samples.len());
    Ok(Recording { rate, samples, channels, bits, clipped_share })
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
