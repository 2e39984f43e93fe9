//! Wiegand lines, on both sides of every limit.
//!
//! Pulse and gap: SIA AC-01-1996.10 (secondary copy seen). Levels of TTL, 0.8 V and 2.0 V: from
//! memory. Lowest volts of an input, the times of an edge and what a driver sinks: common practice,
//! no source. The volts themselves are Ohm's and Kirchhoff's laws.

use approx::assert_abs_diff_eq;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, message, severity, solved, value};

/// Everything that a line may state, kind to all rules.
pub(crate) const ALL: [(&str, &str); 11] = [
    ("sender", "\"reader\""),
    ("voltage", "\"5 V\""),
    ("pull_up", "\"1 kohm\""),
    ("pull_up_at", "\"reader\""),
    ("low_out", "\"0.4 V\""),
    ("low_in", "\"0.8 V\""),
    ("high_in", "\"3.5 V\""),
    ("drive", "\"20 mA\""),
    ("pulse", "\"50 us\""),
    ("gap", "\"2 ms\""),
    ("twisted_together", "false"),
];

/// A reader on a panel, by one cable that carries its power and its data; `stated` replaces keys
/// of the line, and a key without a value is left out.
pub(crate) fn line(cable: &str, length: &str, amps: f64, stated: &[(&str, &str)]) -> String {
    let mut keys = String::new();
    for (key, usual) in ALL {
        let own = stated.iter().find(|(k, _)| *k == key);
        let value = own.map_or(usual, |(_, value)| value);
        if !value.is_empty() {
            keys += &format!("{key} = {value}\n");
        }
    }
    format!(
        r#"
[design]
temperature = "20 C"
hot = "20 C"
cold = "20 C"
{cable}
[supply.psu]
voltage = "12 V"
[device.panel]
kind = "panel"
on = "psu"
[device.reader]
kind = "reader"
draw = {{ idle = "{amps} A" }}
[run.C]
from = "panel"
to = "reader"
cable = "c"
length = "{length}"
carries = ["power", "wiegand"]
[run.C.wiegand]
{keys}"#
    )
}

/// A cable of a gauge and copper, with 100 pF/m.
pub(crate) fn cable(gauge: u32, ohm_per_km: f64) -> String {
    format!(
        "[cable.c]\nsize = \"{gauge} AWG\"\nconductors = 6\nresistance = \"{ohm_per_km} ohm/km\"\nresistance_at = \"20 C\"\ncapacitance = \"100 pF/m\"\n"
    )
}

fn judged(length: &str, amps: f64, stated: &[(&str, &str)]) -> Value {
    solved(&line(&cable(18, 20.0), length, amps, stated))
}

// SIA AC-01-1996.10, recommended cable: 200 ft of 22 AWG, 300 ft of 20, 500 ft of 18.
#[rstest]
#[case(22, "199.9 ft", None)]
#[case(22, "200.1 ft", Some("warn"))]
#[case(20, "299.9 ft", None)]
#[case(20, "300.1 ft", Some("warn"))]
#[case(18, "499.9 ft", None)]
#[case(18, "500.1 ft", Some("fail"))]
#[case(22, "500.1 ft", Some("fail"))]
#[case(16, "499.9 ft", None)]
#[case(16, "500.1 ft", Some("fail"))]
#[case(24, "10 ft", Some("warn"))]
fn length_by_gauge(#[case] gauge: u32, #[case] length: &str, #[case] expected: Option<&str>) {
    let json = solved(&line(&cable(gauge, 20.0), length, 0.01, &[]));
    assert_eq!(severity(&json, "wiegand-length", "C").as_deref(), expected);
}

/// A junction passes the line on: both runs count.
#[test]
fn two_runs_are_one_line() {
    let text = line(&cable(22, 20.0), "120 ft", 0.01, &[])
        .replace("to = \"reader\"\n", "to = \"box\"\n")
        .replace("sender = \"reader\"\n", "")
        .replace("pull_up_at = \"reader\"\n", "");
    let more = |length: &str| {
        format!(
            "{text}\n[junction.box]\n[run.C2]\nfrom = \"box\"\nto = \"reader\"\ncable = \"c\"\nlength = \"{length}\"\ncarries = [\"power\", \"wiegand\"]\n"
        )
    };
    let json = solved(&more("79 ft"));
    assert_eq!(severity(&json, "wiegand-length", "C"), None);
    let json = solved(&more("81 ft"));
    assert_eq!(
        severity(&json, "wiegand-length", "C").as_deref(),
        Some("warn")
    );
    assert_eq!(finding(&json, "wiegand-length", "C2"), None);
}

