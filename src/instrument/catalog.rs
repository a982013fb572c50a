//! The bundled instruments, tunings and string sets, read once from `data/`.

use once_cell::sync::Lazy;
use serde::{Deserialize, Serialize};

use crate::theory::SpelledPitch;

use super::course::Course;
use super::fretboard::Fret;
use super::model::{Bridge, Instrument, InstrumentFamily, PlayedWith};
use super::string::{Gauge, Material};
use super::stringing::Stringing;
use super::tuning::{ParseTuningError, Tuning};

/// What kind of tuning it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TuningFamily {
    /// The instrument's usual tuning.
    Standard,
    /// The usual tuning with one or two bass strings lowered.
    Dropped,
    /// The open strings sound a major chord.
    OpenMajor,
    /// The open strings sound a minor chord.
    OpenMinor,
    /// Neither major nor minor: suspended or fifths.
    Modal,
    /// From the Hawaiian practice of slackened strings.
    SlackKey,
    /// One interval between all neighbours.
    Regular,
    /// The usual tuning, all strings down alike.
    Lowered,
    /// The usual tuning, all strings up alike.
    Raised,
    /// Anything else.
    Other,
}

/// A tuning of the catalogue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CatalogTuning {
    id: String,
    instrument_id: String,
    name: String,
    also: Vec<String>,
    spelled: Vec<SpelledPitch>,
    tuning: Tuning,
    family: TuningFamily,
    used_for: String,
    is_common: bool,
    strings_id: Option<String>,
    source: String,
}

impl CatalogTuning {
    /// Makes an entry of a tuning the player entered, so that it can be listed and found like the bundled ones.
    #[must_use]
    pub fn of_player(id: &str, instrument_id: &str, name: &str, tuning: &Tuning) -> Self {
        Self {
            id: id.to_owned(),
            instrument_id: instrument_id.to_owned(),
            name: name.to_owned(),
            also: Vec::new(),
            spelled: tuning.spelled(),
            tuning: tuning.clone(),
            family: TuningFamily::Other,
            used_for: String::new(),
            is_common: false,
            strings_id: None,
            source: "the player".to_owned(),
        }
    }

    /// Returns the stable id, such as `guitar-open-g`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the id of the instrument it is listed under.
    #[must_use]
    pub fn instrument_id(&self) -> &str {
        &self.instrument_id
    }

    /// Returns the name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns other names players use.
    #[must_use]
    pub fn also(&self) -> &[String] {
        &self.also
    }

    /// Returns the pitches as the catalogue spells them, from the highest player number to course 1.
    #[must_use]
    pub fn spelled(&self) -> &[SpelledPitch] {
        &self.spelled
    }

    /// Returns the pitches.
    #[must_use]
    pub const fn tuning(&self) -> &Tuning {
        &self.tuning
    }

    /// Returns what kind of tuning it is.
    #[must_use]
    pub const fn family(&self) -> TuningFamily {
        self.family
    }

    /// Tells whether many players meet it first.
    #[must_use]
    pub const fn is_common(&self) -> bool {
        self.is_common
    }

    /// Returns one line on what players use it for.
    #[must_use]
    pub fn used_for(&self) -> &str {
        &self.used_for
    }

    /// Returns the id of the set it needs, where the instrument's usual strings do not do; see
    /// [`Catalog::strings_for`].
    #[must_use]
    pub fn strings_id(&self) -> Option<&str> {
        self.strings_id.as_deref()
    }

    /// Returns where the facts are from.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }

    /// Returns the notes without octaves as the catalogue spells them, in plain ASCII: `D G D G B E`.
    #[must_use]
    pub fn notes_ascii(&self) -> String {
        self.spelled.iter().map(|pitch| pitch.note().ascii()).collect::<Vec<_>>().join(" ")
    }
}

/// A generic set of strings, by gauge.
#[derive(Clone, Debug, PartialEq)]
pub struct StringSet {
    id: String,
    instrument_id: String,
    name: String,
    material: Material,
    gauges: Vec<Vec<Gauge>>,
    strings: Stringing,
    tuning_id: Option<String>,
    source: String,
}

impl StringSet {
    /// Returns the stable id.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the id of the instrument it is made for.
    #[must_use]
    pub fn instrument_id(&self) -> &str {
        &self.instrument_id
    }

    /// Returns the name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns what it is made of.
    #[must_use]
    pub const fn material(&self) -> Material {
        self.material
    }

    /// Returns the gauge of each string of each course, in the order of the course's offsets.
    #[must_use]
    pub fn gauges(&self) -> &[Vec<Gauge>] {
        &self.gauges
    }

    /// Returns the strings, as they are put on.
    #[must_use]
    pub const fn strings(&self) -> &Stringing {
        &self.strings
    }

