//! Chord shapes: what the fretting hand can hold, and what a held shape is good for.

mod fingering;
mod shape;

pub use fingering::{Barre, Finger, Fingering};
pub use shape::{ParseShapeError, Shape};
