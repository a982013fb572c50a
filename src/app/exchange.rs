//! Out and in: what is written for another device or a person, and what comes in, item by item.

use std::io;

use crate::instrument::CatalogTuning;
use crate::songs::{ReadAs, ReadSong, SetListId, SongId};
use crate::store::{
    Decision, ImportItem, Imported, Incoming, IncomingFault, Library, Likeness, file_name, read_watched,
};

use super::desk::Desk;
use super::next::Next;
use super::notice::Notice;
use super::screen::Screen;
use super::undo::Undo;

/// A library of more songs is not made into one text: with these it takes a frame's time.
const MOST_SONGS_AS_TEXT: usize = 300;

/// What goes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Out {
    /// Everything.
    Library,
    /// A set list with its songs.
    SetList(SetListId),
    /// A set list to be read.
    SetListText(SetListId),
    /// A song to be read; the app reads it too.
    SongText(SongId),
}

/// A text that goes out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outgoing {
    /// What a file of it is called.
    pub name: String,
    /// The end of that name.
    pub ending: &'static str,
    /// What it says; empty where it is [`Outgoing::is_whole`].
    pub text: String,
    /// It is the whole library, too large to be shown or copied: it goes straight into a file.
    pub is_whole: bool,
    /// It is everything there is.
    pub is_everything: bool,
    /// Where it was written, or why it could not be.
    pub written: Option<Result<String, String>>,
}

/// What goes out and what comes in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Exchange {
    /// The text that goes out.
    pub out: Option<Outgoing>,
    /// The text that comes in, as typed or pasted.
    pub pasted: String,
    /// The share of it that is read, 0 to 1, while it is read beside the window.
    pub reading: Option<f64>,
    /// Why it cannot be read.
    pub fault: Option<IncomingFault>,
    /// What it holds.
    pub incoming: Option<Box<Library>>,
    /// What of songs written as text was understood, in the order they come in.
    pub read_songs: Vec<ReadSong>,
    /// Its items, with what becomes of each.
    pub items: Vec<ImportItem>,
    /// Which page of them is shown, from 0.
    pub page: usize,
    /// What was taken in.
    pub done: Option<Imported>,
}

/// What the screens for it ask for.
#[derive(Clone, Debug, PartialEq)]
pub enum ExchangeAction {
    /// Write this.
    Out(Out),
    /// It was written to this file, or could not be for this reason.
    Written(Result<String, String>),
    /// All of it was copied.
    Copied,
    /// It is this day, counted from 1970-01-01.
    Today(u32),
    /// Speak of an export again some other time.
    PutOff,
    /// This was typed or pasted.
    Typed(String),
    /// Read it.
    Read,
    /// It is being read beside the window.
    Begin,
    /// So much of it is read, 0 to 1.
    Share(f64),
    /// It was read.
    CameIn(Box<CameIn>),
    /// It cannot be read.
    Unread(IncomingFault),
    /// Read it no further.
    Stop,
    /// Show a page of its items, from 0.
    Page(usize),
    /// Let this become of an item, by its place.
    Decide(usize, Decision),
    /// Take in all that is not here yet or differs, or nothing at all; settings stay as they are.
    DecideAll(bool),
    /// Take in what is decided.
    TakeIn,
    /// Forget what was to come in.
    Forget,
}

/// What was read beside the window.
#[derive(Clone, Debug, PartialEq)]
pub enum CameIn {
    /// Another device's library, compared with what was here then.
    Library {
        /// It.
        library: Box<Library>,
        /// Its items.
        items: Vec<ImportItem>,
        /// What was here.
        here: Box<Library>,
    },
    /// Songs as text.
    Text(String),
}

