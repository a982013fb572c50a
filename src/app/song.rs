//! A song opened: its chords with their shapes, another key, another capo, another tuning.

use crate::instrument::{Catalog, Fret};
use crate::shapes::{BassRule, RankedShape, Shape, ShapeSearch, Style};
use crate::songs::{CapoSuggestion, Changeover, ChosenTuning, Song, SongId, Stand, ToHold, suggest_capos};
use crate::store::{Library, Wanted};
use crate::theory::{Chord, Semitones};

use super::desk::Desk;
use super::exchange::Out;
use super::favourites::Habits;
use super::guitar::Guitar;
use super::next::Next;
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

impl OpenSong {
    /// Returns the open song.
    #[must_use]
    pub fn find<'a>(&self, library: &'a Library) -> Option<&'a Song> {
        self.id.and_then(|id| library.find_song(id))
    }
}

/// Returns the open song.
#[must_use]
pub fn open_song(state: &State) -> Option<&Song> {
    state.song.find(&state.library)
}

fn search(style: Style) -> ShapeSearch {
    ShapeSearch { style, ..ShapeSearch::best(MOST_SHAPES) }
}

/// Returns the shape for what is to be held: the first that the player marked, else the best.
#[must_use]
pub(super) fn best_shape(habits: Habits<'_>, song: &Song, hold: ToHold) -> Option<RankedShape> {
    let board = habits.board_of(song, &song.tuning, hold.capo)?;
    let marked = habits.favourites(&song.tuning.pitches, hold.sounding, &board).into_iter().next();
    let best = || ShapeSearch { limit: 1, ..search(habits.style) }.find(hold.sounding, &board).shapes;
    marked.or_else(|| best().into_iter().next())
}

/// Returns the shapes of a chord of the song: those the player marked, then the others, best first; the one chosen for it
/// before all where it is not among them.
#[must_use]
pub fn shapes_of(habits: Habits<'_>, song: &Song, chord: Chord) -> (Vec<RankedShape>, Option<usize>) {
    let hold = song.to_hold(chord);
    let Some(board) = habits.board_of(song, &song.tuning, hold.capo) else { return (Vec::new(), None) };
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
    state.song.in_other_tuning(state)
}

impl OpenSong {
    fn in_other_tuning(&self, desk: &Desk) -> Option<Song> {
        let (song, other) = (self.find(&desk.library)?, self.other.clone()?);
        Some(song.in_tuning(other, &mut finder(desk.habits())))
    }
}

/// Finds the shape for what is to be held in a song.
pub(super) fn finder(habits: Habits<'_>) -> impl FnMut(&Song, ToHold) -> Option<Shape> {
    move |song, hold| best_shape(habits, song, hold).map(|found| found.shape().clone())
}

/// Returns the places for the capo where the song's shapes are easiest.
#[must_use]
pub fn capos(habits: Habits<'_>, song: &Song) -> Vec<CapoSuggestion> {
    let mut cost = |hold: ToHold| best_shape(habits, song, hold).map(|ranked| ranked.cost());
    let found = suggest_capos(song, Fret::new(HIGHEST_CAPO), &mut cost);
    found.into_iter().take(CAPOS_SHOWN).collect()
}

/// Opens a song.
pub(super) fn open(open: &mut OpenSong, library: &Library, id: SongId) -> Next {
    if library.find_song(id).is_none() {
        return Next::Shown;
    }
    *open = OpenSong { id: Some(id), ..OpenSong::default() };
    Next::Show(Screen::Song)
}

pub(super) fn update(open: &mut OpenSong, desk: &mut Desk, action: SongAction) -> Next {
    let Some(song) = open.find(&desk.library).cloned() else { return Next::Shown };
    match action {
        SongAction::Edit => return Next::EditSong(Box::new(song)),
        SongAction::Play => return super::stage::perform(desk, song.id),
        SongAction::Transpose(by) => {
            let moved = song.transposed(Semitones::new(by), &mut finder(desk.habits()));
            return change(desk, song, moved);
        }
        SongAction::ShowCapos => open.shows_capos = !open.shows_capos,
        SongAction::TakeCapo(capo) => {
            let moved = song.with_capo(capo, &mut finder(desk.habits()));
            open.shows_capos = false;
            return change(desk, song, moved);
        }
        SongAction::Compare => return Next::ChooseTuning(TuningFor::Comparison),
        SongAction::TakeTuning => {
            if let Some(moved) = open.in_other_tuning(desk) {
                return Next::Leave(Screen::SongCompare).then(change(desk, song, moved));
            }
        }
        SongAction::Out => return Next::Out(Out::SongText(song.id)),
        chord => return on_chord(open, desk, &song, &chord),
    }
    Next::Shown
}

/// Moves the capo of a song, what sounds stays.
pub(super) fn move_capo(desk: &mut Desk, id: SongId, capo: Fret) {
    if let Some(song) = desk.library.find_song(id) {
        let moved = song.with_capo(capo, &mut finder(desk.habits()));
        desk.library.replace_song(moved);
    }
}

