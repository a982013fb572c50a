//! Something to hand out: the sheet of what is open, and the file it goes out as.

use std::io::{self, Write};

use crate::instrument::{Catalog, Fret, Instrument, Tuning};
use crate::retune::PlanError;
use crate::shapes::{RankedShape, ShapeSearch};
use crate::sheet::{
    FromTuning, KeySheet, Paper, SetListSheet, SetSong, ShapeSheet, Sheet, SheetOptions, SongSheet, TuneSheet,
    TuningSheet, key_sheet, set_list_sheet, shape_sheet, song_chords_sheet, song_sheet, tune_sheet, tuning_sheet,
};
use crate::songs::{SetListId, SongId};
use crate::store::file_name;
use crate::theory::{Chord, KeyChord, SpelledPitch};

use super::desk::Desk;
use super::next::Next;
use super::screen::Screen;
use super::tune::OpenTune;

/// What is handed out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HandedOut {
    /// The tuning that is wanted, with the way there; else the one on the guitar.
    Tuning,
    /// The shape that is looked at.
    Shape,
    /// The chords of the key.
    Key,
    /// A song, or its chords alone where that is chosen.
    Song(SongId),
    /// The tune that is open, as it was worked out last.
    Tune,
    /// A set list.
    SetList(SetListId),
}

/// The kind of file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SheetFormat {
    /// All pages in one file, to print.
    #[default]
    Pdf,
    /// The page that is shown, as a picture.
    Png,
    /// The page that is shown, as outlines.
    Svg,
    /// The music.
    MusicXml,
    /// The words.
    Text,
}

impl SheetFormat {
    /// All, in the order they are offered.
    pub const ALL: [Self; 5] = [Self::Pdf, Self::Png, Self::Svg, Self::MusicXml, Self::Text];

    /// Returns the end of a file's name.
    #[must_use]
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Png => "png",
            Self::Svg => "svg",
            Self::MusicXml => "musicxml",
            Self::Text => "txt",
        }
    }

    /// Returns what a system calls such a file (IANA media types; MusicXML's by its specification).
    #[must_use]
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Pdf => "application/pdf",
            Self::Png => "image/png",
            Self::Svg => "image/svg+xml",
            Self::MusicXml => "application/vnd.recordare.musicxml+xml",
            Self::Text => "text/plain",
        }
    }
}

/// Dots an inch of a page that goes out as a picture.
const PICTURE_DPI: u16 = 300;

/// What the screen shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HandOut {
    /// What is handed out; `None` before anything was.
    pub what: Option<HandedOut>,
    /// The usual paper where the system is set to.
    pub paper: Paper,
    /// Large print.
    pub is_large: bool,
    /// Of a song the chords alone.
    pub has_chords_only: bool,
    /// The kind of file.
    pub format: SheetFormat,
    /// The page that is shown, from 0.
    pub page: usize,
    /// The sheet as it is set; `None` when it cannot be.
    pub sheet: Option<Box<Sheet>>,
    /// Where it went, or why it did not.
    pub went: Option<Result<String, String>>,
}

/// What a player does there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandOutAction {
    /// Set the sheet of this.
    Open(HandedOut),
    /// Set it in large print, or not.
    Large(bool),
    /// Set a song's chords alone, or all of it.
    ChordsOnly(bool),
    /// Let it go out as this.
    Format(SheetFormat),
    /// Show a page.
    Page(usize),
    /// It went there, or did not for this reason.
    Went(Result<String, String>),
}

pub(super) fn update(out: &mut HandOut, open: &OpenTune, desk: &Desk, action: HandOutAction) -> Next {
    match action {
        HandOutAction::Open(what) => {
            let (paper, is_large, format) = (out.paper, out.is_large, out.format);
            *out = HandOut { what: Some(what), paper, is_large, format, ..HandOut::default() };
            set(out, open, desk);
            return Next::Show(Screen::HandOut);
        }
        HandOutAction::Large(is_large) => {
            out.is_large = is_large;
            set(out, open, desk);
        }
        HandOutAction::ChordsOnly(only) => {
            out.has_chords_only = only;
            set(out, open, desk);
        }
        HandOutAction::Format(format) => {
            out.format = format;
            out.went = None;
        }
        HandOutAction::Page(page) => {
            let pages = out.sheet.as_ref().map_or(0, |sheet| sheet.document.pages());
            out.page = page.min(pages.saturating_sub(1));
        }
        HandOutAction::Went(went) => out.went = Some(went),
    }
    Next::Shown
}