    /// Returns the id of the tuning it is made for, where that is not the standard tuning of its instrument.
    #[must_use]
    pub fn tuning_id(&self) -> Option<&str> {
        self.tuning_id.as_deref()
    }

    /// Returns where the facts are from.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }
}

impl AsRef<Stringing> for StringSet {
    fn as_ref(&self) -> &Stringing {
        &self.strings
    }
}

/// All that is bundled. Every reference between its parts resolves; a test reads each row.
#[derive(Debug)]
pub struct Catalog {
    instruments: Vec<Instrument>,
    tunings: Vec<CatalogTuning>,
    string_sets: Vec<StringSet>,
}

static CATALOG: Lazy<Catalog> = Lazy::new(Catalog::read_bundled);

impl Catalog {
    /// Returns the bundled catalogue.
    #[must_use]
    pub fn bundled() -> &'static Self {
        &CATALOG
    }

    fn read_bundled() -> Self {
        let why = "a test reads every bundled table";
        let instruments: InstrumentTable = toml::from_str(crate::data::text("instruments.toml")).expect(why);
        let tunings: TuningTable = toml::from_str(crate::data::text("tunings.toml")).expect(why);
        let sets: StringSetTable = toml::from_str(crate::data::text("string_sets.toml")).expect(why);
        Self {
            instruments: instruments.instrument.into_iter().map(|row| row.build().expect(why)).collect(),
            tunings: tunings.tunings.into_iter().map(|row| row.build().expect(why)).collect(),
            string_sets: sets.sets.into_iter().map(|row| row.build().expect(why)).collect(),
        }
    }

    /// Returns every instrument, in the table's order.
    #[must_use]
    pub fn instruments(&self) -> &[Instrument] {
        &self.instruments
    }

    /// Returns every tuning, in the table's order.
    #[must_use]
    pub fn tunings(&self) -> &[CatalogTuning] {
        &self.tunings
    }

    /// Returns every string set, in the table's order.
    #[must_use]
    pub fn string_sets(&self) -> &[StringSet] {
        &self.string_sets
    }

    /// Finds an instrument by id.
    #[must_use]
    pub fn find_instrument(&self, id: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|instrument| instrument.id == id)
    }

    /// Returns the six-string guitar, the instrument a new player starts with.
    ///
    /// # Panics
    /// Never: a test finds it in the bundled table.
    #[must_use]
    pub fn guitar(&self) -> &Instrument {
        self.find_instrument("guitar").expect("a test finds the guitar")
    }

    /// Finds a tuning by id.
    #[must_use]
    pub fn find_tuning(&self, id: &str) -> Option<&CatalogTuning> {
        self.tunings.iter().find(|tuning| tuning.id == id)
    }

    /// Returns the tuning an instrument is usually in.
    ///
    /// # Panics
    /// Never for an instrument of this catalogue: a test resolves each.
    #[must_use]
    pub fn standard_of(&self, instrument: &Instrument) -> &CatalogTuning {
        self.find_tuning(&instrument.standard_id).expect("a test resolves every standard tuning")
    }

    /// Returns the set an instrument usually wears.
    ///
    /// # Panics
    /// Never for an instrument of this catalogue: a test resolves each.
    #[must_use]
    pub fn strings_of(&self, instrument: &Instrument) -> &StringSet {
        self.string_sets.iter().find(|set| set.id == instrument.strings_id).expect("a test resolves every string set")
    }

    /// Finds a string set by id.
    #[must_use]
    pub fn find_string_set(&self, id: &str) -> Option<&StringSet> {
        self.string_sets.iter().find(|set| set.id == id)
    }

    /// Returns the sets made for an instrument, in the table's order.
    pub fn string_sets_of<'a>(
        &'a self,
        instrument: &'a Instrument,
    ) -> impl Iterator<Item = &'a StringSet> + Clone + 'a {
        self.string_sets.iter().filter(|set| set.instrument_id == instrument.id)
    }

    /// Returns the set a tuning is played on: the one its row of the catalogue names, else the instrument's usual one.
    /// `None` where the row needs other strings and no set made for this instrument is listed (a tuning borrowed from
    /// another instrument may be so).
    #[must_use]
    pub fn strings_for<'a>(&'a self, instrument: &Instrument, tuning: &Tuning) -> Option<&'a StringSet> {
        let rows = self.tunings.iter().filter(|row| row.tuning == *tuning);
        let row = rows.clone().find(|row| row.instrument_id == instrument.id).or_else(|| {
            let standard = self.standard_of(instrument).tuning();
            let is_like = |row: &&CatalogTuning| {
                let other = self.find_instrument(&row.instrument_id);
                other.is_some_and(|other| {
                    other.courses == instrument.courses && self.standard_of(other).tuning() == standard
                })
            };
            rows.clone().find(is_like)
        });
        let Some(named) = row.and_then(CatalogTuning::strings_id).and_then(|id| self.find_string_set(id)) else {
            return Some(self.strings_of(instrument));
        };
        if named.instrument_id == instrument.id {
            return Some(named);
        }
        let made_for = |set: &StringSet| self.find_tuning(set.tuning_id.as_deref()?).map(CatalogTuning::tuning);
        let mut sets = self.string_sets.iter().filter(|set| set.instrument_id == instrument.id);
        sets.find(|set| made_for(set).is_some() && made_for(set) == made_for(named))
    }

    /// Returns the tunings an instrument can take from the catalogue: its own, then those of instruments whose
    /// standard tuning and courses are the same (an electric guitar takes the guitar's), each once.
    #[must_use]
    pub fn tunings_for(&self, instrument: &Instrument) -> Vec<&CatalogTuning> {
        let standard = self.standard_of(instrument).tuning();
        let is_like = |other: &Instrument| {
            other.id == instrument.id
                || (other.courses == instrument.courses && self.standard_of(other).tuning() == standard)
        };
        let like: Vec<&str> =
            self.instruments.iter().filter(|other| is_like(other)).map(|other| other.id.as_str()).collect();
        let mut found: Vec<&CatalogTuning> =
            self.tunings.iter().filter(|tuning| tuning.instrument_id == instrument.id).collect();
        for tuning in self.tunings.iter().filter(|tuning| like.contains(&tuning.instrument_id.as_str())) {
            if !found.iter().any(|known| known.tuning == tuning.tuning) {
                found.push(tuning);
            }
        }
        found
    }
}

