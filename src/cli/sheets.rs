//! `pegwise sheet`: something to hand out, as a file.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

use crate::arrange::{Wishes, arrange};
use crate::instrument::{Catalog, Fret, Fretboard, Instrument, Language, StringSet, Tuning, strings_asked};
use crate::shapes::{RankedShape, ShapeSearch, Style};
use crate::sheet::{
    Document, FromTuning, KeySheet, Paper, SetListSheet, SetSong, ShapeSheet, Sheet, SheetOptions, SongSheet,
    TuneSheet, TuningSheet, key_sheet, set_list_sheet, shape_picture, shape_sheet, song_chords_sheet, song_sheet,
    tune_sheet, tuning_sheet,
};
use crate::songs::Song;
use crate::store::write_whole;
use crate::theory::{Chord, Key, KeyChord, Naming, Semitones, SpelledPitch};

use super::Failure;
use super::args::{Common, OnNeck, Play};
use super::harmony::read_shape;
use super::written::spelled;

/// What is handed out.
#[derive(Debug, Subcommand)]
pub(super) enum SheetArgs {
    /// A tuning: its strings, the way there by ear, the pull, cautions.
    Tuning(TuningArgs),
    /// One shape, large.
    Shape(ShapeArgs),
    /// The chords of a key, each with a shape.
    Key(KeyArgs),
    /// A song: its shapes, then the chart with its words.
    Song(SongArgs),
    /// A tune in ABC or `MusicXML`, worked out in a tuning: notes and tab, the thumb and the fingers.
    Tune(TuneArgs),
    /// A set list: the order, each song's tuning and capo, and what is turned between.
    Set(SetArgs),
}

