//! What speaks against a name, and how much: the prices by which chord names are ranked.

use once_cell::sync::Lazy;

use crate::theory::{ChordQuality, Interval};

/// What speaks against a name. Each has one price in points; the name with the fewest points is the best.
///
/// The prices are chosen by hand from common practice, so that in order of weight: a complete chord over its root, one
/// without its fifth, an inversion, a chord over a foreign bass, one without a tone that makes it; and the plainer
/// quality of two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NamePenalty {
    /// How rare the quality is: sixths, sevenths and suspensions before ninths, altered tones last.
    RareQuality,
    /// A tone that may be left out is missing.
    OmittedTone,
    /// A tone that makes the chord what it is is missing.
    MissingTone,
    /// A tone sounds that the chord only tolerates.
    AddedTone,
    /// A tone of the chord other than the root is lowest.
    Inversion,
    /// A note that is not in the chord is lowest.
    ForeignBass,
    /// The root does not sound at all.
    NoRoot,
    /// There is a name on the key's first note, or on the note the tuning is built on, and this is on another.
    AwayFromHome,
}

/// The points of a name, by penalty, in the order of [`NamePenalty`].
#[derive(Clone, Copy, Default)]
pub(super) struct Points {
    of: [u16; 8],
    /// Whether a tone is missing that makes the chord what it is; see [`Pattern::makes`].
    lacks_what_makes_it: bool,
}

impl Points {
    fn add(&mut self, penalty: NamePenalty, points: u16) {
        self.of[slot(penalty)] += points;
    }

    /// Counts against a name that it is not at home: enough to bring a sixth on the home note before its relative minor
    /// seventh where neither root is lowest, not to part either from its own root.
    pub(super) fn add_away_from_home(&mut self) {
        self.add(NamePenalty::AwayFromHome, 10);
    }

    /// Tells whether the root does not sound.
    pub(super) fn lacks_root(self) -> bool {
        self.of[slot(NamePenalty::NoRoot)] > 0
    }

    pub(super) fn sum(self) -> u16 {
        self.of.iter().sum()
    }

    /// Tells whether every tone sounds that the chord must have, and nothing foreign to it.
    pub(super) fn is_complete(self) -> bool {
        let without = [NamePenalty::MissingTone, NamePenalty::ForeignBass, NamePenalty::NoRoot];
        without.into_iter().all(|penalty| self.of[slot(penalty)] == 0)
    }

    /// Tells whether a tone is missing by which the chord is told from plainer ones.
    pub(super) const fn lacks_what_makes_it(self) -> bool {
        self.lacks_what_makes_it
    }

    pub(super) fn list(self) -> Vec<(NamePenalty, u16)> {
        PENALTIES
            .into_iter()
            .map(|penalty| (penalty, self.of[slot(penalty)]))
            .filter(|&(_, points)| points > 0)
            .collect()
    }
}

const PENALTIES: [NamePenalty; 8] = [
    NamePenalty::RareQuality,
    NamePenalty::OmittedTone,
    NamePenalty::MissingTone,
    NamePenalty::AddedTone,
    NamePenalty::Inversion,
    NamePenalty::ForeignBass,
    NamePenalty::NoRoot,
    NamePenalty::AwayFromHome,
];

const fn slot(penalty: NamePenalty) -> usize {
    match penalty {
        NamePenalty::RareQuality => 0,
        NamePenalty::OmittedTone => 1,
        NamePenalty::MissingTone => 2,
        NamePenalty::AddedTone => 3,
        NamePenalty::Inversion => 4,
        NamePenalty::ForeignBass => 5,
        NamePenalty::NoRoot => 6,
        NamePenalty::AwayFromHome => 7,
    }
}

/// A set of semitones above a root, bit n for n semitones.
pub(super) type Tones = u16;

/// A quality made ready for comparing: its tones as sets above the root.
pub(super) struct Pattern {
    pub(super) quality: &'static ChordQuality,
    required: Tones,
    /// Of the required, those by which the chord is told from plainer ones: not the root, the perfect fifth and a plain
    /// ninth or eleventh below a higher tension, which is an eleventh or thirteenth without it too (common practice).
    makes: Tones,
    omittable: Tones,
    optional: Tones,
    rarity: u16,
    /// The third and seventh that tell the chord when its root is left to another player.
    guide_tones: Option<Tones>,
    /// For each semitone above the root, what the name costs with that tone lowest.
    inversion: [u16; 12],
}

pub(super) static PATTERNS: Lazy<Vec<Pattern>> = Lazy::new(|| ChordQuality::all().iter().map(Pattern::of).collect());

