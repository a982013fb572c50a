//! A shape drawn on the neck: every length is a share of the space between two strings.

use crate::instrument::{CourseIndex, Fret, Fretboard, Instrument, Position, Stringing, Strung};
use crate::shapes::{Fingering, Shape, Style};
use crate::theory::{Chord, Pitch, PitchClass, Semitones};

use super::compose::Drawing;
use super::face::Face;
use super::lines::{fitting, placed, placed_white, width};
use super::page::{Ink, Mark, Path};
use super::paper::SheetOptions;
use super::words::Words;
use super::{count, narrow};

/// How many fret spaces a picture shows at least.
const FEWEST_SPACES: u8 = 4;
/// The thinnest line on a sheet, in points.
pub(super) const HAIRLINE: f32 = 0.5;

/// Returns each course's thickness as a share of the thickest one's.
pub(super) fn thickness(instrument: &Instrument, strings: &Stringing) -> Vec<f32> {
    let courses = instrument.courses().len();
    let Ok(strung) = Strung::new(instrument, strings) else { return vec![0.5; courses] };
    let mm: Vec<f64> = (0..courses).map(|index| strung.thickness_mm(CourseIndex::from_lowest(index))).collect();
    let most = mm.iter().copied().fold(0.0_f64, f64::max);
    mm.iter().map(|mm| narrow(if most > 0.0 { mm / most } else { 0.5 })).collect()
}

/// What is drawn.
#[derive(Debug)]
pub(super) struct Picture<'a> {
    pub(super) board: &'a Fretboard<'a>,
    pub(super) shape: &'a Shape,
    pub(super) fingering: &'a Fingering,
    /// What sounds.
    pub(super) chord: Chord,
    /// What a player calls it over the capo; its notes are named likewise.
    pub(super) played: Chord,
    /// The thumb's first and second course.
    pub(super) thumb: [Option<CourseIndex>; 2],
    /// Notes in reach, with what is written in them.
    pub(super) reach: &'a [(Position, String)],
    pub(super) style: Style,
    pub(super) thickness: &'a [f32],
    /// Written above: the chord, and at the right what it is to the key; nothing where empty.
    pub(super) name: &'a str,
    pub(super) beside: &'a str,
}

/// The frets that are shown, counted from the capo.
#[derive(Clone, Copy)]
struct Window {
    first: u8,
    spaces: u8,
}

impl Window {
    /// From the nut where the shape lies low, else from its lowest fret; wide enough for what is in reach too.
    fn of(picture: &Picture<'_>) -> Self {
        let stopped = picture.shape.stopped().map(|position| position.fret.get());
        let in_reach = picture.reach.iter().map(|(position, _)| position.fret.get()).filter(|&fret| fret > 0);
        let all: Vec<u8> = stopped.chain(in_reach).collect();
        let lowest = all.iter().copied().min().unwrap_or(1);
        let highest = all.iter().copied().max().unwrap_or(1);
        let first = if highest <= FEWEST_SPACES + 1 && lowest <= 2 { 1 } else { lowest };
        Self { first, spaces: (highest + 1).saturating_sub(first).max(FEWEST_SPACES) }
    }

    /// How many spaces beyond the window's edge the middle of a fret's space lies.
    fn along(self, fret: Fret) -> f32 {
        f32::from(fret.get().saturating_sub(self.first)) + 0.5
    }
}

/// Lengths in shares of the space between two strings.
mod share {
    pub(super) const FRET: f32 = 1.08;
    pub(super) const HEAD: f32 = 1.1;
    pub(super) const LEFT: f32 = 1.25;
    pub(super) const RIGHT: f32 = 0.6;
    pub(super) const FOOT: f32 = 0.95;
    pub(super) const THUMB: f32 = 1.2;
    pub(super) const DISC: f32 = 0.42;
    pub(super) const DIAMOND: f32 = 0.53;
    pub(super) const DIGIT: f32 = 0.6;
}

/// The space between two strings at which a picture of `courses` is `width` wide.
pub(super) fn space_for(courses: usize, width: f32) -> f32 {
    width / (count(courses.saturating_sub(1).max(1)) + share::LEFT + share::RIGHT)
}

