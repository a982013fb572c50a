//! The command line: the results of the screens as text or JSON, from the same functions, without a window.
//!
//! Courses are numbered as players do, lists run from the highest number to course 1, and note names in JSON are plain
//! ASCII. What cannot be read ends with exit code 2 and one sentence on standard error.

mod args;
mod arranging;
mod harmony;
mod near;
mod plucking;
mod progression;
mod retuning;
mod sheets;
mod sounding;
mod tab;
mod told;
mod written;

use std::fmt;
use std::io::Write;
use std::process::ExitCode;

use clap::Parser;

use args::{Args, Command};

/// Does what the arguments ask for; without a command, opens the window.
#[must_use]
pub fn run() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let code = if error.use_stderr() { ExitCode::from(2) } else { ExitCode::SUCCESS };
            // Nothing is left to tell when the terminal itself is gone.
            let _ = error.print();
            return code;
        }
    };
    match answer(args.command) {
        Ok(text) => {
            // A reader that closes early, such as `head`, has what it wanted.
            let _ = std::io::stdout().lock().write_all(text.as_bytes());
            ExitCode::SUCCESS
        }
        Err(failure) => {
            let _ = writeln!(std::io::stderr().lock(), "pegwise: {failure}");
            match failure {
                Failure::Input(_) => ExitCode::from(2),
                Failure::Machine(_) => ExitCode::FAILURE,
            }
        }
    }
}

fn answer(command: Option<Command>) -> Result<String, Failure> {
    match command {
        None => open_window(),
        Some(Command::Tunings(wanted)) => retuning::tunings(&wanted),
        Some(Command::Retune(wanted)) => retuning::retune(&wanted),
        Some(Command::Key(wanted)) => harmony::key(&wanted),
        Some(Command::Shapes(wanted)) => harmony::shapes(&wanted),
        Some(Command::Name(wanted)) => harmony::name(&wanted),
        Some(Command::Listen(wanted)) => sounding::listen(&wanted),
        Some(Command::Sound(wanted)) => sounding::sound(&wanted),
        Some(Command::Arrange(wanted)) => arranging::arrange(&wanted),
        Some(Command::Sheet(wanted)) => sheets::sheet(&wanted),
        Some(Command::WriteDown(wanted)) => plucking::write_down(&wanted),
        #[cfg(feature = "ui-tests")]
        Some(Command::Screens(wanted)) => draw_screens(&wanted.folder, &wanted.only),
    }
}

#[cfg(feature = "app")]
fn open_window() -> Result<String, Failure> {
    let is_named = |display: &str| std::env::var_os(display).is_some_and(|name| !name.is_empty());
    let has_display = is_named("DISPLAY") || is_named("WAYLAND_DISPLAY");
    if cfg!(target_os = "linux") && !has_display {
        let sentence = "there is no display here to open a window on; \"pegwise help\" lists what needs none";
        return Err(Failure::Machine(sentence.to_owned()));
    }
    let shown = crate::app::App::new(std::rc::Rc::new(crate::platform::Desktop)).and_then(|app| app.run());
    shown.map(|()| String::new()).map_err(|fault| {
        // The toolkit's own words go on for lines, down to the places in its source.
        let fault = fault.to_string();
        let fault = fault.lines().next().unwrap_or_default().trim_end_matches('.');
        Failure::Machine(format!("the window cannot be opened: {fault}"))
    })
}

#[cfg(not(feature = "app"))]
fn open_window() -> Result<String, Failure> {
    Err(Failure::Machine("this build has no window; \"pegwise help\" lists the commands".to_owned()))
}

#[cfg(feature = "ui-tests")]
fn draw_screens(folder: &std::path::Path, only: &[String]) -> Result<String, Failure> {
    let drawn = crate::app::draw_screens(folder, only).map_err(|fault| Failure::Machine(fault.to_string()))?;
    Ok(format!("{drawn} pictures in {}\n", folder.display()))
}

/// Why a command gives no answer.
#[derive(Debug)]
enum Failure {
    /// What was given cannot be understood or does not fit.
    Input(String),
    /// The machine does not let it be done.
    Machine(String),
}

impl Failure {
    fn input(fault: impl fmt::Display) -> Self {
        Self::Input(fault.to_string())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(sentence) | Self::Machine(sentence) => f.write_str(sentence),
        }
    }
}

/// Writes a value as indented JSON.
fn json(value: &impl serde::Serialize) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|fault| Failure::Machine(fault.to_string()))?;
    Ok(text + "\n")
}
