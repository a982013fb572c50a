//! A set list to hand out: the order, what each song is in, and what is turned between.

use crate::instrument::{Catalog, Fret, Instrument, Stringing, Strung};
use crate::songs::{Changeover, Song, Stand};
use crate::theory::{ReferencePitch, SpelledPitch};

use super::Sheet;
use super::compose::Composer;
use super::names::Names;
use super::paper::SheetOptions;
use super::words::Words;

/// A song in its place.
#[derive(Clone, Debug)]
pub struct SetSong<'a> {
    /// The song.
    pub song: &'a Song,
    /// What its tuning is called, if it has a name.
    pub tuning_name: Option<&'a str>,
    /// Its strings; the instrument's usual ones unless given.
    pub strings: Option<&'a Stringing>,
}

/// What stands on a set list's sheet.
#[derive(Clone, Debug)]
pub struct SetListSheet<'a> {
    /// What it is called.
    pub title: &'a str,
    /// What the player wants to remember.
    pub notes: &'a str,
    /// The songs in order.
    pub songs: &'a [SetSong<'a>],
    /// The frequency of A4.
    pub a4: ReferencePitch,
}

/// Sets a set list on pages. A song for an instrument that is not in the catalogue stands with its title alone.
#[must_use]
pub fn set_list_sheet(wanted: &SetListSheet<'_>, options: &SheetOptions) -> Sheet {
    let words = Words::new(options.language);
    let mut page = Composer::new(options, wanted.title);
    page.title();
    let all = u16::try_from(wanted.songs.len()).unwrap_or(u16::MAX);
    page.paragraph(&[page.body(words.counted(all, "one-song", "songs"))]);
    for line in wanted.notes.lines().filter(|line| !line.trim().is_empty()) {
        page.paragraph(&[page.body(line)]);
    }
    page.space(page.size.body);
    let list = page.list();
    let mut before: Option<&SetSong<'_>> = None;
    for (number, entry) in wanted.songs.iter().enumerate() {
        let mut paragraphs = vec![vec![page.large(entry.song.title.trim())]];
        if let Some(instrument) = Catalog::bundled().find_instrument(&entry.song.instrument_id) {
            let names = Names::new(instrument, options);
            paragraphs.push(vec![page.body(stand(&names, entry, instrument))]);
            if let Some(turned) = before.and_then(|before| turned(&names, before, entry, instrument, wanted.a4)) {
                paragraphs.push(vec![page.strong(turned)]);
            }
        }
        page.item(list, &format!("{}.", number + 1), &paragraphs);
        before = Some(entry);
    }
    Sheet { document: page.finish(), score: None }
}

fn spelled(instrument: &Instrument, song: &Song) -> Vec<SpelledPitch> {
    let tuning = &song.tuning.pitches;
    Catalog::bundled().name_of(instrument, tuning).map_or_else(|| tuning.spelled(), |named| named.spelled().to_vec())
}

fn stand(names: &Names<'_>, entry: &SetSong<'_>, instrument: &Instrument) -> String {
    let mut said = names.stand(entry.tuning_name, &spelled(instrument, entry.song), entry.song.capo);
    if let Some(key) = entry.song.key {
        said += &format!(" · {}", names.key(key));
    }
    said
}

/// What is turned before a song; `None` where nothing is.
fn turned(
    names: &Names<'_>,
    before: &SetSong<'_>,
    entry: &SetSong<'_>,
    instrument: &Instrument,
    a4: ReferencePitch,
) -> Option<String> {
    let usual = Catalog::bundled().strings_of(instrument);
    let set = entry.strings.unwrap_or_else(|| usual.strings());
    let strung = Strung::new(instrument, set).ok()?;
    let change = Changeover::between_songs(&strung, &Stand::of(before.song), &Stand::of(entry.song), a4);
    if change.is_nothing() {
        return None;
    }
    let Some(moves) = &change.moves else {
        return Some(names.words.say("other-instrument", &[instrument.name_in(names.options.language)]));
    };
    let (from, to) = (spelled(instrument, before.song), spelled(instrument, entry.song));
    let mut parts: Vec<String> = Vec::new();
    if change.capo == Some(Fret::OPEN) {
        parts.push(names.words.say("capo-off", &[]));
    }
    for &(course, by) in moves {
        let note = |spelled: &[SpelledPitch]| {
            let found = spelled.get(course.from_lowest_index());
            found.map(|pitch| names.options.note(pitch.note())).unwrap_or_default()
        };
        parts.push(format!("{}: {}", names.command(course, Some(by)), names.way(&note(&from), &note(&to), by)));
    }
    if let Some(fret) = change.capo.filter(|&fret| fret != Fret::OPEN) {
        parts.push(names.words.say("capo-to", &[&instrument.fret_name(fret)]));
    }
    Some(names.words.say("turn-first", &[&parts.join("; ")]))
}
