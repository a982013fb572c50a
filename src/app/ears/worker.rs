//! The work behind listening and sounding, step by step: a thread takes the steps in the app, a test by itself.

use std::sync::Arc;
use std::time::Duration;

use crate::platform::{DeviceFault, Intake, Outlet, SoundDevice};
use crate::sound::{
    BeatMeter, Beating, Goal, Heard, Listening, Player, Reading, SampleRate, Seen, Steady, Strike, Tracker, Verdict,
    nearest_string,
};
use crate::theory::{Cents, Hertz};

use super::tape::{Plucked, Take, Tape};
use super::watch::{ALIKE_CENTS, Watch, WatchedReference};

/// What is heard is told no oftener than this, in seconds: 20 times a second.
const TELL_EVERY_S: f64 = 0.05;
/// Beats are counted no oftener than this, in seconds.
const COUNT_EVERY_S: f64 = 0.25;
/// When no string was heard for this long, the microphone is closed, in seconds.
const SILENCE_S: f64 = 120.0;
/// For how long after the phone has sounded its own sound still hangs in the room, in seconds.
const ECHO_S: f64 = 0.2;
/// For how long a loudspeaker is kept open once all is handed over, in seconds: its own buffer is still to be heard.
const LINGER_S: f64 = 0.25;
/// A device that was lost sooner than this after it was opened is not opened again, in seconds.
const LEAST_LIFE_S: f64 = 0.2;
/// How far from its place a string is still taken for it when all are checked, in cents.
const FAR_CENTS: f64 = 150.0;

/// What the worker is asked to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// Listen for this, opening the microphone if it is closed.
    Listen(u64, Watch),
    /// Sound a count-in and record what is plucked after it.
    Record(Take),
    /// End the recording and tell what was plucked.
    EndTake,
    /// Close the microphone; what was recorded is forgotten.
    Deafen,
    /// Sound this instead of what sounds.
    Play(u64, Arc<[Strike]>),
    /// Damp what sounds.
    Hush,
}

/// What the worker tells.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// What is heard now.
    Hearing(Hearing),
    /// No string was heard for two minutes: the microphone is closed.
    FellSilent,
    /// The microphone is closed or cannot be opened.
    Deaf(DeviceFault),
    /// The loudspeaker is closed or cannot be opened.
    Mute(DeviceFault),
    /// The score of this number has sounded to its end.
    Played(u64),
    /// The recording of this number is so many seconds long.
    Taking(u64, f64),
    /// The recording of this number has ended, and this was plucked.
    Plucked(u64, Plucked),
}

/// What sounds in the room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ringing {
    /// Nothing, or nothing that is a string.
    Nothing,
    /// Something too quiet to read.
    TooQuiet,
    /// The phone itself: it does not listen meanwhile.
    PhoneSounds,
    /// One of the strings listened for.
    String {
        /// Which of [`Watch::strings`].
        index: usize,
        /// How far from where it should be; positive means sharp.
        off: Cents,
        /// The note is gone; this was its last reading.
        is_held: bool,
        /// It has stayed within the tolerance for long enough, and whether it is known to be this string.
        verdict: Verdict,
    },
    /// A note that none of the strings should sound.
    Stranger {
        /// Where it sounds.
        frequency: Hertz,
    },
}

/// What is heard at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hearing {
    /// The number of the watch it is about.
    pub watch: u64,
    /// When, in seconds since the worker began.
    pub at_s: f64,
    /// What sounds.
    pub ringing: Ringing,
    /// The string being set was found right, of a pair both; from then on it stays said for this watch.
    pub is_done: bool,
    /// How many strings of the course being set were found right, each in its turn.
    pub strings_right: u8,
    /// How the string being set and its reference beat.
    pub beating: Beating,
}

