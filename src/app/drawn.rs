//! The player's own words as they are drawn and typed: of bounded length, whatever a file or the clipboard holds.
//!
//! What is kept is never changed here. The bounds keep what is drawn within what the renderer can place: points from
//! -32,768 to 32,767 (Slint 1.18's renderer without a graphics card; see `tests/upstream`).

use unicode_segmentation::UnicodeSegmentation;

/// A title, or another text of one line, is drawn up to so many letters; those as wide as they are high count twice.
pub const MOST_OF_LINE: usize = 200;
/// The most lines a chart or notes can be typed with: some fifteen pages.
pub const MOST_LINES: usize = 1_000;
/// And the most bytes.
pub const MOST_BYTES: usize = 40_000;
/// A letter with more signs on and below it than this is drawn with so many. The longest emoji families have ten.
const MOST_SIGNS: usize = 12;
/// A word longer than this may break wherever a line ends.
const LONGEST_WORD: usize = 12;
/// Where a line may end, unseen (Unicode 16, chapter 23.2).
const MAY_BREAK: char = '\u{200b}';

/// What a text of a field may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    /// One line of so many letters.
    Line(usize),
    /// Lines.
    Lines,
}

/// Returns a letter without what its signs are too many of.
fn letter(cluster: &str) -> &str {
    cluster.char_indices().nth(MOST_SIGNS).map_or(cluster, |(end, _)| &cluster[..end])
}

/// Returns how much room a letter is counted as: two for those that are as wide as they are high, one for others.
fn width_of(cluster: &str) -> usize {
    // East Asian scripts and pictures begin here (Unicode 16, blocks); a few narrow ones above it count as wide.
    let is_wide = |mark: char| mark >= '\u{1100}' && !('\u{1e00}'..='\u{20cf}').contains(&mark);
    if cluster.chars().next().is_some_and(is_wide) { 2 } else { 1 }
}

/// Cuts a text to what its field may hold; `None` when it is within it.
#[must_use]
pub fn cut(text: &str, field: Field) -> Option<String> {
    let mut fitting = String::new();
    let (mut room, mut lines) = (0, 1);
    for cluster in text.graphemes(true) {
        let is_break = cluster.starts_with(['\n', '\r']);
        match field {
            Field::Line(most) => {
                room += width_of(cluster);
                if room > most {
                    break;
                }
                // A field of one line shows a break as nothing.
                fitting.push_str(if is_break || cluster == "\0" { " " } else { letter(cluster) });
            }
            Field::Lines => {
                lines += usize::from(is_break);
                if lines > MOST_LINES || fitting.len() + letter(cluster).len() > MOST_BYTES {
                    break;
                }
                if cluster != "\0" {
                    fitting.push_str(letter(cluster));
                }
            }
        }
    }
    (fitting != text).then_some(fitting)
}

/// Returns a title or name as it is drawn: one line, at most [`MOST_OF_LINE`] long and then ending in dots, long words with
/// places where they may break.
#[must_use]
pub fn line(text: &str) -> String {
    let is_plain = text.len() <= LONGEST_WORD && text.bytes().all(|byte| (b' '..0x7f).contains(&byte));
    if is_plain {
        return text.to_owned();
    }
    let fitting = cut(text, Field::Line(MOST_OF_LINE));
    let is_shorter = text.graphemes(true).map(width_of).take(MOST_OF_LINE + 1).sum::<usize>() > MOST_OF_LINE;
    let mut drawn = breaking(fitting.as_deref().unwrap_or(text));
    if is_shorter {
        drawn.push('…');
    }
    drawn
}

/// Returns lines as they are drawn to be read: at most [`MOST_LINES`] and [`MOST_BYTES`], then dots.
#[must_use]
pub fn lines(text: &str) -> String {
    let fitting = cut(text, Field::Lines);
    let mut drawn = breaking(fitting.as_deref().unwrap_or(text));
    if fitting.is_some_and(|fitting| fitting.len() + 100 < text.len()) {
        drawn.push('…');
    }
    drawn
}

/// Puts places where a line may end into words that are too long to stand on a small screen.
fn breaking(text: &str) -> String {
    let mut broken = String::with_capacity(text.len());
    let mut run = 0;
    for cluster in text.graphemes(true) {
        run = if cluster.trim().is_empty() || cluster == "-" { 0 } else { run + width_of(cluster) };
        if run > LONGEST_WORD {
            broken.push(MAY_BREAK);
            run = width_of(cluster);
        }
        broken.push_str(cluster);
    }
    broken
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_words_stay_as_they_are() {
        for text in ["", "Low Water", "Étude für Öl", "Slipway Number Nine", "雨の歌", "👩🏽‍❤️‍💋‍👨🏿", "O'Lantern-Maker's"]
        {
            assert_eq!(line(text), text);
            assert_eq!(cut(text, Field::Line(MOST_OF_LINE)), None, "{text}");
            assert_eq!(lines(text), text);
        }
    }

    #[test]
    fn whatever_is_drawn_is_bounded() {
        let marks = format!("e{}", "\u{301}".repeat(6_000));
        assert_eq!(line(&marks).chars().count(), MOST_SIGNS);
        for text in
            ["a".repeat(100_000), "雨".repeat(100_000), marks.repeat(300), "\0".repeat(5_000), "a\n".repeat(900)]
        {
            let drawn = line(&text);
            let room: usize = drawn.graphemes(true).filter(|cluster| *cluster != "\u{200b}").map(width_of).sum();
            assert!(room <= MOST_OF_LINE + 1, "{room}");
            assert!(!drawn.contains(['\n', '\0']) && drawn.ends_with('…'));
            let typed = cut(&text, Field::Lines).unwrap_or(text);
            assert!(typed.lines().count() <= MOST_LINES && typed.len() <= MOST_BYTES);
        }
    }

    #[test]
    fn a_long_word_may_break_every_twelve_letters() {
        let drawn = line("Abcdefghijklmnopqrstuvwxyz of it");
        assert_eq!(drawn, "Abcdefghijkl\u{200b}mnopqrstuvwx\u{200b}yz of it");
        assert_eq!(line("supercalifragi"), "supercalifra\u{200b}gi");
    }

    #[test]
    fn what_is_cut_fits_and_stays_so() {
        let text = "wide 雨 and narrow ".repeat(50);
        let once = cut(&text, Field::Line(100)).expect("it is longer");
        assert_eq!(cut(&once, Field::Line(100)), None);
        let lines = "a line\r\n".repeat(3_000);
        let once = cut(&lines, Field::Lines).expect("it is longer");
        assert_eq!((once.lines().count(), cut(&once, Field::Lines)), (MOST_LINES, None));
    }
}
