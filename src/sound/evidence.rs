//! Whether what sounds at the target is the asked string: by what was heard of it before.
//!
//! A string or a fret that stays does not move; a peg that is turned moves one ringing note. Two things move without a
//! peg: a hard pluck, which sinks by tens of cents while it dies, most of it at once, and two strings together, whose
//! reading wanders between them while they beat. So only what moves after the pluck's first moments counts, more of it
//! downwards, without leaps, and while the sound dies away without swelling.

use super::goal::Wanted;
use super::track::Reading;

/// From this long after its pluck a note's movement counts, in seconds.
const SETTLED_S: f64 = 0.35;
/// How far a note must have moved up to the target, and how far down to it, in cents.
const UP_CENTS: f64 = 10.0;
const DOWN_CENTS: f64 = 25.0;
/// A reading further from the last than this, and this much a second since, is a leap, in cents.
const LEAP_CENTS: f64 = 15.0;
const LEAP_PER_S: f64 = 250.0;
/// Sound that swells by this much is not one string dying away, in dB: two strings that beat so little wander by less than
/// [`UP_CENTS`], as far as they lie apart by half a semitone.
const SWELLS_DB: f64 = 1.5;
/// A pitch is on the way if it lies this far from the target and this far from everything else that sounds, in cents.
const APART_CENTS: f64 = 25.0;

/// What was heard of the asked string in this step.
#[derive(Clone, Debug, Default)]
pub(super) struct Evidence {
    last: Option<(f64, f64)>,
    /// The lowest and the highest that the note has stood since it settled, in cents from the target.
    span: Option<(f64, f64)>,
    /// The least level since then, in dB.
    quietest_db: f64,
    was_on_the_way: bool,
}

impl Evidence {
    /// A new note begins, or the old one was lost.
    pub(super) fn begin_note(&mut self) {
        self.last = None;
        self.span = None;
    }

    /// Takes a reading of what may be the asked string, `off` cents from the target; `apart` is its distance in cents
    /// from whatever else sounds.
    pub(super) fn take(&mut self, reading: &Reading, off: f64, apart: f64) {
        let (at_s, since_s) = (reading.at_s, reading.since_pluck_s);
        let most = |then_s: f64| LEAP_CENTS + LEAP_PER_S * (at_s - then_s).max(0.0);
        let leaps = self.last.is_some_and(|(then_s, then)| (off - then).abs() > most(then_s));
        let swells = self.span.is_some() && reading.level_db > self.quietest_db + SWELLS_DB;
        if leaps || swells {
            self.span = None;
        }
        self.last = Some((at_s, off));
        if since_s < SETTLED_S {
            return;
        }
        self.quietest_db = if self.span.is_some() { self.quietest_db.min(reading.level_db) } else { reading.level_db };
        let (low, high) = self.span.unwrap_or((off, off));
        self.span = Some((low.min(off), high.max(off)));
        self.was_on_the_way |= off.abs() >= APART_CENTS && apart >= APART_CENTS;
    }

    /// Tells whether a pitch `off` cents from the target, which sounds now, is the asked string's.
    pub(super) fn is_enough(&self, wanted: Wanted, off: f64) -> bool {
        let has_travelled = self.span.is_some_and(|(low, high)| off - low >= UP_CENTS || high - off >= DOWN_CENTS);
        match wanted {
            Wanted::Nothing => true,
            Wanted::OnTheWay => has_travelled || self.was_on_the_way,
            Wanted::Travel => has_travelled,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(since_pluck_s: f64, level_db: f64) -> Reading {
        Reading { at_s: since_pluck_s, level_db, heard: None, note: 1, since_pluck_s }
    }

    fn heard(offs: &[f64]) -> Evidence {
        let mut evidence = Evidence::default();
        for (n, off) in (0_u8..).zip(offs) {
            evidence.take(&reading(0.5 + 0.02 * f64::from(n), -20.0), *off, f64::INFINITY);
        }
        evidence
    }

    #[test]
    fn what_swells_may_be_two_strings_and_has_not_travelled() {
        for (swells_db, enough) in [(0.0, true), (1.0, true), (2.0, false)] {
            let mut evidence = heard(&[-20.0, -10.0]);
            evidence.take(&reading(0.6, -20.0 + swells_db), -1.0, f64::INFINITY);
            assert_eq!(evidence.is_enough(Wanted::Travel, -1.0), enough, "{swells_db} dB");
        }
    }

    #[test]
    fn only_a_moving_note_has_travelled() {
        for (offs, wanted, enough) in [
            (&[0.3, 0.1, 0.0][..], Wanted::Nothing, true),
            (&[0.3, 0.1, 0.0], Wanted::OnTheWay, false),
            (&[0.3, 0.1, 0.0], Wanted::Travel, false),
            (&[-12.0, -6.0, 0.0], Wanted::Travel, true),
            (&[18.0, 9.0, 0.0], Wanted::Travel, false),
            (&[36.0, 24.0, 12.0, 0.0], Wanted::Travel, true),
            (&[-90.0, 0.0, 0.0], Wanted::Travel, false),
            (&[-90.0, 0.0, 0.0], Wanted::OnTheWay, true),
        ] {
            assert_eq!(heard(offs).is_enough(wanted, 0.0), enough, "{offs:?} {wanted:?}");
        }
    }

    #[test]
    fn a_new_note_has_not_travelled_but_the_string_was_on_the_way() {
        let mut evidence = heard(&[-40.0, -30.0, -20.0]);
        evidence.begin_note();
        evidence.take(&reading(0.4, -20.0), 0.0, f64::INFINITY);
        assert!(!evidence.is_enough(Wanted::Travel, 0.0) && evidence.is_enough(Wanted::OnTheWay, 0.0));
    }
}
