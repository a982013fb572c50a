//! From the state to what Slint shows: pure functions, a file for each screen.
//!
//! Notes and numbers are written here, words in the `.slint` files.

mod about;
mod custom;
mod diagram;
mod exchange;
mod files;
mod guide;
mod hand_out;
mod instrument;
mod kept;
mod key_plan;
mod listening;
mod marks;
mod matching;
mod neck;
mod notice;
mod one_string;
mod own_tuning;
mod pick;
mod playing;
mod retune;
mod set_list;
mod settings;
mod shapes;
mod song;
mod song_editor;
mod songs;
mod tune;
mod tune_entry;
mod tune_moment;
mod tune_pluck;
mod tunings;
mod way;

pub(super) use about::{show_about, show_licences};
pub(super) use exchange::show_exchange;
pub(super) use files::show_files;
pub(super) use guide::show_guide;
pub(super) use hand_out::{format_of, show_hand_out};
pub(super) use instrument::show_instrument;
pub(super) use kept::show_kept;
pub(super) use key_plan::show_key_plan;
pub(super) use listening::{show_listening, sound_of};
pub(super) use marks::{show_guitar, show_looked};
pub(super) use neck::{order as neck_order, show_neck};
pub(super) use notice::show_notice;
pub(super) use one_string::show_one_string;
pub(super) use own_tuning::show_own_tuning;
pub(super) use pick::show_pick;
pub(super) use playing::{PlayedPage, show_playing};
pub(super) use retune::show_retune;
pub(super) use set_list::{show_ordering, show_set_list};
pub(super) use settings::{show_settings, theme};
pub(super) use shapes::{show_filters, show_overview, show_shapes};
pub(super) use song::{show_song, show_song_chord, show_song_compare};
pub(super) use song_editor::{show_song_editor, show_song_tuning};
pub(super) use songs::{show_choices, show_songs, song_rows};
pub(super) use tune::{ShownTab, TabKey, lay_out, show_tune, tab_key};
pub(super) use tune_entry::{entry_place, show_tune_entry, show_tune_neck, show_tune_tunings};
pub(super) use tune_moment::{show_tune_moment, show_tune_steps};
pub(super) use tune_pluck::show_tune_pluck;
pub(super) use tunings::show_tunings;

use slint::{ModelRc, VecModel};

/// Hands rows to Slint.
fn rows<T: Clone + 'static>(rows: impl IntoIterator<Item = T>) -> ModelRc<T> {
    ModelRc::new(VecModel::from(rows.into_iter().collect::<Vec<T>>()))
}

/// Returns what of a kept text its field may hold.
fn fitting(text: &str, field: crate::app::Field) -> String {
    crate::app::cut(text, field).unwrap_or_else(|| text.to_owned())
}

/// Fits a count into Slint's integer.
fn count(number: usize) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

/// Narrows a fraction for drawing.
#[expect(clippy::cast_possible_truncation, reason = "a place on the screen needs no more digits than f32 has")]
const fn fraction(value: f64) -> f32 {
    value as f32
}
