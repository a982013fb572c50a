//! What a screen asks for beyond its own state and the desk: it says what happens next, and the state does it.

use crate::instrument::Tuning;
use crate::songs::{SetListId, Song, SongId};
use crate::store::Wanted;

use super::action::Update;
use super::ears::{Plucked, Sound};
use super::exchange::Out;
use super::notice::Notice;
use super::screen::{Screen, Tab};
use super::song_tuning::TuningFor;
use super::songs::ChoosingFor;
use super::state::State;
use super::tune::is_tune_screen;
use super::undo::Undo;

/// What happens after a screen has had its way with its own state and the desk.
#[derive(Clone, Debug, PartialEq)]
#[must_use]
pub(super) enum Next {
    /// The screen is drawn again.
    Shown,
    /// Besides, something was typed.
    Typed,
    /// This tab opens.
    Tab(Tab),
    /// The shapes of what is on the guitar open.
    Shapes,
    /// This screen opens above the one that is shown.
    Show(Screen),
    /// This screen is left, if it is the one shown.
    Leave(Screen),
    /// The Songs tab opens with these screens above it.
    AboveSongs(&'static [Screen]),
    /// The player is told.
    Tell(Notice),
    /// The player is told what was done, and can take it back.
    Done(Notice, Box<Undo>),
    /// Something was changed: what was done before cannot be taken back by itself any more.
    Changed,
    /// This is sounded; what sounded before is damped.
    Hear(Sound),
    /// Nothing is sounded any more.
    Hush,
    /// The microphone is wanted.
    Listen,
    /// What is recorded ends.
    EndTake,
    /// A tune has been plucked for so many seconds.
    Taking(f64),
    /// This was plucked.
    Plucked(Plucked),
    /// The way to a tuning begins.
    Retune(Tuning, Wanted),
    /// This instrument is taken in hand.
    Take(String),
    /// It is said which string is on: of the course with this player number, the string in this place, from 0.
    Describe(u8, usize),
    /// Notes are called otherwise from now on.
    NotesRenamed,
    /// This song opens.
    Song(SongId),
    /// This song is changed in the editor, or begun there.
    EditSong(Box<Song>),
    /// This song is played.
    Play(SongId),
    /// This set list opens; with `true` its songs are being moved.
    SetList(SetListId, bool),
    /// A song is chosen for this.
    ChooseSong(ChoosingFor),
    /// A tuning is chosen for this.
    ChooseTuning(TuningFor),
    /// This goes out.
    Out(Out),
    /// All of these, in turn.
    All(Vec<Self>),
}

impl Next {
    /// The player is told what was done, and can take it back.
    pub(super) fn done(notice: Notice, undo: Undo) -> Self {
        Self::Done(notice, Box::new(undo))
    }

    /// This, then the other.
    pub(super) fn then(self, other: Self) -> Self {
        match self {
            Self::All(mut all) => {
                all.push(other);
                Self::All(all)
            }
            one => Self::All(vec![one, other]),
        }
    }
}

impl State {
    /// Does what a screen asked for.
    pub(super) fn go_on(&mut self, next: Next) -> Update {
        match next {
            Next::Shown => {}
            Next::Typed => return Update::Typed,
            Next::Tab(tab) => return self.open_tab(tab),
            Next::Shapes => {
                self.look_back();
                return self.open_tab(Tab::Shapes);
            }
            Next::Show(screen) => return self.show(screen),
            Next::Leave(screen) => return self.leave(screen),
            Next::AboveSongs(screens) => {
                self.open_tab(Tab::Songs);
                for &screen in screens {
                    self.show(screen);
                }
            }
            Next::Tell(notice) => self.tell(notice),
            Next::Done(notice, undo) => self.tell_done(notice, *undo),
            Next::Changed => self.forget_undo(),
            Next::Hear(sound) => self.sound(sound),
            Next::Hush => self.ears.hush(),
            Next::Listen => self.ears.want_mic(),
            Next::EndTake => self.ears.end_take(),
            Next::Taking(at_s) => self.tune.entry.plucking.at_s = at_s,
            Next::Plucked(plucked) => super::tune::plucked(&mut self.tune, &self.desk, &plucked),
            Next::Take(id) => self.take_instrument(&id),
            Next::NotesRenamed => super::own_tuning::rewrite(&mut self.editing, self.desk.naming()),
            Next::All(all) => {
                let typed = all.into_iter().map(|next| self.go_on(next)).filter(|update| *update != Update::Shown);
                return typed.last().unwrap_or(Update::Shown);
            }
            opening => {
                let next = self.open(opening);
                return self.go_on(next);
            }
        }
        Update::Shown
    }

    fn sound(&mut self, sound: Sound) {
        let strikes = super::ears::strikes(self, sound);
        self.ears.sound(sound, strikes);
        if sound == Sound::Tune && self.ears.sounding.is_none() {
            self.tune.hearing.playing = None;
        }
    }

    /// After every action: what is heard and sounded, and what is worked out of a tune, follow the screen and the guitar.
    pub(super) fn settle_sound(&mut self) {
        let (clicks, plays_tune) = (super::playing::clicks(self), self.tune.hearing.playing.is_some());
        let screen = self.screen();
        super::tune::settle_plucking(&mut self.tune.entry.plucking, screen, &self.ears);
        let plucked = Some(&self.tune.entry.plucking).filter(|plucking| plucking.is_under_way());
        let around = super::ears::Around { screen, clicks, plays_tune, plucked };
        let next = super::ears::settle(&mut self.ears, &self.desk, around);
        self.go_on(next);
        let is_here = is_tune_screen(self.screen());
        let heard = (self.ears.sounding, self.ears.muted.is_some());
        let next = super::tune::settle_hearing(&mut self.tune, &self.desk.library, is_here, heard);
        self.go_on(next);
        let is_open = self.above.iter().copied().any(is_tune_screen);
        super::tune::settle(&mut self.tune, &self.desk, is_open);
    }

    /// Opens what a screen asked for on another.
    fn open(&mut self, next: Next) -> Next {
        let desk = &mut self.desk;
        match next {
            Next::Retune(tuning, wanted) => super::retune::start(desk, tuning, wanted),
            Next::Describe(number, string) => {
                super::string_entry::open(&mut self.string_entry, &desk.guitar, number, string)
            }
            Next::Song(id) => super::song::open(&mut self.song, &desk.library, id),
            Next::EditSong(song) => super::song_edit::edit(&mut self.editing_song, *song),
            Next::Play(id) => super::playing::open(&mut self.playing, &mut self.song, desk, id),
            Next::SetList(id, is_editing) => {
                super::set_list::open(&mut self.set_list, &self.desk.library, id, is_editing)
            }
            Next::ChooseSong(purpose) => super::songs::ask_for_song(&mut self.songs, purpose),
            Next::ChooseTuning(purpose) => super::song_tuning::open(&mut self.tuning_choice, purpose),
            Next::Out(what) => super::exchange::out(&mut self.exchange, &desk.library, what),
            other => other,
        }
    }
}