impl CameIn {
    /// Reads a file and compares it; `None` when `goes_on`, which is told the share that is done, answers false.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(
        bytes: io::Result<Vec<u8>>,
        here: &Library,
        goes_on: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Option<Self>, IncomingFault> {
        let bytes = bytes.map_err(|fault| IncomingFault::File(fault.to_string()))?;
        let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
        if text.trim_ascii_start().first() != Some(&b'{') {
            let text = std::str::from_utf8(text).map_err(|_| IncomingFault::NoText)?;
            return Ok(Some(Self::Text(text.to_owned())));
        }
        // Reading is one half, comparing the other.
        let mut half = |begun: f64, done: usize, of: usize| goes_on(begun + share(done, of) / 2.0);
        let read = read_watched(&bytes, &mut |done, of| half(0.0, done, of)).map_err(IncomingFault::Library)?;
        let Some(library) = read else { return Ok(None) };
        drop(bytes);
        let items = here.compare_watched(&library, &mut |done, of| half(0.5, done, of));
        let (library, here) = (Box::new(library), Box::new(here.clone()));
        Ok(items.map(|items| Self::Library { library, items, here }))
    }
}

#[expect(clippy::cast_precision_loss, reason = "a share of some thousand songs")]
fn share(done: usize, of: usize) -> f64 {
    done as f64 / of.max(1) as f64
}

/// Opens what goes out.
pub(super) fn out(exchange: &mut Exchange, library: &Library, what: Out) -> Next {
    let outgoing = |name: &str, ending, text| Outgoing {
        name: file_name(name),
        ending,
        text,
        is_whole: false,
        is_everything: what == Out::Library,
        written: None,
    };
    let found = match what {
        Out::Library if library.songs().len() > MOST_SONGS_AS_TEXT => {
            Some(Outgoing { is_whole: true, ..outgoing("pegwise library", "json", String::new()) })
        }
        Out::Library => Some(outgoing("pegwise library", "json", library.export())),
        Out::SetList(id) => library.find_set_list(id).and_then(|list| {
            let text = library.export_set_list(id)?;
            Some(outgoing(&list.title, "json", text))
        }),
        Out::SetListText(id) => library
            .find_set_list(id)
            .map(|list| outgoing(&list.title, "txt", list.to_text(|song| library.find_song(song)))),
        Out::SongText(id) => library.find_song(id).map(|song| outgoing(&song.title, "txt", song.to_text())),
    };
    let Some(found) = found else { return Next::Shown };
    exchange.out = Some(found);
    Next::Show(Screen::Outgoing)
}

/// So many items are shown on one page.
const MOST_SHOWN: usize = 40;

impl Exchange {
    /// Returns how many pages the items fill; at least one.
    #[must_use]
    pub fn pages(&self) -> usize {
        self.items.len().div_ceil(MOST_SHOWN).max(1)
    }

    /// Returns the places of the items on the page that is shown: those that differ come first, then what is new.
    #[must_use]
    pub fn shown(&self) -> Vec<usize> {
        let all = 0..self.items.len();
        if self.pages() == 1 {
            return all.collect();
        }
        let of = |likeness| all.clone().filter(move |&index| self.items[index].likeness == likeness);
        let order = of(Likeness::Differs).chain(of(Likeness::New)).chain(of(Likeness::Same));
        order.skip(self.page * MOST_SHOWN).take(MOST_SHOWN).collect()
    }

    /// Returns how many are new, differ, and are here already.
    #[must_use]
    pub fn counts(&self) -> [usize; 3] {
        [Likeness::New, Likeness::Differs, Likeness::Same]
            .map(|likeness| self.items.iter().filter(|item| item.likeness == likeness).count())
    }
}

