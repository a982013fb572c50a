//! Songs as players write them down: what of each is music and what is words was written by hand beforehand.

use std::time::Instant;

use pegwise::songs::{Chart, ChartLine, Content};
use pegwise::theory::Naming;

/// A song of the collection: its habit, how its chords are named, its text, and what each line is.
struct Habit {
    name: String,
    naming: Naming,
    text: String,
    kinds: String,
}

fn habits() -> Vec<Habit> {
    let mut found: Vec<Habit> = Vec::new();
    let mut end = "\n";
    let mut stands_for = "_";
    for line in include_str!("../assets/song_habits.txt").lines().filter(|line| !line.starts_with('%')) {
        if let Some(head) = line.strip_prefix("@ ") {
            let (name, options) = head.split_once(';').unwrap_or((head, ""));
            let has = |word: &str| options.split_whitespace().any(|option| option == word);
            end = if has("crlf") {
                "\r\n"
            } else if has("cr") {
                "\r"
            } else {
                "\n"
            };
            stands_for = if has("nbsp") {
                "\u{a0}"
            } else if has("tab") {
                "\t"
            } else {
                "_"
            };
            let naming = if has("de") {
                Naming::German
            } else if has("do") {
                Naming::Solfege
            } else {
                Naming::English
            };
            found.push(Habit { name: name.to_owned(), naming, text: String::new(), kinds: String::new() });
            continue;
        }
        let habit = found.last_mut().unwrap();
        habit.kinds.push_str(&line[..1]);
        let text = line.get(2..).unwrap_or("").replace('_', stands_for);
        habit.text.push_str(&text);
        habit.text.push_str(end);
    }
    found
}

fn kind(line: &ChartLine) -> char {
    match (&line.heading, &line.content) {
        (Some(_), Content::Nothing) => 'H',
        (Some(_), Content::Bars(_)) => 'J',
        (Some(_), _) => 'I',
        (None, Content::Nothing) => 'N',
        (None, Content::Words(_)) => 'W',
        (None, Content::Tab) => 'T',
        (None, Content::Bars(_)) => 'B',
        (None, Content::Chords) => 'C',
        (None, Content::Sung(_)) => 'S',
    }
}

#[test]
fn what_is_music_and_what_is_words_in_sixty_habits() {
    let habits = habits();
    assert!(habits.len() >= 60, "{}", habits.len());
    let mut wrong = Vec::new();
    for habit in &habits {
        let chart = Chart::read_in(&habit.text, habit.naming);
        let kinds: String = chart.lines().iter().map(kind).collect();
        if kinds != habit.kinds {
            wrong.push(format!("{}: {kinds} is not {}\n{}", habit.name, habit.kinds, habit.text));
        }
        assert_eq!(chart.write(), habit.text, "{}", habit.name);
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), habits.len(), wrong.join("\n"));
}

fn find(name: &str) -> Chart {
    let habits = habits();
    let habit = habits.iter().find(|habit| habit.name == name).unwrap();
    Chart::read_in(&habit.text, habit.naming)
}

#[test]
fn chords_are_what_a_player_of_that_custom_means() {
    let rows = [
        ("German H and B", "Bm A G F# Bb F Eb Bb"),
        ("German small minor", "C Am F G Dm G7 C"),
        ("do re mi", "C G Am F Dm G7 C"),
        ("chords joined without spaces", "Em D C D"),
        ("parentheses around chords", "G C G"),
        ("chords with commas", "G C D G"),
        ("N.C. and rests", "G - D"),
        ("flats with sign", "Bb Eb F"),
        ("marked by hand as chords", "G C"),
        ("chords in square brackets within words", "G C D G Em C D G"),
    ];
    for (name, expected) in rows {
        let chart = find(name);
        let all = chart.lines().iter().flat_map(|line| &line.chords);
        let found: Vec<String> = all.map(|placed| placed.chord.map_or("-".into(), |chord| chord.ascii())).collect();
        assert_eq!(found.join(" "), expected, "{name}");
    }
}

#[test]
fn a_chord_stands_over_its_syllable() {
    let over = |name: &str, line: usize, words: usize| -> Vec<String> {
        let chart = find(name);
        let text = match &chart.lines()[words].content {
            Content::Sung(words) => words.clone(),
            _ => chart.lines()[words].text().replace('\t', "        "),
        };
        let letters: Vec<char> = text.chars().collect();
        let at = |column: usize| letters[column.min(letters.len())..].iter().take(5).collect();
        chart.lines()[line].chords.iter().map(|placed| at(placed.column)).collect()
    };
    assert_eq!(over("chords over words", 0, 1), ["Low w", "the s"]);
    assert_eq!(over("chords in square brackets within words", 0, 0), ["Morni", "mud-f", "tide ", "way"]);
    // A tab stop lies at every eighth column.
    assert_eq!(over("tab stops", 0, 1), ["     ", "Under"]);
    assert_eq!(over("non-breaking spaces", 0, 1), ["Under", " the\u{a0}", "bridg"]);
}

