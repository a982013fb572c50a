//! Strings plucked at given times, mixed and held below full scale.

use crate::theory::Hertz;

use super::pluck::Pluck;
use super::samples::{SampleRate, sample};
use super::tone::Tone;
use super::turn::{Turn, Turning};

/// Up to here the mix is passed on as it is; above, it bends towards full scale, which it never reaches.
const KNEE: f64 = 0.7;
/// The most strings ringing at once; the oldest is damped when one more is plucked.
const MOST_STRINGS: usize = 64;
/// The longest rendering, in seconds.
const LONGEST_S: f64 = 600.0;
/// The lower of two pitches that wobble, in hertz.
const WOBBLE_HZ: f64 = 900.0;
/// How many samples are mixed at a time.
const BLOCK: usize = 256;

/// One string being plucked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strike {
    /// When, in seconds from the start; 0 or later.
    pub at_s: f64,
    /// Where the first partial sounds.
    pub frequency: Hertz,
    /// How it sounds.
    pub tone: Tone,
    /// Its peak, 0 to 1. Three strings at 0.3 stay below the limiter's knee.
    pub level: f64,
    /// Which string it is: plucking the same one again damps what it sounded before.
    pub course: u8,
    /// When it is damped, in seconds from the start; rings out if absent.
    pub stop_at_s: Option<f64>,
    /// How its peg is turned while it rings; it stays if absent.
    pub turned: Option<Turn>,
}

impl Strike {
    /// A pluck at the very start at a comfortable level, left ringing.
    #[must_use]
    pub const fn new(frequency: Hertz, tone: Tone, course: u8) -> Self {
        Self { at_s: 0.0, frequency, tone, level: 0.3, course, stop_at_s: None, turned: None }
    }

    /// Returns the same pluck at another time.
    #[must_use]
    pub const fn at(self, at_s: f64) -> Self {
        Self { at_s, ..self }
    }
}

/// Ringing strings and their mix.
#[derive(Clone, Debug)]
pub struct Player {
    rate: SampleRate,
    ringing: Vec<(u8, Pluck, Option<Turning>)>,
    mix: Vec<f64>,
}

impl Player {
    /// Makes a silent player.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        Self { rate, ringing: Vec::with_capacity(2 * MOST_STRINGS), mix: vec![0.0; BLOCK] }
    }

    /// Plucks a string now, damping what the same course sounded before; times in `strike` are ignored.
    ///
    /// Returns false, and sounds nothing, when the pitch is out of [`Pluck::new`]'s reach.
    pub fn pluck(&mut self, strike: &Strike) -> bool {
        let Some(string) = Pluck::new(self.rate, strike.frequency, strike.tone, strike.level) else {
            return false;
        };
        self.damp(strike.course);
        if self.ringing.len() >= MOST_STRINGS {
            self.ringing[0].1.stop();
        }
        if self.ringing.len() >= 2 * MOST_STRINGS {
            self.ringing.remove(0);
        }
        self.ringing.push((strike.course, string, strike.turned.map(|turn| Turning::new(turn, self.rate))));
        true
    }

    /// Damps one course.
    pub fn damp(&mut self, course: u8) {
        self.ringing.iter_mut().filter(|(number, ..)| *number == course).for_each(|(_, string, _)| string.stop());
    }

    /// Damps everything.
    pub fn damp_all(&mut self) {
        self.ringing.iter_mut().for_each(|(_, string, _)| string.stop());
    }

    /// Tells whether nothing rings.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.ringing.is_empty()
    }

    /// Fills `out` with the next samples, all strictly between −1 and 1.
    pub fn render(&mut self, out: &mut [f32]) {
        for block in out.chunks_mut(BLOCK) {
            let mix = &mut self.mix[..block.len()];
            mix.fill(0.0);
            for (_, string, turning) in &mut self.ringing {
                match turning {
                    Some(turning) => turning.add(string, mix),
                    None => string.add_to(mix),
                }
            }
            for (slot, &value) in block.iter_mut().zip(mix.iter()) {
                *slot = sample(limited(value));
            }
            self.ringing.retain(|(_, string, _)| !string.is_over());
        }
    }
}

/// Bends what lies beyond the knee: |x| ≤ 0.7 stays, above it 0.7 + 0.29·tanh((|x| − 0.7) / 0.29).
fn limited(value: f64) -> f64 {
    const ROOM: f64 = 0.99 - KNEE;
    let over = value.abs() - KNEE;
    if over <= 0.0 { value } else { (KNEE + ROOM * (over / ROOM).tanh()).copysign(value) }
}

