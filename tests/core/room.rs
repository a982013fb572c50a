//! The app without its window, in a room that a test fills with sound: what hands-free listening is tried on.

use std::rc::Rc;
use std::time::Duration;

use pegwise::app::{
    Action, Ask, EarsAction, Mic, MicUse, RetuneAction, Ringing, Stage, State, Told, TuningsAction, Worker, follow,
    hide,
};
use pegwise::platform::{Fake, Machine};
use pegwise::sound::{SampleRate, Strike, Tone, render};
use pegwise::store::Library;
use pegwise::theory::Hertz;

/// How much sound is fed at a time, in seconds.
pub(crate) const PORTION_S: f64 = 0.01;

/// The app without its window, in a room that a test fills with sound.
pub(crate) struct Bench {
    pub(crate) state: State,
    pub(crate) machine: Rc<Fake>,
    pub(crate) worker: Worker,
    mic: Option<MicUse>,
    score: Option<u64>,
    /// How often the worker told what it heard.
    pub(crate) told: usize,
}

impl Bench {
    /// A guitar in standard tuning, nothing wanted.
    pub(crate) fn new() -> Self {
        let machine = Rc::new(Fake::new(None));
        let worker = Worker::new(machine.sound_device());
        Self { state: State::new(Library::default()), machine, worker, mic: None, score: None, told: 0 }
    }

    /// Standard tuning, on the way to another.
    pub(crate) fn on_the_way_to(id: &str) -> Self {
        let mut bench = Self::new();
        bench.choose(id);
        bench
    }

    /// Turns to a tuning of the catalogue, whatever a string may say.
    pub(crate) fn choose(&mut self, id: &str) {
        self.act(Action::Tunings(TuningsAction::Choose(id.to_owned())));
        self.act(Action::Retune(RetuneAction::StringsAre(pegwise::app::StringsTold::Noted)));
        if self.state.guitar.stage() == Stage::Risk {
            self.act(Action::Retune(RetuneAction::TakeRisk));
        }
    }

    /// The same moment in another room, with a microphone that has heard nothing yet.
    pub(crate) fn twin(&self) -> Self {
        let machine = Rc::new(Fake::new(None));
        let worker = Worker::new(machine.sound_device());
        let mut twin = Self { state: self.state.clone(), machine, worker, mic: None, score: None, told: 0 };
        twin.pass_on();
        twin
    }

    /// Confirms every step by hand, to the end.
    pub(crate) fn go_there(&mut self) {
        while self.state.guitar.stage() == Stage::Step {
            self.act(Action::Retune(RetuneAction::Confirm));
        }
        self.act(Action::Retune(RetuneAction::CheckDone));
    }

    pub(crate) fn act(&mut self, action: Action) {
        self.state.update(action);
        follow(&mut self.state, &*self.machine);
        self.pass_on();
    }

    /// Switches listening on and says yes to the system.
    pub(crate) fn listen(&mut self) {
        self.act(Action::Ears(EarsAction::Listen));
        if self.state.ears.mic == Mic::Asking {
            self.machine.answer(true);
            hide(&mut self.state, &*self.machine, false);
        }
        self.pass_on();
        assert_eq!(self.state.ears.mic, Mic::On);
        assert!(self.machine.sound().is_listening());
    }

    /// Asks the worker for what the state wants, as the app's line does.
    pub(crate) fn pass_on(&mut self) {
        let mut told = Vec::new();
        let score = self.state.ears.score();
        if score.map(|score| score.number) != self.score {
            self.score = score.map(|score| score.number);
            let ask = score.map_or(Ask::Hush, |score| Ask::Play(score.number, score.strikes.clone()));
            self.worker.ask(ask, &mut told);
        }
        let mic = self.state.ears.mic_use();
        if mic != self.mic {
            self.mic = mic;
            self.worker.ask(self.state.ears.mic_ask(), &mut told);
        }
        self.tell(told);
    }

    pub(crate) fn tell(&mut self, told: Vec<Told>) {
        for told in told {
            self.told += usize::from(matches!(told, Told::Hearing(_)));
            self.state.update(Action::Ears(EarsAction::Told(told)));
            self.pass_on();
        }
    }

    /// Lets this sound come to the microphone as time passes.
    pub(crate) fn hear(&mut self, samples: &[f32]) {
        for portion in samples.chunks(SampleRate::COMMON.samples_in(PORTION_S)) {
            self.machine.sound().feed(portion);
            let mut told = Vec::new();
            self.worker.step(Duration::from_secs_f64(PORTION_S), &mut told);
            self.tell(told);
        }
    }

    pub(crate) fn hear_silence(&mut self, length_s: f64) {
        self.hear(&vec![0.0; SampleRate::COMMON.samples_in(length_s)]);
    }

    /// Plucks a string of this pitch and lets it ring, then damps it.
    pub(crate) fn pluck(&mut self, hz: f64, length_s: f64) {
        let stop_at_s = Some(length_s);
        let strike = Strike { stop_at_s, ..Strike::new(Hertz::new(hz).unwrap(), Tone::default(), 1) };
        self.hear(&render(SampleRate::COMMON, &[strike], length_s + 0.1));
    }

    pub(crate) fn course(&self) -> Option<u8> {
        self.state.guitar.course().map(|course| course.player_number(6))
    }

    pub(crate) fn ringing(&self) -> Ringing {
        self.state.ears.hearing.expect("something was told").ringing
    }

    /// The course that is heard, and how far off.
    pub(crate) fn heard(&self) -> Option<(u8, f64)> {
        let Ringing::String { index, off, .. } = self.ringing() else { return None };
        let course = self.state.ears.watch()?.1.strings[index].course;
        Some((course.player_number(6), off.get()))
    }
}
