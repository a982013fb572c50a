//! A tune on its screens: laid out, heard, stepped through, decided, tried and entered, without a window.

use pegwise::app::{
    Action, Decision, EnterAction, FingerMove, HandOut, HandOutAction, HandedOut, InstrumentAction, Screen,
    SheetFormat, SongsAction, Sound, State, TabLook, TabPage, TabRoom, TabWords, TuneAction, TuneTrouble, Voices,
    finger_moves, moment, step_view,
};
use pegwise::arrange::{Arrangement, Held, Pinned};
use pegwise::instrument::{CourseIndex, Fret};
use pegwise::shapes::Finger;
use pegwise::songs::SongId;
use pegwise::store::Library;
use pegwise::theory::Chord;
use pegwise::tune::Quarters;

/// The invented song that has a tune, numbered as it comes into an empty library.
const FERRY_BELL: SongId = SongId(2);

fn tune(state: &mut State, action: TuneAction) {
    state.update(Action::Tune(action));
}

fn opened() -> State {
    let mut library = Library::default();
    library.settings.has_seen_guide = true;
    let mut state = State::new(library);
    state.update(Action::Songs(SongsAction::Demo));
    state.update(Action::CloseNotice);
    state.update(Action::Songs(SongsAction::Open(FERRY_BELL)));
    tune(&mut state, TuneAction::Open);
    tune(&mut state, TuneAction::WorkNow);
    state
}

fn arrangement(state: &State) -> Arrangement {
    state.tune.worked.as_ref().expect("it is worked out").arrangement.clone()
}

fn enter(state: &mut State, text: &str) {
    state.update(Action::Open(Screen::TuneEntry));
    tune(state, TuneAction::Enter(EnterAction::Typed(text.to_owned())));
    tune(state, TuneAction::Enter(EnterAction::Read));
}

fn laid_out(state: &State, width: f32, letter: f32, is_thick_on_top: bool) -> TabPage {
    let names = ["D", "G", "D", "G", "B", "D"].map(str::to_owned).to_vec();
    let look = TabLook { room: TabRoom { width, letter }, courses: 6, is_thick_on_top, names };
    let words = TabWords { chord: &|chord: Chord| chord.to_string(), fret: &|fret: Fret| fret.get().to_string() };
    TabPage::new(&arrangement(state), look, &words)
}

/// The hand moves by millimetres, so a tune lies easier over short strings, and is worked out for those the player has.
#[test]
fn a_tune_is_worked_out_for_the_length_the_strings_have() {
    let mut state = opened();
    let mut cost = |text: &str| {
        state.update(Action::Instrument(InstrumentAction::ScaleTyped(text.to_owned())));
        tune(&mut state, TuneAction::WorkNow);
        arrangement(&state).cost
    };
    let usual = cost("");
    let (short, long) = (cost("400"), cost("1100"));
    assert!(short < usual && usual < long, "{short} {usual} {long}");
    assert!((cost("") - usual).abs() < 1e-9);
}

#[test]
fn every_note_stands_once_within_its_line_and_bars_are_targets() {
    let state = opened();
    let slices = arrangement(&state).slices.len();
    for (width, letter) in [(288.0, 14.0), (288.0, 28.0), (328.0, 14.0), (883.0, 14.0), (528.0, 18.2)] {
        let page = laid_out(&state, width, letter, false);
        let pieces = || page.systems.iter().flat_map(|system| &system.pieces);
        let found: Vec<usize> = pieces().flat_map(|piece| piece.slices.clone()).collect();
        assert_eq!(found, (0..slices).collect::<Vec<_>>(), "{width} {letter}");
        for system in &page.systems {
            for piece in &system.pieces {
                assert!(piece.x + piece.width <= width + 0.5, "{width} {letter}: {piece:?}");
                assert!(piece.width >= 47.9, "{piece:?}");
                assert!(piece.at.windows(2).all(|two| two[1] - two[0] >= letter), "{piece:?}");
                assert!(piece.at.iter().all(|at| (0.0..piece.width).contains(at)), "{piece:?}");
            }
            for two in system.pieces.windows(2) {
                assert!((two[0].x + two[0].width - two[1].x).abs() < 0.5);
            }
        }
        // A place leads back to its slice.
        for index in 0..slices {
            let (system, x, _) = page.place_of(index).unwrap();
            let number = page.systems[system].pieces.iter().position(|piece| piece.slices.contains(&index)).unwrap();
            let piece = &page.systems[system].pieces[number];
            assert_eq!(page.slice_at(system, number, x - piece.x), Some(index));
        }
    }
    let bars_a_line = |width| {
        let page = laid_out(&state, width, 14.0, false);
        let ends = page.systems.iter().flat_map(|system| &system.pieces).filter(|piece| piece.ends_bar).count();
        (ends, page.systems.len())
    };
    let ((bars, narrow), (_, wide)) = (bars_a_line(288.0), bars_a_line(883.0));
    assert!(wide * 2 < narrow, "{bars} bars in {narrow} lines, and in {wide}");
}