/// Sets the sheet anew.
fn set(out: &mut HandOut, open: &OpenTune, desk: &Desk) {
    let sheet = out.what.and_then(|what| sheet_of(out, open, desk, what)).map(Box::new);
    let has_score = sheet.as_ref().is_some_and(|sheet| sheet.score.is_some());
    if out.format == SheetFormat::MusicXml && !has_score {
        out.format = SheetFormat::default();
    }
    (out.sheet, out.page, out.went) = (sheet, 0, None);
}

impl HandOut {
    /// Writes the file as it goes out.
    ///
    /// # Errors
    /// When there is no sheet, or `to` takes no more.
    pub fn write_to(&self, to: &mut dyn Write) -> io::Result<()> {
        let nothing = || io::Error::from(io::ErrorKind::NotFound);
        let sheet = self.sheet.as_ref().ok_or_else(nothing)?;
        let document = &sheet.document;
        match self.format {
            SheetFormat::Pdf => to.write_all(&document.to_pdf()),
            SheetFormat::Png => {
                document.to_png(self.page, PICTURE_DPI, to).map_err(|fault| io::Error::other(fault.to_string()))
            }
            SheetFormat::Svg => to.write_all(document.to_svg(self.page).ok_or_else(nothing)?.as_bytes()),
            SheetFormat::MusicXml => to.write_all(sheet.score.as_ref().ok_or_else(nothing)?.to_music_xml().as_bytes()),
            SheetFormat::Text => to.write_all(document.to_text().as_bytes()),
        }
    }

    /// Returns what the file is called, with its ending; `None` when there is no sheet.
    #[must_use]
    pub fn file_name(&self) -> Option<String> {
        let document = &self.sheet.as_ref()?.document;
        let is_one_page = matches!(self.format, SheetFormat::Png | SheetFormat::Svg) && document.pages() > 1;
        let number = if is_one_page { format!("-{}", self.page + 1) } else { String::new() };
        Some(format!("{}{number}.{}", file_name(document.title()), self.format.ending()))
    }
}

/// Returns how the player's sheets look.
fn options(out: &HandOut, desk: &Desk) -> SheetOptions {
    let settings = &desk.library.settings;
    SheetOptions {
        paper: out.paper,
        is_large: out.is_large,
        is_left_handed: settings.is_left_handed,
        language: desk.language(),
        naming: desk.naming(),
        spelling: settings.spelling,
    }
}

fn spelled(instrument: &Instrument, tuning: &Tuning) -> Vec<SpelledPitch> {
    let known = Catalog::bundled().name_of(instrument, tuning);
    known.map_or_else(|| tuning.spelled(), |known| known.spelled().to_vec())
}

fn name(desk: &Desk, tuning: &Tuning) -> Option<String> {
    desk.tuning_name(tuning).map(|(name, _)| name)
}

fn sheet_of(out: &HandOut, open: &OpenTune, desk: &Desk, what: HandedOut) -> Option<Sheet> {
    let options = options(out, desk);
    match what {
        HandedOut::Tuning => tuning(desk, &options).ok(),
        HandedOut::Shape => {
            let board = desk.board();
            let (spelled, name) = on_guitar(desk);
            let wanted = ShapeSheet {
                board: &board,
                spelled: &spelled,
                tuning_name: name.as_deref(),
                strings: desk.strings(),
                ranked: desk.shapes.shape()?,
                style: desk.shapes.style,
                key: Some(desk.shapes.key),
            };
            Some(shape_sheet(&wanted, &options))
        }
        HandedOut::Key => Some(key(desk, &options)),
        HandedOut::Song(id) => song(out, desk, id, &options),
        HandedOut::Tune => tune(open, desk, &options),
        HandedOut::SetList(id) => {
            let list = desk.library.find_set_list(id)?;
            let songs: Vec<_> = list.entries.iter().filter_map(|entry| desk.library.find_song(entry.song_id)).collect();
            let names: Vec<Option<String>> = songs
                .iter()
                .map(|song| {
                    let instrument = desk.catalog().find_instrument(&song.instrument_id)?;
                    Some(desk.name_or_notes(instrument, song.tuning.id.as_deref(), &song.tuning.pitches))
                })
                .collect();
            let songs: Vec<SetSong<'_>> = songs
                .iter()
                .zip(&names)
                .map(|(song, name)| SetSong { song, tuning_name: name.as_deref(), strings: None })
                .collect();
            let a4 = desk.library.settings.reference();
            let wanted = SetListSheet { title: &list.title, notes: &list.notes, songs: &songs, a4 };
            Some(set_list_sheet(&wanted, &options))
        }
    }
}

/// The tuning whose neck is shown, as it is spelled, with its name.
fn on_guitar(desk: &Desk) -> (Vec<SpelledPitch>, Option<String>) {
    let tuning = desk.neck_tuning();
    (spelled(desk.instrument(), &tuning), name(desk, &tuning))
}

