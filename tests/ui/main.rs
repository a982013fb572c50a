//! The real window, without a display: taps, names, targets, sizes.
#![allow(clippy::unwrap_used, clippy::float_cmp, clippy::missing_panics_doc, reason = "a test may fail by panicking")]

mod bench_window;
mod by_ear;
mod contrast;
mod doors;
mod every_screen;
mod explained;
mod files;
mod fingers;
mod first;
mod idle;
mod journeys;
mod kept;
mod keys;
mod layout;
mod listening;
mod long_lists;
mod long_texts;
mod monkey;
mod phone;
mod pictures;
mod shapes;
mod sights;
mod songs;
mod stage;
mod still;
mod tree;
mod tune;
