//! The page of a song being played: its rows, and how large and in how many columns they fit.

use std::ops::Range;

use crate::sheet::text_width;
use crate::songs::{Chart, ChartLine, Content, LineTold, Placed, PlayedLine, Tab};
use crate::theory::Chord;

/// Rounding and kerning take so much more than the letters' own widths.
const SPARE: f32 = 1.03;
/// Words between two chords are cut into pieces no longer than this, in letters, so that a line can be broken there.
const LONGEST_PIECE: usize = 14;
/// The room at the page's edges and between its columns, and before a line, in dp: as `ui/tokens.slint` has them.
const MARGIN: f32 = 16.0;
const GAP: f32 = 8.0;
/// How high a line of words is, of the text's size.
const LINE_HEIGHT: f32 = 1.36;
/// Text between these sizes is read at arm's length, in letters of the phone's own size.
const LEAST_SIZE: f32 = 1.2;
const MOST_SIZE: f32 = 4.0;
/// A song that does not fit is no larger than this: what comes next stays in view.
const MOST_SCROLLED: f32 = 1.8;
/// A tab's letters are smaller than the words by this.
const TAB_SIZE: f32 = 0.8;
/// Each of them stands in a column this wide, of its size; digits are 0.56 wide.
const TAB_COLUMN: f32 = 0.6;
/// Its lines are so far apart, and its stretches further by so much, of its size: `ui/parts/typed_tab.slint` draws them so.
const TAB_LINE: f32 = 1.4;
const TAB_GAP: f32 = 0.4;
/// A tab that is wider is broken, or drawn smaller as long as its letters are as large as the phone's own.
const TAB_LETTER: f32 = 1.0;
/// Lines that stay whole are worth letters smaller by this.
const WHOLE_LINES: f32 = 0.42;
/// Sizes are tried in steps of a sixteenth of that.
const SIZE_STEP: f32 = 0.0625;
/// A column is no narrower than so many of the phone's letters.
const LEAST_COLUMN: f32 = 17.0;
const MOST_COLUMNS: u8 = 3;
/// A song longer than the page is shown in so many rows, with some of the next ones below.
const CHUNK: usize = 48;
const AHEAD: usize = 16;
/// A step of the player's own larger and smaller.
const STEP: f32 = 1.1;

/// The room a page has, in pixels, and the size of the phone's own letters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Its width.
    pub width: f32,
    /// Its height.
    pub height: f32,
    /// The size of the phone's own letters.
    pub letter: f32,
    /// Whether the shapes of the chords stand beside it; else they stand below.
    pub has_shapes_beside: bool,
}

impl Default for Room {
    fn default() -> Self {
        Self { width: 360.0, height: 480.0, letter: 14.0, has_shapes_beside: false }
    }
}

/// What stands over words.
#[derive(Clone, Debug, PartialEq)]
pub enum Over {
    /// Nothing.
    Nothing,
    /// A chord.
    Chord(Chord),
    /// Silence.
    Silence,
    /// What was not understood, as it was typed.
    Unread(String),
}

/// What a row shows.
#[derive(Clone, Debug, PartialEq)]
pub enum RowKind {
    /// What the section is called.
    Heading(String),
    /// Bars with their lines.
    Bars,
    /// Words with chords over them, piece by piece: what stands over the piece's first letter, and its letters.
    Sung(Vec<(Over, String)>),
    /// Words.
    Words(String),
    /// Fret numbers on string lines, one below the other.
    Tab(Tab),
    /// Room between verses.
    Gap,
}

/// A row of the page.
#[derive(Clone, Debug, PartialEq)]
pub struct PageRow {
    /// What it shows.
    pub kind: RowKind,
    /// The line of the chart it is from.
    pub line: usize,
    /// Its pieces' widths: that of the chord in sizes of the chords, that of the words in sizes of the words.
    pub widths: Vec<(f32, f32)>,
    /// The widest of what cannot be broken in it, likewise.
    pub longest: (f32, f32),
    /// Whether something in it was not understood.
    pub has_fault: bool,
}

/// A song laid out for a room: what does not change while it is played.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// All its rows.
    pub rows: Vec<PageRow>,
    /// Which of them stand in each column, from the left; there may be more columns than the room shows side by side.
    parts: Vec<Range<usize>>,
    /// How many columns the room shows side by side.
    side_by_side: usize,
    /// The size of the words, in pixels.
    pub words: f32,
    /// The size of the chords, in pixels.
    pub chords: f32,
    /// How wide a line may be, in pixels.
    pub line_width: f32,
    /// The size of the phone's own letters, in pixels.
    pub letter: f32,
    /// The song is longer than the room: one column is scrolled, of several those with the current line are shown.
    pub is_longer: bool,
}

