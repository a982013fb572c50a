//! The shapes the player marked: first wherever their chord is looked up in their tuning.

use crate::instrument::{Catalog, Fret, Fretboard, Tuning};
use crate::shapes::{BassRule, Hand, RankedShape, Shape, ShapeSearch, Style};
use crate::songs::{ChosenTuning, Song};
use crate::store::{Favourite, Library};
use crate::theory::Chord;

use super::desk::Desk;
use super::guitar::Guitar;
use super::next::Next;
use super::notice::Notice;
use super::undo::Undo;

/// How a player holds chords: picked or strummed, and what was marked.
#[derive(Clone, Copy, Debug)]
pub struct Habits<'a> {
    /// How the strings are sounded.
    pub style: Style,
    library: &'a Library,
    guitar: &'a Guitar,
}

impl Desk {
    /// Returns how the player holds chords.
    #[must_use]
    pub const fn habits(&self) -> Habits<'_> {
        Habits { style: self.shapes.style, library: &self.library, guitar: &self.guitar }
    }

    /// Returns the shape that is shown on the Shapes screen as it would be marked.
    fn shown_to_mark(&self) -> Option<Favourite> {
        let shape = self.shapes.shape()?.shape();
        Some(Favourite::new(&self.neck_tuning(), self.shapes.chord, self.board().capo(), shape))
    }
}

impl Habits<'_> {
    /// Returns the neck a song is played on, as long as the player says it is; `None` when the catalogue does not know its
    /// instrument, or it does not fit.
    #[must_use]
    pub fn board_of(&self, song: &Song, tuning: &ChosenTuning, capo: Fret) -> Option<Fretboard<'static>> {
        let instrument = Catalog::bundled().find_instrument(&song.instrument_id)?;
        Some(Fretboard::new(instrument, &tuning.pitches, capo).ok()?.over_mm(self.scale_mm_of(song)))
    }

    /// Returns how long the strings of a song's instrument are, in millimetres; `None` where the player never said.
    #[must_use]
    pub fn scale_mm_of(&self, song: &Song) -> Option<f64> {
        if song.instrument_id == self.guitar.instrument().id() {
            return self.guitar.strings().scale_mm();
        }
        self.library.find_put_away(&song.instrument_id)?.strings.as_ref()?.scale_mm()
    }

    /// Returns the shapes marked for a chord that sounds on a neck in this tuning, as far as a hand can hold them there, in
    /// the order they were marked.
    #[must_use]
    pub fn favourites(&self, tuning: &Tuning, sounding: Chord, board: &Fretboard<'_>) -> Vec<RankedShape> {
        let marked = marked(self.library, tuning, sounding, board.capo());
        marked.iter().filter_map(|shape| hold(shape, sounding, board, self.style)).collect()
    }
}

/// Returns the shapes marked for a chord that sounds in a tuning over a capo.
pub(super) fn marked(library: &Library, tuning: &Tuning, sounding: Chord, capo: Fret) -> Vec<Shape> {
    let found = library.favourites().iter().filter(|known| known.is_for(tuning, sounding, capo));
    found.map(|known| known.shape.clone()).collect()
}

/// Finds how a marked shape is held: as the chord is played now, else as it may have been when it was marked, the thumb over
/// the neck and picked.
pub(super) fn hold(shape: &Shape, chord: Chord, board: &Fretboard<'_>, style: Style) -> Option<RankedShape> {
    let ways = [(style, false), (style, true), (Style::Picked, true)];
    ways.into_iter().find_map(|(style, may_use_thumb)| {
        let hand = Hand { may_use_thumb, ..Hand::default() };
        ShapeSearch { style, hand, bass: BassRule::Any, ..ShapeSearch::best(1) }.find_shape(shape, chord, board)
    })
}

/// Marks the shape shown, or takes its mark off.
pub(super) fn toggle(desk: &mut Desk) -> Next {
    let Some(favourite) = desk.shown_to_mark() else { return Next::Shown };
    if let Some((place, taken)) = desk.library.remove_favourite(&favourite) {
        // It stays in sight, whether it is among the best or not.
        desk.shapes.keep_shown();
        let (chord, frets) = (desk.shapes.chord, taken.shape.written(&desk.board()));
        return Next::done(Notice::FavouriteOff { chord, frets }, Undo::Favourite(place, taken));
    }
    desk.library.add_favourite(favourite);
    Next::Changed
}
