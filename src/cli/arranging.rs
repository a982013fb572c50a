//! `pegwise arrange`.

use std::fmt::Write;
use std::fs::File;
use std::io::{BufWriter, Read};
use std::ops::ControlFlow;
use std::path::Path;

use serde::Serialize;

use crate::app::{TuneHearing, tune_strikes};
use crate::arrange::{
    ArrangedSlice, Arrangement, FitReason, Fullness, Goal, LeftOut, LeftOutKind, Remedy, Sounding, ThumbStyle,
    TuningCandidate, TuningFit, Why, Wishes, try_tunings,
};
use crate::instrument::{Catalog, CatalogTuning, Fret, Instrument, Strung, Tuning};
use crate::retune::{CourseState, Effort};
use crate::sound::{SampleRate, render, write_wav};
use crate::theory::{Pitch, ReferencePitch, Semitones, SpelledPitch, SpellingChoice};
use crate::tune::{MOST_BYTES, Tempo, Tune, TuneFault, find_tune};

use super::args::{ArrangeArgs, Better, Full, Thumb, checked_scale};
use super::tab::tab;
use super::written::{TuningJson, finger_json, notes, rounded, spelled};
use super::{Failure, json};

#[derive(Serialize)]
struct ArrangementJson {
    title: String,
    tuning: TuningJson,
    transpose: i16,
    capo: u8,
    /// Whether the tune's chords were found, since it tells none.
    chords_found: bool,
    slices: Vec<SliceJson>,
    left_out: Vec<LeftOutJson>,
    /// What stood in the file and is not read.
    skipped: Vec<String>,
}

#[derive(Serialize)]
struct SliceJson {
    /// Where and how long, in quarter notes.
    at: String,
    length: String,
    /// The bar's number as played; 0 for a pickup.
    bar: usize,
    chord: Option<String>,
    melody: Option<SoundingJson>,
    bass: Option<SoundingJson>,
    inner: Vec<SoundingJson>,
}

#[derive(Serialize)]
struct SoundingJson {
    course: u8,
    fret: u8,
    /// 0 for open, 1 to 4, `"T"` for the thumb.
    finger: serde_json::Value,
    pitch: String,
    starts: bool,
}

#[derive(Serialize)]
struct LeftOutJson {
    bar: usize,
    beat: String,
    what: &'static str,
    /// For a note of the melody.
    pitch: Option<String>,
    why: String,
}

#[derive(Serialize)]
struct FitJson {
    #[serde(flatten)]
    tuning: TuningJson,
    weight: f64,
    points_a_bar: f64,
    /// What it costs to get there.
    effort: f64,
    strings_to_turn: usize,
    transpose: i16,
    capo: u8,
    notes_left_out: usize,
    beats_left_out: usize,
    reasons: Vec<String>,
}

pub(super) fn arrange(wanted: &ArrangeArgs) -> Result<String, Failure> {
    let instrument = wanted.common.instrument()?;
    let tuning = wanted.common.tuning(wanted.tuning.as_deref())?;
    let tune = read_tune(&wanted.file, wanted.number)?;
    let wishes = Wishes {
        style: match wanted.style {
            Thumb::Alternating => ThumbStyle::Alternating,
            Thumb::Steady => ThumbStyle::Steady,
            Thumb::Changes => ThumbStyle::OnChanges,
            Thumb::Melody => ThumbStyle::MelodyAlone,
        },
        fullness: match wanted.fullness {
            Full::Plain => Fullness::Plain,
            Full::Pinches => Fullness::Pinches,
            Full::Inner => Fullness::Inner,
        },
        goal: match wanted.better {
            Better::Smooth => Goal::LeastSum,
            Better::EvenlyEasy => Goal::LeastHardest,
        },
        transpose: wanted.transpose.map(Semitones::new),
        capo: wanted.capo.map(Fret::new),
        scale_mm: checked_scale(wanted.scale)?,
        ..Wishes::default()
    };
    if wanted.which_tuning {
        return which_tuning(wanted, instrument, &tuning, &tune, &wishes);
    }
    let arrangement =
        crate::arrange::arrange(&tune, instrument, &tuning, &wishes, &|| false).map_err(Failure::input)?;
    if let Some(place) = &wanted.sound {
        sound(wanted, place, &tune, &arrangement)?;
    }
    if wanted.common.json {
        return json(&arrangement_json(&arrangement, instrument, &tuning, &tune));
    }
    let played = tune.played().map_err(Failure::input)?;
    let mut text = String::new();
    let _ = writeln!(text, "{}", if tune.title.is_empty() { "A tune" } else { &tune.title });
    let _ = write!(text, "{}: {}", instrument.name(), notes(&spelled(instrument, &tuning)));
    if arrangement.capo != Fret::OPEN {
        let _ = write!(text, ", capo at fret {}", instrument.fret_name(arrangement.capo));
    }
    let _ = match arrangement.transpose.get() {
        0 => writeln!(text),
        by => writeln!(text, ", moved by {by:+} semitones"),
    };
    if arrangement.are_chords_found {
        text += "The tune names no chords; these were found from its key and its notes.\n";
    }
    text.push('\n');
    text += &tab(&arrangement, &played, instrument.courses().len());
    for left in &arrangement.left_out {
        let pitch = match left.what {
            LeftOutKind::Melody(pitch) => format!(" {}", name(pitch)),
            _ => String::new(),
        };
        let what = what_word(left.what);
        let _ = writeln!(text, "Left out: bar {}, beat {}, {what}{pitch}: {}", left.bar, left.beat, why(left));
    }
    for skipped in &tune.skipped {
        let _ = writeln!(text, "Not read: {skipped}");
    }
    Ok(text)
}

