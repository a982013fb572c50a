//! The chords of a key, the shapes of a chord, and which of them are looked at.

use crate::instrument::{Fret, Fretboard, Instrument, Tuning};
use crate::shapes::{BassRule, Finger, Hand, Nearest, RankedShape, Shape, ShapeSearch, Style, Wants};
use crate::store::Library;
use crate::theory::{Chord, ChordQuality, Key, KeyChord, Mode, Note, Pitch};

use super::desk::Desk;
use super::favourites;
use super::next::Next;
use super::screen::Screen;

/// Which chords of the key stand in the row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ChordSet {
    /// Three notes each.
    #[default]
    Triads,
    /// Four notes each.
    Sevenths,
    /// Borrowed chords and the dominants of other degrees.
    More,
}

/// What is written in a diagram's marks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Labels {
    /// The finger's number.
    #[default]
    Finger,
    /// The note's name.
    Note,
    /// The degree in the chord.
    Degree,
}

/// Which shapes are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filters {
    /// With an open string.
    pub open_only: bool,
    /// Without an open string, so that it can be moved.
    pub movable_only: bool,
    /// No finger lies across.
    pub no_barre: bool,
    /// The root, or the bass asked for, is lowest.
    pub root_in_bass: bool,
    /// The thumb may stop the course nearest the ceiling.
    pub thumb_may_fret: bool,
    /// Nothing above this fret.
    pub up_to: Option<Fret>,
}

impl Filters {
    /// Returns how many are on.
    #[must_use]
    pub fn count(&self) -> usize {
        let switches = [self.open_only, self.movable_only, self.no_barre, self.root_in_bass, self.thumb_may_fret];
        switches.iter().filter(|is_on| **is_on).count() + usize::from(self.up_to.is_some())
    }

    /// Tells whether a found shape is wanted.
    #[must_use]
    pub fn lets_through(&self, found: &RankedShape) -> bool {
        let rings_open = found.shape().sounding().any(|position| position.fret == Fret::OPEN);
        let highest = found.shape().fret_range().map_or(Fret::OPEN, |(_, highest)| highest);
        (!self.open_only || rings_open)
            && (!self.movable_only || found.shape().is_movable())
            && (!self.no_barre || found.fingering().barres.is_empty())
            && (!self.root_in_bass || !found.is_inversion())
            && self.up_to.is_none_or(|fret| highest <= fret)
    }
}

/// Why no shape is shown.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Gap {
    /// There are shapes.
    #[default]
    None,
    /// No hand can sound the chord here; the nearest that can, if any.
    NoShape(Option<Box<Nearest>>),
    /// There are shapes, but none that is wanted.
    FilteredOut,
}

/// The most shapes of one chord that are kept to page through.
pub const MOST_SHAPES: usize = 60;

/// What the Shapes screen looks at.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenShapes {
    /// The key.
    pub key: Key,
    /// Which of its chords stand in the row.
    pub chord_set: ChordSet,
    /// The chord whose shapes are shown; of the key or any other.
    pub chord: Chord,
    /// How the strings are sounded.
    pub style: Style,
    /// What is written in the marks.
    pub labels: Labels,
    /// Which shapes are wanted.
    pub filters: Filters,
    /// Which of the shapes is shown.
    pub index: usize,
    /// The shapes that are wanted: those the player marked, then the others, best first, at most [`MOST_SHAPES`].
    pub found: Vec<RankedShape>,
    /// Those that are found, best first.
    ranked: Vec<RankedShape>,
    /// Those that the player marked for the chord in this tuning.
    marked: Vec<Shape>,
    /// A shape that was come to from a plan, and the fret the hand stands at there.
    planned: Option<(Shape, Fret)>,
    /// Why there are none.
    pub gap: Gap,
    /// The chords of the row, and whether the hand can sound each.
    pub row: Vec<(KeyChord, bool)>,
    /// What the shapes were looked for in, and how; `None` when they are to be looked for again.
    searched: Option<(Neck, Chord, Style, Filters)>,
    /// The same for the row.
    searched_row: Option<(Neck, Key, ChordSet, Style, bool)>,
}

