//! The signals by which a system asks a program to end.

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

/// Calls `end` on a thread of its own when the system, or a person at the terminal, asks the program to end; asked a second
/// time, the program ends as it stands.
///
/// Where the signals cannot be had, nothing is called and they end the program.
pub(super) fn on_end(end: Box<dyn Fn() + Send>) {
    let Ok(mut signals) = Signals::new([SIGTERM, SIGINT, SIGHUP]) else { return };
    let wait = move || {
        let mut asked = false;
        for signal in &mut signals {
            if asked {
                // Its default is to end the program, so it does not return.
                let _ = signal_hook::low_level::emulate_default_handler(signal);
            }
            asked = true;
            end();
        }
    };
    // Without a thread for it the program is deaf to the first of them, not to its window.
    let _ = std::thread::Builder::new().name("pegwise-signals".to_owned()).spawn(wait);
}
