//! Songs, set lists, stage and exchange as a player uses them, without a window.

use pegwise::app::{
    Action, ChoosingFor, Clock, ExchangeAction, Notice, OrderTold, Out, PickAction, PlayingAction, RetuneAction, Room,
    RowKind, Screen, SetListAction, ShapesAction, SongAction, SongEditAction, SongTuningAction, SongsAction, SongsView,
    Stage, StageAction, State, Tab, TuningsAction, Undo, Update, chords, fit, lasts_s, list_choices, next_song,
    open_list, open_song, page_rows, play_view, set_rows, sorted_songs, total_seconds, under_way,
};
use pegwise::instrument::{Catalog, CourseIndex, Fret, Level, Strung, Tuning};
use pegwise::retune::CourseState;
use pegwise::songs::{
    self, Changeover, Chart, ChosenTuning, NotWanted, SetEntry, SetList, SetListId, Song, SongId, Stand,
};
use pegwise::store::{Decision, Incoming, Library, OnStage, demo, file_name, read, write, write_out};
use pegwise::theory::{Chord, Pitch, ReferencePitch, Semitones};
use proptest::prelude::*;

const CONFIRM: Action = Action::Retune(RetuneAction::Confirm);

fn fresh() -> State {
    State::new(Library::default())
}

fn with_demo() -> State {
    let mut state = fresh();
    state.update(Action::Tab(Tab::Songs));
    assert_eq!(state.update(Action::Songs(SongsAction::Demo)), Update::Kept);
    state.update(Action::CloseNotice);
    state
}

fn id_of(state: &State, title: &str) -> SongId {
    state.library.songs().iter().find(|song| song.title == title).unwrap_or_else(|| panic!("no {title}")).id
}

fn first_list(state: &State) -> SetListId {
    state.library.set_lists()[0].id
}

fn typed(action: SongEditAction) -> Action {
    Action::SongEdit(action)
}

/// What is on disk after a restart.
fn again(state: &State) -> State {
    State::new(read(&write(&state.library)).unwrap())
}

#[test]
fn the_invented_songs_come_only_when_asked_for_and_go_again() {
    let mut state = fresh();
    assert!(state.library.find_songs("").is_empty());
    state.update(Action::Songs(SongsAction::Demo));
    assert_eq!(state.library.songs().len(), demo().songs().len());
    assert!(matches!(state.notice, Some(Notice::TakenIn(_))));
    assert_eq!(state.update(Action::Undo), Update::Kept);
    assert!(state.library.songs().is_empty() && state.library.set_lists().is_empty());
    assert!(state.library.own_tunings().is_empty());
}

#[test]
fn the_list_is_searched_as_one_types_and_counts_the_strings_from_here() {
    let state = with_demo();
    let found = state.library.find_songs("slip")[0];
    let standard = Stand { capo: Fret::OPEN, pitches: state.standard(), ..Stand::of(found) };
    let way = Changeover::between_songs(state.strung(), &standard, &Stand::of(found), ReferencePitch::default());
    assert_eq!(found.title, "Slipway Number Nine");
    // Open G from standard: 6, 5 and 1 go down a whole step (common practice, no source); it wants the capo at 2.
    let moves: Vec<(u8, i16)> =
        way.moves.as_ref().unwrap().iter().map(|(course, by)| (course.player_number(6), by.get())).collect();
    assert_eq!(moves, [(6, -2), (5, -2), (1, -2)]);
    assert_eq!(way.capo, Some(Fret::new(2)));
    let titles: Vec<String> = state.library.find_songs("").iter().map(|song| song.title.to_lowercase()).collect();
    assert!(titles.is_sorted(), "{titles:?}");
}

#[test]
fn a_song_is_kept_from_its_first_letter_on_with_its_faults_and_without_a_title() {
    let mut state = fresh();
    state.update(Action::Songs(SongsAction::New));
    assert_eq!(state.screen(), Screen::SongEditor);
    assert_eq!(state.library.songs().len(), 0, "nothing is typed yet");
    assert_eq!(state.update(typed(SongEditAction::Chart("| G | Hm |".into()))), Update::Typed);
    assert_eq!(state.library.songs()[0].title, "| G | Hm |", "it is kept under its first words");
    assert_eq!(read(&write(&state.library)).unwrap(), state.library);
    state.update(typed(SongEditAction::From("the ferry house".into())));
    assert_eq!(state.library.songs()[0].title, "the ferry house");
    assert_eq!(state.update(typed(SongEditAction::Title("Tar Barrel".into()))), Update::Typed);
    assert_eq!(state.library.songs()[0].chart, "| G | Hm |", "a chart with a fault is kept");
    let fault = state.editing_song.as_ref().unwrap().chart_fault().unwrap();
    assert_eq!((fault.line, fault.place, fault.found.as_str()), (0, 6, "Hm"));
    state.update(typed(SongEditAction::Chart("| G | C G | D | G |".into())));
    for (key, tempo) in [("X", "5"), ("Em", "96")] {
        state.update(typed(SongEditAction::Key(key.into())));
        state.update(typed(SongEditAction::Tempo(tempo.into())));
        assert_eq!(read(&write(&state.library)).unwrap(), state.library, "what is typed never spoils the file");
    }
    state.update(typed(SongEditAction::Title("  ".into())));
    state.update(typed(SongEditAction::From("the ferry house".into())));
    state.update(typed(SongEditAction::CapoBy(2)));
    state.update(typed(SongEditAction::Done));
    let song = open_song(&state).unwrap();
    assert_eq!((song.title.as_str(), song.from.as_str(), song.capo), ("Tar Barrel", "the ferry house", Fret::new(2)));
    assert_eq!((song.tempo_bpm, song.key.unwrap().to_string().as_str()), (Some(96), "Em"));
    assert_eq!(again(&state).library.songs(), state.library.songs());
}

#[test]
fn a_deleted_song_comes_back_with_its_places() {
    let mut state = with_demo();
    let before = state.library.clone();
    state.update(Action::Songs(SongsAction::Open(id_of(&state, "Slipway Number Nine"))));
    state.update(Action::Song(SongAction::Edit));
    state.update(typed(SongEditAction::Delete));
    assert_eq!((state.screen(), state.library.songs().len()), (Screen::Songs, before.songs().len() - 1));
    assert!(matches!(state.notice, Some(Notice::SongDeleted(_))));
    state.update(Action::Undo);
    assert_eq!(state.library, before);
    assert!(state.notice.is_none() && state.undo.is_none());
}

