//! Arrangements, replayed by a player that shares no code with the search: what it takes from the result is course, fret,
//! finger and time, and what sounds it works out itself from the tuning.

use std::ops::ControlFlow;

use pegwise::arrange::{
    ArrangeFault, Arrangement, Fullness, Goal, LeftOutKind, Pin, Pinned, Sounding, ThumbStyle, TuningCandidate, Wishes,
    arrange, try_tunings,
};
use pegwise::instrument::{Catalog, CourseIndex, Fret, Instrument, Position, Tuning};
use pegwise::shapes::{Finger, Hand, Shape};
use pegwise::theory::Semitones;
use pegwise::tune::{Quarters, Tune, read_abc};

/// Tunes of our own invention: plain, with a pickup and quick notes, in 6/8, in 3/4 in a minor mode, and without chords.
const TUNES: [&str; 5] = [
    "X:1\nT:Lantern Hill\nM:4/4\nL:1/8\nK:D\nA2|\"D\"d2 fd A2 d2|\"G\"B2 dB \"D\"A4|\"D\"d2 fd \"Bm\"B2 d2|\"A7\"c2 e2 A4|\n\
     \"D\"d2 fd A2 d2|\"G\"B2 g2 \"D\"f2 d2|\"Em\"e2 d2 \"A7\"c2 e2|\"D\"d6||\n",
    "X:2\nT:The Slow Ferry\nM:4/4\nL:1/8\nK:G\nDE|:\"G\"G2 BG dGBd|\"C\"e2 c2 \"G\"d4|\"Am\"cBAG \"D7\"F2 A2|1 \"G\"G4 z2 DE:|2 \"G\"G8|]\n",
    "X:3\nT:Wet Rope\nM:6/8\nL:1/8\nK:A\n\"A\"A2c e2c|\"D\"f2d \"A\"e3|\"A\"a2e c2A|\"E7\"B2c B3|\"A\"A2c e2c|\"D\"fed \"E\"B2e|\"A\"A3- A3|]\n",
    "X:4\nT:Nine Ashes\nM:3/4\nL:1/4\nK:Am\n\"Am\"A B c|\"F\"c2 A|\"C\"G2 E|\"E7\"^G2 B|\"Am\"A3-|\"Am\"A2 z|\"Dm/F\"f d A|\"E\"e3|\"Am\"A3|]\n",
    "X:5\nT:Bare Boards\nM:2/4\nL:1/8\nK:C\nc2 e2|g2 e2|f2 d2|e4|d2 f2|e2 c2|B2 d2|c4|]\n",
];

fn tune(text: &str) -> Tune {
    read_abc(text).remove(0).tune
}

fn guitar() -> &'static Instrument {
    Catalog::bundled().guitar()
}

fn tuning(text: &str) -> Tuning {
    Catalog::bundled().resolve_tuning(guitar(), text).unwrap()
}

fn never() -> bool {
    false
}

/// What the replayer found wrong or counts.
#[derive(Debug, Default)]
struct Replay {
    beats: usize,
    beats_with_bass: usize,
}

