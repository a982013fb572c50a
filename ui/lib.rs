//! The screens, as the Slint compiler makes them from `app.slint`.
//!
//! A crate of its own because there is much of it and it changes seldom: a change to the app's Rust does not compile it
//! again. It knows no music; `pegwise::app` fills it and takes its taps.
#![allow(warnings, clippy::all, clippy::pedantic, clippy::restriction, reason = "generated code")]

slint::include_modules!();
