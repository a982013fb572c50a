//! Every list with nothing in it, one row, and ten thousand: drawn, and within the time a player waits.

use std::time::{Duration, Instant};

use pegwise::app::{
    Action, KeptAction, Screen, SetListAction, SongAction, SongsAction, SongsView, StageAction, Tab, TuningsAction,
    TuningsView,
};
use pegwise::instrument::Catalog;
use pegwise::songs::{ChosenTuning, SetEntry, SetList, Song, SongId};
use pegwise::store::{Library, read, write};
use serde_json::{Value, json};
use slint::ComponentHandle;

use crate::bench_window::{act, open_with};

/// So many of everything: songs, set lists, own tunings, parts that could not be read, places in the first set list.
fn library_of(rows: usize) -> Library {
    let mut library = Library::default();
    let pitches = Catalog::bundled().find_tuning("guitar-open-g").unwrap().tuning().clone();
    let mut all = SetList::new("All of them");
    for number in 0..rows {
        let own = library.add_own_tuning("guitar", format!("Tuning {number}"), pitches.clone());
        let mut song =
            Song::new(format!("Song {number}"), "guitar", ChosenTuning { id: Some(own), pitches: pitches.clone() });
        song.chart = "| G | C | D7 |\n".repeat(4);
        all.entries.push(SetEntry::new(library.add_song(song)));
    }
    library.add_set_list(all);
    for number in 1..rows {
        library.add_set_list(SetList::new(format!("List {number}")));
    }
    let mut file: Value = serde_json::from_slice(&write(&library)).unwrap();
    let bad = |number: usize| json!({"field": "songs", "at": number, "name": format!("Bad {number}"), "text": "{}"});
    file["set_aside"] = (0..rows).map(bad).collect();
    read(file.to_string().as_bytes()).unwrap()
}

#[test]
fn every_list_is_drawn_with_none_one_and_ten_thousand_rows() {
    let longest = std::env::var("PEGWISE_ROWS").ok().and_then(|rows| rows.parse().ok()).unwrap_or(10_000_usize);
    let mut slow = Vec::new();
    for rows in [0, 1, longest] {
        let library = library_of(rows);
        let list = library.set_lists()[0].id;
        let song = library.songs().first().map_or(SongId(0), |song| song.id);
        assert_eq!(library.set_aside().len(), rows);
        let app = open_with(library, 360.0, 640.0);
        for (what, actions) in [
            ("own tunings", vec![Action::Tunings(TuningsAction::View(TuningsView::Own))]),
            ("tunings", vec![Action::Tunings(TuningsAction::View(TuningsView::Nearest))]),
            ("songs", vec![Action::Tab(Tab::Songs)]),
            ("songs searched", vec![Action::Songs(SongsAction::Search("song".to_owned()))]),
            ("set lists", vec![Action::Songs(SongsAction::View(SongsView::SetLists))]),
            ("a set list", vec![Action::Songs(SongsAction::OpenList(list))]),
            ("a set list edited", vec![Action::SetList(SetListAction::Edit)]),
            ("songs to choose from", vec![Action::SetList(SetListAction::Add)]),
            ("on stage", vec![Action::Songs(SongsAction::OpenList(list)), Action::Stage(StageAction::Begin)]),
            ("a song", vec![Action::Tab(Tab::Songs), Action::Songs(SongsAction::Open(song))]),
            ("a song edited", vec![Action::Song(SongAction::Edit)]),
            ("tunings for a song", vec![Action::Open(Screen::SongTuning)]),
            ("kept", vec![Action::Open(Screen::Kept), Action::Kept(KeptAction::Page(1))]),
            ("more", vec![Action::Tab(Tab::More)]),
        ] {
            let begun = Instant::now();
            act(&app, actions);
            let acted = begun.elapsed();
            app.window().window().take_snapshot().unwrap();
            let took = begun.elapsed();
            eprintln!("{rows} rows, {what}: {acted:?}, drawn after {took:?}");
            if took > Duration::from_secs(20) {
                slow.push(format!("{what} with {rows} rows: {took:?}"));
            }
        }
    }
    assert!(slow.is_empty(), "{slow:#?}");
}
