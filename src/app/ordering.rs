//! Putting a set list in order: a question that stands by itself, so that it can be answered beside the window.

use std::collections::BTreeMap;

use crate::instrument::Strung;
use crate::songs::{Changeover, Going, NotWanted, SetList, SongId, Stand};
use crate::theory::ReferencePitch;

use super::desk::Desk;
use super::set_list::{Suggestion, Verdict};
use super::songs::{strung_for, way_from_now};

/// In which order a set list takes least retuning, from what is on the guitar now.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderQuestion {
    list: SetList,
    /// What the songs need, each once, and its number for every entry.
    stands: Vec<Stand>,
    groups: Vec<usize>,
    /// What each takes from what is on the guitar now.
    from_now: Vec<u32>,
    /// The instruments with their strings.
    strung: BTreeMap<String, Strung>,
    a4: ReferencePitch,
}

/// What was found out.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderAnswer {
    /// The set list in its new order.
    pub list: SetList,
    /// How good that order is.
    pub verdict: Verdict,
    /// The one song whose move to another tuning saves most, in that order.
    pub suggestion: Option<Suggestion>,
}

/// A search that is under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Ordering {
    /// Tells this search from those before.
    pub number: u64,
    /// What is searched.
    pub question: std::sync::Arc<OrderQuestion>,
    /// The share of it that is done, 0 to 1.
    pub done: f64,
}

/// What a search tells on its way.
#[derive(Clone, Debug, PartialEq)]
pub enum OrderTold {
    /// The share that is done, 0 to 1.
    Done(f64),
    /// What was found out.
    Answer(Box<OrderAnswer>),
}

impl OrderQuestion {
    /// Up to how many songs the answer is found within a tap: 1.4 ms in ten tunings (`./dev bench look_for`), less than a
    /// twentieth of a second on a phone thirty times slower.
    const MOST_QUICK_SONGS: usize = 10;

    /// Asks about a set list of the library.
    #[must_use]
    pub fn new(desk: &Desk, list: &SetList) -> Self {
        let (stands, groups) = list.stands(|id: SongId| desk.library.find_song(id));
        let strung = |stand: &Stand| strung_for(desk, &stand.instrument_id);
        Self {
            list: list.clone(),
            from_now: stands.iter().map(|stand| way_from_now(desk, stand).cost()).collect(),
            strung: stands.iter().map(|stand| (stand.instrument_id.clone(), strung(stand))).collect(),
            stands,
            groups,
            a4: desk.library.settings.reference(),
        }
    }

    /// Tells whether the answer may be waited for.
    #[must_use]
    pub const fn is_quick(&self) -> bool {
        self.groups.len() <= Self::MOST_QUICK_SONGS
    }

    /// Finds the order, for as long as it is wanted.
    ///
    /// # Errors
    /// When `going` says no.
    pub fn answer(&self, going: Going<'_>) -> Result<OrderAnswer, NotWanted> {
        // Where the order is exact most of the time goes into the suggestion, else most goes into the order.
        let part = |from: f64, to: f64| move |done: f64| going(from + (to - from) * done);
        let stands = (self.stands.as_slice(), self.groups.as_slice());
        let problem = self.list.order_problem(stands, Some(self.from_now.clone()), |from, to| {
            Changeover::between_songs(&self.strung[&from.instrument_id], from, to, self.a4).cost()
        });
        let order = problem.solve_while(&part(0.0, 0.9))?;
        let as_it_stands: Vec<usize> = (0..self.groups.len()).collect();
        let saved = problem.cost_of(&as_it_stands).saturating_sub(order.cost);
        let found_at = if order.is_best() { 0.1 } else { 0.9 };
        let moved = problem.suggest_move_while(&order, &part(found_at, 1.0))?;
        let suggestion = moved.and_then(|moved| {
            let (now, stand) = (&self.stands[self.groups[moved.song]], self.stands.get(moved.to_group)?);
            // Another instrument is no tuning to move to.
            (now.instrument_id == stand.instrument_id).then(|| Suggestion {
                song: self.list.entries[moved.song].song_id,
                stand: stand.clone(),
                saves_seconds: moved.saves / 10,
            })
        });
        let verdict = Verdict { percent_above_best: order.percent_above_best(), saved_seconds: saved / 10 };
        Ok(OrderAnswer { list: self.list.in_order(&order), verdict, suggestion })
    }
}