#[test]
fn another_key_finds_every_shape_anew_and_can_be_taken_back() {
    let mut state = with_demo();
    let id = id_of(&state, "The Ferry Bell at Hobbin Steps");
    let before = state.library.find_song(id).unwrap().clone();
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Transpose(2)));
    let song = open_song(&state).unwrap();
    assert_eq!(song.key.unwrap().to_string(), "A");
    assert!(song.chart.starts_with("Verse:\n| A | D A | E | A |"), "{}", song.chart);
    assert!(chords(state.habits(), song).iter().all(|held| held.found.is_some()));
    assert_eq!(song.chosen_shapes().len(), before.chosen_shapes().len());
    state.update(Action::Undo);
    assert_eq!(open_song(&state).unwrap(), &before);
}

#[test]
fn the_capo_moves_and_what_sounds_stays() {
    let mut state = with_demo();
    state.update(Action::Songs(SongsAction::Open(id_of(&state, "The Ferry Bell at Hobbin Steps"))));
    let sounding = |state: &State| {
        let song = open_song(state).unwrap();
        song.to_hold(song.read_chart().chords()[0].0).sounding.root().class()
    };
    let before = sounding(&state);
    state.update(Action::Song(SongAction::TakeCapo(Fret::new(5))));
    assert_eq!((sounding(&state), open_song(&state).unwrap().capo), (before, Fret::new(5)));
}

#[test]
fn a_song_is_compared_with_another_tuning_and_taken_there() {
    let mut state = with_demo();
    let id = id_of(&state, "The Lock-Hand's Mitten");
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Compare));
    state.update(Action::SongTuning(SongTuningAction::Search("dadgad".into())));
    state.update(Action::SongTuning(SongTuningAction::Choose("guitar-dadgad".into())));
    assert_eq!(state.screen(), Screen::SongCompare);
    let before = open_song(&state).unwrap().clone();
    state.update(Action::Song(SongAction::TakeTuning));
    let song = open_song(&state).unwrap();
    assert_eq!((state.screen(), song.tuning.id.as_deref()), (Screen::Song, Some("guitar-dadgad")));
    assert_eq!(song.chart, before.chart, "what is played is named as before");
    state.update(Action::Undo);
    assert_eq!(open_song(&state).unwrap(), &before);
}

#[test]
fn the_shape_shown_is_used_in_the_song_under_the_name_the_song_gives_its_chord() {
    let mut state = fresh();
    let standard = ChosenTuning { id: None, pitches: state.standard() };
    let mut song = Song::new("Tar Barrel", "guitar", standard);
    song.capo = Fret::new(2);
    song.chart = "| G | C |".into();
    let id = state.library.add_song(song);
    // Over a capo at 2, what is played as G sounds A (common practice, no source).
    state.update(Action::Instrument(pegwise::app::InstrumentAction::CapoBy(2)));
    state.update(Action::Tab(Tab::Shapes));
    state.update(Action::Open(Screen::ChordPicker));
    state.update(Action::Pick(PickAction::Typed("A".into())));
    state.update(Action::Pick(PickAction::ChordTaken));
    state.update(Action::Shapes(ShapesAction::Next));
    let shown = state.shapes.shape().unwrap().shape().clone();
    state.update(Action::Songs(SongsAction::UseShape));
    assert_eq!((state.screen(), &state.songs.choosing), (Screen::SongChoice, &ChoosingFor::Shape));
    assert_eq!(list_choices(&state).len(), 1);
    assert_eq!(state.update(Action::Songs(SongsAction::Choose(id))), Update::Kept);
    assert_eq!(state.screen(), Screen::Shapes);
    let song = state.library.find_song(id).unwrap();
    assert_eq!(song.shape_of(Chord::read("G").unwrap()), Some(shown.clone()));
    // The song opened last is used without asking again.
    state.update(Action::Shapes(ShapesAction::Next));
    state.update(Action::Songs(SongsAction::UseShape));
    let song = state.library.find_song(id).unwrap();
    assert_ne!(song.shape_of(Chord::read("G").unwrap()), Some(shown.clone()));
    assert!(chords(state.habits(), song)[0].is_chosen);
    state.update(Action::Undo);
    assert_eq!(state.library.find_song(id).unwrap().shape_of(Chord::read("G").unwrap()), Some(shown));
}

#[test]
fn a_chord_of_the_song_leads_to_its_shapes_and_back() {
    let mut state = fresh();
    let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: state.standard() });
    song.chart = "| G | C |".into();
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Chord(1)));
    state.update(Action::Song(SongAction::ChordBy(3)));
    state.update(Action::Song(SongAction::UseShape));
    let chosen = state.library.find_song(id).unwrap().shape_of(Chord::read("C").unwrap()).unwrap();
    state.update(Action::Song(SongAction::Chord(1)));
    assert_eq!(state.song.chord.map(|(_, index)| index), Some(3), "it opens at the chosen one");
    state.update(Action::Song(SongAction::ToShapes));
    assert_eq!((state.screen(), state.shapes.shape().unwrap().shape()), (Screen::Shapes, &chosen));
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Chord(1)));
    state.update(Action::Song(SongAction::DropShape));
    assert!(state.library.find_song(id).unwrap().chosen_shapes().is_empty());
}

#[test]
fn taps_lead_through_the_song_line_by_line() {
    let mut state = fresh();
    let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: state.standard() });
    song.chart = "| G | G | C |\n\"tar on the ropes\n| D | what |".into();
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    assert_eq!(state.screen(), Screen::Playing);
    let now = |state: &State| play_view(open_song(state).unwrap(), state.playing.at).unwrap();
    let view = now(&state);
    let chord = |text| Chord::read(text).unwrap();
    // A chart with a fault plays; the chords of the line and what comes after it are in view.
    assert_eq!(
        (view.lines().len(), view.line().lines, view.chords_ahead(3)),
        (2, 2, vec![chord("G"), chord("C"), chord("D")])
    );
    for _ in 0..9 {
        state.update(Action::Playing(PlayingAction::Tap));
    }
    assert_eq!((state.playing.at, now(&state).chords_ahead(3)), (1, vec![chord("D")]));
    state.update(Action::Playing(PlayingAction::Before));
    assert_eq!(state.playing.at, 0);
    state.update(Action::Back);
    assert_eq!(state.screen(), Screen::Song);
}

