//! Retuning by listening, from end to end without a window or a device: strings are rendered, the room is a fake one.

use pegwise::app::{Action, EarsAction, Mic, RetuneAction, Ringing, Sound, Stage, Tab, TuningsAction, hide};
use pegwise::platform::{DeviceFault, Moment};
use pegwise::sound::{SampleRate, Strike, Tone, render};
use pegwise::theory::{Cents, Hertz};

use super::room::Bench;

fn cents(hz: f64, by: f64) -> f64 {
    Hertz::new(hz).unwrap().shifted(Cents::new(by)).get()
}

// CRC Handbook of Chemistry and Physics, "Musical scales": E2 82.407; D2, G2, A2, D3 are computed from A4 = 440.
const E2: f64 = 82.407;
const D2: f64 = 73.416;
const G2: f64 = 97.999;
const A2: f64 = 110.0;
const D3: f64 = 146.832;
const OPEN_IN_G6: [f64; 6] = [D2, G2, D3, 195.998, 246.942, 329.628];

/// The whole way without a tap: two strings turned, each first too far, then right; then all six checked.
#[test]
fn a_tuning_is_reached_without_a_hand_on_the_phone() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    for (course, from, to) in [(6, E2, D2), (5, A2, G2)] {
        assert_eq!(bench.course(), Some(course));
        bench.pluck(from, 0.6);
        let (heard, off) = bench.heard().unwrap();
        assert!(heard == course && (off - 200.0).abs() < 3.0, "as it was: {off:+.1}");
        bench.pluck(cents(to, -18.0), 0.8);
        let (heard, off) = bench.heard().unwrap();
        assert!(heard == course && (off + 18.0).abs() < 1.0, "too far: {off:+.1}");
        assert_eq!(bench.course(), Some(course), "flat is not right");
        let _ = bench.machine.sound().take_played();
        bench.pluck(cents(to, 0.5), 1.2);
        assert_ne!(bench.course(), Some(course), "right goes on by itself");
        let loudest =
            bench.machine.sound().take_played().into_iter().fold(0.0_f32, |most, value| most.max(value.abs()));
        assert!((0.05..1.0).contains(&loudest), "and is told by a short sound: {loudest}");
        bench.hear_silence(0.8);
        assert!(!bench.machine.sound().is_sounding(), "which ends");
    }
    assert_eq!(bench.state.guitar.stage(), Stage::Check);
    for (at, hz) in OPEN_IN_G6.into_iter().enumerate() {
        assert_eq!(bench.state.guitar.stage(), Stage::Check, "string {at} is still to be heard");
        bench.pluck(hz, 1.2);
    }
    assert_eq!(bench.state.guitar.stage(), Stage::Done);
    assert_eq!(bench.state.ears.mic, Mic::Off);
    bench.hear_silence(1.0);
    assert!(!bench.machine.sound().is_listening(), "the microphone is closed with the work");
    assert!(bench.worker.is_idle());
}

#[test]
fn any_string_is_named_and_told_where_it_stands() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    for (hz, course) in [(D3, 4), (195.998, 3), (246.942, 2), (329.628, 1)] {
        bench.pluck(cents(hz, 7.0), 0.6);
        let (heard, off) = bench.heard().unwrap();
        assert!(heard == course && (off - 7.0).abs() < 1.0, "{course}: heard {heard}, {off:+.1}");
        assert_eq!(bench.course(), Some(6), "another string does not go on");
        bench.hear_silence(1.8);
    }
    // F sharp below string 1: no string's note, and too far from all of them.
    bench.pluck(cents(246.942, 250.0), 0.6);
    assert!(matches!(bench.ringing(), Ringing::Stranger { .. }), "{:?}", bench.ringing());
}

