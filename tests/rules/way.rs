//! Where the volts of a way go, and what a run is made of. Sums by hand.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use super::{finding, grade};
use crate::battery::fixes;

/// 60 m of 8 ohm/km and so many metres of 50 ohm/km before a device of so many amps; every corner
/// at 20 C.
fn two_runs(metres: &str, amps: &str) -> String {
    format!(
        "format = 1
[design]
temperature = \"20 C\"
hot = \"20 C\"
[supply.psu]
voltage = \"24 V\"
current = \"5 A\"
[cable.thick]
size = \"14 AWG\"
conductors = 2
resistance = \"8 ohm/km\"
[cable.thin]
size = \"22 AWG\"
conductors = 2
resistance = \"50 ohm/km\"
[device.hub]
lowest = \"10 V\"
draw = {{ idle = \"{amps}\" }}
[junction.jb]
[run.W1]
from = \"psu\"
to = \"jb\"
cable = \"thick\"
length = \"60 m\"
[run.W2]
from = \"jb\"
to = \"hub\"
cable = \"thin\"
length = \"{metres}\"
"
    )
}

// 0.96 ohm against 0.1 ohm a metre: half at 9.6 m. A fifth of the length at 15 m. 3 % of 24 V at
// 0.72 V / 1.93 ohm = 0.373 A.
#[rstest]
#[case("9.5 m", "1 A", None)]
#[case("9.7 m", "1 A", Some(0.97 / 1.93))]
#[case("14.9 m", "1 A", Some(1.49 / 2.45))]
#[case("15.1 m", "1 A", None)]
#[case("9.7 m", "0.37 A", None)]
#[case("9.7 m", "0.38 A", Some(0.97 / 1.93))]
fn a_short_run_that_costs_most_is_named(
    #[case] metres: &str,
    #[case] amps: &str,
    #[case] share: Option<f64>,
) {
    let found = finding(&two_runs(metres, amps), "costly-run", "W2");
    assert_eq!(found.is_some(), share.is_some());
    if let (Some(found), Some(share)) = (found, share) {
        assert_eq!(found["severity"], "note");
        assert_abs_diff_eq!(
            found["value"].as_f64().unwrap(),
            100.0 * share,
            epsilon = 1e-6
        );
    }
    assert_eq!(grade(&two_runs(metres, amps), "costly-run", "W1"), None);
}

/// Table 8 gives 20 AWG no row: (1/58) ohm mm2/m / 0.518 mm2 x 1.02 = 33.9 ohm/km at 20 C, so 9.7 m
/// take 0.66 V of 1.62 V.
#[test]
fn the_costly_run_alone_is_replaced() {
    assert_eq!(
        fixes(&two_runs("9.7 m", "1 A"), "costly-run"),
        ["W2 in 20/2 (was thin): hub then gets 22.38 V at least"]
    );
}

/// A run of so many ohms each leg and a device of 1 A, by what else the device states.
fn one_run(ohms: &str, device: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"24 V\"
current = \"5 A\"
[device.hub]
draw = {{ idle = \"1 A\" }}
{device}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"{ohms}\"
"
    )
}

#[rstest]
#[case("1.2 ohm", "", None)]
#[case("1.201 ohm", "", Some("warn"))]
#[case("1.201 ohm", "lowest = \"10 V\"", None)]
fn a_tenth_is_much_where_nothing_says_how_few_volts_will_do(
    #[case] ohms: &str,
    #[case] device: &str,
    #[case] expected: Option<&str>,
) {
    let found = grade(&one_run(ohms, device), "far-loss", "hub");
    assert_eq!(found.as_deref(), expected);
}

#[rstest]
#[case("0.36 ohm", None)]
#[case("0.361 ohm", Some("over 3 %, which is guidance"))]
#[case("0.6 ohm", Some("over 3 %, which is guidance"))]
#[case("0.601 ohm", Some("over 5 %, which is guidance"))]
#[case("1.2 ohm", Some("over 5 %, which is guidance"))]
#[case("1.201 ohm", Some("over the 10 % of common practice"))]
fn a_drop_is_held_beside_the_guidance(#[case] ohms: &str, #[case] words: Option<&str>) {
    let found = finding(&one_run(ohms, "lowest = \"10 V\""), "drop", "W1").unwrap();
    assert_eq!(found["severity"], "note");
    let message = found["message"].as_str().unwrap();
    match words {
        Some(words) => assert!(message.contains(words), "{message}"),
        None => assert!(!message.contains("over"), "{message}"),
    }
}

/// 4 % in the first run, 8 % behind the second: each names the limit that it passes, and a third
/// that passes none says nothing.
#[test]
fn the_run_that_passes_a_limit_names_it() {
    let more = two_runs("9.6 m", "1 A").replace("to = \"hub\"", "to = \"jb2\"")
        + "[junction.jb2]\n[run.W3]\nfrom = \"jb2\"\nto = \"hub\"\ncable = \"thick\"\nlength = \"1 m\"\n";
    let told = |run: &str| finding(&more, "drop", run).unwrap()["message"].to_string();
    assert!(
        told("W1").contains("4.0 % of 24.00 V; over 3 %"),
        "{}",
        told("W1")
    );
    let second = "from the supply to its far end 8.0 % are lost, over 5 %";
    assert!(told("W2").contains(second), "{}", told("W2"));
    assert!(!told("W3").contains("over"), "{}", told("W3"));
}

/// A run in an own cable of so many conductors that says so much of itself.
fn in_cable(cable: &str, run: &str, amps: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"24 V\"
current = \"20 A\"
[cable.own]
{cable}
[device.hub]
lowest = \"1 V\"
draw = {{ idle = \"{amps}\" }}
[run.W1]
from = \"psu\"
to = \"hub\"
cable = \"own\"
{run}
"
    )
}

#[rstest]
#[case(
    "size = \"18 AWG\"\nconductors = 2\nmaterial = \"copper-clad aluminum\"",
    "",
    Some("warn")
)]
#[case("size = \"18 AWG\"\nconductors = 2\nmaterial = \"copper\"", "", None)]
#[case("size = \"24 AWG\"\nconductors = 8", "", Some("ask"))]
#[case("size = \"24 AWG\"\nconductors = 8\nmaterial = \"copper\"", "", None)]
#[case("size = \"24 AWG\"\nconductors = 2", "", None)]
#[case("size = \"18 AWG\"\nconductors = 8", "", None)]
#[case("size = \"24 AWG\"\nconductors = 8", "carries = \"data\"", None)]
fn power_goes_through_copper(
    #[case] cable: &str,
    #[case] run: &str,
    #[case] expected: Option<&str>,
) {
    let text = in_cable(cable, &format!("length = \"1 m\"\n{run}"), "0.1 A");
    assert_eq!(grade(&text, "cable-metal", "own").as_deref(), expected);
}

#[test]
fn copper_is_offered_instead_of_what_passes_for_it() {
    let cable = "size = \"18 AWG\"\nconductors = 2\nmaterial = \"copper-clad aluminum\"";
    let text = in_cable(cable, "length = \"1 m\"", "0.1 A");
    assert_eq!(fixes(&text, "cable-metal"), ["cable own in copper"]);
}

/// 1 A through 2 x 0.08 ohm of 10 m: 3 m more take 0.048 V.
#[rstest]
#[case("measured = \"10 m\"", true)]
#[case("measured = \"10 m\"\nrisers = \"0 m\"", false)]
#[case("length = \"10 m\"", false)]
fn a_measured_length_has_its_risers(#[case] length: &str, #[case] asked: bool) {
    let cable = "size = \"14 AWG\"\nconductors = 2\nresistance = \"8 ohm/km\"";
    let text = in_cable(
        cable,
        &format!("{length}\nhot = \"20 C\"\ncold = \"20 C\""),
        "1 A",
    );
    let found = finding(&text, "no-risers", "W1");
    assert_eq!(found.is_some(), asked);
    if let Some(found) = found {
        assert_eq!(found["severity"], "ask");
        let formula = found["formula"].as_str().unwrap();
        assert!(
            formula.contains("0.160 V x 3 m / 10.00 m = 0.048 V"),
            "{formula}"
        );
    }
}

#[rstest]
#[case("6 A", 2, None)]
#[case("6.01 A", 2, Some("warn"))]
#[case("12 A", 2, Some("warn"))]
// Each of them has too much: that is said elsewhere.
#[case("12.01 A", 2, None)]
#[case("6.01 A", 1, None)]
fn one_of_several_carries_the_load_alone(
    #[case] amps: &str,
    #[case] parallel: u32,
    #[case] expected: Option<&str>,
) {
    let cable = "size = \"18 AWG\"\nconductors = 4\ncurrent = \"6 A\"";
    let text = in_cable(
        cable,
        &format!("length = \"1 m\"\nparallel = {parallel}"),
        amps,
    );
    assert_eq!(grade(&text, "parallel-alone", "W1").as_deref(), expected);
}

/// The camera comes back by the hub's negative: 0.5 A and so much more.
fn returning(amps: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"24 V\"
current = \"5 A\"
[device.hub]
draw = {{ idle = \"0.5 A\" }}
[device.camera]
draw = {{ idle = \"{amps}\" }}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"0.1 ohm\"
[run.W2]
from = \"psu\"
to = \"camera\"
resistance = \"0.1 ohm\"
minus_parallel = 0
[run.G1]
from = \"camera.minus\"
to = \"hub.minus\"
carries = \"bond\"
resistance = \"0.1 ohm\"
"
    )
}

// 0.5 A x 1.05 + 0.02 A = 0.545 A.
#[rstest]
#[case("0.044 A", None)]
#[case("0.046 A", Some(0.546))]
#[case("0.2 A", Some(0.7))]
fn a_negative_that_others_use_is_told(#[case] amps: &str, #[case] back: Option<f64>) {
    let found = finding(&returning(amps), "return-over-feed", "W1");
    assert_eq!(found.is_some(), back.is_some());
    if let (Some(found), Some(back)) = (found, back) {
        assert_eq!(found["severity"], "warn");
        assert_abs_diff_eq!(found["limit"].as_f64().unwrap(), 0.5, epsilon = 1e-6);
        assert_abs_diff_eq!(found["value"].as_f64().unwrap(), back, epsilon = 1e-6);
    }
    // With a negative of its own there is nothing to tell.
    let apart = returning(amps).replace("minus_parallel = 0\n", "");
    let apart = &apart[..apart.find("[run.G1]").unwrap()];
    assert_eq!(grade(apart, "return-over-feed", "W1"), None);
}
