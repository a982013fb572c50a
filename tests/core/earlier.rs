//! A library goes from 0.1.0 to this version and back.
//!
//! `tests/assets/library_0_1_0.json` was written by 0.1.0 (commit 67edf7a): the invented songs, settings, an own tuning, a set
//! list under way, a retuning half done. What 0.1.0 asks of a file is what its `read` does: known fields are read strictly.

use pegwise::app::{
    Action, InstrumentAction, OwnTuningAction, RetuneAction, SettingsAction, SongAction, SongEditAction, SongsAction,
    StageAction, State, TuningsAction,
};
use pegwise::store::{Library, Mended, Theme, demo, read_mending, write};
use serde_json::Value;

#[test]
fn what_0_1_0_wrote_is_read_whole_and_goes_on_where_it_was() {
    let bytes = std::fs::read("tests/assets/library_0_1_0.json").unwrap();
    let (library, mended) = read_mending(&bytes).unwrap();
    assert_eq!(mended, Mended::default());
    assert_eq!(library.set_aside(), []);
    assert_eq!((library.songs().len(), library.own_tunings().len(), library.set_lists().len()), (10, 2, 1));
    assert_eq!(library.set_lists()[0].entries.len(), 10);
    assert_eq!(library.settings.theme, Theme::Sunlight);
    assert!(library.settings.is_left_handed && library.settings.has_seen_guide);
    assert_eq!(library.settings.language.as_deref(), Some("de"));
    let state = State::new(library);
    assert_eq!(state.guitar.capo(), pegwise::instrument::Fret::new(2));
    assert_eq!(state.guitar.target(), Some(&state.standard()), "the retuning under way goes on");
    assert!(pegwise::app::under_way(&state).is_some(), "and so does the set list");
    // Of what it wrote nothing is lost but what stands elsewhere now: strings and bridge are the instrument's.
    let asked: Value = serde_json::from_slice(&bytes).unwrap();
    let back: Value = serde_json::from_slice(&write(&state.library)).unwrap();
    for list in ["songs", "own_tunings", "set_lists"] {
        for (asked, back) in asked[list].as_array().unwrap().iter().zip(back[list].as_array().unwrap()) {
            for (field, value) in asked.as_object().unwrap() {
                assert_eq!(&back[field], value, "{list}: {field}");
            }
        }
    }
}

/// A library with something of everything, made by this version's own taps.
fn by_taps() -> Library {
    let mut state = State::new(Library::default());
    let choose = |id: &str| Action::Tunings(TuningsAction::Choose(id.into()));
    for action in [
        Action::Songs(SongsAction::Demo),
        Action::Settings(SettingsAction::Theme(Theme::Sunlight)),
        Action::Settings(SettingsAction::LeftHanded),
        Action::Settings(SettingsAction::Language(Some("de".into()))),
        Action::OwnTuning(OwnTuningAction::New),
        Action::OwnTuning(OwnTuningAction::Name("Ferry".into())),
        Action::OwnTuning(OwnTuningAction::Move(0, -2)),
        Action::OwnTuning(OwnTuningAction::Save),
        choose("guitar-open-g"),
        Action::Retune(RetuneAction::Confirm),
        Action::Instrument(InstrumentAction::CapoBy(2)),
    ] {
        state.update(action);
    }
    let (song, list) = (state.library.songs()[0].id, state.library.set_lists()[0].id);
    for action in [
        Action::Songs(SongsAction::Open(song)),
        Action::Song(SongAction::Edit),
        Action::SongEdit(SongEditAction::Chart("Strophe\n| G | H7 | % |\nund Wörter".into())),
        Action::SongEdit(SongEditAction::Tempo("90".into())),
        Action::SongEdit(SongEditAction::Done),
        Action::Songs(SongsAction::OpenList(list)),
        Action::Stage(StageAction::Begin),
    ] {
        state.update(action);
    }
    state.library.clone()
}

/// The fields without which 0.1.0 sets the whole file aside, and the words it knows in those it reads strictly.
#[test]
fn what_is_written_holds_all_that_0_1_0_needs() {
    if let Some(folder) = std::env::var_os("PEGWISE_KEEP") {
        std::fs::write(std::path::Path::new(&folder).join("library_now.json"), write(&by_taps())).unwrap();
    }
    for library in [by_taps(), demo(), Library::default()] {
        let file: Value = serde_json::from_slice(&write(&library)).unwrap();
        assert_eq!((&file["format"], &file["version"]), (&"pegwise-library".into(), &1.into()));
        let next = file["next_number"].as_u64().unwrap();
        let list = |field: &str| file[field].as_array().cloned().unwrap_or_default();
        let is_text = |value: &Value, fields: &[&str]| {
            for field in fields {
                assert!(value[field].is_string(), "{field} of {value}");
            }
        };
        for song in list("songs") {
            assert!(song["id"].as_u64().is_some_and(|id| (1..next).contains(&id)));
            is_text(&song, &["title", "instrument_id"]);
            is_text(&song["tuning"], &["pitches"]);
            assert!(song["capo"].as_u64().is_some_and(|capo| capo <= 36));
            for field in ["from", "key", "chart", "notes"] {
                assert!(song.get(field).is_none_or(Value::is_string), "{field} of {song}");
            }
            assert!(song.get("tempo_bpm").is_none_or(Value::is_u64));
            let shapes = song.get("shapes").and_then(Value::as_object).cloned().unwrap_or_default();
            assert!(shapes.values().all(Value::is_string));
        }
        for own in list("own_tunings") {
            is_text(&own, &["id", "instrument_id", "name", "pitches"]);
            let number = own["id"].as_str().unwrap().strip_prefix("own-").unwrap().parse::<u64>().unwrap();
            assert!(number < next);
        }
        for set_list in list("set_lists") {
            is_text(&set_list, &["title"]);
            assert!(set_list["id"].as_u64().is_some_and(|id| (1..next).contains(&id)));
            for entry in set_list["entries"].as_array().unwrap() {
                assert!(list("songs").iter().any(|song| song["id"] == entry["song_id"]));
            }
        }
        let settings = &file["settings"];
        let known = [
            ("theme", ["system", "light", "dark", "sunlight"].as_slice()),
            ("naming", &["english", "german", "solfege"]),
            ("spelling", &["customary", "sharps", "flats"]),
            ("diagram", &["upright", "on-side"]),
            ("temperament", &["equal", "open-chord", "key-shapes"]),
        ];
        for (field, words) in known {
            let word = settings.get(field).map(|word| word.as_str().unwrap());
            assert!(word.is_none_or(|word| words.contains(&word)), "{field}: {word:?}");
        }
        for now in list("put_away").iter().chain([&file["guitar_now"]]).filter(|now| !now.is_null()) {
            is_text(now, &["instrument_id", "pitches"]);
            if let Some(target) = now.get("target") {
                is_text(target, &["pitches"]);
            }
            if let Some(retuning) = now.get("retuning") {
                is_text(&retuning["on_guitar"], &["instrument"]);
                let courses = retuning["on_guitar"]["courses"].as_array().unwrap();
                assert!(courses.iter().all(|course| course["pitch"].is_u64()));
                assert_eq!(retuning["target"].as_array().unwrap().len(), courses.len());
                assert!(retuning["confirmed"].is_array());
            }
        }
        if let Some(on_stage) = file.get("on_stage") {
            assert!(on_stage["set_list_id"].is_u64() && on_stage["place"].is_u64());
        }
    }
}
