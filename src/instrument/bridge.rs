//! How far a bridge gives to the strings: the bundled `data/bridges.toml`.

use once_cell::sync::Lazy;
use serde::Deserialize;

use super::model::Bridge;
use super::strain::Newtons;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    fixed: Fixed,
    floating: Floating,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Fixed {
    turn_degrees: f64,
    arm_mm: f64,
    #[expect(dead_code, reason = "for who reads the table; the file is refused without it")]
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Floating {
    n_per_mm: f64,
    #[expect(dead_code, reason = "for who reads the table; the file is refused without it")]
    source: String,
}

static TABLE: Lazy<Table> =
    Lazy::new(|| toml::from_str(crate::data::text("bridges.toml")).expect("a test reads the bundled bridges"));

impl Bridge {
    /// Returns what it takes to move the strings' end by a millimetre, in N/mm, where all strings together pull by `whole`.
    ///
    /// A fixed bridge turns with the top by an angle under the whole pull, so K = `whole` / (angle · arm): some 1700 N/mm on a
    /// guitar. Both kinds are estimates, with their sources in the table; one instrument differs from another by twice and more.
    #[must_use]
    pub fn stiffness_n_per_mm(self, whole: Newtons) -> f64 {
        match self {
            Self::Fixed => whole.get() / (TABLE.fixed.turn_degrees.to_radians() * TABLE.fixed.arm_mm),
            Self::Floating => TABLE.floating.n_per_mm,
        }
    }
}
