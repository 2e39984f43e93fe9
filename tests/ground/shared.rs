//! A coil that lifts the negative of something that talks. 0.3 V: common practice, no source.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use crate::judged::{finding, severity, solved, value};

/// A hub and a lock of 1 A on one pair, or the lock on a pair of its own.
fn site(kind: &str, ohms: f64, lock_from: &str) -> String {
    format!(
        r#"
[supply.psu]
voltage = "24 V"
[device.hub]
kind = "hub"
draw = {{ idle = "0.1 A" }}
[device.lock]
kind = "{kind}"
draw = {{ idle = "1 A" }}
[run.P]
from = "psu"
to = "hub"
resistance = "{ohms} ohm"
[run.L]
from = "{lock_from}"
to = "lock"
resistance = "1 ohm"
"#
    )
}

#[rstest]
#[case("electromagnetic lock", 0.299, "hub", None)]
#[case("electromagnetic lock", 0.301, "hub", Some("note"))]
#[case("electric strike", 0.301, "hub", Some("note"))]
#[case("electromagnetic lock", 5.0, "psu", None)]
#[case("light", 5.0, "hub", None)]
fn a_coil_lifts_a_shared_negative(
    #[case] kind: &str,
    #[case] ohms: f64,
    #[case] from: &str,
    #[case] expected: Option<&str>,
) {
    let json = solved(&site(kind, ohms, from));
    assert_eq!(
        severity(&json, "shared-return", "lock").as_deref(),
        expected
    );
}

/// The lift is what the solved network shows: with the lock off the hub's negative is so much lower.
#[test]
fn the_lift_is_that_of_the_network() {
    let text = site("electromagnetic lock", 0.8, "hub")
        + "[case.on]\n[case.off]\nstates = { lock = \"off\" }\n";
    let json = solved(&text);
    let negative = |case: &str| {
        let rows = json["cases"].as_array().unwrap();
        let row = rows
            .iter()
            .find(|r| r["name"] == case && r["corner"] == "nominal");
        let hub = &row.unwrap()["devices"][0];
        assert_eq!(hub["id"], "hub");
        hub["negative_volts"].as_f64().unwrap()
    };
    let lift = negative("on") - negative("off");
    assert_abs_diff_eq!(value(&json, "shared-return", "lock"), lift, epsilon = 1e-6);
    assert!(finding(&json, "shared-return", "hub").is_none());
}