/// A neck as it is tuned, with the capo: what shapes hang on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Neck {
    instrument: &'static Instrument,
    open: Vec<Pitch>,
    capo: Fret,
    scale_mm: f64,
}

impl Neck {
    pub(super) fn of(board: &Fretboard<'static>) -> Self {
        let (instrument, open) = (board.instrument(), board.open_pitches().to_vec());
        Self { instrument, open, capo: board.capo(), scale_mm: board.scale_mm() }
    }
}

impl OpenShapes {
    /// Starts at the tonic chord of a key, with nothing searched yet.
    #[must_use]
    pub fn in_key(key: Key) -> Self {
        let chord = tonic_chord(key);
        Self {
            key,
            chord_set: ChordSet::default(),
            chord,
            style: Style::Picked,
            labels: Labels::default(),
            filters: Filters::default(),
            index: 0,
            found: Vec::new(),
            ranked: Vec::new(),
            marked: Vec::new(),
            planned: None,
            gap: Gap::default(),
            row: Vec::new(),
            searched: None,
            searched_row: None,
        }
    }

    /// Looks at the shapes of a chord, at the first of them.
    pub(super) fn choose(&mut self, chord: Chord) {
        self.chord = chord;
        self.searched = None;
        self.planned = None;
    }

    /// Looks for shapes and row again, where the neck or what is wanted on it has changed.
    pub(super) fn settle(&mut self, board: &Fretboard<'static>, tuning: &Tuning, library: &Library) {
        let neck = Neck::of(board);
        let row = (neck.clone(), self.key, self.chord_set, self.style, self.filters.thumb_may_fret);
        if self.searched_row.as_ref() != Some(&row) {
            self.search_row(board);
            self.searched_row = Some(row);
        }
        let searched = (neck, self.chord, self.style, self.filters.clone());
        let is_searched = self.searched.as_ref() == Some(&searched);
        if !is_searched {
            self.search_chord(board);
            self.searched = Some(searched);
        }
        let marked = favourites::marked(library, tuning, self.chord, board.capo());
        if !is_searched || self.marked != marked {
            let shown = self.shape().filter(|_| is_searched).map(|found| found.shape().clone());
            self.marked = marked;
            self.put_marked_first(board);
            self.index = shown.and_then(|shown| self.place_of(&shown)).unwrap_or(0);
        }
    }

    /// Remembers where the hand of a plan stands with a shape.
    pub(super) fn come_from_plan(&mut self, shape: &Shape, stands_at: Fret) {
        self.planned = Some((shape.clone(), stands_at));
    }

    /// Returns the fret the hand stands at with a shape of open strings: in a plan where the chord before left it, else at
    /// the nut.
    #[must_use]
    pub fn stands_at(&self, shape: &Shape) -> Fret {
        self.planned.as_ref().filter(|(planned, _)| planned == shape).map_or(Fret::new(1), |(_, fret)| *fret)
    }

    /// Tells whether the player marked a shape of the chord.
    #[must_use]
    pub fn is_marked(&self, shape: &Shape) -> bool {
        self.marked.contains(shape)
    }

    fn place_of(&self, shape: &Shape) -> Option<usize> {
        self.found.iter().position(|found| found.shape() == shape)
    }

    /// What the player marked comes first, however it ranks; filters hold for it too.
    fn put_marked_first(&mut self, board: &Fretboard<'_>) {
        let held = |shape: &Shape| favourites::hold(shape, self.chord, board, self.style);
        let marked = self.marked.iter().filter_map(held).filter(|found| self.filters.lets_through(found));
        let others = self.ranked.iter().filter(|found| !self.marked.contains(found.shape())).cloned();
        self.found = marked.chain(others).collect();
        if !self.found.is_empty() {
            self.gap = Gap::None;
        }
    }

    /// Keeps the shape that is shown among those found, though it may be there by its mark alone.
    pub(super) fn keep_shown(&mut self) {
        let shown = self.shape().cloned();
        let is_new = |shown: &RankedShape| self.ranked.iter().all(|found| found.shape() != shown.shape());
        self.ranked.splice(0..0, shown.filter(is_new).into_iter().collect::<Vec<_>>());
    }

