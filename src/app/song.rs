//! A song opened: its chords with their shapes, another key, another capo, another tuning.

use crate::instrument::{Catalog, Fret, Fretboard};
use crate::shapes::{BassRule, RankedShape, Shape, ShapeSearch, Style};
use crate::songs::{CapoSuggestion, Changeover, ChosenTuning, Song, SongId, Stand, ToHold, suggest_capos};
use crate::store::Wanted;
use crate::theory::{Chord, Semitones};

use super::action::Update;
use super::favourites::Habits;
use super::guitar::Guitar;
use super::notice::Notice;
use super::retune::start;
use super::screen::Screen;
use super::shapes::MOST_SHAPES;
use super::song_tuning::TuningFor;
use super::songs::{is_in_tuning, way_from_now};
use super::state::State;
use super::undo::Undo;

/// The highest fret a capo is suggested at.
const HIGHEST_CAPO: u8 = 7;
/// How many places for the capo are suggested.
const CAPOS_SHOWN: usize = 3;
/// On more courses than this a chosen shape is looked for among the best only: all would take seconds.
const MOST_COURSES_SEARCHED: usize = 7;

/// The song that is open, and what of it is looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OpenSong {
    /// Which; the one opened last.
    pub id: Option<SongId>,
    /// Whether places for the capo are suggested.
    pub shows_capos: bool,
    /// The tuning it is compared with.
    pub other: Option<ChosenTuning>,
    /// The chord whose shapes are turned through, and which of them.
    pub chord: Option<(Chord, usize)>,
}

/// A chord of the song and how it is held.
#[derive(Clone, Debug, PartialEq)]
pub struct SongChord {
    /// The chord as the song names it.
    pub chord: Chord,
    /// The shape chosen, else the best; `None` when no hand can hold it there.
    pub found: Option<RankedShape>,
    /// Whether the player chose it.
    pub is_chosen: bool,
}

/// What the song's screens ask for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SongAction {
    /// Change it.
    Edit,
    /// Play it: from what is on the guitar, by way of the retuning.
    Play,
    /// Move it by so many semitones, shapes found anew.
    Transpose(i16),
    /// Show places for the capo, or not any more.
    ShowCapos,
    /// Move the capo, what sounds stays.
    TakeCapo(Fret),
    /// Look at the shapes of a chord: an index into [`chords`].
    Chord(usize),
    /// Turn to the shape so many further.
    ChordBy(i16),
    /// Choose the shape that is looked at for its chord.
    UseShape,
    /// Choose none.
    DropShape,
    /// Look at it among the shapes, where the song's tuning is on the guitar.
    ToShapes,
    /// Choose a tuning to compare with.
    Compare,
    /// Take the tuning it is compared with.
    TakeTuning,
    /// Write it as text.
    Out,
}

/// Returns the open song.
#[must_use]
pub fn open_song(state: &State) -> Option<&Song> {
    state.song.id.and_then(|id| state.library.find_song(id))
}

/// Returns the neck a song is played on; `None` when the catalogue does not know its instrument, or it does not fit.
#[must_use]
pub fn board_of(song: &Song, tuning: &ChosenTuning, capo: Fret) -> Option<Fretboard<'static>> {
    let instrument = Catalog::bundled().find_instrument(&song.instrument_id)?;
    Fretboard::new(instrument, &tuning.pitches, capo).ok()
}

fn search(style: Style) -> ShapeSearch {
    ShapeSearch { style, ..ShapeSearch::best(MOST_SHAPES) }
}

/// Returns the shape for what is to be held: the first that the player marked, else the best.
#[must_use]
pub(super) fn best_shape(habits: Habits<'_>, song: &Song, hold: ToHold) -> Option<RankedShape> {
    let board = board_of(song, &song.tuning, hold.capo)?;
    let marked = habits.favourites(&song.tuning.pitches, hold.sounding, &board).into_iter().next();
    let best = || ShapeSearch { limit: 1, ..search(habits.style) }.find(hold.sounding, &board).shapes;
    marked.or_else(|| best().into_iter().next())
}

