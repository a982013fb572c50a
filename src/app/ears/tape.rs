//! A recording of what is plucked after a count-in; its notes are told once it has ended.

use std::sync::Arc;

use crate::app::tune_sound::plucked_notes;
use crate::platform::{DeviceFault, Intake};
use crate::sound::{SampleRate, Strike, find_delay};
use crate::theory::Hertz;
use crate::tune::PluckedNote;

use super::worker::Told;

/// A recording is no longer than this, in seconds.
const LONGEST_S: f64 = 180.0;
/// It ends by itself after so much silence, once something was plucked, in seconds.
const SILENT_S: f64 = 4.0;
/// What is this much weaker than the loudest portion is silence: 45 dB, in power.
const SILENCE: f64 = 3e-5;
/// The least that is taken for a pluck: 50 dB below full scale, in power.
const PLUCKED: f64 = 1e-5;
/// How often it is told how far it has come, in seconds.
const TELL_EVERY_S: f64 = 0.1;

/// A count-in and what is to be recorded after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// Tells it from those before.
    pub number: u64,
    /// The clicks.
    pub clicks: Arc<[Strike]>,
    /// When the first bar begins, in seconds from the first click.
    pub begins_s: f64,
    /// The last click comes so long before it, in seconds.
    pub beat_s: f64,
    /// The player has ended it.
    pub is_over: bool,
}

/// What was plucked.
#[derive(Clone, Debug, PartialEq)]
pub struct Plucked {
    /// The notes, in seconds from the beginning of the first bar.
    pub notes: Vec<PluckedNote>,
    /// The clicks were heard in the recording: the times are free of what sound takes on its way.
    pub is_timed: bool,
}

/// A recording under way.
#[derive(Debug)]
pub(super) struct Tape {
    intake: Box<dyn Intake>,
    rate: SampleRate,
    take: Take,
    samples: Vec<f32>,
    /// The power of the loudest portion since the first bar began.
    loudest: f64,
    silent_s: f64,
    since_told_s: f64,
}

impl Tape {
    /// Begins to record.
    pub(super) fn new(mut intake: Box<dyn Intake>, take: Take) -> Result<Self, DeviceFault> {
        let rate = SampleRate::new(intake.rate_hz()).ok_or(DeviceFault::NotSupported)?;
        // What came before is none of it.
        intake.take(&mut Vec::new())?;
        Ok(Self { intake, rate, take, samples: Vec::new(), loudest: 0.0, silent_s: 0.0, since_told_s: 0.0 })
    }

    /// Goes on recording; returns whether it has come to its end.
    pub(super) fn step(&mut self, passed_s: f64, told: &mut Vec<Told>) -> Result<bool, DeviceFault> {
        let before = self.samples.len();
        self.intake.take(&mut self.samples)?;
        let at_s = self.at_s();
        if at_s > self.take.begins_s {
            let portion = self.samples.get(before..).unwrap_or_default();
            let sum = portion.iter().map(|sample| f64::from(*sample) * f64::from(*sample)).sum::<f64>();
            let power = sum / portion.iter().map(|_| 1.0).sum::<f64>().max(1.0);
            self.loudest = self.loudest.max(power);
            let is_silent = power < SILENCE * self.loudest && self.loudest > PLUCKED;
            self.silent_s = if is_silent { self.silent_s + passed_s } else { 0.0 };
        }
        self.since_told_s += passed_s;
        if self.since_told_s + 1e-9 >= TELL_EVERY_S {
            self.since_told_s = 0.0;
            told.push(Told::Taking(self.take.number, at_s));
        }
        Ok(self.silent_s >= SILENT_S || at_s >= LONGEST_S)
    }

    /// Closes the microphone and tells what was plucked.
    pub(super) fn end(self) -> Told {
        let Self { intake, rate, take, samples, .. } = self;
        drop(intake);
        let clicks: Vec<(f64, Hertz)> = take.clicks.iter().map(|click| (click.at_s, click.frequency)).collect();
        let delay = find_delay(&samples, rate, &clicks);
        // The last click is over by the middle of its beat.
        let from_s = (take.begins_s + delay.unwrap_or(0.0) - 0.5 * take.beat_s).max(0.0);
        let from = rate.samples_in(from_s).min(samples.len());
        let late = from_s - take.begins_s - delay.unwrap_or(0.0);
        let mut notes = plucked_notes(samples.get(from..).unwrap_or_default(), rate);
        for note in &mut notes {
            note.at_s += late;
        }
        Told::Plucked(take.number, Plucked { notes, is_timed: delay.is_some() })
    }

    fn at_s(&self) -> f64 {
        f64::from(u32::try_from(self.samples.len()).unwrap_or(u32::MAX)) / self.rate.per_s()
    }
}
