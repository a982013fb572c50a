//! On stage: a set list played song by song, with the retuning for the next opened from what is on the guitar now.

use crate::songs::{Changeover, SetList, Song, SongId, Stand};
use crate::store::OnStage;

use super::desk::Desk;
use super::guitar::Stage;
use super::next::Next;
use super::screen::Screen;
use super::set_list::OpenSetList;
use super::songs::way_between;

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
pub fn under_way(desk: &Desk) -> Option<UnderWay<'_>> {
    let on_stage = desk.library.on_stage.as_ref()?;
    let list = desk.library.find_set_list(on_stage.set_list_id)?;
    // Songs may have been taken out since.
    let place = on_stage.place.min(list.entries.len().checked_sub(1)?);
    let song = desk.library.find_song(list.entries.get(place)?.song_id)?;
    Some(UnderWay { list, place, song })
}

/// Returns the song after the one played, with what it takes to get there.
#[must_use]
pub fn next_song(desk: &Desk) -> Option<(&Song, Changeover)> {
    let now = under_way(desk)?;
    let next = desk.library.find_song(now.list.entries.get(now.place + 1)?.song_id)?;
    Some((next, way_between(desk, &Stand::of(now.song), &Stand::of(next))))
}

/// At launch: goes on where the set list was left.
pub(super) fn resume(open: &mut OpenSetList, desk: &mut Desk) -> Next {
    let Some(now) = under_way(desk) else { return Next::Shown };
    let (id, list) = (now.song.id, now.list.id);
    let is_for_it =
        desk.guitar.target() == Some(&now.song.tuning.pitches) && now.song.instrument_id == desk.instrument().id();
    open.id = Some(list);
    if is_for_it && !matches!(desk.guitar.stage(), Stage::Idle | Stage::Done) {
        desk.guitar.retune_for(id);
    } else if desk.guitar.course().is_none() {
        return Next::Play(id);
    }
    Next::Shown
}

/// Plays a song: from its first chord where its tuning is on the guitar, else by way of the retuning. Where a string would
/// not stand that, the player is told and nothing else happens.
pub(super) fn perform(desk: &mut Desk, id: SongId) -> Next {
    let Some(song) = desk.library.find_song(id).cloned() else { return Next::Shown };
    super::song::refusal(desk, &song).map_or_else(|| begin(desk, &song), Next::Tell)
}

fn begin(desk: &mut Desk, song: &Song) -> Next {
    super::song::retune_for(desk, song).unwrap_or(Next::Play(song.id))
}

fn go_to(open: &mut OpenSetList, desk: &mut Desk, place: usize) -> Next {
    let Some(list) = open.find(&desk.library) else { return Next::Shown };
    let Some(entry) = list.entries.get(place) else { return Next::Shown };
    let (set_list_id, song) = (list.id, entry.song_id);
    let Some(song) = desk.library.find_song(song).cloned() else { return Next::Shown };
    if let Some(refusal) = super::song::refusal(desk, &song) {
        return Next::Tell(refusal);
    }
    desk.library.on_stage = Some(OnStage { set_list_id, place });
    open.is_editing = false;
    begin(desk, &song)
}

pub(super) fn update(open: &mut OpenSetList, desk: &mut Desk, action: StageAction) -> Next {
    let place = under_way(desk).map(|now| (now.list.id, now.place));
    match (action, place) {
        (StageAction::Begin, _) => go_to(open, desk, 0),
        (StageAction::From(place), _) => go_to(open, desk, place),
        (StageAction::GoOn, Some((id, place))) => {
            open.id = Some(id);
            go_to(open, desk, place)
        }
        (StageAction::Next, Some((id, place))) => {
            open.id = Some(id);
            if next_song(desk).is_some() { go_to(open, desk, place + 1) } else { end(desk) }
        }
        (StageAction::Before, Some((id, place))) => {
            open.id = Some(id);
            place.checked_sub(1).map_or(Next::Shown, |before| go_to(open, desk, before))
        }
        (StageAction::Play, _) => desk.waiting_song().map_or(Next::Shown, |song| Next::Play(song.id)),
        (StageAction::End, _) => end(desk),
        (StageAction::GoOn | StageAction::Next | StageAction::Before, None) => Next::Shown,
    }
}

fn end(desk: &mut Desk) -> Next {
    desk.library.on_stage = None;
    desk.guitar.forget_song();
    Next::Leave(Screen::Playing)
}
