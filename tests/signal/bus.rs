//! How two-wire buses lie: length, stubs, ends, the conductor for zero volts, zeros apart.
//!
//! The standard, TIA-485-A (secondary copy seen), sets the volts; lengths, stubs and the 3 V between
//! zeros are common practice, no source.

use approx::assert_abs_diff_eq;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, message, severity, solved, value};

/// Nodes in a row, by the metres between them: `n0`, `n1` ...; all on one supply, one resistance
/// for any run.
pub(crate) fn chain(metres: &[&str], keys: &str) -> String {
    let mut text = format!(
        "[supply.psu]\nvoltage = \"12 V\"\n[cable.c]\nsize = \"24 AWG\"\nconductors = 3\nresistance = \"85.897 ohm/km\"\nresistance_at = \"20 C\"\n[design]\ntemperature = \"20 C\"\nhot = \"20 C\"\ncold = \"20 C\"\n[bus.B]\n{keys}\n"
    );
    for i in 0..=metres.len() {
        text += &format!(
            "[device.n{i}]\nkind = \"node\"\non = \"psu\"\ndraw = {{ idle = \"10 mA\" }}\n"
        );
    }
    for (i, metres) in metres.iter().enumerate() {
        text += &format!(
            "[run.D{i}]\nfrom = \"n{i}\"\nto = \"n{}\"\ncable = \"c\"\nlength = \"{metres}\"\ncarries = \"rs485\"\nbus = \"B\"\ncommon = true\n",
            i + 1
        );
    }
    text
}

/// All that a bus may state, kind to all rules, but for `rate` and `terminators`.
pub(crate) const KIND: &str = "bias = \"560 ohm\"\nbias_at = \"n0\"\nbias_voltage = \"5 V\"\ndriver = \"1.5 V\"\nterminator = \"120 ohm\"\nholds_idle = false\n";

fn judged(metres: &[&str], keys: &str) -> Value {
    solved(&chain(metres, &format!("{KIND}{keys}")))
}

// 1e8 m bit/s, and 1200 m at any rate.
#[rstest]
#[case("100 kbit/s", "1000 m", None)]
#[case("100 kbit/s", "1000.1 m", Some("warn"))]
#[case("9600 bit/s", "1200 m", None)]
#[case("9600 bit/s", "1200.1 m", Some("warn"))]
#[case("115.2 kbit/s", "380 m", None)] // 4.4e7 m bit/s
#[case("1 Mbit/s", "100 m", None)]
#[case("1 Mbit/s", "100.1 m", Some("warn"))]
fn length_by_rate(#[case] rate: &str, #[case] metres: &str, #[case] expected: Option<&str>) {
    let json = judged(
        &[metres],
        &format!("rate = \"{rate}\"\nterminators = [\"n0\", \"n1\"]"),
    );
    assert_eq!(severity(&json, "bus-rate", "B").as_deref(), expected);
    assert_eq!(finding(&json, "signal-unknown", "B"), None);
}

#[rstest]
#[case(&["n0", "n3"], None)]
#[case(&["n0", "n1"], Some("fail"))] // one in the middle
#[case(&["n0"], Some("warn"))]
#[case(&[], Some("warn"))]
#[case(&["n0", "n1", "n3"], Some("fail"))]
#[case(&["n2", "n3"], Some("fail"))] // 5 m apart: both at one end
#[case(&["n0", "other"], Some("fail"))] // not on the bus
fn two_terminators_one_at_each_end(#[case] terminators: &[&str], #[case] expected: Option<&str>) {
    let text = chain(
        &["200 m", "100 m", "5 m"],
        &format!("{KIND}rate = \"9600 bit/s\"\nterminators = {terminators:?}"),
    );
    let json = solved(&format!("{text}[device.other]\non = \"psu\"\n"));
    assert_eq!(severity(&json, "bus-terminators", "B").as_deref(), expected);
}

/// A star: `n1` is in the middle of two long runs, and `tail` metres lead from it to another node.
fn star(tail: &str, rate: &str) -> Value {
    let text = chain(
        &["100 m", "100 m"],
        &format!("{KIND}rate = \"{rate}\"\nterminators = [\"n0\", \"n2\"]"),
    );
    solved(&format!(
        "{text}[device.tail]\non = \"psu\"\n[run.T]\nfrom = \"n1\"\nto = \"tail\"\ncable = \"c\"\nlength = \"{tail}\"\ncarries = \"rs485\"\nbus = \"B\"\ncommon = true\n"
    ))
}

