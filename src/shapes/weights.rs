//! What each cost counts: the bundled `data/weights.toml`.

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::rank::CostTerm;

/// What a way of placing the fingers costs, in the units of the shape costs. Never negative.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FingeringWeights {
    /// For the index, middle, ring and little finger, each time one is put down.
    pub finger: [f64; 4],
    /// For the thumb over the edge of the neck.
    pub thumb: f64,
    /// For the index laid across several courses.
    pub index_barre: f64,
    /// For another finger laid across several courses.
    pub other_barre: f64,
    /// For each course a barre other than the index's lies across beyond the second.
    pub wide_other_barre: f64,
    /// For a barre that stops short of course 1 while a thinner course rings open: the finger must arch over it.
    pub arched_barre: f64,
    /// For each fret that two neighbouring used fingers stand further apart than one finger a fret.
    pub wide: f64,
    /// For each fret that they stand closer than one finger a fret, where they stand at different frets.
    pub tight: f64,
    /// For each finger left out between two used ones at the same fret.
    pub skipped: f64,
    /// For each finger before the first used one.
    pub late_start: f64,
}

/// Every weight of the shape costs and of the fingering costs.
///
/// How they were chosen stands at the head of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Weights {
    shape: [f64; CostTerm::COUNT],
    fingering: FingeringWeights,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    shape: std::collections::BTreeMap<String, f64>,
    fingering: FingeringWeights,
}

static BUNDLED: Lazy<Weights> =
    Lazy::new(|| Weights::read(crate::data::text("weights.toml")).expect("a test reads the bundled weights"));

impl Weights {
    /// Returns the weights the app ships.
    #[must_use]
    pub fn bundled() -> &'static Self {
        &BUNDLED
    }

    /// Reads a weights table; `None` when a term is missing, unknown or negative.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let table: Table = toml::from_str(text).ok()?;
        let mut shape = [0.0; CostTerm::COUNT];
        for (slot, term) in shape.iter_mut().zip(CostTerm::ALL) {
            *slot = *table.shape.get(term.id())?;
        }
        let f = &table.fingering;
        let others = [f.thumb, f.index_barre, f.other_barre, f.wide_other_barre, f.arched_barre];
        let rest = [f.wide, f.tight, f.skipped, f.late_start];
        let all_fit = shape.iter().chain(&f.finger).chain(&others).chain(&rest).all(|w| w.is_finite() && *w >= 0.0);
        (all_fit && table.shape.len() == CostTerm::COUNT).then_some(Self { shape, fingering: table.fingering })
    }

    /// Returns the same fingering weights with other shape weights, in the order of [`CostTerm::ALL`]; negative or
    /// unbounded ones count as 0.
    #[must_use]
    pub fn with_shape(&self, shape: [f64; CostTerm::COUNT]) -> Self {
        let shape = shape.map(|weight| if weight.is_finite() { weight.max(0.0) } else { 0.0 });
        Self { shape, fingering: self.fingering.clone() }
    }

    /// Returns the same shape weights with other fingering weights.
    #[must_use]
    pub fn with_fingering(&self, fingering: FingeringWeights) -> Self {
        Self { shape: self.shape, fingering }
    }

    /// Returns the weight of a shape cost.
    #[must_use]
    pub fn of(&self, term: CostTerm) -> f64 {
        self.shape[term.index()]
    }

    /// Returns the shape weights in the order of [`CostTerm::ALL`].
    #[must_use]
    pub const fn shape(&self) -> &[f64; CostTerm::COUNT] {
        &self.shape
    }

    /// Returns the fingering weights.
    #[must_use]
    pub const fn fingering(&self) -> &FingeringWeights {
        &self.fingering
    }
}
