//! Loops at zero volts: who is in them, how the return divides, and what hides behind a break.
//!
//! The six-node example is worked by hand: 13.6 V behind 0.10 ohm; 60 m of 18 AWG, 1.2820 ohm a
//! conductor; 60 m of 22 AWG as data common, 3.2413 ohm; two ties of 0.020 ohm and 3 m of 18 AWG,
//! 0.0641 ohm, at the panel; 0.75 A. Shares and limits of signal conductors: common practice, no
//! source.

use approx::assert_abs_diff_eq;
use farend::demo;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, message, severity, solved, value};

/// The lane as a body of `solved`.
fn lane() -> String {
    let text = demo::ALL
        .iter()
        .find(|d| d.name == "stable-lane")
        .unwrap()
        .text;
    // `solved` brings the head.
    let (_, body) = text.split_once("[design]").unwrap();
    format!("[design]{body}")
}

#[test]
fn the_loop_of_six_nodes_by_name_and_share() {
    let json = solved(&lane());
    let words = message(&json, "ground-loop", "D1");
    assert!(
        words.contains("panel - D1 common - hub - W1 minus - psu - W2 minus - panel"),
        "{words}"
    );
    assert!(words.contains("0.208 A (27.7 %) by D1 common"), "{words}");
    assert!(words.contains("0.542 A (72.3 %) by W1 minus"), "{words}");
    let found = finding(&json, "ground-loop", "D1").unwrap();
    assert_eq!(found["case"], "lock on");
    assert_abs_diff_eq!(value(&json, "ground-loop", "D1"), 0.2078, epsilon = 5e-5);
    // More than 20 mA and than 5 %, less than the 2 A of 22 AWG.
    assert_eq!(
        severity(&json, "signal-return", "D1").as_deref(),
        Some("warn")
    );
    assert_abs_diff_eq!(value(&json, "signal-return", "D1"), 0.2078, epsilon = 5e-5);
}

/// Nobody states the ohms of this shield, so nothing is said of how the return divides.
#[test]
fn one_conductor_with_ohms_divides_nothing() {
    let json = solved(
        r#"
[supply.psu]
voltage = "12 V"
[device.hub]
kind = "hub"
draw = { idle = "1 A" }
[device.panel]
kind = "panel"
on = "psu"
[run.W1]
from = "psu"
to = "hub"
cable = "18/2"
length = "40 m"
[run.D1]
from = "hub"
to = "panel"
cable = "22/4 shielded"
length = "40 m"
carries = "wiegand"
common = false
shield = "both"
"#,
    );
    let words = message(&json, "ground-loop", "D1");
    assert!(
        words.contains("D1 shield") && !words.contains(" come back"),
        "{words}"
    );
}

#[test]
fn the_broken_negative_hides() {
    let json = solved(&lane());
    let words = message(&json, "hidden-return", "W1");
    for word in ["hub at 10.05 V", "0.750 A", "D1 common (22 AWG)", "2.51 V"] {
        assert!(words.contains(word), "{word}: {words}");
    }
    assert_abs_diff_eq!(value(&json, "hidden-return", "W1"), 0.75, epsilon = 1e-9);
}

/// Fence: 0.567 A of 0.699 A by 0.3 ohm. Rods: 13.6 mA by 50 ohm of soil.
#[rstest]
#[case(
    "fence at the barn",
    "fence at the barn",
    0.567,
    "until it is painted or rusts"
)]
#[case("tack rod", "hub rod lead", 0.0136, "the soil takes almost none")]
fn metal_and_soil_as_a_way_back(
    #[case] subject: &str,
    #[case] way: &str,
    #[case] amps: f64,
    #[case] words: &str,
) {
    let json = solved(&lane());
    let found = message(&json, "ground-loop", subject);
    assert!(found.contains(words), "{found}");
    let formula = finding(&json, "ground-loop", subject).unwrap()["formula"].to_string();
    let own = formula.split(way).nth(1).unwrap();
    let found: f64 = own.split_whitespace().next().unwrap().parse().unwrap();
    assert_abs_diff_eq!(found, amps, epsilon = 5e-4);
}

/// Cutting the common alone: 0.4 V + 0.962 V = 1.36 V instead of 1.08 V.
#[test]
fn a_cut_common_is_worse() {
    let json = solved(&lane());
    assert_eq!(severity(&json, "cut-common", "D1").as_deref(), Some("note"));
    let words = message(&json, "cut-common", "D1");
    assert!(words.contains("0.962 V apart"), "{words}");
    assert!(words.contains("1.36 V instead of 1.08 V"), "{words}");
}

#[test]
fn an_isolator_ends_loop_and_findings() {
    let json = solved(&lane().replacen("tie = \"20 mohm\"", "tie = \"isolated\"", 1));
    for code in ["ground-loop", "signal-return", "cut-common"] {
        assert_eq!(finding(&json, code, "D1"), None, "{code}");
    }
    assert_eq!(finding(&json, "hidden-return", "W1"), None);
}

