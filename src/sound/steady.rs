//! What the player sees while a string is brought to its pitch: quick, without jitter, held while the note dies.

use crate::theory::{Cents, Hertz};

use super::track::{Heard, Reading};

/// Within this of the shown value a reading is smoothed; beyond, the mark jumps, in cents.
const JUMP_CENTS: f64 = 6.0;
/// The time constant of the smoothing, in seconds.
const SMOOTHING_S: f64 = 0.12;
/// How far back readings are compared for the odd one out, in seconds.
const COMPARED_S: f64 = 0.09;
/// How far beyond the way from here to the target a string is still the one asked for, in cents.
const BESIDE_CENTS: f64 = 150.0;
/// How near another string must be to its pitch to be named, in cents.
const NAMED_CENTS: f64 = 100.0;
/// How much louder than the room something must be to be called too quiet, in dB.
const ABOVE_ROOM_DB: f64 = 8.0;
/// Within this much of the quietest level that is listened to, sound that gives no pitch is too quiet, in dB.
const BARELY_DB: f64 = 6.0;
/// A gap in the readings longer than this ends the time within tolerance, in seconds.
const GAP_S: f64 = 0.1;

/// What is asked of one string.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// Where the string should sound.
    pub target: Hertz,
    /// Where it stands before it is tuned, if known: everything between there and the target is this string.
    pub from: Option<Hertz>,
    /// Where the other strings stand.
    pub others: Vec<Hertz>,
    /// How far from the target counts as right, above zero. ±2 cents by default: the least that two tones sounded
    /// together can be told apart by (Ellis).
    pub tolerance: Cents,
    /// For how long it must stay there, in seconds; 0.6 by default.
    pub hold_s: f64,
    /// For how long the last value stays in sight once the note is gone, in seconds; 1.5 by default.
    pub keep_s: f64,
    /// The level under which the tracker does not listen, in dB; as in [`Listening`](super::Listening).
    pub quietest_db: f64,
}

impl Goal {
    /// Asks for `target` with the usual tolerance and times.
    #[must_use]
    pub fn new(target: Hertz) -> Self {
        Self {
            target,
            from: None,
            others: Vec::new(),
            tolerance: Cents::new(2.0),
            hold_s: 0.6,
            keep_s: 1.5,
            quietest_db: super::Listening::default().quietest_db,
        }
    }
}

/// What the player sees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// Nothing sounds.
    Listening,
    /// Something sounds, too quiet to read.
    TooQuiet,
    /// A string sounds that is not the one asked for.
    AnotherString {
        /// Where it sounds.
        frequency: Hertz,
        /// Which of [`Goal::others`] it is, if it is near one.
        which: Option<usize>,
    },
    /// The string asked for.
    Sounding {
        /// How far it stands from the target, smoothed; positive means sharp.
        off: Cents,
        /// The note is gone and the last value is held.
        is_held: bool,
        /// It has stayed within the tolerance for long enough.
        is_right: bool,
    },
}

/// Turns readings into what the player sees.
#[derive(Clone, Debug)]
pub struct Steady {
    goal: Goal,
    shown: Option<f64>,
    seen: Seen,
    recent: Vec<(f64, f64)>,
    heard_at_s: f64,
    within_since_s: Option<f64>,
    is_right: bool,
    room_db: f64,
    at_s: f64,
}

impl Steady {
    /// Begins to look for `goal`.
    #[must_use]
    pub fn new(goal: Goal) -> Self {
        Self {
            goal,
            shown: None,
            seen: Seen::Listening,
            recent: Vec::new(),
            heard_at_s: f64::NEG_INFINITY,
            within_since_s: None,
            is_right: false,
            room_db: 0.0,
            at_s: 0.0,
        }
    }

    /// Returns what is asked for.
    #[must_use]
    pub const fn goal(&self) -> &Goal {
        &self.goal
    }