#[test]
fn the_thumb_is_told_from_the_melody_without_colour_and_the_strings_may_be_turned_over() {
    let state = opened();
    let arrangement = arrangement(&state);
    let words = TabWords { chord: &|chord: Chord| chord.to_string(), fret: &|fret: Fret| fret.get().to_string() };
    let draw = |is_thick_on_top| {
        let page = laid_out(&state, 883.0, 14.0, is_thick_on_top);
        (page.draw(&arrangement, (0, 1), &words, &|_| (false, false)), page)
    };
    let (drawn, page) = draw(false);
    let (turned, _) = draw(true);
    let piece = &page.systems[0].pieces[1];
    let starting = |of: &dyn Fn(usize) -> bool| piece.slices.clone().filter(|index| of(*index)).count();
    let basses = starting(&|index| arrangement.slices[index].bass.is_some_and(|note| note.starts));
    let melody = starting(&|index| arrangement.slices[index].melody.is_some_and(|note| note.starts));
    assert_eq!(drawn.wedges.matches('Z').count(), basses, "a wedge for each of the thumb's notes");
    assert_eq!(drawn.frets.len(), basses + melody);
    assert!(!drawn.stems.is_empty() && drawn.stems != drawn.thumb_stems);
    let chord = arrangement.slices[piece.slices.start].chord.unwrap();
    assert_eq!(drawn.chords[0].text, chord.to_string());
    // Turned over, what was on top is below: both ways around the same middle.
    let sums: Vec<f32> = drawn.frets.iter().zip(&turned.frets).map(|(one, other)| one.y + other.y).collect();
    assert!(sums.windows(2).all(|two| (two[0] - two[1]).abs() < 0.01), "{sums:?}");
}

#[test]
fn what_plays_follows_the_clock_and_loops_without_a_gap() {
    let mut state = opened();
    tune(&mut state, TuneAction::Play);
    assert_eq!(state.ears.sounding, Some(Sound::Tune));
    // Four quarters at 100 a minute: bar 1 begins after the pickup's quarter and a bar with a beat to spare counted in.
    let strikes = state.ears.score().unwrap().strikes.clone();
    let clicks = strikes.iter().filter(|strike| strike.course >= 200).count();
    assert_eq!(clicks, 7, "a bar of four, and three beats before the pickup on the fourth");
    tune(&mut state, TuneAction::Tick(1_000.0));
    assert_eq!(state.tune.hearing.playing.unwrap().counted, 7);
    tune(&mut state, TuneAction::Tick(1_000.0 + 7.0 * 600.0 + 10.0));
    assert_eq!((state.tune.hearing.playing.unwrap().counted, state.tune.selected), (0, Quarters::ZERO));
    tune(&mut state, TuneAction::Tick(1_000.0 + 7.0 * 600.0 + 3.0 * 600.0 + 10.0));
    assert_eq!(state.tune.selected, Quarters::new(3, 1).unwrap());
    tune(&mut state, TuneAction::Play);
    assert!(state.ears.score().is_none());

    // Half as fast, a loop of bars 1 and 2, without a count-in: eight quarters of 1.2 s each, again and again.
    tune(&mut state, TuneAction::PercentBy(-50));
    tune(&mut state, TuneAction::CountIn);
    tune(&mut state, TuneAction::Loop);
    tune(&mut state, TuneAction::LoopFromBy(1));
    tune(&mut state, TuneAction::LoopToBy(-1));
    assert_eq!(state.tune.hearing.bars, (1, 2));
    tune(&mut state, TuneAction::Play);
    let strikes = state.ears.score().unwrap().strikes.clone();
    let round = 8.0 * 1.2;
    let first: Vec<_> = strikes.iter().filter(|strike| strike.at_s < round - 1e-6).collect();
    assert!(!first.is_empty() && strikes.len() >= 100 * first.len());
    for (index, strike) in strikes.iter().enumerate() {
        let (again, place) = (index / first.len(), index % first.len());
        let expected = first[place].at_s + f64::from(u32::try_from(again).unwrap()) * round;
        assert!((strike.at_s - expected).abs() < 1e-6, "pluck {index}");
    }
    // The second round is where the first was.
    tune(&mut state, TuneAction::Tick(0.0));
    tune(&mut state, TuneAction::Tick((round + 1.3) * 1000.0));
    assert_eq!(state.tune.selected, Quarters::new(2, 1).unwrap(), "a beat into bar 1");
    // One voice alone.
    tune(&mut state, TuneAction::Voices(Voices::MelodyAlone));
    let alone = state.ears.score().unwrap().strikes.len();
    tune(&mut state, TuneAction::Voices(Voices::Both));
    assert!(alone < state.ears.score().unwrap().strikes.len());
    // Neither outlives the screen.
    state.update(Action::Back);
    assert!(state.tune.hearing.playing.is_none() && state.ears.score().is_none());
}