// A reader of 0.15 A on its own 150 m: 0.4 V + 0.15 A x ohms of the negative. 18, 20 and 22 AWG
// of 0.017241 ohm mm2/m, stranded: 0.881, 1.164 and 1.615 V, worked by hand.
#[rstest]
#[case(21.367, 0.881)]
#[case(33.974, 1.164)]
#[case(54.021, 1.615)]
fn own_current_lifts_a_low(#[case] ohm_per_km: f64, #[case] volts: f64) {
    let json = solved(&line(&cable(18, ohm_per_km), "150 m", 0.15, &[]));
    assert_eq!(severity(&json, "wiegand-low", "C").as_deref(), Some("fail"));
    assert_abs_diff_eq!(value(&json, "wiegand-low", "C"), volts, epsilon = 5e-4);
}

/// Pulled up at the panel, the pull-up's current comes through the data conductor as well.
#[test]
fn the_pull_up_lifts_a_low() {
    let at_panel = [("pull_up_at", "\"panel\"")];
    let json = solved(&line(&cable(22, 54.021), "150 m", 0.15, &at_panel));
    // Node equation of the data conductor at the panel: (5 - v) / 1000 = (v - low) / ohms.
    let ohms = 0.054_021 * 150.0;
    let low = 0.4 + 0.15 * ohms;
    let volts = (5.0 / 1000.0 + low / ohms) / (1.0 / 1000.0 + 1.0 / ohms);
    assert_abs_diff_eq!(value(&json, "wiegand-low", "C"), volts, epsilon = 1e-6);
}

// 100 m at 20 ohm/km are 2 ohm: 0.4 V + 0.2 A x 2 ohm = 0.8 V, the most of a low.
#[rstest]
#[case(0.1999, None)]
#[case(0.2001, Some("fail"))]
fn low_up_to_what_counts_as_low(#[case] amps: f64, #[case] expected: Option<&str>) {
    let json = judged("100 m", amps, &[]);
    assert_eq!(severity(&json, "wiegand-low", "C").as_deref(), expected);
}

// The panel sends: its zero is under the reader's. 0.4 V - 0.35 A x 2 ohm = -0.3 V.
#[rstest]
#[case(0.3499, None)]
#[case(0.3501, Some("warn"))]
fn low_down_to_where_inputs_conduct(#[case] amps: f64, #[case] expected: Option<&str>) {
    let json = judged("100 m", amps, &[("sender", "\"panel\"")]);
    assert_eq!(severity(&json, "wiegand-below", "C").as_deref(), expected);
    assert_eq!(severity(&json, "wiegand-low", "C"), None);
}

// Pulled up at the receiver: its own 5 V. At the sender: 5 V - 0.5 A x 2 ohm = 4 V arrive.
#[rstest]
#[case("reader", "panel", "5 V", None)]
#[case("reader", "panel", "5.01 V", Some("fail"))]
#[case("panel", "panel", "3.99 V", None)]
#[case("panel", "panel", "4.01 V", Some("fail"))]
fn high_down_to_what_counts_as_high(
    #[case] sender: &str,
    #[case] pull_up: &str,
    #[case] high_in: &str,
    #[case] expected: Option<&str>,
) {
    let quoted = [sender, pull_up, high_in].map(|word| format!("\"{word}\""));
    let stated = [
        ("sender", quoted[0].as_str()),
        ("pull_up_at", quoted[1].as_str()),
        ("high_in", quoted[2].as_str()),
    ];
    let json = judged("100 m", 0.5, &stated);
    assert_eq!(severity(&json, "wiegand-high", "C").as_deref(), expected);
}

/// Data alone between two supplies: without a common nothing joins the two zeros.
#[rstest]
#[case("true", None)]
#[case("false", Some("fail"))]
fn a_low_needs_something_to_be_low_against(#[case] common: &str, #[case] expected: Option<&str>) {
    let text = line(&cable(18, 20.0), "10 m", 0.01, &[]).replace(
        "carries = [\"power\", \"wiegand\"]",
        &format!("carries = \"wiegand\"\ncommon = {common}"),
    );
    let json = solved(&format!(
        "{text}\n[supply.own]\nvoltage = \"12 V\"\n[run.P]\nfrom = \"own\"\nto = \"reader\"\nresistance = \"0.1 ohm\"\n"
    ));
    assert_eq!(severity(&json, "wiegand-common", "C").as_deref(), expected);
}

