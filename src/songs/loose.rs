//! A song read from any text, as people write songs down, and what of it was understood, item by item.
//!
//! What [`Song::to_text`] writes is read as [`Song::read_text`] does. In any other text the first line is the title unless
//! it is music or heads a section; lines with a head word (`data/head_words.toml`) directly below it go into the song's
//! fields; everything else is the chart, in which nothing is refused and nothing lost.

use once_cell::sync::Lazy;
use serde::Deserialize;

use crate::instrument::{Catalog, CatalogTuning, Fret, meant_tuning};
use crate::theory::{Key, Naming};

use super::chart::{Chart, ChartFault, Content};
use super::song::{ChosenTuning, Song};
use super::text;

/// How many letters of its first words a song without a title is kept under.
const MOST_OF_TITLE: usize = 40;
/// A line in a song's head is no longer than this, in letters.
const LONGEST_HEAD: usize = 80;
/// A number with more words than this around it is kept among the notes too: "on 2nd fret" says no more than 2.
const MOST_OF_VALUE: usize = 3;
/// The highest fret a capo is read at.
const HIGHEST_CAPO: u8 = 12;

/// What the reader is told beside the text.
#[derive(Clone, Debug)]
pub struct ReadAs<'a> {
    /// How the player calls notes; another custom is taken where it makes more of the chart.
    pub naming: Naming,
    /// The instrument of the catalogue it is for.
    pub instrument_id: &'a str,
    /// What it is in where the text names no tuning.
    pub tuning: &'a ChosenTuning,
    /// The tunings that can be named.
    pub tunings: &'a [&'a CatalogTuning],
}

/// A song and what of its text was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadSong {
    /// The song.
    pub song: Song,
    /// What was understood, in the order it is told.
    pub understood: Vec<Understood>,
}

/// One thing that was understood, or was not.
#[derive(Clone, Debug, PartialEq)]
pub enum Understood {
    /// What it is called.
    Title(String),
    /// It names no title: it is called by its first words.
    FirstWords(String),
    /// Who it is from.
    From(String),
    /// The tuning that was named.
    Tuning(ChosenTuning),
    /// It names none: what is on the instrument is taken.
    TuningOnGuitar(ChosenTuning),
    /// The capo; [`Fret::OPEN`] where it says there is none.
    Capo(Fret),
    /// It names no capo: it has none.
    NoCapo,
    /// The key of the shapes.
    Key(Key),
    /// Beats a minute.
    Tempo(u16),
    /// So many shapes chosen for chords.
    Shapes(usize),
    /// Notes to remember.
    Notes,
    /// A line of the head whose value was not understood; it stays as words at the top of the chart.
    Unread(String),
    /// How its chords are named.
    Naming(Naming),
    /// So many lines of chords, with or without words.
    Chords(usize),
    /// So many lines of bars.
    Bars(usize),
    /// So many lines of words.
    Words(usize),
    /// So many headings.
    Headings(usize),
    /// So many lines that draw fret numbers on strings.
    Tabs(usize),
    /// A symbol that stays as words where it stands, and what was expected.
    Fault(ChartFault),
}

/// Parts a text with several songs: a line of equals signs, three or more, or a form feed stands between two.
#[must_use]
pub fn parted(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut begins = 0;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim();
        let parts = (bare.len() >= 3 && bare.bytes().all(|byte| byte == b'=')) || line.starts_with('\u{c}');
        if parts {
            found.push(&text[begins..at]);
            begins = at + if line.starts_with('\u{c}') { 1 } else { line.len() };
        }
        at += line.len();
    }
    found.push(&text[begins..]);
    found.retain(|song| !song.trim().is_empty());
    found
}

/// A line of a song's head.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Head {
    Title,
    From,
    Tuning,
    Capo,
    Key,
    Tempo,
}

#[derive(Deserialize)]
struct HeadWords {
    title: Vec<String>,
    from: Vec<String>,
    tuning: Vec<String>,
    capo: Vec<String>,
    key: Vec<String>,
    tempo: Vec<String>,
    none: Vec<String>,
}

