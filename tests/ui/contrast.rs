//! What is read stands out from what is behind it.
//!
//! Source: WCAG 2.2, 1.4.3 (text 4.5:1), 1.4.11 (graphics that carry meaning 3:1), 1.4.6 (7:1, here for the sun), and its
//! definitions of contrast ratio and relative luminance.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use pegwise::store::Theme;
use slint::ComponentHandle;

use crate::sights::sights;
use crate::tree::pieces;

pub(crate) type Rgb = [u8; 3];

/// What stands on what: the front, the grounds it is used on, and the ratio it needs but in the sun.
const PAIRS: [(&str, &[&str], f64); 11] = [
    ("ink", &["paper", "raised", "band"], TEXT),
    ("quiet-ink", &["paper", "raised", "band"], TEXT),
    ("work", &["paper", "raised", "band"], TEXT),
    ("change", &["paper", "raised", "band"], TEXT),
    ("mark", &["paper", "raised"], TEXT),
    ("on-work", &["work"], TEXT),
    ("on-mark", &["mark"], TEXT),
    ("on-change", &["change"], TEXT),
    ("faint", &["paper", "raised"], GRAPHIC),
    // A line between rows and around quiet fields; where it goes, nothing is lost: no ratio but in the sun.
    ("rule", &["paper", "raised", "band"], 1.0),
    // The ring around a note in reach is filled with the page.
    ("paper", &["change", "mark"], GRAPHIC),
];
const TEXT: f64 = 4.5;
const GRAPHIC: f64 = 3.0;
const SUN: f64 = 7.0;

/// The grounds; every other token is a front.
const GROUNDS: [&str; 3] = ["paper", "raised", "band"];

fn ui() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("ui")
}

/// The colours of a theme, read from the tokens' own file.
fn palette(theme: &str) -> BTreeMap<String, Rgb> {
    let tokens = fs::read_to_string(ui().join("tokens.slint")).unwrap();
    let head = format!("property <Colors> {theme}: {{");
    let (_, rest) = tokens.split_once(&head).unwrap_or_else(|| panic!("no colours for {theme}"));
    let (body, _) = rest.split_once('}').unwrap();
    let entries = body.split(',').map(str::trim).filter(|entry| !entry.is_empty());
    entries
        .map(|entry| {
            let (name, hex) = entry.split_once(": #").unwrap_or_else(|| panic!("{theme}: {entry}"));
            assert_eq!(hex.len(), 6, "{theme}: {entry}");
            let part = |at: usize| u8::from_str_radix(&hex[at..at + 2], 16).unwrap();
            (name.to_owned(), [part(0), part(2), part(4)])
        })
        .collect()
}

fn luminance(color: Rgb) -> f64 {
    let [red, green, blue] = color.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

pub(crate) fn contrast(one: Rgb, other: Rgb) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Tells whether a colour is the letters' own or an edge that is nearly all letter.
fn is_shade_of(color: Rgb, letters: Rgb) -> bool {
    color.iter().zip(letters).all(|(one, other)| one.abs_diff(other) <= 12)
}

/// Black on white is 21:1; the grey `#767676` is the lightest that reaches 4.5:1 on white (both well known from the
/// standard's own explanations).
#[test]
fn contrast_is_what_the_standard_says() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    assert!(contrast([0x76; 3], [255; 3]) >= 4.5 && contrast([0x77; 3], [255; 3]) < 4.5);
}

#[test]
fn every_pair_of_colours_in_use_stands_out() {
    for theme in ["light", "dark", "sunlight"] {
        let palette = palette(theme);
        let paired: BTreeSet<&str> =
            PAIRS.iter().flat_map(|(front, grounds, _)| [*front].into_iter().chain(grounds.iter().copied())).collect();
        for name in palette.keys() {
            assert!(paired.contains(name.as_str()), "{theme}: \"{name}\" is in no pair: say what it stands on");
        }
        for (front, grounds, least) in PAIRS {
            for ground in grounds {
                let least = if theme == "sunlight" { SUN } else { least };
                let found = contrast(palette[front], palette[*ground]);
                assert!(found >= least, "{theme}: {front} on {ground} is {found:.2}:1, not {least}:1");
            }
        }
    }
}

