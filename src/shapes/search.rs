//! Every way to sound a chord within a hand, bounded, in a fixed order, ranked.

use crate::instrument::{Fret, Fretboard, PlayedWith};
use crate::theory::{Chord, PitchClass, PitchClassSet};

use super::bass::bass_matters;
use super::forms::{KnownForms, refingered};
use super::half_walked::{Halfway, Least, LeftOut};
use super::hand::{Hand, Style, fingering};
use super::hold::{Frets, Grip, Holder, MOST_COURSES, SILENT, is_stopped};
use super::places::{Choice, choices, thumb};
use super::rank::{self, Heard, ThumbCourses};
use super::ranked::{Found, RankedShape};
use super::shape::Shape;
use super::weights::Weights;

/// What may be the lowest pitch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum BassRule {
    /// The bass asked for after the slash; where none is asked for, any tone of the chord. Another than the root is
    /// called an inversion and costs, where players care which tone is lowest.
    #[default]
    Customary,
    /// Any tone of the chord, whatever stands after the slash.
    Any,
}

impl BassRule {
    /// Tells whether only the bass asked for may be lowest.
    #[must_use]
    pub fn is_binding(self, chord: Chord) -> bool {
        self == Self::Customary && chord.slash_bass().is_some()
    }
}

/// What a shape must be besides playable; by default nothing more.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Wants {
    /// With an open string.
    pub open: bool,
    /// Without one, so that it can be moved.
    pub movable: bool,
    /// No finger lies across.
    pub no_barre: bool,
    /// The bass that the chord asks for is lowest.
    pub asked_bass: bool,
}

/// A search for the shapes of a chord.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapeSearch {
    /// The hand that holds them.
    pub hand: Hand,
    /// How they are sounded. Strummed: what is playable so is playable picked.
    pub style: Style,
    /// What may be lowest. The custom of the instrument.
    pub bass: BassRule,
    /// The highest fret, counted from the capo, 0 to the neck's last. 15: beyond it the body is in the way.
    pub last_fret: Fret,
    /// The fewest courses that sound, 1 to 12; no more than the instrument has are asked for. 3: a chord's worth.
    pub fewest_courses: usize,
    /// Which shapes are wanted. All.
    pub wants: Wants,
    /// How many shapes are wanted, best first, 1 and up. All: whoever wants few says so and is served faster.
    pub limit: usize,
    /// How many courses may be tried before the search stops short, 1 and up, shared evenly among the places of the hand
    /// along the neck, so that none goes without. 4 million: all there is on eight courses many times over.
    pub effort: usize,
}

impl Default for ShapeSearch {
    fn default() -> Self {
        Self {
            hand: Hand::default(),
            style: Style::default(),
            bass: BassRule::default(),
            last_fret: Fret::new(15),
            fewest_courses: 3,
            wants: Wants::default(),
            limit: usize::MAX,
            effort: 4_000_000,
        }
    }
}

impl ShapeSearch {
    /// How many courses a search for the best few may try, for an answer within a frame: all there is on eight courses,
    /// and on nine and ten for most chords; for the others it may stop short of what comes late.
    pub const QUICK_EFFORT: usize = 160_000;

    /// Returns a search for the best few shapes, quick on any instrument.
    #[must_use]
    pub fn best(limit: usize) -> Self {
        Self { limit, effort: Self::QUICK_EFFORT, ..Self::default() }
    }

    /// Finds the shapes that sound `chord` on `board`: every required tone, nothing outside the chord, no more than
    /// the hand holds. Best first by the bundled weights; of equal cost, the one nearer the nut, then the one with the
    /// lower fret on course 1, where the melody wants room above, and so on to the ceiling; silent after every fret.
    #[must_use]
    pub fn find(&self, chord: Chord, board: &Fretboard<'_>) -> Found {
        self.find_by(chord, board, Weights::bundled())
    }

