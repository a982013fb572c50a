//! Pegwise: from one tuning of a fretted instrument to the next, and around the neck once it is there.

pub mod app;
#[cfg(not(target_os = "android"))]
pub mod cli;
pub mod data;
pub mod instrument;
pub mod platform;
pub mod retune;
pub mod shapes;
pub mod songs;
pub mod sound;
pub mod store;
pub mod theory;
