//! Loudspeaker and microphone through the system's own sound service, by cpal.
//!
//! A stream lives on the thread that opened it. Its callback copies between the device's buffer and a ring and does
//! nothing else; its error callback leaves a number behind that the next look at the stream reads.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU32, Ordering};
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    BufferSize, ErrorKind, FromSample, SampleFormat, SizedSample, Stream, StreamConfig, SupportedBufferSize,
    SupportedStreamConfig,
};
use rtrb::{Consumer, Producer, RingBuffer};

use super::device::{DeviceFault, Intake, Outlet, SoundDevice};
use super::ring::{copy_in, copy_out};

/// How long a device may take to open.
const PATIENCE: Duration = Duration::from_secs(3);
/// How much sound the microphone's ring holds, as a share of a second; the worker empties it many times within.
const INTAKE_SHARE: u32 = 1;
/// How far ahead of the loudspeaker sound is made, in parts of a second: an eighth.
const AHEAD_PARTS: u32 = 8;

/// A stream that has passed no sound on for this long is lost, whatever it says or does not say. A sound service may
/// take two seconds to begin.
const LONGEST_STILL: Duration = Duration::from_secs(3);
/// The most that one look adds to that: a machine that slept, or was too busy to look, is no stream that stood still.
const LONGEST_LOOK: Duration = Duration::from_millis(50);

/// The sound devices of the machine this runs on.
#[derive(Clone, Debug, Default)]
pub struct SystemSound {
    /// A loudspeaker stood still with the buffer it was asked for: the next is opened with its own.
    keeps_own_buffer: Arc<AtomicBool>,
}

/// What a stream's callbacks leave behind: a count that moves while sound is passed on, and a fault that ends it.
#[derive(Debug, Default)]
struct Signs {
    passes: AtomicU32,
    fault: AtomicU8,
}

impl Signs {
    const LOST: u8 = 1;
    const DENIED: u8 = 2;

    fn pass(&self) {
        self.passes.fetch_add(1, Ordering::Relaxed);
    }

    fn keep(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::PermissionDenied => self.fault.store(Self::DENIED, Ordering::Relaxed),
            ErrorKind::DeviceNotAvailable | ErrorKind::HostUnavailable | ErrorKind::StreamInvalidated => {
                self.fault.store(Self::LOST, Ordering::Relaxed);
            }
            // The stream goes on after the others, or stands still, which is seen by the count. PulseAudio's ALSA plugin
            // answers with I/O errors whenever the stream has not begun, at first and again after every gap.
            _ => {}
        }
    }
}

/// Looks after a stream by its signs.
#[derive(Debug, Default)]
struct Vigil {
    signs: Arc<Signs>,
    passes: u32,
    still: Duration,
    looked: Option<Instant>,
}

impl Vigil {
    /// Tells whether the stream still runs, asked again and again.
    fn check(&mut self, now: Instant) -> Result<(), DeviceFault> {
        let since = self.looked.replace(now).map_or(Duration::ZERO, |looked| now.saturating_duration_since(looked));
        let passes = self.signs.passes.load(Ordering::Relaxed);
        self.still = if passes == self.passes { self.still + since.min(LONGEST_LOOK) } else { Duration::ZERO };
        self.passes = passes;
        match self.signs.fault.load(Ordering::Relaxed) {
            Signs::DENIED => Err(DeviceFault::Denied),
            Signs::LOST => Err(DeviceFault::Lost),
            _ if self.is_still() => Err(DeviceFault::Lost),
            _ => Ok(()),
        }
    }

    fn is_still(&self) -> bool {
        self.still >= LONGEST_STILL
    }
}

/// Sorts an error of an opening device by remedy; `none` is what a missing device is called.
fn sorted(kind: ErrorKind, none: DeviceFault) -> DeviceFault {
    match kind {
        ErrorKind::DeviceBusy | ErrorKind::ResourceExhausted => DeviceFault::Busy,
        ErrorKind::PermissionDenied => DeviceFault::Denied,
        ErrorKind::DeviceNotAvailable | ErrorKind::HostUnavailable | ErrorKind::UnsupportedOperation => none,
        ErrorKind::StreamInvalidated => DeviceFault::Lost,
        _ => DeviceFault::NotSupported,
    }
}

struct SystemIntake {
    rate_hz: u32,
    ring: Consumer<f32>,
    vigil: Vigil,
    /// Held so that it runs.
    _stream: Stream,
}

