//! What a plucked string sounds like: how long it rings, how bright it is, how stiff.

use std::f64::consts::PI;

use crate::theory::Hertz;

/// What a string is made of and whether it is wound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StringMake {
    /// Plain steel wire.
    PlainSteel,
    /// A steel core wrapped in bronze or nickel-plated steel.
    WoundSteel,
    /// Plain nylon, fluorocarbon or gut.
    PlainNylon,
    /// Floss or gut wrapped in metal.
    WoundNylon,
}

impl StringMake {
    /// Young's modulus of what resists bending, in pascal: steel 200 GPa; nylon 5 GPa (from memory); floss bends like
    /// a tenth of that.
    const fn youngs_modulus_pa(self) -> f64 {
        match self {
            Self::PlainSteel | Self::WoundSteel => 200e9,
            Self::PlainNylon => 5e9,
            Self::WoundNylon => 0.5e9,
        }
    }

    /// Mean density over the outer diameter, in kg/m³: steel 7850, nylon 1140; for wound strings a core of 0.4 of the
    /// diameter inside round wire, which fills π/4 of its ring (from memory).
    const fn density_kg_m3(self) -> f64 {
        match self {
            Self::PlainSteel => 7850.0,
            Self::WoundSteel => 6900.0,
            Self::PlainNylon => 1140.0,
            Self::WoundNylon => 5000.0,
        }
    }

    /// The share of the outer diameter that resists bending.
    const fn core_share(self) -> f64 {
        match self {
            Self::PlainSteel | Self::PlainNylon => 1.0,
            Self::WoundSteel | Self::WoundNylon => 0.4,
        }
    }
}

/// How a plucked string sounds.
///
/// Values outside the stated ranges count as the nearest end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// How long the first partial takes to fall by 60 dB, in seconds: 0.1 to 20.
    pub decay_s: f64,
    /// How much faster the tenth partial dies: its decay as a share of the first's, 0.05 (dull) to 1 (glassy).
    pub brightness: f64,
    /// Stiffness B in f_n = n·f_1·√((1 + B·n²) / (1 + B)): 0 to 1e-3.
    pub inharmonicity: f64,
    /// Where the string is plucked, as a share of its length from the bridge: 0.02 to 0.5.
    pub plucked_at: f64,
}

impl Default for Tone {
    /// A middling steel string: 4 s, the tenth partial a quarter of that, B = 5e-5, plucked at a fifth.
    fn default() -> Self {
        Self { decay_s: 4.0, brightness: 0.25, inharmonicity: 5e-5, plucked_at: 0.2 }
    }
}

impl Tone {
    /// Returns the tone of a string of `diameter_mm` sounding `frequency` over `scale_mm`.
    ///
    /// Stiffness is π²·E·d_core⁴ / (64·ρ·d²·f²·L⁴) (Fletcher 1964; the plain string's d_core is d). Decay and
    /// brightness are chosen by ear: 5 s at 110 Hz for steel and 3 s for nylon, falling with the square root of the
    /// frequency; wound and nylon strings duller, and thicker strings duller than thin ones of their kind.
    #[must_use]
    pub fn of_string(make: StringMake, diameter_mm: f64, frequency: Hertz, scale_mm: f64) -> Self {
        let diameter = diameter_mm.clamp(0.1, 5.0) / 1000.0;
        let length = scale_mm.clamp(150.0, 1500.0) / 1000.0;
        let core = diameter * make.core_share();
        let inharmonicity = PI.powi(2) * make.youngs_modulus_pa() * core.powi(4)
            / (64.0 * make.density_kg_m3() * diameter.powi(2) * frequency.get().powi(2) * length.powi(4));
        let (decay_at_a2, thin_brightness) = match make {
            StringMake::PlainSteel => (5.0, 0.40),
            StringMake::WoundSteel => (5.0, 0.30),
            StringMake::PlainNylon => (3.0, 0.15),
            StringMake::WoundNylon => (3.0, 0.18),
        };
        Self {
            decay_s: (decay_at_a2 * (110.0 / frequency.get()).sqrt()).clamp(0.5, 8.0),
            brightness: thin_brightness / (1.0 + diameter_mm.clamp(0.1, 5.0) / 4.0),
            inharmonicity: inharmonicity.clamp(0.0, 1e-3),
            plucked_at: 0.2,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stiffness_of_plain_steel_is_as_published() {
        // B = π²Ed²/(64ρf²L⁴), 25.5 in scale, E = 200 GPa, 7850 kg/m³: hand calculation in the project's references.
        for (thousandths, hz, expected) in [(10.0, 329.63, 1.3e-5), (13.0, 246.94, 4.0e-5), (17.0, 196.0, 1.1e-4)] {
            let frequency = Hertz::new(hz).unwrap();
            let tone = Tone::of_string(StringMake::PlainSteel, thousandths * 0.0254, frequency, 647.7);
            assert!((tone.inharmonicity / expected - 1.0).abs() < 0.06, "{thousandths}: {}", tone.inharmonicity);
        }
    }
}
