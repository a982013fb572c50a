//! The Songs tab: songs and set lists, found as one types, each with what it takes from here.

use std::collections::HashMap;

use crate::instrument::{Fret, Strung};
use crate::songs::{Changeover, ChosenTuning, SetList, SetListId, Song, SongId, Stand, Transposition, key_of_chord};
use crate::store::demo;
use crate::theory::{Chord, Semitones};

use super::desk::Desk;
use super::guitar::Guitar;
use super::next::Next;
use super::notice::Notice;
use super::screen::Screen;
use super::set_list::OpenSetList;
use super::song::OpenSong;
use super::state::State;
use super::undo::Undo;

/// What the Songs tab lists.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum SongsView {
    /// The songs.
    #[default]
    Songs,
    /// The set lists.
    SetLists,
}

/// How the songs stand in the list, where nothing is searched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum SongsSort {
    /// By title.
    #[default]
    Title,
    /// By tuning, the same ones together; then by title.
    Tuning,
    /// Those played last first; then by title.
    Lately,
}

/// What a song is chosen for.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum ChoosingFor {
    /// To stand in a set list.
    #[default]
    SetList,
    /// To take the shape shown in Shapes.
    Shape,
}

/// What the Songs tab shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SongsList {
    /// Songs or set lists.
    pub view: SongsView,
    /// How the songs stand.
    pub sort: SongsSort,
    /// What is searched.
    pub search: String,
    /// What is searched where a song is chosen.
    pub choosing_search: String,
    /// What it is chosen for.
    pub choosing: ChoosingFor,
}

/// Returns the songs of the list as the player sorts it; the best first where something is searched.
#[must_use]
pub fn sorted_songs(state: &State) -> Vec<&Song> {
    let mut found = state.library.find_songs(&state.songs.search);
    if !state.songs.search.trim().is_empty() {
        return found;
    }
    // Stable: the titles stay in order among what is alike.
    match state.songs.sort {
        SongsSort::Title => {}
        SongsSort::Tuning => found.sort_by_cached_key(|song| {
            let pitches: Vec<u8> = song.tuning.pitches.pitches().iter().map(|pitch| pitch.number()).collect();
            (song.instrument_id.clone(), super::song::tuning_name(state, song).to_lowercase(), pitches)
        }),
        SongsSort::Lately => {
            let places: HashMap<SongId, usize> =
                state.library.recent_song_ids().iter().enumerate().map(|(place, &id)| (id, place)).collect();
            found.sort_by_key(|song| places.get(&song.id).copied().unwrap_or(usize::MAX));
        }
    }
    found
}

/// Lists the songs that can be chosen for what a song is chosen for.
#[must_use]
pub fn list_choices(state: &State) -> Vec<&Song> {
    let mut found = state.library.find_songs(&state.songs.choosing_search);
    if state.songs.choosing == ChoosingFor::Shape {
        found.retain(|song| fits_neck(state, song));
    }
    found
}

/// Tells whether the song is for the instrument and the tuning that are on the guitar.
#[must_use]
pub(super) fn is_in_tuning(desk: &Desk, song: &Song) -> bool {
    song.instrument_id == desk.instrument().id() && song.tuning.pitches == desk.guitar.tuning()
}

/// Tells whether the song is for the instrument and the tuning whose neck is shown.
#[must_use]
pub(super) fn fits_neck(desk: &Desk, song: &Song) -> bool {
    song.instrument_id == desk.instrument().id() && song.tuning.pitches == desk.neck_tuning()
}

/// Returns what it takes from what is on the guitar now to `stand`.
#[must_use]
pub(super) fn way_from_now(desk: &Desk, stand: &Stand) -> Changeover {
    let now = desk.guitar.progress().on_guitar().courses();
    let from = (desk.instrument().id(), now, desk.guitar.capo());
    let strung = desk.strung().clone().with_bridge(desk.bridge());
    Changeover::between(&strung, from, stand, desk.library.settings.reference())
}

/// Returns what it takes from one song to the next.
#[must_use]
pub(super) fn way_between(desk: &Desk, from: &Stand, to: &Stand) -> Changeover {
    let strung = strung_for(desk, &from.instrument_id);
    Changeover::between_songs(&strung, from, to, desk.library.settings.reference())
}

/// Returns an instrument with the strings it wears as the player has it. One that is not in the catalogue is taken for the
/// instrument at hand.
#[must_use]
pub(super) fn strung_for(desk: &Desk, instrument_id: &str) -> Strung {
    let on = |guitar: &Guitar| guitar.strung().clone().with_bridge(guitar.bridge());
    desk.guitar_of(instrument_id).map_or_else(|| on(&desk.guitar), |guitar| on(&guitar))
}

/// Returns the tuning on the guitar, as a song keeps it.
#[must_use]
pub(super) fn tuning_now(desk: &Desk) -> ChosenTuning {
    let pitches = desk.guitar.tuning();
    ChosenTuning { id: desk.tuning_name(&pitches).map(|(_, id)| id), pitches }
}

