//! A chart as it is played: repeats unfolded, what goes on from before filled in.

use std::collections::HashMap;
use std::ops::Range;

use crate::theory::Chord;

use super::Chart;
use super::heading::name_and_times;
use super::line::{Content, Part};

/// The bars a line of words alone is given, where no chord says how long it takes.
const BARS_FOR_WORDS: usize = 2;

/// A part of a song.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section<'a> {
    /// What it is called; `None` for what stands before the first heading.
    pub title: Option<&'a str>,
    /// Its lines, from the heading's own.
    pub lines: Range<usize>,
}

/// A bar as it is played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlayedBar {
    /// The section it is in, from 0.
    pub section: usize,
    /// Its line in the chart, from 0.
    pub line: usize,
    /// Its place in the line, from 0.
    pub bar: usize,
    /// The chord of each even share; `None` is silence.
    pub chords: Vec<Option<Chord>>,
}

/// A line as it is played: music, words, or music with the words below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlayedLine {
    /// The section it is in, from 0.
    pub section: usize,
    /// The line in the chart, from 0.
    pub line: usize,
    /// How many lines from there belong to it: a line of chords takes the words below it along.
    pub lines: usize,
    /// Which of [`Chart::played`] are played in it; none where it holds words alone.
    pub bars: Range<usize>,
    /// How long it is, in bars.
    pub length_bars: usize,
}

/// What is played in turn.
struct Item {
    line: usize,
    bar: usize,
    /// What fills the bar; `None` for a line of words.
    parts: Option<Vec<Part>>,
    opens_repeat: bool,
    closes_repeat: Option<u8>,
}

impl Chart {
    /// Returns the sections; a chart that does not begin with a heading begins with one that has no title.
    #[must_use]
    pub fn sections(&self) -> Vec<Section<'_>> {
        let mut found: Vec<Section<'_>> = Vec::new();
        for (index, line) in self.lines.iter().enumerate() {
            match (&line.heading, found.last_mut()) {
                (None, Some(section)) => section.lines.end = index + 1,
                (heading, _) => found.push(Section { title: heading.as_deref(), lines: index..index + 1 }),
            }
        }
        found
    }

    /// Returns the bars in the order they are played. A chord that stands over words lasts a bar.
    #[must_use]
    pub fn played(&self) -> &[PlayedBar] {
        &self.unfolded().0
    }

    /// Returns the lines in the order they are played, words alone included.
    #[must_use]
    pub fn played_lines(&self) -> &[PlayedLine] {
        &self.unfolded().1
    }

    fn unfolded(&self) -> &(Vec<PlayedBar>, Vec<PlayedLine>) {
        self.unfolded.get_or_init(|| self.unfold())
    }

    fn unfold(&self) -> (Vec<PlayedBar>, Vec<PlayedLine>) {
        let sections = self.sections();
        let mut known: HashMap<String, usize> = HashMap::new();
        let mut run = Run::default();
        for (index, section) in sections.iter().enumerate() {
            let named = section.title.map(name_and_times);
            let has_content = self.lines[section.lines.clone()].iter().any(|line| line.content != Content::Nothing);
            let (source, times) = match &named {
                Some((name, times)) if !has_content => match known.get(name) {
                    Some(&source) => (source, *times),
                    None => continue,
                },
                Some((name, times)) => {
                    known.entry(name.clone()).or_insert(index);
                    (index, *times)
                }
                None => (index, 1),
            };
            let items = self.items(sections[source].lines.clone(), &mut run.before);
            for _ in 0..times {
                if run.lines.len() > MOST_PLAYED {
                    break;
                }
                run.play(source, &items);
            }
        }
        for line in &mut run.lines {
            line.lines = self.reach(line.line);
        }
        (run.bars, run.lines)
    }

    /// Returns what is played of a section in turn, repeats still folded.
    fn items(&self, lines: Range<usize>, before: &mut Vec<Part>) -> Vec<Item> {
        let mut items = Vec::new();
        let mut under_music = 0_usize;
        for line in lines {
            let chart_line = &self.lines[line];
            let item = |bar, parts| Item { line, bar, parts, opens_repeat: false, closes_repeat: None };
            match &chart_line.content {
                Content::Bars(bars) => {
                    for (bar, content) in bars.iter().enumerate() {
                        if !content.parts.is_empty() {
                            before.clone_from(&content.parts);
                        }
                        items.push(Item {
                            opens_repeat: content.opens_repeat,
                            closes_repeat: content.closes_repeat,
                            ..item(bar, Some(before.clone()))
                        });
                    }
                    under_music = usize::MAX;
                    continue;
                }
                Content::Chords | Content::Sung(_) if !chart_line.chords.is_empty() => {
                    let whole = chart_line.chords.iter().map(|placed| placed.chord.map_or(Part::Silence, Part::Chord));
                    let whole: Vec<Part> = whole.collect();
                    for round in 0..usize::from(chart_line.times) {
                        let from = round * whole.len();
                        items.extend(whole.iter().enumerate().map(|(bar, &part)| item(from + bar, Some(vec![part]))));
                    }
                    if let Some(&last) = whole.last() {
                        *before = vec![last];
                    }
                    under_music = usize::from(chart_line.content == Content::Chords);
                    continue;
                }
                Content::Words(_) | Content::Sung(_) if under_music == 0 => items.push(item(0, None)),
                Content::Words(_) | Content::Sung(_) => {
                    under_music = under_music.saturating_sub(1);
                    continue;
                }
                _ => {}
            }
            under_music = 0;
        }
        items
    }

    /// Returns how many lines from `line` on belong to it: the words below chords.
    fn reach(&self, line: usize) -> usize {
        let most = match self.lines[line].content {
            Content::Bars(_) => usize::MAX,
            Content::Chords => 1,
            _ => 0,
        };
        let below = self.lines[line + 1..].iter().take(most);
        1 + below.take_while(|below| below.heading.is_none() && matches!(below.content, Content::Words(_))).count()
    }
}