#[derive(Deserialize)]
struct InstrumentTable {
    instrument: Vec<InstrumentRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InstrumentRow {
    id: String,
    name: String,
    family: InstrumentFamily,
    scale_mm: f64,
    frets: u8,
    fret_steps: Option<Vec<u8>>,
    fret_names: Option<Vec<String>>,
    courses: Vec<String>,
    standard: String,
    strings: String,
    #[serde(default)]
    bridge: Bridge,
    #[serde(default)]
    played: PlayedWith,
    source: String,
}

impl InstrumentRow {
    fn build(self) -> Option<Instrument> {
        let last = self.fret_steps.as_ref().and_then(|steps| steps.last().copied()).unwrap_or(self.frets);
        Some(Instrument {
            id: self.id,
            name: self.name,
            family: self.family,
            scale_mm: self.scale_mm,
            last_fret: Fret::new(last),
            fret_steps: self.fret_steps,
            fret_names: self.fret_names,
            courses: self.courses.iter().map(|text| Course::read(text)).collect::<Option<_>>()?,
            standard_id: self.standard,
            strings_id: self.strings,
            bridge: self.bridge,
            played_with: self.played,
            source: self.source,
        })
    }
}

#[derive(Deserialize)]
struct TuningTable {
    tunings: Vec<TuningRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TuningRow {
    id: String,
    instrument: String,
    name: String,
    also: Vec<String>,
    pitches: String,
    family: TuningFamily,
    #[serde(rename = "use")]
    used_for: String,
    #[serde(default)]
    common: bool,
    strings: Option<String>,
    source: String,
}

impl TuningRow {
    fn build(self) -> Result<CatalogTuning, ParseTuningError> {
        let spelled = self
            .pitches
            .split_whitespace()
            .map(|pitch| SpelledPitch::read(pitch).map_err(ParseTuningError::Note))
            .collect::<Result<Vec<_>, _>>()?;
        let tuning = Tuning::new(spelled.iter().map(|pitch| pitch.pitch()).collect())
            .ok_or(ParseTuningError::Courses { expected: Tuning::MOST_COURSES, found: spelled.len() })?;
        Ok(CatalogTuning {
            id: self.id,
            instrument_id: self.instrument,
            name: self.name,
            also: self.also,
            spelled,
            tuning,
            family: self.family,
            used_for: self.used_for,
            is_common: self.common,
            strings_id: self.strings,
            source: self.source,
        })
    }
}

#[derive(Deserialize)]
struct StringSetTable {
    sets: Vec<StringSetRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StringSetRow {
    id: String,
    instrument: String,
    name: String,
    material: Material,
    gauges: String,
    tuning: Option<String>,
    source: String,
}

impl StringSetRow {
    fn build(self) -> Option<StringSet> {
        let gauges = self
            .gauges
            .split_whitespace()
            .map(|course| course.split('+').map(Gauge::read).collect::<Option<Vec<_>>>())
            .collect::<Option<Vec<_>>>()?;
        Some(StringSet {
            strings: Stringing::of_set(&self.id, self.material, &gauges),
            id: self.id,
            instrument_id: self.instrument,
            name: self.name,
            material: self.material,
            gauges,
            tuning_id: self.tuning,
            source: self.source,
        })
    }
}
