//! Sound judged from outside: tones by a Fourier sum, tracking by sums of partials of known frequency.

mod beats;
mod files;
mod pitch;
mod room;
mod signals;
mod tone;
