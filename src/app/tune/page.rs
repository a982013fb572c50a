//! A worked-out tune as tab that fits the room: which bars stand on a line, and where everything on it lies.
//!
//! A line of tab is a [`System`]; all are of one height, so that a list draws only those in sight. A bar that is wider than
//! the room is parted, where it can be on a beat of the thumb's. Lengths are in dp; what belongs to the letters is in ems,
//! the size of the phone's own text.

use std::fmt::Write;
use std::ops::Range;

use crate::arrange::{ArrangedSlice, Arrangement, LeftOutKind, Sounding};
use crate::instrument::Fret;
use crate::theory::Chord;
use crate::tune::Quarters;

/// A quarter note's room, in ems; shorter notes have less, but never less than their letters.
const QUARTER_EMS: f32 = 2.0;
/// How the room grows with the length: a note twice as long has 1.57 of the room (by judgement, as engravers space).
const GROWTH: f32 = 0.65;
/// A digit of a fret, bold, and a letter of a chord's name, in ems of the phone's text.
const DIGIT_EMS: f32 = 0.6;
const CHORD_LETTER_EMS: f32 = 0.7;
/// A letter of what is written small.
const SMALL_LETTER_EMS: f32 = 0.5;
/// Before a bar's first note, and after its last.
const PAD_EMS: f32 = 0.8;
/// A bar is a target: no narrower than this, in dp (48 by 48, Android's accessibility help).
const LEAST_BAR_DP: f32 = 48.0;
/// What two targets in neighbouring lines are apart, in dp.
const BETWEEN_DP: f32 = 8.0;
/// A last line that is filled by less than this is not drawn out to the room.
const FILLED: f32 = 0.7;

/// The room that the tab has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TabRoom {
    /// How wide a line may be, in dp.
    pub width: f32,
    /// The size of the phone's text, in dp.
    pub letter: f32,
}

/// How the tab is written.
#[derive(Clone, Debug, PartialEq)]
pub struct TabLook {
    /// The room.
    pub room: TabRoom,
    /// How many strings are drawn.
    pub courses: usize,
    /// The thick strings are drawn on top, as they lie before the player, instead of the thin ones.
    pub is_thick_on_top: bool,
    /// How the open strings are called, from the thickest.
    pub names: Vec<String>,
}

/// How chords and frets are called.
pub struct TabWords<'a> {
    /// A chord.
    pub chord: &'a dyn Fn(Chord) -> String,
    /// A fret, counted from the capo.
    pub fret: &'a dyn Fn(Fret) -> String,
}

impl std::fmt::Debug for TabWords<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TabWords").finish_non_exhaustive()
    }
}

/// A tune laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct TabPage {
    /// How it is written.
    pub look: TabLook,
    /// The lines.
    pub systems: Vec<System>,
    /// Which line and which piece of it a slice stands in.
    places: Vec<(usize, usize)>,
}

/// One line of tab.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct System {
    /// The bars on it, or parts of a bar.
    pub pieces: Vec<Piece>,
}

/// A bar, or a part of one.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Which of the bars as played.
    pub bar: usize,
    /// Its slices.
    pub slices: Range<usize>,
    /// Where it begins in its line, in dp.
    pub x: f32,
    /// How wide it is.
    pub width: f32,
    /// Where each slice's notes stand in it: their middle.
    pub at: Vec<f32>,
    /// Whether the bar ends with it.
    pub ends_bar: bool,
}

/// Some letters, by their middle, in dp from the corner of their piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Letters {
    /// From the left.
    pub x: f32,
    /// From above.
    pub y: f32,
    /// What is written.
    pub text: String,
}

/// What is drawn of a piece. Strokes are path commands (SVG 1.1, chapter 8) in dp.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DrawnPiece {
    /// The frets, on their strings.
    pub frets: Vec<Letters>,
    /// Chord names.
    pub chords: Vec<Letters>,
    /// Held shapes, fingers, the bar's number: small. `x` is the left edge of a shape and of the number.
    pub shapes: Vec<Letters>,
    /// The fretting hand's fingers.
    pub fingers: Vec<Letters>,
    /// Strings and bar lines.
    pub lines: String,
    /// The melody's stems and flags.
    pub stems: String,
    /// The thumb's stems.
    pub thumb_stems: String,
    /// The thumb's mark at the end of its stems: filled wedges.
    pub wedges: String,
    /// Crosses where a melody note is left out.
    pub lost: String,
    /// Frames around what the player has decided.
    pub decided: String,
}

