//! What the player is told, above whatever screen is shown.

use crate::store::SaveError;
use crate::theory::Chord;

use super::state::State;

/// Something to tell the player, above whatever screen is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Notice {
    /// The library was damaged and is kept under this name; a new one is begun.
    LibraryDamaged(String),
    /// The library was damaged and is kept under this name; the version before it is opened.
    LibraryRestored(String),
    /// The library is from a newer version and is left untouched; nothing is saved.
    LibraryNewer,
    /// There was no library but the version before, which is opened.
    LibraryMissing,
    /// The library cannot be reached, with the system's word for it; it is left untouched and nothing is saved.
    LibraryUnreachable(String),
    /// The machine names no place for a library; nothing is saved.
    NoPlaceForLibrary,
    /// Another file lay where the library belongs, and is kept under this name.
    SetAside(String),
    /// So many parts of the library could not be read and are set aside; the rest is whole.
    PartsSetAside(usize),
    /// So many parts that were set aside before could be read again.
    PartsGivenBack(usize),
    /// A text was longer than its field may hold: so many letters, or lines where there is no such number.
    TextCut(Option<usize>),
    /// A version from before is in the place of what was here, which is kept as another.
    Restored,
    /// Saving failed; what was saved before is still there.
    SaveFailed(SaveError),
    /// This string, by its player number, would break in the tuning asked for; nothing is changed.
    StringWouldBreak(u8),
    /// This string, by its player number, would leave the pitches there are; nothing is changed.
    PitchOutOfRange(u8),
    /// The capo cannot sit there.
    CapoBeyondFrets {
        /// The fret asked for.
        asked: u8,
        /// The highest it can sit at.
        highest: u8,
    },
    /// The song is deleted; it can be taken back.
    SongDeleted(String),
    /// The set list is deleted, its songs are not; it can be taken back.
    SetListDeleted(String),
    /// The own tuning is deleted; it can be taken back.
    TuningDeleted(String),
    /// The song is taken out of the set list; it can be taken back.
    TakenOut(String),
    /// The song has changed as a whole; it can be taken back.
    SongChanged(String),
    /// The set list is in another order; it can be taken back.
    SetListOrdered(String),
    /// A shape is chosen for a chord of a song; it can be taken back.
    ShapeUsed {
        /// The chord as the song names it.
        chord: Chord,
        /// The song.
        title: String,
    },
    /// The mark is taken off a shape; it can be taken back.
    FavouriteOff {
        /// The chord it was marked for.
        chord: Chord,
        /// Its frets.
        frets: String,
    },
    /// So many things were taken in; they can be taken back.
    TakenIn(usize),
}

impl Notice {
    /// Returns whether it may go by itself once it has been there long enough to be read: what was done, and what was
    /// refused with nothing changed. That the library is damaged or cannot be saved stays until it is put away.
    #[must_use]
    pub const fn passes(&self) -> bool {
        match self {
            Self::LibraryDamaged(_)
            | Self::LibraryRestored(_)
            | Self::LibraryNewer
            | Self::LibraryMissing
            | Self::LibraryUnreachable(_)
            | Self::NoPlaceForLibrary
            | Self::SetAside(_)
            | Self::PartsSetAside(_)
            | Self::SaveFailed(_) => false,
            Self::PartsGivenBack(_)
            | Self::TextCut(_)
            | Self::Restored
            | Self::StringWouldBreak(_)
            | Self::PitchOutOfRange(_)
            | Self::CapoBeyondFrets { .. }
            | Self::SongDeleted(_)
            | Self::SetListDeleted(_)
            | Self::TuningDeleted(_)
            | Self::TakenOut(_)
            | Self::SongChanged(_)
            | Self::SetListOrdered(_)
            | Self::ShapeUsed { .. }
            | Self::FavouriteOff { .. }
            | Self::TakenIn(_) => true,
        }
    }
}

impl State {
    /// Tells the player something, after what is being told already.
    pub fn tell(&mut self, notice: Notice) {
        if self.notice.is_none() {
            self.notice = Some(notice);
        } else if self.notice.as_ref() != Some(&notice) && !self.next_notices.contains(&notice) {
            self.next_notices.push(notice);
        }
    }

    /// Tells something as soon as what is told now is put away.
    pub(super) fn tell_next(&mut self, notice: Notice) {
        self.next_notices.insert(0, notice);
    }

    /// Puts away what is told; what waits is told next.
    pub(super) fn close_notice(&mut self) {
        self.notice = if self.next_notices.is_empty() { None } else { Some(self.next_notices.remove(0)) };
    }
}
