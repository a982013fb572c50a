//! How long plans take.

use divan::{Bencher, black_box};
use pegwise::instrument::Catalog;
use pegwise::retune::{CourseState, Plan, PlanRequest};

/// One plan with safety and check list: nothing stays, the slowest kind. At most 0.1 ms.
#[divan::bench]
fn plan_when_nothing_stays(bencher: Bencher<'_, '_>) {
    let guitar = Catalog::bundled().guitar();
    let standard = Catalog::bundled().standard_of(guitar).tuning();
    let lowered = standard.transposed(pegwise::theory::Semitones::new(-2)).expect("two semitones stay in range");
    let now: Vec<CourseState> = standard.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
    bencher.bench(|| Plan::new(&PlanRequest::new(guitar, black_box(&now), &lowered)));
}

/// Every pair of guitar tunings, a plan each. At most 1 s.
#[divan::bench(sample_count = 3)]
fn all_pairs_of_guitar_tunings(bencher: Bencher<'_, '_>) {
    let guitar = Catalog::bundled().guitar();
    let tunings = Catalog::bundled().tunings_for(guitar);
    let state = |pitches: &[pegwise::theory::Pitch]| -> Vec<CourseState> {
        pitches.iter().map(|&pitch| CourseState::right(pitch)).collect()
    };
    bencher.bench(|| {
        let plan = |from: &[CourseState], to| {
            Plan::new(&PlanRequest::new(guitar, from, to)).map_or(0, |plan| plan.steps().len())
        };
        let mut steps = 0;
        for from in &tunings {
            let now = state(from.tuning().pitches());
            steps += tunings.iter().map(|to| plan(&now, to.tuning())).sum::<usize>();
        }
        steps
    });
}
