//! Whatever is typed, pasted or kept in a file is drawn without ending the app.

use pegwise::app::{Action, ExchangeAction, MOST_OF_LINE, OwnTuningAction, Screen, SongsAction, Tab, TuningsAction};
use pegwise::instrument::Catalog;
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song};
use pegwise::store::Library;
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{act, controls, find, open_with, set_density, settle, type_into};

/// What a field or a file may hold, of so many letters.
fn texts(letters: usize) -> Vec<String> {
    let marks = format!("e{}", "\u{301}".repeat(letters));
    let of = |piece: &str| piece.repeat(letters.div_ceil(piece.chars().count()));
    vec![of("quay "), of("W"), of("שלום "), of("👩🏽‍🚀"), of("a\0"), of("line\n"), of("雨"), marks]
}

/// Few letters and small densities are harmless; they are tried too where every size is asked for.
fn every_size() -> bool {
    std::env::var_os("PEGWISE_EVERY_SIZE").is_some()
}

fn lengths() -> &'static [usize] {
    if every_size() { &[10, 1_000, 100_000] } else { &[100_000] }
}

/// Points a dp: a screen of a desktop, of most phones, and the densest.
fn densities() -> &'static [f32] {
    if every_size() { &[1.0, 2.6, 4.0] } else { &[4.0] }
}

const SIZE: (f32, f32) = (360.0, 640.0);

/// Draws the window at each density.
fn draw(app: &pegwise::app::App, what: &str) {
    for &density in densities() {
        set_density(app, density, SIZE.0, SIZE.1);
        let begun = std::time::Instant::now();
        let drawn = app.window().window().take_snapshot().unwrap();
        let points = LogicalSize::new(SIZE.0, SIZE.1).to_physical(density);
        assert_eq!((drawn.width(), drawn.height()), (points.width, points.height));
        let took = begun.elapsed().as_secs_f64();
        if took > 2.0 {
            eprintln!("{what}: {took:.1} s at {density}");
        }
    }
    set_density(app, 1.0, SIZE.0, SIZE.1);
}

fn library_of(text: &str) -> Library {
    let mut library = Library::default();
    let pitches = Catalog::bundled().find_tuning("guitar-open-g").unwrap().tuning().clone();
    let own = library.add_own_tuning("guitar", text, pitches.clone());
    let mut song = Song::new(text, "guitar", ChosenTuning { id: Some(own), pitches });
    (song.from, song.chart, song.notes) = (text.to_owned(), text.to_owned(), text.to_owned());
    let song = library.add_song(song);
    let mut list = SetList::new(text);
    list.entries = vec![SetEntry::new(song)];
    library.add_set_list(list);
    library
}

fn every_field_takes(texts: impl Iterator<Item = String>) {
    for text in texts {
        let app = open_with(Library::default(), SIZE.0, SIZE.1);
        for screen in [
            Action::Tab(Tab::Tunings),
            Action::Tab(Tab::Songs),
            Action::Songs(SongsAction::New),
            Action::OwnTuning(OwnTuningAction::New),
            Action::Open(Screen::Instrument),
            Action::Open(Screen::ChordPicker),
            Action::Open(Screen::KeyPlan),
            Action::Open(Screen::Exchange),
            Action::Open(Screen::SongTuning),
        ] {
            act(&app, [Action::Tab(Tab::More), screen]);
            let fields: Vec<_> = controls(&app)
                .into_iter()
                .filter(|found| found.accessible_role() == Some(i_slint_backend_testing::AccessibleRole::TextInput))
                .filter_map(|found| found.accessible_label())
                .collect();
            for field in fields {
                let begun = std::time::Instant::now();
                if let Some(found) = find(&app, &field) {
                    found.mock_single_click(slint::platform::PointerEventButton::Left);
                    type_into(&app, &field, &text);
                    settle();
                }
                let took = begun.elapsed().as_secs_f64();
                let what = format!("{field}, {:?}", text.chars().take(6).collect::<String>());
                if took > 2.0 {
                    eprintln!("{what}: {took:.1} s to take it");
                }
                draw(&app, &what);
            }
        }
    }
}

/// Item 6 to 8 of the faults: a pasted lyric in a title, a title of combining marks, a chart of thousands of lines.
#[test]
fn every_field_of_every_screen_takes_words_of_any_script() {
    every_field_takes(lengths().iter().copied().flat_map(texts).step_by(2));
}

