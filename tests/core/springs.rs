//! Bridges that give, as a coupled system with its own physics: after the passes that are told every string is right.

use pegwise::app::{Action, InstrumentAction, RetuneAction, Stage, State, TuningsAction};
use pegwise::instrument::{Bridge, Catalog, Instrument, Newtons, Tuning};
use pegwise::retune::{CourseState, Match, Plan, PlanRequest, Touch};
use pegwise::store::Library;

use crate::retune::{all_right, guitar_tuning};
use crate::simulated::{cents, equal_tempered};

/// Young's modulus of music wire, in MPa, and the density of steel, in kg/m³ (handbook values).
const WIRE_MPA: f64 = 205_000.0;
const STEEL: f64 = 7850.0;

/// One string: what it weighs, how stiff it is, and how long it would be without pull.
#[derive(Clone)]
struct Wire {
    kg_per_m: f64,
    stiff_n: f64,
    slack_mm: f64,
}

/// A guitar whose bridge yields in proportion to the strings' pull: each string's length, pull and pitch follow from where
/// its peg is and where the bridge stands.
#[derive(Clone)]
struct Springs {
    wires: Vec<Wire>,
    scale_mm: f64,
    n_per_mm: f64,
    /// What the bridge rests at: it stands at the scale length under this pull.
    balanced_n: f64,
}

impl Springs {
    fn new(instrument: &Instrument, hertz: &[f64], n_per_mm: f64) -> Self {
        let scale_mm = instrument.scale_mm();
        let set = Catalog::bundled().strings_of(instrument);
        let mut wires = Vec::new();
        let mut balanced_n = 0.0;
        for (gauges, &hertz) in set.gauges().iter().zip(hertz) {
            let (across, is_wound) = (gauges[0].diameter_mm(), gauges[0].is_wound());
            // A core four tenths of the whole, from memory; the wrap fills nine tenths of the rest.
            let core = if is_wound { 0.4 * across } else { across };
            let area = |mm: f64| std::f64::consts::FRAC_PI_4 * mm * mm;
            let kg_per_m = STEEL * 1e-6 * (area(core) + if is_wound { 0.9 * (area(across) - area(core)) } else { 0.0 });
            let pull = kg_per_m * (2.0 * scale_mm * 1e-3 * hertz).powi(2);
            let stiff_n = WIRE_MPA * area(core);
            balanced_n += pull;
            wires.push(Wire { kg_per_m, stiff_n, slack_mm: scale_mm / (1.0 + pull / stiff_n) });
        }
        Self { wires, scale_mm, n_per_mm, balanced_n }
    }

    /// How far the bridge stands towards the nut: where the strings' pull and the springs agree. By bisection.
    fn bridge_mm(&self) -> f64 {
        let (mut low, mut high) = (-20.0, 20.0);
        for _ in 0..60 {
            let at = (low + high) / 2.0;
            let pull: f64 = self.wires.iter().map(|wire| self.pull(wire, at)).sum();
            if pull - self.balanced_n > self.n_per_mm * at { low = at } else { high = at }
        }
        (low + high) / 2.0
    }

    fn pull(&self, wire: &Wire, bridge_mm: f64) -> f64 {
        (wire.stiff_n * ((self.scale_mm - bridge_mm) / wire.slack_mm - 1.0)).max(0.0)
    }

    fn hertz(&self, course: usize) -> f64 {
        let bridge = self.bridge_mm();
        let wire = &self.wires[course];
        (self.pull(wire, bridge) / wire.kg_per_m).sqrt() / (2e-3 * (self.scale_mm - bridge))
    }

    /// Turns a peg until the string sounds at `hertz`, all others shifting meanwhile.
    fn turn(&mut self, course: usize, hertz: f64) {
        let (mut low, mut high) = (self.scale_mm * 0.97, self.scale_mm * 1.03);
        for _ in 0..50 {
            self.wires[course].slack_mm = (low + high) / 2.0;
            if self.hertz(course) > hertz {
                low = self.wires[course].slack_mm
            } else {
                high = self.wires[course].slack_mm
            }
        }
    }
}

