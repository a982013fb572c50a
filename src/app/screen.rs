//! The screens, and the way from one to another.

use crate::songs::SongId;

use super::action::Update;
use super::pick::Picking;
use super::song_edit::SongEditing;
use super::song_tuning::TuningFor;
use super::state::State;
use super::tune::is_tune_screen;

/// A screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the screens name themselves; `Tab` says which are reached from the bar")]
pub enum Screen {
    Tunings,
    Retune,
    Shapes,
    Songs,
    More,
    Song,
    SongEditor,
    SongTuning,
    SongChord,
    SongCompare,
    SongChoice,
    Tune,
    TuneHow,
    TuneMoment,
    TuneSteps,
    TuneTunings,
    TuneEntry,
    TuneNeck,
    TunePluck,
    SetList,
    Playing,
    Exchange,
    Outgoing,
    HandOut,
    Kept,
    Licences,
    Show,
    Overview,
    KeyPicker,
    ChordPicker,
    Filters,
    KeyPlan,
    Neck,
    OwnTuning,
    Instrument,
    OneString,
    Settings,
    About,
}

/// An entry of the bar at the bottom.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tab {
    /// Which tuning next.
    #[default]
    Tunings,
    /// On the way to it.
    Retune,
    /// Around the neck in it.
    Shapes,
    /// What is played in it.
    Songs,
    /// Instrument, settings, about.
    More,
}

impl Tab {
    /// All, from left to right.
    pub const ALL: [Self; 5] = [Self::Tunings, Self::Retune, Self::Shapes, Self::Songs, Self::More];

    /// Returns the screen a tab opens on.
    #[must_use]
    pub const fn screen(self) -> Screen {
        match self {
            Self::Tunings => Screen::Tunings,
            Self::Retune => Screen::Retune,
            Self::Shapes => Screen::Shapes,
            Self::Songs => Screen::Songs,
            Self::More => Screen::More,
        }
    }
}

impl State {
    /// Returns the screen that is shown.
    #[must_use]
    pub fn screen(&self) -> Screen {
        self.above.last().copied().unwrap_or_else(|| self.tab.screen())
    }

    /// Returns the tab it belongs to.
    #[must_use]
    pub const fn tab(&self) -> Tab {
        self.tab
    }

    /// Returns the screens above the tab's own, the one shown last.
    pub(super) fn above(&self) -> &[Screen] {
        &self.above
    }

    /// Returns how many levels Back goes up from here, before the app is left.
    #[must_use]
    pub fn levels(&self) -> usize {
        usize::from(self.ears.wants_lesson) + self.above.len() + usize::from(self.tab != Tab::default())
    }

    pub(super) fn go_up(&mut self) -> Update {
        if self.ears.wants_lesson {
            super::ears::end_lesson(&mut self.ears, &mut self.desk.library.settings);
            return Update::Shown;
        }
        if self.above.pop().is_some() {
            Update::Shown
        } else if self.tab == Tab::default() {
            Update::Leave
        } else {
            self.open_tab(Tab::default())
        }
    }

    pub(super) fn open_tab(&mut self, tab: Tab) -> Update {
        self.tab = tab;
        self.above.clear();
        Update::Shown
    }

    pub(super) fn show(&mut self, screen: Screen) -> Update {
        if screen == Screen::ChordPicker {
            self.picking = Picking::starting_at(self.shapes.chord);
        }
        if let Some(tab) = Tab::ALL.into_iter().find(|tab| tab.screen() == screen) {
            return self.open_tab(tab);
        }
        if self.screen() != screen {
            self.above.push(screen);
        }
        Update::Shown
    }

    /// Goes up from `screen` if it is the one shown.
    pub(super) fn leave(&mut self, screen: Screen) -> Update {
        if self.above.last() == Some(&screen) {
            self.above.pop();
        }
        Update::Shown
    }

    /// After every action: a screen about something that is not there any more is left, with all above it.
    pub(super) fn settle_screens(&mut self) {
        let library = &self.desk.library;
        let is_song = |id: Option<SongId>| id.is_some_and(|id| library.find_song(id).is_some());
        let is_kept = |editing: &SongEditing| editing.song.id == SongId::default() || is_song(Some(editing.song.id));
        self.editing_song = self.editing_song.take().filter(is_kept);
        let is_there = |screen: &Screen| match screen {
            Screen::Song | Screen::SongChord | Screen::SongCompare => is_song(self.song.id),
            Screen::SongEditor => self.editing_song.is_some(),
            Screen::SongTuning => match self.tuning_choice.purpose {
                TuningFor::Song => self.editing_song.is_some(),
                TuningFor::Comparison => is_song(self.song.id),
            },
            Screen::Playing => is_song(self.playing.song),
            Screen::OneString => self.string_entry.is_some(),
            screen if is_tune_screen(*screen) => is_song(self.tune.song),
            Screen::SetList => self.set_list.find(library).is_some(),
            _ => true,
        };
        let gone = self.above.iter().position(|screen| !is_there(screen));
        self.above.truncate(gone.unwrap_or(self.above.len()));
    }
}
