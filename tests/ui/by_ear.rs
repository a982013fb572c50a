//! The first time by ear in the window, and the first step as it is seen.

use std::rc::Rc;

use pegwise::app::ui::{ListenState, RetuneState};
use pegwise::app::{Action, EarsAction, RetuneAction, Stage, Told, TuningsAction};
use pegwise::app::{App, GuideAction, Sound, State};
use pegwise::platform::DeviceFault;
use pegwise::store::Library;
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{find, open, set_up, tap, texts};
use crate::tree::pieces;

/// The app as it is opened for the first time.
fn open_new(width: f32, height: f32) -> Rc<App> {
    set_up();
    let mut library = Library::default();
    library.settings.language = Some("en".to_owned());
    let app = App::unkept(State::new(library)).unwrap();
    app.window().show().unwrap();
    app.window().window().set_size(LogicalSize::new(width, height));
    app
}

fn shows_lesson(app: &App) -> bool {
    app.window().global::<ListenState<'_>>().get_lesson()
}

#[test]
fn before_the_first_step_a_wobble_is_heard_to_slow_down_once() {
    // So high that nothing lies below its edge: what does is not found.
    let app = open_new(360.0, 1600.0);
    tap(&app, "G6");
    assert!(shows_lesson(&app) && find(&app, "It is right").is_none());
    assert!(texts(&app).iter().any(|text| text.starts_with("Turn the volume down first")));
    tap(&app, "Hear a wobble slow down");
    assert_eq!(app.with(|state| state.ears.sounding), Some(Sound::Slowing));
    tap(&app, "Hear an octave, then the note itself");
    assert_eq!(app.with(|state| state.ears.sounding), Some(Sound::OctaveOff));
    tap(&app, "Go to the step");
    assert!(!shows_lesson(&app) && find(&app, "It is right").is_some());
    assert_eq!(app.with(|state| state.ears.sounding), None);
    // Once; and again from the step's own help.
    tap(&app, "It is right");
    assert!(!shows_lesson(&app));
    tap(&app, "Hear it");
    tap(&app, "What to listen for");
    assert!(shows_lesson(&app));
    tap(&app, "Go to the step");
    assert!(!shows_lesson(&app) && find(&app, "It is right").is_some());
}

#[test]
fn it_can_be_skipped_and_a_silent_phone_says_so() {
    let app = open_new(320.0, 568.0);
    tap(&app, "G6");
    assert!(find(&app, "Skip to the step").is_some());
    tap(&app, "Hear a wobble slow down");
    app.act(Action::Ears(EarsAction::Told(Told::Mute(DeviceFault::NoOutput))));
    assert!(texts(&app).iter().any(|text| text.starts_with("There is no loudspeaker here")), "{:?}", texts(&app));
    tap(&app, "Go to the step");
    assert!(app.with(|state| state.library.settings.has_heard_wobble));
}

/// Nothing of the picture lies under the edge, with the first run's band as without it, in every language.
#[test]
fn the_picture_of_the_first_step_is_seen_whole() {
    for (width, height) in [(320.0, 568.0), (360.0, 640.0)] {
        for language in ["en", "de", "fr", "es", "pt"] {
            for is_guided in [true, false] {
                let app = open(width, height);
                if !is_guided {
                    app.act(Action::Guide(GuideAction::Skip));
                }
                app.act(Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned())));
                if language != "en" {
                    slint::select_bundled_translation(language).unwrap();
                }
                let all = pieces(&app);
                let picture = all.iter().find(|piece| piece.kind == "MatchPicture").expect("there is a picture");
                assert!(
                    picture.seen.holds(picture.place),
                    "{width} x {height}, {language}, guided {is_guided}: {:?} of {:?}",
                    picture.seen,
                    picture.place
                );
            }
        }
    }
}

/// By the target's key: an open E that goes to standard has a G sharp to slacken, not an A flat.
#[test]
fn where_a_string_stands_is_spelled_by_where_it_comes_from_and_goes() {
    let app = open(360.0, 640.0);
    let choose = |id: &str| Action::Tunings(TuningsAction::Choose(id.to_owned()));
    let confirm = || Action::Retune(RetuneAction::Confirm);
    app.act(choose("guitar-open-e"));
    while app.with(|state| state.guitar.stage()) == Stage::Step {
        app.act(confirm());
    }
    app.act(Action::Retune(RetuneAction::CheckDone));
    app.act(choose("guitar-standard"));
    let mut stood = Vec::new();
    while app.with(|state| state.guitar.stage()) == Stage::Step {
        let step = app.window().global::<RetuneState<'_>>().get_step();
        stood.push(format!("{} {} to {}", step.course, step.before, step.after));
        app.act(confirm());
    }
    assert!(stood.contains(&"3 G\u{266f} to G".to_owned()), "{stood:?}");
}
