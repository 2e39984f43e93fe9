//! Rods in the soil, bonds, and earth as a return.

use std::f64::consts::PI;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use farend::site;
use farend::units::Measure;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, message, severity, solved};

/// Ohms of a rod to remote earth, as the file reads.
fn rod(soil: f64, length: &str, diameter: &str) -> f64 {
    let text = format!(
        "format = 1\n[earth.rod]\nkind = \"rod\"\nsoil = \"{soil} ohm m\"\nlength = \"{length}\"\ndiameter = \"{diameter}\"\n"
    );
    site::read(&text).unwrap().earths[0]
        .resistance
        .unwrap()
        .base()
}

/// MIL-HDBK-419A volume II, 1.2.2.2: 3/4 in x 10 ft in 10,000 ohm-cm, 32 ohm by its nomograph.
#[test]
fn a_rod_of_a_handbook() {
    assert_abs_diff_eq!(rod(100.0, "10 ft", "0.75 in"), 32.0, epsilon = 0.5);
}

/// The mean potential along the rod of a current that leaves it evenly, with its image above the
/// ground, by Simpson's rule: what Dwight's formula is the limit of for thin rods.
fn mean_potential(soil: f64, l: f64, a: f64) -> f64 {
    let at = |z: f64| ((l - z) / a).asinh() + ((l + z) / a).asinh();
    let steps = 20_000_u32;
    let h = l / f64::from(steps);
    let sum: f64 = (0..=steps)
        .map(|i| {
            let weight = match i {
                0 => 1.0,
                i if i == steps => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * at(f64::from(i) * h)
        })
        .sum();
    soil / (4.0 * PI * l) * sum * h / 3.0 / l
}

#[rstest]
#[case(100.0, "2.44 m", "15.9 mm", 2.44, 0.00795)]
#[case(30.0, "2.44 m", "12.7 mm", 2.44, 0.00635)]
#[case(1000.0, "6.1 m", "15.9 mm", 6.1, 0.00795)]
fn a_rod_by_its_mean_potential(
    #[case] soil: f64,
    #[case] length: &str,
    #[case] diameter: &str,
    #[case] l: f64,
    #[case] a: f64,
) {
    let there = mean_potential(soil, l, a);
    assert_relative_eq!(rod(soil, length, diameter), there, max_relative = 2e-3);
}

#[test]
fn stated_ohms_win_over_soil_and_rod() {
    let text = "format = 1\n[earth.rod]\nsoil = \"100 ohm m\"\nlength = \"2.4 m\"\ndiameter = \"16 mm\"\nresistance = \"25 ohm\"\n";
    let site = site::read(text).unwrap();
    assert_relative_eq!(site.earths[0].resistance.unwrap().base(), 25.0);
}

/// Two earths and one bond between them, or none.
fn earths(kinds: [&str; 2], bond: Option<(&str, &str)>) -> Value {
    let mut text = format!(
        "[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\non = \"psu\"\n[earth.a]\nkind = \"{}\"\n[earth.b]\nkind = \"{}\"\n",
        kinds[0], kinds[1]
    );
    if let Some((cable, length)) = bond {
        text += &format!(
            "[run.E]\nfrom = \"a\"\nto = \"b\"\ncable = \"{cable}\"\nlength = \"{length}\"\ncarries = \"bond\"\n"
        );
    }
    solved(&text)
}

// NEC 250.53 and 250.94 (secondary copy seen), by analogy.
#[rstest]
#[case(["rod", "rod"], None, Some("warn"))]
#[case(["rod", "building"], None, Some("warn"))]
#[case(["rod", "rod"], Some(("6/1", "3 m")), None)]
#[case(["rod", "bar"], None, None)]
#[case(["rod", "metal"], None, None)]
fn rods_are_bonded_to_one_another(
    #[case] kinds: [&str; 2],
    #[case] bond: Option<(&str, &str)>,
    #[case] expected: Option<&str>,
) {
    let json = earths(kinds, bond);
    assert_eq!(severity(&json, "rods-apart", "b").as_deref(), expected);
}

// NEC 800.100 (secondary copy seen), by analogy: 14 AWG, 6 AWG between rods, 20 ft.
#[rstest]
#[case(["rod", "bar"], "14/1", "3 m", None)]
#[case(["rod", "bar"], "16/1", "3 m", Some("warn"))]
#[case(["rod", "rod"], "6/1", "3 m", None)]
#[case(["rod", "rod"], "8/1", "3 m", Some("warn"))]
#[case(["rod", "bar"], "14/1", "19.9 ft", None)]
#[case(["rod", "bar"], "14/1", "20.1 ft", Some("note"))]
fn bonds_are_thick_and_short(
    #[case] kinds: [&str; 2],
    #[case] cable: &str,
    #[case] length: &str,
    #[case] expected: Option<&str>,
) {
    let json = earths(kinds, Some((cable, length)));
    assert_eq!(severity(&json, "bond-conductor", "E").as_deref(), expected);
}

/// A device whose negative is a rod: NEC 250.4(A)(5) (secondary copy seen).
#[rstest]
#[case(1, None)]
#[case(0, Some("stop"))]
fn earth_is_no_return(#[case] negatives: u32, #[case] expected: Option<&str>) {
    let json = solved(&format!(
        r#"
[supply.psu]
voltage = "12 V"
[device.light]
draw = {{ idle = "10 mA" }}
[earth.a]
kind = "rod"
resistance = "25 ohm"
[earth.b]
kind = "rod"
resistance = "25 ohm"
[run.P]
from = "psu"
to = "light"
resistance = "1 ohm"
minus_parallel = {negatives}
[run.A]
from = "psu.minus"
to = "a"
resistance = "0 ohm"
carries = "bond"
[run.B]
from = "light.minus"
to = "b"
resistance = "0 ohm"
carries = "bond"
"#
    ));
    assert_eq!(
        severity(&json, "earth-return", "light").as_deref(),
        expected
    );
}

/// Copper outdoors and not a word about earth.
#[rstest]
#[case("indoor", "", false)]
#[case("buried", "", true)]
#[case("buried", "[earth.bar]\nkind = \"bar\"\n", false)]
#[case(
    "indoor",
    "[earth.f]\nkind = \"metal\"\n[run.F]\nfrom = \"hub.minus\"\nto = \"f\"\nresistance = \"0.1 ohm\"\ncarries = \"bond\"\nfitted = false\n",
    true
)]
fn metal_that_nobody_has_looked_for(#[case] route: &str, #[case] more: &str, #[case] asked: bool) {
    let json = solved(&format!(
        "[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\ndraw = {{ idle = \"0.1 A\" }}\n[run.P]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"10 m\"\nroute = \"{route}\"\n{more}"
    ));
    let found = finding(&json, "metal-unknown", "site");
    assert_eq!(found.is_some(), asked);
    if more.contains("fitted") {
        assert!(message(&json, "metal-unknown", "site").contains("whether F are there"));
    }
}
