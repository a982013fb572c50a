//! One string: its gauge and what it is made of.

use std::fmt;

use serde::{Deserialize, Serialize};

/// What a set of strings is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Steel core, wound strings wrapped in bronze.
    Bronze,
    /// Steel core, wound strings wrapped in nickel-plated steel.
    Nickel,
    /// Plain steel throughout.
    Steel,
    /// Nylon, wound strings of silver-plated copper on nylon floss.
    Nylon,
    /// Fluorocarbon, wound strings as for nylon.
    Fluorocarbon,
    /// Gut or its synthetic likeness, wound strings with a gut core.
    Gut,
}

/// The thickness of a string and whether it is wound.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Gauge {
    diameter_mm: f64,
    is_wound: bool,
}

impl Gauge {
    /// Makes a gauge of a diameter in millimetres, 0.1 to 5; `None` outside. It is kept to a tenth of a micrometre, so that
    /// gauges written down and read again are the same.
    #[must_use]
    pub fn new(diameter_mm: f64, is_wound: bool) -> Option<Self> {
        let rounded_mm = (diameter_mm * 1e4).round() / 1e4;
        (0.1..=5.0).contains(&diameter_mm).then_some(Self { diameter_mm: rounded_mm, is_wound })
    }

    /// Reads thousandths of an inch, inches or millimetres, with `w` after a wound string: `12`, `9.5`, `53w`, `.053w`,
    /// `0.30 mm`, `1.35 mm w`; a comma may stand for the point.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase().replace(',', ".");
        let (text, is_wound) =
            text.strip_suffix('w').map_or((text.as_str(), false), |number| (number.trim_end(), true));
        if let Some(mm) = text.strip_suffix("mm") {
            return Self::new(mm.trim_end().parse().ok()?, is_wound);
        }
        let number: f64 = text.parse().ok()?;
        let inches = if text.starts_with('.') || text.starts_with("0.") { number } else { number / 1000.0 };
        Self::new(inches * 25.4, is_wound)
    }

    /// Returns the outer diameter in millimetres.
    #[must_use]
    pub const fn diameter_mm(self) -> f64 {
        self.diameter_mm
    }

    /// Tells whether a wire is wrapped round a core.
    #[must_use]
    pub const fn is_wound(self) -> bool {
        self.is_wound
    }
}

impl fmt::Display for Gauge {
    /// Writes the gauge in inches as players do: `.012`, `.053w`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let inches = format!("{:.4}", self.diameter_mm / 25.4);
        let text = inches.trim_start_matches('0');
        let text = text.strip_suffix('0').unwrap_or(text);
        write!(f, "{text}{}", if self.is_wound { "w" } else { "" })
    }
}
