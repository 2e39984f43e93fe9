//! Supervised loops.
//!
//! The volts are those of a divider, worked by hand with every resistor at the ends of its spread.
//! The limits (10 % of the volts between states, a tenth of the pull-up in the cable, 100 kohm of a
//! wet cable, 5 % of the volts by the common) are common practice, no source.

use approx::assert_abs_diff_eq;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, message, severity, solved, value};

/// A contact on a hub by `ohms` of each leg; `keys` of its loop.
fn contact(ohms: f64, keys: &str) -> String {
    format!(
        r#"
[supply.psu]
voltage = "12 V"
[device.hub]
kind = "hub"
on = "psu"
draw = {{ idle = "0.1 A" }}
[device.contact]
kind = "door contact"
[run.L]
from = "hub"
to = "contact"
resistance = "{ohms} ohm"
carries = "loop"
[run.L.loop]
{keys}"#
    )
}

/// 2.2 kohm to 5 V, two of 2.2 kohm at the contact.
const LOOP: &str = "voltage = \"5 V\"\npull_up = \"2.2 kohm\"\nend = \"2.2 kohm\"\ntrip = \"2.2 kohm\"\nlayout = \"series\"\nend_at = \"device\"\ncontact = \"0 ohm\"\n";
const WINDOWS: &str = "short = [\"0 V\", \"0.9 V\"]\nnormal = [\"1.9 V\", \"2.8 V\"]\nactive = [\"2.9 V\", \"3.9 V\"]\nopen = [\"4.4 V\", \"5 V\"]\n";

fn judged(ohms: f64, keys: &str) -> Value {
    solved(&contact(ohms, &format!("{LOOP}{keys}")))
}

/// The one window that is stated, as close around the state as these volts.
fn window(state: &str, low: f64, high: f64) -> String {
    format!("{state} = [\"{low} V\", \"{high} V\"]\n")
}

// 1 % parts and up to 100 ohm of cable: normal 2.475 to 2.580 V, active 3.311 to 3.380 V, short up
// to 0.2195 V (5 x 100 / (100 + 2178)).
#[rstest]
#[case("normal", 2.475, 2.580)]
#[case("active", 3.311, 3.380)]
#[case("short", 0.0, 0.2195)]
fn states_with_spread_and_cable(#[case] state: &str, #[case] low: f64, #[case] high: f64) {
    let spread = "tolerance = \"1 %\"\n";
    let room = |low: f64, high: f64| {
        let low = f64::max(low, 0.0);
        let json = judged(50.0, &format!("{spread}{}", window(state, low, high)));
        let found = severity(&json, "loop-windows", "L").unwrap();
        (found, value(&json, "loop-windows", "L"))
    };
    // A window half a millivolt wider than the printed volts holds the state, one narrower not.
    let (found, least) = room(low - 5e-4, high + 5e-4);
    assert_eq!(found, "note", "{least}");
    assert!((0.0..=1e-3).contains(&least), "{least}");
    assert_eq!(room(low - 5e-4, high - 5e-4).0, "fail");
    if state != "short" {
        assert_eq!(room(low + 5e-4, high + 5e-4).0, "fail");
    }
}

// 20 kohm across a wet cable, nominal parts: normal 2.370 V, active 3.106 V.
#[rstest]
#[case("normal", 2.370)]
#[case("active", 3.106)]
fn states_in_the_wet(#[case] state: &str, #[case] volts: f64) {
    for (low, expected) in [(volts - 6e-4, "note"), (volts + 6e-4, "fail")] {
        let keys = format!(
            "tolerance = \"0 %\"\nleakage = \"20 kohm\"\n{}",
            window(state, low, 4.0)
        );
        let json = judged(0.0, &keys);
        assert_eq!(
            severity(&json, "loop-windows", "L").as_deref(),
            Some(expected)
        );
    }
}

