//! The rules of arrangement, held on every screen, in every size, at every text size and in every language.
//!
//! One run over all of them collects what breaks a rule; a test stands for each rule.
//!
//! Sources: 48 × 48 dp and 8 dp between targets are what Android's accessibility help asks for; WCAG 2.2, 1.4.4 asks for
//! text at 200 % without loss.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::panic::AssertUnwindSafe;
use std::sync::{Mutex, OnceLock, PoisonError};

use crate::every_screen::SIZES;
use crate::sights::{Sight, sights};
use crate::tree::{Piece, Place, pieces, rewrite};

/// The phone's text sizes, in per cent.
const TEXTS: [u16; 3] = [100, 130, 200];
const ENDS: [u16; 2] = [100, 200];

/// The size of the phone's text at 100 %, in dp.
const TEXT_DP: f32 = 14.0;

/// The least distance between two controls that are not one row or column of cells, in dp.
const LEAST_GAP: f32 = 8.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rule {
    /// A text has the room it needs, in both directions, and does not end in an ellipsis.
    NothingIsCut,
    /// Everything lies in the window, or in what can be scrolled to.
    NothingIsOutside,
    /// No two texts, and no text and a control it is not a part of, lie over each other.
    NothingOverlaps,
    /// A target is at least 48 × 48.
    LargeEnough,
    /// Two controls never share a place. They are 8 apart, or they are cells of one list: alike, and edge to edge in one
    /// row or column, where a border or a line parts them and a slip reaches only the neighbour one sees beside it.
    FarEnough,
    /// A control's name is its own on the screen.
    OneName,
    /// A control has a name, something to do, and says whether it is on.
    Complete,
    /// A screen reader goes from top to bottom and from start to end, pane after pane.
    ReadingOrder,
}

type Faults = BTreeMap<(Rule, String, String), Vec<String>>;

/// What a run is about: a language, the sizes, and whether the words are stretched.
#[derive(Clone, Copy, Debug)]
struct Run {
    language: &'static str,
    size: (f32, f32),
    texts: &'static [u16],
    stretched: bool,
}

/// The variable that asks for every size at every text size, in every language.
const EVERYTHING: &str = "PEGWISE_EVERY_SIZE";

/// The variable that keeps a run to some sights, by parts of their names with commas between: for who mends one.
const SOME: &str = "PEGWISE_SIGHTS";

fn wanted_sights() -> Vec<Sight> {
    let Ok(wanted) = std::env::var(SOME) else { return sights() };
    sights().into_iter().filter(|sight| wanted.split(',').any(|part| sight.name.contains(part))).collect()
}

/// All sizes in English, small phones with the largest text too; the narrowest in the other languages, and once with words
/// two fifths longer. With [`EVERYTHING`] every size in every language, at the smallest, a middle and the largest text, and
/// the longer words on low windows too: seven times as long.
fn runs() -> Vec<Run> {
    let is_everything = std::env::var_os(EVERYTHING).is_some();
    let texts = |is_wanted: bool| -> &[u16] {
        if is_everything {
            &TEXTS
        } else if is_wanted {
            &ENDS
        } else {
            &ENDS[..1]
        }
    };
    let english = SIZES.map(|size| Run { language: "en", size, texts: texts(size.0 < 400.0), stretched: false });
    let others = ["de", "es", "fr", "pt"].into_iter().flat_map(|language| {
        let sizes = SIZES.into_iter().filter(|size| *size == SIZES[0] || is_everything);
        sizes.map(move |size| Run { language, size, texts: texts(false), stretched: false })
    });
    let longer = SIZES.into_iter().filter(|size| *size == SIZES[0] || is_everything && size.1 < 500.0);
    let longer = longer.map(|size| Run { language: "en", size, texts: texts(false), stretched: true });
    english.into_iter().chain(others).chain(longer).collect()
}

/// Everything that breaks a rule, found once for all the tests, by as many threads as there are processors.
fn faults() -> &'static Faults {
    static FOUND: OnceLock<Faults> = OnceLock::new();
    FOUND.get_or_init(|| {
        let waiting: Mutex<Vec<Run>> = Mutex::new(runs());
        let found = Mutex::new(Faults::new());
        std::thread::scope(|scope| {
            for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
                scope.spawn(|| {
                    while let Some(run) = { waiting.lock().unwrap().pop() } {
                        // Windows live on in the thread that made them, and each is told of another language: a thread
                        // of its own for every run keeps that from growing with the square of their number.
                        std::thread::scope(|run_alone| run_alone.spawn(|| look_at_all(run, &found)).join()).unwrap();
                    }
                });
            }
        });
        found.into_inner().unwrap()
    })
}

fn look_at_all(run: Run, found: &Mutex<Faults>) {
    for sight in wanted_sights() {
        let seen = std::panic::catch_unwind(AssertUnwindSafe(|| look(&sight, run, found)));
        if seen.is_err() {
            let what = ("it cannot be opened".to_owned(), format!("{run:?}"));
            let mut found = found.lock().unwrap_or_else(PoisonError::into_inner);
            found.entry((Rule::Complete, sight.name.clone(), what.0)).or_default().push(what.1);
        }
    }
}

