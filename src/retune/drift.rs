//! Drift: turning one peg moves the bridge a little, and with it every other string.

use crate::instrument::{Bridge, CourseIndex};
use crate::theory::Cents;

use super::plan::Step;
use super::safety::NeckLoad;

/// How much load moves a fixed bridge by a millimetre, body and neck together, in N/mm. From memory: lowering the
/// thickest guitar string by a tone, 24 N, sharpens the thinnest by about a cent, which this gives.
const FIXED_N_PER_MM: f64 = 5000.0;
/// The same for a bridge balanced on springs: three springs of some 3 N/mm pulling on an arm three times as long as the
/// strings', 3 · 3 · 3². From memory.
const FLOATING_N_PER_MM: f64 = 80.0;
/// A string nearer than this is left alone: well under the 5 cents told apart between tones heard in turn.
const TOLERANCE_CENTS: f64 = 3.0;
/// More passes than this are not foretold.
const MOST_PASSES: u8 = 12;
/// Cents by which a string sharpens for a pull larger by the whole of it, for small changes: the pitch goes with the
/// root of the pull, 1200 / (2 ln 2).
const CENTS_PER_SHARE: f64 = 865.617;

/// What happens to the strings set first while the others are turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    passes: u8,
    after_first_pass: Vec<Cents>,
}

impl Drift {
    /// Returns how often to go through the strings until none is more than 3 cents off, the plan itself counted: 0
    /// without steps, 12 for "twelve or more".
    #[must_use]
    pub const fn passes(&self) -> u8 {
        self.passes
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
    /// string loses k times that. Friction, the neck's slow creep and leverage are not in the model.
    pub(super) fn foretell(load: &NeckLoad, steps: &[Step], bridge: Bridge) -> Self {
        let mut neck = Neck::new(load, bridge);
        for step in steps {
            neck.set(step.course().from_lowest_index());
        }
        let after_first_pass = neck.off();
        let mut passes = u8::from(!steps.is_empty());
        while !steps.is_empty() && passes < MOST_PASSES {
            let off = neck.off();
            if off.iter().all(|off| off.abs().get() <= TOLERANCE_CENTS) {
                break;
            }
            passes += 1;
            for course in by_size(&off) {
                neck.set(course);
            }
        }
        Self { passes, after_first_pass }
    }
}

/// Pulls and stiffnesses while pegs are turned, in N and N/mm.
struct Neck {
    pull: Vec<f64>,
    target: Vec<f64>,
    stiffness: Vec<f64>,
    bridge: f64,
}

impl Neck {
    fn new(load: &NeckLoad, bridge: Bridge) -> Self {
        let count = load.strung().courses();
        Self {
            pull: (0..count).map(|course| load.before(course)).collect(),
            target: (0..count).map(|course| load.after(course)).collect(),
            stiffness: (0..count)
                .map(|course| load.strung().stiffness_n_per_mm(CourseIndex::from_lowest(course)))
                .collect(),
            bridge: match bridge {
                Bridge::Fixed => FIXED_N_PER_MM,
                Bridge::Floating => FLOATING_N_PER_MM,
            },
        }
    }

    /// Brings one course to its target; the bridge gives, and the others with it.
    fn set(&mut self, course: usize) {
        let change = self.target[course] - self.pull[course];
        let others: f64 = self.stiffness.iter().sum::<f64>() - self.stiffness[course];
        let moved_mm = change / (self.bridge + others);
        for (pull, stiffness) in self.pull.iter_mut().zip(&self.stiffness) {
            *pull -= stiffness * moved_mm;
        }
        self.pull[course] = self.target[course];
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
