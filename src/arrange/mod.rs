//! A tune laid on a tuned neck: the melody on the fingers' courses, the thumb below, the hand holding as little as it must.
//!
//! [`arrange`] works one tune out in one tuning; [`try_tunings`] does so in many, to say which suits it. The search is
//! dynamic programming over every way to play each moment (Sayegh, Computer Music Journal 1989; states as in Hori, Kameoka
//! and Sagayama, Journal of Information Processing 2013; least hardest step after Hori and Sagayama, ISMIR 2016; all from
//! memory), exact over its candidates: a note that sounds on is part of the state.
//!
//! Never given up: one note a course; a note keeps its place and its finger for as long as it sounds; the hand's reach in
//! millimetres, by the same [`crate::shapes::Hand`] as everywhere; the bass on the thumb's courses and below the melody; no
//! melody note changed or cut. Weighed against each other: the named costs of [`ArrangeCosts`]. What cannot be kept is
//! told ([`LeftOut`]). No guitarist has judged the result.

#[expect(clippy::module_inception, reason = "the subject's chief verb")]
mod arrange;
mod arrangement;
#[cfg(test)]
mod checks;
mod costs;
mod grips;
mod harmony;
mod inner;
mod keys;
mod search;
mod slices;
mod states;
mod suits;
mod wishes;

pub use arrange::{arrange, moved_chord};
pub use arrangement::{ArrangedSlice, Arrangement, Figures, Held, LeftOut, LeftOutKind, Remedy, Sounding, Why};
pub use costs::ArrangeCosts;
pub use suits::{FitReason, TuningCandidate, TuningFit, try_tunings};
pub use wishes::{ArrangeFault, Fullness, Goal, Pin, Pinned, ThumbStyle, Wishes};