/// The arithmetic of beats: at 120 a minute a bar of four takes two seconds.
#[test]
fn the_clock_goes_on_at_the_songs_tempo_after_a_bar_counted_in() {
    let mut state = fresh();
    let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: state.standard() });
    song.chart = "| G | C |\n| D |\n".into();
    song.tempo_bpm = Some(120);
    assert_eq!(lasts_s(&song), Some(6.0));
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    state.update(Action::Playing(PlayingAction::ToggleClock));
    let mut at = |now_ms: f64| {
        state.update(Action::Playing(PlayingAction::Tick(now_ms)));
        (state.playing.at, state.playing.clock != Clock::Off)
    };
    // Begins at 1 s: counted in until 3 s, the first line until 7 s, the second until 9 s. Ticks may come late.
    let rows = [
        (1000.0, 0, true),
        (2999.0, 0, true),
        (6999.0, 0, true),
        (7040.0, 1, true),
        (8999.0, 1, true),
        (9100.0, 1, false),
    ];
    for (now_ms, line, runs) in rows {
        assert_eq!(at(now_ms), (line, runs), "{now_ms}");
    }
}

/// A click on every beat, count-in included, only where it was asked for and while the clock runs.
#[test]
fn a_quiet_click_follows_the_clock_where_it_is_asked_for() {
    let mut state = fresh();
    let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: state.standard() });
    song.chart = "| G | C |".into();
    song.tempo_bpm = Some(120);
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    state.update(Action::Playing(PlayingAction::ToggleClock));
    state.update(Action::Playing(PlayingAction::Tick(1000.0)));
    assert!(state.ears.score().is_none());
    state.update(Action::Playing(PlayingAction::Click));
    let score = state.ears.score().unwrap().clone();
    // Four beats counted in and eight played, half a second apart; every fourth is higher.
    let beats: Vec<f64> = score.strikes.iter().map(|strike| strike.at_s).collect();
    assert_eq!(beats, (0..12).map(|beat| f64::from(beat) * 0.5).collect::<Vec<_>>());
    let high = score.strikes.iter().map(|strike| strike.frequency.get()).fold(0.0, f64::max);
    let firsts: Vec<usize> = score
        .strikes
        .iter()
        .enumerate()
        .filter(|(_, strike)| strike.frequency.get() == high)
        .map(|(beat, _)| beat)
        .collect();
    assert_eq!(firsts, [0, 4, 8]);
    // One run of clicks for the whole song; a tap stops it with the clock.
    state.update(Action::Playing(PlayingAction::Tick(5100.0)));
    assert_eq!(state.ears.score().map(|score| score.number), Some(score.number));
    state.update(Action::Playing(PlayingAction::Tap));
    assert!(state.ears.score().is_none());
}

#[test]
fn three_taps_set_the_tempo() {
    let mut state = fresh();
    let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: state.standard() });
    song.chart = "| G |".into();
    let id = state.library.add_song(song);
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    // 75 a minute are 800 ms apart; a pause begins anew.
    for now_ms in [0.0, 5000.0, 5810.0, 6595.0, 7400.0] {
        state.update(Action::Playing(PlayingAction::TempoTap(now_ms)));
    }
    assert_eq!(state.library.find_song(id).unwrap().tempo_bpm, Some(75));
}

/// A page is fitted: the whole song where it fits, else in columns or scrolled, with nothing lost and the line in view.
#[test]
fn the_page_holds_the_song_and_what_is_played() {
    let verse = "Verse\nG         C\nTar on the rope and salt\n| D | G |\n\n";
    for (verses, width, height) in
        [(1, 360.0, 480.0), (9, 360.0, 480.0), (3, 915.0, 300.0), (30, 915.0, 300.0), (1, 200.0, 60.0)]
    {
        let chart = Chart::read(&verse.repeat(verses));
        let lines = chart.played_lines();
        let room = Room { width, height, letter: 14.0, has_shapes_beside: false };
        for line in lines {
            let page = fit(page_rows(&chart, &|_| "| D | G |".to_owned()), room, (0, 0));
            let columns = page.columns(line);
            let is_shown = columns.iter().any(|rows| page.rows[rows.clone()].iter().any(|row| row.is_played(line)));
            assert!(is_shown, "{verses} at {width} × {height}");
            if !page.is_longer || columns.len() == 1 {
                assert_eq!(columns.iter().map(ExactSizeIterator::len).sum::<usize>(), page.rows.len());
            }
            assert!((14.0..=56.0).contains(&page.words), "{}", page.words);
        }
    }
}

/// Lines stay whole where that asks no much smaller letters; a song of a few lines is as large as the page.
#[test]
fn lines_are_kept_whole_and_a_short_song_fills_the_page() {
    let chart = Chart::read("Verse\n| Em | C | G D | G |\nG            C\nTar on the rope and salt on the oar\n");
    let fitted = |width: f32, height: f32| {
        let rows = page_rows(&chart, &|_| "| Em | C | G D | G |".to_owned());
        fit(rows, Room { width, height, letter: 14.0, has_shapes_beside: false }, (0, 0))
    };
    // At 320 this line is wider than the page in the smallest letters that are read at arm's length: there it is broken.
    assert!(!fitted(320.0, 300.0).is_longer);
    for (width, height) in [(360.0, 400.0), (412.0, 600.0), (800.0, 900.0)] {
        let page = fitted(width, height);
        assert!(!page.is_longer, "{width} × {height}");
        // What a row needs by the letters' own widths, against the line it has.
        for row in &page.rows {
            let needs: f32 =
                row.widths.iter().map(|(chord, words)| (chord * page.chords).max(words * page.words)).sum();
            assert!(needs <= page.line_width + 0.5, "{row:?} needs {needs} of {}", page.line_width);
        }
    }
    assert!(fitted(800.0, 900.0).words > 1.5 * fitted(360.0, 400.0).words, "a tablet shows it larger");
}

