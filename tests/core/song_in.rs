//! Songs as they come in, in whatever form a player has them: what was understood is told item by item. The texts and
//! their readings are invented for this file and written down by hand; what players write above a song is common practice,
//! no source.

use pegwise::app::{
    Action, ExchangeAction, Out, PUT_OFF_DAYS, REMINDED_AFTER_DAYS, Screen, SongEditAction, SongsAction, State, Tab,
    WORTH_A_REMINDER, export_due, open_song,
};
use pegwise::instrument::{Catalog, CatalogTuning, Fret};
use pegwise::songs::{ChosenTuning, Content, LineTold, ReadAs, ReadSong, Song, Understood, parted};
use pegwise::store::{Decision, Library, read, write};
use pegwise::theory::{Key, Naming};
use proptest::prelude::*;

/// Reads a text for a guitar in its usual tuning.
fn read_in(text: &str, naming: Naming) -> Option<ReadSong> {
    let catalog = Catalog::bundled();
    let standard = catalog.standard_of(catalog.guitar());
    let tuning = ChosenTuning { id: Some(standard.id().into()), pitches: standard.tuning().clone() };
    let tunings: Vec<&CatalogTuning> = catalog.tunings_for(catalog.guitar());
    ReadSong::read(text, &ReadAs { naming, instrument_id: "guitar", tuning: &tuning, tunings: &tunings })
}

fn understood(text: &str) -> ReadSong {
    read_in(text, Naming::English).unwrap()
}

fn tuning_id(song: &Song) -> &str {
    song.tuning.id.as_deref().unwrap_or("")
}

#[test]
fn a_song_with_a_head_as_people_write_one_goes_into_its_fields() {
    let read = understood(
        "Tar Barrel\nby: old Marten\nCapo 2\nTuning: Drop D\nKey of G\n96 bpm\n\nVerse 1\nG        C\nTar on the rope\n| D | Hm |\n",
    );
    let song = &read.song;
    assert_eq!((song.title.as_str(), song.from.as_str(), song.capo), ("Tar Barrel", "old Marten", Fret::new(2)));
    assert_eq!((tuning_id(song), song.tempo_bpm, song.key), ("guitar-drop-d", Some(96), Some(Key::read("G").unwrap())));
    assert_eq!(song.chart, "Verse 1\nG        C\nTar on the rope\n| D | Hm |\n");
    // "Hm" is a chord to a German alone: that custom makes more of the chart.
    assert_eq!(song.chart_naming, Naming::German);
    let rest: Vec<_> = read.understood.iter().skip(1).collect();
    let chart: Vec<&Understood> = rest.iter().rev().take(5).rev().copied().collect();
    assert_eq!(read.understood[0], Understood::Title("Tar Barrel".into()));
    assert!(rest.contains(&&Understood::Capo(Fret::new(2))) && rest.contains(&&Understood::Tempo(96)));
    let expected =
        [Understood::Naming(Naming::German), Understood::Chords(1), Understood::Bars(1), Understood::Words(1)];
    assert_eq!(chart, expected.iter().chain([&Understood::Headings(1)]).collect::<Vec<_>>());
}

#[test]
fn what_a_head_does_not_say_is_said_to_be_taken_from_the_guitar_or_none() {
    let read = understood("Coal Tub\n\n  G     C\nCoal on the quay\n");
    assert_eq!(
        (read.song.title.as_str(), tuning_id(&read.song), read.song.capo),
        ("Coal Tub", "guitar-standard", Fret::OPEN)
    );
    assert!(read.understood.iter().any(|item| matches!(item, Understood::TuningOnGuitar(_))));
    assert!(read.understood.contains(&Understood::NoCapo));
    assert_eq!(read.song.chart, "  G     C\nCoal on the quay\n", "a chord stays over its syllable");
}

