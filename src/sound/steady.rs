//! What the player sees while a string is brought to its pitch: quick, without jitter, held while the note dies.
//!
//! A turning peg's note is read from sound that lies behind, so what is shown leads by the slope of the latest readings.
//! A string is right when it stays within the tolerance and stands still, where it will settle and not where it passes;
//! when its note was plucked in this step; and when nothing else can have sounded it (`evidence.rs`).

use crate::theory::{Cents, Hertz};

use super::evidence::Evidence;
use super::goal::{Goal, Wanted, nearest_string};
use super::track::{Heard, Reading};
use super::trend::Trend;

/// Within this of the shown value a reading is smoothed; beyond, the mark jumps, in cents.
const JUMP_CENTS: f64 = 6.0;
/// The time constant of the smoothing, in seconds.
const SMOOTHING_S: f64 = 0.12;
/// How far beyond the way from here to the target a string is still the one asked for, in cents.
const BESIDE_CENTS: f64 = 150.0;
/// Nearer than this to where another string stands, in cents, it is that one, if nothing speaks against it.
const THAT_ONE_CENTS: f64 = 30.0;
/// This near the target it is the asked string until more is known, in cents.
const AT_TARGET_CENTS: f64 = 60.0;
/// How much louder than the room something must be to be called too quiet, in dB.
const ABOVE_ROOM_DB: f64 = 8.0;
/// Within this much of the quietest level that is listened to, sound that gives no pitch is too quiet, in dB.
const BARELY_DB: f64 = 6.0;
/// A gap in the readings of one note longer than this ends the time within tolerance, in seconds: a knock on the body
/// hides a low string for a fifth of a second.
const GAP_S: f64 = 0.35;
/// Over how long the slope is taken by which what is shown leads, in seconds, …
const LEADING_S: f64 = 0.16;
/// … and from which slope on it leads, in cents a second; …
const LEADING_PER_S: f64 = 4.0;
/// … at most by this, in cents: half of what a window spans at 400 cents a second.
const MOST_LEAD_CENTS: f64 = 50.0;
/// A string that moves by less than this stands still, in cents a second.
const STILL_PER_S: f64 = 1.0;
/// A slope is known when its deviation is below this, in cents a second, …
const SURE_DEVIATION_PER_S: f64 = 0.6;
/// … over the first of these spans in seconds by which it is.
const SLOPE_S: [f64; 6] = [0.2, 0.3, 0.4, 0.5, 0.6, 1.0];
/// How long a hard pluck goes on sinking at its present slope, in seconds: the time constant of its glide, half of the time
/// in which a string's swing falls to 1/e (the stretch of a swinging string goes with the square of the swing).
const SINKING_S: f64 = 0.6;

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
        /// It is the asked string, and it stands still within the tolerance.
        verdict: Verdict,
    },
}

/// What is known of a string that sounds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Verdict {
    /// It is not right, or not for long enough yet.
    #[default]
    NotYet,
    /// It is right if it is the asked string: something else sounds there too, and nothing was heard to tell them apart.
    RightIfAsked,
    /// It is right.
    Right,
}

/// Turns readings into what the player sees.
#[derive(Clone, Debug)]
pub struct Steady {
    goal: Goal,
    wanted: Wanted,
    shown: Option<f64>,
    seen: Seen,
    trend: Trend,
    evidence: Evidence,
    /// The note that sounds, by its number.
    note: u32,
    /// What rang when it was asked for: the number of its note and where it stood. The same note is no evidence.
    rang: Option<(u32, Hertz)>,
    heard_at_s: f64,
    within_since_s: Option<f64>,
    verdict: Verdict,
    room_db: f64,
    at_s: f64,
}

impl Steady {
    /// Begins to look for `goal`.
    #[must_use]
    pub fn new(goal: Goal) -> Self {
        Self {
            wanted: goal.wants(),
            goal,
            shown: None,
            seen: Seen::Listening,
            trend: Trend::default(),
            evidence: Evidence::default(),
            note: 0,
            rang: None,
            heard_at_s: f64::NEG_INFINITY,
            within_since_s: None,
            verdict: Verdict::NotYet,
            room_db: 0.0,
            at_s: 0.0,
        }
    }