/// Plays an arrangement from its courses and frets, and holds it against the tune.
fn replay(tune: &Tune, arrangement: &Arrangement, instrument: &Instrument, tuning: &Tuning) -> Replay {
    let played = tune.played().unwrap();
    let (capo, courses) = (arrangement.capo.get(), instrument.courses().len());
    let hand = Hand::default();
    let mm = |fret: u8| instrument.scale_mm() * (1.0 - (2.0_f64).powf(-f64::from(fret + capo) / 12.0));
    let sounds = |note: &Sounding| {
        let index = note.position.course.from_lowest_index();
        let drone = instrument.courses()[index].is_drone();
        let open = i16::from(tuning.pitches()[index].number()) + if drone { 0 } else { i16::from(capo) };
        open + i16::from(note.position.fret.get())
    };
    let mut replay = Replay::default();
    let mut melody: Vec<(Quarters, Quarters, i16)> = Vec::new();
    let mut at = Quarters::ZERO;
    for (index, slice) in arrangement.slices.iter().enumerate() {
        assert_eq!(slice.at, at, "no gap and no overlap");
        at = at + slice.length;
        let all: Vec<&Sounding> = slice.melody.iter().chain(&slice.bass).chain(&slice.inner).collect();
        for (place, note) in all.iter().enumerate() {
            assert_eq!(sounds(note), i16::from(note.pitch.number()), "open + capo + fret at {at}");
            assert_eq!(note.finger.is_none(), note.position.fret == Fret::OPEN, "a finger on what is stopped at {at}");
            for other in &all[..place] {
                assert_ne!(other.position.course, note.position.course, "one note a course at {at}");
                if let (Some(one), Some(two)) = (other.finger, note.finger) {
                    let apart = (mm(other.position.fret.get()) - mm(note.position.fret.get())).abs();
                    assert!(
                        apart <= hand.reach_mm(one, two) + 1e-9 || one == two,
                        "reach at {at}: {one} {two} {apart}"
                    );
                    assert!(one != two || other.position.fret == note.position.fret, "one finger, one fret at {at}");
                    assert!(apart <= hand.span_mm + 1e-9);
                    let low_first = |a: &Sounding, b: &Sounding| a.position.fret < b.position.fret;
                    if low_first(other, note) {
                        assert!(one < two || one == Finger::Thumb, "fingers in order at {at}");
                    }
                }
            }
        }
        if let Some(note) = &slice.melody {
            match note.starts {
                true => melody.push((slice.at, slice.length, sounds(note))),
                false => {
                    let last = melody.last_mut().unwrap();
                    assert_eq!(last.0 + last.1, slice.at, "a note that sounds on has no gap at {at}");
                    last.1 = last.1 + slice.length;
                    let before = arrangement.slices[index - 1].melody.unwrap();
                    assert_eq!(
                        (before.position, before.finger),
                        (note.position, note.finger),
                        "it keeps its place at {at}"
                    );
                }
            }
        }
        if let Some(bass) = &slice.bass {
            assert!(bass.position.course.from_lowest_index() < courses.div_ceil(2), "the thumb's courses at {at}");
            assert!(
                slice.melody.as_ref().is_none_or(|melody| sounds(bass) < sounds(melody)),
                "below the melody at {at}"
            );
            if !bass.starts {
                let before = arrangement.slices[index - 1].bass.unwrap();
                assert_eq!((before.position, before.finger), (bass.position, bass.finger), "it rings on at {at}");
            }
        }
        let told = |kind: &dyn Fn(&LeftOutKind) -> bool| {
            arrangement.left_out.iter().any(|left| left.at == slice.at && kind(&left.what))
        };
        // The thumb's beats, by hand: the metre's, from the bar's beginning, where a chord sounds.
        let bar = &played.bars[slice.bar];
        let place = slice.at - bar.at + bar.offset;
        if slice.chord.is_some() && place.is_multiple_of(bar.metre.beat()) {
            replay.beats += 1;
            let is_there = slice.bass.is_some_and(|bass| bass.starts);
            replay.beats_with_bass += usize::from(is_there);
            assert!(is_there || told(&|what| *what == LeftOutKind::Bass), "a bass left out is told at {at}");
        }
    }
    assert_eq!(at, played.length);
    let by = arrangement.transpose.get();
    let mut wanted: Vec<(Quarters, Quarters, i16)> = Vec::new();
    for note in &played.notes {
        let told =
            arrangement.left_out.iter().any(|left| left.at == note.at && matches!(left.what, LeftOutKind::Melody(_)));
        if !told {
            wanted.push((note.at, note.length, i16::from(note.pitch.pitch().number()) + by));
        }
    }
    assert_eq!(melody, wanted, "the melody is the tune's");
    replay
}

const TUNINGS: [&str; 5] = ["E A D G B E", "D A D G A D", "D G D G B D", "D A D F# A D", "D A D G B E"];