/// Returns the rows of a chart. `bars` writes a line of bars.
#[must_use]
pub fn rows(chart: &Chart, bars: &dyn Fn(usize) -> String) -> Vec<PageRow> {
    let mut found: Vec<PageRow> = Vec::new();
    let lines = chart.lines();
    let mut at = 0;
    while let Some(line) = lines.get(at) {
        let mut push = |kind: RowKind| {
            let widths = match &kind {
                RowKind::Bars => vec![(text_width(&bars(at), true), 0.0)],
                kind => widths(kind),
            };
            let longest = match &kind {
                RowKind::Bars => (longest_word(&bars(at)), 0.0),
                RowKind::Words(words) | RowKind::Heading(words) => (0.0, longest_word(words)),
                RowKind::Sung(_) => {
                    let widest = |one: (f32, f32), other: &(f32, f32)| (one.0.max(other.0), one.1.max(other.1));
                    widths.iter().fold((0.0, 0.0), widest)
                }
                RowKind::Tab(_) | RowKind::Gap => (0.0, 0.0),
            };
            let has_fault = !line.faults.is_empty() && !matches!(kind, RowKind::Heading(_));
            found.push(PageRow { kind, line: at, widths, longest, has_fault });
        };
        if let Some(title) = &line.heading {
            push(RowKind::Heading(title.clone()));
        }
        let mut taken = 1;
        match &line.content {
            Content::Nothing if line.heading.is_none() => push(RowKind::Gap),
            Content::Nothing => {}
            Content::Words(words) => push(RowKind::Words(words.clone())),
            Content::Tab => {
                let tab = Tab::at(chart, at);
                taken = tab.count().max(1);
                push(RowKind::Tab(tab));
            }
            Content::Bars(_) => push(RowKind::Bars),
            Content::Sung(words) => push(RowKind::Sung(pieces(&overs(line), words))),
            Content::Chords => {
                let below = lines.get(at + 1).filter(|below| below.heading.is_none());
                let words = match below.map(|below| &below.content) {
                    Some(Content::Words(_)) => {
                        taken = 2;
                        below.map_or_else(String::new, |below| untabbed(below.text()))
                    }
                    _ => String::new(),
                };
                push(RowKind::Sung(pieces(&overs(line), &words)));
            }
        }
        at += taken;
    }
    while found.last().is_some_and(|row| row.kind == RowKind::Gap) {
        found.pop();
    }
    found
}

/// Returns how wide the pieces of a row are. What is played now is written heavier, so all of it is measured so.
fn widths(kind: &RowKind) -> Vec<(f32, f32)> {
    match kind {
        RowKind::Heading(text) | RowKind::Words(text) => vec![(0.0, text_width(text, true))],
        RowKind::Sung(pieces) => {
            let width = |over: &Over| match over {
                Over::Nothing => 0.0,
                Over::Chord(chord) => text_width(&format!("{}  ", chord.ascii()), true),
                Over::Silence => text_width("N.C.  ", true),
                Over::Unread(word) => text_width(&format!("{word}?  "), true),
            };
            pieces.iter().map(|(over, words)| (width(over), text_width(words, true))).collect()
        }
        RowKind::Bars | RowKind::Tab(_) | RowKind::Gap => Vec::new(),
    }
}

/// Returns the width of the widest word, in sizes of its letters; of a word that no page holds only the beginning counts.
fn longest_word(text: &str) -> f32 {
    let word = |word: &str| text_width(&word.chars().take(2 * LONGEST_PIECE).collect::<String>(), true);
    text.split_whitespace().map(word).fold(0.0, f32::max)
}

/// Replaces tabs by the spaces they stand for, and a mark that says that the line is words.
fn untabbed(text: &str) -> String {
    let text = text.trim_end();
    let text = text.strip_prefix(['"', '“']).unwrap_or(text);
    let mut found = String::new();
    for mark in text.chars() {
        if mark == '\t' {
            let to = (found.chars().count() / 8 + 1) * 8;
            while found.chars().count() < to {
                found.push(' ');
            }
        } else {
            found.push(mark);
        }
    }
    found
}

/// Returns what stands over the words of a line, with the columns, from the left: chords, and what was not understood.
fn overs(line: &ChartLine) -> Vec<(usize, Over)> {
    let chord = |placed: &Placed| (placed.column, placed.chord.map_or(Over::Silence, Over::Chord));
    let mut found: Vec<(usize, Over)> = line.chords.iter().map(chord).collect();
    // A mark before the line takes no column; a tab goes to the next stop, eight columns apart.
    let mark = usize::from(line.told() == LineTold::Chords);
    for fault in line.faults.iter().filter(|fault| !fault.found.is_empty()) {
        let before = line.text().chars().take(fault.place);
        let column = before.fold(0_usize, |at, mark| if mark == '\t' { (at / 8 + 1) * 8 } else { at + 1 });
        found.push((column.saturating_sub(mark), Over::Unread(fault.found.clone())));
    }
    found.sort_by_key(|(column, _)| *column);
    found
}

