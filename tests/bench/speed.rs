//! Benchmarks; `./dev bench` runs them and DEVELOPERS.md keeps the figures.

mod retune;

fn main() {
    divan::main();
}
