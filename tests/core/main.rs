//! Checks of the core against the outside world; no window, no files but those under `tests/assets`.
#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    clippy::missing_panics_doc,
    clippy::print_stdout,
    reason = "a test may fail by panicking and say what it measured"
)]

mod android;
mod app;
mod arrange;
mod bass;
mod by_ear;
mod catalog;
mod changeovers;
mod command_line;
mod custom;
mod devices;
mod earlier;
mod exchange;
mod explained;
mod favourites;
mod forms;
mod fuzz;
mod guide;
mod hand_away;
mod hands_free;
mod held;
mod items;
mod layers;
mod lean;
mod lesson;
mod licences;
mod looked;
mod melody;
mod names;
mod neck_plan;
mod notes_read;
mod one_guitar;
mod order;
mod performances;
mod quiet_callback;
mod retune;
mod retune_trust;
mod room;
mod saving;
mod shape_rows;
mod shapes;
mod sheet;
mod sheet_pictures;
mod simulated;
mod song_habits;
mod song_in;
mod songs;
mod songs_played;
mod sound;
mod sounding;
mod springs;
mod store;
mod string_laws;
mod strings;
mod strings_on;
mod theory;
mod tune;
mod tune_plucked;
mod tune_screen;
mod typed;
mod versions;
mod waiting;
mod words;