/// A set list longer than any evening is shown by pages; one that is played opens where it is.
#[test]
fn a_long_set_list_is_shown_by_pages() {
    let mut state = fresh();
    let tuning = Catalog::bundled().find_tuning("guitar-standard").unwrap().tuning().clone();
    let mut list = SetList::new("Every one");
    for number in 0..130 {
        let song = Song::new(format!("{number}"), "guitar", ChosenTuning { id: None, pitches: tuning.clone() });
        list.entries.push(SetEntry::new(state.library.add_song(song)));
    }
    let id = state.library.add_set_list(list);
    state.update(Action::Songs(SongsAction::OpenList(id)));
    state.update(Action::SetList(SetListAction::Page(9)));
    assert_eq!(state.set_list.page, 2);
    state.update(Action::Stage(StageAction::From(70)));
    state.update(Action::Songs(SongsAction::OpenList(id)));
    assert_eq!(state.set_list.page, 1);
}

/// A tab is broken into stretches whose letters are as large as the phone's own, all its strings at the same columns; its rows
/// are as high as it is drawn.
#[test]
fn a_tab_is_broken_where_all_its_strings_are_and_no_letter_of_it_is_small() {
    let bar = ["--0-----3---|", "----1-------|", "--------0---|", "------------|", "3-----------|", "----------12|"];
    let string = |(name, bar): (&str, &&str)| format!("{name}|{}", bar.repeat(6));
    let text: Vec<String> = ["e", "B", "G", "D", "A", "E"].into_iter().zip(&bar).map(string).collect();
    let chart = Chart::read(&text.join("\n"));
    for (width, height) in [(320.0, 300.0), (360.0, 480.0), (915.0, 300.0)] {
        let rows = page_rows(&chart, &|_| String::new());
        assert_eq!(rows.len(), 1, "six strings are one tab");
        let page = fit(rows, Room { width, height, letter: 14.0, has_shapes_beside: false }, (0, 0));
        let RowKind::Tab(tab) = &page.rows[0].kind else { panic!("no tab") };
        let (size, parts) = page.tab(tab);
        assert!(size >= 14.0, "{width}: {size}");
        for part in &parts {
            assert_eq!(part.count(), 6);
            let columns: f32 = (0..part.columns()).map(|_| 0.6 * size).sum();
            assert!(columns <= page.line_width + 0.5, "{width}: {columns} of {}", page.line_width);
        }
        let marks =
            |tabs: &[songs::Tab]| tabs.iter().flat_map(songs::Tab::lines).map(|line| line.marks.len()).sum::<usize>();
        assert_eq!(marks(&parts), marks(std::slice::from_ref(tab)), "{width}: nothing is lost");
        let begins = |part: &&songs::Tab| part.lines().iter().all(|line| line.marks[0].text == "|");
        assert!(parts[1..].iter().all(|part| begins(&part)), "{width}: each stretch begins with a bar");
    }
}

/// Song cards, the comparison and the stage choose shapes by the ranking that the Shapes screen has.
#[test]
fn a_songs_shapes_are_those_the_shapes_screen_puts_first() {
    for id in ["guitar-standard", "guitar-dadgad", "guitar-open-g", "guitar-drop-d"] {
        let mut state = fresh();
        state.update(Action::Tunings(TuningsAction::Choose(id.into())));
        for _ in 0..12 {
            state.update(CONFIRM);
        }
        let pitches = state.catalog().find_tuning(id).unwrap().tuning().clone();
        assert_eq!(state.guitar.tuning(), pitches, "{id}");
        let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: Some(id.into()), pitches });
        song.chart = "| G | C | D7 | Em | F#m | Bb |".into();
        for held in chords(state.habits(), &song) {
            state.update(Action::Tab(Tab::Shapes));
            state.update(Action::Open(Screen::ChordPicker));
            state.update(Action::Pick(PickAction::Typed(held.chord.ascii())));
            state.update(Action::Pick(PickAction::ChordTaken));
            let first = state.shapes.shape().map(|ranked| ranked.shape().clone());
            assert_eq!(held.found.map(|ranked| ranked.shape().clone()), first, "{} in {id}", held.chord.ascii());
        }
    }
}

#[test]
fn changes_of_a_set_list_are_taken_back_one_by_one() {
    let mut state = with_demo();
    let id = first_list(&state);
    state.update(Action::Songs(SongsAction::OpenList(id)));
    let before = open_list(&state).unwrap().entries.clone();
    let away = before[3].song_id;
    state.update(Action::SetList(SetListAction::MoveBy(0, 2)));
    state.update(Action::SetList(SetListAction::Add));
    state.update(Action::Songs(SongsAction::Choose(away)));
    state.update(Action::SetList(SetListAction::TakeBack));
    state.update(Action::SetList(SetListAction::TakeBack));
    assert_eq!(open_list(&state).unwrap().entries, before);
    state.update(Action::SetList(SetListAction::TakeBack));
    assert_eq!(open_list(&state).unwrap().entries, before, "there is no more");
}