/// Both states of a parallel layout: 2.2 kohm, and two of them side by side, 1.1 kohm.
#[rstest]
#[case("normal", 2.5)]
#[case("active", 5.0 * 1.1 / 3.3)]
fn states_in_parallel(#[case] state: &str, #[case] volts: f64) {
    let parallel = LOOP.replace("series", "parallel");
    for (low, expected) in [(volts - 1e-6, "note"), (volts + 1e-6, "fail")] {
        let keys = format!("{parallel}tolerance = \"0 %\"\n{}", window(state, low, 4.0));
        let json = solved(&contact(0.0, &keys));
        assert_eq!(
            severity(&json, "loop-windows", "L").as_deref(),
            Some(expected)
        );
    }
}

// Active falls under 2.9 V at 9.81 kohm: 4.4 kohm beside it make 3.038 kohm. Normal falls under
// 1.9 V at 3.19 kohm, and a cut cable under 4.4 V at 16.1 kohm already.
#[rstest]
#[case("active = [\"2.9 V\", \"3.9 V\"]", 9.81e3)]
#[case("normal = [\"1.9 V\", \"2.8 V\"]", 3.187e3)]
#[case(WINDOWS, 16.13e3)]
fn leakage_that_crosses_a_limit(#[case] windows: &str, #[case] ohms: f64) {
    // A window of one state alone: the others are told apart by the middle between them, so that
    // the crossing of that one state is looked up by name.
    let json = judged(0.0, &format!("tolerance = \"0 %\"\n{windows}"));
    let found = finding(&json, "loop-leakage", "L").unwrap();
    if windows == WINDOWS {
        assert_eq!(found["severity"], "note");
        assert_abs_diff_eq!(found["value"].as_f64().unwrap(), ohms, epsilon = 10.0);
    } else {
        assert!(found["value"].as_f64().unwrap() >= ohms - 10.0, "{found}");
    }
}

/// Higher resistors leak sooner: with 22 kohm the limits are crossed at ten times the ohms.
#[rstest]
#[case("5.6", "note")] // 4.4 / 0.6 x 5.6 kohm = 41 kohm
#[case("13.6", "note")] // 99.7 kohm
#[case("13.7", "warn")] // 100.5 kohm
fn rain_up_to_100_kohm(#[case] kilohms: &str, #[case] expected: &str) {
    let keys = LOOP.replace("2.2 kohm", &format!("{kilohms} kohm"));
    let json = solved(&contact(
        0.0,
        &format!("{keys}tolerance = \"0 %\"\n{WINDOWS}"),
    ));
    assert_eq!(
        severity(&json, "loop-leakage", "L").as_deref(),
        Some(expected)
    );
}

/// Without windows a tenth of the volts lies between two states: active and open here.
#[rstest]
#[case("6.6 kohm", "note")] // 5 - 5 x 8.8 / 11 = 1.0 V
#[case("15 kohm", "note")] // 5 - 5 x 17.2 / 19.4 = 0.567 V
#[case("17.5 kohm", "note")] // 5 - 5 x 19.7 / 21.9 = 0.5023 V
#[case("17.7 kohm", "fail")] // 0.4977 V
fn states_lie_apart(#[case] trip: &str, #[case] expected: &str) {
    let keys = LOOP.replace("trip = \"2.2 kohm\"", &format!("trip = \"{trip}\""));
    let json = solved(&contact(0.0, &format!("{keys}tolerance = \"0 %\"\n")));
    assert_eq!(
        severity(&json, "loop-windows", "L").as_deref(),
        Some(expected)
    );
}

#[test]
fn windows_do_not_lie_over_one_another() {
    let over = WINDOWS.replace("\"2.8 V\"", "\"2.95 V\"");
    let json = judged(0.0, &over);
    assert_eq!(
        severity(&json, "loop-windows", "L").as_deref(),
        Some("fail")
    );
    assert!(message(&json, "loop-windows", "L").contains("normal and active"));
    let json = judged(0.0, WINDOWS);
    assert_eq!(
        severity(&json, "loop-windows", "L").as_deref(),
        Some("note")
    );
}