/// Where the rows of a line lie, from above, in dp.
#[derive(Clone, Copy, Debug)]
struct Rows {
    em: f32,
    chord: f32,
    shape: f32,
    upper_finger: f32,
    upper_stem: f32,
    first_line: f32,
    gap: f32,
    last_line: f32,
    lower_stem: f32,
    lower_finger: f32,
    height: f32,
}

impl Rows {
    fn of(look: &TabLook) -> Self {
        let em = look.room.letter;
        let gap = 1.2 * em;
        let first_line = 5.05 * em;
        let last_line = first_line + gap * short(look.courses.saturating_sub(1));
        let lower_stem = last_line + 1.45 * em;
        Self {
            em,
            chord: 0.75 * em,
            shape: 2.0 * em,
            upper_finger: 3.25 * em,
            upper_stem: 3.75 * em,
            first_line,
            gap,
            last_line,
            lower_stem,
            lower_finger: lower_stem + 0.55 * em,
            height: lower_stem + 1.15 * em,
        }
    }
}

fn short(count: usize) -> f32 {
    f32::from(u16::try_from(count).unwrap_or(u16::MAX))
}

fn letters(text: &str) -> f32 {
    short(text.chars().count())
}

#[expect(clippy::cast_possible_truncation, reason = "a width on the screen needs no more digits")]
fn quarters(length: Quarters) -> f32 {
    length.to_f64() as f32
}

impl TabPage {
    /// Lays a tune out: as many bars on a line as can be read.
    #[must_use]
    pub fn new(arrangement: &Arrangement, look: TabLook, words: &TabWords<'_>) -> Self {
        let em = look.room.letter;
        let slices = &arrangement.slices;
        let whole = look.room.width.max(2.0 * LEAST_BAR_DP);
        let indent = indent(&look);
        let mut page = Self { look, systems: Vec::new(), places: vec![(0, 0); slices.len()] };
        let mut line = System::default();
        let mut used = indent;
        for bar in bars(slices) {
            let ends = bar.end;
            for (part, widths) in parts(slices, bar, whole - indent, em, words) {
                let (before, after) = pads(slices, part.start, em, line.pieces.is_empty());
                let width = (before + widths.iter().sum::<f32>() + after).max(LEAST_BAR_DP);
                let (before, width) = if used + width > whole && !line.pieces.is_empty() {
                    page.close(std::mem::take(&mut line), whole, used, false);
                    used = 0.0;
                    let first = pads(slices, part.start, em, true).0;
                    (first, width + first - before)
                } else {
                    (before, width)
                };
                let mut x = before;
                let at = widths
                    .iter()
                    .map(|width| {
                        let here = x + 0.5 * DIGIT_EMS * em;
                        x += width;
                        here
                    })
                    .collect();
                let ends_bar = part.end == ends;
                line.pieces.push(Piece { bar: slices[part.start].bar, slices: part, x: used, width, at, ends_bar });
                used += width;
            }
        }
        if !line.pieces.is_empty() {
            page.close(line, whole, used, true);
        }
        page
    }

    /// Draws a line out to the room, and keeps it.
    fn close(&mut self, mut line: System, whole: f32, used: f32, is_last: bool) {
        let indent = if self.systems.is_empty() { indent(&self.look) } else { 0.0 };
        let (room, filled) = (whole - indent, (used - indent).max(1.0));
        let stretch = if is_last && filled < FILLED * room { 1.0 } else { (room / filled).max(1.0) };
        let index = self.systems.len();
        for (number, piece) in line.pieces.iter_mut().enumerate() {
            piece.x = indent + (piece.x - indent) * stretch;
            piece.width *= stretch;
            // The first note stays by the bar line.
            let first = piece.at.first().copied().unwrap_or(0.0);
            piece.at.iter_mut().for_each(|at| *at = first + (*at - first) * stretch);
            for slice in piece.slices.clone() {
                self.places[slice] = (index, number);
            }
        }
        self.systems.push(line);
    }

    /// Returns how high a line is, in dp, with what parts it from the next.
    #[must_use]
    pub fn system_height(&self) -> f32 {
        Rows::of(&self.look).height + BETWEEN_DP
    }

    /// Returns what a line's targets are high, in dp.
    #[must_use]
    pub fn piece_height(&self) -> f32 {
        Rows::of(&self.look).height
    }

    /// Returns the line a slice stands on, the place of its notes there and the room it has, in dp.
    #[must_use]
    pub fn place_of(&self, slice: usize) -> Option<(usize, f32, f32)> {
        let &(system, number) = self.places.get(slice)?;
        let piece = self.systems.get(system)?.pieces.get(number)?;
        let here = slice.checked_sub(piece.slices.start)?;
        let at = *piece.at.get(here)?;
        let next = piece.at.get(here + 1).copied().unwrap_or(piece.width);
        Some((system, piece.x + at, (next - at).max(self.look.room.letter)))
    }

