//! The stage in the real window: what is in view at every height, what a swipe does, how large digits are; and the songs'
//! other new controls: lines told what they are, what an import understood, the reminder of an export.

use std::rc::Rc;

use i_slint_backend_testing::mock_elapsed_time;
use pegwise::app::{
    Action, App, Clock, ExchangeAction, PlayingAction, Screen, SetListAction, SongAction, SongEditAction,
    SongTuningAction, SongsAction, Stage, Tab,
};
use pegwise::instrument::{Catalog, Fret};
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song};
use pegwise::store::{Library, OnStage};
use pegwise::theory::Naming;
use slint::ComponentHandle;
use std::time::Duration;

use crate::bench_window::{act, find, open, open_with, settle, tap, texts, type_into};
use crate::fingers::{draw, middle};
use crate::tree::{Piece, pieces};

const CHART: &str =
    "Verse\nG       C\nTar on the rope\nand salt on the oar\n\nChorus\n| D | G |\n\nEnding\n| Em | C |\n";

fn song_in(id: &str, title: &str, capo: u8) -> Song {
    let tuning = Catalog::bundled().find_tuning(id).unwrap();
    let chosen = ChosenTuning { id: Some(id.into()), pitches: tuning.tuning().clone() };
    let mut song = Song::new(title, tuning.instrument_id(), chosen);
    (song.chart, song.capo) = (CHART.into(), Fret::new(capo));
    song
}

/// Two songs, the first on the guitar with its capo, and the set list under way at it.
fn evening() -> Library {
    let mut library = Library::default();
    let songs = [song_in("guitar-standard", "Tar Barrel", 2), song_in("guitar-dadgad", "Coal Tub", 3)];
    let mut list = SetList::new("Quay");
    list.entries = songs.map(|song| SetEntry::new(library.add_song(song))).into();
    let set_list_id = library.add_set_list(list);
    library.on_stage = Some(OnStage { set_list_id, place: 0 });
    library
}

fn on_stage(width: f32, height: f32) -> Rc<App> {
    let app = open_with(evening(), width, height);
    act(&app, [Action::Playing(PlayingAction::CapoIsThere)]);
    rest(&app);
    app
}

/// Lets the page be told the room it has and be fitted to it.
fn rest(app: &App) {
    for _ in 0..4 {
        let _ = pieces(app);
        mock_elapsed_time(Duration::from_millis(20));
    }
}

/// Every piece of text that is seen as a whole.
fn seen(app: &App) -> Vec<String> {
    let whole = |piece: &Piece| piece.seen.holds(piece.place);
    pieces(app).into_iter().filter(whole).filter_map(|piece| piece.words).map(|words| words.text).collect()
}

/// Low windows, phones and a phone on its side: what is next, with its tuning and its capo, is in view, and so are the
/// capo of this song, the song and a way to each of its sections.
#[test]
fn the_next_song_with_its_tuning_and_capo_is_always_in_view() {
    for (width, height) in
        [(640.0, 360.0), (320.0, 568.0), (360.0, 640.0), (915.0, 412.0), (412.0, 915.0), (800.0, 1280.0)]
    {
        let app = on_stage(width, height);
        let texts = seen(&app);
        let is_seen = |wanted: &str| texts.iter().any(|text| text.contains(wanted));
        for wanted in ["Next: Coal Tub", "DADGAD, capo 3", "capo 2", "Tar "] {
            assert!(is_seen(wanted), "{wanted} at {width} × {height}: {texts:?}");
        }
        if find(&app, "Go to End").is_none() {
            tap(&app, "Settings");
        }
        // What is scrolled out of sight cannot be reached by a test; a finger scrolls there.
        app.window().window().set_size(slint::LogicalSize::new(width, 1_300.0));
        rest(&app);
        tap(&app, "Go to End");
        app.window().window().set_size(slint::LogicalSize::new(width, height));
        rest(&app);
        assert_eq!(app.with(|state| state.playing.at), 3, "{width} × {height}");
        let page = find(&app, &spoken(&app));
        assert!(page.is_some_and(|page| page.size().height > 90.0), "the page of {} is there again", spoken(&app));
    }
}