impl Pattern {
    fn of(quality: &'static ChordQuality) -> Self {
        let set = |degrees: &[Interval]| degrees.iter().fold(0, |set, &degree| set | tone(degree));
        let mut inversion = [0; 12];
        for degree in quality.required().iter().chain(quality.omittable()).chain(quality.optional()) {
            inversion[size(*degree)] = match degree.number() {
                1 => 0,
                3 => 28,
                5 => 30,
                7 => 32,
                _ => 38,
            };
        }
        let own = quality.tones();
        let of_number = |number: i16| own.iter().copied().find(|degree| degree.number() == number);
        let guide_tones = of_number(3).zip(of_number(7)).map(|(third, seventh)| tone(third) | tone(seventh));
        let tension = own.iter().map(|degree| degree.number()).max().unwrap_or(1);
        let makes = quality.required().iter().copied().filter(|&degree| {
            let is_below_tension = degree.number() >= 9 && degree.number() < tension && degree.alteration() == 0;
            !is_below_tension && ![tone(Interval::UNISON), 1 << PERFECT_FIFTH].contains(&tone(degree))
        });
        Self {
            makes: set(&makes.collect::<Vec<_>>()),
            quality,
            required: set(quality.required()),
            omittable: set(quality.omittable()),
            optional: set(quality.optional()),
            rarity: rarity(quality, &own),
            guide_tones,
            inversion,
        }
    }

    /// Returns the points of this quality for `sounding` tones above its root with `bass` lowest, and whether the bass
    /// is foreign to it; `None` when it is no name for them.
    pub(super) fn points(&self, sounding: Tones, bass: u8, is_reentrant: bool) -> Option<(Points, bool)> {
        let allowed = self.required | self.omittable | self.optional;
        let bass_tone = 1 << bass;
        let is_foreign = bass_tone & allowed == 0;
        let chord = if is_foreign { sounding & !bass_tone } else { sounding };
        if chord & !allowed != 0 || chord.count_ones() < 2 {
            return None;
        }
        let absent = self.required & !chord;
        let has_root = chord & 1 != 0;
        // A chord over a foreign bass, or without its root, must be plain in all else.
        let needed = if has_root { self.required } else { self.required & !1 };
        let is_told_by_guides = self.guide_tones.is_some_and(|guides| chord & guides == guides);
        if (is_foreign && (absent != 0 || chord.count_ones() < 3)) || (!has_root && !is_told_by_guides) {
            return None;
        }
        if (is_foreign || !has_root) && needed & !chord != 0 {
            return None;
        }
        let mut points = Points { lacks_what_makes_it: self.makes & !chord != 0, ..Points::default() };
        points.add(NamePenalty::RareQuality, self.rarity);
        for missing in ones(self.omittable & !chord) {
            points.add(NamePenalty::OmittedTone, if missing == PERFECT_FIFTH { 22 } else { 12 });
        }
        for missing in ones(absent & !1) {
            points.add(NamePenalty::MissingTone, if missing == PERFECT_FIFTH { 26 } else { 64 });
        }
        let added = u16::try_from((chord & self.optional).count_ones()).expect("12 tones at most");
        points.add(NamePenalty::AddedTone, 16 * added);
        if is_foreign {
            points.add(NamePenalty::ForeignBass, 75);
        } else if !is_reentrant {
            points.add(NamePenalty::Inversion, self.inversion[usize::from(bass)]);
        } else if bass != 0 {
            // The lowest note decides only between names that are otherwise alike.
            points.add(NamePenalty::Inversion, 6);
        }
        if !has_root {
            points.add(NamePenalty::NoRoot, 60);
        }
        Some((points, is_foreign))
    }
}

const PERFECT_FIFTH: u8 = 7;

fn size(degree: Interval) -> usize {
    usize::try_from(degree.semitones().get().rem_euclid(12)).expect("0 to 11 fits")
}

fn tone(degree: Interval) -> Tones {
    1 << size(degree)
}

/// Returns the members of a set from the root up.
fn ones(set: Tones) -> impl Iterator<Item = u8> {
    (0..12).filter(move |&semitones| set & (1 << semitones) != 0)
}

/// How rare a quality is, in points: each tone beyond the triad and each alteration has its price.
fn rarity(quality: &ChordQuality, tones: &[Interval]) -> u16 {
    let has = |number: i16| tones.iter().any(|tone| tone.number() == number);
    let mut points = 0;
    if !has(3) && tones.len() > 2 {
        points += 12;
    }
    if has(6) {
        points += 20;
    }
    let tension = tones.iter().map(|tone| tone.number()).max().unwrap_or(1);
    points += match (has(7), tension) {
        (true, 7) => 10,
        (true, 9) => 20,
        (true, 11) => 28,
        (true, _) if tension > 11 => 32,
        (false, 9..) => 14,
        _ => 0,
    };
    let is_diminished = quality.id().starts_with("diminished") || quality.id().starts_with("half-diminished");
    for tone in tones {
        points += match (tone.number(), tone.alteration()) {
            (5, -1) if is_diminished => 4,
            (5, -1 | 1) => 8,
            (9.., -1 | 1) => 8,
            _ => 0,
        };
    }
    // A quality that is told only by what it tolerates, the altered dominant, comes after those that say more.
    points += if quality.optional().len() > 1 { 26 } else { 0 };
    if quality.is_agreed() { points } else { points + 4 }
}