#[test]
fn a_text_without_a_title_is_called_by_its_first_words_and_loses_nothing() {
    let text = "G       C\nCoal on the quay\n";
    let read = understood(text);
    assert_eq!((read.song.title.as_str(), read.song.chart.as_str()), ("Coal on the quay", text));
    assert_eq!(read.understood[0], Understood::FirstWords("Coal on the quay".into()));
    assert!(read_in(" \n\t", Naming::English).is_none());
}

#[test]
fn what_is_not_understood_stays_as_words_and_says_so() {
    let read = understood("Bilge\nTuning: whatever she had\nCapo: high\n\nG Zx C\n");
    assert!(read.understood.contains(&Understood::Unread("Tuning: whatever she had".into())));
    assert!(read.understood.contains(&Understood::Unread("Capo: high".into())));
    assert!(read.song.chart.starts_with("Tuning: whatever she had\nCapo: high\n"), "{}", read.song.chart);
    assert!(read.understood.iter().any(|item| matches!(item, Understood::Fault(fault) if fault.found == "Zx")));
}

#[test]
fn heads_are_read_in_the_languages_of_the_screens() {
    let rows = [
        ("Lied\nStimmung: DADGAD\nKapo: 3. Bund\nTonart: G\n\nG C\n", "guitar-dadgad", 3, Some("G")),
        ("Lied\nCapo: ohne\nStimmung: Open G\n\nG\n", "guitar-open-g", 0, None),
        ("Chanson\nAccordage: D A D G B E\nCapodastre: 1\nTonalité: Em\n\nEm\n", "guitar-drop-d", 1, Some("Em")),
        ("Canción\nAfinación: DADGAD\nCejilla: 5\n\nG\n", "guitar-dadgad", 5, None),
        ("Canção\nAfinação: open d\nCapotraste: 2\nTom: D\n\nD\n", "guitar-open-d", 2, Some("D")),
    ];
    for (text, tuning, capo, key) in rows {
        let song = understood(text).song;
        assert_eq!((tuning_id(&song), song.capo), (tuning, Fret::new(capo)), "{text}");
        assert_eq!(song.key, key.map(|key| Key::read(key).unwrap()), "{text}");
    }
}

/// What looks like a head and is a song's words is left alone.
#[test]
fn words_that_begin_like_a_head_stay_words() {
    for line in ["Key to the lantern room", "Strings of the old guitar", "Tempo and tide", "Capo di tutti"] {
        let text = format!("Bilge\n{line}\nG  C\nwords");
        assert_eq!(understood(&text).song.chart.lines().next(), Some(line));
    }
}

#[test]
fn several_songs_in_one_text_are_parted_by_a_line_of_equals_signs() {
    let text = "One\nG\n=====\nTwo\nC\n\u{c}Three\nD\n===\n\n";
    let songs = parted(text);
    assert_eq!(songs, ["One\nG\n", "Two\nC\n", "Three\nD\n"]);
}