pub(super) fn update(exchange: &mut Exchange, desk: &mut Desk, action: ExchangeAction) -> Next {
    match action {
        ExchangeAction::Out(what) => return Next::Out(what),
        ExchangeAction::Written(written) => {
            let is_out = written.is_ok();
            if let Some(out) = &mut exchange.out {
                out.written = Some(written);
            }
            if is_out && exchange.out.as_ref().is_some_and(|out| out.is_everything) {
                super::reminder::exported(desk);
            }
        }
        ExchangeAction::Copied => {
            if exchange.out.as_ref().is_some_and(|out| out.is_everything) {
                super::reminder::exported(desk);
            }
        }
        ExchangeAction::Today(day) => return super::reminder::hear_day(desk, day),
        ExchangeAction::PutOff => return super::reminder::put_off(desk),
        ExchangeAction::Typed(text) => {
            *exchange = Exchange { pasted: text, out: exchange.out.take(), ..Exchange::default() }
        }
        ExchangeAction::Read => {
            let text = exchange.pasted.clone();
            read(exchange, desk, &text);
        }
        ExchangeAction::Begin => {
            exchange.reading = Some(0.0);
            exchange.fault = None;
            exchange.done = None;
        }
        ExchangeAction::Share(share) => exchange.reading = exchange.reading.map(|_| share),
        ExchangeAction::CameIn(came) => {
            exchange.reading = None;
            match *came {
                CameIn::Library { library, items, here } => {
                    // What was changed here meanwhile may be what comes in.
                    exchange.items = if *here == desk.library { items } else { desk.library.compare(&library) };
                    exchange.incoming = Some(library);
                    exchange.read_songs = Vec::new();
                    exchange.page = 0;
                }
                CameIn::Text(text) => read(exchange, desk, &text),
            }
        }
        ExchangeAction::Unread(fault) => {
            exchange.reading = None;
            exchange.fault = Some(fault);
        }
        ExchangeAction::Stop => exchange.reading = None,
        ExchangeAction::Page(page) => exchange.page = page.min(exchange.pages() - 1),
        ExchangeAction::DecideAll(takes_in) => {
            for item in exchange.items.iter_mut().filter(|item| item.what != Incoming::Settings) {
                let is_wanted = takes_in && item.likeness != Likeness::Same;
                item.decision = if is_wanted { Decision::Add } else { Decision::Leave };
            }
        }
        ExchangeAction::Decide(index, decision) => {
            if let Some(item) = exchange.items.get_mut(index) {
                item.decision = decision;
            }
        }
        ExchangeAction::TakeIn => return take_in(exchange, desk),
        ExchangeAction::Forget => *exchange = Exchange { out: exchange.out.take(), ..Exchange::default() },
    }
    Next::Shown
}

/// Reads what was pasted or lies in a file: another device's library, or songs in whatever form a player has them.
fn read(exchange: &mut Exchange, desk: &Desk, text: &str) {
    let (own, known) = desk.all_tunings();
    let tunings: Vec<&CatalogTuning> = own.iter().chain(known).collect();
    let tuning = super::songs::tuning_now(desk);
    let instrument_id = desk.instrument().id();
    let with = ReadAs { naming: desk.naming(), instrument_id, tuning: &tuning, tunings: &tunings };
    match Library::read_any(text, &with) {
        Ok((incoming, songs)) => {
            exchange.items = desk.library.compare(&incoming);
            exchange.incoming = Some(Box::new(incoming));
            exchange.read_songs = songs;
            exchange.page = 0;
            exchange.fault = None;
            exchange.done = None;
        }
        Err(fault) => exchange.fault = Some(fault),
    }
}

fn take_in(exchange: &mut Exchange, desk: &mut Desk) -> Next {
    let Some(incoming) = exchange.incoming.take() else { return Next::Shown };
    let items = std::mem::take(&mut exchange.items);
    let has_settings = items.iter().any(|item| item.what == Incoming::Settings && item.decision != Decision::Leave);
    // Strings and bridge of settings taken in go to the guitar.
    let before = has_settings.then(|| Box::new(desk.guitar.record().clone()));
    let (done, taken) = desk.library.import(&incoming, &items);
    *exchange = Exchange { done: Some(done), out: exchange.out.take(), ..Exchange::default() };
    Next::done(Notice::TakenIn(done.added + done.replaced), Undo::TakenIn(Box::new(taken), before))
}