/// An open microphone and what is made of its sound.
#[derive(Debug)]
struct Ear {
    intake: Box<dyn Intake>,
    rate: SampleRate,
    tracker: Tracker,
    number: u64,
    watch: Watch,
    /// One for the string asked for, or one for each string.
    steady: Vec<Steady>,
    /// Where the last note was read, whichever it was.
    last_hz: Option<Hertz>,
    /// What rang when the watch began: the number of the note and where it stood.
    rang: Option<(u32, Hertz)>,
    /// Where all are checked: the string heard last.
    current: Option<usize>,
    /// Where all are checked: the note that a string was found right by, and that string.
    settled: Option<(u32, usize)>,
    /// Where all are checked: which strings were found right, ever.
    found_right: Vec<bool>,
    meter: Option<BeatMeter>,
    beating: Beating,
    ringing: Ringing,
    is_done: bool,
    /// How many strings of the asked course were found right; the next one is looked for.
    strings_right: u8,
    lived_s: f64,
    since_string_s: f64,
    since_told_s: f64,
    since_counted_s: f64,
    /// For how long the phone's own sound is still to be let pass.
    deaf_s: f64,
}

impl Ear {
    fn new(intake: Box<dyn Intake>, number: u64, watch: Watch) -> Result<Self, DeviceFault> {
        let rate = SampleRate::new(intake.rate_hz()).ok_or(DeviceFault::NotSupported)?;
        let mut ear = Self {
            intake,
            rate,
            tracker: Tracker::new(rate, Listening::default()),
            number,
            watch: Watch {
                strings: Vec::new(),
                asked: None,
                references: Vec::new(),
                tolerance: Cents::ZERO,
                shared: None,
            },
            steady: Vec::new(),
            last_hz: None,
            rang: None,
            current: None,
            settled: None,
            found_right: Vec::new(),
            meter: None,
            beating: Beating::NotYet,
            ringing: Ringing::Nothing,
            is_done: false,
            strings_right: 0,
            lived_s: 0.0,
            since_string_s: 0.0,
            since_told_s: f64::INFINITY,
            since_counted_s: 0.0,
            deaf_s: 0.0,
        };
        ear.look_for(number, watch);
        Ok(ear)
    }

    fn look_for(&mut self, number: u64, watch: Watch) {
        let asked = watch.asked.filter(|asked| *asked < watch.strings.len());
        let wanted: Vec<usize> = asked.map_or_else(|| (0..watch.strings.len()).collect(), |asked| vec![asked]);
        self.steady = wanted.into_iter().map(|index| Steady::new(goal(&watch, index))).collect();
        self.rang = self.last_hz.map(|hertz| (self.tracker.note(), hertz));
        self.begin_looking();
        self.settled = None;
        self.found_right = vec![false; watch.strings.len()];
        self.meter = watch.shared.map(|shared| BeatMeter::new(self.rate, shared));
        self.current = None;
        self.beating = Beating::NotYet;
        self.ringing = Ringing::Nothing;
        self.is_done = false;
        self.strings_right = 0;
        self.number = number;
        self.watch = watch;
    }

    /// Listens to what has come in.
    fn hear(&mut self, samples: &[f32], phone_sounds: bool, passed_s: f64) {
        if let Some(meter) = &mut self.meter {
            meter.push(samples);
        }
        let was_deaf = self.deaf_s > 0.0;
        self.deaf_s = if phone_sounds { ECHO_S } else { (self.deaf_s - passed_s).max(0.0) };
        let mut readings = Vec::new();
        self.tracker.push(samples, &mut readings);
        if self.deaf_s > 0.0 {
            self.ringing = Ringing::PhoneSounds;
            self.since_string_s = 0.0;
            return;
        }
        if was_deaf {
            // What the phone sounded is forgotten, and its plucks are nobody's: what rang before may ring on.
            self.tracker.forget();
            self.ringing = Ringing::Nothing;
            self.rang = self.last_hz.map(|hertz| (self.tracker.note(), hertz));
            self.begin_looking();
            return;
        }
        self.since_string_s += passed_s;
        for reading in &readings {
            if let Some(heard) = reading.heard {
                self.since_string_s = 0.0;
                self.last_hz = Some(heard.frequency);
            }
            self.ringing = if self.watch.asked.is_some() { self.see_asked(reading) } else { self.see_any(reading) };
            if let (Ringing::String { index, verdict: Verdict::Right, .. }, Some(asked)) =
                (self.ringing, self.watch.asked)
                && index == asked
                && !self.is_done
            {
                self.go_on_from(asked, reading.note);
            }
        }
    }

