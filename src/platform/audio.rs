//! Loudspeaker and microphone through the system's own sound service, by cpal.
//!
//! A stream lives on the thread that opened it. Its callback copies between the device's buffer and a ring and does
//! nothing else; its error callback leaves a number behind that the next look at the stream reads.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::time::Duration;

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

/// The sound devices of the machine this runs on.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemSound;

/// What the error callback leaves: no fault yet, a device lost, or one that the system took away.
#[derive(Clone, Debug, Default)]
struct Trouble(Arc<AtomicU8>);

impl Trouble {
    const LOST: u8 = 1;
    const DENIED: u8 = 2;

    fn keep(&self, kind: ErrorKind) {
        match kind {
            // The stream goes on after these.
            ErrorKind::Xrun | ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
            ErrorKind::PermissionDenied => self.0.store(Self::DENIED, Ordering::Relaxed),
            _ => self.0.store(Self::LOST, Ordering::Relaxed),
        }
    }

    fn check(&self) -> Result<(), DeviceFault> {
        match self.0.load(Ordering::Relaxed) {
            0 => Ok(()),
            Self::DENIED => Err(DeviceFault::Denied),
            _ => Err(DeviceFault::Lost),
        }
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
    trouble: Trouble,
    /// Held so that it runs.
    _stream: Stream,
}

struct SystemOutlet {
    rate_hz: u32,
    ring: Producer<f32>,
    trouble: Trouble,
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
        self.trouble.check()
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
        self.trouble.check()
    }

    fn is_drained(&self) -> bool {
        self.ring.slots() == self.ring.buffer().capacity()
    }
}

fn open_in<T: SizedSample + Copy>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ring: Producer<f32>,
    trouble: Trouble,
) -> Result<Stream, cpal::Error>
where
    f32: FromSample<T>,
{
    let channels = usize::from(config.channels);
    device.build_input_stream(
        config,
        move |data: &[T], _: &cpal::InputCallbackInfo| copy_in(data, channels, f32::from_sample_, &mut ring),
        move |fault| trouble.keep(fault.kind()),
        Some(PATIENCE),
    )
}

fn open_out<T: SizedSample + FromSample<f32> + Copy>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ring: Consumer<f32>,
    trouble: Trouble,
) -> Result<Stream, cpal::Error> {
    let channels = usize::from(config.channels);
    device.build_output_stream(
        config,
        move |data: &mut [T], _: &cpal::OutputCallbackInfo| copy_out(data, channels, T::from_sample_, &mut ring),
        move |fault| trouble.keep(fault.kind()),
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
        let trouble = Trouble::default();
        let kept = trouble.clone();
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
        Ok(Box::new(SystemIntake { rate_hz, ring: read, trouble, _stream: stream }))
    }

    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault> {
        let fault = |error: cpal::Error| sorted(error.kind(), DeviceFault::NoOutput);
        let device = cpal::default_host().default_output_device().ok_or(DeviceFault::NoOutput)?;
        let (format, config) = unhurried(&device.default_output_config().map_err(fault)?);
        let rate_hz = config.sample_rate;
        let (write, read) = ring(rate_hz / AHEAD_PARTS);
        let trouble = Trouble::default();
        let kept = trouble.clone();
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
        Ok(Box::new(SystemOutlet { rate_hz, ring: write, trouble, _stream: stream }))
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

    /// Only where there are devices: a soft 440 Hz out, whatever the room holds in.
    #[test]
    #[ignore = "needs a loudspeaker and a microphone"]
    fn the_devices_of_this_machine_run() {
        let mut outlet = SystemSound.open_outlet().unwrap();
        let mut intake = SystemSound.open_intake().unwrap();
        let mut heard = Vec::new();
        let step = std::f32::consts::TAU * 440.0 / f32::from(u16::try_from(outlet.rate_hz()).unwrap());
        let mut turn = 0.0_f32;
        for _ in 0..50 {
            let tone: Vec<f32> = (0..outlet.wanted())
                .map(|_| {
                    turn = (turn + step) % std::f32::consts::TAU;
                    0.02 * turn.sin()
                })
                .collect();
            outlet.put(&tone).unwrap();
            intake.take(&mut heard).unwrap();
            std::thread::sleep(Duration::from_millis(20));
        }
        let rate_hz = usize::try_from(intake.rate_hz()).unwrap();
        assert!(heard.len() > rate_hz / 2, "{} samples at {rate_hz} a second", heard.len());
    }

    #[test]
    fn a_stream_goes_on_over_a_gap_and_ends_with_its_device() {
        let trouble = Trouble::default();
        for harmless in [ErrorKind::Xrun, ErrorKind::DeviceChanged, ErrorKind::RealtimeDenied] {
            trouble.keep(harmless);
            assert_eq!(trouble.check(), Ok(()), "{harmless:?}");
        }
        trouble.keep(ErrorKind::DeviceNotAvailable);
        assert_eq!(trouble.check(), Err(DeviceFault::Lost));
        trouble.keep(ErrorKind::PermissionDenied);
        assert_eq!(trouble.check(), Err(DeviceFault::Denied));
    }
}
