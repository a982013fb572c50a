//! A thousand songs loaded, saved and searched; set lists put in order.

use std::path::PathBuf;

use divan::{Bencher, black_box};
use pegwise::app::{
    Action, EarsAction, OrderQuestion, Room, SettingsAction, SongAction, SongEditAction, SongsAction, State, fit,
    page_rows,
};
use pegwise::instrument::{Catalog, Fret};
use pegwise::shapes::Shape;
use pegwise::songs::{Chart, ChosenTuning, CostTable, OrderProblem, SetEntry, SetList, Song, Stand};
use pegwise::store::{Disk, Library, LibraryFile};
use pegwise::theory::Chord;

/// A folder that is gone when the benchmark is.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("pegwise-bench-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        std::fs::remove_dir_all(&self.0).unwrap();
    }
}

/// A thousand songs of some thirty bars and five chosen shapes, and twenty set lists of twenty.
fn thousand_songs() -> Library {
    let catalog = Catalog::bundled();
    let tunings = catalog.tunings_for(catalog.guitar());
    let mut library = Library::default();
    let mut ids = Vec::new();
    for number in 0..1_000 {
        let tuning = tunings[number % tunings.len()];
        let chosen = ChosenTuning { id: Some(tuning.id().into()), pitches: tuning.tuning().clone() };
        let mut song = Song::new(format!("The {number}th Landing"), "guitar", chosen);
        song.from = format!("skipper {}", number % 70);
        song.capo = Fret::new(u8::try_from(number % 5).unwrap());
        song.chart = "Verse:\n| G | C G | D | G |\n| Em7 | Cmaj7 | D/F# | G |\n".repeat(4);
        song.notes = "The second verse softer, the last one twice. ".repeat(4);
        for symbol in ["G", "C", "D", "Em7", "D/F#"] {
            let shape = Shape::read("x 3 2 0 1 0", 6).unwrap();
            song.choose_shape(Chord::read(symbol).unwrap(), Some(&shape));
        }
        ids.push(library.add_song(song));
    }
    for part in ids.chunks(50) {
        let mut list = SetList::new("Evening");
        list.entries = part.iter().take(20).map(|&id| SetEntry::new(id)).collect();
        library.add_set_list(list);
    }
    library
}

/// A chart of so many lines in all the ways players write one: headings, chords over words, bars, brackets, a tab, words
/// alone, and now and then something that is not understood.
fn chart_of(lines: usize) -> String {
    const LINES: [&str; 16] = [
        "Verse 1:",
        "G              C",
        "Low water on the sand tonight",
        "Em       D7sus4   G/B",
        "and nobody to row",
        "",
        "Chorus",
        "| G | C G | D | Em7 / / what |",
        "|: Am | F | C | G :| x3",
        "[G]Row her over, [C]row her home",
        "e|---3---2---0---|",
        "Tar on the rope and salt on the oar",
        "F#m7b5  B7  Em  x2",
        "(quietly now)",
        "C  Zm  G",
        "",
    ];
    let mut text = String::new();
    for line in LINES.iter().cycle().take(lines) {
        text.push_str(line);
        text.push('\n');
    }
    text
}

#[divan::bench]
fn read_a_chart_of_2000_lines(bencher: Bencher<'_, '_>) {
    let text = chart_of(2_000);
    bencher.bench(|| Chart::read(black_box(&text)));
}

/// What is laid out when a line of it is played: its rows, measured and fitted to a phone.
#[divan::bench]
fn fit_a_page_of_2000_lines(bencher: Bencher<'_, '_>) {
    let chart = Chart::read(&chart_of(2_000));
    let room = Room { width: 412.0, height: 600.0, letter: 14.0, has_shapes_beside: false };
    bencher.bench(|| fit(page_rows(&chart, &|_| "| G | C G | D | G |".to_owned()), room, (0, 0)));
}

#[divan::bench]
fn load_1000_songs(bencher: Bencher<'_, '_>) {
    let folder = Folder::new("load");
    LibraryFile::open(Box::new(Disk), &folder.0).unwrap().file.save(&thousand_songs()).unwrap();
    bencher.bench(|| LibraryFile::open(Box::new(Disk), &folder.0).unwrap());
}

#[divan::bench]
fn save_1000_songs(bencher: Bencher<'_, '_>) {
    let folder = Folder::new("save");
    let mut file = LibraryFile::open(Box::new(Disk), &folder.0).unwrap().file;
    let mut library = thousand_songs();
    file.save(&library).unwrap();
    let mut number = 0_u32;
    bencher.bench_local(|| {
        number += 1;
        library.settings.language = Some(number.to_string());
        file.save(&library).unwrap()
    });
}

/// What the window's thread does when it hands a library to the saver.
#[divan::bench]
fn hand_over_1000_songs(bencher: Bencher<'_, '_>) {
    let library = thousand_songs();
    bencher.bench(|| std::sync::Arc::new(library.clone()));
}

/// So many songs: those of a thousand, again and again.
fn songs(thousands: usize) -> Library {
    let thousand = thousand_songs();
    let mut library = Library::default();
    for song in std::iter::repeat_n(thousand.songs(), thousands).flatten() {
        library.add_song(Song::clone(song));
    }
    library
}

/// The most memory the program has held so far, in kilobytes; 0 where the system does not tell.
fn most_memory_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0)
}

/// Alone (`export_15000`) it also tells how much more memory the export took at its most.
#[divan::bench(sample_count = 10)]
fn export_15000_songs(bencher: Bencher<'_, '_>) {
    let library = songs(15);
    let path = Folder::new("export");
    let before = most_memory_kb();
    bencher.bench(|| pegwise::store::write_out_with(&path.0, "all", "json", |to| library.export_to(to)).unwrap());
    eprintln!("export_15000_songs: {} kB more memory", most_memory_kb() - before);
}

