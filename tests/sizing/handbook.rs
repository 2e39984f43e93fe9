//! Printed examples of sizing a conductor.

use farend::site::read;
use farend::size::{self, Watch};
use rstest::rstest;

/// Choices from which the example picks, by their areas: ohms follow from the example's own
/// resistivity, so that its own arithmetic is what is tested.
fn cheapest(volts: &str, lowest: &str, amps: &str, length: &str, cables: &[(&str, f64)]) -> String {
    let mut text = format!(
        "format = 1\n[design]\ntemperature = \"20 C\"\nhot = \"20 C\"\ncold = \"20 C\"\n[supply.S]\nvoltage = \"{volts}\"\ncurrent = \"1000 A\"\n[device.D]\nlowest = \"{lowest}\"\ndraw = {{ idle = \"{amps}\" }}\n[run.W]\nfrom = \"S\"\nto = \"D\"\ncable = \"{}\"\nlength = \"{length}\"\n",
        cables[0].0
    );
    for (name, ohm_per_m) in cables {
        text += &format!(
            "[cable.\"{name}\"]\nsize = \"10 AWG\"\nconductors = 2\nresistance = \"{} ohm/km\"\ncurrent = \"1000 A\"\nprice = \"{} /m\"\n",
            1000.0 * ohm_per_m,
            1.0 / ohm_per_m
        );
    }
    let names: Vec<&str> = cables.iter().map(|c| c.0).collect();
    text += &format!("[sizing]\nchoices = {names:?}\n");
    let site = read(&text).unwrap_or_else(|e| panic!("{e:?}\n{text}"));
    let sizing = size::size(&site, &Watch::NOBODY);
    assert!(sizing.optimal, "{:?}", sizing.unsized_runs);
    sizing.runs[0].cable.clone()
}

/// T.R. Kuphaldt, Lessons in Electric Circuits, volume I (DC), chapter 12, Specific resistance:
/// 230 V, at least 220 V at 25 A, 2300 ft away, 10.09 ohm cmil/ft: 116,035 cmil, hence 2/0 AWG.
#[test]
fn kuphaldt_2300_ft_takes_2_0_awg() {
    let per_m = |cmil: f64| 10.09 / cmil / 0.3048;
    // Areas as that chapter prints them.
    let cables = [
        ("4 AWG", per_m(41_740.0)),
        ("2 AWG", per_m(66_360.0)),
        ("1 AWG", per_m(83_690.0)),
        ("1-0 AWG", per_m(105_500.0)),
        ("2-0 AWG", per_m(133_100.0)),
        ("3-0 AWG", per_m(167_800.0)),
        ("4-0 AWG", per_m(211_600.0)),
    ];
    assert_eq!(
        cheapest("230 V", "220 V", "25 A", "2300 ft", &cables),
        "2-0 AWG"
    );
    // The least area itself passes, half a thousandth less does not: 116,035 cmil.
    let near = [
        ("least", per_m(116_035.0 * 1.00001)),
        ("less", per_m(116_035.0 * 0.9995)),
    ];
    assert_eq!(
        cheapest("230 V", "220 V", "25 A", "2300 ft", &near),
        "least"
    );
}

/// Whether a two-wire main of one cable passes that may lose 10 V of 250 V: sections of so many
/// metres, each with so many amperes drawn at its far end.
fn main_passes(ohm_per_km: f64, sections: &[(f64, f64)]) -> bool {
    let mut text = format!(
        "format = 1\n[design]\ntemperature = \"20 C\"\nhot = \"20 C\"\ncold = \"20 C\"\n[cable.c]\nsize = \"120 mm2\"\nconductors = 2\nresistance = \"{ohm_per_km} ohm/km\"\ncurrent = \"1000 A\"\nprice = \"1 /m\"\n[supply.S]\nvoltage = \"250 V\"\ncurrent = \"1000 A\"\n[sizing]\nchoices = [\"c\"]\n"
    );
    let mut from = "S".to_owned();
    for (i, (metres, amps)) in sections.iter().enumerate() {
        text += &format!(
            "[device.D{i}]\nlowest = \"240 V\"\ndraw = {{ idle = \"{amps} A\" }}\n[run.W{i}]\nfrom = \"{from}\"\nto = \"D{i}\"\ncable = \"c\"\nlength = \"{metres} m\"\n"
        );
        from = format!("D{i}");
    }
    size::size(&read(&text).unwrap(), &Watch::NOBODY).optimal
}

/// V.K. Mehta and R. Mehta, Principles of Power System, chapter 13, Example 13.2 (also B.L.
/// Theraja, Example 40.3): loads of 30, 40, 100 and 50 A at 40, 100, 150 and 250 m of a two-wire
/// main of one area, 1.78e-8 ohm m, at most 10 V lost: 1.164 cm2. In four sections of the same
/// choices the whole may not lose more, so the area of the book passes in all of them and one
/// that is smaller by a thousandth does not.
#[test]
fn mehta_13_2_takes_1_164_cm2() {
    let sections = [(40.0, 30.0), (60.0, 40.0), (50.0, 100.0), (100.0, 50.0)];
    let passes = |cm2: f64| main_passes(1000.0 * 1.78e-8 / (cm2 * 1e-4), &sections);
    assert!(passes(1.164 + 0.0005));
    assert!(!passes(1.164 - 0.0005));
}

/// V.K. Mehta and R. Mehta, Principles of Power System, chapter 13, Example 13.6: a two-wire main
/// of 500 m loaded with 0.4 A on every metre may lose 10 V: half of its 200 A through its whole
/// 0.1 ohm, both ways; 1.7e-6 ohm cm in 0.05 ohm a core is 1.7 cm2. Drawn as n equal loads in the
/// middles of n sections the loads have the same moment about the supply, so the same is lost.
#[rstest]
#[case(4)]
#[case(25)]
fn mehta_13_6_takes_1_7_cm2(#[case] n: u32) {
    let section = 500.0 / f64::from(n);
    let metres = |i: u32| if i == 0 { section / 2.0 } else { section };
    let sections: Vec<(f64, f64)> = (0..n).map(|i| (metres(i), 0.4 * section)).collect();
    let passes = |cm2: f64| main_passes(1e5 * 1.7e-6 / cm2, &sections);
    assert!(passes(1.7 * 1.000_001));
    assert!(!passes(1.7 * 0.999_999));
}