#[test]
fn all_strings_are_checked_with_no_tuning_under_way() {
    let mut bench = Bench::new();
    bench.act(Action::Tab(Tab::Retune));
    assert_eq!(bench.state.guitar.stage(), Stage::Idle);
    bench.listen();
    for (hz, off) in [(E2, 0.0), (A2, -12.0), (D3, 4.0), (195.998, 140.0)] {
        bench.pluck(cents(hz, off), 1.0);
        bench.hear_silence(0.3);
    }
    let heard: Vec<Option<(f64, bool)>> =
        bench.state.ears.heard.iter().map(|string| string.map(|string| (string.off.get(), string.is_right))).collect();
    let expected = [Some((0.0, true)), Some((-12.0, false)), Some((4.0, false)), Some((140.0, false)), None, None];
    for (found, expected) in heard.iter().zip(expected) {
        match (found, expected) {
            (Some((off, right)), Some((wanted, is_right))) => {
                assert!((off - wanted).abs() < 1.0 && *right == is_right, "{off:+.1}, right {right}");
            }
            (found, expected) => assert_eq!(found.is_some(), expected.is_some()),
        }
    }
}

#[test]
fn a_pair_is_not_taken_for_right_before_both_its_strings_are() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.act(Action::Instrument(pegwise::app::InstrumentAction::Instrument("mandolin".to_owned())));
    bench.act(Action::Tunings(TuningsAction::Choose("mandolin-gdgd".to_owned())));
    bench.listen();
    let before = bench.state.guitar.course();
    let watch = bench.state.ears.watch().unwrap().1.clone();
    let string = watch.strings[watch.asked.unwrap()];
    bench.pluck(string.from.unwrap().get(), 1.0);
    bench.pluck(string.hertz.get(), 1.5);
    let hearing = bench.state.ears.hearing.unwrap();
    assert_eq!((hearing.strings_right, hearing.is_done), (1, false));
    // The same string again, and again: it may be either.
    bench.pluck(string.hertz.get(), 1.5);
    bench.pluck(string.hertz.get(), 1.5);
    assert_eq!(bench.state.guitar.course(), before, "the player says when the other is right too");
}

/// Both strings of a pair are heard to come to their pitch, each alone, in unison and an octave apart: it goes on by itself.
#[test]
fn a_pair_goes_on_when_both_its_strings_were_heard_to_come_there() {
    for (instrument, tuning) in [("mandolin", "mandolin-gdgd"), ("twelve-string-guitar", "twelve-string-guitar-dadgad")]
    {
        let mut bench = Bench::new();
        bench.act(Action::Instrument(pegwise::app::InstrumentAction::Instrument(instrument.to_owned())));
        bench.choose(tuning);
        bench.listen();
        let before = bench.state.guitar.course();
        let watch = bench.state.ears.watch().unwrap().1.clone();
        let asked = watch.asked.unwrap();
        let course = watch.strings[asked].course;
        let pair: Vec<_> = watch.strings.iter().filter(|string| string.course == course).collect();
        assert_eq!(pair.len(), 2);
        let is_octave = pair[1].hertz.get() > 1.9 * pair[0].hertz.get();
        assert_eq!(is_octave, instrument == "twelve-string-guitar", "the lower courses of one, all of the other");
        for (at, string) in (0_u8..).zip(&pair) {
            assert_eq!(bench.state.guitar.course(), before, "not before the other");
            let from = string.from.expect("it is known where it stood");
            // Plucked where it was, then turned while it rings: a glide of the test's own making.
            bench.pluck(from.get(), 0.8);
            bench.hear_silence(0.2);
            bench.hear(&super::performances::brought(from.get(), string.hertz.get(), 4.0));
            bench.hear_silence(0.3);
            if at == 0 {
                assert_eq!(bench.state.ears.hearing.unwrap().strings_right, 1, "{instrument}");
            }
        }
        assert_ne!(bench.state.guitar.course(), before, "{instrument} goes on");
    }
}

#[test]
fn a_refusal_is_a_state_and_asking_again_is_possible() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.act(Action::Ears(EarsAction::Listen));
    assert_eq!(bench.state.ears.mic, Mic::Asking);
    assert!(!bench.machine.sound().is_listening(), "nothing is opened before the answer");
    bench.machine.answer(false);
    hide(&mut bench.state, &*bench.machine, false);
    bench.pass_on();
    assert_eq!(bench.state.ears.mic, Mic::Refused);
    assert!(!bench.machine.sound().is_listening());
    bench.act(Action::Retune(RetuneAction::Confirm));
    assert_eq!(bench.course(), Some(5), "tuning by ear goes on");
    bench.listen();
}