fn look(sight: &Sight, run: Run, found: &Mutex<Faults>) {
    let (width, height) = run.size;
    for &text in run.texts {
        let app = sight.open(run.language, width, height, TEXT_DP * f32::from(text) / 100.0);
        if run.stretched {
            rewrite(&app, stretched);
        }
        let stretched = if run.stretched { " stretched" } else { "" };
        let size = format!("{width}×{height} {text} % {}{stretched}", run.language);
        let on_screen = pieces(&app);
        let mut told = |rule: Rule, what: String| {
            found.lock().unwrap().entry((rule, sight.name.clone(), what)).or_default().push(size.clone());
        };
        check(&on_screen, Place { right: width, bottom: height, ..Place::default() }, &mut told);
    }
}

fn check(all: &[Piece], window: Place, told: &mut impl FnMut(Rule, String)) {
    for (index, piece) in all.iter().enumerate() {
        alone(piece, window, told);
        for (later, other) in all.iter().enumerate().skip(index + 1) {
            // The message lies over the page for as long as it is read.
            let one_layer = piece.is_told == other.is_told;
            if one_layer && !other.within.contains(&index) && !piece.within.contains(&later) {
                together(piece, other, told);
            }
        }
    }
    for pair in all.iter().filter(|piece| piece.spoken.is_some()).collect::<Vec<_>>().windows(2) {
        if let [before, after] = pair
            && before.is_told == after.is_told
            && goes_back(before, after)
        {
            told(Rule::ReadingOrder, format!("{} is read before {}", before.name(), after.name()));
        }
    }
}

fn alone(piece: &Piece, window: Place, told: &mut impl FnMut(Rule, String)) {
    if let Some(words) = &piece.words {
        if words.needs_width > piece.place.width() + 1.0 {
            let way = if words.elides { "shortened" } else { "too wide" };
            told(Rule::NothingIsCut, format!("{way}: {}", piece.name()));
        }
        if words.needs_height > piece.place.height() + 1.0 {
            told(Rule::NothingIsCut, format!("too high: {}", piece.name()));
        }
    }
    let lies = piece.words.as_ref().map_or(piece.place, |words| words.ink);
    if !piece.room.holds(lies) {
        let room = piece.room;
        let over = [room.left - lies.left, room.top - lies.top, lies.right - room.right, lies.bottom - room.bottom];
        let sides = ["left", "above", "right", "below"].into_iter().zip(over).filter(|(_, over)| *over > 1.0);
        let sides: Vec<_> = sides.map(|(side, over)| format!("{over:.0} dp too far {side}")).collect();
        told(Rule::NothingIsOutside, format!("{}: {}", piece.name(), sides.join(", ")));
    }
    if let Some((_, scroll)) = &piece.scroll
        && !window.holds(*scroll)
    {
        told(Rule::NothingIsOutside, format!("the scrolled area of {}", piece.name()));
    }
    if let Some(control) = &piece.control {
        if piece.place.width() < 47.9 || piece.place.height() < 47.9 {
            let (width, height) = (piece.place.width(), piece.place.height());
            told(Rule::LargeEnough, format!("{} is {width} × {height}", piece.name()));
        }
        if control.label.trim().is_empty() || !control.can_be_used || !control.says_its_state {
            told(Rule::Complete, format!("{} ({:?})", piece.name(), control.role));
        }
    }
}

fn together(one: &Piece, other: &Piece, told: &mut impl FnMut(Rule, String)) {
    let same_scroll = one.shares_scroll(other);
    let place = |piece: &Piece| {
        let lies = piece.words.as_ref().map_or(piece.place, |words| words.ink);
        let seen = Place {
            left: lies.left.max(piece.seen.left),
            top: lies.top.max(piece.seen.top),
            right: lies.right.min(piece.seen.right),
            bottom: lies.bottom.min(piece.seen.bottom),
        };
        if same_scroll { lies } else { seen }
    };
    let is_part = |piece: &Piece| piece.words.is_some() || piece.control.is_some();
    // A field's hint stands where its text will be.
    let hints = |field: &Piece, words: &Piece| {
        let is_field = field.control.as_ref().is_some_and(|control| control.hint.is_some());
        is_field && words.words.as_ref().is_some_and(|words| field.place.holds(words.ink))
    };
    if hints(one, other) || hints(other, one) {
        return;
    }
    if is_part(one) && is_part(other) && place(one).meets(place(other)) {
        let rule =
            if one.control.is_some() && other.control.is_some() { Rule::FarEnough } else { Rule::NothingOverlaps };
        told(rule, format!("{} lies over {}", other.name(), one.name()));
        return;
    }
    if let (Some(first), Some(second)) = (&one.control, &other.control) {
        // A tuning may stand in two groups of the list, played lately and by name: one name for one thing.
        let same_row = same_scroll && one.kind == other.kind && ["Tap", "WordButton"].contains(&one.kind.as_str());
        if first.label == second.label && !same_row {
            told(Rule::OneName, first.label.clone());
        }
        if same_scroll && is_too_near(one, other) {
            told(Rule::FarEnough, format!("{} and {}", one.name(), other.name()));
        }
    }
}