/// Eight seconds a string, two a semitone, two more a semitone up, six for the capo: the formula's own arithmetic.
#[test]
fn the_estimate_follows_its_formula() {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let strung = Strung::new(guitar, catalog.strings_of(guitar)).unwrap();
    let stand = |numbers: [u8; 6], capo| Stand {
        instrument_id: "guitar".into(),
        pitches: Tuning::new(numbers.iter().map(|&number| Pitch::from_number(number).unwrap()).collect()).unwrap(),
        capo: Fret::new(capo),
    };
    let standard = stand([40, 45, 50, 55, 59, 64], 0);
    let a4 = ReferencePitch::default();
    let between = |from: &Stand, to: &Stand| Changeover::between_songs(&strung, from, to, a4);
    let b_flat = stand([40, 45, 50, 55, 58, 64], 0);
    let rows = [
        (&standard, &standard, 0),
        (&standard, &b_flat, 8 + 2),
        (&b_flat, &standard, 8 + 2 + 2),
        (&standard, &stand([40, 45, 50, 55, 59, 64], 3), 6),
        (&standard, &stand([40, 45, 50, 55, 58, 64], 3), 8 + 2 + 6),
    ];
    for (from, to, seconds) in rows {
        let way = between(from, to);
        assert_eq!((way.seconds(), way.cost()), (seconds, seconds * 10), "{way:?}");
    }
    assert!(between(&standard, &standard).is_nothing());
    let ukulele = Stand { instrument_id: "ukulele".into(), ..standard.clone() };
    assert_eq!((between(&standard, &ukulele).moves, between(&standard, &ukulele).seconds()), (None, 40));
    // A string that may be off is set again, and one that would break weighs more than the seconds told.
    let doubtful: Vec<CourseState> =
        standard.pitches.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
    let from = ("guitar", doubtful.as_slice(), Fret::OPEN);
    let way = Changeover::between(&strung, from, &standard, a4);
    let first = (CourseIndex::from_lowest(0), Semitones::ZERO);
    assert_eq!(way.moves.as_ref().map(|moves| (moves.len(), moves[0])), Some((6, first)));
    let breaking = between(&standard, &stand([40, 45, 50, 55, 59, 72], 0));
    assert!(breaking.worst == Level::TooTight && breaking.seconds() == 300 && breaking.cost() > 4_000, "{breaking:?}");
}

#[test]
fn the_order_found_is_kept_told_and_can_be_taken_back() {
    let mut state = with_demo();
    let before = state.library.set_lists()[0].clone();
    state.update(Action::Songs(SongsAction::OpenList(first_list(&state))));
    let total = |state: &State| total_seconds(&set_rows(state, open_list(state).unwrap()));
    let as_it_was = total(&state);
    assert_eq!(state.update(Action::SetList(SetListAction::Order)), Update::Kept);
    let verdict = state.set_list.verdict.unwrap();
    assert_eq!(verdict.percent_above_best, Some(0.0), "few tunings are ordered exactly");
    assert!(verdict.saved_seconds > 0);
    assert_eq!(total(&state) + verdict.saved_seconds, as_it_was);
    let ordered = open_list(&state).unwrap().clone();
    for (place, entry) in before.entries.iter().enumerate().filter(|(_, entry)| entry.is_pinned) {
        assert_eq!(ordered.entries[place].song_id, entry.song_id, "a pinned song keeps its place");
    }
    if let Some(suggestion) = &state.set_list.suggestion {
        assert!(suggestion.saves_seconds > 0);
    }
    state.update(Action::Undo);
    assert_eq!((&state.library.set_lists()[0], state.set_list.verdict), (&before, None));
}

/// An evening in so many tunings that their order is looked for beside the window.
fn long_evening(songs: usize) -> State {
    let mut state = State::new(Library::default());
    let tunings = state.catalog().tunings_for(state.instrument());
    let mut list = SetList::new("All night");
    for number in 0..songs {
        let tuning = tunings[number * 37 % tunings.len()];
        let chosen = ChosenTuning { id: Some(tuning.id().into()), pitches: tuning.tuning().clone() };
        list.entries.push(SetEntry::new(state.library.add_song(Song::new(format!("{number}"), "guitar", chosen))));
    }
    let id = state.library.add_set_list(list);
    state.update(Action::Tab(Tab::Songs));
    state.update(Action::Songs(SongsAction::OpenList(id)));
    state
}

#[test]
fn a_long_search_for_an_order_is_answered_later_and_given_up_by_whatever_changes() {
    let mut state = long_evening(14);
    assert_eq!(state.update(Action::SetList(SetListAction::Order)), Update::Shown, "nothing has changed yet");
    let search = state.set_list.ordering.clone().unwrap();
    let told = std::cell::RefCell::new(Vec::new());
    let going = |done| {
        told.borrow_mut().push(done);
        true
    };
    let answer = search.question.answer(&going).unwrap();
    let told = told.into_inner();
    assert!(told.len() > 10 && told.is_sorted() && told.iter().all(|done| (0.0..=1.0).contains(done)), "{told:?}");
    assert_eq!(search.question.answer(&|done| done < 0.9), Err(NotWanted));

    // What is heard on the way only moves the mark; the answer puts the songs in order, and can be taken back.
    let answered = || OrderTold::Answer(Box::new(answer.clone()));
    let hear = |number, told| Action::SetList(SetListAction::Told(number, told));
    assert_eq!(state.update(hear(search.number, OrderTold::Done(0.5))), Update::Shown);
    assert!((state.set_list.ordering.as_ref().unwrap().done - 0.5).abs() < 1e-9);
    let before = open_list(&state).unwrap().clone();
    assert_eq!(state.update(hear(search.number, answered())), Update::Kept);
    assert_eq!((open_list(&state), state.set_list.ordering.is_none()), (Some(&answer.list), true));
    assert_eq!(state.set_list.verdict, Some(answer.verdict));
    state.update(Action::Undo);
    assert_eq!(open_list(&state), Some(&before));

    // Stopped, changed, left: the answer to the old question is not heard.
    let away = [
        Action::SetList(SetListAction::StopOrdering),
        Action::SetList(SetListAction::Pin(3)),
        Action::SetList(SetListAction::Song(0)),
        Action::Tab(Tab::Tunings),
    ];
    for action in away {
        let mut state = state.clone();
        state.update(Action::SetList(SetListAction::Order));
        let number = state.set_list.ordering.as_ref().unwrap().number;
        assert!(number > search.number, "every search has its own number");
        state.update(action.clone());
        assert_eq!(state.set_list.ordering, None, "{action:?}");
        let lists = state.library.set_lists().to_vec();
        assert_eq!(state.update(hear(number, answered())), Update::Shown);
        assert_eq!(state.library.set_lists(), lists, "{action:?}");
    }
}