    /// Tells whether there is any shape that [`ShapeSearch::find`] would find: the search ends at the first.
    #[must_use]
    pub fn finds_any(&self, chord: Chord, board: &Fretboard<'_>) -> bool {
        let mut walk = Walk::new(self, chord, board, Weights::bundled());
        walk.ends_at_first = true;
        walk.run();
        !walk.found.is_empty()
    }

    /// Finds this one shape of the chord, `None` when [`ShapeSearch::find`] without a limit would not find it.
    #[must_use]
    pub fn find_shape(&self, shape: &Shape, chord: Chord, board: &Fretboard<'_>) -> Option<RankedShape> {
        // Of the shapes that leave more strings out, any may be better.
        let all = Self { limit: usize::MAX, ..self.clone() };
        let mut walk = Walk::new(&all, chord, board, Weights::bundled());
        for (choices, fret) in walk.choices.iter_mut().zip(shape.frets()) {
            choices.retain(|choice| fret.is_some_and(|fret| fret.get() == choice.fret));
        }
        walk.run();
        walk.into_found(chord, board).shapes.into_iter().find(|found| found.shape() == shape)
    }

    /// Finds the shapes of a chord ranked by other weights; see [`ShapeSearch::find`].
    #[must_use]
    pub fn find_by(&self, chord: Chord, board: &Fretboard<'_>, weights: &Weights) -> Found {
        let mut walk = Walk::new(self, chord, board, weights);
        walk.run();
        walk.into_found(chord, board)
    }
}

/// The classes of a set as bits, 0 for C.
pub(super) fn bits(set: PitchClassSet) -> u16 {
    set.iter().fold(0, |bits, class| bits | 1 << class.semitones_above_c())
}

/// The choices of one course within the window at hand, and what the courses from it on can give.
#[derive(Clone, Copy, Debug, Default)]
struct Ahead {
    /// Classes these courses can sound.
    classes: u16,
    /// Whether one of them can be stopped at the window's lowest fret.
    reaches_lowest_fret: bool,
    /// The lowest pitch of the bass asked for among them.
    lowest_bass: u8,
}

/// A shape found, before it is written out.
struct Candidate {
    frets: Frets,
    grip: Grip,
    heard: Heard,
    cost: f64,
}

impl Candidate {
    /// The written order; see [`ShapeSearch::find`].
    fn order(&self, other: &Self) -> std::cmp::Ordering {
        let lowest = |frets: &Frets| frets.range().map_or(0, |(lowest, _)| lowest);
        self.cost
            .total_cmp(&other.cost)
            .then_with(|| lowest(&self.frets).cmp(&lowest(&other.frets)))
            .then_with(|| self.frets.used().iter().rev().cmp(other.frets.used().iter().rev()))
    }
}

/// Where the walk stands on the courses before the one at hand.
#[derive(Clone, Copy)]
struct Step {
    classes: u16,
    /// The frets at which a finger that is already down could take in the next course too.
    alive: u64,
    fingers: u8,
    sounding: usize,
    has_lowest_fret: bool,
    lowest_pitch: u8,
    /// What the course with the lowest pitch sounds.
    lowest_classes: u16,
    thirds: u32,
    /// Courses that sound a tone other than root, third and fifth.
    others: u32,
    left_out: LeftOut,
    /// The highest fret stopped.
    highest: u8,
}

/// A walk over the courses, from the ceiling to the floor, once for each lowest fret.
struct Walk<'a> {
    search: &'a ShapeSearch,
    weights: &'a Weights,
    holder: Holder<'a>,
    is_bar: bool,
    /// Whether the strings of every course sound one class.
    is_one_class_a_course: bool,
    bass_is_binding: bool,
    bass_matters: bool,
    required: u16,
    omittable: u16,
    third: u16,
    fifth: u16,
    /// The tones other than root, third and fifth.
    others: u16,
    bass: u16,
    thumb: ThumbCourses,
    /// What the forms the player knows come to in this tuning.
    known: KnownForms,
    fewest: usize,
    most_fingers: u8,
    last_fret: u8,
    /// Every choice of each course, by fret.
    choices: Vec<Vec<Choice>>,
    /// The choices within the window.
    window: Vec<Vec<Choice>>,
    ahead: [Ahead; MOST_COURSES + 1],
    lowest_fret: u8,
    least: Least,
    frets: Frets,
    /// How many courses may still be tried at this place of the hand.
    left_to_try: usize,
    has_stopped_short: bool,
    ends_at_first: bool,
    found: Vec<Candidate>,
}