/// What the Songs tab asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum SongsAction {
    /// Look for this.
    Search(String),
    /// List songs or set lists.
    View(SongsView),
    /// Begin a song in what is on the guitar now.
    New,
    /// Begin a set list.
    NewList,
    /// Open a song.
    Open(SongId),
    /// Open a set list.
    OpenList(SetListId),
    /// Take in the invented songs to try the app with.
    Demo,
    /// Look for this where a song is chosen.
    ChoosingSearch(String),
    /// Choose this song for what one is chosen for; where it is to stand in a set list and does, it is taken out.
    Choose(SongId),
    /// Let it stand in the set list once more.
    ChooseAgain(SongId),
    /// Sort the list by the next way there is.
    Sort,
    /// Delete a song, which can be taken back.
    Delete(SongId),
    /// Choose the shape shown in Shapes for its chord in the song opened last, or in one that is then asked for.
    UseShape,
    /// Ask in which song the shape shown in Shapes is to be used.
    UseShapeIn,
}

pub(super) fn update(
    list: &mut SongsList,
    open: &mut OpenSong,
    set_list: &mut OpenSetList,
    desk: &mut Desk,
    action: SongsAction,
) -> Next {
    match action {
        SongsAction::Search(text) => list.search = text,
        SongsAction::View(view) => list.view = view,
        SongsAction::New => return Next::EditSong(Box::new(super::song_edit::begun(desk))),
        SongsAction::NewList => return Next::SetList(desk.library.add_set_list(SetList::new("")), true),
        SongsAction::Open(id) => return Next::Song(id),
        SongsAction::OpenList(id) => return Next::SetList(id, false),
        SongsAction::Demo => {
            let demo = demo();
            let items = desk.library.compare(&demo);
            let (done, taken) = desk.library.import(&demo, &items);
            return Next::done(Notice::TakenIn(done.added), Undo::TakenIn(Box::new(taken), None));
        }
        SongsAction::ChoosingSearch(text) => list.choosing_search = text,
        SongsAction::Choose(id) => {
            return match list.choosing {
                ChoosingFor::SetList => super::set_list::toggle(set_list, &mut desk.library, id),
                ChoosingFor::Shape => use_shape(open, desk, id).then(Next::Leave(Screen::SongChoice)),
            };
        }
        SongsAction::ChooseAgain(id) => return super::set_list::add(set_list, &mut desk.library, id),
        SongsAction::Sort => {
            list.sort = match list.sort {
                SongsSort::Title => SongsSort::Tuning,
                SongsSort::Tuning => SongsSort::Lately,
                SongsSort::Lately => SongsSort::Title,
            };
        }
        SongsAction::Delete(id) => return super::song_edit::delete_song(&mut desk.library, id),
        SongsAction::UseShape => {
            let last = open.find(&desk.library).filter(|song| fits_neck(desk, song)).map(|song| song.id);
            return last.map_or_else(|| ask_for_song(list, ChoosingFor::Shape), |id| use_shape(open, desk, id));
        }
        SongsAction::UseShapeIn => return ask_for_song(list, ChoosingFor::Shape),
    }
    Next::Shown
}

/// Asks for a song.
pub(super) fn ask_for_song(list: &mut SongsList, purpose: ChoosingFor) -> Next {
    list.choosing = purpose;
    list.choosing_search.clear();
    Next::Show(Screen::SongChoice)
}

/// Chooses the shape shown in Shapes for its chord, as the song names it.
fn use_shape(open: &mut OpenSong, desk: &mut Desk, id: SongId) -> Next {
    let Some(shown) = desk.shapes.shape().cloned() else { return Next::Shown };
    let Some(mut song) = desk.library.find_song(id).cloned() else { return Next::Shown };
    let before = song.clone();
    let chord = as_played(&song, shown.chord(), desk.board().capo());
    song.choose_shape(chord, Some(shown.shape()));
    let title = song.title.clone();
    desk.library.replace_song(song);
    open.id = Some(id);
    Next::done(Notice::ShapeUsed { chord, title }, Undo::Song(Box::new(before)))
}

/// Returns what the song calls a chord that sounds over a capo: as its chart spells it, where that has it.
fn as_played(song: &Song, sounding: Chord, capo: Fret) -> Chord {
    let down = Semitones::ZERO - capo.semitones();
    let lowered = Transposition::by(key_of_chord(sounding), down).chord(sounding);
    let is_it = |chord: &Chord| {
        chord.quality() == lowered.quality()
            && chord.root().class() == lowered.root().class()
            && chord.bass().class() == lowered.bass().class()
    };
    let chart = song.read_chart().chords();
    chart.into_iter().map(|(chord, _)| chord).find(is_it).unwrap_or(lowered)
}
