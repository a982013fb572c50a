//! What a player does, and what has to happen then.

use super::ears::EarsAction;
use super::exchange::ExchangeAction;
use super::explained::ExplainAction;
use super::files::FilesAction;
use super::guide::GuideAction;
use super::hand_out::HandOutAction;
use super::instrument::InstrumentAction;
use super::kept::KeptAction;
use super::key_plan::KeyPlanAction;
use super::look::LookAction;
use super::neck::NeckAction;
use super::own_tuning::OwnTuningAction;
use super::pick::PickAction;
use super::playing::PlayingAction;
use super::retune::RetuneAction;
use super::screen::{Screen, Tab};
use super::set_list::SetListAction;
use super::settings::SettingsAction;
use super::shapes::ShapesAction;
use super::song::SongAction;
use super::song_edit::SongEditAction;
use super::song_tuning::SongTuningAction;
use super::songs::SongsAction;
use super::stage::StageAction;
use super::string_entry::StringEntryAction;
use super::tune::TuneAction;
use super::tunings::TuningsAction;

/// What has to happen after an action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Update {
    /// The screen is drawn again.
    Shown,
    /// Besides, the library has changed and is saved.
    Kept,
    /// Besides, something was typed into the library: it is saved when typing rests.
    Typed,
    /// Nothing was left to go back to: the app may close.
    Leave,
}

/// What a player does.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Open a tab of the bar.
    Tab(Tab),
    /// Open a screen on top of the one that is shown.
    Open(Screen),
    /// Go up one screen: from a screen above another to that one, from a tab to the first, from there out.
    Back,
    /// The phone's own Back: puts the notice away if there is one, else goes up one screen.
    BackKey,
    /// Put the notice away.
    CloseNotice,
    /// On the Tunings screen.
    Tunings(TuningsAction),
    /// On the Retune screen.
    Retune(RetuneAction),
    /// On the Shapes, filter and show screens.
    Shapes(ShapesAction),
    /// In the key and chord pickers.
    Pick(PickAction),
    /// In the plan of shapes for a key.
    KeyPlan(KeyPlanAction),
    /// In the neck view.
    Neck(NeckAction),
    /// In the editor of own tunings.
    OwnTuning(OwnTuningAction),
    /// On the Instrument screen.
    Instrument(InstrumentAction),
    /// Where a string is described.
    StringEntry(StringEntryAction),
    /// With a tuning that is looked at.
    Look(LookAction),
    /// On the Settings screen.
    Settings(SettingsAction),
    /// Sound: the microphone, the loudspeaker, and what they tell.
    Ears(EarsAction),
    /// On the Songs tab, and where a song is chosen.
    Songs(SongsAction),
    /// In an open song.
    Song(SongAction),
    /// About the tune of a song.
    Tune(TuneAction),
    /// In the song editor.
    SongEdit(SongEditAction),
    /// Where a tuning for a song is chosen.
    SongTuning(SongTuningAction),
    /// While a song is played.
    Playing(PlayingAction),
    /// In an open set list.
    SetList(SetListAction),
    /// With a set list under way.
    Stage(StageAction),
    /// Out and in.
    Exchange(ExchangeAction),
    /// About a file's path in words.
    Files(FilesAction),
    /// Where a page is handed out.
    HandOut(HandOutAction),
    /// Among what is kept beside the library.
    Kept(KeptAction),
    /// Take the last thing back.
    Undo,
    /// In the guide through the first run.
    Guide(GuideAction),
    /// About a word that is explained where it stands.
    Explain(ExplainAction),
}
