//! What can be asked on the command line.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use serde::Serialize;

use crate::instrument::{
    Bridge, Catalog, CourseIndex, Fret, Fretboard, Gauge, Instrument, KnownString, StringSet, Stringing, Tuning,
};
use crate::shapes::Style;
use crate::theory::ReferencePitch;

use super::{Failure, near};

/// From one tuning of a fretted instrument to the next, and around the neck once it is there.
#[derive(Debug, Parser)]
#[command(name = "pegwise", version, about, after_help = "Without a command the app's window opens.")]
pub(super) struct Args {
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// List the tunings of an instrument.
    Tunings(TuningsArgs),
    /// Plan the way from one tuning to another, string by string.
    Retune(RetuneArgs),
    /// Show the chords of a key in a tuning, each with its best shape.
    Key(KeyArgs),
    /// Show the shapes of a chord in a tuning.
    Shapes(ShapesArgs),
    /// Name what a list of frets sounds in a tuning.
    Name(NameArgs),
    /// Say which string is heard in a WAV file, and how far off it is.
    Listen(ListenArgs),
    /// Sound a pitch, a shape or the open strings into a WAV file.
    Sound(SoundArgs),
    /// Work a tune out in a tuning: the melody on the upper strings, the thumb below.
    Arrange(ArrangeArgs),
    /// Set a page to hand out, as PDF, SVG, PNG, `MusicXML` or text.
    #[command(subcommand)]
    Sheet(super::sheets::SheetArgs),
    /// Write down in ABC what is plucked in a WAV file, after a count-in at a tempo.
    WriteDown(WriteDownArgs),
    #[cfg(feature = "ui-tests")]
    /// Draw every screen into PNG files, without a display.
    Screens(ScreensArgs),
}

/// The instrument, and how to answer.
#[derive(Debug, ClapArgs)]
pub(super) struct Common {
    /// The instrument's id, such as guitar or five-string-banjo.
    #[arg(long, default_value = "guitar")]
    pub(super) instrument: String,
    /// Answer in JSON.
    #[arg(long)]
    pub(super) json: bool,
}

impl Common {
    pub(super) fn instrument(&self) -> Result<&'static Instrument, Failure> {
        let catalog = Catalog::bundled();
        let wanted = self.instrument.trim().to_lowercase();
        let known = catalog.instruments();
        let exact = known.iter().find(|known| known.id() == wanted || known.name().to_lowercase() == wanted);
        if let Some(found) = exact {
            return Ok(found);
        }
        match near::instruments(&wanted).as_slice() {
            [only] => Ok(*only),
            [] => Err(Failure::Input(format!(
                "there is no instrument \"{}\", nor one whose name is close to it",
                self.instrument
            ))),
            several => {
                let ids: Vec<&str> = several.iter().map(|near| near.id()).collect();
                let sentence =
                    format!("there are several for \"{}\"; choose one of: {}", self.instrument, ids.join(", "));
                Err(Failure::Input(sentence))
            }
        }
    }

    /// Understands a tuning by name or notes; the instrument's usual one where none is given.
    pub(super) fn tuning(&self, text: Option<&str>) -> Result<Tuning, Failure> {
        let catalog = Catalog::bundled();
        let instrument = self.instrument()?;
        text.map_or_else(
            || Ok(catalog.standard_of(instrument).tuning().clone()),
            |text| catalog.resolve_tuning(instrument, text).map_err(Failure::input),
        )
    }
}

/// A neck in a tuning.
#[derive(Debug, ClapArgs)]
pub(super) struct OnNeck {
    #[command(flatten)]
    pub(super) common: Common,
    /// The tuning, by name or by its notes from the thickest string to the thinnest; the usual one unless given.
    #[arg(long)]
    pub(super) tuning: Option<String>,
    /// The fret the capo sits at.
    #[arg(long, default_value_t = 0)]
    pub(super) capo: u8,
    /// The scale length in millimetres, where it is not the instrument's usual one.
    #[arg(long)]
    pub(super) scale: Option<f64>,
}

impl OnNeck {
    pub(super) fn board(&self) -> Result<Fretboard<'static>, Failure> {
        let tuning = self.common.tuning(self.tuning.as_deref())?;
        let board = Fretboard::new(self.common.instrument()?, &tuning, Fret::new(self.capo)).map_err(Failure::input)?;
        Ok(board.over_mm(checked_scale(self.scale)?))
    }
}

/// How the strings are sounded.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub(super) enum Play {
    /// One stroke across the strings.
    Strummed,
    /// String by string.
    #[default]
    Picked,
}

impl From<Play> for Style {
    fn from(play: Play) -> Self {
        match play {
            Play::Strummed => Self::Strummed,
            Play::Picked => Self::Picked,
        }
    }
}

