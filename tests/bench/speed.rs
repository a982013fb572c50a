//! Benchmarks; `./dev bench` runs them and `tests/FIGURES.md` keeps the figures.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set up has nothing to measure")]

mod names;
mod plain;
mod retune;
mod shapes;
mod sheet;
mod songs;
mod sound;
mod tune;

fn main() {
    divan::main();
}
