//! What is done about a tune.

use crate::app::action::Update;
use crate::app::ears::{EarsAction, Sound};
use crate::app::screen::Screen;
use crate::app::state::State;
use crate::arrange::{ArrangeFault, Fullness, Goal, ThumbStyle};
use crate::instrument::Fret;
use crate::songs::SongTune;
use crate::tune::Quarters;

use super::enter::EnterAction;
use super::hear::{Voices, loop_by, percent_by, play_anew, play_or_stop, tick};
use super::moment::{Decision, pins_of};
use super::open::{TuneTrouble, tune_song};
use super::work::{Asking, TuneTold, Worked};

/// How far a tune is moved at most, in semitones.
const MOST_MOVED: i16 = 24;
/// The highest fret for the capo.
const HIGHEST_CAPO: u8 = 7;

/// What the screens of a tune ask for.
#[derive(Clone, Debug, PartialEq)]
pub enum TuneAction {
    /// Open the tune of the open song.
    Open,
    /// Look at the moment that begins here, as played.
    Select(Quarters),
    /// Look at the moment so many further.
    MoveBy(i16),
    /// Stop searching.
    Stop,
    /// Search again.
    Again,
    /// Answer what is asked on this thread: for pictures and tests, and where the system has no other.
    WorkNow,
    /// A thread tells.
    Told(TuneTold),
    /// The thumb plays so.
    Style(ThumbStyle),
    /// So much sounds besides.
    Fullness(Fullness),
    /// This arrangement is the better.
    Goal(Goal),
    /// Move the tune by so many semitones more.
    TransposeBy(i16),
    /// Choose the key that lies best.
    AnyKey,
    /// Move the capo by so many frets; what sounds stays.
    CapoBy(i16),
    /// Draw the thick strings on top, or the thin ones.
    ThickOnTop,
    /// Play, or stop.
    Play,
    /// It is this late, in milliseconds.
    Tick(f64),
    /// So much faster, in hundredths of the tune's tempo.
    PercentBy(i16),
    /// Hear the voices so.
    Voices(Voices),
    /// Begin anew at the end of the loop, or not.
    Loop,
    /// Move the loop's first bar.
    LoopFromBy(i16),
    /// Move its last bar.
    LoopToBy(i16),
    /// Loop the bar that is looked at.
    LoopHere,
    /// Count a bar in, or not.
    CountIn,
    /// Sound the moment that is looked at.
    HearMoment,
    /// Decide something about the moment that is looked at.
    Decide(Decision),
    /// Take all decisions back.
    UndecideAll,
    /// Take the last change back.
    Undo,
    /// Try it in every tuning.
    TryTunings,
    /// Stop that.
    StopTrying,
    /// Look at it in one of those.
    LookAt(usize),
    /// Look at it in the song's own tuning again.
    LookHome,
    /// Take the tuning for the song.
    TakeTuning,
    /// Take it, and retune.
    Retune,
    /// While it is entered.
    Enter(EnterAction),
    /// Take the tune away from the song.
    Remove,
}

pub(in crate::app) fn update(state: &mut State, action: TuneAction) -> Update {
    match action {
        TuneAction::Open => {
            if let Some(id) = state.song.id {
                state.tune.open(id);
                return state.show(Screen::Tune);
            }
        }
        TuneAction::Select(at) => state.tune.selected = at,
        TuneAction::MoveBy(by) => move_by(state, by),
        TuneAction::Stop => state.tune.stop(),
        TuneAction::Again => state.tune.ask_again(),
        TuneAction::WorkNow => work_now(state),
        TuneAction::Told(told) => hear(state, told),
        TuneAction::Style(style) => return change(state, |tune| tune.style = style),
        TuneAction::Fullness(fullness) => return change(state, |tune| tune.fullness = fullness),
        TuneAction::Goal(goal) => return change(state, |tune| tune.goal = goal),
        TuneAction::TransposeBy(by) => {
            let now = state.tune.worked.as_ref().map_or(0, |worked| worked.arrangement.transpose.get());
            return change(state, |tune| {
                let from = tune.transpose.unwrap_or(now);
                tune.transpose = Some(from.saturating_add(by).clamp(-MOST_MOVED, MOST_MOVED));
                // Places on the neck are those of other notes then.
                tune.undecide_all();
            });
        }
        TuneAction::AnyKey => {
            return change(state, |tune| {
                tune.transpose = None;
                tune.undecide_all();
            });
        }
        TuneAction::CapoBy(by) => return capo_by(state, by),
        TuneAction::ThickOnTop => {
            let look = &mut state.library.settings.stage;
            look.tab_thick_on_top = !look.tab_thick_on_top;
        }
        TuneAction::Play => return play_or_stop(state),
        TuneAction::Tick(now_ms) => return tick(state, now_ms),
        TuneAction::PercentBy(by) => return percent_by(state, by),
        TuneAction::Voices(voices) => {
            state.tune.hearing.voices = voices;
            return play_anew(state);
        }
        TuneAction::Loop => {
            state.tune.hearing.is_loop = !state.tune.hearing.is_loop;
            return play_anew(state);
        }
        TuneAction::LoopFromBy(by) => return loop_by(state, false, by),
        TuneAction::LoopToBy(by) => return loop_by(state, true, by),
        TuneAction::LoopHere => {
            if let Some(bar) = state.tune.selected().map(|(index, slices)| slices[index].bar) {
                state.tune.hearing.bars = (bar, bar);
                state.tune.hearing.is_loop = true;
                return play_anew(state);
            }
        }
        TuneAction::CountIn => state.tune.hearing.counts_in = !state.tune.hearing.counts_in,
        TuneAction::HearMoment => {
            state.tune.hearing.playing = None;
            return crate::app::ears::update(state, EarsAction::Hear(Sound::Moment));
        }
        TuneAction::Decide(decision) => return decide(state, decision),
        TuneAction::UndecideAll => return change(state, SongTune::undecide_all),
        TuneAction::Undo => return undo(state),
        TuneAction::TryTunings => {
            state.show(Screen::TuneTunings);
            return super::suits::begin(state);
        }
        TuneAction::StopTrying => state.tune.trial.is_stopped |= state.tune.trial.asking.take().is_some(),
        TuneAction::LookAt(index) => return super::suits::look_at(state, index),
        TuneAction::LookHome => state.tune.looking = None,
        TuneAction::TakeTuning => return super::suits::take_tuning(state),
        TuneAction::Retune => return super::suits::retune(state),
        TuneAction::Enter(action) => return super::enter::update(state, action),
        TuneAction::Remove => {
            if let Some(mut song) = tune_song(state).cloned() {
                state.tune.remember(song.tune.take());
                state.library.replace_song(song);
            }
        }
    }
    Update::Shown
}

