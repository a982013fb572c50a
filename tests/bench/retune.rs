//! How long plans, sweetening and the list of what is near take.

use divan::{Bencher, black_box};
use pegwise::instrument::{Bridge, Catalog, Fret, Fretboard, Strung, Tuning};
use pegwise::retune::{CourseState, Plan, PlanRequest, Sweetening, nearest, without_retuning};
use pegwise::theory::{ReferencePitch, Semitones};

fn state(tuning: &Tuning) -> Vec<CourseState> {
    tuning.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect()
}

fn standard() -> &'static Tuning {
    Catalog::bundled().standard_of(Catalog::bundled().guitar()).tuning()
}

/// One plan with safety, drift and check list: nothing stays and the bridge floats, the slowest kind. At most 0.1 ms.
#[divan::bench]
fn plan_when_nothing_stays(bencher: Bencher<'_, '_>) {
    let lowered = standard().transposed(Semitones::new(-2)).expect("two semitones stay in range");
    let now = state(standard());
    let request = PlanRequest::new(Catalog::bundled().guitar(), &now, &lowered);
    bencher.bench(|| Plan::new(black_box(&PlanRequest { bridge: Bridge::Floating, ..request })));
}

/// The same with a string too tight, which looks for a capo and for lighter strings.
#[divan::bench]
fn plan_with_remedies(bencher: Bencher<'_, '_>) {
    let raised = standard().transposed(Semitones::new(5)).expect("five semitones stay in range");
    let now = state(standard());
    bencher.bench(|| Plan::new(black_box(&PlanRequest::new(Catalog::bundled().guitar(), &now, &raised))));
}

/// Every pair of guitar tunings, a plan each. At most 1 s.
#[divan::bench(sample_count = 3)]
fn all_pairs_of_guitar_tunings(bencher: Bencher<'_, '_>) {
    let guitar = Catalog::bundled().guitar();
    let tunings = Catalog::bundled().tunings_for(guitar);
    bencher.bench(|| {
        let steps = |now: &[CourseState], to| {
            Plan::new(&PlanRequest::new(guitar, now, to)).map_or(0, |plan| plan.steps().len())
        };
        let from_one = |from: &Tuning| {
            let now = state(from);
            tunings.iter().map(|to| steps(&now, to.tuning())).sum::<usize>()
        };
        tunings.iter().map(|from| from_one(from.tuning())).sum::<usize>()
    });
}

/// The compromise for five open shapes. At most 1 ms.
#[divan::bench]
fn sweetening_of_five_shapes(bencher: Bencher<'_, '_>) {
    let neck = Fretboard::new(Catalog::bundled().guitar(), standard(), Fret::OPEN).expect("standard fits the guitar");
    let shape = |text: &str| -> Vec<Option<Fret>> {
        text.bytes().map(|fret| fret.is_ascii_digit().then(|| Fret::new(fret - b'0'))).collect()
    };
    let shapes = ["x32010", "x02220", "320003", "022100", "xx0232"].map(shape);
    bencher.bench(|| Sweetening::of_shapes(&neck, black_box(&shapes)));
}

/// The whole guitar catalogue by effort, and what sounds without turning a peg.
#[divan::bench]
fn what_is_near(bencher: Bencher<'_, '_>) {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let strung = Strung::new(guitar, catalog.strings_of(guitar)).expect("the usual set fits");
    let now = state(standard());
    bencher.bench(|| {
        let near = nearest(&strung, black_box(&now), catalog.tunings_for(guitar), ReferencePitch::default());
        (near.len(), without_retuning(guitar, standard(), catalog).len())
    });
}