/// Cuts words where a chord begins.
fn pieces(overs: &[(usize, Over)], words: &str) -> Vec<(Over, String)> {
    let letters: Vec<char> = words.chars().collect();
    let mut found = Vec::new();
    let piece = |from: usize, to: usize| -> String {
        let (from, to) = (from.min(letters.len()), to.min(letters.len()));
        letters[from..to.max(from)].iter().collect()
    };
    let first = overs.first().map_or(letters.len(), |(column, _)| *column);
    if first > 0 && !piece(0, first).trim().is_empty() {
        broken(Over::Nothing, &piece(0, first), &mut found);
    }
    for (index, (column, over)) in overs.iter().enumerate() {
        let to = overs.get(index + 1).map_or(usize::MAX, |(next, _)| *next);
        broken(over.clone(), &piece(*column, to), &mut found);
    }
    found
}

/// Adds words with what stands over their first letter, in pieces that are short enough to break a line between.
fn broken(over: Over, words: &str, found: &mut Vec<(Over, String)>) {
    let mut over = Some(over);
    let mut piece = String::new();
    for word in words.split_inclusive(' ') {
        let letters = piece.chars().count();
        if letters + word.trim_end().chars().count() > LONGEST_PIECE && !piece.trim().is_empty() {
            found.push((over.take().unwrap_or(Over::Nothing), std::mem::take(&mut piece)));
        }
        for letter in word.chars() {
            // A word longer than any is broken where it must.
            if piece.chars().count() > 2 * LONGEST_PIECE {
                found.push((over.take().unwrap_or(Over::Nothing), std::mem::take(&mut piece)));
            }
            piece.push(letter);
        }
    }
    if over.is_some() || !piece.is_empty() {
        found.push((over.unwrap_or(Over::Nothing), piece));
    }
}

/// Fits rows into a room: as large as they all fit, lines whole where that asks no much smaller letters, else at a size
/// that is read with the current line in view.
/// `words` and `chords` are the player's own steps larger or smaller.
#[must_use]
pub fn fit(rows: Vec<PageRow>, room: Room, (words, chords): (i8, i8)) -> Page {
    let height = (room.height - GAP).max(1.0);
    let room = Room { width: room.width.max(1.0), height, letter: room.letter.max(1.0), ..room };
    let own = STEP.powi(i32::from(words));
    let widest = (room.width / (LEAST_COLUMN * room.letter)).floor().max(1.0);
    let is_wide = room.width > 1.15 * room.height;
    let columns = if is_wide { (1..=MOST_COLUMNS).rfind(|&count| f32::from(count) <= widest).unwrap_or(1) } else { 1 };
    let edges = MARGIN * (f32::from(columns) + 1.0);
    let column_width = ((room.width - edges) / f32::from(columns) - GAP).max(1.0) / SPARE;
    let sizes =
        std::iter::successors(Some(MOST_SIZE), |size| Some(size - SIZE_STEP)).take_while(|&size| size >= LEAST_SIZE);
    // As large as all of it fits, with broken lines and without; and the largest without broken lines.
    let (mut broken, mut whole, mut unbroken) = (None, None, None);
    for steps in sizes {
        let size = steps * room.letter * own;
        let chord = size * STEP.powi(i32::from(chords));
        let has_whole_lines = rows.iter().all(|row| row.width(size, chord) <= column_width);
        if has_whole_lines && unbroken.is_none() && steps <= MOST_SCROLLED {
            unbroken = Some(size);
        }
        if broken.is_some() && !has_whole_lines {
            continue;
        }
        if split(&heights(&rows, size, chords, (column_width, room.letter)), room.height).len() <= usize::from(columns)
        {
            broken.get_or_insert(size);
            if has_whole_lines {
                whole = Some(size);
                break;
            }
        }
    }
    let fitting = whole.filter(|&whole| broken.is_none_or(|broken| whole >= WHOLE_LINES * broken)).or(broken);
    let is_longer = fitting.is_none();
    let size = fitting.or(unbroken).unwrap_or(LEAST_SIZE * room.letter * own);
    // However large the player wants it: no word and no chord is wider than the page.
    let longest =
        rows.iter().fold((0.0_f32, 0.0_f32), |most, row| (most.0.max(row.longest.0), most.1.max(row.longest.1)));
    let size = size.min(column_width / longest.1.max(1.0));
    let chords_size = (size * STEP.powi(i32::from(chords))).min(column_width / longest.0.max(1.0));
    let mut parts: Vec<Range<usize>> = Vec::new();
    if columns == 1 && is_longer {
        parts.push(0..rows.len());
    } else {
        for end in split(&heights(&rows, size, chords, (column_width, room.letter)), room.height) {
            parts.push(parts.last().map_or(0, |before| before.end)..end);
        }
    }
    Page {
        rows,
        parts,
        side_by_side: usize::from(columns),
        words: size,
        chords: chords_size,
        line_width: column_width,
        letter: room.letter,
        is_longer,
    }
}