#[rstest]
#[case("10 m", "115.2 kbit/s", None)]
#[case("10.1 m", "115.2 kbit/s", Some("warn"))]
#[case("10 m", "9600 bit/s", None)]
#[case("10.1 m", "9600 bit/s", Some("warn"))]
#[case("5 m", "230.4 kbit/s", None)]
#[case("5.1 m", "230.4 kbit/s", Some("warn"))]
fn stubs_are_short(#[case] tail: &str, #[case] rate: &str, #[case] expected: Option<&str>) {
    let json = star(tail, rate);
    assert_eq!(severity(&json, "bus-stubs", "B").as_deref(), expected);
    // The line itself goes from n0 to n2, and its terminators are right.
    assert_eq!(finding(&json, "bus-terminators", "B"), None);
}

#[test]
fn a_ring_and_two_halves_are_no_line() {
    let text = chain(
        &["100 m", "100 m"],
        &format!("{KIND}rate = \"9600 bit/s\"\nterminators = [\"n0\", \"n2\"]"),
    );
    let ring = format!(
        "{text}[run.R]\nfrom = \"n2\"\nto = \"n0\"\ncable = \"c\"\nlength = \"50 m\"\ncarries = \"rs485\"\nbus = \"B\"\n"
    );
    assert!(message(&solved(&ring), "bus-stubs", "B").contains("make a ring"));
    let apart = format!(
        "{text}[device.a]\non = \"psu\"\n[device.b]\non = \"psu\"\n[run.R]\nfrom = \"a\"\nto = \"b\"\ncable = \"c\"\nlength = \"50 m\"\ncarries = \"rs485\"\nbus = \"B\"\n"
    );
    assert!(message(&solved(&apart), "bus-stubs", "B").contains("do not hang together"));
}

#[rstest]
#[case("common = true", None)]
#[case("common = false", Some("warn"))]
#[case("common = false\ncarries = [\"power\", \"rs485\"]", None)] // the power negative beside it
fn a_third_conductor_for_zero_volts(#[case] keys: &str, #[case] expected: Option<&str>) {
    let mut text = chain(
        &["100 m"],
        &format!("{KIND}rate = \"9600 bit/s\"\nterminators = [\"n0\", \"n1\"]"),
    )
    .replace("common = true", keys);
    if keys.contains("carries") {
        text = text.replace("carries = \"rs485\"\n", "").replace(
            "[device.n1]\nkind = \"node\"\non = \"psu\"\n",
            "[device.n1]\nkind = \"node\"\n",
        );
    }
    let json = solved(&text);
    assert_eq!(severity(&json, "bus-reference", "B").as_deref(), expected);
}

// Zeros apart by 1 A x ohms of the negative: up to 3 V, and up to 7 V, are what is allowed and what
// receivers are made for, -7 V to +12 V with a signal of 5 V (TIA-485-A, secondary copy seen).
#[rstest]
#[case(2.99, None)]
#[case(3.01, Some("warn"))]
#[case(6.99, Some("warn"))]
#[case(7.01, Some("fail"))]
fn zeros_near_one_another(#[case] ohms: f64, #[case] expected: Option<&str>) {
    let text = chain(
        &["100 m"],
        &format!("{KIND}rate = \"9600 bit/s\"\nterminators = [\"n0\", \"n1\"]"),
    )
    .replace("common = true", "common = false")
    .replace("voltage = \"12 V\"", "voltage = \"48 V\"")
    .replace(
        "[device.n1]\nkind = \"node\"\non = \"psu\"\ndraw = { idle = \"10 mA\" }",
        "[device.n1]\nkind = \"node\"\ndraw = { idle = \"1 A\" }",
    );
    let json = solved(&format!(
        "{text}[run.P]\nfrom = \"psu\"\nto = \"n1\"\nresistance = \"{ohms} ohm\"\n"
    ));
    assert_eq!(severity(&json, "bus-common-mode", "B").as_deref(), expected);
    if expected.is_some() {
        // The solved network, not an estimate.
        assert_abs_diff_eq!(value(&json, "bus-common-mode", "B"), ohms, epsilon = 1e-6);
    }
}

#[test]
fn what_a_bus_leaves_out_is_asked_for() {
    let json = solved(&chain(&["100 m"], ""));
    let words = message(&json, "signal-unknown", "B");
    for word in [
        "rate (read it",
        "60 is two, 120 one, 40 three",
        "bias or holds_idle",
    ] {
        assert!(words.contains(word), "{words}");
    }
    // A run that carries such data and is part of no bus.
    let text = chain(&["100 m"], "").replace("bus = \"B\"\n", "");
    let json = solved(&text);
    assert!(message(&json, "signal-unknown", "D0").contains("bus (the two-wire bus"));
}
