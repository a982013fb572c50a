//! Out and in: what is written for another device or a person, and what comes in, item by item.

use crate::instrument::CatalogTuning;
use crate::songs::{ReadAs, ReadSong, SetListId, SongId};
use crate::store::{Decision, ImportItem, Imported, Incoming, IncomingFault, Library, file_name};

use super::action::Update;
use super::notice::Notice;
use super::screen::Screen;
use super::state::State;
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
    /// Why it cannot be read.
    pub fault: Option<IncomingFault>,
    /// What it holds.
    pub incoming: Option<Box<Library>>,
    /// What of songs written as text was understood, in the order they come in.
    pub read_songs: Vec<ReadSong>,
    /// Its items, with what becomes of each.
    pub items: Vec<ImportItem>,
    /// What was taken in.
    pub done: Option<Imported>,
}

/// What the screens for it ask for.
#[derive(Clone, Debug, PartialEq, Eq)]
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
    /// Let this become of an item, by its place.
    Decide(usize, Decision),
    /// Take in what is decided.
    TakeIn,
    /// Forget what was to come in.
    Forget,
}

/// Opens what goes out.
pub(super) fn out(state: &mut State, what: Out) -> Update {
    let library = &state.library;
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
    let Some(found) = found else { return Update::Shown };
    state.exchange.out = Some(found);
    state.show(Screen::Outgoing)
}

pub(super) fn update(state: &mut State, action: ExchangeAction) -> Update {
    let exchange = &mut state.exchange;
    match action {
        ExchangeAction::Out(what) => return out(state, what),
        ExchangeAction::Written(written) => {
            let is_out = written.is_ok();
            if let Some(out) = &mut exchange.out {
                out.written = Some(written);
            }
            if is_out && exchange.out.as_ref().is_some_and(|out| out.is_everything) {
                super::reminder::exported(state);
            }
        }
        ExchangeAction::Copied => {
            if exchange.out.as_ref().is_some_and(|out| out.is_everything) {
                super::reminder::exported(state);
            }
        }
        ExchangeAction::Today(day) => return super::reminder::hear_day(state, day),
        ExchangeAction::PutOff => return super::reminder::put_off(state),
        ExchangeAction::Typed(text) => {
            *exchange = Exchange { pasted: text, out: exchange.out.take(), ..Exchange::default() }
        }
        ExchangeAction::Read => return read(state),
        ExchangeAction::Decide(index, decision) => {
            if let Some(item) = exchange.items.get_mut(index) {
                item.decision = decision;
            }
        }
        ExchangeAction::TakeIn => return take_in(state),
        ExchangeAction::Forget => *exchange = Exchange { out: exchange.out.take(), ..Exchange::default() },
    }
    Update::Shown
}

/// Reads what was pasted: another device's library, or songs in whatever form a player has them.
fn read(state: &mut State) -> Update {
    let (own, known) = state.all_tunings();
    let tunings: Vec<&CatalogTuning> = own.iter().chain(known).collect();
    let tuning = super::songs::tuning_now(state);
    let instrument_id = state.instrument().id();
    let with = ReadAs { naming: state.naming(), instrument_id, tuning: &tuning, tunings: &tunings };
    let read = Library::read_any(&state.exchange.pasted, &with);
    let exchange = &mut state.exchange;
    match read {
        Ok((incoming, songs)) => {
            exchange.items = state.library.compare(&incoming);
            exchange.incoming = Some(Box::new(incoming));
            exchange.read_songs = songs;
            exchange.fault = None;
            exchange.done = None;
        }
        Err(fault) => exchange.fault = Some(fault),
    }
    Update::Shown
}

fn take_in(state: &mut State) -> Update {
    let Some(incoming) = state.exchange.incoming.take() else { return Update::Shown };
    let items = std::mem::take(&mut state.exchange.items);
    let has_settings = items.iter().any(|item| item.what == Incoming::Settings && item.decision != Decision::Leave);
    // Strings and bridge of settings taken in go to the guitar.
    let before = has_settings.then(|| Box::new(state.guitar.record().clone()));
    let (done, taken) = state.library.import(&incoming, &items);
    state.exchange = Exchange { done: Some(done), out: state.exchange.out.take(), ..Exchange::default() };
    state.tell_done(Notice::TakenIn(done.added + done.replaced), Undo::TakenIn(Box::new(taken), before));
    Update::Shown
}