#[test]
fn a_step_tells_what_is_held_what_is_plucked_and_which_finger_moves() {
    let state = opened();
    let slices = arrangement(&state).slices;
    for index in 0..slices.len() {
        let step = step_view(&slices, index, 6).unwrap();
        // All that sounds lies under the hand as it is drawn.
        for note in slices[index].melody.iter().chain(&slices[index].bass).chain(&slices[index].inner) {
            let course = note.position.course.from_lowest_index();
            assert_eq!(step.shape.frets()[course], Some(note.position.fret), "slice {index}");
            assert_eq!(step.fingering.fingers[course], note.finger, "slice {index}");
        }
        // The moves lead from one hand to the next.
        let Some(next) = slices.get(index + 1) else { continue };
        let mut hand = slices[index].held.clone();
        for moved in &step.next {
            let of = |held: &Held, finger: Finger| held.finger == finger;
            match *moved {
                FingerMove::Off(finger) => hand.retain(|held| !of(held, finger)),
                FingerMove::Down(to) | FingerMove::Slides(to) | FingerMove::Goes(to) => {
                    hand.retain(|held| !of(held, to.finger));
                    hand.push(to);
                }
            }
        }
        hand.sort_by_key(|held| held.finger);
        assert_eq!(hand, next.held, "slice {index}");
    }
    let at = |finger, course, fret| Held {
        finger,
        fret: Fret::new(fret),
        from: CourseIndex::from_lowest(course),
        to: CourseIndex::from_lowest(course),
    };
    let moves = finger_moves(
        &[at(Finger::Index, 1, 2), at(Finger::Middle, 0, 3), at(Finger::Ring, 4, 3)],
        &[at(Finger::Index, 1, 2), at(Finger::Middle, 0, 5), at(Finger::Little, 5, 3)],
    );
    assert_eq!(
        moves,
        [
            FingerMove::Slides(at(Finger::Middle, 0, 5)),
            FingerMove::Off(Finger::Ring),
            FingerMove::Down(at(Finger::Little, 5, 3)),
        ]
    );
}

