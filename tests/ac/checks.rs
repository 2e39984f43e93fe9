//! Checks of transformers, wet places and reactance, on both sides of their limits.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use super::{finding, severity, solved};

/// Draws on a 24 V, 40 VA transformer of no regulation, one wire of no ohms away.
fn transformer(draws: &str) -> serde_json::Value {
    solved(&format!(
        r#"
[supply.shed]
kind = "ac"
rated_voltage = "24 V"
rating = "40 VA"
[device.load]
on = "shed"
power_factor = 0.8
draw = {{ idle = "{draws}" }}
"#
    ))
}

#[rstest]
#[case("31.9 VA", None)]
#[case("32.1 VA", Some("warn"))]
#[case("40.1 VA", Some("fail"))]
#[case("25.5 W", None)]
#[case("25.7 W", Some("warn"))]
#[case("32.1 W", Some("fail"))]
#[case("1.3 A", None)]
#[case("1.4 A", Some("warn"))]
#[case("14 ohm", Some("fail"))]
fn transformer_has_the_volt_amperes(#[case] draw: &str, #[case] expected: Option<&str>) {
    let json = transformer(draw);
    assert_eq!(
        severity(&json, "transformer-va", "shed").as_deref(),
        expected
    );
}

/// The pulses of a rectifier count by their rms amps, for the transformer and for its rated amps.
#[test]
fn pulses_count_by_their_rms_amps() {
    let site = |rectifier: &str| {
        solved(&format!(
            r#"
[supply.shed]
kind = "ac"
rated_voltage = "24 V"
rating = "40 VA"
regulation = "10 %"
[device.hub]
rectifier = "{rectifier}"
reservoir = "2200 uF"
on = "shed"
draw = {{ idle = "25 W" }}
"#
        ))
    };
    // 25 W of 40 VA is nothing; with pulses of about 1.7 times the amps it is too much.
    let (plain, pulsed) = (site("none"), site("bridge"));
    assert_eq!(severity(&plain, "transformer-va", "shed"), None);
    assert_eq!(
        severity(&pulsed, "transformer-va", "shed").as_deref(),
        Some("warn")
    );
    assert_eq!(severity(&plain, "little-spare", "shed"), None);
    let rated = ["over-rating", "little-spare"].map(|code| severity(&pulsed, code, "shed"));
    assert!(rated.iter().any(Option::is_some), "{rated:?}");
}

#[rstest]
#[case("ac", "15 V", "class = \"class 2\"", None)]
#[case("ac", "15.1 V", "class = \"class 2\"", Some("warn"))]
#[case("ac", "24 V", "", Some("warn"))]
#[case("ac", "24 V", "class = \"class 3\"", None)]
#[case("dc", "30 V", "class = \"class 2\"", None)]
#[case("dc", "31 V", "class = \"class 2\"", Some("warn"))]
#[case("dc", "31 V", "", None)]
fn wet_contact(
    #[case] kind: &str,
    #[case] volts: &str,
    #[case] class: &str,
    #[case] expected: Option<&str>,
) {
    let json = solved(&format!(
        r#"
[place.pier]
wet_contact = true
[supply.shed]
kind = "{kind}"
voltage = "{volts}"
{class}
[device.load]
place = "pier"
on = "shed"
draw = {{ idle = "1 W" }}
"#
    ));
    assert_eq!(severity(&json, "wet-contact", "shed").as_deref(), expected);
    // The supply's own terminals are touched as well.
    let json = solved(&format!(
        r#"
[place.pier]
wet_contact = true
[supply.shed]
kind = "{kind}"
voltage = "{volts}"
place = "pier"
{class}
"#
    ));
    assert_eq!(severity(&json, "wet-contact", "shed").as_deref(), expected);
}

// NEC Chapter 9 Table 9, PVC: X of 10 AWG 0.050 ohm/kft; Table 8: R of 10 AWG stranded copper 1.24
// ohm/kft at 75 C. sqrt(1 + (0.050 / 1.24)^2) - 1 = 0.08 %.
#[rstest]
#[case("10/2", "", Some(0.081))]
#[case("14/2", "", Some(0.017))]
#[case("18/2", "", None)]
#[case("own", "reactance = \"0.1 ohm/km\"", None)]
fn reactance_that_is_left_out(
    #[case] cable: &str,
    #[case] own: &str,
    #[case] percent: Option<f64>,
) {
    let json = solved(&format!(
        r#"
[design]
temperature = "75 C"
[cable.own]
size = "10 AWG"
conductors = 2
{own}
[supply.shed]
kind = "ac"
voltage = "24 V"
[device.load]
draw = {{ idle = "1 W" }}
[run.W1]
from = "shed"
to = "load"
cable = "{cable}"
length = "10 m"
"#
    ));
    let found = finding(&json, "no-reactance", "W1");
    assert_eq!(found.is_some(), percent.is_some());
    if let (Some(found), Some(percent)) = (found, percent) {
        assert_eq!(found["severity"], "note");
        assert_abs_diff_eq!(found["value"].as_f64().unwrap(), percent, epsilon = 0.001);
    }
}

/// A window of dc volts that is not stated is asked for.
#[test]
fn dc_window_is_asked_for() {
    let site = |window: &str| {
        solved(&format!(
            "[supply.shed]\nkind = \"ac\"\nvoltage = \"24 V\"\n[device.hub]\non = \"shed\"\nrectifier = \"bridge\"\n{window}\ndraw = {{ idle = \"1 W\" }}\n"
        ))
    };
    let both = "dc_lowest = \"9 V\"\ndc_highest = \"60 V\"";
    assert_eq!(severity(&site(both), "no-dc-window", "hub"), None);
    for window in ["", "dc_lowest = \"9 V\"", "dc_highest = \"60 V\""] {
        assert_eq!(
            severity(&site(window), "no-dc-window", "hub").as_deref(),
            Some("ask")
        );
    }
}
