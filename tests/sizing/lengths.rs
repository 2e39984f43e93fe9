//! How far a run may go and how much more may be drawn, against closed forms.

use approx::assert_abs_diff_eq;
use farend::site::{Site, read};
use farend::size::{longest, room};
use farend::units::Measure;
use rstest::rstest;

/// One run of stated ohms per length at one temperature: 24 V, at least 21 V.
fn site(draw: &str, highest: &str) -> Site {
    let text = format!(
        "format = 1\n[design]\ntemperature = \"20 C\"\nhot = \"20 C\"\ncold = \"20 C\"\n[cable.c]\nsize = \"18 AWG\"\nconductors = 2\nresistance = \"20 ohm/km\"\n[supply.S]\nvoltage = \"24 V\"\ncurrent = \"5 A\"\n[device.D]\nlowest = \"21 V\"\nhighest = \"{highest}\"\ndraw = {{ idle = \"{draw}\" }}\n[run.W]\nfrom = \"S\"\nto = \"D\"\ncable = \"c\"\nlength = \"10 m\"\n"
    );
    read(&text).unwrap_or_else(|e| panic!("{e:?}"))
}

/// At the limit 3 V are lost in 2 x 0.02 ohm/m: the length is 3 / (0.04 I), with the amperes that
/// the draw takes at 21 V.
#[rstest]
#[case("0.5 A", 0.5)]
#[case("10.5 W", 10.5 / 21.0)]
#[case("0.5 A at 24 V", 21.0 / 48.0)]
fn a_run_may_go_until_its_volts_are_used_up(#[case] draw: &str, #[case] amps: f64) {
    let reaches = longest(&site(draw, "26 V"), 0, Some(0));
    assert_eq!(reaches.len(), 1);
    let metres = reaches[0].longest.unwrap().base();
    let tenth_ft = 0.03048;
    let closed = 3.0 / (0.04 * amps);
    assert!(
        metres <= closed && closed - metres < tenth_ft,
        "{metres} {closed}"
    );
    // A whole number of tenths of a foot.
    let tenths = metres / tenth_ft;
    assert_abs_diff_eq!(tenths, tenths.round(), epsilon = 1e-6);
    assert!(
        reaches[0]
            .binds
            .as_ref()
            .unwrap()
            .contains("under its lowest")
    );
    assert!(!reaches[0].gaps);
}

/// With at most 23.5 V a short run does not pass, a longer one does: 0.5 V lost at 0.5 A needs
/// 25 m at least.
#[test]
fn a_run_may_be_too_short() {
    let reaches = longest(&site("0.5 A", "23.5 V"), 0, Some(0));
    assert!(reaches[0].gaps);
    assert_abs_diff_eq!(reaches[0].longest.unwrap().base(), 150.0, epsilon = 0.031);
}

/// 10 m lose 0.4 ohm x I: 7.5 A in all leave 21 V, but the supply gives 5 A.
#[test]
fn more_may_be_drawn_until_something_fails() {
    let mut site = site("0.5 A", "26 V");
    let found = room(&site, 0).unwrap();
    assert_abs_diff_eq!(found.extra.base(), 4.5, epsilon = 1e-9);
    assert!(found.binds.unwrap().contains("no copper cures"));
    site.supplies[0].current = None;
    let found = room(&site, 0).unwrap();
    // 18 AWG carries 6 A: less than the 7.5 A that the volts allow.
    assert_abs_diff_eq!(found.extra.base(), 5.5, epsilon = 1e-9);
    site.cables[0].current = Some(farend::units::ElectricCurrent::from_base(100.0));
    let found = room(&site, 0).unwrap();
    assert_abs_diff_eq!(found.extra.base(), 7.0, epsilon = 1e-9);
    site.devices[0].lowest = Some(farend::units::ElectricPotential::from_base(23.9));
    assert_eq!(room(&site, 0), None);
}