#[test]
fn a_german_keeps_a_german_reading_and_a_player_of_letters_hers() {
    let read = |text: &str, naming| read_in(text, naming).unwrap().song.chart_naming;
    assert_eq!(read("Lied\n\nB F\nwas", Naming::German), Naming::German);
    assert_eq!(read("Lied\n\nB F\nwas", Naming::English), Naming::English);
    assert_eq!(read("Lied\n\nHm F#\nwas", Naming::English), Naming::German);
    assert_eq!(read("Canción\n\nDo  Sol7  Fa\nagua baja", Naming::English), Naming::Solfege);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// Every letter of a text is in the song: in its title, its fields or its chart.
    #[test]
    fn any_text_comes_in_and_its_words_are_kept(text in "((\\PC|[A-G|:= ]){0,20}(\n|\r\n)){1,8}") {
        let Some(read) = read_in(&text, Naming::English) else { return Ok(()) };
        let song = &read.song;
        prop_assert!(!song.title.is_empty());
        // A line that is a tuning's name and nothing else, such as "g6", is what the song is played in.
        let is_as_it_was = song.tuning.id.as_deref() == Some("guitar-standard");
        prop_assume!(is_as_it_was);
        let kept: usize = [&song.title, &song.chart].iter().map(|text| text.chars().filter(|mark| mark.is_alphanumeric()).count()).sum();
        let whole = text.chars().filter(|mark| mark.is_alphanumeric()).count();
        prop_assert!(kept >= whole, "{:?} {:?}", text, song);
    }

    #[test]
    fn a_song_as_text_is_read_as_it_was_whatever_its_chart(chart in "((\\PC|[A-G| ]){0,12}\n){0,6}") {
        let standard = Catalog::bundled().find_tuning("guitar-standard").unwrap();
        let mut song = Song::new("Tar Barrel", "guitar", ChosenTuning { id: None, pitches: standard.tuning().clone() });
        song.chart = chart.trim_matches('\n').to_owned();
        song.chart.push('\n');
        prop_assume!(!song.chart.trim().is_empty());
        prop_assert_eq!(understood(&song.to_text()).song, song);
    }

    /// A line told to be words or chords is that, whatever stands in it; told nothing again, the text is as it was.
    #[test]
    fn a_line_is_what_it_is_told_to_be(lines in prop::collection::vec("[A-Ga-z|: #]{0,14}", 1..6), at in 0_usize..6) {
        let text = lines.join("\n");
        let chart = pegwise::songs::Chart::read(&text);
        let Some(line) = chart.lines().get(at) else { return Ok(()) };
        prop_assume!(!line.text().trim().is_empty());
        let words = pegwise::songs::Chart::read(&chart.with_told(at, LineTold::Words));
        prop_assert!(matches!(words.lines()[at].content, Content::Words(_)));
        let chords = pegwise::songs::Chart::read(&words.with_told(at, LineTold::Chords));
        prop_assert_eq!(&chords.lines()[at].content, &Content::Chords);
        prop_assert_eq!(chords.lines()[at].told(), LineTold::Chords);
        prop_assert_eq!(chords.with_told(at, LineTold::Itself), text);
    }
}

#[test]
fn a_told_chord_line_keeps_its_columns() {
    let chart = pegwise::songs::Chart::read("   G   Am what  C\nwords over here");
    let told = pegwise::songs::Chart::read(&chart.with_told(0, LineTold::Chords));
    assert_eq!(told.lines()[0].chords.iter().map(|placed| placed.column).collect::<Vec<_>>(), [3, 7, 16]);
}

/// A word that is only written like a chord counts with the chords, so that a line of another custom is not lost in silence.
#[test]
fn a_line_of_another_customs_chords_is_chords_with_marks() {
    for (text, faults) in [("H7  E", 1), ("H7", 1), ("E H7 E H7", 2), ("G  Cxyz9  D", 1), ("B♭ H7 H7", 2)] {
        let chart = pegwise::songs::Chart::read(text);
        assert_eq!(chart.lines()[0].content, pegwise::songs::Content::Chords, "{text}");
        assert_eq!(chart.faults().count(), faults, "{text}");
    }
    for text in ["A lane of salt", "H", "Bench", "Be still", "B4 you go to A harbour", "A 7 of them"] {
        let chart = pegwise::songs::Chart::read(text);
        assert!(matches!(chart.lines()[0].content, pegwise::songs::Content::Words(_)), "{text}");
    }
}

