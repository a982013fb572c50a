//! Retuning plans against a simulated guitar with its own physics, and beats against published tables.

use pegwise::instrument::{Catalog, CourseIndex, Instrument, Tuning};
use pegwise::retune::cents_per_beat;
use pegwise::retune::{
    BeatRate, CourseState, Match, MatchKind, OnGuitar, Plan, PlanRequest, Progress, Sweetening, Touch,
};
use pegwise::theory::{Hertz, Pitch, ReferencePitch, SpelledPitch};

use crate::simulated::SimulatedGuitar;

pub(crate) fn pitch(text: &str) -> Pitch {
    SpelledPitch::read(text).unwrap().pitch()
}

pub(crate) fn guitar_tuning(text: &str) -> Tuning {
    let catalog = Catalog::bundled();
    Tuning::read(text, catalog.standard_of(catalog.guitar()).tuning()).unwrap()
}

pub(crate) fn all_right(tuning: &Tuning) -> Vec<CourseState> {
    tuning.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect()
}

/// The plan on the usual strings, whether they would stand it or not: what breaks has its own tests (`string_laws.rs`).
pub(crate) fn outline(request: &PlanRequest<'_>) -> Plan {
    Plan::unchecked(request, &Sweetening::none(request.to.courses())).unwrap()
}

pub(crate) fn plan_on(instrument: &Instrument, from: &Tuning, to: &Tuning) -> Plan {
    outline(&PlanRequest::new(instrument, &all_right(from), to))
}

pub(crate) fn guitar_plan(from: &str, to: &str) -> Plan {
    plan_on(Catalog::bundled().guitar(), &guitar_tuning(from), &guitar_tuning(to))
}

#[test]
fn every_pair_of_guitar_tunings_has_a_plan_that_ends_in_the_target() {
    let catalog = Catalog::bundled();
    let guitar = catalog.guitar();
    let tunings = catalog.tunings_for(guitar);
    assert!(tunings.len() >= 90);
    for from in &tunings {
        for to in &tunings {
            let plan = plan_on(guitar, from.tuning(), to.tuning());
            let moved = from.tuning().pitches().iter().zip(to.tuning().pitches()).filter(|(a, b)| a != b).count();
            assert_eq!(plan.steps().len(), moved, "{} to {}", from.id(), to.id());
            SimulatedGuitar::new(guitar, &all_right(from.tuning()), to.tuning()).follow(&plan);
        }
    }
}

#[test]
fn every_instrument_gets_from_its_standard_to_each_of_its_tunings_and_back() {
    let catalog = Catalog::bundled();
    for instrument in catalog.instruments() {
        let standard = catalog.standard_of(instrument).tuning();
        for other in catalog.tunings_for(instrument) {
            for (from, to) in [(standard, other.tuning()), (other.tuning(), standard)] {
                let plan = plan_on(instrument, from, to);
                SimulatedGuitar::new(instrument, &all_right(from), to).follow(&plan);
            }
        }
    }
}

#[test]
fn from_nothing_known_the_first_course_is_set_to_the_tone_and_the_others_from_each_other() {
    let catalog = Catalog::bundled();
    for instrument in catalog.instruments() {
        let standard = catalog.standard_of(instrument).tuning();
        let now: Vec<CourseState> = standard.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
        let plan = Plan::new(&PlanRequest::new(instrument, &now, standard)).unwrap();
        assert_eq!(plan.steps().len(), now.len());
        assert_eq!(plan.steps()[0].matches()[0].kind(), MatchKind::Tone);
        assert!(plan.steps()[0].from().is_none() && plan.steps()[0].comes_up_from_below());
        SimulatedGuitar::new(instrument, &now, standard).follow(&plan);
    }
    let guitar = catalog.guitar();
    let standard = catalog.standard_of(guitar).tuning();
    let now: Vec<CourseState> = standard.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
    let plan = Plan::new(&PlanRequest::new(guitar, &now, standard)).unwrap();
    let tones = plan.steps().iter().filter(|step| step.matches()[0].kind() == MatchKind::Tone).count();
    assert_eq!(tones, 1, "standard tuning can be tuned from one string");
}

/// G6 from standard (common practice; references.md, Tunings): course 6 down a tone to the octave below open course 4,
/// course 5 down a tone to the octave below open course 3, nothing else.
#[test]
fn standard_to_g6_lowers_the_two_lowest_to_the_octave_below_open_four_and_three() {
    let plan = guitar_plan("E A D G B E", "D G D G B E");
    let seen: Vec<(u8, i16, MatchKind, u8, u8)> = plan
        .steps()
        .iter()
        .map(|step| {
            let best = &step.matches()[0];
            let reference = best.reference().unwrap();
            assert_eq!((reference.touch, best.tuned().touch), (Touch::Open, Touch::Open));
            assert_eq!((reference.partial, best.tuned().partial), (1, 2));
            assert!(step.comes_up_from_below());
            let number = |course: CourseIndex| course.player_number(6);
            let by = step.semitones().unwrap().get();
            (number(step.course()), by, best.kind(), number(reference.course), reference.fret.get())
        })
        .collect();
    assert_eq!(seen, [(6, -2, MatchKind::Octave, 4, 0), (5, -2, MatchKind::Octave, 3, 0)]);
    assert_eq!(plan.stays().len(), 4);
    assert!(!plan.checks().is_empty() && !plan.takes_capo_off());
}

