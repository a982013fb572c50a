//! Staves: a stave of five lines above a tab stave, drawn bar by bar.

use crate::instrument::CourseIndex;
use crate::theory::SpelledPitch;

use super::compose::{Composer, Sizes};
use super::count;
use super::face::Face;
use super::lines::{fitting, placed, width};
use super::names::Names;
use super::page::{Ink, Mark, Path};
use super::score::{Bar, Event, Score, TICKS};

/// How long the stems of low notes are, in spaces of the stave: shorter than others, or they would reach the tab.
const LOW_STEM: f32 = 2.5;
/// Ticks of a quarter note, for lengths on the page.
const QUARTER: f32 = 48.0;

/// Lengths of a system, in points.
#[derive(Clone, Copy, Debug)]
struct Measures {
    /// Between two lines of the stave, and of the tab stave.
    space: f32,
    string: f32,
    /// Digits of the tab stave.
    digit: f32,
    /// No letter is smaller.
    least: f32,
    small: f32,
    /// From the top to the stave's upper line.
    above: f32,
    /// From the stave's lower line to the tab stave's upper one.
    between: f32,
    /// Below the tab stave.
    below: f32,
    lines: usize,
}

impl Measures {
    fn of(size: &Sizes, strings: usize, is_large: bool, lowest: i16) -> Self {
        let (space, string, digit) = if is_large { (8.0, 16.0, 15.0) } else { (5.4, 8.6, 8.6) };
        let small = if is_large { 14.0 } else { size.digit.max(8.0) };
        let above = size.body * 1.5 + space * 3.4;
        Self {
            space,
            string,
            digit,
            least: size.digit,
            small,
            above,
            between: space * (f32::from((-lowest).max(0)) / 2.0 + LOW_STEM + 2.6),
            below: small * 1.9,
            lines: strings,
        }
    }

    fn stave_bottom(&self) -> f32 {
        self.above + 4.0 * self.space
    }

    fn tab_top(&self) -> f32 {
        self.stave_bottom() + self.between
    }

    fn tab_bottom(&self) -> f32 {
        self.tab_top() + self.string * count(self.lines.saturating_sub(1))
    }

    fn height(&self) -> f32 {
        self.tab_bottom() + self.below
    }

    fn line_of(&self, course: CourseIndex) -> f32 {
        let number = self.lines.saturating_sub(1).saturating_sub(course.from_lowest_index());
        self.tab_top() + self.string * count(number)
    }
}

/// A moment of a bar: something begins.
struct Moment {
    tick: u32,
    /// How wide it is at least.
    least: f32,
}

/// Sets all bars of a score, as many a line as go.
pub(super) fn set(page: &mut Composer<'_>, names: &Names<'_>, score: &Score) {
    let notes = score.bars.iter().flat_map(|bar| &bar.voices).flatten().flat_map(|event| &event.notes);
    let lowest = notes.map(|note| step(score, note.pitch)).min().unwrap_or(0);
    let measures = Measures::of(&page.size, score.strings.len(), page.options.is_large, lowest);
    let head = measures.space * 4.6;
    let widths: Vec<f32> = score.bars.iter().map(|bar| bar_width(bar, names, &measures)).collect();
    let mut first = 0;
    let mut metre = None;
    while first < score.bars.len() {
        let mut last = first;
        let mut used = head + widths[first];
        while last + 1 < score.bars.len() && used + widths[last + 1] <= page.width {
            last += 1;
            used += widths[last];
        }
        let natural: f32 = widths[first..=last].iter().sum();
        // The last line keeps its natural width, where that is less than two thirds of the page.
        let is_end = last + 1 == score.bars.len();
        let room = page.width - head;
        let stretch = if is_end && natural < room * 0.66 { 1.0 } else { room / natural };
        let mut system = System { names, measures: &measures, score, marks: Vec::new() };
        let bars = &score.bars[first..=last];
        let end = system.draw(bars, &widths[first..=last], stretch, head, &mut metre);
        let System { mut marks, .. } = system;
        lines(&measures, end, &mut marks);
        let said = said(names, bars);
        page.marked_figure(said, marks, measures.height() + measures.space * 2.0);
        first = last + 1;
    }
}

