//! What the other fingers can add to a held shape while the thumb goes on.

use crate::instrument::{CourseIndex, Fret, Fretboard, Position};
use crate::theory::{Chord, Interval, Key, Note, Pitch, Semitones};

use super::bass::{BassPair, thumb_courses};
use super::fingering::{Finger, Fingering};
use super::hand::Hand;
use super::name::{ChordName, is_reentrant, name_on_root, name_pitches, string_pitches};
use super::shape::Shape;
use super::stops::{Stop, Stops};

/// How many frets a finger slides at most to reach a note of the melody.
pub const SLIDE_FRETS: u8 = 2;

/// How a note is reached from the held shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reached {
    /// It sounds with the shape as it is held, or on an open course the shape leaves out.
    Held,
    /// A finger that is not needed for the shape is put down.
    Free,
    /// A finger comes off, and what lies under it sounds: a barre or the open string.
    Lifted,
    /// A finger slides along its course from here.
    Slid {
        /// Where the shape has the finger.
        from: Fret,
    },
}

/// A note of the key within reach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MelodyNote {
    /// Where it lies; fret 0 is open.
    pub position: Position,
    /// What sounds: the course's named string.
    pub pitch: Pitch,
    /// Its name in the key.
    pub note: Note,
    /// Its degree above the held chord's root.
    pub degree: Interval,
    /// Its degree in the key.
    pub key_degree: Interval,
    /// Which finger does it: the one put down, lifted or slid, or the one that holds it; `None` for an open course.
    pub finger: Option<Finger>,
    /// How it is reached.
    pub how: Reached,
    /// The chord that results: on the held chord's root where it makes one, else the best name; `None` where it
    /// makes no chord.
    pub chord: Option<ChordName>,
}

/// Finds the notes of `key` on the courses that are the melody's, with `shape` held as `fingering` says for `chord` and
/// the thumb on `thumb`.
///
/// The melody has the courses nearer the floor than both of the thumb's; without a pair, those of the fingers by
/// custom ([`thumb_courses`]). Only the one course changes: a finger that lies across several courses stays where it
/// is, and so does a finger on a course of the thumb's. Every reach is that of `hand`. Where nothing is stopped the
/// first position is in reach, and the frets where the hand stands ([`Hand::stands_at`]); under a bar only the held notes
/// are. Each place is given once, by the way that
/// disturbs the shape least, in the order of [`Reached`]; the list runs from the highest player number to course 1,
/// then up the neck.
#[must_use]
pub fn melody_in_reach(
    board: &Fretboard<'_>,
    shape: &Shape,
    fingering: &Fingering,
    chord: Chord,
    thumb: Option<BassPair>,
    key: Key,
    hand: &Hand,
) -> Vec<MelodyNote> {
    let stops = Stops::of(shape, fingering);
    let first_of_melody = thumb.map_or_else(
        || thumb_courses(board.courses()),
        |pair| {
            let place = |position: Position| position.course.from_lowest_index();
            1 + place(pair.first.position).max(place(pair.second.position))
        },
    );
    let classes = key.classes();
    let sounding = Sounding::new(board, shape, thumb);
    let mut found = Vec::new();
    for index in first_of_melody..board.courses() {
        let course = CourseIndex::from_lowest(index);
        for fret in (0..=board.last_fret().get()).map(Fret::new) {
            let position = Position { course, fret };
            let Some(pitch) = board.pitch_at(position).filter(|pitch| classes.contains(pitch.class())) else {
                continue;
            };
            let Some((finger, how)) = way_to(board, shape, &stops, position, hand) else { continue };
            found.push(MelodyNote {
                position,
                pitch,
                note: key.note_of(pitch.class()),
                degree: degree_above_root(chord, key, pitch),
                key_degree: key.degree_of(pitch.class()),
                finger,
                how,
                chord: sounding.named_with(index, pitch, chord, key),
            });
        }
    }
    found
}

/// Picks the `most` notes nearest to a held shape, nearest first; every one on course 1 is kept, where a melody lies first
/// of all, even beyond that number.
///
/// Held notes are at hand; a lifted finger has no way, a slid one its slide, a free one what it reaches beyond the fingers
/// that are down, along the neck. Of equals the note on the course nearer the floor.
#[must_use]
pub fn nearest_in_reach(
    board: &Fretboard<'_>,
    shape: &Shape,
    hand: &Hand,
    mut notes: Vec<MelodyNote>,
    most: usize,
) -> Vec<MelodyNote> {
    let (low, high) = shape.fret_range().unwrap_or((hand.stands_at, hand.stands_at));
    let way_mm = |note: &MelodyNote| match note.how {
        Reached::Held | Reached::Lifted => 0.0,
        Reached::Slid { from } => board.between_mm(from, note.position.fret),
        Reached::Free if note.position.fret < low => board.between_mm(note.position.fret, low),
        Reached::Free if note.position.fret > high => board.between_mm(high, note.position.fret),
        Reached::Free => 0.0,
    };
    notes.sort_by(|one, other| {
        let floor = |note: &MelodyNote| std::cmp::Reverse(note.position.course.from_lowest_index());
        way_mm(one).total_cmp(&way_mm(other)).then(floor(one).cmp(&floor(other))).then(one.how.cmp(&other.how))
    });
    let last = board.courses() - 1;
    let is_on_first = |note: &MelodyNote| note.position.course.from_lowest_index() == last;
    let mut others = most.saturating_sub(notes.iter().filter(|note| is_on_first(note)).count());
    notes.retain(|note| {
        let is_kept = is_on_first(note) || others > 0;
        others -= usize::from(is_kept && !is_on_first(note));
        is_kept
    });
    notes
}