fn tuning(desk: &Desk, options: &SheetOptions) -> Result<Sheet, PlanError> {
    let instrument = desk.instrument();
    let now = desk.guitar.tuning();
    let target = desk.guitar.target().cloned().unwrap_or_else(|| now.clone());
    // Where it is there already, the way is told from the usual tuning.
    let start = if target == now { desk.standard() } else { now };
    let (to_spelled, from_spelled) = (spelled(instrument, &target), spelled(instrument, &start));
    let (to_name, from_name) = (name(desk, &target), name(desk, &start));
    let from = FromTuning { tuning: &start, spelled: &from_spelled, name: from_name.as_deref() };
    let wanted = TuningSheet {
        instrument,
        strings: desk.strings(),
        tuning: &target,
        spelled: &to_spelled,
        name: to_name.as_deref(),
        from: (start != target).then_some(from),
        a4: desk.library.settings.reference(),
        bridge: desk.bridge(),
        capo: Fret::OPEN,
    };
    // No plan breaks a string: then the tuning stands alone.
    tuning_sheet(&wanted, options).or_else(|_| tuning_sheet(&TuningSheet { from: None, ..wanted }, options))
}

fn key(desk: &Desk, options: &SheetOptions) -> Sheet {
    let board = desk.board();
    let (spelled, name) = on_guitar(desk);
    let (key, style) = (desk.shapes.key, desk.shapes.style);
    let search = ShapeSearch { style, ..ShapeSearch::best(1) };
    let chords: Vec<(KeyChord, Option<RankedShape>)> = key
        .triads()
        .into_iter()
        .chain(key.sevenths())
        .map(|of_key| {
            let marked = desk.habits().favourites(&desk.neck_tuning(), of_key.chord, &board).into_iter().next();
            let best = || search.find(of_key.chord, &board).shapes.into_iter().next();
            let shape = marked.or_else(best);
            (of_key, shape)
        })
        .collect();
    let wanted = KeySheet {
        board: &board,
        spelled: &spelled,
        tuning_name: name.as_deref(),
        strings: desk.strings(),
        key,
        chords: &chords,
        style,
    };
    key_sheet(&wanted, options)
}

fn song(out: &HandOut, desk: &Desk, id: SongId, options: &SheetOptions) -> Option<Sheet> {
    let song = desk.library.find_song(id)?;
    let instrument = desk.catalog().find_instrument(&song.instrument_id)?;
    let tuning = &song.tuning.pitches;
    let board = desk.habits().board_of(song, &song.tuning, song.capo)?;
    let style = desk.shapes.style;
    let shapes: Vec<(Chord, Option<RankedShape>)> =
        super::song::chords(desk.habits(), song).into_iter().map(|chord| (chord.chord, chord.found)).collect();
    let spelled = spelled(instrument, tuning);
    let name = desk.name_or_notes(instrument, song.tuning.id.as_deref(), tuning);
    let has_name = desk.catalog().name_of(instrument, tuning).is_some() || song.tuning.id.is_some();
    let strings = if instrument.id() == desk.instrument().id() {
        desk.strings()
    } else {
        desk.catalog().strings_of(instrument).strings()
    };
    let chart = song.read_chart();
    let wanted = SongSheet {
        song,
        chart: &chart,
        board: &board,
        spelled: &spelled,
        tuning_name: has_name.then_some(name.as_str()),
        strings,
        shapes: &shapes,
        style,
    };
    let set = if out.has_chords_only { song_chords_sheet } else { song_sheet };
    Some(set(&wanted, options))
}

/// The tune as its screen shows it: in the tuning it is looked at in.
fn tune(open: &OpenTune, desk: &Desk, options: &SheetOptions) -> Option<Sheet> {
    let worked = open.worked.as_ref()?;
    let song = open.find(&desk.library)?;
    let question = &worked.question;
    let (instrument, tuning) = (question.instrument, &question.tuning);
    // A tune without a name of its own goes by the song's.
    let mut tune = question.tune.clone();
    if tune.title.trim().is_empty() {
        tune.title.clone_from(&song.title);
    }
    let id = open.other.as_ref().map_or(&song.tuning, |looked| &looked.tuning).id.as_deref();
    let has_name = desk.catalog().name_of(instrument, tuning).is_some() || id.is_some();
    let name = has_name.then(|| desk.name_or_notes(instrument, id, tuning));
    let wanted = TuneSheet {
        tune: &tune,
        played: &question.played,
        arrangement: &worked.arrangement,
        instrument,
        tuning,
        spelled: &spelled(instrument, tuning),
        tuning_name: name.as_deref(),
    };
    tune_sheet(&wanted, options)
}
