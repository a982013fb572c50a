//! The machine the app runs on: where its files lie, whether the screen may sleep, whether it may listen.
//!
//! Plain values only: this folder knows nothing of music, of the player's library or of the window. It is also the
//! one place that chooses between a desktop, a phone and a browser; everything else asks a [`Machine`].

#[cfg(feature = "audio")]
mod audio;
mod device;
mod fake;
mod fake_sound;
mod kept_files;
mod machine;
mod out;
mod picker;
mod ring;

#[cfg(target_os = "android")]
mod android;
#[cfg(target_os = "android")]
mod android_share;
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
mod desktop;

#[cfg(all(unix, not(any(target_os = "android", target_arch = "wasm32"))))]
mod signals;

#[cfg(all(target_arch = "wasm32", feature = "app"))]
mod web;
#[cfg(all(target_arch = "wasm32", feature = "app"))]
mod web_sound;

#[cfg(target_os = "android")]
pub use android::Phone;
#[cfg(feature = "audio")]
pub use audio::SystemSound;
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
pub use desktop::Desktop;
pub use device::{DeviceFault, Intake, NoSound, Outlet, SoundDevice};
pub use fake::Fake;
pub use fake_sound::FakeSound;
pub use kept_files::{FileChanges, KeepFiles, KeptFiles, OnKept};
pub use machine::{Machine, Microphone, Moment, OnMoment};
pub use out::{OnShared, ShareFault};
pub use picker::{OnPicked, Pick, Picked};
pub use ring::{copy_in, copy_out};
#[cfg(all(target_arch = "wasm32", feature = "app"))]
pub use web::{Browser, tell_gone, tell_kept, tell_moment, tell_picked};

/// Calls `end` on another thread when the system asks the program to end by a signal; nothing where it has none.
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
fn on_end(end: Box<dyn Fn() + Send>) {
    #[cfg(unix)]
    signals::on_end(end);
    #[cfg(not(unix))]
    drop(end);
}

/// Returns the loudspeaker and microphone of the machine this runs on; none in a build without them.
#[must_use]
pub fn sound_device() -> Box<dyn SoundDevice> {
    #[cfg(feature = "audio")]
    let device = SystemSound::default();
    #[cfg(not(feature = "audio"))]
    let device = NoSound;
    Box::new(device)
}
