//! What is done about a tune.

use crate::app::desk::Desk;
use crate::app::ears::Sound;
use crate::app::next::Next;
use crate::app::screen::Screen;
use crate::arrange::{ArrangeFault, Fullness, Goal, ThumbStyle};
use crate::instrument::Fret;
use crate::songs::{SongId, SongTune};
use crate::store::Library;
use crate::tune::Quarters;

use super::enter::EnterAction;
use super::hear::{Voices, loop_by, percent_by, play_anew, play_or_stop, tick};
use super::moment::{Decision, pins_of};
use super::open::{OpenTune, TuneTrouble};
use super::pluck::PluckAction;
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
    /// While it is plucked.
    Pluck(PluckAction),
    /// Take the tune away from the song.
    Remove,
}

/// `song` is the one that is open.
pub(in crate::app) fn update(open: &mut OpenTune, song: Option<SongId>, desk: &mut Desk, action: TuneAction) -> Next {
    match action {
        TuneAction::Open => {
            if let Some(id) = song {
                open.open(id);
                return Next::Show(Screen::Tune);
            }
        }
        TuneAction::Select(at) => open.selected = at,
        TuneAction::MoveBy(by) => return move_by(open, by),
        TuneAction::Stop => open.stop(),
        TuneAction::Again => open.ask_again(),
        TuneAction::WorkNow => work_now(open),
        TuneAction::Told(told) => hear(open, told),
        TuneAction::Style(style) => return change(open, &mut desk.library, |tune| tune.style = style),
        TuneAction::Fullness(fullness) => return change(open, &mut desk.library, |tune| tune.fullness = fullness),
        TuneAction::Goal(goal) => return change(open, &mut desk.library, |tune| tune.goal = goal),
        TuneAction::TransposeBy(by) => {
            let now = open.worked.as_ref().map_or(0, |worked| worked.arrangement.transpose.get());
            return change(open, &mut desk.library, |tune| {
                let from = tune.transpose.unwrap_or(now);
                tune.transpose = Some(from.saturating_add(by).clamp(-MOST_MOVED, MOST_MOVED));
                // Places on the neck are those of other notes then.
                tune.undecide_all();
            });
        }
        TuneAction::AnyKey => {
            return change(open, &mut desk.library, |tune| {
                tune.transpose = None;
                tune.undecide_all();
            });
        }
        TuneAction::CapoBy(by) => return capo_by(open, desk, by),
        TuneAction::ThickOnTop => {
            let look = &mut desk.library.settings.stage;
            look.tab_thick_on_top = !look.tab_thick_on_top;
        }
        TuneAction::Play => return play_or_stop(open, &desk.library),
        TuneAction::Tick(now_ms) => return tick(open, now_ms),
        TuneAction::PercentBy(by) => return percent_by(open, &desk.library, by),
        TuneAction::Voices(voices) => {
            open.hearing.voices = voices;
            return play_anew(open, &desk.library);
        }
        TuneAction::Loop => {
            open.hearing.is_loop = !open.hearing.is_loop;
            return play_anew(open, &desk.library);
        }
        TuneAction::LoopFromBy(by) => return loop_by(open, &desk.library, false, by),
        TuneAction::LoopToBy(by) => return loop_by(open, &desk.library, true, by),
        TuneAction::LoopHere => {
            if let Some(bar) = open.selected().map(|(index, slices)| slices[index].bar) {
                open.hearing.bars = (bar, bar);
                open.hearing.is_loop = true;
                return play_anew(open, &desk.library);
            }
        }
        TuneAction::CountIn => open.hearing.counts_in = !open.hearing.counts_in,
        TuneAction::HearMoment => {
            open.hearing.playing = None;
            return Next::Hear(Sound::Moment);
        }
        TuneAction::Decide(decision) => return decide(open, &mut desk.library, decision),
        TuneAction::UndecideAll => return change(open, &mut desk.library, SongTune::undecide_all),
        TuneAction::Undo => return undo(open, &mut desk.library),
        TuneAction::TryTunings => {
            return Next::Show(Screen::TuneTunings).then(super::suits::begin(open, desk));
        }
        TuneAction::StopTrying => open.trial.is_stopped |= open.trial.asking.take().is_some(),
        TuneAction::LookAt(index) => return super::suits::look_at(open, index),
        TuneAction::LookHome => open.other = None,
        TuneAction::TakeTuning => return super::suits::take_tuning(open, desk),
        TuneAction::Retune => return super::suits::retune(open, desk),
        TuneAction::Enter(action) => return super::enter::update(open, desk, action),
        TuneAction::Pluck(action) => return super::pluck::update(open, desk, action),
        TuneAction::Remove => {
            if let Some(mut song) = open.find(&desk.library).cloned() {
                open.remember(song.tune.take());
                desk.library.replace_song(song);
            }
        }
    }
    Next::Shown
}