#[test]
fn every_field_of_every_screen_takes_marks_lines_and_signs() {
    every_field_takes(lengths().iter().copied().flat_map(texts).skip(1).step_by(2));
}

#[test]
fn whatever_a_file_holds_is_drawn_on_every_screen() {
    for text in lengths().iter().copied().flat_map(texts).filter(|text| !text.trim().is_empty()) {
        let library = library_of(&text);
        let (song, list) = (library.songs()[0].id, library.set_lists()[0].id);
        let own = library.own_tunings()[0].id.clone();
        let app = open_with(library.clone(), 360.0, 640.0);
        for actions in [
            vec![Action::Tab(Tab::Tunings), Action::Tunings(TuningsAction::View(pegwise::app::TuningsView::Own))],
            vec![Action::Tab(Tab::Songs)],
            vec![Action::Songs(SongsAction::View(pegwise::app::SongsView::SetLists))],
            vec![Action::Songs(SongsAction::Open(song))],
            vec![Action::Song(pegwise::app::SongAction::Edit)],
            vec![Action::Tab(Tab::Songs), Action::Songs(SongsAction::OpenList(list))],
            vec![Action::SetList(pegwise::app::SetListAction::Edit)],
            vec![Action::Tab(Tab::Tunings), Action::OwnTuning(OwnTuningAction::Edit(own))],
            vec![Action::Open(Screen::Exchange), Action::Exchange(ExchangeAction::Typed(library.export()))],
            vec![Action::Exchange(ExchangeAction::Read)],
        ] {
            let what = format!("{actions:?}").chars().take(60).collect::<String>();
            act(&app, actions);
            draw(&app, &what);
        }
    }
}

/// Item 13.
#[test]
fn a_title_of_one_long_word_pushes_no_button_away() {
    for title in ["Abcdefghijklmnopqrstuvwxyz".to_owned(), "W".repeat(MOST_OF_LINE)] {
        for width in [280.0, 320.0, 360.0] {
            let library = library_of(&title);
            let (song, list) = (library.songs()[0].id, library.set_lists()[0].id);
            let app = open_with(library, width, 640.0);
            for action in [SongsAction::Open(song), SongsAction::OpenList(list)] {
                act(&app, [Action::Tab(Tab::Songs), Action::Songs(action)]);
                for control in controls(&app) {
                    let end = control.absolute_position().x + control.size().width;
                    let label = control.accessible_label();
                    assert!(end <= width + 0.5, "{label:?} ends at {end} of {width}");
                }
                assert!(find(&app, "Edit").is_some());
            }
        }
    }
}

#[test]
fn a_paste_that_is_cut_is_told_and_one_that_fits_is_not() {
    let app = open_with(Library::default(), 360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::New)]);
    type_into(&app, "Title", "Slipway Number Nine");
    settle();
    assert_eq!(app.with(|state| state.notice.clone()), None);
    type_into(&app, "Title", &"Slipway ".repeat(100));
    settle();
    let told = app.with(|state| state.notice.clone());
    assert_eq!(told, Some(pegwise::app::Notice::TextCut(Some(MOST_OF_LINE))));
    app.with(|state| assert_eq!(state.library.songs()[0].title.len(), MOST_OF_LINE - 1, "the end is a space"));
}

/// Item 7: the app takes in its own export, of any size, without drawing it.
#[test]
fn an_export_that_is_pasted_is_read_and_not_drawn() {
    let mut library = Library::default();
    let pitches = Catalog::bundled().find_tuning("guitar-open-g").unwrap().tuning().clone();
    for number in 0..400 {
        let mut song =
            Song::new(format!("Song {number}"), "guitar", ChosenTuning { id: None, pitches: pitches.clone() });
        song.chart = "| G | C G | D | G |\n".repeat(20);
        library.add_song(song);
    }
    let app = open_with(Library::default(), 360.0, 640.0);
    act(&app, [Action::Open(Screen::Exchange)]);
    type_into(&app, "Text to import", &library.export());
    settle();
    draw(&app, "an export");
    assert_eq!(find(&app, "Text to import").unwrap().accessible_value().unwrap(), "");
    act(&app, [Action::Exchange(ExchangeAction::Read), Action::Exchange(ExchangeAction::TakeIn)]);
    assert_eq!(app.with(|state| state.library.songs().len()), 400);
}