    /// Takes the next reading and returns what the player now sees.
    pub fn see(&mut self, reading: &Reading) -> Seen {
        let passed_s = (reading.at_s - self.at_s).max(0.0);
        self.at_s = reading.at_s;
        // The room is the quietest it has been, forgotten at 2 dB a second.
        self.room_db = reading.level_db.min(self.room_db + 2.0 * passed_s);
        self.seen = match reading.heard {
            Some(heard) if self.is_asked_for(&heard) => self.follow(&heard),
            Some(heard) => {
                self.let_go();
                self.heard_at_s = reading.at_s;
                Seen::AnotherString {
                    frequency: heard.frequency,
                    which: nearest_string(&self.goal.others, heard.frequency),
                }
            }
            None => self.wait(reading.level_db),
        };
        self.seen
    }

    fn is_asked_for(&self, heard: &Heard) -> bool {
        let off = heard.off_target(self.goal.target).get();
        let from = self.goal.from.map_or(0.0, |from| Cents::between(self.goal.target, from).get());
        let on_the_way = (from.min(0.0) - BESIDE_CENTS..=from.max(0.0) + BESIDE_CENTS).contains(&off);
        // Nearer to where another string stands than to the target, and not on the way there: that other string.
        let other =
            self.goal.others.iter().map(|other| heard.off_target(*other).abs().get()).fold(f64::INFINITY, f64::min);
        on_the_way && (off.abs() <= BESIDE_CENTS || other > 30.0)
    }

    fn follow(&mut self, heard: &Heard) -> Seen {
        let off = heard.off_target(self.goal.target).get();
        let gap_s = self.at_s - self.heard_at_s;
        self.heard_at_s = self.at_s;
        if gap_s > GAP_S {
            self.recent.clear();
            self.within_since_s = None;
        }
        self.recent.retain(|(at_s, _)| self.at_s - at_s <= COMPARED_S);
        self.recent.push((self.at_s, off));
        let mut sorted: Vec<f64> = self.recent.iter().map(|(_, off)| *off).collect();
        sorted.sort_by(f64::total_cmp);
        let middle = sorted[sorted.len() / 2];
        let shown = match self.shown {
            Some(shown) if (middle - shown).abs() <= JUMP_CENTS && gap_s <= self.goal.keep_s => {
                shown + (middle - shown) * (1.0 - (-gap_s.max(0.0) / SMOOTHING_S).exp())
            }
            _ => middle,
        };
        self.shown = Some(shown);
        let tolerance = self.goal.tolerance.abs().get();
        if shown.abs() <= tolerance && middle.abs() <= tolerance {
            let since_s = *self.within_since_s.get_or_insert(self.at_s);
            self.is_right |= self.at_s - since_s >= self.goal.hold_s - 1e-9;
        } else {
            self.within_since_s = None;
            self.is_right = false;
        }
        Seen::Sounding { off: Cents::new(shown), is_held: false, is_right: self.is_right }
    }

    fn wait(&mut self, level_db: f64) -> Seen {
        let silent_s = self.at_s - self.heard_at_s;
        if silent_s > GAP_S {
            self.within_since_s = None;
        }
        match self.seen {
            seen @ Seen::AnotherString { .. } if silent_s <= self.goal.keep_s => seen,
            _ => match self.shown {
                Some(shown) if silent_s <= self.goal.keep_s => {
                    Seen::Sounding { off: Cents::new(shown), is_held: true, is_right: self.is_right }
                }
                _ => {
                    self.let_go();
                    let is_heard = level_db > self.room_db + ABOVE_ROOM_DB;
                    if is_heard && level_db < self.goal.quietest_db + BARELY_DB {
                        Seen::TooQuiet
                    } else {
                        Seen::Listening
                    }
                }
            },
        }
    }

    fn let_go(&mut self) {
        self.shown = None;
        self.is_right = false;
        self.within_since_s = None;
        self.recent.clear();
    }
}