/// One resistor alone: a cut reads like the contact, or a short does.
#[rstest]
#[case("series", "2.2 kohm", None)]
#[case("series", "", Some("a cut cable"))]
#[case("parallel", "2.2 kohm", None)]
#[case("parallel", "", Some("a shorted cable"))]
#[case("parallel", "0 ohm", Some("a shorted cable"))]
fn states_that_hide_a_fault(#[case] layout: &str, #[case] trip: &str, #[case] hides: Option<&str>) {
    let trip = if trip.is_empty() {
        String::new()
    } else {
        format!("trip = \"{trip}\"")
    };
    let keys = LOOP
        .replace("trip = \"2.2 kohm\"", &trip)
        .replace("series", layout);
    let json = solved(&contact(0.0, &format!("{keys}tolerance = \"0 %\"\n")));
    match hides {
        None => assert_eq!(finding(&json, "loop-hides", "L"), None),
        Some(words) => {
            assert_eq!(severity(&json, "loop-hides", "L").as_deref(), Some("warn"));
            assert!(message(&json, "loop-hides", "L").contains(words));
        }
    }
}

/// Windows that leave a fault out.
#[test]
fn a_fault_without_a_window_is_not_told() {
    let json = judged(
        0.0,
        "normal = [\"1.9 V\", \"2.8 V\"]\nactive = [\"2.9 V\", \"5 V\"]\n",
    );
    assert!(message(&json, "loop-hides", "L").contains("no window is stated for short"));
    assert_eq!(finding(&judged(0.0, WINDOWS), "loop-hides", "L"), None);
}

// A tenth of 2.2 kohm is 220 ohm, 110 ohm a leg.
#[rstest]
#[case(109.9, None)]
#[case(110.1, Some("warn"))]
fn cable_up_to_a_tenth_of_the_pull_up(#[case] leg: f64, #[case] expected: Option<&str>) {
    let json = judged(leg, WINDOWS);
    assert_eq!(severity(&json, "loop-cable", "L").as_deref(), expected);
}

#[rstest]
#[case("device", None)]
#[case("hub", Some("fail"))]
fn the_end_resistor_sits_at_the_contact(#[case] at: &str, #[case] expected: Option<&str>) {
    let keys = LOOP.replace("end_at = \"device\"", &format!("end_at = \"{at}\""));
    let json = solved(&contact(0.0, &keys));
    assert_eq!(severity(&json, "loop-end", "L").as_deref(), expected);
}

/// A loop that comes back by a common which a lock's return lifts: 5 % of 5 V is 0.25 V.
#[rstest]
#[case(0.2499, None)]
#[case(0.2501, Some("warn"))]
fn the_common_moves_the_reading(#[case] ohms: f64, #[case] expected: Option<&str>) {
    let text =
        contact(1e6, LOOP).replace("carries = \"loop\"", "carries = \"loop\"\ncommon = true");
    let text = text.replace(
        "kind = \"door contact\"",
        "kind = \"panel\"\ndraw = { idle = \"1 A\" }",
    );
    let json = solved(&format!(
        "{text}[run.P]\nfrom = \"psu\"\nto = \"contact\"\nresistance = \"{ohms} ohm\"\n"
    ));
    assert_eq!(severity(&json, "loop-common", "L").as_deref(), expected);
}

#[test]
fn what_a_loop_leaves_out_is_asked_for() {
    let json = solved(&contact(0.0, ""));
    let words = message(&json, "signal-unknown", "L");
    for key in ["voltage (", "pull_up (", "end (", "layout (", "end_at ("] {
        assert!(words.contains(key), "{key}: {words}");
    }
    assert_eq!(
        finding(&json, "loop-windows", "L"),
        None,
        "unknown is no pass"
    );
    // A cable outdoors whose leakage would decide.
    let keys = LOOP.replace("2.2 kohm", "22 kohm");
    for (route, asked) in [("buried", true), ("indoor", false)] {
        let text = contact(0.0, &format!("{keys}{WINDOWS}")).replace(
            "carries = \"loop\"",
            &format!("carries = \"loop\"\nroute = \"{route}\""),
        );
        let json = solved(&text);
        let ask = finding(&json, "signal-unknown", "L");
        assert_eq!(ask.is_some(), asked, "{route}: {ask:?}");
    }
}