struct SystemOutlet {
    rate_hz: u32,
    ring: Producer<f32>,
    vigil: Vigil,
    keeps_own_buffer: Arc<AtomicBool>,
    /// Held so that it runs.
    _stream: Stream,
}

impl fmt::Debug for SystemIntake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SystemIntake").field("rate_hz", &self.rate_hz).finish_non_exhaustive()
    }
}

impl fmt::Debug for SystemOutlet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SystemOutlet").field("rate_hz", &self.rate_hz).finish_non_exhaustive()
    }
}

impl Intake for SystemIntake {
    fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    fn take(&mut self, into: &mut Vec<f32>) -> Result<(), DeviceFault> {
        while let Ok(value) = self.ring.pop() {
            into.push(value);
        }
        self.vigil.check(Instant::now())
    }
}

impl Outlet for SystemOutlet {
    fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    fn wanted(&self) -> usize {
        self.ring.slots()
    }

    fn put(&mut self, samples: &[f32]) -> Result<(), DeviceFault> {
        for value in samples {
            if self.ring.push(*value).is_err() {
                break;
            }
        }
        let checked = self.vigil.check(Instant::now());
        if self.vigil.is_still() {
            self.keeps_own_buffer.store(true, Ordering::Relaxed);
        }
        checked
    }

    fn is_drained(&self) -> bool {
        self.ring.slots() == self.ring.buffer().capacity()
    }
}

fn open_in<T: SizedSample + Copy>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ring: Producer<f32>,
    signs: Arc<Signs>,
) -> Result<Stream, cpal::Error>
where
    f32: FromSample<T>,
{
    let channels = usize::from(config.channels);
    let passing = Arc::clone(&signs);
    device.build_input_stream(
        config,
        move |data: &[T], _: &cpal::InputCallbackInfo| {
            passing.pass();
            copy_in(data, channels, f32::from_sample_, &mut ring);
        },
        move |fault| signs.keep(fault.kind()),
        Some(PATIENCE),
    )
}

fn open_out<T: SizedSample + FromSample<f32> + Copy>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ring: Consumer<f32>,
    signs: Arc<Signs>,
) -> Result<Stream, cpal::Error> {
    let channels = usize::from(config.channels);
    let passing = Arc::clone(&signs);
    device.build_output_stream(
        config,
        move |data: &mut [T], _: &cpal::OutputCallbackInfo| {
            passing.pass();
            copy_out(data, channels, T::from_sample_, &mut ring);
        },
        move |fault| signs.keep(fault.kind()),
        Some(PATIENCE),
    )
}

/// Returns a ring that holds `length` samples.
fn ring(length: u32) -> (Producer<f32>, Consumer<f32>) {
    RingBuffer::new(usize::try_from(length).unwrap_or(usize::MAX).max(1))
}

/// How long the loudspeaker's own buffer is asked to be where it can be asked, in parts of a second: a twentieth. Sound
/// is made ahead, so a long one costs nothing but a moment before the first note, and a busy machine does not tear it.
const PERIOD_PARTS: u32 = 20;

/// Returns what a loudspeaker prefers, with a buffer that does not run dry on a busy machine.
fn unhurried(config: &SupportedStreamConfig) -> (SampleFormat, StreamConfig) {
    let (format, mut rest) = split(config);
    let wanted = rest.sample_rate / PERIOD_PARTS;
    if let SupportedBufferSize::Range { min, max } = *config.buffer_size()
        && (min..=max).contains(&wanted)
    {
        rest.buffer_size = BufferSize::Fixed(wanted);
    }
    (format, rest)
}

/// Returns the format and the rest of what a device prefers.
fn split(config: &SupportedStreamConfig) -> (SampleFormat, StreamConfig) {
    (config.sample_format(), config.config())
}

