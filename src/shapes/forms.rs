//! What a player knows already: the standard-tuning form a shape equals, and the chords a movable shape makes.

use once_cell::sync::Lazy;
use serde::Deserialize;

use crate::instrument::{Catalog, CourseIndex, Fret, Fretboard, Tuning};
use crate::theory::{Chord, ChordQuality, Key, Naming, Note, Semitones, SpelledPitch, SpellingChoice};

use super::bass::thumb_courses;
use super::hold::{Frets, MOST_COURSES, SILENT};
use super::name::{ChordName, name_shape};
use super::shape::Shape;

/// The courses a shape must share with a form to be likened to it.
const LEAST_EQUAL: usize = 3;

/// The open pitches the forms are written for, from course 6 to course 1.
const STANDARD: [&str; 6] = ["E2", "A2", "D3", "G3", "B3", "E4"];

/// A shape every player of the standard tuning knows, from `data/forms.toml`.
#[derive(Debug, PartialEq, Eq)]
pub struct StandardForm {
    name: String,
    chord: Chord,
    shape: Shape,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    chord: String,
    frets: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
struct Table {
    forms: Vec<Row>,
}

static FORMS: Lazy<Vec<StandardForm>> = Lazy::new(|| {
    let why = "a test reads the bundled table of forms";
    let table: Table = toml::from_str(crate::data::text("forms.toml")).expect(why);
    let forms = table.forms.into_iter().map(|row| StandardForm {
        name: row.name,
        chord: Chord::read(&row.chord).expect(why),
        shape: Shape::read(&row.frets, STANDARD.len()).expect(why),
    });
    forms.collect()
});

static STANDARD_PITCHES: Lazy<Vec<SpelledPitch>> =
    Lazy::new(|| STANDARD.iter().map(|text| SpelledPitch::read(text).expect("six pitches written above")).collect());

impl StandardForm {
    /// Returns every form, in the table's order.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &FORMS
    }

    /// Returns the name players give it: `C`, `small F`, `Dm`.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the chord it makes unmoved in standard tuning.
    #[must_use]
    pub const fn chord(&self) -> Chord {
        self.chord
    }

    /// Returns the frets it is written with, course 6 first.
    #[must_use]
    pub const fn shape(&self) -> &Shape {
        &self.shape
    }
}

/// A form that a shape equals on the courses that did not change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownForm {
    /// The form.
    pub form: &'static StandardForm,
    /// How many frets towards the bridge it is moved, 0 or more.
    pub moved_frets: u8,
    /// The courses on which shape and moved form are equal, from the highest player number.
    pub equal: Vec<CourseIndex>,
    /// How many courses of the form the shape leaves out, of those that did not change.
    pub left_out: usize,
    /// How many courses ring open in the shape where the moved form is stopped or silent.
    pub open_besides: usize,
    /// The chord the form makes at that place in the instrument's standard tuning.
    pub chord: Chord,
}

impl KnownForm {
    /// Says in English what the player knows: `the D form moved up 5 frets, G in standard tuning`.
    #[must_use]
    pub fn sentence(&self, naming: Naming) -> String {
        let moved = match self.moved_frets {
            0 => String::new(),
            1 => " moved up 1 fret".to_owned(),
            frets => format!(" moved up {frets} frets"),
        };
        format!("the {} form{moved}, {} in standard tuning", self.form.name, self.chord.named(naming))
    }
}

/// Finds the forms of `chord`'s quality that `shape`, held for that chord, equals on the courses whose pitch is that of
/// `standard`, the instrument's usual tuning.
///
/// At least three courses must be equal, one of them stopped, and no unchanged course may be stopped elsewhere; a
/// course may be left out, and one may ring open. Best first: most courses equal, fewest left out, fewest ringing
/// besides, moved least, then the table's order. Empty on instruments whose usual tuning does not step like the
/// guitar's on the four courses nearest the floor.
#[must_use]
pub fn known_forms(board: &Fretboard<'_>, standard: &Tuning, shape: &Shape, chord: Chord) -> Vec<KnownForm> {
    let unchanged = unchanged_courses(board, standard);
    let mut found: Vec<KnownForm> = Vec::new();
    let same = |form: &&StandardForm| form.chord.quality().id() == chord.quality().id();
    for form in StandardForm::all().iter().filter(same) {
        for moved_frets in 0..=board.last_fret().get() {
            found.extend(compare(board, standard, shape, form, moved_frets, &unchanged));
        }
    }
    found.sort_by_key(|known| (usize::MAX - known.equal.len(), known.left_out, known.open_besides, known.moved_frets));
    found
}

