//! `pegwise listen` and `pegwise sound`: what the ears hear and the strings sound, through files.

use std::fmt::Write;
use std::fs::File;
use std::io::{BufReader, BufWriter};

use serde::Serialize;

use crate::app::string_make;
use crate::instrument::CourseIndex;
use crate::shapes::Shape;
use crate::sound::{
    Listening, Pluck, ReadWavError, Reading, SampleRate, Strike, Tone, Tracker, WavPieces, render, strum, write_wav,
};
use crate::theory::{Cents, Hertz, Pitch, SpelledPitch, SpellingChoice};

use super::args::{ListenArgs, SoundArgs};
use super::written::rounded;
use super::{Failure, json};

#[derive(Serialize)]
struct HeardJson {
    at_s: f64,
    level_db: f64,
    hertz: f64,
    nearest: String,
    cents: f64,
    confidence: f64,
    inharmonicity: f64,
}

pub(super) fn listen(wanted: &ListenArgs) -> Result<String, Failure> {
    let file =
        File::open(&wanted.file).map_err(|fault| Failure::Input(format!("{}: {fault}", wanted.file.display())))?;
    let a4 = wanted.a4()?;
    let tuning = wanted.on.common.tuning(wanted.on.tuning.as_deref())?;
    let strings: Vec<(Pitch, Hertz)> = tuning.pitches().iter().map(|&pitch| (pitch, a4.frequency(pitch))).collect();
    let mut pieces = WavPieces::open(BufReader::new(file)).map_err(Failure::input)?;
    let mut tracker = Tracker::new(pieces.rate(), Listening::default());
    let (mut samples, mut readings, mut heard) = (Vec::new(), Vec::new(), Vec::new());
    let mut is_empty = true;
    while pieces.read(&mut samples).map_err(Failure::input)? {
        is_empty = false;
        tracker.push(&samples, &mut readings);
        samples.clear();
        heard.extend(readings.drain(..).filter_map(|reading| told(&reading, &strings)));
    }
    if is_empty {
        return Err(Failure::input(ReadWavError::Empty));
    }
    if wanted.on.common.json {
        return json(&heard);
    }
    let mut text = String::new();
    for reading in &heard {
        let _ = writeln!(
            text,
            "{:>7.3} s  {:>9.3} Hz  {:<4} {:>+8.2} cents",
            reading.at_s, reading.hertz, reading.nearest, reading.cents
        );
    }
    if heard.is_empty() {
        text += "No string is heard in it.\n";
    }
    Ok(text)
}

/// What a reading tells, by the string of the tuning that is nearest, however far.
fn told(reading: &Reading, strings: &[(Pitch, Hertz)]) -> Option<HeardJson> {
    let heard = reading.heard?;
    let off = |hertz: Hertz| heard.off_target(hertz);
    let (pitch, hertz) =
        strings.iter().copied().min_by(|one, other| off(one.1).abs().get().total_cmp(&off(other.1).abs().get()))?;
    Some(HeardJson {
        at_s: rounded(reading.at_s, 3),
        level_db: rounded(reading.level_db, 1),
        hertz: rounded(heard.frequency.get(), 3),
        nearest: SpelledPitch::by_choice(pitch, SpellingChoice::Customary).ascii(),
        cents: rounded(off(hertz).get(), 2),
        confidence: rounded(heard.confidence, 3),
        inharmonicity: heard.inharmonicity,
    })
}

#[derive(Serialize)]
struct SoundedJson {
    file: String,
    seconds: f64,
    hertz: Vec<f64>,
}

/// How far apart the strings of a strum start, in seconds in all.
const STRUM_S: f64 = 0.12;
/// What `--cents` takes: two octaves down and up.
const MOST_CENTS: (f64, f64) = (-2400.0, 2400.0);
/// What `--seconds` takes.
const SECONDS: (f64, f64) = (0.1, 60.0);
/// A level that leaves room for all strings together.
const LEVEL: f64 = 0.5;

pub(super) fn sound(wanted: &SoundArgs) -> Result<String, Failure> {
    let board = wanted.on.board()?;
    let a4 = wanted.a4()?;
    let by = Cents::new(within("--cents", wanted.cents, MOST_CENTS.0, MOST_CENTS.1)?);
    let seconds = within("--seconds", wanted.seconds, SECONDS.0, SECONDS.1)?;
    let strikes = match (&wanted.pitch, &wanted.frets) {
        (Some(text), _) => {
            let pitch = SpelledPitch::read(text).map_err(Failure::input)?.pitch();
            let frequency = a4.frequency(pitch).shifted(by);
            vec![Strike { level: LEVEL, ..Strike::new(frequency, Tone::default(), 1) }]
        }
        (None, frets) => {
            let open = || Shape::new(vec![Some(crate::instrument::Fret::OPEN); board.courses()]);
            let shape = frets.as_ref().map_or_else(|| Ok(open()), |text| super::harmony::read_shape(text, &board))?;
            let strings = crate::instrument::Catalog::bundled().strings_of(board.instrument());
            let sounding = shape.pitches(&board).into_iter().enumerate();
            let plucked = sounding.filter_map(|(index, pitch)| {
                let gauge = *strings.gauges().get(index)?.first()?;
                let frequency = a4.frequency(pitch?).shifted(by);
                let scale = board.instrument().scale_mm();
                let tone =
                    Tone::of_string(string_make(gauge, strings.material()), gauge.diameter_mm(), frequency, scale);
                let course = CourseIndex::from_lowest(index).player_number(board.courses());
                Some(Strike { level: LEVEL, ..Strike::new(frequency, tone, course) })
            });
            strum(&plucked.collect::<Vec<_>>(), 0.0, STRUM_S)
        }
    };
    // A string that cannot be sounded would be a silent one.
    for strike in &strikes {
        if Pluck::new(SampleRate::COMMON, strike.frequency, strike.tone, strike.level).is_none() {
            let hertz = rounded(strike.frequency.get(), 1);
            return Err(Failure::Input(format!("{hertz} Hz cannot be sounded, only 25 to 2500 Hz")));
        }
    }
    let samples = render(SampleRate::COMMON, &strikes, seconds);
    let place = wanted.file.display();
    let file = File::create(&wanted.file).map_err(|fault| Failure::Machine(format!("{place}: {fault}")))?;
    write_wav(BufWriter::new(file), SampleRate::COMMON, &samples)
        .map_err(|fault| Failure::Machine(fault.to_string()))?;
    if wanted.on.common.json {
        let hertz = strikes.iter().map(|strike| rounded(strike.frequency.get(), 3)).collect();
        return json(&SoundedJson { file: place.to_string(), seconds, hertz });
    }
    let strings = if strikes.len() == 1 { "string" } else { "strings" };
    Ok(format!("{} {strings} in {place}\n", strikes.len()))
}

/// Lets a number pass that lies within what an option takes.
fn within(option: &str, value: f64, least: f64, most: f64) -> Result<f64, Failure> {
    let refused = || Failure::Input(format!("expected {option} from {least} to {most}, found {value}"));
    (least..=most).contains(&value).then_some(value).ok_or_else(refused)
}