static WORDS: Lazy<HeadWords> =
    Lazy::new(|| toml::from_str(crate::data::text("head_words.toml")).expect("the bundled table is right"));

impl HeadWords {
    fn find(&self, word: &str) -> Option<Head> {
        let word = word.trim().to_lowercase();
        let lists = [
            (&self.title, Head::Title),
            (&self.from, Head::From),
            (&self.tuning, Head::Tuning),
            (&self.capo, Head::Capo),
            (&self.key, Head::Key),
            (&self.tempo, Head::Tempo),
        ];
        lists.into_iter().find(|(words, _)| words.contains(&word)).map(|(_, head)| head)
    }
}

/// Splits a line of a song's head into what it says and its value; the second tells whether a colon says so for certain.
fn head(line: &str) -> Option<(Head, &str, bool)> {
    let line = line.trim();
    if line.chars().nth(LONGEST_HEAD).is_some() {
        return None;
    }
    if let Some((word, value)) = line.split_once(':')
        && let Some(head) = WORDS.find(word)
    {
        return Some((head, value.trim(), true));
    }
    let (word, value) = line.split_once([' ', '\t', '='])?;
    if let Some(head) = WORDS.find(word).filter(|head| !matches!(head, Head::Title | Head::From)) {
        return Some((head, value.trim(), false));
    }
    // "96 bpm", "96 beats a minute".
    let is_tempo = word.parse::<u16>().is_ok()
        && value.split_whitespace().next().is_some_and(|next| WORDS.find(next) == Some(Head::Tempo));
    is_tempo.then_some((Head::Tempo, line, false))
}

/// Returns the only number in a short text.
fn number(text: &str) -> Option<u16> {
    let mut found = text.split(|mark: char| !mark.is_ascii_digit()).filter(|digits| !digits.is_empty());
    let only = found.next()?.parse().ok()?;
    (found.next().is_none() && text.chars().nth(24).is_none()).then_some(only)
}

fn read_capo(text: &str) -> Option<Fret> {
    if WORDS.none.contains(&text.to_lowercase()) {
        return Some(Fret::OPEN);
    }
    u8::try_from(number(text)?).ok().filter(|&fret| fret <= HIGHEST_CAPO).map(Fret::new)
}

fn read_tuning(text: &str, with: &ReadAs<'_>) -> Option<ChosenTuning> {
    if let Some(known) = meant_tuning(with.tunings, text, with.naming) {
        return Some(ChosenTuning { id: Some(known.id().to_owned()), pitches: known.tuning().clone() });
    }
    if let Ok(pitches) = text::read_pitches(text) {
        return Some(ChosenTuning { id: None, pitches });
    }
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(with.instrument_id)?;
    let read = catalog.read_notes(instrument, text, None, with.naming).ok()?.decided().ok()?;
    Some(ChosenTuning { id: None, pitches: read })
}

impl ReadSong {
    /// Reads a song from any text; `None` where there is nothing in it.
    #[must_use]
    pub fn read(text: &str, with: &ReadAs<'_>) -> Option<Self> {
        if text.trim().is_empty() {
            return None;
        }
        Some(Song::read_text(text).map_or_else(|_| read_loosely(text, with), |song| of_strict(song, text)))
    }
}

/// Tells what a text in the form the app writes says.
fn of_strict(song: Song, text: &str) -> ReadSong {
    let names_capo = text.lines().any(|line| line.to_lowercase().starts_with("capo:"));
    let mut understood = vec![Understood::Title(song.title.clone())];
    if !song.from.is_empty() {
        understood.push(Understood::From(song.from.clone()));
    }
    understood.push(Understood::Tuning(song.tuning.clone()));
    understood.push(if names_capo { Understood::Capo(song.capo) } else { Understood::NoCapo });
    understood.extend(song.key.map(Understood::Key));
    understood.extend(song.tempo_bpm.map(Understood::Tempo));
    let shapes = song.chosen_shapes().len();
    understood.extend((shapes > 0).then_some(Understood::Shapes(shapes)));
    understood.extend((!song.notes.is_empty()).then_some(Understood::Notes));
    understood.extend(of_chart(&song.read_chart()));
    ReadSong { song, understood }
}