#[test]
fn a_note_is_moved_its_bass_and_finger_chosen_the_shape_held_and_each_is_taken_back() {
    let mut state = opened();
    tune(&mut state, TuneAction::Select(Quarters::new(5, 1).unwrap()));
    let free = arrangement(&state);
    let here = moment(&state).unwrap();
    let (melody_at, note) = here.melody.unwrap();
    assert!(here.melody_places.contains(&note.position) && here.bass_at.is_some() && here.decided.is_empty());
    let elsewhere = here.melody_places.iter().position(|place| *place != note.position).unwrap();
    let rows = [
        Decision::Melody(elsewhere),
        Decision::NoBass,
        Decision::Bass(here.bass_places.len() - 1),
        Decision::MelodyFinger(Finger::Little),
        Decision::BassFinger(Finger::Ring),
        Decision::Shape(1),
    ];
    for decision in rows {
        tune(&mut state, TuneAction::Decide(decision));
        tune(&mut state, TuneAction::WorkNow);
        let now = moment(&state).unwrap();
        assert_eq!(now.decided.len(), 1, "{decision:?}: {:?}", state.tune.trouble);
        let slice = |at: Quarters| arrangement(&state).slices.into_iter().find(|slice| slice.at == at).unwrap();
        match &now.decided[0].what {
            Pinned::Melody(place) => assert_eq!(slice(melody_at).melody.unwrap().position, *place),
            Pinned::NoBass => assert!(slice(here.bass_at.unwrap()).bass.is_none()),
            Pinned::Bass(place) => assert_eq!(slice(here.bass_at.unwrap()).bass.unwrap().position, *place),
            Pinned::MelodyFinger(finger) => {
                assert!([None, Some(*finger)].contains(&slice(melody_at).melody.unwrap().finger));
            }
            Pinned::BassFinger(finger) => {
                assert!([None, Some(*finger)].contains(&slice(here.bass_at.unwrap()).bass.unwrap().finger));
            }
            Pinned::Shape { shape, .. } => assert_eq!(slice(melody_at).shape.as_ref(), Some(shape)),
        }
        tune(&mut state, TuneAction::Undo);
        tune(&mut state, TuneAction::WorkNow);
        assert_eq!(arrangement(&state).slices, free.slices, "{decision:?} taken back");
    }
    assert!(!state.tune.can_undo());
}

#[test]
fn what_is_stopped_is_asked_again_only_when_it_is_wanted() {
    let mut state = opened();
    tune(&mut state, TuneAction::TransposeBy(2));
    assert!(state.tune.asking.is_some());
    tune(&mut state, TuneAction::Stop);
    assert!(state.tune.asking.is_none() && state.tune.is_stopped && state.tune.worked.is_some());
    tune(&mut state, TuneAction::MoveBy(1));
    assert!(state.tune.asking.is_none());
    tune(&mut state, TuneAction::Again);
    assert!(state.tune.asking.is_some() && !state.tune.is_stopped);
    // What nobody looks at is not worked out.
    state.update(Action::Back);
    assert!(state.tune.asking.is_none());
    state.update(Action::Songs(SongsAction::Open(FERRY_BELL)));
    tune(&mut state, TuneAction::Open);
    tune(&mut state, TuneAction::WorkNow);
    let moved = arrangement(&state).transpose.get();
    let song = state.library.find_song(FERRY_BELL).unwrap().tune.clone().unwrap();
    assert_eq!(song.transpose, Some(moved));
}

/// One octave down and two, in a tuning whose lowest string is D2: what lies beyond is named, with what helps.
#[test]
fn notes_that_cannot_be_played_are_told_with_bar_beat_and_remedy() {
    let mut state = opened();
    tune(&mut state, TuneAction::AnyKey);
    tune(&mut state, TuneAction::WorkNow);
    for _ in 0..24 {
        tune(&mut state, TuneAction::TransposeBy(-1));
    }
    tune(&mut state, TuneAction::WorkNow);
    let found = arrangement(&state);
    let lost: Vec<_> =
        found.left_out.iter().filter(|left| matches!(left.what, pegwise::arrange::LeftOutKind::Melody(_))).collect();
    assert!(!lost.is_empty());
    assert!(lost.iter().all(|left| matches!(
        left.why,
        pegwise::arrange::Why::BeyondNeck(pegwise::arrange::Remedy::Octaves(up)) if up > 0
    )));
}

