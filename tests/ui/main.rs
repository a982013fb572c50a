//! The real window, without a display: taps, names, targets, sizes.
#![allow(clippy::unwrap_used, clippy::float_cmp, clippy::missing_panics_doc, reason = "a test may fail by panicking")]

mod bench_window;
mod every_screen;
mod first;
mod journeys;
mod listening;
mod phone;
mod songs;