fn move_by(state: &mut State, by: i16) {
    let Some((index, slices)) = state.tune.selected() else { return };
    let to = index.saturating_add_signed(by.into()).min(slices.len() - 1);
    let at = slices[to].at;
    state.tune.selected = at;
    if state.tune.hearing.playing.take().is_some() {
        crate::app::ears::update(state, EarsAction::Hush);
    }
}

/// Changes the tune; the last change can be taken back.
fn change(state: &mut State, how: impl FnOnce(&mut SongTune)) -> Update {
    let Some(mut song) = tune_song(state).cloned() else { return Update::Shown };
    let Some(before) = song.tune.clone() else { return Update::Shown };
    if let Some(tune) = &mut song.tune {
        how(tune);
    }
    if song.tune.as_ref() != Some(&before) {
        state.tune.looking = None;
        state.tune.remember(Some(before));
        state.library.replace_song(song);
    }
    Update::Shown
}

fn decide(state: &mut State, decision: Decision) -> Update {
    // What is looked at in another tuning is not changed.
    if state.tune.looking.is_some() {
        return Update::Shown;
    }
    let Some((made, taken)) = pins_of(state, decision) else { return Update::Shown };
    let Some(worked) = state.tune.worked.clone() else { return Update::Shown };
    let courses = worked.question.instrument.courses().len();
    // The key it was found in stays: a place is that of a note in it.
    let found = worked.arrangement.transpose.get();
    change(state, |tune| {
        for pin in &taken {
            tune.undecide(pin.at, &pin.what, courses);
        }
        for pin in &made {
            tune.transpose.get_or_insert(found);
            tune.decide(pin, courses);
        }
    })
}

fn undo(state: &mut State) -> Update {
    if let Some(before) = state.tune.take_back()
        && let Some(mut song) = tune_song(state).cloned()
    {
        song.tune = before;
        state.library.replace_song(song);
    }
    Update::Shown
}

fn capo_by(state: &mut State, by: i16) -> Update {
    let Some(song) = tune_song(state).cloned() else { return Update::Shown };
    let wanted = i16::from(song.capo.get()).saturating_add(by).clamp(0, HIGHEST_CAPO.into());
    let capo = Fret::new(u8::try_from(wanted).unwrap_or(0));
    state.tune.looking = None;
    if let Some(tune) = song.tune.clone() {
        state.tune.remember(Some(tune));
    }
    let mut moved = song.clone();
    if let Some(tune) = &mut moved.tune {
        tune.undecide_all();
    }
    state.library.replace_song(moved);
    crate::app::song::move_capo(state, song.id, capo);
    Update::Shown
}

fn hear(state: &mut State, told: TuneTold) {
    let tune = &mut state.tune;
    match told {
        TuneTold::Worked(number, answer) => {
            let Some(asking) = tune.asking.take_if(|asking| asking.number == number) else { return };
            match *answer {
                Ok(arrangement) => {
                    let worked = Worked { question: asking.question, arrangement, number };
                    (tune.worked, tune.trouble) = (Some(std::sync::Arc::new(worked)), None);
                }
                Err(ArrangeFault::Stopped) => tune.is_stopped = true,
                Err(fault) => (tune.worked, tune.trouble) = (None, Some(TuneTrouble::Arrange(fault))),
            }
        }
        TuneTold::Fit(number, fit) => {
            if tune.trial.asking.as_ref().is_some_and(|asking| asking.number == number) {
                tune.trial.take(*fit);
            }
        }
        TuneTold::Tried(number, result) => {
            if tune.trial.asking.take_if(|asking| asking.number == number).is_some() {
                tune.trial.fault = result.err().filter(|fault| *fault != ArrangeFault::Stopped);
            }
        }
    }
}

/// Answers both questions here.
fn work_now(state: &mut State) {
    if let Some(Asking { number, question }) = state.tune.asking.clone() {
        let answer = question.answer(&|| false);
        hear(state, TuneTold::Worked(number, Box::new(answer)));
    }
    if let Some(Asking { number, question }) = state.tune.trial.asking.clone() {
        let mut fits = Vec::new();
        let result = question.answer(1, &|| false, &mut |fit| fits.push(fit));
        for fit in fits {
            hear(state, TuneTold::Fit(number, Box::new(fit)));
        }
        hear(state, TuneTold::Tried(number, result));
    }
}