#[test]
fn a_device_that_is_not_there_is_told_by_kind_and_tried_again_when_asked() {
    for fault in [
        DeviceFault::Denied,
        DeviceFault::Busy,
        DeviceFault::NoInput,
        DeviceFault::NotSupported,
        DeviceFault::Lost,
        DeviceFault::NoOutput,
    ] {
        let mut bench = Bench::on_the_way_to("guitar-g6");
        bench.machine.answer(true);
        bench.machine.sound().set_intake_fault(Some(fault));
        bench.act(Action::Ears(EarsAction::Listen));
        assert_eq!(bench.state.ears.mic, Mic::Fault(fault));
        assert!(bench.worker.is_idle());
        bench.machine.sound().set_intake_fault(None);
        bench.listen();
        bench.machine.sound().set_outlet_fault(Some(fault));
        bench.act(Action::Ears(EarsAction::Hear(Sound::Target)));
        assert_eq!((bench.state.ears.muted, bench.state.ears.sounding), (Some(fault), None));
        assert_eq!(bench.state.ears.mic, Mic::On, "a mute phone still listens");
        bench.pluck(D2, 1.2);
        assert_eq!(bench.course(), Some(5), "and goes on");
    }
}

#[test]
fn a_microphone_lost_on_the_way_is_opened_again_or_told() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    bench.pluck(E2, 0.3);
    bench.machine.sound().pull_out();
    bench.hear_silence(0.1);
    assert_eq!(bench.state.ears.mic, Mic::On, "another took its place");
    bench.pluck(cents(D2, 30.0), 0.6);
    assert_eq!(bench.heard().map(|(course, _)| course), Some(6));
    bench.machine.sound().set_intake_fault(Some(DeviceFault::NoInput));
    bench.machine.sound().pull_out();
    bench.hear_silence(0.1);
    assert_eq!(bench.state.ears.mic, Mic::Fault(DeviceFault::Lost));
    assert_eq!(bench.course(), Some(6), "the step stays where it was");
    assert!(bench.worker.is_idle());
}

#[test]
fn a_loudspeaker_lost_on_the_way_is_opened_again_or_told() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.act(Action::Ears(EarsAction::Hear(Sound::Target)));
    bench.hear_silence(0.5);
    bench.machine.sound().pull_out_loudspeaker();
    bench.hear_silence(0.1);
    let _ = bench.machine.sound().take_played();
    bench.hear_silence(0.2);
    assert!(bench.machine.sound().take_played().iter().any(|value| value.abs() > 0.01), "it sounds on another");
    bench.machine.sound().set_outlet_fault(Some(DeviceFault::NoOutput));
    bench.machine.sound().pull_out_loudspeaker();
    bench.hear_silence(0.1);
    assert_eq!((bench.state.ears.muted, bench.state.ears.sounding), (Some(DeviceFault::Lost), None));
    assert!(bench.worker.is_idle());
}

#[test]
fn two_minutes_without_a_string_close_the_microphone() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    bench.hear_silence(100.0);
    bench.pluck(E2, 0.4);
    bench.hear_silence(118.0);
    assert_eq!(bench.state.ears.mic, Mic::On, "a string begins the two minutes anew");
    bench.hear_silence(3.0);
    assert_eq!(bench.state.ears.mic, Mic::FellSilent);
    assert!(!bench.machine.sound().is_listening() && bench.worker.is_idle());
}

#[test]
fn leaving_the_screen_and_hiding_the_app_close_microphone_and_loudspeaker() {
    let leave: [fn(&mut Bench); 3] = [
        |bench| bench.act(Action::Tab(Tab::Tunings)),
        |bench| bench.act(Action::Open(pegwise::app::Screen::Settings)),
        |bench| {
            bench.machine.happen(Moment::Hidden);
            hide(&mut bench.state, &*bench.machine, true);
            bench.pass_on();
        },
    ];
    for leave in leave {
        let mut bench = Bench::on_the_way_to("guitar-g6");
        bench.listen();
        bench.act(Action::Ears(EarsAction::Hear(Sound::Target)));
        bench.hear_silence(0.3);
        assert!(bench.machine.sound().is_sounding());
        leave(&mut bench);
        bench.hear_silence(0.5);
        assert_eq!(bench.state.ears.mic, Mic::Off);
        assert!(!bench.machine.sound().is_listening());
        let is_list = bench.state.screen() == pegwise::app::Screen::Tunings;
        assert_eq!(bench.machine.sound().is_sounding(), is_list, "beside the list, on a wide window, it goes on");
    }
}