/// No grey in the sun: what is not black or white is one of the two colours that mean something.
#[test]
fn in_the_sun_there_are_no_greys() {
    for (name, color) in palette("sunlight") {
        let [red, green, blue] = color;
        let is_grey = red.abs_diff(green) < 16 && green.abs_diff(blue) < 16 && !matches!(red, 0 | 255);
        assert!(!is_grey, "{name} is grey: {color:?}");
    }
}

/// Every text of every screen, as it is drawn: its colour against the colour most of the place behind it has. The pair is
/// one of the list above, so a new one is noticed.
#[test]
fn every_text_stands_out_from_what_is_drawn_behind_it() {
    for (theme, name, least) in
        [(Theme::Light, "light", TEXT), (Theme::Dark, "dark", TEXT), (Theme::Sunlight, "sunlight", SUN)]
    {
        let palette = palette(name);
        let listed: BTreeSet<(Rgb, Rgb)> = PAIRS
            .iter()
            .flat_map(|(front, grounds, _)| grounds.iter().map(|ground| (palette[*front], palette[*ground])))
            .collect();
        let mut seen = BTreeSet::new();
        for mut sight in sights() {
            sight.library.settings.theme = theme;
            let app = sight.open("en", 360.0, 640.0, 14.0);
            let picture = app.window().window().take_snapshot().unwrap();
            let pixel = |x: u32, y: u32| {
                let at = usize::try_from(y * picture.width() + x).unwrap();
                let pixel = picture.as_slice()[at];
                [pixel.r, pixel.g, pixel.b]
            };
            for piece in pieces(&app) {
                let Some(words) = &piece.words else { continue };
                let (left, right) = (words.ink.left.max(piece.seen.left), words.ink.right.min(piece.seen.right));
                let (top, bottom) = (words.ink.top.max(piece.seen.top), words.ink.bottom.min(piece.seen.bottom));
                // Between the edges of smaller letters there is no ground to be seen.
                if right - left < 8.0 || bottom - top < 12.0 {
                    continue;
                }
                let mut counts: BTreeMap<Rgb, usize> = BTreeMap::new();
                for y in whole(top)..whole(bottom) {
                    for x in whole(left)..whole(right) {
                        *counts.entry(pixel(x, y)).or_default() += 1;
                    }
                }
                let Some((ground, _)) = counts
                    .into_iter()
                    .filter(|(color, _)| !is_shade_of(*color, words.color))
                    .max_by_key(|(_, count)| *count)
                else {
                    continue;
                };
                let found = contrast(words.color, ground);
                let what = format!("{name}, {}: {} is {:?} on {ground:?}", sight.name, piece.name(), words.color);
                assert!(found >= least, "{what}: {found:.2}:1");
                // The toolkit's own mark on the About screen comes in its own colours.
                if ["Version 1", "https://slint.dev"].iter().any(|start| words.text.starts_with(start)) {
                    continue;
                }
                assert!(listed.contains(&(words.color, ground)), "{what}: a pair that is in no list");
                seen.insert((words.color, ground));
            }
        }
        assert!(seen.len() >= 5, "{name}: only {} pairs were seen", seen.len());
    }
}

/// A place in dp as a pixel of a window drawn one to one.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "places in a window are small and not negative"
)]
pub(crate) fn whole(place: f32) -> u32 {
    place.max(0.0).round() as u32
}

/// The grounds are grounds: no text is drawn in their colour but on a filled mark.
#[test]
fn every_token_of_the_list_is_a_token() {
    let names: BTreeSet<String> = palette("light").into_keys().collect();
    for theme in ["dark", "sunlight"] {
        assert_eq!(palette(theme).into_keys().collect::<BTreeSet<_>>(), names, "{theme} has other tokens");
    }
    for name in PAIRS.iter().flat_map(|(front, grounds, _)| [*front].into_iter().chain(grounds.iter().copied())) {
        assert!(names.contains(name), "{name}");
    }
    assert!(GROUNDS.iter().all(|ground| names.contains(*ground)));
}
