//! Checks of the core against the outside world; no window, no files but those under `tests/assets`.
mod store;