/// Renders plucks, in any order, into `length_s` seconds (600 at most). Plucks out of reach stay silent.
#[must_use]
pub fn render(rate: SampleRate, strikes: &[Strike], length_s: f64) -> Vec<f32> {
    enum Event<'a> {
        Stop(u8),
        Pluck(&'a Strike),
    }
    let mut out = vec![0.0; rate.samples_in(length_s.clamp(0.0, LONGEST_S))];
    let mut events: Vec<(usize, Event<'_>)> = Vec::new();
    for strike in strikes {
        events.push((rate.samples_in(strike.at_s), Event::Pluck(strike)));
        let is_replucked = |until: f64| {
            let between = |other: &&Strike| other.course == strike.course && other.at_s > strike.at_s;
            strikes.iter().filter(between).any(|other| other.at_s <= until)
        };
        let stop = strike.stop_at_s.filter(|&stop| stop > strike.at_s && !is_replucked(stop));
        events.extend(stop.map(|stop| (rate.samples_in(stop), Event::Stop(strike.course))));
    }
    // At one moment strings are damped before others are plucked; otherwise as listed.
    events.sort_by_key(|(at, event)| (*at, matches!(event, Event::Pluck(_))));
    let mut player = Player::new(rate);
    let mut done = 0;
    for (at, event) in events {
        let until = at.clamp(done, out.len());
        player.render(&mut out[done..until]);
        done = until;
        match event {
            Event::Stop(course) => player.damp(course),
            Event::Pluck(strike) => {
                player.pluck(strike);
            }
        }
    }
    player.render(&mut out[done..]);
    out
}

/// Strums strings in the order given, `spread_s` seconds (0 to 2) from the first to the last.
#[must_use]
pub fn strum(strings: &[Strike], at_s: f64, spread_s: f64) -> Vec<Strike> {
    let gaps = u32::try_from(strings.len().saturating_sub(1)).unwrap_or(u32::MAX).max(1);
    arpeggio(strings, at_s, spread_s.clamp(0.0, 2.0) / f64::from(gaps))
}

/// Plucks strings one after the other, `step_s` seconds apart, each left ringing.
#[must_use]
pub fn arpeggio(strings: &[Strike], at_s: f64, step_s: f64) -> Vec<Strike> {
    let times = std::iter::successors(Some(at_s), |time| Some(time + step_s));
    strings.iter().zip(times).map(|(string, time)| string.at(time)).collect()
}

/// The thumb takes the basses in turn, one on every beat; the fingers take theirs in turn, one on every half beat
/// between. `beats` beats of `beat_s` seconds; a bass is damped when the thumb leaves it.
#[must_use]
pub fn thumb_pattern(basses: &[Strike], fingers: &[Strike], beat_s: f64, beats: u8) -> Vec<Strike> {
    let times = (0..beats).map(|beat| f64::from(beat) * beat_s);
    let thumb = basses.iter().cycle().zip(times.clone()).map(|(bass, time)| {
        let alone = basses.len() < 2;
        Strike { stop_at_s: (!alone).then_some(time + 1.2 * beat_s), ..bass.at(time) }
    });
    let between = fingers.iter().cycle().zip(times).map(|(finger, time)| finger.at(time + 0.5 * beat_s));
    let mut all: Vec<Strike> = thumb.chain(between).collect();
    all.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    all
}

/// Returns two pitches that wobble `per_s` times a second when sounded together, the lower first: 900 Hz and `per_s`
/// more, where the loudspeaker of a phone, which gives little below 500 Hz, sounds them as they are.
///
/// `None` for a rate that is not above zero, or above 20 a second, where the ear hears roughness.
#[must_use]
pub fn wobbling_pair(per_s: f64) -> Option<(Hertz, Hertz)> {
    if !(per_s > 0.0 && per_s <= 20.0) {
        return None;
    }
    Hertz::new(WOBBLE_HZ).zip(Hertz::new(WOBBLE_HZ + per_s))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn loud_mixes_stay_below_full_scale() {
        let strings: Vec<Strike> = (0..12)
            .map(|course| Strike { level: 1.0, ..Strike::new(Hertz::new(110.0).unwrap(), Tone::default(), course) })
            .collect();
        let out = render(SampleRate::COMMON, &strings, 0.5);
        assert!(out.iter().all(|value| value.abs() < 1.0));
        assert!(out.iter().any(|value| value.abs() > 0.9));
    }

    #[test]
    fn a_wobbling_pair_lies_its_rate_apart() {
        let (lower, upper) = wobbling_pair(1.0).unwrap();
        assert!((upper.get() - lower.get() - 1.0).abs() < 1e-9 && (500.0..1500.0).contains(&lower.get()));
        assert_eq!((wobbling_pair(0.0), wobbling_pair(f64::NAN), wobbling_pair(21.0)), (None, None, None));
    }

    #[test]
    fn the_thumb_alternates_on_the_beat_and_the_fingers_fall_between() {
        let string = |course| Strike::new(Hertz::new(110.0).unwrap(), Tone::default(), course);
        let pattern = thumb_pattern(&[string(5), string(4)], &[string(2), string(1)], 0.5, 4);
        let seen: Vec<(f64, u8)> = pattern.iter().map(|strike| (strike.at_s, strike.course)).collect();
        let expected = [(0.0, 5), (0.25, 2), (0.5, 4), (0.75, 1), (1.0, 5), (1.25, 2), (1.5, 4), (1.75, 1)];
        assert_eq!(seen, expected);
    }
}
