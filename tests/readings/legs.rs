//! One leg, one conductor: volts from terminal to terminal.

use approx::assert_abs_diff_eq;
use farend::circuit::Corner;
use farend::readings::{Lies, Likely, Verdict, Way};
use farend::site::{self, Leg};
use farend::units::Measure as _;
use rstest::rstest;

use super::{changed, finding, severity, study, text, yard};

const ENDS: [(&str, &str); 3] = [("psu", "24.00 V"), ("hub", "21.00 V"), ("W1", "1.00 A")];

/// 3 ohm instead of 1, both legs read apart, or one of them.
#[rstest]
#[case(&[("psu.plus to hub.plus", "2.50 V"), ("hub.minus to psu.minus", "0.50 V")], Lies::In(Leg::Plus))]
#[case(&[("psu.plus to hub.plus", "2.50 V")], Lies::In(Leg::Plus))]
#[case(&[("hub.minus to psu.minus", "2.50 V")], Lies::In(Leg::Minus))]
// The red lead at the other end: the sign turns, and the leg is the same.
#[case(&[("hub.plus to psu.plus", "-2.50 V")], Lies::In(Leg::Plus))]
#[case(&[("psu.plus to hub.plus", "1.50 V"), ("hub.minus to psu.minus", "1.50 V")], Lies::Alike)]
#[case(&[("psu.plus to hub.plus", "2.00 V")], Lies::Uneven)]
fn the_legs_are_told_apart(#[case] legs: &[(&str, &str)], #[case] lies: Lies) {
    let readings: Vec<(&str, &str)> = ENDS.iter().chain(legs).copied().collect();
    let study = study(&yard("", &readings));
    let [path] = study.readings.paths.as_slice() else {
        panic!("{:?}", study.readings.paths);
    };
    assert_eq!((path.way, path.verdict), (Way::Loop, Verdict::Over));
    let split = path.split.unwrap();
    assert_eq!(split.lies, lies);
    assert_abs_diff_eq!(
        split.plus.value.base() + split.minus.value.base(),
        2.0,
        epsilon = 1e-9
    );
    let message = finding(&study, "found-ohms", "W1").unwrap().message();
    let next = match lies {
        Lies::In(Leg::Plus) => "along the positive leg up to a joint halfway",
        Lies::In(_) => "along the negative leg up to a joint halfway",
        Lies::Uneven => "up to a joint halfway",
        Lies::Alike => "the strands at one end",
    };
    assert!(message.contains(next), "{message}");
}

/// What is in one leg alone is neither gauge nor metal nor length.
#[test]
fn a_leg_of_its_own_leaves_joints_alone() {
    let of = |legs: &[(&str, &str)]| {
        let readings: Vec<(&str, &str)> = ENDS.iter().chain(legs).copied().collect();
        let cable = "[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"0.5 ohm\"";
        let wire = "[run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"30 m\"";
        let text = changed(&yard("", &readings), cable, wire);
        study(&text).readings.paths[0].likely.clone()
    };
    let one = of(&[("psu.plus to hub.plus", "2.36 V")]);
    assert!(
        matches!(one.as_slice(), [c] if matches!(c.what, Likely::Joint(..))),
        "{one:?}"
    );
    let both = of(&[("psu.plus to hub.plus", "1.50 V")]);
    assert!(
        both.iter().any(|c| matches!(c.what, Likely::Route(_))),
        "{both:?}"
    );
}

/// 60 m of 18 AWG, 21.367 ohm/km: 1.28202 ohm; 60 m of 22 AWG, 54.021 ohm/km: 3.24126 ohm. What
/// lies between hub and panel beside the conductor, 3 m of the panel's lead or the ties, is taken
/// from the solved network.
#[test]
fn the_return_leg_of_the_lane_has_its_ohms() {
    let plain = text("stable-lane");
    let lane = study(plain);
    let site = site::read(plain).unwrap();
    let names: Vec<(String, f64)> = (lane.readings.paths.iter())
        .map(|path| (path.name(&site), path.found.value.base()))
        .collect();
    assert_eq!(names[0].0, "W1.minus");
    assert_eq!(names[1].0, "D1.common");
    // Read to 10 mV and 10 mA.
    assert_abs_diff_eq!(names[0].1, 1.282, epsilon = 0.005);
    assert_abs_diff_eq!(names[1].1, 3.241, epsilon = 0.05);
    assert_eq!(severity(&lane, "found-ohms", "W1.minus"), Some("note"));
    // With all the digits of the solution: 0.695 V / 0.542 A.
    let row = lane.results.row(1, Corner::Nominal).unwrap();
    let run = |name: &str| site.runs.iter().position(|r| r.name == name).unwrap();
    let device = |name: &str| site.devices.iter().position(|d| d.name == name).unwrap();
    let negative = |name: &str| lane.results.negative(row, device(name)).unwrap().base();
    let volts = negative("hub") - negative("panel");
    let back = lane
        .results
        .run(&site, row, run("W1"))
        .unwrap()
        .return_amps
        .unwrap()
        .base();
    let common = lane
        .results
        .run(&site, row, run("D1"))
        .unwrap()
        .common_amps
        .unwrap()
        .base();
    assert_abs_diff_eq!(volts / back, 1.26, epsilon = 0.01);
    let exact = changed(
        plain,
        "value = \"0.68 V\"",
        &format!("value = \"{volts:.9} V\""),
    );
    let exact = changed(
        &exact,
        "value = \"0.54 A\"",
        &format!("value = \"{back:.9} A\""),
    );
    let exact = changed(
        &exact,
        "value = \"0.21 A\"",
        &format!("value = \"{common:.9} A\""),
    );
    let exact = changed(&exact, "floor = \"0.01 A\"", "floor = \"0.04 A\"");
    let paths = study(&exact).readings.paths;
    assert_abs_diff_eq!(paths[0].found.value.base(), 1.282_02, epsilon = 1e-5);
    assert_abs_diff_eq!(paths[1].found.value.base(), 3.241_26, epsilon = 1e-5);
}

/// Where the return goes by two ways, volts at both ends over the amps out say nothing of the run.
#[test]
fn a_loop_is_not_inferred_where_current_comes_back_another_way() {
    let read = "[[reading]]\nat = \"psu\"\nvalue = \"13.53 V\"\nmeter = \"M1\"\nset = 2\n\n[[reading]]\nat = \"hub\"\nvalue = \"11.87 V\"";
    let text = changed(
        text("stable-lane"),
        "[[reading]]\nat = \"hub\"\nvalue = \"11.87 V\"",
        read,
    );
    let paths = study(&text).readings.paths;
    assert!(paths.iter().all(|path| path.way != Way::Loop), "{paths:?}");
}
