//! A set list opened: its songs in order, what each retuning takes, and the order that takes least.

use std::collections::HashMap;
use std::sync::Arc;

use crate::songs::{Changeover, SetEntry, SetList, SetListId, Song, SongId, Stand};
use crate::store::Library;

use super::desk::Desk;
use super::exchange::Out;
use super::next::Next;
use super::notice::Notice;
use super::ordering::{OrderAnswer, OrderQuestion, OrderTold, Ordering};
use super::screen::Screen;
use super::songs::{ChoosingFor, way_between, way_from_now};
use super::state::State;
use super::undo::Undo;

/// So many songs of a set list are shown on one page: more than an evening has.
pub const MOST_PLACES: usize = 60;
/// So many changes of a set list can be taken back.
const MOST_TAKEN_BACK: usize = 100;

/// The set list that is open, and what was found out about its order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OpenSetList {
    /// Which.
    pub id: Option<SetListId>,
    /// Whether its songs are being moved, pinned and taken out.
    pub is_editing: bool,
    /// Which page of its songs is shown, from 0.
    pub page: usize,
    /// What the last search for the best order came to; forgotten when anything changes.
    pub verdict: Option<Verdict>,
    /// The one song whose move to another tuning saves most, in that order.
    pub suggestion: Option<Suggestion>,
    /// The search that is under way.
    pub ordering: Option<Ordering>,
    /// What it was before each change since it was opened, the last one last.
    before: Vec<SetList>,
    /// How many searches there were.
    searches: u64,
}

impl OpenSetList {
    /// After a change: what was found out, or is being found out, is about another order.
    pub(super) fn forget_search(&mut self) {
        (self.verdict, self.suggestion, self.ordering) = (None, None, None);
    }
}

/// How good the order is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// How many per cent above the best possible it is at most; 0 when it is the best; `None` when nothing is known.
    pub percent_above_best: Option<f64>,
    /// Seconds that the new order saves, about.
    pub saved_seconds: u64,
}

/// A song that alone calls for its tuning.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Which song.
    pub song: SongId,
    /// What it would be played in instead.
    pub stand: Stand,
    /// Seconds that the whole set list would then take less, about.
    pub saves_seconds: u64,
}

/// A song in its place.
#[derive(Clone, Debug)]
pub struct SetRow<'a> {
    /// Which song.
    pub song: &'a Song,
    /// Whether it keeps its place.
    pub is_pinned: bool,
    /// What it takes from the song before; for the first, from what is on the guitar now.
    pub way: Changeover,
}

/// What the set list's screen asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum SetListAction {
    /// Name it.
    Title(String),
    /// Change its songs, or be done with that.
    Edit,
    /// Show a page of its songs, from 0.
    Page(usize),
    /// Move a song, by its place, so many up or down.
    MoveBy(usize, i16),
    /// Pin a song to its place, or not any more.
    Pin(usize),
    /// Take a song out.
    TakeOut(usize),
    /// Take the last change back.
    TakeBack,
    /// Choose songs to add.
    Add,
    /// Put the songs in the order that takes least retuning.
    Order,
    /// Give the search for it up.
    StopOrdering,
    /// What the search with this number tells.
    Told(u64, OrderTold),
    /// Delete the set list, not its songs.
    Delete,
    /// Open the song in this place.
    Song(usize),
    /// Write it for another device.
    Out,
    /// Write it as text.
    OutAsText,
}

/// Returns the open set list.
#[must_use]
pub fn open_list(state: &State) -> Option<&SetList> {
    state.set_list.find(&state.library)
}

/// Returns the songs of a set list in order, each with what it takes to get there.
#[must_use]
pub fn rows<'a>(desk: &'a Desk, list: &SetList) -> Vec<SetRow<'a>> {
    rows_of(desk, list, &songs_by_id(&desk.library))
}

fn songs_by_id(library: &Library) -> HashMap<SongId, &Song> {
    library.songs().iter().map(|song| (song.id, &**song)).collect()
}