/// Tells how the lines of a chart were read, and what of them was not.
fn of_chart(chart: &Chart) -> Vec<Understood> {
    let count = |is: &dyn Fn(&Content) -> bool| chart.lines().iter().filter(|line| is(&line.content)).count();
    let headings = chart.lines().iter().filter(|line| line.heading.is_some()).count();
    let chords = count(&|content| matches!(content, Content::Chords | Content::Sung(_)));
    let bars = count(&|content| matches!(content, Content::Bars(_)));
    let rows = [
        Understood::Chords(chords),
        Understood::Bars(bars),
        Understood::Words(count(&|content| matches!(content, Content::Words(_)))),
        Understood::Headings(headings),
        Understood::Tabs(count(&|content| matches!(content, Content::Tab))),
    ];
    let is_any = |row: &Understood| {
        !matches!(
            row,
            Understood::Chords(0)
                | Understood::Bars(0)
                | Understood::Words(0)
                | Understood::Headings(0)
                | Understood::Tabs(0)
        )
    };
    let naming = (chords + bars > 0).then_some(Understood::Naming(chart.naming()));
    let lines = rows.into_iter().filter(is_any);
    naming.into_iter().chain(lines).chain(chart.faults().cloned().map(Understood::Fault)).collect()
}

/// Tells which custom makes most of a chart: the player's own unless another reads more chords than it leaves words.
fn naming_of(chart: &str, own: Naming) -> Naming {
    let made = |naming: Naming| {
        let chart = Chart::read_in(chart, naming);
        let chords = chart.lines().iter().map(|line| line.chords.len()).sum::<usize>();
        (chords, std::cmp::Reverse(chart.faults().count()))
    };
    let mut best = (made(own), own);
    for naming in [Naming::English, Naming::German, Naming::Solfege] {
        let found = made(naming);
        if found > best.0 {
            best = (found, naming);
        }
    }
    best.1
}

fn read_loosely(text: &str, with: &ReadAs<'_>) -> ReadSong {
    let mut song = Song::new("", with.instrument_id, with.tuning.clone());
    let mut understood = Vec::new();
    let first = Chart::read_in(text, with.naming);
    let mut lines = text.split_inclusive('\n').zip(first.lines()).peekable();
    let mut kept: Vec<&str> = Vec::new();
    let mut taken = [false; 6];
    // Without line feeds alone the lines do not go together: then all of it is the chart.
    let goes_together = text.split_inclusive('\n').count() == first.lines().len();
    let mut rest = text;
    if goes_together {
        while lines.next_if(|(_, line)| line.text().trim().is_empty()).is_some_and(|(raw, _)| {
            rest = &rest[raw.len()..];
            true
        }) {}
        let is_title = |line: &super::chart::ChartLine| {
            line.heading.is_none() && matches!(line.content, Content::Words(_)) && head(line.text()).is_none()
        };
        if let Some((raw, line)) = lines.next_if(|(_, line)| is_title(line)) {
            let title = line.text().trim().trim_matches(|mark: char| "#*=_".contains(mark)).trim();
            song.title = title.to_owned();
            taken[Head::Title as usize] = !title.is_empty();
            rest = &rest[raw.len()..];
        }
        for (raw, line) in lines {
            if line.text().trim().is_empty() {
                rest = &rest[raw.len()..];
                continue;
            }
            // A tuning is often named alone: "DADGAD" under the title.
            let is_words = matches!(line.content, Content::Words(_));
            let alone = Some(line.text().trim())
                .filter(|name| is_words && meant_tuning(with.tunings, name, with.naming).is_some());
            let found = head(line.text()).or_else(|| alone.map(|name| (Head::Tuning, name, false)));
            let Some((head, value, is_certain)) = found else { break };
            // What is said twice is taken once; the second stays where it stands.
            let is_read = !std::mem::replace(&mut taken[head as usize], head != Head::From)
                && take(&mut song, head, value, with, &mut understood);
            if !is_read && !is_certain {
                break;
            }
            if !is_read {
                understood.push(Understood::Unread(line.text().trim().to_owned()));
                kept.push(raw);
            }
            rest = &rest[raw.len()..];
        }
    }
    let mut chart: String = kept.concat();
    if !kept.is_empty() && !chart.ends_with('\n') {
        chart.push('\n');
    }
    chart.push_str(rest.trim_matches(['\n', '\r']));
    if !chart.is_empty() && !chart.ends_with(['\n', '\r']) {
        chart.push('\n');
    }
    song.chart = chart;
    song.chart_naming = naming_of(&song.chart, with.naming);
    let mut told = vec![title_of(&mut song)];
    let has = |understood: &[Understood], is: fn(&Understood) -> bool| understood.iter().any(is);
    if !has(&understood, |item| matches!(item, Understood::Tuning(_))) {
        told.push(Understood::TuningOnGuitar(song.tuning.clone()));
    }
    if !has(&understood, |item| matches!(item, Understood::Capo(_))) {
        told.push(Understood::NoCapo);
    }
    told.append(&mut understood);
    told.extend(of_chart(&song.read_chart()));
    ReadSong { song, understood: told }
}