#[test]
fn a_heading_with_nothing_below_it_plays_its_section_again() {
    let chords = |name: &str| -> Vec<String> {
        let played = find(name).played().to_vec();
        played.iter().flat_map(|bar| &bar.chords).map(|chord| chord.map_or("-".into(), |chord| chord.ascii())).collect()
    };
    assert_eq!(chords("chorus by name").join(" "), "F C G Am F F C G");
    assert_eq!(chords("chorus by name with times").join(" "), "D G D Bm A D G D D G D");
    assert_eq!(chords("times at the line's end").join(" "), "G D Em C G D Em C");
}

#[test]
fn lines_are_played_with_the_words_below_them() {
    let lines = find("chords over words").played_lines().to_vec();
    let found: Vec<_> = lines.iter().map(|line| (line.line, line.lines, line.length_bars)).collect();
    assert_eq!(found, [(0, 2, 2), (2, 2, 2)]);
    let lines = find("words alone").played_lines().to_vec();
    assert_eq!(lines.iter().map(|line| (line.line, line.bars.len())).collect::<Vec<_>>(), [(0, 0), (1, 0), (2, 0)]);
    // What is repeated is played again line by line.
    let lines = Chart::read("|: G | C |\n| D | % :|\n\"words").played_lines().to_vec();
    assert_eq!(lines.iter().map(|line| line.line).collect::<Vec<_>>(), [0, 1, 0, 1]);
    assert_eq!(lines[1].lines, 2);
}

#[test]
fn chords_named_by_another_custom_sound_the_same_over_the_same_letters() {
    for habit in habits() {
        let chart = Chart::read_in(&habit.text, habit.naming);
        for naming in [Naming::English, Naming::German, Naming::Solfege] {
            let other = chart.renamed(naming);
            let chords = |chart: &Chart| -> Vec<_> {
                chart.lines().iter().flat_map(|line| &line.chords).map(|placed| placed.chord).collect()
            };
            assert_eq!(chords(&other), chords(&chart), "{} {naming:?}\n{}", habit.name, other.write());
        }
    }
}

/// Twice the text may take no more than about twice as long; wide enough not to fail on a busy machine.
#[test]
fn long_texts_take_time_in_proportion() {
    let shapes = ["[", "|", "G ", "a|-", "x2 ", "C#-", "Hm ", "\t", "]", "G: ", "(", "[G]", "é "];
    for shape in shapes {
        let took = |times: usize| {
            let text = shape.repeat(times);
            let begun = Instant::now();
            assert_eq!(Chart::read(&text).write(), text);
            begun.elapsed()
        };
        took(1_000);
        let (short, long) = (took(20_000).min(took(20_000)), took(80_000));
        assert!(long.as_secs_f64() < 0.05 + 12.0 * short.as_secs_f64(), "{shape}: {short:?} {long:?}");
    }
}

/// A chart of 2,000 lines in every habit of the collection: the quickest of thirty readings, so that other work beside does
/// not count. `cargo test --no-default-features --test core two_thousand_lines -- --nocapture` tells it.
#[test]
fn a_chart_of_two_thousand_lines_is_read_within_ten_milliseconds() {
    let mut text: String =
        habits().into_iter().filter(|habit| habit.naming == Naming::English).map(|habit| habit.text).collect();
    while text.lines().count() < 2_000 {
        text = text.repeat(2);
    }
    let text: String = text.split_inclusive('\n').take(2_000).collect();
    let read = || {
        let begun = Instant::now();
        let chart = Chart::read(&text);
        (begun.elapsed(), chart.lines().len())
    };
    let (took, lines) = (0..30).map(|_| read()).min().unwrap();
    println!("{lines} lines, {} bytes: {:.2} ms", text.len(), took.as_secs_f64() * 1000.0);
    // The tests' own build is not optimised as what is handed out is.
    let most_ms = if cfg!(debug_assertions) { 30 } else { 10 };
    assert!(lines >= 2_000 && took.as_millis() < most_ms, "{lines} lines took {took:?}");
}