    /// A string of the asked course is right, by the note of this number: the next one of a pair is looked for, or all is done.
    fn go_on_from(&mut self, asked: usize, note: u32) {
        self.strings_right += 1;
        let next = asked + usize::from(self.strings_right);
        let is_of_course = |index: usize| {
            let course = |index: usize| self.watch.strings.get(index).map(|string| string.course);
            course(index).is_some() && course(index) == course(asked)
        };
        if !is_of_course(next) {
            self.is_done = true;
            return;
        }
        self.rang = self.last_hz.map(|hertz| (note, hertz));
        self.steady = vec![Steady::new(goal_beside(&self.watch, next, asked..next))];
        self.begin_looking();
    }

    /// Looks at every string as if nothing had been heard of it.
    fn begin_looking(&mut self) {
        for steady in &mut self.steady {
            let new = Steady::new(steady.goal().clone());
            *steady = match self.rang {
                Some((note, at)) => new.while_rings(note, at),
                None => new,
            };
        }
    }

    /// While one string is asked for.
    fn see_asked(&mut self, reading: &Reading) -> Ringing {
        let (Some(asked), Some(steady)) = (self.watch.asked, self.steady.first_mut()) else { return Ringing::Nothing };
        match steady.see(reading) {
            Seen::Listening => Ringing::Nothing,
            Seen::TooQuiet => Ringing::TooQuiet,
            Seen::Sounding { off, is_held, verdict } => Ringing::String { index: asked, off, is_held, verdict },
            Seen::AnotherString { frequency, which } => {
                let Some((index, hertz)) = which.and_then(|which| beside(&self.watch, asked).nth(which)) else {
                    return Ringing::Stranger { frequency };
                };
                let off = Cents::between(hertz, frequency);
                Ringing::String { index, off, is_held: reading.heard.is_none(), verdict: Verdict::NotYet }
            }
        }
    }

    /// While all strings are checked.
    fn see_any(&mut self, reading: &Reading) -> Ringing {
        let index = match reading.heard {
            Some(heard) => match self.which(&heard, reading.note) {
                Some(index) => index,
                None => return Ringing::Stranger { frequency: heard.frequency },
            },
            None => self.current.unwrap_or(0),
        };
        let Some(steady) = self.steady.get_mut(index) else { return Ringing::Nothing };
        match steady.see(reading) {
            Seen::Listening => {
                self.current = None;
                Ringing::Nothing
            }
            Seen::TooQuiet => Ringing::TooQuiet,
            Seen::AnotherString { frequency, .. } => Ringing::Stranger { frequency },
            Seen::Sounding { off, is_held, verdict } => {
                self.current = Some(index);
                if verdict == Verdict::Right && !is_held {
                    self.settled = Some((reading.note, index));
                    self.found_right[index] = true;
                }
                Ringing::String { index, off, is_held, verdict }
            }
        }
    }

    /// Returns which string it is: the nearest within one and a half semitones. Strings that should sound alike are asked
    /// for one after the other: a note is the first of them that was not found right yet, and what a string was found right
    /// by stays that string's.
    fn which(&self, heard: &Heard, note: u32) -> Option<usize> {
        let strings: Vec<Hertz> = self.watch.strings.iter().map(|string| string.hertz).collect();
        let far = || {
            let off = |string: &Hertz| heard.off_target(*string).abs().get();
            let nearest = strings.iter().enumerate().min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
            (off(nearest.1) <= FAR_CENTS).then_some(nearest.0)
        };
        let nearest = nearest_string(&strings, heard.frequency).or_else(far)?;
        let is_alike = |index: usize| Cents::between(strings[nearest], strings[index]).abs().get() < ALIKE_CENTS;
        // Of a pair in unison the first stands for both.
        let is_second = |index: usize| {
            let before = index.checked_sub(1).filter(|before| is_alike(*before));
            before.is_some_and(|before| self.watch.strings[before].course == self.watch.strings[index].course)
        };
        let alike = || (0..strings.len()).filter(|index| is_alike(*index) && !is_second(*index));
        let settled = self.settled.filter(|(by, index)| *by == note && is_alike(*index)).map(|(_, index)| index);
        let next = || alike().find(|index| !self.found_right[*index]);
        let last = || self.current.filter(|index| is_alike(*index));
        Some(settled.or_else(next).or_else(last).unwrap_or(nearest))
    }

