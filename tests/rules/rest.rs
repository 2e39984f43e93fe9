//! Locks while their relay is at rest, and outputs that leak.

use rstest::rstest;

use super::relay::lock;
use super::{asks, finding, grade};
use crate::battery::fixes;

const RELAY: &str = "current = \"2 A\", voltage = \"60 V\", material = \"silver\"";

#[rstest]
#[case("without_power = \"locked\"", "nc", Some("warn"))]
#[case("without_power = \"locked\"", "no", None)]
#[case("without_power = \"unlocked\"", "nc", None)]
#[case("", "nc", None)]
fn a_lock_that_power_opens_has_none_at_rest(
    #[case] keys: &str,
    #[case] throw: &str,
    #[case] expected: Option<&str>,
) {
    let text = lock(RELAY, keys, "").replace("hub.k1.nc", &format!("hub.k1.{throw}"));
    assert_eq!(grade(&text, "open-at-rest", "lock").as_deref(), expected);
}

#[test]
fn the_other_contact_is_offered() {
    let text = lock(RELAY, "without_power = \"locked\"", "");
    assert_eq!(
        fixes(&text, "open-at-rest"),
        ["W2 through hub.k1.no, and the relay pulled while it opens"]
    );
}

#[rstest]
#[case("solid state", "0.0009 A", Some("warn"))]
#[case("solid state", "0.001 A", None)]
#[case("silver", "0.0009 A", None)]
fn a_coil_lets_go_of_what_leaks(
    #[case] material: &str,
    #[case] release: &str,
    #[case] expected: Option<&str>,
) {
    let relay = RELAY.replace("silver", material);
    let text = lock(&relay, &format!("release_current = \"{release}\""), "");
    assert_eq!(grade(&text, "output-leakage", "lock").as_deref(), expected);
    if expected.is_some() {
        // 24 ohm: 0.024 V against 0.0216 V.
        let formula = finding(&text, "output-leakage", "lock").unwrap()["formula"].to_string();
        assert!(
            formula.contains("0.024 V > 0.0009 A x 24.0 ohm = 0.022 V"),
            "{formula}"
        );
    }
}

/// Asked while nobody says what the output is, or a solid-state one has no release to hold
/// against.
#[rstest]
#[case("", "", true)]
#[case("material = \"solid state\"", "", true)]
#[case("material = \"solid state\"", "release_current = \"0.06 A\"", false)]
#[case("material = \"silver\"", "", false)]
#[case("material = \"gold\"", "", false)]
fn whether_it_lets_go_is_asked_where_no_number_tells(
    #[case] material: &str,
    #[case] keys: &str,
    #[case] asked: bool,
) {
    let relay = RELAY.replace("material = \"silver\"", material);
    let text = lock(relay.trim_end_matches(", "), keys, "");
    assert_eq!(asks(&text, "open-questions", "lock", "lets-go:"), asked);
}

// 12 V and 36 V make 48 V. 18 V more than the supply's would do under 40 V; over 20 V a diode alone.
#[rstest]
#[case("40 V", &["lock with a two-way clamp of 18 V at its coil", "lock with a plain diode across its coil, cathode to plus: 0.7 V, but it lets go later"])]
#[case("20 V", &["lock with a plain diode across its coil, cathode to plus: 0.7 V, but it lets go later"])]
fn another_clamp_spares_the_contact(#[case] rated: &str, #[case] expected: &[&str]) {
    let relay = format!("current = \"2 A\", voltage = \"{rated}\"");
    let text = lock(&relay, "clamp = \"two-way\"\nclamp_voltage = \"36 V\"", "");
    assert_eq!(
        grade(&text, "clamp-volts", "hub.k1.nc").as_deref(),
        Some("fail")
    );
    assert_eq!(fixes(&text, "clamp-volts"), expected);
}

// 7.5 mA: too little for silver, asked where nobody says what it is.
#[rstest]
#[case("", true)]
#[case("material = \"gold\"", false)]
fn contacts_of_unknown_metal_are_asked_for_where_little_flows(
    #[case] material: &str,
    #[case] asked: bool,
) {
    let relay = RELAY.replace("material = \"silver\"", material);
    let text = lock(relay.trim_end_matches(", "), "", "").replace("24 ohm", "1600 ohm");
    let found = finding(&text, "relay-unknown", "hub.k1.nc");
    let told = found.is_some_and(|f| f["message"].as_str().unwrap().contains("material (silver"));
    assert_eq!(told, asked);
}
