//! On stage: a set list played song by song, with the retuning for the next opened from what is on the guitar now.

use crate::songs::{Changeover, SetList, Song, SongId, Stand};
use crate::store::OnStage;

use super::action::Update;
use super::guitar::Stage;
use super::screen::Screen;
use super::songs::way_between;
use super::state::State;

/// What a player on stage asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageAction {
    /// Play the open set list from its first song.
    Begin,
    /// Play it from the song in this place.
    From(usize),
    /// The song it was left at.
    GoOn,
    /// The next song.
    Next,
    /// The song before.
    Before,
    /// Play the song that the retuning was for.
    Play,
    /// No set list is under way any more.
    End,
}

/// A set list under way.
#[derive(Clone, Copy, Debug)]
pub struct UnderWay<'a> {
    /// Which.
    pub list: &'a SetList,
    /// At which of its entries.
    pub place: usize,
    /// The song there.
    pub song: &'a Song,
}

/// Returns the set list under way; `None` when none is, or it is not there any more.
#[must_use]
pub fn under_way(state: &State) -> Option<UnderWay<'_>> {
    let on_stage = state.library.on_stage.as_ref()?;
    let list = state.library.find_set_list(on_stage.set_list_id)?;
    // Songs may have been taken out since.
    let place = on_stage.place.min(list.entries.len().checked_sub(1)?);
    let song = state.library.find_song(list.entries.get(place)?.song_id)?;
    Some(UnderWay { list, place, song })
}

/// Returns the song after the one played, with what it takes to get there.
#[must_use]
pub fn next_song(state: &State) -> Option<(&Song, Changeover)> {
    let now = under_way(state)?;
    let next = state.library.find_song(now.list.entries.get(now.place + 1)?.song_id)?;
    Some((next, way_between(state, &Stand::of(now.song), &Stand::of(next))))
}

/// At launch: goes on where the set list was left.
pub(super) fn resume(state: &mut State) {
    let Some(now) = under_way(state) else { return };
    let (song, list) = (now.song.clone(), now.list.id);
    state.set_list.id = Some(list);
    let is_for_it =
        state.guitar.target() == Some(&song.tuning.pitches) && song.instrument_id == state.instrument().id();
    if is_for_it && !matches!(state.guitar.stage(), Stage::Idle | Stage::Done) {
        state.guitar.retune_for(song.id);
    } else if state.guitar.course().is_none() {
        super::playing::open(state, song.id);
    }
}

/// Plays a song: from its first chord where its tuning is on the guitar, else by way of the retuning. Where a string would
/// not stand that, the player is told and nothing else happens.
pub(super) fn perform(state: &mut State, id: SongId) -> Update {
    let Some(song) = state.library.find_song(id).cloned() else { return Update::Shown };
    match super::song::refusal(state, &song) {
        Some(refusal) => state.tell(refusal),
        None => begin(state, &song),
    }
    Update::Shown
}

fn begin(state: &mut State, song: &Song) {
    if !super::song::retune_for(state, song) {
        super::playing::open(state, song.id);
    }
}

fn go_to(state: &mut State, place: usize) -> Update {
    let Some(list) = super::set_list::open_list(state) else { return Update::Shown };
    let Some(entry) = list.entries.get(place) else { return Update::Shown };
    let (set_list_id, song) = (list.id, entry.song_id);
    let Some(song) = state.library.find_song(song).cloned() else { return Update::Shown };
    if let Some(refusal) = super::song::refusal(state, &song) {
        state.tell(refusal);
        return Update::Shown;
    }
    state.library.on_stage = Some(OnStage { set_list_id, place });
    state.set_list.is_editing = false;
    begin(state, &song);
    Update::Shown
}

pub(super) fn update(state: &mut State, action: StageAction) -> Update {
    let place = under_way(state).map(|now| (now.list.id, now.place));
    match (action, place) {
        (StageAction::Begin, _) => go_to(state, 0),
        (StageAction::From(place), _) => go_to(state, place),
        (StageAction::GoOn, Some((id, place))) => {
            state.set_list.id = Some(id);
            go_to(state, place)
        }
        (StageAction::Next, Some((id, place))) => {
            state.set_list.id = Some(id);
            if next_song(state).is_some() {
                return go_to(state, place + 1);
            }
            end(state)
        }
        (StageAction::Before, Some((id, place))) => {
            state.set_list.id = Some(id);
            place.checked_sub(1).map_or(Update::Shown, |before| go_to(state, before))
        }
        (StageAction::Play, _) => match state.waiting_song().map(|song| song.id) {
            Some(id) => super::playing::open(state, id),
            None => Update::Shown,
        },
        (StageAction::End, _) => end(state),
        (StageAction::GoOn | StageAction::Next | StageAction::Before, None) => Update::Shown,
    }
}

fn end(state: &mut State) -> Update {
    state.library.on_stage = None;
    state.guitar.forget_song();
    if state.screen() == Screen::Playing {
        state.leave(Screen::Playing);
    }
    Update::Shown
}