/// Where it goes, and how it looks.
#[derive(Debug, ClapArgs)]
struct OnPaper {
    /// The file to write: its ending, pdf, svg, png, musicxml or txt, says what kind. Further pages of svg and png get a
    /// number.
    #[arg(long)]
    to: PathBuf,
    /// The paper; the usual one of the system's region unless given.
    #[arg(long)]
    paper: Option<PaperKind>,
    /// Large print.
    #[arg(long)]
    large: bool,
    /// Mirrored for a left-handed player.
    #[arg(long)]
    left_handed: bool,
    /// The language of the words: en, de, es, fr or pt.
    #[arg(long, default_value = "en")]
    language: String,
    /// How notes are called.
    #[arg(long, value_enum, default_value_t)]
    names: NoteNames,
    /// Dots an inch of a png, 10 to 1200.
    #[arg(long, default_value_t = 300, value_parser = clap::value_parser!(u16).range(10..=1200))]
    dpi: u16,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperKind {
    A4,
    Letter,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum NoteNames {
    /// C D E F G A B.
    #[default]
    English,
    /// B natural is H, B flat is B.
    German,
    /// Do re mi.
    Solfege,
}

#[derive(Debug, ClapArgs)]
pub(super) struct TuningArgs {
    #[command(flatten)]
    common: Common,
    /// The tuning, by name or by its notes from the thickest string to the thinnest.
    #[arg(long)]
    tuning: String,
    /// The tuning it is in; the instrument's usual one unless given.
    #[arg(long)]
    from: Option<String>,
    /// The fret the capo goes to in the end.
    #[arg(long, default_value_t = 0)]
    capo: u8,
    /// The string set's id; the instrument's usual one unless given.
    #[arg(long)]
    strings: Option<String>,
    #[command(flatten)]
    on_paper: OnPaper,
}

#[derive(Debug, ClapArgs)]
pub(super) struct ShapeArgs {
    #[command(flatten)]
    on: OnNeck,
    /// The chord: "C7", "F#m7b5", "C/G".
    #[arg(long)]
    chord: String,
    /// The shape, such as "x 3 2 0 1 0"; the best one unless given.
    #[arg(long)]
    frets: Option<String>,
    /// The key the melody in reach is taken from; the chord's own unless given.
    #[arg(long)]
    key: Option<String>,
    /// How the strings are sounded.
    #[arg(long, value_enum, default_value_t)]
    style: Play,
    /// The picture alone, so many millimetres wide, 20 to 500.
    #[arg(long)]
    picture_mm: Option<f64>,
    #[command(flatten)]
    on_paper: OnPaper,
}

#[derive(Debug, ClapArgs)]
pub(super) struct KeyArgs {
    #[command(flatten)]
    on: OnNeck,
    /// The key: "G", "Am", "D dorian".
    #[arg(long)]
    key: String,
    /// How the strings are sounded.
    #[arg(long, value_enum, default_value_t)]
    style: Play,
    /// Also the chords commonly used with them: borrowed ones, and dominants of other degrees.
    #[arg(long)]
    more: bool,
    #[command(flatten)]
    on_paper: OnPaper,
}

#[derive(Debug, ClapArgs)]
pub(super) struct SongArgs {
    /// The song as text, as the app writes it out.
    file: PathBuf,
    /// Another tuning than the song's, by name or by its notes from the thickest string to the thinnest.
    #[arg(long)]
    tuning: Option<String>,
    /// Its chords alone, without the chart.
    #[arg(long)]
    chords: bool,
    /// How the strings are sounded.
    #[arg(long, value_enum, default_value_t)]
    style: Play,
    #[command(flatten)]
    on_paper: OnPaper,
}

#[derive(Debug, ClapArgs)]
pub(super) struct TuneArgs {
    /// The tune: ABC, or `MusicXML` plain or packed.
    file: PathBuf,
    #[command(flatten)]
    common: Common,
    /// The tuning, by name or by its notes from the thickest string to the thinnest; the usual one unless given.
    #[arg(long)]
    tuning: Option<String>,
    /// The fret the capo sits at; the one that suits unless given.
    #[arg(long)]
    capo: Option<u8>,
    /// By how many semitones the tune is moved; what suits unless given.
    #[arg(long, allow_negative_numbers = true)]
    transpose: Option<i16>,
    /// Which tune of a file with several, by its number.
    #[arg(long)]
    number: Option<u32>,
    #[command(flatten)]
    on_paper: OnPaper,
}

#[derive(Debug, ClapArgs)]
pub(super) struct SetArgs {
    /// The songs as text, in order, or one library file with a set list in it.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// What the set list is called; of a library file, which of its set lists.
    #[arg(long)]
    title: Option<String>,
    #[command(flatten)]
    on_paper: OnPaper,
}

impl OnPaper {
    fn options(&self) -> Result<SheetOptions, Failure> {
        let language = Language::find(&self.language).ok_or_else(|| {
            let known: Vec<&str> = Language::ALL.iter().map(|language| language.code()).collect();
            let known = known.join(", ");
            Failure::Input(format!("there are no words in \"{}\"; expected one of: {known}", self.language))
        })?;
        let paper = match self.paper {
            Some(PaperKind::A4) => Paper::A4,
            Some(PaperKind::Letter) => Paper::Letter,
            None => Paper::of_region(&sys_locale::get_locale().unwrap_or_default()),
        };
        let naming = match self.names {
            NoteNames::English => Naming::English,
            NoteNames::German => Naming::German,
            NoteNames::Solfege => Naming::Solfege,
        };
        let (is_large, is_left_handed) = (self.large, self.left_handed);
        Ok(SheetOptions { paper, is_large, is_left_handed, language, naming, ..SheetOptions::default() })
    }

    /// Writes what is asked for, and says what was written.
    fn write(&self, sheet: &Sheet) -> Result<String, Failure> {
        let ending = self.to.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
        let document = &sheet.document;
        let mut said = String::new();
        let mut tell = |path: &Path| said += &format!("{}\n", path.display());
        match ending.as_str() {
            "pdf" => write_file(&self.to, |to| to.write_all(&document.to_pdf())).map(|()| tell(&self.to))?,
            "txt" => write_file(&self.to, |to| to.write_all(document.to_text().as_bytes())).map(|()| tell(&self.to))?,
            "svg" => self.each_page(document, tell, |page, to| {
                let svg = document.to_svg(page).unwrap_or_default();
                to.write_all(svg.as_bytes())
            })?,
            "png" => self
                .each_page(document, tell, |page, to| document.to_png(page, self.dpi, to).map_err(io::Error::other))?,
            "musicxml" => {
                let no_music = || Failure::input("there is no music on this sheet");
                let xml = sheet.score.as_ref().ok_or_else(no_music)?.to_music_xml();
                write_file(&self.to, |to| to.write_all(xml.as_bytes())).map(|()| tell(&self.to))?;
            }
            other => {
                let sentence = format!("cannot write \"{other}\"; expected pdf, svg, png, musicxml or txt");
                return Err(Failure::Input(sentence));
            }
        }
        let lost: Vec<String> = document.lost_letters().iter().map(|letter| format!("\"{letter}\"")).collect();
        if !lost.is_empty() && ending != "txt" {
            said += &format!("the letters have no {}: printed as a question mark\n", lost.join(" "));
        }
        Ok(said)
    }

    /// Writes each page into a file of its own: the first as asked, the others with a number.
    fn each_page(
        &self,
        document: &Document,
        mut tell: impl FnMut(&Path),
        write: impl Fn(usize, &mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        let name =
            |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default();
        for page in 0..document.pages() {
            let path = if page == 0 {
                self.to.clone()
            } else {
                let (stem, ending) = (name(self.to.file_stem()), name(self.to.extension()));
                self.to.with_file_name(format!("{stem}-{}.{ending}", page + 1))
            };
            write_file(&path, |to| write(page, to))?;
            tell(&path);
        }
        Ok(())
    }
}

fn write_file(path: &Path, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    write_whole(path, write).map_err(|fault| Failure::Machine(format!("{}: {fault}", path.display())))
}

pub(super) fn sheet(wanted: &SheetArgs) -> Result<String, Failure> {
    match wanted {
        SheetArgs::Tuning(wanted) => tuning(wanted),
        SheetArgs::Shape(wanted) => shape(wanted),
        SheetArgs::Key(wanted) => key(wanted),
        SheetArgs::Song(wanted) => song(wanted),
        SheetArgs::Tune(wanted) => tune(wanted),
        SheetArgs::Set(wanted) => set(wanted),
    }
}

fn name_of<'a>(instrument: &Instrument, tuning: &Tuning) -> Option<&'a str> {
    Catalog::bundled().name_of(instrument, tuning).map(crate::instrument::CatalogTuning::name)
}

/// Finds a string set of the instrument; where none is named, the one for the tuning it is in.
fn find_strings(
    instrument: &'static Instrument,
    id: Option<&str>,
    from: &Tuning,
) -> Result<&'static StringSet, Failure> {
    let catalog = Catalog::bundled();
    let Some(id) = id else {
        return Ok(catalog.strings_for(instrument, from).unwrap_or_else(|| catalog.strings_of(instrument)));
    };
    let sets = catalog.string_sets_of(instrument);
    let known: Vec<&str> = sets.clone().map(StringSet::id).collect();
    sets.clone().find(|set| set.id() == id).ok_or_else(|| {
        let known = known.join(", ");
        Failure::Input(format!("there is no string set \"{id}\" for it; expected one of: {known}"))
    })
}

fn tuning(wanted: &TuningArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let instrument = wanted.common.instrument()?;
    let tuning = wanted.common.tuning(Some(&wanted.tuning))?;
    let from = wanted.common.tuning(wanted.from.as_deref())?;
    let (to_spelled, from_spelled) = (spelled(instrument, &tuning), spelled(instrument, &from));
    let capo = Fret::new(wanted.capo);
    Fretboard::new(instrument, &tuning, capo).map_err(Failure::input)?;
    let a4 = crate::theory::ReferencePitch::default();
    let mut set = find_strings(instrument, wanted.strings.as_deref(), &from)?;
    let mut has_way = wanted.from.is_some() || from != tuning;
    // Where other strings have to be put on, nothing leads there by turning pegs: the tuning is shown on the first set
    // that takes it.
    if let Some(asked) = strings_asked(instrument, set.strings(), &from, &tuning, a4) {
        let others =
            asked.sets.first().ok_or_else(|| Failure::input("no string set is listed that takes this tuning"))?;
        set = *others;
        has_way = false;
    }
    let from = FromTuning { tuning: &from, spelled: &from_spelled, name: name_of(instrument, &from) };
    let sheet = tuning_sheet(
        &TuningSheet {
            instrument,
            strings: set.strings(),
            tuning: &tuning,
            spelled: &to_spelled,
            name: name_of(instrument, &tuning),
            from: has_way.then_some(from),
            a4,
            bridge: instrument.bridge(),
            capo,
        },
        &options,
    );
    wanted.on_paper.write(&sheet.map_err(Failure::input)?)
}

fn tuning_of(on: &OnNeck) -> Result<(Tuning, Vec<SpelledPitch>), Failure> {
    let tuning = on.common.tuning(on.tuning.as_deref())?;
    let spelled = spelled(on.common.instrument()?, &tuning);
    Ok((tuning, spelled))
}

fn shape(wanted: &ShapeArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let board = wanted.on.board()?;
    let (tuning, spelled) = tuning_of(&wanted.on)?;
    let chord = Chord::read(&wanted.chord).map_err(Failure::input)?;
    let key = wanted.key.as_deref().map(Key::read).transpose().map_err(Failure::input)?;
    let style = Style::from(wanted.style);
    let search = ShapeSearch { style, limit: 1, ..ShapeSearch::default() };
    let ranked: Option<RankedShape> = match &wanted.frets {
        Some(text) => search.find_shape(&read_shape(text, &board)?, chord, &board),
        None => search.find(chord, &board).shapes.into_iter().next(),
    };
    let none = || Failure::Input(format!("no hand can sound {chord} here that way"));
    let wanted_sheet = ShapeSheet {
        board: &board,
        spelled: &spelled,
        tuning_name: name_of(board.instrument(), &tuning),
        strings: Catalog::bundled().strings_of(board.instrument()).strings(),
        ranked: &ranked.ok_or_else(none)?,
        style,
        key,
    };
    let mut sheet = shape_sheet(&wanted_sheet, &options);
    if let Some(width) = wanted.picture_mm {
        if !(20.0..=500.0).contains(&width) {
            return Err(Failure::Input(format!("expected a width from 20 to 500 mm, found {width}")));
        }
        sheet.document = shape_picture(&wanted_sheet, &options, width);
    }
    wanted.on_paper.write(&sheet)
}

fn key(wanted: &KeyArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let board = wanted.on.board()?;
    let (tuning, spelled) = tuning_of(&wanted.on)?;
    let key = Key::read(&wanted.key).map_err(Failure::input)?;
    let style = Style::from(wanted.style);
    let search = ShapeSearch { style, ..ShapeSearch::best(1) };
    let more = if wanted.more { key.neighbours() } else { Vec::new() };
    let chords = key.triads().into_iter().chain(key.sevenths()).chain(more);
    let chords: Vec<(KeyChord, Option<RankedShape>)> = chords
        .map(|of_key| {
            let best = search.find(of_key.chord, &board).shapes.into_iter().next();
            (of_key, best)
        })
        .collect();
    let sheet = key_sheet(
        &KeySheet {
            board: &board,
            spelled: &spelled,
            tuning_name: name_of(board.instrument(), &tuning),
            strings: Catalog::bundled().strings_of(board.instrument()).strings(),
            key,
            chords: &chords,
            style,
        },
        &options,
    );
    wanted.on_paper.write(&sheet)
}

/// The largest file that is read, in bytes.
const LARGEST_FILE: u64 = 16 * 1024 * 1024;

fn read_file(path: &Path) -> Result<String, Failure> {
    let fault = |fault: &dyn std::fmt::Display| Failure::Input(format!("{}: {fault}", path.display()));
    // One byte more than is read tells that there is too much, also of what never ends.
    let mut text = Vec::new();
    let file = std::fs::File::open(path).map_err(|inner| fault(&inner))?;
    file.take(LARGEST_FILE + 1).read_to_end(&mut text).map_err(|inner| fault(&inner))?;
    if u64::try_from(text.len()).is_ok_and(|size| size > LARGEST_FILE) {
        return Err(fault(&"the file is larger than 16 MB"));
    }
    String::from_utf8(text).map_err(|_| fault(&"it is not text in UTF-8"))
}

fn read_song(path: &Path) -> Result<Song, Failure> {
    Song::read_text(&read_file(path)?).map_err(|fault| Failure::Input(format!("{}: {fault}", path.display())))
}

fn instrument_of(song: &Song) -> Result<&'static Instrument, Failure> {
    let found = Catalog::bundled().find_instrument(&song.instrument_id);
    found.ok_or_else(|| Failure::Input(format!("there is no instrument \"{}\"", song.instrument_id)))
}

fn song(wanted: &SongArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let mut song = read_song(&wanted.file)?;
    let instrument = instrument_of(&song)?;
    if let Some(text) = &wanted.tuning {
        song.tuning.pitches = Catalog::bundled().resolve_tuning(instrument, text).map_err(Failure::input)?;
    }
    let tuning = song.tuning.pitches.clone();
    let board = Fretboard::new(instrument, &tuning, song.capo).map_err(Failure::input)?;
    let chart = song.read_chart();
    let search = ShapeSearch { style: wanted.style.into(), ..ShapeSearch::best(1) };
    let shapes: Vec<(Chord, Option<RankedShape>)> =
        chart.chords().into_iter().map(|(chord, _)| (chord, held_shape(&song, chord, &search, &board))).collect();
    let spelled = spelled(instrument, &tuning);
    let set = if wanted.chords { song_chords_sheet } else { song_sheet };
    let sheet = set(
        &SongSheet {
            song: &song,
            chart: &chart,
            board: &board,
            spelled: &spelled,
            tuning_name: name_of(instrument, &tuning),
            strings: Catalog::bundled().strings_of(instrument).strings(),
            shapes: &shapes,
            style: wanted.style.into(),
        },
        &options,
    );
    wanted.on_paper.write(&sheet)
}

/// The shape the song says, where the hand can hold it; else the best.
fn held_shape(song: &Song, chord: Chord, search: &ShapeSearch, board: &Fretboard<'_>) -> Option<RankedShape> {
    let sounding = song.to_hold(chord).sounding;
    let chosen = song.shape_of(chord).and_then(|shape| search.find_shape(&shape, sounding, board));
    chosen.or_else(|| search.find(sounding, board).shapes.into_iter().next())
}

fn set(wanted: &SetArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let library = match wanted.files.as_slice() {
        [only] if only.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json")) => Some(only),
        _ => None,
    };
    let (title, notes, songs) = match library {
        Some(path) => set_of_library(path, wanted.title.as_deref())?,
        None => {
            let songs: Vec<Song> = wanted.files.iter().map(|path| read_song(path)).collect::<Result<_, _>>()?;
            (wanted.title.clone().unwrap_or_else(|| "Set list".to_owned()), String::new(), songs)
        }
    };
    let songs: Vec<SetSong<'_>> = songs
        .iter()
        .map(|song| SetSong {
            song,
            tuning_name: instrument_of(song).ok().and_then(|found| name_of(found, &song.tuning.pitches)),
            strings: None,
        })
        .collect();
    let a4 = crate::theory::ReferencePitch::default();
    let sheet = set_list_sheet(&SetListSheet { title: &title, notes: &notes, songs: &songs, a4 }, &options);
    wanted.on_paper.write(&sheet)
}

/// The set list of a library file: the one of that title, or the first.
fn set_of_library(path: &Path, title: Option<&str>) -> Result<(String, String, Vec<Song>), Failure> {
    let fault = |inner: &dyn std::fmt::Display| Failure::Input(format!("{}: {inner}", path.display()));
    let library = crate::store::read(read_file(path)?.as_bytes()).map_err(|inner| fault(&inner))?;
    let mut lists = library.set_lists().iter();
    let list = lists.find(|list| title.is_none_or(|title| list.title == title));
    let list = list.ok_or_else(|| fault(&"there is no such set list in it"))?;
    let find = |entry: &crate::songs::SetEntry| library.find_song(entry.song_id).cloned();
    Ok((list.title.clone(), list.notes.clone(), list.entries.iter().filter_map(find).collect()))
}

fn tune(wanted: &TuneArgs) -> Result<String, Failure> {
    let options = wanted.on_paper.options()?;
    let instrument = wanted.common.instrument()?;
    let tuning = wanted.common.tuning(wanted.tuning.as_deref())?;
    let tune = super::arranging::read_tune(&wanted.file, wanted.number)?;
    let played = tune.played().map_err(Failure::input)?;
    let wishes = Wishes {
        transpose: wanted.transpose.map(Semitones::new),
        capo: wanted.capo.map(Fret::new),
        ..Wishes::default()
    };
    let arrangement = arrange(&tune, instrument, &tuning, &wishes, &|| false).map_err(Failure::input)?;
    let spelled = spelled(instrument, &tuning);
    let sheet = tune_sheet(
        &TuneSheet {
            tune: &tune,
            played: &played,
            arrangement: &arrangement,
            instrument,
            tuning: &tuning,
            spelled: &spelled,
            tuning_name: name_of(instrument, &tuning),
        },
        &options,
    );
    let sheet = sheet.ok_or_else(|| Failure::input("the capo does not fit the instrument"))?;
    wanted.on_paper.write(&sheet)
}
