//! Listening and sounding, tap by tap, on a machine that the test plays.

use std::rc::Rc;

use pegwise::app::{Action, App, EarsAction, Hearing, Mic, Ringing, Screen, Sound, Stage, State, Told, TuningsAction};
use pegwise::platform::{DeviceFault, Fake, Moment};
use pegwise::sound::{Beating, Verdict};
use pegwise::store::Library;
use pegwise::theory::Cents;
use slint::ComponentHandle;

use crate::bench_window::{find, open_on, tap, texts};

/// A window so high that nothing lies below its edge: what does is not found.
const WIDTH: f32 = 412.0;
const HEIGHT: f32 = 1600.0;

/// The first step from standard to G6, on a machine that was never asked about its microphone.
fn first_step() -> (Rc<App>, Rc<Fake>) {
    let machine = Rc::new(Fake::new(None));
    let app = open_on(machine.clone(), State::new(Library::default()), WIDTH, HEIGHT);
    app.act(Action::Tunings(TuningsAction::Choose("guitar-g6".to_owned())));
    (app, machine)
}

fn heard(app: &App, ringing: Ringing, is_done: bool) {
    let watch = app.with(|state| state.ears.watch().map(|(number, _)| *number)).expect("it listens");
    let hearing = Hearing { watch, at_s: 9.0, ringing, is_done, strings_right: 0, beating: Beating::NotYet };
    app.act(Action::Ears(EarsAction::Told(Told::Hearing(hearing))));
}

fn string(index: usize, off: f64, is_right: bool) -> Ringing {
    let verdict = if is_right { Verdict::Right } else { Verdict::NotYet };
    Ringing::String { index, off: Cents::new(off), is_held: false, verdict }
}

/// One tap and the system's question; then no hand is needed.
#[test]
fn one_switch_listens_and_the_steps_go_on_by_themselves() {
    let (app, machine) = first_step();
    tap(&app, "Listen");
    assert_eq!(app.with(|state| state.ears.mic), Mic::Asking);
    machine.answer(true);
    assert_eq!(app.with(|state| state.ears.mic), Mic::On, "shown again, the answer is known");
    heard(&app, string(0, 31.0, false), false);
    assert!(texts(&app).iter().any(|text| text == "Loosen 6"), "{:?}", texts(&app));
    assert!(texts(&app).iter().any(|text| text == "31 cents too high"));
    heard(&app, string(0, -4.25, false), false);
    assert!(texts(&app).iter().any(|text| text == "Tighten 6"));
    assert!(texts(&app).iter().any(|text| text == "4.2 cents too low"));
    heard(&app, string(4, 6.0, false), false);
    assert!(texts(&app).iter().any(|text| text == "That is string 2"));
    heard(&app, string(0, 0.3, true), true);
    assert_eq!(app.with(|state| state.guitar.course().map(|course| course.player_number(6))), Some(5));
    assert_eq!(app.with(|state| state.ears.sounding), Some(Sound::Right));
    tap(&app, "Stop listening");
    assert_eq!(app.with(|state| state.ears.mic), Mic::Off);
    assert!(find(&app, "It is right").is_some(), "by ear it goes on");
}

/// Where another string sounds the same, the phone says what it knows, and the player's tap says the rest.
#[test]
fn what_two_strings_can_sound_is_asked_and_a_tap_answers() {
    let (app, machine) = first_step();
    machine.answer(true);
    tap(&app, "Listen");
    let ringing = Ringing::String { index: 0, off: Cents::new(0.4), is_held: false, verdict: Verdict::RightIfAsked };
    heard(&app, ringing, false);
    assert!(texts(&app).iter().any(|text| text == "Right, if this is string 6"), "{:?}", texts(&app));
    assert!(texts(&app).iter().any(|text| text.starts_with("Another string sounds the same")));
    assert_eq!(app.with(|state| state.guitar.course().map(|course| course.player_number(6))), Some(6));
    tap(&app, "It is right");
    assert_eq!(app.with(|state| state.guitar.course().map(|course| course.player_number(6))), Some(5));
}

#[test]
fn a_refusal_says_what_still_works_and_the_step_stays() {
    let (app, machine) = first_step();
    tap(&app, "Listen");
    machine.answer(false);
    assert_eq!(app.with(|state| state.ears.mic), Mic::Refused);
    let told = |remedy: &str| {
        let is_told = |text: &String| {
            text.starts_with("Listening was refused. The steps by ear still work") && text.contains(remedy)
        };
        texts(&app).iter().any(is_told)
    };
    assert!(told("the system’s settings"), "{:?}", texts(&app));
    // In a browser it is the page's own.
    machine.be_page();
    app.act(Action::Ears(EarsAction::Hush));
    assert!(told("the browser’s settings for this page"), "{:?}", texts(&app));
    tap(&app, "It is right");
    assert_eq!(app.with(|state| state.guitar.stage()), Stage::Step);
}

