//! A tune in, an arrangement out.

use std::collections::BTreeMap;

use crate::instrument::{CourseIndex, Fret, Fretboard, Instrument, Position, Tuning};
use crate::shapes::{Finger, ShapeSearch, Style, thumb_courses};
use crate::theory::{Chord, Pitch, Semitones};
use crate::tune::{Played, Tune};

use super::arrangement::{ArrangedSlice, Arrangement, Figures, Held, LeftOut, LeftOutKind, Sounding, Why};
use super::grips::{FINGERS, Grip, NONE, Reach};
use super::harmony::with_found_chords;
use super::inner::fill_in;
use super::keys::{KeyChoice, choices, remedy};
use super::search::{Link, NoWay, Path, Search, Steps, links};
use super::slices::{Beat, Slice, moved, slices};
use super::states::{Harmony, Moment, State, States};
use super::wishes::{ArrangeFault, Pinned, ThumbStyle, Wishes};

/// How many shapes of a chord may be held, best first.
const SHAPES_A_CHORD: usize = 12;
/// How many keys and capos are searched in full where they may be chosen.
const FULL_SEARCHES: usize = 2;
/// What a capo, and a key of one's own left, have to be worth: points each.
const CAPO_POINTS: f64 = 2.0;

/// Works a tune out on a tuned instrument.
///
/// Where key, octave and capo may be chosen, all are weighed by range, open strings and open roots, and the best few
/// searched in full. The search is exact over its candidates: every place of every melody note with every finger; the
/// thumb's notes (root, bass asked for, fifth, third on its courses up to fret 9), or none; the chord's best shapes held,
/// or none.
///
/// # Errors
/// When the tune has no notes or is too long, the tuning does not fit, a decision of the player's cannot be played, or
/// `should_stop` said so.
pub fn arrange(
    tune: &Tune,
    instrument: &Instrument,
    tuning: &Tuning,
    wishes: &Wishes,
    should_stop: &dyn Fn() -> bool,
) -> Result<Arrangement, ArrangeFault> {
    let played = tune.played().map_err(ArrangeFault::Tune)?;
    let (played, are_chords_found) = with_found_chords(tune, played);
    arrange_played(&played, are_chords_found, instrument, tuning, wishes, FULL_SEARCHES, should_stop)
}

/// Works out a tune that is played out already, with at most so many keys and capos searched in full.
pub(super) fn arrange_played(
    played: &Played,
    are_chords_found: bool,
    instrument: &Instrument,
    tuning: &Tuning,
    wishes: &Wishes,
    full_searches: usize,
    should_stop: &dyn Fn() -> bool,
) -> Result<Arrangement, ArrangeFault> {
    if played.notes.is_empty() {
        return Err(ArrangeFault::NoNotes);
    }
    let mut best: Option<(f64, Arrangement)> = None;
    let choices = choices(played, instrument, tuning, wishes)?;
    for choice in choices.iter().take(full_searches.max(1)) {
        let found = arrange_as(played, are_chords_found, instrument, tuning, wishes, choice, should_stop)?;
        let capo = if found.capo == Fret::OPEN { 0.0 } else { CAPO_POINTS };
        let weight = found.cost + capo + choice.strangeness;
        if best.as_ref().is_none_or(|(least, _)| weight < *least) {
            best = Some((weight, found));
        }
    }
    best.map(|(_, found)| found).ok_or(ArrangeFault::NoNotes)
}

fn arrange_as(
    played: &Played,
    are_chords_found: bool,
    instrument: &Instrument,
    tuning: &Tuning,
    wishes: &Wishes,
    choice: &KeyChoice,
    should_stop: &dyn Fn() -> bool,
) -> Result<Arrangement, ArrangeFault> {
    work(played, instrument, tuning, wishes, choice, &mut |worked| {
        let path = worked.search(wishes, should_stop)?;
        Ok(worked.written(&path, are_chords_found, wishes))
    })
}