/// Half of a low window is not empty: the song has the room, and the shapes stand beside it.
#[test]
fn a_phone_on_its_side_gives_its_room_to_the_song_and_the_shapes() {
    for (width, height) in [(640.0, 360.0), (915.0, 412.0)] {
        let app = on_stage(width, height);
        let page = find(&app, "G C. Tap to move on").unwrap();
        assert!(page.size().height >= 0.5 * height, "{:?} at {width} × {height}", page.size());
        let shapes = pieces(&app).into_iter().filter(|piece| piece.kind == "ChordDiagram");
        let shapes: Vec<f32> = shapes.map(|piece| piece.place.height()).collect();
        assert!(!shapes.is_empty() && shapes.iter().all(|shape| *shape >= 100.0), "{shapes:?}");
    }
}

/// A swipe over what comes next is as good as a tap.
#[test]
fn a_swipe_opens_the_way_to_the_next_song() {
    let app = on_stage(360.0, 640.0);
    let next = find(&app, "Next song: Coal Tub").unwrap();
    draw(&app, middle(&next), (-120.0, 3.0));
    assert_eq!(app.with(|state| (state.screen(), state.guitar.stage())), (Screen::Retune, Stage::Step));
    // On the page a swipe leads on line by line.
    let app = on_stage(360.0, 640.0);
    for at in 1..4 {
        let page = find(&app, &spoken(&app)).unwrap();
        draw(&app, middle(&page), (-120.0, 3.0));
        assert_eq!(app.with(|state| (state.screen(), state.playing.at)), (Screen::Playing, at));
    }
    let page = find(&app, &spoken(&app)).unwrap();
    draw(&app, middle(&page), (120.0, 3.0));
    assert_eq!(app.with(|state| state.playing.at), 2, "to the right it leads back");
}

fn spoken(app: &App) -> String {
    app.window().global::<pegwise::app::ui::PlayState<'_>>().get_now().to_string()
}

/// A line's height in sizes of its letters: ascender and descender of `ui/fonts/pegwise_sans_extrabold.ttf` (their `hhea`).
const LINE: f32 = 1.3;

/// The sizes of the digits in the diagrams that are shown, in dp, by the height of their lines.
fn digits(app: &App) -> Vec<(String, f32)> {
    let all = pieces(app);
    let diagrams: Vec<_> = all.iter().filter(|piece| piece.kind == "ChordDiagram").map(|piece| piece.place).collect();
    let is_digit = |text: &str| !text.is_empty() && text.chars().all(|mark| mark.is_ascii_digit());
    let words = all.iter().filter_map(|piece| Some((piece.place, piece.words.clone()?)));
    words
        .filter(|(place, words)| is_digit(&words.text) && diagrams.iter().any(|diagram| diagram.meets(*place)))
        .map(|(_, words)| (words.text.clone(), words.needs_height / LINE))
        .collect()
}

