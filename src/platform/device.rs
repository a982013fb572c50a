//! Loudspeaker and microphone, as far as the app is concerned: plain samples in and out.

use std::fmt;

/// Why a device does not give or take sound, sorted by what can be done about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DeviceFault {
    /// The system does not let this app use it: the player changes that in the system's settings.
    Denied,
    /// Another app holds it: trying again later helps.
    Busy,
    /// It was there and is gone, or changed under the stream: opening anew helps if another has taken its place.
    Lost,
    /// There is no microphone.
    NoInput,
    /// There is no loudspeaker.
    NoOutput,
    /// It offers nothing that the app can use, or this build has no sound at all.
    NotSupported,
}

impl fmt::Display for DeviceFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Denied => "the system denies the device",
            Self::Busy => "another program holds the device",
            Self::Lost => "the device is gone",
            Self::NoInput => "there is no microphone",
            Self::NoOutput => "there is no loudspeaker",
            Self::NotSupported => "the device offers nothing usable",
        })
    }
}

impl std::error::Error for DeviceFault {}

/// An open microphone; it is closed when this is dropped.
pub trait Intake: fmt::Debug {
    /// Returns its samples a second.
    fn rate_hz(&self) -> u32;

    /// Appends to `into` what has come in since the last call: one channel, −1 to 1, oldest first.
    ///
    /// # Errors
    /// When the device gives no more sound; it has to be opened anew.
    fn take(&mut self, into: &mut Vec<f32>) -> Result<(), DeviceFault>;
}

/// An open loudspeaker; it falls silent and is closed when this is dropped.
pub trait Outlet: fmt::Debug {
    /// Returns its samples a second.
    fn rate_hz(&self) -> u32;

    /// Returns how many samples are wanted now, so that it neither runs dry nor lags behind what is asked of it.
    fn wanted(&self) -> usize;

    /// Hands over the next samples: one channel, −1 to 1. What is more than [`Outlet::wanted`] may be lost.
    ///
    /// # Errors
    /// When the device takes no more sound; it has to be opened anew.
    fn put(&mut self, samples: &[f32]) -> Result<(), DeviceFault>;

    /// Tells whether all that was handed over has been sounded.
    fn is_drained(&self) -> bool;
}

/// A machine's loudspeaker and microphone. Nothing is opened before it is asked for.
pub trait SoundDevice: fmt::Debug + Send {
    /// Opens the microphone that the system prefers.
    ///
    /// # Errors
    /// When there is none, or it cannot be had now.
    fn open_intake(&mut self) -> Result<Box<dyn Intake>, DeviceFault>;

    /// Opens the loudspeaker that the system prefers.
    ///
    /// # Errors
    /// When there is none, or it cannot be had now.
    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault>;
}

/// A machine that neither hears nor sounds: what a build without sound devices has.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoSound;

impl SoundDevice for NoSound {
    fn open_intake(&mut self) -> Result<Box<dyn Intake>, DeviceFault> {
        Err(DeviceFault::NotSupported)
    }

    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault> {
        Err(DeviceFault::NotSupported)
    }
}
