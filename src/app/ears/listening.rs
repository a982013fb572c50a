//! Whether the phone listens, what it hears, and what it sounds: the part of the state about sound.

use crate::app::desk::Desk;
use crate::app::guitar::Stage;
use crate::app::next::Next;
use crate::app::screen::{Screen, Tab};
use crate::app::tune::{Plucking, is_tune_screen};
use crate::instrument::CourseIndex;
use crate::platform::{DeviceFault, Microphone};
use crate::sound::{Beating, Strike, Verdict};
use crate::theory::{Cents, Pitch};

use super::score::{Score, Sound};
use super::tape::Take;
use super::watch::Watch;
use super::worker::{Ask, Hearing, Ringing, Told};

/// How often a second two notes can be heard to wobble: what a player can count, from one in two seconds to four.
pub const WOBBLES_PER_S: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 3.0, 4.0];
/// Where that begins: once a second.
const FIRST_WOBBLE: usize = 1;
/// What is spoken changes no sooner than this after the last, in seconds, …
const CALM_S: f64 = 1.0;
/// … and if only a number has changed, no sooner than this.
const SAME_WORDS_S: f64 = 3.0;
/// A beat rate that falls or rises by this share has turned slower or faster.
const TURNED_SHARE: f64 = 0.06;

/// Whether the microphone is on, and if not, why.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mic {
    /// The player does not want it.
    #[default]
    Off,
    /// The player wants it; whether the system lets us is not known yet.
    Wanted,
    /// The system is asking the player.
    Asking,
    /// It listens.
    On,
    /// The player said no to the system.
    Refused,
    /// It was closed after two minutes in which no string was heard.
    FellSilent,
    /// It cannot be had.
    Fault(DeviceFault),
}

/// How the beat has changed since it was first counted on this string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Turning {
    /// It stays.
    #[default]
    Same,
    /// It turns slower: nearer.
    Slower,
    /// It turns faster: further off.
    Faster,
    /// It was there and is gone.
    Gone,
}

/// Where a string stood when it was last heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeardString {
    /// How far from where it should be; positive means sharp.
    pub off: Cents,
    /// Within the tolerance for long enough.
    pub is_right: bool,
}

/// What the microphone is open for, so that the worker is asked anew when it changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MicUse {
    /// For the strings of the watch of this number.
    Strings(u64),
    /// For the recording of this number; `true` once the player has ended it.
    Take(u64, bool),
}

/// All about sound that the app knows.
#[derive(Clone, Debug)]
pub struct Ears {
    /// Whether the microphone is on.
    pub mic: Mic,
    /// What is heard now; none before the first word from the worker.
    pub hearing: Option<Hearing>,
    /// What is spoken of it: the same, changed at a calm rate.
    pub spoken: Option<Hearing>,
    /// The beats counted last, a second, and how they have changed.
    pub beats: Option<(f64, Turning)>,
    /// Where each course stood, from the thickest, since listening began.
    pub heard: Vec<Option<HeardString>>,
    /// What the phone is asked to sound.
    pub sounding: Option<Sound>,
    /// Something was sounded since the start: how loud it is is known.
    pub has_sounded: bool,
    /// Why nothing can be sounded.
    pub muted: Option<DeviceFault>,
    /// Which of [`WOBBLES_PER_S`] is heard.
    pub wobble: usize,
    /// What to listen for is asked for again.
    pub wants_lesson: bool,
    watch: Option<(u64, Watch)>,
    watches: u64,
    take: Option<Take>,
    takes: u64,
    score: Option<Score>,
    scores: u64,
    first_beats: Option<f64>,
    /// The string of the step and what it is to come to, when anything was last asked.
    step: Option<(CourseIndex, Option<Pitch>)>,
}

impl Default for Ears {
    fn default() -> Self {
        Self {
            mic: Mic::default(),
            hearing: None,
            spoken: None,
            beats: None,
            heard: Vec::new(),
            sounding: None,
            has_sounded: false,
            muted: None,
            wobble: FIRST_WOBBLE,
            wants_lesson: false,
            watch: None,
            watches: 0,
            take: None,
            takes: 0,
            score: None,
            scores: 0,
            first_beats: None,
            step: None,
        }
    }
}

impl Ears {
    /// Returns what the worker should listen for, under a number that changes with it; `None` closes the microphone.
    #[must_use]
    pub const fn watch(&self) -> Option<&(u64, Watch)> {
        self.watch.as_ref()
    }

