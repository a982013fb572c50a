//! What each cost counts: the bundled `data/weights.toml`.

use std::collections::BTreeMap;

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::fingering_cost::{self, FingeringAmounts};
use super::rank::CostTerm;

/// Every weight of the shape costs and of the fingering costs, none of them negative.
///
/// How they were chosen stands at the head of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Weights {
    shape: [f64; CostTerm::COUNT],
    fingering: FingeringAmounts,
    narrow: FingeringAmounts,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    shape: BTreeMap<String, f64>,
    fingering: BTreeMap<String, Vec<f64>>,
    #[serde(rename = "narrow-fingering")]
    narrow: BTreeMap<String, Vec<f64>>,
}

static BUNDLED: Lazy<Weights> =
    Lazy::new(|| Weights::read(crate::data::text("weights.toml")).expect("a test reads the bundled weights"));

impl Weights {
    /// How many fingering weights there are.
    pub const FINGERING_COUNT: usize = fingering_cost::COUNT;

    /// As many courses as a narrow neck has at most: a finger lies across them from edge to edge, and players share the
    /// fingers out otherwise than on a guitar.
    pub const NARROW_COURSES: usize = 4;

    /// Returns the weights the app ships.
    #[must_use]
    pub fn bundled() -> &'static Self {
        &BUNDLED
    }

    /// Returns weights that count one unit of every cost as 1: the yardstick for fitted ones.
    #[must_use]
    pub const fn equal() -> Self {
        Self {
            shape: [1.0; CostTerm::COUNT],
            fingering: [1.0; fingering_cost::COUNT],
            narrow: [1.0; fingering_cost::COUNT],
        }
    }

    /// Returns the weights the fit begins with: every shape cost 1, the fingering by hand.
    #[must_use]
    pub const fn start() -> Self {
        Self { shape: [1.0; CostTerm::COUNT], fingering: fingering_cost::START, narrow: fingering_cost::START }
    }

    /// Reads a weights table; `None` when a weight is missing, unknown, negative or unbounded.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let table: Table = toml::from_str(text).ok()?;
        let mut shape = [0.0; CostTerm::COUNT];
        for (slot, term) in shape.iter_mut().zip(CostTerm::ALL) {
            *slot = *table.shape.get(term.id())?;
        }
        let (fingering, narrow) = (read_groups(&table.fingering)?, read_groups(&table.narrow)?);
        let is_weight = |weight: &f64| weight.is_finite() && *weight >= 0.0;
        let all_fit = shape.iter().chain(&fingering).chain(&narrow).all(is_weight);
        (all_fit && table.shape.len() == CostTerm::COUNT).then_some(Self { shape, fingering, narrow })
    }

    /// Writes the three sections of the table; [`Weights::read`] gives the same weights back, to four decimals.
    #[must_use]
    pub fn written(&self) -> String {
        let mut text = String::from("[shape]\n");
        for term in CostTerm::ALL {
            text += &format!("{} = {:.4}\n", term.id(), self.of(term));
        }
        for (section, weights) in [("fingering", &self.fingering), ("narrow-fingering", &self.narrow)] {
            text += &format!("\n[{section}]\n");
            let mut place = 0;
            for &(id, length) in &fingering_cost::GROUPS {
                let group: Vec<String> =
                    weights[place..place + length].iter().map(|weight| format!("{weight:.4}")).collect();
                text += &format!("{id} = [{}]\n", group.join(", "));
                place += length;
            }
        }
        text
    }

    /// Returns the same fingering weights with other shape weights, in the order of [`CostTerm::ALL`]; negative or
    /// unbounded ones count as 0.
    #[must_use]
    pub fn with_shape(&self, shape: [f64; CostTerm::COUNT]) -> Self {
        Self { shape: shape.map(at_least_zero), ..self.clone() }
    }

    /// Returns the same weights with other ones for the fingering; negative or unbounded ones count as 0.
    #[must_use]
    pub fn with_fingering(&self, fingering: FingeringAmounts) -> Self {
        Self { fingering: fingering.map(at_least_zero), ..self.clone() }
    }

    /// Returns the same weights with other ones for the fingering on narrow necks; negative or unbounded ones count as 0.
    #[must_use]
    pub fn with_narrow_fingering(&self, narrow: FingeringAmounts) -> Self {
        Self { narrow: narrow.map(at_least_zero), ..self.clone() }
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

    /// Returns the fingering weights of a neck of so many courses, group after group in the order of the table.
    #[must_use]
    pub const fn fingering(&self, courses: usize) -> &FingeringAmounts {
        if courses <= Self::NARROW_COURSES { &self.narrow } else { &self.fingering }
    }
}

/// Reads the groups of fingering weights; `None` when one is missing, unknown or of another length.
fn read_groups(table: &BTreeMap<String, Vec<f64>>) -> Option<FingeringAmounts> {
    let mut weights = [0.0; fingering_cost::COUNT];
    let mut place = 0;
    for &(id, length) in &fingering_cost::GROUPS {
        let group = table.get(id).filter(|group| group.len() == length)?;
        weights[place..place + length].copy_from_slice(group);
        place += length;
    }
    (table.len() == fingering_cost::GROUPS.len()).then_some(weights)
}

fn at_least_zero(weight: f64) -> f64 {
    if weight.is_finite() { weight.max(0.0) } else { 0.0 }
}