/// How the strings' load is carried.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum BridgeKind {
    /// It does not move.
    Fixed,
    /// It rests on springs or on a skin.
    Floating,
}

/// What the strings are tempered for.
#[derive(Clone, Copy, Debug, Default, Serialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Temperament {
    /// Every fret and key alike.
    #[default]
    Equal,
    /// The open strings sound a pure chord, where they are one.
    OpenChord,
    /// The compromise for the first shapes of the chords of the key.
    KeyShapes,
}

#[derive(Debug, ClapArgs)]
pub(super) struct TuningsArgs {
    #[command(flatten)]
    pub(super) common: Common,
    /// Only those that answer to this name or these notes.
    #[arg(long)]
    pub(super) search: Option<String>,
}

#[derive(Debug, ClapArgs)]
pub(super) struct RetuneArgs {
    #[command(flatten)]
    pub(super) common: Common,
    /// The tuning to go to, by name or by its notes from the thickest string to the thinnest.
    #[arg(long)]
    pub(super) to: String,
    /// The tuning it is in; the instrument's usual one unless given.
    #[arg(long)]
    pub(super) from: Option<String>,
    /// Strings whose pitch is not known, by number: "6 1", or "all".
    #[arg(long)]
    pub(super) unknown: Option<String>,
    /// The id of the string set that is on; unless given, the one its tuning is played on.
    #[arg(long)]
    pub(super) strings: Option<String>,
    /// Another string that is on, by number, in thousandths of an inch or millimetres, w for wound: "3=18", "4=0.91mmw",
    /// "6=30w+15" for a pair, "4=?" when it is not known. May be given more than once.
    #[arg(long)]
    pub(super) string: Vec<String>,
    /// The scale length in millimetres, where it is not the instrument's usual one.
    #[arg(long)]
    pub(super) scale: Option<f64>,
    /// The frequency of A4 in hertz, 390 to 470.
    #[arg(long, default_value_t = ReferencePitch::CONCERT_A_HZ)]
    pub(super) reference: f64,
    /// The bridge, where it is not the instrument's usual one.
    #[arg(long)]
    pub(super) bridge: Option<BridgeKind>,
    /// What the strings are tempered for.
    #[arg(long, value_enum, default_value_t)]
    pub(super) temperament: Temperament,
    /// The key for `key-shapes`; unless given, that of the chord the open strings sound, else G.
    #[arg(long)]
    pub(super) key: Option<String>,
    /// The fret a capo sits at now.
    #[arg(long, default_value_t = 0)]
    pub(super) capo: u8,
}

impl RetuneArgs {
    pub(super) fn a4(&self) -> Result<ReferencePitch, Failure> {
        read_a4(self.reference)
    }

    /// Returns the strings that are on, and the courses of which that was said.
    pub(super) fn strings(&self, from: &Tuning) -> Result<(Stringing, Vec<CourseIndex>), Failure> {
        let catalog = Catalog::bundled();
        let instrument = self.common.instrument()?;
        let courses = instrument.courses().len();
        let mut said: Vec<CourseIndex> = Vec::new();
        let set = match &self.strings {
            None => catalog.strings_for(instrument, from).unwrap_or_else(|| catalog.strings_of(instrument)),
            Some(wanted) => {
                said.extend((0..courses).map(CourseIndex::from_lowest));
                let sets = catalog.string_sets_of(instrument);
                let ids: Vec<&str> = sets.clone().map(StringSet::id).collect();
                sets.clone().find(|set| set.id() == wanted).ok_or_else(|| {
                    let known = ids.join(", ");
                    Failure::Input(format!("there is no string set \"{wanted}\" for it; expected one of: {known}"))
                })?
            }
        };
        let mut on = set.strings().clone();
        for text in &self.string {
            let expected = || Failure::Input(format!("expected a string like 3=18 or 4=36w, found \"{text}\""));
            let (number, gauges) = text.split_once('=').ok_or_else(expected)?;
            let number = number.trim().parse().ok().and_then(|number| CourseIndex::from_player_number(number, courses));
            let course = number.ok_or_else(expected)?;
            said.push(course);
            if gauges.trim() == "?" {
                on = on.with_unknown(course);
                continue;
            }
            for (string, gauge) in gauges.split('+').enumerate() {
                let gauge = Gauge::read(gauge).ok_or_else(expected)?;
                on = on.with_string(course, string, KnownString { gauge, material: set.material() });
            }
        }
        Ok((on.with_scale_mm(checked_scale(self.scale)?), said))
    }

    pub(super) fn bridge(&self) -> Result<Bridge, Failure> {
        Ok(match self.bridge {
            Some(BridgeKind::Fixed) => Bridge::Fixed,
            Some(BridgeKind::Floating) => Bridge::Floating,
            None => self.common.instrument()?.bridge(),
        })
    }

