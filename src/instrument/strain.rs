//! What a string bears: unit weight, tension, stress, and how near it is to breaking.

use crate::theory::Hertz;

use super::string::{Gauge, Material};
use super::wire;

/// A force in newtons: zero or more.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Newtons(f64);

impl Newtons {
    /// Makes a force; anything that is not a finite number above zero counts as none.
    #[must_use]
    pub const fn new(newtons: f64) -> Self {
        if newtons.is_finite() && newtons > 0.0 { Self(newtons) } else { Self(0.0) }
    }

    /// Returns the size in newtons.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Returns the size in pounds-force: 4.448 222 N each (by definition of the pound and standard gravity).
    #[must_use]
    pub const fn pounds(self) -> f64 {
        self.0 / 4.448_221_615_260_5
    }
}

impl std::ops::Add for Newtons {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::iter::Sum for Newtons {
    fn sum<I: Iterator<Item = Self>>(forces: I) -> Self {
        forces.fold(Self(0.0), |sum, force| sum + force)
    }
}

/// How a string stands its pitch, in the words players use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// So loose that it buzzes and its pitch bends with every stroke.
    Slack,
    /// As strings are meant to be.
    Normal,
    /// Bring it up slowly, face turned away.
    Tight,
    /// It may snap. At the whole of its least strength it is not a level any more: the plan is refused.
    TooTight,
}

impl Level {
    /// A string with less than this share of the pull its place is made for is slack: about four and a half semitones
    /// down. From memory.
    pub const SLACK_BELOW_MADE_FOR: f64 = 0.6;
    /// From this share of its least strength on a string is tight. From memory.
    pub const TIGHT_FROM_STRENGTH: f64 = 0.65;
    /// From this share of its least strength on it may snap: the upper end of the working limit of 75 to 80 % that
    /// makers of strings give. From memory.
    pub const TOO_TIGHT_FROM_STRENGTH: f64 = 0.8;
    /// From this share of its least strength on it breaks, and no plan is made.
    pub const BREAKS_FROM_STRENGTH: f64 = 1.0;

    /// Sorts a pull by its share of the string's least strength and of the pull its place is made for; how tight it is
    /// hangs on the strength alone.
    #[must_use]
    pub fn of(share_of_made_for: Option<f64>, share_of_strength: f64) -> Self {
        if share_of_strength >= Self::TOO_TIGHT_FROM_STRENGTH {
            Self::TooTight
        } else if share_of_strength >= Self::TIGHT_FROM_STRENGTH {
            Self::Tight
        } else if share_of_made_for.is_some_and(|share| share < Self::SLACK_BELOW_MADE_FOR) {
            Self::Slack
        } else {
            Self::Normal
        }
    }
}

/// One string on an instrument: what it is and how long it vibrates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MountedString {
    gauge: Gauge,
    material: Material,
    length_mm: f64,
    unit_weight: f64,
    strength: f64,
}

impl MountedString {
    /// Puts a string on a length in millimetres, 50 to 2000; `None` outside.
    #[must_use]
    pub fn new(gauge: Gauge, material: Material, length_mm: f64) -> Option<Self> {
        let strength = core_area_mm2(gauge, material) * core_strength_mpa(gauge, material);
        (50.0..=2000.0).contains(&length_mm).then(|| Self {
            gauge,
            material,
            length_mm,
            unit_weight: gauge.unit_weight(material),
            strength,
        })
    }

    /// Returns the gauge.
    #[must_use]
    pub const fn gauge(&self) -> Gauge {
        self.gauge
    }

    /// Returns what it is made of.
    #[must_use]
    pub const fn material(&self) -> Material {
        self.material
    }

    /// Returns the vibrating length in millimetres.
    #[must_use]
    pub const fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// Returns the pull at a pitch: T = μ(2Lf)² (Mersenne), μ the weight per length and L the vibrating length.
    #[must_use]
    pub fn tension(&self, pitch: Hertz) -> Newtons {
        let speed = 2.0 * self.length_mm / 1000.0 * pitch.get();
        Newtons::new(self.unit_weight * speed * speed)
    }

    /// Returns the stress in what carries the pull (the whole of a plain string, the core of a wound one), in
    /// megapascals. For a plain string this is ρ(2Lf)², whatever its gauge.
    #[must_use]
    pub fn stress_mpa(&self, pitch: Hertz) -> f64 {
        self.tension(pitch).get() / core_area_mm2(self.gauge, self.material)
    }

