//! Ohms per length: spot values, the two temperature laws, the area rule against the tables.

#![allow(clippy::approx_constant, reason = "3.14 ohm/kft is a printed figure")]

use approx::assert_relative_eq;
use farend::tables::{
    Material, Stranding, at_temperature, explain, has_published_row, ohms, temperature_ratio,
};
use farend::units::Size;
use rstest::rstest;
use uom::si::area::square_millimeter;
use uom::si::thermodynamic_temperature::degree_celsius;

use super::{celsius, gauges, ohm_per_kft, ohm_per_km};

use Material::{Aluminum, Copper, CopperCladAluminum, TinnedCopper};
use Stranding::{Fine, Solid, Stranded};

/// Copper at 20 C after IEC 60028:1925, in ohm mm2/m.
const IACS: f64 = 1.0 / 58.0;

fn kft(gauge: i32, material: Material, stranding: Stranding, t: f64) -> f64 {
    ohm_per_kft(ohms(Size::Awg(gauge), material, stranding, celsius(t)))
}

fn km(area: f64, material: Material, stranding: Stranding, t: f64) -> f64 {
    ohm_per_km(ohms(Size::Mm2(area), material, stranding, celsius(t)))
}

/// NEC 2017 Chapter 9 Table 8, ohm/kft at 75 C.
#[rstest]
#[case(18, Copper, Solid, 7.77)]
#[case(18, TinnedCopper, Solid, 8.08)]
#[case(18, Copper, Stranded, 7.95)]
#[case(18, TinnedCopper, Stranded, 8.45)]
#[case(18, Aluminum, Stranded, 13.1)]
#[case(16, Copper, Solid, 4.89)]
#[case(16, Copper, Stranded, 4.99)]
#[case(16, Copper, Fine, 4.99)]
#[case(14, Copper, Solid, 3.07)]
#[case(14, Copper, Stranded, 3.14)]
#[case(12, Copper, Solid, 1.93)]
#[case(12, Copper, Stranded, 1.98)]
#[case(10, Copper, Stranded, 1.24)]
#[case(8, Copper, Solid, 0.764)]
#[case(6, Copper, Stranded, 0.491)]
#[case(0, Copper, Stranded, 0.122)]
#[case(-3, Copper, Stranded, 0.0608)]
#[case(-3, Aluminum, Stranded, 0.100)]
fn table_8_at_75_c(
    #[case] awg: i32,
    #[case] material: Material,
    #[case] stranding: Stranding,
    #[case] expected: f64,
) {
    assert_relative_eq!(
        kft(awg, material, stranding, 75.0),
        expected,
        max_relative = 1e-12
    );
}

/// NEC Chapter 9 Table 8 note 2, worked by hand for 18 AWG stranded and 12 AWG stranded aluminum.
#[rstest]
#[case(18, Copper, 25.0, 7.95 * (1.0 - 0.00323 * 50.0))] // 6.666 ohm/kft
#[case(18, Copper, 50.0, 7.95 * (1.0 - 0.00323 * 25.0))] // 7.308
#[case(18, TinnedCopper, 50.0, 8.45 * (1.0 - 0.00323 * 25.0))]
#[case(12, Aluminum, 0.0, 3.25 * (1.0 - 0.00330 * 75.0))]
fn table_8_at_another_temperature(
    #[case] awg: i32,
    #[case] material: Material,
    #[case] t: f64,
    #[case] expected: f64,
) {
    assert_relative_eq!(
        kft(awg, material, Stranded, t),
        expected,
        max_relative = 1e-12
    );
}

/// IEC 60228 maximum at 20 C, ohm/km.
#[rstest]
#[case(0.5, Copper, Stranded, 36.0)]
#[case(0.75, Copper, Solid, 24.5)]
#[case(0.75, Copper, Fine, 26.0)]
#[case(1.0, TinnedCopper, Solid, 18.2)]
#[case(1.5, Copper, Stranded, 12.1)]
#[case(1.5, TinnedCopper, Fine, 13.7)]
#[case(2.5, Copper, Stranded, 7.41)]
#[case(25.0, TinnedCopper, Stranded, 0.734)]
fn iec_60228_at_20_c(
    #[case] area: f64,
    #[case] material: Material,
    #[case] stranding: Stranding,
    #[case] expected: f64,
) {
    assert_relative_eq!(
        km(area, material, stranding, 20.0),
        expected,
        max_relative = 1e-12
    );
    let hot = expected * (234.5 + 50.0) / (234.5 + 20.0);
    assert_relative_eq!(
        km(area, material, stranding, 50.0),
        hot,
        max_relative = 1e-12
    );
}