#[test]
fn the_editor_tells_a_line_by_a_tap_and_reads_the_chart_by_another_custom() {
    let mut state = State::new(Library::default());
    let mut edit = |action: SongEditAction| {
        state.update(Action::SongEdit(action));
        state.clone()
    };
    edit(SongEditAction::Done);
    state.update(Action::Songs(SongsAction::New));
    let mut edit = |action: SongEditAction| {
        state.update(Action::SongEdit(action));
        let editing = state.editing_song.clone().unwrap();
        (editing.song.chart.clone(), editing.song.read_chart().faults().count(), editing.line)
    };
    edit(SongEditAction::Chart("A\nH7  E  A\n".into()));
    edit(SongEditAction::Line(0));
    assert_eq!(edit(SongEditAction::Tell(LineTold::Words)), ("\"A\nH7  E  A\n".into(), 1, Some(0)));
    assert_eq!(edit(SongEditAction::Naming(Naming::German)).1, 0);
    assert_eq!(edit(SongEditAction::Tell(LineTold::Itself)).0, "A\nH7  E  A\n");
    assert_eq!(edit(SongEditAction::Line(0)).2, None, "the same tap puts it away");
    let kept = read(&write(&state.library)).unwrap();
    assert_eq!(kept.songs()[0].chart_naming, Naming::German);
}

/// Nothing inherits a capo unsaid: not a new song, not one that comes in.
#[test]
fn a_new_song_has_no_capo_whatever_is_on_the_guitar() {
    let mut state = State::new(Library::default());
    state.update(Action::Instrument(pegwise::app::InstrumentAction::CapoBy(2)));
    assert_eq!(state.guitar.capo(), Fret::new(2));
    state.update(Action::Songs(SongsAction::New));
    state.update(Action::SongEdit(SongEditAction::Chart("| G |".into())));
    state.update(Action::SongEdit(SongEditAction::Done));
    assert_eq!(open_song(&state).unwrap().capo, Fret::OPEN);
    state.update(Action::Exchange(ExchangeAction::Typed("Tar Barrel\n\n| G |".into())));
    state.update(Action::Exchange(ExchangeAction::Read));
    state.update(Action::Exchange(ExchangeAction::TakeIn));
    assert!(state.library.songs().iter().all(|song| song.capo == Fret::OPEN));
}

/// The busker: five songs as she has them, pasted at once, taken in after she has seen what was understood.
#[test]
fn five_songs_come_in_by_one_text() {
    let mut state = State::new(Library::default());
    let text = "Tar Barrel\nCapo 2\n\nG   C\nTar on the rope\n=====\nCoal Tub\nDADGAD\n\n| D | G |\n=====\n[Verse]\n[G]Bilge and \
                [C]brine\n=====\nAnchor\n\nwords alone\n=====\nLied\n\na  d  E\nwas";
    state.update(Action::Exchange(ExchangeAction::Typed(text.into())));
    state.update(Action::Exchange(ExchangeAction::Read));
    assert_eq!(state.exchange.fault, None);
    let names: Vec<&str> = state.exchange.items.iter().map(|item| item.name.as_str()).collect();
    assert_eq!(names, ["Tar Barrel", "Coal Tub", "Bilge and brine", "Anchor", "Lied"]);
    assert_eq!(state.exchange.read_songs.len(), 5);
    assert!(state.library.songs().is_empty(), "nothing is taken in before she says so");
    state.update(Action::Exchange(ExchangeAction::Decide(3, Decision::Leave)));
    state.update(Action::Exchange(ExchangeAction::TakeIn));
    assert_eq!(state.library.songs().len(), 4);
    assert_eq!(state.library.songs()[1].tuning.id.as_deref(), Some("guitar-dadgad"));
    state.update(Action::Undo);
    assert!(state.library.songs().is_empty());
}

fn own_songs(count: usize) -> State {
    let mut library = Library::default();
    let standard = Catalog::bundled().find_tuning("guitar-standard").unwrap().tuning().clone();
    for number in 0..count {
        library.add_song(Song::new(
            format!("{number}"),
            "guitar",
            ChosenTuning { id: None, pitches: standard.clone() },
        ));
    }
    State::new(library)
}