fn move_by(open: &mut OpenTune, by: i16) -> Next {
    let Some((index, slices)) = open.selected() else { return Next::Shown };
    let to = index.saturating_add_signed(by.into()).min(slices.len() - 1);
    let at = slices[to].at;
    open.selected = at;
    if open.hearing.playing.take().is_some() { Next::Hush } else { Next::Shown }
}

/// Changes the tune; the last change can be taken back.
fn change(open: &mut OpenTune, library: &mut Library, how: impl FnOnce(&mut SongTune)) -> Next {
    let Some(mut song) = open.find(library).cloned() else { return Next::Shown };
    let Some(before) = song.tune.clone() else { return Next::Shown };
    if let Some(tune) = &mut song.tune {
        how(tune);
    }
    if song.tune.as_ref() != Some(&before) {
        open.other = None;
        open.remember(Some(before));
        library.replace_song(song);
    }
    Next::Shown
}

fn decide(open: &mut OpenTune, library: &mut Library, decision: Decision) -> Next {
    // What is looked at in another tuning is not changed.
    if open.other.is_some() {
        return Next::Shown;
    }
    let Some((made, taken)) = pins_of(open, library, decision) else { return Next::Shown };
    let Some(worked) = open.worked.clone() else { return Next::Shown };
    let courses = worked.question.instrument.courses().len();
    // The key it was found in stays: a place is that of a note in it.
    let found = worked.arrangement.transpose.get();
    change(open, library, |tune| {
        for pin in &taken {
            tune.undecide(pin.at, &pin.what, courses);
        }
        for pin in &made {
            tune.transpose.get_or_insert(found);
            tune.decide(pin, courses);
        }
    })
}

fn undo(open: &mut OpenTune, library: &mut Library) -> Next {
    if let Some(before) = open.take_back()
        && let Some(mut song) = open.find(library).cloned()
    {
        song.tune = before;
        library.replace_song(song);
    }
    Next::Shown
}

fn capo_by(open: &mut OpenTune, desk: &mut Desk, by: i16) -> Next {
    let Some(song) = open.find(&desk.library).cloned() else { return Next::Shown };
    let wanted = i16::from(song.capo.get()).saturating_add(by).clamp(0, HIGHEST_CAPO.into());
    let capo = Fret::new(u8::try_from(wanted).unwrap_or(0));
    open.other = None;
    if let Some(tune) = song.tune.clone() {
        open.remember(Some(tune));
    }
    let mut moved = song.clone();
    if let Some(tune) = &mut moved.tune {
        tune.undecide_all();
    }
    desk.library.replace_song(moved);
    crate::app::song::move_capo(desk, song.id, capo);
    Next::Shown
}

fn hear(tune: &mut OpenTune, told: TuneTold) {
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
fn work_now(open: &mut OpenTune) {
    if let Some(Asking { number, question }) = open.asking.clone() {
        let answer = question.answer(&|| false);
        hear(open, TuneTold::Worked(number, Box::new(answer)));
    }
    if let Some(Asking { number, question }) = open.trial.asking.clone() {
        let mut fits = Vec::new();
        let result = question.answer(1, &|| false, &mut |fit| fits.push(fit));
        for fit in fits {
            hear(open, TuneTold::Fit(number, Box::new(fit)));
        }
        hear(open, TuneTold::Tried(number, result));
    }
}