/// Resistance of annealed copper wire at 20 C, NBS Circular 31, ohm/kft, printed to 4 digits.
#[test]
fn area_rule_meets_the_wire_table() {
    let table = [
        0.9989, 1.260, 1.588, 2.003, 2.525, 3.184, 4.016, 5.064, 6.385, 8.051, 10.15, 12.80, 16.14,
        20.36, 25.67,
    ];
    for (awg, printed) in (10..=24).zip(table) {
        let area = Size::Awg(awg).area().get::<square_millimeter>();
        let computed = IACS / area * 304.8;
        // Half of the last digit and the rounding of the wire table's own diameters.
        assert_relative_eq!(computed, printed, max_relative = 6e-4);
    }
}

/// Area by ASTM B258 in mm2, computed apart from this crate.
#[rstest]
#[case(24, 0.2047)]
#[case(18, 0.8230)]
#[case(10, 5.2612)]
#[case(0, 53.4751)]
#[case(-3, 107.2193)]
fn area_of_a_gauge(#[case] awg: i32, #[case] mm2: f64) {
    let area = Size::Awg(awg).area().get::<square_millimeter>();
    assert_relative_eq!(area, mm2, max_relative = 3e-4);
}

/// Gauges without a row: resistivity over area, 1.02 stranded, 1.06 more tinned.
#[rstest]
#[case(22, Copper, Solid, 1.0)]
#[case(22, Copper, Stranded, 1.02)]
#[case(22, Copper, Fine, 1.02)]
#[case(22, TinnedCopper, Solid, 1.06)]
#[case(22, TinnedCopper, Stranded, 1.02 * 1.06)]
#[case(24, Aluminum, Solid, 1.0 / 0.61)]
#[case(22, CopperCladAluminum, Stranded, 1.02 / 0.63)]
#[case(17, Copper, Stranded, 1.02)] // odd gauges have no row
#[case(6, Copper, Solid, 1.0)] // nor has solid wire over 8 AWG
fn gauges_without_a_row(
    #[case] awg: i32,
    #[case] material: Material,
    #[case] stranding: Stranding,
    #[case] factor: f64,
) {
    let gauge = Size::Awg(awg);
    assert!(!has_published_row(gauge, material, stranding));
    let d: f64 = 0.127 * 92_f64.powf((36.0 - f64::from(awg)) / 39.0);
    let area = std::f64::consts::PI / 4.0 * d * d;
    let expected = IACS / area * 304.8 * factor;
    assert_relative_eq!(
        kft(awg, material, stranding, 20.0),
        expected,
        max_relative = 1e-9
    );
}

/// Sections without a row: 1.02 for every stranding, tinned alike; aluminum has no row at all.
#[rstest]
#[case(0.34, Copper, Solid, 1.02)]
#[case(0.34, TinnedCopper, Fine, 1.02)]
#[case(0.34, CopperCladAluminum, Stranded, 1.02 / 0.63)]
#[case(2.5, Aluminum, Stranded, 1.02 / 0.61)]
fn sections_without_a_row(
    #[case] area: f64,
    #[case] material: Material,
    #[case] stranding: Stranding,
    #[case] factor: f64,
) {
    let expected = IACS / area * 1000.0 * factor;
    assert_relative_eq!(
        km(area, material, stranding, 20.0),
        expected,
        max_relative = 1e-9
    );
}

#[test]
fn copper_clad_is_bare_copper_over_0_63_and_turns_about_230() {
    assert_relative_eq!(
        kft(18, CopperCladAluminum, Stranded, 75.0),
        7.95 / 0.63,
        max_relative = 1e-12
    );
    let cold = 7.95 / 0.63 * (230.0 + 20.0) / (230.0 + 75.0);
    assert_relative_eq!(
        kft(18, CopperCladAluminum, Stranded, 20.0),
        cold,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        km(1.5, CopperCladAluminum, Fine, 20.0),
        13.3 / 0.63,
        max_relative = 1e-12
    );
}

/// The printed coefficient and the inferred zero are one straight line, within 0.1 %.
#[rstest]
#[case(Copper, 0.00323)]
#[case(TinnedCopper, 0.00323)]
#[case(Aluminum, 0.00330)]
fn the_two_temperature_laws_agree(#[case] material: Material, #[case] per_c: f64) {
    for t in -40..=90 {
        let t = f64::from(t);
        let printed = 1.0 + per_c * (t - 75.0);
        let line = temperature_ratio(material, celsius(75.0), celsius(t));
        assert_relative_eq!(printed, line, max_relative = 1e-3);
    }
}