    /// Returns the player numbers of the strings whose pitch is not known.
    pub(super) fn unknown(&self, courses: usize) -> Result<Vec<u8>, Failure> {
        let Some(text) = &self.unknown else { return Ok(Vec::new()) };
        let all = u8::try_from(courses).unwrap_or(u8::MAX);
        if text.trim().eq_ignore_ascii_case("all") {
            return Ok((1..=all).collect());
        }
        let words = text.split(|mark: char| mark.is_whitespace() || mark == ',').filter(|word| !word.is_empty());
        words
            .map(|word| {
                let number = word.parse::<u8>().ok().filter(|number| (1..=all).contains(number));
                number.ok_or_else(|| Failure::Input(format!("expected a string from 1 to {all}, found \"{word}\"")))
            })
            .collect()
    }
}

#[derive(Debug, ClapArgs)]
pub(super) struct KeyArgs {
    #[command(flatten)]
    pub(super) on: OnNeck,
    /// The key: "G", "Am", "D dorian".
    #[arg(long)]
    pub(super) key: String,
    /// A progression to play with as little movement as can be: "G C G D".
    #[arg(long)]
    pub(super) progression: Option<String>,
    /// How the strings are sounded.
    #[arg(long, value_enum, default_value_t)]
    pub(super) style: Play,
}

#[derive(Debug, ClapArgs)]
pub(super) struct ShapesArgs {
    #[command(flatten)]
    pub(super) on: OnNeck,
    /// The chord: "C7", "F#m7b5", "C/G".
    #[arg(long)]
    pub(super) chord: String,
    /// The key whose notes are told as in reach; the chord's own unless given.
    #[arg(long)]
    pub(super) key: Option<String>,
    /// How many shapes, best first.
    #[arg(long, default_value_t = 12, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..))]
    pub(super) limit: usize,
    /// Every shape the hand can hold.
    #[arg(long, conflicts_with = "limit")]
    pub(super) all: bool,
    /// How the strings are sounded.
    #[arg(long, value_enum, default_value_t)]
    pub(super) style: Play,
}

#[derive(Debug, ClapArgs)]
pub(super) struct NameArgs {
    #[command(flatten)]
    pub(super) on: OnNeck,
    /// What each string does, from the thickest: "x 3 2 0 1 0" or "x32010".
    #[arg(long)]
    pub(super) frets: String,
    /// The key, which decides how notes are spelled.
    #[arg(long)]
    pub(super) key: Option<String>,
}

#[cfg(feature = "ui-tests")]
#[derive(Debug, ClapArgs)]
pub(super) struct ScreensArgs {
    /// The folder to draw into.
    pub(super) folder: PathBuf,
    /// Only these screens, by the names in sheets.txt.
    pub(super) only: Vec<String>,
}

/// What the thumb does under a tune.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub(super) enum Thumb {
    /// A bass note on every beat, root and another in turn.
    #[default]
    Alternating,
    /// The root on every beat.
    Steady,
    /// A bass note where a chord begins.
    Changes,
    /// None.
    Melody,
}

/// How much sounds besides melody and thumb.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub(super) enum Full {
    /// Nothing.
    #[default]
    Plain,
    /// Another note of the chord together with the melody where a chord begins.
    Pinches,
    /// Notes of the chord on the off-beats besides.
    Inner,
}

/// Which of two ways to play a tune is the better.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub(super) enum Better {
    /// The smoother as a whole.
    #[default]
    Smooth,
    /// The one whose hardest place is easier.
    EvenlyEasy,
}

#[derive(Debug, ClapArgs)]
pub(super) struct ArrangeArgs {
    /// The tune: ABC or MusicXML, plain or packed.
    pub(super) file: PathBuf,
    #[command(flatten)]
    pub(super) common: Common,
    /// The tuning, by name or by its notes from the thickest string to the thinnest; the usual one unless given.
    #[arg(long)]
    pub(super) tuning: Option<String>,
    /// Move the tune by so many semitones, octaves included; chosen unless given.
    #[arg(long, allow_negative_numbers = true, value_parser = clap::value_parser!(i16).range(-48..=48))]
    pub(super) transpose: Option<i16>,
    /// The fret the capo sits at; chosen unless given.
    #[arg(long)]
    pub(super) capo: Option<u8>,
    /// The scale length in millimetres, where it is not the instrument's usual one.
    #[arg(long)]
    pub(super) scale: Option<f64>,
    /// What the thumb does.
    #[arg(long, value_enum, default_value_t)]
    pub(super) style: Thumb,
    /// How much sounds besides melody and thumb.
    #[arg(long, value_enum, default_value_t)]
    pub(super) fullness: Full,
    /// Which of two ways to play is the better.
    #[arg(long, value_enum, default_value_t)]
    pub(super) better: Better,
    /// The tune's number in its file (`X:`); the first unless given.
    #[arg(long)]
    pub(super) number: Option<u32>,
    /// Say in which tuning the tune lies best, from the tuning given.
    #[arg(long)]
    pub(super) which_tuning: bool,
    /// Sound it into a WAV file: 16 bits, 48 kHz. Mind your ears: turn the volume down before you play it.
    #[arg(long, conflicts_with = "which_tuning")]
    pub(super) sound: Option<PathBuf>,
    /// How fast it sounds, in percent of its tempo, 30 to 150.
    #[arg(long, default_value_t = 100, value_parser = clap::value_parser!(u16).range(30..=150))]
    pub(super) speed: u16,
}

