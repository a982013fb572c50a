//! Sound as numbers: plucked strings to hear, and the pitch of a plucked string from samples. Never a device.
//!
//! [`Player`] and [`render`] turn strikes into samples; [`Tracker`] turns samples into readings, and [`Steady`] turns
//! readings into what a player sees; [`BeatMeter`] counts the beats of two strings.
//! A WAV file becomes a [`Recording`] by [`read_wav`], and [`track`] follows it from end to end; [`WavPieces`] reads one of any
//! length; [`write_wav`] keeps what
//! was rendered. Nothing here reads a clock or draws a random number; the same samples always give the same answer.

mod beat;
mod decimate;
mod delay;
mod evidence;
mod goal;
mod onset;
mod player;
mod pluck;
mod plucks;
mod refine;
mod samples;
mod series;
mod spectrum;
mod steady;
mod tone;
mod track;
mod trend;
mod turn;
mod wav;

pub use beat::{BeatMeter, Beating};
pub use delay::find_delay;
pub use goal::{Goal, nearest_string};
pub use player::{Player, Strike, arpeggio, render, strum, thumb_pattern, wobbling_pair};
pub use pluck::Pluck;
pub use plucks::find_plucks;
pub use samples::SampleRate;
pub use steady::{Seen, Steady, Verdict};
pub use tone::{StringMake, Tone};
pub use track::{Heard, Listening, Reading, Tracker, track};
pub use turn::Turn;
pub use wav::{ReadWavError, Recording, WavPieces, WriteWavError, read_wav, write_wav};