impl<'a> Walk<'a> {
    fn new(search: &'a ShapeSearch, chord: Chord, board: &Fretboard<'_>, weights: &'a Weights) -> Self {
        let allowed = bits(chord.allowed());
        let root = chord.root().class();
        let of_degree = |number| {
            let is_it = |&class: &PitchClass| {
                chord.quality().degree_of(root, class).is_some_and(|degree| degree.number() == number)
            };
            bits(chord.allowed().iter().filter(is_it).collect())
        };
        let (third, fifth) = (of_degree(3), of_degree(5));
        let last_fret = search.last_fret.get().min(board.last_fret().get()).min(62);
        let count = board.courses();
        let choices: Vec<Vec<Choice>> = (0..count).map(|index| choices(board, index, last_fret, allowed)).collect();
        let omittable = chord.quality().omittable().iter().map(|degree| root.transpose(degree.semitones()));
        let omittable = bits(omittable.collect()) & !bits(chord.required());
        Self {
            search,
            weights,
            holder: Holder::new(&search.hand, weights.fingering(board.courses()), board, search.style),
            is_bar: board.instrument().played_with() == PlayedWith::Bar,
            is_one_class_a_course: choices.iter().flatten().all(|choice| choice.classes.count_ones() == 1),
            bass_matters: bass_matters(chord, board),
            bass_is_binding: search.bass.is_binding(chord),
            required: bits(chord.required()),
            omittable,
            third,
            fifth,
            others: allowed & !third & !fifth & !bits([root].into_iter().collect()),
            bass: 1 << chord.bass().class().semitones_above_c(),
            known: refingered(board, chord),
            thumb: if bass_matters(chord, board) {
                thumb(chord, board, last_fret, (third, fifth))
            } else {
                ThumbCourses::default()
            },
            fewest: search.fewest_courses.clamp(1, count),
            most_fingers: search.hand.fingers.clamp(1, 4) + u8::from(search.hand.may_use_thumb),
            last_fret,
            choices,
            window: vec![Vec::new(); count],
            ahead: [Ahead::default(); MOST_COURSES + 1],
            lowest_fret: 0,
            least: Least::default(),
            frets: Frets::silent(count),
            left_to_try: 0,
            has_stopped_short: false,
            ends_at_first: false,
            found: Vec::new(),
        }
    }

    fn run(&mut self) {
        for lowest in 0..=self.last_fret {
            self.open_window(lowest);
            self.left_to_try = self.search.effort.div_ceil(usize::from(self.last_fret) + 1);
            let start = Step {
                classes: 0,
                alive: 0,
                fingers: 0,
                sounding: 0,
                has_lowest_fret: lowest == 0,
                lowest_pitch: u8::MAX,
                lowest_classes: 0,
                thirds: 0,
                others: 0,
                left_out: LeftOut::default(),
                highest: 0,
            };
            self.walk(0, start);
        }
        self.trim();
    }