/// Finds the way to a place that disturbs the shape least, and the finger that does it.
fn way_to(
    board: &Fretboard<'_>,
    shape: &Shape,
    stops: &Stops,
    at: Position,
    hand: &Hand,
) -> Option<(Option<Finger>, Reached)> {
    if shape.stopped().any(|position| stops.on(position.course).is_none()) {
        // Stopped by a bar, not by fingers: what lies under it sounds and nothing can be added.
        let is_held = shape.frets().get(at.course.from_lowest_index()).copied().flatten() == Some(at.fret);
        return is_held.then_some((None, Reached::Held));
    }
    let now = stops.on(at.course);
    let fret_now = now.map_or(Fret::OPEN, |stop| stop.fret);
    let is_left_out = shape.frets().get(at.course.from_lowest_index()).copied().flatten().is_none();
    if at.fret == fret_now && (now.is_none() || !is_left_out) {
        return Some((now.map(|stop| stop.finger), Reached::Held));
    }
    if at.fret > fret_now
        && let Some(finger) = easiest_free(board, stops, at, hand)
    {
        return Some((Some(finger), Reached::Free));
    }
    // Only a fingertip moves alone; a finger across several courses would take the others with it.
    let tip = now.filter(|stop| !stop.is_barre())?;
    let lifted = stops.without(tip.finger);
    if at.fret == lifted.fret_of(at.course) {
        return lifted.can_be_held(board, hand).then_some((Some(tip.finger), Reached::Lifted));
    }
    let is_near = at.fret.get().abs_diff(tip.fret.get()) <= SLIDE_FRETS;
    let slid = stops.with(Stop::tip(tip.finger, at));
    let sounds = at.fret > lifted.fret_of(at.course);
    let can = is_near && sounds && slid.can_be_held(board, hand);
    can.then_some((Some(tip.finger), Reached::Slid { from: tip.fret }))
}

/// Finds the free finger that gets to a place with the least stretch, measured as the share of its reach; of equals
/// the one nearer the index.
fn easiest_free(board: &Fretboard<'_>, stops: &Stops, at: Position, hand: &Hand) -> Option<Finger> {
    if stops.is_empty() {
        // A finger a fret: where the hand stands, and in first position, where open strings are at home.
        let from = |index: Fret| {
            let own = usize::from(at.fret.get().checked_sub(index.get())?);
            let finger = Finger::FRONT[own.min(usize::from(hand.fingers.clamp(1, 4)) - 1)];
            Some(finger).filter(|_| board.between_mm(index, at.fret) <= hand.span_mm)
        };
        return from(hand.stands_at).or_else(|| from(Fret::new(1)));
    }
    let strain = |finger: Finger| {
        let share = |stop: &Stop| board.between_mm(stop.fret, at.fret) / hand.reach_mm(stop.finger, finger).max(1.0);
        stops.iter().map(share).fold(0.0, f64::max)
    };
    stops
        .free(hand)
        .filter(|&finger| stops.with(Stop::tip(finger, at)).can_be_held(board, hand))
        .min_by(|&one, &other| strain(one).total_cmp(&strain(other)).then(one.cmp(&other)))
}

/// Returns the degree above the chord's root: the chord's own where it has the note, else by the letter the key
/// gives it.
fn degree_above_root(chord: Chord, key: Key, pitch: Pitch) -> Interval {
    let class = pitch.class();
    let own = chord.quality().degree_of(chord.root().class(), class);
    own.or_else(|| Chord::new(chord.root(), chord.quality()).over(key.note_of(class)).degree_of(class))
        .unwrap_or_else(|| Key::new(chord.root(), key.mode()).degree_of(class))
}

/// What sounds under the melody: the shape, and the open courses the thumb adds.
struct Sounding<'a> {
    board: &'a Fretboard<'a>,
    pitches: Vec<Option<Pitch>>,
    /// The thumb's first note. It falls on the beat and is heard as the bass, also where its second lies lower.
    bass: Option<Pitch>,
    is_reentrant: bool,
}

impl<'a> Sounding<'a> {
    fn new(board: &'a Fretboard<'a>, shape: &Shape, thumb: Option<BassPair>) -> Self {
        let mut pitches = shape.pitches(board);
        for note in thumb.iter().flat_map(|pair| [pair.first, pair.second]) {
            if let Some(slot) = pitches.get_mut(note.position.course.from_lowest_index()) {
                *slot = Some(note.pitch);
            }
        }
        Self { board, pitches, bass: thumb.map(|pair| pair.first.pitch), is_reentrant: is_reentrant(board) }
    }

    /// Names what sounds when course `index` sounds `pitch` instead.
    fn named_with(&self, index: usize, pitch: Pitch, chord: Chord, key: Key) -> Option<ChordName> {
        let mut by_course = self.pitches.clone();
        if let Some(slot) = by_course.get_mut(index) {
            *slot = Some(pitch);
        }
        let strings = string_pitches(self.board, &by_course).into_iter();
        let sounding: Vec<Pitch> = strings.map(|pitch| self.above_bass(pitch)).collect();
        let on_root = name_on_root(&sounding, chord.root().class(), self.is_reentrant, Some(key)).into_iter().next();
        on_root.or_else(|| name_pitches(&sounding, self.is_reentrant, Some(key)).names.into_iter().next())
    }

    /// Lifts a pitch by octaves over the bass, for naming.
    fn above_bass(&self, pitch: Pitch) -> Pitch {
        let mut lifted = pitch;
        while self.bass.is_some_and(|bass| lifted < bass) {
            let Some(higher) = lifted.transpose(Semitones::OCTAVE) else { break };
            lifted = higher;
        }
        lifted
    }
}
