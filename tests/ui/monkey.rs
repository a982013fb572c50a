//! Random acts on the real window, with the real saver behind it: no panic, and every law holds after each.
//!
//! `./dev monkey [ACTS] [SEED]`; 20,000 acts unless told. A run that fails says its seed and what it did last.

use std::rc::Rc;
use std::time::Duration;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::App;
use pegwise::platform::{Fake, Machine, Moment};
use pegwise::store::{Disk, LibraryFile, read, write};
use slint::platform::{Key, WindowEvent};
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{controls, set_up, settle};
use crate::every_screen::SIZES;

/// Marsaglia's xorshift (2003).
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(bound.max(1)).unwrap()).unwrap()
    }
}

const TEXTS: [&str; 14] = [
    "",
    "G",
    "dgdgbe",
    "Slipway Number Nine",
    "| G | C G | D7/F# |\n",
    "Verse:\n| G | % |: C :|",
    "{\"format\":\"pegwise-library\",\"version\":1,\"songs\":[{\"id\":1,\"title\":\"In\",\"instrument_id\":\"guitar\",\"tuning\":{\"pitches\":\"E2 A2 D3 G3 B3 E4\"}}]}",
    "A title\nTuning: D2 G2 D3 G3 B3 D4\n\n| G |",
    "Abcdefghijklmnopqrstuvwxyz",
    "שלום 雨 👩🏽‍🚀",
    "e\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}",
    "99999999999999999999",
    "\0\n\t",
    "120",
];

/// Returns what was done.
fn act(app: &Rc<App>, machine: &Fake, random: &mut Random) -> String {
    let window = app.window().window();
    match random.below(40) {
        0 => {
            let (width, height) = SIZES[random.below(SIZES.len())];
            window.set_size(LogicalSize::new(width, height));
            format!("size {width} × {height}")
        }
        1 => {
            let moment = [Moment::Hidden, Moment::Shown, Moment::SaveNow, Moment::MemoryLow][random.below(4)];
            machine.happen(moment);
            format!("{moment:?}")
        }
        2 | 3 => {
            let text: slint::SharedString = Key::Escape.into();
            window.dispatch_event(WindowEvent::KeyPressed { text: text.clone() });
            window.dispatch_event(WindowEvent::KeyReleased { text });
            "Back".to_owned()
        }
        4 => {
            mock_elapsed_time(Duration::from_millis(u64::try_from(random.below(3_000)).unwrap()));
            app.hear();
            "time".to_owned()
        }
        _ => {
            let found = controls(app);
            assert!(!found.is_empty(), "there is always something to tap");
            let control = &found[random.below(found.len())];
            let label = control.accessible_label().unwrap_or_default();
            if control.accessible_role() == Some(i_slint_backend_testing::AccessibleRole::TextInput) {
                let text = TEXTS[random.below(TEXTS.len())].repeat([1, 1, 1, 400][random.below(4)]);
                control.set_accessible_value(text.as_str());
                format!("type {} letters of {:?} into {label}", text.len(), text.chars().take(12).collect::<String>())
            } else {
                control.invoke_accessible_default_action();
                format!("tap {label}")
            }
        }
    }
}

/// What must hold after every act.
fn hold_laws(app: &App) {
    app.with(|state| {
        let again = read(&write(&state.library)).unwrap();
        assert_eq!(again, state.library, "what is kept is read again as it was");
        assert_eq!(state.guitar.tuning().courses(), state.instrument().courses().len(), "a pitch for each course");
        assert!(state.guitar.capo() < state.instrument().last_fret(), "the capo is on the neck");
        let board = state.board();
        for found in &state.shapes.found {
            assert_eq!(found.shape().frets().len(), board.courses(), "a shape has a fret for each course");
        }
    });
}

#[test]
fn random_acts_end_nothing_and_break_no_law() {
    set_up();
    let number =
        |name: &str, otherwise: u64| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise);
    let (acts, seed) = (number("PEGWISE_ACTS", 250), number("PEGWISE_SEED", 27));
    let folder = std::env::temp_dir().join(format!("pegwise-monkey-{}-{seed}", std::process::id()));
    let machine = Rc::new(Fake::new(Some(folder.clone())).with_language("en"));
    let app = App::new(Rc::clone(&machine) as Rc<dyn Machine>).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(360.0, 640.0));
    let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut done: Vec<String> = Vec::new();
    for number in 0..acts {
        let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            let what = act(&app, &machine, &mut random);
            done.push(what);
            settle();
            hold_laws(&app);
            if number % 20 == 0 {
                app.window().window().take_snapshot().unwrap();
            }
        }));
        if outcome.is_err() {
            let last: Vec<&String> = done.iter().rev().take(30).collect();
            panic!("seed {seed}, act {number}; the last first: {last:#?}");
        }
    }
    app.save();
    let library = app.with(|state| state.library.clone());
    let kept = LibraryFile::open(Box::new(Disk), &folder).unwrap().library;
    // Before the first change nothing is written.
    assert!(kept == library || !folder.join("pegwise-library.json").exists(), "what is on disk is what is shown");
    drop(app);
    std::fs::remove_dir_all(&folder).ok();
    eprintln!("{acts} acts from seed {seed}");
}