/// How many steps above the stave's lower line a pitch is written.
fn step(score: &Score, pitch: SpelledPitch) -> i16 {
    let up = if score.is_written_up() { 7 } else { 0 };
    // The lower line of the G clef is E4.
    i16::from(pitch.octave()) * 7 + pitch.note().letter().steps_above_c() + up - (4 * 7 + 2)
}

fn lines(measures: &Measures, end: f32, marks: &mut Vec<Mark>) {
    let mut line = |y: f32| marks.push(Mark::Path(Path::line(0.0, y, end, y), Ink::Line(0.5)));
    for number in 0..5 {
        line(measures.above + measures.space * count(number));
    }
    for number in 0..measures.lines {
        line(measures.tab_top() + measures.string * count(number));
    }
    let whole = Path::line(0.0, measures.above, 0.0, measures.tab_bottom());
    marks.push(Mark::Path(whole, Ink::Line(0.8)));
}

fn moments(bar: &Bar, names: &Names<'_>, measures: &Measures) -> Vec<Moment> {
    let mut ticks: Vec<u32> = bar.voices.iter().flat_map(|voice| starts(voice).map(|(at, _)| at)).collect();
    ticks.extend(bar.harmonies.iter().map(|harmony| harmony.at_tick));
    ticks.sort_unstable();
    ticks.dedup();
    let end = bar.ticks();
    let next = ticks.iter().skip(1).copied().chain([end]);
    ticks
        .iter()
        .zip(next)
        .map(|(&tick, next)| {
            let length = f32::from(u16::try_from(next.saturating_sub(tick)).unwrap_or(u16::MAX)) / QUARTER;
            let by_time = measures.space * (1.9 + 2.2 * length.max(0.1).sqrt());
            let name = bar.harmonies.iter().filter(|harmony| harmony.at_tick == tick);
            let by_name =
                name.map(|harmony| width(&names.options.chord(harmony.chord), Face::Bold, measures.small * 1.25));
            Moment { tick, least: by_name.map(|wide| wide + 5.0).fold(by_time, f32::max) }
        })
        .collect()
}

fn starts(voice: &[Event]) -> impl Iterator<Item = (u32, &Event)> {
    voice.iter().scan(0, |at, event| {
        let begin = *at;
        *at += event.ticks;
        Some((begin, event))
    })
}

fn bar_width(bar: &Bar, names: &Names<'_>, measures: &Measures) -> f32 {
    moments(bar, names, measures).iter().map(|moment| moment.least).sum::<f32>() + measures.space * 2.6
}

struct System<'a> {
    names: &'a Names<'a>,
    measures: &'a Measures,
    score: &'a Score,
    marks: Vec<Mark>,
}