fn rows_of<'a>(desk: &'a Desk, list: &SetList, songs: &HashMap<SongId, &'a Song>) -> Vec<SetRow<'a>> {
    let mut before: Option<Stand> = None;
    let mut found = Vec::with_capacity(list.entries.len());
    for entry in &list.entries {
        let Some(&song) = songs.get(&entry.song_id) else { continue };
        let stand = Stand::of(song);
        let way = match &before {
            Some(before) => way_between(desk, before, &stand),
            None => way_from_now(desk, &stand),
        };
        before = Some(stand);
        found.push(SetRow { song, is_pinned: entry.is_pinned, way });
    }
    found
}

/// Returns how many pages so many songs of a set list fill; at least one.
#[must_use]
pub fn pages(songs: usize) -> usize {
    songs.div_ceil(MOST_PLACES).max(1)
}

/// Returns about how many seconds of retuning a set list takes, from what is on the guitar now.
#[must_use]
pub fn total_seconds(rows: &[SetRow<'_>]) -> u64 {
    rows.iter().map(|row| u64::from(row.way.seconds())).sum()
}

/// Returns about how many seconds of retuning each set list takes, from what is on the guitar now.
#[must_use]
pub fn seconds_of_all(desk: &Desk) -> Vec<u64> {
    let songs = songs_by_id(&desk.library);
    desk.library.set_lists().iter().map(|list| total_seconds(&rows_of(desk, list, &songs))).collect()
}

/// Returns about how many seconds the songs last that name a tempo; `None` where none does.
#[must_use]
pub fn lasts_seconds(rows: &[SetRow<'_>]) -> Option<u64> {
    let lengths: Vec<f64> = rows.iter().filter_map(|row| super::playing::lasts_s(row.song)).collect();
    let whole: f64 = lengths.iter().sum();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "seconds of an evening")]
    (!lengths.is_empty()).then_some(whole.round() as u64)
}

/// Opens a set list.
pub(super) fn open(open: &mut OpenSetList, library: &Library, id: SetListId, is_editing: bool) -> Next {
    let on_stage = library.on_stage.as_ref().filter(|on_stage| on_stage.set_list_id == id);
    let page = on_stage.map_or(0, |on_stage| on_stage.place / MOST_PLACES);
    *open = OpenSetList { id: Some(id), is_editing, page, searches: open.searches, ..OpenSetList::default() };
    Next::Show(Screen::SetList)
}

/// Adds a song at the end where it is not in the set list, else takes it out, from every place it stands in.
pub(super) fn toggle(open: &mut OpenSetList, library: &mut Library, song_id: SongId) -> Next {
    let is_in = open.find(library).is_some_and(|list| list.entries.iter().any(|entry| entry.song_id == song_id));
    if is_in {
        open.change(library, |list| list.entries.retain(|entry| entry.song_id != song_id))
    } else {
        add(open, library, song_id)
    }
}

/// Adds a song at the end.
pub(super) fn add(open: &mut OpenSetList, library: &mut Library, song_id: SongId) -> Next {
    open.change(library, |list| list.entries.push(SetEntry::new(song_id)))
}

pub(super) fn update(open: &mut OpenSetList, desk: &mut Desk, action: SetListAction) -> Next {
    let Some(list) = open.find(&desk.library).cloned() else { return Next::Shown };
    let library = &mut desk.library;
    match action {
        SetListAction::Title(text) => return open.change(library, |list| list.title = text).then(Next::Typed),
        SetListAction::Edit => open.is_editing = !open.is_editing,
        SetListAction::Page(page) => open.page = page.min(pages(list.entries.len()) - 1),
        SetListAction::MoveBy(place, by) => {
            let to = isize::try_from(place).ok().and_then(|place| place.checked_add(isize::from(by)));
            let to = to.and_then(|to| usize::try_from(to).ok());
            if let Some(to) = to.filter(|&to| to < list.entries.len() && place < list.entries.len()) {
                return open.change(library, |list| {
                    let entry = list.entries.remove(place);
                    list.entries.insert(to, entry);
                });
            }
        }
        SetListAction::Pin(place) => {
            return open.change(library, |list| {
                if let Some(entry) = list.entries.get_mut(place) {
                    entry.is_pinned = !entry.is_pinned;
                }
            });
        }
        SetListAction::TakeOut(place) => {
            let Some(entry) = list.entries.get(place) else { return Next::Shown };
            let title = library.find_song(entry.song_id).map(|song| song.title.clone()).unwrap_or_default();
            let changed = open.change(library, |list| drop(list.entries.remove(place)));
            return changed.then(Next::done(Notice::TakenOut(title), Undo::Place(list.id, place, entry.clone())));
        }
        SetListAction::TakeBack => return open.take_back(library, &list),
        SetListAction::Add => return Next::ChooseSong(ChoosingFor::SetList),
        SetListAction::Order => return open.look_for_order(desk, &list),
        SetListAction::StopOrdering => open.ordering = None,
        SetListAction::Told(number, told) => return open.hear(library, number, told),
        SetListAction::Delete => {
            if let Some((place, list)) = library.remove_set_list(list.id) {
                let told = Next::done(Notice::SetListDeleted(list.title.clone()), Undo::DeletedSetList(place, list));
                return Next::Leave(Screen::SetList).then(told);
            }
        }
        SetListAction::Song(place) => {
            if let Some(entry) = list.entries.get(place) {
                return Next::Song(entry.song_id);
            }
        }
        SetListAction::Out => return Next::Out(Out::SetList(list.id)),
        SetListAction::OutAsText => return Next::Out(Out::SetListText(list.id)),
    }
    Next::Shown
}