/// Makes a tune ready for the search in one key with one capo, and hands it over.
pub(super) fn work<R>(
    played: &Played,
    instrument: &Instrument,
    tuning: &Tuning,
    wishes: &Wishes,
    choice: &KeyChoice,
    with: &mut dyn FnMut(&Worked<'_>) -> Result<R, ArrangeFault>,
) -> Result<R, ArrangeFault> {
    let board = Fretboard::new(instrument, tuning, choice.capo).map_err(ArrangeFault::NotOnNeck)?;
    let board = board.over_mm(wishes.scale_mm);
    let reach = Reach::new(&board, &wishes.hand);
    let lies_somewhere = |pitch: Pitch| {
        (0..board.courses()).any(|course| {
            let course = CourseIndex::from_lowest(course);
            (0..=board.last_fret().get())
                .any(|fret| board.pitch_at(Position { course, fret: Fret::new(fret) }) == Some(pitch))
        })
    };
    let in_range: Vec<bool> =
        (0..=Pitch::HIGHEST.number()).map(|number| Pitch::from_number(number).is_some_and(lies_somewhere)).collect();
    let is_in_range = |pitch: Pitch| in_range.get(usize::from(pitch.number())).copied().unwrap_or(false);
    let slices = slices(played, choice.transpose, wishes.style, wishes.fullness, &is_in_range)?;
    let harmonies = harmonies(&slices, &board, wishes);
    let states = States::new(&board, reach, wishes.costs, harmonies);
    with(&Worked::new(&states, &slices, wishes, choice, played))
}

/// Finds the shapes of every chord of the tune.
fn harmonies(slices: &[Slice], board: &Fretboard<'_>, wishes: &Wishes) -> Vec<Harmony> {
    let mut chords: Vec<Chord> = Vec::new();
    for chord in slices.iter().flat_map(|slice| [slice.chord, slice.bass_chord]).flatten() {
        if !chords.contains(&chord) {
            chords.push(chord);
        }
    }
    let search = ShapeSearch { style: Style::Picked, hand: wishes.hand.clone(), ..ShapeSearch::best(SHAPES_A_CHORD) };
    let mut first = 1;
    let mut found = Vec::new();
    for chord in chords {
        let mut shapes = search.find(chord, board).shapes;
        // A shape the player wants need not be among the best.
        for pin in &wishes.pins {
            if let Pinned::Shape { shape, .. } = &pin.what
                && !shapes.iter().any(|known| known.shape() == shape)
            {
                shapes.extend(search.find_shape(shape, chord, board));
            }
        }
        let count = u16::try_from(shapes.len()).unwrap_or(0);
        found.push(Harmony::new(chord, shapes, first));
        first += count;
    }
    found
}

/// A tune cut and ready to be searched.
pub(super) struct Worked<'a> {
    pub(super) states: &'a States<'a>,
    slices: &'a [Slice],
    choice: &'a KeyChoice,
    played: &'a Played,
    /// Ways to play, a list for each kind of moment.
    pub(super) lists: Vec<Vec<State>>,
    /// Which list each moment takes.
    pub(super) layers: Vec<usize>,
    pub(super) links: Vec<Link>,
}

impl<'a> Worked<'a> {
    fn new(
        states: &'a States<'a>,
        slices: &'a [Slice],
        wishes: &Wishes,
        choice: &'a KeyChoice,
        played: &'a Played,
    ) -> Self {
        let mut lists: Vec<Vec<State>> = Vec::new();
        let mut known: BTreeMap<Moment, usize> = BTreeMap::new();
        let mut layers = Vec::with_capacity(slices.len());
        let index_of = |chord: Option<Chord>| {
            chord.and_then(|chord| states.harmonies.iter().position(|harmony| harmony.chord == chord))
        };
        let mut pinned_bass = None;
        for slice in slices {
            if slice.beat.is_some() {
                pinned_bass = wishes.pins.iter().find_map(|pin| match pin.what {
                    Pinned::Bass(position) if pin.at == slice.at => Some(place(position)),
                    _ => None,
                });
            }
            let moment = Moment {
                chord: index_of(slice.chord),
                bass_chord: index_of(slice.bass_chord),
                melody: slice.melody,
                beat: slice.beat,
                pinned_bass,
            };
            let layer = *known.entry(moment).or_insert_with(|| {
                lists.push(states.find(&moment));
                lists.len() - 1
            });
            layers.push(layer);
        }
        let foreign = |slice: &Slice| {
            let allowed = slice.chord.map(Chord::allowed);
            let open = states.board.open_pitches().iter().enumerate().take(16);
            let foreign = open.filter(|(_, pitch)| allowed.is_some_and(|allowed| !allowed.contains(pitch.class())));
            foreign.fold(0_u16, |bits, (course, _)| bits | 1 << course)
        };
        let links = links(slices, wishes.style == ThumbStyle::Alternating, &foreign);
        Self { states, slices, choice, played, lists, layers, links }
    }