/// The looked-up example: 10.371 ohm cmil/ft at 20 C, 0.00393 per degree, 1.02 stranded, 2580 cmil.
#[test]
fn sixteen_awg_is_rebuilt_from_circular_mils() {
    let rebuilt = 10.371 * (1.0 + 0.00393 * 55.0) * 1.02 / 2580.0 * 1000.0;
    assert_relative_eq!(kft(16, Copper, Stranded, 75.0), 4.99, max_relative = 1e-12);
    assert!((rebuilt - 4.99_f64).abs() < 0.005);
    let solid = 10.371 * (1.0 + 0.00393 * 55.0) / 1620.0 * 1000.0;
    assert!((solid - kft(18, Copper, Solid, 75.0)).abs() < 0.03);
    assert!((solid * 1.02 - kft(18, Copper, Stranded, 75.0)).abs() < 0.03);
}

#[test]
fn thicker_conductors_have_fewer_ohms() {
    for material in Material::ALL {
        for stranding in Stranding::ALL {
            let ohms: Vec<f64> = gauges()
                .map(|gauge| ohm_per_kft(ohms(gauge, material, stranding, celsius(25.0))))
                .collect();
            assert!(ohms.is_sorted(), "{material} {stranding}");
        }
    }
}

#[test]
fn a_stated_resistance_moves_along_the_line_of_its_material() {
    let stated = ohms(Size::Mm2(1.0), Copper, Stranded, celsius(20.0));
    for (material, k) in [
        (Copper, 234.5),
        (TinnedCopper, 234.5),
        (Aluminum, 228.1),
        (CopperCladAluminum, 230.0),
    ] {
        let moved = at_temperature(stated, material, celsius(20.0), celsius(50.0));
        let expected = 18.1 * (k + 50.0) / (k + 20.0);
        assert_relative_eq!(ohm_per_km(moved), expected, max_relative = 1e-12);
    }
}

#[rstest]
#[case(
    Size::Awg(18),
    Copper,
    Stranded,
    "NEC Chapter 9 Table 8, 18 AWG stranded, 7.95 ohm/kft at 75 C"
)]
#[case(
    Size::Awg(18),
    TinnedCopper,
    Fine,
    "NEC Chapter 9 Table 8, 18 AWG stranded coated, 8.45 ohm/kft at 75 C"
)]
#[case(Size::Awg(-3), Aluminum, Stranded, "NEC Chapter 9 Table 8, 4/0 AWG stranded aluminum, 0.1 ohm/kft at 75 C")]
#[case(
    Size::Mm2(0.75),
    Copper,
    Fine,
    "IEC 60228, 0.75 mm2 class 5, 26 ohm/km at 20 C"
)]
#[case(
    Size::Awg(22),
    TinnedCopper,
    Stranded,
    "22 AWG, area 0.3255 mm2 by ASTM B258, copper 58 m/(ohm mm2) at 20 C (IEC 60028), ohms x 1.02 stranding, ohms x 1.06 tinning"
)]
#[case(
    Size::Mm2(1.5),
    CopperCladAluminum,
    Solid,
    "IEC 60228, 1.5 mm2 class 1, 12.1 ohm/km at 20 C, / 0.63 copper-clad (ASTM B566)"
)]
fn the_source_is_told(
    #[case] gauge: Size,
    #[case] material: Material,
    #[case] stranding: Stranding,
    #[case] expected: &str,
) {
    assert_eq!(
        explain(gauge, material, stranding, celsius(25.0)).source,
        expected
    );
}

/// The formula as printed, worked with the numbers in it, gives the resistance.
#[test]
fn the_formula_told_is_the_formula_used() {
    for material in Material::ALL {
        for gauge in [Size::Awg(18), Size::Awg(22), Size::Mm2(1.5)] {
            let told = explain(gauge, material, Stranded, celsius(-10.0));
            let at = told.at.get::<degree_celsius>();
            let numbers: Vec<f64> = (told.formula.split([' ', '(', ')']))
                .filter_map(|word| word.parse().ok())
                .collect();
            let factor = match numbers[..] {
                [_one, per_c, base] => 1.0 + per_c * (-10.0 - base),
                [k, _again] => (k - 10.0) / (k + at),
                _ => panic!("{}", told.formula),
            };
            let expected = ohm_per_km(told.reference) * factor;
            assert_relative_eq!(ohm_per_km(told.resistance), expected, max_relative = 1e-9);
            assert_eq!(
                told.resistance,
                ohms(gauge, material, Stranded, celsius(-10.0))
            );
        }
    }
}

#[test]
fn gauges_are_shown_as_people_write_them() {
    assert_eq!(Size::Awg(18).to_string(), "18 AWG");
    assert_eq!(Size::Awg(0).to_string(), "1/0 AWG");
    assert_eq!(Size::Awg(-3).to_string(), "4/0 AWG");
    assert_eq!(Size::Mm2(0.75).to_string(), "0.75 mm2");
}
