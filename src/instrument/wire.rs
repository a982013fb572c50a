//! What strings are made of: density, and the least stress that breaks them.

use once_cell::sync::Lazy;

/// Steel, in kg/m³. From memory.
pub(super) const STEEL: f64 = 7850.0;
/// Phosphor bronze, in kg/m³. From memory.
pub(super) const BRONZE: f64 = 8800.0;
/// Nickel-plated steel wrap, in kg/m³: between steel and nickel (8900), mostly steel. From memory.
pub(super) const NICKEL_PLATED: f64 = 7900.0;
/// Silver-plated copper wrap, in kg/m³. From memory.
pub(super) const SILVERED_COPPER: f64 = 8950.0;
/// Nylon monofilament and floss, in kg/m³. From memory.
pub(super) const NYLON: f64 = 1040.0;
/// Fluorocarbon monofilament, in kg/m³. From memory.
pub(super) const FLUOROCARBON: f64 = 1790.0;
/// Gut, in kg/m³. From memory.
pub(super) const GUT: f64 = 1300.0;

/// Nylon monofilament of a treble string, in MPa. From memory.
pub(super) const NYLON_STRENGTH: f64 = 400.0;
/// Nylon floss under a wound string, in MPa; drawn much finer, so stronger. From memory.
pub(super) const FLOSS_STRENGTH: f64 = 800.0;
/// Fluorocarbon monofilament, in MPa. From memory.
pub(super) const FLUOROCARBON_STRENGTH: f64 = 650.0;
/// Gut, in MPa: lute players' rule that it breaks near 260 m/s of frequency times length gives 351. From memory.
pub(super) const GUT_STRENGTH: f64 = 350.0;
/// How stiff steel wire is along its length (Young's modulus), in MPa. From memory.
pub(super) const STEEL_STIFFNESS: f64 = 200_000.0;
/// Nylon, floss or single, in MPa; fluorocarbon about the same. From memory, and it varies with age and damp.
pub(super) const NYLON_STIFFNESS: f64 = 4000.0;
/// Gut, in MPa. From memory.
pub(super) const GUT_STIFFNESS: f64 = 6000.0;
/// No drawn wire that strings are made of falls below this, in MPa; keeps the extension past the table sane.
const WEAKEST_WIRE: f64 = 1500.0;

/// Diameter in inches and millimetres, least strength in thousands of pounds per square inch and in megapascals.
type Row = (f64, f64, f64, f64);

/// The rows of the table, from thin to thick.
fn rows() -> impl Iterator<Item = Row> {
    let reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(crate::data::text("wire.csv").as_bytes());
    reader.into_deserialize().map(|row| row.expect("a test reads every row of the wire table"))
}

/// Diameter in millimetres and least strength in megapascals, from thin to thick.
static WIRE: Lazy<Vec<(f64, f64)>> =
    Lazy::new(|| rows().map(|(_, diameter_mm, _, strength_mpa)| (diameter_mm, strength_mpa)).collect());

/// Returns the least tensile strength of music wire of a diameter in millimetres, in megapascals.
///
/// Straight lines between the rows of ASTM A228. Thinner than its first row counts as the first row (thinner wire is
/// stronger); thicker than its last continues the last line, never under 1500 MPa.
pub(super) fn steel_strength_mpa(diameter_mm: f64) -> f64 {
    let rows = &*WIRE;
    let above = rows.iter().position(|&(row_mm, _)| row_mm >= diameter_mm).unwrap_or(rows.len() - 1);
    if above == 0 {
        return rows[0].1;
    }
    let ((thin, strong), (thick, weak)) = (rows[above - 1], rows[above]);
    let strength = strong + (weak - strong) * (diameter_mm - thin) / (thick - thin);
    strength.max(WEAKEST_WIRE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_wire_table_reads_and_strength_falls_with_diameter() {
        assert_eq!(WIRE.len(), 14);
        assert!(WIRE.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 > pair[1].1), "{:?}", *WIRE);
        // The standard gives thousands of psi; 1 ksi is 6.894757 MPa.
        for (inches, mm, ksi, mpa) in rows() {
            assert!((mm - inches * 25.4).abs() < 1e-3, "{inches}");
            assert!((mpa - ksi * 6.894_757).abs() < 0.7, "{inches}");
        }
    }

    #[test]
    fn strength_between_rows_lies_between_them_and_past_the_end_it_falls_on() {
        assert!((steel_strength_mpa(0.254) - 2668.0).abs() < 1e-9);
        assert!((steel_strength_mpa((0.4064 + 0.4572) / 2.0) - f64::midpoint(2496.0, 2455.0)).abs() < 1e-9);
        assert!((steel_strength_mpa(0.1) - 2751.0).abs() < 1e-9);
        // A228 gives 305 ksi, 2103 MPa, at 0.041 in. From memory.
        assert!((steel_strength_mpa(1.0414) - 2103.0).abs() < 60.0, "{}", steel_strength_mpa(1.0414));
        assert!((steel_strength_mpa(5.0) - 1500.0).abs() < 1e-9);
    }
}