#[test]
fn songs_are_moved_pinned_added_and_taken_out() {
    let mut state = with_demo();
    state.update(Action::Songs(SongsAction::View(SongsView::SetLists)));
    state.update(Action::Songs(SongsAction::NewList));
    state.update(Action::SetList(SetListAction::Title("Quay".into())));
    state.update(Action::SetList(SetListAction::Add));
    let ids: Vec<SongId> = state.library.songs().iter().take(3).map(|song| song.id).collect();
    for &id in &ids {
        state.update(Action::Songs(SongsAction::Choose(id)));
    }
    state.update(Action::Back);
    assert_eq!(state.screen(), Screen::SetList);
    let order = |state: &State| -> Vec<SongId> {
        open_list(state).unwrap().entries.iter().map(|entry| entry.song_id).collect()
    };
    assert_eq!(order(&state), ids);
    state.update(Action::SetList(SetListAction::MoveBy(2, -1)));
    state.update(Action::SetList(SetListAction::MoveBy(0, -1)));
    assert_eq!(order(&state), [ids[0], ids[2], ids[1]]);
    state.update(Action::SetList(SetListAction::Pin(1)));
    assert!(open_list(&state).unwrap().entries[1].is_pinned);
    state.update(Action::SetList(SetListAction::TakeOut(1)));
    assert_eq!(order(&state), [ids[0], ids[1]]);
    state.update(Action::Undo);
    assert_eq!(order(&state), [ids[0], ids[2], ids[1]]);
    state.update(Action::SetList(SetListAction::Delete));
    assert_eq!((state.library.set_lists().len(), state.screen()), (1, Screen::Songs));
    state.update(Action::Undo);
    assert_eq!(state.library.set_lists()[1].title, "Quay");
}

/// Two songs in two tunings, the first of them on the guitar, and the set list under way at the first.
fn two_songs_under_way() -> Library {
    let mut library = Library::default();
    let standard = Catalog::bundled().find_tuning("guitar-standard").unwrap().tuning().clone();
    let g6 = Catalog::bundled().find_tuning("guitar-g6").unwrap().tuning().clone();
    let mut ids = Vec::new();
    for (title, id, pitches) in [("One", "guitar-standard", standard), ("Two", "guitar-g6", g6)] {
        let mut song = Song::new(title, "guitar", ChosenTuning { id: Some(id.into()), pitches });
        song.chart = "| G | C |".into();
        ids.push(library.add_song(song));
    }
    let mut list = SetList::new("Quay");
    list.entries = ids.into_iter().map(SetEntry::new).collect();
    let set_list_id = library.add_set_list(list);
    library.on_stage = Some(OnStage { set_list_id, place: 0 });
    library
}

/// The busker: launch with a set list under way, then the next song's first retuning step, counted. At most two taps.
#[test]
fn from_launch_the_next_songs_first_step_is_one_tap_away() {
    let mut state = State::new(two_songs_under_way());
    assert_eq!((state.tab(), state.screen()), (Tab::Songs, Screen::Playing));
    assert_eq!(next_song(&state).map(|(song, _)| song.title.as_str()), Some("Two"));
    let taps = [Action::Stage(StageAction::Next)];
    for tap in taps.clone() {
        state.update(tap);
    }
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    assert!(taps.len() <= 2);
    // Half done and started again: it is still for that song.
    state.update(CONFIRM);
    let mut state = again(&state);
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    state.update(CONFIRM);
    state.update(Action::Retune(RetuneAction::CheckDone));
    assert_eq!(state.guitar.stage(), Stage::Done);
    state.update(Action::Stage(StageAction::Play));
    assert_eq!((state.screen(), under_way(&state).map(|now| now.place)), (Screen::Playing, Some(1)));
    assert_eq!(again(&state).screen(), Screen::Playing, "a restart goes on with the song");
    state.update(Action::Stage(StageAction::Next));
    assert_eq!((state.screen(), &state.library.on_stage), (Screen::SetList, &None), "that was the last");
    assert_eq!(again(&state).screen(), Screen::Tunings);
}

/// A swipe leads on line by line, and after the last line to the next song; a pedal pressed once too often does not.
#[test]
fn a_swipe_after_the_last_line_opens_the_way_to_the_next_song() {
    let mut state = State::new(two_songs_under_way());
    state.update(Action::Playing(PlayingAction::Next));
    state.update(Action::Playing(PlayingAction::Next));
    assert_eq!(state.screen(), Screen::Playing);
    state.update(Action::Playing(PlayingAction::SwipeOn));
    assert_eq!((state.screen(), state.guitar.stage()), (Screen::Retune, Stage::Step));
    // A song by itself ends where it ends.
    let mut state = with_demo();
    let id = id_of(&state, "Quay Lamp Forty");
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    for _ in 0..60 {
        state.update(Action::Playing(PlayingAction::SwipeOn));
    }
    assert_eq!(state.screen(), Screen::Playing);
}

#[test]
fn another_tuning_chosen_on_the_way_is_not_for_the_song() {
    let mut state = State::new(two_songs_under_way());
    state.update(Action::Stage(StageAction::Next));
    assert!(state.waiting_song().is_some());
    state.update(Action::Tunings(TuningsAction::Choose("guitar-dadgad".into())));
    assert_eq!(state.waiting_song(), None);
}

#[test]
fn a_song_for_another_instrument_takes_that_in_hand() {
    let mut state = with_demo();
    let ukulele = Catalog::bundled().find_instrument("soprano-ukulele").unwrap();
    let pitches = Catalog::bundled().standard_of(ukulele).tuning().clone();
    let id = state.library.add_song(Song::new("Coal Tub", "soprano-ukulele", ChosenTuning { id: None, pitches }));
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Play));
    assert_eq!((state.instrument().id(), state.screen()), ("soprano-ukulele", Screen::Playing));
}

#[test]
fn a_set_list_that_is_gone_is_not_under_way() {
    let mut library = two_songs_under_way();
    library.on_stage = Some(OnStage { set_list_id: SetListId(77), place: 0 });
    let state = State::new(read(&write(&library)).unwrap());
    assert!(under_way(&state).is_none());
    let mut library = two_songs_under_way();
    library.on_stage.as_mut().unwrap().place = 9;
    let state = State::new(library);
    assert_eq!(under_way(&state).map(|now| now.place), Some(1), "songs were taken out since");
}