    fn tell(&mut self, at_s: f64, passed_s: f64, told: &mut Vec<Told>) {
        self.since_counted_s += passed_s;
        if self.since_counted_s >= COUNT_EVERY_S {
            self.since_counted_s = 0.0;
            self.beating = self.meter.as_ref().map_or(Beating::NotYet, BeatMeter::beating);
        }
        self.since_told_s += passed_s;
        if self.since_told_s + 1e-9 >= TELL_EVERY_S {
            self.since_told_s = 0.0;
            let Self { ringing, is_done, strings_right, beating, .. } = *self;
            let watch = self.number;
            told.push(Told::Hearing(Hearing { watch, at_s, ringing, is_done, strings_right, beating }));
        }
    }
}

/// What is asked of one string of the watch.
fn goal(watch: &Watch, index: usize) -> Goal {
    let string = watch.strings[index];
    let usual = Goal { from: string.from, tolerance: watch.tolerance, ..Goal::new(string.hertz) };
    if watch.asked.is_none() {
        return usual;
    }
    let others = beside(watch, index).map(|(_, hertz)| hertz).collect();
    let is_possible = |reference: &&WatchedReference| !reference.is_shown;
    let possible = watch.references.iter().filter(is_possible).map(|reference| reference.hertz).collect();
    Goal { others, possible, ..usual }
}

/// The same for a string of a pair whose other strings were found right: these sound beside it, and what touching them at the
/// twelfth fret sounds may be heard.
fn goal_beside(watch: &Watch, index: usize, right: std::ops::Range<usize>) -> Goal {
    let mut goal = goal(watch, index);
    for string in watch.strings.get(right).unwrap_or_default() {
        goal.others.push(string.hertz);
        goal.possible.push(string.hertz.partial(2));
    }
    goal
}

/// What sounds beside one string: the strings of the other courses, then what it is compared with by the way shown; which
/// string each is and where it sounds.
fn beside(watch: &Watch, index: usize) -> impl Iterator<Item = (usize, Hertz)> + '_ {
    let course = watch.strings.get(index).map(|string| string.course);
    let strings = watch.strings.iter().enumerate().filter(move |(_, string)| Some(string.course) != course);
    let shown = watch.references.iter().filter(|reference| reference.is_shown);
    strings
        .map(|(index, string)| (index, string.hertz))
        .chain(shown.map(|reference| (reference.string, reference.hertz)))
}

/// An open loudspeaker and what is sounded on it.
#[derive(Debug)]
struct Voice {
    outlet: Box<dyn Outlet>,
    rate: SampleRate,
    player: Player,
    number: u64,
    /// What is still to come, the next last: when, in samples, and what.
    ahead: Vec<(usize, Cue)>,
    done: usize,
    lived_s: f64,
    /// For how long there has been nothing left to sound.
    drained_s: f64,
}

/// Something to do at a sample.
#[derive(Clone, Copy, Debug)]
enum Cue {
    Damp(u8),
    Pluck(Strike),
}

impl Voice {
    fn new(outlet: Box<dyn Outlet>, number: u64, strikes: &[Strike]) -> Result<Self, DeviceFault> {
        let rate = SampleRate::new(outlet.rate_hz()).ok_or(DeviceFault::NotSupported)?;
        let player = Player::new(rate);
        let mut voice = Self { outlet, rate, player, number, ahead: Vec::new(), done: 0, lived_s: 0.0, drained_s: 0.0 };
        voice.sound(number, strikes);
        Ok(voice)
    }

    /// Damps what rings and begins anew.
    fn sound(&mut self, number: u64, strikes: &[Strike]) {
        self.player.damp_all();
        self.number = number;
        self.done = 0;
        let mut ahead: Vec<(usize, Cue)> = Vec::new();
        for strike in strikes {
            ahead.push((self.rate.samples_in(strike.at_s), Cue::Pluck(*strike)));
            ahead.extend(strike.stop_at_s.map(|stop| (self.rate.samples_in(stop), Cue::Damp(strike.course))));
        }
        // At one moment strings are damped before others are plucked. The next cue stands last.
        ahead.sort_by_key(|(at, cue)| (std::cmp::Reverse(*at), matches!(cue, Cue::Damp(_))));
        self.ahead = ahead;
    }