/// The most lines that are played; a chart of headings that repeat each other ends there.
const MOST_PLAYED: usize = 100_000;

#[derive(Default)]
struct Run {
    bars: Vec<PlayedBar>,
    lines: Vec<PlayedLine>,
    sounding: Option<Chord>,
    before: Vec<Part>,
}

impl Run {
    fn play(&mut self, section: usize, items: &[Item]) {
        let mut repeat_from = 0;
        let mut rounds_left: Option<u8> = None;
        let mut at = 0;
        while let Some(item) = items.get(at) {
            if item.opens_repeat {
                repeat_from = at;
            }
            self.step(section, item);
            at += 1;
            if let Some(times) = item.closes_repeat {
                let left = rounds_left.unwrap_or(times) - 1;
                rounds_left = (left > 0).then_some(left);
                if left > 0 {
                    at = repeat_from;
                } else {
                    repeat_from = at;
                }
            }
        }
    }

    fn step(&mut self, section: usize, item: &Item) {
        let from = self.bars.len();
        let goes_on = item.bar > 0
            && self.lines.last().is_some_and(|last| last.section == section && last.line == item.line)
            && self.bars.last().is_some_and(|last| last.line == item.line && last.bar + 1 == item.bar);
        if let Some(parts) = &item.parts {
            let chords = parts.iter().map(|part| part.sounds(&mut self.sounding)).collect();
            self.bars.push(PlayedBar { section, line: item.line, bar: item.bar, chords });
        }
        let played = self.bars.len() - from;
        match self.lines.last_mut().filter(|_| goes_on) {
            Some(last) => {
                last.bars.end += played;
                last.length_bars += played;
            }
            None => self.lines.push(PlayedLine {
                section,
                line: item.line,
                lines: 1,
                bars: from..from + played,
                length_bars: if item.parts.is_some() { played } else { BARS_FOR_WORDS },
            }),
        }
    }
}

impl Part {
    /// Returns what sounds in this share, and notes it for the next.
    fn sounds(self, sounding: &mut Option<Chord>) -> Option<Chord> {
        match self {
            Self::Chord(chord) => *sounding = Some(chord),
            Self::Hold => {}
            Self::Silence => *sounding = None,
        }
        *sounding
    }
}