/// Song cards, the comparison of two tunings and the shapes on stage: digits of 11 dp at least at 100 %.
#[test]
fn digits_on_song_cards_in_the_comparison_and_on_stage_are_read() {
    let tunings = ["guitar-standard", "guitar-dadgad", "twelve-string-standard", "ukulele-standard", "banjo-open-g"];
    let known: Vec<&str> = tunings.into_iter().filter(|id| Catalog::bundled().find_tuning(id).is_some()).collect();
    assert!(known.len() >= 2, "{known:?}");
    for (width, height) in [(320.0, 568.0), (360.0, 640.0), (412.0, 915.0), (915.0, 412.0)] {
        for id in &known {
            let mut library = Library::default();
            let mut song = song_in(id, "Tar Barrel", 0);
            song.chart = "| G | C | F#m | B7 |".into();
            let instrument = song.instrument_id.clone();
            let song = library.add_song(song);
            let app = open_with(library, width, 2400.0);
            act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Open(song))]);
            settle();
            app.window().window().set_size(slint::LogicalSize::new(width, 2400.0));
            let cards = digits(&app);
            assert!(cards.len() > 4, "{id}: {cards:?}");
            for (digit, size) in &cards {
                assert!(*size >= 10.9, "{digit} of a card is {size:.1} dp at {width}, {id}");
            }
            if instrument == "guitar" {
                let other = if *id == "guitar-dadgad" { "guitar-open-g" } else { "guitar-dadgad" };
                let compare =
                    [Action::Song(SongAction::Compare), Action::SongTuning(SongTuningAction::Choose(other.to_owned()))];
                act(&app, compare);
                for (digit, size) in digits(&app) {
                    assert!(size >= 10.9, "{digit} in the comparison is {size:.1} dp at {width}, {id}");
                }
            }
        }
        let app = on_stage(width, height);
        for (digit, size) in digits(&app) {
            assert!(size >= 10.9, "{digit} on stage is {size:.1} dp at {width} × {height}");
        }
    }
}

/// The count-in stands large over the page, then the line that is played is marked; a pedal leads on meanwhile.
#[test]
fn the_count_in_is_seen_and_goes() {
    let app = on_stage(360.0, 640.0);
    tap(&app, "Move by itself");
    // No tempo is named: 90 beats a minute, two thirds of a second each.
    let count_in = |app: &App| app.window().global::<pegwise::app::ui::PlayState<'_>>().get_count_in().to_string();
    let mut counted = Vec::new();
    for _ in 0..40 {
        mock_elapsed_time(Duration::from_millis(100));
        counted.push(count_in(&app));
    }
    counted.dedup();
    assert_eq!(counted, ["4", "3", "2", "1", ""]);
    assert!(app.with(|state| matches!(state.playing.clock, Clock::Running { count_in: 0, .. })));
}

/// A line is told to be words by two taps, and the chart is read by another custom by one.
#[test]
fn a_line_of_the_chart_is_told_what_it_is_by_a_button() {
    let app = open(412.0, 2400.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::New)]);
    type_into(&app, "Chart", "A\n| G | Hm |");
    settle();
    assert!(texts(&app).iter().any(|text| text.contains("“Hm” stays as words: expected a chord")), "{:?}", texts(&app));
    tap(&app, "Letters, with H");
    assert!(!texts(&app).iter().any(|text| text.contains("stays as words")));
    assert_eq!(app.with(|state| state.library.songs()[0].chart_naming), Naming::German);
    tap(&app, "How each line is read");
    tap(&app, "Line 1: chords. Say what it is");
    tap(&app, "Line 1: words");
    assert_eq!(app.with(|state| state.library.songs()[0].chart.clone()), "\"A\n| G | Hm |");
    assert!(texts(&app).iter().any(|text| text == "line 1: words, as you said"), "{:?}", texts(&app));
    tap(&app, "Line 1: as it looks");
    assert_eq!(app.with(|state| state.library.songs()[0].chart.clone()), "A\n| G | Hm |");
}

/// The busker pastes her songs and sees what was understood before she takes them in.
#[test]
fn what_a_text_was_understood_to_be_is_told_before_it_is_taken_in() {
    let app = open(412.0, 2400.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Open(Screen::Exchange)]);
    type_into(
        &app,
        "Text to import",
        "Tar Barrel\nDrop D\nCapo 2\nTempo: fast\n\nVerse\nG      C\nTar on the rope\n| D | Zx |",
    );
    tap(&app, "Check it");
    let told = texts(&app);
    let expected = [
        "Title: Tar Barrel",
        "Tuning: Drop D, D A D G B E",
        "Capo: fret 2",
        "“Tempo: fast” was not understood and stays as words",
        "1 line of chords",
        "1 line of bars",
        "2 lines of words",
        "1 heading",
    ];
    for wanted in expected {
        assert!(told.iter().any(|text| text == wanted), "{wanted}: {told:?}");
    }
    assert!(told.iter().any(|text| text.contains("expected a chord, found “Zx”")), "{told:?}");
    assert!(app.with(|state| state.library.songs().is_empty()));
    tap(&app, "Import these");
    assert_eq!(app.with(|state| state.library.songs().len()), 1);
}

