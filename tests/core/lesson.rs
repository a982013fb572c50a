//! The first time by ear: what is sounded, and when it is offered.

use pegwise::app::{Action, EarsAction, Guide, GuideAction, Sound};
use pegwise::sound::{SampleRate, render};

use super::room::Bench;

/// The loudness of what a sound of the lesson plays, in dB over 20 ms each.
fn loudness(sound: Sound) -> Vec<f64> {
    let mut bench = Bench::on_the_way_to("guitar-g6");
    bench.act(Action::Ears(EarsAction::Hear(sound)));
    let strikes = bench.state.ears.score().expect("it sounds").strikes.clone();
    let out = render(SampleRate::COMMON, &strikes, 8.0);
    let step = SampleRate::COMMON.samples_in(0.02);
    let power = |part: &[f32]| part.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / 960.0;
    out.chunks(step).map(|part| 10.0 * power(part).max(1e-12).log10()).collect()
}

/// When it is softest, each time by more than 6 dB below what is 0.15 s to its sides, in seconds.
fn dips(loudness: &[f64]) -> Vec<f64> {
    let is_dip = |at: &usize| {
        let beside = 7;
        let here = loudness[*at];
        let is_lowest = (at - beside..=at + beside).all(|near| near == *at || here < loudness[near]);
        is_lowest && loudness[at - beside].min(loudness[at + beside]) > here + 6.0
    };
    (7..loudness.len() - 7).filter(is_dip).map(|at| 0.02 * f64::from(u32::try_from(at).unwrap())).collect()
}

/// Two tones beat as often as their frequencies differ (Helmholtz): three a second at first, slower and slower, then not
/// at all.
#[test]
fn the_wobble_slows_down_and_stands_still() {
    let loudness = loudness(Sound::Slowing);
    let dips = dips(&loudness);
    // Half a wobble after the pluck it is softest first: at 1/6 and 1/2 s, then six more times.
    assert!((7..=8).contains(&dips.len()), "{dips:?}");
    let apart: Vec<f64> = dips.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!((apart[0] - 1.0 / 3.0).abs() < 0.03, "{apart:?}");
    assert!(apart.windows(2).all(|pair| pair[1] > pair[0] - 0.021) && apart.last() > Some(&0.7), "{apart:?}");
    // It stands still from 4.67 s on, both sounding together: as loud as at first but for what the strings have died.
    let (first, still) = (loudness[2], &loudness[240..360]);
    assert!(dips.last().is_some_and(|last| *last < 4.67), "{dips:?}");
    let steps: Vec<f64> = still.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    assert!(steps.iter().all(|step| *step < 0.3), "{steps:?}");
    // 60 dB in 20 s, and at their best two tones are 6 dB over one.
    let expected = first - 3.0 * 4.8;
    assert!((still[0] - expected).abs() < 3.0, "{} instead of {expected}", still[0]);
}

/// An octave does not wobble, nor does the note with itself.
#[test]
fn an_octave_stands_still_as_well() {
    let loudness = loudness(Sound::OctaveOff);
    for (from, to) in [(0.2, 2.8), (3.9, 6.4)] {
        let at = |s: f64| SampleRate::COMMON.samples_in(s) / SampleRate::COMMON.samples_in(0.02);
        let part = &loudness[at(from)..at(to)];
        assert!(part.windows(2).all(|pair| (pair[1] - pair[0]).abs() < 0.5), "{part:?}");
        assert!(part[0] > -30.0);
    }
}

/// It is offered before the first step by ear, ends with a word, and that is kept; who lets the phone listen does not need it.
#[test]
fn it_is_offered_once_and_again_when_asked_for() {
    let mut bench = Bench::new();
    bench.act(Action::Guide(GuideAction::Again));
    bench.choose("guitar-g6");
    assert_eq!(Guide::hint(&bench.state), None, "it says itself what to do");
    bench.act(Action::Ears(EarsAction::Hear(Sound::Slowing)));
    assert_eq!(bench.state.ears.sounding, Some(Sound::Slowing));
    bench.act(Action::Ears(EarsAction::LessonDone));
    assert_eq!(bench.state.ears.sounding, None, "it falls silent with its page");
    assert!(bench.state.library.settings.has_heard_wobble && Guide::hint(&bench.state).is_some());
    bench.act(Action::Ears(EarsAction::Hear(Sound::Slowing)));
    assert_eq!(bench.state.ears.sounding, None, "nothing of it sounds elsewhere");
    bench.act(Action::Ears(EarsAction::Lesson));
    assert!(bench.state.ears.wants_lesson);
    bench.act(Action::BackKey);
    assert!(!bench.state.ears.wants_lesson && bench.state.guitar.wanted().is_some(), "Back leads to the step");
    let kept = serde_json::to_string(&bench.state.library.settings).unwrap();
    assert!(kept.contains("\"has_heard_wobble\":true"), "{kept}");
}