    /// Keeps of every course the open string and the frets from `lowest` on that the hand spans; 0: open strings only.
    fn open_window(&mut self, lowest: u8) {
        self.lowest_fret = lowest;
        self.least = Least::at(lowest, &self.holder, self.weights);
        self.least.leave_out((self.is_bar, !self.bass_matters, !self.known.is_retuned));
        let is_in = |fret: u8| {
            if fret == 0 {
                return true;
            }
            let spans = || self.holder.between_mm(lowest, fret) <= self.search.hand.span_mm;
            lowest > 0 && fret >= lowest && if self.is_bar { fret == lowest } else { spans() }
        };
        let mut window = std::mem::take(&mut self.window);
        for (kept, all) in window.iter_mut().zip(&self.choices) {
            kept.clear();
            kept.extend(all.iter().filter(|choice| is_in(choice.fret)));
        }
        let mut ahead = Ahead { classes: 0, reaches_lowest_fret: false, lowest_bass: u8::MAX };
        self.ahead[window.len()] = ahead;
        for (index, kept) in window.iter().enumerate().rev() {
            for choice in kept {
                ahead.classes |= choice.classes;
                ahead.reaches_lowest_fret |= choice.fret == lowest;
                if choice.classes & self.bass != 0 {
                    ahead.lowest_bass = ahead.lowest_bass.min(choice.pitch);
                }
            }
            self.ahead[index] = ahead;
        }
        self.window = window;
    }

    /// Tries everything the courses from `index` on can do.
    fn walk(&mut self, index: usize, step: Step) {
        if self.ends_at_first && !self.found.is_empty() {
            return;
        }
        let Some(left_to_try) = self.left_to_try.checked_sub(1) else {
            self.has_stopped_short = true;
            return;
        };
        self.left_to_try = left_to_try;
        let ahead = self.ahead[index];
        let left = self.frets.count - index;
        let missing = self.required & !step.classes;
        let is_lost = missing & !ahead.classes != 0
            || self.is_one_class_a_course && usize::try_from(missing.count_ones()).is_ok_and(|missing| missing > left)
            || step.sounding + left < self.fewest
            || !(step.has_lowest_fret || ahead.reaches_lowest_fret)
            || self.bass_is_binding && step.lowest_classes & self.bass == 0 && ahead.lowest_bass >= step.lowest_pitch;
        if is_lost || self.worst().is_some_and(|worst| self.least(&step, ahead, left) > worst) {
            return;
        }
        if left == 0 {
            self.keep(&step);
            return;
        }
        for place in 0..self.window[index].len() {
            let choice = self.window[index][place];
            if let Some(next) = self.step(index, &step, choice) {
                self.frets.at[index] = choice.fret;
                self.walk(index + 1, next);
            }
        }
        self.frets.at[index] = SILENT;
        self.walk(index + 1, Step { left_out: step.left_out.with_silent(), ..step });
    }

    /// What a shape costs at least that begins so, with so many courses left.
    fn least(&self, step: &Step, ahead: Ahead, left: usize) -> f64 {
        let bass_is_lost = step.lowest_classes & self.bass == 0 && ahead.lowest_bass >= step.lowest_pitch;
        let halfway = Halfway {
            left_out: step.left_out,
            highest: step.highest,
            fingers: step.fingers,
            thirds: step.thirds,
            doubled_others: step.others.saturating_sub((step.classes & self.others).count_ones()),
            is_thin: step.sounding + left < self.frets.count.min(4),
            has_other_bass: self.bass_matters && step.sounding > 0 && bass_is_lost,
        };
        self.least.of(&halfway, &self.holder)
    }

    /// The cost of the last of those kept, where no more are wanted: what costs more need not be looked at.
    fn worst(&self) -> Option<f64> {
        if self.found.len() >= self.search.limit { self.found.last().map(|worst| worst.cost) } else { None }
    }