impl Page {
    /// Returns the rows that are shown in each column while a line is played: of one long column those around it, of more
    /// columns than stand side by side those with it.
    #[must_use]
    pub fn columns(&self, now: &PlayedLine) -> Vec<Range<usize>> {
        let current = self.rows.iter().position(|row| row.is_played(now)).unwrap_or(0);
        if self.side_by_side == 1 && self.is_longer {
            // Rows far from what is played are left out: what is drawn must stay near the window.
            let first = current / CHUNK * CHUNK;
            let shown = first..(first + CHUNK + AHEAD).min(self.rows.len());
            return [shown].into();
        }
        let here = self.parts.iter().position(|part| current < part.end).unwrap_or(0);
        let first = here.min(self.parts.len().saturating_sub(self.side_by_side));
        self.parts.iter().skip(first).take(self.side_by_side).cloned().collect()
    }

    /// Returns a tab as it fits the page's lines: the size of its letters, in pixels, and the stretches it is broken into.
    #[must_use]
    pub fn tab(&self, tab: &Tab) -> (f32, Vec<Tab>) {
        let (size, most) = tab_size(tab, self.words, (self.line_width, self.letter));
        (size, tab.broken(most))
    }
}

impl PageRow {
    /// Tells whether it is played with a line.
    #[must_use]
    pub fn is_played(&self, now: &PlayedLine) -> bool {
        (now.line..now.line + now.lines).contains(&self.line)
    }

    /// Returns how wide it is in one line, in pixels.
    fn width(&self, size: f32, chord: f32) -> f32 {
        let of = match self.kind {
            RowKind::Heading(_) => 0.9,
            // It is drawn as small as it must.
            RowKind::Tab(_) => 0.0,
            _ => 1.0,
        };
        self.widths.iter().map(|(over, words)| (over * chord).max(words * of * size)).sum()
    }
}

/// Returns the size of a tab's letters and how many columns a line of them holds, for words of a size, on lines of a width,
/// by the size of the phone's own letters.
fn tab_size(tab: &Tab, words: f32, (width, letter): (f32, f32)) -> (f32, usize) {
    let most = words * TAB_SIZE;
    let size = (width / (count(tab.columns()) * TAB_COLUMN)).clamp((TAB_LETTER * letter).min(most), most);
    let fits = |columns: &usize| count(*columns) * size * TAB_COLUMN <= width;
    (size, (1..=tab.columns()).rev().find(fits).unwrap_or(1))
}

fn count(number: usize) -> f32 {
    u16::try_from(number).map_or(f32::MAX, f32::from)
}

/// Returns how high each row is, in pixels, on lines of a width, by the size of the phone's own letters.
fn heights(rows: &[PageRow], size: f32, chords: i8, (width, letter): (f32, f32)) -> Vec<f32> {
    let chord = size * STEP.powi(i32::from(chords));
    let lines = |row: &PageRow| (row.width(size, chord) / width).ceil().max(1.0);
    let height = |row: &PageRow| match &row.kind {
        RowKind::Heading(_) => LINE_HEIGHT * size * 0.9 * lines(row) + size * 0.4,
        RowKind::Bars => LINE_HEIGHT * chord * lines(row) + size * 0.3,
        RowKind::Sung(pieces) if pieces.iter().all(|(_, words)| words.trim().is_empty()) => {
            LINE_HEIGHT * chord * lines(row) + size * 0.3
        }
        RowKind::Sung(_) => LINE_HEIGHT * (size + chord) * lines(row) + size * 0.2,
        RowKind::Words(_) => LINE_HEIGHT * size * lines(row),
        RowKind::Tab(tab) => {
            let (letters, most) = tab_size(tab, size, (width, letter));
            let parts = tab.broken(most).len();
            letters * (TAB_LINE * count(parts * tab.count()) + TAB_GAP * count(parts))
        }
        RowKind::Gap => size * 0.5,
    };
    rows.iter().map(height).collect()
}

/// Splits rows into columns of a height: where each ends.
fn split(heights: &[f32], height: f32) -> Vec<usize> {
    let mut ends = Vec::new();
    let mut filled = 0.0;
    for (index, &row) in heights.iter().enumerate() {
        if filled > 0.0 && filled + row > height {
            ends.push(index);
            filled = 0.0;
        }
        filled += row;
    }
    ends.push(heights.len());
    ends
}
