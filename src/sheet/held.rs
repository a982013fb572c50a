//! What belongs to a held shape: the thumb, what lies in reach, the form a player knows.

use crate::instrument::{Catalog, CourseIndex, Fret, Fretboard, Position};
use crate::shapes::{
    AlternatingBass, Hand, KnownForm, MelodyNote, RankedShape, Reached, Style, alternating_bass, known_forms,
    melody_in_reach, nearest_in_reach,
};
use crate::songs::key_of_chord;
use crate::theory::{Chord, Key, Semitones};

use super::compose::Drawing;
use super::names::Names;
use super::picture::{self, Picture};

/// How many notes in reach are told; those that disturb the shape least come first.
const MOST_IN_REACH: usize = 5;

/// A shape with what the other fingers and the thumb do.
#[derive(Debug)]
pub(super) struct Held<'a> {
    board: &'a Fretboard<'a>,
    ranked: &'a RankedShape,
    /// What a player calls it over the capo.
    played: Chord,
    style: Style,
    pub(super) bass: AlternatingBass,
    pub(super) reach: Vec<MelodyNote>,
    pub(super) form: Option<KnownForm>,
}

impl<'a> Held<'a> {
    pub(super) fn new(board: &'a Fretboard<'a>, ranked: &'a RankedShape, style: Style, key: Option<Key>) -> Self {
        let (shape, fingering, chord, hand) = (ranked.shape(), ranked.fingering(), ranked.chord(), Hand::default());
        let bass = alternating_bass(board, shape, fingering, chord, &hand);
        let key = key.unwrap_or_else(|| key_of_chord(chord));
        let thumb = bass.pairs.first().copied();
        let mut reach = melody_in_reach(board, shape, fingering, chord, thumb, key, &hand);
        reach.retain(|note| note.how != Reached::Held && note.finger.is_some());
        let reach = nearest_in_reach(board, shape, &hand, reach, MOST_IN_REACH);
        let standard = Catalog::bundled().standard_of(board.instrument()).tuning();
        let played = chord;
        let form = known_forms(board, standard, shape, chord).into_iter().next();
        Self { board, ranked, played, style, bass, reach, form }
    }

    /// Names it and its notes from the capo.
    pub(super) fn named(self, played: Chord) -> Self {
        Self { played, ..self }
    }

    /// What a player calls a note that sounds.
    fn name(&self, names: &Names<'_>, note: &MelodyNote) -> String {
        let up = self.played.root().class().up_to(self.ranked.chord().root().class());
        if up == 0 {
            return names.options.note(note.note);
        }
        let class = note.pitch.class().transpose(Semitones::new(-i16::from(up)));
        let key = key_of_chord(self.played);
        names.options.note(self.played.note_of(class).unwrap_or_else(|| key.note_of(class)))
    }

    fn thumb(&self) -> [Option<CourseIndex>; 2] {
        self.bass
            .pairs
            .first()
            .map_or([None, None], |pair| [Some(pair.first.position.course), Some(pair.second.position.course)])
    }

    /// The notes in reach that are drawn: those a free finger stops, or a finger slides to; not where a finger lies already.
    fn drawn_reach(&self, names: &Names<'_>, only_free: bool) -> Vec<(Position, String)> {
        let taken: Vec<Position> = self.ranked.shape().stopped().collect();
        let highest = self.ranked.shape().fret_range().map_or(4, |(_, high)| high.get().max(4));
        self.reach
            .iter()
            .filter(|note| note.position.fret != Fret::OPEN && !taken.contains(&note.position))
            .filter(|note| !only_free || note.how == Reached::Free && note.position.fret.get() <= highest)
            .take(if only_free { 2 } else { MOST_IN_REACH })
            .map(|note| (note.position, self.name(names, note)))
            .collect()
    }

    /// Draws it with `s` points between strings; small among others, with less in it.
    pub(super) fn drawing(
        &self,
        names: &Names<'_>,
        thickness: &[f32],
        (name, beside): (&str, &str),
        s: f32,
        (least, is_small): (f32, bool),
    ) -> Drawing {
        let reach = self.drawn_reach(names, is_small);
        let picture = Picture {
            board: self.board,
            shape: self.ranked.shape(),
            fingering: self.ranked.fingering(),
            chord: self.ranked.chord(),
            played: self.played,
            thumb: self.thumb(),
            reach: &reach,
            style: self.style,
            thickness,
            name,
            beside,
        };
        let mut drawing = picture::draw(&picture, names.options, names.words, s, least);
        if is_small {
            drawing.words += " ";
            drawing.words += &names.thumb(&self.bass);
        }
        drawing
    }
}