    /// Takes a choice in, `None` when it asks for more fingers than there are or leaves a silent course undamped.
    fn step(&self, index: usize, step: &Step, choice: Choice) -> Option<Step> {
        let mut next = *step;
        let fret = u32::from(choice.fret);
        // A finger at a higher fret cannot lie over this course and go on.
        next.alive &= (2_u64 << fret) - 1;
        if choice.fret > 0 && next.alive & (1 << fret) == 0 {
            next.alive |= 1 << fret;
            next.fingers += 1;
            if next.fingers > self.most_fingers && !self.is_bar {
                return None;
            }
        }
        let after_mute = index > 0 && self.frets.at[index - 1] == SILENT && step.sounding > 0;
        if after_mute && self.search.style == Style::Strummed && !is_stopped(choice.fret) {
            let before = if index > 1 { self.frets.at[index - 2] } else { SILENT };
            if !is_stopped(before) {
                return None;
            }
        }
        next.classes |= choice.classes;
        next.left_out = step.left_out.with_sounding(choice.fret);
        next.highest = next.highest.max(choice.fret);
        next.sounding += 1;
        next.has_lowest_fret |= choice.fret == self.lowest_fret;
        next.thirds += u32::from(choice.classes & self.third != 0);
        next.others += u32::from(choice.classes & self.others != 0);
        if choice.pitch < step.lowest_pitch {
            next.lowest_pitch = choice.pitch;
            next.lowest_classes = choice.classes;
        }
        Some(next)
    }

    /// Tells whether the finished shape is wanted, before it is known how it is held.
    fn is_wanted(&self, step: &Step) -> bool {
        let wants = self.search.wants;
        let rings_open = self.frets.used().contains(&0);
        (!wants.open || rings_open)
            && (!wants.movable || !rings_open && self.frets.range().is_some())
            && (!wants.asked_bass || step.lowest_classes & self.bass != 0)
    }

    /// Keeps the finished shape if the hand holds it, it is wanted and it is good enough.
    fn keep(&mut self, step: &Step) {
        if !self.is_wanted(step) {
            return;
        }
        let heard = Heard {
            omitted: (self.omittable & !step.classes).count_ones(),
            thirds: step.thirds,
            doubled_others: step.others.saturating_sub((step.classes & self.others).count_ones()),
            bass_matters: self.bass_matters,
            bass_is_asked_for: step.lowest_classes & self.bass != 0,
            bass_is_fifth: step.lowest_classes & self.fifth != 0,
        };
        let mut amounts = rank::amounts_without_fingers(&self.frets, &heard, &self.holder, &self.known);
        if self.worst().is_some_and(|worst| rank::cost(&amounts, self.weights) > worst) {
            return;
        }
        let grip = if self.is_bar {
            if !self.frets.bar_can_stop(self.search.style) {
                return;
            }
            Grip::EMPTY
        } else {
            let Some(grip) = self.holder.hold(&self.frets) else {
                return;
            };
            grip
        };
        if self.search.wants.no_barre && !fingering(&self.frets, &grip).barres.is_empty() {
            return;
        }
        rank::add_finger_amounts(&mut amounts, &self.frets, &grip, &self.holder, (&self.thumb, &self.known));
        // Sums of the same amounts in another order differ in their last digits, and are no reason to stand before another.
        let cost = (rank::cost(&amounts, self.weights) * 1e9).round() / 1e9;
        let candidate = Candidate { frets: self.frets, grip, heard, cost };
        if self.search.limit == usize::MAX {
            self.found.push(candidate);
            return;
        }
        let place = self.found.partition_point(|kept| kept.order(&candidate).is_lt());
        if place < self.search.limit {
            self.found.insert(place, candidate);
            self.found.truncate(self.search.limit);
        }
    }

    fn trim(&mut self) {
        self.found.sort_unstable_by(Candidate::order);
        self.found.truncate(self.search.limit);
    }

    fn into_found(self, chord: Chord, board: &Fretboard<'_>) -> Found {
        let shapes = self.found.iter().map(|candidate| self.write_out(candidate, chord, board)).collect();
        Found { shapes, is_complete: !self.has_stopped_short }
    }

    fn write_out(&self, candidate: &Candidate, chord: Chord, board: &Fretboard<'_>) -> RankedShape {
        let Candidate { frets, grip, heard, cost } = candidate;
        let mut amounts = rank::amounts_without_fingers(frets, heard, &self.holder, &self.known);
        rank::add_finger_amounts(&mut amounts, frets, grip, &self.holder, (&self.thumb, &self.known));
        RankedShape::new(frets, fingering(frets, grip), *cost, amounts, heard, chord, board)
    }
}