/// The clock is given: days since 1970-01-01.
#[test]
fn an_export_is_spoken_of_when_the_last_one_is_long_ago() {
    const FIRST: u32 = 20_000;
    let today = |state: &mut State, day: u32| {
        state.update(Action::Exchange(ExchangeAction::Today(day)));
        export_due(state).map(|due| due.days_ago)
    };
    // Not before there is something worth losing, however late; the invented songs are not.
    let mut state = own_songs(WORTH_A_REMINDER - 1);
    state.update(Action::Tab(Tab::Songs));
    state.update(Action::Songs(SongsAction::Demo));
    assert_eq!((today(&mut state, FIRST), today(&mut state, FIRST + 900)), (None, None));

    let mut state = own_songs(WORTH_A_REMINDER);
    assert_eq!(export_due(&state), None, "no clock, no word");
    assert_eq!(today(&mut state, FIRST), None, "counted from the first day");
    assert_eq!(today(&mut state, FIRST + REMINDED_AFTER_DAYS - 1), None);
    assert_eq!(today(&mut state, FIRST + REMINDED_AFTER_DAYS), Some(None), "never exported");
    // Put off, it stays away for a month, over a restart too.
    state.update(Action::Exchange(ExchangeAction::PutOff));
    let mut state = State::new(read(&write(&state.library)).unwrap());
    assert_eq!(today(&mut state, FIRST + REMINDED_AFTER_DAYS + PUT_OFF_DAYS - 1), None);
    assert_eq!(today(&mut state, FIRST + REMINDED_AFTER_DAYS + PUT_OFF_DAYS), Some(None));
    // One song written out is no export of everything.
    let song = state.library.songs()[0].id;
    state.update(Action::Exchange(ExchangeAction::Out(Out::SongText(song))));
    state.update(Action::Exchange(ExchangeAction::Written(Ok("there".into()))));
    assert!(export_due(&state).is_some());
    // What could not be written is none either.
    state.update(Action::Exchange(ExchangeAction::Out(Out::Library)));
    assert_eq!(state.screen(), Screen::Outgoing);
    state.update(Action::Exchange(ExchangeAction::Written(Err("full".into()))));
    assert!(export_due(&state).is_some());
    state.update(Action::Exchange(ExchangeAction::Written(Ok("there".into()))));
    assert_eq!(export_due(&state), None);
    let exported = FIRST + REMINDED_AFTER_DAYS + PUT_OFF_DAYS;
    assert_eq!(today(&mut state, exported + REMINDED_AFTER_DAYS - 1), None);
    assert_eq!(today(&mut state, exported + REMINDED_AFTER_DAYS), Some(Some(REMINDED_AFTER_DAYS)));
    state.update(Action::Exchange(ExchangeAction::Out(Out::Library)));
    state.update(Action::Exchange(ExchangeAction::Copied));
    assert_eq!(export_due(&state), None);
    // A clock that was set wrong and back again does not silence it for years.
    assert_eq!(today(&mut state, FIRST + 9_000), Some(Some(9_000 - REMINDED_AFTER_DAYS * 2 - PUT_OFF_DAYS)));
    state.update(Action::Exchange(ExchangeAction::Copied));
    assert_eq!(today(&mut state, FIRST + 500), None);
    assert_eq!(today(&mut state, FIRST + 500 + REMINDED_AFTER_DAYS), Some(Some(REMINDED_AFTER_DAYS)));
}

/// When this device wrote its library out is nobody else's to know: an import says nothing of it and changes nothing of it.
#[test]
fn the_day_of_the_last_export_stays_on_its_device() {
    let mut state = own_songs(WORTH_A_REMINDER);
    state.update(Action::Exchange(ExchangeAction::Today(20_000)));
    state.update(Action::Exchange(ExchangeAction::Out(Out::Library)));
    state.update(Action::Exchange(ExchangeAction::Copied));
    let text = state.library.export();
    let mut other = own_songs(WORTH_A_REMINDER);
    other.update(Action::Exchange(ExchangeAction::Typed(text)));
    other.update(Action::Exchange(ExchangeAction::Read));
    assert!(other.exchange.items.iter().all(|item| item.decision == Decision::Leave), "all of it is here already");
    assert_eq!(other.library.settings.export_reminder.exported_day, None);
}