/// Tells whether a change of the open set list's songs can be taken back.
#[must_use]
pub fn can_take_back(state: &State) -> bool {
    open_list(state).is_some_and(|list| state.set_list.before.iter().any(|before| before.entries != list.entries))
}

impl OpenSetList {
    /// Returns the open set list.
    #[must_use]
    pub fn find<'a>(&self, library: &'a Library) -> Option<&'a SetList> {
        self.id.and_then(|id| library.find_set_list(id))
    }

    fn change(&mut self, library: &mut Library, with: impl FnOnce(&mut SetList)) -> Next {
        let Some(before) = self.find(library).cloned() else { return Next::Shown };
        let mut list = before.clone();
        with(&mut list);
        if list.entries != before.entries {
            self.before.push(before);
            let extra = self.before.len().saturating_sub(MOST_TAKEN_BACK);
            self.before.drain(..extra);
        }
        library.replace_set_list(list);
        self.forget_search();
        Next::Changed
    }

    /// Gives the set list the songs it had before its last change, as far as they are still there.
    fn take_back(&mut self, library: &mut Library, now: &SetList) -> Next {
        while let Some(before) = self.before.pop() {
            let mut entries = before.entries;
            entries.retain(|entry| library.find_song(entry.song_id).is_some());
            if entries != now.entries {
                library.replace_set_list(SetList { entries, ..now.clone() });
                self.forget_search();
                return Next::Changed;
            }
        }
        Next::Shown
    }

    /// Looks for the order that takes least, from what is on the guitar now: within the tap where that is quick, else
    /// beside the window.
    fn look_for_order(&mut self, desk: &mut Desk, list: &SetList) -> Next {
        let question = OrderQuestion::new(desk, list);
        if question.is_quick() {
            let answer = question.answer(&|_| true);
            return answer.map_or(Next::Shown, |answer| self.put_in_order(&mut desk.library, answer));
        }
        self.searches += 1;
        let number = self.searches;
        self.ordering = Some(Ordering { number, question: Arc::new(question), done: 0.0 });
        Next::Shown
    }

    /// Hears how a search goes; one that was given up is not heard any more.
    fn hear(&mut self, library: &mut Library, number: u64, told: OrderTold) -> Next {
        let Some(ordering) = self.ordering.as_mut().filter(|ordering| ordering.number == number) else {
            return Next::Shown;
        };
        match told {
            OrderTold::Done(share) => ordering.done = share,
            OrderTold::Answer(answer) => return self.put_in_order(library, *answer),
        }
        Next::Shown
    }

    fn put_in_order(&mut self, library: &mut Library, answer: OrderAnswer) -> Next {
        let Some(before) = self.find(library).cloned() else { return Next::Shown };
        let has_changed = answer.list != before;
        let changed = self.change(library, |list| *list = answer.list);
        self.verdict = Some(answer.verdict);
        self.suggestion = answer.suggestion;
        if has_changed {
            return changed.then(Next::done(Notice::SetListOrdered(before.title.clone()), Undo::SetList(before)));
        }
        changed
    }
}
