//! A set list opened: its songs in order, what each retuning takes, and the order that takes least.

use std::sync::Arc;

use crate::songs::{Changeover, SetEntry, SetList, SetListId, Song, SongId, Stand};

use super::action::Update;
use super::notice::Notice;
use super::ordering::{OrderAnswer, OrderQuestion, OrderTold, Ordering};
use super::screen::Screen;
use super::songs::{ChoosingFor, way_between, way_from_now};
use super::state::State;
use super::undo::Undo;

/// So many changes of a set list can be taken back.
const MOST_TAKEN_BACK: usize = 100;

/// The set list that is open, and what was found out about its order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OpenSetList {
    /// Which.
    pub id: Option<SetListId>,
    /// Whether its songs are being moved, pinned and taken out.
    pub is_editing: bool,
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
    state.set_list.id.and_then(|id| state.library.find_set_list(id))
}

/// Returns the songs of a set list in order, each with what it takes to get there.
#[must_use]
pub fn rows<'a>(state: &'a State, list: &SetList) -> Vec<SetRow<'a>> {
    let mut before: Option<Stand> = None;
    let mut found = Vec::with_capacity(list.entries.len());
    for entry in &list.entries {
        let Some(song) = state.library.find_song(entry.song_id) else { continue };
        let stand = Stand::of(song);
        let way = match &before {
            Some(before) => way_between(state, before, &stand),
            None => way_from_now(state, &stand),
        };
        before = Some(stand);
        found.push(SetRow { song, is_pinned: entry.is_pinned, way });
    }
    found
}

