//! The window: taps come in as actions, the state goes out to Slint.
//!
//! [`App`] holds the state and the window: `app/filling` puts the one into the other, `app/saving` sees to the disk. A file says
//! what each control sends, `keys` what keys do, others run the searches for an order and for a tune beside the window.

mod app;
mod files;
mod kept;
mod kept_taps;
mod keys;
mod kinds;
mod order_line;
mod sheet_taps;
mod song_taps;
mod stops;
mod taps;
mod tune_line;
mod tune_taps;

pub use app::App;