fn partial(way: &Match, side: pegwise::retune::Sounding) -> f64 {
    let stopped = if side.touch == Touch::Stopped { 2_f64.powf(f64::from(side.fret.get()) / 12.0) } else { 1.0 };
    let _ = way;
    stopped * f64::from(side.partial)
}

/// Does what the plan says, on a bridge of this stiffness, and returns how far off the strings are after each pass.
fn perform(instrument: &Instrument, from: &Tuning, to: &Tuning, bridge: Bridge, n_per_mm: f64) -> (Plan, Vec<f64>) {
    let at = |tuning: &Tuning| -> Vec<f64> {
        tuning.pitches().iter().map(|pitch| equal_tempered(440.0, pitch.number())).collect()
    };
    let now: Vec<CourseState> = all_right(from);
    let plan = Plan::new(&PlanRequest { bridge, ..PlanRequest::new(instrument, &now, to) }).unwrap();
    let (target, mut guitar) = (at(to), Springs::new(instrument, &at(from), n_per_mm));
    let worst = |guitar: &Springs| {
        (0..target.len()).map(|course| cents(target[course], guitar.hertz(course)).abs()).fold(0.0, f64::max)
    };
    for step in plan.steps() {
        let (course, way) = (step.course().from_lowest_index(), &step.matches()[0]);
        let Some(reference) = way.reference() else {
            guitar.turn(course, target[course]);
            continue;
        };
        // The partials meet where the reference is by now; what beats are asked for are counted against that.
        let heard = guitar.hertz(reference.course.from_lowest_index()) * partial(way, reference);
        let beats = way.counted().map_or(0.0, |beats| beats.per_second());
        let is_higher = target[course] >= heard / f64::from(reference.partial);
        let wanted = if is_higher { heard + beats } else { heard - beats };
        guitar.turn(course, wanted / partial(way, way.tuned()));
    }
    let mut passes = vec![worst(&guitar)];
    for _ in 1..plan.drift().passes() {
        for course in plan.drift().check_order() {
            let course = course.from_lowest_index();
            let off = cents(target[course], guitar.hertz(course));
            guitar.turn(course, target[course] * 2_f64.powf(-plan.drift().past_share() * off / 1200.0));
        }
        passes.push(worst(&guitar));
    }
    (plan, passes)
}