#[test]
fn what_cannot_be_read_is_told_and_everything_kept() {
    let mut state = with_demo();
    let before = state.library.clone();
    state.update(Action::Open(Screen::Exchange));
    state.update(Action::Exchange(ExchangeAction::Typed("{\"format\":\"pegwise-library\",\"version\":9}".into())));
    state.update(Action::Exchange(ExchangeAction::Read));
    let fault = state.exchange.fault.as_ref().unwrap().to_string();
    assert_eq!(fault, "expected version 1 at most, found version 9");
    assert_eq!((&state.library, state.exchange.pasted.is_empty()), (&before, false));
    state.update(Action::Exchange(ExchangeAction::TakeIn));
    assert_eq!(state.library, before);
}

#[test]
fn items_come_in_as_decided_and_can_be_taken_back() {
    let mut other = with_demo();
    let id = id_of(&other, "Slipway Number Nine");
    let mut song = other.library.find_song(id).unwrap().clone();
    song.notes = "slower".into();
    other.library.replace_song(song);
    other.update(Action::Exchange(ExchangeAction::Out(Out::Library)));
    let text = other.exchange.out.as_ref().unwrap().text.clone();

    let mut state = with_demo();
    let before = state.library.clone();
    state.update(Action::Exchange(ExchangeAction::Typed(text)));
    state.update(Action::Exchange(ExchangeAction::Read));
    let place = state.exchange.items.iter().position(|item| item.name == "Slipway Number Nine").unwrap();
    assert!(matches!(state.exchange.items[place].what, Incoming::Song(_)));
    assert_eq!(state.exchange.items[place].decision, Decision::Add, "nothing is replaced unasked");
    for index in 0..state.exchange.items.len() {
        state.update(Action::Exchange(ExchangeAction::Decide(index, Decision::Leave)));
    }
    state.update(Action::Exchange(ExchangeAction::Decide(place, Decision::Replace)));
    assert_eq!(state.update(Action::Exchange(ExchangeAction::TakeIn)), Update::Kept);
    assert_eq!(state.exchange.done.unwrap().replaced, 1);
    assert_eq!(state.library.songs().len(), before.songs().len());
    assert_eq!(state.library.find_song(id).unwrap().notes, "slower");
    // What comes between is nobody's to take back.
    let standard = state.standard();
    let between = state.library.add_own_tuning("guitar", "Between", standard);
    state.library.settings.is_left_handed = true;
    state.update(Action::Undo);
    assert_eq!(state.library.songs(), before.songs());
    assert!(state.library.find_own_tuning(&between).is_some() && state.library.settings.is_left_handed);
}

#[test]
fn songs_and_set_lists_go_out_as_text() {
    let mut state = with_demo();
    state.update(Action::Songs(SongsAction::Open(id_of(&state, "Slipway Number Nine"))));
    state.update(Action::Song(SongAction::Out));
    let out = state.exchange.out.clone().unwrap();
    assert_eq!((out.name.as_str(), out.ending), ("slipway-number-nine", "txt"));
    assert!(Song::read_text(&out.text).is_ok());
    state.update(Action::Songs(SongsAction::OpenList(first_list(&state))));
    state.update(Action::SetList(SetListAction::Out));
    let out = state.exchange.out.clone().unwrap();
    assert!(out.ending == "json" && Library::read_incoming(&out.text).is_ok());
    state.update(Action::SetList(SetListAction::OutAsText));
    assert!(state.exchange.out.as_ref().unwrap().text.contains("1. "));
}

#[test]
fn a_file_that_goes_out_touches_no_other() {
    assert_eq!(file_name("  Étude: für \"Öl\" / 2 "), "etude-fur-ol-2");
    assert_eq!(file_name("…"), "pegwise");
    let folder = std::env::temp_dir().join(format!("pegwise-out-{}", std::process::id()));
    let paths: Vec<_> = ["one", "two"].map(|text| write_out(&folder, "quay", "txt", text.as_bytes()).unwrap()).into();
    let names: Vec<_> = paths.iter().map(|path| path.file_name().unwrap().to_str().unwrap()).collect();
    assert_eq!(names, ["quay.txt", "quay-2.txt"]);
    assert_eq!(std::fs::read_to_string(&paths[0]).unwrap(), "one");
    std::fs::remove_dir_all(&folder).unwrap();
}

