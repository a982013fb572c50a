//! Songs, set lists and the stage in the real window: the busker's and the teacher's ways, the clipboard, the bar.

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::{Action, App, Clock, Screen, SongsAction, Stage, Tab, under_way};
use pegwise::instrument::Catalog;
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song};
use pegwise::store::{Library, OnStage};
use pegwise::theory::Chord;
use slint::ComponentHandle;
use slint::platform::{Key, WindowEvent};
use std::time::Duration;

use crate::bench_window::{act, controls, find, open, open_with, tap, texts, type_into};

fn screen(app: &App) -> Screen {
    app.with(pegwise::app::State::screen)
}

/// Two songs in two tunings, the first on the guitar, and the set list under way at it.
fn under_way_at_the_first() -> Library {
    let mut library = Library::default();
    let mut list = SetList::new("Quay");
    for (title, id) in [("Tar Barrel", "guitar-standard"), ("Coal Tub", "guitar-g6")] {
        let pitches = Catalog::bundled().find_tuning(id).unwrap().tuning().clone();
        let mut song = Song::new(title, "guitar", ChosenTuning { id: Some(id.into()), pitches });
        song.chart = "Verse:\n| G | C G | D | G |".into();
        list.entries.push(SetEntry::new(library.add_song(song)));
    }
    let set_list_id = library.add_set_list(list);
    library.on_stage = Some(OnStage { set_list_id, place: 0 });
    library
}

/// The busker: launch with a set list under way; one tap to the next song's first step, then on to the song itself.
#[test]
fn the_next_songs_retuning_is_one_tap_from_launch_and_leads_to_the_song() {
    let app = open_with(under_way_at_the_first(), 360.0, 640.0);
    assert_eq!(screen(&app), Screen::Playing);
    tap(&app, "Next song: Coal Tub");
    assert_eq!(app.with(|state| (state.screen(), state.guitar.stage())), (Screen::Retune, Stage::Step));
    tap(&app, "It is right");
    tap(&app, "It is right");
    tap(&app, "All sound right");
    tap(&app, "Go on with Coal Tub");
    assert_eq!((screen(&app), app.with(|state| under_way(state).map(|now| now.place))), (Screen::Playing, Some(1)));
    tap(&app, "That was the last");
    assert_eq!((screen(&app), app.with(|state| state.library.on_stage.is_none())), (Screen::SetList, true));
}

/// Three lines in two sections, one of them words alone.
fn by_heart() -> Library {
    let mut library = under_way_at_the_first();
    let mut song = library.songs()[0].clone();
    song.chart = "Verse\nG       C\nTar on the rope\nand salt on the oar\n\nChorus\n| D | G |\n".into();
    song.tempo_bpm = Some(120);
    library.replace_song(song);
    library
}

/// A tap anywhere on the song leads on, a button leads back, and most of the screen is the song.
#[test]
fn the_song_is_led_on_by_a_tap_on_most_of_the_screen() {
    let app = open_with(by_heart(), 360.0, 640.0);
    let at = |app: &App| app.with(|state| state.playing.at);
    let page = find(&app, "G C. Tap to move on").unwrap();
    assert!(page.size().width >= 359.0 && page.size().height > 200.0, "{:?}", page.size());
    tap(&app, "G C. Tap to move on");
    tap(&app, "and salt on the oar. Tap to move on");
    assert_eq!(at(&app), 2);
    tap(&app, "Previous line");
    assert_eq!(at(&app), 1);
    tap(&app, "Go to Chorus");
    assert_eq!(at(&app), 2);
}

/// What pedals send: page keys, arrows, space and Enter. Both hands stay on the guitar.
#[test]
fn a_song_is_played_through_by_keys_alone() {
    for (on, back) in [
        (Key::PageDown, Key::PageUp),
        (Key::DownArrow, Key::UpArrow),
        (Key::RightArrow, Key::LeftArrow),
        (Key::Space, Key::Backspace),
        (Key::Return, Key::Backspace),
    ] {
        let app = open_with(by_heart(), 360.0, 640.0);
        let at = |app: &App| app.with(|state| state.playing.at);
        let press = |key: &Key| {
            let text: slint::SharedString = (*key).into();
            let window = app.window().window();
            window.dispatch_event_with_result(WindowEvent::KeyPressed { text: text.clone() }).unwrap();
            window.dispatch_event_with_result(WindowEvent::KeyReleased { text }).unwrap();
            mock_elapsed_time(Duration::from_millis(20));
        };
        for expected in [1, 2, 2] {
            press(&on);
            assert_eq!(at(&app), expected);
        }
        press(&back);
        assert_eq!(at(&app), 1);
    }
}