/// How fast a tune goes that does not say so, in quarters a minute.
const USUAL_TEMPO: f64 = 100.0;
/// How long the last note rings, in seconds.
const AFTER_S: f64 = 1.0;

/// Sounds the arrangement into a file.
fn sound(wanted: &ArrangeArgs, place: &Path, tune: &Tune, arrangement: &Arrangement) -> Result<(), Failure> {
    let instrument = wanted.common.instrument()?;
    let tempo = tune.tempo.map_or(USUAL_TEMPO, Tempo::quarters_per_minute) * f64::from(wanted.speed) / 100.0;
    let hearing = TuneHearing::whole(arrangement, tempo);
    let strings = Catalog::bundled().strings_of(instrument).strings();
    let strikes = tune_strikes(arrangement, instrument, strings, ReferencePitch::default(), &hearing);
    let samples = render(SampleRate::COMMON, &strikes, hearing.seconds_to(hearing.to) + AFTER_S);
    let machine = |fault: String| Failure::Machine(format!("{}: {fault}", place.display()));
    let file = File::create(place).map_err(|fault| machine(fault.to_string()))?;
    write_wav(BufWriter::new(file), SampleRate::COMMON, &samples).map_err(|fault| machine(fault.to_string()))
}

/// Reads the tune that is wanted: of a file with several the one of that number, else the first.
pub(super) fn read_tune(path: &Path, number: Option<u32>) -> Result<Tune, Failure> {
    let place = path.display();
    let machine = |fault: std::io::Error| Failure::Machine(format!("{place}: {fault}"));
    let file = File::open(path).map_err(machine)?;
    let most = u64::try_from(MOST_BYTES).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    // One byte more than is read tells that there is too much, also of what never ends.
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(machine)?;
    let in_file = |fault: TuneFault| Failure::Input(format!("{place}: {fault}"));
    let read = find_tune(&bytes, number).map_err(in_file)?;
    read.fault.map_or(Ok(read.tune), |fault| Err(in_file(fault)))
}

fn name(pitch: Pitch) -> String {
    SpelledPitch::by_choice(pitch, SpellingChoice::Customary).ascii()
}

fn arrangement_json(
    arrangement: &Arrangement,
    instrument: &Instrument,
    tuning: &Tuning,
    tune: &Tune,
) -> ArrangementJson {
    let courses = instrument.courses().len();
    let sounding = |note: &Sounding| SoundingJson {
        course: note.position.course.player_number(courses),
        fret: note.position.fret.get(),
        finger: note.finger.map_or_else(|| 0.into(), finger_json),
        pitch: name(note.pitch),
        starts: note.starts,
    };
    let slice = |slice: &ArrangedSlice| SliceJson {
        at: slice.at.to_string(),
        length: slice.length.to_string(),
        bar: slice.bar_number,
        chord: slice.chord.map(crate::theory::Chord::ascii),
        melody: slice.melody.as_ref().map(sounding),
        bass: slice.bass.as_ref().map(sounding),
        inner: slice.inner.iter().map(sounding).collect(),
    };
    ArrangementJson {
        title: tune.title.clone(),
        tuning: TuningJson::new(instrument, tuning),
        transpose: arrangement.transpose.get(),
        capo: arrangement.capo.get(),
        chords_found: arrangement.are_chords_found,
        slices: arrangement.slices.iter().map(slice).collect(),
        left_out: arrangement
            .left_out
            .iter()
            .map(|left| LeftOutJson {
                bar: left.bar,
                beat: left.beat.to_string(),
                what: what_word(left.what),
                pitch: match left.what {
                    LeftOutKind::Melody(pitch) => Some(name(pitch)),
                    LeftOutKind::Bass | LeftOutKind::Root => None,
                },
                why: why(left),
            })
            .collect(),
        skipped: tune.skipped.iter().map(ToString::to_string).collect(),
    }
}

const fn what_word(what: LeftOutKind) -> &'static str {
    match what {
        LeftOutKind::Melody(_) => "melody",
        LeftOutKind::Bass => "bass",
        LeftOutKind::Root => "root",
    }
}