/// A calm line, put off by a tap; copying everything counts as an export.
#[test]
fn the_reminder_of_an_export_is_a_line_that_can_be_put_off() {
    let mut library = Library::default();
    for title in ["One", "Two", "Three"] {
        library.add_song(song_in("guitar-standard", title, 0));
    }
    let remind = |app: &App| {
        let days = [20_000, 20_070].map(|day| Action::Exchange(ExchangeAction::Today(day)));
        act(app, [Action::Tab(Tab::Songs)].into_iter().chain(days));
    };
    let app = open_with(library.clone(), 360.0, 640.0);
    remind(&app);
    assert!(find(&app, "Nothing exported yet").is_some());
    tap(&app, "Remind me of an export later");
    assert!(find(&app, "Nothing exported yet").is_none());
    let app = open_with(library, 360.0, 640.0);
    remind(&app);
    tap(&app, "Nothing exported yet");
    tap(&app, "Everything, for another device");
    tap(&app, "Copy all of it");
    act(&app, [Action::Tab(Tab::Songs)]);
    assert!(find(&app, "Nothing exported yet").is_none());
    assert_eq!(app.with(|state| state.library.settings.export_reminder.exported_day), Some(20_070));
}

/// What was moved, taken out or added in a set list is taken back step by step.
#[test]
fn changes_of_a_set_list_are_taken_back() {
    let mut library = evening();
    library.on_stage = None;
    let list = library.set_lists()[0].id;
    let app = open_with(library, 412.0, 2400.0);
    act(
        &app,
        [Action::Tab(Tab::Songs), Action::Songs(SongsAction::OpenList(list)), Action::SetList(SetListAction::Edit)],
    );
    let order = |app: &App| {
        app.with(|state| state.library.set_lists()[0].entries.iter().map(|entry| entry.song_id.0).collect::<Vec<_>>())
    };
    let before = order(&app);
    tap(&app, "Move 1 down");
    tap(&app, "Remove 1");
    assert_eq!(order(&app).len(), 1);
    tap(&app, "Undo the last change");
    tap(&app, "Undo the last change");
    assert_eq!(order(&app), before);
}

/// The busker, taps counted: five songs as she has them, a set list of them, and the first is played.
#[test]
fn five_pasted_songs_are_a_set_list_and_played_in_few_taps() {
    let app = open(412.0, 2400.0);
    let five: Vec<String> = ["Anchor", "Bilge", "Capstan", "Davit", "Eyot"]
        .iter()
        .map(|title| format!("{title}\nCapo 2\n\nG   C\nwords of {title}\n"))
        .collect();
    let mut taps = 0;
    let mut touch = |label: &str| {
        tap(&app, label);
        taps += 1;
    };
    touch("Songs");
    touch("Import and export");
    type_into(&app, "Text to import", &five.join("=====\n"));
    touch("Check it");
    touch("Import these");
    touch("Songs");
    touch("Set lists");
    touch("Make a set list");
    touch("Add songs");
    for title in ["Anchor", "Bilge", "Capstan", "Davit", "Eyot"] {
        touch(&format!("Add {title}"));
    }
    touch("Done");
    touch("Play from the first song");
    assert_eq!(app.with(|state| (state.screen(), state.library.songs().len())), (Screen::Playing, 5));
    assert!(taps <= 15, "{taps} taps");
    let _ = SongEditAction::Done;
}