    /// Returns what the microphone is open for; `None` where it is closed.
    #[must_use]
    pub fn mic_use(&self) -> Option<MicUse> {
        let take = self.take.as_ref().map(|take| MicUse::Take(take.number, take.is_over));
        take.or_else(|| self.watch.as_ref().map(|(number, _)| MicUse::Strings(*number)))
    }

    /// Returns what the worker is asked for the sake of [`Ears::mic_use`].
    #[must_use]
    pub fn mic_ask(&self) -> Ask {
        match (&self.take, &self.watch) {
            (Some(take), _) if take.is_over => Ask::EndTake,
            (Some(take), _) => Ask::Record(take.clone()),
            (None, Some((number, watch))) => Ask::Listen(*number, watch.clone()),
            (None, None) => Ask::Deafen,
        }
    }

    /// Wants the microphone; nothing is sounded meanwhile.
    pub(in crate::app) fn want_mic(&mut self) {
        self.mic = Mic::Wanted;
        self.muted = None;
        self.hush();
    }

    /// Ends the recording that is under way.
    pub(in crate::app) const fn end_take(&mut self) {
        if let Some(take) = &mut self.take {
            take.is_over = true;
        }
    }

    /// Returns what the worker should sound; `None` for silence.
    #[must_use]
    pub const fn score(&self) -> Option<&Score> {
        self.score.as_ref()
    }

    /// Returns how often a second the two notes of the wobble do so.
    #[must_use]
    pub fn wobbles_per_s(&self) -> f64 {
        WOBBLES_PER_S.get(self.wobble).copied().unwrap_or(WOBBLES_PER_S[FIRST_WOBBLE])
    }

    /// Returns the course to play next while all are checked, where only its turn tells it: one that sounds like another,
    /// which was found right.
    #[must_use]
    pub fn next_alike(&self) -> Option<CourseIndex> {
        let (_, watch) = self.watch.as_ref().filter(|(_, watch)| watch.asked.is_none())?;
        let is_right = |course: &CourseIndex| {
            self.heard.get(course.from_lowest_index()).copied().flatten().is_some_and(|string| string.is_right)
        };
        let courses = watch.courses();
        let is_like_a_right_one =
            |course: &CourseIndex| courses.iter().any(|other| is_right(other) && watch.are_alike(*other, *course));
        courses.iter().copied().find(|course| !is_right(course) && is_like_a_right_one(course))
    }

    fn forget(&mut self) {
        self.hearing = None;
        self.spoken = None;
        self.beats = None;
        self.first_beats = None;
    }
}

/// What is asked of the phone's ears and voice, and what they tell.
#[derive(Clone, Debug, PartialEq)]
pub enum EarsAction {
    /// Listen, or not any more.
    Listen,
    /// The system's word on the microphone.
    Permission(Microphone),
    /// The worker tells.
    Told(Told),
    /// Sound this; what sounded before is damped.
    Hear(Sound),
    /// Sound nothing more.
    Hush,
    /// Let it wobble at another rate, so many up the row.
    WobbleBy(i16),
    /// Show again what to listen for.
    Lesson,
    /// Go on from there to the step.
    LessonDone,
    /// The app is hidden: nothing listens or sounds.
    Hidden,
}

pub(in crate::app) fn update(ears: &mut Ears, desk: &mut Desk, screen: Screen, action: EarsAction) -> Next {
    match action {
        EarsAction::Listen => return switch(ears, screen),
        EarsAction::Permission(answer) => {
            ears.mic = match (ears.mic, answer) {
                (Mic::Wanted | Mic::Asking, Microphone::Granted) => Mic::On,
                (Mic::Wanted | Mic::Asking, Microphone::Asking) => Mic::Asking,
                (Mic::Wanted | Mic::Asking, Microphone::Refused | Microphone::NotAsked) => Mic::Refused,
                (mic, _) => mic,
            };
        }
        EarsAction::Told(told) => return hear(ears, desk, told),
        EarsAction::Hear(sound) => return Next::Hear(sound),
        EarsAction::Hush => ears.hush(),
        EarsAction::WobbleBy(steps) => {
            let wobble = i16::try_from(ears.wobble).unwrap_or(0).saturating_add(steps).max(0);
            ears.wobble = usize::from(wobble.unsigned_abs()).min(WOBBLES_PER_S.len() - 1);
        }
        EarsAction::Lesson => super::lesson::show(ears),
        EarsAction::LessonDone => {
            super::lesson::end(ears, &mut desk.library.settings);
            ears.hush();
        }
        EarsAction::Hidden => {
            if matches!(ears.mic, Mic::On | Mic::Wanted) {
                ears.mic = Mic::Off;
            }
            ears.hush();
        }
    }
    Next::Shown
}