#[test]
fn each_fault_has_its_own_sentence() {
    let (app, machine) = first_step();
    machine.answer(true);
    let mut sentences = Vec::new();
    for fault in
        [DeviceFault::Denied, DeviceFault::Busy, DeviceFault::Lost, DeviceFault::NoInput, DeviceFault::NotSupported]
    {
        tap(&app, "Listen");
        app.act(Action::Ears(EarsAction::Told(Told::Deaf(fault))));
        let new: Vec<String> = texts(&app).into_iter().filter(|text| text.contains("icrophone")).collect();
        assert_eq!(new.len(), 1, "{fault:?}: {new:?}");
        sentences.extend(new);
    }
    tap(&app, "Listen");
    tap(&app, "Stop listening");
    tap(&app, "Hear it");
    for fault in
        [DeviceFault::Denied, DeviceFault::Busy, DeviceFault::Lost, DeviceFault::NoOutput, DeviceFault::NotSupported]
    {
        tap(&app, "Hear the note D");
        app.act(Action::Ears(EarsAction::Told(Told::Mute(fault))));
        let is_fault = |text: &String| text.contains("loudspeaker") && !text.starts_with("Turn the volume down");
        let new: Vec<String> = texts(&app).into_iter().filter(is_fault).collect();
        assert_eq!(new.len(), 1, "{fault:?}: {new:?}");
        sentences.extend(new);
    }
    let count = sentences.len();
    sentences.sort();
    sentences.dedup();
    assert_eq!((count, sentences.len()), (10, 10), "{sentences:?}");
}

#[test]
fn a_hidden_app_neither_listens_nor_sounds() {
    let (app, machine) = first_step();
    machine.answer(true);
    tap(&app, "Listen");
    tap(&app, "Hear it");
    assert!(texts(&app).iter().any(|text| text.starts_with("Turn the volume down first")), "before the first sound");
    tap(&app, "Hear the note D");
    assert_eq!(app.with(|state| (state.ears.mic, state.ears.sounding)), (Mic::On, Some(Sound::Target)));
    machine.happen(Moment::Hidden);
    assert_eq!(app.with(|state| (state.ears.mic, state.ears.sounding)), (Mic::Off, None));
}

/// The note of one string neither sounds into the step of the next nor keeps the phone from listening.
#[test]
fn a_step_ends_its_note_and_so_does_listening() {
    let (app, machine) = first_step();
    machine.answer(true);
    let sounding = |app: &App| app.with(|state| state.ears.sounding);
    tap(&app, "Hear it");
    tap(&app, "Hear the note D");
    assert_eq!(sounding(&app), Some(Sound::Target));
    tap(&app, "Listen");
    assert_eq!(sounding(&app), None);
    tap(&app, "Stop listening");
    tap(&app, "Hear the note D");
    assert_eq!(sounding(&app), Some(Sound::Target));
    tap(&app, "It is right");
    assert_eq!(app.with(|state| state.guitar.course().map(|course| course.player_number(6))), Some(5));
    assert_eq!(sounding(&app), None);
    // Its own sounds on while nothing of the step changes.
    tap(&app, "Hear the note G");
    app.act(Action::Ears(EarsAction::WobbleBy(1)));
    assert_eq!(sounding(&app), Some(Sound::Target));
}

#[test]
fn a_shape_is_heard_and_falls_silent_with_its_screen() {
    let (app, _machine) = first_step();
    tap(&app, "Shapes");
    tap(&app, "Hear it");
    tap(&app, "Hear it strummed");
    assert_eq!(app.with(|state| state.ears.sounding), Some(Sound::Strum));
    tap(&app, "Hear it strummed");
    assert_eq!(app.with(|state| state.ears.sounding), None, "tapped again it stops");
    tap(&app, "Hear string by string");
    tap(&app, "Show it large");
    assert_eq!(app.with(|state| (state.screen(), state.ears.sounding)), (Screen::Show, Some(Sound::Arpeggio)));
    app.act(Action::Back);
    tap(&app, "Tunings");
    assert_eq!(app.with(|state| state.ears.sounding), None);
}

#[test]
fn all_strings_stand_in_a_list_while_they_are_checked() {
    let machine = Rc::new(Fake::new(None));
    machine.answer(true);
    let app = open_on(machine, State::new(Library::default()), WIDTH, HEIGHT);
    tap(&app, "Retune");
    tap(&app, "Check all strings");
    heard(&app, string(0, 0.4, true), false);
    heard(&app, string(1, -12.0, false), false);
    let list = app.window().global::<pegwise::app::ui::ListenState<'_>>().get_strings();
    let heard = slint::Model::iter(&list).filter(|string| string.heard).count();
    assert_eq!((slint::Model::row_count(&list), heard), (6, 2));
    let words: Vec<String> = texts(&app);
    for row in ["String 6, right", "String 5, tighten, 12 cents too low", "String 1, not heard yet"] {
        assert!(words.iter().any(|text| text == row), "{row}: {words:?}");
    }
}