#[test]
fn bad_texts_end_in_one_sentence_and_lose_nothing() {
    let mut state = opened();
    let before = state.library.find_song(FERRY_BELL).unwrap().tune.clone();
    let endless = "x".repeat(20_000_000);
    let many = format!("X:1\nK:C\n{}", "C|".repeat(10_001));
    let entities = "<?xml version=\"1.0\"?><!DOCTYPE a [<!ENTITY b \"c\">]><score-partwise>&b;</score-partwise>";
    let rows = [
        "",
        "   \n\n",
        "no tune at all",
        &endless,
        "X:1\nK:C\nC0 D|",
        "X:1\nM:0/0\nK:C\nC|",
        &many,
        entities,
        "<score-timewise/>",
        "PK\u{3}\u{4}not a zip",
        "X:1\nT:only a head",
    ];
    for text in rows {
        enter(&mut state, text);
        let entry = &state.tune.entry;
        let faults =
            usize::from(entry.fault.is_some()) + entry.found.iter().filter(|found| found.fault.is_some()).count();
        assert_eq!(faults, 1, "{:?}", text.chars().take(40).collect::<String>());
        assert_eq!(state.library.find_song(FERRY_BELL).unwrap().tune, before);
    }
    // Nested repeats are played one after the other, and it is said.
    enter(&mut state, "X:1\nL:1/4\nM:4/4\nK:C\n|:CDEF|:GABc:|cBAG:|");
    assert!(state.tune.entry.fault.is_none() && !state.tune.entry.found[0].skipped().is_empty());
    // What stands before a fault can be taken.
    enter(&mut state, "X:1\nL:1/4\nM:4/4\nK:C\nCDEF|G^|AB|");
    assert!(state.tune.entry.found[0].fault.is_some());
    tune(&mut state, TuneAction::Enter(EnterAction::Take(0)));
    tune(&mut state, TuneAction::WorkNow);
    assert!(state.tune.trouble.is_none() && state.tune.worked.is_some());
    assert!(state.library.find_song(FERRY_BELL).unwrap().tune.as_ref().unwrap().read().unwrap().notes().count() >= 4);
    tune(&mut state, TuneAction::Undo);
    assert_eq!(state.library.find_song(FERRY_BELL).unwrap().tune, before);
}

#[test]
fn a_text_kept_with_a_fault_says_so_instead_of_a_tab() {
    let mut state = opened();
    let mut song = state.library.find_song(FERRY_BELL).unwrap().clone();
    song.tune = Some(pegwise::songs::SongTune::new("X:1\nK:C\nC^|"));
    state.library.replace_song(song);
    tune(&mut state, TuneAction::MoveBy(0));
    assert!(matches!(state.tune.trouble, Some(TuneTrouble::Text(_))) && state.tune.worked.is_none());
}

#[test]
fn tunings_are_tried_from_the_nearest_and_shown_from_the_best() {
    let mut state = opened();
    tune(&mut state, TuneAction::TryTunings);
    let question = state.tune.trial.asking.clone().unwrap().question;
    assert!(question.tunings.len() > 50, "{} tunings", question.tunings.len());
    assert!(question.tunings.windows(2).all(|two| two[0].1 <= two[1].1), "first those that take least");
    // Three of them are enough here; the rest is `which-tuning` in tests/core/arrange.rs.
    let mut first = Vec::new();
    let short = pegwise::app::TrialQuestion { tunings: question.tunings[..3].to_vec(), ..(*question).clone() };
    short.answer(1, &|| false, &mut |fit| first.push(fit)).unwrap();
    let number = state.tune.trial.asking.as_ref().unwrap().number;
    for fit in first {
        tune(&mut state, TuneAction::Told(pegwise::app::TuneTold::Fit(number, Box::new(fit))));
    }
    let fits = &state.tune.trial.fits;
    assert_eq!((fits.len(), state.tune.trial.tried), (3, 3));
    assert!(fits.windows(2).all(|two| two[0].fit.weight <= two[1].fit.weight));
    // Looked at, nothing is changed.
    let (tuning, transpose) = (fits[0].tuning.clone(), fits[0].fit.transpose);
    let before = state.library.find_song(FERRY_BELL).unwrap().clone();
    tune(&mut state, TuneAction::LookAt(0));
    tune(&mut state, TuneAction::WorkNow);
    assert_eq!(state.screen(), Screen::Tune);
    assert_eq!(arrangement(&state).transpose, transpose);
    assert_eq!(*state.library.find_song(FERRY_BELL).unwrap(), before);
    // Handed out now, it goes out in that tuning.
    let name = state.tune.trial.fits[0].name.clone();
    state.update(Action::HandOut(HandOutAction::Open(HandedOut::Tune)));
    let text = String::from_utf8(handed_out(&mut state, SheetFormat::Text).1).unwrap();
    assert!(text.contains(&name), "{name}: {text}");
    state.update(Action::Back);
    // Taken, the song has it, and it can be taken back.
    tune(&mut state, TuneAction::TakeTuning);
    let song = state.library.find_song(FERRY_BELL).unwrap().clone();
    assert_eq!((song.tuning, song.tune.unwrap().transpose), (tuning, Some(transpose.get())));
    state.update(Action::Undo);
    assert_eq!(*state.library.find_song(FERRY_BELL).unwrap(), before);
}