/// What the tap takes that takes fifty thousand songs in; reading and comparing them went on beside the window.
#[divan::bench(sample_count = 5)]
fn take_in_50000_songs(bencher: Bencher<'_, '_>) {
    let incoming = songs(50);
    let items = Library::default().compare(&incoming);
    bencher.with_inputs(Library::default).bench_local_values(|mut library| library.import(&incoming, &items));
}

#[divan::bench(args = ["l", "landing 7", "skipper", "nowhere"])]
fn search_1000_songs(bencher: Bencher<'_, '_>, text: &str) {
    let library = thousand_songs();
    bencher.bench(|| black_box(library.find_songs(text).len()));
}

/// Tunings of the guitar; two for every string that moves and one for every semitone, half as much again when up.
fn guitar_costs(groups: usize) -> CostTable {
    let catalog = Catalog::bundled();
    let stands: Vec<Stand> = catalog
        .tunings_for(catalog.guitar())
        .iter()
        .take(groups)
        .map(|tuning| Stand { instrument_id: "guitar".into(), pitches: tuning.tuning().clone(), capo: Fret::OPEN })
        .collect();
    assert_eq!(stands.len(), groups);
    CostTable::new(groups, |from, to| {
        let pairs = stands[from].pitches.pitches().iter().zip(stands[to].pitches.pitches());
        let moves = pairs.map(|(&from, &to)| (to - from).get()).filter(|&by| by != 0);
        moves.map(|by| 4 + u32::from(by.unsigned_abs()) * if by > 0 { 3 } else { 2 }).sum()
    })
}

#[divan::bench(args = [15, 16], sample_count = 10)]
fn order_groups_exactly(bencher: Bencher<'_, '_>, groups: usize) {
    let problem = OrderProblem {
        groups: (0..groups).collect(),
        pinned: vec![false; groups],
        costs: guitar_costs(groups),
        from_now: None,
    };
    bencher.bench(|| problem.solve());
}

#[divan::bench(args = ["free", "first and last pinned", "every tenth pinned"], sample_count = 5)]
fn order_200_songs_in_60_tunings(bencher: Bencher<'_, '_>, pins: &str) {
    let is_pinned = |song: usize| match pins {
        "free" => false,
        "every tenth pinned" => song % 10 == 3,
        _ => song == 0 || song == 199,
    };
    let problem = OrderProblem {
        groups: (0..200).map(|song| song * 37 % 60).collect(),
        pinned: (0..200).map(is_pinned).collect(),
        costs: guitar_costs(60),
        from_now: None,
    };
    let order = problem.solve();
    eprintln!("{pins}: cost {}, at most {:?} % above the best", order.cost, order.percent_above_best());
    bencher.bench(|| problem.solve());
}

#[divan::bench(sample_count = 5)]
fn suggest_a_move_of_15_groups(bencher: Bencher<'_, '_>) {
    let problem =
        OrderProblem { groups: (0..15).collect(), pinned: vec![false; 15], costs: guitar_costs(15), from_now: None };
    let order = problem.solve();
    bencher.bench(|| problem.suggest_move_while(&order, &|_| true));
}

/// What the app does when it is asked for the order that takes least: the ways, the order, the suggestion.
#[divan::bench(args = [(10, 10), (15, 15), (200, 60)], sample_count = 5)]
fn look_for_the_order_of_an_evening(bencher: Bencher<'_, '_>, (songs, tunings): (usize, usize)) {
    let mut state = State::new(Library::default());
    let all = state.catalog().tunings_for(state.instrument());
    let mut list = SetList::new("All night");
    for song in 0..songs {
        let tuning = all[song * 37 % tunings];
        let chosen = ChosenTuning { id: Some(tuning.id().into()), pitches: tuning.tuning().clone() };
        list.entries.push(SetEntry::new(state.library.add_song(Song::new(format!("{song}"), "guitar", chosen))));
    }
    let question = OrderQuestion::new(&state, &list);
    bencher.bench(|| question.answer(&|_| true));
}

/// Ten thousand songs, one of them open in the editor.
fn ten_thousand_songs() -> State {
    let thousand = thousand_songs();
    let mut library = Library::default();
    for song in std::iter::repeat_n(thousand.songs(), 10).flatten() {
        library.add_song(Song::clone(song));
    }
    let mut state = State::new(library);
    let id = state.library.songs()[5_000].id;
    state.update(Action::Songs(SongsAction::Open(id)));
    state.update(Action::Song(SongAction::Edit));
    state
}

/// What a letter typed into a song costs the window's thread before anything is drawn.
#[divan::bench]
fn letter_among_10000_songs(bencher: Bencher<'_, '_>) {
    let mut state = ten_thousand_songs();
    let mut notes = String::new();
    bencher.bench_local(|| {
        notes.push('a');
        state.update(Action::SongEdit(SongEditAction::Notes(notes.clone())))
    });
}

/// The same for a tap that changes nothing that is kept, and for one that does.
#[divan::bench(args = ["nothing kept", "a setting"])]
fn tap_among_10000_songs(bencher: Bencher<'_, '_>, what: &str) {
    let mut state = ten_thousand_songs();
    bencher.bench_local(|| match what {
        "a setting" => state.update(Action::Settings(SettingsAction::LeftHanded)),
        _ => state.update(Action::Ears(EarsAction::Hush)),
    });
}