    /// Returns the slice nearest to a place in a piece, in dp from its left edge.
    #[must_use]
    pub fn slice_at(&self, system: usize, piece: usize, x: f32) -> Option<usize> {
        let piece = self.systems.get(system)?.pieces.get(piece)?;
        let nearest = piece.at.iter().enumerate().min_by(|one, other| {
            let off = |at: f32| (at - x).abs();
            off(*one.1).total_cmp(&off(*other.1))
        })?;
        Some(piece.slices.start + nearest.0)
    }

    /// Returns the names of the strings beside the first line: where each stands.
    #[must_use]
    pub fn string_names(&self) -> Vec<Letters> {
        let rows = Rows::of(&self.look);
        let names = self.look.names.iter().enumerate();
        names.map(|(course, name)| Letters { x: 0.0, y: self.line_y(&rows, course), text: name.clone() }).collect()
    }

    fn line_y(&self, rows: &Rows, course: usize) -> f32 {
        let last = self.look.courses.saturating_sub(1);
        let place = if self.look.is_thick_on_top { course } else { last.saturating_sub(course) };
        rows.first_line + rows.gap * short(place)
    }

    /// Draws a piece. `decided` tells of a slice whether the player has decided its melody or its bass.
    #[must_use]
    pub fn draw(
        &self,
        arrangement: &Arrangement,
        (system, number): (usize, usize),
        words: &TabWords<'_>,
        decided: &dyn Fn(usize) -> (bool, bool),
    ) -> DrawnPiece {
        let rows = Rows::of(&self.look);
        let mut drawn = DrawnPiece::default();
        let Some(piece) = self.systems.get(system).and_then(|line| line.pieces.get(number)) else { return drawn };
        let slices = &arrangement.slices;
        self.draw_lines(piece, number == 0, &rows, &mut drawn.lines);
        if number == 0 {
            let text = slices[piece.slices.start].bar_number.to_string();
            drawn.shapes.push(Letters { x: 0.1 * rows.em, y: rows.shape, text });
        }
        self.write_chords(slices, piece, number == 0, words, &rows, &mut drawn);
        for (index, &x) in piece.slices.clone().zip(&piece.at) {
            let slice = &slices[index];
            let (melody_decided, bass_decided) = decided(index);
            let is_lost = arrangement
                .left_out
                .iter()
                .any(|left| left.at == slice.at && matches!(left.what, LeftOutKind::Melody(_)));
            if is_lost {
                let (y, arm) = (rows.upper_stem + 0.5 * rows.em, 0.28 * rows.em);
                let _ = write!(
                    drawn.lost,
                    "M {} {} L {} {} M {} {} L {} {} ",
                    x - arm,
                    y - arm,
                    x + arm,
                    y + arm,
                    x + arm,
                    y - arm,
                    x - arm,
                    y + arm
                );
            }
            for (note, is_decided) in slice
                .melody
                .iter()
                .map(|note| (note, melody_decided))
                .chain(slice.bass.iter().map(|note| (note, bass_decided)))
                .chain(slice.inner.iter().map(|note| (note, false)))
                .filter(|(note, _)| note.starts)
            {
                let y = self.line_y(&rows, note.position.course.from_lowest_index());
                let text = (words.fret)(note.position.fret);
                if is_decided {
                    let (wide, high) = ((0.3 * letters(&text) + 0.25) * rows.em, 0.56 * rows.em);
                    let _ = write!(
                        drawn.decided,
                        "M {} {} L {} {} L {} {} L {} {} Z ",
                        x - wide,
                        y - high,
                        x + wide,
                        y - high,
                        x + wide,
                        y + high,
                        x - wide,
                        y + high
                    );
                }
                drawn.frets.push(Letters { x, y, text });
            }
            self.draw_stems(slices, index, x, &rows, &mut drawn);
        }
        drawn
    }

    fn draw_lines(&self, piece: &Piece, is_first: bool, rows: &Rows, lines: &mut String) {
        for course in 0..self.look.courses {
            let y = self.line_y(rows, course);
            let _ = write!(lines, "M 0 {y} L {} {y} ", piece.width);
        }
        if is_first {
            let _ = write!(lines, "M 0 {} L 0 {} ", rows.first_line, rows.last_line);
        }
        if piece.ends_bar {
            let _ = write!(lines, "M {0} {1} L {0} {2} ", piece.width, rows.first_line, rows.last_line);
        }
    }

