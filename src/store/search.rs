//! Finding a song by what a player types.

use crate::songs::Song;
use crate::theory::without_accent;

use super::library::Library;

/// How well a song answers what was typed; lower is better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fit {
    TitleStart,
    TitleWord,
    Title,
    Elsewhere,
    Chart,
}

impl Library {
    /// Returns the songs in which every word of `text` is found, best first: those whose title starts with it, those
    /// with a word of the title that starts with it, those with it inside the title, those with it in who the song is
    /// from or in the notes, those with it among the words and chords of the chart. Equally good ones stand by title.
    ///
    /// Capitals and the accents of western European languages do not count. An empty text finds all.
    #[must_use]
    pub fn find_songs(&self, text: &str) -> Vec<&Song> {
        let wanted = plain(text);
        let words: Vec<&str> = wanted.split_whitespace().collect();
        let mut found: Vec<(Fit, String, &Song)> = Vec::new();
        for song in self.songs() {
            let title = plain(&song.title);
            let (mut elsewhere, mut chart) = (None, None);
            let mut is_in_chart = false;
            let mut fits = |word: &&str| {
                title.contains(word)
                    || elsewhere.get_or_insert_with(|| plain(&song.from) + "\n" + &plain(&song.notes)).contains(word)
                    || {
                        is_in_chart = true;
                        chart.get_or_insert_with(|| plain(&song.chart)).contains(word)
                    }
            };
            if !words.iter().all(&mut fits) {
                continue;
            }
            let starts_word = |word: &str| title.split_whitespace().any(|known| known.starts_with(word));
            let fit = if title.starts_with(wanted.trim()) {
                Fit::TitleStart
            } else if words.iter().all(|word| starts_word(word)) {
                Fit::TitleWord
            } else if words.iter().all(|word| title.contains(word)) {
                Fit::Title
            } else if is_in_chart {
                Fit::Chart
            } else {
                Fit::Elsewhere
            };
            found.push((fit, title, song));
        }
        found.sort_by(|one, other| (one.0, &one.1, one.2.id).cmp(&(other.0, &other.1, other.2.id)));
        found.into_iter().map(|(_, _, song)| song).collect()
    }
}

/// Returns the text in small letters without accents; apostrophes are left out.
pub(super) fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for mark in text.chars() {
        match mark {
            'A'..='Z' => plain.push(mark.to_ascii_lowercase()),
            '\'' | '’' | '‘' => {}
            _ if mark.is_ascii() => plain.push(mark),
            // Letters of their own, which no accent makes.
            'æ' | 'Æ' => plain.push_str("ae"),
            'ø' | 'Ø' => plain.push('o'),
            'œ' | 'Œ' => plain.push_str("oe"),
            'ß' | 'ẞ' => plain.push_str("ss"),
            'ł' | 'Ł' => plain.push('l'),
            'đ' | 'Đ' => plain.push('d'),
            // An accent that stands by itself behind its letter.
            '\u{300}'..='\u{36f}' => {}
            _ => plain.push(without_accent(mark)),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::plain;

    /// The letters that the Unicode Character Database decomposes (UAX 15), and those it does not (from memory).
    #[test]
    fn accents_do_not_count_in_any_latin_alphabet() {
        for (typed, found) in [
            ("Ça Alors", "ca alors"),
            ("Über die Brücke, Größe", "uber die brucke, grosse"),
            ("Ærø Sønderho", "aero sonderho"),
            ("Žluťoučký kůň", "zlutoucky kun"),
            ("Łódka", "lodka"),
            ("Đường về", "duong ve"),
            ("e\u{301}te\u{301}", "ete"),
            ("’Tis", "tis"),
            ("한강", "한강"),
            ("雨の道", "雨の道"),
        ] {
            assert_eq!(plain(typed), found, "{typed}");
        }
    }
}
