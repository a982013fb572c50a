//! How long a frame takes while a finger moves, with the renderer the desktop uses, at 412 × 915.
//!
//! `cargo bench --bench frames` prints the figures and fails above 16.7 ms, a sixtieth of a second; built without
//! optimisation (`cargo run --features app` and the like) it only prints. A frame is all that happens between a move of
//! the finger and the points in memory: the event, the layout, the drawing.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark prints, and may fail by panicking"
)]

use std::rc::Rc;
use std::time::{Duration, Instant};

use pegwise::app::{Action, App, ExchangeAction, PlayingAction, SongAction, SongsAction, State, Tab};
use pegwise::instrument::Catalog;
use pegwise::songs::{ChosenTuning, Song};
use pegwise::store::Library;
use slint::platform::software_renderer::{MinimalSoftwareWindow, PremultipliedRgbaColor, RepaintBufferType};
use slint::platform::{Key, Platform, PointerEventButton, WindowAdapter, WindowEvent};
use slint::{ComponentHandle, LogicalPosition, PhysicalSize, PlatformError};

const WIDTH: u32 = 412;
const HEIGHT: u32 = 915;
/// A sixtieth of a second, in milliseconds.
const FRAME_MS: f64 = 16.7;
/// Distance of the finger between two frames, in dp: a quick flick.
const MOVE_DP: f32 = 24.0;

/// A window whose points are kept between frames, as a phone's are, so that only what changed is drawn.
struct Kept {
    window: Rc<MinimalSoftwareWindow>,
    start: Instant,
}

impl Platform for Kept {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(Rc::clone(&self.window) as Rc<dyn WindowAdapter>)
    }

    fn duration_since_start(&self) -> Duration {
        self.start.elapsed()
    }
}

struct Screen {
    app: Rc<App>,
    window: Rc<MinimalSoftwareWindow>,
    points: Vec<PremultipliedRgbaColor>,
}

impl Screen {
    /// Does `what` and draws; returns how long both took. A frame in which nothing had to be drawn counts too.
    fn frame(&mut self, what: impl FnOnce(&App)) -> Duration {
        let begun = Instant::now();
        what(&self.app);
        slint::platform::update_timers_and_animations();
        self.window.draw_if_needed(|renderer| {
            renderer.render(&mut self.points, usize::try_from(WIDTH).unwrap());
        });
        let taken = begun.elapsed();
        // A screen shows sixty frames a second: what waits for its time comes as it would there.
        std::thread::sleep(Duration::from_millis(16).saturating_sub(taken));
        taken
    }

    fn scrolls_the_list(&mut self) -> Vec<Duration> {
        self.app.act(Action::Tab(Tab::Tunings));
        self.frame(|_| ());
        let position = LogicalPosition::new(200.0, 600.0);
        // Down the list and up again, several times.
        (0..300)
            .map(|frame| {
                let delta_y = if frame % 100 < 50 { -MOVE_DP } else { MOVE_DP };
                self.frame(|app| {
                    app.window().window().dispatch_event(WindowEvent::PointerScrolled {
                        position,
                        delta_x: 0.0,
                        delta_y,
                    });
                })
            })
            .collect()
    }

    /// Opens a song to be played.
    fn play(&mut self, verses: usize) {
        let text = song_of(verses).to_text();
        for action in [ExchangeAction::Typed(text), ExchangeAction::Read, ExchangeAction::TakeIn] {
            self.app.act(Action::Exchange(action));
        }
        let id = self.app.with(|state| state.library.songs().last().map(|song| song.id)).unwrap();
        self.app.act(Action::Songs(SongsAction::Open(id)));
        self.app.act(Action::Song(SongAction::Play));
        for _ in 0..3 {
            self.frame(|_| ());
        }
    }

    /// Turns through a song by a pedal; only the frames in which a line is turned are counted.
    fn turns_pages(&mut self, verses: usize) -> Vec<Duration> {
        self.play(verses);
        // A window gets keys while it is the one in use.
        self.app.window().window().dispatch_event(WindowEvent::WindowActiveChanged(true));
        self.frame(|_| ());
        let key: slint::SharedString = Key::PageDown.into();
        let mut taken = Vec::new();
        for _ in 0..50 {
            let before = self.app.with(line);
            taken.push(self.frame(|app| {
                let window = app.window().window();
                window.dispatch_event(WindowEvent::KeyPressed { text: key.clone() });
                window.dispatch_event(WindowEvent::KeyReleased { text: key.clone() });
                // The app acts when the press is over.
                slint::platform::update_timers_and_animations();
            }));
            assert!(self.app.with(line) > before, "the pedal leads on");
            for _ in 0..3 {
                self.frame(|_| ());
            }
        }
        taken
    }