impl SoundDevice for SystemSound {
    fn open_intake(&mut self) -> Result<Box<dyn Intake>, DeviceFault> {
        let fault = |error: cpal::Error| sorted(error.kind(), DeviceFault::NoInput);
        let device = cpal::default_host().default_input_device().ok_or(DeviceFault::NoInput)?;
        let (format, config) = split(&device.default_input_config().map_err(fault)?);
        let rate_hz = config.sample_rate;
        let (write, read) = ring(rate_hz * INTAKE_SHARE);
        let vigil = Vigil::default();
        let kept = Arc::clone(&vigil.signs);
        let opened = match format {
            SampleFormat::F32 => open_in::<f32>(&device, config, write, kept),
            SampleFormat::F64 => open_in::<f64>(&device, config, write, kept),
            SampleFormat::I16 => open_in::<i16>(&device, config, write, kept),
            SampleFormat::I32 => open_in::<i32>(&device, config, write, kept),
            SampleFormat::U16 => open_in::<u16>(&device, config, write, kept),
            SampleFormat::I8 => open_in::<i8>(&device, config, write, kept),
            SampleFormat::U8 => open_in::<u8>(&device, config, write, kept),
            _ => return Err(DeviceFault::NotSupported),
        };
        let stream = opened.map_err(fault)?;
        stream.play().map_err(fault)?;
        Ok(Box::new(SystemIntake { rate_hz, ring: read, vigil, _stream: stream }))
    }

    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault> {
        let fault = |error: cpal::Error| sorted(error.kind(), DeviceFault::NoOutput);
        let device = cpal::default_host().default_output_device().ok_or(DeviceFault::NoOutput)?;
        let preferred = device.default_output_config().map_err(fault)?;
        let keeps_own_buffer = self.keeps_own_buffer.load(Ordering::Relaxed);
        let (format, config) = if keeps_own_buffer { split(&preferred) } else { unhurried(&preferred) };
        let rate_hz = config.sample_rate;
        let (write, read) = ring(rate_hz / AHEAD_PARTS);
        let vigil = Vigil::default();
        let kept = Arc::clone(&vigil.signs);
        let opened = match format {
            SampleFormat::F32 => open_out::<f32>(&device, config, read, kept),
            SampleFormat::F64 => open_out::<f64>(&device, config, read, kept),
            SampleFormat::I16 => open_out::<i16>(&device, config, read, kept),
            SampleFormat::I32 => open_out::<i32>(&device, config, read, kept),
            SampleFormat::U16 => open_out::<u16>(&device, config, read, kept),
            SampleFormat::I8 => open_out::<i8>(&device, config, read, kept),
            SampleFormat::U8 => open_out::<u8>(&device, config, read, kept),
            _ => return Err(DeviceFault::NotSupported),
        };
        let stream = opened.map_err(fault)?;
        stream.play().map_err(fault)?;
        let keeps_own_buffer = Arc::clone(&self.keeps_own_buffer);
        Ok(Box::new(SystemOutlet { rate_hz, ring: write, vigil, keeps_own_buffer, _stream: stream }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_are_sorted_by_remedy() {
        let none = DeviceFault::NoInput;
        for (kind, expected) in [
            (ErrorKind::PermissionDenied, DeviceFault::Denied),
            (ErrorKind::DeviceBusy, DeviceFault::Busy),
            (ErrorKind::DeviceNotAvailable, none),
            (ErrorKind::HostUnavailable, none),
            (ErrorKind::StreamInvalidated, DeviceFault::Lost),
            (ErrorKind::UnsupportedConfig, DeviceFault::NotSupported),
        ] {
            assert_eq!(sorted(kind, none), expected, "{kind:?}");
        }
    }

    #[test]
    fn a_stream_goes_on_over_gaps_and_errors_that_pass_and_ends_with_its_device() {
        let mut vigil = Vigil::default();
        for harmless in [ErrorKind::Xrun, ErrorKind::DeviceChanged, ErrorKind::RealtimeDenied, ErrorKind::BackendError]
        {
            vigil.signs.keep(harmless);
            assert_eq!(vigil.check(Instant::now()), Ok(()), "{harmless:?}");
        }
        vigil.signs.keep(ErrorKind::DeviceNotAvailable);
        assert_eq!(vigil.check(Instant::now()), Err(DeviceFault::Lost));
        vigil.signs.keep(ErrorKind::PermissionDenied);
        assert_eq!(vigil.check(Instant::now()), Err(DeviceFault::Denied));
    }

    #[test]
    fn a_stream_that_stands_still_for_three_seconds_is_lost_and_one_that_was_not_looked_at_is_not() {
        let begun = Instant::now();
        let mut vigil = Vigil::default();
        let mut look = |ms: u64, passes: bool| {
            if passes {
                vigil.signs.pass();
            }
            vigil.check(begun + Duration::from_millis(ms))
        };
        for ms in (0..=2980).step_by(20) {
            assert_eq!(look(ms, false), Ok(()), "{ms}");
        }
        assert_eq!(look(2990, true), Ok(()));
        // The machine slept for an hour.
        assert_eq!(look(3_600_000, false), Ok(()));
        for ms in (0..2940).step_by(20) {
            assert_eq!(look(3_600_000 + ms, false), Ok(()), "{ms}");
        }
        assert_eq!(look(3_603_000, false), Err(DeviceFault::Lost));
    }
}