/// Returns the shapes of a chord of the song: those the player marked, then the others, best first; the one chosen for it
/// before all where it is not among them.
#[must_use]
pub fn shapes_of(habits: Habits<'_>, song: &Song, chord: Chord) -> (Vec<RankedShape>, Option<usize>) {
    let hold = song.to_hold(chord);
    let Some(board) = board_of(song, &song.tuning, hold.capo) else { return (Vec::new(), None) };
    let mut found = habits.favourites(&song.tuning.pitches, hold.sounding, &board);
    let ranked = search(habits.style).find(hold.sounding, &board).shapes.into_iter();
    let others: Vec<_> = ranked.filter(|other| found.iter().all(|marked| marked.shape() != other.shape())).collect();
    found.extend(others);
    let Some(chosen) = song.shape_of(chord) else { return (found, None) };
    if let Some(place) = found.iter().position(|ranked| *ranked.shape() == chosen) {
        return (found, Some(place));
    }
    let any = ShapeSearch { limit: usize::MAX, bass: BassRule::Any, style: Style::Picked, ..search(habits.style) };
    let is_small = board.courses() <= MOST_COURSES_SEARCHED;
    let all = if is_small { any.find(hold.sounding, &board).shapes } else { Vec::new() };
    let ranked = all.into_iter().find(|ranked| *ranked.shape() == chosen);
    let is_held = ranked.is_some();
    found.splice(0..0, ranked);
    (found, is_held.then_some(0))
}

/// Returns how a chord of the song is held.
#[must_use]
pub fn held(habits: Habits<'_>, song: &Song, chord: Chord) -> SongChord {
    if song.shape_of(chord).is_some()
        && let (mut found, Some(place)) = shapes_of(habits, song, chord)
    {
        return SongChord { chord, found: Some(found.swap_remove(place)), is_chosen: true };
    }
    SongChord { chord, found: best_shape(habits, song, song.to_hold(chord)), is_chosen: false }
}

/// Returns the chords of the chart in the order they appear, each with its shape.
#[must_use]
pub fn chords(habits: Habits<'_>, song: &Song) -> Vec<SongChord> {
    let chart = song.read_chart().chords();
    chart.into_iter().map(|(chord, _)| held(habits, song, chord)).collect()
}

/// Returns the song in the tuning it is compared with.
#[must_use]
pub fn in_other_tuning(state: &State) -> Option<Song> {
    let habits = state.habits();
    let (song, other) = (open_song(state)?, state.song.other.clone()?);
    Some(song.in_tuning(other, &mut |song, hold| best_shape(habits, song, hold).map(|ranked| ranked.shape().clone())))
}

/// Returns the places for the capo where the song's shapes are easiest.
#[must_use]
pub fn capos(habits: Habits<'_>, song: &Song) -> Vec<CapoSuggestion> {
    let mut cost = |hold: ToHold| best_shape(habits, song, hold).map(|ranked| ranked.cost());
    let found = suggest_capos(song, Fret::new(HIGHEST_CAPO), &mut cost);
    found.into_iter().take(CAPOS_SHOWN).collect()
}

/// Opens a song.
pub(super) fn open(state: &mut State, id: SongId) -> Update {
    if state.library.find_song(id).is_some() {
        state.song = OpenSong { id: Some(id), ..OpenSong::default() };
        state.show(Screen::Song);
    }
    Update::Shown
}

pub(super) fn update(state: &mut State, action: SongAction) -> Update {
    let Some(song) = open_song(state).cloned() else { return Update::Shown };
    let habits = state.habits();
    let mut find = |song: &Song, hold: ToHold| best_shape(habits, song, hold).map(|found| found.shape().clone());
    match action {
        SongAction::Edit => return super::song_edit::edit(state, song),
        SongAction::Play => return super::stage::perform(state, song.id),
        SongAction::Transpose(by) => {
            let moved = song.transposed(Semitones::new(by), &mut find);
            return change(state, song, moved);
        }
        SongAction::ShowCapos => state.song.shows_capos = !state.song.shows_capos,
        SongAction::TakeCapo(capo) => {
            let moved = song.with_capo(capo, &mut find);
            state.song.shows_capos = false;
            return change(state, song, moved);
        }
        SongAction::Compare => return super::song_tuning::open(state, TuningFor::Comparison),
        SongAction::TakeTuning => {
            if let Some(moved) = in_other_tuning(state) {
                state.leave(Screen::SongCompare);
                return change(state, song, moved);
            }
        }
        SongAction::Out => return super::exchange::out(state, super::exchange::Out::SongText(song.id)),
        chord => return on_chord(state, song, &chord),
    }
    Update::Shown
}

/// Moves the capo of a song, what sounds stays.
pub(super) fn move_capo(state: &mut State, id: SongId, capo: Fret) -> Update {
    let Some(song) = state.library.find_song(id).cloned() else { return Update::Shown };
    let habits = state.habits();
    let mut find = |song: &Song, hold: ToHold| best_shape(habits, song, hold).map(|found| found.shape().clone());
    let moved = song.with_capo(capo, &mut find);
    state.library.replace_song(moved);
    Update::Shown
}

