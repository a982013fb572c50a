//! What is to be done between two songs, and about how long it takes.

use crate::instrument::{Bridge, Catalog, CourseIndex, Fret, Level, Strung, Tuning, restrung_between};
use crate::retune::{CourseState, Effort};
use crate::theory::{Cents, Pitch, ReferencePitch, Semitones};

use super::set_list::Stand;

/// Seconds for each unit of [`Effort::weight`]: eight to pluck, match and turn a string, two a semitone, two more a
/// semitone up, four where the string ends slack, eight where it ends tight. Set by judgement, not measured.
const SECONDS_PER_WEIGHT: f64 = 8.0;
/// Seconds to put a capo on, move it or take it off. Set by judgement.
const CAPO_SECONDS: f64 = 6.0;
/// Seconds to put another string on. Set by judgement.
const RESTRING_SECONDS: f64 = 90.0;
/// Seconds for each further string of a pair or of three that moves: it is matched to the first. Set by judgement.
const FURTHER_STRING_SECONDS: f64 = 6.0;
/// Seconds for each string in each later round on a floating bridge, and how many such rounds: three to four more for most
/// ways (`tests/core/springs.rs`). The seconds are set by judgement.
const ROUND_SECONDS: f64 = 4.0;
const LATER_ROUNDS: f64 = 4.0;
/// Seconds to take another instrument; what its tuning takes comes on top. Set by judgement.
const OTHER_INSTRUMENT_SECONDS: f64 = 40.0;
/// The weight of a string too tight is there to outweigh all else; nobody waits that long, so it is not counted in
/// the seconds that are told.
const MOST_SECONDS: f64 = 300.0;

/// What is to be done between what is on the guitar and a song.
#[derive(Clone, Debug, PartialEq)]
pub struct Changeover {
    /// The strings that move, from the highest player number to course 1, and by how much; one that may be off and
    /// stays moves by 0. `None` when the song is for another instrument.
    pub moves: Option<Vec<(CourseIndex, Semitones)>>,
    /// Where the capo goes, where it has to go elsewhere; 0 is off.
    pub capo: Option<Fret>,
    /// How the tightest of the strings that move stands it.
    pub worst: Level,
    /// Whether a string would break on the way, so that there is no plan for it.
    pub breaks: bool,
    /// The courses on which the song's tuning is played on other strings than the one before: they have to be put on, or
    /// are on already; that has to be asked ([`crate::instrument::strings_asked`]). From the highest player number on.
    pub restrung: Vec<CourseIndex>,
    strings_seconds: f64,
}

impl Changeover {
    /// Weighs the way from an instrument whose courses are where `now` says, with its capo, to what a song needs.
    /// `strung` is the instrument with its strings.
    ///
    /// Another instrument waits in its usual tuning, on its usual strings, and the one put down is taken back to its own
    /// usual tuning for the next time. So what is told never depends on what was played before, and no way is cheaper for
    /// a detour.
    #[must_use]
    pub fn between(
        strung: &Strung,
        (instrument_id, now, capo): (&str, &[CourseState], Fret),
        to: &Stand,
        a4: ReferencePitch,
    ) -> Self {
        let moved_capo = |from: Fret| (from != to.capo).then_some(to.capo);
        let effort = Effort::between(strung, now, &to.pitches, a4).filter(|_| instrument_id == to.instrument_id);
        let Some(effort) = effort else {
            let back =
                home(instrument_id).map_or(0.0, |(_, home)| strings_seconds((instrument_id, strung), now, &home, a4));
            let there = home(&to.instrument_id).map_or(0.0, |(other, home)| {
                strings_seconds((&to.instrument_id, &other), &all_right(&home), &to.pitches, a4)
            });
            return Self {
                moves: None,
                capo: moved_capo(Fret::OPEN),
                worst: Level::Normal,
                breaks: false,
                restrung: Vec::new(),
                strings_seconds: back + there,
            };
        };
        let strings = now.iter().zip(to.pitches.pitches()).enumerate();
        let moves = strings
            .filter(|(_, (now, pitch))| !now.is_at(**pitch, Cents::ZERO))
            .map(|(index, (now, &pitch))| (CourseIndex::from_lowest(index), pitch - now.pitch()))
            .collect();
        let restrung = restrung(instrument_id, now, &to.pitches);
        Self {
            moves: Some(moves),
            capo: moved_capo(capo),
            worst: effort.worst,
            breaks: effort.breaks,
            restrung,
            strings_seconds: strings_seconds((instrument_id, strung), now, &to.pitches, a4),
        }
    }