#[test]
fn notes_tapped_on_the_neck_become_bars_with_rests_and_ties() {
    let mut state = opened();
    state.update(Action::Open(Screen::TuneNeck));
    let mut tap = |action| tune(&mut state, TuneAction::Enter(action));
    tap(EnterAction::Metre(1));
    tap(EnterAction::Note { fret: 0, course: 5 });
    tap(EnterAction::Length(3));
    tap(EnterAction::Dot);
    tap(EnterAction::Note { fret: 2, course: 5 });
    tap(EnterAction::Dot);
    tap(EnterAction::Rest);
    tap(EnterAction::Note { fret: 99, course: 5 });
    tap(EnterAction::TakeNotes);
    let song = state.library.find_song(FERRY_BELL).unwrap();
    let written = song.tune.as_ref().unwrap().read().unwrap();
    // A quarter; a dotted half tied over the bar line; a half rest: 1 + 2 | 1 + 2.
    let shape: Vec<(String, bool, bool)> = written
        .bars
        .iter()
        .flat_map(|bar| &bar.notes)
        .map(|note| (note.length.to_string(), note.pitch.is_some(), note.is_tied))
        .collect();
    let expected = [("1", true, false), ("2", true, true), ("1", true, false), ("2", false, false)];
    assert_eq!(shape, expected.map(|(length, sounds, tied)| (length.to_owned(), sounds, tied)));
}

/// The file that would go out.
fn handed_out(state: &mut State, format: SheetFormat) -> (String, Vec<u8>) {
    state.update(Action::HandOut(HandOutAction::Format(format)));
    let mut bytes = Vec::new();
    let out: &HandOut = &state.hand_out;
    out.write_to(&mut bytes).unwrap();
    (out.file_name().unwrap(), bytes)
}

/// The music that goes out is read back by the reader of MusicXML, which shares nothing with its writer: the melody as it is
/// shown, repeats unfolded.
#[test]
fn a_tune_is_handed_out_as_it_is_shown() {
    let mut state = opened();
    let shown = arrangement(&state);
    let open = Action::HandOut(HandOutAction::Open(HandedOut::Tune));
    state.update(open.clone());
    assert_eq!(state.screen(), Screen::HandOut);
    let (name, xml) = handed_out(&mut state, SheetFormat::MusicXml);
    assert!(std::path::Path::new(&name).extension().is_some_and(|ending| ending == "musicxml"), "{name}");
    let read = pegwise::tune::read_tunes(&xml).unwrap().remove(0);
    assert_eq!(read.fault, None);
    let played = read.tune.played().unwrap();
    let of_file: Vec<_> = played.notes.iter().map(|note| (note.at, note.pitch.pitch())).collect();
    let starting = shown.slices.iter().filter_map(|slice| {
        let note = slice.melody.filter(|note| note.starts)?;
        Some((slice.at, note.pitch))
    });
    assert_eq!(of_file, starting.collect::<Vec<_>>());
    for (format, start) in [(SheetFormat::Pdf, "%PDF"), (SheetFormat::Png, "\u{89}PNG"), (SheetFormat::Svg, "<")] {
        let (_, bytes) = handed_out(&mut state, format);
        let start: Vec<u8> = start.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect();
        assert!(bytes.starts_with(&start), "{format:?}");
    }
    let text = String::from_utf8(handed_out(&mut state, SheetFormat::Text).1).unwrap();
    assert!(text.contains("The Ferry Bell at Hobbin Steps"), "{text}");
}
