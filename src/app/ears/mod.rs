//! What the phone sounds and what it listens for.
//!
//! [`Ears`] is the part of the state that says whether the microphone is on, what is heard and what sounds; from it come
//! the [`Watch`] (the strings to listen for) and the [`Score`] (what to sound). A [`Worker`] does both with a device of
//! `platform` and tells what came of it; it runs on a thread of its own only while there is something to do. A test
//! takes the thread's place.

mod asking;
mod lesson;
#[cfg(feature = "app")]
mod line;
mod listening;
mod score;
mod tape;
mod watch;
mod worker;

pub use asking::{follow, hide};
pub(super) use lesson::{end as end_lesson, is_shown as is_lesson_shown};
#[cfg(feature = "app")]
pub(super) use line::EarsLine;
pub(super) use listening::{Around, settle, update};
pub use listening::{Ears, EarsAction, HeardString, Mic, MicUse, Turning, WOBBLES_PER_S};
pub use score::{Score, Sound, string_make};
pub(super) use score::{click, strikes};
pub use tape::{Plucked, Take};
pub use watch::{Watch, WatchedReference, WatchedString};
pub use worker::{Ask, Hearing, Ringing, Told, Worker};
