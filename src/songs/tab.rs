//! Fret numbers on string lines, as they are typed: lines that belong together, broken together.

use std::ops::Range;

use super::chart::{Chart, Content};

/// Lines that stand below each other are taken together up to so many: ten courses, and words above and below.
const MOST_LINES: usize = 12;
/// A line is read so far, in columns.
const MOST_COLUMNS: usize = 600;

/// Lines of a tab that stand below each other: the strings of one stretch of music.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tab {
    lines: Vec<Vec<char>>,
}

/// What stands on a line of a tab.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TabMark {
    /// The column of its first letter, from 0.
    pub column: usize,
    /// Its letters, without gaps; a bar line stands alone.
    pub text: String,
}

/// One line of a tab, or a stretch of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TabLine {
    text: String,
    /// What stands on it, from the left.
    pub marks: Vec<TabMark>,
    /// The columns the string is drawn through, each stretch from one up to before another: dashes and bar lines.
    pub string: Vec<Range<usize>>,
}

impl Tab {
    /// Returns the tab that begins on a line of a chart: this line and the lines of fret numbers right below it.
    #[must_use]
    pub fn at(chart: &Chart, line: usize) -> Self {
        let lines = chart.lines().iter().enumerate().skip(line).take(MOST_LINES);
        let belongs =
            lines.take_while(|(index, at)| at.content == Content::Tab && (*index == line || at.heading.is_none()));
        Self { lines: belongs.map(|(_, at)| untabbed(at.text())).collect() }
    }

    /// Returns how many lines it has.
    #[must_use]
    pub fn count(&self) -> usize {
        self.lines.len()
    }

    /// Returns how many columns its longest line takes, at least 1.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.lines.iter().map(Vec::len).max().unwrap_or(0).max(1)
    }

    /// Breaks it into stretches of at most so many columns, all lines at the same ones: before a bar line that all of them
    /// have where there is one in the second half, else where the room ends.
    #[must_use]
    pub fn broken(&self, most: usize) -> Vec<Self> {
        let most = most.max(2);
        let whole = self.columns();
        let mut found = Vec::new();
        let mut from = 0;
        while from < whole {
            let end = from.saturating_add(most);
            let to = if end >= whole {
                whole
            } else {
                (from + most / 2..=end).rev().find(|&column| self.is_bar_line(column)).unwrap_or(end)
            };
            let part = |line: &Vec<char>| line[from.min(line.len())..to.min(line.len())].to_vec();
            found.push(Self { lines: self.lines.iter().map(part).collect() });
            from = to;
        }
        found
    }

    fn is_bar_line(&self, column: usize) -> bool {
        self.lines.iter().all(|line| line.get(column) == Some(&'|'))
    }

    /// Returns its lines, from the top.
    #[must_use]
    pub fn lines(&self) -> Vec<TabLine> {
        self.lines.iter().map(|line| drawn(line)).collect()
    }
}

fn drawn(line: &[char]) -> TabLine {
    let mut string: Vec<Range<usize>> = Vec::new();
    let mut marks: Vec<TabMark> = Vec::new();
    for (column, &mark) in line.iter().enumerate() {
        if matches!(mark, '-' | '|') {
            match string.last_mut() {
                Some(last) if last.end == column => last.end += 1,
                _ => string.push(column..column + 1),
            }
        }
        if mark == '-' || mark.is_whitespace() {
            continue;
        }
        match marks.last_mut() {
            Some(last) if mark != '|' && last.text != "|" && last.column + last.text.chars().count() == column => {
                last.text.push(mark);
            }
            _ => marks.push(TabMark { column, text: mark.to_string() }),
        }
    }
    // A bar line alone is no string.
    string.retain(|stretch| line[stretch.clone()].contains(&'-'));
    TabLine { text: line.iter().collect(), marks, string }
}

/// Replaces tab stops by the spaces they stand for, eight columns apart.
fn untabbed(text: &str) -> Vec<char> {
    let mut found = Vec::new();
    for mark in text.trim_end().chars() {
        if found.len() >= MOST_COLUMNS {
            break;
        }
        if mark == '\t' {
            found.resize((found.len() / 8 + 1) * 8, ' ');
        } else {
            found.push(mark);
        }
    }
    found
}

impl TabLine {
    /// Returns it as it was typed.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tab(text: &str) -> Tab {
        Tab::at(&Chart::read(text), 0)
    }

    #[test]
    fn lines_below_each_other_belong_together_and_break_together_at_a_bar_line() {
        let tab = tab("e|--0--3--|--2-----|\nB|-1---0--|----12--|\nwords to sing");
        assert_eq!(2, tab.count());
        let parts = tab.broken(14);
        assert_eq!(2, parts.len());
        assert!(parts.iter().all(|part| part.count() == 2 && part.columns() <= 14));
        let below = &parts[1].lines()[1];
        assert_eq!(("|", 0), (below.marks[0].text.as_str(), below.marks[0].column), "it begins with the bar line");
        assert_eq!(("12", 5), (below.marks[1].text.as_str(), below.marks[1].column));
        assert_eq!(vec![0..5, 7..10], below.string);
    }

    #[test]
    fn without_a_bar_line_it_breaks_where_the_room_ends_and_loses_nothing() {
        let line = format!("e{}", "-0".repeat(50));
        let parts = tab(&line).broken(30);
        assert_eq!(4, parts.len());
        let marks: usize = parts.iter().flat_map(Tab::lines).map(|line| line.marks.len()).sum();
        assert_eq!(51, marks);
    }
}