    fn hush(&mut self) {
        self.ahead.clear();
        self.player.damp_all();
    }

    /// Renders what the device wants now; nothing once all has sounded, so that it can run dry.
    fn render(&mut self, passed_s: f64) -> Result<(), DeviceFault> {
        self.lived_s += passed_s;
        if self.has_rendered_all() {
            let is_drained = self.outlet.is_drained();
            self.drained_s = if is_drained { self.drained_s + passed_s } else { 0.0 };
            return self.outlet.put(&[]);
        }
        self.drained_s = 0.0;
        let wanted = self.outlet.wanted().min(self.rate.samples_in(0.5));
        let mut out = vec![0.0; wanted];
        let mut filled = 0;
        while filled < wanted {
            while let Some((_, cue)) = self.ahead.pop_if(|(at, _)| *at <= self.done) {
                match cue {
                    Cue::Damp(course) => self.player.damp(course),
                    Cue::Pluck(strike) => {
                        self.player.pluck(&strike);
                    }
                }
            }
            let until_cue = self.ahead.last().map_or(usize::MAX, |(at, _)| at - self.done);
            let length = until_cue.min(wanted - filled);
            self.player.render(&mut out[filled..filled + length]);
            filled += length;
            self.done += length;
        }
        self.outlet.put(&out)
    }

    fn has_rendered_all(&self) -> bool {
        self.ahead.is_empty() && self.player.is_silent()
    }

    fn is_over(&self) -> bool {
        self.has_rendered_all() && self.drained_s >= LINGER_S
    }
}

/// The number of a count-in. No score has it: nobody waits for its end.
const COUNT_IN: u64 = 0;

/// Listens and sounds with one device. It does nothing by itself: [`Worker::step`] is called while it is not idle.
#[derive(Debug)]
pub struct Worker {
    device: Box<dyn SoundDevice>,
    ear: Option<Ear>,
    tape: Option<Tape>,
    voice: Option<Voice>,
    samples: Vec<f32>,
    at_s: f64,
}

impl Worker {
    /// Makes a worker; nothing is opened yet.
    #[must_use]
    pub fn new(device: Box<dyn SoundDevice>) -> Self {
        Self { device, ear: None, tape: None, voice: None, samples: Vec::new(), at_s: 0.0 }
    }

    /// Tells whether there is nothing to do until something is asked.
    #[must_use]
    pub const fn is_idle(&self) -> bool {
        self.ear.is_none() && self.tape.is_none() && self.voice.is_none()
    }

    /// Does what is asked.
    pub fn ask(&mut self, ask: Ask, told: &mut Vec<Told>) {
        match ask {
            Ask::Deafen => {
                self.ear = None;
                self.stop_tape();
            }
            Ask::Record(take) => self.record(take, told),
            Ask::EndTake => told.extend(self.stop_tape().map(Tape::end)),
            Ask::Hush => {
                if let Some(voice) = &mut self.voice {
                    voice.hush();
                }
            }
            Ask::Listen(number, watch) => match &mut self.ear {
                Some(ear) => ear.look_for(number, watch),
                None => {
                    self.stop_tape();
                    match self.device.open_intake().and_then(|intake| Ear::new(intake, number, watch)) {
                        Ok(ear) => self.ear = Some(ear),
                        Err(fault) => told.push(Told::Deaf(fault)),
                    }
                }
            },
            Ask::Play(number, strikes) => match &mut self.voice {
                Some(voice) => voice.sound(number, &strikes),
                None => match self.device.open_outlet().and_then(|outlet| Voice::new(outlet, number, &strikes)) {
                    Ok(voice) => self.voice = Some(voice),
                    Err(fault) => told.push(Told::Mute(fault)),
                },
            },
        }
    }