/// By the clock alone: a bar counted in, then two bars of two chords, two bars for the words, two bars at 120 a minute.
#[test]
fn a_song_is_played_through_by_the_clock_alone() {
    let app = open_with(by_heart(), 360.0, 640.0);
    let at = |app: &App| app.with(|state| state.playing.at);
    tap(&app, "Move by itself");
    // Half a second a beat, two seconds a bar.
    let mut reached = Vec::new();
    for _ in 0..160 {
        mock_elapsed_time(Duration::from_millis(100));
        reached.push((at(&app), app.with(|state| state.playing.clock != Clock::Off)));
    }
    let steps = |line: usize| reached.iter().filter(|(at, runs)| *at == line && *runs).count();
    // In tenths of a second, give or take two of the timer's steps: a bar of four beats counted in, then two bars each.
    assert!((58..=62).contains(&steps(0)), "{}", steps(0));
    assert!((38..=42).contains(&steps(1)), "{}", steps(1));
    assert!((38..=42).contains(&steps(2)), "{}", steps(2));
    assert_eq!(reached.last(), Some(&(2, false)));
}

/// A tap stops what goes on by itself, and the next takes it up again.
#[test]
fn a_tap_stops_the_clock_and_takes_it_up_again() {
    let app = open_with(by_heart(), 360.0, 640.0);
    tap(&app, "Move by itself");
    mock_elapsed_time(Duration::from_millis(2500));
    tap(&app, "G C. Tap to stop");
    assert_eq!(app.with(|state| state.playing.clock), Clock::Stopped);
    mock_elapsed_time(Duration::from_secs(30));
    assert_eq!(app.with(|state| state.playing.at), 0);
    tap(&app, "G C. Tap to carry on playing");
    for _ in 0..70 {
        mock_elapsed_time(Duration::from_millis(100));
    }
    assert_eq!(app.with(|state| state.playing.at), 1);
}

/// The teacher: a song is written down in the tuning that is on the guitar, and a shape is kept for one of its chords.
#[test]
fn a_song_is_written_down_and_a_shape_kept_for_its_chord() {
    // Tall, so that nothing is scrolled out of sight, where no test can reach it.
    let app = open(412.0, 2000.0);
    tap(&app, "Songs");
    tap(&app, "Add a song");
    type_into(&app, "Title", "Tar Barrel");
    type_into(&app, "Chart", "| G | Hm |");
    let editor = app.window().global::<pegwise::app::ui::SongEditorState<'_>>();
    let fault = editor.get_fault();
    assert_eq!((fault.line.as_str(), fault.place.as_str(), fault.found.as_str()), ("1", "7", "Hm"));
    type_into(&app, "Chart", "| G | C |");
    tap(&app, "Done");
    assert_eq!(screen(&app), Screen::Song);
    tap(&app, "C, frets x 3 2 0 1 0");
    tap(&app, "Next shape");
    tap(&app, "Use this shape in the song");
    assert_eq!(screen(&app), Screen::Song);
    let chosen = app.with(|state| state.library.songs()[0].shape_of(Chord::read("C").unwrap()));
    assert!(chosen.is_some_and(|shape| shape.to_string() != "x 3 2 0 1 0"));
    tap(&app, "Edit");
    tap(&app, "Delete this song");
    assert!(app.with(|state| state.library.songs().is_empty()));
    tap(&app, "Undo");
    assert_eq!(app.with(|state| state.library.songs().len()), 1);
}

