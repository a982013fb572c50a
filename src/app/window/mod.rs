//! The window: taps come in as actions, the state goes out to Slint.
//!
//! [`App`] holds the state and the window; a file says what each control sends, another runs the search for an order beside
//! the window.

mod app;
mod kept;
mod kept_taps;
mod kinds;
mod order_line;
mod sheet_taps;
mod song_taps;
mod taps;

pub use app::App;
