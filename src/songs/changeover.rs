//! What is to be done between two songs, and about how long it takes.

use crate::instrument::{Catalog, CourseIndex, Fret, Level, Strung, Tuning, restrung_between};
use crate::retune::{CourseState, Effort};
use crate::theory::{Cents, ReferencePitch, Semitones};

use super::set_list::Stand;

/// Seconds for each unit of [`Effort::weight`]: eight to pluck, match and turn a string, two a semitone, two more a
/// semitone up, four where the string ends slack, eight where it ends tight. Set by judgement, not measured.
const SECONDS_PER_WEIGHT: f64 = 8.0;
/// Seconds to put a capo on, move it or take it off. Set by judgement.
const CAPO_SECONDS: f64 = 6.0;
/// Seconds to put another string on. Set by judgement.
const RESTRING_SECONDS: f64 = 90.0;
/// Seconds to take another instrument, whatever it is tuned to. Set by judgement.
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
    weight: f64,
}

impl Changeover {
    /// Weighs the way from an instrument whose courses are where `now` says, with its capo, to what a song needs.
    /// `strung` is the instrument with its strings.
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
            return Self {
                moves: None,
                capo: moved_capo(Fret::OPEN),
                worst: Level::Normal,
                breaks: false,
                restrung: Vec::new(),
                weight: 0.0,
            };
        };
        let strings = now.iter().zip(to.pitches.pitches()).enumerate();
        let moves = strings
            .filter(|(_, (now, pitch))| !now.is_at(**pitch, Cents::ZERO))
            .map(|(index, (now, &pitch))| (CourseIndex::from_lowest(index), pitch - now.pitch()))
            .collect();
        let before = Tuning::new(now.iter().map(|course| course.pitch()).collect());
        let instrument = Catalog::bundled().find_instrument(instrument_id);
        let restrung = instrument.zip(before).map(|(on, before)| restrung_between(on, &before, &to.pitches));
        Self {
            moves: Some(moves),
            capo: moved_capo(capo),
            worst: effort.worst,
            breaks: effort.breaks,
            restrung: restrung.unwrap_or_default(),
            weight: effort.weight,
        }
    }

    /// Weighs the way from one song to the next, all strings right before.
    #[must_use]
    pub fn between_songs(strung: &Strung, from: &Stand, to: &Stand, a4: ReferencePitch) -> Self {
        let now: Vec<CourseState> = from.pitches.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
        Self::between(strung, (&from.instrument_id, &now, from.capo), to, a4)
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

    /// Returns about how many seconds it takes: 8 · [`Effort::weight`], 6 for the capo, 90 for another string, 40 for
    /// another instrument; at most 300. An estimate set by judgement: 8 s a string, 2 s a semitone, 2 s more a semitone up, 4 s a string that
    /// ends slack, 8 s one that ends tight.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 300, rounded")]
    pub fn seconds(&self) -> u32 {
        self.all_seconds().min(MOST_SECONDS).round() as u32
    }

    /// Returns the same in tenths of a second for [`super::OrderProblem`], with what a string too tight weighs.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "never negative, twelve strings at most"
    )]
    pub fn cost(&self) -> u32 {
        (self.all_seconds() * 10.0).round() as u32
    }

    fn all_seconds(&self) -> f64 {
        let instrument = if self.moves.is_none() { OTHER_INSTRUMENT_SECONDS } else { 0.0 };
        let capo = if self.capo.is_some() { CAPO_SECONDS } else { 0.0 };
        let strings: f64 = self.restrung.iter().map(|_| RESTRING_SECONDS).sum();
        SECONDS_PER_WEIGHT * self.weight + instrument + capo + strings
    }
}
