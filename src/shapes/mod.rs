//! Chord shapes: what the fretting hand can hold, and what a held shape is good for.

mod fingering;
mod name;
mod shape;

pub use fingering::{Barre, Finger, Fingering};
pub use name::{
    BassRole, ChordName, MOST_NAMES, NamePenalty, Names, SoundKind, is_reentrant, name_on_root, name_pitches,
    name_shape,
};
pub use shape::{ParseShapeError, Shape};