#[test]
fn every_arrangement_plays_the_tune_as_it_is() {
    let (mut beats, mut with_bass) = (0, 0);
    for text in TUNES {
        let tune = tune(text);
        for name in TUNINGS {
            let tuning = tuning(name);
            for (fullness, goal, capo) in [
                (Fullness::Plain, Goal::LeastSum, None),
                (Fullness::Inner, Goal::LeastHardest, None),
                (Fullness::Pinches, Goal::LeastSum, Some(Fret::new(2))),
            ] {
                let wishes = Wishes { fullness, goal, capo, ..Wishes::default() };
                let found = arrange(&tune, guitar(), &tuning, &wishes, &never).unwrap();
                let counted = replay(&tune, &found, guitar(), &tuning);
                assert_eq!(found.figures.beats, counted.beats, "{} {name}", tune.title);
                assert_eq!(found.figures.beats_with_bass, counted.beats_with_bass);
                beats += counted.beats;
                with_bass += counted.beats_with_bass;
                if fullness == Fullness::Inner {
                    assert!(found.slices.iter().any(|slice| !slice.inner.is_empty()), "{} {name}", tune.title);
                }
            }
        }
    }
    println!("bass on {with_bass} of {beats} beats");
    assert!(with_bass * 100 >= beats * 98, "{with_bass} of {beats}");
}

#[test]
fn other_instruments_have_their_tunes_too() {
    let catalog = Catalog::bundled();
    for instrument in catalog.instruments() {
        let tuning = catalog.standard_of(instrument).tuning();
        for text in [TUNES[0], TUNES[3]] {
            let tune = tune(text);
            let found = arrange(&tune, instrument, tuning, &Wishes::default(), &never);
            let found = found.unwrap_or_else(|fault| panic!("{}: {fault}", instrument.id()));
            replay(&tune, &found, instrument, tuning);
        }
    }
}

#[test]
fn the_styles_do_what_they_say() {
    let tune = tune(TUNES[0]);
    let tuning = tuning("D A D G A D");
    let with = |style| {
        let wishes =
            Wishes { style, transpose: Some(Semitones::new(-12)), capo: Some(Fret::OPEN), ..Wishes::default() };
        arrange(&tune, guitar(), &tuning, &wishes, &never).unwrap()
    };
    let strokes = |found: &Arrangement| {
        found.slices.iter().filter_map(|slice| slice.bass.filter(|bass| bass.starts)).collect::<Vec<_>>()
    };
    assert!(strokes(&with(ThumbStyle::MelodyAlone)).is_empty());
    let changes = with(ThumbStyle::OnChanges);
    let chords = tune.played().unwrap().chords.len();
    assert!(strokes(&changes).len() <= chords && strokes(&changes).len() + 2 >= chords);
    let turns = |found: &Arrangement| {
        let strokes = strokes(found);
        strokes.windows(2).filter(|pair| pair[0].pitch == pair[1].pitch).count()
    };
    let (alternating, steady) = (with(ThumbStyle::Alternating), with(ThumbStyle::Steady));
    assert!(turns(&alternating) < turns(&steady), "{} {}", turns(&alternating), turns(&steady));
}

