//! Benchmarks; `./dev bench` runs them and DEVELOPERS.md keeps the figures.

fn main() {
    divan::main();
}
