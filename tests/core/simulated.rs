//! A guitar that sounds and can be tuned by ear, with its own physics: it shares no arithmetic with the planner.

use pegwise::instrument::{Instrument, Tuning};
use pegwise::retune::{CourseState, Match, MatchKind, Plan, Touch};
use pegwise::theory::Pitch;

/// A guitar that sounds: each course's frequency, computed here and not by the planner.
pub(crate) struct SimulatedGuitar<'a> {
    instrument: &'a Instrument,
    hertz: Vec<f64>,
    target: Vec<f64>,
    is_right: Vec<bool>,
}

/// Equal temperament: A4 is number 69 (MIDI 1.0), twelve equal steps to the octave.
pub(crate) fn equal_tempered(a4: f64, number: u8) -> f64 {
    a4 * 2_f64.powf((f64::from(number) - 69.0) / 12.0)
}

pub(crate) fn cents(from: f64, to: f64) -> f64 {
    1200.0 * (to / from).log2()
}

/// What leaving slow beats alone may add up to along a chain, in cents: less than the 5 told apart between tones heard in
/// turn.
const MOST_LEFT_OFF: f64 = 5.0;

impl<'a> SimulatedGuitar<'a> {
    pub(crate) fn new(instrument: &'a Instrument, now: &[CourseState], to: &Tuning) -> Self {
        Self::sweetened(instrument, now, to, vec![0.0; now.len()])
    }

    /// With a target so many cents over equal temperament, course by course.
    pub(crate) fn sweetened(instrument: &'a Instrument, now: &[CourseState], to: &Tuning, by: Vec<f64>) -> Self {
        let a4 = 440.0;
        let at = |pitch: Pitch, by: f64| equal_tempered(a4, pitch.number()) * 2_f64.powf(by / 1200.0);
        Self {
            instrument,
            hertz: now
                .iter()
                .map(|now| if now.is_right() { at(now.pitch(), now.offset().get()) } else { f64::NAN })
                .collect(),
            target: to.pitches().iter().zip(&by).map(|(&pitch, &by)| at(pitch, by)).collect(),
            is_right: now
                .iter()
                .zip(to.pitches())
                .zip(&by)
                .map(|((now, to), by)| now.is_right() && now.pitch() == *to && (now.offset().get() - by).abs() < 0.05)
                .collect(),
        }
    }

    /// What one side of a comparison sounds, for a string at `open` hertz.
    fn sound(&self, side: pegwise::retune::Sounding, open: f64) -> f64 {
        let course = &self.instrument.courses()[side.course.from_lowest_index()];
        let above = i32::from(side.fret.get()) - i32::from(course.starts_at().get());
        match side.touch {
            Touch::Open => {
                assert_eq!(side.fret.get(), 0);
                open * f64::from(side.partial)
            }
            Touch::Stopped => {
                assert!((1..=12).contains(&above) && self.instrument.has_fret(side.fret), "{side:?}");
                open * 2_f64.powf(f64::from(above) / 12.0) * f64::from(side.partial)
            }
            Touch::Harmonic => {
                // Nodes of a string: 1/2, 1/3, 1/4 and 1/5 of its length lie at frets 12, 7, 5 and just below 4.
                let node = [(2, 12), (3, 7), (4, 5), (5, 4)].iter().find(|node| node.0 == side.partial).unwrap().1;
                assert_eq!(above, node, "{side:?}");
                open * f64::from(side.partial)
            }
        }
    }

    /// Turns the peg until the comparison sounds as the player is asked to hear it, and returns where the string ends.
    /// Where it should beat too slowly to count it is left still.
    fn tune_by(&self, way: &Match) -> f64 {
        let tuned = way.tuned();
        let Some(reference) = way.reference() else {
            assert_eq!(way.kind(), MatchKind::Tone);
            return self.target[tuned.course.from_lowest_index()];
        };
        let at = reference.course.from_lowest_index();
        assert!(self.is_right[at] != way.leans_on_old_pitch(), "leans on a course that is not right: {way:?}");
        assert!(self.hertz[at].is_finite(), "leans on an old pitch that nobody knows: {way:?}");
        let heard = self.sound(reference, self.hertz[at]);
        // A wide interval: the higher string's partial is the higher of the two.
        let tone = self.sound(tuned, self.target[tuned.course.from_lowest_index()]) / f64::from(tuned.partial);
        let is_higher = tone >= heard / f64::from(reference.partial);
        let beats = way.counted().map_or(0.0, |beats| beats.per_second());
        assert!(beats == 0.0 || (0.5..=4.0).contains(&beats.abs()), "nobody counts {beats} a second: {way:?}");
        let wanted = if is_higher { heard + beats } else { heard - beats };
        wanted / self.sound(tuned, 1.0)
    }