    /// Chord names where a chord begins and at the beginning of a line; the held shape where it fits before the next.
    fn write_chords(
        &self,
        slices: &[ArrangedSlice],
        piece: &Piece,
        is_first: bool,
        words: &TabWords<'_>,
        rows: &Rows,
        drawn: &mut DrawnPiece,
    ) {
        let marks = marks(slices, &piece.slices, is_first);
        for (place, &(index, has_chord)) in marks.iter().enumerate() {
            let x = piece.at[index - piece.slices.start] - 0.5 * DIGIT_EMS * rows.em;
            let next = marks.get(place + 1).map_or(piece.width, |(next, _)| piece.at[next - piece.slices.start]);
            if let Some(chord) = slices[index].chord.filter(|_| has_chord) {
                drawn.chords.push(Letters { x, y: rows.chord, text: (words.chord)(chord) });
            }
            if let Some(shape) = &slices[index].shape {
                let text = written(shape.frets(), words);
                if letters(&text) * SMALL_LETTER_EMS * rows.em < next - x {
                    drawn.shapes.push(Letters { x, y: rows.shape, text });
                }
            }
        }
    }

    /// Stems: the melody's on the side of the thin strings, the thumb's on the other with its wedge.
    fn draw_stems(&self, slices: &[ArrangedSlice], index: usize, x: f32, rows: &Rows, drawn: &mut DrawnPiece) {
        let em = rows.em;
        let above = (rows.first_line - 0.6 * em, rows.upper_stem, rows.upper_finger, -1.0_f32);
        let below = (rows.last_line + 0.6 * em, rows.lower_stem, rows.lower_finger, 1.0_f32);
        let (melody_side, thumb_side) = if self.look.is_thick_on_top { (below, above) } else { (above, below) };
        let slice = &slices[index];
        if let Some(note) = slice.melody.filter(|note| note.starts) {
            let (from, to, finger_y, _) = melody_side;
            let length = lasts(slices, index, &|slice| slice.melody);
            stem(&mut drawn.stems, x, (from, to), length, em);
            drawn.fingers.extend(finger(&note, x, finger_y));
        }
        if let Some(note) = slice.bass.filter(|note| note.starts) {
            let (from, to, finger_y, side) = thumb_side;
            let _ = write!(drawn.thumb_stems, "M {x} {from} L {x} {to} ");
            let (wide, high) = (0.3 * em, 0.42 * em);
            let tip = to - side * high;
            let _ = write!(drawn.wedges, "M {} {to} L {} {to} L {x} {tip} Z ", x - wide, x + wide);
            drawn.fingers.extend(finger(&note, x, finger_y + side * 0.1 * em));
        }
    }
}

fn finger(note: &Sounding, x: f32, y: f32) -> Option<Letters> {
    note.finger.map(|finger| Letters { x, y, text: finger.to_string() })
}

/// A stem with its flags; half notes have a short one, whole notes none. A dot stands beside the stem's end.
fn stem(to: &mut String, x: f32, (from, end): (f32, f32), length: Quarters, em: f32) {
    let quarters = quarters(length);
    if quarters >= 4.0 {
        return;
    }
    let end = if quarters >= 2.0 { f32::midpoint(from, end) } else { end };
    let _ = write!(to, "M {x} {from} L {x} {end} ");
    let flags = [1.0, 0.5, 0.25, 0.125].into_iter().filter(|least| quarters < *least).count();
    let inward = if end < from { 0.2 } else { -0.2 };
    for flag in 0..flags {
        let y = end + inward * short(flag) * em;
        let _ = write!(to, "M {x} {y} L {} {y} ", x + 0.4 * em);
    }
    let is_dotted = [3.0, 1.5, 0.75, 0.375].into_iter().any(|dotted| (quarters - dotted).abs() < 1e-3);
    if is_dotted {
        let (y, side) = (f32::midpoint(from, end), x + 0.25 * em);
        let _ = write!(to, "M {side} {y} L {} {y} ", side + 0.12 * em);
    }
}

/// How long a note sounds that begins in a slice.
fn lasts(slices: &[ArrangedSlice], index: usize, of: &dyn Fn(&ArrangedSlice) -> Option<Sounding>) -> Quarters {
    let on = slices[index + 1..].iter().take_while(|next| of(next).is_some_and(|note| !note.starts));
    slices[index].length + on.map(|next| next.length).sum()
}

/// What the names of the strings take beside the first line.
fn indent(look: &TabLook) -> f32 {
    let longest = look.names.iter().map(|name| letters(name)).fold(0.0, f32::max);
    (longest * 0.62 + 0.5) * look.room.letter
}