/// Whether two controls beside or below each other are less than 8 apart without being cells of one list.
fn is_too_near(one: &Piece, other: &Piece) -> bool {
    let (a, b) = (one.place, other.place);
    let across = b.left.max(a.left) - b.right.min(a.right);
    let down = b.top.max(a.top) - b.bottom.min(a.bottom);
    let near = across < LEAST_GAP - 0.5 && down < LEAST_GAP - 0.5 && (across < -1.0 || down < -1.0);
    let in_column = (a.left - b.left).abs() < 1.5 && (a.right - b.right).abs() < 1.5;
    let in_row = (a.top - b.top).abs() < 1.5 && (a.bottom - b.bottom).abs() < 1.5;
    near && !(one.kind == other.kind && (in_column || in_row))
}

/// Whether what is read later lies above, or before it in the same row, and begins no pane beside it.
pub(crate) fn goes_back(before: &Piece, after: &Piece) -> bool {
    let same = before.shares_scroll(after);
    let place = |piece: &Piece| match &piece.scroll {
        Some((_, scroll)) if !same => *scroll,
        _ => piece.place,
    };
    let (a, b) = (place(before), place(after));
    let above = b.bottom <= a.top + 1.0 && b.left < a.right - 1.0;
    let in_row = a.bottom.min(b.bottom) - a.top.max(b.top) > a.height().min(b.height()) / 2.0;
    above || (in_row && b.right <= a.left + 1.0)
}

/// A text with longer words, as another language would have: two letters in five more, with signs above and below. What
/// is not words (notes, chords, numbers) stays.
///
/// The words of the bar are left as they are: their size follows from their own letters, which are not these.
fn stretched(text: &str) -> Option<String> {
    if ["Tunings", "Retune", "Shapes", "Songs", "More"].contains(&text) {
        return None;
    }
    let mut run = 0;
    let has_words = text.chars().any(|letter| {
        run = if letter.is_lowercase() { run + 1 } else { 0 };
        run >= 3
    });
    has_words.then(|| {
        let words = text.split(' ').map(|word| {
            let letters = word.chars().filter(|letter| letter.is_alphabetic()).count();
            let more: String = "éłüşß".chars().cycle().take(letters * 2 / 5).collect();
            let at = word.char_indices().nth(letters / 2).map_or(word.len(), |(at, _)| at);
            format!("{}{more}{}", &word[..at], &word[at..])
        });
        words.collect::<Vec<_>>().join(" ")
    })
}

/// Fails with what breaks the rule, each fault once with the number of looks it shows in, and all of them.
fn hold(rule: Rule) {
    let broken: Vec<_> = faults().iter().filter(|((broken, ..), _)| *broken == rule).collect();
    let mut report = String::new();
    for ((_, sight, what), sizes) in &broken {
        let _ = writeln!(report, "  {sight}: {what}  [{} looks: {}]", sizes.len(), sizes.join(", "));
    }
    assert!(broken.is_empty(), "{rule:?}: {} faults\n{report}", broken.len());
}

#[test]
fn no_text_is_cut() {
    hold(Rule::NothingIsCut);
}

#[test]
fn nothing_lies_outside_the_window_or_what_it_scrolls_in() {
    hold(Rule::NothingIsOutside);
}

#[test]
fn nothing_lies_over_anything_else() {
    hold(Rule::NothingOverlaps);
}

#[test]
fn every_target_is_at_least_48_dp() {
    hold(Rule::LargeEnough);
}

#[test]
fn targets_are_8_dp_apart_or_cells_of_one_list() {
    hold(Rule::FarEnough);
}

#[test]
fn every_control_on_a_screen_has_a_name_of_its_own() {
    hold(Rule::OneName);
}

#[test]
fn every_control_has_a_name_an_action_and_says_its_state() {
    hold(Rule::Complete);
}

#[test]
fn a_screen_reader_goes_from_top_to_bottom() {
    hold(Rule::ReadingOrder);
}

/// The run sees what it should: as many looks as sights, sizes and texts make, and words that are really longer.
#[test]
fn the_run_reads_every_screen() {
    assert!(sights().len() >= 55, "{} sights", sights().len());
    assert_eq!(stretched("Hear both").as_deref(), Some("Heéar boéth"));
    assert_eq!(stretched("C♯m7/G♯"), None);
    for sight in sights() {
        let app = sight.open("en", 360.0, 640.0, TEXT_DP);
        let words = pieces(&app).iter().filter(|piece| piece.words.is_some()).count();
        assert!(words >= 3, "{} shows {words} texts", sight.name);
        assert!(rewrite(&app, stretched) > 0, "{} has no words to stretch", sight.name);
    }
}