#[test]
fn what_is_decided_is_kept_and_the_rest_is_found_around_it() {
    let tune = tune(TUNES[0]);
    let tuning = tuning("E A D G B E");
    let base = Wishes { transpose: Some(Semitones::new(-12)), capo: Some(Fret::OPEN), ..Wishes::default() };
    let free = arrange(&tune, guitar(), &tuning, &base, &never).unwrap();
    let course = |number| CourseIndex::from_player_number(number, 6).unwrap();
    let at = Quarters::ONE;
    // The D of bar 1 on the third string at fret 7 instead of where it was found.
    let elsewhere = Position { course: course(3), fret: Fret::new(7) };
    let bass = Position { course: course(6), fret: Fret::new(10) };
    let rows = [
        Pin { at, what: Pinned::Melody(elsewhere) },
        Pin { at, what: Pinned::NoBass },
        Pin { at, what: Pinned::Bass(bass) },
        Pin { at, what: Pinned::MelodyFinger(Finger::Little) },
        Pin { at, what: Pinned::BassFinger(Finger::Ring) },
        Pin {
            at,
            what: Pinned::Shape { shape: Shape::read("x x 0 2 3 2", 6).unwrap(), to: Quarters::new(3, 1).unwrap() },
        },
    ];
    for pin in rows {
        let wishes = Wishes { pins: vec![pin.clone()], ..base.clone() };
        let found = arrange(&tune, guitar(), &tuning, &wishes, &never).unwrap();
        replay(&tune, &found, guitar(), &tuning);
        let slice = found.slices.iter().find(|slice| slice.at == at).unwrap();
        match &pin.what {
            Pinned::Melody(position) => assert_eq!(slice.melody.unwrap().position, *position),
            Pinned::Bass(position) => assert_eq!(slice.bass.unwrap().position, *position),
            Pinned::NoBass => assert!(slice.bass.is_none()),
            Pinned::Shape { shape, .. } => assert_eq!(slice.shape.as_ref(), Some(shape)),
            Pinned::MelodyFinger(finger) => assert!([None, Some(*finger)].contains(&slice.melody.unwrap().finger)),
            Pinned::BassFinger(finger) => assert!([None, Some(*finger)].contains(&slice.bass.unwrap().finger)),
        }
        assert!(found.cost + 1e-9 >= free.cost - 12.0, "what is decided cannot be cheaper than what is free");
    }
    let nowhere = Position { course: course(1), fret: Fret::new(1) };
    let wishes = Wishes { pins: vec![Pin { at, what: Pinned::Melody(nowhere) }], ..base };
    let fault = arrange(&tune, guitar(), &tuning, &wishes, &never).unwrap_err();
    assert_eq!(fault, ArrangeFault::Pin { bar: 1, beat: Quarters::ONE });
}

#[test]
fn notes_beyond_the_neck_are_named_with_the_nearest_remedy() {
    let tune = tune("X:1\nK:C\nM:4/4\nL:1/4\n\"C\"c e g c''|\n");
    let wishes = Wishes { transpose: Some(Semitones::ZERO), capo: Some(Fret::OPEN), ..Wishes::default() };
    let found = arrange(&tune, guitar(), &tuning("E A D G B E"), &wishes, &never).unwrap();
    let left = found.left_out.iter().find(|left| matches!(left.what, LeftOutKind::Melody(_))).unwrap();
    assert_eq!((left.bar, left.beat.to_string().as_str()), (1, "4"));
    assert_eq!(left.why, pegwise::arrange::Why::BeyondNeck(pegwise::arrange::Remedy::Octaves(-1)));
    replay(&tune, &found, guitar(), &tuning("E A D G B E"));
}

#[test]
fn the_least_hardest_step_is_no_harder_than_the_smoothest_way_has() {
    for text in TUNES {
        let tune = tune(text);
        let find = |goal| {
            let wishes =
                Wishes { goal, transpose: Some(Semitones::new(-12)), capo: Some(Fret::OPEN), ..Wishes::default() };
            arrange(&tune, guitar(), &tuning("D G D G B D"), &wishes, &never).unwrap()
        };
        let (smooth, even) = (find(Goal::LeastSum), find(Goal::LeastHardest));
        assert!(even.hardest <= smooth.hardest + 1e-9 && smooth.cost <= even.cost + 1e-9, "{}", tune.title);
    }
}

