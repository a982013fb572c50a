//! A tune worked out, in one tuning and in all; its text read.

use std::ops::ControlFlow;

use divan::counter::BytesCount;
use divan::{Bencher, black_box};
use pegwise::arrange::{Pin, Pinned, TuningCandidate, Wishes, arrange, try_tunings};
use pegwise::instrument::{Catalog, Fret, Instrument, Tuning};
use pegwise::retune::{CourseState, Effort};
use pegwise::theory::{ReferencePitch, Semitones};
use pegwise::tune::{Quarters, Tune, read_abc};

/// Thirty-two bars with a chord or two in each.
fn text() -> String {
    let music = "\"G\"G2 AB d2 BA|\"C\"G2 E2 \"G\"D4|\"D\"F2 GA c2 BA|\"G\"B2 G2 G4|".repeat(8);
    format!("X:1\nM:4/4\nL:1/8\nK:G\n{music}\n")
}

fn tune() -> Tune {
    read_abc(&text()).remove(0).tune
}

fn guitar() -> &'static Instrument {
    Catalog::bundled().guitar()
}

const TUNINGS: [&str; 4] = ["guitar-standard", "guitar-g6", "guitar-dadgad", "guitar-open-g"];

fn tuning(id: &str) -> Tuning {
    Catalog::bundled().find_tuning(id).unwrap().tuning().clone()
}

fn in_its_key() -> Wishes {
    Wishes { transpose: Some(Semitones::ZERO), capo: Some(Fret::OPEN), ..Wishes::default() }
}

#[divan::bench(args = TUNINGS)]
fn tune_of_32_bars_with_its_key_chosen(bencher: Bencher<'_, '_>, id: &str) {
    let (tune, tuning) = (tune(), tuning(id));
    bencher.bench(|| arrange(black_box(&tune), guitar(), &tuning, &Wishes::default(), &|| false).unwrap());
}

#[divan::bench(args = TUNINGS)]
fn tune_of_32_bars_in_its_key(bencher: Bencher<'_, '_>, id: &str) {
    let (tune, tuning) = (tune(), tuning(id));
    bencher.bench(|| arrange(black_box(&tune), guitar(), &tuning, &in_its_key(), &|| false).unwrap());
}

#[divan::bench(args = TUNINGS)]
fn tune_of_32_bars_with_one_decision(bencher: Bencher<'_, '_>, id: &str) {
    let (tune, tuning) = (tune(), tuning(id));
    let pin = Pin { at: Quarters::new(4, 1).unwrap(), what: Pinned::NoBass };
    let wishes = Wishes { pins: vec![pin], ..in_its_key() };
    bencher.bench(|| arrange(black_box(&tune), guitar(), &tuning, &wishes, &|| false).unwrap());
}

/// In the order the app tries them, from what takes least to get to.
fn candidates(all: &[Tuning]) -> Vec<TuningCandidate<'_>> {
    let catalog = Catalog::bundled();
    let strung = pegwise::instrument::Strung::new(guitar(), catalog.strings_of(guitar())).unwrap();
    let now: Vec<CourseState> =
        catalog.standard_of(guitar()).tuning().pitches().iter().map(|pitch| CourseState::right(*pitch)).collect();
    let effort = |tuning| Effort::between(&strung, &now, tuning, ReferencePitch::default()).unwrap().weight;
    let mut found: Vec<TuningCandidate<'_>> =
        all.iter().map(|tuning| TuningCandidate { tuning, effort: effort(tuning) }).collect();
    found.sort_by(|one, other| one.effort.total_cmp(&other.effort));
    found
}

fn all_tunings() -> Vec<Tuning> {
    Catalog::bundled().tunings_for(guitar()).into_iter().map(|found| found.tuning().clone()).collect()
}

fn try_until(most: usize) -> usize {
    let (tune, all) = (tune(), all_tunings());
    let mut count = 0;
    let mut take = |_| {
        count += 1;
        if count < most { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    };
    let _ = try_tunings(&tune, guitar(), &candidates(&all), &Wishes::default(), 2, &|| false, &mut take);
    count
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn tune_in_all_guitar_tunings_on_two_threads() -> usize {
    try_until(usize::MAX)
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn tune_until_three_tunings_are_known() -> usize {
    try_until(3)
}

#[divan::bench]
fn tunes_of_a_megabyte_read(bencher: Bencher<'_, '_>) {
    let all = format!("{}\n", text()).repeat(2_000);
    bencher.counter(BytesCount::new(all.len())).bench(|| read_abc(black_box(&all)));
}