/// Returns which of `strings` is nearest to `frequency`, if one lies within 100 cents; the first of equals.
#[must_use]
pub fn nearest_string(strings: &[Hertz], frequency: Hertz) -> Option<usize> {
    let distances = strings.iter().map(|string| Cents::between(*string, frequency).abs().get()).enumerate();
    distances.filter(|(_, off)| *off <= NAMED_CENTS).min_by(|a, b| a.1.total_cmp(&b.1)).map(|(which, _)| which)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(at_s: f64, off: Option<f64>, level_db: f64) -> Reading {
        let heard = off.map(|off| Heard {
            frequency: Hertz::new(110.0).unwrap().shifted(Cents::new(off)),
            confidence: 1.0,
            inharmonicity: 0.0,
            partials: 5,
            window_s: 0.2,
            deviation: Cents::ZERO,
        });
        Reading { at_s, level_db, heard }
    }

    fn steady() -> Steady {
        Steady::new(Goal::new(Hertz::new(110.0).unwrap()))
    }

    #[test]
    fn right_comes_after_six_tenths_of_a_second_within_two_cents_and_not_before() {
        let mut steady = steady();
        for n in 0..40_u8 {
            let at_s = f64::from(n) * 0.02;
            let seen = steady.see(&reading(at_s, Some(1.5), -20.0));
            let Seen::Sounding { is_right, .. } = seen else { panic!("{seen:?}") };
            assert_eq!(is_right, at_s >= 0.6 - 1e-6, "{at_s}");
        }
        let Seen::Sounding { is_right, .. } = steady.see(&reading(0.8, Some(9.0), -20.0)) else { panic!() };
        assert!(is_right, "one odd reading is not believed");
        steady.see(&reading(0.82, Some(9.0), -20.0));
        let Seen::Sounding { is_right, off, .. } = steady.see(&reading(0.84, Some(9.0), -20.0)) else { panic!() };
        assert!(!is_right && (off.get() - 9.0).abs() < 0.1, "{off:?}");
    }

    #[test]
    fn just_outside_the_tolerance_is_never_right() {
        let mut steady = steady();
        for n in 0..200_u8 {
            let seen = steady.see(&reading(f64::from(n) * 0.02, Some(2.1), -20.0));
            assert!(matches!(seen, Seen::Sounding { is_right: false, .. }));
        }
    }

    #[test]
    fn the_value_is_held_then_let_go() {
        let mut steady = steady();
        steady.see(&reading(0.0, Some(-7.0), -20.0));
        let held = steady.see(&reading(1.0, None, -70.0));
        let Seen::Sounding { off, is_held: true, is_right: false } = held else { panic!("{held:?}") };
        assert!((off.get() + 7.0).abs() < 1e-6);
        assert_eq!(steady.see(&reading(1.6, None, -70.0)), Seen::Listening);
    }

    #[test]
    fn a_soft_sound_over_a_quiet_room_is_too_quiet_and_the_room_is_not() {
        let mut steady = steady();
        assert_eq!(steady.see(&reading(0.0, None, -85.0)), Seen::Listening);
        assert_eq!(steady.see(&reading(0.02, None, -66.0)), Seen::TooQuiet);
        assert_eq!(steady.see(&reading(0.04, None, -84.0)), Seen::Listening);
    }

    #[test]
    fn other_strings_are_named_and_the_way_to_the_target_is_not_another_string() {
        let hertz = |off: f64| Hertz::new(110.0).unwrap().shifted(Cents::new(off));
        let goal =
            Goal { from: Some(hertz(200.0)), others: vec![hertz(700.0), hertz(-500.0)], ..Goal::new(hertz(0.0)) };
        let mut steady = Steady::new(goal);
        for (off, expected) in [(705.0, Some(0)), (-490.0, Some(1)), (1900.0, None)] {
            let seen = steady.see(&reading(1.0, Some(off), -20.0));
            assert!(matches!(seen, Seen::AnotherString { which, .. } if which == expected), "{off}: {seen:?}");
        }
        for off in [340.0, 200.0, 100.0, -140.0] {
            let seen = steady.see(&reading(2.0, Some(off), -20.0));
            assert!(matches!(seen, Seen::Sounding { .. }), "{off}: {seen:?}");
        }
    }
}
