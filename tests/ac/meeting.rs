//! Rectifiers and frequencies that must not share a wire.

use rstest::rstest;

use super::{severity, solved};
use crate::simulator::{is_there, print};

/// Two devices on one transformer, their negatives joined by what is given.
fn two(first: &str, second: &str, joined: &str) -> serde_json::Value {
    solved(&format!(
        r#"
[supply.shed]
kind = "ac"
voltage = "24 V"
resistance = "1 ohm"
[device.hub]
{first}
draw = {{ idle = "4 W" }}
[device.keypad]
{second}
draw = {{ idle = "1 W" }}
[earth.rod]
kind = "rod"
resistance = "25 ohm"
[run.W1]
from = "shed"
to = "hub"
resistance = "0.5 ohm"
[run.W2]
from = "shed"
to = "keypad"
resistance = "0.5 ohm"
{joined}
"#
    ))
}

const BRIDGE: &str = "rectifier = \"bridge\"";
const HALF: &str = "rectifier = \"half wave\"";
const UNKNOWN: &str = "rectifier = \"unknown\"";
const COMMON: &str = r#"
[run.W3]
from = "keypad"
to = "hub"
cable = "22/4"
length = "10 m"
carries = "wiegand"
"#;
const SHIELD: &str = r#"
[run.W3]
from = "keypad"
to = "hub"
cable = "22/4 shielded"
length = "10 m"
carries = "data"
shield = "both"
"#;

#[rstest]
#[case(BRIDGE, HALF, COMMON, Some("stop"))]
#[case(BRIDGE, HALF, SHIELD, Some("stop"))]
#[case(BRIDGE, HALF, "", None)]
#[case(BRIDGE, BRIDGE, COMMON, None)]
#[case(HALF, HALF, COMMON, None)]
#[case(BRIDGE, "", COMMON, Some("stop"))]
fn bridge_and_half_wave_must_not_share_a_negative(
    #[case] first: &str,
    #[case] second: &str,
    #[case] joined: &str,
    #[case] expected: Option<&str>,
) {
    let json = two(first, second, joined);
    assert_eq!(
        severity(&json, "mixed-rectifiers", "hub").as_deref(),
        expected
    );
    assert_eq!(severity(&json, "mixed-rectifiers", "keypad"), None);
}

/// Through earth: the secondary's leg and the hub's dc negative both tied to it.
#[test]
fn earth_joins_as_well() {
    let bonds = |hub: bool| {
        let mut text = "[run.E1]\nfrom = \"rod\"\nto = \"shed.minus\"\ncable = \"14/1\"\nlength = \"3 m\"\ncarries = \"bond\"\n".to_owned();
        if hub {
            text += "[run.E2]\nfrom = \"rod\"\nto = \"hub\"\ncable = \"14/1\"\nlength = \"3 m\"\ncarries = \"bond\"\n";
        }
        text
    };
    let earthed = format!("{BRIDGE}\nnegative_earthed = true");
    let json = two(&earthed, "", &bonds(true));
    assert_eq!(
        severity(&json, "mixed-rectifiers", "hub").as_deref(),
        Some("stop")
    );
    let json = two(&earthed, "", &bonds(false));
    assert_eq!(severity(&json, "mixed-rectifiers", "hub"), None);
}

#[test]
fn unknown_rectifier_with_a_shared_negative_is_asked_for() {
    let json = two(UNKNOWN, BRIDGE, COMMON);
    assert_eq!(
        severity(&json, "rectifier-kind", "hub").as_deref(),
        Some("ask")
    );
    let json = two(UNKNOWN, BRIDGE, "");
    assert_eq!(severity(&json, "rectifier-kind", "hub"), None);
}

