//! Strings against Mersenne's law, ASTM A228 and the pulls makers print.

use pegwise::instrument::{Gauge, Level, Material, MountedString, Newtons};
use pegwise::theory::{Hertz, ReferencePitch, SpelledPitch};

fn hertz(pitch: &str) -> Hertz {
    ReferencePitch::default().frequency(SpelledPitch::read(pitch).unwrap().pitch())
}

/// A string on 25.5 inches.
fn on_guitar(gauge: &str, material: Material) -> MountedString {
    MountedString::new(Gauge::read(gauge).unwrap(), material, 647.7).unwrap()
}

/// T = μ(2Lf)² with 7850 kg/m³ on 25.5 in (references.md, Strings): within 0.5 %.
#[test]
fn plain_steel_pulls_what_mersenne_says() {
    for (gauge, pitch, newtons) in [("10", "E4", 72.5), ("12", "E4", 104.4), ("16", "B3", 104.2), ("17", "G3", 74.1)] {
        let pull = on_guitar(gauge, Material::Steel).tension(hertz(pitch)).get();
        assert!((pull / newtons - 1.0).abs() < 0.005, ".0{gauge} at {pitch}: {pull} N, not {newtons}");
    }
    // One pound-force is 4.448 222 N.
    assert!((Newtons::new(72.5).pounds() - 16.3).abs() < 0.05);
}

/// `a228.csv`: the pull and the pitch at which the weakest wire of each diameter breaks on 647.7 mm: within 0.5 %.
#[test]
fn plain_steel_breaks_where_the_table_says() {
    let table = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/assets/a228.csv")).unwrap();
    for row in table.lines().skip(1) {
        let cells: Vec<f64> = row.split(',').map(|cell| cell.parse().unwrap()).collect();
        let string = MountedString::new(Gauge::new(cells[1], false).unwrap(), Material::Steel, 647.7).unwrap();
        assert!((string.least_strength().get() / cells[5] - 1.0).abs() < 0.005, "{row}");
        let breaks_at = Hertz::new(cells[6]).unwrap();
        let share = string.share_of_strength(breaks_at);
        assert!((share - 1.0).abs() < 0.005, "{row}: {share}");
        assert!((string.stress_mpa(breaks_at) / cells[4] - 1.0).abs() < 0.005, "{row}");
        // No plain steel string reaches B4 on a guitar (references.md, Strings).
        assert!(string.share_of_strength(hertz("B4")) > 1.0, "{row}");
    }
}

/// At 647.7 mm E4 uses 54 % of the least strength of .010, G4 76 % (references.md, Strings).
#[test]
fn the_share_of_strength_of_a_ten() {
    let ten = on_guitar("10", Material::Steel);
    assert!((ten.share_of_strength(hertz("E4")) - 0.54).abs() < 0.005);
    assert!((ten.share_of_strength(hertz("G4")) - 0.76).abs() < 0.005);
    let level = |pitch| Level::of(None, ten.share_of_strength(hertz(pitch)));
    assert_eq!([level("E4"), level("G4"), level("A4")], [Level::Normal, Level::Tight, Level::TooTight]);
}

/// The stress of a plain string at a pitch does not depend on its gauge: σ = ρ(2Lf)².
#[test]
fn stress_does_not_depend_on_the_gauge() {
    let by_hand = 7850.0 * (2.0 * 0.6477 * 329.628_f64).powi(2) / 1e6;
    for gauge in ["8", "10", "13", "20"] {
        let stress = on_guitar(gauge, Material::Steel).stress_mpa(hertz("E4"));
        assert!((stress / by_hand - 1.0).abs() < 1e-5, "{gauge}: {stress}, by hand {by_hand}");
    }
}

/// Pulls makers print for wound strings on 25.5 in (basses on 34 in), in pounds-force: from memory, so 6 % is allowed.
#[test]
fn wound_strings_pull_about_what_makers_print() {
    for (gauge, material, length_mm, pitch, pounds) in [
        ("24w", Material::Bronze, 647.7, "G3", 30.2),
        ("32w", Material::Bronze, 647.7, "D3", 30.5),
        ("42w", Material::Bronze, 647.7, "A2", 29.9),
        ("53w", Material::Bronze, 647.7, "E2", 26.0),
        ("42w", Material::Nickel, 647.7, "E2", 14.8),
        ("46w", Material::Nickel, 647.7, "E2", 17.5),
        ("105w", Material::Nickel, 863.6, "E1", 40.3),
        ("45w", Material::Nickel, 863.6, "G2", 42.8),
        ("29w", Material::Nylon, 650.0, "D3", 15.6),
        ("43w", Material::Nylon, 650.0, "E2", 13.9),
    ] {
        let string = MountedString::new(Gauge::read(gauge).unwrap(), material, length_mm).unwrap();
        let pull = string.tension(hertz(pitch)).pounds();
        assert!((pull / pounds - 1.0).abs() < 0.06, "{gauge} {material:?} at {pitch}: {pull} lb, printed {pounds}");
    }
}

#[test]
fn a_core_is_thinner_than_its_string() {
    for thousandths in 8..=150 {
        for material in [Material::Bronze, Material::Nylon, Material::Gut] {
            let gauge = Gauge::read(&format!("{thousandths}w")).unwrap();
            assert!(gauge.core_mm(material) <= 0.7 * gauge.diameter_mm() + 1e-12);
            let plain = Gauge::read(&thousandths.to_string()).unwrap();
            assert!((plain.core_mm(material) - plain.diameter_mm()).abs() < f64::EPSILON);
        }
    }
}