const WAYS: [(&str, &str); 6] = [
    ("E A D G B E", "D A D G B E"),
    ("E A D G B E", "D G D G B D"),
    ("E A D G B E", "D A D G A D"),
    ("E A D G B E", "D2 G2 C3 F3 A3 D4"),
    ("D2 G2 C3 F3 A3 D4", "E A D G B E"),
    ("E A D G B E", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
];

/// Springs softer and stiffer than the planner takes them to be (80 N/mm, from memory).
#[test]
fn on_a_floating_bridge_every_string_is_right_after_the_passes_told() {
    let instrument = Catalog::bundled().find_instrument("electric-guitar-floating").unwrap();
    for (from, to) in WAYS {
        for n_per_mm in [60.0, 80.0, 120.0] {
            let (plan, passes) =
                perform(instrument, &guitar_tuning(from), &guitar_tuning(to), Bridge::Floating, n_per_mm);
            let rounded: Vec<f64> = passes.iter().map(|off| off.round()).collect();
            println!("{from} to {to} at {n_per_mm} N/mm: {rounded:?} cents after each pass");
            assert!(passes.last().is_some_and(|off| *off <= 3.0), "{from} to {to} at {n_per_mm}: {rounded:?}");
            assert!(plan.is_led_by_tone() && plan.drift().passes() > 2);
            for step in plan.steps() {
                assert_eq!(step.matches().len(), 1, "{step:?}");
                assert!(step.matches()[0].reference().is_none());
            }
            assert!(plan.checks().iter().all(|check| check.how().reference().is_none()));
            assert_eq!(plan.checks().len(), 6);
        }
    }
}

/// A top that turns by 1°, 2° and 2.5° under the whole pull, 12.5 mm from its axis to the strings (believed).
#[test]
fn on_a_fixed_bridge_every_string_is_right_after_the_passes_told() {
    let guitar = Catalog::bundled().guitar();
    for (from, to) in WAYS {
        for degrees in [1.0_f64, 2.0, 2.5] {
            let n_per_mm = 700.0 / (degrees.to_radians() * 12.5);
            let (plan, passes) = perform(guitar, &guitar_tuning(from), &guitar_tuning(to), Bridge::Fixed, n_per_mm);
            let tenths: Vec<f64> = passes.iter().map(|off| (off * 10.0).round() / 10.0).collect();
            println!("{from} to {to} on a top that turns {degrees}°: {tenths:?} cents after each pass");
            assert!(passes.last().is_some_and(|off| *off <= 3.0), "{from} to {to}: {tenths:?}");
            assert!(!plan.is_led_by_tone());
        }
    }
}

/// How far a top gives, by another way: a clamped round plate turned by a stiff piece in its middle (Roark's Formulas for
/// Stress and Strain, trunnion on an annular plate, θ = α·M / (E·t³); α = 0.6 for a fifth of the width, from memory). Spruce
/// of 10 GPa and 2.8 mm, without braces but as stiff across the grain as along it (handbook values).
#[test]
fn a_fixed_bridge_gives_about_as_much_as_a_plate_of_spruce() {
    let (alpha, young_pa, thick_m, arm_m): (f64, f64, f64, f64) = (0.6, 10.0e9, 2.8e-3, 12.5e-3);
    let nm_per_radian = young_pa * thick_m.powi(3) / alpha;
    let plate_n_per_mm = nm_per_radian / (arm_m * arm_m) / 1000.0;
    let ours = Bridge::Fixed.stiffness_n_per_mm(Newtons::new(700.0));
    let ratio = ours / plate_n_per_mm;
    assert!((0.5..1.0).contains(&ratio), "{ours:.0} N/mm, a plate {plate_n_per_mm:.0}");
    // It turns with the whole pull, so nylon's half gives half the stiffness; springs are what they are.
    assert!((Bridge::Fixed.stiffness_n_per_mm(Newtons::new(350.0)) * 2.0 - ours).abs() < 1e-6);
    let springs = |newtons: f64| Bridge::Floating.stiffness_n_per_mm(Newtons::new(newtons));
    assert!((springs(300.0) - springs(700.0)).abs() < 1e-9 && springs(700.0) < ours / 10.0);
}

/// A second round on springs is led as the first was: every string, each by a note from outside, to the same tuning.
#[test]
fn on_springs_a_further_round_leads_through_every_string() {
    let mut state = State::new(Library::default());
    state.update(Action::Instrument(InstrumentAction::Instrument("electric-guitar-floating".to_owned())));
    let drop_d = state.catalog().tunings_for(state.instrument()).into_iter().find(|tuning| tuning.name() == "Drop D");
    state.update(Action::Tunings(TuningsAction::Choose(drop_d.unwrap().id().to_owned())));
    while state.guitar.stage() == Stage::Step {
        state.update(Action::Retune(RetuneAction::Confirm));
    }
    let wanted = state.guitar.target().cloned();
    assert_eq!((state.guitar.stage(), wanted.is_some()), (Stage::Check, true));
    state.update(Action::Retune(RetuneAction::DoubtAll));
    assert_eq!((state.guitar.stage(), state.guitar.target().cloned()), (Stage::Step, wanted));
    let plan = state.guitar.plan().unwrap();
    assert_eq!(plan.steps().len(), 6);
    assert!(plan.steps().iter().all(|step| step.matches().iter().all(|way| way.reference().is_none())));
}
