//! Nothing runs while nothing moves: a screen that is only looked at costs no processor time.

use std::time::Duration;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::Clock;
use slint::ComponentHandle;

use crate::sights::sights;
use crate::tree::pieces;

#[test]
fn no_timer_and_no_animation_runs_on_a_screen_that_is_only_looked_at() {
    for sight in sights() {
        let app = sight.open("en", 360.0, 640.0, 14.0);
        // The layout is asked for, what moves on opening comes to rest, and what is told is read and goes.
        for _ in 0..4 {
            let _ = pieces(&app);
            mock_elapsed_time(Duration::from_secs(15));
        }
        // A song that goes on by itself moves.
        if app.with(|state| state.playing.clock != Clock::Off) {
            continue;
        }
        let next = slint::platform::duration_until_next_timer_update();
        assert_eq!(next, None, "a timer runs on {}", sight.name);
        assert!(!app.window().window().has_active_animations(), "something moves on {}", sight.name);
    }
}