    /// Returns the shape that is shown.
    #[must_use]
    pub fn shape(&self) -> Option<&RankedShape> {
        self.found.get(self.index)
    }

    fn search(&self) -> ShapeSearch {
        let hand = Hand { may_use_thumb: self.filters.thumb_may_fret, ..Hand::default() };
        ShapeSearch { hand, style: self.style, ..ShapeSearch::best(MOST_SHAPES) }
    }

    /// The search for what the filters let through: it keeps the best few, instead of writing out all there are.
    fn filtered(&self) -> ShapeSearch {
        let filters = &self.filters;
        let wants = Wants {
            open: filters.open_only,
            movable: filters.movable_only,
            no_barre: filters.no_barre,
            asked_bass: filters.root_in_bass,
        };
        let all = self.search();
        let last_fret = filters.up_to.map_or(all.last_fret, |fret| fret.min(all.last_fret));
        ShapeSearch { wants, last_fret, ..all }
    }

    /// Looks for the shapes of the chord again.
    fn search_chord(&mut self, board: &Fretboard<'_>) {
        let search = self.search();
        self.ranked = self.filtered().find(self.chord, board).shapes;
        let is_empty = self.ranked.is_empty() && !search.finds_any(self.chord, board);
        self.index = 0;
        self.gap = if !self.ranked.is_empty() {
            Gap::None
        } else if is_empty {
            Gap::NoShape(search.find_nearest(self.chord, board).map(Box::new))
        } else {
            Gap::FilteredOut
        };
    }

    /// Shows this shape of the chord: where it stands in the list, else in front of it, where a hand can hold it at all.
    pub(super) fn turn_to(&mut self, shape: &Shape, board: &Fretboard<'_>) {
        if self.place_of(shape).is_none() {
            let any_bass = ShapeSearch { bass: BassRule::Any, ..self.search() };
            if let Some(found) = any_bass.find_shape(shape, self.chord, board) {
                self.ranked.insert(0, found);
                self.put_marked_first(board);
            }
        }
        self.index = self.place_of(shape).unwrap_or(0);
    }

    /// Looks again for which chords of the row the hand can sound.
    fn search_row(&mut self, board: &Fretboard<'_>) {
        let chords = match self.chord_set {
            ChordSet::Triads => self.key.triads(),
            ChordSet::Sevenths => self.key.sevenths(),
            ChordSet::More => self.key.neighbours(),
        };
        let search = ShapeSearch { bass: BassRule::Any, ..self.search() };
        let has_shape = |chord: &KeyChord| search.finds_any(chord.chord, board);
        self.row = chords
            .into_iter()
            .map(|chord| {
                let has = has_shape(&chord);
                (chord, has)
            })
            .collect();
    }

    /// Returns whether the shape shown stops a course with the thumb.
    #[must_use]
    pub fn uses_thumb(&self) -> bool {
        self.shape().is_some_and(|found| !found.fingering().is_free(Finger::Thumb))
    }
}

/// Returns the chord on the key's first degree.
#[must_use]
pub(super) fn tonic_chord(key: Key) -> Chord {
    let first = key.triads().into_iter().next().map(|first| first.chord);
    first.unwrap_or_else(|| Chord::new(key.tonic(), &ChordQuality::all()[0]))
}

/// Returns the key that a tuning invites: that of the chord its open strings sound, where that is major or minor.
#[must_use]
pub(super) fn key_of_open_chord(chord: Chord) -> Key {
    let is_minor = chord.quality().tones().iter().any(|tone| tone.number() == 3 && tone.alteration() < 0);
    Key::new(chord.root(), if is_minor { Mode::Minor } else { Mode::Major })
}

/// The key shown before anything is chosen: G, where a beginner's open chords lie.
pub(super) fn first_key() -> Key {
    Key::new(Note::new(crate::theory::Letter::G, crate::theory::Accidental::NATURAL), Mode::Major)
}

