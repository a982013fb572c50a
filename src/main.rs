//! The desktop door: a command where one is given, else the window.

fn main() -> std::process::ExitCode {
    pegwise::cli::run()
}