/// From Shapes into a song: one tap where the song opened last is in this tuning.
#[test]
fn the_shape_shown_goes_into_the_song_opened_last() {
    let app = open_with(under_way_at_the_first(), 412.0, 2000.0);
    let first = app.with(|state| state.library.songs()[0].id);
    act(&app, [Action::Songs(SongsAction::Open(first)), Action::Tab(Tab::Shapes)]);
    tap(&app, "Next shape");
    tap(&app, "Use in Tar Barrel");
    let chosen = app.with(|state| state.library.songs()[0].chosen_shapes().len());
    assert_eq!(chosen, 1);
}

/// What goes out through the clipboard comes in by pasting it, and an unreadable text is told.
#[test]
fn what_is_copied_can_be_pasted_and_nonsense_is_told() {
    let app = open_with(under_way_at_the_first(), 360.0, 1200.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Open(Screen::Exchange)]);
    tap(&app, "Everything, for another device");
    tap(&app, "Copy all of it");
    let out = app.with(|state| state.exchange.out.clone()).unwrap();
    act(&app, [Action::Back]);
    tap(&app, "Paste");
    assert_eq!(app.with(|state| state.exchange.pasted.clone()), out.text);
    tap(&app, "Check it");
    assert!(find(&app, "Leave out Tar Barrel").is_some());
    tap(&app, "Discard");
    type_into(&app, "Text to import", "{\"format\": \"some other thing\"}");
    tap(&app, "Check it");
    assert!(app.with(|state| state.exchange.fault.is_some() && state.library.songs().len() == 2));
}

/// An order that takes long to find is looked for beside the window: it can be stopped, the screen goes on meanwhile, and
/// the answer arranges the songs.
#[test]
fn a_long_search_for_an_order_leaves_the_window_free() {
    let mut library = Library::default();
    let mut list = SetList::new("All night");
    let catalog = Catalog::bundled();
    for (number, tuning) in catalog.tunings_for(catalog.guitar()).iter().take(14).enumerate() {
        let pitches = tuning.tuning().clone();
        let song = Song::new(format!("Landing {number}"), "guitar", ChosenTuning { id: None, pitches });
        list.entries.push(SetEntry::new(library.add_song(song)));
    }
    let id = library.add_set_list(list);
    let app = open_with(library, 412.0, 3000.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::OpenList(id))]);
    let before = app.with(|state| state.library.set_lists()[0].clone());
    tap(&app, "Least retuning");
    tap(&app, "Stop searching");
    app.hear();
    assert_eq!(app.with(|state| state.library.set_lists()[0].clone()), before, "stopped");
    tap(&app, "Least retuning");
    tap(&app, "Edit");
    assert!(find(&app, "Stop searching").is_some(), "the screen goes on while it is looked for");
    let begun = std::time::Instant::now();
    while app.with(|state| state.set_list.ordering.is_some()) {
        assert!(begun.elapsed().as_secs() < 60, "no answer");
        std::thread::sleep(std::time::Duration::from_millis(5));
        app.hear();
    }
    assert!(find(&app, "Least retuning").is_some() && find(&app, "Undo").is_some());
    assert!(texts(&app).iter().any(|text| text == "No order takes less retuning."));
    assert_ne!(app.with(|state| state.library.set_lists()[0].entries.clone()), before.entries);
}

/// The bar has five entries in every language, each wide enough for a finger. Whether the words fit is looked at in the
/// pictures: without a display every letter is equally wide.
#[test]
fn five_words_stand_in_the_bar_in_every_language() {
    for language in ["en", "de", "es", "fr", "pt"] {
        let mut library = Library::default();
        library.settings.language = Some(language.to_owned());
        let app = open_with(library, 320.0, 568.0);
        let tabs = controls(&app)
            .into_iter()
            .filter(|found| found.accessible_role() == Some(i_slint_backend_testing::AccessibleRole::Tab));
        // An element is found once for each component it is made of.
        let mut words: Vec<(String, f32, f32)> = tabs
            .map(|tab| (tab.accessible_label().unwrap_or_default().to_string(), tab.size().width, tab.size().height))
            .collect();
        words.sort_by(|one, other| one.0.cmp(&other.0));
        words.dedup();
        assert_eq!(words.len(), 5, "{language}: {words:?}");
        assert!(words.iter().all(|(_, width, height)| *width >= 47.9 && *height >= 47.9), "{language}: {words:?}");
    }
}