fn why(left: &LeftOut) -> String {
    let direction = |by: i16| if by > 0 { "up" } else { "down" };
    let plural = |by: i16, one: &str| if by.abs() == 1 { one.to_owned() } else { format!("{one}s") };
    match left.why {
        Why::BeyondNeck(Remedy::Octaves(by)) => {
            let (count, octaves) = (by.abs(), plural(by, "octave"));
            format!("it is off the neck; {count} {octaves} {} it does not", direction(by))
        }
        Why::BeyondNeck(Remedy::Key(by)) => {
            let (count, semitones) = (by.abs(), plural(by, "semitone"));
            format!("it is off the neck; {count} {semitones} {} it does not", direction(by))
        }
        Why::BeyondNeck(Remedy::NoCapo) => "it is off the neck; try it without the capo".to_owned(),
        Why::BeyondNeck(Remedy::OtherTuning) => "it is off the neck in every key; try another tuning".to_owned(),
        Why::NothingBelow => "there is no such note on the thumb's strings below the melody".to_owned(),
        Why::OutOfReach => "the hand is busy with the melody".to_owned(),
        Why::Wanted => "as you chose".to_owned(),
    }
}

fn which_tuning(
    wanted: &ArrangeArgs,
    instrument: &Instrument,
    on: &Tuning,
    tune: &Tune,
    wishes: &Wishes,
) -> Result<String, Failure> {
    let catalog = Catalog::bundled();
    let strung = Strung::new(instrument, catalog.strings_of(instrument)).map_err(Failure::input)?;
    let now: Vec<CourseState> = on.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
    let effort = |tuning: &Tuning| Effort::between(&strung, &now, tuning, ReferencePitch::default());
    let mut tunings: Vec<(&CatalogTuning, Effort)> = catalog
        .tunings_for(instrument)
        .into_iter()
        .filter_map(|tuning| effort(tuning.tuning()).map(|effort| (tuning, effort)))
        .collect();
    tunings.sort_by(|one, other| one.1.weight.total_cmp(&other.1.weight));
    let candidates: Vec<TuningCandidate<'_>> = tunings
        .iter()
        .map(|(tuning, effort)| TuningCandidate { tuning: tuning.tuning(), effort: effort.weight })
        .collect();
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let mut fits: Vec<TuningFit> = Vec::new();
    let mut keep = |fit| {
        fits.push(fit);
        ControlFlow::Continue(())
    };
    try_tunings(tune, instrument, &candidates, wishes, threads, &|| false, &mut keep).map_err(Failure::input)?;
    fits.sort_by(|one, other| one.weight.total_cmp(&other.weight).then(one.index.cmp(&other.index)));
    if wanted.common.json {
        let rows = fits.iter().map(|fit| {
            let (tuning, effort) = &tunings[fit.index];
            FitJson {
                tuning: TuningJson::new(instrument, tuning.tuning()),
                weight: rounded(fit.weight, 3),
                points_a_bar: rounded(fit.points_a_bar, 3),
                effort: rounded(fit.effort, 2),
                strings_to_turn: effort.courses,
                transpose: fit.transpose.get(),
                capo: fit.capo.get(),
                notes_left_out: fit.notes_left_out,
                beats_left_out: fit.beats_left_out,
                reasons: fit.reasons.iter().map(|reason| reason_words(*reason)).collect(),
            }
        });
        return json(&rows.collect::<Vec<_>>());
    }
    let mut text = String::new();
    for fit in &fits {
        let (tuning, effort) = &tunings[fit.index];
        let reasons: Vec<String> = fit.reasons.iter().map(|reason| reason_words(*reason)).collect();
        let turn = match effort.courses {
            0 => "nothing to turn".to_owned(),
            1 => "1 string to turn".to_owned(),
            count => format!("{count} strings to turn"),
        };
        let written = notes(tuning.spelled());
        let _ = writeln!(text, "{:<28} {written:<24} {turn}; {}", tuning.name(), reasons.join(", "));
    }
    Ok(text)
}

fn reason_words(reason: FitReason) -> String {
    match reason {
        FitReason::NotesLeftOut(1) => "1 melody note is off the neck".to_owned(),
        FitReason::NotesLeftOut(count) => format!("{count} melody notes are off the neck"),
        FitReason::BeatsLeftOut(1) => "1 beat without a bass".to_owned(),
        FitReason::BeatsLeftOut(count) => format!("{count} beats without a bass"),
        FitReason::NothingLeftOut => "nothing left out".to_owned(),
        FitReason::OpenNotes(share) => format!("{share} % open strings"),
        FitReason::RootsMissing(1) => "1 root missing".to_owned(),
        FitReason::RootsMissing(count) => format!("{count} roots missing"),
        FitReason::HandStays => "the hand stays".to_owned(),
        FitReason::HandMoves(1) => "the hand moves once in ten bars".to_owned(),
        FitReason::HandMoves(count) => format!("the hand moves {count} times in ten bars"),
        FitReason::Capo(fret) => format!("capo at fret {fret}"),
        FitReason::IsOn => "it is on".to_owned(),
    }
}