#[derive(Debug, ClapArgs)]
pub(super) struct WriteDownArgs {
    /// The recording: WAV, 8 to 32 bits, 8 to 192 kHz; one note at a time.
    pub(super) file: PathBuf,
    /// How fast it is played, in quarters a minute.
    #[arg(long, value_parser = clap::value_parser!(u16).range(20..=400))]
    pub(super) tempo: u16,
    /// When the first bar begins, in seconds.
    #[arg(long, default_value_t = 0.0)]
    pub(super) start: f64,
    /// The metre, such as 3/4.
    #[arg(long, default_value = "4/4")]
    pub(super) metre: String,
    /// How many parts of a quarter are told apart, 1 to 12: 2 for eighths, 3 for triplets.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(i64).range(1..=12))]
    pub(super) parts: i64,
    /// The key, which decides how notes are spelled.
    #[arg(long)]
    pub(super) key: Option<String>,
    /// The frequency of A4 in hertz, 390 to 470.
    #[arg(long, default_value_t = ReferencePitch::CONCERT_A_HZ)]
    pub(super) reference: f64,
}

impl WriteDownArgs {
    pub(super) fn a4(&self) -> Result<ReferencePitch, Failure> {
        read_a4(self.reference)
    }
}

#[derive(Debug, ClapArgs)]
pub(super) struct ListenArgs {
    /// The recording: WAV, 8 to 32 bits, 8 to 192 kHz.
    pub(super) file: PathBuf,
    #[command(flatten)]
    pub(super) on: OnNeck,
    /// The frequency of A4 in hertz, 390 to 470.
    #[arg(long, default_value_t = ReferencePitch::CONCERT_A_HZ)]
    pub(super) reference: f64,
}

impl ListenArgs {
    pub(super) fn a4(&self) -> Result<ReferencePitch, Failure> {
        read_a4(self.reference)
    }
}

#[derive(Debug, ClapArgs)]
pub(super) struct SoundArgs {
    /// The file to write: WAV, 16 bits, 48 kHz. Mind your ears: turn the volume down before you play it.
    pub(super) file: PathBuf,
    #[command(flatten)]
    pub(super) on: OnNeck,
    /// One pitch with its octave, such as E2, instead of strings.
    #[arg(long)]
    pub(super) pitch: Option<String>,
    /// A shape, such as "x 3 2 0 1 0"; the open strings unless given.
    #[arg(long, conflicts_with = "pitch")]
    pub(super) frets: Option<String>,
    /// How far off everything sounds, in cents, -2400 to 2400.
    #[arg(long, default_value_t = 0.0, allow_negative_numbers = true)]
    pub(super) cents: f64,
    /// How long it rings, 0.1 to 60 seconds.
    #[arg(long, default_value_t = 3.0)]
    pub(super) seconds: f64,
    /// The frequency of A4 in hertz, 390 to 470.
    #[arg(long, default_value_t = ReferencePitch::CONCERT_A_HZ)]
    pub(super) reference: f64,
}

impl SoundArgs {
    pub(super) fn a4(&self) -> Result<ReferencePitch, Failure> {
        read_a4(self.reference)
    }
}

/// Refuses a scale length that no instrument has.
pub(super) fn checked_scale(scale_mm: Option<f64>) -> Result<Option<f64>, Failure> {
    let Some(mm) = scale_mm.filter(|mm| !Stringing::SCALES_MM.contains(mm)) else { return Ok(scale_mm) };
    let (least, most) = (Stringing::SCALES_MM.start(), Stringing::SCALES_MM.end());
    Err(Failure::Input(format!("expected a scale from {least} to {most} mm, found {mm}")))
}

/// Understands the frequency of A4.
fn read_a4(hertz: f64) -> Result<ReferencePitch, Failure> {
    let expected = || Failure::Input(format!("expected A4 from 390 to 470 Hz, found {hertz}"));
    ReferencePitch::new(hertz).ok_or_else(expected)
}