#[test]
fn all_tunings_are_tried_first_answers_at_once_and_it_can_be_stopped() {
    let tune = tune(TUNES[1]);
    let all = Catalog::bundled().tunings_for(guitar());
    let few: Vec<TuningCandidate<'_>> =
        all.iter().take(6).map(|found| TuningCandidate { tuning: found.tuning(), effort: 1.0 }).collect();
    for threads in [1, 2] {
        let mut found = Vec::new();
        let mut keep = |fit: pegwise::arrange::TuningFit| {
            found.push(fit);
            ControlFlow::Continue(())
        };
        try_tunings(&tune, guitar(), &few, &Wishes::default(), threads, &never, &mut keep).unwrap();
        found.sort_by_key(|fit| fit.index);
        assert_eq!(found.iter().map(|fit| fit.index).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5]);
        assert!(found.iter().all(|fit| !fit.reasons.is_empty() && fit.weight > 0.0));
        let mut seen = 0;
        let mut first = |_| {
            seen += 1;
            ControlFlow::Break(())
        };
        let stopped = try_tunings(&tune, guitar(), &few, &Wishes::default(), threads, &never, &mut first);
        assert_eq!((stopped, seen), (Err(ArrangeFault::Stopped), 1));
        let stopped = try_tunings(&tune, guitar(), &few, &Wishes::default(), threads, &|| true, &mut |_| {
            ControlFlow::Continue(())
        });
        assert_eq!(stopped, Err(ArrangeFault::Stopped));
    }
}

#[test]
fn a_tune_without_notes_or_too_long_is_refused() {
    let none = tune("X:1\nK:C\nz4|\n");
    let found = arrange(&none, guitar(), &tuning("E A D G B E"), &Wishes::default(), &never);
    assert_eq!(found, Err(ArrangeFault::NoNotes));
    let long = tune(&("X:1\nM:4/4\nL:1/64\nK:C\n".to_owned() + &("C".repeat(60) + "|").repeat(600)));
    let found = arrange(&long, guitar(), &tuning("E A D G B E"), &Wishes::default(), &never);
    assert!(matches!(found, Err(ArrangeFault::TooLong { .. })));
}

#[test]
fn the_demos_tune_is_read_arranged_and_kept() {
    let demo = pegwise::store::demo();
    let with_tune: Vec<_> = demo.songs().iter().filter(|song| song.tune.is_some()).collect();
    assert_eq!(with_tune.len(), 1);
    let song = with_tune[0];
    let kept = song.tune.as_ref().unwrap();
    let tune = kept.read().unwrap();
    let found = arrange(&tune, guitar(), &song.tuning.pitches, &kept.wishes(song.capo, 6), &never).unwrap();
    replay(&tune, &found, guitar(), &song.tuning.pitches);
    assert!(found.left_out.is_empty(), "{:?}", found.left_out);
    // It goes out with the library and comes in again, decisions and all.
    let mut library = demo.clone();
    let mut changed = song.clone();
    let pin = Pin { at: Quarters::ONE, what: Pinned::NoBass };
    changed.tune.as_mut().unwrap().decide(&pin, 6);
    changed.tune.as_mut().unwrap().unknown.insert("later".to_owned(), true.into());
    assert!(library.replace_song(changed.clone()));
    let again = pegwise::store::read(&pegwise::store::write(&library)).unwrap();
    let tune = again.songs().iter().find(|found| found.id == song.id).unwrap().tune.clone();
    assert_eq!(tune, changed.tune);
    assert_eq!(tune.unwrap().pins(6), [pin]);
}