    /// Goes on with both after so much time.
    pub fn step(&mut self, passed: Duration, told: &mut Vec<Told>) {
        let passed_s = passed.as_secs_f64();
        self.at_s += passed_s;
        let phone_sounds = self.voice.is_some();
        if let Some(voice) = &mut self.voice {
            let rendered = voice.render(passed_s);
            if voice.is_over() && rendered.is_ok() {
                told.push(Told::Played(voice.number));
                self.voice = None;
            } else if let Err(fault) = rendered {
                self.restore_voice(fault, told);
            }
        }
        if let Some(tape) = &mut self.tape {
            match tape.step(passed_s, told) {
                Ok(false) => {}
                Ok(true) => told.extend(self.tape.take().map(Tape::end)),
                Err(fault) => {
                    self.stop_tape();
                    told.push(Told::Deaf(fault));
                }
            }
        }
        let Some(ear) = &mut self.ear else { return };
        self.samples.clear();
        if let Err(fault) = ear.intake.take(&mut self.samples) {
            let (number, watch, lived_s) = (ear.number, ear.watch.clone(), ear.lived_s);
            self.ear = None;
            let opened = self.again(fault, lived_s, |device| Ear::new(device.open_intake()?, number, watch));
            match opened {
                Ok(ear) => self.ear = Some(ear),
                Err(fault) => told.push(Told::Deaf(fault)),
            }
            return;
        }
        ear.lived_s += passed_s;
        ear.hear(&self.samples, phone_sounds, passed_s);
        ear.tell(self.at_s, passed_s, told);
        if ear.since_string_s >= SILENCE_S {
            self.ear = None;
            told.push(Told::FellSilent);
        }
    }
}

impl Worker {
    /// Takes the recording away, and what is left of its count-in.
    fn stop_tape(&mut self) -> Option<Tape> {
        let tape = self.tape.take()?;
        if let Some(voice) = &mut self.voice {
            voice.hush();
        }
        Some(tape)
    }

    /// Begins a count-in and a recording at the same moment.
    fn record(&mut self, take: Take, told: &mut Vec<Told>) {
        (self.ear, self.tape) = (None, None);
        let intake = match self.device.open_intake() {
            Ok(intake) => intake,
            Err(fault) => return told.push(Told::Deaf(fault)),
        };
        match &mut self.voice {
            Some(voice) => voice.sound(COUNT_IN, &take.clicks),
            None => match self.device.open_outlet().and_then(|outlet| Voice::new(outlet, COUNT_IN, &take.clicks)) {
                Ok(voice) => self.voice = Some(voice),
                Err(fault) => return told.push(Told::Mute(fault)),
            },
        }
        match Tape::new(intake, take) {
            Ok(tape) => self.tape = Some(tape),
            Err(fault) => told.push(Told::Deaf(fault)),
        }
    }

    /// Opens a device anew that was lost: another may have taken its place, as when headphones are pulled out. One that
    /// failed otherwise, or was lost at once, stays closed.
    fn again<T>(
        &mut self,
        fault: DeviceFault,
        lived_s: f64,
        open: impl FnOnce(&mut dyn SoundDevice) -> Result<T, DeviceFault>,
    ) -> Result<T, DeviceFault> {
        if fault != DeviceFault::Lost || lived_s < LEAST_LIFE_S {
            return Err(fault);
        }
        open(&mut *self.device).map_err(lost)
    }

    /// Goes on sounding on another loudspeaker, if there is one.
    fn restore_voice(&mut self, fault: DeviceFault, told: &mut Vec<Told>) {
        let Some(mut voice) = self.voice.take() else { return };
        let (rate, lived_s) = (voice.rate, voice.lived_s);
        let opened = self.again(fault, lived_s, |device| {
            let outlet = device.open_outlet()?;
            // At another rate the strings would sound at another pitch.
            let fits = SampleRate::new(outlet.rate_hz()) == Some(rate);
            fits.then_some(outlet).ok_or(DeviceFault::Lost)
        });
        match opened {
            Ok(outlet) => {
                voice.outlet = outlet;
                voice.lived_s = 0.0;
                self.voice = Some(voice);
            }
            Err(fault) => told.push(Told::Mute(fault)),
        }
    }
}

/// Names what became of a device that was lost and could not be opened again.
const fn lost(again: DeviceFault) -> DeviceFault {
    match again {
        DeviceFault::Denied | DeviceFault::Busy => again,
        _ => DeviceFault::Lost,
    }
}
