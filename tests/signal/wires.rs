//! Shields, and what protects people from a gate.

use rstest::rstest;

use super::wiegand::{cable, line};
use crate::judged::{finding, message, severity, solved};

// Joined to zero volts at one end: common practice, no source.
#[rstest]
#[case("shield = \"from\"", None)]
#[case("shield = \"to\"", None)]
#[case("shield = \"none\"", Some("warn"))]
#[case("shield = \"both\"", Some("warn"))]
fn a_shield_is_bonded_once(#[case] keys: &str, #[case] expected: Option<&str>) {
    let shielded = cable(18, 20.0) + "shielded = true\n";
    let text = line(&shielded, "10 m", 0.01, &[]).replace("[run.C]", &format!("[run.C]\n{keys}"));
    let json = solved(&text);
    assert_eq!(severity(&json, "shield-bond", "C").as_deref(), expected);
    assert_eq!(finding(&json, "signal-unknown", "C"), None);
}

#[test]
fn a_silent_shield_is_asked_for() {
    let shielded = cable(18, 20.0) + "shielded = true\n";
    let json = solved(&line(&shielded, "10 m", 0.01, &[]));
    assert!(message(&json, "signal-unknown", "C").contains("shield (look where its drain wire"));
    let json = solved(&line(&cable(18, 20.0), "10 m", 0.01, &[]));
    assert_eq!(finding(&json, "signal-unknown", "C"), None);
}

/// UL 325 (secondary copy seen): what protects people goes straight to the operator.
#[rstest]
#[case("photo eye", "safety = true", "hub", Some("stop"))]
#[case("photo eye", "safety = true", "box", Some("stop"))] // by way of a junction
#[case("photo eye", "safety = true", "gate", None)]
#[case("photo eye", "safety = false", "hub", None)]
#[case("button", "safety = true", "hub", Some("stop"))]
#[case("button", "", "hub", None)]
fn safety_devices_stay_off_the_hub(
    #[case] kind: &str,
    #[case] keys: &str,
    #[case] to: &str,
    #[case] expected: Option<&str>,
) {
    let text = format!(
        "[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\nkind = \"hub\"\non = \"psu\"\n[device.gate]\nkind = \"operator\"\non = \"psu\"\n[junction.box]\n[device.eye]\nkind = \"{kind}\"\n{keys}\n[run.E]\nfrom = \"eye\"\nto = \"{to}\"\ncarries = \"contact\"\ncable = \"22/2\"\nlength = \"5 m\"\n[run.H]\nfrom = \"box\"\nto = \"hub\"\ncarries = \"contact\"\ncable = \"22/2\"\nlength = \"5 m\"\n"
    );
    let json = solved(&text);
    assert_eq!(severity(&json, "safety-on-hub", "eye").as_deref(), expected);
}

#[test]
fn what_mostly_protects_people_is_asked_for() {
    let text = "[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\nkind = \"hub\"\non = \"psu\"\n[device.eye]\nkind = \"edge\"\n[run.E]\nfrom = \"eye\"\nto = \"hub\"\ncarries = \"contact\"\ncable = \"22/2\"\nlength = \"5 m\"\n";
    let json = solved(text);
    assert!(message(&json, "signal-unknown", "eye").contains("safety (true if it keeps"));
}