    /// Lets a note that rings already count for nothing: none up to the number `note`, as long as it stands near `at`.
    #[must_use]
    pub fn while_rings(self, note: u32, at: Hertz) -> Self {
        Self { rang: Some((note, at)), ..self }
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
            Some(heard) if self.is_asked_for(&heard, reading.note) => self.follow(&heard, reading),
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

    fn is_asked_for(&self, heard: &Heard, note: u32) -> bool {
        let off = heard.off_target(self.goal.target).get();
        let from = self.goal.from.map_or(0.0, |from| Cents::between(self.goal.target, from).get());
        let on_the_way = (from.min(0.0) - BESIDE_CENTS..=from.max(0.0) + BESIDE_CENTS).contains(&off);
        let is_followed = note == self.note && matches!(self.seen, Seen::Sounding { is_held: false, .. });
        let is_where_it_was = self.goal.from.is_some() && (off - from).abs() <= THAT_ONE_CENTS;
        // Where another string stands, and not on its way there: that other string.
        let is_free = is_where_it_was || off.abs() <= AT_TARGET_CENTS || self.apart(heard) > THAT_ONE_CENTS;
        on_the_way && (is_followed || is_free)
    }

    /// Returns how far it sounds from anything else that may sound, in cents.
    fn apart(&self, heard: &Heard) -> f64 {
        let all = self.goal.others.iter().chain(&self.goal.possible);
        all.map(|other| heard.off_target(*other).abs().get()).fold(f64::INFINITY, f64::min)
    }

    fn follow(&mut self, heard: &Heard, reading: &Reading) -> Seen {
        let off = heard.off_target(self.goal.target).get();
        let gap_s = self.at_s - self.heard_at_s;
        self.heard_at_s = self.at_s;
        if gap_s > GAP_S || reading.note != self.note {
            self.begin_note(reading.note);
        }
        let (middle, ago_s) = self.trend.push(self.at_s, heard.window_s, off, heard.deviation.get());
        self.evidence.take(reading, middle, self.apart(heard));
        let slope = self.trend.line(LEADING_S).map_or(0.0, |line| line.slope);
        let is_moving = slope.abs() >= LEADING_PER_S;
        let now = if is_moving { middle + (slope * ago_s).clamp(-MOST_LEAD_CENTS, MOST_LEAD_CENTS) } else { middle };
        let shown = match self.shown {
            Some(shown) if !is_moving && (now - shown).abs() <= JUMP_CENTS && gap_s <= self.goal.keep_s => {
                shown + (now - shown) * (1.0 - (-gap_s.max(0.0) / SMOOTHING_S).exp())
            }
            _ => now,
        };
        self.shown = Some(shown);
        self.judge(middle, ago_s, heard, reading);
        Seen::Sounding { off: Cents::new(shown), is_held: false, verdict: self.verdict }
    }

    /// Judges the note that stood `middle` cents from the target `ago_s` seconds ago.
    fn judge(&mut self, middle: f64, ago_s: f64, heard: &Heard, reading: &Reading) {
        let tolerance = self.goal.tolerance.abs().get();
        if middle.abs() > tolerance {
            self.within_since_s = None;
            self.verdict = Verdict::NotYet;
            return;
        }
        // A reading tells where the note stood in the middle of the sound that it rests on.
        let since_s = *self.within_since_s.get_or_insert(self.at_s - ago_s);
        if self.at_s - since_s < self.goal.hold_s - 1e-9
            || self.verdict == Verdict::Right
            || self.has_rung(heard, reading)
        {
            return;
        }
        let Some(slope) = self.sure_slope() else { return };
        let settles = middle + slope.min(0.0) * SINKING_S;
        if slope.abs() < STILL_PER_S && settles.abs() <= tolerance {
            let is_known = self.evidence.is_enough(self.wanted, middle);
            self.verdict = if is_known { Verdict::Right } else { Verdict::RightIfAsked };
        }
    }

    /// Returns the slope over the shortest span that tells it surely, in cents a second.
    fn sure_slope(&self) -> Option<f64> {
        let lines = SLOPE_S.iter().filter_map(|span_s| self.trend.line(*span_s));
        lines.into_iter().find(|line| line.slope_deviation < SURE_DEVIATION_PER_S).map(|line| line.slope)
    }

    /// Tells whether the note rang before it was asked for.
    fn has_rung(&self, heard: &Heard, reading: &Reading) -> bool {
        self.rang.is_some_and(|(note, at)| reading.note <= note && heard.off_target(at).abs().get() <= AT_TARGET_CENTS)
    }

    fn begin_note(&mut self, note: u32) {
        self.note = note;
        self.trend.clear();
        self.evidence.begin_note();
        self.within_since_s = None;
        self.verdict = Verdict::NotYet;
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
                    Seen::Sounding { off: Cents::new(shown), is_held: true, verdict: self.verdict }
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
        self.begin_note(0);
    }
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
        Reading { at_s, level_db, heard, note: 1, since_pluck_s: at_s }
    }