/// Names a song without a title after its first words.
fn title_of(song: &mut Song) -> Understood {
    if !song.title.is_empty() {
        return Understood::Title(song.title.clone());
    }
    let chart = song.read_chart();
    let words = chart.lines().iter().find_map(|line| match &line.content {
        Content::Words(words) | Content::Sung(words) => Some(words.trim()).filter(|words| !words.is_empty()),
        _ => None,
    });
    let first = words.or_else(|| song.chart.lines().map(str::trim).find(|line| !line.is_empty())).unwrap_or("?");
    let title: String = first.chars().take(MOST_OF_TITLE).collect();
    song.title.clone_from(&title);
    Understood::FirstWords(title)
}

/// Takes a line of the head into the song; tells whether its value was understood.
fn take(song: &mut Song, head: Head, value: &str, with: &ReadAs<'_>, understood: &mut Vec<Understood>) -> bool {
    let found = match head {
        Head::Title if value.is_empty() => None,
        Head::Title => {
            song.title = value.to_owned();
            return true;
        }
        Head::From => Some(value).filter(|value| !value.is_empty()).map(|value| {
            let both = if song.from.is_empty() { value.to_owned() } else { format!("{}, {value}", song.from) };
            song.from.clone_from(&both);
            understood.retain(|item| !matches!(item, Understood::From(_)));
            Understood::From(both)
        }),
        Head::Tuning => read_tuning(value, with).map(|tuning| {
            song.tuning = tuning.clone();
            Understood::Tuning(tuning)
        }),
        Head::Capo => read_capo(value).map(|capo| {
            song.capo = capo;
            Understood::Capo(capo)
        }),
        Head::Key => {
            let bare = value.strip_prefix("of ").or_else(|| value.strip_prefix("in ")).unwrap_or(value);
            Key::read(bare).ok().map(|key| {
                song.key = Some(key);
                Understood::Key(key)
            })
        }
        Head::Tempo => number(value).filter(|bpm| (10..=400).contains(bpm)).map(|bpm| {
            song.tempo_bpm = Some(bpm);
            Understood::Tempo(bpm)
        }),
    };
    let is_read = found.is_some();
    understood.extend(found);
    // A number among words says more than the number does.
    if is_read && matches!(head, Head::Capo | Head::Tempo) && value.split_whitespace().count() > MOST_OF_VALUE {
        if !song.notes.is_empty() {
            song.notes.push('\n');
        }
        song.notes.push_str(value);
    }
    is_read
}