/// What the Shapes, filter and show screens ask for.
#[derive(Clone, Debug, PartialEq)]
pub enum ShapesAction {
    /// Show this chord of the row.
    Chord(usize),
    /// Show the next shape.
    Next,
    /// Show the one before.
    Previous,
    /// Sound strings so.
    Style(Style),
    /// Write this in the marks.
    Labels(Labels),
    /// Put these chords in the row.
    Set(ChordSet),
    /// Show the nearest chord that can be held.
    Nearest,
    /// Fill the screen with the shape.
    Large,
    /// Fill the screen with this one of those found.
    LargeAt(usize),
    /// Mark the shape shown as a favourite, or take the mark off.
    Favourite,
    /// Want shapes with an open string, or not any more.
    OpenOnly,
    /// Want movable shapes, or not any more.
    MovableOnly,
    /// Want no barre, or not any more.
    NoBarre,
    /// Want the root lowest, or not any more.
    RootInBass,
    /// Let the thumb stop a course, or not any more.
    ThumbMayFret,
    /// Move the highest fret by so many.
    UpToBy(i16),
    /// Put the key to the picture's signs away, or bring it back.
    PictureKey,
    /// Want all shapes.
    ClearFilters,
}

pub(super) fn update(desk: &mut Desk, action: ShapesAction) -> Next {
    let looking = &mut desk.shapes;
    match action {
        ShapesAction::Chord(index) => {
            if let Some(chord) = looking.row.get(index).map(|(chord, _)| chord.chord) {
                looking.choose(chord);
            }
        }
        ShapesAction::Next => looking.index = (looking.index + 1).min(looking.found.len().saturating_sub(1)),
        ShapesAction::Previous => looking.index = looking.index.saturating_sub(1),
        ShapesAction::Labels(labels) => looking.labels = labels,
        ShapesAction::Style(style) => {
            looking.style = style;
        }
        ShapesAction::Set(set) => {
            looking.chord_set = set;
        }
        ShapesAction::PictureKey => {
            let hides = &mut desk.library.settings.hides_diagram_key;
            *hides = !*hides;
        }
        ShapesAction::Nearest => {
            if let Gap::NoShape(Some(nearest)) = &looking.gap {
                let chord = nearest.chord;
                looking.choose(chord);
            }
        }
        ShapesAction::Large => {
            if looking.shape().is_some() {
                return Next::Show(Screen::Show);
            }
        }
        ShapesAction::LargeAt(index) => {
            if index < looking.found.len() {
                looking.index = index;
                return Next::Show(Screen::Show);
            }
        }
        ShapesAction::Favourite => return favourites::toggle(desk),
        filter => {
            change_filter(&mut looking.filters, &filter);
        }
    }
    Next::Shown
}

/// The lowest limit that still leaves room for a hand.
const LOWEST_LIMIT: u8 = 3;
/// The highest limit; above it there is none.
const HIGHEST_LIMIT: u8 = 15;

fn change_filter(filters: &mut Filters, action: &ShapesAction) {
    match action {
        ShapesAction::OpenOnly => {
            filters.open_only = !filters.open_only;
            filters.movable_only &= !filters.open_only;
        }
        ShapesAction::MovableOnly => {
            filters.movable_only = !filters.movable_only;
            filters.open_only &= !filters.movable_only;
        }
        ShapesAction::NoBarre => filters.no_barre = !filters.no_barre,
        ShapesAction::RootInBass => filters.root_in_bass = !filters.root_in_bass,
        ShapesAction::ThumbMayFret => filters.thumb_may_fret = !filters.thumb_may_fret,
        ShapesAction::ClearFilters => *filters = Filters::default(),
        ShapesAction::UpToBy(frets) => {
            let now = filters.up_to.map_or(HIGHEST_LIMIT, Fret::get);
            let wanted = u8::try_from(i16::from(now) + frets).unwrap_or(LOWEST_LIMIT).max(LOWEST_LIMIT);
            filters.up_to = (wanted < HIGHEST_LIMIT).then_some(Fret::new(wanted));
        }
        _ => {}
    }
}
