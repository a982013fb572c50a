//! The machine the app runs on: where its files lie, whether the screen may sleep, whether it may listen.
//!
//! Plain values only: this folder knows nothing of music, of the player's library or of the window. It is also the
//! one place that chooses between a desktop and a phone; everything else asks a [`Machine`].

mod fake;
mod machine;

#[cfg(target_os = "android")]
mod android;
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
mod desktop;

#[cfg(target_os = "android")]
pub use android::Phone;
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
pub use desktop::Desktop;
pub use fake::Fake;
pub use machine::{Machine, Microphone, Moment, OnMoment};