fn change(desk: &mut Desk, before: Song, moved: Song) -> Next {
    if before == moved {
        return Next::Shown;
    }
    let title = moved.title.clone();
    desk.library.replace_song(moved);
    Next::done(Notice::SongChanged(title), Undo::Song(Box::new(before)))
}

/// The actions on one chord of the song.
fn on_chord(open: &mut OpenSong, desk: &mut Desk, song: &Song, action: &SongAction) -> Next {
    if let SongAction::Chord(index) = *action {
        let chart = song.read_chart().chords();
        let Some(&(chord, _)) = chart.get(index) else { return Next::Shown };
        let chosen = shapes_of(desk.habits(), song, chord).1;
        open.chord = Some((chord, chosen.unwrap_or(0)));
        return Next::Show(Screen::SongChord);
    }
    let Some((chord, index)) = open.chord else { return Next::Shown };
    let (found, _) = shapes_of(desk.habits(), song, chord);
    let shown: Option<&RankedShape> = found.get(index);
    match *action {
        SongAction::ChordBy(by) => {
            let last = found.len().saturating_sub(1);
            let step = usize::from(by.unsigned_abs());
            let next = if by < 0 { index.saturating_sub(step) } else { (index + step).min(last) };
            open.chord = Some((chord, next));
        }
        SongAction::UseShape => {
            if let Some(shown) = shown {
                choose(&mut desk.library, song, chord, Some(shown.shape()));
                return Next::Changed.then(Next::Leave(Screen::SongChord));
            }
        }
        SongAction::DropShape => {
            choose(&mut desk.library, song, chord, None);
            // The chosen shape may have stood in front of the list.
            open.chord = Some((chord, 0));
            return Next::done(Notice::SongChanged(song.title.clone()), Undo::Song(Box::new(song.clone())));
        }
        SongAction::ToShapes => {
            if let Some(shown) = shown.filter(|_| is_in_tuning(desk, song)) {
                desk.look_back();
                let told = if desk.guitar.capo() == song.capo { Next::Shown } else { desk.set_capo(song.capo) };
                return told.then(desk.open_shape(song.to_hold(chord).sounding, shown.shape()));
            }
        }
        _ => {}
    }
    Next::Shown
}

fn choose(library: &mut Library, song: &Song, chord: Chord, shape: Option<&Shape>) {
    let mut changed = song.clone();
    changed.choose_shape(chord, shape);
    library.replace_song(changed);
}

/// Returns what keeps a song from being played: a string that would not stand the retuning, on the instrument it is for,
/// as the player has that. A song in tune, or of an instrument the catalogue does not know, can be played as it is.
pub(super) fn refusal(desk: &Desk, song: &Song) -> Option<Notice> {
    let guitar = desk.guitar_of(&song.instrument_id)?;
    if way_for(desk, &guitar, song).is_in_tune() {
        return None;
    }
    let tuning = &song.tuning.pitches;
    // A tuning the catalogue lists may be for other strings: the retuning asks about that first.
    let known = song.tuning.id.as_deref().and_then(|id| desk.catalog().find_tuning(id));
    if known.is_some_and(|known| known.tuning() == tuning) { None } else { desk.refusal(&guitar, tuning) }
}

fn way_for(desk: &Desk, guitar: &Guitar, song: &Song) -> Changeover {
    let from = (guitar.instrument().id(), guitar.progress().on_guitar().courses(), guitar.capo());
    Changeover::between(guitar.strung(), from, &Stand::of(song), desk.library.settings.reference())
}

/// Takes a song's instrument and turns to its tuning; `None` where there is nothing to retune: it is on the guitar already,
/// does not fit it, or the catalogue does not know the instrument.
pub(super) fn retune_for(desk: &mut Desk, song: &Song) -> Option<Next> {
    desk.catalog().find_instrument(&song.instrument_id)?;
    desk.take_instrument(&song.instrument_id);
    let tuning = song.tuning.pitches.clone();
    let fits = tuning.courses() == desk.instrument().courses().len();
    if !fits || way_from_now(desk, &Stand::of(song)).is_in_tune() {
        return None;
    }
    let (id, capo) = (song.tuning.id.clone(), Some(song.capo));
    Some(start(desk, tuning, Wanted { id, song: Some(song.id), capo, ..Wanted::default() }))
}

/// Returns the name of a song's tuning, its notes where it has none.
#[must_use]
pub(super) fn tuning_name(desk: &Desk, song: &Song) -> String {
    let instrument = Catalog::bundled().find_instrument(&song.instrument_id);
    let (id, tuning) = (song.tuning.id.as_deref(), &song.tuning.pitches);
    super::drawn::line(&desk.name_or_notes(instrument.unwrap_or_else(|| desk.instrument()), id, tuning))
}