    fn verdict(seen: Seen) -> Verdict {
        let Seen::Sounding { verdict, .. } = seen else { panic!("{seen:?}") };
        verdict
    }

    fn steady() -> Steady {
        Steady::new(Goal::new(Hertz::new(110.0).unwrap()))
    }

    /// The first of them tells of the sound a tenth of a second before it.
    #[test]
    fn right_comes_after_the_hold_within_two_cents_and_not_before() {
        let mut steady = steady();
        for n in 0..40_u8 {
            let at_s = f64::from(n) * 0.02;
            let seen = steady.see(&reading(at_s, Some(1.5), -20.0));
            assert_eq!(verdict(seen) == Verdict::Right, at_s >= 0.3 - 1e-9, "{at_s}");
        }
        let seen = steady.see(&reading(0.8, Some(9.0), -20.0));
        assert_eq!(verdict(seen), Verdict::Right, "one odd reading is not believed");
        steady.see(&reading(0.82, Some(9.0), -20.0));
        let seen = steady.see(&reading(0.84, Some(9.0), -20.0));
        assert_eq!(verdict(seen), Verdict::NotYet);
    }

    #[test]
    fn what_moves_through_the_tolerance_is_not_right() {
        for slope in [1.5, -1.5, 4.0, -4.0] {
            let mut steady = steady();
            for n in 0..150_u8 {
                let at_s = f64::from(n) * 0.02;
                let seen = steady.see(&reading(at_s, Some(slope * (at_s - 1.5)), -20.0));
                assert_ne!(verdict(seen), Verdict::Right, "{slope} cents a second at {at_s}");
            }
        }
    }

    #[test]
    fn where_another_string_stands_a_note_must_have_travelled() {
        let target = Hertz::new(110.0).unwrap();
        let asked = || Steady::new(Goal { others: vec![target], ..Goal::new(target) });
        let mut stays = asked();
        let mut comes_up = asked();
        for n in 0..120_u8 {
            let at_s = f64::from(n) * 0.02;
            let stayed = verdict(stays.see(&reading(at_s, Some(0.3), -20.0)));
            let came = verdict(comes_up.see(&reading(at_s, Some((30.0 * (at_s - 1.2)).min(0.3)), -20.0)));
            let is_late = n == 119;
            assert_eq!(stayed == Verdict::RightIfAsked, at_s >= 0.3 - 1e-9, "{at_s}");
            assert!(came != Verdict::RightIfAsked && (!is_late || came == Verdict::Right), "{at_s}: {came:?}");
        }
    }

    #[test]
    fn a_note_that_rang_before_is_not_right_and_the_next_is() {
        let target = Hertz::new(110.0).unwrap();
        let mut steady = Steady::new(Goal::new(target)).while_rings(1, target);
        for n in 0..60_u8 {
            let at_s = f64::from(n) * 0.02;
            assert_eq!(verdict(steady.see(&reading(at_s, Some(0.3), -20.0))), Verdict::NotYet);
        }
        for n in 60..100_u8 {
            let at_s = f64::from(n) * 0.02;
            let new = Reading { note: 2, since_pluck_s: at_s - 1.2, ..reading(at_s, Some(0.3), -20.0) };
            assert_eq!(verdict(steady.see(&new)) == Verdict::Right, at_s >= 1.5 - 1e-9);
        }
    }

    #[test]
    fn just_outside_the_tolerance_is_never_right() {
        let mut steady = steady();
        for n in 0..200_u8 {
            let seen = steady.see(&reading(f64::from(n) * 0.02, Some(2.1), -20.0));
            assert_eq!(verdict(seen), Verdict::NotYet);
        }
    }

    #[test]
    fn the_value_is_held_then_let_go() {
        let mut steady = steady();
        steady.see(&reading(0.0, Some(-7.0), -20.0));
        let held = steady.see(&reading(1.0, None, -70.0));
        let Seen::Sounding { off, is_held: true, verdict: Verdict::NotYet } = held else { panic!("{held:?}") };
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