    fn search(&self, wishes: &Wishes, should_stop: &dyn Fn() -> bool) -> Result<Path, ArrangeFault> {
        let steps = Steps { costs: &self.states.costs, reach: &self.states.reach };
        let allowed = |index: usize, state: &State| self.is_allowed(index, state, wishes);
        let search = Search {
            steps,
            lists: &self.lists,
            layers: &self.layers,
            links: &self.links,
            allowed: if wishes.pins.is_empty() { &|_, _| true } else { &allowed },
            should_stop,
        };
        search.find(wishes.goal).map_err(|no_way| match no_way {
            NoWay::Stopped => ArrangeFault::Stopped,
            NoWay::At(index) => {
                let at = self.slices.get(index).map_or_else(Default::default, |slice| slice.at);
                // What stands in the way is the last decision at or before the place.
                let decided = wishes.pins.iter().map(|pin| pin.at).filter(|pinned| *pinned <= at).max();
                let (bar, beat) = self.played.bar_and_beat(decided.unwrap_or(at));
                ArrangeFault::Pin { bar, beat }
            }
        })
    }

    /// Tells whether a state is what the player has decided.
    fn is_allowed(&self, index: usize, state: &State, wishes: &Wishes) -> bool {
        let slice = &self.slices[index];
        wishes.pins.iter().all(|pin| match &pin.what {
            Pinned::Melody(position) => pin.at != slice.at || !slice.starts || state.melody == place(*position),
            Pinned::Bass(position) => pin.at != slice.at || slice.beat.is_none() || state.bass == place(*position),
            Pinned::NoBass => pin.at != slice.at || slice.beat.is_none() || state.bass.0 == NONE,
            // A note that rings open has no finger: the place decides.
            Pinned::MelodyFinger(finger) => {
                pin.at != slice.at || !slice.starts || state.melody.1 == 0 || is_on(state.melody_finger, *finger)
            }
            Pinned::BassFinger(finger) => {
                let is_stopped = slice.beat.is_some() && state.bass.0 != NONE && state.bass.1 > 0;
                pin.at != slice.at || !is_stopped || is_on(state.bass_finger, *finger)
            }
            Pinned::Shape { shape, to } => {
                let is_there = pin.at <= slice.at && slice.at < *to;
                !is_there || self.shape_of(index, state).is_some_and(|held| held.shape() == shape)
            }
        })
    }

    fn shape_of(&self, index: usize, state: &State) -> Option<&crate::shapes::RankedShape> {
        let chord = self.slices[index].chord?;
        self.states.harmonies.iter().find(|harmony| harmony.chord == chord)?.shape_of(state.shape)
    }

    fn sounding(&self, place: (u8, u8), finger: u8, starts: bool) -> Option<Sounding> {
        if place.0 == NONE {
            return None;
        }
        let position = Position { course: CourseIndex::from_lowest(place.0.into()), fret: Fret::new(place.1) };
        let pitch = self.states.board.pitch_at(position)?;
        Some(Sounding { position, finger: FINGERS.get(usize::from(finger)).copied(), pitch, starts })
    }

    /// Writes the path out.
    pub(super) fn written(&self, path: &Path, are_chords_found: bool, wishes: &Wishes) -> Arrangement {
        let steps = Steps { costs: &self.states.costs, reach: &self.states.reach };
        let state = |index: usize| &self.lists[self.layers[index]][path.choices[index]];
        let mut written = Vec::with_capacity(self.slices.len());
        for (index, slice) in self.slices.iter().enumerate() {
            let now = state(index);
            let cost = match index.checked_sub(1) {
                None => now.own,
                Some(last) => steps.cost(state(last), now, self.links[last]),
            };
            written.push(ArrangedSlice {
                at: slice.at,
                length: slice.length,
                bar: slice.bar,
                bar_number: self.played.bars.get(slice.bar).map_or(0, |bar| bar.number),
                chord: slice.chord,
                melody: self.sounding(now.melody, now.melody_finger, slice.starts),
                bass: self.sounding(now.bass, now.bass_finger, slice.beat.is_some()),
                inner: Vec::new(),
                shape: self.shape_of(index, now).map(|held| held.shape().clone()),
                held: held(&now.grip),
                cost,
            });
        }
        let grips = (0..self.slices.len()).map(|index| state(index).grip).collect::<Vec<_>>();
        fill_in(&mut written, &grips, self.slices, self.states.board, wishes.fullness);
        let left_out = self.left_out(&written, wishes);
        let figures = self.figures(&written, &|index| state(index).place, &left_out);
        Arrangement {
            transpose: self.choice.transpose,
            capo: self.choice.capo,
            slices: written,
            left_out,
            are_chords_found,
            cost: path.sum,
            hardest: path.hardest,
            figures,
        }
    }