fn switch(ears: &mut Ears, screen: Screen) -> Next {
    if matches!(ears.mic, Mic::On | Mic::Wanted | Mic::Asking) {
        ears.mic = Mic::Off;
        return Next::Shown;
    }
    ears.want_mic();
    // On a wide window the retuning stands beside the list: listening is its business.
    if screen == Screen::Tunings { Next::Tab(Tab::Retune) } else { Next::Shown }
}

impl Ears {
    pub(in crate::app) fn hush(&mut self) {
        self.sounding = None;
        self.score = None;
    }

    /// Sounds these plucks; what sounded before is damped.
    pub(in crate::app) fn sound(&mut self, sound: Sound, strikes: Vec<Strike>) {
        if strikes.is_empty() {
            return self.hush();
        }
        self.muted = None;
        self.has_sounded |= sound != Sound::Right;
        self.scores += 1;
        self.score = Some(Score { number: self.scores, strikes: strikes.into() });
        self.sounding = Some(sound);
    }
}

/// What goes on around the ears and the voice.
#[derive(Clone, Copy, Debug)]
pub(in crate::app) struct Around<'a> {
    /// The screen that is shown.
    pub(in crate::app) screen: Screen,
    /// A click is wanted.
    pub(in crate::app) clicks: bool,
    /// A tune is played.
    pub(in crate::app) plays_tune: bool,
    /// A tune is plucked into the phone.
    pub(in crate::app) plucked: Option<&'a Plucking>,
}

/// After every action: listening follows the screen and the step, and neither ear nor voice outlives its screen.
pub(in crate::app) fn settle(ears: &mut Ears, desk: &Desk, around: Around<'_>) -> Next {
    let Around { screen, clicks, plays_tune, plucked } = around;
    let is_asked = matches!(desk.guitar.stage(), Stage::Strings | Stage::Risk);
    let can_listen = screen == Screen::Retune && !is_asked || plucked.is_some();
    if !can_listen && matches!(ears.mic, Mic::On | Mic::Wanted | Mic::Asking) {
        ears.mic = Mic::Off;
    }
    ears.wants_lesson &= super::lesson::stands(ears, desk, screen);
    let step = desk.guitar.course().map(|course| {
        let to = desk.guitar.target().and_then(|tuning| tuning.pitches().get(course.from_lowest_index()).copied());
        (course, to)
    });
    let is_same_step = std::mem::replace(&mut ears.step, step) == step;
    let belongs = match ears.sounding {
        None => true,
        Some(Sound::Right) => screen == Screen::Retune,
        // What the string before was to come to leads the next one astray.
        Some(Sound::Target | Sound::Reference | Sound::Both | Sound::Wobble) => {
            matches!(screen, Screen::Retune | Screen::Tunings) && desk.guitar.stage() == Stage::Step && is_same_step
        }
        Some(Sound::Slowing | Sound::OctaveOff) => super::lesson::stands(ears, desk, screen),
        Some(Sound::Click) => clicks,
        Some(Sound::Tune) => is_tune_screen(screen) && plays_tune,
        Some(Sound::Moment) => is_tune_screen(screen),
        Some(Sound::Strum | Sound::Arpeggio | Sound::Thumb) => matches!(screen, Screen::Shapes | Screen::Show),
    };
    if !belongs {
        ears.hush();
    }
    ears.settle_mic(desk, plucked);
    if clicks && ears.sounding.is_none() && ears.muted.is_none() { Next::Hear(Sound::Click) } else { Next::Shown }
}

impl Ears {
    /// What the microphone is for: a tune that is plucked, else the strings.
    fn settle_mic(&mut self, desk: &Desk, plucked: Option<&Plucking>) {
        let plucked = plucked.filter(|_| self.mic == Mic::On);
        match plucked {
            None => self.take = None,
            Some(plucking) if self.take.is_none() => {
                self.takes += 1;
                self.take = Some(plucking.count_in_take(self.takes));
            }
            Some(_) => {}
        }
        if self.mic != Mic::On || plucked.is_some() {
            if self.watch.take().is_some() {
                self.forget();
            }
            return;
        }
        let watch = Watch::of(desk);
        if self.watch.as_ref().is_none_or(|(_, old)| *old != watch) {
            self.watches += 1;
            self.heard = vec![None; watch.courses().len()];
            self.watch = Some((self.watches, watch));
            self.forget();
        }
    }
}