impl System<'_> {
    /// Draws bars one after the other. Returns where they end.
    fn draw(&mut self, bars: &[Bar], widths: &[f32], stretch: f32, head: f32, metre: &mut Option<(u8, u8)>) -> f32 {
        let m = *self.measures;
        let clef = if self.score.is_written_up() { '\u{1d120}' } else { '\u{1d11e}' };
        self.sign(clef, m.space * 0.5, m.stave_bottom());
        let mut left = head;
        for (bar, wide) in bars.iter().zip(widths) {
            let wide = wide * stretch;
            self.number(bar, left);
            let mut x = left + m.space * 1.3;
            if *metre != Some(bar.metre) {
                x += self.metre(bar.metre, x);
                *metre = Some(bar.metre);
            }
            self.bar(bar, x, left + wide - m.space * 1.0);
            left += wide;
            let (top, middle) = (m.above, m.stave_bottom());
            for (from, to) in [(top, middle), (m.tab_top(), m.tab_bottom())] {
                self.marks.push(Mark::Path(Path::line(left, from, left, to), Ink::Line(0.8)));
            }
        }
        left
    }

    fn sign(&mut self, sign: char, x: f32, y: f32) {
        self.marks.extend(placed(&sign.to_string(), Face::Staff, self.measures.space * 4.0, x, y, 0.0));
    }

    fn number(&mut self, bar: &Bar, left: f32) {
        if bar.number > 1 {
            let y = self.measures.above - self.measures.space * 1.2;
            self.marks.extend(placed(
                &bar.number.to_string(),
                Face::Regular,
                self.measures.small,
                left,
                y - self.measures.space * 1.6,
                0.0,
            ));
        }
    }

    fn metre(&mut self, (beats, unit): (u8, u8), x: f32) -> f32 {
        let m = *self.measures;
        let size = m.space * 2.9;
        let middle = x + size * 0.4;
        for (number, line) in [(beats, 2.0), (unit, 4.0)] {
            let y = m.above + m.space * line;
            self.marks.extend(placed(&number.to_string(), Face::ExtraBold, size, middle, y - 0.02 * size, 0.5));
        }
        size * 1.1
    }

    fn bar(&mut self, bar: &Bar, from: f32, to: f32) {
        let m = *self.measures;
        let moments = moments(bar, self.names, &m);
        let natural: f32 = moments.iter().map(|moment| moment.least).sum();
        let stretch = (to - from) / natural.max(1.0);
        let mut x = from;
        let mut places: Vec<(u32, f32)> = Vec::new();
        for moment in &moments {
            places.push((moment.tick, x));
            x += moment.least * stretch;
        }
        let place = |tick: u32| places.iter().rev().find(|(at, _)| *at <= tick).map_or(from, |(_, x)| *x);
        for harmony in &bar.harmonies {
            let text = self.names.options.chord(harmony.chord);
            let size = m.small * 1.25;
            let y = size * 1.0;
            self.marks.extend(placed(&text, Face::Bold, size, place(harmony.at_tick), y, 0.0));
        }
        for (number, voice) in bar.voices.iter().enumerate() {
            let is_upper = number == 0;
            let mut threes = 0;
            for (tick, event) in starts(voice) {
                let x = place(tick) + m.space * 0.6;
                if event.notes.is_empty() {
                    if is_upper || bar.voices[0].iter().all(|event| event.notes.is_empty()) {
                        self.rest(event.ticks, x);
                    }
                    continue;
                }
                self.heads(event, x, is_upper);
                threes = if is_three(event.ticks) { threes + 1 } else { 0 };
                if threes % 3 == 2 {
                    let high = event.notes.iter().map(|note| step(self.score, note.pitch)).max().unwrap_or(0);
                    let y = if is_upper { self.y_of(high) - m.space * 3.9 } else { self.y_of(high) - m.space };
                    self.marks.extend(placed(
                        "3",
                        Face::Bold,
                        m.small,
                        x + m.space * 0.6,
                        y.min(m.above - m.space * 0.6),
                        0.5,
                    ));
                }
                self.digits(event, x, is_upper);
            }
        }
    }

    fn y_of(&self, step: i16) -> f32 {
        self.measures.stave_bottom() - f32::from(step) * self.measures.space / 2.0
    }

    fn heads(&mut self, event: &Event, x: f32, is_upper: bool) {
        let m = *self.measures;
        let steps: Vec<i16> = event.notes.iter().map(|note| step(self.score, note.pitch)).collect();
        let (Some(&low), Some(&high)) = (steps.iter().min(), steps.iter().max()) else { return };
        let (shape, dotted, flags) = value(event.ticks);
        for (note, &step) in event.notes.iter().zip(&steps) {
            let y = self.y_of(step);
            self.ledgers(step, x);
            self.head(x, y, shape);
            if dotted {
                let off = if step % 2 == 0 { -m.space / 2.0 } else { 0.0 };
                self.marks.push(Mark::Path(Path::disc(x + m.space * 1.15, y + off, m.space * 0.16), Ink::Black));
            }
            let sign = note.pitch.note().accidental().sign();
            if !sign.is_empty() && !event.ties_from {
                self.marks.extend(placed(
                    sign,
                    Face::Regular,
                    m.space * 2.3,
                    x - m.space * 1.35,
                    y + m.space * 0.75,
                    0.5,
                ));
            }
            if event.ties_to {
                let (side, far) = if is_upper { (-1.0, x + m.space * 3.0) } else { (1.0, x + m.space * 3.0) };
                let begin = (x + m.space * 0.7, y + side * m.space * 0.55);
                let mut tie = Path::default();
                tie.move_to(begin.0, begin.1);
                let bend = begin.1 + side * m.space * 0.7;
                tie.curve_to((begin.0 + m.space * 0.6, bend), (far - m.space * 0.6, bend), (far, begin.1));
                self.marks.push(Mark::Path(tie, Ink::Line(0.8)));
            }
        }
        if shape == Head::Whole {
            return;
        }
        let side = m.space * 0.58;
        let (stem_x, from, to) = if is_upper {
            (x + side, self.y_of(low), (self.y_of(high) - m.space * 3.3).min(m.stave_bottom() - m.space * 2.0))
        } else {
            (
                x - side,
                self.y_of(high),
                (self.y_of(low) + m.space * if low < 0 { LOW_STEM } else { 3.3 }).max(m.stave_bottom() - m.space * 2.0),
            )
        };
        self.marks.push(Mark::Path(Path::line(stem_x, from, stem_x, to), Ink::Line(0.8)));
        self.flags(flags, stem_x, to, is_upper);
    }

    /// Flags as slanted strokes, which read as well below the stem's end as above it.
    fn flags(&mut self, flags: u8, x: f32, end: f32, is_upper: bool) {
        let m = *self.measures;
        let inward = if is_upper { 1.0 } else { -1.0 };
        for flag in 0..flags {
            let y = end + inward * f32::from(flag) * m.space * 0.85;
            let mut path = Path::default();
            path.move_to(x, y);
            path.curve_to(
                (x + m.space * 0.1, y + inward * m.space * 0.7),
                (x + m.space * 1.15, y + inward * m.space * 0.9),
                (x + m.space * 0.75, y + inward * m.space * 2.1),
            );
            self.marks.push(Mark::Path(path, Ink::Line(m.space * 0.2)));
        }
    }

    fn head(&mut self, x: f32, y: f32, shape: Head) {
        let space = self.measures.space;
        let outline = |wide: f32, high: f32, tilt: f32| {
            let bend = 0.552_284_8;
            let turn =
                |along: f32, up: f32| (x + along * wide + up * high * tilt, y - up * high - along * wide * tilt * 0.55);
            let mut path = Path::default();
            let start = turn(-1.0, 0.0);
            path.move_to(start.0, start.1);
            path.curve_to(turn(-1.0, bend), turn(-bend, 1.0), turn(0.0, 1.0));
            path.curve_to(turn(bend, 1.0), turn(1.0, bend), turn(1.0, 0.0));
            path.curve_to(turn(1.0, -bend), turn(bend, -1.0), turn(0.0, -1.0));
            path.curve_to(turn(-bend, -1.0), turn(-1.0, -bend), turn(-1.0, 0.0));
            path.close();
            path
        };
        match shape {
            Head::Black => self.marks.push(Mark::Path(outline(space * 0.6, space * 0.43, 0.4), Ink::Black)),
            Head::Half => {
                self.marks.push(Mark::Path(outline(space * 0.6, space * 0.45, 0.4), Ink::Black));
                self.marks.push(Mark::Path(outline(space * 0.5, space * 0.24, 0.75), Ink::White));
            }
            Head::Whole => {
                self.marks.push(Mark::Path(outline(space * 0.82, space * 0.48, 0.0), Ink::Black));
                self.marks.push(Mark::Path(outline(space * 0.36, space * 0.38, -0.3), Ink::White));
            }
        }
    }

    fn ledgers(&mut self, step: i16, x: f32) {
        let m = *self.measures;
        let mut line = |step: i16| {
            let y = m.stave_bottom() - f32::from(step) * m.space / 2.0;
            self.marks.push(Mark::Path(Path::line(x - m.space, y, x + m.space, y), Ink::Line(0.8)));
        };
        let mut at = -2;
        while at >= step {
            line(at);
            at -= 2;
        }
        let mut at = 10;
        while at <= step {
            line(at);
            at += 2;
        }
    }

    fn rest(&mut self, ticks: u32, x: f32) {
        let (shape, dotted, flags) = value(ticks);
        let sign = match (shape, flags) {
            (Head::Whole, _) => '\u{1d13b}',
            (Head::Half, _) => '\u{1d13c}',
            (Head::Black, 0) => '\u{1d13d}',
            (Head::Black, 1) => '\u{1d13e}',
            (Head::Black, _) => '\u{1d13f}',
        };
        let m = *self.measures;
        self.sign(sign, x - m.space * 0.6, m.stave_bottom());
        if dotted {
            self.marks.push(Mark::Path(
                Path::disc(x + m.space * 1.15, m.stave_bottom() - m.space * 2.5, m.space * 0.16),
                Ink::Black,
            ));
        }
    }

    /// Frets on the tab stave; what only sounds on stands in brackets. The thumb's notes have a p below.
    fn digits(&mut self, event: &Event, x: f32, is_upper: bool) {
        let m = *self.measures;
        for note in &event.notes {
            let y = m.line_of(note.course);
            let fret = note.fret.get().to_string();
            let text = if event.ties_from { format!("({fret})") } else { fret };
            let size = fitting(&text, Face::Bold, m.digit, m.space * 3.2, m.least);
            let (wide, high) = (width(&text, Face::Bold, size) + 2.0, size * 0.92);
            let clear = Path::rounded(x - wide / 2.0, y - high / 2.0, wide, high, 1.0);
            self.marks.push(Mark::Path(clear, Ink::White));
            self.marks.extend(placed(&text, Face::Bold, size, x, y + size * Face::Bold.cap_height() / 2.0, 0.5));
        }
        if event.ties_from {
            return;
        }
        let below = m.tab_bottom() + m.string * 0.35 + m.small;
        if !is_upper {
            self.marks.extend(placed("p", Face::Bold, m.small, x, below, 0.5));
        } else if let Some(finger) = event.notes.first().and_then(|note| note.finger) {
            let y = m.tab_top() - m.space * 0.9;
            self.marks.extend(placed(&finger.to_string(), Face::Regular, m.small, x, y, 0.5));
        }
    }
}