#[test]
fn the_phone_does_not_take_its_own_tone_for_the_string() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    bench.act(Action::Ears(EarsAction::Hear(Sound::Target)));
    bench.hear_silence(0.05);
    bench.pluck(D2, 1.5);
    assert_eq!((bench.ringing(), bench.course()), (Ringing::PhoneSounds, Some(6)));
    bench.act(Action::Ears(EarsAction::Hush));
    bench.hear_silence(0.5);
    bench.pluck(D2, 1.2);
    assert_eq!(bench.course(), Some(5));
}

/// What is played is what was asked for: measured by the crate's own tracker, which is judged elsewhere.
#[test]
fn each_sound_is_at_its_pitch_and_ends() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    for (sound, expected) in [(Sound::Target, D2), (Sound::Reference, D3)] {
        bench.act(Action::Ears(EarsAction::Hear(sound)));
        bench.hear_silence(1.0);
        let played = bench.machine.sound().take_played();
        let mut readings = Vec::new();
        pegwise::sound::Tracker::new(SampleRate::COMMON, Default::default()).push(&played, &mut readings);
        let heard = readings.iter().rev().find_map(|reading| reading.heard).unwrap();
        let off = Cents::between(Hertz::new(expected).unwrap(), heard.frequency).get();
        assert!(off.abs() < 0.2, "{sound:?}: {off:+.2} cents");
        assert!(bench.state.ears.sounding == Some(sound));
    }
    for sound in [Sound::Both, Sound::Wobble] {
        bench.act(Action::Ears(EarsAction::Hear(sound)));
        bench.hear_silence(11.0);
        let played = bench.machine.sound().take_played();
        assert!(played.iter().any(|value| value.abs() > 0.1), "{sound:?}");
        assert_eq!(bench.state.ears.sounding, None, "{sound:?} ends");
    }
    bench.act(Action::Tab(Tab::Shapes));
    for sound in [Sound::Strum, Sound::Arpeggio, Sound::Thumb] {
        bench.act(Action::Ears(EarsAction::Hear(sound)));
        bench.hear_silence(9.0);
        assert!(bench.machine.sound().take_played().iter().any(|value| value.abs() > 0.1), "{sound:?}");
        assert_eq!(bench.state.ears.sounding, None, "{sound:?} ends");
    }
    assert!(bench.worker.is_idle());
}

#[test]
fn what_is_heard_is_told_twenty_times_a_second_at_most_and_spoken_less() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    let mut spoken = 0;
    let mut last = None;
    for portion in 0..40_u8 {
        bench.pluck(cents(D2, 40.0 - f64::from(portion)), 0.05);
        let now = bench.state.ears.spoken.map(|spoken| spoken.at_s);
        spoken += usize::from(now != last);
        last = now;
    }
    // 40 portions of 0.15 s are six seconds.
    assert!((100..=121).contains(&bench.told), "{}", bench.told);
    assert!((1..=7).contains(&spoken), "{spoken}");
}

/// Strings 6 and 4 an octave apart: the beat of their shared partial, counted by the phone, turning slower.
#[test]
fn the_beat_of_two_strings_is_counted_and_turns_slower() {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.listen();
    let mut both = |rate: f64| {
        let strike = |hz: f64, course| Strike {
            stop_at_s: Some(2.6),
            ..Strike::new(Hertz::new(hz).unwrap(), Tone::default(), course)
        };
        // String 6's second partial beats with string 4; stiffness lifts the second partial by 1.3 cents here, so it
        // is taken away: a string without stiffness.
        let plain = Tone { inharmonicity: 0.0, ..Tone::default() };
        let strings = [Strike { tone: plain, ..strike(D2 + rate / 2.0, 6) }, Strike { tone: plain, ..strike(D3, 4) }];
        bench.hear(&render(SampleRate::COMMON, &strings, 2.7));
        bench.state.ears.beats.unwrap()
    };
    for (rate, turning) in [(4.0, pegwise::app::Turning::Same), (1.5, pegwise::app::Turning::Slower)] {
        let (found, turned) = both(rate);
        assert!((found / rate - 1.0).abs() < 0.03, "{rate}: {found:.3}");
        assert_eq!(turned, turning);
    }
}