    /// Follows a plan to its end; every alternative of every step must lead to the same place, but for what it says it
    /// leaves off.
    pub(crate) fn follow(&mut self, plan: &Plan) {
        let mut variance = vec![0.0; self.hertz.len()];
        let mut left_off = vec![0.0; self.hertz.len()];
        for step in plan.steps() {
            let at = step.course().from_lowest_index();
            assert!(!self.is_right[at], "a course that is right is not touched");
            assert!((1..=3).contains(&step.matches().len()));
            for way in step.matches() {
                assert_eq!(way.tuned().course, step.course());
                let ended = self.tune_by(way);
                let before = way.reference().filter(|_| !way.leans_on_old_pitch());
                let expected =
                    way.left_off().get() + before.map_or(0.0, |side| left_off[side.course.from_lowest_index()]);
                let off = cents(self.target[at], ended) - expected;
                assert!(off.abs() < 0.02, "{off} cents off by {way:?}");
                self.check_sides(way, at);
            }
            if let Some(by) = step.distance() {
                assert!((cents(self.hertz[at], self.target[at]) - by.get()).abs() < 1e-6);
                assert_eq!(step.comes_up_from_below(), self.target[at] < self.hertz[at]);
            }
            let best = &step.matches()[0];
            let before = best.reference().filter(|_| !best.leans_on_old_pitch());
            let before = before.map(|side| side.course.from_lowest_index());
            let left = best.left_off().get();
            left_off[at] = left + before.map_or(0.0, |before| left_off[before]);
            variance[at] = best.error().get().powi(2) - left.powi(2) + before.map_or(0.0, |before| variance[before]);
            assert!((step.left_off().get() - left_off[at]).abs() < 1e-9);
            let chain = (variance[at] + left_off[at].powi(2)).sqrt();
            assert!((step.chain_error().get() - chain).abs() < 1e-9, "errors add up along the chain");
            self.hertz[at] = self.tune_by(best);
            self.is_right[at] = true;
        }
        for (at, (hertz, target)) in self.hertz.iter().zip(&self.target).enumerate() {
            assert!(self.is_right[at] && (cents(*target, *hertz) - left_off[at]).abs() < 0.05, "course {at}");
            assert!(left_off[at].abs() < MOST_LEFT_OFF, "course {at}: {} cents", left_off[at]);
        }
        for check in plan.checks() {
            self.check_sides(check.how(), check.how().tuned().course.from_lowest_index());
        }
    }

    /// Both sides sound the same partial frequency, within the error stated, or beat at the rate stated.
    fn check_sides(&self, way: &Match, tuned: usize) {
        let heard = self.sound(way.tuned(), self.target[tuned]);
        let Some(reference) = way.reference() else {
            return;
        };
        let at = reference.course.from_lowest_index();
        let against = self.sound(reference, if way.leans_on_old_pitch() { self.hertz[at] } else { self.target[at] });
        let (apart, beats) = (cents(against, heard), (heard - against).abs());
        assert!((beats - way.beats().per_second().abs()).abs() < 1e-6, "{beats} {way:?}");
        assert!((apart - way.lean().get()).abs() < 1e-6, "{apart} {way:?}");
        let is_counted = (0.5..=4.0).contains(&beats);
        assert_eq!(is_counted, way.counted().is_some());
        assert!(beats <= 4.0 && heard <= 1201.0, "{beats} a second at {heard} Hz: {way:?}");
        assert!((way.left_off().get() - if is_counted { 0.0 } else { -apart }).abs() < 1e-6);
        // What is not counted away is heard as an error. A count a quarter off (from memory) leaves less than the error
        // stated; only the logarithm's curve between the two beats is forgiven.
        let left = if is_counted { cents(against + 1.25 * (heard - against), heard) } else { apart };
        let curve = if is_counted { 0.002 * apart.abs() } else { 0.0 };
        assert!(left.abs() <= way.error().get() + curve, "{left} {way:?}");
        assert!((way.cents_per_beat().get() - cents(heard, heard + 1.0)).abs() < 1e-6);
        let open = self.sound(way.tuned(), self.target[tuned]) / f64::from(way.tuned().partial);
        let other = against / f64::from(reference.partial);
        match way.kind() {
            MatchKind::Unison => assert!(cents(open, other).abs() < 40.0),
            MatchKind::Octave => {
                let octaves = cents(open, other).abs() / 1200.0;
                assert!((octaves - octaves.round()).abs() < 0.03 && (1.0..=2.0).contains(&octaves.round()), "{way:?}");
            }
            MatchKind::Harmonic => {
                assert!(way.tuned().touch == Touch::Harmonic || reference.touch == Touch::Harmonic);
            }
            MatchKind::Tone => panic!("a tone has no reference"),
        }
    }
}