/// One draw, a power negative and a common beside it by way of a panel: amps divide as 1 / ohms.
fn two_ways(amps: f64, negative: f64, common: f64, cable: &str) -> Value {
    solved(&format!(
        r#"
[supply.psu]
voltage = "48 V"
[device.panel]
kind = "panel"
on = "psu"
[device.hub]
kind = "hub"
draw = {{ idle = "{amps} A" }}
[cable.c]
size = "{cable}"
conductors = 4
resistance = "{common} ohm/m"
resistance_at = "25 C"
[design]
hot = "25 C"
cold = "25 C"
[run.P]
from = "psu"
to = "hub"
resistance = "{negative} ohm"
[run.D]
from = "panel"
to = "hub"
cable = "c"
length = "1 m"
carries = "rs485"
common = true
"#
    ))
}

#[rstest]
// 20 mA: 0.1 A by 1 ohm beside 4 ohm; beside 4.1 ohm it is 19.6 mA.
#[case(0.1, 1.0, 4.1, None)]
#[case(0.1, 1.0, 3.9, Some(0.1 / 4.9))]
// 5 %: 1 ohm beside 19 ohm.
#[case(1.0, 1.0, 19.1, None)]
#[case(1.0, 1.0, 18.9, Some(1.0 / 19.9))]
fn signal_conductors_carry_little(
    #[case] amps: f64,
    #[case] negative: f64,
    #[case] common: f64,
    #[case] expected: Option<f64>,
) {
    let json = two_ways(amps, negative, common, "22 AWG");
    match expected {
        None => assert_eq!(finding(&json, "signal-return", "D"), None),
        Some(expected) => {
            assert_eq!(
                severity(&json, "signal-return", "D").as_deref(),
                Some("warn")
            );
            assert_abs_diff_eq!(value(&json, "signal-return", "D"), expected, epsilon = 1e-6);
        }
    }
}

/// More than 24 AWG may carry, 1 A (common practice, no source): two equal ways of 1.98 and 2.02 A.
#[rstest]
#[case(1.98, "warn")]
#[case(2.02, "fail")]
fn a_signal_conductor_over_its_limit_fails(#[case] amps: f64, #[case] expected: &str) {
    let json = two_ways(amps, 1.0, 1.0, "24 AWG");
    assert_eq!(
        severity(&json, "signal-return", "D").as_deref(),
        Some(expected)
    );
}

/// With the negative open everything comes back by the common: 0.99 and 1.01 A on 24 AWG.
#[rstest]
#[case(0.99, "warn")]
#[case(1.01, "fail")]
fn a_hidden_return_over_the_limit_fails(#[case] amps: f64, #[case] expected: &str) {
    let json = two_ways(amps, 0.1, 1.0, "24 AWG");
    assert_eq!(
        severity(&json, "hidden-return", "P").as_deref(),
        Some(expected)
    );
    assert_abs_diff_eq!(value(&json, "hidden-return", "P"), amps, epsilon = 1e-9);
}

/// A panel and a hub with 0.4 ohm of power negative, and 50 m of shielded data cable between them.
fn shielded(shield: &str) -> Value {
    solved(&format!(
        r#"
[supply.psu]
voltage = "12 V"
[device.panel]
kind = "panel"
on = "psu"
[device.hub]
kind = "hub"
draw = {{ idle = "1 A" }}
[run.P]
from = "psu"
to = "hub"
resistance = "0.4 ohm"
[run.D]
from = "panel"
to = "hub"
cable = "22/4 shielded"
length = "50 m"
carries = "wiegand"
common = false
{shield}
"#
    ))
}

/// A shield bonded at both ends carries its share: 12 ohm/km x 50 m = 0.6 ohm beside 0.4 ohm.
#[rstest]
#[case("both", Some(1.0 * 0.4 / (0.4 + 0.6)))]
#[case("from", None)]
fn a_shield_bonded_twice_is_a_way_back(#[case] shield: &str, #[case] amps: Option<f64>) {
    let ohms = "shield_resistance = \"12 ohm/km\"";
    let json = shielded(&format!("shield = \"{shield}\"\n{ohms}"));
    match amps {
        None => {
            assert_eq!(finding(&json, "signal-return", "D"), None);
            assert_eq!(finding(&json, "ground-loop", "D"), None);
        }
        Some(amps) => {
            assert_abs_diff_eq!(value(&json, "signal-return", "D"), amps, epsilon = 1e-6);
            let words = message(&json, "ground-loop", "D");
            assert!(words.contains("open the shield at one end"), "{words}");
        }
    }
}

/// A shield whose ohms nobody states closes a loop all the same.
#[test]
fn a_shield_without_ohms_is_a_loop_without_amps() {
    let json = shielded("shield = \"both\"");
    assert!(message(&json, "ground-loop", "D").contains("D shield"));
    assert_eq!(finding(&json, "signal-return", "D"), None);
}