    /// Returns the pull that breaks the weakest string of this kind.
    #[must_use]
    pub const fn least_strength(&self) -> Newtons {
        Newtons::new(self.strength)
    }

    /// Returns the pull at a pitch as a share of [`MountedString::least_strength`]: 1 is breaking.
    #[must_use]
    pub fn share_of_strength(&self, pitch: Hertz) -> f64 {
        self.tension(pitch).get() / self.strength
    }

    /// Returns how much more it pulls for each millimetre it is stretched, in N/mm: EA/L of what carries the pull.
    #[must_use]
    pub fn stiffness_n_per_mm(&self) -> f64 {
        core_stiffness_mpa(self.material) * core_area_mm2(self.gauge, self.material) / self.length_mm
    }
}

impl Gauge {
    /// Returns the weight per length of a string of this gauge, in kg/m.
    ///
    /// Plain: ρπd²/4. Wound: a round core of the diameter [`Gauge::core_mm`] gives and one layer of round wire, turn
    /// against turn, as thick as the rest: π²w(d + w)/4 of metal a length (a helix of pitch w on the core d). Within
    /// 5 % of the pulls string makers print for steel-cored guitar and bass strings; from memory.
    #[must_use]
    pub fn unit_weight(self, material: Material) -> f64 {
        let core_mm = self.core_mm(material);
        let core = core_density(self, material) * std::f64::consts::FRAC_PI_4 * core_mm * core_mm;
        let wire_mm = (self.diameter_mm() - core_mm) / 2.0;
        let wrap = wrap_density(material) * std::f64::consts::PI.powi(2) / 4.0 * wire_mm * (core_mm + wire_mm);
        (core + wrap) * 1e-6
    }

    /// Returns the diameter of what carries the pull, in millimetres: the whole of a plain string.
    ///
    /// A wound string's core is estimated from its gauge: steel 0.226 + 0.19 d, nylon floss and gut 0.45 + 0.05 d, never
    /// above 0.7 d. From memory: chosen so that light bronze and nickel guitar strings, bass strings and nylon basses
    /// come out near the pulls makers print for them.
    #[must_use]
    pub fn core_mm(self, material: Material) -> f64 {
        let outer = self.diameter_mm();
        if !self.is_wound() {
            return outer;
        }
        let core = match material {
            Material::Bronze | Material::Nickel | Material::Steel => 0.226 + 0.19 * outer,
            Material::Nylon | Material::Fluorocarbon | Material::Gut => 0.45 + 0.05 * outer,
        };
        core.min(0.7 * outer)
    }
}

fn core_area_mm2(gauge: Gauge, material: Material) -> f64 {
    std::f64::consts::FRAC_PI_4 * gauge.core_mm(material).powi(2)
}

const fn core_density(gauge: Gauge, material: Material) -> f64 {
    match material {
        Material::Bronze | Material::Nickel | Material::Steel => wire::STEEL,
        Material::Nylon => wire::NYLON,
        Material::Fluorocarbon if gauge.is_wound() => wire::NYLON,
        Material::Fluorocarbon => wire::FLUOROCARBON,
        Material::Gut => wire::GUT,
    }
}

const fn wrap_density(material: Material) -> f64 {
    match material {
        Material::Bronze => wire::BRONZE,
        Material::Nickel => wire::NICKEL_PLATED,
        Material::Steel => wire::STEEL,
        Material::Nylon | Material::Fluorocarbon | Material::Gut => wire::SILVERED_COPPER,
    }
}

fn core_strength_mpa(gauge: Gauge, material: Material) -> f64 {
    match material {
        Material::Bronze | Material::Nickel | Material::Steel => wire::steel_strength_mpa(gauge.core_mm(material)),
        Material::Nylon | Material::Fluorocarbon if gauge.is_wound() => wire::FLOSS_STRENGTH,
        Material::Nylon => wire::NYLON_STRENGTH,
        Material::Fluorocarbon => wire::FLUOROCARBON_STRENGTH,
        Material::Gut => wire::GUT_STRENGTH,
    }
}

const fn core_stiffness_mpa(material: Material) -> f64 {
    match material {
        Material::Bronze | Material::Nickel | Material::Steel => wire::STEEL_STIFFNESS,
        Material::Nylon | Material::Fluorocarbon => wire::NYLON_STIFFNESS,
        Material::Gut => wire::GUT_STIFFNESS,
    }
}