#[test]
fn slackening_comes_before_tightening_unless_its_reference_has_to_be_tightened_first() {
    // Both directions at once: courses 6 and 1 down, course 3 up.
    let plan = guitar_plan("E2 A2 D3 F#3 A3 E4", "D2 A2 D3 G3 A3 D4");
    let order: Vec<i16> = plan.steps().iter().map(|step| step.semitones().unwrap().get()).collect();
    assert_eq!(order, [-2, -2, 1]);
    assert_eq!(plan.steps()[0].course().player_number(6), 6, "ties go to the thickest");
    // Larger moves first.
    let plan = guitar_plan("E A D G B E", "C2 G2 D3 G3 B3 E4");
    let order: Vec<i16> = plan.steps().iter().map(|step| step.semitones().unwrap().get()).collect();
    assert_eq!(order, [-4, -2]);
}

/// Common practice: all strings a whole step down by the strings that are still where they were.
#[test]
fn when_every_string_moves_those_that_still_stand_serve() {
    for (from, to) in [
        ("E A D G B E", "D2 G2 C3 F3 A3 D4"),
        ("E A D G B E", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("D2 G2 C3 F3 A3 D4", "E A D G B E"),
    ] {
        let plan = guitar_plan(from, to);
        assert_eq!(plan.steps().len(), 6);
        assert!(plan.stays().is_empty());
        assert!(plan.steps()[0].matches()[0].leans_on_old_pitch(), "{from} to {to}");
        assert!(plan.steps().iter().all(|step| step.matches()[0].kind() != MatchKind::Tone), "{from} to {to}");
    }
    // String 6 comes from string 4 at fret 1 before that moves.
    let down = guitar_plan("E A D G B E", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4");
    let sixth = down.steps().iter().find(|step| step.course().player_number(6) == 6).unwrap();
    let way = &sixth.matches()[0];
    let reference = way.reference().unwrap();
    assert_eq!((reference.course.player_number(6), reference.fret.get(), reference.touch), (4, 1, Touch::Stopped));
    assert!(way.leans_on_old_pitch() && way.reference_open() == Some(pitch("D3")));
    // On springs every turn shifts every string: nothing is leant on at its old pitch.
    let guitar = Catalog::bundled().guitar();
    let (from, to) = (guitar_tuning("E A D G B E"), guitar_tuning("D2 G2 C3 F3 A3 D4"));
    let now = all_right(&from);
    let request = PlanRequest { bridge: pegwise::instrument::Bridge::Floating, ..PlanRequest::new(guitar, &now, &to) };
    for step in Plan::new(&request).unwrap().steps() {
        assert!(step.matches().iter().all(|way| !way.leans_on_old_pitch()));
    }
}

#[test]
fn the_capo_comes_off_first_and_frets_count_from_the_nut() {
    let guitar = Catalog::bundled().guitar();
    let (from, to) = (guitar_tuning("E A D G B E"), guitar_tuning("D G D G B E"));
    let now = all_right(&from);
    let bare = PlanRequest::new(guitar, &now, &to);
    let with_capo = Plan::new(&PlanRequest { capo: pegwise::instrument::Fret::new(3), ..bare }).unwrap();
    assert!(with_capo.takes_capo_off());
    assert_eq!(with_capo.steps(), Plan::new(&bare).unwrap().steps());
}

#[test]
fn pairs_are_finished_within_the_course() {
    let catalog = Catalog::bundled();
    let mut pairs = 0;
    for instrument in catalog.instruments() {
        let standard = catalog.standard_of(instrument).tuning();
        let now: Vec<CourseState> = standard.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
        let plan = Plan::new(&PlanRequest::new(instrument, &now, standard)).unwrap();
        for step in plan.steps() {
            let course = &instrument.courses()[step.course().from_lowest_index()];
            assert_eq!(step.within().len(), course.offsets().len() - 1, "{}", instrument.id());
            for further in step.within() {
                pairs += 1;
                let up = course.offsets()[further.string].get();
                let expected = if up == 0 { MatchKind::Unison } else { MatchKind::Octave };
                if up % 12 == 0 {
                    assert_eq!(further.how.kind(), expected, "{}", instrument.id());
                    assert_eq!(further.how.beats(), BeatRate::NONE);
                }
            }
        }
    }
    assert!(pairs > 20);
}

#[test]
fn no_fret_is_asked_for_where_there_is_none() {
    let catalog = Catalog::bundled();
    for instrument in catalog.instruments() {
        let tunings = catalog.tunings_for(instrument);
        for from in tunings.iter().take(6) {
            for to in &tunings {
                for step in plan_on(instrument, from.tuning(), to.tuning()).steps() {
                    for way in step.matches() {
                        for side in [way.reference(), Some(way.tuned())].into_iter().flatten() {
                            assert!(side.fret.get() == 0 || instrument.has_fret(side.fret), "{}", instrument.id());
                        }
                    }
                }
            }
        }
    }
}

/// J. Neurosci. 32(35):12251 (2012), Table 1, after Capleton 2007: beats per second in equal temperament at A4 = 440 Hz,
/// without sign, to the digit printed. Then computed from 440 Hz with sign (references.md, Beats).
#[test]
fn beats_of_tempered_intervals_are_the_published_ones() {
    let rate = |low: &str, high: &str, upper, lower| {
        let at = |text| ReferencePitch::default().frequency(pitch(text));
        BeatRate::between(at(low), at(high), upper, lower).per_second()
    };
    for (low, high, upper, lower, printed) in [
        ("F3", "A3", 5, 4, 6.9),
        ("A3", "C#4", 5, 4, 8.7),
        ("C4", "E4", 5, 4, 10.4),
        ("A3", "E4", 3, 2, 0.7),
        ("F3", "C4", 3, 2, 0.6),
        ("A3", "D4", 4, 3, 1.0),
        ("F3", "D4", 5, 3, 7.9),
        ("F3", "Ab3", 6, 5, 9.4),
        ("F3", "Db4", 8, 5, 11.0),
    ] {
        let beats = rate(low, high, upper, lower).abs();
        assert!((beats - printed).abs() <= 0.05 + 1e-9, "{low}-{high}: {beats}, printed {printed}");
    }
    for (low, high, upper, lower, computed) in [
        ("E2", "A2", 4, 3, 0.372),
        ("A2", "D3", 4, 3, 0.497),
        ("D3", "G3", 4, 3, 0.664),
        ("G3", "B3", 5, 4, 7.778),
        ("B3", "E4", 4, 3, 1.116),
        ("E2", "B3", 3, 1, -0.279),
        ("D2", "A2", 3, 2, -0.249),
        ("C2", "G2", 3, 2, -0.221),
    ] {
        let beats = rate(low, high, upper, lower);
        assert!((beats - computed).abs() < 0.000_6, "{low}-{high}: {beats}, computed {computed}");
    }
}

/// A unison that is c cents off beats at about f · c · ln 2 / 1200 (references.md, Beats).
#[test]
fn one_beat_in_cents_is_the_inverse_of_the_rule_of_thumb() {
    for hertz in [82.4, 196.0, 329.6, 1318.5] {
        let per_beat = cents_per_beat(Hertz::new(hertz).unwrap()).get();
        let beats = hertz * per_beat * std::f64::consts::LN_2 / 1200.0;
        assert!((beats - 1.0).abs() < 0.01, "{hertz}: {beats}");
    }
}

#[test]
fn a_half_done_plan_is_kept_and_resumed_and_leans_on_what_was_confirmed() {
    let guitar = Catalog::bundled().guitar();
    let (from, to) = (guitar_tuning("E A D G B E"), guitar_tuning("D A D F# A D"));
    let mut progress = Progress::start(OnGuitar::in_tuning(guitar, &from).unwrap(), to.clone()).unwrap();
    let mut confirmed = 0;
    while !progress.is_done() {
        let kept = serde_json::to_string(&progress).unwrap();
        let resumed: Progress = serde_json::from_str(&kept).unwrap();
        assert_eq!(resumed, progress);
        let plan = Plan::new(&PlanRequest::new(guitar, resumed.on_guitar().courses(), &to)).unwrap();
        SimulatedGuitar::new(guitar, resumed.on_guitar().courses(), &to).follow(&plan);
        assert_eq!(plan.steps().len() + confirmed, 4);
        let before = resumed.clone();
        progress = resumed.confirm(plan.steps()[0].course());
        assert_eq!(progress.clone().undo(), before);
        confirmed += 1;
        assert_eq!(progress.confirmed(), confirmed);
    }
    assert_eq!(progress.on_guitar().tuning(), Some(to.clone()));
    let over = progress.start_over();
    assert_eq!(over.on_guitar().courses().iter().filter(|course| !course.is_right()).count(), 4);
    let plan = Plan::new(&PlanRequest::new(guitar, over.on_guitar().courses(), &to)).unwrap();
    assert!(plan.steps().iter().all(|step| step.from().is_none()), "strings set once are not sent the whole way again");
}

#[test]
fn a_damaged_progress_is_refused() {
    let good = r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":40}]},"target":[38]}"#;
    assert!(serde_json::from_str::<Progress>(good).is_ok());
    for bad in [
        r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":40}]},"target":[40,45],"confirmed":[]}"#,
        r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":200}]},"target":[40],"confirmed":[]}"#,
        r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":40}]},"target":[40],"sweetening":[1,2],"confirmed":[]}"#,
        r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":40}]},"target":[40],"sweetening":[20000],"confirmed":[]}"#,
        r#"{"on_guitar":{"instrument":"guitar","courses":[]},"target":[],"confirmed":[]}"#,
        r#"{"on_guitar":{"instrument":"guitar","courses":[{"pitch":40}]},"target":[40],"confirmed":[{"course":9,"before":{"pitch":40}}]}"#,
    ] {
        assert!(serde_json::from_str::<Progress>(bad).is_err(), "{bad}");
    }
}

/// What a plan offers beside the best: another thing to do, and one that comes to rest. Stopping one of two strings brings
/// any two within two octaves to a unison or octave, so there is always one once a string is right.
fn check_alternatives(instrument: &Instrument, now: &[CourseState], to: &Tuning) -> Plan {
    let plan = outline(&PlanRequest::new(instrument, now, to));
    for (place, step) in plan.steps().iter().enumerate() {
        let ways: Vec<&Match> = step.matches().iter().filter(|way| way.kind() != MatchKind::Tone).collect();
        let none_is_right = place == 0 && now.iter().all(|course| !course.is_right());
        assert_eq!(ways.is_empty(), none_is_right, "{} {step:?}", instrument.id());
        // A right string less than an octave off can be stopped to sound the open one, or the other way round.
        let right = plan.stays().iter().copied().chain(plan.steps()[..place].iter().map(|step| step.course()));
        let apart =
            right.map(|course| to.pitches()[course.from_lowest_index()].number().abs_diff(step.to().number())).min();
        if apart.is_some_and(|apart| apart < 12) {
            let [best, other] = ways[..] else { panic!("{} {step:?}", instrument.id()) };
            let hands = |way: &Match| (way.kind(), way.reference().map(|side| side.touch), way.tuned().touch);
            assert_ne!(hands(best), hands(other), "{} {step:?}", instrument.id());
        }
        if apart.is_some_and(|apart| apart <= 24) {
            assert!(ways.iter().any(|way| way.beats().per_second() == 0.0), "{} {step:?}", instrument.id());
        }
    }
    plan
}

#[test]
fn beside_the_best_way_stands_another_thing_to_do_and_one_comes_to_rest() {
    let catalog = Catalog::bundled();
    for id in ["guitar", "five-string-banjo"] {
        let instrument = catalog.find_instrument(id).unwrap();
        let tunings = catalog.tunings_for(instrument);
        assert!(tunings.len() > 10, "{id}: {}", tunings.len());
        for to in &tunings {
            let unknown: Vec<_> = to.tuning().pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
            check_alternatives(instrument, &unknown, to.tuning());
            for from in &tunings {
                check_alternatives(instrument, &all_right(from.tuning()), to.tuning());
            }
        }
    }
}

/// The ways every player knows: string 3 at fret 5 is string 2 of the banjo's g C G C D, and over D A D G A D string 4
/// at fret 5 is string 3, string 3 at fret 2 string 2. Common practice, no source.
#[test]
fn the_fretted_unison_stands_beside_tempered_harmonics() {
    let catalog = Catalog::bundled();
    let banjo = catalog.find_instrument("five-string-banjo").unwrap();
    let standard = catalog.standard_of(banjo).tuning();
    let double_c = Tuning::read("G4 C3 G3 C4 D4", standard).unwrap();
    let dadgad = guitar_tuning("D A D G A D");
    let unknown: Vec<_> = dadgad.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect();
    let on_banjo = check_alternatives(banjo, &all_right(standard), &double_c);
    let on_guitar = check_alternatives(catalog.guitar(), &unknown, &dadgad);
    for (plan, courses, number) in [(on_banjo, 5, 2), (on_guitar.clone(), 6, 3), (on_guitar, 6, 2)] {
        let step = plan.steps().iter().find(|step| step.course().player_number(courses) == number).unwrap();
        let is_fretted_or_octave = |way: &&Match| {
            let reference = way.reference().map(|side| side.touch);
            way.tuned().touch == Touch::Open && matches!(reference, Some(Touch::Stopped | Touch::Open))
        };
        assert!(step.matches().iter().any(|way| is_fretted_or_octave(&way)), "{number} of {courses}: {step:?}");
    }
}