/// Returns the courses that sound as in the standard tuning (capo counted), each with the index of the guitar's course
/// that steps alike; nothing where fewer than four courses of the standard tuning do.
fn unchanged_courses(board: &Fretboard<'_>, standard: &Tuning) -> Vec<(usize, usize)> {
    let alike = alike_courses(board, standard);
    let is_unchanged = |&(ours, _): &(usize, usize)| {
        let raised = standard.pitches().get(ours).and_then(|pitch| pitch.transpose(board.capo().semitones()));
        raised == board.open_pitches().get(ours).copied()
    };
    alike.into_iter().filter(is_unchanged).collect()
}

/// Returns the courses whose standard pitch steps like a course of the guitar, each with the index of that; nothing where
/// fewer than four do.
fn alike_courses(board: &Fretboard<'_>, standard: &Tuning) -> Vec<(usize, usize)> {
    let courses = board.courses();
    let Some(&first) = standard.pitches().last() else { return Vec::new() };
    let guitar = &*STANDARD_PITCHES;
    let alike: Vec<(usize, usize)> = (1..=courses.min(guitar.len()))
        .rev()
        .map(|number| (courses - number, guitar.len() - number))
        .filter(|&(ours, theirs)| {
            let step = first - guitar[guitar.len() - 1].pitch();
            standard.pitches().get(ours).is_some_and(|&pitch| pitch - guitar[theirs].pitch() == step)
        })
        .collect();
    if alike.len() < 4 { Vec::new() } else { alike }
}

/// How far a form may be moved and still be what a player has in the ear and the hand.
const FAMILIAR_FRETS: u8 = 4;

/// A known form as it lies in another tuning.
#[derive(Clone, Copy, Debug)]
struct Refingered {
    /// Its frets here, silent where the form is, and where the string cannot sound it.
    frets: Frets,
    /// The thumb's courses that were retuned, each a bit: they may ring open instead.
    may_ring: u16,
}

impl Refingered {
    /// Tells whether a shape sounds the form: at least four courses as in it, no other sounding but open ones that the form
    /// leaves out or that the retuning has changed under the thumb.
    fn is_sounded_by(&self, frets: &Frets) -> bool {
        let pairs = || frets.used().iter().zip(self.frets.used()).enumerate();
        let may = |index: usize, wanted: u8| wanted == SILENT || self.may_ring >> index & 1 == 1;
        pairs().filter(|(_, (has, wanted))| **has != SILENT && has == wanted).count() >= 4
            && pairs()
                .all(|(index, (has, wanted))| *has == SILENT || has == wanted || (*has == 0 && may(index, *wanted)))
    }
}

/// The known forms of a chord as they lie in a tuning.
#[derive(Clone, Debug, Default)]
pub(super) struct KnownForms {
    forms: Vec<Refingered>,
    /// Whether any string's distance from the others is not that of the standard tuning.
    pub(super) is_retuned: bool,
}

impl KnownForms {
    /// Tells whether there are any.
    pub(super) const fn is_empty(&self) -> bool {
        self.forms.is_empty()
    }

    /// Tells whether a shape sounds one of them.
    pub(super) fn are_sounded_by(&self, frets: &Frets) -> bool {
        self.forms.iter().any(|form| form.is_sounded_by(frets))
    }
}

/// Strings that keep their distance from each other, where the guitar as a whole is tuned lower or higher.
const LEAST_KEPT: usize = 4;

/// By how many semitones the whole instrument is tuned away from its usual pitch, where only that or one or two strings
/// besides make the tuning: the forms a player knows lie there at the same frets, C G C F A D is a lowered D A D G B E. 0 where
/// as many strings have their usual pitch.
fn moved_as_a_whole(board: &Fretboard<'_>, standard: &Tuning, alike: &[(usize, usize)]) -> Semitones {
    let kept = |by: i16| {
        let by = board.capo().semitones() + Semitones::new(by);
        let is_kept = |&&(ours, _): &&(usize, usize)| {
            let usual = standard.pitches().get(ours).and_then(|pitch| pitch.transpose(by));
            usual.is_some() && usual == board.open_pitches().get(ours).copied()
        };
        alike.iter().filter(is_kept).count()
    };
    let most = if kept(0) >= LEAST_KEPT { None } else { (-7..=5).max_by_key(|&by| kept(by)) };
    Semitones::new(most.filter(|&by| kept(by) >= LEAST_KEPT).unwrap_or(0))
}