/// Tells whether a note is one of three in the time of two.
const fn is_three(ticks: u32) -> bool {
    matches!(ticks, 8 | 16 | 32 | 64)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Head {
    Whole,
    Half,
    Black,
}

/// How a length is written: its head, whether it is dotted, how many flags. The nearest shorter value for what no single
/// note says; triplets are written as what they stand for.
fn value(ticks: u32) -> (Head, bool, u8) {
    let quarter = TICKS;
    match ticks {
        length if length >= 4 * quarter => (Head::Whole, false, 0),
        length if length >= 3 * quarter => (Head::Half, true, 0),
        length if length >= 2 * quarter => (Head::Half, false, 0),
        length if 2 * length >= 3 * quarter => (Head::Black, true, 0),
        length if 3 * length >= 2 * quarter => (Head::Black, false, 0),
        length if 4 * length >= 3 * quarter => (Head::Black, true, 1),
        length if 3 * length >= quarter => (Head::Black, false, 1),
        length if 6 * length >= quarter => (Head::Black, false, 2),
        _ => (Head::Black, false, 3),
    }
}

/// Says the bars note by note.
fn said(names: &Names<'_>, bars: &[Bar]) -> String {
    let mut parts: Vec<String> = Vec::new();
    for bar in bars {
        let mut notes: Vec<(u32, usize, String)> = Vec::new();
        for (voice, events) in bar.voices.iter().enumerate() {
            for (tick, event) in starts(events).filter(|(_, event)| !event.ties_from) {
                for note in &event.notes {
                    let place = crate::instrument::Position { course: note.course, fret: note.fret };
                    let place = names.place(place);
                    notes.push((tick, 1 - voice.min(1), place));
                }
            }
        }
        notes.sort();
        let places: Vec<String> = notes.into_iter().map(|(_, _, place)| place).collect();
        let chords: Vec<String> = bar.harmonies.iter().map(|harmony| names.options.chord(harmony.chord)).collect();
        let chords = if chords.is_empty() { String::new() } else { format!("{}: ", chords.join(" ")) };
        parts.push(names.words.say("bar-said", &[&bar.number.to_string(), &format!("{chords}{}", places.join(", "))]));
    }
    parts.join(" ")
}