/// Returns about how many seconds of retuning a set list takes, from what is on the guitar now.
#[must_use]
pub fn total_seconds(rows: &[SetRow<'_>]) -> u64 {
    rows.iter().map(|row| u64::from(row.way.seconds())).sum()
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
pub(super) fn open(state: &mut State, id: SetListId, is_editing: bool) -> Update {
    let searches = state.set_list.searches;
    state.set_list = OpenSetList { id: Some(id), is_editing, searches, ..OpenSetList::default() };
    state.show(Screen::SetList)
}

/// Adds a song at the end where it is not in the set list, else takes it out, from every place it stands in.
pub(super) fn toggle(state: &mut State, song_id: SongId) -> Update {
    let is_in = open_list(state).is_some_and(|list| list.entries.iter().any(|entry| entry.song_id == song_id));
    if is_in {
        change(state, |list| list.entries.retain(|entry| entry.song_id != song_id))
    } else {
        add(state, song_id)
    }
}

/// Adds a song at the end.
pub(super) fn add(state: &mut State, song_id: SongId) -> Update {
    change(state, |list| list.entries.push(SetEntry::new(song_id)))
}

fn change(state: &mut State, with: impl FnOnce(&mut SetList)) -> Update {
    let Some(before) = open_list(state).cloned() else { return Update::Shown };
    let mut list = before.clone();
    with(&mut list);
    state.forget_undo();
    if list.entries != before.entries {
        state.set_list.before.push(before);
        let extra = state.set_list.before.len().saturating_sub(MOST_TAKEN_BACK);
        state.set_list.before.drain(..extra);
    }
    state.library.replace_set_list(list);
    state.set_list.forget_search();
    Update::Shown
}

pub(super) fn update(state: &mut State, action: SetListAction) -> Update {
    let Some(list) = open_list(state).cloned() else { return Update::Shown };
    match action {
        SetListAction::Title(text) => {
            change(state, |list| list.title = text);
            return Update::Typed;
        }
        SetListAction::Edit => state.set_list.is_editing = !state.set_list.is_editing,
        SetListAction::MoveBy(place, by) => {
            let to = isize::try_from(place).ok().and_then(|place| place.checked_add(isize::from(by)));
            let to = to.and_then(|to| usize::try_from(to).ok());
            if let Some(to) = to.filter(|&to| to < list.entries.len() && place < list.entries.len()) {
                return change(state, |list| {
                    let entry = list.entries.remove(place);
                    list.entries.insert(to, entry);
                });
            }
        }
        SetListAction::Pin(place) => {
            return change(state, |list| {
                if let Some(entry) = list.entries.get_mut(place) {
                    entry.is_pinned = !entry.is_pinned;
                }
            });
        }
        SetListAction::TakeOut(place) => {
            let Some(entry) = list.entries.get(place) else { return Update::Shown };
            let title = state.library.find_song(entry.song_id).map(|song| song.title.clone()).unwrap_or_default();
            change(state, |list| drop(list.entries.remove(place)));
            state.tell_done(Notice::TakenOut(title), Undo::Place(list.id, place, entry.clone()));
            return Update::Shown;
        }
        SetListAction::TakeBack => return take_back(state, &list),
        SetListAction::Add => {
            state.songs.choosing = ChoosingFor::SetList;
            state.songs.choosing_search.clear();
            return state.show(Screen::SongChoice);
        }
        SetListAction::Order => return look_for_order(state, &list),
        SetListAction::StopOrdering => state.set_list.ordering = None,
        SetListAction::Told(number, told) => return hear(state, number, told),
        SetListAction::Delete => {
            if let Some((place, list)) = state.library.remove_set_list(list.id) {
                state.leave(Screen::SetList);
                state.tell_done(Notice::SetListDeleted(list.title.clone()), Undo::DeletedSetList(place, list));
                return Update::Shown;
            }
        }
        SetListAction::Song(place) => {
            if let Some(entry) = list.entries.get(place) {
                return super::song::open(state, entry.song_id);
            }
        }
        SetListAction::Out => return super::exchange::out(state, super::exchange::Out::SetList(list.id)),
        SetListAction::OutAsText => return super::exchange::out(state, super::exchange::Out::SetListText(list.id)),
    }
    Update::Shown
}

/// Tells whether a change of the open set list's songs can be taken back.
#[must_use]
pub fn can_take_back(state: &State) -> bool {
    open_list(state).is_some_and(|list| state.set_list.before.iter().any(|before| before.entries != list.entries))
}

/// Gives the set list the songs it had before its last change, as far as they are still there.
fn take_back(state: &mut State, now: &SetList) -> Update {
    while let Some(before) = state.set_list.before.pop() {
        let mut entries = before.entries;
        entries.retain(|entry| state.library.find_song(entry.song_id).is_some());
        if entries != now.entries {
            state.forget_undo();
            state.library.replace_set_list(SetList { entries, ..now.clone() });
            state.set_list.forget_search();
            break;
        }
    }
    Update::Shown
}

/// Looks for the order that takes least, from what is on the guitar now: within the tap where that is quick, else beside
/// the window.
fn look_for_order(state: &mut State, list: &SetList) -> Update {
    let question = OrderQuestion::new(state, list);
    if question.is_quick() {
        return question.answer(&|_| true).map_or(Update::Shown, |answer| put_in_order(state, answer));
    }
    state.set_list.searches += 1;
    let number = state.set_list.searches;
    state.set_list.ordering = Some(Ordering { number, question: Arc::new(question), done: 0.0 });
    Update::Shown
}

/// Hears how a search goes; one that was given up is not heard any more.
fn hear(state: &mut State, number: u64, told: OrderTold) -> Update {
    let Some(ordering) = state.set_list.ordering.as_mut().filter(|ordering| ordering.number == number) else {
        return Update::Shown;
    };
    match told {
        OrderTold::Done(share) => ordering.done = share,
        OrderTold::Answer(answer) => return put_in_order(state, *answer),
    }
    Update::Shown
}

fn put_in_order(state: &mut State, answer: OrderAnswer) -> Update {
    let Some(before) = open_list(state).cloned() else { return Update::Shown };
    let has_changed = answer.list != before;
    change(state, |list| *list = answer.list);
    if has_changed {
        state.tell_done(Notice::SetListOrdered(before.title.clone()), Undo::SetList(before));
    }
    state.set_list.verdict = Some(answer.verdict);
    state.set_list.suggestion = answer.suggestion;
    Update::Shown
}

/// After any action: a search is given up when its set list is not what is shown any more.
pub(super) fn settle(state: &mut State) {
    if state.screen() != Screen::SetList {
        state.set_list.ordering = None;
    }
}