/// Finds the frets at which this tuning sounds, string for string, what the known forms of a chord sound in the
/// instrument's standard tuning, the forms moved up to four frets: `xx0234` is the D form in D G D G B D. A string the form
/// leaves out or that cannot sound it is silent. Tuned lower or higher as a whole, they lie where they always do.
pub(super) fn refingered(board: &Fretboard<'_>, chord: Chord) -> KnownForms {
    let standard = Catalog::bundled().standard_of(board.instrument()).tuning();
    let alike = alike_courses(board, standard);
    let Some(&first) = standard.pitches().last() else { return KnownForms::default() };
    let raise = board.capo().semitones() + moved_as_a_whole(board, standard, &alike);
    let raised = |ours: usize| standard.pitches().get(ours).and_then(|pitch| pitch.transpose(raise));
    let open = |ours: usize| board.open_pitches().get(ours).copied();
    let is_retuned = alike.iter().any(|&(ours, _)| raised(ours) != open(ours));
    let lifted = first - STANDARD_PITCHES[STANDARD.len() - 1].pitch() + raise;
    let of_thumb =
        alike.iter().filter(|&&(ours, _)| ours < thumb_courses(board.courses()) && raised(ours) != open(ours));
    let may_ring = of_thumb.fold(0, |bits, &(ours, _)| bits | 1 << ours);
    let moved = |form: &StandardForm| {
        let is_it = |&frets: &u8| {
            let by = lifted + Semitones::new(i16::from(frets));
            form.chord.root().class().transpose(by) == chord.root().class()
        };
        let moved = (0..=FAMILIAR_FRETS).find(is_it)?;
        let mut frets = Frets::silent(board.courses().min(MOST_COURSES));
        for &(ours, theirs) in &alike {
            let place = form.shape.frets()[theirs].and_then(|fret| fret.get().checked_add(moved));
            let sounds = place.and_then(|fret| raised(ours)?.transpose(Semitones::new(i16::from(fret))));
            let fret = sounds.zip(open(ours)).and_then(|(sounds, open)| u8::try_from((sounds - open).get()).ok());
            frets.at[ours] = fret.unwrap_or(SILENT);
        }
        Some(Refingered { frets, may_ring })
    };
    let same = |form: &&StandardForm| form.chord.quality().id() == chord.quality().id();
    KnownForms { forms: StandardForm::all().iter().filter(same).filter_map(moved).collect(), is_retuned }
}

fn compare(
    board: &Fretboard<'_>,
    standard: &Tuning,
    shape: &Shape,
    form: &'static StandardForm,
    moved_frets: u8,
    unchanged: &[(usize, usize)],
) -> Option<KnownForm> {
    let mut equal = Vec::new();
    let (mut left_out, mut open_besides, mut stopped) = (0, 0, 0);
    for &(ours, theirs) in unchanged {
        let has = shape.frets().get(ours).copied().flatten();
        let wanted = form.shape.frets()[theirs].and_then(|fret| fret.get().checked_add(moved_frets)).map(Fret::new);
        match (has, wanted) {
            (Some(fret), Some(wanted)) if fret == wanted => {
                equal.push(CourseIndex::from_lowest(ours));
                stopped += usize::from(fret != Fret::OPEN);
            }
            (Some(Fret::OPEN), _) => open_besides += 1,
            (Some(_), _) => return None,
            (None, Some(_)) => left_out += 1,
            (None, None) => {}
        }
    }
    if equal.len() < LEAST_EQUAL || stopped == 0 {
        return None;
    }
    let lifted = standard.pitches().last().copied()? - STANDARD_PITCHES.last()?.pitch();
    let by = lifted + Semitones::new(i16::from(moved_frets)) + board.capo().semitones();
    let chord = moved_chord(form.chord, by);
    Some(KnownForm { form, moved_frets, equal, left_out, open_besides, chord })
}

fn moved_chord(chord: Chord, by: Semitones) -> Chord {
    let class = chord.root().class().transpose(by);
    if class == chord.root().class() {
        return chord;
    }
    let quality: &'static ChordQuality = chord.quality();
    Chord::new(Note::of_class(class, SpellingChoice::Customary), quality)
}

/// A movable shape at one place of the neck.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MovedShape {
    /// The lowest stopped fret there.
    pub fret: Fret,
    /// The shape as it is there.
    pub shape: Shape,
    /// What it makes there, its best name; `None` where it makes no chord.
    pub name: Option<ChordName>,
}

/// Returns what a movable shape makes at every fret of the neck, from the nut up; empty for a shape with open strings.
#[must_use]
pub fn chords_along_neck(board: &Fretboard<'_>, shape: &Shape, key: Option<Key>) -> Vec<MovedShape> {
    let Some((lowest, _)) = shape.fret_range().filter(|_| shape.is_movable()) else { return Vec::new() };
    let moved_to = |fret: u8| {
        let move_one = |from: Fret| Fret::new((from.get() - lowest.get()).saturating_add(fret));
        let moved = Shape::new(shape.frets().iter().map(|from| from.map(move_one)).collect());
        let is_on_neck = moved.sounding().all(|position| board.has(position));
        is_on_neck.then(|| MovedShape {
            fret: Fret::new(fret),
            name: name_shape(board, &moved, key).names.into_iter().next(),
            shape: moved,
        })
    };
    (1..=board.last_fret().get()).filter_map(moved_to).collect()
}
