//! `pegwise listen` and `pegwise sound`: what the ears hear and the strings sound, through files.

use std::fmt::Write;
use std::fs::File;
use std::io::{BufReader, BufWriter};

use serde::Serialize;

use crate::app::string_make;
use crate::instrument::CourseIndex;
use crate::shapes::Shape;
use crate::sound::{Listening, SampleRate, Strike, Tone, nearest_string, read_wav, render, strum, track, write_wav};
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
    let recording = read_wav(BufReader::new(file)).map_err(Failure::input)?;
    let a4 = wanted.a4()?;
    let tuning = wanted.on.common.tuning(wanted.on.tuning.as_deref())?;
    let strings: Vec<(Pitch, Hertz)> = tuning.pitches().iter().map(|&pitch| (pitch, a4.frequency(pitch))).collect();
    let targets: Vec<Hertz> = strings.iter().map(|(_, hertz)| *hertz).collect();
    let readings = track(&recording, Listening::default());
    let heard: Vec<HeardJson> = readings
        .iter()
        .filter_map(|reading| {
            let heard = reading.heard?;
            let index = nearest_string(&targets, heard.frequency)?;
            let (pitch, hertz) = *strings.get(index)?;
            Some(HeardJson {
                at_s: rounded(reading.at_s, 3),
                level_db: rounded(reading.level_db, 1),
                hertz: rounded(heard.frequency.get(), 3),
                nearest: SpelledPitch::by_choice(pitch, SpellingChoice::Customary).ascii(),
                cents: rounded(heard.off_target(hertz).get(), 2),
                confidence: rounded(heard.confidence, 3),
                inharmonicity: heard.inharmonicity,
            })
        })
        .collect();
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

/// How far apart the strings of a strum start, in seconds in all.
const STRUM_S: f64 = 0.12;
/// A level that leaves room for all strings together.
const LEVEL: f64 = 0.5;

pub(super) fn sound(wanted: &SoundArgs) -> Result<String, Failure> {
    let board = wanted.on.board()?;
    let a4 = wanted.a4()?;
    let by = Cents::new(wanted.cents);
    let strikes = match (&wanted.pitch, &wanted.frets) {
        (Some(text), _) => {
            let pitch = SpelledPitch::read(text).map_err(Failure::input)?.pitch();
            let frequency = a4.frequency(pitch).shifted(by);
            vec![Strike { at_s: 0.0, frequency, tone: Tone::default(), level: LEVEL, course: 1, stop_at_s: None }]
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
                Some(Strike { at_s: 0.0, frequency, tone, level: LEVEL, course, stop_at_s: None })
            });
            strum(&plucked.collect::<Vec<_>>(), 0.0, STRUM_S)
        }
    };
    let samples = render(SampleRate::COMMON, &strikes, wanted.seconds.clamp(0.1, 60.0));
    let place = wanted.file.display();
    let file = File::create(&wanted.file).map_err(|fault| Failure::Machine(format!("{place}: {fault}")))?;
    write_wav(BufWriter::new(file), SampleRate::COMMON, &samples)
        .map_err(|fault| Failure::Machine(fault.to_string()))?;
    Ok(format!("{} strings in {place}\n", strikes.len()))
}