pub(crate) fn any_song_action() -> impl Strategy<Value = Action> {
    let text = prop_oneof!["[|:%/ A-Gmx0-9\"#b\n]{0,24}", "\\PC{0,12}", "Verse:\n\\| G \\| C \\|"];
    let song = (0_u64..24).prop_map(SongId);
    let index = 0_usize..9;
    let small = -3_i16..4;
    prop_oneof![
        3 => song.clone().prop_map(|id| Action::Songs(SongsAction::Open(id))),
        1 => prop::sample::select(vec![
            SongsAction::New, SongsAction::NewList, SongsAction::Demo, SongsAction::UseShape, SongsAction::UseShapeIn,
            SongsAction::View(SongsView::SetLists), SongsAction::Search("a".into()),
        ]).prop_map(Action::Songs),
        1 => song.clone().prop_map(|id| Action::Songs(SongsAction::Choose(id))),
        2 => (0_u64..24).prop_map(|id| Action::Songs(SongsAction::OpenList(SetListId(id)))),
        3 => (prop::sample::select(vec![
            SongEditAction::Title as fn(String) -> SongEditAction, SongEditAction::From, SongEditAction::Key,
            SongEditAction::Tempo, SongEditAction::Chart, SongEditAction::Notes,
        ]), text.clone()).prop_map(|(of, text)| Action::SongEdit(of(text))),
        2 => prop::sample::select(vec![
            SongEditAction::Tuning, SongEditAction::Delete, SongEditAction::Done, SongEditAction::CapoBy(1),
            SongEditAction::CapoBy(-2),
        ]).prop_map(Action::SongEdit),
        1 => prop::sample::select(vec![
            SongTuningAction::Now, SongTuningAction::Choose("guitar-dadgad".into()),
            SongTuningAction::Choose("guitar-open-g".into()), SongTuningAction::Search("open".into()),
        ]).prop_map(Action::SongTuning),
        4 => prop::sample::select(vec![
            SongAction::Edit, SongAction::Play, SongAction::ShowCapos, SongAction::UseShape, SongAction::DropShape,
            SongAction::ToShapes, SongAction::Compare, SongAction::TakeTuning, SongAction::Out,
            SongAction::Transpose(1), SongAction::TakeCapo(Fret::new(3)), SongAction::ChordBy(2),
        ]).prop_map(Action::Song),
        1 => index.clone().prop_map(|index| Action::Song(SongAction::Chord(index))),
        2 => prop::sample::select(vec![
            PlayingAction::Next, PlayingAction::Before, PlayingAction::FromTheTop, PlayingAction::CapoIsThere,
        ]).prop_map(Action::Playing),
        3 => (0_u8..7, index.clone(), small).prop_map(|(which, index, by)| Action::SetList(match which {
            0 | 1 => SetListAction::MoveBy(index, by),
            2 => SetListAction::Pin(index),
            3 => SetListAction::TakeOut(index),
            4 => SetListAction::Song(index),
            5 => SetListAction::Order,
            _ => SetListAction::Edit,
        })),
        1 => prop::sample::select(vec![
            SetListAction::Add, SetListAction::Delete, SetListAction::Out, SetListAction::Title(String::new()),
        ]).prop_map(Action::SetList),
        3 => prop::sample::select(vec![
            StageAction::Begin, StageAction::Next, StageAction::Before, StageAction::Play, StageAction::End,
            StageAction::GoOn, StageAction::From(3),
        ]).prop_map(Action::Stage),
        2 => (0_u8..5, index, text).prop_map(|(which, index, text)| Action::Exchange(match which {
            0 => ExchangeAction::Typed(text),
            1 => ExchangeAction::Read,
            2 => ExchangeAction::Decide(index, Decision::Replace),
            3 => ExchangeAction::TakeIn,
            _ => ExchangeAction::Out(Out::Library),
        })),
        2 => Just(Action::Undo),
        2 => Just(Action::Back),
        1 => Just(CONFIRM),
        1 => prop::sample::select(vec!["soprano-ukulele".to_owned(), "guitar".to_owned(), "mandolin".to_owned()])
            .prop_map(|id| Action::Instrument(pegwise::app::InstrumentAction::Instrument(id))),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is tapped and typed in whatever order: no panic, and the library is one that can be read again.
    #[test]
    fn no_sequence_of_taps_spoils_the_library(actions in prop::collection::vec(any_song_action(), 1..40)) {
        let mut state = with_demo();
        for action in actions {
            state.update(action);
            prop_assert!(state.undo.is_none() || !matches!(state.undo, Some(Undo::Song(_))) || state.notice.is_some());
            let kept = read(&write(&state.library));
            prop_assert_eq!(kept.as_ref(), Ok(&state.library));
            if let Some(list) = open_list(&state) {
                prop_assert_eq!(set_rows(&state, list).len(), list.entries.len());
            }
        }
        let _ = again(&state).update(Action::Stage(StageAction::Next));
    }
}

/// A song stands in a set list once unless it is asked for again; the same tap takes it out.
#[test]
fn a_song_is_added_once_taken_out_by_the_same_tap_and_added_again_when_asked() {
    let mut state = fresh();
    let song = |state: &mut State, title: &str| {
        let tuning = ChosenTuning { id: None, pitches: state.standard() };
        state.library.add_song(Song::new(title, "guitar", tuning))
    };
    let (one, two) = (song(&mut state, "Tar Barrel"), song(&mut state, "Coal Tub"));
    state.update(Action::Songs(SongsAction::NewList));
    state.update(Action::SetList(SetListAction::Add));
    let mut tap = |action: SongsAction| {
        state.update(Action::Songs(action));
        open_list(&state).unwrap().entries.iter().map(|entry| entry.song_id).collect::<Vec<_>>()
    };
    assert_eq!(tap(SongsAction::Choose(one)), [one]);
    assert_eq!(tap(SongsAction::Choose(two)), [one, two]);
    assert_eq!(tap(SongsAction::Choose(one)), [two]);
    assert_eq!(tap(SongsAction::ChooseAgain(two)), [two, two]);
    assert_eq!(tap(SongsAction::Choose(two)), []);
}

#[test]
fn songs_are_sorted_by_title_tuning_or_lately_played_and_found_by_words_and_chords() {
    let mut state = fresh();
    let mut add = |title: &str, tuning: &str, chart: &str| {
        let pitches = state.catalog().find_tuning(tuning).unwrap().tuning().clone();
        let mut song = Song::new(title, "guitar", ChosenTuning { id: Some(tuning.into()), pitches });
        song.chart = chart.into();
        state.library.add_song(song)
    };
    let anchor = add("Anchor", "guitar-standard", "G\nthe lantern swings");
    add("Bilge", "guitar-dadgad", "| F#m |");
    let capstan = add("Capstan", "guitar-standard", "");
    let titles = |state: &State| sorted_songs(state).iter().map(|song| song.title.clone()).collect::<Vec<_>>();
    assert_eq!(titles(&state), ["Anchor", "Bilge", "Capstan"]);
    state.update(Action::Songs(SongsAction::Sort));
    assert_eq!(titles(&state), ["Bilge", "Anchor", "Capstan"]);
    state.update(Action::Songs(SongsAction::Sort));
    for id in [anchor, capstan] {
        state.update(Action::Songs(SongsAction::Open(id)));
        state.update(Action::Song(SongAction::Play));
    }
    assert_eq!(titles(&state), ["Capstan", "Anchor", "Bilge"]);
    for (search, found) in [("lantern", "Anchor"), ("f#m", "Bilge")] {
        state.update(Action::Songs(SongsAction::Search(search.into())));
        assert_eq!(titles(&state), [found], "{search}");
    }
}

#[test]
fn a_song_swiped_away_comes_back_by_undo() {
    let mut state = fresh();
    let tuning = ChosenTuning { id: None, pitches: state.standard() };
    let id = state.library.add_song(Song::new("Tar Barrel", "guitar", tuning));
    state.update(Action::Songs(SongsAction::Delete(id)));
    assert!(state.library.songs().is_empty());
    state.update(Action::Undo);
    assert!(state.library.find_song(id).is_some());
}