/// The slices of each bar.
fn bars(slices: &[ArrangedSlice]) -> impl Iterator<Item = Range<usize>> + '_ {
    let mut from = 0;
    std::iter::from_fn(move || {
        let bar = slices.get(from)?.bar;
        let count = slices[from..].iter().take_while(|slice| slice.bar == bar).count();
        let found = from..from + count;
        from += count;
        Some(found)
    })
}

/// Before the first note and after the last: a line's first bar has its number there.
fn pads(slices: &[ArrangedSlice], first: usize, em: f32, is_first: bool) -> (f32, f32) {
    let number = if is_first { letters(&slices[first].bar_number.to_string()) * SMALL_LETTER_EMS + 0.45 } else { 0.0 };
    (PAD_EMS.max(number) * em, 0.35 * em)
}

/// Where something stands above the strings: slices with a new chord (told) or a newly held shape.
fn marks(slices: &[ArrangedSlice], part: &Range<usize>, is_first: bool) -> Vec<(usize, bool)> {
    let before = |index: usize| index.checked_sub(1).map(|last| &slices[last]);
    let mut found = Vec::new();
    for index in part.clone() {
        let (slice, last) = (&slices[index], before(index));
        let starts_line = is_first && index == part.start;
        let is_chord = slice.chord.is_some() && (starts_line || last.is_none_or(|last| last.chord != slice.chord));
        let is_shape = slice.shape.is_some() && (starts_line || last.is_none_or(|last| last.shape != slice.shape));
        if is_chord || is_shape {
            found.push((index, is_chord));
        }
    }
    found
}

/// A held shape in one word, as `320003`; with spaces where a fret has two digits.
fn written(frets: &[Option<Fret>], words: &TabWords<'_>) -> String {
    let all: Vec<String> =
        frets.iter().map(|fret| fret.map_or_else(|| "x".to_owned(), |fret| (words.fret)(fret))).collect();
    let between = if all.iter().any(|fret| fret.chars().count() > 1) { " " } else { "" };
    all.join(between)
}

/// The widths of a part's slices, in dp.
fn widths(slices: &[ArrangedSlice], part: &Range<usize>, em: f32, words: &TabWords<'_>) -> Vec<f32> {
    let width = |slice: &ArrangedSlice| {
        let starting = slice.melody.iter().chain(&slice.bass).chain(&slice.inner).filter(|note| note.starts);
        let digits = starting.map(|note| letters(&(words.fret)(note.position.fret))).fold(1.0, f32::max);
        let least = digits * DIGIT_EMS + 0.55;
        let by_time = QUARTER_EMS * quarters(slice.length).clamp(0.1, 6.0).powf(GROWTH);
        least.max(by_time) * em
    };
    let mut found: Vec<f32> = slices[part.clone()].iter().map(width).collect();
    // A chord's name ends before the next begins.
    let chords: Vec<usize> =
        marks(slices, part, true).into_iter().filter(|(_, is_chord)| *is_chord).map(|(index, _)| index).collect();
    for (place, &index) in chords.iter().enumerate() {
        let next = chords.get(place + 1).copied().unwrap_or(part.end);
        let name = slices[index].chord.map(|chord| (words.chord)(chord)).unwrap_or_default();
        let wanted = (letters(&name) * CHORD_LETTER_EMS + 0.5) * em;
        let (from, to) = (index - part.start, next - part.start);
        let has: f32 = found[from..to].iter().sum();
        if let Some(last) = found[from..to].last_mut() {
            *last += (wanted - has).max(0.0);
        }
    }
    found
}

/// A bar as it fits the room: whole, or parted, before a beat of the thumb's in the later half of a part if there is one.
fn parts(
    slices: &[ArrangedSlice],
    bar: Range<usize>,
    room: f32,
    em: f32,
    words: &TabWords<'_>,
) -> Vec<(Range<usize>, Vec<f32>)> {
    let mut found = Vec::new();
    let mut from = bar.start;
    while from < bar.end {
        let part = from..bar.end;
        let all = widths(slices, &part, em, words);
        let (before, after) = pads(slices, from, em, true);
        let mut sum = before + after;
        let fitting = all.iter().take_while(|width| {
            sum += **width;
            sum <= room
        });
        let most = fitting.count().max(1);
        let count = if most == all.len() {
            most
        } else {
            let on_beat = (most / 2 + 1..=most)
                .rev()
                .find(|&at| slices.get(from + at).is_some_and(|slice| slice.bass.is_some_and(|bass| bass.starts)));
            on_beat.unwrap_or(most)
        };
        let part = from..from + count;
        let own = widths(slices, &part, em, words);
        found.push((part, own));
        from += count;
    }
    found
}