// 5 V / 1 kohm = 5 mA.
#[rstest]
#[case("5 mA", None)]
#[case("4.99 mA", Some("warn"))]
fn drive_up_to_what_the_sender_sinks(#[case] drive: &str, #[case] expected: Option<&str>) {
    let json = judged("1 m", 0.01, &[("drive", &format!("\"{drive}\""))]);
    assert_eq!(severity(&json, "wiegand-drive", "C").as_deref(), expected);
}

#[rstest]
#[case("false", None)]
#[case("true", Some("warn"))]
fn data_conductors_are_no_pair(#[case] together: &str, #[case] expected: Option<&str>) {
    let json = judged("1 m", 0.01, &[("twisted_together", together)]);
    assert_eq!(severity(&json, "wiegand-twist", "C").as_deref(), expected);
}

// SIA AC-01-1996.10: pulses of 20 to 100 us, gaps of 200 us to 20 ms. At 1 m the edge is 0.12 us.
#[rstest]
#[case("20 us", "2 ms", None)]
#[case("19.9 us", "2 ms", Some("warn"))]
#[case("99.8 us", "2 ms", None)]
#[case("99.9 us", "2 ms", Some("warn"))]
#[case("50 us", "200.2 us", None)]
#[case("50 us", "200.1 us", Some("warn"))]
#[case("50 us", "20 ms", None)]
#[case("50 us", "20.01 ms", Some("warn"))]
fn pulse_and_gap_in_their_limits(
    #[case] pulse: &str,
    #[case] gap: &str,
    #[case] expected: Option<&str>,
) {
    let (pulse, gap) = (format!("\"{pulse}\""), format!("\"{gap}\""));
    let json = judged("1 m", 0.01, &[("pulse", &pulse), ("gap", &gap)]);
    assert_eq!(severity(&json, "wiegand-pulse", "C").as_deref(), expected);
}

/// What is silent is asked for where it decides, and only there.
#[test]
fn silent_inputs_are_asked_for_where_they_decide() {
    let json = judged("1 m", 0.01, &[]);
    assert_eq!(finding(&json, "signal-unknown", "C"), None);
    // At 1 m no pull-up makes an edge slow; at 100 m 10 kohm do.
    for (length, asked) in [("1 m", false), ("100 m", true)] {
        let json = judged(length, 0.01, &[("pull_up", ""), ("drive", "\"1 A\"")]);
        let ask = finding(&json, "signal-unknown", "C");
        assert_eq!(ask.is_some(), asked, "{length}");
    }
    let words = message(
        &judged("100 m", 0.01, &[("pull_up", "")]),
        "signal-unknown",
        "C",
    )
    .to_owned();
    for word in ["pull_up", "taken for 1 kohm", "at 10 kohm", "measure ohms"] {
        assert!(words.contains(word), "{words}");
    }
    // Whether the data conductors are one pair always decides.
    let json = judged("1 m", 0.01, &[("twisted_together", "")]);
    assert!(message(&json, "signal-unknown", "C").contains("twisted_together"));
}

/// Whoever looks at the twist of one line looks at all: one ask a site.
#[test]
fn the_twist_is_asked_once_for_all_lines() {
    let silent = [("twisted_together", "")];
    let one = line(&cable(18, 20.0), "1 m", 0.01, &silent);
    let second = one[one.find("[run.C]").unwrap()..].replace("run.C", "run.C2");
    let json = solved(&format!("{one}{second}"));
    assert!(message(&json, "signal-unknown", "C").contains("likewise C2"));
    assert_eq!(finding(&json, "signal-unknown", "C2"), None);
}

/// A reader sends, whatever the file says of it; between two panels the sender is asked for.
#[test]
fn the_sender_follows_from_the_kind_or_is_asked_for() {
    let stated = [("sender", ""), ("pull_up_at", "")];
    let json = judged("100 m", 0.21, &stated);
    assert_eq!(severity(&json, "wiegand-low", "C").as_deref(), Some("fail"));
    let two = line(&cable(18, 20.0), "100 m", 0.21, &stated)
        .replace("kind = \"reader\"", "kind = \"panel\"");
    let json = solved(&two);
    assert_eq!(finding(&json, "wiegand-low", "C"), None);
    assert!(message(&json, "signal-unknown", "C").contains("sender (which end sends"));
}
