//! Drift: turning one peg moves the bridge a little, and with it every other string.

use crate::instrument::{Bridge, CourseIndex, Newtons};
use crate::theory::Cents;

use super::plan::Step;
use super::safety::NeckLoad;
use super::tree::leans_on;

/// A string nearer than this is left alone: well under the 5 cents told apart between tones heard in turn.
const TOLERANCE_CENTS: f64 = 3.0;
/// On a floating bridge each string of a later pass is brought past its mark by this share of what it was off: the others
/// will bring it back by about as much. A quarter takes five rounds where none takes eight, on springs half or twice as
/// stiff as these too; a half takes as many as none (FIGURES).
const PAST_SHARE: f64 = 0.25;
/// A bridge may give so much more than the model's, and it takes longer then: the passes are counted on such.
const SOFTER: f64 = 1.5;
/// More passes than this are not foretold.
const MOST_PASSES: u8 = 12;
/// Cents by which a string sharpens for a pull larger by the whole of it, for small changes: the pitch goes with the
/// root of the pull, 1200 / (2 ln 2).
const CENTS_PER_SHARE: f64 = 865.617;

/// What happens to the strings set first while the others are turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    passes: u8,
    past_share: f64,
    after_first_pass: Vec<Cents>,
}

impl Drift {
    /// Returns how often to go through the strings until none is more than 3 cents off, the plan itself counted: 0
    /// without steps, 12 for "twelve or more".
    #[must_use]
    pub const fn passes(&self) -> u8 {
        self.passes
    }

    /// Returns by which share of what a string is off it is to be brought past its mark in every pass but the first, 0 to
    /// 1: 0 on a fixed bridge. Each string of those passes is led by the phone's tone or the microphone, since the others
    /// are off as well.
    #[must_use]
    pub const fn past_share(&self) -> f64 {
        self.past_share
    }

    /// Returns how far each course is off after the plan's last step, from the highest player number to course 1;
    /// positive is sharp. Courses that stayed are among them.
    #[must_use]
    pub fn after_first_pass(&self) -> &[Cents] {
        &self.after_first_pass
    }

    /// Returns the courses in the order to go over them again: the one furthest off first, ties from the lowest place.
    #[must_use]
    pub fn check_order(&self) -> Vec<CourseIndex> {
        by_size(&self.after_first_pass).into_iter().map(CourseIndex::from_lowest).collect()
    }

    /// Foretells the drift of a plan.
    ///
    /// The strings and the bridge are springs: strings of stiffness k pull on a bridge of stiffness K. Bringing one
    /// course to its target changes its pull by ΔT, moves the bridge by ΔT / (K + Σk of the others), and each other
    /// string loses k times that. Friction, the neck's slow creep and leverage are not in the model. A string that has
    /// drifted when another is set by it passes that on. K is an estimate, with its source in `data/bridges.toml`: lowering the
    /// thickest string of a guitar by a tone, 24 N, then sharpens the thinnest by 2 to 3 cents.
    pub(super) fn foretell(load: &NeckLoad, steps: &[Step], bridge: Bridge) -> Self {
        let past_share = if bridge == Bridge::Floating { PAST_SHARE } else { 0.0 };
        let mut neck = Neck::new(load, bridge, 1.0);
        neck.follow(steps);
        let after_first_pass = neck.off();
        let order = by_size(&after_first_pass);
        let mut passes = u8::from(!steps.is_empty());
        neck = Neck::new(load, bridge, 1.0 / SOFTER);
        neck.follow(steps);
        while !steps.is_empty() && passes < MOST_PASSES {
            if neck.off().iter().all(|off| off.abs().get() <= TOLERANCE_CENTS) {
                break;
            }
            passes += 1;
            for &course in &order {
                neck.bring(course, past_share);
            }
        }
        Self { passes, past_share, after_first_pass }
    }
}

/// Pulls and stiffnesses while pegs are turned, in N and N/mm.
struct Neck {
    pull: Vec<f64>,
    before: Vec<f64>,
    target: Vec<f64>,
    stiffness: Vec<f64>,
    bridge: f64,
}

impl Neck {
    fn new(load: &NeckLoad, bridge: Bridge, share: f64) -> Self {
        let count = load.strung().courses();
        Self {
            pull: (0..count).map(|course| load.before(course)).collect(),
            before: (0..count).map(|course| load.before(course)).collect(),
            target: (0..count).map(|course| load.after(course)).collect(),
            stiffness: (0..count)
                .map(|course| load.strung().stiffness_n_per_mm(CourseIndex::from_lowest(course)))
                .collect(),
            bridge: share * bridge.stiffness_n_per_mm(Newtons::new(load.before_all().max(load.after_all()))),
        }
    }

    /// Brings the course of each step as far off its target as what it is set by is off by then.
    fn follow(&mut self, steps: &[Step]) {
        for step in steps {
            let course = step.course().from_lowest_index();
            let by = step.matches().first().and_then(|way| Some((leans_on(way)?, way.leans_on_old_pitch())));
            let share =
                by.map_or(1.0, |(by, is_old)| self.pull[by] / if is_old { self.before[by] } else { self.target[by] });
            self.turn(course, self.target[course] * share);
        }
    }

    /// Brings one course past its target by a share of what it is off.
    fn bring(&mut self, course: usize, past_share: f64) {
        self.turn(course, self.target[course] + past_share * (self.target[course] - self.pull[course]));
    }

    /// Turns one course until it pulls so much; the bridge gives, and the others with it.
    fn turn(&mut self, course: usize, to: f64) {
        let change = to - self.pull[course];
        let others: f64 = self.stiffness.iter().sum::<f64>() - self.stiffness[course];
        let moved_mm = change / (self.bridge + others);
        for (pull, stiffness) in self.pull.iter_mut().zip(&self.stiffness) {
            *pull -= stiffness * moved_mm;
        }
        self.pull[course] = to;
    }

    fn off(&self) -> Vec<Cents> {
        let off = |(pull, target): (&f64, &f64)| Cents::new(CENTS_PER_SHARE * (pull - target) / target);
        self.pull.iter().zip(&self.target).map(off).collect()
    }
}

fn by_size(off: &[Cents]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..off.len()).collect();
    order.sort_by(|&one, &other| off[other].abs().get().total_cmp(&off[one].abs().get()));
    order
}