fn hear(ears: &mut Ears, desk: &mut Desk, told: Told) -> Next {
    match told {
        Told::Hearing(hearing) => {
            let is_meant = ears.watch.as_ref().is_some_and(|(number, _)| *number == hearing.watch);
            return if is_meant { take_in(ears, desk, hearing) } else { Next::Shown };
        }
        Told::FellSilent if ears.mic == Mic::On => ears.mic = Mic::FellSilent,
        Told::Deaf(fault) if ears.mic == Mic::On => ears.mic = Mic::Fault(fault),
        Told::Mute(fault) => {
            ears.muted = Some(fault);
            ears.hush();
        }
        Told::Taking(number, at_s) if ears.is_taking(number) => return Next::Taking(at_s),
        Told::Plucked(number, plucked) if ears.is_taking(number) => {
            ears.mic = Mic::Off;
            return Next::Plucked(plucked);
        }
        Told::Played(number) if ears.score.as_ref().is_some_and(|score| score.number == number) => ears.hush(),
        Told::FellSilent | Told::Deaf(_) | Told::Played(_) | Told::Taking(..) | Told::Plucked(..) => {}
    }
    Next::Shown
}

/// Takes in what is heard; a string that is right is confirmed and the next one asked for.
fn take_in(ears: &mut Ears, desk: &mut Desk, hearing: Hearing) -> Next {
    speak(ears, &hearing);
    count(ears, hearing.beating);
    let course = |ears: &Ears, index: usize| Some(ears.watch.as_ref()?.1.strings.get(index)?.course);
    if let Ringing::String { index, off, verdict, .. } = hearing.ringing
        && let Some(course) = course(ears, index)
        && let Some(slot) = ears.heard.get_mut(course.from_lowest_index())
    {
        *slot = Some(HeardString { off, is_right: verdict == Verdict::Right });
    }
    ears.hearing = Some(hearing);
    match desk.guitar.stage() {
        // Of a pair both were heard to come there.
        Stage::Step if hearing.is_done => {
            desk.guitar.confirm();
        }
        Stage::Check if ears.all_right() => {
            ears.mic = Mic::Off;
            desk.guitar.finish_check();
        }
        _ => return Next::Shown,
    }
    // The plan still stands as it was: what was set is told.
    Next::Hear(Sound::Right)
}

impl Ears {
    /// Tells whether the recording of this number is under way.
    fn is_taking(&self, number: u64) -> bool {
        self.take.as_ref().is_some_and(|take| take.number == number)
    }

    /// Tells whether every course was last heard right.
    fn all_right(&self) -> bool {
        !self.heard.is_empty() && self.heard.iter().all(|string| string.is_some_and(|string| string.is_right))
    }
}

/// Lets what is spoken follow at a calm rate.
fn speak(ears: &mut Ears, hearing: &Hearing) {
    let words = |ringing: Ringing| match ringing {
        Ringing::Nothing => (0, 0, 0),
        Ringing::TooQuiet => (1, 0, 0),
        Ringing::PhoneSounds => (2, 0, 0),
        Ringing::Stranger { .. } => (3, 0, 0),
        Ringing::String { index, verdict: Verdict::Right, .. } => (4, index, 0),
        Ringing::String { index, verdict: Verdict::RightIfAsked, .. } => (6, index, 0),
        Ringing::String { index, off, .. } => (5, index, if off.get() > 0.0 { 1 } else { -1 }),
    };
    let waits_s = ears
        .spoken
        .map_or(0.0, |spoken| if words(spoken.ringing) == words(hearing.ringing) { SAME_WORDS_S } else { CALM_S });
    let since_s = ears.spoken.map_or(f64::INFINITY, |spoken| hearing.at_s - spoken.at_s);
    if since_s >= waits_s || hearing.is_done {
        ears.spoken = Some(*hearing);
    }
}

/// Compares the beat counted now with the one that was counted first.
fn count(ears: &mut Ears, beating: Beating) {
    match beating {
        Beating::NotYet => {}
        Beating::Fused => ears.beats = ears.first_beats.map(|_| (0.0, Turning::Gone)),
        Beating::Beats { rate_per_s, .. } => {
            let first = *ears.first_beats.get_or_insert(rate_per_s);
            let turning = if rate_per_s < (1.0 - TURNED_SHARE) * first {
                Turning::Slower
            } else if rate_per_s > (1.0 + TURNED_SHARE) * first {
                Turning::Faster
            } else {
                Turning::Same
            };
            ears.beats = Some((rate_per_s, turning));
        }
    }
}