    /// Weighs the way from one song to the next, all strings right before.
    #[must_use]
    pub fn between_songs(strung: &Strung, from: &Stand, to: &Stand, a4: ReferencePitch) -> Self {
        Self::between(strung, (&from.instrument_id, &all_right(&from.pitches), from.capo), to, a4)
    }

    /// Tells whether nothing is to do.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        self.moves.as_ref().is_some_and(Vec::is_empty) && self.capo.is_none()
    }

    /// Tells whether no string has to be touched: the capo may have to.
    #[must_use]
    pub fn is_in_tune(&self) -> bool {
        self.moves.as_ref().is_some_and(Vec::is_empty)
    }

    /// Returns about how many seconds it takes: 8 · [`Effort::weight`], 6 for each further string of a pair, on a floating
    /// bridge four more rounds of 4 s a string, 90 for another string, 6 for the capo, and for another instrument 40 and
    /// what both tunings take; at most 300. An estimate set by judgement: 8 s a string, 2 s a semitone, 2 s more a semitone
    /// up, 4 s a string that ends slack, 8 s one that ends tight.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 300, rounded")]
    pub fn seconds(&self) -> u32 {
        self.all_seconds().min(MOST_SECONDS).round() as u32
    }

    /// Returns the same in tenths of a second for [`super::OrderProblem`], with what a string too tight weighs. Rounded up:
    /// so a detour through a third tuning never costs less than the way itself.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "never negative, twelve strings at most"
    )]
    pub fn cost(&self) -> u32 {
        (self.all_seconds() * 10.0 - 1e-6).ceil() as u32
    }

    fn all_seconds(&self) -> f64 {
        let instrument = if self.moves.is_none() { OTHER_INSTRUMENT_SECONDS } else { 0.0 };
        let capo = if self.capo.is_some() { CAPO_SECONDS } else { 0.0 };
        self.strings_seconds + instrument + capo
    }
}

fn all_right(tuning: &Tuning) -> Vec<CourseState> {
    tuning.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect()
}

/// Returns an instrument of the catalogue on its usual strings, and its usual tuning.
fn home(instrument_id: &str) -> Option<(Strung, Tuning)> {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(instrument_id)?;
    let strung = Strung::new(instrument, catalog.strings_of(instrument)).ok()?;
    Some((strung, catalog.standard_of(instrument).tuning().clone()))
}

/// Returns how long the strings take, other strings and rounds on springs included; 0 for a tuning of another number of
/// courses.
fn strings_seconds(
    (instrument_id, strung): (&str, &Strung),
    now: &[CourseState],
    to: &Tuning,
    a4: ReferencePitch,
) -> f64 {
    let Some(effort) = Effort::between(strung, now, to, a4) else { return 0.0 };
    let strings = |course: usize| strung.gauges(CourseIndex::from_lowest(course)).map(|_| 1.0).sum::<f64>();
    let moves = |&(_, (now, pitch)): &(usize, (&CourseState, &Pitch))| !now.is_at(*pitch, Cents::ZERO);
    let moved = now.iter().zip(to.pitches()).enumerate().filter(moves);
    let further: f64 = moved.map(|(course, _)| strings(course) - 1.0).sum();
    let all: f64 = (0..strung.courses()).map(strings).sum();
    let rounds = if strung.bridge() == Bridge::Floating && effort.courses > 0 { LATER_ROUNDS } else { 0.0 };
    let other: f64 = restrung(instrument_id, now, to).iter().map(|_| RESTRING_SECONDS).sum();
    SECONDS_PER_WEIGHT * effort.weight + FURTHER_STRING_SECONDS * further + rounds * ROUND_SECONDS * all + other
}

/// Returns the courses on which two tunings of an instrument are played on different strings.
fn restrung(instrument_id: &str, now: &[CourseState], after: &Tuning) -> Vec<CourseIndex> {
    let before = Tuning::new(now.iter().map(|course| course.pitch()).collect());
    let instrument = Catalog::bundled().find_instrument(instrument_id);
    instrument.zip(before).map(|(on, before)| restrung_between(on, &before, after)).unwrap_or_default()
}