    /// Goes through a song by the clock for fifteen seconds: every frame, the ones while the page slides among them.
    fn goes_by_the_clock(&mut self) -> Vec<Duration> {
        self.play(20);
        self.app.act(Action::Playing(PlayingAction::ToggleClock));
        let taken = (0..900).map(|_| self.frame(|_| ())).collect();
        assert!(self.app.with(line) >= 2, "the clock leads on");
        self.app.act(Action::Playing(PlayingAction::ToggleClock));
        taken
    }

    fn swipes_shapes(&mut self) -> Vec<Duration> {
        self.app.act(Action::Tab(Tab::Shapes));
        self.frame(|_| ());
        let mut taken = Vec::new();
        for swipe in 0..40 {
            // To the next shapes, then back again.
            let (from, step) = if swipe % 20 < 10 { (300.0, -MOVE_DP) } else { (100.0, MOVE_DP) };
            let at = |x: f32| LogicalPosition::new(x, 450.0);
            let before = self.app.with(shown);
            let send = |app: &App, event: WindowEvent| app.window().window().dispatch_event(event);
            taken.push(self.frame(|app| {
                send(app, WindowEvent::PointerMoved { position: at(from) });
                send(app, WindowEvent::PointerPressed { position: at(from), button: PointerEventButton::Left });
            }));
            let mut x = from;
            for _ in 0..8 {
                x += step;
                taken.push(self.frame(|app| send(app, WindowEvent::PointerMoved { position: at(x) })));
            }
            taken.push(self.frame(|app| {
                send(app, WindowEvent::PointerReleased { position: at(x), button: PointerEventButton::Left });
            }));
            assert!(swipe > 0 || self.app.with(shown) != before, "the swipe turns to the next shape");
        }
        taken
    }
}

/// A song of so many verses, chords over words, at 120 beats a minute.
fn song_of(verses: usize) -> Song {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(catalog.guitar());
    let chosen = ChosenTuning { id: Some(standard.id().into()), pitches: standard.tuning().clone() };
    let mut song = Song::new("The Long Ferry", "guitar", chosen);
    let verse = "Verse\nG              C\nLow water on the sand tonight\nEm       D7       G\nand nobody to row her home\n\
                 | Am | F G | C | % |\n\"over the weir and over the weir\n\n";
    song.chart = verse.repeat(verses);
    song.tempo_bpm = Some(120);
    song
}

/// Which line is played.
fn line(state: &State) -> usize {
    state.playing.at
}

/// Which shape is shown, as text.
fn shown(state: &State) -> String {
    format!("{:?}", state.shapes)
}

/// The duration that 95 of 100 do not exceed, and the longest, in milliseconds.
fn slow(mut taken: Vec<Duration>) -> (f64, f64) {
    taken.sort_unstable();
    let ms = |index: usize| taken[index.min(taken.len() - 1)].as_secs_f64() * 1000.0;
    (ms(taken.len() * 95 / 100), ms(taken.len() - 1))
}

/// Memory the process holds, in MB (10⁶ bytes), where the system tells it as Linux does.
fn resident_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}

fn main() {
    let window = MinimalSoftwareWindow::new(RepaintBufferType::ReusedBuffer);
    let kept = Kept { window: Rc::clone(&window), start: Instant::now() };
    slint::platform::set_platform(Box::new(kept)).unwrap();
    let begun = Instant::now();
    let mut library = Library::default();
    library.settings.language = Some("en".to_owned());
    let app = App::unkept(State::new(library)).unwrap();
    app.window().show().unwrap();
    window.set_size(PhysicalSize::new(WIDTH, HEIGHT));
    let points = vec![PremultipliedRgbaColor::default(); usize::try_from(WIDTH * HEIGHT).unwrap()];
    let mut screen = Screen { app, window, points };
    screen.frame(|_| ());
    println!("first frame after {:.1} ms, without the system's window", begun.elapsed().as_secs_f64() * 1000.0);
    let mut is_slow = false;
    let all = [
        ("scrolling the list of tunings", screen.scrolls_the_list()),
        ("swiping shapes", screen.swipes_shapes()),
        ("a page turn in a song of 160 lines", screen.turns_pages(20)),
        ("a page turn in a song of 2,000 lines", screen.turns_pages(250)),
        ("a song going on by the clock", screen.goes_by_the_clock()),
    ];
    for (name, taken) in all {
        let count = taken.len();
        let (usual, most) = slow(taken);
        println!("{name}: 95 of 100 frames within {usual:.2} ms, the longest {most:.2} ms ({count} frames)");
        is_slow |= usual > FRAME_MS;
    }
    if let Some(mb) = resident_mb() {
        println!("resident memory {mb:.1} MB");
    }
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(2) && slint::platform::duration_until_next_timer_update().is_some() {
        std::thread::sleep(Duration::from_millis(10));
        screen.frame(|_| ());
    }
    let waits = slint::platform::duration_until_next_timer_update();
    println!("idle: next timer {waits:?}");
    assert!(waits.is_none(), "a timer runs while nothing moves");
    assert!(!is_slow || cfg!(debug_assertions), "a frame takes longer than {FRAME_MS} ms");
}