/// The same without what hangs out at the left.
pub(super) fn space_beside(courses: usize, width: f32) -> f32 {
    width / (count(courses.saturating_sub(1).max(1)) + share::DISC + share::RIGHT)
}

/// The space between two strings from which on the digits are `digit` points high.
pub(super) const fn least_space(digit: f32) -> f32 {
    digit / share::DIGIT
}

struct Draft<'a> {
    picture: &'a Picture<'a>,
    options: &'a SheetOptions,
    window: Window,
    /// The space between two strings.
    s: f32,
    /// Where the neck begins.
    left: f32,
    top: f32,
    least: f32,
    marks: Vec<Mark>,
}

/// Draws a shape with `s` points between two strings; no letter smaller than `least` points.
pub(super) fn draw(picture: &Picture<'_>, options: &SheetOptions, words: Words, s: f32, least: f32) -> Drawing {
    let window = Window::of(picture);
    let courses = picture.board.courses();
    let is_named = !picture.name.is_empty();
    let name_size = (s * 1.02).clamp(least.max(11.0), 24.0).max(least);
    let above = if is_named { name_size * 1.3 } else { 0.0 };
    let top = above + share::HEAD * s;
    let mut draft = Draft { picture, options, window, s, left: share::LEFT * s, top, least, marks: Vec::new() };
    let whole_width = s * (count(courses.saturating_sub(1).max(1)) + share::LEFT + share::RIGHT);
    if is_named {
        let baseline = name_size * 0.95;
        let beside_size = (name_size * 0.62).max(least);
        let beside = width(picture.beside, Face::Regular, beside_size);
        let from = draft.left - s * share::DISC;
        let room = whole_width - from - if beside > 0.0 { beside + 0.4 * s } else { 0.0 };
        let size = fitting(picture.name, Face::ExtraBold, name_size, room, least);
        draft.marks.extend(placed(picture.name, Face::ExtraBold, size, from, baseline, 0.0));
        draft.marks.extend(placed(
            picture.beside,
            Face::Regular,
            beside_size,
            whole_width - share::RIGHT * s + s * share::DISC,
            baseline,
            1.0,
        ));
    }
    draft.neck();
    draft.barres();
    draft.markers();
    draft.heads();
    let below = draft.feet();
    let hang = if is_named { (share::LEFT - share::DISC) * s } else { 0.0 };
    Drawing { width: whole_width, height: below, hang, marks: draft.marks, words: picture.said(words, options) }
}

impl Picture<'_> {
    /// What a player calls a sound: lower by what the capo raises, where the chord is named from the capo.
    fn as_played(&self, pitch: Pitch) -> PitchClass {
        let up = self.played.root().class().up_to(self.chord.root().class());
        pitch.class().transpose(Semitones::new(-i16::from(up)))
    }

    /// Says what is drawn, string by string.
    fn said(&self, words: Words, options: &SheetOptions) -> String {
        let all = self.board.courses();
        let each = self.shape.frets().iter().enumerate().map(|(index, fret)| {
            let number = CourseIndex::from_lowest(index).player_number(all).to_string();
            let finger = self.fingering.fingers.get(index).copied().flatten();
            match (fret, finger) {
                (None, _) => words.say("string-silent", &[&number]),
                (Some(Fret::OPEN), _) => words.say("string-open", &[&number]),
                (Some(fret), Some(finger)) => {
                    let fret = self.board.instrument().fret_name(*fret);
                    words.say("string-held", &[&number, &fret, &finger.to_string()])
                }
                (Some(fret), None) => words.say("string-at", &[&number, &self.board.instrument().fret_name(*fret)]),
            }
        });
        let name = options.chord(self.played);
        words.say("picture", &[&name, &each.collect::<Vec<_>>().join("; ")])
    }
}

