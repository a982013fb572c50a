//! Benchmarks; `./dev bench` runs them and DEVELOPERS.md keeps the figures.
#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark that cannot set up has nothing to measure; it prints its figures"
)]

mod names;
mod plain;
mod retune;
mod shapes;
mod songs;
mod sound;

fn main() {
    divan::main();
}