fn change(state: &mut State, before: Song, moved: Song) -> Update {
    if before == moved {
        return Update::Shown;
    }
    let title = moved.title.clone();
    state.library.replace_song(moved);
    state.tell_done(Notice::SongChanged(title), Undo::Song(Box::new(before)));
    Update::Shown
}

/// The actions on one chord of the song.
fn on_chord(state: &mut State, song: Song, action: &SongAction) -> Update {
    if let SongAction::Chord(index) = *action {
        let chart = song.read_chart().chords();
        if let Some(&(chord, _)) = chart.get(index) {
            let chosen = shapes_of(state.habits(), &song, chord).1;
            state.song.chord = Some((chord, chosen.unwrap_or(0)));
            return state.show(Screen::SongChord);
        }
        return Update::Shown;
    }
    let Some((chord, index)) = state.song.chord else { return Update::Shown };
    let (found, _) = shapes_of(state.habits(), &song, chord);
    let shown: Option<&RankedShape> = found.get(index);
    let choose = |state: &mut State, shape: Option<&Shape>| {
        let mut changed = song.clone();
        changed.choose_shape(chord, shape);
        state.library.replace_song(changed);
        Update::Shown
    };
    match *action {
        SongAction::ChordBy(by) => {
            let last = found.len().saturating_sub(1);
            let step = usize::from(by.unsigned_abs());
            let next = if by < 0 { index.saturating_sub(step) } else { (index + step).min(last) };
            state.song.chord = Some((chord, next));
        }
        SongAction::UseShape => {
            if let Some(shown) = shown {
                state.forget_undo();
                let update = choose(state, Some(shown.shape()));
                state.leave(Screen::SongChord);
                return update;
            }
        }
        SongAction::DropShape => {
            let before = song.clone();
            let update = choose(state, None);
            // The chosen shape may have stood in front of the list.
            state.song.chord = Some((chord, 0));
            state.tell_done(Notice::SongChanged(before.title.clone()), Undo::Song(Box::new(before)));
            return update;
        }
        SongAction::ToShapes => {
            if let Some(shown) = shown.filter(|_| is_in_tuning(state, &song)) {
                let (sounding, shape) = (song.to_hold(chord).sounding, shown.shape().clone());
                state.look_back();
                if state.guitar.capo() != song.capo {
                    state.set_capo(song.capo);
                }
                state.open_shape(sounding, &shape);
                return Update::Shown;
            }
        }
        _ => {}
    }
    Update::Shown
}

/// Returns what keeps a song from being played: a string that would not stand the retuning, on the instrument it is for,
/// as the player has that. A song in tune, or of an instrument the catalogue does not know, can be played as it is.
pub(super) fn refusal(state: &State, song: &Song) -> Option<Notice> {
    let guitar = state.guitar_of(&song.instrument_id)?;
    if way_for(state, &guitar, song).is_in_tune() {
        return None;
    }
    let tuning = &song.tuning.pitches;
    // A tuning the catalogue lists may be for other strings: the retuning asks about that first.
    let known = song.tuning.id.as_deref().and_then(|id| state.catalog().find_tuning(id));
    if known.is_some_and(|known| known.tuning() == tuning) { None } else { state.refusal(&guitar, tuning) }
}

fn way_for(state: &State, guitar: &Guitar, song: &Song) -> Changeover {
    let from = (guitar.instrument().id(), guitar.progress().on_guitar().courses(), guitar.capo());
    Changeover::between(guitar.strung(), from, &Stand::of(song), state.library.settings.reference())
}

/// Takes a song's instrument and turns to its tuning; returns whether there is anything to retune. There is not when it is
/// on the guitar already, does not fit it, or the catalogue does not know the instrument.
pub(super) fn retune_for(state: &mut State, song: &Song) -> bool {
    if state.catalog().find_instrument(&song.instrument_id).is_none() {
        return false;
    }
    state.take_instrument(&song.instrument_id);
    let tuning = song.tuning.pitches.clone();
    let fits = tuning.courses() == state.instrument().courses().len();
    if !fits || way_from_now(state, &Stand::of(song)).is_in_tune() {
        return false;
    }
    let (id, capo) = (song.tuning.id.clone(), Some(song.capo));
    start(state, tuning, Wanted { id, song: Some(song.id), capo, ..Wanted::default() });
    true
}

/// Returns the name of a song's tuning, its notes where it has none.
#[must_use]
pub(super) fn tuning_name(state: &State, song: &Song) -> String {
    let instrument = Catalog::bundled().find_instrument(&song.instrument_id);
    let (id, tuning) = (song.tuning.id.as_deref(), &song.tuning.pitches);
    super::drawn::line(&state.name_or_notes(instrument.unwrap_or_else(|| state.instrument()), id, tuning))
}