/// What the stop is about: with the negatives joined, one diode and the wires are all that lies
/// across the secondary, and tens of amperes flow.
#[test]
fn simulator_shows_the_short() {
    if !is_there() {
        return;
    }
    let amps = |joined: &str| {
        let diode = |k: u32, a: &str, b: &str| {
            format!(
                "B{k} {a} {b} I = V({a},{b}) > 0.8 ? (V({a},{b}) - 0.8) * 1e3 : V({a},{b}) * 1e-9\n"
            )
        };
        let deck = format!(
            "* both\nVS s 0 SIN(0 33.94 60)\nR1 s t 1\nVM t a 0\n{}{}{}{}{}\
             CB p m 2200u IC=30\nRB p m 200\nRG m 0 1e8\nCH h 0 470u IC=30\nRH h 0 800\n{joined}\
             .options reltol=1e-4 method=gear\n.control\ntran 2e-5 0.15 0.1 2e-5 uic\n\
             meas tran most MAX i(VM)\nmeas tran least MIN i(VM)\nlet v_most = max(most, -least)\nset numdgt=10\nprint v_most\nquit\n.endc\n.end\n",
            diode(1, "a", "p"),
            diode(2, "0", "p"),
            diode(3, "m", "a"),
            diode(4, "m", "0"),
            diode(5, "a", "h"),
        );
        print(&deck)["v_most"].abs()
    };
    let (apart, joined) = (amps(""), amps("RJ m 0 0.5\n"));
    assert!(apart < 5.0 && joined > 15.0, "{apart} A, joined {joined} A");
}

/// Two supplies, and how their networks meet.
fn meet(first: &str, second: &str, more: &str) -> serde_json::Value {
    solved(&format!(
        r#"
[supply.one]
{first}
voltage = "24 V"
resistance = "1 ohm"
[supply.two]
{second}
voltage = "24 V"
resistance = "1 ohm"
[device.a]
draw = {{ idle = "2 W" }}
[device.b]
draw = {{ idle = "2 W" }}
[run.W1]
from = "one"
to = "a"
resistance = "0.5 ohm"
[run.W2]
from = "two"
to = "b"
resistance = "0.5 ohm"
{more}
"#
    ))
}

const AC60: &str = "kind = \"ac\"";
const AC50: &str = "kind = \"ac\"\nfrequency = \"50 Hz\"";
const BOTH: &str = "[run.W3]\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n";
const ONE_WIRE: &str =
    "[run.W3]\nfrom = \"a.minus\"\nto = \"b.minus\"\nresistance = \"1 ohm\"\ncarries = \"bond\"\n";
const TWO_WIRES: &str = "[run.W3]\nfrom = \"a.minus\"\nto = \"b.minus\"\nresistance = \"1 ohm\"\ncarries = \"bond\"\n[run.W4]\nfrom = \"one.minus\"\nto = \"two.minus\"\nresistance = \"1 ohm\"\ncarries = \"bond\"\n";

#[rstest]
#[case(AC60, AC50, BOTH, Some("stop"))]
#[case(AC60, "", BOTH, Some("stop"))]
#[case(AC60, AC60, BOTH, None)]
#[case("", "", BOTH, None)]
// One wire between two networks carries nothing; two make a loop of their returns.
#[case(AC60, "", ONE_WIRE, None)]
#[case(AC60, "", TWO_WIRES, Some("warn"))]
#[case(AC60, AC60, TWO_WIRES, None)]
fn frequencies_must_not_meet(
    #[case] first: &str,
    #[case] second: &str,
    #[case] more: &str,
    #[case] expected: Option<&str>,
) {
    let json = meet(first, second, more);
    assert_eq!(
        severity(&json, "mixed-frequencies", "two").as_deref(),
        expected
    );
    assert_eq!(severity(&json, "mixed-frequencies", "one"), None);
}

/// Networks of ac and dc that share one earth keep each its own numbers.
#[test]
fn one_wire_between_ac_and_dc_changes_nothing() {
    let (apart, joined) = (meet(AC60, "", ""), meet(AC60, "", ONE_WIRE));
    for (apart, joined) in std::iter::zip(
        apart["cases"][0]["devices"].as_array().unwrap(),
        joined["cases"][0]["devices"].as_array().unwrap(),
    ) {
        let off = apart["volts"].as_f64().unwrap() - joined["volts"].as_f64().unwrap();
        assert!(off.abs() < 1e-9);
        assert_eq!(apart["va"].is_null(), joined["va"].is_null());
    }
}