    fn left_out(&self, written: &[ArrangedSlice], wishes: &Wishes) -> Vec<LeftOut> {
        let mut found = Vec::new();
        let mut tell = |slice: &Slice, what, why| {
            let (bar, beat) = self.played.bar_and_beat(slice.at);
            found.push(LeftOut { at: slice.at, bar, beat, what, why });
        };
        for (slice, written) in self.slices.iter().zip(written) {
            if let (Some(note), true, None) = (slice.note, slice.starts, written.melody)
                && let Some(pitch) = self.played.notes.get(note).map(|note| note.pitch.pitch())
            {
                let moved = pitch.transpose(self.choice.transpose).unwrap_or(pitch);
                let why = Why::BeyondNeck(remedy(self.played, self.states.board, self.choice));
                tell(slice, LeftOutKind::Melody(moved), why);
            }
            let (Some(beat), Some(chord)) = (slice.beat, slice.bass_chord) else { continue };
            let pinned = wishes
                .pins
                .iter()
                .any(|pin| pin.at == slice.at && matches!(pin.what, Pinned::NoBass | Pinned::Bass(_)));
            match written.bass {
                None => {
                    let is_there = self.lies_below(slice, &|pitch| chord.allowed().contains(pitch.class()));
                    let why = if pinned {
                        Why::Wanted
                    } else if is_there {
                        Why::OutOfReach
                    } else {
                        Why::NothingBelow
                    };
                    tell(slice, LeftOutKind::Bass, why);
                }
                Some(bass) if beat == Beat::NewChord && bass.pitch.class() != chord.bass().class() => {
                    let is_there = self.lies_below(slice, &|pitch| pitch.class() == chord.bass().class());
                    let why = if pinned {
                        Why::Wanted
                    } else if is_there {
                        Why::OutOfReach
                    } else {
                        Why::NothingBelow
                    };
                    tell(slice, LeftOutKind::Root, why);
                }
                Some(_) => {}
            }
        }
        found
    }

    /// Tells whether a wanted pitch lies on the thumb's courses below the melody, within the frets the thumb's notes are
    /// looked for at.
    fn lies_below(&self, slice: &Slice, is_wanted: &dyn Fn(Pitch) -> bool) -> bool {
        let board = self.states.board;
        (0..thumb_courses(board.courses())).any(|index| {
            let is_drone = board.instrument().courses()[index].is_drone();
            !is_drone
                && (0..=super::states::LAST_BASS_FRET.min(board.last_fret().get())).any(|fret| {
                    let position = Position { course: CourseIndex::from_lowest(index), fret: Fret::new(fret) };
                    let pitch =
                        board.pitch_at(position).filter(|pitch| slice.melody.is_none_or(|melody| *pitch < melody));
                    pitch.is_some_and(is_wanted)
                })
        })
    }

    fn figures(&self, written: &[ArrangedSlice], place: &dyn Fn(usize) -> u8, left_out: &[LeftOut]) -> Figures {
        let mut figures = Figures { bars: self.played.bars.len(), ..Figures::default() };
        for (index, (slice, written)) in self.slices.iter().zip(written).enumerate() {
            let starting = written.melody.iter().chain(&written.bass).chain(&written.inner).filter(|note| note.starts);
            for note in starting {
                figures.notes += 1;
                figures.open_notes += usize::from(note.position.fret == Fret::OPEN);
            }
            if let Some(last) = index.checked_sub(1) {
                let way = self.states.reach.between(place(last), place(index));
                figures.moves += usize::from(way > 0.0);
                figures.way_mm += way;
                figures.farthest_mm = figures.farthest_mm.max(way);
            }
            let (Some(beat), Some(chord)) = (slice.beat, slice.bass_chord) else { continue };
            figures.beats += 1;
            figures.beats_with_bass += usize::from(written.bass.is_some());
            if beat == Beat::NewChord {
                let is_root = |pitch: Pitch| pitch.class() == chord.bass().class();
                figures.chord_changes += 1;
                figures.roots += usize::from(written.bass.is_some_and(|bass| is_root(bass.pitch)));
                figures.roots_in_reach += usize::from(self.lies_below(slice, &is_root));
            }
        }
        debug_assert!(left_out.len() <= 2 * written.len(), "a moment leaves out a note and a bass at most");
        figures
    }
}

fn is_on(slot: u8, finger: Finger) -> bool {
    FINGERS.get(usize::from(slot)) == Some(&finger)
}

fn held(grip: &Grip) -> Vec<Held> {
    let course = |index: u8| CourseIndex::from_lowest(index.into());
    let down = FINGERS.into_iter().zip(grip).filter(|(_, stop)| stop.is_down());
    down.map(|(finger, stop)| Held { finger, fret: Fret::new(stop.fret), from: course(stop.from), to: course(stop.to) })
        .collect()
}

fn place(position: Position) -> (u8, u8) {
    (u8::try_from(position.course.from_lowest_index()).unwrap_or(NONE), position.fret.get())
}

/// Returns the chord as it is moved with the tune.
#[must_use]
pub fn moved_chord(chord: Chord, by: Semitones) -> Chord {
    moved(chord, by)
}