impl Draft<'_> {
    fn across(&self, course: usize) -> f32 {
        let last = self.picture.board.courses().saturating_sub(1);
        let place = if self.options.is_left_handed { last.saturating_sub(course) } else { course };
        count(place).mul_add(self.s, self.left)
    }

    fn along(&self, spaces: f32) -> f32 {
        (spaces * share::FRET).mul_add(self.s, self.top)
    }

    fn line(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, width: f32) {
        self.marks.push(Mark::Path(Path::line(x1, y1, x2, y2), Ink::Line(width.max(HAIRLINE))));
    }

    fn neck(&mut self) {
        let courses = self.picture.board.courses();
        let (first, last) = (self.left, count(courses.saturating_sub(1)).mul_add(self.s, self.left));
        let fret_line = self.s * 0.035;
        for space in 0..=self.window.spaces {
            let y = self.along(f32::from(space));
            self.line(first, y, last, y, fret_line);
        }
        for (index, course) in self.picture.board.instrument().courses().iter().enumerate() {
            let x = self.across(index);
            let thick = self.s * 0.13 * self.picture.thickness.get(index).copied().unwrap_or(0.5);
            let start = course.starts_at().get().saturating_sub(self.picture.board.capo().get());
            let starts = if course.is_drone() {
                (f32::from(start) - f32::from(self.window.first - 1)).clamp(0.0, f32::from(self.window.spaces))
            } else {
                0.0
            };
            let (begin, end) = (self.along(starts), self.along(f32::from(self.window.spaces)));
            let (places, wide) = if course.is_pair() {
                (vec![x - self.s * 0.08, x + self.s * 0.08], (thick * 0.8).max(HAIRLINE))
            } else {
                (vec![x], thick.max(HAIRLINE))
            };
            let over = fret_line.max(HAIRLINE) / 2.0;
            for place in places {
                let string = Path::rectangle(place - wide / 2.0, begin - over, wide, end - begin + 2.0 * over);
                self.marks.push(Mark::Path(string, Ink::Black));
            }
            if course.is_drone() && starts > 0.0 {
                self.line(x - 0.18 * self.s, begin, x + 0.18 * self.s, begin, self.s * 0.1);
            }
        }
        if self.window.first == 1 {
            let high = self.s * 0.16;
            let over = if self.picture.board.capo() == Fret::OPEN { self.s * 0.04 } else { self.s * 0.3 };
            let bar = Path::rounded(first - over, self.top - high, last - first + 2.0 * over, high, high * 0.3);
            self.marks.push(Mark::Path(bar, Ink::Black));
        } else {
            let name = self.picture.board.instrument().fret_name(Fret::new(self.window.first));
            let size = fitting(&name, Face::Bold, self.s * 0.62, self.s * (share::LEFT - 0.62), self.least);
            let y = self.along(0.5) + size * 0.35;
            self.marks.extend(placed(&name, Face::Bold, size, self.left - self.s * 0.62, y, 1.0));
        }
    }

    fn barres(&mut self) {
        for barre in &self.picture.fingering.barres {
            let ends = [barre.from, barre.to].map(|course| self.across(course.from_lowest_index()));
            let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
            let (y, half) = (self.along(self.window.along(barre.fret)), self.s * 0.19);
            let bar = Path::rounded(from - half, y - half, to - from + 2.0 * half, 2.0 * half, half);
            self.marks.push(Mark::Path(bar, Ink::Black));
        }
    }

    fn markers(&mut self) {
        let digit = (self.s * share::DIGIT).max(self.least);
        for position in self.picture.shape.stopped() {
            let index = position.course.from_lowest_index();
            let Some(pitch) = self.picture.board.pitch_at(position) else { continue };
            let (x, y) = (self.across(index), self.along(self.window.along(position.fret)));
            let is_root = self.is_root(pitch);
            let path = if is_root {
                Path::diamond(x, y, self.s * share::DIAMOND)
            } else {
                Path::disc(x, y, self.s * share::DISC)
            };
            self.marks.push(Mark::Path(path, Ink::Black));
            let finger = self.picture.fingering.fingers.get(index).copied().flatten();
            let text = finger.map(|finger| finger.to_string()).unwrap_or_default();
            let size = if is_root { (digit * 0.88).max(self.least) } else { digit };
            let baseline = y + size * Face::Bold.cap_height() / 2.0;
            self.marks.extend(placed_white(&text, Face::Bold, size, x, baseline));
        }
        let shown = self.window.first..self.window.first + self.window.spaces;
        for (position, text) in self.picture.reach.iter().filter(|(place, _)| shown.contains(&place.fret.get())) {
            let (x, y) =
                (self.across(position.course.from_lowest_index()), self.along(self.window.along(position.fret)));
            let size = fitting(text, Face::Bold, self.s * 0.5, self.s * 0.7, self.least);
            let high = (self.s * 0.8).max(size * 1.1);
            let wide = high.max(width(text, Face::Bold, size) + self.s * 0.2);
            let ring = Path::rounded(x - wide / 2.0, y - high / 2.0, wide, high, high / 2.0);
            self.marks.push(Mark::Path(ring.clone(), Ink::White));
            self.marks.push(Mark::Path(ring, Ink::Line((self.s * 0.06).max(0.8))));
            self.marks.extend(placed(text, Face::Bold, size, x, y + size * Face::Bold.cap_height() / 2.0, 0.5));
        }
    }

    fn is_root(&self, pitch: Pitch) -> bool {
        pitch.class() == self.picture.chord.root().class()
    }

    /// What stands above each string: a cross for silent, a ring or, for the root, a diamond for open.
    fn heads(&mut self) {
        let y = self.top - self.s * 0.62;
        let pen = (self.s * 0.075).max(0.8);
        for (index, fret) in self.picture.shape.frets().iter().enumerate() {
            let x = self.across(index);
            match fret {
                None if self.picture.style == Style::Picked => {
                    self.line(x - self.s * 0.16, y, x + self.s * 0.16, y, pen)
                }
                None => {
                    let arm = self.s * 0.19;
                    self.line(x - arm, y - arm, x + arm, y + arm, pen);
                    self.line(x - arm, y + arm, x + arm, y - arm, pen);
                }
                Some(Fret::OPEN) => {
                    let here = Position { course: CourseIndex::from_lowest(index), fret: Fret::OPEN };
                    let is_root = self.picture.board.pitch_at(here).is_some_and(|pitch| self.is_root(pitch));
                    let path =
                        if is_root { Path::diamond(x, y, self.s * 0.3) } else { Path::disc(x, y, self.s * 0.21) };
                    self.marks.push(Mark::Path(path, Ink::Line(pen)));
                }
                Some(_) => {}
            }
        }
    }

    /// What stands below each string: its note, and what the thumb does. Returns where that ends.
    fn feet(&mut self) -> f32 {
        let bottom = self.along(f32::from(self.window.spaces));
        let notes: Vec<Option<String>> = self
            .picture
            .shape
            .frets()
            .iter()
            .enumerate()
            .map(|(index, fret)| {
                let at = fret.map(|fret| Position { course: CourseIndex::from_lowest(index), fret })?;
                let pitch = self.picture.board.pitch_at(at)?;
                let class = self.picture.as_played(pitch);
                self.picture.played.note_of(class).map(|note| self.options.note(note))
            })
            .collect();
        let size = (self.s * 0.5).max(self.least);
        let widest = notes.iter().flatten().map(|note| width(note, Face::Regular, size)).fold(0.0, f32::max);
        // Long names take turns on two lines.
        let lines = if widest > self.s * 0.94 { 2 } else { 1 };
        let first = bottom + self.s * 0.3 + size * 0.75;
        let mut turn = 0;
        for (index, note) in notes.iter().enumerate() {
            let Some(note) = note else { continue };
            let y = first + size * 1.15 * count(turn % lines);
            turn += 1;
            self.marks.extend(placed(note, Face::Regular, size, self.across(index), y, 0.5));
        }
        let mut end = (size * 1.15).mul_add(count(lines - 1), first + size * 0.3).max(bottom + share::FOOT * self.s);
        if self.picture.thumb.iter().any(Option::is_some) {
            let digit = (self.s * 0.5).max(self.least);
            let top = end + self.s * 0.1;
            for (place, course) in self.picture.thumb.iter().enumerate() {
                let Some(course) = course else { continue };
                let (x, half) = (self.across(course.from_lowest_index()), self.s * 0.22);
                let wedge =
                    Path::polygon(&[(x, top), (x + half, top + 0.38 * self.s), (x - half, top + 0.38 * self.s)]);
                self.marks.push(Mark::Path(wedge, Ink::Black));
                let y = top + 0.5 * self.s + digit * 0.72;
                self.marks.extend(placed(&(place + 1).to_string(), Face::Bold, digit, x, y, 0.5));
            }
            end = (end + share::THUMB * self.s).max(top + 0.5 * self.s + digit);
        }
        end
    }
}