#[test]
fn what_is_heard_is_what_is_arranged_at_its_time() {
    let tune = tune(TUNES[0]);
    let wishes = Wishes { transpose: Some(Semitones::new(-12)), capo: Some(Fret::OPEN), ..Wishes::default() };
    let found = arrange(&tune, guitar(), &tuning("D A D G A D"), &wishes, &never).unwrap();
    let strings = Catalog::bundled().strings_of(guitar()).strings();
    let a4 = pegwise::theory::ReferencePitch::default();
    let whole = pegwise::app::TuneHearing::whole(&found, 120.0);
    let strikes = pegwise::app::tune_strikes(&found, guitar(), strings, a4, &whole);
    assert_eq!(strikes.len(), found.figures.notes);
    // At 120 quarters a minute a quarter is half a second, A4 is 440 Hz and each semitone the twelfth root of two.
    let played = tune.played().unwrap();
    for note in &played.notes {
        let (at, end) = (0.5 * note.at.to_f64(), 0.5 * (note.at + note.length).to_f64());
        let number = f64::from(note.pitch.pitch().number()) - 12.0;
        let hertz = 440.0 * 2.0_f64.powf((number - 69.0) / 12.0);
        let is_it = |strike: &&pegwise::sound::Strike| {
            (strike.at_s - at).abs() < 1e-9
                && (strike.stop_at_s.unwrap() - end).abs() < 1e-9
                && (strike.frequency.get() - hertz).abs() < 1e-6
        };
        assert!(strikes.iter().any(|strike| is_it(&strike)), "{note:?}");
    }
    // The thumb alone, two bars of it.
    let (from, to) = (Quarters::ONE, Quarters::new(9, 1).unwrap());
    let alone = pegwise::app::TuneHearing { from, to, melody: 0.0, ..whole };
    let strikes = pegwise::app::tune_strikes(&found, guitar(), strings, a4, &alone);
    assert_eq!(strikes.len(), 8);
    assert!(strikes.iter().all(|strike| strike.course >= 4 && strike.at_s >= 0.0 && strike.at_s < 4.0));
    // On a neck a quarter longer the same string is 1.25⁴ times less inharmonic at its pitch: B = π³Ed⁴/64TL² (Fletcher, 1964)
    // with T ~ L².
    let longer = strings.clone().with_scale_mm(Some(guitar().scale_mm() * 1.25));
    let on_it = pegwise::app::tune_strikes(&found, guitar(), &longer, a4, &alone);
    for (usual, longer) in strikes.iter().zip(&on_it) {
        let ratio = usual.tone.inharmonicity / longer.tone.inharmonicity;
        assert!((ratio - 1.25_f64.powi(4)).abs() < 1e-9, "{ratio}");
    }
}

/// How long things take: `cargo test --no-default-features --test core how_long_a_tune -- --ignored --nocapture`.
#[test]
#[ignore = "measures: see tests/FIGURES.md"]
fn how_long_a_tune_takes() {
    use std::time::Instant;
    let music = "\"G\"G2 AB d2 BA|\"C\"G2 E2 \"G\"D4|\"D\"F2 GA c2 BA|\"G\"B2 G2 G4|".repeat(8);
    let tune = tune(&format!("X:1\nM:4/4\nL:1/8\nK:G\n{music}\n"));
    let median = |run: &dyn Fn()| {
        let mut times: Vec<f64> = (0..5)
            .map(|_| {
                let started = Instant::now();
                run();
                started.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        times.sort_by(f64::total_cmp);
        times[2]
    };
    for name in TUNINGS {
        let tuning = tuning(name);
        let fixed = Wishes { transpose: Some(Semitones::ZERO), capo: Some(Fret::OPEN), ..Wishes::default() };
        let pin = Pin { at: Quarters::new(4, 1).unwrap(), what: Pinned::NoBass };
        let pinned = Wishes { pins: vec![pin], ..fixed.clone() };
        let run = |wishes: &Wishes| drop(arrange(&tune, guitar(), &tuning, wishes, &never).unwrap());
        let (chosen, one, changed) =
            (median(&|| run(&Wishes::default())), median(&|| run(&fixed)), median(&|| run(&pinned)));
        println!("{name}: 32 bars, key chosen {chosen:.0} ms, fixed {one:.0} ms, with a decision {changed:.0} ms");
    }
    let all = Catalog::bundled().tunings_for(guitar());
    let candidates: Vec<TuningCandidate<'_>> =
        all.iter().map(|found| TuningCandidate { tuning: found.tuning(), effort: 1.0 }).collect();
    let started = Instant::now();
    let mut times = Vec::new();
    let mut keep = |_| {
        times.push(started.elapsed().as_secs_f64());
        ControlFlow::Continue(())
    };
    try_tunings(&tune, guitar(), &candidates, &Wishes::default(), 2, &never, &mut keep).unwrap();
    println!("{} tunings in {:.2} s, the first three in {:.3} s", times.len(), times[times.len() - 1], times[2]);
}
